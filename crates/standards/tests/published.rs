//! Every family recomputed against the published tables in `tests/data` (their sources stand in
//! their first lines), all rows of each, and worked values of the standards.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "support/table.rs"]
mod table;

use approx::assert_abs_diff_eq;
use standards::{Diameters, Family, Size, family, forms, sizes};
use table::Table;

const INCH: f64 = 25.4;

/// The listed size of `id` with this major diameter and pitch, both mm.
fn size(id: &str, major_mm: f64, pitch_mm: f64) -> &'static Size {
    sizes(id)
        .iter()
        .find(|s| {
            (s.major_mm - major_mm).abs() < 2e-3 && (s.pitch_mm / pitch_mm - 1.0).abs() < 1e-5
        })
        .unwrap_or_else(|| panic!("{id} lacks {major_mm} x {pitch_mm}"))
}

fn diameters(id: &str, major_mm: f64, pitch_mm: f64) -> Diameters {
    fam(id).diameters(size(id, major_mm, pitch_mm))
}

fn fam(id: &str) -> &'static Family {
    family(id).unwrap_or_else(|| panic!("no family {id}"))
}

/// Degrees from "4 deg 03'".
fn degrees(text: &str) -> f64 {
    let mut parts = text.split(|c: char| !c.is_ascii_digit()).filter(|p| !p.is_empty());
    let d: f64 = parts.next().unwrap().parse().unwrap();
    let m: f64 = parts.next().unwrap().parse().unwrap();
    d + m / 60.0
}

fn lead_angle_deg(lead: f64, pitch_diameter: f64) -> f64 {
    (lead / (std::f64::consts::PI * pitch_diameter)).atan().to_degrees()
}

#[test]
fn metric_series_is_iso_261() {
    let table = Table::read("iso261_choices.csv");
    for row in table.rows() {
        let id = if row.text("series") == "coarse" { "metric-coarse" } else { "metric-fine" };
        // The table carries M115x4 and M115x6 with D = 105: the name is right.
        let name = row.text("name");
        let d: f64 = if name.starts_with("M115") { 115.0 } else { row.number("D") };
        // The table carries M1.4 with 0.25; ISO 262 and DIN 13-1 have 0.3.
        let p = if name == "M1.4" { 0.3 } else { row.number("P") };
        let s = size(id, d, p);
        assert_eq!(u32::from(s.choice), row.number("choice") as u32, "{name}");
    }
    assert_eq!(table.len(), sizes("metric-coarse").len() + sizes("metric-fine").len());
    // ISO 262 is a selection from ISO 261.
    for row in Table::read("iso262_coarse_fine.csv").rows() {
        let d: f64 = row.text("Dia").trim_start_matches('M').parse().unwrap();
        for (column, id) in [
            ("P_coarse", "metric-coarse"),
            ("P_fine_1", "metric-fine"),
            ("P_fine_2", "metric-fine"),
        ] {
            if !row.text(column).is_empty() {
                size(id, d, row.number(column));
            }
        }
    }
}

#[test]
fn metric_diameters_are_din_13() {
    // d2 and D1 follow the basic profile, d3 the rounded root of H/6. All 18 printed sizes.
    for row in Table::read("din13_check.csv").rows() {
        let d: f64 = row.text("size").trim_start_matches('M').parse().unwrap();
        let c = diameters("metric-coarse", d, row.number("P"));
        assert_abs_diff_eq!(c.pitch_mm, row.number("d2"), epsilon = 6e-4);
        assert_abs_diff_eq!(c.external_minor_mm, row.number("d3"), epsilon = 6e-4);
        assert_abs_diff_eq!(c.internal_minor_mm, row.number("D1"), epsilon = 6e-4);
    }
}

