//! The shadow model as a least-squares problem.

use crate::data::{Datum, On};
use crate::known::BarShape;
use crate::matching::{Foot, Matcher};
use crate::model::{BarLines, Frame, Map, Model};
use crate::params::{Param, Params, Stage};
use crate::solver::LeastSquares;
use form::Point3;
use form::shadow::{Edge, Outline, Vertex};
use nalgebra::{DMatrix, DVector, Matrix2, Vector2};

/// What is known beforehand of a parameter, or of a relation between parameters.
#[derive(Debug, Clone, Copy)]
pub struct Prior {
    /// What is believed.
    pub belief: Belief,
    /// How firmly: standard deviation, in the unit of the parameter.
    pub sd: f64,
    /// Which source of uncertainty this belongs to.
    pub block: Block,
}

/// A belief about parameters.
#[derive(Debug, Clone, Copy)]
pub enum Belief {
    /// A parameter is near a value.
    Near(Param, f64),
    /// Bar and screw lie on one surface.
    SameSurface,
    /// The stretch that goes with the keystone when the picture of the leaning plane is taken as
    /// unsheared and of even scale at the picture's corner; the pivot along and across the axis, px.
    CornerStretch(f64, f64),
    /// The shear that goes with it.
    CornerShear(f64, f64),
}

/// Sources of uncertainty, as the budget names them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Block {
    /// Noise and waviness of the thread's edges.
    ThreadEdges,
    /// Noise and waviness of the bar's edges.
    BarEdges,
    /// Stated width of the bar.
    BarWidth,
    /// Height at which the bar lies.
    BarDrop,
    /// How edges are located: a displacement common to all edges.
    EdgeShift,
    /// Light that metal mirrors along its edges.
    Rims,
    /// How sharp the corners of crests are that are taken as sharp.
    Corners,
    /// What is believed of the camera beforehand.
    Camera,
    /// Lens and keystone.
    Lens,
    /// A diameter by another instrument.
    Diameter,
}

impl Belief {
    /// How far the parameters are from what is believed.
    pub fn residual(&self, p: &Params, shape: BarShape) -> f64 {
        match self {
            Self::Near(param, value) => p[*param] - value,
            Self::SameSurface => {
                let own = match shape {
                    BarShape::Round => 0.5 * p[Param::BarWidth],
                    BarShape::Flat => 0.0,
                };
                p[Param::BarDrop] - (p[Param::CrestR] - own)
            }
            Self::CornerStretch(along, across) => {
                p[Param::Aspect] - even_at_corner((*along, *across), p).0
            }
            Self::CornerShear(along, across) => {
                p[Param::Shear] - even_at_corner((*along, *across), p).1
            }
        }
    }

    /// How much less firm a belief is, as a standard deviation, than its prior says: where the even
    /// scale of a leaning plane is to be sought, its corner or its middle, is a convention, and the
    /// two differ the more, the more the plane leans.
    pub fn convention(&self, p: &Params) -> f64 {
        let difference = match self {
            Self::CornerStretch(..) => p[Param::Aspect],
            Self::CornerShear(..) => p[Param::Shear],
            _ => 0.0,
        };
        0.5 * difference.abs()
    }

    /// Derivative of the residual by a parameter (those of second order left out).
    pub fn derivative(&self, by: Param, p: &Params, shape: BarShape) -> f64 {
        match self {
            Self::Near(param, _) => f64::from(u8::from(*param == by)),
            Self::SameSurface => match by {
                Param::BarDrop => 1.0,
                Param::CrestR => -1.0,
                Param::BarWidth if shape == BarShape::Round => 0.5,
                _ => 0.0,
            },
            Self::CornerStretch(..) | Self::CornerShear(..) => match (by, self) {
                (Param::Aspect, Self::CornerStretch(..))
                | (Param::Shear, Self::CornerShear(..)) => 1.0,
                (Param::KeystoneZ | Param::KeystoneX, _) => {
                    let h = by.difference_step();
                    let at = |by_h: f64| self.residual(&p.moved(by, by_h), shape);
                    (at(h) - at(-h)) / (2.0 * h)
                }
                _ => 0.0,
            },
        }
    }
}

