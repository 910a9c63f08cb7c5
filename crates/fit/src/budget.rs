//! What the uncertainty is made of, and what would help.

use crate::measure::{Best, Setting};
use crate::measurement::BudgetLine;
use crate::problem::Block;
use crate::report::Function;
use crate::uncertainty::{Gradient, Uncertainty};

/// Shares below this fraction of the whole are left out.
const WORTH_SAYING: f64 = 0.05;

pub(crate) fn budget(
    setting: &Setting<'_>,
    best: &Best,
    uncertainty: &Uncertainty,
    functions: &[Function],
) -> Vec<BudgetLine> {
    let mut lines = Vec::new();
    for (name, f) in functions {
        let gradient = Gradient::of(f, &best.outcome.params);
        let whole = uncertainty.of(&gradient);
        let mut shares = uncertainty.shares(&gradient);
        shares.sort_by(|a, b| b.1.total_cmp(&a.1));
        for (block, u) in shares {
            if u > WORTH_SAYING * whole && u > 0.0 {
                lines.push(BudgetLine {
                    quantity: name,
                    source: source(block).to_owned(),
                    u,
                    remedy: remedy(block, setting, whole, u, name),
                });
            }
        }
    }
    lines
}

fn source(block: Block) -> &'static str {
    match block {
        Block::ThreadEdges => "noise and unevenness of the thread's edges",
        Block::BarEdges => "noise and unevenness of the bar's edges",
        Block::BarWidth => "stated width of the bar",
        Block::BarDrop => "height of the bar below the axis",
        Block::EdgeShift => "where blur and exposure put an edge",
        Block::Camera => "where the camera stood",
        Block::Lens => "lens distortion and keystone",
        Block::Diameter => "entered diameter",
    }
}

fn remedy(block: Block, setting: &Setting<'_>, whole: f64, u: f64, name: &str) -> Option<String> {
    // What would be left of the whole without this share.
    let left = (whole * whole - u * u).max(0.0).sqrt();
    if left > 0.8 * whole {
        return None;
    }
    let gain =
        format!("u({}) {:.2e} → {:.2e}", name.rsplit_once('_').map_or(name, |n| n.0), whole, left);
    let advice = match block {
        Block::ThreadEdges => "a sharper picture with the thread larger in it",
        Block::BarEdges => "a longer or cleaner bar, in focus",
        Block::BarWidth => "measure the bar with a micrometer and give its ±",
        Block::BarDrop => "raise the bar to the height of the axis, or measure its drop",
        Block::EdgeShift => "a sharper picture with more pixels per millimetre and no overexposure",
        Block::Camera if setting.one_edge.is_some() => "show both edges of the thread",
        Block::Camera => {
            "raise the bar to the height of the axis, or measure the camera's distance"
        }
        Block::Lens => "put thread and bar near the middle of the picture",
        Block::Diameter => "measure the diameter more closely",
    };
    Some(format!("{advice}: {gain}"))
}
