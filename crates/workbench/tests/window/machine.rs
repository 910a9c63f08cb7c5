//! Work at the machine: the ground tool by its picture, the boring bar, the bracket, the blank.

use crate::pages::typed;
use crate::support::Bench;
use eframe::egui::Role;
use egui_kittest::kittest::{NodeT, Queryable};
use shop::ToolForm;
use workbench::window::stage::{Stage, Standing};

/// A typed thread whose duty is said, at the page of this name.
fn at(stage: &str) -> Bench {
    let mut bench = Bench::new();
    typed(&mut bench);
    bench.go_to("Nut");
    bench.press("It sets or moves something; nobody is hurt if it slips");
    bench.settle();
    bench.go_to(stage);
    bench
}

/// A picture of `tool` with a tip wider than drawn and sides steeper by `more_deg` each, beside a bar
/// of 3 mm; 60 px/mm, 4 × 4 samples a pixel.
fn tool_picture(tool: &ToolForm, wider_mm: f64, more_deg: f64) -> Vec<u8> {
    let (w, h, scale) = (720u32, 720u32, 60.0);
    let half = |below: f64, side: &shop::ToolSide| {
        let tan = (side.angle_deg.value + more_deg).to_radians().tan();
        0.5 * (tool.tip_flat_mm.value + wider_mm) + tan * below.min(3.0)
    };
    let inside = |x: f64, below: f64| {
        let side = if x < 0.0 { &tool.left } else { &tool.right };
        let tool = (0.0..6.0).contains(&below) && x.abs() < half(below, side);
        tool || ((below - 8.0 + 0.02 * x).abs() < 1.5 && x.abs() < 5.0)
    };
    let mut grey = Vec::new();
    for (y, x) in (0..h).flat_map(|y| (0..w).map(move |x| (y, x))) {
        let at =
            |v: u32, k: i32, from: f64| (f64::from(v) + (f64::from(k) + 0.5) / 4.0 - from) / scale;
        let dark =
            (0..16).filter(|k| inside(at(x, k % 4, 360.0), at(y, k / 4, 150.0))).count() as f64;
        let light: f64 = 0.7 * (1.0 - dark / 16.0) + 0.02;
        grey.push((255.0 * (1.055 * light.powf(1.0 / 2.4) - 0.055)).round() as u8);
    }
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, w, h);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.write_header().unwrap().write_image_data(&grey).unwrap();
    bytes
}

#[test]
fn the_ground_tool_is_checked_by_its_own_picture() {
    let mut bench = at("Tool");
    let tool = bench.findings().tool.clone().unwrap();
    let good = bench.folder.path().join("tool.png");
    let wide = bench.folder.path().join("wide.png");
    std::fs::write(&good, tool_picture(&tool, 0.0, 0.0)).unwrap();
    std::fs::write(&wide, tool_picture(&tool, 0.06, 0.5)).unwrap();
    bench.press("The tool as ground, by its picture");
    bench.press("Type its path …");
    bench.enter("Path of a picture of the ground tool", &good.display().to_string());
    bench.settle();
    assert!(bench.says("width of the bar beside the ground tool is not known"));
    bench.enter("Width of the bar beside it", "3.000 ± 0.002 mm");
    bench.settle();
    let change = |b: &Bench| b.findings().ground.as_ref().unwrap().check.play_change_mm;
    let nothing = change(&bench);
    assert!(nothing.value.abs() < 2.0 * nothing.u && nothing.u < 0.02, "{nothing:?}");
    bench.wait_for(None, "the ground tool in its picture");
    // Dropped on this page, a picture is one of the tool.
    bench.drop_file(&wide);
    bench.settle();
    assert_eq!(bench.job().ground.picture.as_ref().unwrap().path, wide);
    let check = bench.findings().ground.as_ref().unwrap().check.clone();
    let left = check.left_error_deg;
    assert!((left.value - 0.5).abs() < 3.0 * left.u && left.u < 0.2, "{left:?}");
    let tip = check.tip_flat_error_mm;
    assert!((tip.value - 0.06).abs() < 3.0 * tip.u && tip.u < 0.02, "{tip:?}");
    assert!(check.play_change_mm.value > 0.06);
    let designed = bench.findings().nut.as_ref().unwrap().axial_play_mm.value;
    assert!((check.play_mm.value - check.play_change_mm.value - designed).abs() < 1e-4);
    assert!(bench.says("to have it back, or grind again"));
    // The sheet at the lathe says so, too.
    let f = bench.findings();
    let pages = job::worksheet(&bench.job(), &f, job::PaperSaid::A4, "2026-01-01").unwrap();
    let text = format!("{:?}", pages[0].canvas.items());
    assert!(text.contains("The tool as ground"));
    // What shows no tool is said by name, and what cannot be read too.
    let (shadow, _) = bench.picture();
    bench.drop_file(&shadow);
    bench.settle();
    assert!(bench.findings().ground.is_none());
    assert!(bench.says("shadow.jpg"));
    bench.press("Undo");
    bench.settle();
    assert!((change(&bench).value - check.play_change_mm.value).abs() < 1e-12);
    // Kept with the job; when the picture is gone, the job says so and keeps the rest.
    let home = bench.folder.path().join("tool.flanklight.json");
    let ctx = bench.harness.ctx.clone();
    let save = workbench::window::command::Command::SaveAs(home.clone());
    bench.harness.state_mut().command(&ctx, save);
    bench.settle();
    let mut second = Bench::new();
    second.open(&home);
    assert!((change(&second).value - check.play_change_mm.value).abs() < 1e-12);
    std::fs::remove_file(&wide).unwrap();
    let mut third = Bench::new();
    third.open(&home);
    third.go_to("Tool");
    assert!(third.findings().ground.is_none() && third.findings().tool.is_some());
    assert!(third.says("wide.png"));
    third.press("No picture");
    third.settle();
    assert!(third.findings().troubles.is_empty(), "{:?}", third.findings().troubles);
}

