//! Evidence and picture together, by weighted least squares.
//!
//! Readings are turned into rows of [`least_squares`](crate::least_squares); what is not a number
//! (country, dials, a gauge that does not fit) goes into the prior. A reading contradicts when the
//! solution without it predicts it badly; a picture whose errors hang together is one witness.

use crate::evidence::Evidence;
use crate::family::System;
use crate::least_squares::{
    BOTH, LEFT, MAJOR, MINOR, PITCH, PITCH_DIAMETER, RIGHT, Readings, Row, Solution, UNKNOWN,
    UNKNOWNS, picture_rows, unit,
};
use crate::linear::normal_cdf;
use crate::measured::{Correlation, Feature, Measured, assumed_u};
use crate::prior::{Misfit, Origin, Prior};
use form::{Quantity, Source};
use serde::Serialize;

/// Odds that a machine's dials and its screws are of one system (empirical).
const DIAL_ODDS: f64 = 6.0;
/// Light shows from this difference of included angle, degrees (common practice).
const LEAF_ANGLE_DEG: f64 = 2.5;
/// A set of readings is contradictory when chance explains its χ² less often than this.
const CONTRADICTION: f64 = 0.01;
/// A reading nearer than this to what the others predict is not blamed, standard uncertainties.
const LEAST_DOUBTFUL_U: f64 = 1.5;
/// Where no single reading is to blame, those beyond this are all suspects, standard uncertainties.
const FAR_OFF_U: f64 = 3.0;

/// One reading beside what the combination makes of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Residual {
    /// Which reading.
    pub label: String,
    /// Index into the evidence given; `None` for the picture.
    pub evidence: Option<usize>,
    /// Name of the number it bears on, with unit.
    pub what: &'static str,
    /// The reading, in the unit of what was read (a length over threads is that length).
    pub value: f64,
    /// Its standard uncertainty.
    pub u: f64,
    /// What the other readings predict; `None` when nothing else bears on it.
    pub expected: Option<f64>,
    /// Difference from that prediction, in standard uncertainties of the difference.
    pub in_u: Option<f64>,
}

/// A reading the others contradict.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Contradiction {
    /// Index into [`Combined::residuals`].
    pub residual: usize,
    /// Whether leaving it out alone restores agreement; otherwise it is one of several suspects.
    pub sole_suspect: bool,
    /// For people.
    pub text: String,
}

/// The result of [`combine`].
#[derive(Debug, Clone, Serialize)]
pub struct Combined {
    /// Everything known, ready for [`crate::rank`].
    pub measured: Measured,
    /// Prior with what is known of the machine and the gauges that did not fit.
    pub prior: Prior,
    /// Sum of squared normalised residuals.
    pub chi2: f64,
    /// Degrees of freedom.
    pub dof: usize,
    /// Probability that chance alone gives so large a χ².
    pub p_value: f64,
    /// Every reading with its residual.
    pub residuals: Vec<Residual>,
    /// Which readings disagree; empty when χ² is believable.
    pub contradictions: Vec<Contradiction>,
    /// What could not be used and why, and what was assumed.
    pub notes: Vec<String>,
}

/// Combines a measurement with further evidence.
#[must_use]
pub fn combine(measured: &Measured, prior: &Prior, evidence: &[Evidence]) -> Combined {
    let mut out = measured.clone();
    let mut prior = prior.clone();
    let mut notes = Vec::new();
    let mut rows = picture_rows(measured);
    for (i, e) in evidence.iter().enumerate() {
        if let Err(wrong) = e.check() {
            notes.push(format!("{} not used: {wrong}", e.label()));
            continue;
        }
        match e {
            Evidence::Dials { system: System::Metric } => prior.metric_odds *= DIAL_ODDS,
            Evidence::Dials { system: System::Inch } => prior.metric_odds /= DIAL_ODDS,
            Evidence::Machine { region, year } => {
                prior.origin = Origin { region: *region, year: *year };
            }
            Evidence::PitchGauge { pitch_mm, included_deg, fits: false, .. } => {
                prior.misfits.push(Misfit {
                    pitch_mm: *pitch_mm,
                    included_deg: *included_deg,
                    pitch_resolution: e.reading_u().unwrap_or(0.01 * pitch_mm) / pitch_mm,
                    angle_resolution_deg: LEAF_ANGLE_DEG,
                });
            }
            Evidence::Taper { .. } => out.taper = e.says().map(|(_, taper)| taper),
            Evidence::Starts { starts } => out.starts = Some((*starts, 0.995)),
            _ => rows.extend(evidence_rows(i, e, measured, &mut notes)),
        }
    }
    rows.retain(|r| {
        let usable = r.value.is_finite() && r.u.is_finite() && r.u > 0.0;
        if !usable {
            notes.push(format!("{}: {} ± {} cannot be used", r.label, r.value, r.u));
        }
        usable
    });
    let readings = Readings { rows: &rows, picture: measured, reported: out.starts };
    let solutions = readings.solutions(&[]);
    let Some(best) = solutions.first() else {
        return Combined {
            measured: out,
            prior,
            chi2: 0.0,
            dof: 0,
            p_value: 1.0,
            residuals: Vec::new(),
            contradictions: Vec::new(),
            notes,
        };
    };
    let p_value = chi2_tail(best.chi2, best.dof);
    let residuals = residuals(&readings);
    let contradictions =
        if p_value < CONTRADICTION { suspects(&readings, &residuals, best) } else { Vec::new() };
    let enlarge = if p_value < CONTRADICTION {
        let ratio = (best.chi2 / best.dof.max(1) as f64).sqrt().max(1.0);
        notes.push(format!(
            "readings disagree: uncertainties enlarged {ratio:.1} times until that is settled"
        ));
        ratio
    } else {
        1.0
    };
    write_back(&mut out, &readings, &solutions, enlarge);
    Combined {
        measured: out,
        prior,
        chi2: best.chi2,
        dof: best.dof,
        p_value,
        residuals,
        contradictions,
        notes,
    }
}

