//! Change wheels: which of the wheels owned cut the pitch that is wanted.
//!
//! Pitch cut = lead screw pitch × Π drivers / Π driven. For a thread of several starts the pitch
//! here is its **lead**.

use crate::mesh::{Bracket, Chain};
use crate::notice::Notice;
use crate::nut::NutDesign;
use form::units::MM_PER_INCH;
use form::{Said, Sentence, figure, mm, mm_as_given, mm_lead, mm_short, sentence};
use serde::{Deserialize, Serialize};
use std::collections::HashSet;
use thiserror::Error;

/// Most wheels that may be owned.
const MOST_WHEELS: usize = 64;
/// Teeth a wheel may have.
const TEETH: (u32, u32) = (8, 400);

/// Errors nearer than this are the same but for rounding, ppm.
const LEAST_ALIKE_PPM: f64 = 1e-6;
/// Below this a train is as good as exact, ppm: less than any lead screw is true to.
const EXACT_PPM: f64 = 0.05;

/// Why no train can be looked for.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum GearError {
    /// A pitch.
    Pitch {
        /// `"lead screw pitch"` or `"pitch wanted"`.
        what: &'static str,
        /// Value, mm.
        value: f64,
    },
    /// A wheel.
    Teeth(u32),
    /// Too few wheels or too many.
    Wheels(usize),
    /// The tolerance.
    Tolerance(f64),
}

impl Said for GearError {
    fn said(&self) -> Sentence {
        match self {
            Self::Pitch { what, value } => sentence!(
                "{} {} is outside 0 to {}, zero excluded",
                *what,
                mm_as_given(*value),
                mm(500.0, 0)
            ),
            Self::Teeth(it) => sentence!("a wheel of {} teeth is outside 8 to 400 teeth", *it),
            Self::Wheels(it) => sentence!("the number of wheels, {}, is outside 2 to 64", *it),
            Self::Tolerance(it) => {
                sentence!("tolerance {} ppm is outside 0 to 100 000 ppm", it.to_string())
            }
        }
    }
}

form::said_by_display!(GearError);

/// What is owned and what is wanted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GearRequest {
    /// Pitch of the lead screw, mm.
    pub leadscrew_mm: f64,
    /// Lead to cut, mm (pitch times starts).
    pub want_mm: f64,
    /// Teeth of every wheel owned; one owned twice is listed twice.
    pub wheels: Vec<u32>,
    /// Most error allowed, ppm.
    pub tolerance_ppm: f64,
    /// Errors are compared to whole multiples of this, ppm: among those alike fewer wheels come first. 0
    /// takes every difference for one.
    #[serde(default)]
    pub alike_ppm: f64,
    /// Most trains returned.
    pub most: usize,
    /// Whether trains of four wheels are looked at, beside those of two.
    pub compound: bool,
    /// A pair fixed on one shaft (driven teeth, driver teeth), such as 127 and 120, added between
    /// the others: trains of six wheels, or of four.
    pub translation_pair: Option<(u32, u32)>,
    /// Where the shafts are; `None` only asks that the wheels mesh and clear each other.
    pub bracket: Option<Bracket>,
    /// Length of the nut, mm, to show what the error comes to.
    pub nut_length_mm: Option<f64>,
    /// Axial play of the nut, mm: the error over the length is compared with a quarter of it.
    pub play_mm: Option<f64>,
}

impl GearRequest {
    /// Trains of two and four wheels within 3000 ppm, ten at most.
    #[must_use]
    pub fn new(leadscrew_mm: f64, want_mm: f64, wheels: Vec<u32>) -> Self {
        Self {
            leadscrew_mm,
            want_mm,
            wheels,
            tolerance_ppm: 3000.0,
            alike_ppm: 0.0,
            most: 10,
            compound: true,
            translation_pair: None,
            bracket: None,
            nut_length_mm: None,
            play_mm: None,
        }
    }

