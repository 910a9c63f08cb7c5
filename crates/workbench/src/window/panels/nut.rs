//! The nut: play against infeed, and what assembling it will give.

use super::duty;
use crate::cli::between;
use crate::window::command::Command;
use crate::window::edit::{Edit, USUAL_KERF_MM};
use crate::window::field::Field;
use crate::window::figure::Figure;
use crate::window::look::palette;
use crate::window::plot;
use crate::window::state::Bench;
use crate::window::widgets::{
    card, choice, entry, example, folded_entries, heading, hint, length, line, minus, remark, shown,
};
use eframe::egui::{Align2, ComboBox, RichText, Stroke, Ui};
use egui_plot::{HLine, Line, MarkerShape, PlotBounds, PlotPoints, Points, VLine};
use form::Units;
use form::units::MM_PER_INCH;
use shop::{Groove, NutDesign, NutKind, NutMaterial, ScrewForm, WallPoint};

/// Part of the designed infeed from which the curve is shown.
const WORTH_SHOWING: f64 = 0.8;

pub(super) fn side(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    if !duty::permits(ui, bench, out) {
        return;
    }
    let units = bench.units();
    let Some(findings) = bench.findings() else {
        super::nothing_yet(ui, bench, "There is no form to design from yet.");
        return;
    };
    entry(
        ui,
        bench,
        out,
        Field::Play,
        "Axial play of the nut",
        example(units, ["0.08 mm", "0.003 in", "3 thou"]),
    );
    let usual = example(units, ["0.05 to 0.10 mm", "0.002 to 0.004 in", "2 to 4 thou"]);
    hint(ui, &format!("A small nut: {usual} (common practice). Or drag the curve."));
    ui.columns(2, |sides| {
        let (clear, long) = ("Radial crest clearance", "Length of thread");
        let nut = &bench.job().nut;
        let usual = match nut.radial_clearance_mm {
            Some(q) if nut.radial_clearance_said_mm().is_none() => {
                format!("by the curve: {}", units.plain(q.value, 3))
            }
            _ => "as ISO 2904".to_owned(),
        };
        entry(&mut sides[0], bench, out, Field::RadialClearance, clear, &usual);
        entry(&mut sides[1], bench, out, Field::NutLength, long, "1½ diameters");
    });
    make(ui, bench, out);
    let entries = [Field::Load, Field::Unworn];
    folded_entries(
        ui,
        bench,
        &entries,
        "more about the nut",
        "Material, load, unworn ends",
        false,
        |ui| {
            made_of(ui, bench, out);
            entry(ui, bench, out, Field::Load, "Axial load, N", "300");
            entry(
                ui,
                bench,
                out,
                Field::Unworn,
                "Unworn ridge thicker than in the picture by",
                example(
                    units,
                    [
                        "0.04 ± 0.01 mm, by a tooth-thickness gauge",
                        "0.0016 ± 0.0004 in, by a tooth-thickness gauge",
                        "1.6 ± 0.4 thou, by a tooth-thickness gauge",
                    ],
                ),
            );
        },
    );
    super::remarks(ui, bench);
    let Some(nut) = &findings.nut else { return };
    heading(ui, "Nut");
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        length(ui, "bore", nut.bore_mm, units);
        length(ui, "groove diameter", nut.groove_diameter_mm, units);
        length(ui, "infeed, radial", nut.infeed_mm, units);
        length(ui, "tool's tip flat", nut.tool_tip_flat_mm, units);
        line(ui, "length of thread", &units.plain(nut.length_mm, 1), source(bench));
        if let NutKind::Sleeve { outer_diameter_mm, .. } = nut.request.kind {
            let wall = 0.5 * (outer_diameter_mm - nut.groove_diameter_mm.value);
            line(ui, "wall of the sleeve", &units.plain(wall, 2), "derived");
        }
    });
    heading(ui, "Assembled");
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        match nut.play_limits_mm.filter(|_| nut.axial_play_mm.u.is_finite()) {
            // Its limits lie unevenly about it: a ± beside them would say something else.
            Some(_) => {
                let best = units.plain(nut.axial_play_mm.value, 3);
                line(ui, "axial play", &best, "if as found");
            }
            None => length(ui, "axial play", nut.axial_play_mm, units),
        }
        if let Some((least, most)) = nut.play_limits_mm {
            let text = minus(&between(least, most, units));
            line(ui, "19 times in 20", &text, "forecast");
        }
        if nut.play_lost_to_lead_mm > 0.0 {
            let lost = units.plain(nut.play_lost_to_lead_mm, 3);
            line(ui, "lost to change wheels", &lost, "derived");
        }
        if let Some(taken) = nut.play_taken_by_closing_mm.filter(|mm| *mm > 0.0) {
            let name = match nut.request.kind {
                NutKind::Sleeve { .. } => "lost to pressing in",
                _ => "taken by closing",
            };
            line(ui, name, &format!("up to {}", units.plain(taken, 2)), "derived");
        }
        length(ui, "where screw is worn", nut.play_where_thinnest_mm, units);
        length(ui, "radial clearance", nut.radial_clearance_mm, units);
        length(ui, "bore clearance", nut.bore_clearance_mm, units);
        length(ui, "shared height", nut.engagement_mm, units);
        let per = nut.play_per_infeed;
        line(ui, "play per infeed", &per.with_u(3), &per.source.to_string());
    });
    if let Some(q) = &nut.pressure {
        card(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 3.0;
            line(ui, "flank pressure", &format!("{:.1} N/mm²", q.pressure_n_per_mm2), "derived");
            line(ui, "limit", &format!("{:.0} N/mm²", q.permissible_n_per_mm2), "practice");
        });
    }
    if nut.passes_unworn_ends {
        hint(ui, "The screw's thickest ridge passes, within two standard uncertainties.");
    } else {
        let p = palette(ui);
        remark(ui, p.doubt, "The screw's thickest ridge may bind: give more play.");
    }
}

