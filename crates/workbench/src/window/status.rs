//! How things stand, in a few words: what is being worked on, what waits, what the pointer does.

use super::canvas::Under;
use super::command::Command;
use super::look::palette;
use super::refused;
use super::stage::{Stage, Standing};
use super::state::{Bench, Pointer, Shown, Work};
use eframe::egui::{self, Align, Layout, RichText, Ui};
use job::Job;

fn small(text: impl Into<String>) -> RichText {
    RichText::new(text).small()
}

/// The row along the foot of the window.
pub fn at_the_foot(ui: &mut Ui, bench: &Bench, under: Under, out: &mut Vec<Command>) {
    ui.horizontal(|ui| {
        ui.set_height(24.0);
        words(ui, bench, 160.0, out);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if bench.loaded.is_some() && bench.stage.shows_picture() {
                let zoom = 100.0 * bench.camera.zoom * ui.ctx().pixels_per_point();
                ui.label(small(format!("{zoom:.0} %")));
                if let Some((x, y)) = under.at_px {
                    ui.label(small(format!("{x:.1}, {y:.1} px")));
                }
                if let Some((x, y)) = under.edge_px {
                    ui.label(small(format!("edge at {x:.2}, {y:.2}")));
                } else if matches!(bench.pointer, Pointer::Points(_)) && under.at_px.is_some() {
                    ui.label(small("no edge near"));
                }
                ui.label(RichText::new(pointer(bench)).small().weak());
            }
        });
    });
}

/// The same where there is little room: what the pointer holds, or else how the work stands.
pub fn in_short(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let holds = bench.loaded.is_some() && bench.stage.shows_picture();
    match bench.pointer {
        Pointer::Look => words(ui, bench, 60.0, out),
        _ if !holds => words(ui, bench, 60.0, out),
        _ => drop(ui.label(small(pointer(bench)).weak())),
    }
}

/// What mouse and keys do over the picture.
fn pointer(bench: &Bench) -> &'static str {
    match bench.pointer {
        Pointer::Look => match bench.shown {
            Shown::Shadow => "wheel: zoom   drag: move   F: whole picture   S: what is there",
            Shown::Section => {
                "wheel: zoom   drag: move   F: whole picture   S: what the shadow shows"
            }
        },
        Pointer::BarBox => "draw a box round the bar   Esc: no box",
        Pointer::Exclude => "draw a box over what does not count   Esc: no box",
        Pointer::ThreadBox => "draw a box round the thread   Esc: no box",
        Pointer::Points(_) => {
            "click along the flank   right click: remove   right drag: move the picture   Esc: done"
        }
    }
}

/// Whether nothing was said yet.
fn empty(bench: &Bench) -> bool {
    **bench.job() == Job { units: bench.units(), ..Job::default() }
}

/// How the work stands, with a bar of `width` points while it goes on.
fn words(ui: &mut Ui, bench: &Bench, width: f32, out: &mut Vec<Command>) {
    match &bench.work {
        Work::Busy { what, done } => {
            ui.add(egui::Spinner::new().size(14.0));
            ui.label(small(what.clone()));
            ui.add(
                egui::ProgressBar::new(*done)
                    .desired_width(width)
                    .desired_height(8.0)
                    .fill(palette(ui).accent),
            );
            if ui.small_button("Cancel").clicked() {
                out.push(Command::Cancel);
            }
            if bench.findings.is_some() && width > 100.0 {
                ui.label(small("what is shown is the last result"));
            }
        }
        Work::Idle => {
            // A job needs no picture; one that is gone is missed.
            let no_matter = bench.loaded.is_none() && bench.job().picture.is_none();
            let refused = refused::first(bench).map(|(stage, _)| stage);
            let waiting = refused.or_else(|| {
                Stage::ALL.into_iter().find(|s| {
                    bench.standing(*s) == Standing::Asks && !(*s == Stage::Picture && no_matter)
                })
            });
            match waiting {
                _ if (bench.findings.is_none() || empty(bench)) && bench.wrong.is_empty() => {
                    ui.label(small("nothing entered yet"));
                }
                _ if !bench.up_to_date() && bench.wrong.is_empty() => {
                    ui.label(small("stopped: what is shown is the last result"));
                }
                Some(stage) => {
                    let refused = bench.findings().is_some_and(|f| f.refusal.is_some());
                    let words = small(match stage {
                        _ if refused::at(bench, stage).is_some() => {
                            format!("{}: an entry is refused", stage.name())
                        }
                        Stage::Nut if refused => "nothing is made for this thread".to_owned(),
                        _ => format!("{} needs you", stage.name()),
                    });
                    if ui.link(words).on_hover_text(stage.question()).clicked() {
                        out.push(Command::GoTo(stage));
                    }
                }
                None => {
                    ui.label(small("all worked out"));
                }
            }
        }
    }
}
