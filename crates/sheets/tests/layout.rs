//! Nothing overlaps, nothing is cut off, and what must stand on every page stands there.
#![expect(clippy::unwrap_used, reason = "helpers of tests stop the test")]

mod scenes;

use form::{Quantity, Source, Units};
use proptest::prelude::*;
use sheets::{
    Drawing, FlankSide, Item, NutBody, Paper, Row, SheetError, SheetInfo, bench_sheet, faults,
    job_sheet, nut_drawing, record_sheet, shadow_chart, survey_sheet, tool_template, wheels_sheet,
};
use shop::UseOfThread;

fn texts(page: &Drawing) -> Vec<String> {
    page.items()
        .filter_map(|i| match i {
            Item::Text(t) => Some(t.text),
            _ => None,
        })
        .collect()
}

fn in_order(name: &str, pages: &[Drawing]) {
    for (i, page) in pages.iter().enumerate() {
        let found = faults(page);
        assert!(found.is_empty(), "{name} page {}: {found:#?}", i + 1);
        let texts = texts(page);
        let count = |s: &str| texts.iter().filter(|t| t.contains(s)).count();
        assert_eq!(count("100 mm check line"), 2, "{name}");
        assert_eq!(count(&format!("Page {} of {}", i + 1, pages.len())), 1, "{name}");
        assert!(count("Measure both check lines before use") == 1, "{name}");
        assert!(count("Values from a picture are provisional") == 1, "{name}");
        assert!(count("Not for threads that lift, hold up, press, brake or steer") == 1, "{name}");
        assert!(count("14 March 2031") == 1, "{name}");
    }
}

fn everything(info: &SheetInfo, name: &str) {
    for (form_name, pitch, form) in scenes::forms() {
        let name = format!("{name} {form_name}");
        in_order(&name, &tool_template(info, &scenes::template(form)).unwrap());
        for body in [NutBody::Solid, NutBody::Split { kerf_mm: 0.6 }, NutBody::Sleeve] {
            in_order(&name, &nut_drawing(info, &scenes::nut(pitch, form, body)).unwrap());
        }
        in_order(&name, &shadow_chart(info, &scenes::chart(pitch, form)).unwrap());
        for passes in [0, 1, 7, 24, 40, 60] {
            in_order(&name, &job_sheet(info, &scenes::job(pitch, form, passes)).unwrap());
        }
    }
    for n in [0, 1, 3, 12, 40] {
        in_order(name, &record_sheet(info, &scenes::record(n)).unwrap());
    }
    for (drivers, driven) in scenes::TRAINS {
        for others in [0, 6, 39] {
            let pages = wheels_sheet(info, &scenes::wheels(drivers, driven, others)).unwrap();
            in_order(&format!("{name} {drivers:?} {others}"), &pages);
            assert_eq!(pages.len(), 1);
        }
    }
    for n in [0, 2, 40] {
        in_order(name, &bench_sheet(info, &scenes::bench(n)).unwrap());
    }
    for n in [2, 5, 9, 14, 20, 33, 60] {
        in_order(name, &survey_sheet(info, &scenes::survey(n)).unwrap());
    }
}

#[test]
fn on_both_papers_in_all_units_with_short_and_long_names() {
    for paper in [Paper::A4, Paper::Letter] {
        for units in [Units::Mm, Units::Inch, Units::Thou] {
            for job in ["", "Studio easel, mast screw", scenes::LONG_NAME] {
                let info = scenes::info(paper, units, job);
                everything(&info, &format!("{} {units:?} {:.12}", paper.name(), job));
            }
        }
    }
}