#[test]
fn the_boring_bar_at_hand_is_weighed() {
    let mut bench = at("Tool");
    let bar = |b: &Bench| b.findings().boring_bar.as_deref().unwrap().clone();
    let usual = bar(&bench);
    // Bore 15.5 + twice the clearance: own arithmetic for what enters and retracts.
    let nut = bench.findings().nut.clone().unwrap();
    let most = nut.bore_mm.value - nut.infeed_mm.value - 1.5;
    assert!((usual.largest_mm - most).abs() < 1e-9 && usual.diameter_mm <= most);
    bench.enter("Diameter of the bar", "8 mm");
    bench.enter("Free length of the bar", "40 mm");
    bench.settle();
    let thin = bar(&bench);
    assert!(thin.radial_bending_mm.value > 1.5 * usual.radial_bending_mm.value);
    assert!(bench.says("5.0 diameters"));
    bench.wait_for(None, "the boring bar in the bore, at full depth, to scale");
    assert!(bench.says("the limit of common practice"));
    // The passes are planned for this bar.
    let cutting = bench.findings().cutting.clone().unwrap();
    assert_eq!(cutting.bar.unwrap().diameter_mm, 8.0);
    bench.press("solid carbide");
    bench.settle();
    assert!(bar(&bench).radial_bending_mm.value < thin.radial_bending_mm.value);
    bench.enter("Diameter of the bar", "15 mm");
    bench.settle();
    assert!(bench.says("does not let the tool retract"));
    bench.enter("Diameter of the bar", "");
    bench.settle();
    assert_eq!(bar(&bench).diameter_mm, usual.diameter_mm);
}

#[test]
fn the_bracket_leaves_out_what_does_not_mesh() {
    let mut bench = Bench::new();
    bench.go_to("Change wheels");
    bench.enter("Pitch of the lathe's lead screw", "6 mm");
    bench.enter("Lead to cut", "4 mm");
    bench.enter("Wheels owned, in teeth", "20 40 60 65 80 100");
    bench.press("More about the machine");
    bench.settle();
    let gears = |b: &Bench| b.findings().gears.clone().unwrap();
    let all = gears(&bench).found;
    assert!(gears(&bench).trains[0].idler.is_none());
    // 40 drives 60: 75 mm of module 1.5 between their shafts; 120 mm are to be bridged.
    bench.enter("First driver to lead screw", "120 mm");
    bench.settle();
    let best = gears(&bench).trains[0].clone();
    assert_eq!((best.drivers.as_slice(), best.driven.as_slice()), (&[40][..], &[60][..]));
    assert_eq!(best.idler, Some(65));
    assert!(bench.says("idler to reach"));
    bench.enter("First driver to lead screw", "");
    bench.enter("Largest wheel, teeth", "64");
    bench.settle();
    assert!(gears(&bench).found < all);
    let within = |t: &shop::Train| t.drivers.iter().chain(&t.driven).all(|w| *w <= 64);
    assert!(gears(&bench).trains.iter().all(within));
    // The error over a nut that was designed elsewhere.
    bench.enter("Length of thread", "30 mm");
    bench.settle();
    assert!(bench.says("over the nut"));
    bench.press("2");
    bench.settle();
    assert!(bench.says("From one start to the next"));
    // Six wheels, with a pair on one shaft.
    bench.enter("Largest wheel, teeth", "");
    assert!(bench.job().wheels.bracket.is_none());
    bench.enter("Lead to cut", "2.5 mm");
    bench.enter("Pitch of the lathe's lead screw", "8 tpi");
    bench.enter("Pair fixed on one shaft", "127/120");
    bench.settle();
    let found = gears(&bench);
    let six = found.trains.iter().find(|t| t.drivers.len() == 3);
    assert!(six.is_some_and(|t| t.error_ppm.abs() < 1e-6));
    bench.wait_for(None, "the train, to scale");
}

