//! Which threads are worth weighing: listed sizes, and own sizes of standard forms, near what was
//! measured.

use crate::catalogue::families;
use crate::family::{Family, Size, System, fill, inch_label, plain};
use crate::likelihood::Observations;
use crate::linear::log_sum;
use crate::measured::{Feature, Measured, Reading};
use crate::prior::{Prior, own_diameters, own_pitches, starts_prior};

/// Most threads weighed in full.
const MOST: usize = 900;
/// Threads whose first look is this much worse than the best (ln) are not weighed.
const WORSE: f64 = 30.0;

/// No screw has a thinner core than this part of its diameter (worms and fast screws come near it).
const LEAST_CORE: f64 = 0.25;

/// How the search skips what cannot matter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Search {
    /// Weighs the likeliest few hundred of a first look at pitch, diameter and angle.
    Pruned,
    /// Weighs everything: the oracle of the pruned search.
    Exhaustive,
}

/// A thread to be weighed.
#[derive(Debug, Clone)]
pub(crate) struct Proposal {
    pub family: &'static Family,
    pub pitch_mm: f64,
    /// `None` when the size is unknown.
    pub major_mm: Option<f64>,
    pub starts: u32,
    pub log_prior: f64,
    /// ln of what a report of the starts says of these.
    pub log_starts: f64,
    /// ln prior and a first look at the data.
    pub first_look: f64,
    name: Name,
}

#[derive(Debug, Clone)]
enum Name {
    Listed(&'static Size),
    Own { pitch_system: System, diameter_system: System },
}

impl Proposal {
    pub fn in_series(&self) -> bool {
        matches!(self.name, Name::Listed(_))
    }

    /// The designation, for a size of its own with a remark that it is one.
    pub fn designate(&self, left_hand: bool) -> String {
        let family = self.family;
        let (pitch_system, diameter_system) = match self.name {
            Name::Listed(size) => return family.designate(size, self.starts, left_hand),
            Name::Own { pitch_system, diameter_system } => (pitch_system, diameter_system),
        };
        let label = match (self.major_mm, diameter_system) {
            (None, _) => "Ø?".to_owned(),
            (Some(d), System::Metric) => plain(d, 2),
            (Some(d), System::Inch) => inch_label(d),
        };
        // A number of the other world is written in its own unit.
        let label = match diameter_system {
            _ if diameter_system == family.system || self.major_mm.is_none() => label,
            System::Inch => format!("{label} in"),
            System::Metric => format!("{label} mm"),
        };
        let pattern = family.own_size.as_deref().unwrap_or(&family.designation);
        let pattern = if pitch_system == family.system {
            pattern.to_owned()
        } else if pattern.contains("{tpi}") {
            pattern.replace("-{tpi}", " x {pitch} mm")
        } else {
            pattern.replace("{pitch}", "{tpi} tpi")
        };
        let text = fill(&pattern, &label, self.pitch_mm, self.starts, left_hand);
        let listed = family.pitches_mm.iter().any(|p| (p / self.pitch_mm - 1.0).abs() < 1e-6);
        let why = match (family.sizes.is_empty(), listed) {
            (true, _) => "no series of sizes",
            (false, true) => "size not in the series",
            (false, false) => "pitch and size not in the series",
        };
        format!("{text} (form {}; {why})", family.form.standard)
    }
}

/// One possible number of starts with what the data say of it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Starts {
    n: u32,
    /// Probability reported, or `None` for what is usual for the family.
    weight: Option<f64>,
}

impl Starts {
    /// ln of prior and likelihood.
    fn logs(self, power: bool) -> (f64, f64) {
        match self.weight {
            Some(p) => (0.0, p.max(1e-12).ln()),
            None => (starts_prior(power, self.n).ln(), 0.0),
        }
    }

    pub fn weight(self, power: bool) -> f64 {
        self.weight.unwrap_or_else(|| starts_prior(power, self.n))
    }
}

