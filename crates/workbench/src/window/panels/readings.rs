//! The table of evidence: what was read beside the picture, and whether it agrees.

use crate::window::command::Command;
use crate::window::edit::Edit;
use crate::window::evidence;
use crate::window::field::Field;
use crate::window::look::palette;
use crate::window::state::Bench;
use crate::window::widgets::{
    bold, card, cell, heading, hint, remark, sentence, shown, wide_enough,
};
use eframe::egui::{self, RichText, Ui};
use form::Quantity;
use job::{ReadingFound, ReadingSaid, Standing};
use standards::{Evidence, EvidenceKind, Feature, Region, System};

/// Room for what is found of a reading: two small rows, there before it is found.
const JUDGED: f32 = 36.0;
/// Least width of an entry, points.
const CELL: f32 = 104.0;

pub(super) fn show(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    heading(ui, "Readings beside the picture");
    let identity = bench.findings().and_then(|f| f.identity.as_ref());
    for (i, said) in bench.job().evidence.iter().enumerate() {
        let found = identity.and_then(|f| f.readings.get(i));
        card(ui, |ui| reading(ui, bench, i, said, found, out));
    }
    egui::ComboBox::from_id_salt("add a reading")
        .selected_text("Add a reading …")
        .width(ui.available_width().min(300.0))
        .height(460.0)
        .show_ui(ui, |ui| {
            for kind in EvidenceKind::ALL {
                if ui.selectable_label(false, sentence(kind.sentence())).clicked() {
                    out.push(Command::Edit(Edit::AddEvidence(kind)));
                }
            }
        })
        .response
        .widget_info(|| egui::WidgetInfo::labeled(egui::Role::ComboBox, true, "Add a reading …"));
    hint(ui, "Behind ±, how sure you are; left out, what is usual for the instrument is taken.");
    if let Some(d) = identity.and_then(|i| i.disagreement.as_ref()) {
        let p = palette(ui);
        for text in &d.sentences {
            remark(ui, p.bad, &text.in_units(bench.units()));
        }
        hint(ui, &format!("By chance alone in {:.1} % of cases.", 100.0 * d.by_chance));
    }
}

fn reading(
    ui: &mut Ui,
    bench: &Bench,
    i: usize,
    said: &ReadingSaid,
    found: Option<&ReadingFound>,
    out: &mut Vec<Command>,
) {
    ui.horizontal(|ui| {
        ui.label(bold(format!("{} {}", i + 1, sentence(said.evidence.kind().sentence()))));
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            let remove = ui.small_button("remove");
            if remove.on_hover_text(format!("Remove reading {}", i + 1)).clicked() {
                out.push(Command::Edit(Edit::RemoveEvidence(i)));
            }
        });
    });
    ui.horizontal_wrapped(|ui| {
        for (slot, (name, _)) in evidence::slots(&said.evidence).iter().enumerate() {
            ui.label(RichText::new(*name).small());
            let whole = format!("{} of reading {}", sentence(name), i + 1);
            let field = Field::Evidence(i, slot);
            let width = wide_enough(ui, &bench.settled_text(field), CELL);
            cell(ui, bench, out, field, &whole, width);
        }
    });
    options(ui, i, &said.evidence, out);
    ui.scope(|ui| {
        ui.set_min_height(JUDGED);
        if evidence::unread(&said.evidence) {
            hint(ui, "Type what was read.");
        } else if let Some(found) = found {
            judged(ui, bench, found);
        }
    });
}

/// What is chosen rather than typed.
fn options(ui: &mut Ui, i: usize, evidence: &Evidence, out: &mut Vec<Command>) {
    let mut set = |evidence: Evidence| {
        out.push(Command::Edit(Edit::SetEvidence(i, Box::new(evidence))));
    };
    match *evidence {
        Evidence::PitchGauge { pitch_mm, included_deg, teeth, fits } => {
            ui.horizontal(|ui| {
                for (value, words) in [(true, "fits"), (false, "does not fit")] {
                    if ui.radio(fits == value, words).clicked() && fits != value {
                        set(Evidence::PitchGauge { pitch_mm, included_deg, teeth, fits: value });
                    }
                }
            });
        }
        Evidence::Dials { system } => {
            ui.horizontal(|ui| {
                for (value, words) in [(System::Metric, "millimetres"), (System::Inch, "inches")] {
                    if ui.radio(system == value, words).clicked() && system != value {
                        set(Evidence::Dials { system: value });
                    }
                }
            });
        }
        Evidence::Machine { region, year } => {
            ui.horizontal_wrapped(|ui| {
                for (value, words) in [
                    (None, "anywhere"),
                    (Some(Region::Britain), "Britain"),
                    (Some(Region::NorthAmerica), "North America"),
                    (Some(Region::Europe), "Europe"),
                    (Some(Region::Asia), "Asia"),
                ] {
                    if ui.radio(region == value, words).clicked() && region != value {
                        set(Evidence::Machine { region: value, year });
                    }
                }
            });
        }
        _ => {}
    }
}

/// What a reading says by itself, what the others predict, and whether they agree.
fn judged(ui: &mut Ui, bench: &Bench, found: &ReadingFound) {
    let p = palette(ui);
    let units = bench.units();
    let number = |feature: Feature, q: Quantity| match feature {
        Feature::Taper => q.with_u(4),
        f => shown(Some(q), f.is_angle(), units),
    };
    let mut text = String::new();
    if let Some((feature, q)) = found.says {
        text = format!("{} {}", feature.word(), number(feature, q));
        if let Some(expected) = found.expected {
            // Shown to the digits of the reading it is held against.
            let by_others = number(feature, Quantity::derived(expected, q.u));
            let plain = by_others.split(" ±").next().unwrap_or_default().to_owned();
            text.push_str(&format!("; the others say {plain}"));
        }
    }
    let (words, colour) = match &found.standing {
        Standing::NotUsed(why) => (format!("not used: {}", why.in_units(units)), p.doubt),
        Standing::Belief => ("shifts the odds".to_owned(), p.faint),
        Standing::Alone => ("nothing else bears on it".to_owned(), p.faint),
        Standing::Agrees => match found.in_u {
            Some(u) => (format!("agrees ({u:+.1} u)"), p.good),
            None => ("agrees".to_owned(), p.good),
        },
        Standing::Doubted { sole: true } => ("stands alone against the others".to_owned(), p.bad),
        Standing::Doubted { sole: false } => ("disagrees".to_owned(), p.bad),
    };
    if !text.is_empty() {
        ui.label(RichText::new(text).small());
    }
    ui.label(RichText::new(sentence(&words)).small().color(colour));
}
