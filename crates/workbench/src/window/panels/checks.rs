//! Checks: the screw over wires, the nut by plugs, a ridge between jaws.

use crate::window::command::Command;
use crate::window::field::Field;
use crate::window::figure::Figure;
use crate::window::look::palette;
use crate::window::state::Bench;
use crate::window::widgets::{
    angle, bold, card, entry, example, heading, hint, length, line, remark, shown,
};
use eframe::egui::{Align2, Stroke, Ui};
use form::{Quantity, Units};
use job::Duty;
use shop::{NutGauges, OverWires, PlugGauge, ScrewForm};

/// Room for what a reading says, before there is one.
const VERDICT: f32 = 52.0;

pub(super) fn side(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let job = bench.job();
    let p = palette(ui);
    if let Some(refusal) = job.duty.and_then(Duty::refusal) {
        remark(ui, p.bad, &refusal);
        return;
    }
    let units = bench.units();
    let findings = bench.findings();
    let wires = findings.and_then(|f| f.wires.as_ref());
    heading(ui, "The screw over wires");
    let best = wires.map_or_else(
        || "the best size".to_owned(),
        |w| format!("the best size: {}", units.plain(w.best_wire_mm.value, 3)),
    );
    if findings.is_none_or(|f| f.screw.is_none()) {
        typed_thread(ui, bench, out);
    }
    ui.columns(2, |sides| {
        entry(&mut sides[0], bench, out, Field::Wire, "Wires at hand", &best);
        let (name, usual) = ("Pitch diameter to check", "the screw's");
        entry(&mut sides[1], bench, out, Field::PitchDiameter, name, usual);
    });
    entry(
        ui,
        bench,
        out,
        Field::OverWires,
        "Read over the wires",
        example(units, ["15.83 ± 0.01 mm", "0.6232 ± 0.0004 in", "623.2 ± 0.4 thou"]),
    );
    over_wires(ui, bench, wires.map(|w| &**w));
    heading(ui, "The nut by plugs");
    let gauges = findings.and_then(|f| f.gauges.as_ref());
    let usual =
        |f: fn(&NutGauges) -> f64| gauges.map_or_else(String::new, |g| units.plain(f(g), 3));
    ui.columns(2, |sides| {
        let (least, most) = (usual(|g| g.least_play_mm), usual(|g| g.most_play_mm));
        entry(&mut sides[0], bench, out, Field::LeastPlay, "Least play", &least);
        entry(&mut sides[1], bench, out, Field::MostPlay, "Most play", &most);
    });
    super::remarks(ui, bench);
    match gauges {
        Some(gauges) => plugs(ui, gauges, units),
        None => hint(ui, "Follows from the nut (step 7)."),
    }
    if let Some(screw) = findings.and_then(|f| f.screw.as_ref()) {
        jaws(ui, screw, units);
    }
}

/// A thread that is known without a picture.
fn typed_thread(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    entry(ui, bench, out, Field::FormPitch, "Pitch", "2.5 mm, 10 tpi");
    entry(ui, bench, out, Field::FormRight, "Right flank", "15°, 14d30m");
    entry(ui, bench, out, Field::FormLeft, "Left flank", "15°, 14d30m");
}

/// The reading that is to be expected, and what the one taken says; as high without as with them.
fn over_wires(ui: &mut Ui, bench: &Bench, over: Option<&OverWires>) {
    let units = bench.units();
    let row = |ui: &mut Ui, name: &str, q: fn(&OverWires) -> Quantity| match over {
        Some(over) => length(ui, name, q(over), units),
        None => drop(line(ui, name, "–", "")),
    };
    let plain = |f: &dyn Fn(&OverWires) -> String| over.map_or_else(|| "–".to_owned(), f);
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        row(ui, "best wire", |o| o.best_wire_mm);
        line(ui, "wire used", &plain(&|o| units.plain(o.wire_mm, 3)), "");
        row(ui, "over wires", |o| o.over_wires_mm);
        let flat = plain(&|o| units.plain(o.over_wires_no_lead_correction_mm, 3));
        line(ui, "over them, lead ignored", &flat, "comparison");
        match over {
            Some(over) => angle(ui, "lead angle", over.lead_angle_deg),
            None => drop(line(ui, "lead angle", "–", "")),
        }
    });
    ui.scope(|ui| {
        ui.set_min_height(VERDICT);
        match (over, bench.job().checks.over_wires_mm) {
            (Some(over), Some(read)) => verdict(ui, read, over.over_wires_mm, units),
            (Some(_), None) => hint(ui, "What was read is compared with what the form predicts."),
            (None, _) => hint(ui, "Enter pitch, flanks and pitch diameter, or measure a screw."),
        }
    });
}

/// What a reading says. Over wires a difference is one of the pitch diameter, near enough.
fn verdict(ui: &mut Ui, read: Quantity, expected: Quantity, units: Units) {
    let p = palette(ui);
    let off = Quantity::derived(read.value - expected.value, read.u.hypot(expected.u));
    let shown = shown(Some(off), false, units);
    if off.value.abs() <= 2.0 * off.u {
        remark(ui, p.good, &format!("Agrees: {shown} from what the form predicts."));
    } else if off.value < 0.0 {
        remark(
            ui,
            p.doubt,
            &format!("{shown}: the ridge is thinner than the form says. Worn, or a thinner screw."),
        );
    } else {
        remark(
            ui,
            p.doubt,
            &format!("{shown}: the ridge is thicker than the form says; the nut would bind."),
        );
    }
}

