//! The outline of a screw's shadow, by following the contour.

use super::contour::{Helicoid, Site};
use super::upper;
use crate::profile::{Piece, Profile, ProfilePoint};
use crate::view::{Eye, Point3, Projection, View};
use std::f64::consts::PI;
use std::ops::{Range, RangeInclusive};

/// Which edge of the shadow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Edge {
    /// Greatest `x`.
    Upper,
    /// Least `x`.
    Lower,
}

/// A point of the outline in the plane of the shadow, and the place of the screw that casts it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vertex {
    /// Along the axis, mm.
    pub z: f64,
    /// Across the axis, mm (negative on the lower edge).
    pub x: f64,
    /// The place on the screw.
    pub site: Site,
}

/// A visible stretch of the straight line between two vertices, from fraction `from` to `to`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Segment {
    /// Index of the vertex the line starts at.
    pub a: usize,
    /// Index of the vertex the line ends at.
    pub b: usize,
    /// Fraction of the line at which the visible stretch begins.
    pub from: f64,
    /// Fraction at which it ends.
    pub to: f64,
}

/// One edge of a shadow as a polyline of visible segments, `z` increasing.
#[derive(Debug, Clone)]
pub struct Outline {
    /// Contour points, visible or not.
    pub vertices: Vec<Vertex>,
    /// What can be seen of the lines between them.
    pub segments: Vec<Segment>,
    /// Which edge this is.
    pub edge: Edge,
}

impl Outline {
    /// Point at fraction `t` of the full line of a segment, `(z, x)`, mm.
    #[must_use]
    pub fn on_line(&self, segment: &Segment, t: f64) -> (f64, f64) {
        let (a, b) = (&self.vertices[segment.a], &self.vertices[segment.b]);
        (a.z + t * (b.z - a.z), a.x + t * (b.x - a.x))
    }

    /// Visible end points of a segment, each `(z, x)`, mm.
    #[must_use]
    pub fn ends(&self, segment: &Segment) -> ((f64, f64), (f64, f64)) {
        (self.on_line(segment, segment.from), self.on_line(segment, segment.to))
    }

    /// Piece of the section that casts the outline at fraction `t` of the full line of a segment, and the
    /// fraction along it. Where two pieces meet they share a vertex, which is named after the first.
    #[must_use]
    pub fn piece_at(&self, segment: &Segment, t: f64) -> (Piece, f64) {
        let (a, b) = (&self.vertices[segment.a].site, &self.vertices[segment.b].site);
        let (piece, from, to) = if a.piece == b.piece {
            (a.piece, a.s, b.s)
        } else if a.piece < b.piece {
            (b.piece, 0.0, b.s)
        } else {
            // A run that was walked to the left.
            (a.piece, a.s, 0.0)
        };
        (piece, from + t * (to - from))
    }

    /// Height of the outline at `z`, mm; `None` outside the computed range.
    #[must_use]
    pub fn x_at(&self, z: f64) -> Option<f64> {
        let i = self.segments.partition_point(|s| self.ends(s).1.0 < z);
        let segment = self.segments.get(i)?;
        let ((za, xa), (zb, xb)) = self.ends(segment);
        if z < za - 1e-9 {
            return None;
        }
        let span = zb - za;
        Some(if span > 0.0 {
            xa + (xb - xa) * ((z - za) / span).clamp(0.0, 1.0)
        } else {
            xa.max(xb)
        })
    }

    /// The visible outline as one polyline of `(z, x)` points, mm.
    #[must_use]
    pub fn polyline(&self) -> Vec<(f64, f64)> {
        let mut points: Vec<(f64, f64)> = Vec::with_capacity(self.segments.len() + 1);
        for segment in &self.segments {
            let (a, b) = self.ends(segment);
            if points.last().is_none_or(|p| (p.0 - a.0).hypot(p.1 - a.1) > 1e-9) {
                points.push(a);
            }
            points.push(b);
        }
        points
    }