    /// The wheels for a nut, its error weighed over its length against its play.
    #[must_use]
    pub fn for_nut(nut: &NutDesign, leadscrew_mm: f64, wheels: Vec<u32>) -> Self {
        Self {
            nut_length_mm: Some(nut.length_mm),
            play_mm: Some(nut.axial_play_mm.value),
            ..Self::new(leadscrew_mm, nut.lead_mm.value, wheels)
        }
    }
}

/// A train.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Train {
    /// Drivers, the one on the spindle (or its stud) first.
    pub drivers: Vec<u32>,
    /// Driven wheels in the same order, the one on the lead screw last.
    pub driven: Vec<u32>,
    /// Π drivers / Π driven.
    pub ratio: f64,
    /// Pitch cut, mm (the lead, for several starts).
    pub pitch_mm: f64,
    /// Error of the pitch, parts per million; positive: too coarse.
    pub error_ppm: f64,
    /// Idler that lets a train of two reach, and that is owned; `None` when none is needed.
    pub idler: Option<u32>,
    /// Error over the length of the nut, mm.
    pub error_over_nut_mm: Option<f64>,
    /// Whether that stays within a quarter of the play.
    pub within_quarter_play: Option<bool>,
    /// When the half nuts may be opened.
    pub half_nuts: HalfNuts,
}

impl Train {
    /// Whether it is made of the same drivers and the same driven wheels, in whatever order.
    #[must_use]
    pub fn is_of(&self, drivers: &[u32], driven: &[u32]) -> bool {
        let same = |a: &[u32], b: &[u32]| {
            let (mut a, mut b) = (a.to_vec(), b.to_vec());
            a.sort_unstable();
            b.sort_unstable();
            a == b
        };
        same(&self.drivers, drivers) && same(&self.driven, driven)
    }
}

/// An error of pitch in words: `+213 ppm`, or that there is none. One below one has a decimal, so that
/// what is not exact is not said to be nothing.
#[must_use]
pub fn ppm(error_ppm: f64) -> String {
    match error_ppm.abs() {
        e if e < EXACT_PPM => "exact".to_owned(),
        e if e < 0.95 => format!("{error_ppm:+.1} ppm"),
        _ => format!("{error_ppm:+.0} ppm"),
    }
}

/// When the half nuts may be opened and closed again.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "rule")]
pub enum HalfNuts {
    /// Anywhere: the lead screw's pitch is a whole multiple of the lead cut.
    OpenAnywhere,
    /// Only where the saddle has moved by a whole multiple of this length: with a thread dial or a
    /// stop.
    OpenEvery {
        /// Length, mm.
        length_mm: f64,
        /// Turns of the lead screw in it.
        leadscrew_turns: u32,
    },
    /// Never: turn the spindle back, half nuts closed.
    KeepClosed,
}

/// Trains found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Gears {
    /// Best first.
    pub trains: Vec<Train>,
    /// How many lie within the tolerance, shown or not.
    pub found: usize,
    /// What is to be said besides.
    pub notices: Vec<Notice>,
}

struct Candidate {
    drivers: Vec<u32>,
    driven: Vec<u32>,
    error_ppm: f64,
    idler: Option<u32>,
}

/// All trains within the tolerance, best first: least error, then fewer wheels, then fewer teeth. Errors
/// are the same that are alike by [`GearRequest::alike_ppm`]; one that is exact is like no other.
///
/// Trains that differ only in the order of their wheels are one train, shown in an order that meshes.
///
/// # Errors
/// [`GearError`] names the number and its limits.
pub fn find_trains(request: &GearRequest) -> Result<Gears, GearError> {
    let mut found = matching(request)?;
    let alike = request.alike_ppm.max(LEAST_ALIKE_PPM);
    let error = |c: &Candidate| match c.error_ppm.abs() {
        e if e < EXACT_PPM.min(0.5 * alike) => 0,
        e => ((e / alike).round() as u64).max(1),
    };
    found.sort_by_cached_key(|c| {
        let teeth = c.drivers.iter().chain(&c.driven).sum::<u32>();
        let chain = Chain { drivers: &c.drivers, driven: &c.driven };
        let steep_up = chain.steepest_up() > MOST_STEP_UP;
        (
            error(c),
            steep_up,
            c.drivers.len(),
            unbalanced(&chain),
            teeth,
            c.drivers.clone(),
            c.driven.clone(),
        )
    });
    let mut seen = HashSet::new();
    found.retain(|c| {
        let mut key = (c.drivers.clone(), c.driven.clone());
        key.0.sort_unstable();
        key.1.sort_unstable();
        seen.insert(key)
    });
    let count = found.len();
    let mut all: Vec<Train> = found.into_iter().map(|c| describe(request, c)).collect();
    let simpler = all.first().and_then(|best| simpler(best, &all));
    all.truncate(request.most);
    let mut notices = train_notices(request, all.first(), true);
    notices.extend(simpler);
    Ok(Gears { notices, trains: all, found: count })
}

