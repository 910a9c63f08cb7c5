//! What is believed of an unnamed screw before it is measured.
//!
//! All weights are empirical judgements, the same for every user, and mild: a good measurement
//! overrules them. Three kinds of thread are weighed: listed sizes (the rest of 1), sizes of their
//! own in a standard's form (`own_size`), and threads of no standard (`no_standard`).
//!
//! - Among listed sizes: the square root of the family's `weight` in `families.toml`, spread over its
//!   sizes in proportion to the square roots of choice (1 : 0.45 : 0.2) and of
//!   `1 / (1 + (d / 60 mm)²)`. The square root is how far such a judgement is trusted.
//! - Among own sizes: pitches of the family's list 3/4, other round pitches of its system 0.18, of
//!   the other system 0.07; diameters on the grid of the pitch's system 0.95, of the other 0.05, with
//!   `d / P` spread log-normally about 9.
//! - Threads of no standard: 45 % have a round pitch, diameters are often round, 85 % have equal
//!   flanks; otherwise anything goes: pitch 0.2–30 mm, half angle 0–45°, depth 0.15–0.95 P.
//!
//! Country and period of a machine multiply family weights by 2 or 1/3 and by 1 or 1/4; what its
//! dials are divided in multiplies all metric ones.

use crate::family::{Family, Region, Size, System};
use crate::likelihood::Observations;
use crate::linear::{log_normal, normal};
use crate::measured::{Feature, Reading};
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

const MM_PER_INCH: f64 = form::units::MM_PER_INCH;

/// Spread of ln(d / P) and its median, for sizes in no series.
const RATIO_MEDIAN: f64 = 9.0;
const RATIO_SPREAD: f64 = 0.7;
/// Shares of an own size's pitch: in the family's list, round in its system, round in the other.
const OWN_PITCH: [f64; 3] = [0.75, 0.18, 0.07];
/// Shares of an own size's diameter: round in its pitch's system, round in the other.
const OWN_DIAMETER: [f64; 2] = [0.95, 0.05];
/// Shares of a no-standard pitch: any, round metric, whole threads per inch.
const NONE_PITCH: [f64; 3] = [0.55, 0.27, 0.18];
/// Shares of a no-standard diameter: any, round metric, round inch.
const NONE_DIAMETER: [f64; 3] = [0.4, 0.4, 0.2];

/// Where and when a machine was built, as far as known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, Default)]
pub struct Origin {
    /// Part of the world.
    pub region: Option<Region>,
    /// Year.
    pub year: Option<u32>,
}

/// A screw-pitch gauge leaf that was tried and did not fit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Misfit {
    /// Pitch of the leaf, mm.
    pub pitch_mm: f64,
    /// Included angle of the leaf, degrees.
    pub included_deg: f64,
    /// Relative pitch difference that light shows over its length.
    pub pitch_resolution: f64,
    /// Angle difference that light shows, degrees.
    pub angle_resolution_deg: f64,
}

/// What is believed before measuring; see the module's text for the shares.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Prior {
    /// Probability that the thread follows no standard form.
    pub no_standard: f64,
    /// Probability that it has a standard form in a size of its own.
    pub own_size: f64,
    /// Odds metric to inch from what the machine's dials are divided in; 1 when unknown.
    pub metric_odds: f64,
    /// Country and period of the machine.
    pub origin: Origin,
    /// Gauge leaves that did not fit.
    pub misfits: Vec<Misfit>,
}

impl Default for Prior {
    fn default() -> Self {
        Self {
            no_standard: 0.2,
            own_size: 0.1,
            metric_odds: 1.0,
            origin: Origin::default(),
            misfits: Vec::new(),
        }
    }
}

impl Prior {
    /// Factor for a family from origin.
    fn origin_factor(&self, family: &Family) -> f64 {
        let place = match self.origin.region {
            Some(region) if family.regions.contains(&region) => 2.0,
            Some(_) => 1.0 / 3.0,
            None => 1.0,
        };
        let time = match self.origin.year {
            Some(year) if !(family.years.0..=family.years.1).contains(&year) => 0.25,
            _ => 1.0,
        };
        place * time
    }

    fn system_factor(&self, system: System) -> f64 {
        match system {
            System::Metric => self.metric_odds,
            System::Inch => 1.0,
        }
    }

    /// How common a listed size is judged to be, relative, without regard to how many others its
    /// family lists.
    pub(crate) fn judged(&self, family: &Family, size: &Size) -> f64 {
        family.weight
            * self.origin_factor(family)
            * self.system_factor(family.system)
            * judged_size(size)
    }

