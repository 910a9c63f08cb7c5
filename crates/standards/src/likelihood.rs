//! How well a thread of a given form and size explains what was measured.
//!
//! A screw made to a standard is not the standard's drawing: its diameters lie somewhere in their
//! tolerances, its root depends on the tool, its flanks have an error, and use has taken metal from
//! crests and flanks, never put any on. Each hypothesis is therefore a mixture of Gaussians over
//! six hidden numbers — errors of pitch, right flank, left flank, major diameter, ridge thickness
//! at the pitch line, minor diameter — one component for each state of wear and for threads made
//! to class or merely in the shop. The measured numbers are linear in the hidden ones to first
//! order, so each component's density has a closed form.
//!
//! The widths and weights named in constants here are empirical.

use crate::family::{Family, Form};
use crate::linear::{MOST, Matrix, log_density, log_normal, log_sum, normal_cdf};
use crate::measured::{Feature, Measured, Reading};
use crate::tolerance::{Side, limits_of};

/// Hidden numbers.
const HIDDEN: usize = 6;
const PITCH: usize = 0;
const RIGHT: usize = 1;
const LEFT: usize = 2;
const MAJOR: usize = 3;
const THICKNESS: usize = 4;
const MINOR: usize = 5;

/// Metal lost from the ridge thickness: (mean / P, spread / P, weight).
const FLANK_WEAR: [(f64, f64, f64); 4] =
    [(0.0, 0.004, 0.50), (0.02, 0.012, 0.30), (0.06, 0.03, 0.14), (0.15, 0.06, 0.06)];
/// Metal lost from the major diameter: (mean / P, spread / P, weight).
const CREST_WEAR: [(f64, f64, f64); 3] =
    [(0.0, 0.003, 0.75), (0.03, 0.02, 0.18), (0.12, 0.05, 0.07)];
/// Share of the flank wear that tilts a flank instead of moving it.
const WEAR_TILT: f64 = 0.03;
/// Relative spread of the pitch of threads made to class: power screws, fasteners.
const PITCH_SD: (f64, f64) = (2.0e-4, 4.0e-4);
/// The same for threads cut in the shop.
const SHOP_PITCH_SD: f64 = 4.0e-4;
/// Share of threads cut in the shop, near the standard but not to a class: power screws, fasteners.
const SHOP_SHARE: (f64, f64) = (0.25, 0.10);
/// Share of threads made to the basic profile itself, as lead screws with fitted nuts and gauges are.
const BASIC_SHARE: (f64, f64) = (0.30, 0.15);
/// Spread of a flank of such threads, degrees.
const SHOP_FLANK_SD_DEG: f64 = 0.22;

/// Share of asymmetric threads whose flanks are reported by their included angle alone.
const UNSEEN_ASYMMETRY: f64 = 0.25;

/// The measured numbers a likelihood uses, chosen so that nothing is counted twice.
#[derive(Debug, Clone)]
pub(crate) struct Observations {
    /// Numbers of the section and diameters of which none follows from the others.
    pub gaussian: Vec<Reading>,
    /// Covariance of their errors; the diagonal is empty, it stands in the readings.
    pub shared: Matrix,
    pub crest_radius: Option<Reading>,
    pub root_radius: Option<Reading>,
    pub taper: Option<Reading>,
    /// All usable readings, for the list of deviations.
    pub all: Vec<Reading>,
}

