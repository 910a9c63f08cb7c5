//! The whole job against the truth: a screw's shadow is cast, measured, a nut designed for a play, its
//! tool drawn, the nut cut in simulation with that drawing, and put on the *true* screw. What play
//! comes out, against what was forecast; and the same with a tool drawn straight from the shadow.
//!
//! `examples/closing_loop.rs` makes as many of these trials as wanted.

use fit::{BarDrop, BarShape, Known, Measurement, Sighting, Straight};
use form::{Hand, Quantity, Section, SectionNumbers, Source, Thread};
use lamp::{Difficulty, JpegOptions, Scene, Truth};
use picture::{DrawnWanted, EdgePoint, Limits};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;
use shop::{
    Doubt, Groove, NutDesign, NutRequest, Opening, ScrewForm, ToolForm, ToolSetting, Turned,
    Workmanship,
};
use standards::{Combined, Evidence, Instrument, Prior};
use std::collections::BTreeMap;
use std::fmt::{Display, Write};
use std::ops::Range;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Axial play asked of every nut, mm: the middle of what common practice gives a small nut.
const PLAY_MM: f64 = 0.08;
/// How near the play must come to its forecast, mm: a quarter of what was asked.
const NEAR_MM: f64 = 0.02;
/// Standard uncertainty of a major diameter entered from a micrometer, mm.
const MICROMETER_MM: f64 = 0.01;

/// Pitches a caliper is laid over when the program asks for that, and what its reading is good to, mm.
const THREADS: u32 = 10;
const CALIPER_MM: f64 = 0.03;

/// Trials after which a person gives up.
const MOST_TRIALS: u32 = 40;

/// One screw, from its shadow to its nut.
pub struct Trial {
    scene: Scene,
    difficulty: Difficulty,
    /// What had to be entered because the picture does not tell it.
    entered: Vec<&'static str>,
    /// Codes of the measurement's warnings.
    warnings: Vec<&'static str>,
    /// How far the traced outline lies from the true one.
    traced: Option<Traced>,
    /// What was measured less what is true, with its uncertainty.
    off: Vec<(&'static str, f64, f64)>,
    /// Teeth against the form: the thickest and the thinnest, mm, by how many of its u.
    teeth: Option<[(f64, f64); 2]>,
    /// The nut of the measured form on the true screw.
    ours: Result<Assembled, Refusal>,
    /// The nut of straight lines along the same shadow; `None` when nothing was measured.
    straight: Option<Result<Assembled, Refusal>>,
}

/// No nut, or none that goes on.
struct Refusal {
    /// Who said so: the part of the project.
    by: &'static str,
    why: String,
    /// What leaves the play most in doubt, where that is the reason.
    doubt: Option<Doubt>,
}

impl Refusal {
    fn new(by: &'static str, why: impl Display) -> Self {
        Self { by, why: why.to_string(), doubt: None }
    }
}

/// A nut on the true screw.
struct Assembled {
    forecast_mm: Quantity,
    /// Fitted on the screw, by so many trials, because no play was forecast for the numbers alone.
    tried_on: Option<u32>,
    /// Play of the cut groove on the true screw, section on section, mm.
    section_play_mm: f64,
    /// What the difference of the pitches takes of it over the length of the nut, mm.
    lead_loss_mm: f64,
    /// Least room anywhere, mm: at the flanks with the ridge in the middle, at crest and root.
    least_clearance_mm: f64,
    /// Play with the groove as cut by the drawn tool less play with the groove as designed, mm.
    drawn_off_mm: f64,
    /// The design itself said that the screw may bind, or that it cannot forecast.
    forewarned: bool,
    /// What leaves the forecast most in doubt.
    doubt: Option<Doubt>,
    /// 95 % of what the doubt makes possible, mm.
    limits_mm: Option<(f64, f64)>,
    /// Play by which the design expects less than by the best numbers, mm.
    expected_loss_mm: f64,
}

impl Assembled {
    fn play_mm(&self) -> f64 {
        self.section_play_mm - self.lead_loss_mm
    }
    fn error_mm(&self) -> f64 {
        self.play_mm() - self.forecast_mm.value
    }
    fn is_near(&self) -> bool {
        self.error_mm().abs() <= NEAR_MM
    }
    /// Whether the forecast promised to be near, with 95 % confidence.
    fn promised(&self) -> bool {
        2.0 * self.forecast_mm.u <= NEAR_MM
    }
    fn is_inside(&self) -> bool {
        self.error_mm().abs() <= 2.0 * self.forecast_mm.u
    }
    fn interferes(&self) -> bool {
        self.least_clearance_mm < 0.0
    }
}

/// Traced points against the true outline, px; positive is outside the metal.
struct Traced {
    /// Median over both edges of the thread.
    thread_px: f64,
    /// Nine tenths of the thread's points are nearer than this.
    most_px: f64,
    /// Apparent width of the bar less the true one.
    bar_width_px: f64,
}

/// Trials of the screws with these seeds, the kinds of picture by turns.
pub fn trials(seeds: Range<usize>, kinds: &[Difficulty]) -> Vec<Trial> {
    whole_job_tests::workers::trials(seeds, kinds, Trial::of)
}

impl Trial {
    fn of(seed: u64, difficulty: Difficulty) -> Self {
        let scene = lamp::random_scene(seed, difficulty);
        let mut trial = Self {
            difficulty,
            entered: Vec::new(),
            warnings: Vec::new(),
            traced: None,
            off: Vec::new(),
            teeth: None,
            ours: Err(Refusal::new("lamp", "nothing cast")),
            straight: None,
            scene,
        };
        // A panic is a defect of its own; it must not take the other trials' figures with it.
        trial.ours = catch_unwind(AssertUnwindSafe(|| trial.run()))
            .unwrap_or_else(|_| Err(Refusal::new("PANIC", "see the trace")));
        trial
    }

