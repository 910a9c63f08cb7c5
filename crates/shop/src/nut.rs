//! The nut for a screw in hand: designed round the screw's thickest ridge.
//!
//! ```text
//!   nut   |‾‾‾‾‾\          tip flat         /‾‾‾‾‾|
//!         |      \________________________ /      |   groove bottom, groove diameter / 2
//!         |          crest clearance  ↕           |
//!         |       \  ______________________ /     |   screw's crest, major diameter / 2
//!         |        \/                      \/     |
//!         |   ↔ half the play each side           |
//!  bore __|     bore clearance over the root      |__
//! ```
//!
//! The tool that cuts the groove copies the screw's **ridge**. With flanks inclined, tip flat and
//! depth are two handles on one play: every millimetre of infeed past contact adds `tan right + tan
//! left` to it. With square flanks only the tip flat counts.

use crate::groove::{Groove, GrooveError, StraightGroove};
use crate::mating::{self, Mating};
use crate::notice::{Notice, Provenance};
use crate::nut_request::{NutError, NutKind, NutRequest, Workmanship, crest_clearance_mm};
use crate::play::{PlayPoint, SQUARE_SLOPE, play_curve};
use crate::pressure::{FlankPressure, flank_pressure};
use crate::propagate::{Draws, first_order};
use crate::screw::{PARAMETERS, ScrewForm};
use crate::try_on::{Doubtful, TryOn};
use form::{Quantity, Section, Sentence, Thread, mm, sentence};
use serde::{Deserialize, Serialize};

/// Draw pairs behind a forecast of play.
const PAIRS: usize = 400;
/// Part of the draws that must make a thread and a groove for 95 % limits to be read off them.
const LEAST_SHARE: f64 = 0.98;
/// A play that may turn out below nothing, and is in doubt by more than this (standard uncertainty, mm), is
/// not forecast: such a nut is opened on the screw.
const LEAST_FORECAST_MM: f64 = 0.02;
/// Standard uncertainties below the play forecast that must still be play: more than the two of an interval,
/// because a nut that binds has been made for nothing.
const SURELY_FREE: f64 = 2.5;
/// What the numbers of [`crate::PARAMETER_NAMES`] are called, and what makes each surer.
const DOUBTED: [(&str, &str); PARAMETERS] = [
    (
        "pitch over the length of the nut",
        "measure it over as many threads as can be reached, or make the nut shorter",
    ),
    ("right flank's angle", "a sharper picture, larger, of more teeth"),
    ("left flank's angle", "a sharper picture, larger, of more teeth"),
    ("depth", "measure the root diameter"),
    ("crest's width", "a sharper picture, larger, of more teeth, or a tooth-thickness gauge"),
    ("crest's radius", "a sharper picture, larger, of more teeth"),
    ("root's radius", "a sharper picture, larger, of more teeth"),
    ("major diameter", "measure it with a micrometer"),
];
/// A bar thinner than this bends under any cut, mm, and room left for chips beside it, mm: common practice.
const SMALL_BAR_MM: f64 = 4.0;
const CHIP_ROOM_MM: f64 = 0.5;
/// Play may be asked for in this range, mm.
const PLAY_LIMITS_MM: (f64, f64) = (0.0, 2.0);

/// The play by the best numbers, how far it is in doubt, and what to expect.
struct Forecast {
    play_mm: Quantity,
    limits_mm: Option<(f64, f64)>,
    expected_mm: f64,
}

/// The number of the form that leaves a play most in doubt.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Doubt {
    /// Which: an index of [`crate::PARAMETER_NAMES`].
    pub parameter: usize,
    /// What one standard uncertainty of it does to the play, mm; infinite where it makes no thread.
    pub play_mm: f64,
}

