//! What the uncertainty is made of, and what would help.

use crate::known::{BarDrop, Known, ViewWanted};
use crate::measure::{Best, Setting};
use crate::measurement::BudgetLine;
use crate::problem::Block;
use crate::report::Function;
use crate::uncertainty::{Gradient, Uncertainty};
use form::Quantity;
use picture::Drawn;

/// Shares below this fraction of the whole are left out.
const WORTH_SAYING: f64 = 0.05;

/// Every source's share in every quantity, largest first; `excess` is the factor by which all
/// uncertainties are widened, which is a share of its own.
pub(crate) fn budget(
    setting: &Setting<'_>,
    best: &Best,
    uncertainty: &Uncertainty,
    excess: f64,
    functions: &[Function],
) -> Vec<BudgetLine> {
    let mut lines = Vec::new();
    for (name, f) in functions {
        let gradient = Gradient::of(f, &best.outcome.params);
        let explained = uncertainty.of(&gradient);
        let whole = excess * explained;
        let shares = uncertainty.shares(&gradient);
        let mut shares: Vec<(Cause, f64)> =
            shares.into_iter().map(|(block, u)| (Cause::Known(block), u)).collect();
        shares.push((Cause::Disagreement, explained * (excess * excess - 1.0).max(0.0).sqrt()));
        shares.sort_by(|a, b| b.1.total_cmp(&a.1));
        for (cause, u) in shares {
            if u > WORTH_SAYING * whole && u > 0.0 {
                lines.push(BudgetLine {
                    quantity: (*name).to_owned(),
                    source: source(cause).to_owned(),
                    u,
                    remedy: remedy(cause, setting, whole, u, name),
                });
            }
        }
    }
    lines
}

/// What a share comes from.
#[derive(Clone, Copy)]
enum Cause {
    Known(Block),
    /// Teeth that differ, or an outline that the form does not explain.
    Disagreement,
}

fn source(cause: Cause) -> &'static str {
    let Cause::Known(block) = cause else { return "teeth and outline that do not agree" };
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

fn remedy(cause: Cause, setting: &Setting<'_>, whole: f64, u: f64, name: &str) -> Option<String> {
    // What would be left of the whole without this share.
    let left = (whole * whole - u * u).max(0.0).sqrt();
    if left > 0.8 * whole {
        return None;
    }
    let gain =
        format!("u({}) {:.2e} → {:.2e}", name.rsplit_once('_').map_or(name, |n| n.0), whole, left);
    let advice = match (cause, setting.sighting.drawn) {
        (Cause::Known(block), _) => advice(block, setting.known, setting.one_edge.is_some())?,
        (Cause::Disagreement, Drawn::Shadow) => "a clean, unworn stretch of the thread",
        (Cause::Disagreement, Drawn::Line) => "a steadier trace, larger, or the shadow itself",
    };
    Some(format!("{advice}: {gain}"))
}

/// A workshop's micrometer, standard uncertainty in mm (common practice), with something to spare: what is
/// known as well as that is not bettered by one.
const MICROMETER_MM: f64 = 0.0035;

/// What would make a share smaller, given how well it is known already; `None` where nothing at hand
/// would.
fn advice(block: Block, known: &Known, one_edge: bool) -> Option<&'static str> {
    let by_micrometer = |q: Quantity| q.u <= MICROMETER_MM;
    let at_axis = matches!(known.bar_drop, BarDrop::Given(q) if q.value.abs() < 1e-9);
    Some(match block {
        Block::ThreadEdges => "a sharper picture with the thread larger in it",
        Block::BarEdges => "a longer or cleaner bar, in focus",
        Block::BarWidth if by_micrometer(known.bar_width_mm) => {
            "a wider bar: of more width the same ± is less"
        }
        Block::BarWidth => "measure the bar with a micrometer and give its ±",
        Block::BarDrop if at_axis => "measure how far from the height of the axis the bar lies",
        Block::BarDrop => "raise the bar to the height of the axis, or measure its drop",
        Block::EdgeShift => "a sharper picture with more pixels per millimetre and no overexposure",
        Block::Camera if one_edge => "show both edges of the thread",
        Block::Camera => match (at_axis, known.view) {
            (_, ViewWanted::Distance(_)) => "measure the camera's distance more closely",
            (true, _) => "measure the camera's distance",
            (false, _) => {
                "raise the bar to the height of the axis, or measure the camera's distance"
            }
        },
        Block::Lens => "put thread and bar near the middle of the picture",
        Block::Diameter if known.major_diameter_mm.is_some_and(by_micrometer) => return None,
        Block::Diameter => "measure the diameter more closely",
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nobody_is_sent_for_a_micrometer_who_has_used_it() {
        let known = |u: f64| Known::bar(Quantity::entered(6.0, u));
        let caliper = advice(Block::BarWidth, &known(0.02), false).unwrap();
        assert!(caliper.contains("micrometer"), "{caliper}");
        for u in [0.003, 0.001] {
            let better = advice(Block::BarWidth, &known(u), false).unwrap();
            assert!(better.contains("wider bar") && !better.contains("micrometer"), "{better}");
        }
        // A bar that lies at the height of the axis is not raised there.
        let axis = Known { bar_drop: BarDrop::Given(Quantity::entered(0.0, 0.5)), ..known(0.003) };
        for block in [Block::BarDrop, Block::Camera] {
            assert!(advice(block, &known(0.003), false).unwrap().contains("raise the bar"));
            assert!(!advice(block, &axis, false).unwrap().contains("raise"), "{block:?}");
        }
        let measured =
            |u: f64| Known { major_diameter_mm: Some(Quantity::entered(20.0, u)), ..known(0.003) };
        assert!(advice(Block::Diameter, &measured(0.02), false).is_some());
        assert_eq!(advice(Block::Diameter, &measured(0.003), false), None);
    }
}