#[test]
fn with_much_to_say() {
    let info = scenes::info(Paper::Letter, Units::Mm, scenes::LONG_NAME);
    let mut t = scenes::template(scenes::trapezoid_4());
    t.subject = "nut tool for the second warp beam screw, ground from a broken centre drill".into();
    t.view += " Turned to the lead angle about its shank; the rake face is square to the helix.";
    for i in 0..4 {
        t.notes.push(format!(
            "Note {i}: the exact edge leaves the straight line ground for it by 0.4 µm on the \
             left and 0.3 µm on the right, far below what a stone can do."
        ));
        t.rows.push(Row::length(
            format!("Further quantity {i} with a long name"),
            Quantity::derived(1.0, 0.1),
        ));
    }
    in_order("wordy", &tool_template(&info, &t).unwrap());
    let words = "unbroken".repeat(30);
    let info = scenes::info(Paper::A4, Units::Mm, &words);
    in_order("one word", &tool_template(&info, &t).unwrap());
    let mut record = scenes::record(2);
    record.warnings = vec![scenes::LONG_NAME.repeat(3); 9];
    in_order("many warnings", &record_sheet(&info, &record).unwrap());
    record.picture = None;
    in_order("no picture", &record_sheet(&info, &record).unwrap());
}

#[test]
fn every_number_has_its_source_and_its_uncertainty() {
    let info = scenes::info(Paper::A4, Units::Mm, "Floor loom");
    let form = scenes::trapezoid_4();
    let pages = tool_template(&info, &scenes::template(form)).unwrap();
    let all = texts(&pages[0]);
    for wanted in ["15.02 ± 0.03°", "14.99 ± 0.04°", "1.395 ± 0.006 mm", "2.250 ± 0.008 mm"] {
        assert!(all.iter().any(|t| t == wanted), "{wanted}");
    }
    for source in [Source::Measured, Source::Derived, Source::Assumed] {
        assert!(all.iter().any(|t| *t == source.to_string()), "{source}");
    }
    // Right and left, leading and following, are where the input says.
    let x = |wanted: &str| {
        pages[0]
            .items()
            .find_map(|i| match i {
                Item::Text(t) if t.text == wanted => Some(t.at.x),
                _ => None,
            })
            .unwrap_or_else(|| panic!("{wanted}"))
    };
    assert!(x("14.99°") < x("15.02°"));
    assert!(x("leading side") < x("following side"));
    let mut turned = scenes::template(form);
    turned.leading = FlankSide::Right;
    let pages = tool_template(&info, &turned).unwrap();
    let at = |wanted: &str| {
        pages[0].items().find_map(|i| match i {
            Item::Text(t) if t.text == wanted => Some(t.at.x),
            _ => None,
        })
    };
    assert!(at("leading side") > at("following side"));
}

#[test]
fn a_refused_use_prints_no_numbers() {
    for refused in UseOfThread::ALL.into_iter().filter(|u| u.permit().is_err()) {
        let info = SheetInfo {
            thread_use: refused,
            ..scenes::info(Paper::A4, Units::Mm, "A jack's screw")
        };
        let form = scenes::trapezoid_4();
        let sets = [
            tool_template(&info, &scenes::template(form)).unwrap(),
            job_sheet(&info, &scenes::job(4.0, form, 9)).unwrap(),
            nut_drawing(&info, &scenes::nut(4.0, form, NutBody::Solid)).unwrap(),
            shadow_chart(&info, &scenes::chart(4.0, form)).unwrap(),
            record_sheet(&info, &scenes::record(3)).unwrap(),
            survey_sheet(&info, &scenes::survey(9)).unwrap(),
            wheels_sheet(&info, &scenes::wheels(&[40], &[50], 3)).unwrap(),
            bench_sheet(&info, &scenes::bench(3)).unwrap(),
        ];
        for pages in sets {
            in_order("refused", &pages);
            let all = texts(&pages[0]).join("\n");
            assert!(all.contains("licensed"), "{all}");
            assert!(all.contains(refused.words()), "{all}");
            assert!(!all.contains('±') && !all.contains('°'), "{all}");
        }
    }
}