/// A nut, its groove, and what assembling it will give.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NutDesign {
    /// Diameter to bore before threading, mm.
    pub bore_mm: Quantity,
    /// Diameter at the bottom of the groove, mm.
    pub groove_diameter_mm: Quantity,
    /// Width of the tool at its tip, between sharp corners, mm.
    pub tool_tip_flat_mm: Quantity,
    /// Corner radius of the tool, mm.
    pub tool_corner_radius_mm: f64,
    /// Largest corner radius that still clears the screw's crest at this play, mm.
    pub most_corner_radius_mm: f64,
    /// Right wall from the normal to the axis, degrees.
    pub right_flank_deg: Quantity,
    /// Left wall, degrees.
    pub left_flank_deg: Quantity,
    /// Pitch, mm.
    pub pitch_mm: Quantity,
    /// Lead, mm.
    pub lead_mm: Quantity,
    /// Length of thread, mm.
    pub length_mm: f64,
    /// Radial infeed from touching the bore, mm.
    pub infeed_mm: Quantity,
    /// Axial play on the thickest ridge by the best numbers, mm; infinitely uncertain where no
    /// forecast can be made.
    pub axial_play_mm: Quantity,
    /// Between these, mm, lie 95 % of the plays that the doubt of form and workmanship makes
    /// possible; `None` where the form is too vague even for limits.
    pub play_limits_mm: Option<(f64, f64)>,
    /// The mean of those plays, mm: doubt about angles and pitch can only take play, so it is at most
    /// the play by the best numbers.
    pub mean_play_mm: f64,
    /// Axial play forecast where the screw's ridge is thinnest, mm.
    pub play_where_thinnest_mm: Quantity,
    /// Radial clearance over the screw's crest, mm.
    pub radial_clearance_mm: Quantity,
    /// Radial clearance of the bore over the screw's root, mm.
    pub bore_clearance_mm: Quantity,
    /// How far the screw can move sideways, mm.
    pub radial_float_mm: f64,
    /// Radial height the threads share, mm.
    pub engagement_mm: Quantity,
    /// That height as a part of the screw's depth.
    pub engagement_fraction: f64,
    /// Axial play added per millimetre of radial infeed past contact; halve for a dial that reads
    /// diameter.
    pub play_per_infeed: Quantity,
    /// Infeed at which the screw would just enter, mm; `None` for square flanks.
    pub infeed_at_no_play_mm: Option<f64>,
    /// Play against infeed.
    pub play_curve: Vec<PlayPoint>,
    /// The groove in its axial section, as designed.
    pub groove: Groove,
    /// The groove assembled with the screw's thickest ridge.
    pub mating: Mating,
    /// Whether the nut passes the screw's thickest ridge (its unworn ends) within two standard
    /// uncertainties.
    pub passes_unworn_ends: bool,
    /// Flank pressure under the stated load.
    pub pressure: Option<FlankPressure>,
    /// Play lost to the change wheels' error over the length of the nut, mm.
    pub play_lost_to_lead_mm: f64,
    /// For a split nut: play taken up by closing the kerf; for a sleeve: play lost in pressing, mm.
    pub play_taken_by_closing_mm: Option<f64>,
    /// Where no play is forecast: how to bring the nut to its play on the screw. `None` where the play
    /// is forecast, and where it is in so much doubt that nothing should be cut yet.
    pub try_on: Option<TryOn>,
    /// What leaves the play most in doubt; `None` where nothing does.
    pub doubt: Option<Doubt>,
    /// What is to be said besides.
    pub notices: Vec<Notice>,
    /// Where the numbers come from.
    pub provenance: Vec<Provenance>,
    /// What was asked for.
    pub request: NutRequest,
}

impl NutDesign {
    /// Whether a nut may be cut: its play is forecast, or there is a way to bring it there on the screw.
    #[must_use]
    pub fn may_be_cut(&self) -> bool {
        self.axial_play_mm.u.is_finite() || self.try_on.is_some()
    }
}

/// Designs the nut for the screw's thickest ridge.
///
/// # Errors
/// [`NutError`] names the number that does not go, and its limits.
pub fn design_nut(screw: &ScrewForm, request: &NutRequest) -> Result<NutDesign, NutError> {
    let plan = Plan::new(screw, request)?;
    plan.design()
}

/// The largest radius that the doubt about it and the flat leave the screw's root, mm.
fn root_radius_at_most_mm(screw: &ScrewForm, section: &Section) -> f64 {
    let radius = screw.root_radius_mm;
    let fits = section.largest_radius_mm(section.root_flat_mm());
    (radius.value + 2.0 * radius.u).min(fits.max(radius.value))
}

