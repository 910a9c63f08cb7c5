//! Covariance of a fit, split by where the uncertainty comes from.

use crate::data::On;
use crate::measure::{Best, Setting};
use crate::params::{Param, Params};
use crate::problem::{Block, Problem};
use crate::robust::Outcome;
use form::Piece;
use form::shadow::Edge;
use nalgebra::{DMatrix, DVector};
use picture::{ALONE_PX, TOGETHER_PX};
use std::collections::BTreeMap;

/// A way in which edges may be displaced together, by how much (standard deviation, px), and what
/// it is booked under. Empirical: what gamma, blur, JPEG blocks and the pixel raster leave over after
/// edges are located in linear light. Considered, not fitted: fitted, they would swallow whatever
/// the model of the thread leaves over, and spoil the scale with it.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Displacement {
    /// Every edge, bar and thread, out of the metal.
    All,
    /// One edge of the bar.
    BarEdge(usize),
    /// One kind of piece of the section, on one edge of the thread.
    Piece(Edge, PieceKind),
    /// The flanks of one side, turning: out at the crest, in at the root.
    Turn(PieceKind),
    /// The rounded corners of the crest, or of the root.
    Round(PieceKind),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum PieceKind {
    Crest,
    Right,
    Left,
    Root,
}

impl PieceKind {
    fn of(piece: Piece) -> Self {
        match piece {
            Piece::CrestRight | Piece::CrestLeft => Self::Crest,
            Piece::CornerRight | Piece::FlankRight | Piece::FilletRight => Self::Right,
            Piece::CornerLeft | Piece::FlankLeft | Piece::FilletLeft => Self::Left,
            Piece::Root => Self::Root,
        }
    }
}

/// What compression adds to the displacement of all edges where edges are sharper than pixels: most, px, and the blurs between
/// which it grows from nothing. See `picture/src/profile.rs`.
const SHARP_PX: f64 = 0.04;
const SHARP_BLURS_PX: (f64, f64) = (0.7, 0.5);
/// Displacement at the ends of a flank that seems turned, px.
const TURN_PX: f64 = 0.004;
/// Displacement of rounded corners, px: of the crest, which stand free, and of the root, where light has
/// to find its way in.
const ROUND_CREST_PX: f64 = 0.012;
/// The same of crests taken as sharp, px: no corner is, and in the shadow its helix passes for a good
/// part of the flank. Pictures that two other programs put together from meridians have it inside by up
/// to 0.08.
const SHARP_CREST_PX: f64 = 0.035;
const ROUND_ROOT_PX: f64 = 0.017;
/// The same where a flank is so short that the blurred corners at its ends reach far into it: most, px, and
/// the depths in blurs between which it falls to nothing. Empirical, with solids traced at 15 to 40 px a pitch.
const COARSE_TURN_PX: f64 = 0.1;
const COARSE_BLURS: (f64, f64) = (12.0, 32.0);
/// What light mirrored at the rims adds, px, where things show along their edges a quarter of the background's
/// light or more: to all edges together, to each piece by itself, and to the ends of a flank, since a flank
/// mirrors more near its crest than near its root. Empirical, with solids traced before lights of many kinds.
const BRIGHT_RIM: f64 = 0.25;
const RIM_TOGETHER_PX: f64 = 0.035;
const RIM_ALONE_PX: f64 = 0.035;
const RIM_TURN_PX: f64 = 0.03;
/// Blur for which the displacements above hold, px; they grow with it, because the wider an edge is
/// the more of its surroundings has a say in where it is found.
const USUAL_BLUR_PX: f64 = 1.0;
/// Least factor for a sharper picture: there the pixels themselves set the limit.
const SHARPEST: f64 = 0.5;
/// Displacement of a straight edge that runs along the pixel raster, where every pixel errs alike, px:
/// anywhere within a quarter of a pixel, the step that bars of `tests/data/shadows` keep to (JCGM 100,
/// F.2.2.1).
const RASTER_PX: f64 = 0.072;

