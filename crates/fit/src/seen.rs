//! Which pieces of the section a picture shows.

use crate::data::{Datum, On};
use crate::robust::Outcome;
use form::Piece;
use form::shadow::Edge;

/// Observations of a piece of the section below which it counts as hidden.
pub const LEAST_SEEN: usize = 5;
/// Part of the length seen that a flank must have to be told: what a few points at the foot of a hidden
/// flank say is said by the blur of the corner there.
const LEAST_FLANK: f64 = 0.03;
/// Part of the length seen below which a flank may be no flank at all.
const DOUBTFUL_FLANK: f64 = 0.15;
/// Weight from which an observation counts.
const HEEDED: f64 = 0.2;

/// How many observations hang on the pieces that are wanted, and how long a stretch they stand for, px.
pub fn seen_on(data: &[Datum], o: &Outcome, wanted: impl Fn(Piece) -> bool) -> (usize, f64) {
    let e = &o.evaluated;
    data.iter()
        .zip(&e.feet)
        .zip(&o.weights)
        .filter(|(_, w)| **w > HEEDED)
        .filter_map(|((d, foot), _)| match d.on {
            On::Thread(edge) => {
                let outline = e.outlines[usize::from(edge == Edge::Lower)].as_ref()?;
                let foot = foot.as_ref()?;
                let (piece, _) = outline.piece_at(&outline.segments[foot.segment], foot.t);
                Some((piece, 1.0 + 2.0 * d.reach))
            }
            On::Bar(_) => None,
        })
        .filter(|(piece, _)| wanted(*piece))
        .fold((0, 0.0), |(count, px), (_, more)| (count + 1, px + more))
}

/// Whether too little is seen of a flank to tell its angle.
pub fn is_hidden(data: &[Datum], o: &Outcome, flank: Piece) -> bool {
    is_seen_below(data, o, flank, LEAST_FLANK)
}

/// Whether so little is seen of a flank that it may as well be hidden, and what passes for it be
/// something else.
pub fn is_in_doubt(data: &[Datum], o: &Outcome, flank: Piece) -> bool {
    is_seen_below(data, o, flank, DOUBTFUL_FLANK)
}

fn is_seen_below(data: &[Datum], o: &Outcome, flank: Piece, part: f64) -> bool {
    let (_, all_px) = seen_on(data, o, |_| true);
    let (seen, seen_px) = seen_on(data, o, |piece| piece == flank);
    seen < LEAST_SEEN || seen_px < part * all_px
}
