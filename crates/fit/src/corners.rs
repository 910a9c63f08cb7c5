//! What the outline's corners say of radii, before any is fitted.

use crate::data::{Datum, On};
use crate::matching::Matcher;
use crate::params::Param;
use crate::robust::{CORNER_TURN_RAD, Outcome};
use form::Piece;
use form::shadow::{Edge, Segment};
use std::f64::consts::FRAC_PI_2;

/// Blurs along the outline from a corner that part the rings of data about it: the innermost, where the
/// half level of a blurred corner is far inside, and two where it is nearly the edge again.
const RINGS: [f64; 3] = [0.7, 1.6, 2.6];
/// Fewest data of a ring that speak.
const LEAST_DATA: usize = 4;
/// Bluntness, in blurs, from which crests and roots are tried with a radius, ring by ring. Empirical:
/// of blurred sharp corners one in a hundred passes for more than 0.05, 0.11 and 0.04 (crests) or 0.07,
/// 0.08 and 0.05 (roots); a root radius of three blurs makes 0.12, 0.11 and 0.03.
const BLUNT_CREST: [f64; 3] = [0.1, 0.12, 0.05];
const BLUNT_ROOT: [f64; 3] = [0.1, 0.1, 0.05];

/// How much farther from the theoretical corners the outline passes than a blurred sharp corner would:
/// at the crests and at the roots, ring by ring, in blurs; `None` where a ring is not seen.
///
/// A blur of unit deviation moves the half level at a corner of turn `φ` by `φ / √(2π)` to first order,
/// and by `√2 Φ⁻¹(1/√2)` at a right angle, exactly; what lies between is taken as going with `φ³` and, at
/// the innermost ring, added to what the residuals allow for. A radius of one blur adds a twentieth of a blur, one of two blurs a
/// sixth: less cannot be told from the blur.
pub struct Blunt {
    pub crest: [Option<f64>; 3],
    pub root: [Option<f64>; 3],
}

/// Half level at a right angle beyond first order, over the cube of its turn.
const CUBIC: f64 = (0.770_94 - FRAC_PI_2 * 0.398_942) / (FRAC_PI_2 * FRAC_PI_2 * FRAC_PI_2);

impl Blunt {
    /// Whether a radius is worth trying: any ring says so, or none of the corner is seen.
    pub fn wants(&self, param: Param) -> bool {
        let (seen, limits) = match param {
            Param::CrestRound => (&self.crest, BLUNT_CREST),
            _ => (&self.root, BLUNT_ROOT),
        };
        seen.iter().all(Option::is_none)
            || seen.iter().zip(limits).any(|(by, limit)| by.is_some_and(|by| by > limit))
    }

    /// From a fit with sharp corners. `blur_px` is the deviation of the edges' blur.
    pub fn of(data: &[Datum], o: &Outcome, blur_px: f64) -> Self {
        let e = &o.evaluated;
        let blur_mm = blur_px / e.params[Param::Scale];
        let profile = &e.model.profile;
        let middle = 0.5 * (profile.crest_r() + profile.root_r());
        let (mut crest, mut root): ([Vec<f64>; 3], [Vec<f64>; 3]) = Default::default();
        for (slot, edge) in [Edge::Upper, Edge::Lower].into_iter().enumerate() {
            let Some(outline) = &e.outlines[slot] else { continue };
            let matcher = Matcher::new(outline);
            let spots = matcher.sharp_spots(2.0 * blur_mm, CORNER_TURN_RAD);
            for ((datum, foot), off) in data.iter().zip(&e.feet).zip(&e.off_px) {
                let Some(foot) = foot.as_ref().filter(|_| datum.on == On::Thread(edge)) else {
                    continue;
                };
                let away = matcher.distance_to(&spots, foot) / blur_mm;
                let Some(ring) = RINGS.iter().position(|r| away < *r) else { continue };
                let segment = matcher.segment(foot.segment);
                let (piece, s) = outline.piece_at(segment, foot.t);
                let right = matches!(
                    piece,
                    Piece::CrestRight | Piece::CornerRight | Piece::FlankRight | Piece::FilletRight
                );
                let tan = e.params[if right { Param::TanRight } else { Param::TanLeft }].abs();
                let sharp = if ring == 0 { CUBIC * (FRAC_PI_2 - tan.atan()).powi(3) } else { 0.0 };
                if profile.point(piece, s).r > middle {
                    crest[ring].push(-off / blur_px - sharp);
                } else {
                    root[ring].push(off / blur_px - sharp);
                }
            }
        }
        Self { crest: crest.map(median), root: root.map(median) }
    }
}

/// The largest root radius that the flanks, seen a little round the screw and so standing in front of
/// their own foot, would hide, mm: one whose arc begins where they meet the root line in the shadow.
pub fn hidden_root_mm(o: &Outcome) -> f64 {
    let model = &o.evaluated.model;
    let section = model.profile.section();
    let mut seen = Vec::new();
    for outline in o.evaluated.outlines.iter().flatten() {
        let on_root = |s: &&Segment| outline.piece_at(s, 0.5).0 == Piece::Root;
        for groove in outline
            .segments
            .chunk_by(|a, b| outline.vertices[a.a].site.groove == outline.vertices[b.a].site.groove)
        {
            let roots: Vec<&Segment> = groove.iter().filter(on_root).collect();
            if let (Some(first), Some(last)) = (roots.first(), roots.last()) {
                seen.push(outline.ends(last).1.0 - outline.ends(first).0.0);
            }
        }
    }
    let Some(seen_mm) = median(seen) else { return 0.0 };
    let hidden_mm = 0.5 * (section.root_flat_mm() - seen_mm).max(0.0);
    let tangents = [section.right_flank_rad(), section.left_flank_rad()]
        .map(|flank| (0.5 * (FRAC_PI_2 - flank)).tan());
    hidden_mm / (0.5 * (tangents[0] + tangents[1])).max(1e-3)
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    if values.len() < LEAST_DATA {
        return None;
    }
    let middle = values.len() / 2;
    Some(*values.select_nth_unstable_by(middle, f64::total_cmp).1)
}
