//! The ground tool, checked by a picture of itself.

use crate::window::command::Command;
use crate::window::edit::Edit;
use crate::window::field::Field;
use crate::window::look::palette;
use crate::window::state::{Asked, Bench};
use crate::window::widgets::{
    bold, card, choice, entry, example, folded_entries, heads, hint, length, line, shown,
};
use eframe::egui::{Grid, RichText, Ui};
use form::{Quantity, Units};
use job::Ground;
use shop::ToolFor;

pub(super) fn side(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let said = &bench.job().ground;
    let open = said.picture.is_some();
    let entries = [Field::GroundBar];
    folded_entries(
        ui,
        bench,
        &entries,
        "the ground tool",
        "The tool as ground, by its picture",
        open,
        |ui| {
            if bench
                .findings()
                .and_then(|f| f.tool.as_ref())
                .is_none_or(|t| t.purpose != ToolFor::Nut)
            {
                hint(ui, "A tool for the nut can be checked: what it does to the play is known.");
                return;
            }
            ui.horizontal_wrapped(|ui| {
                let words = if open { "Another picture …" } else { "Choose its picture …" };
                if ui.button(words).clicked() {
                    out.push(Command::Ask(Asked::Ground));
                }
                if ui.button("Type its path …").clicked() {
                    out.push(Command::TypePath(Asked::Ground));
                }
                if open && ui.button("No picture").clicked() {
                    out.push(Command::Edit(Edit::GroundPicture(None)));
                }
            });
            if let Some(picture) = &said.picture {
                let name = picture.path.file_name().map(|n| n.to_string_lossy().into_owned());
                hint(ui, &name.unwrap_or_default());
            } else {
                hint(
                    ui,
                    "Or drop it here. The tool against the light, looked at square on its rake face, \
                 tip and flanks free; a bar of known width beside it at the same height.",
                );
            }
            entry(
                ui,
                bench,
                out,
                Field::GroundBar,
                "Width of the bar beside it",
                example(
                    bench.units(),
                    ["3.000 ± 0.002 mm", "0.1181 ± 0.0001 in", "118.1 ± 0.1 thou"],
                ),
            );
            choice(
                ui,
                "It is seen",
                said.from_below,
                &[(false, "on its rake face"), (true, "from below")],
                |on| out.push(Command::Edit(Edit::FromBelow(on))),
            );
            if let Some(ground) = bench.findings().and_then(|f| f.ground.as_ref()) {
                found(ui, bench, ground);
            }
        },
    );
}

/// An error to the digits its uncertainty leaves it, which stands beside what was found.
fn signed(q: Quantity, angle: bool, units: Units) -> String {
    let q = if angle { q } else { units.of_mm(q) };
    let (unit, most) = match angle {
        true => ("°".to_owned(), 3),
        false => (format!(" {}", units.symbol()), units.finest(q)),
    };
    let decimals = q.decimals(most);
    // Rounded first, so that nought has no sign.
    let scale = 10f64.powi(decimals as i32);
    let value = (q.value * scale).round() / scale + 0.0;
    if value == 0.0 {
        format!("{value:.decimals$}{unit}")
    } else {
        format!("{value:+.decimals$}{unit}")
    }
}

fn found(ui: &mut Ui, bench: &Bench, ground: &Ground) {
    let units = bench.units();
    let (tool, check) = (&ground.found.tool, &ground.check);
    card(ui, |ui| {
        Grid::new("ground").num_columns(3).spacing([10.0, 3.0]).show(ui, |ui| {
            heads(ui, &["", "ground", "off by"]);
            let mut row = |name: &str, got: Quantity, off: Quantity, angle: bool| {
                ui.label(name);
                ui.label(bold(shown(Some(got), angle, units)));
                // What lies within two standard uncertainties is no error that was seen.
                let seen = off.value.abs() > 2.0 * off.u;
                let text = RichText::new(signed(off, angle, units));
                ui.label(if seen { text.color(palette(ui).doubt) } else { text });
                ui.end_row();
            };
            row("left side", tool.left_deg, check.left_error_deg, true);
            row("right side", tool.right_deg, check.right_error_deg, true);
            row("tip flat", tool.tip_flat_mm, check.tip_flat_error_mm, false);
        });
        let corner = match tool.corner_radius_mm {
            r if r > 0.0 => units.plain(r, 2),
            _ => "sharp".into(),
        };
        line(ui, "corner radius", &corner, "measured");
        length(ui, "play with it", check.play_mm, units);
        length(ui, "change of play", check.play_change_mm, units);
        if let Some(mm) = check.corrected_infeed_mm
            && check.play_change_mm.value.abs() > 2.0 * check.play_change_mm.u
        {
            line(ui, "infeed instead", &units.plain(mm, 3), "derived");
        }
    });
}