impl Observations {
    pub fn of(measured: &Measured) -> Self {
        let all = measured.readings();
        let find = |f: Feature| all.iter().copied().find(|r| r.feature == f);
        let mut gaussian: Vec<Reading> = Vec::new();
        let mut basis: Vec<[f64; HIDDEN]> = Vec::new();
        let generic = Form {
            angle_a_deg: 17.0,
            angle_b_deg: 19.0,
            crest_flat: 0.3,
            depth: 0.5,
            pitch_line: 0.25,
            ..Form::default()
        };
        let geometry = Geometry::new(&generic, 1.0, Some(10.0), 1, false);
        for feature in [
            Feature::Pitch,
            Feature::RightFlank,
            Feature::LeftFlank,
            Feature::IncludedAngle,
            Feature::MajorDiameter,
            Feature::Depth,
            Feature::CrestFlat,
            Feature::MinorDiameter,
            Feature::PitchDiameter,
            Feature::RootFlat,
        ] {
            let Some(reading) = find(feature) else { continue };
            if let Some((_, row)) = geometry.row(feature)
                && extend_basis(&mut basis, row)
            {
                gaussian.push(reading);
            }
        }
        // A lead found by itself is a second, independent look at the pitch.
        if let Some(lead) = find(Feature::Lead)
            && !measured.lead_repeats_pitch()
        {
            gaussian.push(lead);
        }
        gaussian.truncate(MOST);
        let mut shared: Matrix = [[0.0; MOST]; MOST];
        for (i, a) in gaussian.iter().enumerate() {
            for (j, b) in gaussian.iter().enumerate().filter(|(j, _)| *j != i) {
                shared[i][j] = measured.correlation_of(a.feature, b.feature) * a.u * b.u;
            }
        }
        Self {
            gaussian,
            shared,
            crest_radius: find(Feature::CrestRadius),
            root_radius: find(Feature::RootRadius),
            taper: find(Feature::Taper),
            all,
        }
    }

    pub fn gaussian(&self, feature: Feature) -> Option<Reading> {
        self.gaussian.iter().copied().find(|r| r.feature == feature)
    }

    /// Covariance of the errors of two different numbers.
    pub fn shared(&self, a: Feature, b: Feature) -> f64 {
        let place = |f| self.gaussian.iter().position(|r| r.feature == f);
        match (place(a), place(b)) {
            (Some(i), Some(j)) => self.shared[i][j],
            _ => 0.0,
        }
    }
}

/// Adds `row` to an orthogonal basis unless it is a combination of what is there.
fn extend_basis(basis: &mut Vec<[f64; HIDDEN]>, row: [f64; HIDDEN]) -> bool {
    let norm = |v: &[f64; HIDDEN]| v.iter().map(|x| x * x).sum::<f64>().sqrt();
    let before = norm(&row);
    let mut rest = row;
    for b in basis.iter() {
        let along: f64 = rest.iter().zip(b).map(|(x, y)| x * y).sum();
        for (x, y) in rest.iter_mut().zip(b) {
            *x -= along * y;
        }
    }
    let after = norm(&rest);
    if after < 1e-6 * before {
        return false;
    }
    basis.push(rest.map(|x| x / after));
    true
}

/// The nominal numbers of a form at a size and how they move with the hidden ones.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Geometry {
    pitch_mm: f64,
    starts: f64,
    right_deg: f64,
    left_deg: f64,
    /// Sum of tangents.
    slope: f64,
    /// Change of each tangent per degree.
    per_deg: (f64, f64),
    crest_mm: f64,
    depth_mm: f64,
    pitch_line_mm: f64,
    major_mm: Option<f64>,
    crest_radius_mm: f64,
    root_radius_mm: f64,
    taper: f64,
}

impl Geometry {
    pub fn new(
        form: &Form,
        pitch_mm: f64,
        major_mm: Option<f64>,
        starts: u32,
        mirrored: bool,
    ) -> Self {
        let (right_deg, left_deg) = if mirrored {
            (form.angle_b_deg, form.angle_a_deg)
        } else {
            (form.angle_a_deg, form.angle_b_deg)
        };
        let per_deg = |deg: f64| 1f64.to_radians() / deg.to_radians().cos().powi(2);
        Self {
            pitch_mm,
            starts: f64::from(starts),
            right_deg,
            left_deg,
            slope: form.slope(),
            per_deg: (per_deg(right_deg), per_deg(left_deg)),
            crest_mm: form.crest_flat * pitch_mm,
            depth_mm: form.external_depth_mm(pitch_mm),
            pitch_line_mm: form.pitch_line * pitch_mm,
            major_mm,
            crest_radius_mm: form.crest_radius * pitch_mm,
            root_radius_mm: form.root_radius * pitch_mm,
            taper: form.taper,
        }
    }