    /// Whether any of the root can be seen in `groove`; when not, the two flanks meet above it and
    /// the true root cannot be read from the shadow.
    #[must_use]
    pub fn root_seen(&self, groove: i32) -> bool {
        self.segments
            .iter()
            .any(|s| self.vertices[s.a].site.groove == groove && self.piece_at(s, 0.5).0.is_root())
    }
}

/// One edge of the shadow of a screw, ready to place many sites in the plane.
///
/// Sites come from the outline of a possibly different screw. With the site held fixed, the
/// derivative of its place by any parameter of screw or view is, along the normal of the outline,
/// the derivative of the outline itself: moving along the contour moves the projected point along
/// the outline. The fit lives on that.
#[derive(Debug, Clone, Copy)]
pub struct Placer<'a> {
    helicoid: Helicoid<'a>,
    projection: Projection,
    sign: f64,
}

impl<'a> Placer<'a> {
    /// Arguments as of [`outline`].
    #[must_use]
    pub fn new(
        profile: &'a Profile,
        advance_mm: f64,
        phase_mm: f64,
        view: &View,
        edge: Edge,
    ) -> Self {
        let turned = Turned::new(advance_mm, phase_mm, view, edge);
        Self {
            helicoid: Helicoid { profile, advance: turned.advance, phase: turned.phase },
            projection: Projection::new(&turned.view),
            sign: turned.sign,
        }
    }

    /// Point `[x, y, z]` of the surface at `site`, mm, in the frame of the screw (turned so that
    /// this edge is the upper one); `(sin, cos)` are those of the site's turn.
    #[must_use]
    pub fn point(&self, site: &Site, sin_cos: (f64, f64)) -> Point3 {
        self.helicoid.point(site, sin_cos)
    }

    /// Where a [`point`](Self::point) is seen in the plane, `(z, x)`, mm.
    #[must_use]
    pub fn cast(&self, point: Point3) -> (f64, f64) {
        let (z, x) = self.projection.cast(point);
        (z, self.sign * x)
    }
}

/// The lower edge is the upper edge of the screw after half a turn: the advance changes sign, the
/// section has moved along by half a lead, and the eye's foot lies on the other side.
struct Turned {
    advance: f64,
    phase: f64,
    view: View,
    sign: f64,
}

impl Turned {
    fn new(advance: f64, phase: f64, view: &View, edge: Edge) -> Self {
        match edge {
            Edge::Upper => Self { advance, phase, view: *view, sign: 1.0 },
            // Seen after half a turn about the axis, y is reversed twice: once by the turn and once
            // because x is; what is left is a mirror image, hence the other sign of the advance.
            Edge::Lower => Self {
                advance: -advance,
                phase: phase + advance * PI,
                view: view.half_turned(),
                sign: -1.0,
            },
        }
    }
}

/// How closely the polyline of [`outline`] follows the true outline, mm.
const CHORD_TOLERANCE_MM: f64 = 1e-4;
const EIGHTHS: f64 = 8.0;
/// Part of the tolerance that the middle of a chord may be off: where a stretch bends unevenly more is
/// off elsewhere.
const UNEVEN: f64 = 0.5;
/// How often a stretch of contour may be halved to follow it.
const MOST_HALVINGS: u32 = 9;
/// Most chords along a sharp corner.
const MOST_CHORDS: f64 = 1000.0;
/// Vertices a groove usually takes.
const USUAL_VERTICES: usize = 64;

/// The edge of the shadow over `grooves` (inclusive), following the contour to 0.1 µm.
///
/// `advance_mm` is the advance per radian, signed as in
/// [`Thread::signed_advance_mm`](crate::Thread::signed_advance_mm); `phase_mm` is the position of a
/// crest centre in the meridian of the upper edge.
#[must_use]
pub fn outline(
    profile: &Profile,
    advance_mm: f64,
    phase_mm: f64,
    view: &View,
    edge: Edge,
    grooves: RangeInclusive<i32>,
) -> Outline {
    outline_within(profile, advance_mm, phase_mm, view, edge, grooves, CHORD_TOLERANCE_MM)
}

