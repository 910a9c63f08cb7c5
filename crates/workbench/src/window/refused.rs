//! Entries whose text was refused: while one stands in its field, what is shown rests on what was
//! there before it, and its step says so.

use super::command::Command;
use super::field::Field;
use super::look::palette;
use super::stage::Stage;
use super::state::Bench;
use super::widgets::entry_id;
use eframe::egui::{Align2, Area, Context, Frame, Id, Response, RichText, Stroke, Ui, pos2};

/// The step whose page an entry stands on.
#[must_use]
fn stage_of(bench: &Bench, field: Field) -> Stage {
    use Field as F;
    let no_nut = || bench.findings().is_none_or(|f| f.nut.is_none());
    match field {
        F::Title | F::Notes => Stage::Sheets,
        F::ThreadName => match bench.stage {
            Stage::Picture | Stage::Identity => bench.stage,
            _ => Stage::Form,
        },
        F::Station(_) | F::Lost(_) | F::EndFloat | F::Acceptable => Stage::Survey,
        F::BarWidth | F::BarDrop => Stage::Bar,
        F::Distance => Stage::Thread,
        F::Major if bench.loaded.is_some() => Stage::Thread,
        F::Major
        | F::FormPitch
        | F::FormRight
        | F::FormLeft
        | F::FormDepth
        | F::FormCrest
        | F::FormCrestRadius
        | F::FormRootRadius => Stage::Form,
        F::Evidence(..) | F::EvidenceNote(_) => Stage::Identity,
        // Without a nut the wheels ask how long it is, and with how much play.
        F::Play | F::NutLength if no_nut() && bench.stage == Stage::Wheels => Stage::Wheels,
        F::Play
        | F::RadialClearance
        | F::NutLength
        | F::Load
        | F::Unworn
        | F::Kerf
        | F::SleeveOutside
        | F::Interference => Stage::Nut,
        F::TopRake | F::AboveCentre | F::BoringBar | F::Overhang | F::GroundBar => Stage::Tool,
        F::Leadscrew
        | F::LeadWanted
        | F::WheelsOwned
        | F::WheelPair
        | F::WheelTolerance
        | F::Module
        | F::ShaftDiameter
        | F::Centres
        | F::LargestWheel => Stage::Wheels,
        F::PassDepth
        | F::PassTip
        | F::PassStep
        | F::TopSlide
        | F::BlankFace
        | F::FirstTop
        | F::FirstDiameter
        | F::SecondTop
        | F::SecondDiameter
        | F::Within
        | F::Jaw(..)
        | F::PassCount
        | F::SpringPasses
        | F::Speed
        | F::DialDivision
        | F::DialDivisions => Stage::Passes,
        F::Wire | F::PitchDiameter | F::OverWires | F::LeastPlay | F::MostPlay => Stage::Checks,
    }
}

/// The entry of a step whose text is refused.
#[must_use]
pub fn at(bench: &Bench, stage: Stage) -> Option<Field> {
    bench.wrong.keys().copied().find(|f| stage_of(bench, *f) == stage)
}

/// The entry of the page in view that is spoken of while it is refused: of several the one with the
/// keyboard in it, or the first.
#[must_use]
pub fn spoken_of(ctx: &Context, bench: &Bench) -> Option<Field> {
    let typed_in = |f: &Field| ctx.memory(|m| m.has_focus(entry_id(*f)));
    let here = |f: &Field| stage_of(bench, *f) == bench.stage;
    let with_keyboard = bench.wrong.keys().copied().filter(here).find(typed_in);
    with_keyboard.or_else(|| at(bench, bench.stage))
}

/// The first entry of all that is refused, in the order of the steps, and its step.
#[must_use]
pub fn first(bench: &Bench) -> Option<(Stage, Field)> {
    Stage::ALL.into_iter().find_map(|s| Some((s, at(bench, s)?)))
}

/// What is to be said of it on its step.
#[must_use]
pub fn said(bench: &Bench, field: Field) -> String {
    let before = match bench.settled_text(field) {
        text if text.is_empty() => "not used".to_owned(),
        text => format!("{text} is used as before"),
    };
    format!("{}: refused as typed, and {before}", named(field))
}

/// The entry as a sentence speaks of it.
#[must_use]
pub fn named(field: Field) -> String {
    match field.label() {
        label if ["a ", "where ", "near "].iter().any(|w| label.starts_with(w)) => label.to_owned(),
        label => format!("the {label}"),
    }
}

/// Widest that the words beside an entry are, points, and their distance from the page.
const WIDTH: f32 = 300.0;
const APART: f32 = 8.0;

/// Why an entry is refused, beside the page it stands on, at its height: nothing on the page moves for it,
/// and no entry is covered. Of several that are refused it is the one that is spoken of; the others say it
/// when the pointer is over them.
pub fn why(
    ui: &Ui,
    bench: &Bench,
    out: &mut Vec<Command>,
    field: Field,
    entry: &Response,
    text: &str,
) {
    let Some(wrong) = bench.wrong.get(&field) else { return };
    if spoken_of(ui.ctx(), bench) != Some(field) {
        entry.clone().on_hover_text(wrong);
        return;
    }
    let (p, page) = (palette(ui), ui.clip_rect());
    let width = WIDTH.min(page.left() - 4.0 * APART).max(120.0);
    // Of one that was scrolled away they stay at the end of the page it went by.
    let height = entry.rect.center().y.max(page.top()).min(page.bottom());
    Area::new(Id::unique(("why", field)))
        .pivot(Align2::RIGHT_CENTER)
        .fixed_pos(pos2(page.left() - APART, height))
        .constrain_to(page.with_min_x(0.0))
        .show(ui.ctx(), |ui| {
            let edge = Stroke::new(1.5, p.bad);
            Frame::new().fill(p.card).stroke(edge).corner_radius(3.0).inner_margin(8.0).show(
                ui,
                |ui| {
                    ui.set_max_width(width);
                    ui.label(RichText::new(wrong).color(p.bad));
                    with_units(ui, bench, out, field, text);
                },
            );
        });
}

/// A number without a unit is taken with one press: the units it may have been meant in.
fn with_units(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>, field: Field, text: &str) {
    let text = text.trim();
    if !text.ends_with(|c: char| c.is_ascii_digit()) {
        return;
    }
    let whole = ["mm", "in", "tpi", "°"].map(|unit| format!("{text} {unit}"));
    let meant: Vec<String> =
        whole.into_iter().filter(|w| field.taken(w, bench.job()).is_ok()).collect();
    if meant.is_empty() {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        for whole in meant {
            if ui.button(&whole).clicked() {
                out.push(Command::Type(field, whole));
                out.push(Command::Enter { field, by_key: false });
            }
        }
    });
}