pub(crate) fn plausible_starts(measured: &Measured, observations: &Observations) -> Vec<Starts> {
    let lead_known = observations.gaussian(Feature::Lead).is_some();
    match measured.starts {
        Some((n, p)) if (1..=16).contains(&n) => {
            let p = p.clamp(0.0, 1.0);
            // A probability that was reported is the answer; what it leaves goes to the neighbours
            // in proportion to how common they are.
            let near: Vec<u32> = (n.saturating_sub(2).max(1)..=n + 2).filter(|k| *k != n).collect();
            let total: f64 = near.iter().map(|k| starts_prior(true, *k)).sum();
            let mut all = vec![Starts { n, weight: Some(p) }];
            all.extend(near.into_iter().map(|k| Starts {
                n: k,
                weight: Some((1.0 - p).max(1e-9) * starts_prior(true, k) / total),
            }));
            all
        }
        _ if lead_known => (1..=12).map(|n| Starts { n, weight: None }).collect(),
        _ if measured.lead_repeats_pitch() => {
            vec![Starts { n: measured.likely_starts(), weight: Some(1.0) }]
        }
        // Nothing is known of the starts: one is taken, at no cost.
        _ => vec![Starts { n: 1, weight: Some(1.0) }],
    }
}

/// Everything worth weighing.
pub(crate) fn proposals(
    measured: &Measured,
    prior: &Prior,
    observations: &Observations,
    starts: &[Starts],
    search: Search,
) -> Vec<Proposal> {
    let look = FirstLook::new(observations);
    let mut all = listed(measured, prior, &look, starts, search);
    own_sizes(prior, observations, &look, starts, &mut all);
    if search == Search::Exhaustive {
        return all;
    }
    all.sort_by(|a, b| b.first_look.total_cmp(&a.first_look));
    let best = all.first().map_or(0.0, |p| p.first_look);
    let before = log_sum(all.iter().map(|p| p.first_look));
    all.truncate(MOST);
    all.retain(|p| p.first_look > best - WORSE);
    // Where so many remain possible that some are left out, the others stand for them.
    let kept = log_sum(all.iter().map(|p| p.first_look));
    for p in &mut all {
        p.log_prior += before - kept;
    }
    all
}

/// Pitch, lead, diameter and angle, each by itself.
struct FirstLook<'a> {
    observations: &'a Observations,
}

impl<'a> FirstLook<'a> {
    fn new(observations: &'a Observations) -> Self {
        Self { observations }
    }

    /// ln of a density, up to a constant, never much below what the full weighing would find.
    fn at(&self, family: &Family, pitch_mm: f64, major_mm: Option<f64>, starts: u32) -> f64 {
        let look = |feature, low: f64, high: f64, spread: f64| {
            self.observations.gaussian(feature).map_or(0.0, |r| {
                let outside = (low - r.value).max(r.value - high).max(0.0);
                -0.5 * (outside / r.u.hypot(spread)).powi(2)
            })
        };
        let lead_mm = pitch_mm * f64::from(starts);
        let (a, b) = (family.form.angle_a_deg, family.form.angle_b_deg);
        let (least, most) = (a.min(b), a.max(b));
        let angles = look(Feature::RightFlank, least, most, 1.0)
            + look(Feature::LeftFlank, least, most, 1.0)
            + look(Feature::IncludedAngle, a + b, a + b, 1.5);
        let size = major_mm.map_or(0.0, |d| {
            let shift = if family.form.taper > 0.0 { 0.02 * d } else { 0.0 };
            let low = d - 0.15 * pitch_mm - shift;
            look(Feature::MajorDiameter, low, d + shift, 0.05 + 0.08 * pitch_mm)
        });
        angles
            + size
            + look(Feature::Pitch, pitch_mm, pitch_mm, 6e-4 * pitch_mm)
            + look(Feature::Lead, lead_mm, lead_mm, 6e-4 * lead_mm)
    }
}

fn listed(
    measured: &Measured,
    prior: &Prior,
    look: &FirstLook<'_>,
    starts: &[Starts],
    search: Search,
) -> Vec<Proposal> {
    let mut found = Vec::new();
    // Without a diameter the sizes of a family differ in nothing but their pitch.
    let sized = [Feature::MajorDiameter, Feature::MinorDiameter, Feature::PitchDiameter]
        .into_iter()
        .any(|f| measured.get(f).is_some());
    for (family, priors) in families().iter().zip(prior.listed(families())) {
        if family.ranked_as.is_some() {
            continue;
        }
        for (size, p) in family.sizes.iter().zip(priors) {
            for s in starts {
                let (log_usual, log_starts) = s.logs(family.power);
                let log_prior = p.ln() + log_usual;
                let first_look = log_prior
                    + log_starts
                    + look.at(family, size.pitch_mm, sized.then_some(size.major_mm), s.n);
                // Far more hopeless than any other thread could be.
                if !first_look.is_finite() || (search == Search::Pruned && first_look < -150.0) {
                    continue;
                }
                found.push(Proposal {
                    family,
                    pitch_mm: size.pitch_mm,
                    major_mm: Some(size.major_mm),
                    starts: s.n,
                    log_prior,
                    log_starts,
                    first_look,
                    name: Name::Listed(size),
                });
            }
        }
    }
    found
}

