//! The thread's outline: traced, or clicked.

use crate::window::canvas::legend;
use crate::window::command::Command;
use crate::window::edit::Edit;
use crate::window::field::Field;
use crate::window::look::palette;
use crate::window::overlay::residual_limit_px;
use crate::window::route::counted;
use crate::window::state::{Bench, Pointer};
use crate::window::widgets::{
    MAIN_BUTTON, card, choice, entry, example, heading, hint, line, remark,
};
use eframe::egui::{self, Ui, vec2};
use fit::ViewWanted;
use form::Hand;
use job::Flank;

/// Width of the button that has a box drawn, points.
const BOX_BUTTON: f32 = 210.0;

pub(super) fn side(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let job = bench.job();
    let found = bench.findings().and_then(|f| f.thread.as_ref());
    ui.horizontal_wrapped(|ui| {
        ui.set_min_height(MAIN_BUTTON);
        let drawing = bench.pointer == Pointer::ThreadBox;
        let text = if drawing { "Draw a box round it …" } else { "Draw a box round the thread" };
        let missing = bench.findings().is_some_and(|f| f.thread.is_none());
        // Of one width and height whatever it says: nothing beside or under it moves.
        let button = egui::Button::selectable(drawing || missing, text).frame_when_inactive(true);
        let pressed = ui.add(button.min_size(vec2(BOX_BUTTON, MAIN_BUTTON)));
        if pressed.clicked() {
            out.push(Command::Take(if drawing { Pointer::Look } else { Pointer::ThreadBox }));
        }
        let changed = job.thread.at_px.is_some() || !job.thread.points.is_empty();
        if ui.add_enabled(changed, egui::Button::new("Trace it everywhere")).clicked() {
            out.push(Command::Edit(Edit::ThreadBox(None)));
        }
    });
    leave_out(ui, bench, out);
    by_hand(ui, bench, out);
    known(ui, bench, out);
    super::remarks(ui, bench);
    if let Some(thread) = found {
        card(ui, |ui| {
            line(ui, "teeth", &thread.teeth.to_string(), "measured");
            let edges = match (thread.upper.is_empty(), thread.lower.is_empty()) {
                (false, false) => "both",
                (false, true) => "upper only",
                (true, false) => "lower only",
                (true, true) => "none",
            };
            line(ui, "edges", edges, "measured");
            let points = thread.upper.len() + thread.lower.len();
            let source = if job.thread.points.is_empty() { "measured" } else { "clicked" };
            line(ui, "points", &points.to_string(), source);
        });
        if let Some(m) = bench.findings().and_then(|f| f.measurement.as_ref()) {
            legend(ui, residual_limit_px(m), m.px_per_mm.value, bench.units());
        }
    }
}

/// Parts of the outline that are not the thread's.
fn leave_out(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let boxes = bench.job().thread.excluded_px.len();
    ui.horizontal_wrapped(|ui| {
        let drawing = bench.pointer == Pointer::Exclude;
        let text = if drawing { "Draw a box over it …" } else { "Leave a part out" };
        let button = egui::Button::selectable(drawing, text).frame_when_inactive(true);
        if ui
            .add(button)
            .on_hover_text("dirt, damage, a holder: what lies in the box does not count")
            .clicked()
        {
            out.push(Command::Take(if drawing { Pointer::Look } else { Pointer::Exclude }));
        }
        if ui.add_enabled(boxes > 0, egui::Button::new("Count everything again")).clicked() {
            out.push(Command::Edit(Edit::ExcludeNothing));
        }
        if boxes > 0 {
            ui.label(format!("{boxes} left out"));
        }
    });
}

