//! How to measure this: a few sentences and a figure for each step.

use super::figure::Figure;
use super::stage::Stage;
use super::widgets;
use eframe::egui::{Align2, Color32, Stroke, Ui};

/// Height of a figure, points.
const HEIGHT: f32 = 130.0;

/// The folded help of a step.
pub fn show(ui: &mut Ui, stage: Stage) {
    let (title, lines) = words(stage);
    widgets::folded(ui, ("how to", stage), title, false, |ui| {
        figure(ui, stage);
        widgets::bullets(ui, lines);
    });
}

/// The figure of a step, for its page of the guide.
pub fn picture_of(ui: &mut Ui, stage: Stage) {
    figure(ui, stage);
}

/// The folded help for setting out the blank.
pub fn setting_out(ui: &mut Ui) {
    widgets::folded(ui, "how to set out", "How to set out the blank", false, |ui| {
        blank(ui, "the blank in four jaws, and a dial gauge on it", HEIGHT);
        widgets::bullets(
            ui,
            &[
                "Height gauge and blank on one flat plate; a pin in the bore or the screw itself is a cylinder. Top less half the diameter is its axis.",
                "In the chuck: the gauge's foot on the work at jaw 1, its ring to 0; turn by hand and read it at jaws 2, 3 and 4. Opposed jaws: the work moves by half their difference.",
                "Slacken one jaw before the other is tightened; read again after every move.",
            ],
        );
    });
}

/// The blank in an independent chuck, off centre, with a dial gauge on it.
pub fn blank(ui: &mut Ui, name: &str, height: f32) {
    let f = Figure::new(ui, height, [-40.0, -23.0, 62.0, 23.0], name);
    f.circle((0.0, 0.0), 21.0, Color32::TRANSPARENT, ink(&f));
    let (x, y, r) = (1.6, 2.4, 9.0);
    f.circle((x, y), r, f.p.accent.gamma_multiply(0.12), accent(&f));
    f.dashed(&[(-6.0, 0.0), (6.0, 0.0)], Stroke::new(1.0, f.p.faint));
    f.dashed(&[(0.0, -6.0), (0.0, 6.0)], Stroke::new(1.0, f.p.faint));
    for (number, (dx, dy)) in
        ["1", "2", "3", "4"].into_iter().zip([(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)])
    {
        // From the work to the rim, as wide on both sides.
        let from = (x * f64::abs(dx) + r * dx, y * f64::abs(dy) + r * dy);
        let to = (21.0 * dx, 21.0 * dy);
        let (sx, sy) = (2.2 * dy, 2.2 * dx);
        let jaw = [
            (from.0 + sx, from.1 + sy),
            (to.0 + sx, to.1 + sy),
            (to.0 - sx, to.1 - sy),
            (from.0 - sx, from.1 - sy),
            (from.0 + sx, from.1 + sy),
        ];
        f.line(&jaw, Stroke::new(1.5, f.p.ink));
        let middle = (0.5 * (from.0 + to.0), 0.5 * (from.1 + to.1));
        f.text(middle, Align2::CENTER_CENTER, number, f.p.ink);
    }
    let (gx, gy) = (x + 0.7 * r, y + 0.7 * r);
    f.line(&[(gx, gy), (gx + 8.0, gy + 5.0)], Stroke::new(1.5, f.p.doubt));
    f.circle(
        (gx + 13.0, gy + 8.0),
        5.5,
        f.p.doubt.gamma_multiply(0.2),
        Stroke::new(1.5, f.p.doubt),
    );
    f.text((gx + 21.0, gy + 8.0), Align2::LEFT_CENTER, "dial gauge", f.p.doubt);
    f.text((25.0, -6.0), Align2::LEFT_CENTER, "move by half the", f.p.ink);
    f.text((25.0, -13.0), Align2::LEFT_CENTER, "difference of opposed jaws", f.p.ink);
}