/// Radial clearance at which a bore lies past the rounded corner of the screw's root, mm: a corner of
/// radius `r` runs up a flank to `r (1 - sin a)`. No more than a part of the depth, so that a thread is
/// left.
fn past_root_mm(screw: &ScrewForm, section: &Section) -> f64 {
    // What is known of the corner is given back by the tip; only what is doubted is kept out of the way.
    if screw.root_radius_mm.u == 0.0 {
        return 0.0;
    }
    let least_flank = section.right_flank_rad().min(section.left_flank_rad()).max(0.0);
    let up = root_radius_at_most_mm(screw, section) * (1.0 - least_flank.sin());
    up.min(MOST_PAST_ROOT * section.depth_mm())
}

/// Most of the screw's depth that is given up to the doubt about its root.
const MOST_PAST_ROOT: f64 = 0.35;

/// The wall for a flank: never undercut, because the tool is fed straight in.
fn wall(flank_rad: f64) -> f64 {
    flank_rad.max(0.0)
}

fn wall_deg(flank_deg: Quantity) -> Quantity {
    Quantity { value: flank_deg.value.max(0.0), ..flank_deg }
}

/// Sum of the tangents of both walls.
fn wall_slope(thread: &Thread) -> f64 {
    let s = thread.section();
    wall(s.right_flank_rad()).tan() + wall(s.left_flank_rad()).tan()
}

/// Whether the numbers asked for are any that a nut may have.
fn check_request(request: &NutRequest, length_mm: f64, pitch_mm: f64) -> Result<(), NutError> {
    let play = request.axial_play_mm;
    if !(PLAY_LIMITS_MM.0..=PLAY_LIMITS_MM.1).contains(&play) {
        return Err(NutError::Play(play));
    }
    for (what, value) in [
        ("load (N)", request.load_n.unwrap_or(1.0)),
        ("pitch cut (mm)", request.cut_pitch_mm.unwrap_or(1.0)),
    ] {
        if !(value.is_finite() && value > 0.0) {
            return Err(NutError::Positive { what, value });
        }
    }
    if !(length_mm >= pitch_mm && length_mm <= 1000.0) {
        return Err(NutError::Length { length_mm, least_mm: pitch_mm });
    }
    Ok(())
}

/// What is to be said of flanks that a tool fed straight in cannot follow.
fn undercut(section: &Section) -> Vec<Notice> {
    [("right", section.right_flank_rad()), ("left", section.left_flank_rad())]
        .into_iter()
        .filter(|(_, flank)| *flank < 0.0)
        .map(|(side, flank)| {
            let text = format!(
                "the {side} flank is undercut by {:.2}°; a tool that is fed straight in cannot follow it: the nut's wall is made square",
                -flank.to_degrees()
            );
            Notice::new("undercut-flank", text)
        })
        .collect()
}

/// Radial clearance over the screw's crest, mm: as asked, or as usual where that leaves the tool a tip.
fn crest_clearance(
    request: &NutRequest,
    section: &Section,
    slope: f64,
) -> Result<(f64, Option<Notice>, Provenance), NutError> {
    let pitch_mm = section.pitch_mm();
    // A tip narrower than this breaks off in the cut (common practice).
    let least_flat = (0.03 * pitch_mm).max(0.05);
    let room = section.crest_flat_mm() + request.axial_play_mm - least_flat;
    let most_mm = if slope > 1e-9 { (room / slope).min(pitch_mm) } else { pitch_mm };
    if let Some(value_mm) = request.radial_clearance_mm {
        if !(value_mm >= 0.0 && value_mm <= most_mm.max(0.0)) {
            return Err(NutError::Clearance { which: "radial", value_mm, most_mm });
        }
        return Ok((value_mm, None, Provenance::new("radial_clearance_mm", "entered")));
    }
    let table = crest_clearance_mm(pitch_mm);
    // A rounded crest already stands back from the corner of the groove.
    let value_mm = table.min(0.9 * most_mm).max(0.0);
    let reduced = (value_mm < table).then(|| {
        Notice::new(
            "crest-clearance-reduced",
            sentence!(
                "the usual crest clearance of {} would leave the tool no tip; {} is taken",
                mm(table, 2),
                mm(value_mm, 3)
            ),
        )
    });
    let source = Provenance::new(
        "radial_clearance_mm",
        "ISO 2904 crest clearance for the pitch; a tenth of the pitch below 1.5 mm (common practice)",
    );
    Ok((value_mm, reduced, source))
}

