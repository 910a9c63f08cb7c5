//! The window itself: shows the bench, takes commands, has them applied in one place.

use super::canvas::{Canvas, Under};
use super::changed;
use super::command::{Command, Effect, apply};
use super::dialog::Dialogs;
use super::edit::Edit;
use super::fitted;
use super::guide;
use super::hearing::{Hearing, Taken};
use super::keys;
use super::look::{BOLD, palette};
use super::opening;
use super::panels;
use super::route;
use super::settings::Settings;
use super::stage::Stage;
use super::state::{About, Asked, Bench, Leaving, ToWrite, Tone, TypedPath, Work};
use super::status;
use super::text_size;
use super::timing::Timing;
use super::typed_path::{completed, likely_folder, offered, suggested_name};
use super::viewer::{self, Viewer};
use super::widgets::{self, bold, main_button};
use super::work::{Hands, Wake, Writer};
use crate::guard::caught;
use eframe::egui::scroll_area::ScrollBarVisibility;
use eframe::egui::{
    self, Align, Button, CentralPanel, Frame, Id, Key, Layout, Margin, Modal, Panel, RichText,
    ScrollArea, Stroke, StrokeKind, TextEdit, Theme, Ui, UiBuilder,
};
use form::Units;
use job::Journal;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};

const NOTHING_PASTED: &str = "Nothing could be pasted: the clipboard holds neither text nor a picture, or one \
     too large for it. Keep the picture as a file and drop that on the window.";

/// Round the bar along the top.
const TOP: Margin = Margin { left: 12, right: 12, top: 6, bottom: 6 };

/// The job is kept against a crash this often while it changes.
const JOURNAL_EVERY: Duration = Duration::from_millis(1500);

/// The window.
pub struct Window {
    /// What it is about.
    pub bench: Bench,
    /// Who does the work.
    hands: Hands,
    dialogs: Dialogs,
    canvas: Canvas,
    under: Under,
    /// Who shows pages for printing.
    pub viewer: Viewer,
    /// How often the job is kept against a crash while it changes.
    pub journal_every: Duration,
    journaled: Arc<job::Job>,
    journal_due: Option<Instant>,
    closing: bool,
    /// Whether the keys that paste, last pressed, brought anything.
    clipboard_gave: bool,
    fitting: fitted::Fitting,
    /// Size of the text from the next frame on.
    zoom: f32,
    hearing: Hearing,
    /// What is kept between sessions, as it was kept last.
    pub(super) settings: Settings,
    /// How long frames take, when that is asked for.
    pub(super) timing: Timing,
    /// Frames in a row that ended in a fault of the program.
    faults: u32,
    /// The next frame ends in a fault (for tests).
    #[cfg(test)]
    fault: bool,
}

impl Window {
    /// A window on an empty bench; `wake` is called from other threads when there is news.
    ///
    /// # Errors
    /// The operating system's, when it gives no threads.
    pub fn new(wake: Wake, state_folder: PathBuf) -> std::io::Result<Self> {
        let left = Journal::left_behind(&state_folder);
        let mut bench = Bench { recovered: left.jobs, ..Bench::default() };
        bench.lost = left
            .unread
            .iter()
            .map(|e| {
                format!("A job that a crash left behind cannot be read, and stays where it is: {e}")
            })
            .collect();
        let settings = Settings::read(&state_folder);
        bench.recent = settings.recent.clone();
        bench.text_size = settings.zoom;
        opening::begin_in(&mut bench, settings.units);
        let journaled = Arc::clone(bench.job());
        Ok(Self {
            bench,
            hands: Hands::start(Arc::clone(&wake), state_folder)?,
            dialogs: Dialogs::new(wake),
            canvas: Canvas::default(),
            under: Under::default(),
            viewer: viewer::of_desktop(),
            journal_every: JOURNAL_EVERY,
            journaled,
            journal_due: None,
            closing: false,
            clipboard_gave: false,
            fitting: fitted::Fitting::default(),
            zoom: 1.0,
            hearing: Hearing::default(),
            settings,
            timing: Timing::start(),
            faults: 0,
            #[cfg(test)]
            fault: false,
        })
    }

