//! Which standard thread it may be, or none.

use super::by_name;
use super::compared;
use super::readings;
use crate::cli::odds;
use crate::window::command::Command;
use crate::window::edit::Edit;
use crate::window::look::palette;
use crate::window::route::short;
use crate::window::state::Bench;
use crate::window::widgets::{
    bold, bullets, card, folded, heading, hint, line, minus, sentence, shown, signed,
};
use eframe::egui::{self, Grid, RichText, Ui};
use form::Units;
use job::Identity;
use standards::{Candidate, Feature, Ranking, Rounding, Verdict};

/// Candidates less probable than this are not worth a line.
const LEAST_SHOWN: f64 = 0.001;
/// Room for the answer: its name, and as many candidates as are usually worth a line.
const ANSWER: f32 = 190.0;
/// Beyond this many standard uncertainties the count says nothing more.
const MOST_U: f64 = 99.0;

pub(super) fn side(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let findings = bench.findings();
    let ranking = findings.and_then(|f| f.ranking.as_ref());
    let identity = findings.and_then(|f| f.identity.as_ref());
    // As high with few candidates as with many: what is entered stands under it.
    ui.scope(|ui| {
        ui.set_min_height(ANSWER);
        match ranking {
            Some(ranking) => {
                verdict(ui, ranking);
                candidates(ui, bench, ranking, out);
                if let Some(c) = nearest(bench) {
                    hint(
                        ui,
                        &format!(
                            "Nearest listed: {}, {}; held beside it here.",
                            c.designation, c.family
                        ),
                    );
                }
            }
            None => hint(
                ui,
                "Measure a picture, type the thread in (step 5), or enter what you have read \
                 below: each alone is enough to compare.",
            ),
        }
    });
    by_name::show(ui, bench, out);
    if let Some(text) = unlike(bench) {
        hint(ui, &text);
    }
    readings::show(ui, bench, out);
    super::remarks(ui, bench);
    if let Some(identity) = identity {
        roundings(ui, bench, identity, out);
        if let Some(next) = identity.next.first() {
            heading(ui, "What to measure next");
            card(ui, |ui| ui.label(sentence(&next.text.in_units(bench.units()))));
        }
        estimates(ui, bench, identity);
    }
    if let Some(ranking) = ranking {
        let beside = ranking.candidates.get(bench.candidate).filter(|c| likely(c));
        if let Some(c) = beside.or(nearest(bench)) {
            folded(ui, "beside", &format!("Beside {}", short(&c.designation)), true, |ui| {
                hint(ui, &format!("{}, {}", c.family, c.standard));
                deviations(ui, c, bench.units());
            });
        }
        if !ranking.explanation.is_empty() {
            let why: Vec<String> =
                ranking.explanation.iter().map(|s| s.in_units(bench.units())).collect();
            folded(ui, "why", "Why", false, |ui| bullets(ui, &why));
        }
    }
}

/// Where it follows no standard: the listed thread nearest to it, to be held beside it all the same.
fn nearest(bench: &Bench) -> Option<&Candidate> {
    let ranking = bench.findings()?.ranking.as_ref()?;
    ranking.nearest.as_ref().filter(|_| !ranking.candidates.iter().any(likely))
}

fn some_standard(bench: &Bench) -> bool {
    bench
        .findings()
        .and_then(|f| f.ranking.as_ref())
        .is_some_and(|r| r.candidates.iter().any(likely))
}

fn likely(c: &Candidate) -> bool {
    c.probability >= LEAST_SHOWN
}

fn candidates(ui: &mut Ui, bench: &Bench, ranking: &Ranking, out: &mut Vec<Command>) {
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        for (i, c) in ranking.candidates.iter().take_while(|c| likely(c)).take(8).enumerate() {
            ui.horizontal(|ui| {
                let chosen = bench.candidate == i;
                ui.add_sized([64.0, 22.0], egui::Label::new(RichText::new(odds(c.probability))));
                let button = egui::Button::selectable(chosen, &c.designation)
                    .frame_when_inactive(true)
                    .truncate();
                let about = format!("{}\n{}\n{}", c.designation, c.family, c.standard);
                if ui.add(button).on_hover_text(about).clicked() {
                    out.push(Command::Compare(i));
                }
            });
        }
        ui.horizontal(|ui| {
            let none = odds(ranking.no_standard_probability);
            ui.add_sized([64.0, 22.0], egui::Label::new(none));
            ui.label("no standard form");
        });
    });
}

/// What picture and readings say together.
fn estimates(ui: &mut Ui, bench: &Bench, identity: &Identity) {
    if bench.job().evidence.is_empty() {
        return;
    }
    heading(ui, "All of it together");
    let units = bench.units();
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        for e in &identity.estimates {
            let text = match e.feature {
                Feature::Taper => e.together.with_u(4),
                f => shown(Some(e.together), f.is_angle(), units),
            };
            line(ui, e.feature.word(), &text, &e.together.source.to_string());
        }
        if let Some(s) = identity.starts {
            let text = format!("{} ({} lead ÷ pitch)", s.starts, s.ratio.with_u(3));
            line(ui, "starts", &text, &odds(s.probability));
        }
    });
}