/// Radial clearance of the bore over the screw's root, mm: as asked, or as at the crest, or past a root whose
/// corner is in doubt.
fn bore_clearance(
    request: &NutRequest,
    thickest: &ScrewForm,
    section: &Section,
    crest_clearance_mm: f64,
) -> Result<(f64, Option<Notice>), NutError> {
    let past_root = past_root_mm(thickest, section);
    let asked = request.bore_clearance_mm;
    let value_mm = asked.unwrap_or(past_root.max(crest_clearance_mm));
    let most_mm = 0.9 * section.depth_mm();
    if !(value_mm >= 0.0 && value_mm <= most_mm) {
        return Err(NutError::Clearance { which: "bore", value_mm, most_mm });
    }
    let past = (asked.is_none() && past_root > crest_clearance_mm).then(|| {
        Notice::new(
            "bored-past-root",
            sentence!(
                "the corner of the screw's root may be rounded by up to {}, which would touch the usual bore: the nut is bored {} over the root, past it. Where a loupe shows a sharp corner, {} will do",
                mm(root_radius_at_most_mm(thickest, section), 2),
                mm(past_root, 2),
                mm(crest_clearance_mm, 2)
            ),
        )
    });
    Ok((value_mm, past))
}

struct Plan<'a> {
    screw: &'a ScrewForm,
    thickest: ScrewForm,
    thread: Thread,
    request: NutRequest,
    length_mm: f64,
    slope: f64,
    crest_clearance_mm: f64,
    bore_clearance_mm: f64,
    notices: Vec<Notice>,
    provenance: Vec<Provenance>,
}

impl<'a> Plan<'a> {
    fn new(screw: &'a ScrewForm, request: &NutRequest) -> Result<Self, NutError> {
        screw.check()?;
        let thickest = screw.thickest();
        let extra_mm = screw.thickest_extra_mm.value;
        let most_mm = screw.thread()?.section().root_flat_mm();
        if extra_mm > most_mm {
            return Err(NutError::Thicker { extra_mm, most_mm });
        }
        thickest.check()?;
        let thread = thickest.thread()?;
        let length_mm = request.length_mm.unwrap_or(1.5 * thread.major_diameter_mm());
        check_request(request, length_mm, thread.section().pitch_mm())?;
        let slope = wall_slope(&thread);
        let mut notices = undercut(thread.section());
        let (crest_clearance_mm, notice, provenance) =
            crest_clearance(request, thread.section(), slope)?;
        notices.extend(notice);
        let (bore_clearance_mm, notice) =
            bore_clearance(request, &thickest, thread.section(), crest_clearance_mm)?;
        notices.extend(notice);
        Ok(Self {
            screw,
            thickest,
            thread,
            request: *request,
            length_mm,
            slope,
            crest_clearance_mm,
            bore_clearance_mm,
            notices,
            provenance: vec![provenance],
        })
    }

    /// The groove that gives `play` on the best values of the thickest ridge, half on each side.
    fn straight(&self, thread: &Thread, play_mm: f64) -> StraightGroove {
        let s = thread.section();
        let corner = |flank: f64| {
            0.5 * (s.crest_flat_mm() + play_mm) - self.crest_clearance_mm * flank.tan()
        };
        StraightGroove {
            bore_radius_mm: 0.5 * thread.minor_diameter_mm() + self.bore_clearance_mm,
            bottom_radius_mm: 0.5 * thread.major_diameter_mm() + self.crest_clearance_mm,
            right_corner_mm: corner(wall(s.right_flank_rad())),
            left_corner_mm: corner(wall(s.left_flank_rad())),
            right_flank_rad: wall(s.right_flank_rad()),
            left_flank_rad: wall(s.left_flank_rad()),
            corner_radius_mm: 0.0,
            pitch_mm: s.pitch_mm(),
            starts: thread.starts(),
            hand: thread.hand(),
        }
    }

