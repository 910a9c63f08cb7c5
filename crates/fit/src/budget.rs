//! What the uncertainty is made of, and what would help.

use crate::known::{BarDrop, Known, ViewWanted};
use crate::measure::{Best, Setting};
use crate::measurement::BudgetLine;
use crate::problem::Block;
use crate::report::{Function, of_other_starts};
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
        let other_starts = of_other_starts(best, f);
        let explained = uncertainty.of(&gradient).hypot(other_starts);
        let whole = excess * explained;
        let shares = uncertainty.shares(&gradient);
        let mut shares: Vec<(Cause, f64)> =
            shares.into_iter().map(|(block, u)| (Cause::Known(block), u)).collect();
        shares.push((Cause::OtherStarts, other_starts));
        shares.push((Cause::Disagreement, explained * (excess * excess - 1.0).max(0.0).sqrt()));
        shares.sort_by(|a, b| b.1.total_cmp(&a.1));
        for (cause, u) in shares {
            if u > WORTH_SAYING * whole && u > 0.0 {
                lines.push(BudgetLine {
                    quantity: (*name).to_owned(),
                    source: source(cause).to_owned(),
                    u,
                    remedy: remedy(cause, setting, whole, u).map(str::to_owned),
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
    /// Another hand or number of starts that is not ruled out.
    OtherStarts,
    /// Teeth that differ, or an outline that the form does not explain.
    Disagreement,
}

fn source(cause: Cause) -> &'static str {
    let block = match cause {
        Cause::Known(block) => block,
        Cause::OtherStarts => return "hand or number of starts",
        Cause::Disagreement => return "teeth and outline that do not agree",
    };
    match block {
        Block::ThreadEdges => "noise and unevenness of the thread's edges",
        Block::BarEdges => "noise and unevenness of the bar's edges",
        Block::BarWidth => "stated width of the bar",
        Block::BarDrop => "height of the bar below the axis",
        Block::EdgeShift => "where blur and exposure put an edge",
        Block::Rims => "light mirrored at the rims",
        Block::Corners => "crests that are never quite sharp",
        Block::Camera => "where the camera stood",
        Block::Lens => "lens distortion and keystone",
        Block::Diameter => "entered diameter",
    }
}

/// What would make a share smaller; `None` where the whole would hardly become less.
fn remedy(cause: Cause, setting: &Setting<'_>, whole: f64, u: f64) -> Option<&'static str> {
    if without(whole, u) > WORTH_DOING * whole {
        return None;
    }
    match (cause, setting.sighting.drawn) {
        (Cause::Known(Block::BarWidth), _) if setting.sighting.bar.or_width_px.is_some() => {
            Some("a bar at least twice as long as it is wide")
        }
        (Cause::Known(block), _) => advice(block, setting.known, setting.one_edge.is_some()),
        (Cause::OtherStarts, _) => {
            Some("look at the screw, and enter its hand and number of starts")
        }
        (Cause::Disagreement, Drawn::Shadow) => Some("a clean, unworn stretch of the thread"),
        (Cause::Disagreement, Drawn::Line) => {
            Some("a steadier trace, larger, or the shadow itself")
        }
    }
}

/// Part of the whole that must go with a share for doing something about it to be advised.
const WORTH_DOING: f64 = 0.8;

/// What is left of a whole without one share.
fn without(whole: f64, u: f64) -> f64 {
    (whole * whole - u * u).max(0.0).sqrt()
}

/// One thing that would make the numbers surer.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// What to do.
    pub advice: String,
    /// What it would gain, in the order of the budget.
    pub gains: Vec<Gain>,
}

/// A smaller uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Gain {
    /// Quantity, as in [`FormFound`](crate::FormFound).
    pub quantity: String,
    /// Standard uncertainty as it is, in the unit of the quantity.
    pub u_now: f64,
    /// Standard uncertainty with that share gone altogether.
    pub u_then: f64,
}

/// What would help, the greatest gain first: by how much of their variances all quantities together would
/// lose.
pub(crate) fn remedies(budget: &[BudgetLine]) -> Vec<Remedy> {
    let mut found: Vec<(f64, Remedy)> = Vec::new();
    // The lead is the pitch over again.
    for line in budget.iter().filter(|l| l.quantity != "lead_mm") {
        let Some(advice) = &line.remedy else { continue };
        let of_it = budget.iter().filter(|o| o.quantity == line.quantity);
        let whole = of_it.map(|o| o.u * o.u).sum::<f64>().sqrt();
        if whole <= 0.0 {
            continue;
        }
        let gain =
            Gain { quantity: line.quantity.clone(), u_now: whole, u_then: without(whole, line.u) };
        let share = (line.u / whole).powi(2);
        match found.iter_mut().find(|(_, r)| r.advice == *advice) {
            Some((shares, remedy)) => {
                *shares += share;
                remedy.gains.push(gain);
            }
            None => found.push((share, Remedy { advice: advice.clone(), gains: vec![gain] })),
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().map(|(_, remedy)| remedy).collect()
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
        Block::Rims => "move the light farther away, or mask it to the size of the picture",
        Block::Corners => "a stretch of the thread without burrs or rounded crests",
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

    #[test]
    fn what_helps_most_comes_first_and_says_how_much() {
        let line = |quantity: &str, u: f64, remedy: Option<&str>| BudgetLine {
            quantity: quantity.into(),
            source: "a source".into(),
            u,
            remedy: remedy.map(str::to_owned),
        };
        let budget = [
            line("pitch_mm", 0.004, Some("raise the bar")),
            line("pitch_mm", 0.003, None),
            line("lead_mm", 0.004, Some("raise the bar")),
            line("depth_mm", 0.0008, Some("focus")),
            line("depth_mm", 0.0006, Some("raise the bar")),
        ];
        let found = remedies(&budget);
        let advice: Vec<&str> = found.iter().map(|r| r.advice.as_str()).collect();
        assert_eq!(advice, ["raise the bar", "focus"]);
        let gains = &found[0].gains;
        assert_eq!(gains.len(), 2, "the lead is not counted: {gains:?}");
        // 3, 4, 5: by hand.
        assert!((gains[0].u_now - 0.005).abs() < 1e-12 && (gains[0].u_then - 0.003).abs() < 1e-12);
        assert!((gains[1].u_now - 0.001).abs() < 1e-12 && (gains[1].u_then - 0.0008).abs() < 1e-12);
    }
}