/// A measurement after one of its numbers was read again by other means.
pub(crate) fn learn(measured: &Measured, feature: Feature, read: Quantity) -> Measured {
    let mut out = measured.clone();
    let mut rows = picture_rows(measured);
    let place = UNKNOWN.iter().position(|f| *f == feature);
    let (row, per_turn) = match (feature, place) {
        (Feature::Lead, _) => (unit(PITCH), true),
        (Feature::IncludedAngle, _) => (both_flanks(measured), false),
        (_, Some(k)) => (unit(k), false),
        (_, None) => {
            out.set(feature, Some(read));
            return out;
        }
    };
    rows.push(Row {
        label: feature.word().to_owned(),
        evidence: Some(0),
        what: feature,
        row,
        offset: 0.0,
        per_turn,
        value: read.value,
        u: read.u,
    });
    let readings = Readings { rows: &rows, picture: measured, reported: out.starts };
    let solutions = readings.solutions(&[]);
    write_back(&mut out, &readings, &solutions, 1.0);
    out
}

/// Coefficients of the included angle.
fn both_flanks(measured: &Measured) -> [f64; UNKNOWNS] {
    if !measured.flanks_apart() {
        return unit(BOTH);
    }
    let mut row = unit(RIGHT);
    row[LEFT] = 1.0;
    row
}

fn evidence_rows(
    index: usize,
    evidence: &Evidence,
    measured: &Measured,
    notes: &mut Vec<String>,
) -> Vec<Row> {
    let Some(u) = evidence.reading_u() else { return Vec::new() };
    let mut rows = Vec::new();
    let mut push = |what, row, offset, per_turn, value, u| {
        rows.push(Row {
            label: evidence.label(),
            evidence: Some(index),
            what,
            row,
            offset,
            per_turn,
            value,
            u,
        });
    };
    let pitches = |n: f64| {
        let mut row = [0.0; UNKNOWNS];
        row[PITCH] = n;
        row
    };
    match evidence {
        Evidence::Travel { turns, travel_mm } => {
            push(Feature::Lead, pitches(*turns), 0.0, true, travel_mm.value, u);
        }
        Evidence::DialTurn { divisions, division_mm } => {
            push(Feature::Lead, pitches(1.0), 0.0, true, divisions * division_mm, u);
        }
        Evidence::OverThreads { threads, length_mm, .. } => {
            push(Feature::Pitch, pitches(f64::from(*threads)), 0.0, false, length_mm.value, u);
        }
        // The count is the reading; the pitch that gives it is linear in its inverse.
        Evidence::Count { .. } => {
            if let Some((what, q)) = evidence.says() {
                push(what, unit(PITCH), 0.0, false, q.value, q.u);
            }
        }
        Evidence::PitchGauge { pitch_mm, included_deg, .. } => {
            push(Feature::Pitch, unit(PITCH), 0.0, false, *pitch_mm, u);
            push(
                Feature::IncludedAngle,
                both_flanks(measured),
                0.0,
                false,
                *included_deg,
                LEAF_ANGLE_DEG,
            );
        }
        Evidence::Major { major_mm } => {
            push(Feature::MajorDiameter, unit(MAJOR), 0.0, false, major_mm.value, u);
        }
        Evidence::Minor { minor_mm } => {
            push(Feature::MinorDiameter, unit(MINOR), 0.0, false, minor_mm.value, u);
        }
        Evidence::OverWires { over_mm, wire_mm } => match over_wires(measured, *wire_mm) {
            Some((row, offset, u_form)) => {
                push(Feature::PitchDiameter, row, offset, false, over_mm.value, u.hypot(u_form));
            }
            None => notes.push(
                "over wires: the flank angles and a pitch must be known before the reading can be \
                 used"
                    .to_owned(),
            ),
        },
        _ => {}
    }
    rows
}