#[test]
fn worked_values_of_iso_724() {
    // ISO 724: M10, M24 and three fine threads; D2, D1 (from memory of the printed table, and equal
    // to D - 0.649519 P and D - 1.082532 P).
    for (id, d, p, d2, d1) in [
        ("metric-coarse", 10.0, 1.5, 9.026, 8.376),
        ("metric-coarse", 24.0, 3.0, 22.051, 20.752),
        ("metric-fine", 10.0, 1.25, 9.188, 8.647),
        ("metric-fine", 12.0, 1.25, 11.188, 10.647),
        ("metric-fine", 20.0, 1.5, 19.026, 18.376),
    ] {
        let c = diameters(id, d, p);
        assert_abs_diff_eq!(c.pitch_mm, d2, epsilon = 6e-4);
        assert_abs_diff_eq!(c.internal_minor_mm, d1, epsilon = 6e-4);
    }
}

#[test]
fn unified_is_asme_b1_1() {
    for row in Table::read("unc.csv").rows() {
        let c = diameters("unc", row.number("D") * INCH, INCH / row.number("tpi"));
        assert_abs_diff_eq!(c.pitch_mm / INCH, row.number("pd"), epsilon = 6e-5);
        assert_abs_diff_eq!(c.internal_minor_mm / INCH, row.number("D1"), epsilon = 6e-5);
        // d3 is printed with an older root, D - 1.19078 P, less deep than H/6 leaves it.
        let p = 1.0 / row.number("tpi");
        assert_abs_diff_eq!(row.number("D") - 1.190_78 * p, row.number("d3"), epsilon = 1.5e-4);
    }
    for (file, id, column) in [("unf.csv", "unf", "D_in"), ("unef.csv", "unef", "D")] {
        for row in Table::read(file).rows() {
            let c = diameters(id, row.number(column) * INCH, INCH / row.number("tpi"));
            assert_abs_diff_eq!(c.pitch_mm / INCH, row.number("pd_calc"), epsilon = 6e-5);
            assert_abs_diff_eq!(c.internal_minor_mm / INCH, row.number("D1_calc"), epsilon = 6e-5);
        }
    }
}

#[test]
fn whitworth_is_bs_84() {
    for (file, id) in [("bsw.csv", "bsw"), ("bsf.csv", "bsf")] {
        let table = Table::read(file);
        for row in table.rows() {
            let c = diameters(id, row.number("nominal_in") * INCH, INCH / row.number("tpi"));
            assert_abs_diff_eq!(c.pitch_mm / INCH, row.number("pd_calc"), epsilon = 6e-5);
            assert_abs_diff_eq!(
                c.internal_minor_mm / INCH,
                row.number("minor_calc"),
                epsilon = 6e-5
            );
        }
        assert_eq!(table.len(), sizes(id).len());
    }
    // The converted table is off by up to 4e-4 in the last digits of large sizes, as its note says.
    for row in Table::read("bsw.csv").rows() {
        let c = diameters("bsw", row.number("nominal_in") * INCH, INCH / row.number("tpi"));
        assert_abs_diff_eq!(c.pitch_mm / INCH, row.number("pd_table"), epsilon = 4e-4);
        assert_abs_diff_eq!(c.internal_minor_mm / INCH, row.number("minor_table"), epsilon = 4e-4);
    }
    // BS 84, worked: 1/4-20 and 1-8 (printed table of effective and core diameters).
    for (d, tpi, effective, core) in [(0.25, 20.0, 0.2180, 0.1860), (1.0, 8.0, 0.9200, 0.8400)] {
        let c = diameters("bsw", d * INCH, INCH / tpi);
        assert_abs_diff_eq!(c.pitch_mm / INCH, effective, epsilon = 6e-5);
        assert_abs_diff_eq!(c.external_minor_mm / INCH, core, epsilon = 1.2e-4);
    }
}