    /// Corner radius wanted, and the largest that costs no play.
    fn corner(&self, sharp: &StraightGroove) -> Result<(f64, f64), NutError> {
        let most_fit = sharp.most_corner_radius_mm();
        let free = mating::axial_play_mm(&self.thread, &sharp.groove()?)?;
        let clears = |radius: f64| -> Result<bool, NutError> {
            let g = StraightGroove { corner_radius_mm: radius, ..*sharp }.groove()?;
            Ok(mating::axial_play_mm(&self.thread, &g)? >= free - 1e-6)
        };
        let mut most = most_fit;
        if !clears(most_fit)? {
            let (mut lo, mut hi) = (0.0, most_fit);
            for _ in 0..30 {
                let mid = 0.5 * (lo + hi);
                if clears(mid)? { lo = mid } else { hi = mid }
            }
            most = lo;
        }
        let wanted = match self.request.corner_radius_mm {
            Some(radius_mm) => {
                if !(0.0..=most_fit).contains(&radius_mm) {
                    return Err(GrooveError::CornerRadius { radius_mm, most_mm: most_fit }.into());
                }
                radius_mm
            }
            None => self.thread.section().crest_radius_mm().min(most),
        };
        Ok((wanted, most))
    }

    /// Plays over the draws: the form's doubt, the workmanship's, and the pitch's over the length.
    fn plays(&self, form: &ScrewForm, cut: &StraightGroove, pairs: usize) -> Vec<f64> {
        let w = self.request.workmanship;
        let pitch = self.request.cut_pitch_mm.unwrap_or(self.thickest.pitch_mm.value);
        Draws::new(form)
            .pairs::<4>(pairs)
            .into_iter()
            .filter_map(|(values, e)| {
                let screw = form.thread_near(values).ok()?;
                let groove = cut
                    .with_errors(
                        w.tip_flat_mm * e[0],
                        w.flank_deg.to_radians() * e[1],
                        w.flank_deg.to_radians() * e[2],
                        w.infeed_mm * e[3],
                    )
                    .groove()
                    .ok()?;
                let play = mating::axial_play_mm(&screw, &groove).ok()?;
                let lead = mating::play_lost_to_lead_mm(pitch / values[0] - 1.0, self.length_mm);
                Some(play - lead)
            })
            .collect()
    }

    /// The play of the best numbers, and how far the draws lie from it.
    ///
    /// Any error of angle or pitch can only lower the least clearance, so the draws lie to one side
    /// of the best value. That is not allowed for in the tip: another pass adds play to a nut that
    /// came out tight, and nothing takes it from one that came out loose.
    fn forecast(&self, form: &ScrewForm, cut: &StraightGroove) -> Result<Forecast, NutError> {
        let best = self.play_of_best(form, cut)?;
        let exact = form.quantities().iter().all(|q| q.u == 0.0)
            && self.request.workmanship == Workmanship::PERFECT;
        if exact {
            return Ok(Forecast {
                play_mm: Quantity::derived(best, 0.0),
                limits_mm: Some((best, best)),
                expected_mm: best,
            });
        }
        let mut plays = self.plays(form, cut, PAIRS);
        // Draws that make no thread are the extreme ones: limits without them would lie on the good side.
        if (plays.len() as f64) < LEAST_SHARE * (2 * PAIRS) as f64 {
            return Ok(Forecast {
                play_mm: Quantity::derived(best, f64::INFINITY),
                limits_mm: None,
                expected_mm: best,
            });
        }
        let n = plays.len() as f64;
        let expected_mm = plays.iter().sum::<f64>() / n;
        let rms = (plays.iter().map(|p| (p - best).powi(2)).sum::<f64>() / n).sqrt();
        plays.sort_by(f64::total_cmp);
        let at = |part: f64| plays[((part * (n - 1.0)).round() as usize).min(plays.len() - 1)];
        let limits_mm = Some((at(0.025), at(0.975)));
        let may_bind = at(0.025).min(best - SURELY_FREE * rms) < 0.0;
        let u = if may_bind && rms > LEAST_FORECAST_MM { f64::INFINITY } else { rms };
        Ok(Forecast { play_mm: Quantity::derived(best, u), limits_mm, expected_mm })
    }

    fn play_of_best(&self, form: &ScrewForm, cut: &StraightGroove) -> Result<f64, NutError> {
        let thread = form.thread()?;
        let lost = self.request.cut_pitch_mm.map_or(0.0, |pitch| {
            mating::play_lost_to_lead_mm(pitch / form.pitch_mm.value - 1.0, self.length_mm)
        });
        Ok(mating::axial_play_mm(&thread, &cut.groove()?)? - lost)
    }