/// Covariance of the free parameters and what each source adds to it.
///
/// The estimate is a linear function of what was observed and believed, so its covariance is the
/// sum over sources `b` of `C I_b C`, with `I_b` the information of that source and
/// `C = (Σ I_b)⁻¹` (JCGM 100, 5.1, in matrix form).
pub struct Uncertainty {
    free: Vec<Param>,
    /// Covariance with rows and columns in units of `scale`.
    covariance: DMatrix<f64>,
    blocks: BTreeMap<Block, DMatrix<f64>>,
    scale: Vec<f64>,
    /// `Jᵀ W d` for every displacement `d`, times its standard deviation.
    pulls: Vec<(Block, DVector<f64>)>,
    /// What the doubt about the eye's place over a leaning plane does to every parameter.
    swing: Option<[f64; crate::params::COUNT]>,
    /// What the doubt about a leaning plane's stretch along the axis does, which no outline tells: to
    /// everything along the axis alike.
    stretch: Option<[f64; crate::params::COUNT]>,
}

/// Standard deviation of a leaning plane's stretch, as a part of the stretch found: what is taken for even
/// is a convention. Empirical, with planes even at their corner and at their middle.
const STRETCH_DOUBT: f64 = 0.6;

fn stretch(o: &Outcome) -> Option<[f64; crate::params::COUNT]> {
    o.free.contains(&Param::Aspect).then(|| {
        let doubt = STRETCH_DOUBT * o.params[Param::Aspect].abs();
        let mut by = [0.0; crate::params::COUNT];
        for param in [Param::Pitch, Param::CrestFlat, Param::TanRight, Param::TanLeft] {
            by[param as usize] = doubt * o.params[param];
        }
        // The same change of diameter over a longer way.
        by[Param::Taper as usize] = -doubt * o.params[Param::Taper];
        by
    })
}

impl Uncertainty {
    /// With the parameters in `free` found by the data: those of the fit, or more where it is asked
    /// what else could have been.
    pub(crate) fn with_free(best: &Best, free: Vec<Param>, setting: &Setting<'_>) -> Option<Self> {
        let o = &best.outcome;
        let n = free.len();
        let Setting { priors, blur_px, .. } = setting;
        let (shape, span_px) = (setting.frame.bar_shape, setting.levelled.span());
        let problem =
            Problem::new(o.frame, o.params, free.clone(), &best.data, priors, span_px, 0.0);
        let slopes = problem.slopes(&o.evaluated)?;
        let mut blocks: BTreeMap<Block, DMatrix<f64>> = BTreeMap::new();
        let bar = &setting.sighting.bar;
        let modes = displacements(best, *blur_px, bar.displaced_px, bar.rim);
        let mut pulls = vec![DVector::zeros(n); modes.len()];
        let mut add = |block: Block, row: &DVector<f64>, weight: f64| {
            blocks.entry(block).or_insert_with(|| DMatrix::zeros(n, n)).ger(weight, row, row, 1.0);
        };
        for (i, datum) in best.data.iter().enumerate() {
            let block = match datum.on {
                On::Thread(_) => Block::ThreadEdges,
                On::Bar(_) => Block::BarEdges,
            };
            let root = o.roots[i];
            if root > 0.0 {
                // Neighbours repeat each other: as many data as there are independent ones.
                let repeats = if block == Block::BarEdges { 1.0 } else { best.correlation };
                let weight = root * root / repeats;
                let row = slopes.row(i).transpose();
                add(block, &row, weight);
                for ((mode, sd, _), pull) in modes.iter().zip(&mut pulls) {
                    let by = sd * share(*mode, best, i);
                    if by != 0.0 {
                        pull.axpy(weight * by, &row, 1.0);
                    }
                }
            }
        }
        for prior in priors {
            let row = DVector::from_iterator(
                n,
                free.iter().map(|f| prior.belief.derivative(*f, &o.params, shape)),
            );
            let sd = prior.sd.hypot(prior.belief.convention(&o.params));
            add(prior.block, &row, 1.0 / (sd * sd));
        }
        let total = blocks.values().fold(DMatrix::zeros(n, n), |sum, b| sum + b);
        // Scale to a unit diagonal before inverting: the parameters differ by many decades.
        let scale: Vec<f64> = (0..n)
            .map(|i| if total[(i, i)] > 0.0 { total[(i, i)].sqrt().recip() } else { 1.0 })
            .collect();
        let scaled = DMatrix::from_fn(n, n, |i, j| total[(i, j)] * scale[i] * scale[j]);
        let regular = &scaled + DMatrix::identity(n, n) * 1e-13;
        let covariance = regular.cholesky()?.inverse();
        let pulls = modes.iter().map(|(_, _, block)| *block).zip(pulls).collect();
        Some(Self {
            free,
            covariance,
            blocks,
            scale,
            pulls,
            swing: best.swing,
            stretch: stretch(o),
        })
    }