    /// Where the picture was last shown (for tests that click in it).
    #[must_use]
    pub fn picture_view(&self) -> Option<egui::Rect> {
        self.canvas.view
    }

    /// Whether nothing is being worked on anywhere.
    #[must_use]
    pub fn idle(&self) -> bool {
        self.hands.idle()
    }

    /// Whether the job as it is now is safe on the disk, in its file or in the journal.
    #[must_use]
    pub fn kept(&self) -> bool {
        Arc::ptr_eq(&self.journaled, self.bench.job()) && self.hands.idle()
    }

    /// Applies a command and sees to what follows from it.
    pub fn command(&mut self, ctx: &egui::Context, command: Command) {
        for effect in apply(&mut self.bench, command) {
            self.effect(ctx, effect);
        }
    }

    fn effect(&mut self, ctx: &egui::Context, effect: Effect) {
        match effect {
            Effect::Open(path) => self.hands.open(path),
            Effect::Picture(path) => self.hands.picture(path),
            Effect::ReadSurvey(path) => self.hands.survey(path),
            Effect::ReadGround(path) => self.hands.ground(path),
            Effect::Paste(image) => self.hands.paste(image),
            Effect::Preview => {
                if let Some(findings) = self.bench.findings().cloned() {
                    self.hands.preview(Arc::clone(self.bench.job()), findings);
                }
            }
            Effect::Demonstrate(index) => self.hands.demonstrate(index),
            Effect::Recover(job) => self.hands.recover(job),
            Effect::Evaluate => {
                self.bench.work = Work::Busy { what: "working it out".into(), done: 0.0 };
                self.hands.evaluate(Arc::clone(self.bench.job()), self.bench.loaded.clone());
            }
            Effect::Cancel => self.hands.cancel(),
            Effect::Dialog(asked) => {
                let folder = Some(likely_folder(&self.bench));
                self.dialogs.ask(asked, folder, suggested_name(self.bench.job()));
            }
            Effect::Save(path, mark) => self.hands.save(path, Arc::clone(self.bench.job()), mark),
            Effect::Export(written) => {
                if let Some(findings) = self.bench.findings().cloned() {
                    let (home, session) = (self.bench.home.clone(), self.bench.session.clone());
                    let by = Writer { home, session };
                    self.hands.export(Arc::clone(self.bench.job()), findings, written, by);
                }
            }
            Effect::List(folder, asked) => self.hands.list(folder, asked),
            Effect::Print(only) => {
                if let Some(findings) = self.bench.findings().cloned() {
                    let (job, viewer) = (Arc::clone(self.bench.job()), Arc::clone(&self.viewer));
                    self.hands.print(job, findings, only, viewer);
                }
            }
            Effect::Forget(journal) => self.hands.forget(journal),
            Effect::Quit => {
                self.closing = true;
                self.hands.clear_journal();
                ctx.send_viewport_cmd(egui::ViewportCommand::Close);
            }
        }
    }

    /// A picture that was pasted. Where nothing could be had from the clipboard, only the letting go of
    /// the keys is told: then that is said.
    fn pasted(&mut self, ctx: &egui::Context) -> Option<Command> {
        ctx.input(|i| {
            let mut news = None;
            for event in &i.raw.events {
                match event {
                    egui::Event::PasteImage(image) => {
                        self.clipboard_gave = true;
                        news = Some(Command::Paste(Arc::clone(image)));
                    }
                    egui::Event::Paste(_) => self.clipboard_gave = true,
                    egui::Event::Key { key: Key::V, pressed: false, modifiers, .. }
                        if modifiers.command && !std::mem::take(&mut self.clipboard_gave) =>
                    {
                        news = Some(Command::Failed(About::Opening, NOTHING_PASTED.into()));
                    }
                    _ => {}
                }
            }
            news
        })
    }

