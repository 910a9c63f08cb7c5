//! Change wheels: every train that cuts the lead, and what its error comes to.

use crate::window::command::Command;
use crate::window::edit::Edit;
use crate::window::field::Field;
use crate::window::figure::{Figure, wheel};
use crate::window::look::palette;
use crate::window::route::counted;
use crate::window::state::Bench;
use crate::window::widgets::{
    bold, bullets, card, cautions, choice, entry, example, folded_entries, heading, heads, hint,
    line, main_button, minus, remark, rough, signed, small,
};
use eframe::egui::{Align2, Button, Color32, Grid, RichText, ScrollArea, Stroke, Ui, vec2};
use form::Units;
use job::Duty;
use shop::{About, Gears, HalfNuts, Indexing, Train, WheelDoes};

/// Play lost to the wheels that is worth a word, mm.
pub(super) const LEAST_LOST_MM: f64 = 0.0005;

pub(super) fn side(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let job = bench.job();
    let p = palette(ui);
    if let Some(refusal) = job.duty.and_then(Duty::refusal) {
        remark(ui, p.bad, &refusal);
        return;
    }
    entry(ui, bench, out, Field::Leadscrew, "Pitch of the lathe's lead screw", "8 tpi, 3 mm");
    let lead = bench.findings().and_then(|f| f.screw.as_ref()).map(|s| s.lead_mm());
    let wanted = match lead {
        Some(q) => format!("the screw's: {}", bench.units().show(q)),
        None => "2.5 mm, 10 tpi; for two starts, twice the pitch".to_owned(),
    };
    entry(ui, bench, out, Field::LeadWanted, "Lead to cut", &wanted);
    entry(ui, bench, out, Field::WheelsOwned, "Wheels owned, in teeth", "20, 25 … 65, 127");
    if job.wheels.wheels.is_empty() && main_button(ui, "Take a usual set").clicked() {
        out.push(Command::Edit(Edit::UsualWheels));
    }
    let count = match job.wheels.wheels.len() {
        0 => String::new(),
        n => format!("{} understood. ", counted(n, "wheel")),
    };
    hint(ui, &format!("{count}One owned twice is written twice; 20-65 goes by fives."));
    let entries = [
        Field::WheelPair,
        Field::WheelTolerance,
        Field::Module,
        Field::ShaftDiameter,
        Field::Centres,
        Field::LargestWheel,
        Field::NutLength,
        Field::Play,
    ];
    // Where there is a nut, it says the last two.
    let no_nut = bench.findings().is_none_or(|f| f.nut.is_none());
    let entries = if no_nut { &entries[..] } else { &entries[..6] };
    folded_entries(
        ui,
        bench,
        entries,
        "more about wheels",
        "More about the machine",
        false,
        |ui| {
            entry(ui, bench, out, Field::WheelPair, "Pair fixed on one shaft", "127/120");
            hint(ui, "Driven teeth, driver teeth; goes between the others.");
            entry(ui, bench, out, Field::WheelTolerance, "Most error shown, ppm", "3000");
            bracket(ui, bench, out);
            if no_nut {
                for_nut(ui, bench, out);
            }
        },
    );
    super::remarks(ui, bench);
    let Some(gears) = bench.findings().and_then(|f| f.gears.as_ref()) else { return };
    if let Some(train) = chosen(bench, gears) {
        heading(ui, "This train");
        about(ui, bench, train);
        tip(ui, bench);
    }
    cautions(ui, &[About::Wheels, About::Lathe]);
}

/// What the bracket and the guard let through.
fn bracket(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let usual = shop::Bracket::default();
    let units = bench.units();
    heading(ui, "Bracket");
    ui.columns(2, |sides| {
        let module = units.plain(usual.module_mm, 2);
        entry(&mut sides[0], bench, out, Field::Module, "Module of the wheels", &module);
        let shaft = units.plain(usual.shaft_diameter_mm, 0);
        entry(&mut sides[1], bench, out, Field::ShaftDiameter, "Shafts with collars", &shaft);
    });
    ui.columns(2, |sides| {
        let any = "not limited";
        entry(&mut sides[0], bench, out, Field::Centres, "First driver to lead screw", any);
        entry(&mut sides[1], bench, out, Field::LargestWheel, "Largest wheel, teeth", any);
    });
    hint(ui, "Module: mm of diameter to a tooth. With the reach given, an idler is found too.");
}