    /// Every listed size with its prior probability; what is left belongs to own sizes and to none.
    #[must_use]
    pub fn sizes(&self) -> Vec<(&'static Family, &'static Size, f64)> {
        let families = crate::catalogue::families();
        families
            .iter()
            .zip(self.listed(families))
            .flat_map(|(family, shares)| {
                family.sizes.iter().zip(shares).map(move |(size, p)| (family, size, p))
            })
            .filter(|(_, _, p)| *p > 0.0)
            .collect()
    }

    /// Prior probability of every listed size, in the order of families and their sizes.
    pub(crate) fn listed(&self, families: &[Family]) -> Vec<Vec<f64>> {
        let raw: Vec<f64> = families
            .iter()
            .map(|f| believed(f.weight) * self.origin_factor(f) * self.system_factor(f.system))
            .collect();
        let all: f64 = raw.iter().sum();
        let share = (1.0 - self.no_standard - self.own_size).max(0.0);
        families
            .iter()
            .zip(raw)
            .map(|(family, weight)| {
                let sizes: Vec<f64> =
                    family.sizes.iter().map(|s| believed(judged_size(s))).collect();
                let total: f64 = sizes.iter().sum();
                sizes.iter().map(|s| share * weight / all * s / total.max(1e-300)).collect()
            })
            .collect()
    }

    /// Prior probability of own sizes of each family.
    pub(crate) fn own(&self, families: &[Family]) -> Vec<f64> {
        let raw: Vec<f64> = families
            .iter()
            .map(|f| {
                let host = f.own_size.is_some();
                if host {
                    f.own_size_share * self.origin_factor(f) * self.system_factor(f.system)
                } else {
                    0.0
                }
            })
            .collect();
        let all: f64 = raw.iter().sum();
        raw.iter().map(|w| self.own_size * w / all.max(1e-300)).collect()
    }

    /// ln of the factor by which leaves that did not fit speak against a pitch and angle.
    pub(crate) fn log_misfit(&self, pitch_mm: f64, included_deg: f64) -> f64 {
        self.misfits
            .iter()
            .map(|m| {
                let p = (pitch_mm / m.pitch_mm).ln() / m.pitch_resolution;
                let a = (included_deg - m.included_deg) / m.angle_resolution_deg;
                let fits = (-0.5 * (p * p + a * a)).exp();
                // One reading in twenty of a gauge is wrong.
                (1.0 - 0.95 * fits).ln()
            })
            .sum()
    }
}

/// Commonness of a size within its family as it is judged, relative.
fn judged_size(size: &Size) -> f64 {
    let choice = match size.choice {
        0 | 1 => 1.0,
        2 => 0.45,
        _ => 0.2,
    };
    choice / (1.0 + (size.major_mm / 60.0).powi(2))
}

/// What is believed of a judged commonness: half-way, in ratio, between it and "all are alike". Odds
/// between look-alikes hang on this alone, and nobody has counted screws; taken so, they are right
/// about as often as they say whether the judgement holds or everything is alike (`tests/trial.rs`).
fn believed(judged: f64) -> f64 {
    judged.sqrt()
}

/// Prior probability of `n` starts.
pub(crate) fn starts_prior(power: bool, n: u32) -> f64 {
    match (power, n) {
        (true, 1) => 0.93,
        (true, 2) => 0.04,
        (true, 3) => 0.012,
        (true, 4) => 0.01,
        (true, _) => 0.002,
        (false, 1) => 0.996,
        (false, 2) => 0.002,
        (false, _) => 0.0003,
    }
}

/// Round pitches of a system, mm, each with its share; the shares add up to 1. Whole and half
/// millimetres and even numbers of threads are commoner, coarse pitches rarer.
pub(crate) fn round_pitches(system: System) -> &'static [(f64, f64)] {
    static METRIC: OnceLock<Vec<(f64, f64)>> = OnceLock::new();
    static INCH: OnceLock<Vec<(f64, f64)>> = OnceLock::new();
    let normalised = |pitches: Vec<(f64, f64)>| {
        let weight = |(p, w): &(f64, f64)| w / (1.0 + (p / 6.0).powi(2));
        let total: f64 = pitches.iter().map(weight).sum();
        pitches.iter().map(|e| (e.0, weight(e) / total)).collect()
    };
    match system {
        System::Metric => METRIC.get_or_init(|| {
            let mut all: Vec<(f64, f64)> =
                [0.2, 0.3, 0.35, 0.4, 0.45, 0.6, 0.7, 0.8].map(|p| (p, 1.0)).to_vec();
            all.extend((1..=48).map(|k| {
                let weight = [4.0, 1.0, 3.0, 1.0][k % 4];
                (0.25 * k as f64, weight)
            }));
            all.extend([14.0, 16.0, 18.0, 20.0, 24.0].map(|p| (p, 2.0)));
            normalised(all)
        }),
        System::Inch => INCH.get_or_init(|| {
            let mut tpi: Vec<(f64, f64)> =
                (1..=40).map(|n| (f64::from(n), if n % 2 == 0 { 3.0 } else { 1.5 })).collect();
            let others = [1.5, 2.5, 3.5, 4.5, 5.5, 6.5, 11.5, 13.5, 44.0, 48.0, 56.0, 60.0, 64.0];
            tpi.extend(others.map(|n| (n, 1.0)));
            normalised(tpi.into_iter().map(|(n, w)| (MM_PER_INCH / n, w)).collect())
        }),
    }
}

