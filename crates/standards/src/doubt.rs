//! Readings that contradict each other: which to doubt, and what becomes of them.
//!
//! A reading is judged by the solution without it. A picture whose errors hang together is one
//! witness and is left out or doubted as a whole; every other reading stands by itself.
//!
//! When chance explains the χ² of all readings less often than once in a hundred times, the suspects
//! are the witnesses without any one of which the rest agrees; where there is no such one, those three
//! standard uncertainties or more from what the rest predicts. Their uncertainties, and only theirs,
//! are multiplied by one factor: the least for which they add to χ² no more than their degrees of
//! freedom. This is the ratio of Birge (Physical Review 40, 1932, p. 207: that of the external to the
//! internal error, from memory) taken over the contradicting readings alone. One that stands against
//! several that agree so counts next to nothing; two that disagree with each other alone are both
//! covered by the widened mean; numbers on which no suspect bears keep their uncertainties.

use crate::least_squares::{Readings, Row, Solution};
use crate::linear::normal_cdf;
use crate::measured::Feature;
use form::{Part, Quantity, Sentence, Source, figure, mm, mm_with_u, sentence};
use serde::Serialize;

/// A set of readings is contradictory when chance explains its χ² less often than this.
const CONTRADICTION: f64 = 0.01;
/// A reading nearer than this to what the others predict is not blamed, standard uncertainties.
const LEAST_DOUBTFUL_U: f64 = 1.5;
/// Where no single reading is to blame, those beyond this are all suspects, standard uncertainties.
const FAR_OFF_U: f64 = 3.0;
/// Beyond this factor a reading counts nothing.
const MOST_ENLARGED: f64 = 1e6;

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
    /// How many times its uncertainty it was given in the combination because it is doubted; 1 for
    /// all others.
    pub enlarged: f64,
}

/// A reading the others contradict.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Contradiction {
    /// Index into [`Combined::residuals`](crate::Combined::residuals).
    pub residual: usize,
    /// Whether leaving it out alone restores agreement; otherwise it is one of several suspects.
    pub sole_suspect: bool,
    /// For people.
    pub text: Sentence,
}

/// What the readings make of each other.
pub(crate) struct Judged {
    /// Probability that chance alone gives so large a χ².
    pub p_value: f64,
    pub residuals: Vec<Residual>,
    pub contradictions: Vec<Contradiction>,
    /// The readings with the uncertainties they count with.
    pub rows: Vec<Row>,
    /// Says what was done, when anything was.
    pub note: Option<String>,
}

