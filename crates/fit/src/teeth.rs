//! Each tooth by itself: its place and the metal missing from its flanks.

use crate::data::On;
use crate::measure::Best;
use crate::measurement::{Tooth, Warning};
use crate::params::Param;
use crate::uncertainty::UOf;
use form::shadow::Edge;
use form::{Piece, Quantity, mm, sentence};
use picture::Drawn;
use std::collections::BTreeMap;

/// Sums of one flank: axial displacement to the outside, count, squares.
#[derive(Default, Clone, Copy)]
struct Flank {
    sum: f64,
    squares: f64,
    n: f64,
    at: (f64, f64),
}

impl Flank {
    fn mean(&self) -> Option<Quantity> {
        (self.n >= 3.0).then(|| {
            let mean = self.sum / self.n;
            let variance = (self.squares / self.n - mean * mean).max(0.0) / (self.n - 1.0);
            Quantity::measured(mean, variance.sqrt())
        })
    }
}

/// Every tooth of which both flanks are seen.
pub(crate) fn teeth(best: &Best, u_of: UOf<'_>) -> Vec<Tooth> {
    let o = &best.outcome;
    let p = &o.params;
    let scale = p[Param::Scale];
    let mut flanks: BTreeMap<(bool, i32, bool), Flank> = BTreeMap::new();
    for (i, d) in best.data.iter().enumerate() {
        let On::Thread(edge) = d.on else { continue };
        let (Some(outline), Some(foot)) =
            (o.evaluated.outlines[usize::from(edge == Edge::Lower)].as_ref(), &o.evaluated.feet[i])
        else {
            continue;
        };
        if o.masked[i] {
            continue;
        }
        let segment = &outline.segments[foot.segment];
        let groove = outline.vertices[segment.a].site.groove;
        let (right, tan, tooth) = match outline.piece_at(segment, foot.t).0 {
            Piece::FlankRight => (true, p[Param::TanRight].abs(), groove),
            Piece::FlankLeft => (false, p[Param::TanLeft].abs(), groove + 1),
            _ => continue,
        };
        let axial = o.evaluated.off_px[i] / scale * tan.hypot(1.0);
        let f = flanks.entry((edge == Edge::Lower, tooth, right)).or_default();
        f.sum += axial;
        f.squares += axial * axial;
        f.n += 1.0;
        f.at = (f.at.0 + d.at.0, f.at.1 + d.at.1);
    }
    let u_flat = u_of(&|p| p[Param::CrestFlat]);
    let keys: std::collections::BTreeSet<(bool, i32)> = flanks.keys().map(|k| (k.0, k.1)).collect();
    keys.into_iter()
        .filter_map(|(lower, number)| {
            let right = flanks.get(&(lower, number, true))?;
            let left = flanks.get(&(lower, number, false))?;
            let (r, l) = (right.mean()?, left.mean()?);
            let n = right.n + left.n;
            Some(Tooth {
                edge: if lower { Edge::Lower } else { Edge::Upper },
                number,
                at_px: ((right.at.0 + left.at.0) / n, (right.at.1 + left.at.1) / n),
                pitch_error_mm: Quantity::measured(0.5 * (r.value - l.value), 0.5 * r.u.hypot(l.u)),
                right_wear_mm: Quantity::measured(-r.value, r.u.hypot(0.5 * u_flat)),
                left_wear_mm: Quantity::measured(-l.value, l.u.hypot(0.5 * u_flat)),
            })
        })
        .collect()
}

/// Wear that stands out of its uncertainty, mm.
const NOTABLE_MM: f64 = 0.02;

/// Teeth that must agree before they are believed to be thicker than the form: one may carry a burr.
const TOO_MANY_THICK: usize = 2;

/// By how much all uncertainties are to be widened because teeth are *thicker* than the form. Wear
/// takes metal away and never adds any: then the form is that of worn teeth, and where it lies among
/// them nobody knows.
pub(crate) fn too_thick(
    teeth: &[Tooth],
    drawn: Drawn,
    u_flat_mm: f64,
    warnings: &mut Vec<Warning>,
) -> f64 {
    let mut thick: Vec<f64> = teeth
        .iter()
        .filter_map(|t| {
            let stands_out = |w: &Quantity| w.value < -NOTABLE_MM.max(4.0 * w.u);
            [t.right_wear_mm, t.left_wear_mm]
                .iter()
                .filter(|w| stands_out(w))
                .map(|w| -w.value)
                .max_by(f64::total_cmp)
        })
        .collect();
    if thick.len() < TOO_MANY_THICK {
        return 1.0;
    }
    thick.sort_by(|a, b| b.total_cmp(a));
    let agreed_mm = thick[TOO_MANY_THICK - 1];
    let why = match drawn {
        Drawn::Shadow => {
            "and wear never adds metal: the form is that of worn teeth. The uncertainties are widened \
             to say so. Draw the box round an unworn stretch, an end beyond the travel, and measure \
             again."
        }
        Drawn::Line => {
            "more than a steady hand strays. The uncertainties are widened to say so. Trace the shadow \
             again, larger, with a sharper pencil, or photograph the shadow itself."
        }
    };
    warnings.push(Warning::new(
        "teeth-disagree",
        sentence!(
            "{} of {} teeth seen are thicker than the form by up to {}, {}",
            thick.len(),
            teeth.len(),
            mm(agreed_mm, 2),
            why
        ),
    ));
    (agreed_mm / u_flat_mm).max(1.0)
}

pub(crate) fn wear_warnings(teeth: &[Tooth], drawn: Drawn, warnings: &mut Vec<Warning>) {
    let worn: Vec<&Tooth> = teeth
        .iter()
        .filter(|t| {
            [t.right_wear_mm, t.left_wear_mm].iter().any(|w| w.value > NOTABLE_MM.max(4.0 * w.u))
        })
        .collect();
    if worn.is_empty() {
        return;
    }
    let most =
        worn.iter().map(|t| t.right_wear_mm.value.max(t.left_wear_mm.value)).fold(0.0, f64::max);
    let what = match drawn {
        Drawn::Shadow => "wear, damage or dirt",
        Drawn::Line => "wear, damage, or a pencil that strayed",
    };
    warnings.push(Warning::new(
        "wear",
        sentence!(
            "{} of {} teeth seen have flanks thinner than the form by up to {}: {}. The form is that \
             of the teeth that agree; check that they are the unworn ones.",
            worn.len(),
            teeth.len(),
            mm(most, 2),
            what
        ),
    ));
}
