//! The listed threads nearest to one that follows no standard, as somebody at a lathe would call near.
//!
//! A likelihood is no help where nothing is likely: among the impossible it prefers whatever is least
//! impossible in the number that was measured best. Here each number is held against how far threads
//! may differ and still be called alike ([`NEAR`]), widened by its uncertainty: pitch first, then the
//! flanks, then the diameter, then what is left of the form; common sizes win ties.

use crate::catalogue::families;
use crate::family::{Family, Size};
use crate::likelihood::{Geometry, Observations, is_mirrored};
use crate::measured::{Feature, Measured, Reading};
use crate::prior::Prior;

/// How far two threads may differ in a number and still be called near (empirical).
#[derive(Debug, Clone, Copy)]
enum Near {
    /// As a part of the number.
    Relative(f64),
    /// Degrees.
    Degrees(f64),
    /// As a part of the pitch.
    OfPitch(f64),
}

/// The numbers looked at, in the order in which they are spoken of.
const NEAR: [(Feature, Near); 11] = [
    (Feature::Pitch, Near::Relative(0.015)),
    (Feature::Lead, Near::Relative(0.015)),
    (Feature::RightFlank, Near::Degrees(1.5)),
    (Feature::LeftFlank, Near::Degrees(1.5)),
    (Feature::IncludedAngle, Near::Degrees(3.0)),
    (Feature::MajorDiameter, Near::Relative(0.08)),
    (Feature::PitchDiameter, Near::Relative(0.08)),
    (Feature::MinorDiameter, Near::Relative(0.08)),
    (Feature::Depth, Near::OfPitch(0.12)),
    (Feature::CrestFlat, Near::OfPitch(0.12)),
    (Feature::CrestRadius, Near::OfPitch(0.12)),
];
/// Who sees flanks that differ says so: what an unequal form costs where one angle alone was given, in
/// squares of what is near.
const UNSAID: f64 = 4.0;
/// A number deviates when it is this share of what is near away, beyond what measuring explains.
const WORTH_SAYING: f64 = 0.1;
/// Flanks of a thread meant to be symmetrical differ by less than this, degrees.
const ALIKE_DEG: f64 = 1.0;
/// What measuring explains, standard uncertainties.
const EXPLAINED_U: f64 = 3.0;

/// A listed size and how far away it is.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Neighbour {
    pub family: &'static Family,
    pub size: &'static Size,
    /// Sum of squares of the differences, each in units of what is near, less twice ln of how common
    /// it is.
    distance: f64,
}

/// The `most` nearest listed sizes, nearest first.
pub(crate) fn nearest(
    measured: &Measured,
    prior: &Prior,
    observations: &Observations,
    most: usize,
) -> Vec<Neighbour> {
    let starts = measured.likely_starts();
    let told_apart = measured.flanks_apart();
    let mut all: Vec<Neighbour> = families()
        .iter()
        .filter(|f| f.ranked_as.is_none())
        .flat_map(|family| family.sizes.iter().map(move |size| (family, size)))
        .map(|(family, size)| {
            let geometry = geometry(family, size, starts, observations);
            let apart: f64 = judged(observations)
                .filter_map(|(r, near)| Some(in_near(r, near, geometry.nominal(r.feature)?, size)))
                .map(|z| z * z)
                .sum();
            let unsaid = f64::from(u8::from(family.form.is_asymmetric() && !told_apart));
            let distance =
                apart + UNSAID * unsaid - 2.0 * prior.judged(family, size).max(1e-12).ln();
            Neighbour { family, size, distance }
        })
        .collect();
    all.sort_by(|a, b| a.distance.total_cmp(&b.distance));
    all.truncate(most);
    all
}

/// A number in which a neighbour differs by more than measuring explains.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Apart {
    pub feature: Feature,
    pub measured: f64,
    pub listed: f64,
}

impl Neighbour {
    /// The numbers that differ, most important first; two flanks that differ alike are one angle.
    pub fn apart(&self, measured: &Measured, observations: &Observations) -> Vec<Apart> {
        let geometry = geometry(self.family, self.size, measured.likely_starts(), observations);
        let mut apart: Vec<Apart> = judged(observations)
            .filter_map(|(r, near)| {
                let listed = geometry.nominal(r.feature)?;
                let exact = Reading { u: 0.0, ..r };
                let far = in_near(exact, near, listed, self.size).abs() > WORTH_SAYING
                    && (r.value - listed).abs() > EXPLAINED_U * r.u;
                far.then_some(Apart { feature: r.feature, measured: r.value, listed })
            })
            .collect();
        let place = |f| apart.iter().position(|a: &Apart| a.feature == f);
        if let (Some(r), Some(l)) = (place(Feature::RightFlank), place(Feature::LeftFlank)) {
            let (right, left) = (apart[r], apart[l]);
            let alike = (right.measured - right.listed) - (left.measured - left.listed);
            if alike.abs() < ALIKE_DEG && !self.family.form.is_asymmetric() {
                let both = Apart {
                    feature: Feature::IncludedAngle,
                    measured: right.measured + left.measured,
                    listed: right.listed + left.listed,
                };
                apart[r] = both;
                apart.remove(l);
            }
        }
        apart
    }
}

fn geometry(family: &Family, size: &Size, starts: u32, observations: &Observations) -> Geometry {
    let mirrored = is_mirrored(&family.form, observations);
    Geometry::new(&family.form, size.pitch_mm, Some(size.major_mm), starts, mirrored)
}

/// The readings that count, none of which repeats another.
fn judged(observations: &Observations) -> impl Iterator<Item = (Reading, Near)> + '_ {
    let has = |f| observations.gaussian(f).is_some();
    NEAR.into_iter().filter_map(move |(feature, near)| {
        let repeats = match feature {
            Feature::Lead => has(Feature::Pitch),
            Feature::PitchDiameter | Feature::MinorDiameter => has(Feature::MajorDiameter),
            _ => false,
        };
        let reading = match feature {
            Feature::CrestRadius => observations.crest_radius,
            other => observations.gaussian(other),
        };
        reading.filter(|_| !repeats).map(|r| (r, near))
    })
}

/// A difference in units of what is near, widened by the reading's uncertainty.
fn in_near(r: Reading, near: Near, listed: f64, size: &Size) -> f64 {
    match near {
        Near::Relative(part) => {
            (r.value / listed).max(1e-12).ln() / part.hypot(r.u / r.value.abs())
        }
        Near::Degrees(deg) => (r.value - listed) / deg.hypot(r.u),
        Near::OfPitch(part) => (r.value - listed) / (part * size.pitch_mm).hypot(r.u),
    }
}