    /// News from the threads, dropped files, closing, the journal.
    pub fn tick(&mut self, ctx: &egui::Context) {
        let mut news = self.hands.reports();
        news.extend(self.dialogs.answers());
        let dropped = ctx.input(|i| {
            i.raw.dropped_files.iter().find_map(|f| {
                let path = f.path();
                (!path.as_os_str().is_empty()).then(|| path.to_owned())
            })
        });
        news.extend(dropped.map(Command::Open));
        news.extend(self.pasted(ctx));
        if ctx.input(|i| i.viewport().close_requested()) && !self.closing {
            if self.bench.unsaved() {
                ctx.send_viewport_cmd(egui::ViewportCommand::CancelClose);
                news.push(Command::Quit);
            } else {
                self.hands.clear_journal();
            }
        }
        for command in news {
            self.command(ctx, command);
        }
        self.journal(ctx);
        let settings = Settings::of(ctx, &self.bench);
        if settings != self.settings {
            self.hands.settings(settings.clone());
            self.settings = settings;
        }
    }

    fn journal(&mut self, ctx: &egui::Context) {
        if Arc::ptr_eq(&self.journaled, self.bench.job()) {
            return;
        }
        let due = *self.journal_due.get_or_insert_with(|| Instant::now() + self.journal_every);
        let now = Instant::now();
        if now < due {
            ctx.request_repaint_after(due - now);
            return;
        }
        self.journal_due = None;
        self.journaled = Arc::clone(self.bench.job());
        if self.bench.unsaved() {
            let left_behind = self.bench.left_behind.take();
            self.hands.journal(Arc::clone(self.bench.job()), self.bench.home.clone(), left_behind);
        } else {
            self.hands.clear_journal();
            if let Some(left_behind) = self.bench.left_behind.take() {
                self.hands.forget(left_behind);
            }
        }
    }

    /// Looks at what the desktop tells before it is acted on.
    pub fn hear(&mut self, ctx: &egui::Context, input: &mut egui::RawInput) {
        let how = Taken {
            told_at: ctx.zoom_factor(),
            taken_at: self.zoom,
            turning: self.bench.focus.is_some(),
        };
        if self.hearing.hear(how, input) {
            ctx.request_repaint();
        }
    }