/// Spacing of round diameters of a system near `major_mm`, mm.
pub(crate) fn diameter_grid_mm(system: System, major_mm: f64) -> f64 {
    match system {
        System::Metric if major_mm < 6.0 => 0.25,
        System::Metric if major_mm < 20.0 => 0.5,
        System::Metric => 1.0,
        System::Inch if major_mm < 51.0 => MM_PER_INCH / 16.0,
        System::Inch => MM_PER_INCH / 8.0,
    }
}

/// Density of the major diameter for a pitch, 1/mm.
pub(crate) fn diameter_density(major_mm: f64, pitch_mm: f64) -> f64 {
    normal((major_mm / (RATIO_MEDIAN * pitch_mm)).ln(), RATIO_SPREAD) / major_mm
}

/// The other system.
pub(crate) fn other(system: System) -> System {
    match system {
        System::Metric => System::Inch,
        System::Inch => System::Metric,
    }
}

/// Pitches an own size of `family` may have near `pitch_mm` (within `reach`, relative), with the
/// probability of each and the system it is written in.
pub(crate) fn own_pitches(family: &Family, pitch_mm: f64, reach: f64) -> Vec<(f64, f64, System)> {
    let listed = &family.pitches_mm;
    let [mut in_list, mut own, mut foreign] = OWN_PITCH;
    if family.both_systems {
        (in_list, own, foreign) = (0.4, 0.3, 0.3);
    }
    let near = |p: f64| (p / pitch_mm).ln().abs() <= reach;
    let is_listed = |p: f64| listed.iter().any(|q| (p - q).abs() < 1e-6 * p);
    let mut pitches: Vec<(f64, f64, System)> = listed
        .iter()
        .filter(|p| near(**p))
        .map(|p| (*p, in_list / listed.len() as f64, family.system))
        .collect();
    for (system, share) in [(family.system, own), (other(family.system), foreign)] {
        let round = round_pitches(system).iter().filter(|(p, _)| near(*p) && !is_listed(*p));
        pitches.extend(round.map(|(p, w)| (*p, share * w, system)));
    }
    pitches
}

/// Round diameters an own size may have between `least_mm` and `most_mm`, with the probability of
/// each given the pitch, and its system.
pub(crate) fn own_diameters(
    family: &Family,
    pitch_mm: f64,
    pitch_system: System,
    least_mm: f64,
    most_mm: f64,
) -> Vec<(f64, f64, System)> {
    let mut diameters = Vec::new();
    // Worms are turned to any diameter; otherwise who chose the pitch chose the diameter.
    let shares = if family.sizes.is_empty() { [0.5, 0.5] } else { OWN_DIAMETER };
    for (system, share) in [pitch_system, other(pitch_system)].into_iter().zip(shares) {
        let step = diameter_grid_mm(system, 0.5 * (least_mm + most_mm));
        let first = (least_mm / step).ceil().max(1.0) as u64;
        let last = (most_mm / step).floor().max(0.0) as u64;
        for k in first..=last.min(first + 200) {
            let d = k as f64 * step;
            diameters.push((d, share * step * diameter_density(d, pitch_mm), system));
        }
    }
    diameters
}