/// Stretch (less one) and shear of a picture that is unsheared and of even scale at its corner, where
/// pixels are counted from: a plane `q` is seen at `q / (1 + g·q)` there.
///
/// Seen from the place of the axis that the map is laid about, at `p` from the corner, that is the
/// derivative `M = I - p gᵀ` and a keystone of its own, exactly. `M` takes the axis in the plane, `e`, into
/// the axis in the picture; what it does beside a similarity is stretch and shear:
/// `M (e, e⊥) = s (t, n) [A S; 0 1]` with the picture's axis `t` and up `n`. The keystone of the map is
/// counted in the plane's own directions, so `g = (s / scale) (kz e + kx e⊥)`, found by repeating.
/// `along` and `across` say where the pivot lies from the corner, by the frame's axis, px.
fn even_at_corner((along, across): (f64, f64), p: &Params) -> (f64, f64) {
    let scale = p[Param::Scale];
    let (sin, cos) = p[Param::Roll].sin_cos();
    let from_corner = Vector2::new(
        along * cos + across * sin,
        across * cos - along * sin + scale * p[Param::AxisX],
    );
    let square_to = |v: Vector2<f64>| Vector2::new(-v.y, v.x);
    let (mut e, mut s) = (Vector2::x(), 1.0);
    let (mut stretch, mut shear) = (0.0, 0.0);
    for _ in 0..CORNER_ROUNDS {
        let g = (e * p[Param::KeystoneZ] + square_to(e) * p[Param::KeystoneX]) * (s / scale);
        let m = Matrix2::identity() - from_corner * g.transpose();
        let Some(back) = m.try_inverse() else { break };
        e = (back * Vector2::x()).normalize();
        let (along_axis, across_axis) = (m * e, m * square_to(e));
        s = across_axis.y;
        (stretch, shear) = (along_axis.x / s - 1.0, across_axis.x / s);
    }
    (stretch, shear)
}

/// Rounds in which [`even_at_corner`] settles: each takes the error, of second order in the lean, by as much
/// again.
const CORNER_ROUNDS: usize = 5;

/// How closely the computed outline is followed in a fit, px.
const CHORD_PX: f64 = 0.02;

/// Everything the fit sees.
pub struct Problem<'a> {
    pub frame: Frame,
    pub base: Params,
    pub free: Vec<Param>,
    pub data: &'a [Datum],
    /// One weight a datum: 0 when masked, otherwise robust weight over variance, square root. Data
    /// without weight take no part in the least squares.
    pub roots: Vec<f64>,
    pub priors: &'a [Prior],
    /// Blur that moves edges at corners and curves, px; 0 for drawn lines.
    pub blur_px: f64,
    /// How closely the computed outline is followed, px.
    pub chord_px: f64,
    /// Range of the thread data along the axis at the start, px from the pivot.
    pub span_px: (f64, f64),
    last: Option<Evaluated>,
}

/// The model at the last parameters asked for, with the foot of every datum.
pub struct Evaluated {
    pub params: Params,
    pub model: Model,
    pub outlines: [Option<Outline>; 2],
    pub feet: Vec<Option<Foot>>,
    /// Residual of every datum, px, before weighting.
    pub off_px: Vec<f64>,
}

/// Distance of a point of the bar's edge from its line, px, positive outside the bar.
fn bar_off_px(map: &Map, lines: &BarLines, datum: &Datum, side: usize) -> f64 {
    let (z, x) = map.plane_of(datum.at);
    let outward = if side == 0 { 1.0 } else { -1.0 };
    let at = z * lines.across.0 + x * lines.across.1;
    outward * (at - lines.offsets[side]) * map.normal_px((z, x), lines.across).1
}

fn slot(edge: Edge) -> usize {
    match edge {
        Edge::Upper => 0,
        Edge::Lower => 1,
    }
}