    /// Shows everything.
    pub fn show(&mut self, ui: &mut Ui) {
        #[cfg(test)]
        if std::mem::take(&mut self.fault) {
            std::panic::panic_any("planted");
        }
        self.fitting.see(ui.ctx());
        self.zoom = text_size::fit(ui.ctx(), &mut self.bench);
        self.tick(ui.ctx());
        let mut out = Vec::new();
        keys::everywhere(ui, &self.bench, &mut out);
        let p = palette(ui);
        let bar = |margin: Margin| Frame::new().fill(p.sheet).inner_margin(margin);
        Panel::top("top").frame(bar(TOP)).show(ui, |ui| {
            top(ui, &self.bench, &mut out);
        });
        Panel::top("route").frame(bar(Margin::ZERO)).exact_size(route::HEIGHT).show(ui, |ui| {
            route::show(ui, &self.bench, &mut out);
        });
        if !(text_size::is_narrow(ui.ctx()) && text_size::is_low(ui.ctx())) {
            Panel::bottom("status").frame(bar(Margin::symmetric(12, 4))).show(ui, |ui| {
                status::at_the_foot(ui, &self.bench, self.under, &mut out);
            });
        }
        // As wide as text reads well, and never moved by what stands in it: the picture must not
        // jump from step to step.
        let side = (0.3 * ui.available_width()).clamp(400.0, 540.0);
        Panel::right("stage")
            .frame(bar(Margin { left: 14, right: 6, top: 10, bottom: 0 }))
            .resizable(false)
            .exact_size(side)
            .show(ui, |ui| {
                let (top, bottom) = if text_size::is_low(ui.ctx()) { (3, 4) } else { (6, 8) };
                let foot = Frame::new().inner_margin(Margin { top, bottom, ..Margin::ZERO });
                // However much there is to say, the page stays in reach.
                let most = 0.45 * ui.available_height();
                Panel::bottom("way on").frame(foot).show(ui, |ui| {
                    let b = &self.bench;
                    if !(b.messages.is_empty() && b.recovered.is_empty() && b.lost.is_empty()) {
                        let said = ScrollArea::vertical().id_salt("messages").max_height(most);
                        let said = said.min_scrolled_height(most.min(120.0));
                        said.auto_shrink([false, true]).show(ui, |ui| {
                            messages(ui, &self.bench, &mut out);
                        });
                    }
                    panels::next(ui, &self.bench, &mut out);
                });
                // In a space of its own: a panel with anything too wide in it would give way to the
                // middle, which then covers its left edge.
                let room = ui.available_rect_before_wrap();
                let mut page = ui.new_child(UiBuilder::new().id_salt("page").max_rect(room));
                // Another picture's page begins at its top.
                let of = self.bench.job().picture.as_ref().map(|p| p.sha256.clone());
                // The bar is always there: a page that grows does not get narrower.
                let always = ScrollBarVisibility::AlwaysVisible;
                let visit = (self.bench.stage, self.bench.visits, of);
                ScrollArea::vertical()
                    .id_salt(visit)
                    .scroll_bar_visibility(always)
                    .auto_shrink(false)
                    .show(&mut page, |ui| {
                        // Never narrower than the panel, or the panel would follow its contents.
                        ui.set_width(ui.available_width());
                        panels::show(ui, &self.bench, &mut out);
                    });
            });
        if self.bench.stage == Stage::Form
            && self.bench.loaded.is_some()
            && let Some(height) = panels::strip::height(&self.bench, ui.available_height())
        {
            Panel::bottom("strip")
                .frame(bar(Margin::symmetric(10, 6)))
                .exact_size(height)
                .show(ui, |ui| panels::strip::show(ui, &self.bench));
        }
        let page = Frame::new().fill(p.sheet).inner_margin(Margin::symmetric(14, 10));
        let picture = self.bench.stage.shows_picture();
        let typed = panels::typed_alone(&self.bench);
        let frame = if picture && !typed { Frame::NONE } else { page };
        CentralPanel::default().frame(frame).show(ui, |ui| {
            if !picture {
                self.under = Under::default();
                self.canvas.view = None;
                middle(ui, &self.bench, &mut out);
            } else if self.bench.loaded.is_some() {
                self.under = self.canvas.show(ui, &mut self.bench, &mut out);
            } else {
                self.under = Under::default();
                self.canvas.view = None;
                match typed {
                    true => panels::typed_section(ui, &self.bench),
                    false => no_picture(ui, &self.bench, &mut out),
                }
            }
        });
        dragged_over(ui, &self.bench);
        self.modals(ui, &mut out);
        for command in out {
            self.command(ui.ctx(), command);
        }
        self.zoom = text_size::fit(ui.ctx(), &mut self.bench);
    }

    /// Shows everything; where that ends in a fault of the program, the job is kept and it is told. After a
    /// few in a row the window closes, rather than show nothing.
    pub fn show_guarded(&mut self, ui: &mut Ui) {
        const MOST_FAULTS: u32 = 3;
        let ctx = ui.ctx().clone();
        match caught("Showing the window", || self.show(ui)) {
            Ok(()) => self.faults = 0,
            Err(text) => {
                self.faults += 1;
                self.journaled = Arc::clone(self.bench.job());
                self.hands.journal(Arc::clone(self.bench.job()), self.bench.home.clone(), None);
                let text =
                    format!("{text} The job is kept: it is offered when Flanklight starts again.");
                if self.faults >= MOST_FAULTS {
                    crate::cli::complain(&text);
                    self.closing = true;
                    ctx.send_viewport_cmd(egui::ViewportCommand::Close);
                } else {
                    super::news::tell(&mut self.bench, About::Other, Tone::Wrong, text);
                    ctx.request_repaint();
                }
            }
        }
    }

