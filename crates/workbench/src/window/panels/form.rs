//! The axial section with its uncertainties.

use super::typed_form;
use crate::cli::{chosen, doubt, form_lines, gained, straight_lines, words_of};
use crate::window::canvas::legend;
use crate::window::command::Command;
use crate::window::look::palette;
use crate::window::overlay::residual_limit_px;
use crate::window::state::{Bench, Shown, Strip};
use crate::window::widgets::{bold, bullets, card, choice, heading, hint, line, sentence, shown};
use eframe::egui::{self, RichText, Sense, Ui, vec2};
use fit::Measurement;
use form::Units;

pub(super) fn side(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let found = bench.findings().and_then(|f| f.measurement.as_ref());
    let Some(m) = found else {
        typed_form::show(ui, bench, out);
        super::remarks(ui, bench);
        return;
    };
    if bench.findings().is_some_and(|f| f.recalled) {
        hint(
            ui,
            "Measured when the picture was last there. 2 Picture says where it was looked for.",
        );
    } else {
        over_the_picture(ui, bench, m, out);
    }
    super::remarks(ui, bench);
    table(ui, m, bench.units());
    hint(ui, "± is one standard uncertainty (k = 1); twice it covers about 95 %.");
    remedies(ui, m, bench.units());
    budget(ui, m, bench.units());
    if bench.job().bar.width_mm.is_some_and(|q| q.u == 0.0) {
        hint(ui, "The width of the bar is taken as exact: how sure it is, is said at step 3.");
    }
    straight(ui, m, bench.units());
}

/// What is drawn over the picture and under it.
fn over_the_picture(ui: &mut Ui, bench: &Bench, m: &Measurement, out: &mut Vec<Command>) {
    choice(
        ui,
        "Over the picture",
        bench.shown,
        &[(Shown::Shadow, "what the shadow shows"), (Shown::Section, "what is there")],
        |s| out.push(Command::Show(s)),
    );
    match bench.shown {
        Shown::Shadow => {
            legend(ui, residual_limit_px(m), m.px_per_mm.value, bench.units());
        }
        Shown::Section => hint(
            ui,
            "The section through the axis: what a tool must be ground to. The shadow lies outside \
             it, because the thread winds and the camera looks past its flanks.",
        ),
    }
    choice(
        ui,
        "Under the picture",
        bench.strip,
        &[
            (Strip::Residuals, "flank by flank"),
            (Strip::Teeth, "tooth by tooth"),
            (Strip::Nothing, "nothing"),
        ],
        |s| out.push(Command::Strip(s)),
    );
}

/// What would make the numbers surer, the greatest gain first.
fn remedies(ui: &mut Ui, m: &Measurement, units: Units) {
    let remedies = m.remedies();
    let Some(first) = remedies.first() else { return };
    heading(ui, "What would help most");
    card(ui, |ui| {
        ui.label(sentence(&first.advice));
        for gain in first.gains.iter().take(4) {
            hint(ui, &gained(gain, units));
        }
    });
    let rest: Vec<String> = remedies.iter().skip(1).take(3).map(|r| sentence(&r.advice)).collect();
    bullets(ui, &rest);
}

fn table(ui: &mut Ui, m: &Measurement, units: Units) {
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        for (name, q, angle) in form_lines(&m.form) {
            let source = q.map_or_else(String::new, |q| q.source.to_string());
            line(ui, name, &shown(q, angle, units), &source);
        }
        ui.separator();
        match &m.starts {
            Some(s) => line(ui, "starts", &s.value.to_string(), &chosen(s.probability)),
            None => line(ui, "starts", "cannot tell", ""),
        };
        match &m.hand {
            Some(h) => line(ui, "hand", &h.value.to_string(), &chosen(h.probability)),
            None => line(ui, "hand", "cannot tell", ""),
        };
        let v = &m.view;
        match v.camera_distance_mm {
            Some(d) => line(ui, "camera", &shown(Some(d), false, units), &d.source.to_string()),
            None if v.perspective => line(ui, "camera", "cannot tell", ""),
            None => line(ui, "camera", "parallel light", ""),
        };
        if let Some(t) = v.tilt_deg {
            line(ui, "tilt of the axis", &shown(Some(t), true, units), &t.source.to_string());
        }
    });
}

/// What straight lines along the shadow would have told.
fn straight(ui: &mut Ui, m: &Measurement, units: Units) {
    let lines = straight_lines(m);
    if lines.is_empty() {
        return;
    }
    heading(ui, "What the shadow alone would have told you");
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        for (name, q, angle) in form_lines(&m.form) {
            let seen = lines.iter().find(|(n, _)| *n == name).and_then(|(_, v)| *v);
            let (Some(seen), Some(q)) = (seen, q) else { continue };
            let off = seen - q.value;
            let (value, off) = if angle {
                (format!("{seen:.2}°"), format!("{off:+.2}°"))
            } else {
                let off = off / units.in_mm();
                let decimals = match units {
                    Units::Mm => 3,
                    Units::Inch => 4,
                    Units::Thou => 1,
                };
                (units.plain(seen, 3), format!("{off:+.decimals$}"))
            };
            line(ui, name, &value, &off);
        }
    });
    hint(
        ui,
        "Straight lines laid along the outline, scale straight off the bar; the difference last.",
    );
}

/// What the uncertainty is made of, as bars, and what would make it smaller.
fn budget(ui: &mut Ui, m: &Measurement, units: Units) {
    if m.budget.is_empty() {
        return;
    }
    heading(ui, "Where the uncertainty comes from");
    let p = palette(ui);
    let mut names: Vec<&str> = Vec::new();
    for b in &m.budget {
        // The lead is the pitch over again.
        if !names.contains(&b.quantity.as_str()) && b.quantity != "lead_mm" {
            names.push(&b.quantity);
        }
    }
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 2.0;
        ui.spacing_mut().interact_size.y = 17.0;
        for name in names {
            ui.label(bold(words_of(name)));
            let mut lines: Vec<_> = m.budget.iter().filter(|b| b.quantity == name).collect();
            lines.sort_by(|a, b| b.u.total_cmp(&a.u));
            let most = lines.first().map_or(1.0, |b| b.u).max(1e-12);
            for b in lines.into_iter().filter(|b| b.u > 0.03 * most) {
                let u = doubt(name, b.u, units);
                let row = ui.horizontal(|ui| {
                    let (rect, _) = ui.allocate_exact_size(vec2(90.0, 10.0), Sense::hover());
                    let mut bar = rect;
                    bar.set_width(rect.width() * (b.u / most) as f32);
                    ui.painter().rect_filled(rect, 1.0, p.rule.gamma_multiply(0.6));
                    ui.painter().rect_filled(bar, 1.0, p.accent);
                    ui.add_sized(vec2(66.0, 16.0), egui::Label::new(RichText::new(u).small()));
                    ui.add(egui::Label::new(RichText::new(&b.source).small()).wrap());
                });
                if let Some(remedy) = &b.remedy {
                    row.response.on_hover_text(sentence(remedy));
                }
            }
        }
    });
}
