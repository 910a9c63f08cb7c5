//! Threads invented for the trials: made, worn and measured by rules of their own, not by those of
//! the ranking, so that the ranking is tried on something it does not assume.

#![allow(dead_code, clippy::print_stdout, reason = "each test uses what it needs")]
#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

pub mod trials;

use form::Quantity;
use standards::{Correlation, Family, Feature, Measured, Prior, Side, Size, families, limits};

/// SplitMix64: small, known, and the same everywhere.
pub struct Rng(pub u64);

impl Rng {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }
    /// Even in [0, 1).
    pub fn even(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
    pub fn between(&mut self, a: f64, b: f64) -> f64 {
        a + (b - a) * self.even()
    }
    /// Standard normal (Box and Muller).
    pub fn normal(&mut self) -> f64 {
        let u = 1.0 - self.even();
        (-2.0 * u.ln()).sqrt() * (2.0 * std::f64::consts::PI * self.even()).cos()
    }
    pub fn exponential(&mut self, mean: f64) -> f64 {
        -mean * (1.0 - self.even()).ln()
    }
    pub fn pick<'a, T>(&mut self, items: &'a [T]) -> &'a T {
        &items[(self.next() % items.len() as u64) as usize]
    }
}

/// A real screw: its numbers without measuring error.
#[derive(Debug, Clone, Copy)]
pub struct Real {
    pub pitch_mm: f64,
    pub right_deg: f64,
    pub left_deg: f64,
    pub major_mm: f64,
    pub depth_mm: f64,
    pub crest_mm: f64,
    pub crest_radius_mm: f64,
    pub root_radius_mm: f64,
    pub taper: f64,
    /// Starts, where the advance per turn is read beside the pitch.
    pub starts_read: Option<u32>,
}

/// How well it is measured.
#[derive(Debug, Clone, Copy)]
pub struct Care {
    pub pitch_rel: f64,
    pub flank_deg: f64,
    pub flat_mm: f64,
    pub diameter_mm: f64,
    /// Relative error that all lengths share, as a picture's scale has it.
    pub scale_rel: f64,
    pub form_known: bool,
    pub diameter_known: bool,
    pub taper_known: bool,
}

impl Care {
    /// `coarseness` 1 is a good picture.
    pub fn of(coarseness: f64) -> Self {
        Self {
            pitch_rel: 3e-4 * coarseness,
            flank_deg: 0.05 * coarseness,
            flat_mm: 0.006 * coarseness,
            diameter_mm: 0.015 * coarseness,
            scale_rel: 0.0,
            form_known: true,
            diameter_known: true,
            taper_known: true,
        }
    }
}

/// A listed size of any family that is ranked by its own name.
pub fn any_listed(rng: &mut Rng) -> (&'static Family, &'static Size) {
    loop {
        let family = rng.pick(families());
        if family.ranked_as.is_none() && !family.sizes.is_empty() {
            return (family, rng.pick(&family.sizes));
        }
    }
}

/// A listed size, drawn as often as it is said to be met.
pub fn usual_listed(rng: &mut Rng, prior: &Prior) -> (&'static Family, &'static Size) {
    let sizes = prior.sizes();
    let total: f64 = sizes.iter().map(|s| s.2).sum();
    let mut left = rng.between(0.0, total);
    for (family, size, p) in &sizes {
        left -= p;
        if left <= 0.0 {
            return (family, size);
        }
    }
    (sizes[0].0, sizes[0].1)
}

