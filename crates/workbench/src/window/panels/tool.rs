//! The tool and how it is ground.

use super::duty;
use crate::window::command::Command;
use crate::window::edit::Edit;
use crate::window::field::Field;
use crate::window::figure::Figure;
use crate::window::ground_view;
use crate::window::look::palette;
use crate::window::plot;
use crate::window::state::Bench;
use crate::window::widgets::{
    angle, card, cautions, choice, entry, example, folded_entries, heading, hint, length, line,
    minus, rough, shown, small_estimate,
};
use eframe::egui::{self, Align2, Stroke, Ui};
use form::Units;
use form::units::MM_PER_INCH;
use job::ToolFor;
use shop::{About, BoringBar, GroundTool, Stance, ToolForm, ToolSection, Turned};

pub(super) fn side(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    if !duty::permits(ui, bench, out) {
        return;
    }
    let units = bench.units();
    choice(
        ui,
        "The tool cuts",
        bench.job().sheets.tool_for,
        &[(ToolFor::Nut, "the nut (copies the screw's ridge)"), (ToolFor::Screw, "a new screw")],
        |what| out.push(Command::Edit(Edit::ToolFor(what))),
    );
    setting(ui, bench, out);
    let Some(tool) = bench.findings().and_then(|f| f.tool.as_ref()) else {
        super::remarks(ui, bench);
        return;
    };
    let role = |leading: bool| if leading { "leading" } else { "following" };
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        length(ui, "tip flat", tool.tip_flat_mm, units);
        let lost = bench.findings().and_then(|f| f.nut.as_ref()).map(|n| n.play_lost_to_lead_mm);
        if let Some(lost) = lost.filter(|mm| *mm > super::wheels::LEAST_LOST_MM)
            && tool.purpose == shop::ToolFor::Nut
        {
            let why = "The change wheels (step 9) do not cut the pitch exactly; the tip is this much \
                       wider to give back the play that takes.";
            let text = format!("+{}", units.plain(lost, 3));
            line(ui, "of it for the wheels", &text, "derived").on_hover_text(why);
        }
        let (left, right) = tool.angles_to_grind();
        angle(ui, &format!("left, {}", role(tool.left.leading)), left);
        angle(ui, &format!("right, {}", role(tool.right.leading)), right);
        angle(ui, "included angle", tool.included_angle_deg);
        let corner = match tool.corner_radius_mm {
            r if r > 0.0 => units.plain(r, 2),
            _ => "sharp".to_owned(),
        };
        line(ui, "corner radius", &corner, "derived");
        length(ui, "depth", tool.form_depth_mm, units);
        length(ui, "width at depth", tool.width_at_depth_mm, units);
    });
    heading(ui, "Clearances");
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        angle(ui, "lead angle, steepest", tool.lead_angle_deg);
        for side in [&tool.left, &tool.right] {
            let name = format!("{} side", role(side.leading));
            line(ui, &name, &format!("{:.1}°", side.clearance_deg), "assumed");
        }
        line(ui, "front", &format!("{:.1}°", tool.front.clearance_deg), "assumed");
        let high = format!("{} high", units.plain(tool.front.height_mm, 2));
        line(ui, "for faces up to", &high, "assumed");
    });
    hint(ui, &tool.clearances_hold_for().in_units(units));
    if let Ok(blank) = shop::round_blank(tool, units != Units::Mm) {
        let text = units.plain(blank.diameter_mm, 1);
        line(ui, "round blank", &text, "usual");
    }
    hint(ui, "Side clearances: the lead angle and 3 to 5° more or less (common practice).");
    boring_bar(ui, bench, out);
    super::ground::side(ui, bench, out);
    super::remarks(ui, bench);
    cautions(ui, &[About::Grinding]);
}