    /// Nominal value of a feature; `None` when it needs a diameter that is not known.
    pub fn nominal(&self, feature: Feature) -> Option<f64> {
        Some(match feature {
            Feature::CrestRadius => self.crest_radius_mm,
            Feature::RootRadius => self.root_radius_mm,
            Feature::Taper => self.taper,
            other => self.row(other)?.0,
        })
    }

    /// Nominal value and derivatives with respect to the hidden numbers (lengths mm, flanks °).
    fn row(&self, feature: Feature) -> Option<(f64, [f64; HIDDEN])> {
        let mut row = [0.0; HIDDEN];
        let (tr, tl) = self.per_deg;
        let value = match feature {
            Feature::Pitch => {
                row[PITCH] = 1.0;
                self.pitch_mm
            }
            Feature::Lead => {
                row[PITCH] = self.starts;
                self.starts * self.pitch_mm
            }
            Feature::RightFlank => {
                row[RIGHT] = 1.0;
                self.right_deg
            }
            Feature::LeftFlank => {
                row[LEFT] = 1.0;
                self.left_deg
            }
            Feature::IncludedAngle => {
                row[RIGHT] = 1.0;
                row[LEFT] = 1.0;
                self.right_deg + self.left_deg
            }
            Feature::MajorDiameter => {
                row[MAJOR] = 1.0;
                self.major_mm?
            }
            Feature::MinorDiameter => {
                row[MINOR] = 1.0;
                self.major_mm? - 2.0 * self.depth_mm
            }
            Feature::Depth => {
                row[MAJOR] = 0.5;
                row[MINOR] = -0.5;
                self.depth_mm
            }
            // The crest is cut through a ridge whose thickness at the pitch line is the hidden
            // number: a smaller major diameter shows a wider crest, a steeper flank a wider one.
            Feature::CrestFlat => {
                row[THICKNESS] = 1.0;
                row[MAJOR] = -0.5 * self.slope;
                row[RIGHT] = -self.pitch_line_mm * tr;
                row[LEFT] = -self.pitch_line_mm * tl;
                self.crest_mm
            }
            Feature::RootFlat => {
                let below = self.depth_mm - self.pitch_line_mm;
                row[PITCH] = 1.0;
                row[THICKNESS] = -1.0;
                row[MINOR] = 0.5 * self.slope;
                row[RIGHT] = -below * tr;
                row[LEFT] = -below * tl;
                self.pitch_mm - self.crest_mm - self.depth_mm * self.slope
            }
            Feature::PitchDiameter if self.slope < 0.02 => {
                row[MAJOR] = 0.5;
                row[MINOR] = 0.5;
                self.major_mm? - self.depth_mm
            }
            Feature::PitchDiameter => {
                row[THICKNESS] = 2.0 / self.slope;
                row[PITCH] = -1.0 / self.slope;
                self.major_mm? - 2.0 * self.pitch_line_mm
            }
            Feature::CrestRadius | Feature::RootRadius | Feature::Taper => return None,
        };
        Some((value, row))
    }
}

/// Mean and standard deviation of the hidden numbers for threads made one way, before wear.
#[derive(Debug, Clone, Copy)]
struct Make {
    weight: f64,
    mean: [f64; HIDDEN],
    sd: [f64; HIDDEN],
}

/// ln of the density of the observations if the thread is `family`'s form at this size.
///
/// `major_mm` absent means that the diameter is not part of the hypothesis.
pub(crate) fn log_likelihood(
    family: &Family,
    pitch_mm: f64,
    major_mm: Option<f64>,
    starts: u32,
    observations: &Observations,
) -> f64 {
    let radii = log_radii(&family.form, pitch_mm, observations);
    let taper = observations
        .taper
        .map_or(0.0, |t| log_normal(t.value - family.form.taper, t.u.hypot(0.002)));
    let one_way =
        |mirrored: bool| log_sized(family, pitch_mm, major_mm, starts, mirrored, observations);
    let told_apart = observations.gaussian(Feature::RightFlank).is_some()
        || observations.gaussian(Feature::LeftFlank).is_some();
    let body = match (family.form.is_asymmetric(), told_apart) {
        (true, true) => log_sum([one_way(false), one_way(true)].into_iter()) - 2f64.ln(),
        // Flanks so different are seen at a glance: whoever gives one angle for both seldom has them.
        (true, false) if observations.gaussian(Feature::IncludedAngle).is_some() => {
            one_way(false) + UNSEEN_ASYMMETRY.ln()
        }
        _ => one_way(false),
    };
    body + radii + taper
}