/// [`outline`] with a chosen chord tolerance, mm.
#[must_use]
pub fn outline_within(
    profile: &Profile,
    advance_mm: f64,
    phase_mm: f64,
    view: &View,
    edge: Edge,
    grooves: RangeInclusive<i32>,
    tolerance_mm: f64,
) -> Outline {
    let turned = Turned::new(advance_mm, phase_mm, view, edge);
    let helicoid = Helicoid { profile, advance: turned.advance, phase: turned.phase };
    let mut tracer = Tracer {
        helicoid,
        eye: turned.view.eye(),
        projection: Projection::new(&turned.view),
        tolerance_mm,
        eighths: Piece::ALL
            .map(|piece| std::array::from_fn(|i| profile.point(piece, i as f64 / EIGHTHS))),
        vertices: Vec::new(),
        runs: Vec::new(),
        start: 0,
        backward: None,
    };
    let count = grooves.clone().count();
    tracer.vertices.reserve(USUAL_VERTICES * count);
    let mut segments = Vec::with_capacity(USUAL_VERTICES * count);
    for groove in grooves {
        tracer.trace(groove);
        segments.extend(upper::envelope(&tracer.vertices, &tracer.runs));
    }
    let mut vertices = tracer.vertices;
    if turned.sign < 0.0 {
        for v in &mut vertices {
            v.x = -v.x;
        }
    }
    Outline { vertices, segments, edge }
}

/// Walks the contour of one groove after the other, keeping vertices in runs of increasing `z`.
struct Tracer<'a> {
    helicoid: Helicoid<'a>,
    eye: Eye,
    projection: Projection,
    tolerance_mm: f64,
    /// Points of the section at every eighth of a piece: what most grooves need, and the same in all.
    eighths: [[ProfilePoint; EIGHTHS as usize + 1]; Piece::ALL.len()],
    vertices: Vec<Vertex>,
    runs: Vec<Range<usize>>,
    /// First vertex of the run being built.
    start: usize,
    /// Whether the run being built walks to the left; unknown before its second vertex.
    backward: Option<bool>,
}