/// Every train within the tolerance that fits, in no order, some of them twice.
fn matching(request: &GearRequest) -> Result<Vec<Candidate>, GearError> {
    check(request)?;
    let wanted = request.want_mm / request.leadscrew_mm;
    let tolerance = request.tolerance_ppm * 1e-6;
    // Wheels by size with how many there are, so that equal wheels are not tried twice.
    let mut sizes: Vec<(u32, usize)> = Vec::new();
    let mut sorted = request.wheels.clone();
    sorted.sort_unstable();
    for w in sorted {
        match sizes.last_mut() {
            Some((size, n)) if *size == w => *n += 1,
            _ => sizes.push((w, 1)),
        }
    }
    let mut found: Vec<Candidate> = Vec::new();
    let mut consider = |drivers: &[u32], driven: &[u32]| {
        let ratio = product(drivers) / product(driven);
        let error = ratio / wanted - 1.0;
        // Rounding must not lose a train exactly at the limit.
        if error.abs() > tolerance + 1e-12 {
            return;
        }
        if let Some((drivers, driven, idler)) = arranged(request, drivers, driven) {
            found.push(Candidate { drivers, driven, error_ppm: error * 1e6, idler });
        }
    };
    let limits = (wanted * (1.0 - tolerance) - 1e-12, wanted * (1.0 + tolerance) + 1e-12);
    two_wheels(&sizes, &mut consider);
    if request.compound {
        four_wheels(&sizes, limits, &mut consider);
    }
    if let Some((driven_pair, driver_pair)) = request.translation_pair {
        let inner = f64::from(driver_pair) / f64::from(driven_pair);
        let rest = (limits.0 / inner, limits.1 / inner);
        let mut with_pair = |drivers: &[u32], driven: &[u32]| {
            let mut a = drivers.to_vec();
            let mut b = driven.to_vec();
            a.insert(1, driver_pair);
            b.insert(b.len() - 1, driven_pair);
            consider(&a, &b);
        };
        // The pair takes the middle shaft: spindle wheel drives the pair, the pair drives the rest.
        two_wheels(&sizes, &mut with_pair);
        if request.compound {
            four_wheels(&sizes, rest, &mut with_pair);
        }
    }
    Ok(found)
}

/// A step up of more than this strains the teeth: such a train comes after the others of its error
/// (common practice: no pair steeper than 3 to 1 up).
const MOST_STEP_UP: f64 = 3.0;
/// Steps steeper than this make a train unbalanced, by halves of a step.
const BALANCED: f64 = 2.5;

/// How far a train is from balanced: 0 up to [`BALANCED`], then by halves.
fn unbalanced(chain: &Chain<'_>) -> u32 {
    (2.0 * (chain.steepest() - BALANCED)).ceil().max(0.0) as u32
}

/// So much more error is worth fewer wheels or half nuts that open, where neither shows in the play.
const LITTLE_MORE: f64 = 1.25;