#[test]
fn pipe_threads_are_iso_228_and_b1_20_1() {
    let table = Table::read("bsp_iso228.csv");
    for row in table.rows() {
        let c = diameters("g", row.number("major_diameter"), INCH / row.number("tpi"));
        // Printed with 28 tpi = 0.907 mm and so on: the half-depth is rounded before it is taken.
        assert_abs_diff_eq!(c.pitch_mm, row.number("pitch_diameter"), epsilon = 1.1e-3);
        assert_abs_diff_eq!(c.external_minor_mm, row.number("minor_diameter"), epsilon = 2.1e-3);
    }
    assert_eq!(table.len(), sizes("g").len());
    for s in sizes("r") {
        let twin = sizes("g").iter().find(|g| g.label == s.label).unwrap();
        assert_eq!((twin.major_mm, twin.pitch_mm), (s.major_mm, s.pitch_mm));
    }
    // NPT: E0 = D - (0.05 D + 1.1) P, E1 = E0 + L1 / 16, E2 = E0 + L2 / 16, L2 = (0.8 D + 6.8) P.
    for row in Table::read("npt.csv").rows() {
        let (d, p) = (row.number("D"), 1.0 / row.number("tpi"));
        size("npt", d * INCH, p * INCH);
        let e0 = d - (0.05 * d + 1.1) * p;
        assert_abs_diff_eq!(e0, row.number("E0"), epsilon = 1.1e-5);
        assert_abs_diff_eq!(e0 + row.number("L1") / 16.0, row.number("E1"), epsilon = 2e-5);
        // Printed L2 follows the formula to its last digit or two.
        assert_abs_diff_eq!((0.8 * d + 6.8) * p, row.number("L2"), epsilon = 1.2e-4);
        assert_abs_diff_eq!(e0 + (0.8 * d + 6.8) * p / 16.0, row.number("E2"), epsilon = 2e-5);
        // Pitch diameter half-way along the thread, as the ranking takes it.
        let form = &fam("npt").form;
        let major = d + form.gauge_offset_d * d + form.gauge_offset_p * p;
        let middle = e0 + (0.8 * d + 6.8) * p / 32.0;
        assert_abs_diff_eq!(major - 2.0 * form.pitch_line * p, middle, epsilon = 0.06 * p + 0.01);
    }
}

#[test]
fn ba_is_bs_93() {
    let table = Table::read("ba_bs93.csv");
    assert_eq!(table.len(), 17);
    for row in table.rows() {
        let s = sizes("ba").iter().find(|s| s.label == row.text("no")).unwrap();
        assert_abs_diff_eq!(s.major_mm, row.number("major"), epsilon = 1e-9);
        assert_abs_diff_eq!(s.pitch_mm, row.number("pitch"), epsilon = 1e-9);
        let c = fam("ba").diameters(s);
        // D - 0.6 P and D - 1.2 P, the printed depth rounded to 0.005.
        assert_abs_diff_eq!(c.pitch_mm, row.number("effective"), epsilon = 5.1e-3);
        assert_abs_diff_eq!(c.external_minor_mm, row.number("minor"), epsilon = 1.01e-2);
        let radius = fam("ba").form.crest_radius * s.pitch_mm;
        assert_abs_diff_eq!(radius, row.number("radius"), epsilon = 6e-5);
    }
    // 0, 2 and 6 BA by name.
    for (label, effective, core) in [("0", 5.400, 4.80), ("2", 4.215, 3.73), ("6", 2.480, 2.16)] {
        let s = sizes("ba").iter().find(|s| s.label == label).unwrap();
        let c = fam("ba").diameters(s);
        assert_abs_diff_eq!(c.pitch_mm, effective, epsilon = 2.1e-3);
        assert_abs_diff_eq!(c.external_minor_mm, core, epsilon = 5e-3);
    }
}

#[test]
fn cycle_is_bs_811() {
    for row in Table::read("bsc_cycle.csv").rows() {
        let s = sizes("bsc").iter().find(|s| s.label == row.text("size")).unwrap();
        let c = fam("bsc").diameters(s);
        assert_abs_diff_eq!(c.external_minor_mm / INCH, row.number("minor"), epsilon = 6e-4);
        assert_abs_diff_eq!(c.external_minor_mm / INCH, row.number("minor_calc"), epsilon = 6e-5);
    }
}

