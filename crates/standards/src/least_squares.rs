//! Readings that are linear in the numbers of a thread, solved by generalised least squares.
//!
//! Unknowns are the numbers of the section and the diameters. A reading of travel per turn is linear
//! in the pitch once the number of starts is fixed, so each number of starts is tried and weighed by
//! its χ². Readings of one picture may share their errors (a wrong scale moves every length), so
//! the weights are the inverse of a whole covariance matrix: what a caliper says of the pitch then
//! moves depth, flats and diameters as well, as far as they hang together.

use crate::linear::solve_spd;
use crate::measured::{Feature, Measured};
use crate::prior::starts_prior;
use form::{Quantity, Source};

/// Unknown numbers, each by its place here.
pub(crate) const UNKNOWN: [Feature; 13] = [
    Feature::Pitch,
    Feature::MajorDiameter,
    Feature::PitchDiameter,
    Feature::MinorDiameter,
    Feature::RightFlank,
    Feature::LeftFlank,
    // Only where the flanks are not known apart.
    Feature::IncludedAngle,
    Feature::Depth,
    Feature::CrestFlat,
    Feature::RootFlat,
    Feature::CrestRadius,
    Feature::RootRadius,
    Feature::Taper,
];
pub(crate) const UNKNOWNS: usize = UNKNOWN.len();
pub(crate) const PITCH: usize = 0;
pub(crate) const MAJOR: usize = 1;
pub(crate) const PITCH_DIAMETER: usize = 2;
pub(crate) const MINOR: usize = 3;
pub(crate) const RIGHT: usize = 4;
pub(crate) const LEFT: usize = 5;
pub(crate) const BOTH: usize = 6;
pub(crate) const TAPER: usize = 12;

/// Numbers of a picture that follow from others (minor diameter from major and depth) make its
/// covariance singular; this share of each variance keeps it invertible and changes nothing else.
const OWN_SHARE: f64 = 1e-6;
/// Most starts tried where a lead was read.
const MOST_STARTS: u32 = 12;

/// A reading: `value = offset + row · unknowns`; the pitch column is multiplied by the starts where
/// `per_turn`.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    pub label: String,
    /// Index into the evidence; `None` for the picture.
    pub evidence: Option<usize>,
    pub what: Feature,
    pub row: [f64; UNKNOWNS],
    pub offset: f64,
    pub per_turn: bool,
    pub value: f64,
    pub u: f64,
}

impl Row {
    fn coefficient(&self, k: usize, starts: u32) -> f64 {
        if k == PITCH && self.per_turn { self.row[k] * f64::from(starts) } else { self.row[k] }
    }

    /// The reading that `solution` predicts, with its variance; `None` when something it needs is
    /// not known.
    pub fn predicted_by(&self, solution: &Solution) -> Option<(f64, f64)> {
        let c: [f64; UNKNOWNS] = std::array::from_fn(|k| self.coefficient(k, solution.starts));
        if (0..UNKNOWNS).any(|k| c[k] != 0.0 && !solution.known[k]) {
            return None;
        }
        let value = self.offset + (0..UNKNOWNS).map(|k| c[k] * solution.value[k]).sum::<f64>();
        let variance = (0..UNKNOWNS)
            .flat_map(|i| (0..UNKNOWNS).map(move |j| (i, j)))
            .map(|(i, j)| c[i] * c[j] * solution.variance[i][j])
            .sum();
        Some((value, variance))
    }
}

/// A row's coefficients with a 1 at one unknown.
pub(crate) fn unit(at: usize) -> [f64; UNKNOWNS] {
    let mut row = [0.0; UNKNOWNS];
    row[at] = 1.0;
    row
}

/// Share of its value to which a standard's pitch or angle is held: small beside any reading, large
/// beside rounding.
const EXACT: f64 = 1e-6;

/// Whether a number is a chosen standard's own pitch, lead or angle: exact, whatever else was read.
/// Diameters and depths are not: a standard gives them limits, and the screw in hand lies within.
pub(crate) fn is_exact(feature: Feature, q: Quantity) -> bool {
    let nominal = matches!(
        feature,
        Feature::Pitch
            | Feature::Lead
            | Feature::RightFlank
            | Feature::LeftFlank
            | Feature::IncludedAngle
    );
    nominal && q.source == Source::Standard && q.u <= 0.0
}

/// What the picture says, one row per number. A lead that only repeats the pitch is no reading.
pub(crate) fn picture_rows(measured: &Measured) -> Vec<Row> {
    let apart = measured.flanks_apart();
    let repeats = measured.lead_repeats_pitch();
    let row_of = |feature| match feature {
        Feature::Lead if !repeats => Some((unit(PITCH), true)),
        Feature::IncludedAngle if apart => None,
        Feature::RightFlank | Feature::LeftFlank if !apart => None,
        other => UNKNOWN.iter().position(|f| *f == other).map(|k| (unit(k), false)),
    };
    measured
        .readings()
        .into_iter()
        .filter_map(|r| {
            let (row, per_turn) = row_of(r.feature)?;
            let entered = measured.get(r.feature).is_some_and(|q| q.source == Source::Entered);
            let how = if entered { "given" } else { "measured" };
            let exact = measured.get(r.feature).is_some_and(|q| is_exact(r.feature, q));
            Some(Row {
                label: format!("{} as {how}", r.feature.word()),
                evidence: None,
                what: r.feature,
                row,
                offset: 0.0,
                per_turn,
                value: r.value,
                u: if exact { (EXACT * r.value.abs()).max(EXACT) } else { r.u },
            })
        })
        .collect()
}