fn plugs(ui: &mut Ui, gauges: &NutGauges, units: Units) {
    let plug = |ui: &mut Ui, title: &str, gauge: &PlugGauge| {
        ui.label(bold(title));
        ui.spacing_mut().item_spacing.y = 3.0;
        line(ui, "ridge at pitch line", &units.plain(gauge.ridge_mm, 3), "derived");
        line(ui, "over its crests", &units.plain(gauge.major_diameter_mm, 2), "derived");
        line(ui, "root, at most", &units.plain(gauge.minor_diameter_mm, 2), "derived");
        if let (Some(wire), Some(over)) = (gauge.wire_mm, gauge.over_wires_mm) {
            let name = format!("over {} wires", units.plain(wire, 3));
            line(ui, &name, &units.plain(over, 3), "derived");
        }
    };
    card(ui, |ui| plug(ui, "Must enter over the whole length", &gauges.go));
    card(ui, |ui| plug(ui, "Must not enter more than two turns", &gauges.no_go));
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        line(ui, "bore: enters", &units.plain(gauges.bore_go_mm, 2), "derived");
        line(ui, "bore: must not", &units.plain(gauges.bore_no_go_mm, 2), "derived");
    });
}

/// A gauge with jaws at half the depth.
fn jaws(ui: &mut Ui, screw: &ScrewForm, units: Units) {
    let Ok(tooth) = shop::tooth_thickness(screw, job::jaw_depth_mm(screw, units)) else { return };
    heading(ui, "The ridge between jaws");
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        line(ui, "jaws set at depth", &units.plain(tooth.depth_mm, 2), "about half");
        angle(ui, "turned by", tooth.lead_angle_deg);
        length(ui, "thickness", tooth.thickness_mm, units);
    });
}

/// The wires in the grooves of the screw, true to scale.
pub(super) fn middle(ui: &mut Ui, bench: &Bench, _: &mut Vec<Command>) {
    let findings = bench.findings();
    let (Some(over), Some(screw)) =
        (findings.and_then(|f| f.wires.as_ref()), findings.and_then(|f| f.screw.as_ref()))
    else {
        let text = match findings.and_then(|f| f.wires.as_ref()) {
            Some(over) => {
                format!("Over the wires: {}", bench.units().show(over.over_wires_mm))
            }
            None => "Enter a thread at the right, or measure one first.".to_owned(),
        };
        super::empty(ui, "Over wires", &text);
        return;
    };
    figure(ui, screw, over, bench.units());
}

fn figure(ui: &mut Ui, screw: &ScrewForm, over: &OverWires, units: Units) {
    let Ok(thread) = screw.thread() else { return };
    let pitch = thread.section().pitch_mm();
    let radius = 0.5 * thread.major_diameter_mm();
    let ridge = crate::window::plot::section(thread.section(), 1.0, -1..=1);
    let upper: Vec<(f64, f64)> = ridge.iter().map(|p| (p[0], radius + p[1])).collect();
    // Half a turn on, a single-start ridge stands half a pitch further.
    let shift = 0.5 * screw.lead_mm().value % pitch;
    let lower: Vec<(f64, f64)> = ridge.iter().map(|p| (p[0] + shift, -radius - p[1])).collect();
    let rest = 0.5 * over.over_wires_mm.value;
    let wire = 0.5 * over.wire_mm;
    let ends = ridge.iter().fold((f64::MAX, f64::MIN), |e, p| (e.0.min(p[0]), e.1.max(p[0])));
    let (left, right) = (ends.0 - 0.1 * pitch, ends.1 + shift + 0.1 * pitch);
    let height = ui.available_height() - 4.0;
    let f = Figure::new(
        ui,
        height,
        [left, -rest - 0.4 * pitch, right + pitch, rest + 0.4 * pitch],
        "wires on the screw, true to scale",
    );
    f.below(&upper, 0.0, f.p.accent.gamma_multiply(0.10));
    f.below(&lower, 0.0, f.p.accent.gamma_multiply(0.10));
    f.line(&upper, Stroke::new(2.0, f.p.accent));
    f.line(&lower, Stroke::new(2.0, f.p.accent));
    f.dashed(&[(left, 0.0), (right, 0.0)], Stroke::new(1.0, f.p.faint));
    let seat = groove_middle(&ridge, pitch);
    for (x, y) in [(seat, rest - wire), (seat + pitch, rest - wire), (seat + shift, -rest + wire)] {
        f.circle((x, y), wire, f.p.doubt.gamma_multiply(0.25), Stroke::new(2.0, f.p.doubt));
    }
    f.line(&[(left, rest), (right, rest)], Stroke::new(1.5, f.p.ink));
    f.line(&[(left, -rest), (right, -rest)], Stroke::new(1.5, f.p.ink));
    f.upright(-rest, rest, right, &shown(Some(over.over_wires_mm), false, units));
    f.text(
        (seat, rest + 0.1 * pitch),
        Align2::CENTER_BOTTOM,
        &format!("wire {}", units.plain(over.wire_mm, 3)),
        f.p.doubt,
    );
}

/// Where the deepest part of a groove has its middle.
fn groove_middle(ridge: &[[f64; 2]], pitch: f64) -> f64 {
    let deepest = ridge.iter().map(|p| p[1]).fold(f64::MAX, f64::min);
    let root: Vec<f64> = ridge
        .iter()
        .filter(|p| p[1] < deepest + 1e-6 && (-0.2 * pitch..=1.2 * pitch).contains(&p[0]))
        .map(|p| p[0])
        .collect();
    match (root.first(), root.last()) {
        (Some(a), Some(b)) if b - a < pitch => 0.5 * (a + b),
        (Some(a), _) => *a,
        _ => 0.5 * pitch,
    }
}