#[test]
fn trapezoidal_is_iso_2904() {
    let table = Table::read("tr_series.csv");
    assert_eq!(table.len(), sizes("tr").len());
    for row in table.rows() {
        let c = diameters("tr", row.number("d"), row.number("P"));
        let clearance = fam("tr").form.clearance.radial_mm(row.number("P"));
        assert_abs_diff_eq!(clearance, row.number("ac"), epsilon = 1e-12);
        assert_abs_diff_eq!(c.pitch_mm, row.number("d2"), epsilon = 1e-9);
        assert_abs_diff_eq!(c.external_minor_mm, row.number("d3"), epsilon = 1e-9);
        assert_abs_diff_eq!(c.internal_minor_mm, row.number("D1"), epsilon = 1e-9);
        assert_abs_diff_eq!(c.internal_major_mm, row.number("D4"), epsilon = 1e-9);
    }
    for row in Table::read("tr_check_rows.csv").rows() {
        let c = diameters("tr", row.number("d"), row.number("P"));
        assert_abs_diff_eq!(c.pitch_mm, row.number("d2"), epsilon = 0.051);
        assert_abs_diff_eq!(c.external_minor_mm, row.number("d3"), epsilon = 1e-9);
        assert_abs_diff_eq!(c.internal_minor_mm, row.number("D1"), epsilon = 1e-9);
        assert_abs_diff_eq!(c.internal_major_mm, row.number("D4"), epsilon = 1e-9);
    }
    // ISO 2904, worked: d2, d3, D1, D4.
    for (d, p, want) in [
        (40.0, 7.0, [36.5, 32.0, 33.0, 41.0]),
        (16.0, 4.0, [14.0, 11.5, 12.0, 16.5]),
        (60.0, 9.0, [55.5, 50.0, 51.0, 61.0]),
        (38.0, 7.0, [34.5, 30.0, 31.0, 39.0]),
    ] {
        let c = diameters("tr", d, p);
        let got = [c.pitch_mm, c.external_minor_mm, c.internal_minor_mm, c.internal_major_mm];
        for (got, want) in got.into_iter().zip(want) {
            assert_abs_diff_eq!(got, want, epsilon = 1e-9);
        }
    }
    for row in Table::read("tr_lead_angles.csv").rows() {
        let (d, p, lead) = (row.number("d"), row.number("P"), row.number("lead"));
        let d2 = fam("tr").form.diameters(d, p).pitch_mm;
        let angle = lead_angle_deg(lead, d2);
        assert_abs_diff_eq!(angle, row.number("calc_deg"), epsilon = 5e-5);
        assert_abs_diff_eq!(angle, degrees(row.text("printed")), epsilon = 0.02);
    }
}