/// `M = d2 - P / (tan a1 + tan a2) + w (1 + cos((a1 - a2) / 2) / sin((a1 + a2) / 2)) + c`, with the
/// lead-angle correction `c` to first order, and what the flanks' uncertainty makes of `M`.
fn over_wires(measured: &Measured, wire_mm: f64) -> Option<([f64; UNKNOWNS], f64, f64)> {
    let (a, b) = match (measured.right_flank_deg, measured.left_flank_deg) {
        (Some(r), Some(l)) => (r, l),
        _ => {
            let both = measured.included_angle_deg?;
            let half = Quantity::derived(0.5 * both.value, 0.5 * both.u);
            (half, half)
        }
    };
    let pitch_mm = measured.pitch_mm?.value;
    let terms = |a_deg: f64, b_deg: f64| {
        let (a, b) = (a_deg.to_radians(), b_deg.to_radians());
        let slope = a.tan() + b.tan();
        let k = 1.0 / slope;
        let g = 1.0 + (0.5 * (a - b)).cos() / (0.5 * (a + b)).sin();
        (slope > 0.05).then_some((k, g))
    };
    let (k, g) = terms(a.value, b.value)?;
    let m = |a_deg: f64, b_deg: f64| terms(a_deg, b_deg).map(|(k, g)| wire_mm * g - pitch_mm * k);
    let base = m(a.value, b.value)?;
    let fallback =
        |q: Quantity| if q.u > 0.0 { q.u } else { assumed_u(Feature::RightFlank, q.value) };
    let from_a = (m(a.value + 0.1, b.value)? - base) / 0.1 * fallback(a);
    let from_b = (m(a.value, b.value + 0.1)? - base) / 0.1 * fallback(b);
    let half = (0.5 * (a.value + b.value)).to_radians();
    let correction = measured.pitch_diameter_mm.or(measured.major_diameter_mm).map_or(0.0, |d| {
        let lead = pitch_mm * f64::from(measured.likely_starts());
        let tan_lead = lead / (std::f64::consts::PI * d.value);
        0.5 * wire_mm * tan_lead * tan_lead * half.cos() / half.tan()
    });
    let mut row = unit(PITCH_DIAMETER);
    row[PITCH] = -k;
    Some((row, wire_mm * g + correction, from_a.hypot(from_b).hypot(0.1 * correction)))
}

/// The rows that speak as one witness with row `i`: a picture whose errors hang together is judged as
/// a whole, everything else by itself.
fn witness(readings: &Readings<'_>, i: usize) -> Vec<usize> {
    let rows = readings.rows;
    if rows[i].evidence.is_none() && readings.picture.correlation.is_some() {
        (0..rows.len()).filter(|k| rows[*k].evidence.is_none()).collect()
    } else {
        vec![i]
    }
}

fn residuals(readings: &Readings<'_>) -> Vec<Residual> {
    let judge = |(i, r): (usize, &Row)| {
        let without = readings.solutions(&witness(readings, i)).into_iter().next();
        let prediction = without.and_then(|s| r.predicted_by(&s));
        Residual {
            label: r.label.clone(),
            evidence: r.evidence,
            what: r.what.key(),
            value: r.value,
            u: r.u,
            expected: prediction.map(|(v, _)| v),
            in_u: prediction.map(|(v, var)| (r.value - v) / (r.u * r.u + var).sqrt()),
        }
    };
    readings.rows.iter().enumerate().map(judge).collect()
}