#[test]
fn what_cannot_be_drawn_is_said() {
    let info = scenes::info(Paper::A4, Units::Mm, "Floor loom");
    let mut t = scenes::template(scenes::huge_12());
    t.magnification = Some(50.0);
    let e = tool_template(&info, &t).unwrap_err();
    assert!(matches!(e, SheetError::Magnification { largest: 10.0, .. }), "{e}");
    assert!(e.to_string().contains("50 : 1 does not fit A4"), "{e}");
    t.magnification = Some(3.0);
    in_order("3 : 1", &tool_template(&info, &t).unwrap());
    t.form.depth_mm = Quantity::derived(f64::NAN, 0.0);
    assert!(tool_template(&info, &t).unwrap_err().to_string().contains("tool depth NaN"));
    let mut nut = scenes::nut(4.0, scenes::trapezoid_4(), NutBody::Solid);
    nut.outer_diameter_mm.size_mm = Quantity::entered(10.0, 0.0);
    assert!(nut_drawing(&info, &nut).unwrap_err().to_string().contains("outer diameter 10 mm"));
}

/// Whatever there is to say, the sheet that is pinned beside the lathe is one page, its passes in type
/// that can be read there.
#[test]
fn the_job_sheet_is_one_page_whatever_it_says() {
    for units in [Units::Mm, Units::Inch] {
        let info = scenes::info(Paper::Letter, units, "Floor loom");
        for (passes, least_mm) in [(1, 3.6), (12, 2.9), (26, 2.9), (40, 2.6), (52, 2.3), (400, 2.3)]
        {
            let mut job = scenes::job(4.0, scenes::trapezoid_4(), passes);
            let pages = job_sheet(&info, &job).unwrap();
            in_order(&format!("{passes} passes"), &pages);
            assert_eq!(pages.len(), 1);
            let last = passes.to_string();
            let size_mm = pages[0].items().find_map(|i| match i {
                Item::Text(t) if t.text == last && t.at.x > 115.0 => Some(t.size_mm),
                _ => None,
            });
            assert!(size_mm.unwrap() >= least_mm, "{passes} passes in {size_mm:?} mm");
            let all = texts(&pages[0]).join("\n");
            assert!(passes < 3 || all.contains("spring"), "{all}");
            assert_eq!(all.contains("one in"), passes == 400, "{all}");
            // No word is broken to fit its column.
            assert!(!all.lines().any(|l| l == "d"), "{all}");
            job.remarks = vec![scenes::LONG_NAME.repeat(3); 30];
            let pages = job_sheet(&info, &job).unwrap();
            in_order(&format!("{passes} passes and many remarks"), &pages);
            assert_eq!(pages.len(), 1);
            assert!(texts(&pages[0]).iter().any(|t| t.contains("more remarks stand in the")));
        }
    }
}

/// The wheels are drawn as large as the sheet says, those in mesh touching.
#[test]
fn wheels_are_true_to_scale() {
    let info = scenes::info(Paper::A4, Units::Mm, "Floor loom");
    for (drivers, driven) in scenes::TRAINS {
        let sheet = scenes::wheels(drivers, driven, 6);
        let pages = wheels_sheet(&info, &sheet).unwrap();
        let times: f64 = texts(&pages[0])
            .iter()
            .find_map(|t| t.strip_prefix("Pitch circles 1 : ")?.split(',').next()?.parse().ok())
            .unwrap();
        // Circles in the order of the row; the small ones between them are the shafts.
        let circles: Vec<(f64, f64)> = pages[0]
            .items()
            .filter_map(|i| match i {
                Item::Stroke { path, pen } if pen.layer == sheets::Layer::Outline => {
                    let b = path.bounds()?;
                    Some((b.centre().x, 0.5 * b.width()))
                }
                _ => None,
            })
            .filter(|(_, r)| *r > 0.95)
            .collect();
        let row = shop::wheel_row(drivers, driven, sheet.idler);
        assert_eq!(circles.len(), row.len());
        for ((x, r), w) in circles.iter().zip(&row) {
            assert!((r * times / 1.5 - 0.5 * f64::from(w.teeth)).abs() < 1e-6, "{w:?}: {r}");
            let away = (x - circles[0].0) * times / 1.5;
            assert!((away - w.at).abs() < 1e-6, "{w:?}: {away}");
        }
    }
}