    fn modals(&self, ui: &Ui, out: &mut Vec<Command>) {
        if let Some(typed) = &self.bench.typed_path {
            let shown = Modal::new(Id::unique("typed path")).show(ui.ctx(), |ui| {
                ui.set_width(560.0);
                let title = match typed.asked {
                    Asked::Open => "Path of a picture or a job",
                    Asked::SaveAs => "Path to save the job at",
                    Asked::Export => "Folder for the sheets",
                    Asked::ExportSheet => "Folder for the sheet",
                    Asked::Survey => "Path of readings of lost motion",
                    Asked::Ground => "Path of a picture of the ground tool",
                    Asked::Retake => "Path of another picture of the same screw",
                };
                let label = ui.label(bold(title));
                let mut text = typed.text.clone();
                let response = ui
                    .add(
                        TextEdit::singleline(&mut text)
                            .id(Id::unique(PATH_TEXT))
                            .desired_width(f32::INFINITY),
                    )
                    .labelled_by(label.id);
                if response.changed() {
                    out.push(Command::PathText(text));
                }
                if response.has_focus() {
                    let ring = Stroke::new(2.0, palette(ui).accent);
                    ui.painter().rect_stroke(response.rect, 3.0, ring, StrokeKind::Inside);
                }
                let entered = response.lost_focus() && widgets::pressed(ui, Key::Enter);
                if ui.memory(|m| m.focused().is_none()) {
                    widgets::go_on_behind(ui, response.id, &typed.text);
                    response.request_focus();
                }
                if let Some(wrong) = &typed.wrong {
                    ui.label(RichText::new(wrong).color(palette(ui).bad));
                }
                offers(ui, typed, out);
                ui.horizontal(|ui| {
                    let words = match typed.asked {
                        Asked::Open | Asked::Survey | Asked::Ground | Asked::Retake => "Open",
                        Asked::SaveAs => "Save",
                        Asked::Export | Asked::ExportSheet => "Export",
                    };
                    if main_button(ui, words).clicked() || entered {
                        out.push(Command::PathDone);
                    }
                    if ui.button("Not now").clicked() {
                        out.push(Command::PathDropped);
                    }
                });
            });
            if shown.should_close() {
                out.push(Command::PathDropped);
            }
        }
        if let Some(changed) = &self.bench.changed {
            changed::show(ui, &self.bench, changed, out);
        }
        if let Some(leaving) = &self.bench.leaving {
            let shown = Modal::new(Id::unique("leaving")).show(ui.ctx(), |ui| {
                ui.set_width(440.0);
                ui.label(bold("This job has changes that are not saved."));
                let words = match leaving {
                    Leaving::Quit => "Close without saving",
                    _ => "Go on without saving",
                };
                ui.horizontal(|ui| {
                    let save = main_button(ui, "Save first …");
                    let leave = ui.button(words);
                    let stay = ui.button("Stay");
                    // Enter presses what is coloured, unless Tab led elsewhere; not the entry that was
                    // typed in before.
                    if ![&save, &leave, &stay].iter().any(|b| b.has_focus()) {
                        save.request_focus();
                    }
                    if save.clicked() {
                        out.push(Command::SaveFirst);
                    }
                    if leave.clicked() {
                        out.push(Command::Leave);
                    }
                    if stay.clicked() {
                        out.push(Command::Stay);
                    }
                });
            });
            if shown.should_close() {
                out.push(Command::Stay);
            }
        }
        if let Some((written, why)) = &self.bench.taken {
            let shown = Modal::new(Id::unique("taken")).show(ui.ctx(), |ui| {
                taken(ui, written, why, out);
            });
            if shown.should_close() {
                out.push(Command::KeepTaken);
            }
        }
        if self.bench.help {
            let shown = Modal::new(Id::unique("help"))
                .show(ui.ctx(), |ui| guide::show(ui, &self.bench, out));
            if shown.should_close() || shown.inner {
                out.push(Command::Help(false));
            }
        }
    }
}

impl eframe::App for Window {
    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        let from = Instant::now();
        self.show_guarded(ui);
        self.timing.frame(from);
    }

    fn raw_input_hook(&mut self, ctx: &egui::Context, input: &mut egui::RawInput) {
        self.hear(ctx, input);
    }

    fn on_exit(&mut self, _gl: Option<&eframe::glow::Context>) {
        self.timing.report();
    }
}