/// Which readings to doubt: those whose removal restores agreement, or at least all that stand
/// three uncertainties from what the rest predicts.
fn suspects(
    readings: &Readings<'_>,
    residuals: &[Residual],
    best: &Solution,
) -> Vec<Contradiction> {
    let rows = readings.rows;
    let restores: Vec<bool> = (0..rows.len())
        .map(|i| {
            // Of a picture's many numbers only those that are off are worth naming.
            residuals[i].in_u.is_some_and(|z| z.abs() > LEAST_DOUBTFUL_U)
                && readings.solutions(&witness(readings, i)).first().is_some_and(|s| {
                    s.chi2 < best.chi2 && chi2_tail(s.chi2, s.dof) >= CONTRADICTION
                })
        })
        .collect();
    let mut witnesses: Vec<Option<usize>> =
        (0..rows.len()).filter(|i| restores[*i]).map(|i| rows[i].evidence).collect();
    let as_one = readings.picture.correlation.is_some();
    witnesses.dedup_by(|a, b| a == b && (a.is_some() || as_one));
    let how_many = witnesses.len();
    let mut found: Vec<usize> = (0..rows.len())
        .filter(|&i| {
            restores[i] || (how_many == 0 && residuals[i].in_u.is_some_and(|z| z.abs() > FAR_OFF_U))
        })
        .collect();
    let size = |i: &usize| residuals[*i].in_u.map_or(0.0, f64::abs);
    found.sort_by(|a, b| size(b).total_cmp(&size(a)));
    found
        .into_iter()
        .map(|i| {
            let r = &residuals[i];
            let sole = how_many == 1 && restores[i];
            let unit = if rows[i].what.is_angle() { "°" } else { " mm" };
            let reading = Quantity::new(r.value, r.u, Source::Entered).with_u(4);
            let expected = r.expected.map_or(String::new(), |e| {
                format!(
                    ", the other readings say {}{unit} ({:+.1} standard uncertainties)",
                    Quantity::derived(e, r.u).with_u(4).split(" ±").next().unwrap_or_default(),
                    r.in_u.unwrap_or(0.0)
                )
            });
            let whose = if sole { "disagrees with all others" } else { "may be the wrong one" };
            Contradiction {
                residual: i,
                sole_suspect: sole,
                text: format!("{} {whose}: {reading}{unit}{expected}", r.label),
            }
        })
        .collect()
}

fn write_back(out: &mut Measured, readings: &Readings<'_>, solutions: &[Solution], enlarge: f64) {
    let Some(best) = solutions.first() else { return };
    let repeated = out.lead_repeats_pitch().then(|| out.likely_starts());
    let turns = readings.rows.iter().any(|r| r.per_turn);
    // The pitch from a lead alone is a guess of the starts; keep it a lead then.
    let only_lead = !readings.rows.iter().any(|r| r.row[PITCH] != 0.0 && !r.per_turn);
    for (k, feature) in UNKNOWN.into_iter().enumerate().filter(|(k, _)| best.known[*k]) {
        let plain = Quantity::derived(best.value[k], best.variance[k][k].max(0.0).sqrt());
        let q = Quantity::derived(plain.value, enlarge * plain.u);
        let read_again = readings.rows.iter().any(|r| r.evidence.is_some() && r.row[k] != 0.0);
        if k == PITCH && only_lead {
            out.lead_mm = Some(q.scaled(f64::from(best.starts)));
        } else if read_again || out.get(feature).is_none_or(|old| is_news(old, plain)) {
            out.set(feature, Some(q));
        }
    }
    if readings.picture.correlation.is_some() {
        out.correlation = Some(correlation(best));
    }
    let Some(pitch) = out.pitch_mm else { return };
    if turns {
        let log = |s: &Solution| -0.5 * s.chi2 + readings.starts_weight(s.starts).ln();
        let top = log(best);
        let total: f64 = solutions.iter().map(|s| (log(s) - top).exp()).sum();
        out.starts = Some((best.starts, 1.0 / total));
    }
    // Written as pitch × starts, so that a ranking does not count it again.
    let repeated = if turns { Some(best.starts) } else { repeated };
    if let Some(starts) = repeated {
        out.lead_mm = Some(pitch.scaled(f64::from(starts)));
    }
}

/// How the errors of what was solved for hang together.
fn correlation(solution: &Solution) -> Correlation {
    let known: Vec<usize> = (0..UNKNOWNS).filter(|k| solution.known[*k]).collect();
    let sd = |k: usize| solution.variance[k][k].max(f64::MIN_POSITIVE).sqrt();
    let row =
        |i: &usize| known.iter().map(|j| solution.variance[*i][*j] / (sd(*i) * sd(*j))).collect();
    Correlation {
        features: known.iter().map(|k| UNKNOWN[*k]).collect(),
        coefficients: known.iter().map(row).collect(),
    }
}

/// Whether the solution says more, or something else, than what was measured.
fn is_news(old: Quantity, new: Quantity) -> bool {
    (new.value - old.value).abs() > 1e-3 * old.u || (new.u / old.u - 1.0).abs() > 1e-3
}

/// Probability of a χ² at least this large (Wilson and Hilferty's approximation).
fn chi2_tail(chi2: f64, dof: usize) -> f64 {
    if dof == 0 {
        return 1.0;
    }
    let k = dof as f64;
    let c = 2.0 / (9.0 * k);
    let z = ((chi2 / k).cbrt() - (1.0 - c)) / c.sqrt();
    1.0 - normal_cdf(z)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn chi_square_tail() {
        // Printed 1 % points of χ²: 6.635, 9.210, 15.086 for 1, 2 and 5 degrees of freedom. The
        // approximation is coarse at one degree.
        for (x, k, tolerance) in [(6.635, 1, 0.002), (9.210, 2, 0.0007), (15.086, 5, 0.0003)] {
            assert_abs_diff_eq!(chi2_tail(x, k), 0.01, epsilon = tolerance);
        }
    }
}