impl Tracer<'_> {
    fn trace(&mut self, groove: i32) {
        self.runs.clear();
        self.start = self.vertices.len();
        for piece in Piece::ALL {
            let fillet = matches!(piece, Piece::FilletRight | Piece::FilletLeft);
            if fillet && self.helicoid.profile.arc_radius_mm(piece) == 0.0 {
                // A concave sharp corner is never grazed: flank and root end separately.
                self.close();
                continue;
            }
            let corner = matches!(piece, Piece::CornerRight | Piece::CornerLeft);
            if corner
                && self.helicoid.profile.arc_radius_mm(piece) == 0.0
                && self.helix(groove, piece)
            {
                continue;
            }
            // Crest and root lines, on cylinder or cone, are grazed along a straight generator: their
            // ends say all.
            let straight = piece.is_crest() || piece == Piece::Root;
            // A flank bends little, a corner may bend one way and then the other.
            let parts: u32 = match piece {
                _ if straight => 1,
                _ if piece.is_flank() => 2,
                _ => 4,
            };
            let mut before = self.seen(groove, piece, 0.0);
            self.push(before);
            for part in 1..=parts {
                let to = f64::from(part) / f64::from(parts);
                let after = self.seen(groove, piece, to);
                if !straight {
                    let from = f64::from(part - 1) / f64::from(parts);
                    self.between(groove, piece, (from, before), (to, after), 0);
                }
                self.push(after);
                before = after;
            }
        }
        self.close();
    }

    fn seen(&self, groove: i32, piece: Piece, s: f64) -> Option<Vertex> {
        let eighth = s * EIGHTHS;
        let p = if eighth.fract() == 0.0 {
            self.eighths[piece as usize][eighth as usize]
        } else {
            self.helicoid.profile.point(piece, s)
        };
        let site = (groove, piece, s);
        let (site, (z, x)) = self.helicoid.seen(site, &p, &self.projection, &self.eye)?;
        Some(Vertex { z, x, site })
    }

    /// Walks a sharp corner: its contour is a piece of the corner's helix, known when its ends are, so
    /// that nothing needs to be solved in between. Vertices lie at even steps of the turn, and their
    /// fraction of the piece with them. `false`, and nothing done, where an end is not grazed.
    fn helix(&mut self, groove: i32, piece: Piece) -> bool {
        let ends = (self.seen(groove, piece, 0.0), self.seen(groove, piece, 1.0));
        let (Some(a), Some(b)) = ends else { return false };
        let corner = self.eighths[piece as usize][0];
        let turn = b.site.theta - a.site.theta;
        // The sag of an arc over its chord is `r Δ² / 8`; that of its shadow is no larger.
        let chord = (8.0 * self.tolerance_mm / corner.r).sqrt();
        let steps = (turn.abs() / chord).ceil().clamp(1.0, MOST_CHORDS) as usize;
        self.push(Some(a));
        for i in 1..steps {
            let s = i as f64 / steps as f64;
            let site = Site { groove, piece, s, theta: a.site.theta + s * turn };
            let (z, x) = self.projection.cast(self.helicoid.place(&corner, &site));
            self.push(Some(Vertex { z, x, site }));
        }
        self.push(Some(b));
        true
    }

    /// Adds what lies strictly between two fractions, halving until chords are within tolerance.
    fn between(
        &mut self,
        groove: i32,
        piece: Piece,
        (s0, a): (f64, Option<Vertex>),
        (s1, b): (f64, Option<Vertex>),
        depth: u32,
    ) {
        if a.is_none() && b.is_none() {
            return;
        }
        let s = 0.5 * (s0 + s1);
        let middle = self.seen(groove, piece, s);
        let flat = match (a, middle, b) {
            (Some(a), Some(m), Some(b)) => sag(&a, &m, &b) < UNEVEN * self.tolerance_mm,
            _ => false,
        };
        if flat {
            return;
        }
        if depth >= MOST_HALVINGS {
            self.push(middle);
            return;
        }
        self.between(groove, piece, (s0, a), (s, middle), depth + 1);
        self.push(middle);
        self.between(groove, piece, (s, middle), (s1, b), depth + 1);
    }

    /// Appends a vertex to the current run; where the contour ends or turns back along the axis, a
    /// new run begins.
    fn push(&mut self, vertex: Option<Vertex>) {
        let Some(vertex) = vertex else {
            self.close();
            return;
        };
        if let Some(&last) = self.vertices.get(self.start..).and_then(<[_]>::last) {
            if (vertex.z - last.z).abs() + (vertex.x - last.x).abs() < 1e-12 {
                return;
            }
            let backward = vertex.z <= last.z;
            if self.backward.is_some_and(|before| before != backward) {
                self.close();
                self.vertices.push(last);
            }
            self.backward = Some(backward);
        }
        self.vertices.push(vertex);
    }

    /// Ends the current run. One that was walked to the left is stored turned round, so that `z`
    /// increases; the envelope decides what of it can be seen.
    fn close(&mut self) {
        let end = self.vertices.len();
        if end - self.start >= 2 {
            if self.backward == Some(true) {
                self.vertices[self.start..].reverse();
            }
            self.runs.push(self.start..end);
        }
        self.start = end;
        self.backward = None;
    }
}

/// Distance of `m` from the line through `a` and `b`, mm.
fn sag(a: &Vertex, m: &Vertex, b: &Vertex) -> f64 {
    let (dz, dx) = (b.z - a.z, b.x - a.x);
    let length = (dz * dz + dx * dx).sqrt();
    let across = if length > 1e-12 {
        ((m.z - a.z) * dx - (m.x - a.x) * dz).abs() / length
    } else {
        (m.z - a.z).hypot(m.x - a.x)
    };
    // On a corner the halves may be very uneven; a middle far along its chord says nothing yet.
    let along = ((m.z - a.z) * dz + (m.x - a.x) * dx) / (length * length).max(1e-24);
    if (0.02..=0.98).contains(&along) { across } else { across + 0.02 * length }
}