/// The largest bar that enters and lets the tool retract, or the one at hand, and how it bends.
fn boring_bar(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    if bench.job().sheets.tool_for != ToolFor::Nut {
        return;
    }
    let units = bench.units();
    let found = bench.findings().and_then(|f| f.boring_bar.as_deref());
    let usual = |f: fn(&BoringBar) -> f64| {
        found.map_or_else(String::new, |b| format!("largest usual: {}", units.plain(f(b), 1)))
    };
    heading(ui, "Boring bar");
    ui.columns(2, |sides| {
        let (at_hand, free) = ("Diameter of the bar", "Free length of the bar");
        entry(&mut sides[0], bench, out, Field::BoringBar, at_hand, &usual(|b| b.diameter_mm));
        let long = found.map_or_else(String::new, |b| units.plain(b.overhang_mm, 0));
        entry(&mut sides[1], bench, out, Field::Overhang, free, &long);
    });
    let carbide = bench.job().passes.carbide;
    choice(ui, "It is of", carbide, &[(false, "steel"), (true, "solid carbide")], |on| {
        out.push(Command::Edit(Edit::Carbide(on)));
    });
    let Some(bar) = found else {
        hint(ui, "None goes in: cut with a tap, or a bit ground from the solid.");
        return;
    };
    if let Some(nut) = bench.findings().and_then(|f| f.nut.as_deref()) {
        in_the_bore(ui, bar, nut);
    }
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        line(ui, "enters, at most", &units.plain(bar.largest_mm, 2), "derived");
        line(ui, "tip out of the bar", &units.plain(bar.projection_mm, 2), "derived");
        let ratio = format!("{:.1} diameters", bar.overhang_ratio);
        line(ui, "stands out", &ratio, "derived");
        let estimate = |q: form::Quantity| small_estimate(q.value, units);
        line(ui, "force", &format!("{:.0} N", rough(bar.force_n.value)), "estimated");
        line(ui, "bends away", &estimate(bar.radial_bending_mm), "estimated");
        line(ui, "bends down", &estimate(bar.downward_bending_mm), "estimated");
        line(ui, "play it leaves uncut", &estimate(bar.play_not_cut_mm), "estimated");
    });
    let pass = units.plain(shop::BarRequest::default().last_infeed_mm, 2);
    hint(
        ui,
        &format!(
            "Estimates, good to a third, for a finishing pass of {pass}; a spring pass gives back \
             what bending leaves."
        ),
    );
}

/// Bore, groove and bar along the axis, at full depth: what room there is behind the bar.
fn in_the_bore(ui: &mut Ui, bar: &BoringBar, nut: &shop::NutDesign) {
    let groove = 0.5 * nut.groove_diameter_mm.value;
    let bore = 0.5 * nut.bore_mm.value;
    let half = 0.5 * bar.diameter_mm;
    let room = [-2.6 * groove, -1.12 * groove, 2.6 * groove, 1.12 * groove];
    let f = Figure::new(ui, 120.0, room, "the boring bar in the bore, at full depth, to scale");
    let metal = f.p.doubt.gamma_multiply(0.18);
    f.circle((0.0, 0.0), 1.08 * groove, metal, Stroke::NONE);
    f.circle((0.0, 0.0), bore, f.p.card, Stroke::new(2.0, f.p.doubt));
    let at = groove - bar.projection_mm - half;
    f.circle((at, 0.0), half, f.p.accent.gamma_multiply(0.18), Stroke::new(1.5, f.p.accent));
    let edge = 0.12 * groove;
    f.line(&[(at + half - 0.1 * half, edge), (groove, edge)], Stroke::new(1.5, f.p.accent));
    f.line(&[(groove, edge), (groove, -0.4 * edge)], Stroke::new(1.5, f.p.accent));
    f.line(&[(at + half, -edge), (groove, -0.4 * edge)], Stroke::new(1.5, f.p.accent));
    f.text((1.2 * groove, 0.0), Align2::LEFT_CENTER, "tip, at full depth", f.p.accent);
    f.text((1.2 * groove, 0.75 * groove), Align2::LEFT_CENTER, "nut", f.p.doubt);
    f.text((-1.2 * groove, 0.0), Align2::RIGHT_CENTER, "room behind the bar", f.p.faint);
}

/// Steel and carbide as they are sold, mm: round blanks, square bits, thickness of inserts.
fn sections(units: Units) -> Vec<ToolSection> {
    let sizes = |metric: &[f64], sixteenths: &[f64]| -> Vec<f64> {
        match units {
            Units::Mm => metric.to_vec(),
            Units::Inch | Units::Thou => {
                sixteenths.iter().map(|n| n * MM_PER_INCH / 16.0).collect()
            }
        }
    };
    let round = sizes(&[3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0], &[2.0, 3.0, 4.0, 5.0, 6.0, 8.0]);
    let square = sizes(&[4.0, 5.0, 6.0, 8.0, 10.0, 12.0], &[3.0, 4.0, 5.0, 6.0, 8.0]);
    let insert = sizes(&[2.4, 3.2, 4.0, 4.8], &[1.5, 2.0, 2.5, 3.0]);
    let round = round.into_iter().map(|diameter_mm| ToolSection::Round { diameter_mm });
    let square = square.into_iter().map(|side_mm| ToolSection::Square { side_mm });
    let insert = insert.into_iter().map(|height_mm| ToolSection::Insert { height_mm });
    round.chain(square).chain(insert).collect()
}