/// How a nut is made up, as it is chosen.
#[derive(Clone, Copy, PartialEq)]
enum Make {
    Solid,
    Split,
    Sleeve,
}

/// In one piece, split or a sleeve, and what more has to be said of it.
fn make(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let units = bench.units();
    let now = match bench.job().nut.kind {
        NutKind::Solid => Make::Solid,
        NutKind::Split { .. } => Make::Split,
        NutKind::Sleeve { .. } => Make::Sleeve,
    };
    choice(
        ui,
        "The nut is",
        now,
        &[(Make::Solid, "in one piece"), (Make::Split, "split"), (Make::Sleeve, "a sleeve")],
        |make| {
            out.push(Command::Edit(Edit::NutKind(match make {
                Make::Solid => NutKind::Solid,
                Make::Split => NutKind::Split { kerf_mm: usual_kerf_mm(units) },
                Make::Sleeve => NutKind::Sleeve {
                    outer_diameter_mm: usual_sleeve_mm(bench),
                    interference_mm: 0.0,
                },
            })));
        },
    );
    match now {
        Make::Solid => {}
        Make::Split => {
            entry(
                ui,
                bench,
                out,
                Field::Kerf,
                "Width of either cut",
                example(units, ["1.5 mm", "0.06 in", "60 thou"]),
            );
            end_on(ui, bench);
        }
        Make::Sleeve => {
            entry(
                ui,
                bench,
                out,
                Field::SleeveOutside,
                "Outside of the sleeve",
                example(units, ["24 mm", "1 in", "1 in"]),
            );
            let how = "Larger than its housing by";
            entry(ui, bench, out, Field::Interference, how, "0: glued or pinned");
            end_on(ui, bench);
        }
    }
}

/// The nut seen along its axis: where it is sawn, or what it is pressed into.
fn end_on(ui: &mut Ui, bench: &Bench) {
    const HEIGHT: f32 = 96.0;
    let Some(nut) = bench.findings().and_then(|f| f.nut.as_ref()) else {
        ui.add_space(HEIGHT);
        return;
    };
    let groove = 0.5 * nut.groove_diameter_mm.value;
    let bore = 0.5 * nut.bore_mm.value;
    let sleeve = match nut.request.kind {
        NutKind::Sleeve { outer_diameter_mm, .. } => Some(0.5 * outer_diameter_mm),
        _ => None,
    };
    let outside = 1.6 * groove.max(sleeve.unwrap_or(0.0));
    let room = [-2.4 * outside, -outside, 2.4 * outside, outside];
    let f = Figure::new(ui, HEIGHT, room, "the nut seen along its axis");
    let metal = f.p.doubt.gamma_multiply(0.18);
    let beside = |y: f64, text: &str, colour| {
        f.text((1.15 * outside, y), Align2::LEFT_CENTER, text, colour);
    };
    if let Some(sleeve) = sleeve {
        f.circle((0.0, 0.0), outside, f.p.rule, Stroke::new(1.0, f.p.faint));
        f.circle((0.0, 0.0), sleeve, f.p.card, Stroke::new(2.0, f.p.doubt));
        f.circle((0.0, 0.0), sleeve, metal, Stroke::NONE);
        beside(0.55 * outside, "housing", f.p.faint);
        beside(-0.2 * outside, "sleeve", f.p.doubt);
    } else {
        f.circle((0.0, 0.0), outside, metal, Stroke::new(2.0, f.p.doubt));
    }
    f.circle((0.0, 0.0), bore, f.p.card, Stroke::new(2.0, f.p.doubt));
    if let NutKind::Split { kerf_mm } = nut.request.kind {
        // A saw's cut drawn to scale would hardly be seen in a figure this small.
        let half = 0.5 * kerf_mm.max(0.06 * outside);
        for side in [1.0, -1.0] {
            f.below(&[(0.93 * side * bore, half), (1.02 * side * outside, half)], -half, f.p.card);
        }
        beside(0.0, "sawn in two here", f.p.ink);
    }
}