fn words(stage: Stage) -> (&'static str, &'static [&'static str]) {
    match stage {
        Stage::Survey => (
            "How to measure the lost motion",
            &[
                "A dial gauge against the slide. Turn the handle until the slide just moves, note the dial; turn back until it just moves again: the difference on the handle's dial is the lost motion there.",
                "At five stations or more, both ends of the travel among them; two or three readings at each.",
                "End-float apart: press and pull the screw along its axis by hand, the gauge on its end.",
            ],
        ),
        Stage::Picture => (
            "How to take a picture that can be measured",
            &[
                "Light from behind: a window, a white screen, a light box. The screw is dark against it.",
                "A rod of known width (a drill shank, a gauge pin) beside the screw, on the same surface.",
                "Far away and zoomed in, rather than near: a metre with a long lens beats 20 cm.",
                "As many teeth as will fit; both edges of the screw; sharp edges; nothing burnt white.",
                "Clean the screw; choose the least worn stretch, beyond the travel.",
            ],
        ),
        Stage::Bar => (
            "How to measure the bar",
            &[
                "By micrometer, at three places of the stretch that is in the picture; the mean is the width, their spread its ±.",
                "Turned by a degree or two against the edges of the picture it is found best.",
            ],
        ),
        Stage::Thread => (
            "How to click an outline",
            &[
                "Two clicks on each flank of two teeth or more, two on each crest and root between them. The loupe shows what lies under the pointer; points jump to the edge.",
                "A right flank looks to the right in the picture, on either edge, with the screw lying level.",
                "What is dirt, damage or a holder: draw a box round it, and it does not count.",
            ],
        ),
        Stage::Form => (
            "What these numbers are",
            &[
                "Flats are between the sharp corners the flanks would have; flank angles are from the normal to the axis.",
                "All of it lies in the section through the axis, where a tool's edge lies too.",
            ],
        ),
        Stage::Identity => (
            "How to find out more about it",
            &[
                "Calipers over as many threads as they reach, crest to crest: the error is shared by all of them.",
                "Travel per turn: a dial gauge along the slide, ten turns of the handle. That is the lead; lead ÷ pitch is the number of starts.",
                "Screw-pitch gauges: held against the light, \"fits\" and \"does not fit\" are both worth writing down.",
            ],
        ),
        Stage::Nut => (
            "How the play comes about",
            &[
                "The groove of the nut is the screw's ridge, wider by the play. Deeper means wider where the flanks slope.",
                "It is designed round the thickest ridge of the screw, or it would bind at the ends.",
            ],
        ),
        Stage::Tool => (
            "How to grind and check the tool",
            &[
                "Hold the tool in the notch of the card at 1 : 1 and look against the light; grind until no light shows. The large view is for the projector or the loupe.",
                "The leading side needs the lead angle and some degrees more clearance, the following side that much less.",
                "Check the ground tool as the thread was checked: a picture beside a bar.",
            ],
        ),
        Stage::Wheels => (
            "How to read your machine",
            &[
                "The pitch of the lead screw stands on the machine or is measured like any thread.",
                "Pitch cut = lead screw × drivers ÷ driven. An idler changes only the direction.",
                "Count the teeth of the wheels owned; write one owned twice down twice.",
            ],
        ),
        Stage::Passes => (
            "How to set the dial",
            &[
                "Touch the bore with the tool, set the dial to zero. A dial that counts diameter shows twice the depth.",
                "Withdraw before winding back; come to each depth from the same side.",
                "Spring passes at full depth take what the bar had bent away from.",
            ],
        ),
        Stage::Checks => (
            "How to measure over wires",
            &[
                "Two wires in grooves on one side, one on the other; the micrometer over them, square to the axis.",
                "Wires a little off the best size do: enter the size they have.",
                "The nut by two threaded plugs: one must enter over the whole length, the other not more than two turns.",
            ],
        ),
        Stage::Sheets => (
            "How to print",
            &[
                "At 100 %, never \"fit to page\": that makes 94 to 97 % of it.",
                "Measure the check lines, across and along, before a tool is ground to it.",
            ],
        ),
    }
}

fn figure(ui: &mut Ui, stage: Stage) {
    let name = words(stage).0;
    match stage {
        Stage::Survey => survey(ui, name),
        Stage::Picture => picture(ui, name),
        Stage::Bar => bar(ui, name),
        Stage::Thread | Stage::Form => outline(ui, name, stage == Stage::Thread),
        Stage::Identity => caliper(ui, name),
        Stage::Nut => play(ui, name),
        Stage::Tool => tool(ui, name),
        Stage::Wheels => wheels(ui, name),
        Stage::Passes => dial(ui, name),
        Stage::Checks => wires(ui, name),
        Stage::Sheets => sheet(ui, name),
    }
}

/// A ridge profile: crest flats of 3 at height 0, roots of 3 at −4, flanks over 2.
fn ridges(teeth: i32, pitch: f64) -> Vec<(f64, f64)> {
    (0..teeth)
        .flat_map(|i| {
            let x = f64::from(i) * pitch;
            [(x, 0.0), (x + 0.3 * pitch, 0.0), (x + 0.5 * pitch, -4.0), (x + 0.8 * pitch, -4.0)]
        })
        .chain([(f64::from(teeth) * pitch, 0.0), (f64::from(teeth) * pitch + 0.3 * pitch, 0.0)])
        .collect()
}

fn ink(f: &Figure) -> Stroke {
    Stroke::new(1.5, f.p.ink)
}

fn accent(f: &Figure) -> Stroke {
    Stroke::new(2.0, f.p.accent)
}

fn survey(ui: &mut Ui, name: &str) {
    let f = Figure::new(ui, HEIGHT, [0.0, -6.0, 100.0, 34.0], name);
    f.line(&[(0.0, 0.0), (100.0, 0.0)], ink(&f));
    f.line(&[(30.0, 0.0), (30.0, 14.0), (62.0, 14.0), (62.0, 0.0)], accent(&f));
    f.text((46.0, 7.0), Align2::CENTER_CENTER, "slide", f.p.ink);
    f.circle((84.0, 20.0), 8.0, Color32::TRANSPARENT, ink(&f));
    f.line(&[(84.0, 20.0), (88.0, 25.0)], accent(&f));
    f.line(&[(76.0, 20.0), (70.0, 20.0), (62.0, 9.0)], ink(&f));
    f.text((84.0, 31.0), Align2::CENTER_CENTER, "dial gauge", f.p.faint);
    for x in [8.0, 24.0, 46.0, 68.0, 92.0] {
        f.line(&[(x, -1.0), (x, -4.0)], Stroke::new(2.0, f.p.doubt));
    }
    f.text((46.0, -5.0), Align2::CENTER_TOP, "stations", f.p.doubt);
}

fn picture(ui: &mut Ui, name: &str) {
    let f = Figure::new(ui, HEIGHT, [0.0, 0.0, 110.0, 44.0], name);
    f.line(&[(4.0, 4.0), (4.0, 40.0)], Stroke::new(5.0, f.p.doubt));
    f.text((8.0, 40.0), Align2::LEFT_CENTER, "light", f.p.doubt);
    f.circle((32.0, 24.0), 7.0, f.p.ink.gamma_multiply(0.5), ink(&f));
    f.text((32.0, 34.0), Align2::CENTER_CENTER, "screw", f.p.ink);
    f.circle((32.0, 10.0), 3.0, f.p.accent.gamma_multiply(0.4), accent(&f));
    f.text((37.0, 9.0), Align2::LEFT_CENTER, "bar", f.p.accent);
    f.line(&[(96.0, 16.0), (106.0, 16.0), (106.0, 30.0), (96.0, 30.0), (96.0, 16.0)], ink(&f));
    f.line(&[(90.0, 19.0), (96.0, 19.0)], ink(&f));
    f.line(&[(90.0, 27.0), (96.0, 27.0), (90.0, 27.0), (90.0, 19.0)], ink(&f));
    f.across(41.0, 89.0, 2.0, "far, zoomed in");
}

fn bar(ui: &mut Ui, name: &str) {
    let f = Figure::new(ui, HEIGHT, [0.0, 0.0, 100.0, 36.0], name);
    f.line(&[(14.0, 14.0), (86.0, 14.0)], accent(&f));
    f.line(&[(14.0, 24.0), (86.0, 24.0)], accent(&f));
    for x in [26.0, 50.0, 74.0] {
        f.line(&[(x - 3.0, 34.0), (x - 3.0, 24.0), (x + 3.0, 24.0), (x + 3.0, 34.0)], ink(&f));
        f.line(&[(x - 3.0, 4.0), (x - 3.0, 14.0), (x + 3.0, 14.0), (x + 3.0, 4.0)], ink(&f));
    }
    f.upright(14.0, 24.0, 90.0, "width");
}

fn outline(ui: &mut Ui, name: &str, clicks: bool) {
    let f = Figure::new(ui, HEIGHT, [-2.0, -7.0, 26.0, 4.0], name);
    let profile = ridges(2, 10.0);
    f.below(&profile, -7.0, f.p.accent.gamma_multiply(0.12));
    f.line(&profile, accent(&f));
    if clicks {
        let mark = |x: f64, y: f64, letter: &str| {
            f.circle((x, y), 0.3, f.p.card, Stroke::new(2.0, f.p.doubt));
            f.text((x + 0.5, y + 0.9), Align2::CENTER_CENTER, letter, f.p.doubt);
        };
        for (x, y, letter) in [
            (3.4, -0.8, "R"),
            (4.6, -3.2, "R"),
            (8.4, -3.2, "L"),
            (9.6, -0.8, "L"),
            (11.0, 0.0, "C"),
            (12.2, 0.0, "C"),
            (15.6, -4.0, "B"),
            (17.2, -4.0, "B"),
        ] {
            mark(x, y, letter);
        }
        f.text((12.0, 3.2), Align2::CENTER_CENTER, "R right, L left, C crest, B bottom", f.p.faint);
    } else {
        f.across(1.5, 11.5, 1.2, "pitch");
        f.across(10.0, 13.0, 2.9, "crest flat");
        f.across(15.0, 18.0, -5.4, "root flat");
        f.upright(-4.0, 0.0, 24.2, "depth");
        f.dashed(&[(13.0, 0.0), (13.0, -4.6)], Stroke::new(1.0, f.p.faint));
        f.text((12.7, -3.2), Align2::RIGHT_CENTER, "angle", f.p.ink);
    }
}

fn caliper(ui: &mut Ui, name: &str) {
    let f = Figure::new(ui, HEIGHT, [-4.0, -8.0, 60.0, 12.0], name);
    let profile = ridges(8, 7.0);
    f.below(&profile, -8.0, f.p.accent.gamma_multiply(0.12));
    f.line(&profile, accent(&f));
    f.line(&[(2.1, -1.0), (2.1, 8.0), (58.0, 8.0)], ink(&f));
    f.line(&[(51.1, -1.0), (51.1, 8.0)], ink(&f));
    f.across(2.1, 51.1, 4.0, "7 threads");
}

fn play(ui: &mut Ui, name: &str) {
    let f = Figure::new(ui, HEIGHT, [-9.0, -6.0, 9.0, 4.0], name);
    let screw = [(-9.0, -4.0), (-4.0, -4.0), (-2.2, 0.0), (2.2, 0.0), (4.0, -4.0), (9.0, -4.0)];
    f.below(&screw, -6.0, f.p.accent.gamma_multiply(0.12));
    f.line(&screw, accent(&f));
    let nut = [(-9.0, -3.2), (-4.6, -3.2), (-2.7, 0.9), (2.7, 0.9), (4.6, -3.2), (9.0, -3.2)];
    f.line(&nut, Stroke::new(2.0, f.p.doubt));
    f.text((-6.5, 2.6), Align2::CENTER_CENTER, "nut", f.p.doubt);
    f.text((0.0, -3.0), Align2::CENTER_CENTER, "screw", f.p.accent);
    f.across(3.1, 3.9, -1.8, "");
    f.text((4.3, -1.4), Align2::LEFT_CENTER, "half the play", f.p.ink);
}

fn tool(ui: &mut Ui, name: &str) {
    let f = Figure::new(ui, HEIGHT, [-16.0, -14.0, 16.0, 4.0], name);
    let edge =
        [(-12.0, -13.0), (-6.0, -13.0), (-2.0, 0.0), (2.0, 0.0), (6.0, -13.0), (12.0, -13.0)];
    f.line(&edge, Stroke::new(1.0, f.p.ink));
    let ground = [(-5.4, -12.0), (-1.6, -0.7), (1.6, -0.7), (5.4, -12.0)];
    f.below(&ground, -12.6, f.p.accent.gamma_multiply(0.2));
    f.line(&ground, accent(&f));
    f.text((0.0, -8.0), Align2::CENTER_CENTER, "tool", f.p.accent);
    f.text((7.0, -4.0), Align2::LEFT_CENTER, "template", f.p.ink);
    f.text((-4.6, -3.6), Align2::RIGHT_CENTER, "light shows: grind on", f.p.doubt);
}

fn wheels(ui: &mut Ui, name: &str) {
    use super::figure::wheel;
    let f = Figure::new(ui, HEIGHT, [-14.0, -24.0, 98.0, 24.0], name);
    wheel(&f, (0.0, 0.0), 12.0, 24, true, 0.0);
    wheel(&f, (32.0, 0.0), 20.0, 40, false, 9.0);
    wheel(&f, (32.0, 0.0), 9.0, 18, true, 20.0);
    wheel(&f, (59.0, 0.0), 18.0, 36, false, 0.0);
    f.text((0.0, -18.0), Align2::CENTER_CENTER, "spindle", f.p.faint);
    f.text((79.0, 0.0), Align2::LEFT_CENTER, "lead screw", f.p.faint);
}

fn dial(ui: &mut Ui, name: &str) {
    let f = Figure::new(ui, HEIGHT, [-40.0, -22.0, 60.0, 22.0], name);
    f.circle((-16.0, 0.0), 19.0, Color32::TRANSPARENT, ink(&f));
    for i in 0..50 {
        let a = std::f64::consts::TAU * f64::from(i) / 50.0;
        let inner = if i % 5 == 0 { 15.5 } else { 17.5 };
        let at = |r: f64| (-16.0 + r * a.sin(), r * a.cos());
        f.line(&[at(inner), at(19.0)], Stroke::new(1.0, f.p.ink));
    }
    f.text((-16.0, 12.0), Align2::CENTER_CENTER, "0", f.p.ink);
    f.line(&[(-16.0, 19.0), (-16.0, 22.0)], accent(&f));
    f.text((8.0, 10.0), Align2::LEFT_CENTER, "tool touches the bore:", f.p.ink);
    f.text((8.0, 2.0), Align2::LEFT_CENTER, "turn the ring to 0", f.p.ink);
    f.text((8.0, -10.0), Align2::LEFT_CENTER, "one turn + 13 = 2.26 mm", f.p.faint);
}

fn wires(ui: &mut Ui, name: &str) {
    let f = Figure::new(ui, HEIGHT, [-4.0, -22.0, 30.0, 6.0], name);
    let upper = ridges(2, 10.0);
    let lower: Vec<(f64, f64)> = upper.iter().map(|(x, y)| (x + 5.0, -18.0 - y)).collect();
    f.line(&upper, accent(&f));
    f.line(&lower, accent(&f));
    for (x, y) in [(6.5, -1.6), (16.5, -1.6), (11.5, -16.4)] {
        f.circle((x, y), 2.4, f.p.doubt.gamma_multiply(0.25), Stroke::new(2.0, f.p.doubt));
    }
    f.line(&[(-2.0, 0.8), (27.0, 0.8)], ink(&f));
    f.line(&[(-2.0, -18.8), (27.0, -18.8)], ink(&f));
    f.upright(-18.8, 0.8, 26.0, "over wires");
}

fn sheet(ui: &mut Ui, name: &str) {
    let f = Figure::new(ui, HEIGHT, [-30.0, 0.0, 60.0, 30.0], name);
    f.line(&[(0.0, 0.0), (21.0, 0.0), (21.0, 29.7), (0.0, 29.7), (0.0, 0.0)], ink(&f));
    f.line(&[(4.0, 3.0), (16.0, 3.0)], accent(&f));
    f.line(&[(3.0, 6.0), (3.0, 20.0)], accent(&f));
    f.text((10.0, 5.5), Align2::CENTER_CENTER, "100 mm", f.p.accent);
    f.text((24.0, 16.0), Align2::LEFT_CENTER, "measure both", f.p.ink);
}
