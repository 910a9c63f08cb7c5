//! The nut and the tool that cuts it.

use crate::window::command::{Command, Edit};
use crate::window::look::palette;
use crate::window::state::{Bench, Field};
use crate::window::widgets::{bold, card, choice, entry, heading, hint, line, remark, shown};
use eframe::egui::{self, Pos2, Sense, Shape, Stroke, Ui, pos2, vec2};
use form::Quantity;
use job::{Duty, ToolFor};
use shop::ToolForm;

pub(super) fn show(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let job = bench.job();
    let p = palette(ui);
    let ask = |ui: &mut Ui, out: &mut Vec<Command>| {
        for duty in Duty::ALL {
            if ui.radio(job.duty == Some(duty), format!("It {}", duty.sentence())).clicked() {
                out.push(Command::Edit(Edit::Duty(duty)));
            }
        }
    };
    match job.duty.filter(|d| d.refusal().is_none()) {
        // Answered, the question makes room.
        Some(duty) => {
            let short = duty.sentence().split(';').next().unwrap_or_default();
            egui::CollapsingHeader::new(format!("The thread {short}"))
                .id_salt("duty")
                .show(ui, |ui| ask(ui, out));
        }
        None => {
            ui.label(bold("What does the thread do?"));
            ask(ui, out);
        }
    }
    if let Some(refusal) = job.duty.and_then(Duty::refusal) {
        remark(ui, p.bad, &refusal);
        return;
    }
    let Some(findings) = bench.findings() else {
        super::nothing_yet(ui, bench, "There is no form to design from yet.");
        return;
    };
    if job.duty.is_none() {
        remark(ui, p.doubt, "Say what the thread does: for some uses nothing is designed here.");
        return;
    }
    let units = bench.units();
    choice(
        ui,
        "The tool cuts",
        job.sheets.tool_for,
        &[(ToolFor::Nut, "the nut (copies the screw's ridge)"), (ToolFor::Screw, "a new screw")],
        |what| out.push(Command::Edit(Edit::ToolFor(what))),
    );
    if job.sheets.tool_for == ToolFor::Nut {
        entry(ui, bench, out, Field::Play, "Axial play of the nut", "0.08 mm");
        hint(ui, "Common practice for a small nut: 0.05 to 0.10 mm.");
    }
    let length = |q: Quantity| (units.show(q), q.source.to_string());
    let put = |ui: &mut Ui, name: &str, q: Quantity| {
        let (value, source) = length(q);
        line(ui, name, &value, &source);
    };
    if let (ToolFor::Nut, Some(nut)) = (job.sheets.tool_for, &findings.nut) {
        heading(ui, "Nut");
        card(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 3.0;
            put(ui, "bore", nut.bore_mm);
            put(ui, "groove diameter", nut.groove_diameter_mm);
            put(ui, "infeed, radial", nut.infeed_mm);
            put(ui, "axial play", nut.axial_play_mm);
            put(ui, "radial clearance", nut.radial_clearance_mm);
        });
    }
    let Some(tool) = &findings.tool else {
        super::nothing_yet(ui, bench, "The tool could not be designed; see above.");
        return;
    };
    heading(ui, "Tool");
    drawing(ui, tool);
    hint(ui, &tool.view);
    let angle = |q: Quantity| shown(Some(q), true, units);
    let role = |leading: bool| if leading { "leading" } else { "following" };
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        put(ui, "tip flat", tool.tip_flat_mm);
        line(ui, "left side", &angle(tool.left.angle_deg), role(tool.left.leading));
        line(ui, "right side", &angle(tool.right.angle_deg), role(tool.right.leading));
        let source = tool.included_angle_deg.source.to_string();
        line(ui, "included angle", &angle(tool.included_angle_deg), &source);
        put(ui, "depth", tool.form_depth_mm);
        put(ui, "width at depth", tool.width_at_depth_mm);
        let source = tool.lead_angle_deg.source.to_string();
        line(ui, "lead angle", &angle(tool.lead_angle_deg), &source);
        for side in [&tool.left, &tool.right] {
            let name = format!("clearance, {}", role(side.leading));
            line(ui, &name, &format!("{:.1}°", side.clearance_deg), "derived");
        }
        line(ui, "clearance, front", &format!("{:.1}°", tool.front.clearance_deg), "assumed");
    });
}

/// The cutting edge, tip up, as the template shows it.
fn drawing(ui: &mut Ui, tool: &ToolForm) {
    let p = palette(ui);
    let (rect, response) =
        ui.allocate_exact_size(vec2(ui.available_width(), 150.0), Sense::hover());
    response.widget_info(|| {
        egui::WidgetInfo::labeled(egui::Role::Image, true, "cutting edge of the tool, tip up")
    });
    let painter = ui.painter_at(rect);
    painter.rect(rect, 3.0, p.card, Stroke::new(1.0, p.rule), egui::StrokeKind::Inside);
    let (mut x0, mut x1, mut y0, mut y1) = (f64::MAX, f64::MIN, f64::MAX, f64::MIN);
    for [x, y] in &tool.outline_mm {
        (x0, x1, y0, y1) = (x0.min(*x), x1.max(*x), y0.min(*y), y1.max(*y));
    }
    if !(x1 > x0 && y1 > y0) {
        return;
    }
    let scale =
        (0.8 * f64::from(rect.width()) / (x1 - x0)).min(0.8 * f64::from(rect.height()) / (y1 - y0));
    let centre = rect.center();
    let at = |x: f64, y: f64| {
        pos2(
            centre.x + (scale * (x - 0.5 * (x0 + x1))) as f32,
            centre.y - (scale * (y - 0.5 * (y0 + y1))) as f32,
        )
    };
    let outline: Vec<Pos2> = tool.outline_mm.iter().map(|[x, y]| at(*x, *y)).collect();
    let mut body = outline.clone();
    if let (Some(first), Some(last)) = (outline.first(), outline.last()) {
        body.push(pos2(last.x, rect.bottom() - 1.0));
        body.push(pos2(first.x, rect.bottom() - 1.0));
    }
    painter.add(Shape::convex_polygon(body, p.accent.gamma_multiply(0.15), Stroke::NONE));
    painter.add(Shape::line(outline, Stroke::new(2.0, p.accent)));
    let font = egui::FontId::proportional(12.5);
    let words = |leading: bool| if leading { "leads" } else { "follows" };
    let left = rect.left_center() + vec2(10.0, 0.0);
    painter.text(left, egui::Align2::LEFT_CENTER, words(tool.left.leading), font.clone(), p.faint);
    let right = rect.right_center() - vec2(10.0, 0.0);
    painter.text(right, egui::Align2::RIGHT_CENTER, words(tool.right.leading), font, p.faint);
}