    /// Standard uncertainty of a function of the parameters with the given slopes by all of them.
    pub fn of(&self, gradient: &Gradient) -> f64 {
        self.between(gradient, gradient).max(0.0).sqrt()
    }

    /// Covariance of two functions of the parameters.
    pub fn between(&self, a: &Gradient, b: &Gradient) -> f64 {
        let random = (self.scaled(a).transpose() * &self.covariance * self.scaled(b))[(0, 0)];
        let considered: f64 =
            self.considered(a).iter().zip(self.considered(b)).map(|(a, b)| a.1 * b.1).sum();
        random + considered
    }

    /// What each displacement, by one standard deviation, adds to a function.
    fn considered(&self, gradient: &Gradient) -> Vec<(Block, f64)> {
        let lever = &self.covariance * self.scaled(gradient);
        let moved = |block: Block, by: &[f64; crate::params::COUNT]| {
            (block, gradient.0.iter().zip(by).map(|(g, by)| g * by).sum())
        };
        let swing = self.swing.iter().map(|by| moved(Block::Camera, by));
        let stretch = self.stretch.iter().map(|by| moved(Block::Lens, by));
        self.pulls
            .iter()
            .map(|(block, pull)| {
                let u: f64 = lever
                    .iter()
                    .zip(&self.scale)
                    .zip(pull.iter())
                    .map(|((l, s), v)| l * s * v)
                    .sum();
                (*block, u)
            })
            .chain(swing)
            .chain(stretch)
            .collect()
    }

    /// The share of each source: the standard uncertainty it alone would leave.
    pub fn shares(&self, gradient: &Gradient) -> Vec<(Block, f64)> {
        let lever = &self.covariance * self.scaled(gradient);
        let lever =
            DVector::from_iterator(lever.len(), lever.iter().zip(&self.scale).map(|(l, s)| l * s));
        let mut shares: BTreeMap<Block, f64> = self
            .blocks
            .iter()
            .map(|(block, information)| {
                (*block, (lever.transpose() * information * &lever)[(0, 0)].max(0.0))
            })
            .collect();
        for (block, u) in self.considered(gradient) {
            *shares.entry(block).or_default() += u * u;
        }
        shares.into_iter().map(|(block, variance)| (block, variance.sqrt())).collect()
    }

    fn scaled(&self, gradient: &Gradient) -> DVector<f64> {
        DVector::from_iterator(
            self.free.len(),
            self.free.iter().zip(&self.scale).map(|(f, s)| gradient.0[*f as usize] * s),
        )
    }
}

/// Whether crests are taken as sharp.
fn is_sharp(o: &Outcome) -> bool {
    o.params[Param::CrestRound] == 0.0
}