/// That the best train has least error, and which simpler one errs hardly more: fewer wheels, or half nuts
/// that may be opened.
fn simpler(best: &Train, all: &[Train]) -> Option<Notice> {
    if best.error_ppm.abs() < EXACT_PPM {
        return None;
    }
    let opens = |t: &Train| t.half_nuts != HalfNuts::KeepClosed;
    let alike = |t: &&Train| {
        t.error_ppm.abs() <= LITTLE_MORE * best.error_ppm.abs()
            && t.within_quarter_play != Some(false)
            && t.drivers.len() <= best.drivers.len()
            && (opens(t) || !opens(best))
            && (t.drivers.len() < best.drivers.len() || (opens(t) && !opens(best)))
    };
    let other = all.iter().skip(1).find(alike)?;
    let wheels = |w: &[u32]| w.iter().map(ToString::to_string).collect::<Vec<_>>().join(" × ");
    let name = |t: &Train| format!("{} / {}", wheels(&t.drivers), wheels(&t.driven));
    let gain = match (other.drivers.len() < best.drivers.len(), opens(other) && !opens(best)) {
        (true, true) => "fewer wheels, and half nuts that may be opened",
        (true, false) => "fewer wheels",
        _ => "half nuts that may be opened",
    };
    Some(Notice::new(
        "simpler-train",
        format!(
            "{} comes first because it errs least, {}; {} errs by {}, hardly more, with {gain}: choose it if that suits you better",
            name(best),
            ppm(best.error_ppm),
            name(other),
            ppm(other.error_ppm)
        ),
    ))
}

fn check(request: &GearRequest) -> Result<(), GearError> {
    for (what, value) in
        [("lead screw pitch", request.leadscrew_mm), ("pitch wanted", request.want_mm)]
    {
        if !(value > 0.0 && value <= 500.0) {
            return Err(GearError::Pitch { what, value });
        }
    }
    if !(2..=MOST_WHEELS).contains(&request.wheels.len()) {
        return Err(GearError::Wheels(request.wheels.len()));
    }
    let pair = request.translation_pair.map_or([None, None], |(a, b)| [Some(a), Some(b)]);
    for t in request.wheels.iter().copied().chain(pair.into_iter().flatten()) {
        if !(TEETH.0..=TEETH.1).contains(&t) {
            return Err(GearError::Teeth(t));
        }
    }
    if !(0.0..=1e5).contains(&request.tolerance_ppm) {
        return Err(GearError::Tolerance(request.tolerance_ppm));
    }
    Ok(())
}

fn product(teeth: &[u32]) -> f64 {
    teeth.iter().map(|&t| f64::from(t)).product()
}

fn two_wheels(sizes: &[(u32, usize)], consider: &mut impl FnMut(&[u32], &[u32])) {
    for &(a, have) in sizes {
        for &(b, _) in sizes {
            if a != b || have >= 2 {
                consider(&[a], &[b]);
            }
        }
    }
}

/// Two drivers (unordered) and two driven (unordered), none used more often than it is owned.
fn four_wheels(
    sizes: &[(u32, usize)],
    limits: (f64, f64),
    consider: &mut impl FnMut(&[u32], &[u32]),
) {
    let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
    for i in 0..sizes.len() {
        for j in i..sizes.len() {
            if i != j || sizes[i].1 >= 2 {
                pairs.push((f64::from(sizes[i].0) * f64::from(sizes[j].0), i, j));
            }
        }
    }
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    // For a pair of driven wheels only the pairs of drivers in a narrow window can do.
    for &(driven, k, l) in &pairs {
        let from = pairs.partition_point(|p| p.0 < driven * limits.0);
        for &(drivers, i, j) in &pairs[from..] {
            if drivers > driven * limits.1 {
                break;
            }
            let used = |x: usize| [i, j, k, l].iter().filter(|&&y| y == x).count() <= sizes[x].1;
            // A wheel that drives and is driven cancels out: the train of two says the same.
            if i == k || i == l || j == k || j == l || ![i, j, k, l].into_iter().all(used) {
                continue;
            }
            consider(&[sizes[i].0, sizes[j].0], &[sizes[k].0, sizes[l].0]);
        }
    }
}