/// Judges readings of which `best` is the solution.
pub(crate) fn judge(readings: &Readings<'_>, best: &Solution) -> Judged {
    let p_value = chi2_tail(best.chi2, best.dof);
    let mut residuals = residuals(readings, best);
    let mut rows = readings.rows.to_vec();
    if p_value >= CONTRADICTION {
        return Judged { p_value, residuals, contradictions: Vec::new(), rows, note: None };
    }
    let suspects = suspects(readings, &residuals, best);
    let mut doubted: Vec<usize> =
        suspects.found.iter().flat_map(|&i| witness(readings, i)).collect();
    if doubted.is_empty() {
        // All differ a little too much: each that anything else bears on.
        doubted = (0..rows.len()).filter(|&i| residuals[i].expected.is_some()).collect();
    }
    doubted.sort_unstable();
    doubted.dedup();
    let factor = birge_ratio(readings, &doubted, best);
    for &i in &doubted {
        rows[i].u *= factor;
        residuals[i].enlarged = factor;
    }
    let contradictions =
        suspects.found.iter().map(|&i| contradiction(&residuals, rows[i].what, i, suspects.sole));
    let contradictions = contradictions.collect();
    let note = Some(note(readings, &doubted, factor));
    Judged { p_value, residuals, contradictions, rows, note }
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

fn residuals(readings: &Readings<'_>, best: &Solution) -> Vec<Residual> {
    let judge = |(i, r): (usize, &Row)| {
        // Of the same number of starts: a lead alone says nothing of the pitch, nor a pitch of the lead.
        let without = readings.solution_for(best.starts, &witness(readings, i));
        let prediction = without.and_then(|s| r.predicted_by(&s));
        Residual {
            label: r.label.clone(),
            evidence: r.evidence,
            what: r.what.key(),
            value: r.value,
            u: r.u,
            expected: prediction.map(|(v, _)| v),
            in_u: prediction.map(|(v, var)| (r.value - v) / (r.u * r.u + var).sqrt()),
            enlarged: 1.0,
        }
    };
    readings.rows.iter().enumerate().map(judge).collect()
}

/// Rows to doubt, the farthest off first.
struct Suspects {
    found: Vec<usize>,
    /// They are one witness, without which the rest agrees.
    sole: bool,
}

fn suspects(readings: &Readings<'_>, residuals: &[Residual], best: &Solution) -> Suspects {
    let rows = readings.rows;
    let off = |i: usize| residuals[i].in_u.map_or(0.0, f64::abs);
    let restores = |i: usize| {
        // Of a picture's many numbers only those that are off are worth naming.
        off(i) > LEAST_DOUBTFUL_U
            && readings
                .solutions(&witness(readings, i))
                .first()
                .is_some_and(|s| s.chi2 < best.chi2 && chi2_tail(s.chi2, s.dof) >= CONTRADICTION)
    };
    let mut found: Vec<usize> = (0..rows.len()).filter(|i| restores(*i)).collect();
    let mut witnesses: Vec<Vec<usize>> = found.iter().map(|i| witness(readings, *i)).collect();
    witnesses.dedup();
    let sole = witnesses.len() == 1;
    if found.is_empty() {
        found = (0..rows.len()).filter(|i| off(*i) > FAR_OFF_U).collect();
    }
    found.sort_by(|a, b| off(*b).total_cmp(&off(*a)));
    Suspects { found, sole }
}

/// The least factor on the uncertainties of `doubted` for which they add to χ² no more than their
/// degrees of freedom.
fn birge_ratio(readings: &Readings<'_>, doubted: &[usize], best: &Solution) -> f64 {
    let (rest_chi2, rest_dof) =
        readings.solutions(doubted).first().map_or((0.0, 0), |s| (s.chi2, s.dof));
    let allowed = rest_chi2 + best.dof.saturating_sub(rest_dof).max(1) as f64;
    let chi2_with = |factor: f64| {
        let mut rows = readings.rows.to_vec();
        for &i in doubted {
            rows[i].u *= factor;
        }
        let widened = Readings { rows: &rows, ..*readings };
        widened.solutions(&[]).first().map_or(0.0, |s| s.chi2)
    };
    let (mut low, mut high) = (0.0, MOST_ENLARGED.ln());
    while high - low > 1e-4 {
        let middle: f64 = 0.5 * (low + high);
        if chi2_with(middle.exp()) > allowed {
            low = middle;
        } else {
            high = middle;
        }
    }
    high.exp()
}

fn note(readings: &Readings<'_>, doubted: &[usize], factor: f64) -> String {
    let rows = readings.rows;
    let picture = readings.picture.correlation.is_some();
    let of_picture = |i: &usize| picture && rows[*i].evidence.is_none();
    let whose = match doubted {
        [one] if !of_picture(one) => {
            format!("{} counts with {factor:.1} times its", rows[*one].label)
        }
        all if all.iter().all(of_picture) => {
            format!("the picture counts with {factor:.1} times its")
        }
        _ => format!("the readings in doubt count with {factor:.1} times their"),
    };
    let others = if doubted.len() < rows.len() { "; the others keep theirs" } else { "" };
    format!("until the disagreement is settled, {whose} uncertainty{others}")
}

fn contradiction(residuals: &[Residual], what: Feature, i: usize, sole: bool) -> Contradiction {
    let r = &residuals[i];
    let read = Quantity::new(r.value, r.u, Source::Entered);
    // With the digits of the reading: more would not be compared.
    let others = |value: f64| Quantity::derived(value, r.u).decimals(4);
    let (reading, other): (Part, _) = if what.is_length() {
        (mm_with_u(read, 4).into(), r.expected.map(|e| Part::from(mm(e, others(e)))))
    } else {
        let unit = if what.is_angle() { "°" } else { "" };
        let expected = r.expected.map(|e| format!("{}{unit}", figure(e, others(e))).into());
        (format!("{}{unit}", read.with_u(4)).into(), expected)
    };
    let expected = other.map_or_else(Sentence::default, |other| {
        let apart = format!("{:+.1}", r.in_u.unwrap_or(0.0));
        sentence!(", the other readings say {} ({} standard uncertainties)", other, apart)
    });
    let whose = if sole { "disagrees with all others" } else { "may be the wrong one" };
    let text = sentence!("{} {}: {}{}", &r.label, whose, reading, expected);
    Contradiction { residual: i, sole_suspect: sole, text }
}

/// Probability of a χ² at least this large, by the recurrence over even or odd degrees of freedom
/// (Abramowitz and Stegun 26.4.4 and 26.4.5).
fn chi2_tail(chi2: f64, dof: usize) -> f64 {
    if dof == 0 || chi2 <= 0.0 {
        return 1.0;
    }
    let half = 0.5 * chi2;
    let odd = dof % 2 == 1;
    let mut tail = if odd { 2.0 * (1.0 - normal_cdf(chi2.sqrt())) } else { (-half).exp() };
    // The term for k: (χ²/2)^(k/2) e^(-χ²/2) / Γ(k/2 + 1), Γ(3/2) = √π / 2.
    let mut term = if odd {
        half.sqrt() * (-half).exp() * 2.0 / std::f64::consts::PI.sqrt()
    } else {
        half * (-half).exp()
    };
    let mut k = if odd { 1 } else { 2 };
    while k < dof {
        tail += term;
        k += 2;
        term *= half / (0.5 * k as f64);
    }
    tail.min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn chi_square_tail() {
        // Printed points of χ² (Abramowitz and Stegun table 26.8): 1 % for 1, 2, 5 and 10 degrees of
        // freedom; 50 % and 0.1 % for 3 and 4.
        for (x, k, p) in [
            (6.634_90, 1, 0.01),
            (9.210_34, 2, 0.01),
            (15.086_3, 5, 0.01),
            (23.209_3, 10, 0.01),
            (2.365_97, 3, 0.5),
            (18.466_8, 4, 0.001),
        ] {
            assert_abs_diff_eq!(chi2_tail(x, k), p, epsilon = 2e-6);
        }
        assert_eq!(chi2_tail(3.0, 0), 1.0);
    }
}
