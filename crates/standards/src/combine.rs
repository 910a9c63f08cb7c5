//! Evidence and picture together, by weighted least squares.
//!
//! Readings are turned into rows of [`least_squares`](crate::least_squares); what is not a number
//! (country, dials, a gauge that does not fit) goes into the prior. What becomes of readings that
//! contradict each other is in [`doubt`](crate::doubt).

use crate::doubt::{Contradiction, Judged, Residual, judge};
use crate::evidence::Evidence;
use crate::family::System;
use crate::least_squares::{
    BOTH, LEFT, MAJOR, MINOR, PITCH, PITCH_DIAMETER, RIGHT, Readings, Row, Solution, TAPER,
    UNKNOWN, UNKNOWNS, is_exact, picture_rows, unit,
};
use crate::measured::{Correlation, Feature, Measured, Reading, assumed_u};
use crate::prior::{Misfit, Origin, Prior};
use form::{Quantity, Said, Sentence, sentence};
use serde::Serialize;

/// Odds that a machine's dials and its screws are of one system (empirical).
const DIAL_ODDS: f64 = 6.0;
/// Probability of the starts that a lead says which is a whole multiple of the pitch beside it (empirical).
const TYPED_STARTS: f64 = 0.999;
/// Light shows from this difference of included angle, degrees (common practice).
const LEAF_ANGLE_DEG: f64 = 2.5;

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
    pub notes: Vec<Sentence>,
}

/// Combines a measurement with further evidence.
#[must_use]
pub fn combine(measured: &Measured, prior: &Prior, evidence: &[Evidence]) -> Combined {
    let mut out = measured.clone();
    if out.starts.is_none() && out.lead_repeats_pitch() {
        // No second look at the pitch; but whoever gives a lead of so many pitches gives the starts.
        out.starts = Some((out.likely_starts(), TYPED_STARTS));
    }
    let mut prior = prior.clone();
    let mut notes = Vec::new();
    let mut rows = picture_rows(measured);
    notes.extend(measured.readings().iter().filter(|r| r.u_assumed).map(Reading::assumption));
    for (i, e) in evidence.iter().enumerate() {
        if let Err(wrong) = e.check() {
            notes.push(sentence!("{} not used: {}", e.label(), wrong.said()));
            continue;
        }
        match e {
            Evidence::Dials { system: System::Metric } => prior.metric_odds *= DIAL_ODDS,
            Evidence::Dials { system: System::Inch } => prior.metric_odds /= DIAL_ODDS,
            Evidence::Machine { region, year } => {
                // Country and year may be told apart from each other.
                let known = prior.origin;
                prior.origin =
                    Origin { region: region.or(known.region), year: year.or(known.year) };
            }
            Evidence::PitchGauge { pitch_mm, included_deg, fits: false, .. } => {
                prior.misfits.push(Misfit {
                    pitch_mm: *pitch_mm,
                    included_deg: *included_deg,
                    pitch_resolution: e.reading_u().unwrap_or(0.01 * pitch_mm) / pitch_mm,
                    angle_resolution_deg: LEAF_ANGLE_DEG,
                });
            }
            Evidence::Starts { starts } => out.starts = Some((*starts, 0.995)),
            _ => rows.extend(evidence_rows(i, e, measured, &mut notes)),
        }
    }
    rows.retain(|r| {
        let usable = r.value.is_finite() && r.u.is_finite() && r.u > 0.0;
        if !usable {
            notes.push(format!("{}: {} ± {} cannot be used", r.label, r.value, r.u).into());
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
    let (chi2, dof) = (best.chi2, best.dof);
    let Judged { p_value, residuals, contradictions, rows, note } = judge(&readings, best);
    notes.extend(note.map(Sentence::from));
    let readings = Readings { rows: &rows, ..readings };
    write_back(&mut out, &readings, &readings.solutions(&[]));
    Combined { measured: out, prior, chi2, dof, p_value, residuals, contradictions, notes }
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
    write_back(&mut out, &readings, &solutions);
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
    notes: &mut Vec<Sentence>,
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
        Evidence::Taper { taper } => {
            push(Feature::Taper, unit(TAPER), 0.0, false, taper.value, u);
        }
        Evidence::OverWires { over_mm, wire_mm } => match over_wires(measured, *wire_mm) {
            Some((row, offset, u_form)) => {
                push(Feature::PitchDiameter, row, offset, false, over_mm.value, u.hypot(u_form));
            }
            None => notes.push(
                "over wires: the flank angles and a pitch must be known before the reading can be \
                 used"
                    .into(),
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

fn write_back(out: &mut Measured, readings: &Readings<'_>, solutions: &[Solution]) {
    let Some(best) = solutions.first() else { return };
    let repeated = out.lead_repeats_pitch().then(|| out.likely_starts());
    let turns = readings.rows.iter().any(|r| r.per_turn);
    // The pitch from a lead alone is a guess of the starts; keep it a lead then.
    let only_lead = !readings.rows.iter().any(|r| r.row[PITCH] != 0.0 && !r.per_turn);
    for (k, feature) in UNKNOWN.into_iter().enumerate().filter(|(k, _)| best.known[*k]) {
        let q = Quantity::derived(best.value[k], best.variance[k][k].max(0.0).sqrt());
        let read_again = readings.rows.iter().any(|r| r.evidence.is_some() && r.row[k] != 0.0);
        let old = out.get(feature);
        if k == PITCH && only_lead {
            out.lead_mm = Some(q.scaled(f64::from(best.starts)));
        } else if old.is_some_and(|old| is_exact(feature, old)) {
            // A standard was chosen: readings agree with its value or contradict it.
        } else if read_again || old.is_none_or(|old| is_news(feature, old, q)) {
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
fn is_news(feature: Feature, old: Quantity, new: Quantity) -> bool {
    // Without an uncertainty of its own it went in with the one assumed for it.
    let u = if old.u > 0.0 { old.u } else { assumed_u(feature, old.value) };
    (new.value - old.value).abs() > 1e-3 * u || (new.u / u - 1.0).abs() > 1e-3
}