/// An order of the wheels that meshes and fits, or `None`.
fn arranged(
    request: &GearRequest,
    drivers: &[u32],
    driven: &[u32],
) -> Option<(Vec<u32>, Vec<u32>, Option<u32>)> {
    let bracket = request.bracket.unwrap_or_default();
    if drivers.len() == 1 {
        let chain = Chain { drivers, driven };
        if !chain.clears(&bracket) {
            return None;
        }
        if bracket.centres_mm.is_none() || chain.reaches(&bracket) {
            return Some((drivers.to_vec(), driven.to_vec(), None));
        }
        let idler = bracket.idler(drivers[0], driven[0], &request.wheels)?;
        return Some((drivers.to_vec(), driven.to_vec(), Some(idler)));
    }
    // A pair fixed on one shaft stays together: its driven and its driver wheel are neighbours.
    let fixed =
        request.translation_pair.filter(|&(b, a)| drivers.contains(&a) && driven.contains(&b));
    let mut best: Option<(u32, Vec<u32>, Vec<u32>)> = None;
    for a in orders(drivers) {
        for b in orders(driven) {
            let together = fixed.is_none_or(|(pair_driven, pair_driver)| {
                (0..b.len() - 1).any(|i| b[i] == pair_driven && a[i + 1] == pair_driver)
            });
            let chain = Chain { drivers: &a, driven: &b };
            let fits = together
                && chain.clears(&bracket)
                && chain.clears_far(&bracket)
                && chain.reaches(&bracket);
            // Of the orders that fit, the most balanced.
            let steps = unbalanced(&chain);
            if fits && best.as_ref().is_none_or(|(least, ..)| steps < *least) {
                best = Some((steps, a.clone(), b));
            }
        }
    }
    best.map(|(_, a, b)| (a, b, None))
}

/// All orders of two or three wheels.
fn orders(of: &[u32]) -> Vec<Vec<u32>> {
    match of {
        [a, b] => vec![vec![*a, *b], vec![*b, *a]],
        [a, b, c] => [[a, b, c], [a, c, b], [b, a, c], [b, c, a], [c, a, b], [c, b, a]]
            .iter()
            .map(|o| o.iter().map(|&&x| x).collect())
            .collect(),
        _ => vec![of.to_vec()],
    }
}

fn describe(request: &GearRequest, c: Candidate) -> Train {
    let ratio = product(&c.drivers) / product(&c.driven);
    let pitch_mm = request.leadscrew_mm * ratio;
    let error_over_nut_mm = request.nut_length_mm.map(|l| c.error_ppm * 1e-6 * l);
    let within_quarter_play =
        error_over_nut_mm.zip(request.play_mm).map(|(e, play)| e.abs() <= 0.25 * play);
    Train {
        half_nuts: half_nuts(&c.drivers, &c.driven, request.leadscrew_mm),
        drivers: c.drivers,
        driven: c.driven,
        ratio,
        pitch_mm,
        error_ppm: if c.error_ppm.abs() < 1e-6 { 0.0 } else { c.error_ppm },
        idler: c.idler,
        error_over_nut_mm,
        within_quarter_play,
    }
}

/// When the half nuts may open with this train.
///
/// The ratio in lowest terms is `N / D`: `D` turns of the spindle's lead make `N` pitches of the lead
/// screw, so the saddle may jump by multiples of `N` lead-screw pitches and no less. `N = 1` is the
/// rule of the shop: pitches that are multiples.
#[must_use]
pub fn half_nuts(drivers: &[u32], driven: &[u32], leadscrew_mm: f64) -> HalfNuts {
    let product = |teeth: &[u32]| teeth.iter().map(|&t| u64::from(t)).product::<u64>();
    let (a, b) = (product(drivers), product(driven));
    if a == 0 || b == 0 {
        return HalfNuts::KeepClosed;
    }
    let turns = a / greatest_common_divisor(a, b);
    // Beyond this the saddle would have to travel farther than any thread dial divides.
    const MOST_TURNS: u64 = 24;
    match turns {
        1 => HalfNuts::OpenAnywhere,
        n if n <= MOST_TURNS => {
            HalfNuts::OpenEvery { length_mm: n as f64 * leadscrew_mm, leadscrew_turns: n as u32 }
        }
        _ => HalfNuts::KeepClosed,
    }
}