fn by_hand(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let points = &bench.job().thread.points;
    heading(ui, "By hand, where tracing fails");
    hint(
        ui,
        "Choose what you click on (keys R, L, C, B), then click along it in the picture; points jump to the edge. \
         A right flank is one that looks to the right in the picture, on the lower edge as on the upper, \
         with the screw lying level.",
    );
    hint(ui, "The first point puts the traced outline aside: then only the points count.");
    ui.horizontal_wrapped(|ui| {
        for (flank, words) in [
            (Flank::Right, "right flank"),
            (Flank::Left, "left flank"),
            (Flank::Crest, "crest"),
            (Flank::Root, "root"),
        ] {
            let on = bench.pointer == Pointer::Points(flank);
            if ui.add(egui::Button::selectable(on, words).frame_when_inactive(true)).clicked() {
                let next = if on { Pointer::Look } else { Pointer::Points(flank) };
                out.push(Command::Take(next));
            }
        }
    });
    // There before the first point: what stands under it does not jump away.
    let mut counts = [0usize; 4];
    for p in points {
        counts[Flank::ALL.iter().position(|f| *f == p.flank).unwrap_or(0)] += 1;
    }
    card(ui, |ui| {
        ui.label(format!(
            "{}: {} right, {} left, {} crest, {} root",
            counted(points.len(), "point"),
            counts[0],
            counts[1],
            counts[2],
            counts[3]
        ));
        ui.horizontal_wrapped(|ui| {
            let chosen = bench.point;
            if ui.add_enabled(chosen.is_some(), egui::Button::new("Remove chosen point")).clicked()
                && let Some(i) = chosen
            {
                out.push(Command::Edit(Edit::RemovePoint(i)));
            }
            let any = !points.is_empty();
            if ui.add_enabled(any, egui::Button::new("Remove all points")).clicked() {
                out.push(Command::Edit(Edit::ClearPoints));
            }
        });
        hint(ui, "Drag a point, or nudge the chosen one with the arrow keys (Shift: 0.1 px).");
    });
    if let Some(text) = without_edge(bench) {
        remark(ui, palette(ui).doubt, &text);
    }
}

/// That at many of the points no edge was found, for as long as it is so.
fn without_edge(bench: &Bench) -> Option<String> {
    let findings = bench.findings()?;
    let said = findings.warnings.iter().find(|w| w.code == "points-without-edge")?;
    Some(said.text.in_units(bench.units()))
}

/// What may be known better than a picture tells.
fn known(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let (job, units) = (bench.job(), bench.units());
    heading(ui, "What you know for certain");
    entry(
        ui,
        bench,
        out,
        Field::Major,
        "Major diameter by micrometer",
        example(
            units,
            [
                "found in the picture; or 19.98 ± 0.01 mm",
                "found in the picture; or 0.7866 ± 0.0004 in",
                "found in the picture; or 786.6 ± 0.4 thou",
            ],
        ),
    );
    choice(
        ui,
        "Starts",
        job.thread.starts,
        &[(None, "find"), (Some(1), "1"), (Some(2), "2"), (Some(3), "3"), (Some(4), "4")],
        |starts| out.push(Command::Edit(Edit::Starts(starts))),
    );
    choice(
        ui,
        "Hand",
        job.thread.hand,
        &[(None, "find"), (Some(Hand::Right), "right"), (Some(Hand::Left), "left")],
        |hand| out.push(Command::Edit(Edit::Hand(hand))),
    );
    let mut mirrored = job.thread.mirrored;
    if ui.checkbox(&mut mirrored, "the picture shows it from behind (mirrored)").changed() {
        out.push(Command::Edit(Edit::Mirrored(mirrored)));
    }
    let kind = match job.view {
        ViewWanted::Auto => 0,
        ViewWanted::Parallel => 1,
        ViewWanted::Distance(_) => 2,
    };
    choice(
        ui,
        "The camera",
        kind,
        &[(0, "find its distance"), (1, "parallel light (scanner, projector)")],
        |kind| {
            out.push(Command::Edit(if kind == 0 { Edit::ViewAuto } else { Edit::ViewParallel }));
        },
    );
    entry(
        ui,
        bench,
        out,
        Field::Distance,
        "or: stood at a distance of",
        example(units, ["250 mm", "10 in", "10 in"]),
    );
}