/// Whether the measured flanks of an asymmetric form fit better with its flank a on the left.
pub(crate) fn is_mirrored(form: &Form, observations: &Observations) -> bool {
    if !form.is_asymmetric() {
        return false;
    }
    let miss = |right: f64, left: f64| {
        let of = |feature, nominal: f64| {
            observations.gaussian(feature).map_or(0.0, |r| (r.value - nominal).abs())
        };
        of(Feature::RightFlank, right) + of(Feature::LeftFlank, left)
    };
    miss(form.angle_b_deg, form.angle_a_deg) < miss(form.angle_a_deg, form.angle_b_deg)
}

fn log_sized(
    family: &Family,
    pitch_mm: f64,
    major_mm: Option<f64>,
    starts: u32,
    mirrored: bool,
    observations: &Observations,
) -> f64 {
    let form = &family.form;
    let geometry = Geometry::new(form, pitch_mm, major_mm, starts, mirrored);
    let mut n = 0;
    let mut rows = [[0.0; HIDDEN]; MOST];
    let mut nominal_residual = [0.0; MOST];
    let mut variance = [0.0; MOST];
    let mut place = [0; MOST];
    for (at, reading) in observations.gaussian.iter().enumerate() {
        let Some((nominal, row)) = geometry.row(reading.feature) else { continue };
        place[n] = at;
        rows[n] = row;
        nominal_residual[n] = reading.value - nominal;
        let model = model_sd(form, pitch_mm, reading.feature, observations);
        variance[n] = reading.u * reading.u + model * model;
        n += 1;
    }
    if n == 0 {
        return 0.0;
    }
    let shift_sd = taper_shift_sd(form, pitch_mm, major_mm);
    let shift: [f64; MOST] = std::array::from_fn(|i| {
        rows[i][MAJOR] + rows[i][MINOR] + 0.5 * geometry.slope * rows[i][THICKNESS]
    });
    let makes = makes(family, pitch_mm, major_mm);
    let hopeless = (0..n).any(|i| {
        let spread = variance[i] + (2.0 * shift_sd).powi(2);
        is_out_of_reach(&makes, &geometry, &rows[i], nominal_residual[i], spread)
    });
    if hopeless {
        return f64::NEG_INFINITY;
    }
    let mut logs = [f64::NEG_INFINITY; 3 * FLANK_WEAR.len() * CREST_WEAR.len()];
    let mut at = 0;
    for make in makes {
        for (flank_mean, flank_sd, flank_weight) in FLANK_WEAR {
            let tilt_deg = (WEAR_TILT * flank_mean * pitch_mm / geometry.depth_mm).to_degrees();
            for (crest_mean, crest_sd, crest_weight) in CREST_WEAR {
                let mut mean = make.mean;
                mean[THICKNESS] -= flank_mean * pitch_mm;
                mean[MAJOR] -= crest_mean * pitch_mm;
                let mut var = make.sd.map(|s| s * s);
                var[THICKNESS] += (flank_sd * pitch_mm).powi(2);
                var[MAJOR] += (crest_sd * pitch_mm).powi(2);
                var[RIGHT] += tilt_deg * tilt_deg;
                var[LEFT] += tilt_deg * tilt_deg;
                let mut covariance: Matrix = [[0.0; MOST]; MOST];
                let mut residual = nominal_residual;
                for i in 0..n {
                    for k in 0..HIDDEN {
                        residual[i] -= rows[i][k] * mean[k];
                    }
                    for j in 0..=i {
                        let mut sum = shift_sd * shift_sd * shift[i] * shift[j]
                            + observations.shared[place[i]][place[j]];
                        for k in 0..HIDDEN {
                            sum += rows[i][k] * rows[j][k] * var[k];
                        }
                        covariance[i][j] = sum;
                    }
                    covariance[i][i] += variance[i];
                }
                if let Some(log) = log_density(n, &residual, &mut covariance) {
                    logs[at] = log + (make.weight * flank_weight * crest_weight).ln();
                }
                at += 1;
            }
        }
    }
    log_sum(logs.iter().copied())
}