/// What it is ground from: the clearances hold for that.
fn ground_from(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let (now, units) = (bench.job().tool.section, bench.units());
    let name = |section: Option<ToolSection>| {
        section.map_or_else(|| "what is recommended".to_owned(), |s| s.words().in_units(units))
    };
    egui::ComboBox::from_label("Ground from").selected_text(name(now)).show_ui(ui, |ui| {
        for section in std::iter::once(None).chain(sections(units).into_iter().map(Some)) {
            if ui.selectable_label(now == section, name(section)).clicked() && now != section {
                out.push(Command::Edit(Edit::ToolSection(section)));
            }
        }
    });
}

/// How it is ground and set: the form is corrected for it.
fn setting(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let (said, units) = (bench.job().tool, bench.units());
    let entries = [Field::TopRake, Field::AboveCentre];
    folded_entries(
        ui,
        bench,
        &entries,
        "how the tool is set",
        "How it is ground and set",
        false,
        |ui| {
            choice(
                ui,
                "Rake face",
                said.turned,
                &[
                    (Turned::Square, "square to the axis"),
                    (Turned::ToLeadAngle, "turned to the lead angle"),
                ],
                |turned| out.push(Command::Edit(Edit::ToolTurned(turned))),
            );
            ground_from(ui, bench, out);
            entry(ui, bench, out, Field::TopRake, "Top rake", "0°");
            entry(
                ui,
                bench,
                out,
                Field::AboveCentre,
                "Above centre, minus is below",
                example(units, ["0 mm", "0 in", "0 thou"]),
            );
            choice(
                ui,
                "It cuts",
                said.stance,
                &[
                    (Stance::Near, "on the near side"),
                    (Stance::FarUpsideDown, "on the far side, upside down"),
                    (Stance::FarReverse, "on the far side, spindle in reverse"),
                ],
                |stance| out.push(Command::Edit(Edit::ToolStance(stance))),
            );
        },
    );
}

/// The cutting edge, tip up, as the template shows it.
pub(super) fn middle(ui: &mut Ui, bench: &Bench, _: &mut Vec<Command>) {
    let Some(tool) = bench.findings().and_then(|f| f.tool.as_ref()) else {
        super::empty(ui, "No tool yet", "It follows from the form and from what the thread does.");
        return;
    };
    const LOW: f32 = 300.0;
    if ui.available_height() < LOW {
        // Large letters in a small window: drawing and words one after the other.
        egui::ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            drawing(ui, bench, tool, None, 0.75 * LOW);
            hint(ui, &tool.view);
        });
        return;
    }
    // Which side is which stands under the drawing it is about.
    egui::Panel::bottom("how the tool is seen")
        .frame(egui::Frame::new().inner_margin(egui::Margin { top: 6, ..egui::Margin::ZERO }))
        .show_separator_line(false)
        .show(ui, |ui| hint(ui, &tool.view));
    match (bench.findings().and_then(|f| f.ground.as_ref()), &bench.ground) {
        (Some(ground), Some(seen)) => {
            // Columns would take the height of the whole page.
            ui.allocate_ui(ui.available_size(), |ui| {
                ui.columns(2, |sides| {
                    let ground = Some(&ground.found.tool);
                    drawing(&mut sides[0], bench, tool, ground, f32::INFINITY);
                    ground_view::show(&mut sides[1], seen);
                });
            });
        }
        _ => drawing(ui, bench, tool, None, f32::INFINITY),
    }
}

