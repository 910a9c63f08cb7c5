//! Which feature belongs to which world.

use crate::catalogue::{families, family};
use crate::family::{System, inch_label, plain};
use crate::likelihood::Observations;
use crate::measured::{Feature, Measured, Reading};
use crate::nearest::Apart;
use crate::prior::{diameter_grid_mm, round_pitches};
use crate::rank::{Candidate, Verdict};
use form::{Part, Quantity, Sentence, figure, mm_short, sentence};

const MM_PER_INCH: f64 = form::units::MM_PER_INCH;
/// A value belongs to a list when an entry lies within this many spreads.
const NEAR: f64 = 2.5;
/// More differences from the nearest thread than these are not spelt out.
const MOST_APART: usize = 4;
/// Taper of pipe threads on the diameter (ISO 7-1, ASME B1.20.1), and how far made ones spread about it.
const PIPE_TAPER: f64 = 0.0625;
const MADE_TAPER: f64 = 0.001;
/// A crest lies over its nominal diameter by no more spreads than this.
const OVER: f64 = 2.0;
/// Two statements of one length differ by no more than this, mm.
const EXACT_MM: f64 = 2e-3;
/// Error of a flank on an ordinary thread, degrees.
const MADE_DEG: f64 = 0.15;

/// What a ranking found, to be put into sentences.
pub(crate) struct Odds<'a> {
    pub candidates: &'a [Candidate],
    /// Probability of a thread of no standard.
    pub none: f64,
    pub verdict: Verdict,
    /// Designation of the nearest listed thread and the numbers in which it differs.
    pub nearest: Option<(&'a str, &'a [Apart])>,
}

/// The sentences of a ranking.
pub(crate) fn explain(
    measured: &Measured,
    observations: &Observations,
    odds: &Odds<'_>,
) -> Vec<Sentence> {
    let Odds { candidates, none, verdict, nearest } = *odds;
    let mut text: Vec<Sentence> = Vec::new();
    let mut worlds: Vec<Sentence> = Vec::new();
    let likely = candidates.first().filter(|_| verdict != Verdict::None);
    // A thread that was named has the numbers it is named after, whatever else the uncertainties allow.
    let named = likely.filter(|_| verdict == Verdict::Named);
    if let Some(p) = find(observations, Feature::Pitch) {
        let exact = named.map(|c| Reading { value: c.pitch_mm, u: 0.0, ..p });
        worlds.push(sentence!("pitch {}", pitch_world(exact.unwrap_or(p))));
    }
    if let Some(a) = measured.included() {
        let form = named.and_then(|c| family(c.family_id)).map(|f| f.form.included_deg());
        worlds.push(sentence!("angle {}", angle_world(observations, a.value, a.u, form)));
    }
    if let Some(d) = find(observations, Feature::MajorDiameter) {
        worlds.push(sentence!("diameter {}", diameter_world(d, likely, verdict == Verdict::Named)));
    }
    let summary = Sentence::joined(worlds, ", ");
    match verdict {
        Verdict::None => text.push(sentence!("no listed standard: {}", summary)),
        Verdict::CannotTell => {
            text.push(sentence!("cannot tell with these uncertainties: {}", summary));
        }
        Verdict::Named => text.push(summary),
    }
    if let Some((designation, apart)) = nearest {
        text.push(beside_nearest(designation, apart));
    } else if verdict != Verdict::None && none > 0.05 {
        text.push(sentence!(
            "a thread of no standard remains possible ({} %)",
            figure(100.0 * none, 0)
        ));
    }
    text.extend(taper(find(observations, Feature::Taper), candidates).map(Sentence::from));
    text.extend(observations.all.iter().filter(|r| r.u_assumed).map(Reading::assumption));
    text
}