/// The displacements worth considering, their standard deviations, px, and what each is booked under.
fn displacements(
    best: &Best,
    blur_px: f64,
    all_px: f64,
    rim: f64,
) -> Vec<(Displacement, f64, Block)> {
    use PieceKind::{Crest, Left, Right, Root};
    let more = (blur_px / USUAL_BLUR_PX).max(SHARPEST);
    let lit = more * (rim / BRIGHT_RIM).clamp(0.0, 1.0);
    let (dull, sharp) = SHARP_BLURS_PX;
    let sharp_px = SHARP_PX * ((dull - blur_px) / (dull - sharp)).clamp(0.0, 1.0);
    let mut modes = Vec::new();
    // What a bright rim adds has a share of its own in the budget.
    let mut add = |mode: Displacement, sd: f64, of_rim: f64, block: Block| {
        modes.push((mode, sd, block));
        if lit > 0.0 {
            modes.push((mode, lit * of_rim, Block::Rims));
        }
    };
    let together = all_px.hypot(more * TOGETHER_PX).hypot(sharp_px);
    add(Displacement::All, together, RIM_TOGETHER_PX, Block::EdgeShift);
    for side in 0..2 {
        let raster = if along_raster(best, side) { RASTER_PX } else { 0.0 };
        let sd = raster.max(more * ALONE_PX);
        add(Displacement::BarEdge(side), sd, RIM_ALONE_PX, Block::BarEdges);
    }
    for edge in [Edge::Upper, Edge::Lower] {
        for kind in [Crest, Right, Left, Root] {
            let mode = Displacement::Piece(edge, kind);
            add(mode, more * ALONE_PX, RIM_ALONE_PX, Block::EdgeShift);
        }
    }
    let (coarse, fine) = COARSE_BLURS;
    let params = &best.outcome.params;
    let deep = params[Param::Depth] * params[Param::Scale] / blur_px.max(SHARPEST);
    let turn_px = COARSE_TURN_PX * ((fine - deep) / (fine - coarse)).clamp(0.0, 1.0);
    for side in [Right, Left] {
        add(
            Displacement::Turn(side),
            (more * TURN_PX).hypot(turn_px),
            RIM_TURN_PX,
            Block::EdgeShift,
        );
    }
    let (crest, block) = if is_sharp(&best.outcome) {
        (SHARP_CREST_PX, Block::Corners)
    } else {
        (more * ROUND_CREST_PX, Block::EdgeShift)
    };
    add(Displacement::Round(Crest), crest, RIM_ALONE_PX, block);
    add(Displacement::Round(Root), more * ROUND_ROOT_PX, RIM_ALONE_PX, Block::EdgeShift);
    modes
}

/// Whether an edge of the bar stays within one row or column of pixels or so from end to end.
fn along_raster(best: &Best, side: usize) -> bool {
    let of_edge = || best.data.iter().filter(|d| d.on == On::Bar(side)).map(|d| d.at);
    let range = |f: fn((f64, f64)) -> f64| {
        let (low, high) =
            of_edge().map(f).fold((f64::MAX, f64::MIN), |(a, b), v| (a.min(v), b.max(v)));
        high - low
    };
    range(|p| p.0).min(range(|p| p.1)) < 1.5
}

/// How much of a displacement a datum takes part in.
fn share(mode: Displacement, best: &Best, i: usize) -> f64 {
    let datum = &best.data[i];
    let site = || {
        let On::Thread(edge) = datum.on else { return None };
        let e = &best.outcome.evaluated;
        let outline = e.outlines[usize::from(edge == Edge::Lower)].as_ref()?;
        let foot = e.feet[i].as_ref()?;
        let segment = &outline.segments[foot.segment];
        let (piece, s) = outline.piece_at(segment, foot.t);
        Some((edge, piece, s))
    };
    match mode {
        Displacement::All => 1.0,
        Displacement::BarEdge(side) => f64::from(u8::from(datum.on == On::Bar(side))),
        Displacement::Piece(edge, kind) => site()
            .map_or(0.0, |(e, p, _)| f64::from(u8::from(e == edge && PieceKind::of(p) == kind))),
        Displacement::Turn(kind) => site().map_or(0.0, |(_, piece, s)| match piece {
            Piece::FlankRight if kind == PieceKind::Right => 1.0 - 2.0 * s,
            Piece::FlankLeft if kind == PieceKind::Left => 2.0 * s - 1.0,
            _ => 0.0,
        }),
        Displacement::Round(kind) => site().map_or(0.0, |(_, piece, _)| match piece {
            Piece::CornerRight | Piece::CornerLeft if kind == PieceKind::Crest => 1.0,
            Piece::FilletRight | Piece::FilletLeft if kind == PieceKind::Root => 1.0,
            _ => 0.0,
        }),
    }
}

/// Answers the standard uncertainty of a function of the parameters.
pub type UOf<'a> = &'a dyn Fn(&dyn Fn(&Params) -> f64) -> f64;

/// Slopes of a function by every parameter.
pub struct Gradient([f64; crate::params::COUNT]);

impl Gradient {
    /// By central differences.
    pub fn of(f: &dyn Fn(&Params) -> f64, at: &Params) -> Self {
        let mut slopes = [0.0; crate::params::COUNT];
        for param in Param::ALL {
            let h = param.difference_step();
            slopes[param as usize] = (f(&at.moved(param, h)) - f(&at.moved(param, -h))) / (2.0 * h);
        }
        Self(slopes)
    }
}
