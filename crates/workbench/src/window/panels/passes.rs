//! The passes: how deep each, and what the dial shows.

use super::duty;
use crate::window::command::Command;
use crate::window::edit::Edit;
use crate::window::field::Field;
use crate::window::figure::Figure;
use crate::window::state::Bench;
use crate::window::widgets::{
    bold, card, cautions, choice, entry, folded_entries, heading, heads, hint, line, rough, small,
    small_estimate,
};
use eframe::egui::{self, Align2, Grid, RichText, ScrollArea, Stroke, Ui};
use job::Cutting;
use shop::{About, DialReads, Feed, Pass, WorkMaterial};

pub(super) fn side(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    if !duty::permits(ui, bench, out) {
        return;
    }
    choice(
        ui,
        "At the lathe",
        bench.setting_out,
        &[(true, "set out the blank"), (false, "cut the thread")],
        |on| out.push(Command::SetOut(on)),
    );
    if bench.setting_out {
        super::blank::side(ui, bench, out);
        super::remarks(ui, bench);
        cautions(ui, &[About::Lathe]);
        return;
    }
    let said = &bench.job().passes;
    let units = bench.units();
    let cutting = bench.findings().and_then(|f| f.cutting.as_ref());
    let found = |what: fn(&Cutting) -> f64, else_: &str| {
        cutting.map_or_else(|| else_.to_owned(), |c| units.plain(what(c), 2))
    };
    let (depth, tip) =
        (found(|c| c.request.depth_mm, "1.8 mm"), found(|c| c.request.tip_flat_mm, "1.2 mm"));
    ui.columns(2, |sides| {
        let deep = format!("the nut's: {depth}");
        entry(&mut sides[0], bench, out, Field::PassDepth, "Depth to cut, radial", &deep);
        let drawn = format!("as drawn: {tip}");
        entry(&mut sides[1], bench, out, Field::PassTip, "Tip flat as ground", &drawn);
    });
    let cut = bench.job().work_material().0;
    egui::ComboBox::from_label("Material").selected_text(cut.name()).show_ui(ui, |ui| {
        for material in WorkMaterial::ALL {
            let on = cut == material;
            if ui.selectable_label(on, material.name()).clicked() && !on {
                out.push(Command::Edit(Edit::Material(material)));
            }
        }
    });
    choice(
        ui,
        "The tool goes in",
        said.flank_feed,
        &[(false, "straight"), (true, "along a flank")],
        |on| out.push(Command::Edit(Edit::FlankFeed(on))),
    );
    if said.flank_feed {
        let set_over = cutting.map_or_else(String::new, |c| match c.request.feed {
            Feed::Flank { top_slide_deg } => {
                format!("{top_slide_deg:.1}°: ½° less than the flank")
            }
            Feed::Radial => String::new(),
        });
        entry(ui, bench, out, Field::TopSlide, "Top slide from the cross slide", &set_over);
    }
    entry(ui, bench, out, Field::PassStep, "Depth of every pass", "none: equal areas of chip");
    heading(ui, if said.flank_feed { "Top slide" } else { "Cross slide" });
    ui.columns(2, |sides| {
        let (one, all) = ("One division of the dial", "Divisions in a turn");
        entry(
            &mut sides[0],
            bench,
            out,
            Field::DialDivision,
            one,
            &said.dial(units).division_in_words(),
        );
        let divisions = said.dial(units).divisions_per_turn.to_string();
        entry(&mut sides[1], bench, out, Field::DialDivisions, all, &divisions);
    });
    choice(
        ui,
        "The dial counts",
        said.dial(units).reads,
        &[(DialReads::Direct, "the slide's travel"), (DialReads::Diameter, "diameter")],
        |reads| out.push(Command::Edit(Edit::DialReads(reads))),
    );
    choice(
        ui,
        "As the slide goes away from you, its figures",
        said.dial(units).falls_inward,
        &[(false, "rise"), (true, "fall")],
        |falls| out.push(Command::Edit(Edit::DialFalls(falls))),
    );
    let entries = [Field::PassCount, Field::SpringPasses, Field::Speed];
    folded_entries(
        ui,
        bench,
        &entries,
        "more about passes",
        "Number of passes and speed",
        false,
        |ui| {
            entry(ui, bench, out, Field::PassCount, "Passes", "found from material and stiffness");
            entry(ui, bench, out, Field::SpringPasses, "Spring passes", "2");
            entry(ui, bench, out, Field::Speed, "Spindle, turns a minute", "60");
        },
    );
    super::remarks(ui, bench);
    let Some(cutting) = cutting else {
        super::nothing_yet(ui, bench, "Enter depth, tip flat and flanks, or design the nut first.");
        return;
    };
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        let cuts = cutting.plan.passes.iter().filter(|p| !p.spring).count();
        let spring = cutting.plan.passes.len() - cuts;
        line(ui, "passes", &format!("{cuts} and {spring} spring"), "derived");
        let bar = cutting.bar.map_or_else(
            || "held stiffly".to_owned(),
            |b| {
                let (wide, long) = (units.plain(b.diameter_mm, 1), units.plain(b.overhang_mm, 0));
                format!("{wide}, {long} out")
            },
        );
        line(
            ui,
            "bar (step 8)",
            &bar,
            if said.bar_diameter_mm.is_some() { "entered" } else { "usual" },
        );
        line(ui, "run-out, at least", &units.plain(cutting.plan.run_out_mm, 1), "estimated");
        let over = cutting.plan.dial_error_mm;
        line(ui, "dial's rounding", &small(over, units), "derived");
    });
    hint(ui, "Forces and bending are estimates, good to a third.");
    cautions(ui, &[About::Lathe, About::Wheels]);
}