/// What is to be said of the taper.
fn taper(reading: Option<Reading>, candidates: &[Candidate]) -> Option<String> {
    let Some(t) = reading else {
        let pipe =
            |c: &Candidate| c.probability > 0.05 && (c.family_id == "r" || c.family_id == "npt");
        return candidates.iter().any(pipe).then(|| {
            "whether the thread is parallel or tapers 1:16 was not measured; it decides between \
             pipe threads"
                .to_owned()
        });
    };
    let reach = 3.0 * t.u.hypot(MADE_TAPER);
    let (none, pipe) = (t.value.abs() < reach, (t.value - PIPE_TAPER).abs() < reach);
    let seen = Quantity::measured(t.value, t.u).with_u(4);
    match (none, pipe) {
        (true, true) => Some(format!("taper {seen}: too coarse to tell parallel from 1:16")),
        (true, false) => Some(format!("taper {seen}: the thread is parallel")),
        (false, true) => {
            Some(format!("taper found: 1:16 on the diameter ({seen}), a taper pipe thread"))
        }
        (false, false) => Some(format!(
            "taper found: 1:{:.0} on the diameter ({seen}); no listed thread tapers so",
            1.0 / t.value.abs()
        )),
    }
}

/// "the nearest listed thread is Tr 16 x 3, but its pitch is 3 mm (here 2.8 mm) and its included
/// angle 30° (here 34°)".
fn beside_nearest(designation: &str, apart: &[Apart]) -> Sentence {
    let mut parts: Vec<Sentence> = Vec::new();
    for a in apart.iter().take(MOST_APART) {
        let decimals = if a.feature.is_angle() { 2 } else { 3 };
        let number = |value: f64| match a.feature {
            // What a thread is named by is said as the name says it.
            Feature::Pitch | Feature::Lead => Part::from(format!("{} mm", plain(value, decimals))),
            feature => feature.said(value, decimals),
        };
        let verb = if parts.is_empty() { "is " } else { "" };
        let (listed, here) = (number(a.listed), number(a.measured));
        parts.push(sentence!("its {} {}{} (here {})", a.feature.word(), verb, listed, here));
    }
    if apart.len() > MOST_APART {
        parts.push("more besides".into());
    }
    let last = parts.pop();
    match (parts.is_empty(), last) {
        (_, None) => sentence!(
            "the nearest listed thread is {}; no single number of it is far off, but together they \
             are",
            designation
        ),
        (true, Some(one)) => sentence!("the nearest listed thread is {}, but {}", designation, one),
        (false, Some(last)) => sentence!(
            "the nearest listed thread is {}, but {} and {}",
            designation,
            Sentence::joined(parts, ", "),
            last
        ),
    }
}

fn find(observations: &Observations, feature: Feature) -> Option<Reading> {
    observations.all.iter().copied().find(|r| r.feature == feature)
}

/// "metric (2.5 mm)", "inch (10 tpi)", "metric (2.5 mm) or inch (10 tpi)", "metric (0.81 mm, BS 93)",
/// "in no list".
fn pitch_world(reading: Reading) -> String {
    let sd = reading.u.hypot(5e-4 * reading.value);
    let away = |p: f64| (p - reading.value).abs();
    let show = |p: f64, system| match system {
        System::Metric => format!("{} mm", plain(p, 3)),
        System::Inch => format!("{} tpi", plain(MM_PER_INCH / p, 3)),
    };
    let nearest = |system: System| {
        round_pitches(system)
            .iter()
            .map(|(p, _)| *p)
            .filter(|p| away(*p) <= NEAR * sd)
            .min_by(|a, b| away(*a).total_cmp(&away(*b)))
            .map(|p| format!("{} ({})", system.word(), show(p, system)))
    };
    // Some standards have pitches that are round in neither system.
    let listed = || {
        families()
            .iter()
            .flat_map(|f| f.pitches_mm.iter().map(move |p| (f, *p)))
            .filter(|(_, p)| away(*p) <= NEAR * sd)
            .min_by(|a, b| away(a.1).total_cmp(&away(b.1)))
            .map(|(f, p)| {
                format!("{} ({}, {})", f.system.word(), show(p, f.system), f.form.standard)
            })
    };
    either(nearest(System::Metric), nearest(System::Inch))
        .or_else(listed)
        .unwrap_or_else(|| format!("{} mm in no list", plain(reading.value, 3)))
}

