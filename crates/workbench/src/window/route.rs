//! The route card: the order of the work along the top, with what each step has come to.

use super::as_typed;
use super::command::Command;
use super::field::Field;
use super::look::{BOLD, Palette, palette};
use super::refused;
use super::stage::{Stage, Standing};
use super::state::Bench;
use super::widgets::minus;
use eframe::egui::{
    self, Align2, FontFamily, FontId, Painter, Pos2, Rect, Role, Sense, Stroke, StrokeKind, Ui,
    WidgetInfo, pos2, vec2,
};

/// Height of the card.
pub const HEIGHT: f32 = 54.0;

/// Room for number, mark and margins in a step.
const AROUND: f32 = 44.0;
/// Size of a result, and of a name where there is little room, points.
const SMALL: f32 = 12.5;
/// Letters of a width that fit beside the shape of the bar.
const ROOM_BESIDE_SHAPE: usize = 7;
/// Least room for what stands in a step.
const LEAST_TEXT: f32 = 56.0;

/// Shows the card: every step as wide as its name needs, what is left shared out.
pub fn show(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let font = FontId::new(14.0, FontFamily::Name(BOLD.into()));
    let needs = Stage::ALL.map(|s| {
        let name = ui.painter().layout_no_wrap(s.name().into(), font.clone(), egui::Color32::WHITE);
        name.size().x.max(LEAST_TEXT) + AROUND
    });
    let sum: f32 = needs.iter().sum();
    let room = ui.available_width();
    if sum > room {
        return narrow(ui, bench, out);
    }
    let spare = ((room - sum) / needs.len() as f32).max(0.0);
    ui.spacing_mut().item_spacing.x = 0.0;
    ui.horizontal(|ui| {
        for (stage, need) in Stage::ALL.into_iter().zip(needs) {
            if step(ui, bench, stage, need + spare, false) {
                out.push(Command::GoTo(stage));
            }
        }
    });
}

/// The card where there is little room, or large text: names under their numbers, results left to the
/// tool tip.
fn narrow(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let needs = Stage::ALL.map(|s| {
        let font = FontId::proportional(SMALL);
        ui.painter().layout_no_wrap(s.name().into(), font, egui::Color32::WHITE).size().x + 8.0
    });
    let (sum, room): (f32, f32) = (needs.iter().sum(), ui.available_width());
    let spare = ((room - sum) / needs.len() as f32).max(0.0);
    let shrink = (room / sum).min(1.0);
    ui.spacing_mut().item_spacing.x = 0.0;
    ui.horizontal(|ui| {
        for (stage, need) in Stage::ALL.into_iter().zip(needs) {
            if step(ui, bench, stage, need * shrink + spare, true) {
                out.push(Command::GoTo(stage));
            }
        }
    });
}

fn step(ui: &mut Ui, bench: &Bench, stage: Stage, width: f32, narrow: bool) -> bool {
    let p = palette(ui);
    let standing = bench.standing(stage);
    let here = bench.stage == stage;
    let (rect, response) = ui.allocate_exact_size(vec2(width, HEIGHT), Sense::click());
    response.widget_info(|| {
        WidgetInfo::selected(
            Role::Tab,
            true,
            here,
            format!("{} {}: {}", stage.number(), stage.name(), standing.words()),
        )
    });
    let painter = ui.painter_at(rect);
    if here {
        painter.rect_filled(rect, 0.0, p.card);
        let foot = Rect::from_min_max(pos2(rect.left(), rect.bottom() - 3.0), rect.max);
        painter.rect_filled(foot, 0.0, p.accent);
    } else if response.hovered() {
        painter.rect_filled(rect, 0.0, p.card);
    }
    if response.has_focus() {
        let stroke = Stroke::new(2.0, p.accent);
        painter.rect_stroke(rect.shrink(2.0), 2.0, stroke, StrokeKind::Inside);
    }
    painter.vline(rect.right() - 0.5, rect.y_range(), Stroke::new(1.0, p.rule));
    let at = match narrow {
        true => pos2(rect.center().x, rect.top() + 17.0),
        false => pos2(rect.left() + 17.0, rect.center().y),
    };
    mark(&painter, at, bench, stage, here, p);
    let ink = if standing == Standing::Waiting && !here { p.faint } else { p.ink };
    let text_left = rect.left() + 36.0;
    let result = result(bench, stage);
    if narrow {
        let font = FontId::proportional(SMALL);
        let name = shortened(&painter, stage.name(), &font, rect.width() - 4.0);
        let at = pos2(rect.center().x, rect.bottom() - 12.0);
        painter.text(at, Align2::CENTER_CENTER, name, font, ink);
        return told(response, stage, standing, &result);
    }
    let name_y = if result.is_empty() { rect.center().y } else { rect.center().y - 9.0 };
    let room = rect.right() - text_left - 5.0;
    let bold = FontId::new(14.0, FontFamily::Name(BOLD.into()));
    let name = shortened(&painter, stage.name(), &bold, room);
    painter.text(pos2(text_left, name_y), Align2::LEFT_CENTER, name, bold, ink);
    if !result.is_empty() {
        let small = FontId::proportional(SMALL);
        let text = shortened(&painter, &result, &small, room);
        let at = pos2(text_left, rect.center().y + 9.0);
        painter.text(at, Align2::LEFT_CENTER, text, small, p.faint);
    }
    told(response, stage, standing, &result)
}

