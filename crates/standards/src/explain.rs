//! Which feature belongs to which world.

use crate::catalogue::families;
use crate::family::{System, inch_label, plain};
use crate::likelihood::Observations;
use crate::measured::{Feature, Measured, Reading};
use crate::prior::{diameter_grid_mm, round_pitches};
use crate::rank::{Candidate, Deviation, Verdict};

const MM_PER_INCH: f64 = form::units::MM_PER_INCH;
/// A value belongs to a list when an entry lies within this many spreads.
const NEAR: f64 = 2.5;
/// Beyond this many standard uncertainties the count says nothing more.
const MOST_SAID_U: f64 = 20.0;
/// Error of a flank on an ordinary thread, degrees.
const MADE_DEG: f64 = 0.15;

/// The sentences of a ranking.
pub(crate) fn explain(
    measured: &Measured,
    observations: &Observations,
    candidates: &[Candidate],
    none: f64,
    verdict: Verdict,
) -> Vec<String> {
    let mut text = Vec::new();
    let mut worlds = Vec::new();
    let pitch = find(observations, Feature::Pitch);
    if let Some(p) = pitch {
        worlds.push(format!("pitch {}", pitch_world(p)));
    }
    if let Some(a) = measured.included() {
        worlds.push(format!("angle {}", angle_world(observations, a.value, a.u)));
    }
    if let Some(d) = find(observations, Feature::MajorDiameter) {
        worlds.push(format!("diameter {}", diameter_world(d)));
    }
    let summary = worlds.join(", ");
    match verdict {
        Verdict::None => text.push(format!("no listed standard: {summary}")),
        Verdict::CannotTell => {
            text.push(format!("cannot tell with these uncertainties: {summary}"));
        }
        Verdict::Named => text.push(summary),
    }
    if verdict == Verdict::None
        && let Some(first) = candidates.first()
    {
        let worst = first
            .deviations
            .iter()
            .filter(|d| d.in_u.abs() > 3.0)
            .max_by(|a, b| a.in_u.abs().total_cmp(&b.in_u.abs()));
        if let Some(worst) = worst {
            text.push(beside_nearest(&first.designation, worst));
        }
    } else if verdict != Verdict::None && none > 0.05 {
        text.push(format!("a thread of no standard remains possible ({:.0} %)", 100.0 * none));
    }
    match find(observations, Feature::Taper) {
        Some(t) if (t.value - 0.0625).abs() < (3.0 * t.u).max(0.01) => {
            text.push("taper found: 1:16 on the diameter, a taper pipe thread".to_owned());
        }
        Some(t) if t.value.abs() > 3.0 * t.u && t.value.abs() > 0.002 => {
            text.push(format!("taper found: 1:{:.0} on the diameter", 1.0 / t.value.abs()));
        }
        Some(_) => {}
        None if candidates
            .iter()
            .any(|c| c.probability > 0.05 && (c.family_id == "r" || c.family_id == "npt")) =>
        {
            text.push(
                "whether the thread is parallel or tapers 1:16 was not measured; it decides \
                 between pipe threads"
                    .to_owned(),
            );
        }
        None => {}
    }
    for r in observations.all.iter().filter(|r| r.u_assumed) {
        let unit = if r.feature.is_angle() { "°" } else { " mm" };
        text.push(format!(
            "no uncertainty was given for the {}: ± {}{unit} assumed",
            r.feature.word(),
            plain(r.u, 4)
        ));
    }
    text
}

/// "the nearest listed thread is Tr 16 x 4, but its depth is 2.25 mm and this one's is 1.9 mm".
fn beside_nearest(designation: &str, worst: &Deviation) -> String {
    let feature = Feature::ALL.into_iter().find(|f| f.key() == worst.what);
    let (word, unit) = match feature {
        Some(f) if f.is_angle() => (f.word(), "°"),
        Some(Feature::Taper) => ("taper", ""),
        Some(f) => (f.word(), " mm"),
        None => (worst.what, ""),
    };
    let apart = worst.in_u.abs();
    let apart = if apart > MOST_SAID_U {
        format!("more than {MOST_SAID_U:.0}")
    } else {
        format!("{apart:.1}")
    };
    format!(
        "the nearest listed thread is {designation}, but its {word} is {}{unit} and this one's is \
         {}{unit}, {apart} standard uncertainties away",
        plain(worst.standard, 3),
        plain(worst.measured, 3),
    )
}

fn find(observations: &Observations, feature: Feature) -> Option<Reading> {
    observations.all.iter().copied().find(|r| r.feature == feature)
}

/// "metric (2.5 mm)", "inch (10 tpi)", "metric (2.5 mm) or inch (10 tpi)", "in no list".
fn pitch_world(reading: Reading) -> String {
    let sd = reading.u.hypot(5e-4 * reading.value);
    let nearest = |system| {
        round_pitches(system)
            .iter()
            .map(|(p, _)| *p)
            .filter(|p| (p - reading.value).abs() <= NEAR * sd)
            .min_by(|a, b| (a - reading.value).abs().total_cmp(&(b - reading.value).abs()))
    };
    let metric = nearest(System::Metric).map(|p| format!("metric ({} mm)", plain(p, 3)));
    let inch = nearest(System::Inch).map(|p| format!("inch ({} tpi)", plain(MM_PER_INCH / p, 3)));
    worlds(metric, inch, format!("{} mm in no list", plain(reading.value, 3)))
}

/// "30° (ISO 2901, DIN 405)" or "in no list".
fn angle_world(observations: &Observations, included_deg: f64, u_deg: f64) -> String {
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

/// "metric (24 mm)", "inch (1/2 in)" or "in no list".
fn diameter_world(reading: Reading) -> String {
    // A crest may be under its nominal by tolerance and wear, hardly over it.
    let over = NEAR * reading.u + 0.02;
    let under = NEAR * reading.u + 0.1 + 0.004 * reading.value;
    let nearest = |system| {
        let step = diameter_grid_mm(system, reading.value);
        let nominal = ((reading.value - over) / step).ceil() * step;
        (nominal - reading.value <= under).then_some(nominal)
    };
    let metric = nearest(System::Metric).map(|d| format!("metric ({} mm)", plain(d, 2)));
    let inch = nearest(System::Inch).map(|d| format!("inch ({} in)", inch_label(d)));
    worlds(metric, inch, format!("{} mm round in neither", plain(reading.value, 2)))
}

fn worlds(metric: Option<String>, inch: Option<String>, neither: String) -> String {
    match (metric, inch) {
        (Some(m), Some(i)) => format!("{m} or {i}"),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => neither,
    }
}