/// Width of a slitting saw's cut, round in the units it is read in (common practice).
fn usual_kerf_mm(units: Units) -> f64 {
    match units {
        Units::Mm => USUAL_KERF_MM,
        Units::Inch | Units::Thou => 0.06 * MM_PER_INCH,
    }
}

/// A wall of a quarter of the groove's radius, to the next millimetre or sixteenth (common practice).
fn usual_sleeve_mm(bench: &Bench) -> f64 {
    let findings = bench.findings();
    let nut = findings.and_then(|f| f.nut.as_ref()).map(|n| n.groove_diameter_mm.value);
    let screw = findings.and_then(|f| f.screw.as_ref()).map(|s| s.major_diameter_mm.value);
    let step_mm = match bench.units() {
        Units::Mm => 1.0,
        Units::Inch | Units::Thou => MM_PER_INCH / 16.0,
    };
    (1.25 * nut.or(screw).unwrap_or(20.0) / step_mm).ceil() * step_mm
}

fn made_of(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let now = bench.job().nut.material;
    ComboBox::from_label("Material").selected_text(now.name()).show_ui(ui, |ui| {
        for material in NutMaterial::ALL {
            if ui.selectable_label(now == material, material.name()).clicked() && now != material {
                out.push(Command::Edit(Edit::NutMaterial(material)));
            }
        }
    });
}

fn source(bench: &Bench) -> &'static str {
    if bench.job().nut.length_mm.is_some() { "entered" } else { "assumed" }
}

/// Screw and nut in section, and the curve of play against infeed.
pub(super) fn middle(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let findings = bench.findings();
    let (Some(screw), Some(nut)) =
        (findings.and_then(|f| f.screw.as_ref()), findings.and_then(|f| f.nut.as_ref()))
    else {
        super::empty(
            ui,
            "No nut yet",
            "It follows from the form: measured in a picture, or typed in at step 5.",
        );
        return;
    };
    let half = 0.5 * (ui.available_height() - 104.0);
    section(ui, bench.units(), screw, nut, half);
    curve(ui, bench, nut, half, out);
}

/// One and a half pitches of screw and nut, true to scale: metal against metal.
fn section(ui: &mut Ui, units: Units, screw: &ScrewForm, nut: &NutDesign, height: f32) {
    let Ok(thread) = screw.thickest().thread() else { return };
    let p = palette(ui);
    let k = units.in_mm();
    let g = &nut.groove;
    let ridge = plot::section(thread.section(), k, -2..=1);
    let span = 1.5 * g.pitch_mm / k;
    let major = 0.5 * thread.major_diameter_mm();
    let wall = groove_line(g, k, major);
    plot::legend(ui, &[("screw, thickest ridge", p.accent), ("groove of the nut", p.doubt)]);
    let shown = plot::frame(
        ui,
        "assembled",
        height,
        &format!("along the axis, {}", units.symbol()),
        &format!("from the crest, {}", units.symbol()),
    )
    .data_aspect(1.0)
    .show(ui, |plot| {
        // Anew in every frame: bounds that are kept were those of other units, or of another thread.
        plot.set_auto_bounds([false, true]);
        plot.set_plot_bounds_x(-span..=span);
        plot.line(Line::new("nut", PlotPoints::from(wall)).stroke(Stroke::new(2.0, p.doubt)));
        plot.line(Line::new("screw", PlotPoints::from(ridge)).stroke(Stroke::new(2.0, p.accent)));
    });
    plot::named(&shown.response, "screw and nut in section, true to scale");
}