/// What becomes of sheets whose names files of another job have.
fn taken(ui: &mut Ui, written: &ToWrite, why: &str, out: &mut Vec<Command>) {
    ui.set_width(520.0);
    ui.label(bold("Files of another job have these names."));
    ui.label(why);
    ui.horizontal_wrapped(|ui| {
        let other = main_button(ui, "Choose another folder …");
        let replace = ui.button("Replace them");
        let not_now = ui.button("Not now");
        if ![&other, &replace, &not_now].iter().any(|b| b.has_focus()) {
            other.request_focus();
        }
        if other.clicked() {
            let asked = if written.only.is_some() { Asked::ExportSheet } else { Asked::Export };
            out.push(Command::KeepTaken);
            out.push(Command::Ask(asked));
        }
        if replace.clicked() {
            out.push(Command::Replace);
        }
        if not_now.clicked() {
            out.push(Command::KeepTaken);
        }
    });
}

/// The middle of a page, as large as what stands in it needs: with large letters in a small window it is
/// moved along under its frame, rather than cut off.
fn middle(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    const LEAST: egui::Vec2 = egui::vec2(570.0, 400.0);
    let room = ui.available_size();
    // A sheet is moved and enlarged by itself.
    if bench.stage == Stage::Sheets || (room.x >= LEAST.x && room.y >= LEAST.y) {
        return panels::middle(ui, bench, out);
    }
    ScrollArea::both().id_salt(("middle", bench.stage)).auto_shrink(false).show(ui, |ui| {
        let (rect, _) = ui.allocate_exact_size(room.max(LEAST), egui::Sense::hover());
        let mut page = ui.new_child(UiBuilder::new().max_rect(rect));
        panels::middle(&mut page, bench, out);
    });
}

/// The entry in which a path is typed.
const PATH_TEXT: &str = "text of the typed path";

/// Files and folders that may be meant, to be pressed instead of typed; as high with few as with many.
fn offers(ui: &mut Ui, typed: &TypedPath, out: &mut Vec<Command>) {
    const HEIGHT: f32 = 230.0;
    const MOST: usize = 200;
    ScrollArea::vertical().auto_shrink(false).max_height(HEIGHT).min_scrolled_height(HEIGHT).show(
        ui,
        |ui| {
            ui.spacing_mut().item_spacing.y = 2.0;
            for name in offered(typed, MOST) {
                if ui.selectable_label(false, &name).clicked() {
                    let folder = name.ends_with('/');
                    let text = completed(&typed.text, &name);
                    let id = Id::unique(PATH_TEXT);
                    widgets::go_on_behind(ui, id, &text);
                    ui.memory_mut(|m| m.request_focus(id));
                    out.push(Command::PathText(text));
                    if !folder && typed.asked != Asked::SaveAs {
                        out.push(Command::PathDone);
                    }
                }
            }
        },
    );
}

/// What a file that is held over the window would be taken for.
fn dragged_over(ui: &Ui, bench: &Bench) {
    if ui.input(|i| i.raw.hovered_files.is_empty()) {
        return;
    }
    let p = palette(ui);
    let words = match bench.stage {
        Stage::Tool => "Drop it: a picture of the ground tool, or a job",
        _ => "Drop it: a picture, a job, or readings as CSV",
    };
    let layer = egui::LayerId::new(egui::Order::Foreground, Id::unique("dragged over"));
    let painter = ui.ctx().layer_painter(layer);
    let all = ui.ctx().content_rect();
    painter.rect_filled(all, 0.0, p.sheet.gamma_multiply(0.85));
    painter.rect_stroke(all.shrink(8.0), 6.0, Stroke::new(3.0, p.accent), StrokeKind::Inside);
    let font = egui::TextStyle::Heading.resolve(ui.style());
    painter.text(all.center(), egui::Align2::CENTER_CENTER, words, font, p.ink);
}

/// Open, save, undo; units and look. In two rows where there is little room, or the text is large.
fn top(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let room = ui.max_rect();
    let corner = room.right_top() + egui::vec2(f32::from(TOP.right), -f32::from(TOP.top));
    ui.set_min_height(text_size::height(ui.ctx()) - f32::from(TOP.top));
    let narrow = text_size::is_narrow(ui.ctx());
    ui.horizontal(|ui| {
        of_the_job(ui, bench, out);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            text_size::buttons(ui, corner, bench, out);
            if !narrow {
                of_the_window(ui, bench, out);
            }
            // The name has what room is left.
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| name(ui, bench));
        });
    });
    if narrow {
        ui.horizontal(|ui| {
            // Where there is little room, how things stand has no row of its own at the foot.
            if text_size::is_low(ui.ctx()) {
                status::in_short(ui, bench, out);
            }
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                of_the_window(ui, bench, out);
            });
        });
    }
}