/// "30° (ISO 2901, DIN 405)" or "in no list"; of a thread that was named, its own angle alone.
fn angle_world(
    observations: &Observations,
    included_deg: f64,
    u_deg: f64,
    named_deg: Option<f64>,
) -> String {
    let u = if u_deg > 0.0 { u_deg } else { 0.5 };
    let sd = u.hypot(MADE_DEG);
    let sides =
        (observations.gaussian(Feature::RightFlank), observations.gaussian(Feature::LeftFlank));
    let mut found: Vec<(f64, Vec<&str>)> = Vec::new();
    for form in families().iter().map(|f| &f.form) {
        let matches = match sides {
            (Some(r), Some(l)) => {
                let one = |a: f64, b: f64| {
                    (r.value - a).abs() <= NEAR * r.u.hypot(MADE_DEG)
                        && (l.value - b).abs() <= NEAR * l.u.hypot(MADE_DEG)
                };
                one(form.angle_a_deg, form.angle_b_deg) || one(form.angle_b_deg, form.angle_a_deg)
            }
            _ => (form.included_deg() - included_deg).abs() <= NEAR * sd,
        };
        if !matches {
            continue;
        }
        let name = form.standard.as_str();
        match found.iter_mut().find(|(a, _)| (a - form.included_deg()).abs() < 1e-6) {
            Some((_, names)) if names.contains(&name) => {}
            Some((_, names)) => names.push(name),
            None => found.push((form.included_deg(), vec![name])),
        }
    }
    if let Some(deg) = named_deg {
        found.retain(|(a, _)| (a - deg).abs() < 1e-6);
    }
    if found.is_empty() {
        return format!("{}° in no list", plain(included_deg, 1));
    }
    found.sort_by(|a, b| (a.0 - included_deg).abs().total_cmp(&(b.0 - included_deg).abs()));
    let parts: Vec<String> = found
        .iter()
        .map(|(a, names)| format!("{}° ({})", plain(*a, 2), names.join(", ")))
        .collect();
    parts.join(" or ")
}

/// "metric (24 mm)", "inch (1/2 in)", "20.955 mm (G 1/2)" or "… round in neither". A thread that was
/// named has the diameter it is named after, however far its crest is under it; one that may be of a
/// size round in neither system (pipe threads, numbered sizes) is said to be that first.
fn diameter_world(reading: Reading, likely: Option<&Candidate>, named: bool) -> Sentence {
    let listed = likely.and_then(|c| Some((c, c.major_diameter_mm?)));
    // A crest may be under its nominal by tolerance and wear, hardly over it.
    let (over, under) = match listed {
        Some((_, d)) if named => (reading.value - d + EXACT_MM, d - reading.value + EXACT_MM),
        _ => (OVER * reading.u, NEAR * reading.u + 0.1 + 0.004 * reading.value),
    };
    let round = |system| {
        let step = diameter_grid_mm(system, reading.value);
        let nominal = ((reading.value - over) / step).ceil() * step;
        (nominal - reading.value <= under).then(|| match system {
            System::Metric => format!("metric ({} mm)", plain(nominal, 2)),
            System::Inch => format!("inch ({} in)", inch_label(nominal)),
        })
    };
    let own = listed.filter(|(_, d)| {
        let on_grid = |system| {
            let steps = d / diameter_grid_mm(system, *d);
            (steps - steps.round()).abs() * diameter_grid_mm(system, *d) < EXACT_MM
        };
        !on_grid(System::Metric) && !on_grid(System::Inch)
    });
    let own = own.map(|(c, d)| format!("{} mm ({})", plain(d, 3), c.designation));
    either(own, either(round(System::Metric), round(System::Inch))).map_or_else(
        || sentence!("{} round in neither system", mm_short(reading.value, 2)),
        Sentence::from,
    )
}

/// Both where both are possible.
fn either(one: Option<String>, other: Option<String>) -> Option<String> {
    match (one, other) {
        (Some(a), Some(b)) => Some(format!("{a} or {b}")),
        (one, None) | (None, one) => one,
    }
}