fn greatest_common_divisor(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { greatest_common_divisor(b, a % b) }
}

/// What is to be said of the train that is used, `best` or chosen; of none, what would give one.
#[must_use]
pub fn train_notices(request: &GearRequest, used: Option<&Train>, best: bool) -> Vec<Notice> {
    let pitches =
        [("the lead screw's pitch", request.leadscrew_mm), ("the lead to cut", request.want_mm)];
    let fine = pitches.into_iter().filter_map(|(what, mm)| unusually_fine(what, mm));
    let mut notices: Vec<Notice> = fine.collect();
    match used {
        None => notices.push(Notice::new(
            "no-train",
            sentence!(
                "no train of these wheels comes within {} ppm of {}: {}",
                figure(request.tolerance_ppm, 0),
                mm_lead(request.want_mm),
                advised(request)
            ),
        )),
        Some(train) => {
            if train.within_quarter_play == Some(false) {
                notices.push(Notice::new(
                    "pitch-error-eats-play",
                    sentence!(
                        "the {} train errs by {} over the length of the nut, more than ¼ of its play: make the nut shorter, or give it more play",
                        if best { "best" } else { "chosen" },
                        mm(train.error_over_nut_mm.unwrap_or(0.0).abs(), 3)
                    ),
                ));
            }
            notices.push(Notice::new(
                "hand",
                "one idler more or less, or the tumbler, turns the hand round: turn by hand and watch which way the saddle goes",
            ));
            if train.half_nuts == HalfNuts::KeepClosed {
                notices.push(Notice::new(
                    "half-nuts-closed",
                    "keep the half nuts closed until the thread is done and bring the tool back by turning the spindle back: by hand, or slowly in reverse; a chuck that is screwed on unscrews in reverse, turn that back by hand alone",
                ));
            }
        }
    }
    notices
}

/// Threads to the inch beyond which a pitch is rather a slip of the finger or of the unit: the finest
/// inch screw of the usual series has 80, and what is finer belongs to watches (common practice).
const FINE_TPI: f64 = 80.0;

/// What is to be said of a pitch, mm, that is finer than a lathe is asked for; it is used all the same.
#[must_use]
pub fn unusually_fine(what: &str, pitch_mm: f64) -> Option<Notice> {
    let tpi = MM_PER_INCH / pitch_mm;
    // 80 itself, as it was typed, is not finer by its rounding.
    (pitch_mm > 0.0 && tpi > FINE_TPI + 1e-6).then(|| {
        let text = sentence!(
            "{}, {}, is unusually fine, {} threads to the inch: check the number and its unit",
            what,
            mm_short(pitch_mm, 4),
            figure(tpi, 0)
        );
        Notice::new("unusually-fine", text)
    })
}

/// Wheels that are tried as an addition: those that turn inches into millimetres, exactly or nearly, then
/// what sets usually hold.
const TRIED: [u32; 30] = [
    127, 63, 47, 37, 21, 57, 38, 28, 22, 33, 54, 20, 24, 25, 30, 32, 35, 36, 40, 45, 48, 50, 55,
    60, 65, 70, 75, 80, 90, 100,
];
/// Wheels that are named, of those that help.
const NAMED: usize = 2;

