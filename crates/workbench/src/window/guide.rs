//! The guide: pages that come with the program, with a search over all of them.

use super::command::Command;
use super::howto;
use super::keys;
use super::look::palette;
use super::stage::Stage;
use super::state::Bench;
use super::widgets::{bold, bullets, main_button};
use eframe::egui::{
    self, Button, Grid, RichText, ScrollArea, Sense, Stroke, TextEdit, Ui, UiBuilder, vec2,
};

/// The pages that stand in files: the first, one for each step, and those behind them.
const PAGES: [&str; 14] = [
    include_str!("../../../../docs/guide/00-begin.md"),
    include_str!("../../../../docs/guide/01-lost-motion.md"),
    include_str!("../../../../docs/guide/02-picture.md"),
    include_str!("../../../../docs/guide/03-bar.md"),
    include_str!("../../../../docs/guide/04-thread.md"),
    include_str!("../../../../docs/guide/05-form.md"),
    include_str!("../../../../docs/guide/06-identity.md"),
    include_str!("../../../../docs/guide/07-nut.md"),
    include_str!("../../../../docs/guide/08-tool.md"),
    include_str!("../../../../docs/guide/09-change-wheels.md"),
    include_str!("../../../../docs/guide/10-passes.md"),
    include_str!("../../../../docs/guide/11-checks.md"),
    include_str!("../../../../docs/guide/12-sheets.md"),
    include_str!("../../../../docs/guide/13-names.md"),
];

/// Behind the files: the keys, and about the program.
const KEYS: usize = PAGES.len();
const ABOUT: usize = KEYS + 1;

/// Where in the guide one reads.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Guide {
    /// The page.
    pub page: usize,
    /// What is looked for.
    pub sought: String,
}

/// The page of a step.
#[must_use]
pub fn page_of(stage: Stage) -> usize {
    stage.number()
}

fn title(page: usize) -> &'static str {
    match page {
        KEYS => "Keys",
        ABOUT => "About Flanklight",
        _ => PAGES[page].lines().next().unwrap_or_default().trim_start_matches("# "),
    }
}

/// All the words of a page, in small letters.
fn words(page: usize) -> String {
    match page {
        KEYS => keys::LIST.iter().map(|(k, w)| format!("{k} {w} ")).collect::<String>(),
        ABOUT => "about version licence".to_owned(),
        _ => PAGES[page].to_owned(),
    }
    .to_lowercase()
}

/// The pages that hold every word that is looked for, in their order.
#[must_use]
pub fn found(sought: &str) -> Vec<usize> {
    let sought = sought.to_lowercase();
    (0..=ABOUT)
        .filter(|page| {
            let text = format!("{} {}", title(*page).to_lowercase(), words(*page));
            sought.split_whitespace().all(|word| text.contains(word))
        })
        .collect()
}

/// Shows the guide; returns whether it is to be closed.
pub fn show(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) -> bool {
    const WHOLE: egui::Vec2 = vec2(940.0, 560.0);
    let room = ui.ctx().content_rect().size() - vec2(60.0, 120.0);
    let size = vec2(WHOLE.x.min(room.x), WHOLE.y.min(room.y));
    ui.set_width(size.x);
    let list = (0.28 * size.x).clamp(150.0, 250.0);
    // Both sides in rooms of their own: what stands in them makes the window no larger.
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    let (left, right) = rect.split_left_right_at_x(rect.left() + list);
    let right = right.with_min_x(right.left() + 16.0);
    let line = Stroke::new(1.0, palette(ui).rule);
    ui.painter().vline(left.right() + 8.0, rect.y_range(), line);
    let side = |name: &str, rect| UiBuilder::new().id_salt(("guide", name)).max_rect(rect);
    contents(&mut ui.new_child(side("contents", left)), bench, size.y, out);
    let mut read = ui.new_child(side("page", right));
    ScrollArea::vertical().id_salt(bench.guide.page).auto_shrink(false).show(&mut read, |ui| {
        ui.set_width(ui.available_width());
        page(ui, bench.guide.page.min(ABOUT));
    });
    ui.add_space(8.0);
    ui.horizontal(|ui| main_button(ui, "Close").clicked()).inner
}

/// What is looked for, and the pages that hold it.
fn contents(ui: &mut Ui, bench: &Bench, height: f32, out: &mut Vec<Command>) {
    let label = ui.label("Search the guide");
    let mut sought = bench.guide.sought.clone();
    let edit = TextEdit::singleline(&mut sought).desired_width(f32::INFINITY);
    if ui.add(edit.id(egui::Id::unique("search the guide"))).labelled_by(label.id).changed() {
        out.push(Command::GuideSought(sought));
    }
    let pages = found(&bench.guide.sought);
    let most = (height - 74.0).max(40.0);
    ScrollArea::vertical().id_salt("contents").auto_shrink(false).max_height(most).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 2.0;
        if pages.is_empty() {
            ui.label(RichText::new("No page holds that.").weak());
        }
        for page in pages {
            let words = match page {
                1..=12 => format!("{page} {}", title(page)),
                _ => title(page).to_owned(),
            };
            let here = bench.guide.page == page;
            if ui.add(Button::selectable(here, words).wrap()).clicked() {
                out.push(Command::GuidePage(page));
            }
        }
    });
}

fn page(ui: &mut Ui, page: usize) {
    ui.label(RichText::new(title(page)).heading());
    match page {
        KEYS => list_of_keys(ui),
        ABOUT => about(ui),
        _ => text(ui, PAGES[page]),
    }
    if let Some(stage) = Stage::ALL.into_iter().find(|s| page_of(*s) == page) {
        ui.add_space(6.0);
        howto::picture_of(ui, stage);
    }
}

/// Paragraphs, points and headings of a page.
fn text(ui: &mut Ui, text: &str) {
    for line in text.lines().skip(1).filter(|l| !l.trim().is_empty()) {
        if let Some(heading) = line.strip_prefix("## ") {
            ui.add_space(6.0);
            ui.label(bold(heading));
        } else if let Some(point) = line.strip_prefix("- ") {
            bullets(ui, &[point]);
        } else {
            ui.label(line);
        }
    }
}

fn list_of_keys(ui: &mut Ui) {
    ui.spacing_mut().interact_size.y = 16.0;
    Grid::new("keys").num_columns(2).spacing([18.0, 3.0]).show(ui, |ui| {
        for (key, what) in keys::LIST {
            ui.label(bold(key));
            ui.label(what);
            ui.end_row();
        }
    });
}

fn about(ui: &mut Ui) {
    let p = palette(ui);
    ui.label(concat!("Version ", env!("CARGO_PKG_VERSION")));
    ui.label("Free software: under the MIT licence or the Apache License 2.0, as you choose.");
    ui.label("It opens no connection to any network. Pictures and jobs stay on this computer.");
    let folder = job::state_folder().display().to_string();
    ui.label(format!("What was not saved is kept against a crash in {folder}."));
    ui.add_space(6.0);
    ui.label(
        RichText::new(
            "Values from a picture are provisional: prove them on the actual screw over its whole travel.",
        )
        .color(p.doubt),
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_step_has_its_page_and_words_lead_to_it() {
        for stage in Stage::ALL {
            assert_eq!(title(page_of(stage)), stage.name());
        }
        assert_eq!(found("").len(), ABOUT + 1);
        assert_eq!(found("micrometer three places"), [3]);
        assert!(found("half nuts").contains(&9) && found("Page Down").contains(&KEYS));
        assert!(found("bsw").contains(&13));
        assert!(found("zeppelin").is_empty());
    }
}