/// Whether one number already lies more than ten spreads outside everything the hypothesis allows,
/// so that the rest need not be reckoned. `variance` is that of the reading.
fn is_out_of_reach(
    makes: &[Make; 3],
    geometry: &Geometry,
    row: &[f64; HIDDEN],
    residual: f64,
    variance: f64,
) -> bool {
    let p = geometry.pitch_mm;
    let flank = FLANK_WEAR[FLANK_WEAR.len() - 1];
    let crest = CREST_WEAR[CREST_WEAR.len() - 1];
    let tilt_deg = (WEAR_TILT * flank.0 * p / geometry.depth_mm).to_degrees();
    let extra = [0.0, tilt_deg, tilt_deg, crest.1 * p, flank.1 * p, 0.0];
    let worn = [0.0, 0.0, 0.0, crest.0 * p, flank.0 * p, 0.0];
    let (mut low, mut high, mut variance) = (0.0, 0.0, variance);
    for k in 0..HIDDEN {
        let means = makes.iter().map(|m| m.mean[k]);
        let least = row[k] * (means.clone().fold(f64::INFINITY, f64::min) - worn[k]);
        let most = row[k] * means.fold(f64::NEG_INFINITY, f64::max);
        low += least.min(most);
        high += least.max(most);
        let sd = makes.iter().map(|m| m.sd[k]).fold(0.0, f64::max).hypot(extra[k]);
        variance += (row[k] * sd).powi(2);
    }
    let outside = (low - residual).max(residual - high).max(0.0);
    outside * outside > 100.0 * variance
}

/// A trapezoid fitted to a rounded ridge has no sharp corners to find: what that costs, mm.
fn model_sd(form: &Form, pitch_mm: f64, feature: Feature, observations: &Observations) -> f64 {
    if !form.rounded {
        return 0.0;
    }
    let crest_seen = observations.crest_radius.is_some();
    let root_seen = observations.root_radius.is_some();
    match feature {
        Feature::CrestFlat if !crest_seen => 0.04 * pitch_mm,
        Feature::RootFlat if !root_seen => 0.04 * pitch_mm,
        Feature::Depth if !(crest_seen && root_seen) => 0.02 * pitch_mm,
        _ => 0.0,
    }
}

/// A taper thread shows another diameter at every turn of its usable length.
fn taper_shift_sd(form: &Form, pitch_mm: f64, major_mm: Option<f64>) -> f64 {
    match major_mm {
        // L2 = (0.8 D + 6.8) P with D in inches (ASME B1.20.1); a quarter of it as spread.
        Some(d) if form.taper > 0.0 => {
            form.taper * (0.8 * d / form::units::MM_PER_INCH + 6.8) * pitch_mm / 4.0
        }
        _ => 0.0,
    }
}