    /// Which number leaves the play most in doubt, and by how much, mm; each by itself.
    fn greatest_doubt(&self, cut: &StraightGroove) -> Option<Doubt> {
        let best = self.play_of_best(&self.thickest, cut).ok()?;
        let values = self.thickest.values();
        let pitch = self.request.cut_pitch_mm.unwrap_or(values[0]);
        let groove = cut.groove().ok()?;
        let moved = |i: usize, by: f64| {
            let mut v = values;
            v[i] += by;
            let thread = self.thickest.thread_near(v).ok()?;
            let play = mating::axial_play_mm(&thread, &groove).ok()?;
            let lost = mating::play_lost_to_lead_mm(pitch / v[0] - 1.0, self.length_mm);
            Some((play - lost - best).abs())
        };
        let share = |i: usize, q: &Quantity| {
            let one = moved(i, q.u).unwrap_or(f64::INFINITY);
            let other = moved(i, -q.u).unwrap_or(f64::INFINITY);
            Doubt { parameter: i, play_mm: one.max(other) }
        };
        self.thickest
            .quantities()
            .iter()
            .enumerate()
            .filter(|(_, q)| q.u > 0.0)
            .map(|(i, q)| share(i, q))
            .max_by(|a, b| a.play_mm.total_cmp(&b.play_mm))
    }

    /// Says what the doubt does to the play, and what would help.
    fn remark_on(&mut self, f: &Forecast, doubt: Option<Doubt>, try_on: Option<&TryOn>) {
        let help = doubt.map_or_else(Sentence::default, |Doubt { parameter, play_mm }| {
            let of_it = if play_mm.is_finite() && play_mm < 10.0 {
                sentence!(" ({} of play)", mm(play_mm, 2))
            } else {
                Sentence::default()
            };
            let (what, remedy) = DOUBTED[parameter];
            sentence!("; most of the doubt is about the {}{}: {}", what, of_it, remedy)
        });
        let play = f.play_mm;
        if !play.u.is_finite() {
            let limits = f.limits_mm.map_or_else(
                || "no limits can be given".into(),
                |(low, high)| {
                    sentence!(
                        "95 % of what is possible lies between {} and {}",
                        mm(low, 2),
                        mm(high, 2)
                    )
                },
            );
            let (code, then) = match try_on {
                Some(t) => ("cannot-forecast", sentence!("; or {}", t.sentence())),
                None => ("not-yet", "; do not cut to these numbers before that is done".into()),
            };
            self.notices.push(Notice::new(
                code,
                sentence!("the play cannot be forecast: {}{}{}", limits, help, then),
            ));
            return;
        }
        let lowest = f.limits_mm.map_or(play.value, |l| l.0).min(play.value - 2.0 * play.u);
        if lowest < 0.0 {
            self.notices.push(Notice::new(
                "may-bind",
                sentence!(
                    "a play of {} with a standard uncertainty of {} may turn out below nothing: try the screw before the last pass{}",
                    mm(play.value, 2),
                    mm(play.u, 2),
                    help
                ),
            ));
        } else if play.value - f.expected_mm > 0.01 {
            self.notices.push(Notice::new(
                "play-lost-to-doubt",
                sentence!(
                    "doubt about angles and pitch can only take play: expect {} rather than {}, and feed in further if it is too little{}",
                    mm(f.expected_mm, 2),
                    mm(play.value, 2),
                    help
                ),
            ));
        }
    }