    fn run(&mut self) -> Result<Assembled, Refusal> {
        let truth = true_screw(&self.scene).map_err(|e| Refusal::new("lamp", e))?;
        let setting = setting(self.scene.seed);
        let m = self.measured()?;
        self.warnings = m.warnings.iter().map(|w| w.code).collect();
        self.off = deviations(&m, &truth);
        self.teeth = extremes(&m);
        self.straight = m.straight.map(|s| {
            let screw = straight_screw(&s, &m, &truth)
                .ok_or_else(|| Refusal::new("straight", "the lines enclose no depth"))?;
            assembled(&screw, &truth, &setting)
        });
        let nut = |together: Option<&Combined>| {
            let screw = job::screw_of(&m, together).map_err(|text| {
                let why = text.to_string().split(" could ").next().unwrap_or_default().to_owned();
                Refusal::new("cannot tell", why)
            })?;
            assembled(&screw, &truth, &setting)
        };
        let mut made = nut(None);
        let mut readings = Vec::new();
        // As long as the program names a number to measure, and a caliper reaches it.
        while let Some((what, reading)) = wanted(&made).and_then(|what| self.reading(what)) {
            self.entered.push(what);
            readings.push(reading);
            made = nut(Some(&standards::combine(&job::asked(&m), &Prior::default(), &readings)));
        }
        made
    }

    /// What a caliper or a micrometer reads on the true screw.
    fn reading(&self, what: &'static str) -> Option<(&'static str, Evidence)> {
        let (scene, t) = (&self.scene, &self.scene.thread);
        if self.entered.contains(&what) {
            return None;
        }
        let mut draws = Pcg64Mcg::seed_from_u64(scene.seed);
        let mut read = |true_mm: f64, u: f64| {
            let off: f64 = StandardNormal.sample(&mut draws);
            Quantity::entered(true_mm + u * off, u)
        };
        let evidence = match what {
            "pitch" => Evidence::OverThreads {
                threads: THREADS,
                length_mm: read(f64::from(THREADS) * t.section().pitch_mm(), CALIPER_MM),
                instrument: Instrument::Caliper,
            },
            "root diameter" => {
                Evidence::Minor { minor_mm: read(t.minor_diameter_mm(), CALIPER_MM) }
            }
            "major diameter" => {
                Evidence::Major { major_mm: read(t.major_diameter_mm(), MICROMETER_MM) }
            }
            _ => return None,
        };
        Some((what, evidence))
    }

    /// As a careful person would go about it: bar, focal length and mirror said at once, the rest only
    /// when the program asks for it.
    fn measured(&mut self) -> Result<Measurement, Refusal> {
        let scene = &self.scene;
        let cast = lamp::cast(scene).map_err(|e| Refusal::new("lamp", e))?;
        let focal_35mm = scene.focal_35mm().filter(|f| (1.0..=65_535.0).contains(f));
        let options = JpegOptions { focal_35mm, ..JpegOptions::default() };
        let bytes = cast.to_jpeg(&options).map_err(|e| Refusal::new("lamp", e))?;

        let picture_says = |e: picture::PictureError| Refusal::new("picture", e.code());
        let picture = picture::decode(&bytes, &Limits::default()).map_err(picture_says)?;
        let traced = picture::trace(&picture.grey, DrawnWanted::Auto, &|_| true);
        let found = traced.map_err(picture_says)?;
        let bar = picture::find_bar(&found, None).map_err(picture_says)?;
        let thread = picture::find_thread(&found, Some(&bar), None).map_err(picture_says)?;
        self.traced = Traced::of(&thread, &bar, &cast.truth);

        let mut known = known(scene, picture.focal_35mm)
            .ok_or_else(|| Refusal::new("lamp", "a scene without a bar"))?;
        if thread.upper.is_empty() || thread.lower.is_empty() {
            let major = scene.thread.major_diameter_mm();
            known.major_diameter_mm = Some(Quantity::entered(major, MICROMETER_MM));
            self.entered.push("diameter");
        }
        let sighting = Sighting {
            width_px: picture.grey.width(),
            height_px: picture.grey.height(),
            drawn: found.drawn,
            bar,
            thread,
        };
        let measure = |known: &Known| {
            fit::measure(&sighting, known, &|_| true).map_err(|e| Refusal::new("fit", e))
        };
        let m = measure(&known)?;
        if m.starts.is_some() && m.hand.is_some() {
            return Ok(m);
        }
        // "Cannot tell": one look at the screw settles both.
        known.starts = Some(scene.thread.starts());
        known.hand = Some(scene.thread.hand());
        self.entered.push("hand and starts");
        measure(&known)
    }
}

/// What the program wants measured before it designs a nut or forecasts its play; `None` when it does,
/// or wants what no caliper reaches.
fn wanted(made: &Result<Assembled, Refusal>) -> Option<&'static str> {
    match made {
        Ok(nut) if nut.tried_on.is_none() => None,
        Ok(Assembled { doubt: Some(doubt), .. }) | Err(Refusal { doubt: Some(doubt), .. }) => {
            match shop::PARAMETER_NAMES[doubt.parameter] {
                "pitch_mm" => Some("pitch"),
                "depth_mm" => Some("root diameter"),
                "major_diameter_mm" => Some("major diameter"),
                _ => None,
            }
        }
        Err(r) => match r.why.as_str() {
            "the pitch" => Some("pitch"),
            "the depth" => Some("root diameter"),
            "the major diameter" => Some("major diameter"),
            _ => None,
        },
        Ok(_) => None,
    }
}