/// ln of the density of the observations for a thread of no standard.
pub(crate) fn log_none(observations: &Observations) -> f64 {
    let pitch = observations.gaussian(Feature::Pitch);
    let lead = observations.gaussian(Feature::Lead);
    let mut log = 0.0;
    let p_mm = match (pitch, lead) {
        (Some(p), lead) => {
            log += pitch_density(p).ln();
            if let Some(lead) = lead {
                let density: f64 = (1..=8)
                    .map(|n| {
                        let sd = lead.u.hypot(f64::from(n) * p.u.hypot(1e-3 * p.value));
                        starts_prior(true, n) * normal(lead.value - f64::from(n) * p.value, sd)
                    })
                    .sum();
                log += (density + 1e-4 / lead.value).ln();
            }
            p.value
        }
        (None, Some(lead)) => {
            log += pitch_density(lead).ln();
            lead.value
        }
        (None, None) => {
            observations.gaussian(Feature::MajorDiameter).map_or(2.0, |d| d.value / RATIO_MEDIAN)
        }
    };
    log += log_none_angles(observations);
    let has_pitch = pitch.is_some() || lead.is_some();
    let major = observations.gaussian(Feature::MajorDiameter);
    if let Some(major) = major {
        log += none_diameter_density(major, has_pitch.then_some(p_mm)).ln();
    }
    for reading in &observations.gaussian {
        let range = match reading.feature {
            Feature::Depth => 0.8 * p_mm,
            Feature::CrestFlat | Feature::RootFlat => 0.6 * p_mm,
            Feature::MinorDiameter | Feature::PitchDiameter if major.is_some() => 1.6 * p_mm,
            // With no major diameter these two stand for the size.
            Feature::MinorDiameter | Feature::PitchDiameter => {
                1.0 / diameter_density(reading.value + p_mm, p_mm)
            }
            _ => continue,
        };
        log -= range.hypot(reading.u * (2.0 * std::f64::consts::PI).sqrt()).ln();
    }
    for radius in [observations.crest_radius, observations.root_radius].into_iter().flatten() {
        log -= (0.25 * p_mm).hypot(2.5 * radius.u).ln();
    }
    if let Some(t) = observations.taper {
        log += (0.95 * normal(t.value, t.u.hypot(0.002)) + 0.05 / 0.2).ln();
    }
    log
}

/// Density of a no-standard pitch or lead at the reading, 1/mm.
fn pitch_density(reading: Reading) -> f64 {
    let sd = reading.u.hypot(5e-4 * reading.value);
    let any = 1.0 / (reading.value * 150f64.ln());
    let spikes = |system| {
        round_pitches(system).iter().map(|(p, w)| w * normal(reading.value - p, sd)).sum::<f64>()
    };
    NONE_PITCH[0] * any
        + NONE_PITCH[1] * spikes(System::Metric)
        + NONE_PITCH[2] * spikes(System::Inch)
}

/// Density of a no-standard major diameter, 1/mm.
fn none_diameter_density(reading: Reading, pitch_mm: Option<f64>) -> f64 {
    let any = match pitch_mm {
        Some(p) => diameter_density(reading.value, p),
        None => normal((reading.value / 16.0).ln(), 0.9) / reading.value,
    };
    // A turned crest is usually a little under its round nominal.
    let sd = reading.u.hypot(0.05);
    let spikes = |system| {
        let step = diameter_grid_mm(system, reading.value);
        let near = (reading.value / step).round();
        let reach = (4.0 * sd / step).ceil().min(50.0) as i32;
        (-reach..=reach)
            .map(|k| step * normal(reading.value + 0.03 - (near + f64::from(k)) * step, sd))
            .sum::<f64>()
    };
    any * (NONE_DIAMETER[0]
        + NONE_DIAMETER[1] * spikes(System::Metric)
        + NONE_DIAMETER[2] * spikes(System::Inch))
}

fn log_none_angles(observations: &Observations) -> f64 {
    let right = observations.gaussian(Feature::RightFlank);
    let left = observations.gaussian(Feature::LeftFlank);
    let both = observations.gaussian(Feature::IncludedAngle);
    match (right, left) {
        (Some(r), Some(l)) => {
            let shared = observations.shared(Feature::RightFlank, Feature::LeftFlank);
            let apart = (0.09 + r.u * r.u + l.u * l.u - 2.0 * shared).max(0.09).sqrt();
            // The common half angle is even over 45°, seen with an uncertainty far smaller.
            let symmetric = normal(r.value - l.value, apart) / 45.0;
            (0.85 * symmetric + 0.15 / (50.0 * 50.0)).ln()
        }
        (Some(one), None) | (None, Some(one)) => {
            -45f64.hypot(2.5 * one.u).ln()
                + both.map_or(0.0, |b| {
                    log_normal(b.value - 2.0 * one.value, 1.0f64.hypot(b.u).hypot(2.0 * one.u))
                })
        }
        (None, None) => both.map_or(0.0, |b| -90f64.hypot(2.5 * b.u).ln()),
    }
}