/// The groove with a line for each pass, and the table to work by.
pub(super) fn middle(ui: &mut Ui, bench: &Bench, _: &mut Vec<Command>) {
    if bench.setting_out {
        return super::blank::middle(ui, bench);
    }
    let Some(cutting) = bench.findings().and_then(|f| f.cutting.as_ref()) else {
        super::empty(
            ui,
            "No passes yet",
            "They follow from the nut, or from depth, tip flat and a thread typed in at step 5.",
        );
        return;
    };
    let height = (0.3 * ui.available_height()).max(120.0);
    groove(ui, bench, cutting, height);
    ui.add_space(4.0);
    ScrollArea::vertical().id_salt("passes").auto_shrink(false).show(ui, |ui| {
        table(ui, bench, cutting);
    });
}

fn groove(ui: &mut Ui, bench: &Bench, cutting: &Cutting, height: f32) {
    let r = &cutting.request;
    // Each side as the tool's own, where there is one; else both alike.
    let slope = |side: &shop::ToolSide| side.angle_deg.value.to_radians().tan();
    let tool = bench.findings().and_then(|f| f.tool.as_ref());
    let slopes = tool.map_or([0.5 * r.flank_slope; 2], |t| [slope(&t.left), slope(&t.right)]);
    let at = |slope: f64, above_tip: f64| 0.5 * r.tip_flat_mm + slope * above_tip;
    let wide = at(slopes[0].max(slopes[1]), r.depth_mm);
    let f = Figure::new(
        ui,
        height,
        [-1.9 * wide, -r.depth_mm, 1.9 * wide, 0.25 * r.depth_mm],
        "the groove, pass by pass",
    );
    f.line(&[(-1.8 * wide, 0.0), (1.8 * wide, 0.0)], Stroke::new(1.5, f.p.ink));
    for pass in cutting.plan.passes.iter().filter(|p| !p.spring) {
        let d = pass.depth_mm;
        let [left, right] = slopes;
        let tip = at(0.0, 0.0);
        let outline = [(-at(left, d), 0.0), (-tip, -d), (tip, -d), (at(right, d), 0.0)];
        let last = (d - r.depth_mm).abs() < 1e-9;
        let colour = if last { f.p.accent } else { f.p.faint };
        f.line(&outline, Stroke::new(if last { 2.0 } else { 1.0 }, colour));
    }
    f.text((-1.85 * wide, 0.12 * r.depth_mm), Align2::LEFT_CENTER, "surface", f.p.faint);
}

fn table(ui: &mut Ui, bench: &Bench, cutting: &Cutting) {
    let units = bench.units();
    Grid::new("passes").num_columns(7).striped(true).spacing([20.0, 3.0]).show(ui, |ui| {
        heads(ui, &["pass", "takes", "depth", "dial", "dial shows", "force", "bends away"]);
        for pass in &cutting.plan.passes {
            row(ui, pass, units, cutting);
            ui.end_row();
        }
    });
}

fn row(ui: &mut Ui, pass: &Pass, units: form::Units, cutting: &Cutting) {
    let weak = |text: String| RichText::new(text).weak();
    ui.label(pass.number.to_string());
    if pass.spring {
        ui.label("spring");
    } else {
        ui.label(units.plain(pass.increment_mm, 3));
    }
    ui.label(units.plain(pass.depth_mm, 3));
    let d = pass.dial;
    ui.label(bold(match d.turns {
        0 => format!("{}", d.divisions),
        1 => format!("1 turn + {}", d.divisions),
        n => format!("{n} turns + {}", d.divisions),
    }));
    let unit = match cutting.request.dial.unit {
        shop::DialUnit::Mm => "mm",
        shop::DialUnit::Inch => "in",
    };
    ui.label(format!("{:.3} {unit}", d.shown));
    ui.label(weak(if pass.spring {
        String::new()
    } else {
        format!("{:.0} N", rough(pass.force_n))
    }));
    ui.label(weak(if pass.spring {
        String::new()
    } else {
        small_estimate(pass.bending_mm, units)
    }));
}
