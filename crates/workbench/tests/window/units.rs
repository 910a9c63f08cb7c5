//! Lengths are shown in the units that were chosen, and to the digits that are known.

use crate::support::Bench;
use eframe::egui::Role;
use egui_kittest::kittest::NodeT;
use workbench::window::field::Field;
use workbench::window::stage::Stage;

/// Everything that is written on the page, but for what was typed and the steps along the top.
fn written(bench: &Bench) -> Vec<String> {
    let (mut todo, mut out) = (vec![bench.harness.root()], Vec::new());
    while let Some(node) = todo.pop() {
        let n = node.accesskit_node();
        if !matches!(n.role(), Role::TextInput | Role::Tab) {
            out.extend(n.label());
            out.extend(n.value());
        }
        todo.extend(node.children());
    }
    out
}

/// Whether a length in millimetres stands in a text: a figure before the unit.
fn in_mm(text: &str) -> bool {
    let word = |rest: &str| !rest.starts_with(|c: char| c.is_alphanumeric() || "²/".contains(c));
    text.match_indices("mm").any(|(at, _)| {
        let before = text[..at].trim_end();
        before.ends_with(|c: char| c.is_ascii_digit()) && word(&text[at + 2..])
    }) || text.contains("µm")
}

/// Millimetres that are meant: names of threads, paper, what an example of typing shows, and wheels, whose
/// module is always in millimetres.
fn meant(text: &str) -> bool {
    ["100 mm", "like 50 mm on 35 mm film", "on 35 mm film", " x ", "Choose", "metric", "6 mm,"]
        .iter()
        .any(|t| text.contains(t))
}

#[test]
fn no_page_keeps_millimetres_under_inch() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    // Seen by the check, so that it can find something.
    bench.go_to("Nut");
    bench.settle();
    assert!(written(&bench).iter().any(|t| in_mm(t)));
    assert!(written(&bench).iter().any(|t| t.contains("0.05 to 0.10 mm")));
    for units in ["inch", "thou"] {
        bench.press(units);
        bench.settle();
        for stage in Stage::ALL {
            bench.go_to(stage.name());
            bench.settle();
            let mut left = written(&bench);
            left.retain(|t| in_mm(t) && !meant(t));
            if stage == Stage::Passes {
                // A dial of millimetres shows millimetres, whatever is read on the screen.
                let alone =
                    |t: &str| t.strip_suffix(" mm").is_some_and(|n| n.parse::<f64>().is_ok());
                left.retain(|t| !alone(t));
            }
            assert!(left.is_empty(), "{} under {units}: {left:#?}", stage.name());
        }
    }
}

#[test]
fn a_dragged_play_has_the_digits_of_the_units_it_is_read_in() {
    for (units, most, unit_mm) in [("inch", 4, 25.4), ("thou", 1, 0.0254), ("mm", 3, 1.0)] {
        let mut bench = Bench::new();
        bench.press("Show me on a demonstration");
        bench.settle();
        bench.press(units);
        bench.go_to("Nut");
        bench.settle();
        let before = bench.job().nut.play_mm.value;
        bench.drag_within("axial play against infeed", (0.55, 0.5), (0.8, 0.4));
        bench.settle();
        let play = bench.job().nut.play_mm.value;
        assert_ne!(play, before);
        let text = bench.harness.state().bench.text_of(Field::Play);
        let number = text.split(' ').next().unwrap();
        let decimals = number.split_once('.').map_or(0, |(_, d)| d.len());
        assert!(decimals <= most, "{units}: {text}");
        assert!((number.parse::<f64>().unwrap() * unit_mm - play).abs() < 1e-9, "{text} is {play}");
    }
}

#[test]
fn what_is_proposed_is_round_in_the_units_it_is_read_in() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    bench.press("inch");
    bench.go_to("Nut");
    bench.press("split");
    bench.settle();
    let text = |b: &Bench, field| b.harness.state().bench.text_of(field);
    assert_eq!(text(&bench, Field::Kerf), "0.06 in");
    bench.press("a sleeve");
    bench.settle();
    let outside = text(&bench, Field::SleeveOutside);
    let inch: f64 = outside.trim_end_matches(" in").parse().unwrap();
    assert!((16.0 * inch).fract() == 0.0 && inch > 0.8, "{outside}");
    // And stands in the step along the top without being cut.
    let bar = workbench::window::route_result(&bench.harness.state().bench, Stage::Bar);
    assert_eq!(bar, "0.23622 in");
}

#[test]
fn a_lead_angle_and_the_width_in_pixels_have_their_doubt() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    bench.go_to("Bar");
    let seen = written(&bench).into_iter().find(|t| t.ends_with("px wide")).unwrap();
    assert!(seen.contains(" ± 0.0"), "{seen}");
    bench.go_to("Checks");
    let wires = bench.findings().wires.clone().unwrap();
    let lead = wires.lead_angle_deg;
    // By the spread of lead and pitch diameter alone (own arithmetic).
    let screw = bench.findings().screw.clone().unwrap();
    let d = screw.derive(form::Thread::pitch_diameter_mm).unwrap();
    let share = (screw.pitch_mm.u / screw.pitch_mm.value).hypot(d.u / d.value);
    let wanted = (0.5 * (2.0 * lead.value.to_radians()).sin() * share).to_degrees();
    assert!((lead.u / wanted - 1.0).abs() < 0.02, "{lead:?}, {wanted}");
    assert!(bench.says(&format!("{}°", lead.with_u(3))));
}

#[test]
fn in_inches_two_trains_are_told_apart() {
    let mut bench = Bench::new();
    bench.go_to("Change wheels");
    bench.enter("Pitch of the lathe's lead screw", "8 tpi");
    bench.enter("Lead to cut", "3 mm");
    bench.enter("Wheels owned, in teeth", "45, 50, 60, 63, 120, 127");
    bench.press("inch");
    bench.settle();
    // 120/127 of an eighth of an inch is 3 mm; 45 × 63 / (50 × 60) is 125 ppm more. A lead typed in
    // millimetres does not come back in inches, the error over a foot does: 12 in × 125 ppm = 0.0015 in.
    assert!(bench.says("3.00000 mm") && bench.says("3.0003") && bench.says("+0.0015 in"));
    bench.press("2");
    bench.settle();
    assert!(bench.says("+0.0015 in (+125 ppm)"));
    bench.enter("Lead to cut", "0.11811 in");
    bench.settle();
    assert!(bench.says("0.118110 in"));
}

#[test]
fn the_play_lies_between_the_same_numbers_as_on_paper() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    bench.press("inch");
    bench.go_to("Nut");
    bench.settle();
    let (least, most) = bench.findings().nut.as_ref().unwrap().play_limits_mm.unwrap();
    let both = form::sentence!("{} to {}", form::mm(least, 2), form::mm(most, 2));
    let both = both.in_units(form::Units::Inch);
    assert!(bench.says(&both), "{both}");
    // To a ten-thousandth: a thousandth is a third of the play.
    let decimals = |said: &str| said.split('.').nth(1).unwrap().len();
    assert!(both.split(" in").filter(|n| n.contains('.')).all(|n| decimals(n) == 4), "{both}");
}