    fn design(mut self) -> Result<NutDesign, NutError> {
        let asked = self.request.axial_play_mm;
        let mut cut = self.straight(&self.thread, asked);
        let (corner, most_corner) = self.corner(&cut)?;
        cut.corner_radius_mm = corner;
        // What is known to take play, wheels that cut another pitch or a rounded corner, is given
        // back by the tip; what is only doubted is not.
        let loss = asked - self.play_of_best(&self.thickest, &cut)?;
        if loss > 1e-9 {
            let moved = self.straight(&self.thread, asked + loss);
            // A narrower tip may have no room for the radius that suited the first.
            let corner_radius_mm = cut.corner_radius_mm.min(moved.most_corner_radius_mm());
            cut = StraightGroove { corner_radius_mm, ..moved };
        }
        let corner = cut.corner_radius_mm;
        let groove = cut.groove()?;
        let mating = mating::mate(&self.thread, &groove)?;
        let forecast = self.forecast(&self.thickest, &cut)?;
        let play = forecast.play_mm;
        let thinnest = self.screw.thinnest();
        let play_where_thinnest_mm = match thinnest.check() {
            Ok(()) => self.forecast(&thinnest, &cut)?.play_mm,
            Err(_) => Quantity::derived(f64::NAN, f64::INFINITY),
        };
        let nominal_play =
            asked + cut.tip_flat_mm() - self.straight(&self.thread, asked).tip_flat_mm();
        let q = |f: &dyn Fn(&Thread) -> f64| first_order(&self.thickest, &self.thread, f);
        let (crest, bore) = (self.crest_clearance_mm, self.bore_clearance_mm);
        let bore_mm = q(&|t| t.minor_diameter_mm() + 2.0 * bore);
        let groove_diameter_mm = q(&|t| t.major_diameter_mm() + 2.0 * crest);
        let tool_tip_flat_mm =
            q(&|t| t.section().crest_flat_mm() + nominal_play - crest * wall_slope(t));
        let infeed_mm = q(&|t| t.section().depth_mm() + crest - bore);
        let engagement_mm = q(&|t| t.section().depth_mm() - bore);
        let play_per_infeed = q(&wall_slope);
        let pressure = self.request.load_n.map(|load| {
            flank_pressure(
                load,
                0.5 * (self.thread.major_diameter_mm() + 2.0 * groove.bore_radius_mm),
                engagement_mm.value,
                self.length_mm / self.thread.section().pitch_mm(),
                self.request.material,
            )
        });
        if let Some(p) = &pressure {
            self.notices.extend(p.notices.iter().cloned());
        }
        let square = self.slope.abs() < SQUARE_SLOPE;
        if square {
            self.notices.push(Notice::new(
                "depth-does-nothing",
                "the flanks stand square to the axis: more infeed adds no play, only the width of the tool does",
            ));
        }
        if crate::bar::largest_bar_mm(bore_mm.value, infeed_mm.value, CHIP_ROOM_MM) < SMALL_BAR_MM {
            self.notices.push(Notice::new(
                "tap-it",
                sentence!(
                    "a bore of {} takes no boring bar worth the name: tap it, with a tap of this thread or one made for it (common practice for small nuts)",
                    mm(bore_mm.value, 1)
                ),
            ));
        }
        let doubt = self.greatest_doubt(&cut);
        let try_on = forecast.limits_mm.filter(|_| !play.u.is_finite()).and_then(|limits_mm| {
            TryOn::of(&Doubtful {
                asked_mm: asked,
                limits_mm,
                slope: Quantity { value: self.slope, ..play_per_infeed },
                infeed_mm: infeed_mm.value,
                depth_mm: self.thread.section().depth_mm(),
                crest_clearance_mm: crest,
            })
        });
        self.remark_on(&forecast, doubt, try_on.as_ref());
        self.notices.push(Notice::new(
            "corner",
            if corner > 0.0 {
                sentence!(
                    "tool corners rounded to {}; more than {} would touch the screw's crest",
                    mm(corner, 3),
                    mm(most_corner, 3)
                )
            } else {
                sentence!(
                    "break the tool's corners with a stone, at most to {}: more would touch the screw's crest",
                    mm(most_corner, 3)
                )
            },
        ));
        let lost = self.request.cut_pitch_mm.map_or(0.0, |p| {
            mating::play_lost_to_lead_mm(p / self.thickest.pitch_mm.value - 1.0, self.length_mm)
        });
        let closing = self.closing(&cut)?;
        self.provenance.extend([
            Provenance::new("bore_mm", "screw's root diameter plus twice the bore clearance"),
            Provenance::new("groove_diameter_mm", "screw's major diameter plus twice the radial clearance"),
            Provenance::new("tool_tip_flat_mm", "thickest crest flat plus play less clearance × (tan right + tan left)"),
            Provenance::new("axial_play_mm", "least axial clearance of both flanks, section on section; its uncertainty from draws over the doubt of form and workmanship"),
        ]);
        let curve = play_curve(&self.thread, &cut, lost)?;
        Ok(NutDesign {
            bore_mm,
            groove_diameter_mm,
            tool_tip_flat_mm,
            tool_corner_radius_mm: corner,
            most_corner_radius_mm: most_corner,
            right_flank_deg: wall_deg(self.thickest.right_flank_deg),
            left_flank_deg: wall_deg(self.thickest.left_flank_deg),
            pitch_mm: self.thickest.pitch_mm,
            lead_mm: self.thickest.lead_mm(),
            length_mm: self.length_mm,
            infeed_mm,
            axial_play_mm: play,
            play_limits_mm: forecast.limits_mm,
            mean_play_mm: forecast.expected_mm,
            play_where_thinnest_mm,
            radial_clearance_mm: Quantity::derived(
                mating.crest_clearance_mm,
                0.5 * self.screw.major_diameter_mm.u,
            ),
            bore_clearance_mm: Quantity::derived(mating.bore_clearance_mm, 0.5 * bore_mm.u),
            radial_float_mm: mating.radial_float_mm,
            engagement_mm,
            engagement_fraction: engagement_mm.value / self.thread.section().depth_mm(),
            play_per_infeed,
            infeed_at_no_play_mm: (!square)
                .then(|| infeed_mm.value - (mating.axial_play_mm - lost) / self.slope),
            play_curve: curve,
            passes_unworn_ends: mating.passes() && play.value - 2.0 * play.u >= 0.0,
            groove,
            mating,
            pressure,
            play_lost_to_lead_mm: lost,
            play_taken_by_closing_mm: closing,
            try_on,
            doubt,
            notices: self.notices,
            provenance: self.provenance,
            request: self.request,
        })
    }