#[test]
fn the_blank_is_set_out_before_the_thread_is_cut() {
    let mut bench = at("Passes");
    bench.press("set out the blank");
    for (name, text) in [
        ("Height of the face it lies under", "70 ± 0.01 mm"),
        ("First cylinder's top", "62.31 mm"),
        ("First, diameter", "20 mm"),
        ("Second cylinder's top", "40.10 mm"),
        ("Second, diameter", "12 mm"),
    ] {
        bench.enter(name, text);
    }
    bench.settle();
    // Axes at 62.31 - 10 and 40.10 - 6 (own arithmetic).
    assert!(bench.says("17.69") && bench.says("18.21 mm"));
    bench.wait_for(None, "cylinders under the height gauge, to scale");
    for (round, readings) in
        [["0.40", "0.1", "-0.2", "0"], ["0.03", "0.02", "0.01", "0,00"]].into_iter().enumerate()
    {
        for (jaw, text) in readings.into_iter().enumerate() {
            bench.enter(&format!("Round {}, jaw {}", round + 1, jaw + 1), text);
        }
        bench.settle();
        assert_eq!(bench.job().blank.jaws.len(), round + 1);
    }
    let centring = bench.findings().blank.as_ref().unwrap().centring.clone().unwrap();
    // Half the differences: 0.3 and 0.05, then 0.01 and 0.01 mm.
    assert!((centring.rounds[0].off_centre_mm - 0.3f64.hypot(0.05)).abs() < 1e-9);
    assert!(bench.says("0.010 mm from jaw 1 toward jaw 3"));
    assert!(bench.says("About one more round"));
    bench.wait_for(None, "how the work's axis comes to the spindle's");
    bench.enter("Near enough to the spindle's axis", "0.02 mm");
    bench.settle();
    assert!(bench.says("Near enough."));
    bench.enter("Round 2, jaw 3", "far");
    assert!(bench.says("far"));
    bench.enter("Round 2, jaw 3", "0.01");
    bench.press("Undo");
    bench.press("Undo");
    bench.settle();
    assert_eq!(bench.job().blank.jaws.len(), 1);
    bench.press("cut the thread");
    bench.wait_for(None, "the groove, pass by pass");
}

