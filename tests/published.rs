//! Four standards from their printed constants to a nut that fits: the forms of `standards`, the
//! nuts of `shop` and the ranking must say what is printed.
//!
//! Constants: `crates/standards/tests/data/profiles.csv`, whose rows name their source. Sizes: the
//! source stands beside each. MH27, MH31: Machinery's Handbook, 27th and 31st edition.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use approx::assert_abs_diff_eq;
use form::{Hand, Quantity, Source, Thread};
use shop::{NutRequest, ScrewForm, Workmanship, crest_clearance_mm, design_nut};
use standards::{Family, Form, Measured, Prior, family, forms, rank};

const PROFILES: &str = include_str!("../crates/standards/tests/data/profiles.csv");
const INCH: f64 = 25.4;

fn form(id: &str) -> &'static Form {
    forms().iter().find(|f| f.id == id).unwrap()
}

fn fam(id: &str) -> &'static Family {
    family(id).unwrap()
}

/// Rows of a profile: quantity and value as printed.
fn rows(profile: &str) -> Vec<(&'static str, &'static str)> {
    let mut found = Vec::new();
    for line in PROFILES.lines().skip(2) {
        let (name, rest) = line.split_once(',').unwrap();
        if name != profile {
            continue;
        }
        let (quantity, rest) = rest.split_once(',').unwrap();
        // A value may be quoted, because a comma stands in it.
        let value = match rest.strip_prefix('"') {
            Some(quoted) => quoted.split_once('"').unwrap().0,
            None => rest.split_once(',').unwrap().0,
        };
        found.push((quantity, value));
    }
    assert!(found.len() > 3, "{profile} is not in the table");
    found
}

/// Agrees with a printed number to half a unit of its last digit.
fn agrees(what: &str, computed: f64, printed: &str) {
    let want: f64 = printed.parse().unwrap_or_else(|_| panic!("{what}: {printed}"));
    let decimals = printed.split_once('.').map_or(0, |(_, d)| d.len());
    let unit = 10f64.powi(-i32::try_from(decimals).unwrap());
    assert!((computed - want).abs() < 0.51 * unit, "{what}: {computed} is not {printed}");
}

/// Height of the sharp triangle over the pitch.
fn sharp(form: &Form) -> f64 {
    1.0 / form.slope()
}

/// Root flat of the basic profile over the pitch.
fn basic_root_flat(form: &Form) -> f64 {
    1.0 - form.crest_flat - form.engagement * form.slope()
}

#[test]
fn a_wrong_constant_is_seen() {
    agrees("right", 0.541_266, "0.541266");
    assert!(std::panic::catch_unwind(|| agrees("wrong", 0.541_2, "0.541266")).is_err());
    assert!(std::panic::catch_unwind(|| agrees("no number", 0.5, "0.5P+ac")).is_err());
    assert!(std::panic::catch_unwind(|| rows("no such profile")).is_err());
}

#[test]
fn constants_of_iso_68_1() {
    let f = form("iso68");
    for (what, printed) in rows("ISO68-1 / UN") {
        let value = match what {
            "included angle deg" => f.included_deg(),
            "H/P" => sharp(f),
            "basic crest flat/P" => f.crest_flat,
            "basic root flat/P" => basic_root_flat(f),
            "H1/P (D-D1)/2" => f.engagement,
            "D-D2 over P" => 2.0 * f.pitch_line,
            "D-D1 over P" => 2.0 * f.engagement,
            "external rounded root R/P (H/6)" => f.root_radius,
            "h3/P (17H/24)" => f.depth,
            "external minimum root radius/P" => {
                // A limit, not a size: the design radius keeps it.
                assert!(f.root_radius >= printed.parse().unwrap());
                continue;
            }
            other => panic!("{other} is not compared"),
        };
        agrees(what, value, printed);
    }
}

#[test]
fn constants_of_bs_84() {
    let f = form("whitworth");
    for (what, printed) in rows("Whitworth BS84") {
        let value = match what {
            "included angle deg" => f.included_deg(),
            "H/P" => sharp(f),
            "h/P" => f.depth,
            "truncation each H/6 over P" => f.crest_flat * sharp(f),
            "r/P" => {
                agrees("root radius", f.root_radius, printed);
                f.crest_radius
            }
            "e/P (depth of rounding)" => {
                // Printed to a digit more than the radius it follows from.
                let e = f.crest_radius * (1.0 - f.angle_a_deg.to_radians().sin());
                assert_abs_diff_eq!(e, printed.parse().unwrap(), epsilon = 3e-7);
                continue;
            }
            other => panic!("{other} is not compared"),
        };
        agrees(what, value, printed);
    }
}