/// What a step is about, when the pointer rests on it; whether it was pressed.
fn told(response: egui::Response, stage: Stage, standing: Standing, result: &str) -> bool {
    response
        .on_hover_ui(|ui| {
            ui.label(stage.question());
            ui.label(egui::RichText::new(standing.words()).weak());
            if !result.is_empty() {
                ui.label(result);
            }
        })
        .clicked()
}

/// Number in a circle, and a sign for how far the step has come: form, not colour, tells them apart.
fn mark(painter: &Painter, at: Pos2, bench: &Bench, stage: Stage, here: bool, p: &Palette) {
    let standing = bench.standing(stage);
    let colour = match standing {
        Standing::Waiting => p.faint,
        // An ordinary question is nothing wrong.
        Standing::Asks if bench.only_asks(stage) => p.accent,
        Standing::Asks => p.bad,
        Standing::Doubtful => p.doubt,
        Standing::Done => p.good,
    };
    let ring = if here { p.accent } else { colour };
    painter.circle_stroke(at, 11.0, Stroke::new(1.6, ring));
    painter.text(
        at,
        Align2::CENTER_CENTER,
        stage.number().to_string(),
        FontId::new(13.0, FontFamily::Name(BOLD.into())),
        if standing == Standing::Waiting { p.faint } else { p.ink },
    );
    let corner = at + vec2(9.5, 8.5);
    match standing {
        Standing::Waiting => {}
        Standing::Done => {
            painter.circle_filled(corner, 6.5, p.good);
            let stroke = Stroke::new(1.8, p.sheet);
            let points = [corner + vec2(-3.0, 0.2), corner + vec2(-0.8, 2.5)];
            painter.line_segment(points, stroke);
            painter.line_segment([points[1], corner + vec2(3.2, -2.4)], stroke);
        }
        Standing::Doubtful | Standing::Asks => {
            painter.circle_filled(corner, 6.5, colour);
            let sign = if standing == Standing::Asks { "?" } else { "!" };
            painter.text(
                corner,
                Align2::CENTER_CENTER,
                sign,
                FontId::new(11.0, FontFamily::Name(BOLD.into())),
                p.sheet,
            );
        }
    }
}

fn shortened(painter: &Painter, text: &str, font: &FontId, room: f32) -> String {
    let width =
        |t: &str| painter.layout_no_wrap(t.to_owned(), font.clone(), egui::Color32::WHITE).size().x;
    if width(text) <= room {
        return text.to_owned();
    }
    let mut short: Vec<char> = text.chars().collect();
    while short.pop().is_some() {
        let candidate: String = short.iter().collect::<String>().trim_end().to_owned() + "…";
        if width(&candidate) <= room {
            return candidate;
        }
    }
    String::new()
}

/// A length to the digits it deserves, its ± left to the page: there is little room here.
fn brief(q: form::Quantity, units: form::Units) -> String {
    if !(q.value.is_finite() && q.u.is_finite()) {
        return "cannot tell".to_owned();
    }
    let scaled = units.of_mm(q);
    let decimals = scaled.decimals(units.finest(scaled));
    format!("{:.decimals$} {}", scaled.value, units.symbol())
}

/// A designation without the remark behind it.
#[must_use]
pub fn short(designation: &str) -> &str {
    designation.split(" (form ").next().unwrap_or(designation)
}

