//! What is said of its own accord when results or files arrive.

use super::stage::Stage;
use super::state::{About, Bench, Message, Tone};
use job::{Findings, Part};
use std::path::Path;

/// Says something until it is put away; the last few are kept. What was said about the same before holds
/// no more: a failure goes when it came right, and the other way round.
pub(super) fn tell(bench: &mut Bench, about: About, tone: Tone, text: String) {
    const MOST: usize = 4;
    const LONGEST: usize = 400;
    // It may hold what stands in a file.
    let text = crate::cli::shortened(&crate::cli::shown(&text), LONGEST);
    bench.messages.retain(|m| {
        let same_matter = m.about == about && about != About::Other && m.tone != tone;
        m.text != text && !same_matter && (m.tone != Tone::Done || tone != Tone::Done)
    });
    bench.messages.push(Message { about, tone, text });
    if bench.messages.len() > MOST {
        bench.messages.remove(0);
    }
}

/// What went wrong before has come right; nothing need be said of it any more.
pub(super) fn came_right(bench: &mut Bench, about: About) {
    bench.messages.retain(|m| m.about != about || m.tone == Tone::Done);
}

/// A change of the tip that shows on a good micrometer, mm.
const SEEN_MM: f64 = 0.0005;

/// Steps of which something else is to be said than before deserve another look.
pub(super) fn look_again(bench: &mut Bench, before: &Findings) {
    let said = |f: &Findings, part: Part| -> Vec<String> {
        f.warnings
            .iter()
            .filter(|w| w.part == part && !w.is_note())
            .map(|w| w.code.clone())
            .collect()
    };
    let Some(now) = bench.findings().cloned() else { return };
    let here = bench.stage;
    bench
        .visited
        .retain(|stage| *stage == here || said(before, stage.part()) == said(&now, stage.part()));
}

/// Wheels that cut another pitch than the screw's take play, and the tool's tip gives it back: whoever
/// chooses wheels after the tool was drawn is told that it changed, and why.
pub(super) fn tip_follows_wheels(bench: &mut Bench, before: &Findings) {
    let Some(now) = bench.findings().cloned() else { return };
    let lost = |f: &Findings| f.nut.as_ref().map(|n| n.play_lost_to_lead_mm);
    let tip = |f: &Findings| f.tool.as_ref().map(|t| t.tip_flat_mm);
    let (Some(was), Some(is), Some(old), Some(new)) =
        (lost(before), lost(&now), tip(before), tip(&now))
    else {
        return;
    };
    let by_wheels =
        (is - was).abs() > SEEN_MM && (new.value - old.value - (is - was)).abs() < SEEN_MM;
    if !by_wheels {
        return;
    }
    let units = bench.units();
    let text = if is > SEEN_MM {
        format!(
            "These wheels do not cut the screw's pitch exactly: over the length of the nut that takes \
             {} of play. The tool's tip is made that much wider to give it back: {} instead of {} \
             (step {}).",
            units.plain(is, 3),
            units.plain(new.value, 3),
            units.plain(old.value, 3),
            Stage::Tool.number()
        )
    } else {
        format!(
            "The wheels take no play any more; the tool's tip is {} again instead of {} (step {}).",
            units.plain(new.value, 3),
            units.plain(old.value, 3),
            Stage::Tool.number()
        )
    };
    let old_sheets =
        if bench.sheets_are_old() { " Sheets printed before are out of date." } else { "" };
    tell(bench, About::Other, Tone::Done, format!("{text}{old_sheets}"));
}

/// Where the pages are, and how to print them true.
pub(super) fn printed(bench: &mut Bench, pages: usize, path: &Path, shown: Result<(), String>) {
    let many = if pages == 1 { "One page".to_owned() } else { format!("{pages} pages") };
    let how = "Print at 100 % (\"actual size\"), never \"fit to page\"; then measure both check lines: \
               100 mm each.";
    match shown {
        Ok(()) => {
            let text =
                format!("{many} handed to your PDF viewer. {how} The file: {}.", path.display());
            tell(bench, About::Sheets, Tone::Done, text);
        }
        Err(why) => {
            let text = format!(
                "{many} written, but this desktop shows no PDF ({why}). Open and print {} yourself. \
                 {how}",
                path.display()
            );
            tell(bench, About::Sheets, Tone::Wrong, text);
        }
    }
}