/// The edge, as high as there is room, at most `most` points.
fn drawing(ui: &mut Ui, bench: &Bench, tool: &ToolForm, ground: Option<&GroundTool>, most: f32) {
    let units = bench.units();
    let (mut x0, mut x1, mut y0, mut y1) = (f64::MAX, f64::MIN, f64::MAX, f64::MIN);
    for [x, y] in &tool.outline_mm {
        (x0, x1, y0, y1) = (x0.min(*x), x1.max(*x), y0.min(*y), y1.max(*y));
    }
    if !(x1 > x0 && y1 > y0) {
        return;
    }
    let (w, h) = (x1 - x0, y1 - y0);
    let depth = tool.form_depth_mm.value;
    if ground.is_some() {
        let p = palette(ui);
        plot::legend(ui, &[("as drawn", p.accent), ("as ground", p.doubt)]);
    }
    let height = most.min(ui.available_height() - 4.0);
    let said = |side: &shop::ToolSide| {
        let place = if side.leading { "leading side" } else { "following side" };
        let clearance = minus(&format!("ground {:.1}° clear", side.clearance_deg));
        [shown(Some(side.angle_deg), true, units), place.to_owned(), clearance]
    };
    let sides = [said(&tool.left), said(&tool.right)];
    let deep = shown(Some(tool.form_depth_mm), false, units).replace(" ± ", "\n± ");
    // Words take the room they take; what is left is the form's. Where that is too little, and beside
    // its picture, the numbers stand at the right alone.
    const LEAST_FORM: f64 = 170.0;
    let points = |words: &[String]| {
        let wide = |text: &String| {
            let font = egui::FontId::proportional(12.5);
            ui.painter().layout_no_wrap(text.clone(), font, egui::Color32::WHITE).size().x
        };
        f64::from(words.iter().map(wide).fold(0.0, f32::max))
    };
    let wide = Figure::free(ui.available_width());
    let (at_left, at_right) = (points(&sides[0]) + 4.0, points(&sides[1]) + 14.0);
    let last = points(std::slice::from_ref(&deep)) + 10.0;
    let angles_fit = wide - at_left - at_right - last > LEAST_FORM;
    let besides = match ground {
        Some(_) => [0.0; 3],
        None if angles_fit => [at_left, at_right, last],
        None => [0.0, 14.0, last],
    };
    let left_over = (wide - besides.iter().sum::<f64>()).max(0.15 * wide) / w;
    let scale = left_over.min(Figure::free(height) / (1.35 * h));
    let [before, behind, last] = besides.map(|p| p / scale + 0.05 * w);
    let room = [x0 - before, y0 - 0.05 * h, x1 + behind + last, y1 + 0.3 * h];
    let f = Figure::new(ui, height, room, "cutting edge of the tool, tip up");
    let outline: Vec<(f64, f64)> = tool.outline_mm.iter().map(|p| (p[0], p[1])).collect();
    f.below(&outline, y0, f.p.accent.gamma_multiply(0.15));
    f.line(&outline, Stroke::new(2.5, f.p.accent));
    let middle = 0.5 * (x0 + x1);
    if let Some(ground) = ground {
        let flat = 0.5 * ground.tip_flat_mm.value;
        let out = |deg: f64| flat + depth * deg.to_radians().tan();
        let (left, right) = (out(ground.left_deg.value), out(ground.right_deg.value));
        let edge = [(-left, -depth), (-flat, 0.0), (flat, 0.0), (right, -depth)];
        let at = edge.map(|(x, y)| (middle + x, y1 + y));
        f.line(&at, Stroke::new(1.5, f.p.doubt));
    }
    // Past the words that stand on it.
    let (low, row) = (y1 - depth, 22.0 / f64::from(f.scale));
    for (from, to) in [(y0, low), (low + row, y1 + 0.12 * h)] {
        f.dashed(&[(middle, from), (middle, to)], Stroke::new(1.0, f.p.faint));
    }
    let flat = 0.5 * tool.tip_flat_mm.value;
    f.across(
        middle - flat,
        middle + flat,
        y1 + 0.16 * h,
        &format!("tip {}", shown(Some(tool.tip_flat_mm), false, units)),
    );
    let half = 0.5 * tool.width_at_depth_mm.value;
    f.across(
        middle - half,
        middle + half,
        y1 - depth,
        &shown(Some(tool.width_at_depth_mm), false, units),
    );
    if ground.is_some() {
        return;
    }
    f.upright(y1 - depth, y1, x1 + behind, &deep);
    let beside = |x: f64, align: Align2, words: &[String; 3]| {
        for (row, text) in words.iter().enumerate() {
            let y = y0 + 0.62 * h - 17.0 * row as f64 / f64::from(f.scale);
            f.text((x, y), align, text, if row == 0 { f.p.ink } else { f.p.faint });
        }
    };
    if angles_fit {
        beside(x0 - 0.04 * w, Align2::RIGHT_CENTER, &sides[0]);
        beside(x1 - 0.02 * w, Align2::LEFT_CENTER, &sides[1]);
    }
}