/// What the error comes to over a nut that was not designed here.
fn for_nut(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let units = bench.units();
    heading(ui, "For a nut");
    ui.columns(2, |sides| {
        entry(
            &mut sides[0],
            bench,
            out,
            Field::NutLength,
            "Length of thread",
            example(units, ["30 mm", "1.25 in", "1.25 in"]),
        );
        entry(
            &mut sides[1],
            bench,
            out,
            Field::Play,
            "Axial play of the nut",
            example(units, ["0.08 mm", "0.003 in", "3 thou"]),
        );
    });
    choice(
        ui,
        "Starts",
        bench.job().thread.starts.unwrap_or(1),
        &[(1, "1"), (2, "2"), (3, "3"), (4, "4")],
        |n| out.push(Command::Edit(Edit::Starts((n > 1).then_some(n)))),
    );
}

fn chosen<'a>(bench: &Bench, gears: &'a Gears) -> Option<&'a Train> {
    bench.job().wheels.used(gears)
}

fn about(ui: &mut Ui, bench: &Bench, train: &Train) {
    let units = bench.units();
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        line(ui, "cuts", &lead_units(bench).lead(train.pitch_mm), "calculated");
        let error = format!("{} ({})", along(train.error_ppm, units), shop::ppm(train.error_ppm));
        let error = if exact(train) { "exact".to_owned() } else { error };
        line(ui, &format!("error in {}", run(units)), &error, "calculated");
        if let Some(known) = lead_known_ppm(bench) {
            let why = "The error is against the screw's lead as it was found, which is only known so well.";
            let text = format!("± {:.0} ppm", rough(known));
            line(ui, "lead itself known to", &text, "derived").on_hover_text(why);
        }
        if let Some(mm) = train.error_over_nut_mm {
            let over = small(mm, units);
            line(ui, "over the nut", &over, "calculated");
        }
        if let Some((driven, driver)) = bench.job().wheels.pair
            && train.driven.contains(&driven)
            && train.drivers.contains(&driver)
        {
            line(ui, "on one shaft", &format!("{driven} and {driver}"), "");
        }
        if let Some(idler) = train.idler {
            line(ui, "idler to reach", &idler.to_string(), "");
        }
    });
    ui.label(bold(half_nuts(train.half_nuts, units)));
    let ways =
        bench.findings().map(|f| job::next_starts(bench.job(), f, Some(train))).unwrap_or_default();
    if !ways.is_empty() {
        heading(ui, "From one start to the next");
        let lines: Vec<String> = ways.iter().map(|w| way(w, units)).collect();
        bullets(ui, &lines);
    }
}

/// The length over which a machinist thinks of an error of lead, in words.
fn run(units: Units) -> &'static str {
    match units {
        Units::Mm => "300 mm",
        Units::Inch | Units::Thou => "12 in",
    }
}

/// What an error of a lead comes to over that length.
fn along(error_ppm: f64, units: Units) -> String {
    let over_mm = match units {
        Units::Mm => 300.0,
        Units::Inch | Units::Thou => 12.0 * form::units::MM_PER_INCH,
    };
    minus(&signed(1e-6 * error_ppm * over_mm, units))
}

/// Whether a train cuts the lead exactly.
fn exact(train: &Train) -> bool {
    shop::ppm(train.error_ppm) == "exact"
}

/// The units in which leads are shown: those in which the lead that is wanted is a round number, where
/// only one of them makes it one.
fn lead_units(bench: &Bench) -> Units {
    let screw = bench.findings().and_then(|f| f.screw.as_ref()).map(|s| s.lead_mm().value);
    let Some(wanted) = bench.job().wheels.want_mm.or(screw) else { return bench.units() };
    let round = |value: f64| (value - value.round()).abs() < 1e-6;
    let (metric, inch) = (round(100.0 * wanted), round(1e3 * wanted / form::units::MM_PER_INCH));
    match bench.units() {
        Units::Inch | Units::Thou if metric && !inch => Units::Mm,
        units => units,
    }
}

