//! The measured section in the middle of the window, alone or beside a candidate.

use crate::window::look::palette;
use crate::window::plot;
use crate::window::state::Bench;
use eframe::egui::{Stroke, Ui};
use egui_plot::{HLine, Line, PlotPoints};
use form::Section;

/// Draws the measured section over two pitches, true to scale; `candidate` beside it, crests level,
/// and how far the two lie apart below.
pub(super) fn show(ui: &mut Ui, bench: &Bench, candidate: Option<(&str, Section)>) {
    let Some(thread) =
        bench.findings().and_then(|f| f.screw.as_ref()).and_then(|s| s.thread().ok())
    else {
        return;
    };
    let p = palette(ui);
    let units = bench.units();
    let k = units.in_mm();
    let measured = plot::section(thread.section(), k, -1..=0);
    let found = bench.findings().is_some_and(|f| f.measurement.is_some());
    let mut entries = vec![(if found { "measured" } else { "as typed in" }, p.accent)];
    entries.extend(candidate.map(|(name, _)| (name, p.doubt)));
    plot::legend(ui, &entries);
    let apart = candidate.map(|(_, section)| apart_um(thread.section(), &section));
    let room = ui.available_height() - 34.0;
    let height = if apart.is_some() { 0.62 * room } else { room };
    let unit = units.symbol();
    let shown = plot::frame(
        ui,
        "section",
        height,
        &format!("along the axis, {unit}"),
        &format!("from the crest, {unit}"),
    )
    .data_aspect(1.0)
    .show(ui, |drawn| {
        if let Some((name, section)) = candidate {
            let points = plot::section(&section, k, -1..=0);
            let line = Line::new(name.to_owned(), PlotPoints::from(points));
            drawn.line(line.stroke(Stroke::new(2.0, p.doubt)));
        }
        let line = Line::new("measured", PlotPoints::from(measured));
        drawn.line(line.stroke(Stroke::new(2.0, p.accent)));
    });
    plot::named(&shown.response, "section, true to scale");
    if let (Some([right, left]), Some(screw)) =
        (apart, bench.findings().and_then(|f| f.screw.as_ref()))
    {
        // Half the doubt of the crest, and that of the angle over the depth.
        let doubt = |below: f64| {
            let tilt = below * screw.right_flank_deg.u.to_radians();
            1000.0 * (0.5 * screw.crest_flat_mm.u).hypot(tilt)
        };
        let (small, um) = plot::fine(units);
        let band = |sign: f64| -> Vec<[f64; 2]> {
            right.iter().map(|at| [at[0] / k, sign * doubt(at[0]) / um]).collect()
        };
        let scaled = |points: Vec<[f64; 2]>| -> Vec<[f64; 2]> {
            points.into_iter().map(|at| [at[0] / k, at[1] / um]).collect()
        };
        let bands = [band(1.0), band(-1.0)];
        plot::legend(
            ui,
            &[
                ("right flank", p.accent),
                ("left flank", p.doubt),
                ("± one standard uncertainty", p.faint),
            ],
        );
        let height = ui.available_height() - 6.0;
        let shown = plot::frame(
            ui,
            "apart",
            height,
            &format!("below the crest, {unit}"),
            &format!("{} − standard, {small}", if found { "measured" } else { "typed" }),
        )
        .show(ui, |drawn| {
            drawn.hline(HLine::new("standard", 0.0).stroke(Stroke::new(1.0, p.ink)));
            for points in bands {
                let line = Line::new("±", PlotPoints::from(points));
                drawn.line(line.stroke(Stroke::new(1.0, p.faint)));
            }
            for (name, colour, points) in
                [("right", p.accent, scaled(right)), ("left", p.doubt, scaled(left))]
            {
                let line = Line::new(name, PlotPoints::from(points));
                drawn.line(line.stroke(Stroke::new(2.0, colour)));
            }
        });
        plot::named(&shown.response, "deviation of each flank from the standard");
    }
}

/// How much farther out, along the axis, each flank of the measured ridge stands than the
/// candidate's, against the depth below the crest: right, left.
fn apart_um(measured: &Section, standard: &Section) -> [Vec<[f64; 2]>; 2] {
    const STEPS: u32 = 24;
    let depth = measured.depth_mm().min(standard.depth_mm());
    let half = |s: &Section, right: bool, below: f64| {
        let flank = if right { s.right_flank_rad() } else { s.left_flank_rad() };
        0.5 * s.crest_flat_mm() + below * flank.tan()
    };
    [true, false].map(|right| {
        (0..=STEPS)
            .map(|i| {
                let below = depth * f64::from(i) / f64::from(STEPS);
                let off = half(measured, right, below) - half(standard, right, below);
                [below, 1000.0 * off]
            })
            .collect()
    })
}