/// The nut's section, in `k` mm from the radius `major_mm`: a groove lies over each crest of the screw, its
/// corners as round as the tool's.
fn groove_line(g: &Groove, k: f64, major_mm: f64) -> Vec<[f64; 2]> {
    let mut line = Vec::new();
    for period in -2..=2 {
        let crest = f64::from(period) * g.pitch_mm;
        let at = |p: &WallPoint| [(crest + p.along_mm) / k, (p.radius_mm - major_mm) / k];
        line.extend(g.left.iter().map(at));
        line.extend(g.right.iter().rev().map(at));
    }
    // Twice the same point spoils the line.
    line.dedup_by(|a, b| k * (a[0] - b[0]).hypot(a[1] - b[1]) < 1e-4);
    line
}

/// Play against infeed with the tool as designed; dragging along it sets both.
fn curve(ui: &mut Ui, bench: &Bench, nut: &NutDesign, height: f32, out: &mut Vec<Command>) {
    let p = palette(ui);
    let units = bench.units();
    let k = units.in_mm();
    // Far from the design nobody goes.
    let from = WORTH_SHOWING * nut.infeed_mm.value;
    let near = nut.play_curve.iter().filter(|q| q.infeed_mm >= from);
    let all: Vec<[f64; 2]> = near.clone().map(|q| [q.infeed_mm / k, q.play_mm / k]).collect();
    let first = near.clone().position(|q| q.crest_clears).unwrap_or(all.len());
    let binding = all[..(first + 1).min(all.len())].to_vec();
    let clear = all[first..].to_vec();
    let play = nut.axial_play_mm;
    let here = [nut.infeed_mm.value / k, play.value / k];
    let (least, most) =
        nut.play_limits_mm.unwrap_or((play.value - 2.0 * play.u, play.value + 2.0 * play.u));
    let whisker = match least.is_finite() && most.is_finite() {
        true => vec![[here[0], least / k], [here[0], most / k]],
        false => Vec::new(),
    };
    plot::legend(
        ui,
        &[("crest clears the bottom", p.accent), ("crest would foul", p.bad), ("designed", p.ink)],
    );
    let infeed = shown(Some(nut.infeed_mm), false, units);
    let between = minus(&between(least, most, units)).replace(" to ", " and ");
    let said = match (play.u.is_finite(), nut.play_limits_mm.is_some()) {
        // Its ± would reach past the upper limit: doubt of pitch and angles only takes play.
        (true, true) => {
            let best = units.plain(play.value, 3);
            format!("play {best} if all is as measured; 19 times in 20 between {between}")
        }
        (true, false) => format!("play {}", units.show(play)),
        (false, true) => format!("play cannot be told: 19 times in 20 between {between}"),
        (false, false) => "play cannot be told".to_owned(),
    };
    let text = format!("With this tool: infeed {infeed}, {said}. Drag along the curve.");
    ui.scope(|ui| {
        // Where the page is wider than what is seen of it, words need not be.
        let seen = ui.clip_rect().intersect(ui.max_rect()).width();
        ui.set_max_width(ui.available_width().min(seen));
        ui.label(RichText::new(text).small());
    });
    let hold = ui.scope_id().with("axes while the curve is dragged along");
    let held: Option<PlotBounds> = ui.data(|d| d.get_temp(hold));
    let drawn = plot::frame(
        ui,
        "play curve",
        height,
        &format!("radial infeed from touching the bore, {}", units.symbol()),
        &format!("axial play, {}", units.symbol()),
    )
    .show(ui, |plot| {
        // While it is dragged along, the axes stay: they would run away from under the hand.
        match held {
            Some(bounds) => plot.set_plot_bounds(bounds),
            None => plot.set_auto_bounds(true),
        }
        plot.hline(HLine::new("no play", 0.0).stroke(Stroke::new(1.0, p.faint)));
        plot.line(Line::new("fouls", PlotPoints::from(binding)).stroke(Stroke::new(2.0, p.bad)));
        plot.line(Line::new("clears", PlotPoints::from(clear)).stroke(Stroke::new(2.5, p.accent)));
        plot.vline(VLine::new("infeed", here[0]).stroke(Stroke::new(1.0, p.rule)));
        plot.line(Line::new("±", PlotPoints::from(whisker)).stroke(Stroke::new(2.0, p.ink)));
        plot.points(
            Points::new("designed", PlotPoints::from(vec![here]))
                .shape(MarkerShape::Circle)
                .radius(7.0)
                .color(p.ink),
        );
        let dragged = plot.response().dragged() || plot.response().clicked();
        // Where the pointer is now; the plot's own coordinate lags a move behind while dragging.
        let at = plot.response().interact_pointer_pos().filter(|_| dragged);
        at.map(|at| plot.plot_from_screen(at).x * k)
    });
    plot::named(&drawn.response, "axial play against infeed");
    match (drawn.response.dragged(), held) {
        (true, None) => {
            ui.data_mut(|d| d.insert_temp(hold, *drawn.transform.bounds()));
        }
        (false, Some(_)) => ui.data_mut(|d| d.remove::<PlotBounds>(hold)),
        _ => {}
    }
    if drawn.response.drag_started() || drawn.response.clicked() {
        // Each drag is a step of its own.
        out.push(Command::Settle);
    }
    if let Some(infeed_mm) = drawn.inner
        && let Some(edit) = along(nut, infeed_mm, units)
    {
        out.push(Command::Edit(edit));
    }
}