/// Every number of the form that was measured, less what is true.
fn deviations(m: &Measurement, truth: &Thread) -> Vec<(&'static str, f64, f64)> {
    let (f, s) = (&m.form, truth.section());
    [
        ("pitch", f.pitch_mm, s.pitch_mm()),
        ("right", f.right_flank_deg, s.right_flank_rad().to_degrees()),
        ("left", f.left_flank_deg, s.left_flank_rad().to_degrees()),
        ("depth", f.depth_mm, s.depth_mm()),
        ("crest", f.crest_flat_mm, s.crest_flat_mm()),
        ("major", f.major_diameter_mm, truth.major_diameter_mm()),
    ]
    .into_iter()
    .filter_map(|(name, q, want)| q.map(|q| (name, q.value - want, q.u)))
    .collect()
}

/// Thickest and thinnest tooth against the form, mm, and the same in its u.
fn extremes(m: &Measurement) -> Option<[(f64, f64); 2]> {
    let extra = |t: &fit::Tooth| {
        let (r, l) = (t.right_wear_mm, t.left_wear_mm);
        (-(r.value + l.value), -(r.value + l.value) / r.u.hypot(l.u))
    };
    let thickest = m.teeth.iter().map(extra).max_by(|a, b| a.0.total_cmp(&b.0))?;
    let thinnest = m.teeth.iter().map(extra).min_by(|a, b| a.0.total_cmp(&b.0))?;
    Some([thickest, thinnest])
}

/// The screw as its picture shows it: right and left exchanged where roll or mirror exchange them.
fn true_screw(scene: &Scene) -> Result<Thread, form::SectionError> {
    let (right_flank_rad, left_flank_rad) = scene.flanks_in_picture_rad();
    let numbers = scene.thread.section().numbers();
    let section = Section::new(SectionNumbers { right_flank_rad, left_flank_rad, ..numbers })?;
    let t = &scene.thread;
    Thread::new(section, t.major_diameter_mm(), t.starts(), t.hand())
}

/// Tools set square, turned to the lead angle, and with top rake, by turns.
fn setting(seed: u64) -> ToolSetting {
    match (seed / 2) % 3 {
        0 => ToolSetting::default(),
        1 => ToolSetting { turned: Turned::ToLeadAngle, ..ToolSetting::default() },
        _ => ToolSetting { top_rake_deg: 6.0, ..ToolSetting::default() },
    }
}

/// What the owner of the bar says.
fn known(scene: &Scene, focal_35mm: Option<f64>) -> Option<Known> {
    let bar = scene.bar?;
    let major = scene.thread.major_diameter_mm();
    let same = lamp::Bar::same_surface_drop_mm(bar.shape, bar.width_mm, major);
    Some(Known {
        bar_shape: match bar.shape {
            lamp::BarShape::Round => BarShape::Round,
            lamp::BarShape::Flat => BarShape::Flat,
        },
        bar_drop: if (bar.drop_mm - same).abs() < 1e-6 {
            BarDrop::SameSurface
        } else {
            BarDrop::Given(Quantity::entered(bar.drop_mm, 0.0))
        },
        mirrored: scene.mirrored,
        focal_35mm,
        ..Known::bar(Quantity::entered(bar.width_mm, 0.0))
    })
}