fn makes(family: &Family, pitch_mm: f64, major_mm: Option<f64>) -> [Make; 3] {
    let p = pitch_mm;
    let form = &family.form;
    let slope = form.slope();
    // Without a diameter in the hypothesis its tolerances are those of a middling one.
    let d = major_mm.unwrap_or(9.0 * p);
    let of = |pair: (f64, f64)| if family.power { pair.0 } else { pair.1 };
    let (shop_share, basic_share) = (of(SHOP_SHARE), of(BASIC_SHARE));
    let pitch_sd = of(PITCH_SD);
    let make = |weight| Make { weight, mean: [0.0; HIDDEN], sd: [0.0; HIDDEN] };
    let mut class = make(1.0 - shop_share - basic_share);
    class.sd[PITCH] = pitch_sd * p;
    class.sd[RIGHT] = form.flank_sd_deg;
    class.sd[LEFT] = form.flank_sd_deg;
    class.sd[MINOR] = 2.0 * form.depth_sd * p;
    class.mean[THICKNESS] = -0.01 * p;
    class.sd[THICKNESS] = 0.01 * p;
    if let Ok(limits) = limits_of(family, d, p, &family.class, Side::External) {
        let basic = form.diameters(d, p);
        // Crests are left nearer their upper limit than the middle.
        let width = limits.major.width_mm();
        class.mean[MAJOR] = limits.major.most_mm - 0.4 * width - basic.major_mm;
        class.sd[MAJOR] = 0.28 * width;
        let lower = limits.pitch.middle_mm() - basic.pitch_mm;
        let spread = 0.25 * limits.pitch.width_mm();
        if slope > 0.02 {
            // On a smaller pitch diameter the same ridge is met higher up, where it is thinner.
            class.mean[THICKNESS] = 0.5 * slope * lower;
            class.sd[THICKNESS] = 0.5 * slope * spread;
        }
        class.mean[MINOR] = lower;
        class.sd[MINOR] = class.sd[MINOR].hypot(spread);
    }
    let mut shop = make(shop_share);
    shop.sd[PITCH] = SHOP_PITCH_SD * p;
    shop.sd[RIGHT] = SHOP_FLANK_SD_DEG;
    shop.sd[LEFT] = SHOP_FLANK_SD_DEG;
    shop.mean[MAJOR] = -0.03;
    shop.sd[MAJOR] = 0.02 * p + 0.05;
    shop.mean[THICKNESS] = -0.005 * p;
    shop.sd[THICKNESS] = 0.015 * p + 0.02;
    shop.sd[MINOR] = 2.0 * ((0.02 + form.depth_sd) * p + 0.02);
    let mut basic = make(basic_share);
    basic.sd[PITCH] = pitch_sd * p;
    basic.sd[RIGHT] = 0.5 * form.flank_sd_deg;
    basic.sd[LEFT] = 0.5 * form.flank_sd_deg;
    basic.sd[MAJOR] = 0.004 * p + 0.01;
    basic.sd[THICKNESS] = 0.003 * p + 0.005;
    basic.sd[MINOR] = 2.0 * (0.7 * form.depth_sd * p + 0.01);
    // The listed diameter of a taper thread is not that half-way along it.
    let offset = form.gauge_offset_d * d + form.gauge_offset_p * p;
    let mut all = [class, shop, basic];
    for make in &mut all {
        make.mean[MAJOR] += offset;
        make.mean[MINOR] += offset;
        make.mean[THICKNESS] += 0.5 * slope * offset;
    }
    all
}

/// Density of a number that lies evenly between `low` and `high`, seen with spread `sd`.
fn even(value: f64, low: f64, high: f64, sd: f64) -> f64 {
    let width = (high - low).max(1e-9);
    ((normal_cdf((high - value) / sd) - normal_cdf((low - value) / sd)) / width).max(0.0)
}

fn log_radii(form: &Form, pitch_mm: f64, observations: &Observations) -> f64 {
    let p = pitch_mm;
    // A share of threads has whatever radius the tool had.
    let anything = 1.0 / (0.25 * p);
    let mut log = 0.0;
    if let Some(r) = observations.crest_radius {
        let sd = r.u.hypot(0.01 * p);
        let usual = if form.rounded {
            // Rounded crests are often left truncated, and always worn.
            0.85 * crate::linear::normal(r.value - form.crest_radius * p, sd.hypot(0.015 * p))
                + 0.15 * even(r.value, 0.0, form.crest_radius_most * p, sd)
        } else {
            even(r.value, 0.0, form.crest_radius_most * p, sd)
        };
        log += (0.9 * usual + 0.1 * anything).ln();
    }
    if let Some(r) = observations.root_radius {
        let sd = r.u.hypot(0.01 * p);
        let usual = even(r.value, form.root_radius_least * p, form.root_radius_most * p, sd);
        log += (0.85 * usual + 0.15 * anything).ln();
    }
    log
}