impl<'a> Problem<'a> {
    pub fn new(
        frame: Frame,
        base: Params,
        free: Vec<Param>,
        data: &'a [Datum],
        priors: &'a [Prior],
        span_px: (f64, f64),
        blur_px: f64,
    ) -> Self {
        let roots = data.iter().map(|d| 1.0 / d.sigma).collect();
        Self {
            frame,
            base,
            free,
            data,
            roots,
            priors,
            blur_px,
            chord_px: CHORD_PX,
            span_px,
            last: None,
        }
    }

    /// All parameters for a vector of the free ones.
    pub fn params(&self, p: &DVector<f64>) -> Params {
        let mut all = self.base;
        for (param, value) in self.free.iter().zip(p.iter()) {
            all[*param] = *value;
        }
        all
    }

    pub fn start(&self) -> DVector<f64> {
        DVector::from_iterator(self.free.len(), self.free.iter().map(|f| self.base[*f]))
    }

    /// Evaluates the model and finds every foot.
    pub fn evaluate(&self, params: &Params) -> Option<Evaluated> {
        self.evaluate_where(params, |_| true)
    }

    /// Evaluates the model and finds the feet of the data that `wanted` asks for, by their index; what
    /// has no weight need not be looked for. The others have no foot and a residual of 0.
    fn evaluate_where(
        &self,
        params: &Params,
        wanted: impl Fn(usize) -> bool + Sync,
    ) -> Option<Evaluated> {
        let model = Model::new(params, &self.frame)?;
        let tolerance = self.chord_px / params[Param::Scale];
        let pitch = params[Param::Pitch];
        let reach = (
            self.span_px.0 / params[Param::Scale] - 0.5 * pitch,
            self.span_px.1 / params[Param::Scale] + 0.5 * pitch,
        );
        if (reach.1 - reach.0) / pitch > 400.0 {
            return None;
        }
        let cast = |edge| self.cast(&model, edge, reach, tolerance, &wanted);
        let cast = rayon::join(|| cast(Edge::Upper), || cast(Edge::Lower));
        let mut feet = vec![None; self.data.len()];
        let mut off_px = vec![0.0; self.data.len()];
        let mut outlines = [None, None];
        for (outline, cast) in outlines.iter_mut().zip([cast.0?, cast.1?]) {
            *outline = cast.outline;
            for (i, foot, off) in cast.found {
                (feet[i], off_px[i]) = (Some(foot), off);
            }
        }
        let bar = model.bar_lines(params);
        for (i, datum) in self.data.iter().enumerate() {
            if let On::Bar(side) = datum.on
                && wanted(i)
            {
                off_px[i] = bar_off_px(&model.map, &bar, datum, side);
            }
        }
        if off_px.iter().any(|off| off.is_nan()) {
            return None;
        }
        Some(Evaluated { params: *params, model, outlines, feet, off_px })
    }

    /// What is seen of one edge; `None` where a datum has no foot.
    fn cast(
        &self,
        model: &Model,
        edge: Edge,
        reach: (f64, f64),
        tolerance: f64,
        wanted: impl Fn(usize) -> bool,
    ) -> Option<Cast> {
        let on = On::Thread(edge);
        if !self.data.iter().any(|d| d.on == on) {
            return Some(Cast::default());
        }
        let outline = model.outline(edge, model.grooves(edge, reach.0, reach.1), tolerance);
        let matcher = Matcher::new(&outline);
        let mut found = Vec::with_capacity(self.data.len());
        for (i, datum) in self.data.iter().enumerate().filter(|(i, d)| d.on == on && wanted(*i)) {
            let (z, x) = model.map.plane_of(datum.at);
            let scale = model.map.px_per_mm_at(z, x);
            let foot = matcher.foot((z, x))?;
            let off = foot.off - matcher.blur_shift(&foot, self.blur_px / scale);
            let off_px = off * model.map.normal_px((z, x), foot.normal).1;
            found.push((i, foot, off_px));
        }
        drop(matcher);
        Some(Cast { outline: Some(outline), found })
    }