/// The screw that straight lines along the shadow describe, taken at their word.
fn straight_screw(s: &Straight, m: &Measurement, truth: &Thread) -> Option<ScrewForm> {
    let (right, left) = (s.right_flank_deg.to_radians(), s.left_flank_deg.to_radians());
    let slope = right.tan() + left.tan();
    // Lines square to the axis do not say how deep they go; a depth gauge does.
    let depth_mm = if slope > 0.05 {
        (s.pitch_mm - s.crest_flat_mm - s.root_flat_mm) / slope
    } else {
        m.form.depth_mm?.value
    };
    let section = Section::new(SectionNumbers {
        pitch_mm: s.pitch_mm,
        depth_mm,
        right_flank_rad: right,
        left_flank_rad: left,
        crest_flat_mm: s.crest_flat_mm,
        crest_radius_mm: 0.0,
        root_radius_mm: 0.0,
    })
    .ok()?;
    let major = s.major_diameter_mm.unwrap_or_else(|| truth.major_diameter_mm());
    let thread = Thread::new(section, major, truth.starts(), truth.hand()).ok()?;
    Some(ScrewForm::from_thread(&thread, Source::Measured))
}

/// Designs the nut, draws its tool, cuts the nut with it, and puts it on the true screw.
///
/// Wear only takes metal away, and a nut must pass the unworn ends: the true screw is the unworn one.
fn assembled(
    screw: &ScrewForm,
    truth: &Thread,
    setting: &ToolSetting,
) -> Result<Assembled, Refusal> {
    let request =
        NutRequest { workmanship: Workmanship::PERFECT, ..NutRequest::with_play(PLAY_MM) };
    let nut = shop::design_nut(screw, &request).map_err(|e| Refusal::new("nut", e))?;
    let tool = shop::tool_for_nut(screw, &nut, setting).map_err(|e| Refusal::new("tool", e))?;
    if !nut.may_be_cut() {
        let not_yet = Refusal::new("not yet", "its play cannot be forecast");
        return Err(Refusal { doubt: nut.doubt, ..not_yet });
    }
    let wrong = screw.pitch_mm.value / truth.section().pitch_mm() - 1.0;
    let lead_loss_mm = shop::play_lost_to_lead_mm(wrong, nut.length_mm);
    let (groove, trials) = cut(&nut, &tool, truth, lead_loss_mm)?;
    let mating = shop::mate(truth, &groove).map_err(|e| Refusal::new("does not go on", e))?;
    let designed = shop::mate(truth, &nut.groove).map_err(|e| Refusal::new("does not go on", e))?;
    let play = mating.axial_play_mm - lead_loss_mm;
    Ok(Assembled {
        forecast_mm: nut.try_on.map_or(nut.axial_play_mm, |t| t.play_mm),
        tried_on: trials,
        section_play_mm: mating.axial_play_mm,
        lead_loss_mm,
        least_clearance_mm: (0.5 * play)
            .min(mating.crest_clearance_mm)
            .min(mating.bore_clearance_mm),
        drawn_off_mm: match trials {
            Some(_) => 0.0,
            None => mating.axial_play_mm - designed.axial_play_mm,
        },
        forewarned: nut.notices.iter().any(|n| n.code == "may-bind"),
        doubt: nut.doubt,
        limits_mm: nut.play_limits_mm,
        expected_loss_mm: nut.axial_play_mm.value - nut.mean_play_mm,
    })
}

/// The groove the drawn tool cuts: to the numbers, or, where the design says so, opened on the true
/// screw as it directs; then with the number of trials.
fn cut(
    nut: &NutDesign,
    tool: &ToolForm,
    truth: &Thread,
    lead_loss_mm: f64,
) -> Result<(Groove, Option<u32>), Refusal> {
    let designed_mm = nut.infeed_mm.value;
    let opened = |infeed_mm: f64, along_mm: f64| -> Result<(Groove, f64, bool), Refusal> {
        let tip_mm = tool.tip_radius_mm + infeed_mm - designed_mm;
        let mut groove =
            shop::groove_cut_by(tool, &tool.outline_mm, nut.groove.bore_radius_mm, tip_mm)
                .map_err(|e| Refusal::new("cut", e))?;
        for point in &mut groove.right {
            point.along_mm += along_mm;
        }
        let mating = shop::mate(truth, &groove).map_err(|e| Refusal::new("does not go on", e))?;
        let play = mating.axial_play_mm - lead_loss_mm;
        let enters =
            play >= 0.0 && mating.crest_clearance_mm >= 0.0 && mating.bore_clearance_mm >= 0.0;
        Ok((groove, play, enters))
    };
    let Some(t) = nut.try_on else { return Ok((opened(designed_mm, 0.0)?.0, None)) };
    let at = |moved: f64| match t.opening {
        Opening::Infeed => opened(t.first_infeed_mm + moved, 0.0),
        Opening::Sideways => opened(t.first_infeed_mm, moved),
    };
    for trial in 0..MOST_TRIALS {
        let moved = f64::from(trial) * t.step_mm;
        let (_, play, enters) = at(moved)?;
        if enters {
            let then = match trial {
                0 => ((t.play_mm.value - play) / t.play_per_mm).max(0.0),
                _ => t.then_mm,
            };
            return Ok((at(moved + then)?.0, Some(trial + 1)));
        }
    }
    Err(Refusal::new("does not go on", format!("within {MOST_TRIALS} trials")))
}