/// A length as it was typed, without its ±: of `6 ± 0.003 mm`, `6 mm`.
fn without_doubt(said: &str) -> String {
    let Some((value, doubt)) = said.split_once('±') else { return said.to_owned() };
    let value = value.trim();
    if value.ends_with(|c: char| !c.is_ascii_digit()) {
        return value.to_owned();
    }
    let unit = doubt.trim_start_matches(|c: char| !c.is_alphabetic() && c != '"');
    format!("{value} {unit}")
}

/// So many of something.
#[must_use]
pub fn counted(n: usize, one: &str) -> String {
    format!("{n} {one}{}", if n == 1 { "" } else { "s" })
}

/// What a step has come to, in a few words.
#[must_use]
pub fn result(bench: &Bench, stage: Stage) -> String {
    let job = bench.job();
    let units = bench.units();
    let findings = bench.findings();
    let measured = findings.and_then(|f| f.measurement.as_ref());
    if refused::at(bench, stage).is_some() {
        return "entry refused".to_owned();
    }
    match stage {
        Stage::Picture => job
            .picture
            .as_ref()
            .and_then(|p| p.path.file_name())
            .map_or_else(String::new, |n| n.to_string_lossy().into_owned()),
        Stage::Bar => job.bar.width_mm.map_or_else(
            || if bench.loaded.is_some() { "width?".into() } else { String::new() },
            |_| {
                let shape = match job.bar.shape {
                    fit::BarShape::Round => "rod",
                    fit::BarShape::Flat => "strip",
                };
                // As it was typed: 6 mm is not 0.23622 in.
                let said = as_typed::shown(Field::BarWidth, job);
                let width = without_doubt(&said);
                // Where there is no room for both, its size says more.
                match width.chars().count() > ROOM_BESIDE_SHAPE {
                    true => width,
                    false => format!("{shape} {width}"),
                }
            },
        ),
        Stage::Thread if !job.thread.points.is_empty() => counted(job.thread.points.len(), "point"),
        Stage::Thread => {
            findings.and_then(|f| f.thread.as_ref()).map_or_else(String::new, |t| match t.teeth {
                1 => "1 tooth".into(),
                n => format!("{n} teeth"),
            })
        }
        Stage::Form => {
            measured.and_then(|m| m.form.pitch_mm).map_or_else(String::new, |q| brief(q, units))
        }
        Stage::Identity => {
            findings.and_then(|f| f.ranking.as_ref()).map_or_else(String::new, |r| {
                match (r.verdict, r.candidates.first()) {
                    (standards::Verdict::None, _) | (_, None) => "no standard".into(),
                    (standards::Verdict::Named, Some(c)) => short(&c.designation).to_owned(),
                    (standards::Verdict::CannotTell, Some(c)) => {
                        format!("cannot tell: {} …", short(&c.designation))
                    }
                }
            })
        }
        Stage::Survey => findings
            .and_then(|f| f.survey.as_ref())
            .map_or_else(String::new, |s| brief(s.worst_now_mm, units)),
        Stage::Nut => match findings {
            Some(f) if f.refusal.is_some() => "refused".into(),
            Some(f) if f.screw.is_some() && job.duty.is_none() => "what for?".into(),
            Some(f) => f.nut.as_ref().map_or_else(String::new, |n| brief(n.axial_play_mm, units)),
            None => String::new(),
        },
        Stage::Tool | Stage::Passes if job.duty.is_none() => String::new(),
        Stage::Tool => findings
            .and_then(|f| f.tool.as_ref())
            .map_or_else(String::new, |t| brief(t.tip_flat_mm, units)),
        Stage::Wheels => findings
            .and_then(|f| job.wheels.used(f.gears.as_ref()?))
            .map_or_else(String::new, |t| minus(&shop::ppm(t.error_ppm))),
        Stage::Passes => findings
            .and_then(|f| f.cutting.as_ref())
            .map_or_else(String::new, |c| counted(c.plan.passes.len(), "cut")),
        Stage::Checks => findings
            .and_then(|f| f.wires.as_ref())
            .map_or_else(String::new, |w| brief(w.over_wires_mm, units)),
        Stage::Sheets => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bar_is_named_as_it_was_typed() {
        for (typed, said) in [
            ("6 mm", "6 mm"),
            ("6 ± 0.003 mm", "6 mm"),
            ("1/4\" ± 0.0002 in", "1/4\""),
            ("0.25 ± 0.0002\"", "0.25 \""),
            ("", ""),
        ] {
            assert_eq!(without_doubt(typed), said);
        }
        assert_eq!(
            (counted(1, "point"), counted(0, "point")),
            ("1 point".into(), "0 points".into())
        );
    }
}