    /// Derivatives of the unweighted residuals (px) of all data by the free parameters.
    pub fn slopes(&self, e: &Evaluated) -> Option<DMatrix<f64>> {
        let moved: Option<Vec<_>> = self.free.iter().map(|p| self.neighbour(e, *p)).collect();
        let moved = moved?;
        let of_edge = |edge| Touched::of(self, e, edge).map(|t| t.slopes(&self.free, &moved));
        let edges = rayon::join(|| of_edge(Edge::Upper), || of_edge(Edge::Lower));
        let mut slopes = DMatrix::zeros(self.data.len(), self.free.len());
        for (data, of_data) in [edges.0, edges.1].into_iter().flatten() {
            for (column, of_data) in of_data.chunks_exact(data.len().max(1)).enumerate() {
                for (at, slope) in data.iter().zip(of_data) {
                    slopes[(at.datum, column)] = *slope;
                }
            }
        }
        for (column, (moved, by)) in moved.iter().enumerate() {
            self.bar_slopes(e, column, moved, *by, &mut slopes);
        }
        Some(slopes)
    }

    /// The model a small step away along one parameter, and the step; backwards where the step
    /// forwards leaves the model's domain.
    fn neighbour(&self, e: &Evaluated, param: Param) -> Option<(Model, f64)> {
        let h = param.difference_step();
        // A fraction is folded back at 0 and 1; its slope must not be taken across the fold.
        let folds = matches!(param, Param::CrestRound | Param::RootRound);
        let value = e.params[param];
        let crosses = |by: f64| folds && (value.floor() != (value + by).floor());
        let step = |by: f64| {
            let model = Model::new(&e.params.moved(param, by), &self.frame)?;
            (!crosses(by)).then_some((model, by))
        };
        step(h).or_else(|| step(-h))
    }

    fn bar_slopes(
        &self,
        e: &Evaluated,
        column: usize,
        moved: &Model,
        by: f64,
        slopes: &mut DMatrix<f64>,
    ) {
        let params = e.params.moved(self.free[column], by);
        let lines = moved.bar_lines(&params);
        for (i, datum) in self.data.iter().enumerate() {
            if let On::Bar(side) = datum.on {
                let off = bar_off_px(&moved.map, &lines, datum, side);
                slopes[(i, column)] = (off - e.off_px[i]) / by;
            }
        }
    }
}

/// One edge as the model casts it.
#[derive(Default)]
struct Cast {
    /// `None` where there are no data on it.
    outline: Option<Outline>,
    /// Index, foot and residual (px) of every datum on it that is wanted.
    found: Vec<(usize, Foot, f64)>,
}

/// The vertices of one edge's outline that data hang on, followed from surface to pixel once, so that
/// a neighbouring model is only followed from where it differs.
struct Touched<'a> {
    edge: Edge,
    vertices: Vec<TouchedVertex<'a>>,
    data: Vec<Hanging>,
}

struct TouchedVertex<'a> {
    vertex: &'a Vertex,
    /// Sine and cosine of the turn of its site.
    turn: (f64, f64),
    point: Point3,
    px: (f64, f64),
}

/// A datum between two touched vertices.
struct Hanging {
    datum: usize,
    a: usize,
    b: usize,
    /// Fraction of the way from `a` to `b`.
    t: f64,
    /// Unit normal out of the metal, in pixels.
    normal: (f64, f64),
}

impl<'a> Touched<'a> {
    fn of(problem: &Problem<'_>, e: &'a Evaluated, edge: Edge) -> Option<Self> {
        let outline = e.outlines[slot(edge)].as_ref()?;
        let (placer, map) = (e.model.placer(edge), &e.model.map);
        let mut indices = vec![None; outline.vertices.len()];
        let mut vertices: Vec<TouchedVertex<'a>> = Vec::new();
        let mut touch = |index: usize| {
            *indices[index].get_or_insert_with(|| {
                let vertex = &outline.vertices[index];
                let turn = vertex.site.theta.sin_cos();
                let point = placer.point(&vertex.site, turn);
                let px = map.px_of(vertex.z, vertex.x);
                vertices.push(TouchedVertex { vertex, turn, point, px });
                vertices.len() - 1
            })
        };
        let mut data = Vec::new();
        for (i, (datum, foot)) in problem.data.iter().zip(&e.feet).enumerate() {
            let (On::Thread(on), Some(foot)) = (datum.on, foot) else { continue };
            if on != edge || problem.roots[i] == 0.0 {
                continue;
            }
            let segment = &outline.segments[foot.segment];
            let (normal, _) = map.normal_px(map.plane_of(datum.at), foot.normal);
            let (a, b) = (touch(segment.a), touch(segment.b));
            data.push(Hanging { datum: i, a, b, t: foot.t, normal });
        }
        Some(Self { edge, vertices, data })
    }