impl Traced {
    fn of(thread: &picture::Thread, bar: &picture::Bar, truth: &Truth) -> Option<Self> {
        let mut thread_off: Vec<f64> = [&thread.upper, &thread.lower]
            .into_iter()
            .flat_map(|edge| edge.iter().step_by(1 + edge.len() / 300))
            .map(|p| {
                let to = |line| off_px(p, line);
                let (a, b) = (to(&truth.upper), to(&truth.lower));
                if a.abs() < b.abs() { a } else { b }
            })
            .collect();
        let edges = truth.bar_edges.as_ref()?;
        let bar_width_px = bar
            .edges
            .iter()
            .map(|edge| {
                let off = |p| {
                    edges.iter().map(|e| off_px(p, e)).min_by(|a, b| a.abs().total_cmp(&b.abs()))
                };
                quantile(
                    &mut edge.iter().step_by(1 + edge.len() / 100).filter_map(off).collect(),
                    0.5,
                )
            })
            .sum();
        let thread_px = quantile(&mut thread_off, 0.5);
        let mut sizes: Vec<f64> = thread_off.iter().map(|d| d.abs()).collect();
        Some(Self { thread_px, most_px: quantile(&mut sizes, 0.9), bar_width_px })
    }
}

/// Distance of a point from a line, px, along the point's own normal where it matters: positive where
/// the point lies on the side its normal shows to.
fn off_px(p: &EdgePoint, line: &[(f64, f64)]) -> f64 {
    let mut least = f64::INFINITY;
    for w in line.windows(2) {
        let (a, b) = (w[0], w[1]);
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let length = dx * dx + dy * dy;
        let t = if length > 0.0 {
            (((p.x - a.0) * dx + (p.y - a.1) * dy) / length).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let (ex, ey) = (p.x - a.0 - t * dx, p.y - a.1 - t * dy);
        let away = ex.hypot(ey);
        if away < least.abs() {
            least = away.copysign(ex * p.nx + ey * p.ny);
        }
    }
    least
}

/// The `q` quantile, NaN of nothing.
fn quantile(values: &mut Vec<f64>, q: f64) -> f64 {
    values.retain(|v| !v.is_nan());
    values.sort_by(f64::total_cmp);
    let at = (q * values.len().saturating_sub(1) as f64).round() as usize;
    values.get(at).copied().unwrap_or(f64::NAN)
}

/// The figures, for each kind of picture and for all.
pub fn table(trials: &[Trial]) -> String {
    let columns: Vec<Vec<&Trial>> = [Some(Difficulty::Clean), Some(Difficulty::Workshop), None]
        .into_iter()
        .map(|d| trials.iter().filter(|t| d.is_none_or(|d| t.difficulty == d)).collect())
        .collect();
    let mut out = format!("{:58} {:>11} {:>11} {:>11}\n", "", "clean", "workshop", "both");
    let mut row = |name: &str, of: &dyn Fn(&[&Trial]) -> String| {
        let _ = write!(out, "{name:58}");
        for column in &columns {
            let _ = write!(out, " {:>11}", of(column));
        }
        out.push('\n');
    };
    let count =
        |of: &dyn Fn(&Trial) -> bool, among: &[&Trial]| among.iter().filter(|t| of(t)).count();
    let mut some = |name: &str, of: &dyn Fn(&Trial) -> bool| {
        row(name, &|ts| count(of, ts).to_string());
    };
    some("screws", &|_| true);
    some("  asymmetric", &|t| is_asymmetric(&t.scene));
    some("  two or three starts", &|t| t.scene.thread.starts() > 1);
    some("  left-hand", &|t| t.scene.thread.hand() == Hand::Left);
    some("  worn", &|t| t.scene.wear.is_some());
    some("hand and starts had to be entered", &|t| t.entered.contains(&"hand and starts"));
    some("one edge: diameter entered", &|t| t.entered.contains(&"diameter"));
    some("a caliper's reading asked for and entered", &|t| {
        t.entered.iter().any(|e| ["pitch", "root diameter", "major diameter"].contains(e))
    });
    let mut reasons: BTreeMap<String, usize> = BTreeMap::new();
    for refusal in trials.iter().filter_map(|t| t.ours.as_ref().err()) {
        *reasons.entry(format!("{}: {}", refusal.by, refusal.why)).or_default() += 1;
    }
    some("no nut", &|t| t.ours.is_err());
    for reason in reasons.keys() {
        let short: String = reason.chars().take(54).collect();
        some(&format!("  {short}"), &|t| {
            t.ours.as_ref().is_err_and(|r| format!("{}: {}", r.by, r.why) == *reason)
        });
    }
    let share = |of: &dyn Fn(&Assembled) -> bool,
                 among: &dyn Fn(&Trial, &Assembled) -> bool,
                 ts: &[&Trial]| {
        let all: Vec<&Assembled> =
            ts.iter().filter_map(|t| t.ours.as_ref().ok().filter(|a| among(t, a))).collect();
        format!("{}/{}", all.iter().filter(|a| of(a)).count(), all.len())
    };
    let quiet = |t: &Trial, _: &Assembled| !t.warnings.contains(&"misfit");
    row("no forecast by numbers: opened on the screw, as directed", &|ts| {
        share(&|a| a.tried_on.is_some(), &|_, _| true, ts)
    });
    row("  by how many trials, median", &|ts| {
        let mut trials = ts
            .iter()
            .filter_map(|t| t.ours.as_ref().ok()?.tried_on.map(f64::from))
            .collect::<Vec<f64>>();
        if trials.is_empty() { "-".to_owned() } else { quantile(&mut trials, 0.5).to_string() }
    });
    row("  play then within 0.02 mm of what was asked", &|ts| {
        share(&Assembled::is_near, &|_, a| a.tried_on.is_some(), ts)
    });
    row("play within 0.02 mm of its forecast", &|ts| share(&Assembled::is_near, &|_, _| true, ts));
    row("  where no misfit was said", &|ts| share(&Assembled::is_near, &quiet, ts));
    row("  where the forecast promised it (2u <= 0.02)", &|ts| {
        share(&Assembled::is_near, &|_, a| a.promised(), ts)
    });
    row("inside the forecast's 95 % interval (2u)", &|ts| {
        share(&Assembled::is_inside, &|_, _| true, ts)
    });
    row("  where no misfit was said", &|ts| share(&Assembled::is_inside, &quiet, ts));
    row("interference", &|ts| share(&Assembled::interferes, &|_, _| true, ts));
    let of_ours = |f: &dyn Fn(&Assembled) -> f64, q: f64, ts: &[&Trial]| {
        format!(
            "{:.4}",
            quantile(&mut ts.iter().filter_map(|t| t.ours.as_ref().ok().map(f)).collect(), q)
        )
    };
    row("median |achieved - forecast|, mm", &|ts| of_ours(&|a| a.error_mm().abs(), 0.5, ts));
    row("nine tenths below, mm", &|ts| of_ours(&|a| a.error_mm().abs(), 0.9, ts));
    row("median of achieved - forecast, mm", &|ts| of_ours(&Assembled::error_mm, 0.5, ts));
    row("median play that doubt was expected to take, mm", &|ts| {
        of_ours(&|a| a.expected_loss_mm, 0.5, ts)
    });
    row("median |achieved - forecast|, in its u", &|ts| {
        of_ours(&|a| a.error_mm().abs() / a.forecast_mm.u, 0.5, ts)
    });
    row("median, section alone (pitch as true), mm", &|ts| {
        of_ours(&|a| (a.section_play_mm - a.forecast_mm.value).abs(), 0.5, ts)
    });
    row("median loss to the pitch's error over the nut, mm", &|ts| {
        of_ours(&|a| a.lead_loss_mm, 0.5, ts)
    });
    row("median u of the forecast, mm", &|ts| of_ours(&|a| a.forecast_mm.u, 0.5, ts));
    row("drawn tool against designed groove, most, mm", &|ts| {
        of_ours(&|a| a.drawn_off_mm.abs(), 1.0, ts)
    });
    let paired = |ts: &[&Trial]| -> Vec<(f64, f64, f64, bool)> {
        ts.iter()
            .filter_map(|t| {
                let (ours, straight) = (t.ours.as_ref().ok()?, t.straight.as_ref()?.as_ref().ok()?);
                let section = straight.section_play_mm - straight.forecast_mm.value;
                Some((
                    ours.error_mm().abs(),
                    straight.error_mm().abs(),
                    section.abs(),
                    straight.interferes(),
                ))
            })
            .collect()
    };
    row("straight from the shadow: no nut, or none that goes on", &|ts| {
        count(&|t| t.straight.as_ref().is_some_and(Result::is_err), ts).to_string()
    });
    row("  both made: median |error| ours, mm", &|ts| {
        format!("{:.4}", quantile(&mut paired(ts).iter().map(|p| p.0).collect(), 0.5))
    });
    row("  both made: median |error| straight, mm", &|ts| {
        format!("{:.4}", quantile(&mut paired(ts).iter().map(|p| p.1).collect(), 0.5))
    });
    row("  the same, section alone (pitch as true), mm", &|ts| {
        format!("{:.4}", quantile(&mut paired(ts).iter().map(|p| p.2).collect(), 0.5))
    });
    row("  straight within 0.02 mm", &|ts| {
        let all = paired(ts);
        format!("{}/{}", all.iter().filter(|p| p.1 <= NEAR_MM).count(), all.len())
    });
    row("  straight interferes", &|ts| {
        let all = paired(ts);
        format!("{}/{}", all.iter().filter(|p| p.3).count(), all.len())
    });
    out
}

fn is_asymmetric(scene: &Scene) -> bool {
    let s = scene.thread.section();
    (s.right_flank_rad() - s.left_flank_rad()).abs() > 0.1f64.to_radians()
}

/// The `n` trials that ended farthest from their forecast, worst first.
pub fn worst(trials: &[Trial], n: usize) -> String {
    let mut off: Vec<(&Trial, &Assembled)> =
        trials.iter().filter_map(|t| Some((t, t.ours.as_ref().ok()?))).collect();
    off.sort_by(|a, b| b.1.error_mm().abs().total_cmp(&a.1.error_mm().abs()));
    let mut out = String::new();
    for (t, a) in off.into_iter().take(n) {
        let _ = writeln!(
            out,
            "{}\n    play {:+.4} forecast {:.4} ± {:.4}: off {:+.4} = {:+.1} u; limits {:.2?}, pitch takes {:.4}; least clearance {:+.4}{}; drawn tool {:+.1e}",
            title(t),
            a.play_mm(),
            a.forecast_mm.value,
            a.forecast_mm.u,
            a.error_mm(),
            a.error_mm() / a.forecast_mm.u,
            a.limits_mm.unwrap_or((f64::NAN, f64::NAN)),
            a.lead_loss_mm,
            a.least_clearance_mm,
            match (a.tried_on, a.forewarned) {
                (Some(n), _) => format!(", opened by {n} trials"),
                (None, true) => ", forewarned".to_owned(),
                (None, false) => String::new(),
            },
            a.drawn_off_mm,
        );
        if let Some(traced) = &t.traced {
            let _ = writeln!(
                out,
                "    traced: thread {:+.3} px, 90 % within {:.3} px; bar {:+.3} px wide; warnings {:?} entered {:?}",
                traced.thread_px, traced.most_px, traced.bar_width_px, t.warnings, t.entered
            );
        }
        out.push_str("    measured less true:");
        for (name, off, u) in &t.off {
            let _ = write!(out, " {name} {off:+.4} ({:+.1} u)", off / u);
        }
        if let Some([thick, thin]) = t.teeth {
            let _ = write!(
                out,
                "; teeth {:+.3} mm ({:+.1} u) to {:+.3} mm ({:+.1} u)",
                thin.0, thin.1, thick.0, thick.1
            );
        }
        out.push('\n');
    }
    out
}

/// The trials that came to no nut.
pub fn refused(trials: &[Trial]) -> String {
    let mut out = String::new();
    for t in trials {
        if let Err(r) = &t.ours {
            let _ = writeln!(out, "{}\n    {}: {}; {:?}", title(t), r.by, r.why, t.warnings);
        }
    }
    out
}

/// The scene in a line.
fn title(t: &Trial) -> String {
    let s = &t.scene;
    let n = s.thread.section().numbers();
    let mut out = format!(
        "{:?} {}: P {:.3} {:.1}/{:.1}° depth {:.3} crest {:.3} r {:.3}/{:.3} Ø{:.2} x{} {:?}, {:.1} px/mm blur {:.1}, eye {:.0} mm tilt {:.2}°",
        t.difficulty,
        s.seed,
        n.pitch_mm,
        n.right_flank_rad.to_degrees(),
        n.left_flank_rad.to_degrees(),
        n.depth_mm,
        n.crest_flat_mm,
        n.crest_radius_mm,
        n.root_radius_mm,
        s.thread.major_diameter_mm(),
        s.thread.starts(),
        s.thread.hand(),
        s.px_per_mm,
        s.blur_px,
        s.view.distance_mm().unwrap_or(f64::INFINITY),
        s.view.tilt_rad.to_degrees(),
    );
    let traits = [
        ("pencil", matches!(s.drawn, lamp::Drawn::Pencil(_))),
        ("worn", s.wear.is_some()),
        ("leaning wall", s.wall != lamp::Homography::IDENTITY),
        ("lens", s.lens_k1 != 0.0),
        ("shank", s.shank.is_some()),
        ("mirrored", s.mirrored),
        ("inverted", s.inverted),
        ("one edge", t.entered.contains(&"diameter")),
    ];
    for (name, _) in traits.into_iter().filter(|t| t.1) {
        let _ = write!(out, ", {name}");
    }
    out
}

#[test]
fn nuts_fit_the_true_screws_as_forecast() {
    // Twelve in a row in which every kind named below occurs.
    let trials = trials(4..16, &[Difficulty::Clean]);
    eprintln!("{}\n{}\n{}", table(&trials), worst(&trials, 4), refused(&trials));
    assert_eq!(trials.len(), 12);
    for (kind, there) in [
        ("asymmetric", trials.iter().any(|t| is_asymmetric(&t.scene))),
        ("left-hand", trials.iter().any(|t| t.scene.thread.hand() == Hand::Left)),
        ("of several starts", trials.iter().any(|t| t.scene.thread.starts() > 1)),
    ] {
        assert!(there, "no screw is {kind}");
    }
    assert!(trials.iter().all(|t| t.ours.as_ref().err().is_none_or(|r| r.by != "PANIC")));
    let nuts: Vec<(&Trial, &Assembled)> = trials
        .iter()
        .filter(|t| !t.warnings.contains(&"misfit"))
        .filter_map(|t| Some((t, t.ours.as_ref().ok()?)))
        .collect();
    assert!(nuts.len() >= 9, "only {} of 12 screws came to a nut", nuts.len());
    for (t, a) in &nuts {
        // A design that says "may bind, try the screw first" has not promised to be near.
        assert!(a.forewarned || a.is_near(), "{}: {:+.4} mm off", title(t), a.error_mm());
        assert!(!a.interferes(), "{}: {:+.4} mm", title(t), a.least_clearance_mm);
        // The drawing is the design: what lies between them is the fineness of its polyline.
        assert!(a.drawn_off_mm.abs() < 0.001, "{}: {:+.4} mm", title(t), a.drawn_off_mm);
    }
    let forewarned = nuts.iter().filter(|(_, a)| a.forewarned).count();
    assert!(forewarned <= 2, "{forewarned} of {} designs may bind", nuts.len());
    let inside = nuts.iter().filter(|(_, a)| a.is_inside()).count();
    assert!(inside * 10 >= nuts.len() * 8, "{inside} of {} inside 2u", nuts.len());
    let straight: Vec<f64> = nuts
        .iter()
        .filter_map(|(t, _)| Some(t.straight.as_ref()?.as_ref().ok()?.error_mm().abs()))
        .collect();
    assert!(straight.len() >= 6, "straight lines made only {} nuts", straight.len());
    let ours = quantile(&mut nuts.iter().map(|(_, a)| a.error_mm().abs()).collect(), 0.5);
    let theirs = quantile(&mut straight.clone(), 0.5);
    assert!(theirs > 3.0 * ours, "straight {theirs:.4} mm, ours {ours:.4} mm");
}

#[test]
fn a_nut_from_a_near_leaning_wall_goes_on() {
    // Eye and plane turned together show the same outline: the diameters hang on what is believed of
    // the eye, and the nut must allow for it.
    for seed in [107, 151] {
        let trial = Trial::of(seed, Difficulty::Workshop);
        assert!(trial.scene.wall != lamp::Homography::IDENTITY);
        let nut = trial.ours.as_ref().unwrap_or_else(|r| panic!("{}: {}", r.by, r.why));
        assert!(!nut.interferes() && nut.is_inside(), "{}: {:+.4} mm", seed, nut.error_mm());
        for (name, off, u) in &trial.off {
            assert!(off.abs() < 4.0 * u, "{seed}: {name} {off:+.4} ± {u:.4}");
        }
    }
}

#[test]
fn a_reading_takes_the_place_of_what_the_picture_hardly_tells() {
    let mut trial = Trial::of(4, Difficulty::Clean);
    let mut m = trial.measured().unwrap_or_else(|r| panic!("{}: {}", r.by, r.why));
    assert!(job::screw_of(&m, None).is_ok());
    m.form.pitch_mm = m.form.pitch_mm.map(|q| Quantity { u: 0.05 * q.value, ..q });
    let said = job::screw_of(&m, None).unwrap_err();
    assert!(said.to_string().contains("the pitch could hardly be told"), "{said}");
    assert!(said.to_string().contains("over as many threads as can be reached"), "{said}");
    let (_, reading) = trial.reading("pitch").unwrap();
    let together =
        standards::combine(&job::asked(&m), &Prior::default(), std::slice::from_ref(&reading));
    let screw = job::screw_of(&m, Some(&together)).unwrap();
    let pitch_mm = trial.scene.thread.section().pitch_mm();
    assert!((screw.pitch_mm.value - pitch_mm).abs() < 3.0 * CALIPER_MM / f64::from(THREADS));
    assert!(screw.pitch_mm.u <= 1.01 * CALIPER_MM / f64::from(THREADS));

    (m.form.depth_mm, m.form.minor_diameter_mm) = (None, None);
    let combine =
        |readings: &[Evidence]| standards::combine(&job::asked(&m), &Prior::default(), readings);
    let said = job::screw_of(&m, Some(&combine(std::slice::from_ref(&reading)))).unwrap_err();
    assert!(said.to_string().contains("measure the root diameter"), "{said}");
    let (_, root) = trial.reading("root diameter").unwrap();
    let screw = job::screw_of(&m, Some(&combine(&[reading, root]))).unwrap();
    let depth_mm = trial.scene.thread.section().depth_mm();
    assert!((screw.depth_mm.value - depth_mm).abs() < 2.0 * CALIPER_MM, "{:?}", screw.depth_mm);
}