    /// What closing a split nut, or pressing a sleeve, does to the play; adds what is to be said.
    fn closing(&mut self, cut: &StraightGroove) -> Result<Option<f64>, NutError> {
        match self.request.kind {
            NutKind::Solid => Ok(None),
            NutKind::Split { kerf_mm } => {
                if !(kerf_mm.is_finite() && kerf_mm > 0.0) {
                    return Err(NutError::Positive { what: "kerf (mm)", value: kerf_mm });
                }
                let most_mm = 0.25 * 2.0 * cut.bore_radius_mm;
                if kerf_mm > most_mm {
                    return Err(NutError::Kerf { kerf_mm, most_mm });
                }
                let taken = 0.5 * kerf_mm * self.slope;
                self.notices.push(Notice::new(
                    "split-shim",
                    sentence!(
                        "saw the blank in two first and bore and thread it with a shim of {} in either cut; taking shim out of both moves each half inward by half as much and takes up to {} of play",
                        mm(kerf_mm, 2),
                        mm(taken, 3)
                    ),
                ));
                Ok(Some(taken))
            }
            NutKind::Sleeve { outer_diameter_mm, interference_mm } => {
                if !(interference_mm.is_finite() && interference_mm >= 0.0) {
                    return Err(NutError::Interference(interference_mm));
                }
                let (a, b) = (cut.bottom_radius_mm, 0.5 * outer_diameter_mm);
                let wall = b - a;
                if wall.is_nan() || wall <= 0.0 {
                    return Err(NutError::Sleeve {
                        outer_mm: outer_diameter_mm,
                        groove_mm: 2.0 * a,
                    });
                }
                let least_wall = (0.1 * 2.0 * a).max(2.0);
                if wall < least_wall {
                    self.notices.push(Notice::new(
                        "thin-sleeve",
                        sentence!(
                            "the wall outside the groove is {}; at least {} is common practice",
                            mm(wall, 2),
                            mm(least_wall, 2)
                        ),
                    ));
                }
                // Lamé, thick ring under outer pressure, rigid housing: inward movement of the
                // groove for a given inward movement of the outside.
                const POISSON: f64 = 0.34;
                let ratio = 2.0 * a * b / ((b * b + a * a) - POISSON * (b * b - a * a));
                let taken = 0.5 * interference_mm * ratio * self.slope;
                if taken > 0.0 {
                    self.notices.push(Notice::new(
                    "sleeve-closes",
                    sentence!(
                        "pressed in, the sleeve closes and takes up to {} of play: thread it in place, or allow for it",
                        mm(taken, 3)
                    ),
                ));
                }
                Ok(Some(taken))
            }
        }
    }
}