fn own_sizes(
    prior: &Prior,
    observations: &Observations,
    look: &FirstLook<'_>,
    starts: &[Starts],
    found: &mut Vec<Proposal>,
) {
    let pitch = observations.gaussian(Feature::Pitch);
    let lead = observations.gaussian(Feature::Lead);
    for (family, share) in families().iter().zip(prior.own(families())) {
        if share <= 0.0 {
            continue;
        }
        let listed = listed_in_form(family);
        for s in starts {
            let near = match (pitch, lead) {
                (Some(p), _) => p,
                (None, Some(l)) => {
                    let n = f64::from(s.n);
                    Reading { value: l.value / n, u: l.u / n, ..l }
                }
                // Without a pitch an own size is anything.
                (None, None) => return,
            };
            let (log_usual, log_starts) = s.logs(family.power);
            let reach = 6.0 * (near.u / near.value).hypot(4e-4);
            for (pitch_mm, pitch_share, pitch_system) in own_pitches(family, near.value, reach) {
                let from = listed.partition_point(|(p, _)| *p < pitch_mm * (1.0 - 1e-6));
                let same_pitch =
                    || listed[from..].iter().take_while(move |(p, _)| *p < pitch_mm * (1.0 + 1e-6));
                let mut add = |major_mm: Option<f64>, diameter_system, size_share: f64| {
                    let already = match major_mm {
                        Some(d) => same_pitch().any(|(_, listed)| (listed - d).abs() < 0.02),
                        // With no diameter, a listed pitch speaks for the form.
                        None => same_pitch().next().is_some(),
                    };
                    let log_prior = (share * pitch_share * size_share).ln() + log_usual;
                    let first_look =
                        log_prior + log_starts + look.at(family, pitch_mm, major_mm, s.n);
                    if already || !first_look.is_finite() || first_look < -150.0 {
                        return;
                    }
                    found.push(Proposal {
                        family,
                        pitch_mm,
                        major_mm,
                        starts: s.n,
                        log_prior,
                        log_starts,
                        first_look,
                        name: Name::Own { pitch_system, diameter_system },
                    });
                };
                match size_window(observations, pitch_mm) {
                    Some((least, most)) => {
                        let depth_mm = family.form.external_depth_mm(pitch_mm);
                        for (d, p, system) in
                            own_diameters(family, pitch_mm, pitch_system, least, most)
                        {
                            if d - 2.0 * depth_mm >= LEAST_CORE * d {
                                add(Some(d), system, p);
                            }
                        }
                    }
                    None => add(None, family.system, 1.0),
                }
            }
        }
    }
}

/// Pitch and diameter of every size listed in the family's form, by any family; ascending in pitch.
fn listed_in_form(family: &Family) -> Vec<(f64, f64)> {
    let mut listed: Vec<(f64, f64)> = families()
        .iter()
        .filter(|f| f.form.id == family.form.id)
        .flat_map(|f| f.sizes.iter().map(|s| (s.pitch_mm, s.major_mm)))
        .collect();
    listed.sort_by(|a, b| a.0.total_cmp(&b.0));
    listed
}

/// Nominal diameters worth trying, mm; `None` when no diameter was measured.
fn size_window(observations: &Observations, pitch_mm: f64) -> Option<(f64, f64)> {
    let (reading, add) = [
        (Feature::MajorDiameter, 0.0),
        (Feature::PitchDiameter, 0.5 * pitch_mm),
        (Feature::MinorDiameter, 1.2 * pitch_mm),
    ]
    .into_iter()
    .find_map(|(f, add)| observations.gaussian(f).map(|r| (r, add)))?;
    let slack = 0.1 + 4.0 * reading.u + 0.3 * add;
    Some((
        (reading.value + add - slack).max(0.2),
        reading.value + add + slack + 0.2 + 0.25 * pitch_mm,
    ))
}
