//! A thread typed in, for work without a picture.

use super::by_name;
use crate::window::command::Command;
use crate::window::edit::Edit;
use crate::window::field::Field;
use crate::window::state::Bench;
use crate::window::widgets::{choice, entry, example, heading, hint};
use eframe::egui::Ui;
use form::Hand;

pub(super) fn show(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let (job, units) = (bench.job(), bench.units());
    by_name::show(ui, bench, out);
    heading(ui, "Or type its numbers in");
    hint(
        ui,
        "What you know from elsewhere is enough for nut, tool, passes and checks. Give each number \
         its ±; it is carried on. A picture, once measured, takes their place.",
    );
    entry(
        ui,
        bench,
        out,
        Field::FormPitch,
        "Pitch",
        example(
            units,
            ["4 mm ± 0.01 mm, 10 tpi", "10 tpi, 0.157 ± 0.0004 in", "10 tpi, 157 ± 0.4 thou"],
        ),
    );
    entry(ui, bench, out, Field::FormRight, "Right flank", "15° ± 0.2°, 14d30m");
    entry(ui, bench, out, Field::FormLeft, "Left flank", "15° ± 0.2°");
    entry(
        ui,
        bench,
        out,
        Field::FormDepth,
        "Depth, radial",
        example(units, ["2.25 mm ± 0.02 mm", "0.089 ± 0.001 in", "89 ± 1 thou"]),
    );
    entry(
        ui,
        bench,
        out,
        Field::FormCrest,
        "Crest flat",
        example(units, ["1.46 mm ± 0.02 mm", "0.058 ± 0.001 in", "58 ± 1 thou"]),
    );
    entry(
        ui,
        bench,
        out,
        Field::Major,
        "Major diameter",
        example(units, ["19.98 mm ± 0.01 mm", "0.7866 ± 0.0004 in", "786.6 ± 0.4 thou"]),
    );
    let sharp = example(units, ["sharp; 0.25 mm", "sharp; 0.010 in", "sharp; 10 thou"]);
    entry(ui, bench, out, Field::FormCrestRadius, "Crest radius", sharp);
    entry(ui, bench, out, Field::FormRootRadius, "Root radius", sharp);
    choice(
        ui,
        "Starts",
        job.thread.starts.unwrap_or(1),
        &[(1, "1"), (2, "2"), (3, "3"), (4, "4")],
        |n| out.push(Command::Edit(Edit::Starts(Some(n)))),
    );
    choice(
        ui,
        "Hand",
        job.thread.hand.unwrap_or(Hand::Right),
        &[(Hand::Right, "right"), (Hand::Left, "left")],
        |hand| out.push(Command::Edit(Edit::Hand(Some(hand)))),
    );
}