#[test]
fn acme_is_asme_b1_5_and_b1_8() {
    let table = Table::read("acme_gp.csv");
    assert_eq!(table.len(), sizes("acme").len());
    for row in table.rows() {
        let (d, p) = (row.number("D") * INCH, INCH / row.number("tpi"));
        let c = diameters("acme", d, p);
        assert_abs_diff_eq!(c.pitch_mm / INCH, row.number("pd"), epsilon = 6e-5);
        assert_abs_diff_eq!(c.internal_minor_mm / INCH, row.number("minor"), epsilon = 6e-5);
        if !row.text("lead_angle").is_empty() {
            let want = degrees(row.text("lead_angle"));
            assert_abs_diff_eq!(lead_angle_deg(p, c.pitch_mm), want, epsilon = 0.01);
        }
    }
    for row in Table::read("acme_form.csv").rows() {
        let p = row.number("P") * INCH;
        let section = fam("acme").form.section(p, false).unwrap();
        assert_abs_diff_eq!(
            fam("acme").form.engagement * p / INCH,
            row.number("h"),
            epsilon = 6e-5
        );
        assert_abs_diff_eq!(section.depth_mm() / INCH, row.number("hs"), epsilon = 6e-5);
        assert_abs_diff_eq!(section.crest_flat_mm() / INCH, row.number("Fcn"), epsilon = 6e-5);
        assert_abs_diff_eq!(section.root_flat_mm() / INCH, row.number("Frn"), epsilon = 7e-5);
        let line = fam("acme").form.pitch_line * p;
        let t = section.ridge_thickness_mm(line) / INCH;
        assert_abs_diff_eq!(t, row.number("t"), epsilon = 6e-5);
    }
    for row in Table::read("stub_acme.csv").rows() {
        let (d, p) = (row.number("D") * INCH, INCH / row.number("tpi"));
        let c = diameters("stub-acme", d, p);
        assert_abs_diff_eq!(c.pitch_mm / INCH, row.number("pd"), epsilon = 6e-5);
        assert_abs_diff_eq!(c.internal_minor_mm / INCH, row.number("minor"), epsilon = 6e-5);
        let want = degrees(row.text("lead_angle"));
        assert_abs_diff_eq!(lead_angle_deg(p, c.pitch_mm), want, epsilon = 0.02);
    }
    for row in Table::read("stub_acme_form.csv").rows() {
        let form = &fam("stub-acme").form;
        let p = INCH / row.number("tpi");
        let section = form.section(p, false).unwrap();
        assert_abs_diff_eq!(form.engagement * p / INCH, row.number("h"), epsilon = 6e-5);
        assert_abs_diff_eq!(section.depth_mm() / INCH, row.number("h_total"), epsilon = 6e-5);
        assert_abs_diff_eq!(
            section.crest_flat_mm() / INCH,
            row.number("crest_flat"),
            epsilon = 6e-5
        );
        assert_abs_diff_eq!(section.root_flat_mm() / INCH, row.number("root_flat"), epsilon = 8e-5);
    }
    // ASME B1.5, worked: 1/2-10, 1-5, 2-4: basic pitch and minor diameter.
    for (d, tpi, pd, minor) in
        [(0.5, 10.0, 0.45, 0.40), (1.0, 5.0, 0.9, 0.8), (2.0, 4.0, 1.875, 1.75)]
    {
        let c = diameters("acme", d * INCH, INCH / tpi);
        assert_abs_diff_eq!(c.pitch_mm / INCH, pd, epsilon = 1e-9);
        assert_abs_diff_eq!(c.internal_minor_mm / INCH, minor, epsilon = 1e-9);
    }
}

#[test]
fn knuckle_is_din_405_and_53_degrees_is_as_printed() {
    let table = Table::read("din405.csv");
    assert_eq!(table.len(), sizes("knuckle").len());
    for row in table.rows() {
        let c = diameters("knuckle", row.number("d"), INCH / row.number("tpi"));
        assert_abs_diff_eq!(c.pitch_mm, row.number("d2_calc"), epsilon = 6e-4);
    }
    let table = Table::read("lowenherz.csv");
    assert_eq!(table.len(), sizes("loewenherz").len());
    for row in table.rows() {
        let (d, p) = (row.number("D"), row.number("P"));
        let s = size("loewenherz", d, p);
        let section = fam("loewenherz").form.section(s.pitch_mm, false).unwrap();
        assert_abs_diff_eq!(section.depth_mm(), 0.75 * p, epsilon = 1e-9);
        assert_abs_diff_eq!(section.root_flat_mm(), 0.125 * p, epsilon = 1e-6);
    }
}

#[test]
fn saw_tooth_is_din_513() {
    // S 48 x 8, from the formulas of DIN 513 (memory): d2 = d - 0.75 P, d3 = d - 1.73554 P,
    // D1 = d - 1.5 P.
    let c = diameters("saw-tooth", 48.0, 8.0);
    assert_abs_diff_eq!(c.pitch_mm, 42.0, epsilon = 1e-9);
    assert_abs_diff_eq!(c.external_minor_mm, 34.116, epsilon = 1e-3);
    assert_abs_diff_eq!(c.internal_minor_mm, 36.0, epsilon = 1e-9);
    let form = &fam("saw-tooth").form;
    let section = form.section(8.0, false).unwrap();
    // The ridge is half the pitch at the pitch line: crest, angles and pitch line agree.
    let at_line = section.ridge_thickness_mm(form.pitch_line * 8.0);
    assert_abs_diff_eq!(at_line, 4.0, epsilon = 1e-4);
    // H = P / (tan 3° + tan 30°).
    assert_abs_diff_eq!(1.0 / form.slope(), 1.587_91, epsilon = 6e-6);
}