#[test]
fn constants_of_iso_2901() {
    let f = form("iso2901");
    for (what, printed) in rows("Tr ISO2901") {
        let value = match what {
            "included angle deg" => f.included_deg(),
            "H/P" => sharp(f),
            "H1/P" => f.engagement,
            "basic crest/root flat w/P" => {
                agrees("root flat", basic_root_flat(f), printed);
                f.crest_flat
            }
            "h3=H4" => {
                assert_eq!(printed, "0.5P+ac");
                for (p, ac) in [(1.5, 0.15), (4.0, 0.25), (7.0, 0.5), (16.0, 1.0)] {
                    assert_abs_diff_eq!(f.external_depth_mm(p), 0.5 * p + ac, epsilon = 1e-9);
                    let d = f.diameters(100.0, p);
                    let internal = (d.internal_major_mm - d.internal_minor_mm) / 2.0;
                    assert_abs_diff_eq!(internal, 0.5 * p + ac, epsilon = 1e-9);
                }
                continue;
            }
            // Largest radii a made thread may have; the ranking's own bounds are empirical.
            "R1max" | "R2max" => continue,
            clearance => {
                let pitches = clearance.strip_prefix("ac P=").unwrap();
                let (first, last) = pitches.split_once("..").unwrap_or((pitches, pitches));
                let (first, last): (f64, f64) = (first.parse().unwrap(), last.parse().unwrap());
                for p in [first, (first + last) / 2.0, last] {
                    // The form and the workshop's rule hold the same table, each by itself.
                    agrees(what, f.clearance.radial_mm(p), printed);
                    agrees(what, crest_clearance_mm(p), printed);
                }
                continue;
            }
        };
        agrees(what, value, printed);
    }
}

#[test]
fn constants_of_asme_b1_5() {
    let f = form("acme");
    for (what, printed) in rows("Acme GP B1.5") {
        match what {
            "included angle deg" => agrees(what, f.included_deg(), printed),
            "h/P" => agrees(what, f.engagement, printed),
            "crest flat/P" => agrees(what, f.crest_flat, printed),
            "root flat" => {
                assert!(printed.starts_with("0.3707P-0.259*allowance"), "{printed}");
                // Allowance on the diameter: .020 in at 10 tpi and coarser, .010 in finer.
                for (tpi, allowance) in [(16.0, 0.010), (10.0, 0.020), (4.0, 0.020)] {
                    let section = f.section(INCH / tpi, false).unwrap();
                    let want = 0.3707 / tpi - 0.259 * allowance;
                    assert_abs_diff_eq!(section.root_flat_mm() / INCH, want, epsilon = 6e-5);
                }
            }
            other => panic!("{other} is not compared"),
        }
    }
}

/// A printed size: series, designation the ranking gives, major diameter and pitch (both in the
/// unit of the print), then pitch diameter, external minor and internal minor as printed.
struct Printed {
    series: &'static str,
    name: &'static str,
    unit_mm: f64,
    major: f64,
    pitch: f64,
    pitch_diameter: f64,
    external_minor: Option<f64>,
    internal_minor: f64,
    /// Half a unit of the last printed digit, or what the print itself is off by.
    within: f64,
}

const fn size(
    series: &'static str,
    name: &'static str,
    unit_mm: f64,
    [major, pitch]: [f64; 2],
    [pitch_diameter, internal_minor]: [f64; 2],
    external_minor: Option<f64>,
    within: f64,
) -> Printed {
    Printed {
        series,
        name,
        unit_mm,
        major,
        pitch,
        pitch_diameter,
        external_minor,
        internal_minor,
        within,
    }
}

/// Three sizes of each standard.
const SIZES: &[Printed] = &[
    // ISO 68-1 / DIN 13-1 coarse: d2, D1, d3 of the printed standard's table.
    size("metric-coarse", "M16 x 2", 1.0, [16.0, 2.0], [14.701, 13.835], Some(13.546), 6e-4),
    size("metric-coarse", "M10 x 1.5", 1.0, [10.0, 1.5], [9.026, 8.376], Some(8.160), 6e-4),
    size("metric-coarse", "M24 x 3", 1.0, [24.0, 3.0], [22.051, 20.752], Some(20.319), 6e-4),
    // ISO 2904: d2, D1, d3 of the printed rows.
    size("tr", "Tr 16 x 4", 1.0, [16.0, 4.0], [14.0, 12.0], Some(11.5), 1e-9),
    size("tr", "Tr 38 x 7", 1.0, [38.0, 7.0], [34.5, 31.0], Some(30.0), 1e-9),
    size("tr", "Tr 44 x 7", 1.0, [44.0, 7.0], [40.5, 37.0], Some(36.0), 1e-9),
    // ASME B1.5 general purpose, MH27 p. 1831 table 3: basic pitch and minor diameter, inch.
    size("acme", "Acme 1/2-10", INCH, [0.5, 0.1], [0.45, 0.40], None, 6e-5),
    size("acme", "Acme 1-5", INCH, [1.0, 0.2], [0.9, 0.8], None, 6e-5),
    size("acme", "Acme 2-4", INCH, [2.0, 0.25], [1.875, 1.75], None, 6e-5),
    // BS 84 coarse, converted table (last digit off by 1 to 4 units): effective, core, inch.
    size("bsw", "1/4-20 BSW", INCH, [0.25, 1.0 / 20.0], [0.2180, 0.1860], Some(0.1860), 2e-4),
    size("bsw", "1/2-12 BSW", INCH, [0.5, 1.0 / 12.0], [0.4467, 0.3933], Some(0.3933), 2e-4),
    size("bsw", "1-8 BSW", INCH, [1.0, 1.0 / 8.0], [0.9200, 0.8400], Some(0.8400), 2e-4),
];