fn of_the_job(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    // Whoever looks at a demonstration wants a picture of their own next.
    let open = match bench.demonstration {
        true => widgets::accented(ui, "Open your picture …"),
        false => ui.button("Open …"),
    };
    if open.on_hover_text("Ctrl+O; Ctrl+L to type a path; or drop it here").clicked() {
        out.push(Command::Ask(Asked::Open));
    }
    let about = "Ctrl+N: an empty job, for a thread typed in, or for the wheels alone";
    if ui.button("New").on_hover_text(about).clicked() {
        out.push(Command::New);
    }
    let can_save = bench.unsaved() || bench.home.is_some() || bench.job().picture.is_some();
    if ui.add_enabled(can_save, Button::new("Save")).on_hover_text("Ctrl+S").clicked() {
        out.push(Command::Save);
    }
    ui.separator();
    let undo = bench.history.undo_label();
    let response = ui.add_enabled(undo.is_some(), Button::new("Undo"));
    let response = response.on_hover_text(format!("Ctrl+Z: {}", undo.unwrap_or("nothing")));
    if response.clicked() {
        out.push(Command::Undo);
    }
    let redo = bench.history.redo_label();
    let response = ui.add_enabled(redo.is_some(), Button::new("Redo"));
    let response = response.on_hover_text(format!("Ctrl+Shift+Z: {}", redo.unwrap_or("nothing")));
    if response.clicked() {
        out.push(Command::Redo);
    }
    ui.separator();
}

/// Right to left: the first stands in the corner.
fn of_the_window(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    if ui.button("Guide").on_hover_text("F1: a page for each step, keys, and a search").clicked() {
        out.push(Command::Help(true));
    }
    let dark = ui.visuals().dark_mode;
    let words = if dark { "Light" } else { "Dark" };
    if ui.button(words).on_hover_text("light or dark window").clicked() {
        ui.ctx().set_theme(if dark { Theme::Light } else { Theme::Dark });
    }
    ui.separator();
    for (units, words) in [(Units::Thou, "thou"), (Units::Inch, "inch"), (Units::Mm, "mm")] {
        let on = bench.units() == units;
        let button = Button::selectable(on, words).frame_when_inactive(true);
        if ui.add(button).clicked() && !on {
            out.push(Command::Edit(Edit::Units(units)));
        }
    }
}

/// What is open, and whether it is safe in its file.
fn name(ui: &mut Ui, bench: &Bench) {
    let title = if bench.job().title.is_empty() { "Flanklight" } else { &bench.job().title };
    let kind = if bench.demonstration { "Demonstration: " } else { "" };
    let star = if bench.unsaved() { " (not saved)" } else { "" };
    let whole = format!("{kind}{title}{star}");
    // The ends say what it is, and whether it is safe: a name too long is shortened within.
    let font = egui::TextStyle::Name(BOLD.into()).resolve(ui.style());
    let fits = |title: &str| {
        let text = format!("{kind}{title}{star}");
        let galley = ui.painter().layout_no_wrap(text, font.clone(), egui::Color32::WHITE);
        galley.size().x <= ui.available_width() - 1.0
    };
    let shown = format!("{kind}{}{star}", widgets::shortened_within(title, fits));
    let cut = shown != whole;
    let label = ui.add(egui::Label::new(bold(shown)).truncate());
    if cut {
        label.on_hover_text(whole);
    }
}