#[test]
fn the_train_that_is_lit_is_the_one_that_is_used() {
    let mut bench = at("Change wheels");
    bench.enter("Pitch of the lathe's lead screw", "8 tpi");
    bench.enter("Wheels owned, in teeth", "20, 25 … 65, 127");
    bench.settle();
    assert!(bench.says("11 wheels understood"));
    assert_eq!(bench.job().wheels.wheels.len(), 11);
    let gears = bench.findings().gears.clone().unwrap();
    let (i, other) =
        gears.trains.iter().enumerate().find(|(_, t)| t.error_ppm.abs() > 300.0).unwrap();
    let tip = |b: &Bench| b.findings().tool.as_ref().unwrap().tip_flat_mm.value;
    let best = tip(&bench);
    let home = bench.folder.path().join("wheels.flanklight.json");
    let ctx = bench.harness.ctx.clone();
    let save = workbench::window::command::Command::SaveAs(home.clone());
    bench.harness.state_mut().command(&ctx, save);
    bench.settle();
    assert!(!bench.harness.state().bench.unsaved());
    bench.press(&(i + 1).to_string());
    bench.settle();
    assert!(bench.harness.state().bench.unsaved(), "the choice belongs to the job");
    let nut = bench.findings().nut.clone().unwrap();
    let lost = other.error_ppm.abs() * 1e-6 * nut.length_mm;
    assert!((nut.play_lost_to_lead_mm / lost - 1.0).abs() < 0.01);
    assert!(tip(&bench) > best + 0.9 * lost);
    // The step says it, and so does the sheet.
    let said = workbench::window::route_result(&bench.harness.state().bench, Stage::Wheels);
    assert_eq!(said, format!("{:+.0} ppm", other.error_ppm).replace('-', "\u{2212}"));
    let f = bench.findings();
    let pages = job::worksheet(&bench.job(), &f, job::PaperSaid::A4, "2026-01-01").unwrap();
    let paper = format!("{:?}", pages.iter().map(|p| p.canvas.items()).collect::<Vec<_>>());
    assert!(paper.contains(&said.replace('-', "\u{2212}")), "{said}");
    // Without one of its wheels it is not possible any more, and that is said.
    let rest: Vec<String> = [20u32, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 127]
        .iter()
        .filter(|w| **w != other.drivers[0])
        .map(u32::to_string)
        .collect();
    bench.enter("Wheels owned, in teeth", &rest.join(" "));
    bench.settle();
    assert!(bench.says("is not possible any more"));
    bench.press("Undo");
    bench.press("Undo");
    bench.settle();
    assert!((tip(&bench) - best).abs() < 1e-9 && !bench.harness.state().bench.unsaved());
}

#[test]
fn of_a_tool_that_spoils_the_nut_that_is_said_first() {
    let mut bench = at("Tool");
    let tool = bench.findings().tool.clone().unwrap();
    let narrow = bench.folder.path().join("narrow.png");
    std::fs::write(&narrow, tool_picture(&tool, -0.14, -2.5)).unwrap();
    bench.press("The tool as ground, by its picture");
    bench.press("Type its path …");
    bench.enter("Path of a picture of the ground tool", &narrow.display().to_string());
    bench.settle();
    bench.enter("Width of the bar beside it", "3.000 ± 0.002 mm");
    bench.settle();
    let play = bench.findings().ground.as_ref().unwrap().check.play_mm;
    assert!(play.value < 0.0, "{play:?}");
    let standing = |b: &Bench, s: Stage| b.harness.state().bench.standing(s);
    assert_eq!(standing(&bench, Stage::Tool), Standing::Asks);
    assert_ne!(standing(&bench, Stage::Nut), Standing::Done);
    assert_eq!(standing(&bench, Stage::Sheets), Standing::Doubtful);
    let plain = "A nut cut with the tool as ground, at the infeed drawn, will not go on the screw";
    for stage in ["Tool", "Nut", "Sheets"] {
        bench.go_to(stage);
        bench.settle();
        let first = bench.harness.query_all_by_role(Role::Link).any(|link| {
            link.accesskit_node().label().is_some_and(|label| label.starts_with(plain))
        });
        assert!(first, "{stage} does not say it at its head");
    }
    assert!(!bench.says("Ready to print"));
}

#[test]
fn clearances_follow_what_the_tool_is_ground_from() {
    let mut bench = at("Tool");
    let front = |b: &Bench| b.findings().tool.as_ref().unwrap().front;
    let usual = front(&bench);
    assert!(bench.says("as a round blank of up to"));
    bench.press("How it is ground and set");
    bench.choose("Ground from", "a square bit of 5.00 mm");
    bench.settle();
    let bit = front(&bench);
    assert!((bit.height_mm - 5.0).abs() < 1e-9 && bit.clearance_deg > usual.clearance_deg);
    assert!(bench.says("a square bit of 5.00 mm: faces 5.00 mm high"));
    bench.press("Undo");
    bench.settle();
    assert_eq!(front(&bench), usual);
}

#[test]
fn the_dial_is_read_the_way_it_turns() {
    let mut bench = at("Passes");
    let first = |b: &Bench| b.findings().cutting.as_ref().unwrap().plan.passes[0].dial;
    // A bore on the near side: the slide comes toward the operator, and most dials count down.
    let down = first(&bench);
    assert!(down.divisions > 50, "{down:?}");
    bench.press("fall");
    bench.settle();
    assert_eq!(first(&bench).divisions, 100 - down.divisions);
}
