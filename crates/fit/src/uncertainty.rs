//! Covariance of a fit, split by where the uncertainty comes from.

use crate::data::On;
use crate::known::BarShape;
use crate::measure::Best;
use crate::params::{Param, Params};
use crate::problem::{Block, Prior, Problem};
use nalgebra::{DMatrix, DVector};
use std::collections::BTreeMap;

/// Standard deviation believed of a displacement common to all edges, px. Empirical: what is left
/// of gamma and blur after locating edges in linear light.
const EDGE_SHIFT_PX: f64 = 0.02;

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
    /// `Jᵀ W 1` over all edge data: the pull of a common displacement of one pixel.
    shifted: DVector<f64>,
}

impl Uncertainty {
    pub fn new(
        best: &Best,
        priors: &[Prior],
        shape: BarShape,
        span_px: (f64, f64),
    ) -> Option<Self> {
        let o = &best.outcome;
        let free = o.free.clone();
        let n = free.len();
        let problem =
            Problem::new(o.frame, o.params, free.clone(), &best.data, priors, span_px, 0.0);
        let slopes = problem.slopes(&o.evaluated)?;
        let mut blocks: BTreeMap<Block, DMatrix<f64>> = BTreeMap::new();
        let mut shifted = DVector::zeros(n);
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
                // A displacement common to all edges moves every residual alike.
                shifted += row * weight;
            }
        }
        for prior in priors {
            let row = DVector::from_iterator(
                n,
                free.iter().map(|f| prior.belief.derivative(*f, &o.params, shape)),
            );
            add(prior.block, &row, 1.0 / (prior.sd * prior.sd));
        }
        let total = blocks.values().fold(DMatrix::zeros(n, n), |sum, b| sum + b);
        // Scale to a unit diagonal before inverting: the parameters differ by many decades.
        let scale: Vec<f64> = (0..n)
            .map(|i| if total[(i, i)] > 0.0 { total[(i, i)].sqrt().recip() } else { 1.0 })
            .collect();
        let scaled = DMatrix::from_fn(n, n, |i, j| total[(i, j)] * scale[i] * scale[j]);
        let regular = &scaled + DMatrix::identity(n, n) * 1e-13;
        let covariance = regular.cholesky()?.inverse();
        Some(Self { free, covariance, blocks, scale, shifted })
    }

    /// Standard uncertainty of a function of the parameters with the given slopes by all of them.
    pub fn of(&self, gradient: &Gradient) -> f64 {
        let g = self.scaled(gradient);
        let random = (g.transpose() * &self.covariance * &g)[(0, 0)].max(0.0).sqrt();
        random.hypot(self.edge_shift(gradient))
    }

    /// What a displacement common to all edges adds. It is considered, not fitted: fitted, it would
    /// swallow whatever the model of the thread leaves over, and spoil the scale with it.
    fn edge_shift(&self, gradient: &Gradient) -> f64 {
        let lever = &self.covariance * self.scaled(gradient);
        let pull: f64 = lever
            .iter()
            .zip(&self.scale)
            .zip(self.shifted.iter())
            .map(|((l, s), v)| l * s * v)
            .sum();
        EDGE_SHIFT_PX * pull.abs()
    }

    /// The share of each source: the standard uncertainty it alone would leave.
    pub fn shares(&self, gradient: &Gradient) -> Vec<(Block, f64)> {
        let lever = &self.covariance * self.scaled(gradient);
        let lever =
            DVector::from_iterator(lever.len(), lever.iter().zip(&self.scale).map(|(l, s)| l * s));
        self.blocks
            .iter()
            .map(|(block, information)| {
                (*block, (lever.transpose() * information * &lever)[(0, 0)].max(0.0).sqrt())
            })
            .chain([(Block::EdgeShift, self.edge_shift(gradient))])
            .collect()
    }

    fn scaled(&self, gradient: &Gradient) -> DVector<f64> {
        DVector::from_iterator(
            self.free.len(),
            self.free.iter().zip(&self.scale).map(|(f, s)| gradient.0[*f as usize] * s),
        )
    }
}

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
