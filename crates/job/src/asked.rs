//! What the standards are asked: the numbers of a measurement, and how their errors hang together.

use fit::{FORM_PARAMETERS, Measurement};
use form::{Quantity, Source};
use shop::ScrewForm;
use standards::{Correlation, Feature, Measured};

const FITTED: usize = FORM_PARAMETERS.len();

/// The features of [`FORM_PARAMETERS`], in its order.
pub(crate) const FEATURES: [Feature; FITTED] = [
    Feature::Pitch,
    Feature::RightFlank,
    Feature::LeftFlank,
    Feature::Depth,
    Feature::CrestFlat,
    Feature::CrestRadius,
    Feature::RootRadius,
    Feature::MajorDiameter,
];

/// Numbers that follow from the fitted ones.
const FOLLOWING: [Feature; 3] = [Feature::RootFlat, Feature::MinorDiameter, Feature::PitchDiameter];

/// What the standards are asked about a measurement.
#[must_use]
pub fn asked(measurement: &Measurement) -> Measured {
    let f = &measurement.form;
    Measured {
        pitch_mm: f.pitch_mm,
        lead_mm: f.lead_mm,
        right_flank_deg: f.right_flank_deg,
        left_flank_deg: f.left_flank_deg,
        included_angle_deg: f.included_angle_deg,
        depth_mm: f.depth_mm,
        crest_flat_mm: f.crest_flat_mm,
        root_flat_mm: f.root_flat_mm,
        crest_radius_mm: f.crest_radius_mm,
        root_radius_mm: f.root_radius_mm,
        major_diameter_mm: f.major_diameter_mm,
        minor_diameter_mm: f.minor_diameter_mm,
        pitch_diameter_mm: f.pitch_diameter_mm,
        // Which end is the thicker does not matter to a standard.
        taper: f.taper.map(|t| Quantity { value: t.value.abs(), ..t }),
        starts: measurement.starts.map(|s| (s.value, s.probability)),
        hand: measurement.hand.map(|h| (h.value, h.probability)),
        correlation: correlation(measurement),
    }
}

/// What the standards are asked about a thread that was typed in.
pub(crate) fn asked_of_screw(screw: &ScrewForm) -> Measured {
    // A corner taken for sharp, because nobody said anything of it, is no evidence.
    let typed = |q: Quantity| Some(q).filter(|q| q.source != Source::Assumed);
    Measured {
        pitch_mm: Some(screw.pitch_mm),
        right_flank_deg: Some(screw.right_flank_deg),
        left_flank_deg: Some(screw.left_flank_deg),
        depth_mm: Some(screw.depth_mm),
        crest_flat_mm: Some(screw.crest_flat_mm),
        crest_radius_mm: typed(screw.crest_radius_mm),
        root_radius_mm: typed(screw.root_radius_mm),
        major_diameter_mm: Some(screw.major_diameter_mm),
        starts: Some((screw.starts, 1.0)),
        hand: Some((screw.hand, 1.0)),
        ..Measured::default()
    }
}

/// The fit's correlations, and to first order those of what follows from the fitted numbers. A number
/// the fit could not tell hangs together with nothing.
fn correlation(measurement: &Measurement) -> Option<Correlation> {
    let f = &measurement.form;
    let fitted: [Option<Quantity>; FITTED] = [
        f.pitch_mm,
        f.right_flank_deg,
        f.left_flank_deg,
        f.depth_mm,
        f.crest_flat_mm,
        f.crest_radius_mm,
        f.root_radius_mm,
        f.major_diameter_mm,
    ];
    let usable = fitted.map(|q| q.filter(|q| q.value.is_finite() && q.u.is_finite()));
    let u = usable.map(|q| q.map_or(0.0, |q| q.u));
    let at = usable.map(|q| q.map_or(0.0, |q| q.value));
    // Rows: fitted numbers, then what follows from them; each as a sum of the fitted ones.
    let mut rows: Vec<[f64; FITTED]> =
        (0..FITTED).map(|i| std::array::from_fn(|k| f64::from(u8::from(i == k)))).collect();
    let base = following(&at);
    for (n, centre) in base.iter().enumerate() {
        rows.push(std::array::from_fn(|k| {
            let step = 1e-3 * u[k].max(1e-6);
            let mut moved = at;
            moved[k] += step;
            (following(&moved)[n] - centre) / step
        }));
    }
    let covariance = |a: &[f64; FITTED], b: &[f64; FITTED]| {
        let mut sum = 0.0;
        for i in 0..FITTED {
            for j in 0..FITTED {
                sum += a[i] * b[j] * measurement.correlation[i][j] * u[i] * u[j];
            }
        }
        sum
    };
    let own: Vec<f64> = rows.iter().map(|r| covariance(r, r).max(0.0).sqrt()).collect();
    let coefficients: Vec<Vec<f64>> = rows
        .iter()
        .zip(&own)
        .map(|(a, ua)| {
            let against = |(b, ub): (&[f64; FITTED], &f64)| {
                if ua * ub > 0.0 { covariance(a, b) / (ua * ub) } else { 0.0 }
            };
            rows.iter().zip(&own).map(against).collect()
        })
        .collect();
    let features = FEATURES.into_iter().chain(FOLLOWING).collect();
    coefficients
        .iter()
        .flatten()
        .all(|c| c.is_finite())
        .then_some(Correlation { features, coefficients })
}

/// The numbers of [`FOLLOWING`] from those of [`FEATURES`].
fn following(v: &[f64; FITTED]) -> [f64; FOLLOWING.len()] {
    let [pitch, right, left, depth, crest, _, _, major] = *v;
    let slope = right.to_radians().tan() + left.to_radians().tan();
    let pitch_line = if slope > 0.02 { (0.5 * pitch - crest) / slope } else { 0.5 * depth };
    [pitch - crest - depth * slope, major - 2.0 * depth, major - 2.0 * pitch_line]
}