/// What would give a train: another wheel that is known to, or a further pair where the step is too large.
fn advised(request: &GearRequest) -> Sentence {
    let wanted = request.want_mm / request.leadscrew_mm;
    let (down, up) = reach(request);
    let to_one = |r: f64| {
        let text = format!("{:.1}", r.max(1.0 / r));
        text.strip_suffix(".0").map(str::to_owned).unwrap_or(text)
    };
    if wanted < down * (1.0 - 1e-6 * request.tolerance_ppm) {
        return sentence!(
            "they reduce by {} to 1 at most, and {} to 1 is wanted: add a smaller or a larger wheel, or a pair fixed on one shaft between them",
            to_one(down),
            to_one(wanted)
        );
    }
    if wanted > up * (1.0 + 1e-6 * request.tolerance_ppm) {
        return sentence!(
            "they step up by {} to 1 at most, and {} to 1 is wanted: add a smaller or a larger wheel, or a pair fixed on one shaft between them",
            to_one(up),
            to_one(wanted)
        );
    }
    let helps = |teeth: &u32| {
        let mut wheels = request.wheels.clone();
        wheels.push(*teeth);
        let more = GearRequest { wheels, most: 1, ..request.clone() };
        matching(&more).is_ok_and(|found| !found.is_empty())
    };
    let owned = |t: &u32| request.wheels.contains(t);
    let named: Vec<String> = TRIED
        .into_iter()
        .filter(|t| !owned(t))
        .filter(helps)
        .take(NAMED)
        .map(|t| format!("a {t}"))
        .collect();
    match named.is_empty() {
        true => "allow more, or add other wheels".into(),
        false => format!("allow more, or add {} wheel", named.join(" or ")).into(),
    }
}

/// The least and the greatest ratio that these wheels make at all, whatever fits a bracket.
fn reach(request: &GearRequest) -> (f64, f64) {
    let mut sorted = request.wheels.clone();
    sorted.sort_unstable();
    let pairs = if request.compound && sorted.len() >= 4 { 2 } else { 1 };
    let small: f64 = product(&sorted[..pairs]);
    let large: f64 = product(&sorted[sorted.len() - pairs..]);
    let inner = request.translation_pair.map_or(1.0, |(a, b)| f64::from(b) / f64::from(a));
    let (low, high) = (small / large, large / small);
    (low * inner.min(1.0), high * inner.max(1.0))
}

/// Why a train is not among those found: a wheel that is not owned, an error beyond what is allowed, or
/// the bracket.
#[must_use]
pub fn why_no_train(request: &GearRequest, drivers: &[u32], driven: &[u32]) -> Sentence {
    let mut left = request.wheels.clone();
    left.extend(request.translation_pair.iter().flat_map(|&(a, b)| [a, b]));
    for teeth in drivers.iter().chain(driven) {
        match left.iter().position(|w| w == teeth) {
            Some(at) => drop(left.swap_remove(at)),
            None if request.wheels.contains(teeth) => {
                return sentence!("there are not that many wheels of {} teeth", teeth);
            }
            None => return sentence!("there is no wheel of {} teeth", teeth),
        }
    }
    let ratio = product(drivers) / product(driven);
    let error_ppm = 1e6 * (ratio * request.leadscrew_mm / request.want_mm - 1.0);
    if error_ppm.abs() > request.tolerance_ppm {
        return sentence!(
            "it cuts {}, {} from {}, and at most {} ppm are allowed",
            mm_lead(ratio * request.leadscrew_mm),
            ppm(error_ppm),
            mm_lead(request.want_mm),
            figure(request.tolerance_ppm, 0)
        );
    }
    "its wheels do not mesh on the bracket, or a wheel drives and is driven".into()
}

/// A way from one start to the next.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "way")]
pub enum Indexing {
    /// Unmesh the first driver and turn the spindle by this many of its teeth.
    FirstDriver {
        /// Teeth of the wheel.
        teeth: u32,
        /// Teeth to turn by for each start.
        by_teeth: u32,
    },
    /// Advance the top slide, set parallel to the axis, by one pitch.
    TopSlide {
        /// Advance for each start, mm.
        advance_mm: f64,
    },
}

/// How to come to the next start of a thread: the spindle against the lead screw by a whole number
/// of teeth where the first driver divides, and always the top slide by one pitch.
#[must_use]
pub fn indexing(starts: u32, pitch_mm: f64, train: &Train) -> Vec<Indexing> {
    if starts < 2 {
        return Vec::new();
    }
    let mut ways = Vec::new();
    if let Some(&teeth) = train.drivers.first()
        && teeth.is_multiple_of(starts)
    {
        ways.push(Indexing::FirstDriver { teeth, by_teeth: teeth / starts });
    }
    ways.push(Indexing::TopSlide { advance_mm: pitch_mm });
    ways
}