/// The design that the same tool gives at another infeed. The bore stays; the groove gets deeper or
/// shallower, and with it the clearance over the crest.
fn along(nut: &NutDesign, infeed_mm: f64, units: Units) -> Option<Edit> {
    let by = infeed_mm - nut.infeed_mm.value;
    let radial = nut.radial_clearance_mm.value + by;
    let play = nut.axial_play_mm.value + by * nut.play_per_infeed.value;
    // Finer than any dial, and round in the units in which it is then read.
    let step = match units {
        Units::Mm => 0.001,
        Units::Inch | Units::Thou => 0.0001 * MM_PER_INCH,
    };
    let to = |v: f64| (v / step).round() * step;
    (radial >= 0.0 && (0.0..=2.0).contains(&play)).then(|| Edit::AlongCurve {
        play_mm: to(play),
        radial_clearance_mm: to(radial),
        bore_clearance_mm: nut.bore_clearance_mm.value,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use form::Quantity;
    use job::Job;

    #[test]
    fn a_groove_with_round_corners_is_drawn_round() {
        let mut job = Job::default();
        job.form.pitch_mm = Some(Quantity::entered(0.794, 0.001));
        job.form.right_flank_deg = Some(Quantity::entered(27.5, 0.1));
        job.form.left_flank_deg = Some(Quantity::entered(27.5, 0.1));
        job.form.depth_mm = Some(Quantity::entered(0.508, 0.001));
        job.form.crest_flat_mm = Some(Quantity::entered(0.1325, 0.001));
        job.thread.major_diameter_mm = Some(Quantity::entered(4.76, 0.005));
        let mut screw =
            job::evaluate(&job, None, &|_| true).unwrap().screw.unwrap().as_ref().clone();
        screw.crest_radius_mm = Quantity::measured(0.1, 0.001);
        let nut = job::nut_for(&job, &screw).unwrap();
        let g = &nut.groove;
        let line = groove_line(g, 1.0, 0.0);
        // Nowhere nearer to the middle of the ridge than the wall is.
        for pair in line.windows(2) {
            let [a, b] = [pair[0], pair[1]];
            let (x, r) = (0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1]));
            let inside = g.bore_radius_mm..g.bottom_radius_mm - 1e-6;
            if x.abs() < 0.4 * g.pitch_mm && inside.contains(&r) {
                let wall = if x > 0.0 { g.right_mm(r) } else { -g.left_mm(r) };
                assert!(x.abs() > wall - 2e-3, "{x} at {r}, the wall at {wall}");
            }
        }
    }

    #[test]
    fn along_the_curve_the_tool_stays_as_it_is() {
        let mut job = Job::default();
        job.form.pitch_mm = Some(Quantity::entered(4.0, 0.005));
        job.form.right_flank_deg = Some(Quantity::entered(15.0, 0.1));
        job.form.left_flank_deg = Some(Quantity::entered(15.0, 0.1));
        job.form.depth_mm = Some(Quantity::entered(2.25, 0.01));
        job.form.crest_flat_mm = Some(Quantity::entered(1.464, 0.01));
        job.thread.major_diameter_mm = Some(Quantity::entered(20.0, 0.01));
        let nut = |job: &Job| job::evaluate(job, None, &|_| true).unwrap().nut.unwrap();
        let before = nut(&job);
        let edit = along(&before, before.infeed_mm.value + 0.1, Units::Mm).unwrap();
        crate::window::edit::change(&mut job, &edit);
        let after = nut(&job);
        let near = |a: f64, b: f64| (a - b).abs() < 2e-3;
        assert!(near(after.tool_tip_flat_mm.value, before.tool_tip_flat_mm.value));
        assert!(near(after.infeed_mm.value, before.infeed_mm.value + 0.1));
        assert!(near(after.bore_mm.value, before.bore_mm.value));
        // Two times tan 15° for each millimetre: 0.0536 mm.
        assert!(near(after.axial_play_mm.value, before.axial_play_mm.value + 0.0536));
    }
}