    /// The data, and the slopes of all of them by each parameter in turn, with the neighbouring model
    /// of each and the step to it.
    fn slopes(self, free: &[Param], moved: &[(Model, f64)]) -> (Vec<Hanging>, Vec<f64>) {
        let mut speeds = Vec::with_capacity(self.vertices.len());
        let mut slopes = Vec::with_capacity(free.len() * self.data.len());
        for (param, (moved, by)) in free.iter().zip(moved) {
            self.speeds(moved, *by, param.touches(), &mut speeds);
            slopes.extend(self.data.iter().map(|at| {
                let (va, vb) = (speeds[at.a], speeds[at.b]);
                let v = (va.0 + at.t * (vb.0 - va.0), va.1 + at.t * (vb.1 - va.1));
                -(at.normal.0 * v.0 + at.normal.1 * v.1)
            }));
        }
        (self.data, slopes)
    }

    /// How fast every touched vertex moves, px per unit of a parameter that differs by `by` in
    /// `moved` and changes things from `stage` on.
    fn speeds(&self, moved: &Model, by: f64, stage: Stage, speeds: &mut Vec<(f64, f64)>) {
        speeds.clear();
        if stage == Stage::Bar {
            speeds.resize(self.vertices.len(), (0.0, 0.0));
            return;
        }
        let placer = moved.placer(self.edge);
        speeds.extend(self.vertices.iter().map(|v| {
            let (z, x) = match stage {
                Stage::Bar | Stage::Pixels => (v.vertex.z, v.vertex.x),
                Stage::Plane => placer.cast(v.point),
                Stage::Surface => placer.cast(placer.point(&v.vertex.site, v.turn)),
            };
            let px = moved.map.px_of(z, x);
            ((px.0 - v.px.0) / by, (px.1 - v.px.1) / by)
        }));
    }
}