/// How well the lead that is cut is known, where it is the screw's, ppm.
fn lead_known_ppm(bench: &Bench) -> Option<f64> {
    let lead = bench.findings()?.screw.as_ref()?.lead_mm();
    let own = bench.job().wheels.want_mm.is_none() && lead.u > 0.0 && lead.u.is_finite();
    own.then(|| 1e6 * lead.u / lead.value)
}

/// What the wheels do to the tool, said where they are chosen.
fn tip(ui: &mut Ui, bench: &Bench) {
    let units = bench.units();
    let findings = bench.findings();
    let (Some(nut), Some(tool)) =
        (findings.and_then(|f| f.nut.as_ref()), findings.and_then(|f| f.tool.as_ref()))
    else {
        return;
    };
    let lost = nut.play_lost_to_lead_mm;
    if lost > LEAST_LOST_MM && tool.purpose == shop::ToolFor::Nut {
        hint(
            ui,
            &format!(
                "This train's error takes {} of play over the nut. The tool's tip is that much \
                 wider to give it back: {}, not {}.",
                units.plain(lost, 3),
                units.plain(tool.tip_flat_mm.value, 3),
                units.plain(tool.tip_flat_mm.value - lost, 3)
            ),
        );
    }
    hint(ui, "Nut, tool, passes and sheets are for the train that is lit in the list.");
}

fn way(way: &Indexing, units: Units) -> String {
    match way {
        Indexing::FirstDriver { teeth, by_teeth } => format!(
            "Mark the first driver ({teeth} teeth) and its mesh, part them, turn the spindle by \
             {by_teeth} teeth."
        ),
        Indexing::TopSlide { advance_mm } => format!(
            "Advance the top slide, set parallel to the axis, by {}.",
            units.plain(*advance_mm, 3)
        ),
    }
}

fn half_nuts(rule: HalfNuts, units: Units) -> String {
    match rule {
        HalfNuts::OpenAnywhere => "Half nuts may be opened anywhere.".into(),
        HalfNuts::OpenEvery { length_mm, leadscrew_turns } => format!(
            "Half nuts: open and close only every {leadscrew_turns} turns of the lead screw ({}).",
            units.plain(length_mm, 3)
        ),
        HalfNuts::KeepClosed => "Keep the half nuts closed until the thread is done.".into(),
    }
}

/// What is still to be entered, by name.
fn missing(bench: &Bench) -> String {
    let said = &bench.job().wheels;
    let screw = bench.findings().is_some_and(|f| f.screw.is_some());
    let all = [
        (said.leadscrew_mm.is_none(), "the pitch of the lathe's lead screw"),
        (said.want_mm.is_none() && !screw, "the lead to cut"),
        (said.wheels.is_empty(), "the wheels owned"),
    ];
    let names: Vec<&str> = all.into_iter().filter(|(is, _)| *is).map(|(_, name)| name).collect();
    match names.as_slice() {
        [] => "Being worked out …".to_owned(),
        [one] => format!("Enter {one}. Nothing else is needed."),
        [first @ .., last] => {
            format!("Enter {} and {last}. Nothing else is needed.", first.join(", "))
        }
    }
}

/// The train drawn to scale, and the table of all of them.
pub(super) fn middle(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let Some(gears) = bench.findings().and_then(|f| f.gears.as_ref()) else {
        super::empty(ui, "Which wheels?", &missing(bench));
        return;
    };
    let Some(train) = chosen(bench, gears) else {
        super::empty(ui, "No train comes near enough", "Allow more error, or add a wheel.");
        return;
    };
    let height = (0.46 * ui.available_height()).max(150.0);
    drawing(ui, train, height);
    let shown = gears.trains.len();
    ui.add_space(4.0);
    ui.horizontal(|ui| {
        ui.label(bold(if gears.found > shown {
            format!("The best {shown} of {} trains", gears.found)
        } else if shown == 1 {
            "The only train".to_owned()
        } else {
            format!("All {}", counted(shown, "train"))
        }));
        if bench.job().wheels.train.is_some() {
            let about = "A train was chosen by hand, and stays chosen whatever else is changed. \
                         Pressed, the best is used again.";
            if ui.button("Always use the best").on_hover_text(about).clicked() {
                out.push(Command::Edit(Edit::Train(None)));
            }
        } else {
            hint(ui, "The best is used. Press another's number to use that one.");
        }
    });
    ScrollArea::vertical().id_salt("trains").auto_shrink(false).show(ui, |ui| {
        table(ui, bench, gears, out);
    });
}