/// The unknowns as the readings tell them.
#[derive(Debug, Clone)]
pub(crate) struct Solution {
    pub starts: u32,
    pub chi2: f64,
    pub dof: usize,
    pub value: [f64; UNKNOWNS],
    pub variance: [[f64; UNKNOWNS]; UNKNOWNS],
    /// Which unknowns anything bears on.
    pub known: [bool; UNKNOWNS],
}

/// Readings with how their errors hang together.
#[derive(Clone, Copy)]
pub(crate) struct Readings<'a> {
    pub rows: &'a [Row],
    /// The measurement whose errors are correlated.
    pub picture: &'a Measured,
    /// Starts reported with their probability.
    pub reported: Option<(u32, f64)>,
}

impl Readings<'_> {
    /// Solutions for every number of starts worth trying, the most probable first, without the rows
    /// `skip`.
    pub fn solutions(&self, skip: &[usize]) -> Vec<Solution> {
        let used: Vec<&Row> =
            self.rows.iter().enumerate().filter(|(i, _)| !skip.contains(i)).map(|r| r.1).collect();
        let weights = self.weights(&used);
        let turns = self.rows.iter().any(|r| r.per_turn);
        let most = if turns { MOST_STARTS } else { 1 };
        let mut solutions: Vec<Solution> =
            (1..=most).filter_map(|n| solve(&used, &weights, n)).collect();
        let score = |s: &Solution| 0.5 * s.chi2 - self.starts_weight(s.starts).ln();
        solutions.sort_by(|a, b| score(a).total_cmp(&score(b)));
        solutions
    }

    /// The solution without the rows `skip` for a number of starts that is taken as known.
    pub fn solution_for(&self, starts: u32, skip: &[usize]) -> Option<Solution> {
        let used: Vec<&Row> =
            self.rows.iter().enumerate().filter(|(i, _)| !skip.contains(i)).map(|r| r.1).collect();
        solve(&used, &self.weights(&used), starts)
    }

    /// What is known of a number of starts before the readings are looked at.
    pub fn starts_weight(&self, n: u32) -> f64 {
        match self.reported {
            Some((k, p)) if k == n => p.clamp(1e-6, 1.0),
            Some((_, p)) => ((1.0 - p) / 8.0).max(1e-6),
            None => starts_prior(true, n),
        }
    }

    /// Inverse of the covariance of the rows; where that has none, every row by itself.
    fn weights(&self, used: &[&Row]) -> Vec<Vec<f64>> {
        let shared = |a: &Row, b: &Row| match (a.evidence, b.evidence) {
            (None, None) => self.picture.correlation_of(a.what, b.what) * a.u * b.u,
            _ => 0.0,
        };
        let n = used.len();
        let covariance: Vec<Vec<f64>> = (0..n)
            .map(|i| {
                (0..n)
                    .map(|j| match i == j {
                        true => used[i].u * used[i].u * (1.0 + OWN_SHARE),
                        false => shared(used[i], used[j]),
                    })
                    .collect()
            })
            .collect();
        let correlated = (0..n).any(|i| (0..i).any(|j| covariance[i][j] != 0.0));
        let inverse =
            correlated.then(|| solve_spd(n, &covariance, &vec![0.0; n]).map(|(_, w)| w)).flatten();
        inverse.unwrap_or_else(|| {
            let own = |i: usize, j: usize| if i == j { used[i].u.powi(-2) } else { 0.0 };
            (0..n).map(|i| (0..n).map(|j| own(i, j)).collect()).collect()
        })
    }
}

/// Least squares for a fixed number of starts.
fn solve(used: &[&Row], weights: &[Vec<f64>], starts: u32) -> Option<Solution> {
    // Unknowns nobody looked at are left out. One seen only together with an unseen other (a
    // diameter over wires without a pitch) cannot occur: the pitch is demanded before.
    let known: [bool; UNKNOWNS] = std::array::from_fn(|k| used.iter().any(|r| r.row[k] != 0.0));
    let columns: Vec<usize> = (0..UNKNOWNS).filter(|k| known[*k]).collect();
    let (n, m) = (used.len(), columns.len());
    if m == 0 || n < m {
        return None;
    }
    // W X, then Xᵀ W X and Xᵀ W y.
    let weighted: Vec<Vec<f64>> = (0..n)
        .map(|i| {
            let along = |&k: &usize| {
                (0..n).map(|j| weights[i][j] * used[j].coefficient(k, starts)).sum::<f64>()
            };
            columns.iter().map(along).collect()
        })
        .collect();
    let mut a = vec![vec![0.0; m]; m];
    let mut b = vec![0.0; m];
    for (r, w) in used.iter().zip(&weighted) {
        for (i, wi) in w.iter().enumerate() {
            b[i] += wi * (r.value - r.offset);
            for (j, &k) in columns.iter().enumerate() {
                a[i][j] += wi * r.coefficient(k, starts);
            }
        }
    }
    let (x, inverse) = solve_spd(m, &a, &b)?;
    let mut solution = Solution {
        starts,
        chi2: 0.0,
        dof: n - m,
        value: [0.0; UNKNOWNS],
        variance: [[0.0; UNKNOWNS]; UNKNOWNS],
        known,
    };
    for (i, &ki) in columns.iter().enumerate() {
        solution.value[ki] = x[i];
        for (j, &kj) in columns.iter().enumerate() {
            solution.variance[ki][kj] = inverse[i][j];
        }
    }
    let rest: Vec<f64> = used
        .iter()
        .map(|r| r.value - r.predicted_by(&solution).map_or(r.value, |(predicted, _)| predicted))
        .collect();
    solution.chi2 = (0..n)
        .flat_map(|i| (0..n).map(move |j| (i, j)))
        .map(|(i, j)| rest[i] * weights[i][j] * rest[j])
        .sum::<f64>()
        .max(0.0);
    Some(solution)
}