/// What nut and tool are made to; never without what it costs.
fn roundings(ui: &mut Ui, bench: &Bench, identity: &Identity, out: &mut Vec<Command>) {
    heading(ui, "Make nut and tool to");
    for offer in &identity.roundings {
        let words = match offer.rounding {
            Rounding::AsMeasured => "the form as measured",
            Rounding::NearestStandard => "the standard it is held beside",
            Rounding::RoundNumbers => "round numbers",
        };
        let on = bench.job().rounding == offer.rounding;
        let near = offer.rounding != Rounding::NearestStandard || some_standard(bench);
        if !near && !on {
            ui.add_enabled(false, egui::RadioButton::new(false, words));
            ui.indent(("cost", words), |ui| hint(ui, "No standard is near enough."));
            continue;
        }
        let can = offer.form.is_ok() || on;
        if ui.add_enabled(can, egui::RadioButton::new(on, words)).clicked() && !on {
            out.push(Command::Edit(Edit::Rounding(offer.rounding)));
        }
        ui.indent(("cost", words), |ui| hint(ui, &sentence(&offer.text().in_units(bench.units()))));
    }
}

/// The section beside the candidate that is looked at.
pub(super) fn middle(ui: &mut Ui, bench: &Bench, _: &mut Vec<Command>) {
    let findings = bench.findings();
    let nothing = |f: &std::sync::Arc<job::Findings>| f.screw.is_none() && f.ranking.is_none();
    if findings.is_none_or(nothing) && bench.job().evidence.is_empty() {
        super::empty(
            ui,
            "Nothing to compare yet",
            "Candidates are held beside the form: measured in a picture, or typed in at step 5.",
        );
        return;
    }
    if let Some(named) = beside_by_name(bench)
        && let Ok(section) = named.family.form.section(named.pitch_mm(), false)
    {
        return compared::show(ui, bench, Some((named.designation.as_str(), section)));
    }
    let candidate = findings
        .and_then(|f| f.ranking.as_ref())
        .and_then(|r| r.candidates.get(bench.candidate))
        .filter(|c| c.probability >= LEAST_SHOWN)
        .or(nearest(bench))
        .and_then(|c| Some((c.designation.as_str(), c.section?)));
    compared::show(ui, bench, candidate);
}

/// The thread that was named to be held beside the measured one, where it is none of the candidates.
fn beside_by_name(bench: &Bench) -> Option<standards::Named> {
    let name = bench.job().beside.as_ref().filter(|_| bench.job().picture.is_some())?;
    let ranking = bench.findings()?.ranking.as_ref()?;
    let among = ranking.candidates.iter().any(|c| likely(c) && c.is_called(name));
    standards::named(name).ok().filter(|_| !among)
}

/// What is to be said of it.
fn unlike(bench: &Bench) -> Option<String> {
    let named = beside_by_name(bench)?;
    let pitch = bench.findings()?.screw.as_ref()?.pitch_mm;
    let units = bench.units();
    Some(format!(
        "{} is none of those that the measurement allows. It is held beside it here: its pitch is {}, \
         the measured one {}.",
        named.designation,
        units.plain(named.pitch_mm(), 3),
        units.show(pitch)
    ))
}

fn verdict(ui: &mut Ui, ranking: &Ranking) {
    let first = ranking.candidates.first();
    let text = match (ranking.verdict, first) {
        (Verdict::Named, Some(c)) => format!("Most likely {}.", c.designation),
        (Verdict::CannotTell, _) => {
            format!("Cannot be told apart: {}.", ranking.first_group().join(", "))
        }
        _ => "It follows no standard known here.".to_owned(),
    };
    ui.label(bold(text));
    hint(
        ui,
        "A name is an aid. The nut is made to the measured form, never snapped to a standard.",
    );
}

fn deviations(ui: &mut Ui, c: &Candidate, units: Units) {
    let p = palette(ui);
    Grid::new("deviations").num_columns(4).striped(true).spacing([14.0, 4.0]).show(ui, |ui| {
        for title in ["", "measured", "standard", "differs by"] {
            ui.label(RichText::new(title).small().weak());
        }
        ui.end_row();
        for d in &c.deviations {
            let angle = d.what.ends_with("_deg");
            let number = |v: f64| match (angle, d.what.ends_with("_mm")) {
                (true, _) => format!("{v:.2}°"),
                (false, true) => units.plain(v, 3),
                (false, false) => format!("{v:.4}"),
            };
            let what = d.what.trim_end_matches("_deg").trim_end_matches("_mm").replace('_', " ");
            ui.label(what);
            ui.label(number(d.measured));
            ui.label(number(d.standard));
            let colour = if d.in_u.abs() > 3.0 { p.bad } else { p.ink };
            let off = d.measured - d.standard;
            let by = match (angle, d.what.ends_with("_mm")) {
                (true, _) => format!("{off:+.2}°"),
                (false, true) => signed(off, units),
                (false, false) => format!("{off:+.4}"),
            };
            // Beyond that many the count says nothing more.
            let apart = match d.in_u.abs() > MOST_U {
                true => minus(&by),
                false => minus(&format!("{by} ({:.1} u)", d.in_u.abs())),
            };
            ui.label(RichText::new(apart).color(colour));
            ui.end_row();
        }
    });
    hint(ui, "u is the standard uncertainty of the measurement.");
}