/// A listed size, drawn as its family's weight and its choice are judged: the family first, then the
/// size in it.
pub fn judged_listed(rng: &mut Rng) -> (&'static Family, &'static Size) {
    let choice = |s: &Size| match s.choice {
        1 => 1.0,
        2 => 0.45,
        _ => 0.2,
    };
    fn drawn<T>(rng: &mut Rng, of: &'static [T], weight: impl Fn(&T) -> f64) -> &'static T {
        let mut left = rng.between(0.0, of.iter().map(&weight).sum());
        let found = of.iter().find(|one| {
            left -= weight(one);
            left < 0.0
        });
        found.unwrap_or(&of[0])
    }
    let listed = |f: &Family| if f.sizes.is_empty() { 0.0 } else { f.weight };
    let family = drawn(rng, families(), listed);
    (family, drawn(rng, &family.sizes, choice))
}

/// A screw of a listed size: made to basic size, somewhere within its class, or in the shop; then
/// worn.
pub fn made(family: &Family, size: &Size, rng: &mut Rng) -> Real {
    let form = &family.form;
    let p = size.pitch_mm;
    let basic = family.diameters(size);
    let slope = form.slope();
    let class = limits(family, size, &family.class, Side::External).unwrap();
    let (mut major, mut d2, mut minor) = (basic.major_mm, basic.pitch_mm, basic.external_minor_mm);
    match rng.next() % 3 {
        0 => {}
        1 => {
            major = rng.between(class.major.least_mm, class.major.most_mm);
            d2 = rng.between(class.pitch.least_mm, class.pitch.most_mm);
            minor -= basic.pitch_mm - d2;
        }
        _ => {
            major -= rng.between(0.0, 0.01 * p + 0.06);
            d2 -= rng.between(-0.3, 1.0) * (0.02 * p + 0.03);
            minor += 0.015 * p * rng.normal();
        }
    }
    // Rows of thickness and diameter are the same thing: the ridge at the basic pitch line.
    let mut thickness =
        if slope > 0.02 { 0.5 * p + 0.5 * slope * (d2 - basic.pitch_mm) } else { 0.49 * p };
    if rng.even() < 0.5 {
        thickness -= rng.exponential(0.03 * p).min(0.25 * p);
    }
    if rng.even() < 0.25 {
        major -= rng.exponential(0.03 * p).min(0.2 * p);
    }
    let spread = 0.12;
    let (mut right_deg, mut left_deg) = (form.angle_a_deg, form.angle_b_deg);
    if rng.even() < 0.5 {
        std::mem::swap(&mut right_deg, &mut left_deg);
    }
    right_deg += spread * rng.normal();
    left_deg += spread * rng.normal();
    let line_below_crest = 0.5 * (major - basic.pitch_mm);
    let mut crest_mm = thickness - line_below_crest * slope;
    // A taper thread is cut by somebody's caliper somewhere along it.
    if form.taper > 0.0 {
        let shift = rng.between(-0.3, 0.3) * p;
        major += shift;
        minor += shift;
        major += form.gauge_offset_d * size.major_mm + form.gauge_offset_p * p;
        minor += form.gauge_offset_d * size.major_mm + form.gauge_offset_p * p;
    }
    crest_mm = crest_mm.max(0.0);
    Real {
        pitch_mm: p * (1.0 + 2.5e-4 * rng.normal()),
        right_deg,
        left_deg,
        major_mm: major,
        depth_mm: 0.5 * (major - minor),
        crest_mm,
        crest_radius_mm: form.crest_radius * p,
        root_radius_mm: rng
            .between(form.root_radius_least, form.root_radius.max(form.root_radius_least + 0.02))
            * p,
        taper: form.taper,
        starts_read: None,
    }
}

/// A thread of no standard: one of its flanks is at least 0.75° and `flank_u_deg` twice from every
/// listed one, or its pitch 1.2 % and `pitch_rel` three times from every round one. Half of them have
/// the depth and crest of some listed form, as somebody who copies a standard badly would make it.
pub fn unlisted(rng: &mut Rng, flank_u_deg: f64, pitch_rel: f64) -> Real {
    let angles: Vec<(f64, f64)> =
        families().iter().map(|f| (f.form.angle_a_deg, f.form.angle_b_deg)).collect();
    loop {
        let kind = rng.next() % 4;
        let round_metric = f64::from((rng.between(4.0, 40.0)) as u32) * 0.25;
        let round_inch = 25.4 / f64::from(rng.between(3.0, 24.0) as u32);
        let pitch_mm = match (kind, rng.next() % 3) {
            (0 | 1, 0) => round_metric,
            (0 | 1, 1) => round_inch,
            _ => rng.between(0.8, 8.0),
        };
        let (right_deg, left_deg) = match kind {
            0 => {
                let half = rng.between(2.0, 42.0);
                (half, half)
            }
            1 => (rng.between(2.0, 48.0), rng.between(2.0, 48.0)),
            2 => {
                let half = (rng.between(10.0, 80.0)).round() / 2.0;
                (half, half)
            }
            _ => *rng.pick(&angles),
        };
        let odd_angle = angles.iter().all(|(a, b)| {
            let miss = |a: f64, b: f64| (right_deg - a).abs().max((left_deg - b).abs());
            miss(*a, *b).min(miss(*b, *a)) > 0.75 + 2.0 * flank_u_deg
        });
        let apart = 0.012 + 3.0 * pitch_rel;
        let off_grid = |unit: f64| {
            let n = (pitch_mm / unit).round().max(1.0);
            (pitch_mm / (n * unit) - 1.0).abs() > apart
        };
        let tpi = 25.4 / pitch_mm;
        let odd_pitch = off_grid(0.25)
            && off_grid(0.1)
            && ((tpi - (2.0 * tpi).round() / 2.0) / tpi).abs() > apart
            && families()
                .iter()
                .flat_map(|f| &f.pitches_mm)
                .all(|p| (p / pitch_mm - 1.0).abs() > apart);
        let wrong = if kind == 3 { odd_pitch } else { odd_angle };
        let slope = right_deg.to_radians().tan() + left_deg.to_radians().tan();
        let (depth_mm, crest_mm) = if rng.even() < 0.5 {
            let copied = &rng.pick(families()).form;
            (copied.external_depth_mm(pitch_mm), copied.crest_flat * pitch_mm)
        } else {
            (rng.between(0.35, 0.7) * pitch_mm, rng.between(0.06, 0.5) * pitch_mm)
        };
        let root_mm = pitch_mm - crest_mm - depth_mm * slope;
        if !wrong || root_mm < 0.05 * pitch_mm {
            continue;
        }
        let ratio = (9f64.ln() + 0.5 * rng.normal()).exp();
        let mut major_mm = (pitch_mm * ratio).max(3.0 * pitch_mm);
        match rng.next() % 3 {
            0 => major_mm = major_mm.round(),
            1 => major_mm = (major_mm / 1.5875).round() * 1.5875,
            _ => {}
        }
        return Real {
            pitch_mm,
            right_deg: right_deg + 0.1 * rng.normal(),
            left_deg: left_deg + 0.1 * rng.normal(),
            major_mm: major_mm - rng.between(0.0, 0.1),
            depth_mm,
            crest_mm,
            crest_radius_mm: 0.0,
            root_radius_mm: 0.0,
            taper: 0.0,
            starts_read: None,
        };
    }
}

/// Measures a screw: every number with an error of its own, and all lengths with the picture's wrong
/// scale in common, of which the covariance tells.
pub fn measure(real: &Real, care: Care, rng: &mut Rng) -> Measured {
    let scale = care.scale_rel * rng.normal();
    let mut m = Measured::default();
    let length = |m: &mut Measured, f: Feature, value: f64, own: f64, rng: &mut Rng| {
        let seen = value * (1.0 + scale) + own * rng.normal();
        m.set(f, Some(Quantity::measured(seen, own.hypot(care.scale_rel * value))));
    };
    let other = |m: &mut Measured, f: Feature, value: f64, u: f64, rng: &mut Rng| {
        m.set(f, Some(Quantity::measured(value + u * rng.normal(), u)));
    };
    length(&mut m, Feature::Pitch, real.pitch_mm, care.pitch_rel * real.pitch_mm, rng);
    if care.form_known {
        other(&mut m, Feature::RightFlank, real.right_deg, care.flank_deg, rng);
        other(&mut m, Feature::LeftFlank, real.left_deg, care.flank_deg, rng);
        length(&mut m, Feature::Depth, real.depth_mm, care.flat_mm, rng);
        length(&mut m, Feature::CrestFlat, real.crest_mm, care.flat_mm, rng);
        other(&mut m, Feature::CrestRadius, real.crest_radius_mm, 2.0 * care.flat_mm, rng);
        other(&mut m, Feature::RootRadius, real.root_radius_mm, 2.0 * care.flat_mm, rng);
    } else {
        let both = real.right_deg + real.left_deg;
        other(&mut m, Feature::IncludedAngle, both, 1.4 * care.flank_deg, rng);
    }
    if care.diameter_known {
        length(&mut m, Feature::MajorDiameter, real.major_mm, care.diameter_mm, rng);
    }
    if care.taper_known {
        other(&mut m, Feature::Taper, real.taper, 0.003, rng);
    }
    if let Some(starts) = real.starts_read {
        // By dials: the picture's scale has no part in it.
        let lead_mm = f64::from(starts) * real.pitch_mm;
        other(&mut m, Feature::Lead, lead_mm, 0.003, rng);
    }
    if care.scale_rel > 0.0 {
        m.correlation = Some(shared_scale(&m, care.scale_rel));
    }
    m
}

/// Coefficients `s² a b / (u_a u_b)` of lengths `a` and `b` that share a relative error `s`.
fn shared_scale(m: &Measured, scale_rel: f64) -> Correlation {
    let features: Vec<Feature> =
        [Feature::Pitch, Feature::Depth, Feature::CrestFlat, Feature::MajorDiameter]
            .into_iter()
            .filter(|f| m.get(*f).is_some())
            .collect();
    let share = |f: Feature| m.get(f).map_or(0.0, |q| scale_rel * q.value / q.u);
    let against = |a: Feature, b: Feature| if a == b { 1.0 } else { share(a) * share(b) };
    let coefficients =
        features.iter().map(|a| features.iter().map(|b| against(*a, *b)).collect()).collect();
    Correlation { features, coefficients }
}