fn table(ui: &mut Ui, bench: &Bench, gears: &Gears, out: &mut Vec<Command>) {
    let units = bench.units();
    let error = format!("error in {}", run(units));
    Grid::new("trains").num_columns(6).striped(true).spacing([18.0, 3.0]).show(ui, |ui| {
        heads(ui, &["", "drivers / driven", "cuts", &error, "over the nut", "half nuts"]);
        let used = bench.job().wheels.used_at(&gears.trains);
        for (i, train) in gears.trains.iter().enumerate() {
            let here = used == i;
            let number = format!("{}", i + 1);
            let look = Button::selectable(here, number).frame_when_inactive(true);
            let look = ui.add(look.min_size(vec2(30.0, 20.0)));
            let named = format!("Train {}: {}", i + 1, words(train));
            if look.on_hover_text(named).clicked() {
                out.push(Command::Train(i));
            }
            ui.label(words(train));
            ui.label(lead_units(bench).lead(train.pitch_mm));
            let ppm = minus(&shop::ppm(train.error_ppm));
            match exact(train) {
                true => ui.label(ppm),
                false => ui.label(along(train.error_ppm, units)).on_hover_text(ppm),
            };
            let p = palette(ui);
            let colour = if train.within_quarter_play == Some(false) { p.doubt } else { p.ink };
            let over = train.error_over_nut_mm.map_or_else(|| "–".into(), |mm| small(mm, units));
            ui.label(RichText::new(over).color(colour));
            ui.label(match train.half_nuts {
                HalfNuts::OpenAnywhere => "anywhere".into(),
                HalfNuts::OpenEvery { leadscrew_turns, .. } => {
                    format!("every {leadscrew_turns} turns")
                }
                HalfNuts::KeepClosed => "keep closed".into(),
            });
            ui.end_row();
        }
    });
}

fn words(train: &Train) -> String {
    let join = |teeth: &[u32]| {
        let words: Vec<String> = teeth.iter().map(u32::to_string).collect();
        words.join(" × ")
    };
    format!("{} / {}", join(&train.drivers), join(&train.driven))
}

/// Wheels in a row, pitch circles to scale for module 1.
fn drawing(ui: &mut Ui, train: &Train, height: f32) {
    let mut row = train.row();
    let (mut low, mut high, mut tall) = (f64::MAX, f64::MIN, 0.0f64);
    for w in &row {
        let r = w.radius + 2.0;
        (low, high, tall) = (low.min(w.at - r), high.max(w.at + r), tall.max(r));
    }
    let f = Figure::new(ui, height, [low, -tall - 8.0, high, tall], "the train, to scale");
    // The larger of two on a shaft lies behind.
    row.sort_by_key(|w| std::cmp::Reverse(w.teeth));
    for w in &row {
        let beside = row.iter().find(|o| o.at == w.at && (o.teeth, o.does) != (w.teeth, w.does));
        let driver = w.does != WheelDoes::Driven;
        wheel(&f, (w.at, 0.0), w.radius, w.teeth, driver, beside.map_or(0.0, |o| o.radius));
    }
    let end = row.iter().map(|w| w.at).fold(f64::MIN, f64::max);
    f.text((0.0, -tall - 4.0), Align2::CENTER_CENTER, "spindle", f.p.faint);
    f.text((end, -tall - 4.0), Align2::CENTER_CENTER, "lead screw", f.p.faint);
    f.circle((0.0, 0.0), 1.2, Color32::TRANSPARENT, Stroke::new(1.0, f.p.ink));
}