fn messages(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let p = palette(ui);
    for text in &bench.lost {
        Frame::new()
            .fill(p.card)
            .stroke(Stroke::new(1.5, p.bad))
            .corner_radius(3.0)
            .inner_margin(Margin::symmetric(10, 6))
            .show(ui, |ui| {
                ui.set_width(ui.available_width());
                ui.label(text);
                if ui.small_button("Understood").clicked() {
                    out.push(Command::Lost);
                }
            });
        ui.add_space(4.0);
    }
    for (i, message) in bench.messages.iter().enumerate() {
        let colour = if message.tone == Tone::Done { p.good } else { p.bad };
        Frame::new()
            .fill(p.card)
            .stroke(Stroke::new(1.5, colour))
            .corner_radius(3.0)
            .inner_margin(Margin::symmetric(10, 6))
            .show(ui, |ui| {
                ui.set_width(ui.available_width());
                ui.label(&message.text);
                if ui.small_button("Understood").clicked() {
                    out.push(Command::Dismiss(i));
                }
            });
        ui.add_space(4.0);
    }
    for (i, left) in bench.recovered.iter().enumerate() {
        Frame::new()
            .fill(p.card)
            .stroke(Stroke::new(1.5, p.doubt))
            .corner_radius(3.0)
            .inner_margin(Margin::symmetric(10, 6))
            .show(ui, |ui| {
                ui.set_width(ui.available_width());
                let title = if left.job.title.is_empty() { "A job" } else { &left.job.title };
                ui.label(format!("{title}: the window ended before this was saved."));
                let home = left.home.as_ref().map_or_else(
                    || "It was never saved.".to_owned(),
                    |home| format!("Its file is {}.", home.display()),
                );
                ui.label(format!("Kept on {}. {home}", job::when(left.when)));
                ui.horizontal(|ui| {
                    if bench.forgetting == Some(i) {
                        ui.label(bold("It is then gone for good."));
                        if ui.button("Yes, throw it away").clicked() {
                            out.push(Command::Forget(i));
                        }
                        if ui.button("Keep it").clicked() {
                            out.push(Command::Forgetting(None));
                        }
                        return;
                    }
                    if ui.button("Go on with it").clicked() {
                        out.push(Command::Recover(i));
                    }
                    if ui.button("Throw it away …").clicked() {
                        out.push(Command::Forgetting(Some(i)));
                    }
                });
            });
        ui.add_space(4.0);
    }
}

/// The middle while there is no picture: the doors into the work on the first page, and on the others
/// what they wait for.
fn no_picture(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    if panels::doors::are_shown(bench) {
        return panels::doors::show(ui, bench, out);
    }
    let p = palette(ui);
    ui.painter().rect_filled(ui.max_rect(), 0.0, p.table);
    ui.vertical_centered(|ui| {
        ui.add_space(0.28 * ui.available_height());
        if matches!(bench.work, Work::Busy { .. }) {
            ui.label(RichText::new("One moment …").heading());
            return;
        }
        ui.label(RichText::new("Drop a picture of the screw's shadow here").heading());
        ui.add_space(4.0);
        ui.label("with a rod of known width beside the screw, light from behind");
        ui.add_space(14.0);
        if main_button(ui, "Choose a picture …").clicked() {
            out.push(Command::Ask(Asked::Open));
        }
        ui.add_space(6.0);
        ui.label(
            RichText::new("or without one: a thread is typed in at step 5, wheels at step 9")
                .weak(),
        );
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_while_showing_keeps_the_job_and_the_window() {
        let dir = tempfile::tempdir().unwrap();
        let mut window = Window::new(Arc::new(|| {}), dir.path().to_owned()).unwrap();
        window.bench.history.edit("title", |j| j.title = "half done".into());
        window.fault = true;
        let ctx = egui::Context::default();
        super::super::look::dress(&ctx);
        for _ in 0..2 {
            let mut shown = ctx.run_ui(egui::RawInput::default(), |ui| window.show_guarded(ui));
            shown.textures_delta.clear();
        }
        while !window.idle() {
            std::thread::yield_now();
        }
        assert!(window.bench.messages.iter().any(|m| m.text.contains("The job is kept")));
        assert_eq!(window.faults, 0);
        let kept = std::fs::read_dir(dir.path()).unwrap().filter_map(Result::ok);
        let kept: Vec<_> = kept.filter_map(|e| std::fs::read_to_string(e.path()).ok()).collect();
        assert!(kept.iter().any(|text| text.contains("half done")), "{kept:?}");
    }
}