#[test]
fn a_train_that_is_none_is_refused_by_name() {
    let info = scenes::info(Paper::A4, Units::Mm, "Floor loom");
    let said = |sheet| wheels_sheet(&info, &sheet).unwrap_err().to_string();
    assert!(said(scenes::wheels(&[40, 50], &[60], 0)).contains("number of driven wheels"));
    assert!(said(scenes::wheels(&[2], &[60], 0)).contains("teeth 2"));
    let mut sheet = scenes::wheels(&[40], &[60], 0);
    sheet.module_mm = Quantity::entered(0.0, 0.0);
    assert!(said(sheet).contains("module 0 mm"));
}

/// What the drawing shows is as large as it says.
#[test]
fn gauge_and_magnified_view_are_true_to_scale() {
    let info = scenes::info(Paper::A4, Units::Mm, "Floor loom");
    for (name, _, form) in scenes::forms() {
        let pages = tool_template(&info, &scenes::template(form)).unwrap();
        let depth = form.depth_mm.value;
        let width = form.width_mm(depth);
        let scale: f64 = texts(&pages[0])
            .iter()
            .find_map(|t| t.strip_suffix(" : 1").and_then(|s| s.parse().ok()))
            .unwrap();
        // The notch of the card: its first and last corner are the flanks at full depth.
        let card = pages[0]
            .items()
            .find_map(|i| match i {
                Item::Stroke { path, pen } if pen.layer == sheets::Layer::Gauge && path.closed => {
                    Some(path)
                }
                _ => None,
            })
            .unwrap();
        let n = card.vertices.len() - 4;
        let mouth = (card.vertices[n - 1].at - card.vertices[0].at).length();
        assert!((mouth - width).abs() < 1e-9, "{name}: {mouth} for {width}");
        let top = card.vertices[0].at.y;
        let bottom = card.vertices[..n].iter().map(|v| v.at.y).fold(f64::INFINITY, f64::min);
        // Over the tip the notch is relieved, narrower than the tip, so that the flanks bear first.
        assert!((top - bottom - depth - 0.6).abs() < 1e-9, "{name}");
        let at = |y: f64| card.vertices[..n].iter().filter(move |v| (v.at.y - y).abs() < 1e-9);
        let wide = |y: f64| {
            at(y).map(|v| v.at.x).fold(f64::NEG_INFINITY, f64::max)
                - at(y).map(|v| v.at.x).fold(f64::INFINITY, f64::min)
        };
        assert!(wide(bottom) < form.tip_flat_mm.value && at(top - depth).count() >= 4, "{name}");
        // The large view: the flank runs at its angle, and the tip is as wide as it says.
        let edge = pages[0]
            .items()
            .find_map(|i| match i {
                Item::Stroke { path, pen }
                    if pen.layer == sheets::Layer::Outline && pen.width_mm == 0.5 =>
                {
                    Some(path)
                }
                _ => None,
            })
            .unwrap();
        let v = &edge.vertices;
        let (a, b) = (v[v.len() - 2].at, v[v.len() - 1].at);
        let angle = (b.x - a.x).atan2(a.y - b.y).to_degrees();
        assert!((angle - form.right_flank_deg.value).abs() < 1e-9, "{name}: {angle}");
        if form.corner_radius_mm.value == 0.0 {
            let tip = v[2].at.x - v[1].at.x;
            assert!((tip - scale * form.tip_flat_mm.value).abs() < 1e-9, "{name}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 250, failure_persistence: None, ..ProptestConfig::default() })]
    /// Any tool that is a tool is drawn without a fault, or the reason is named.
    #[test]
    fn any_tool(
        right in -5.0..70.0f64,
        left in -5.0..70.0f64,
        depth in 0.1..14.0f64,
        flat in 0.0..1.2f64,
        round in 0.0..1.0f64,
        letter: bool,
        inch: bool,
        leads_right: bool,
        clearance in (-3.0..15.0f64, 0.5..15.0f64),
    ) {
        let mut form = scenes::tool(right, left, 0.05 + flat * depth, 0.0, depth);
        form.corner_radius_mm = Quantity::measured(round * form.largest_radius_mm(), 0.01);
        let mut t = scenes::template(form);
        if leads_right {
            t.leading = FlankSide::Right;
        }
        t.clearance.following_deg = Quantity::derived(clearance.0, 0.1);
        t.clearance.leading_deg = Quantity::derived(clearance.1, 0.1);
        let paper = if letter { Paper::Letter } else { Paper::A4 };
        let units = if inch { Units::Inch } else { Units::Mm };
        match tool_template(&scenes::info(paper, units, "Floor loom"), &t) {
            Ok(pages) => in_order("any", &pages),
            Err(SheetError::Magnification { .. }) => {
                // Only forms far wider than any thread's fail to fit at 1 : 1.
                prop_assert!(form.width_mm(depth) > 60.0);
            }
            Err(SheetError::Limits { .. }) => prop_assert!(form.width_mm(depth) < 1e-6),
            Err(e) => prop_assert!(false, "{}", e),
        }
    }

    /// Any nut that is a nut is drawn without a fault.
    #[test]
    fn any_nut(
        right in 0.0..45.0f64,
        left in 0.0..45.0f64,
        pitch in 0.4..14.0f64,
        depth in 0.3..0.6f64,
        bore in 3.0..30.0f64,
        wall in 1.3..3.0f64,
        length in 0.3..5.0f64,
        left_hand: bool,
        split: bool,
        letter: bool,
    ) {
        let depth = depth * pitch;
        let slope = right.to_radians().tan() + left.to_radians().tan();
        let flat = (0.55 * pitch - depth * slope).max(0.02 * pitch);
        let groove = scenes::tool(right, left, flat, 0.0, depth);
        prop_assume!(groove.width_mm(depth) < pitch);
        let body = if split { NutBody::Split { kerf_mm: 0.05 * bore } } else { NutBody::Solid };
        let mut nut = scenes::nut(pitch, groove, body);
        let bore = bore * pitch;
        nut.bore_mm.size_mm = Quantity::derived(bore, 0.02);
        nut.groove_diameter_mm.size_mm = Quantity::derived(bore + 2.0 * depth, 0.02);
        nut.outer_diameter_mm.size_mm = Quantity::entered(wall * (bore + 2.0 * depth), 0.0);
        nut.length_mm.size_mm = Quantity::entered(length * bore, 0.0);
        nut.chamfer_mm = (0.3 * depth).min(0.2 * length * bore);
        if left_hand {
            nut.hand = form::Hand::Left;
        }
        let paper = if letter { Paper::Letter } else { Paper::A4 };
        in_order("any nut", &nut_drawing(&scenes::info(paper, Units::Mm, "Loom"), &nut).unwrap());
    }
}

/// Where the numbers fill the page, the order of work stands on a second one: nothing of it is lost.
#[test]
fn an_order_of_work_without_room_takes_a_second_page() {
    let info = scenes::info(Paper::Letter, Units::Mm, "Floor loom");
    let mut job = scenes::job(4.0, scenes::trapezoid_4(), 30);
    job.order = (1..=12).map(|n| format!("Step {n} of the work. {}", scenes::LONG_NAME)).collect();
    let pages = job_sheet(&info, &job).unwrap();
    in_order("a long order", &pages);
    assert_eq!(pages.len(), 2);
    let (first, second) = (texts(&pages[0]).join("\n"), texts(&pages[1]).join("\n"));
    assert!(first.contains("The order of work, and what to mind: next page."), "{first}");
    for n in 1..=12 {
        assert!(second.contains(&format!("{n}. Step {n} of the work")), "{second}");
    }
}