/// Constants of `profiles.csv` against the forms.
#[test]
fn profile_constants() {
    let table = Table::read("profiles.csv");
    let value = |profile: &str, quantity: &str| -> f64 {
        let row = table
            .rows()
            .find(|r| r.text("profile") == profile && r.text("quantity") == quantity)
            .unwrap_or_else(|| panic!("no row {profile} / {quantity}"));
        row.text("value").split([' ', '(', ';']).next().unwrap().parse().unwrap()
    };
    let form = |id: &str| forms().iter().find(|f| f.id == id).unwrap();
    let h = |id: &str| 1.0 / form(id).slope();

    for (profile, id) in [
        ("ISO68-1 / UN", "iso68"),
        ("Whitworth BS84", "whitworth"),
        ("BA BS93", "ba"),
        ("Tr ISO2901", "iso2901"),
        ("Acme GP B1.5", "acme"),
        ("Knuckle DIN405", "din405"),
        ("BSC BS811", "bsc"),
        ("NPT B1.20.1", "npt"),
    ] {
        let included = table
            .rows()
            .find(|r| r.text("profile") == profile && r.text("quantity").starts_with("included"))
            .unwrap();
        let deg: f64 = included.text("value").split(';').next().unwrap().parse().unwrap();
        assert_abs_diff_eq!(form(id).included_deg(), deg, epsilon = 1e-9);
    }

    let iso = form("iso68");
    assert_abs_diff_eq!(h("iso68"), value("ISO68-1 / UN", "H/P"), epsilon = 1e-6);
    assert_eq!(iso.crest_flat, value("ISO68-1 / UN", "basic crest flat/P"));
    assert_abs_diff_eq!(iso.engagement, value("ISO68-1 / UN", "H1/P (D-D1)/2"), epsilon = 1e-6);
    let basic_root = 1.0 - iso.crest_flat - iso.engagement * iso.slope();
    assert_abs_diff_eq!(basic_root, value("ISO68-1 / UN", "basic root flat/P"), epsilon = 1e-6);
    assert_abs_diff_eq!(2.0 * iso.pitch_line, value("ISO68-1 / UN", "D-D2 over P"), epsilon = 1e-6);
    assert_abs_diff_eq!(2.0 * iso.engagement, value("ISO68-1 / UN", "D-D1 over P"), epsilon = 1e-6);
    let radius = value("ISO68-1 / UN", "external rounded root R/P (H/6)");
    assert_abs_diff_eq!(iso.root_radius, radius, epsilon = 5e-5);
    assert_abs_diff_eq!(iso.depth, value("ISO68-1 / UN", "h3/P (17H/24)"), epsilon = 6e-6);

    let w = form("whitworth");
    assert_abs_diff_eq!(h("whitworth"), value("Whitworth BS84", "H/P"), epsilon = 1e-6);
    assert_abs_diff_eq!(w.depth, value("Whitworth BS84", "h/P"), epsilon = 1e-6);
    assert_abs_diff_eq!(w.crest_radius, value("Whitworth BS84", "r/P"), epsilon = 1e-6);
    // A truncation of H/6 at the crest leaves this flat.
    let truncation = value("Whitworth BS84", "truncation each H/6 over P");
    assert_abs_diff_eq!(w.crest_flat, truncation * w.slope(), epsilon = 2e-6);

    let ba = form("ba");
    assert_abs_diff_eq!(h("ba"), value("BA BS93", "H/P"), epsilon = 2e-6);
    assert_abs_diff_eq!(ba.depth, value("BA BS93", "h/P"), epsilon = 1e-9);
    assert_abs_diff_eq!(ba.crest_flat, value("BA BS93", "s/P") * ba.slope(), epsilon = 2e-5);
    assert_abs_diff_eq!(ba.crest_radius, value("BA BS93", "r/P"), epsilon = 1e-7);

    let tr = form("iso2901");
    assert_abs_diff_eq!(h("iso2901"), value("Tr ISO2901", "H/P"), epsilon = 1e-6);
    assert_abs_diff_eq!(tr.engagement, value("Tr ISO2901", "H1/P"), epsilon = 1e-9);
    let flat = value("Tr ISO2901", "basic crest/root flat w/P");
    assert_abs_diff_eq!(tr.crest_flat, flat, epsilon = 5e-4);

    let acme = form("acme");
    assert_abs_diff_eq!(acme.engagement, value("Acme GP B1.5", "h/P"), epsilon = 1e-9);
    assert_abs_diff_eq!(acme.crest_flat, value("Acme GP B1.5", "crest flat/P"), epsilon = 5e-5);
    let stub = form("stub-acme");
    assert_abs_diff_eq!(stub.engagement, value("Stub Acme B1.8", "h/P"), epsilon = 1e-9);
    assert_abs_diff_eq!(stub.crest_flat, value("Stub Acme B1.8", "crest flat/P"), epsilon = 5e-5);

    let b = form("buttress");
    assert_abs_diff_eq!(h("buttress"), value("Buttress B1.9 7/45", "H/P"), epsilon = 1e-5);
    assert_eq!(b.engagement, value("Buttress B1.9 7/45", "h basic/P"));
    assert_eq!(b.depth, value("Buttress B1.9 7/45", "hn (thread height)/P"));
    assert_eq!(b.crest_flat, value("Buttress B1.9 7/45", "crest flat F/P"));
    assert_eq!(b.root_radius, value("Buttress B1.9 7/45", "root radius r/P"));
    let root = b.section(1.0, false).unwrap().root_flat_mm();
    assert_abs_diff_eq!(root, value("Buttress B1.9 7/45", "flat root S/P"), epsilon = 6e-5);

    let s = form("din513");
    assert_eq!(s.engagement, value("Sawtooth DIN513 3/30", "H1/P"));
    assert_eq!(s.depth, value("Sawtooth DIN513 3/30", "h3/P"));
    assert_eq!(s.crest_flat, value("Sawtooth DIN513 3/30", "w/P"));
    assert_eq!(s.root_radius, value("Sawtooth DIN513 3/30", "R/P"));

    let k = form("din405");
    assert_eq!(2.0 * k.pitch_line, value("Knuckle DIN405", "d-d2 over P"));
    let r = |part: &str| value("Knuckle DIN405", part);
    assert_abs_diff_eq!(k.crest_radius, 0.23851, epsilon = 1e-9);
    assert_abs_diff_eq!(h("din405"), 1.866_025, epsilon = 1e-6);
    assert!(r("included angle deg") == 30.0);

    let c = form("bsc");
    assert_abs_diff_eq!(c.depth, value("BSC BS811", "h/P"), epsilon = 1e-6);
    // r = P / 6 uses up the crest flat.
    let sharp = c.section(1.0, false).unwrap();
    assert_abs_diff_eq!(sharp.largest_radius_mm(c.crest_flat), 1.0 / 6.0, epsilon = 1e-5);

    assert_abs_diff_eq!(form("npt").depth, value("NPT B1.20.1", "h/P"), epsilon = 1e-9);
    assert_abs_diff_eq!(form("worm29").depth, value("29deg worm", "depth/P"), epsilon = 1e-9);
    assert_abs_diff_eq!(form("stub60").engagement, 0.433, epsilon = 5e-5);
    assert_abs_diff_eq!(
        form("stub60").section(1.0, false).unwrap().root_flat_mm(),
        0.227,
        epsilon = 5e-4
    );
    assert_abs_diff_eq!(
        form("loewenherz").depth,
        value("Loewenherz", "h/P; flats/P"),
        epsilon = 1e-9
    );
}