#[test]
fn three_sizes_of_each_as_printed() {
    for s in SIZES {
        let family = fam(s.series);
        let (major, pitch) = (s.major * s.unit_mm, s.pitch * s.unit_mm);
        let listed = family
            .sizes
            .iter()
            .find(|l| (l.major_mm - major).abs() < 2e-3 && (l.pitch_mm - pitch).abs() < 1e-4)
            .unwrap_or_else(|| panic!("{} is not listed", s.name));
        let d = family.diameters(listed);
        assert_abs_diff_eq!(d.pitch_mm / s.unit_mm, s.pitch_diameter, epsilon = s.within);
        assert_abs_diff_eq!(d.internal_minor_mm / s.unit_mm, s.internal_minor, epsilon = s.within);
        if let Some(minor) = s.external_minor {
            assert_abs_diff_eq!(d.external_minor_mm / s.unit_mm, minor, epsilon = s.within);
        }
    }
}

#[test]
fn a_screw_of_each_size_is_called_by_its_name() {
    for s in SIZES {
        let f = &fam(s.series).form;
        let (major, pitch) = (s.major * s.unit_mm, s.pitch * s.unit_mm);
        let half = f.included_deg() / 2.0;
        let measured = Measured {
            right_flank_deg: Some(Quantity::measured(half, 0.1)),
            left_flank_deg: Some(Quantity::measured(half, 0.1)),
            included_angle_deg: None,
            depth_mm: Some(Quantity::measured(f.external_depth_mm(pitch), 0.01)),
            major_diameter_mm: Some(Quantity::measured(major, 0.02)),
            ..Measured::pitch_and_angle(
                Quantity::measured(pitch, 5e-4 * pitch),
                Quantity::measured(2.0 * half, 0.2),
            )
        };
        let ranking = rank(&measured, &Prior::default());
        let best = &ranking.candidates[0];
        assert_eq!(best.designation, s.name, "{:?}", ranking.explanation);
        assert!(best.probability > 0.9, "{}: {}", s.name, best.probability);
    }
}

#[test]
fn nuts_for_screws_of_standard_form_are_the_standard_nuts() {
    // From the form of the standard to the nut of the workshop, without play. The nut's major
    // diameter is printed: ISO 2904 D4; ASME B1.5 (MH27 p. 1831) major + .020 in at 10 tpi and coarser.
    for (series, d, p, clearance, bore, groove) in [
        ("tr", 16.0, 4.0, 0.25, 12.0, 16.5),
        ("tr", 38.0, 7.0, 0.5, 31.0, 39.0),
        ("tr", 44.0, 7.0, 0.5, 37.0, 45.0),
        ("acme", 0.5 * INCH, 0.1 * INCH, 0.01 * INCH, 0.40 * INCH, 0.52 * INCH),
        ("acme", INCH, 0.2 * INCH, 0.01 * INCH, 0.8 * INCH, 1.02 * INCH),
        ("acme", 2.0 * INCH, 0.25 * INCH, 0.01 * INCH, 1.75 * INCH, 2.02 * INCH),
    ] {
        let section = fam(series).form.section(p, false).unwrap();
        let screw = Thread::new(section, d, 1, Hand::Right).unwrap();
        let request = NutRequest {
            workmanship: Workmanship::PERFECT,
            radial_clearance_mm: (series == "acme").then_some(clearance),
            ..NutRequest::with_play(0.0)
        };
        let screw = ScrewForm::from_thread(&screw, Source::Standard);
        let nut = design_nut(&screw, &request).unwrap();
        assert_abs_diff_eq!(nut.radial_clearance_mm.value, clearance, epsilon = 1e-9);
        assert_abs_diff_eq!(nut.bore_mm.value, bore, epsilon = 1e-6);
        assert_abs_diff_eq!(nut.groove_diameter_mm.value, groove, epsilon = 1e-6);
        assert_abs_diff_eq!(nut.axial_play_mm.value, 0.0, epsilon = 1e-6);
    }
}

#[test]
fn flank_angles_square_to_the_helix() {
    // tan αn = tan α cos λ, worked for two lead angles of ISO 2904 threads at d2: Tr 16 x 4, and
    // Tr 20 x 20 (P5) with its 19.99° taken as 20°. Own arithmetic.
    let lead_angle = (4.0 / (14.0 * std::f64::consts::PI)).atan().to_degrees();
    for (lead_angle, want) in [(lead_angle, 14.9411), (20.0, 14.1327)] {
        let angle = shop::normal_plane_angle_deg(15.0, lead_angle);
        assert_abs_diff_eq!(angle, want, epsilon = 5.1e-5);
    }
}