impl LeastSquares for Problem<'_> {
    fn residuals(&mut self, p: &DVector<f64>) -> Option<DVector<f64>> {
        let params = self.params(p);
        let evaluated = self.evaluate_where(&params, |i| self.roots[i] != 0.0)?;
        let shape = self.frame.bar_shape;
        let r: Vec<f64> = evaluated
            .off_px
            .iter()
            .zip(&self.roots)
            .filter(|(_, root)| **root != 0.0)
            .map(|(off, root)| off * root)
            .chain(self.priors.iter().map(|q| q.belief.residual(&params, shape) / q.sd))
            .collect();
        self.last = Some(evaluated);
        Some(DVector::from_vec(r))
    }

    fn jacobian(&mut self, p: &DVector<f64>) -> Option<DMatrix<f64>> {
        let params = self.params(p);
        if self.last.as_ref().is_none_or(|l| l.params != params) {
            self.last = Some(self.evaluate_where(&params, |i| self.roots[i] != 0.0)?);
        }
        let evaluated = self.last.as_ref()?;
        let slopes = self.slopes(evaluated)?;
        let shape = self.frame.bar_shape;
        let weighted = self.roots.iter().filter(|r| **r != 0.0).count();
        let mut j = DMatrix::zeros(weighted + self.priors.len(), self.free.len());
        for (mut column, (slopes, &param)) in
            j.column_iter_mut().zip(slopes.column_iter().zip(&self.free))
        {
            let data =
                slopes.iter().zip(&self.roots).filter(|(_, r)| **r != 0.0).map(|(s, r)| s * r);
            let believed =
                self.priors.iter().map(|q| q.belief.derivative(param, &params, shape) / q.sd);
            for (to, value) in column.iter_mut().zip(data.chain(believed)) {
                *to = value;
            }
        }
        Some(j)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn setting() -> (Frame, Params, Vec<Datum>) {
        let mut p = Params::ZERO;
        for (param, value) in [
            (Param::Pitch, 4.0),
            (Param::TanRight, 0.26),
            (Param::TanLeft, 0.3),
            (Param::Depth, 2.0),
            (Param::CrestFlat, 1.4),
            (Param::CrestRound, 0.4),
            (Param::RootRound, 0.4),
            (Param::CrestR, 12.0),
            (Param::Phase, 0.3),
            (Param::Scale, 50.0),
            (Param::Roll, 0.01),
            (Param::AxisX, 0.2),
            (Param::InverseDistance, 1.0 / 200.0),
            (Param::FootX, 1.0),
            (Param::FootZ, 2.0),
            (Param::Tilt, 0.01),
            (Param::BarOffset, -16.0),
            (Param::BarAngle, 0.02),
            (Param::BarWidth, 5.0),
            (Param::BarDrop, 9.0),
            // So much that the plane's angles are not those of the picture.
            (Param::KeystoneZ, 1e-3),
            (Param::KeystoneX, 2e-3),
            (Param::Aspect, 0.03),
            (Param::Shear, 0.02),
            (Param::Lens, 1e-2),
            (Param::Taper, 0.05),
        ] {
            p[param] = value;
        }
        let frame = Frame {
            pivot: (1300.0, 900.0),
            axis: (1.0, 0.0),
            bar_axis: (1.0, 0.0),
            centre: (1300.0, 950.0),
            half_diagonal: 1600.0,
            bar_shape: BarShape::Round,
            signed_starts: -1.0,
        };
        let model = Model::new(&p, &frame).unwrap();
        let mut data = Vec::new();
        for edge in [Edge::Upper, Edge::Lower] {
            let outline = model.outline(edge, -2..=2, 1e-4);
            for (i, s) in outline.segments.iter().enumerate() {
                let (a, b) = outline.ends(s);
                let (z, x) = (0.5 * (a.0 + b.0), 0.5 * (a.1 + b.1));
                // A little off the outline, either way.
                let at = model.map.px_of(z, x + if i % 2 == 0 { 0.004 } else { -0.004 });
                data.push(Datum { at, sigma: 0.1, on: On::Thread(edge), reach: 0.0 });
            }
        }
        let bar = model.bar_lines(&p);
        for side in 0..2 {
            for t in [-15.0, -3.0, 8.0] {
                let off = bar.offsets[side];
                let at = model.map.px_of(
                    t * bar.along.0 + off * bar.across.0,
                    t * bar.along.1 + off * bar.across.1,
                );
                data.push(Datum { at, sigma: 0.1, on: On::Bar(side), reach: 0.0 });
            }
        }
        (frame, p, data)
    }

    #[test]
    fn slopes_agree_with_differences_of_residuals() {
        let (frame, p, data) = setting();
        let mut problem =
            Problem::new(frame, p, Param::ALL.to_vec(), &data, &[], (-500.0, 500.0), 0.0);
        problem.chord_px = 0.001;
        let e = problem.evaluate(&p).unwrap();
        let slopes = problem.slopes(&e).unwrap();
        for (column, param) in Param::ALL.into_iter().enumerate() {
            let h = 30.0 * param.difference_step();
            let low = problem.evaluate(&p.moved(param, -h)).unwrap();
            let high = problem.evaluate(&p.moved(param, h)).unwrap();
            let mut differences: Vec<f64> = Vec::new();
            let mut largest: f64 = 0.0;
            for i in 0..data.len() {
                let seen = (high.off_px[i] - low.off_px[i]) / (2.0 * h);
                differences.push((seen - slopes[(i, column)]).abs());
                largest = largest.max(seen.abs());
            }
            differences.sort_by(f64::total_cmp);
            // Feet that pass from one chord to the next may differ; nine in ten must agree.
            let typical = differences[differences.len() * 9 / 10];
            println!("{param:?}: largest {largest:.3e}, nine in ten within {typical:.3e}");
            assert!(typical < 2e-3 * largest, "{param:?}: {typical} of {largest}");
        }
    }
}
