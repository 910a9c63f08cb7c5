//! The two ways of casting a shadow, held against each other and against printed values.
#![expect(clippy::unwrap_used, reason = "a test stops where a value is missing")]

use approx::assert_abs_diff_eq;
use form::shadow::{Edge, Placer, Site, envelope, outline, seen_by_projector};
use form::{Hand, Piece, Profile, Section, SectionNumbers, Thread, View};

fn section(p: f64, right: f64, left: f64, depth: f64, crest: f64, rc: f64, rr: f64) -> Section {
    Section::new(SectionNumbers {
        pitch_mm: p,
        depth_mm: depth,
        right_flank_rad: right.to_radians(),
        left_flank_rad: left.to_radians(),
        crest_flat_mm: crest,
        crest_radius_mm: rc,
        root_radius_mm: rr,
    })
    .unwrap()
}

/// One thread of every family of forms, with the awkward corners of the space.
fn families() -> Vec<(&'static str, Thread)> {
    let thread = |s, d, n, h| Thread::new(s, d, n, h).unwrap();
    vec![
        (
            "trapezoidal 30°",
            thread(section(4.0, 15.0, 15.0, 2.25, 1.464, 0.0, 0.0), 24.0, 1, Hand::Right),
        ),
        (
            "trapezoidal 30°, rounded",
            thread(section(4.0, 15.0, 15.0, 2.25, 1.464, 0.12, 0.2), 16.0, 1, Hand::Left),
        ),
        ("29°", thread(section(5.08, 14.5, 14.5, 2.794, 1.88, 0.0, 0.0), 25.4, 1, Hand::Right)),
        ("60°", thread(section(1.5, 30.0, 30.0, 0.92, 0.1875, 0.0, 0.15), 10.0, 1, Hand::Right)),
        (
            "55° rounded",
            thread(
                section(2.54, 27.5, 27.5, 1.6264, 2.54 / 6.0, 0.348, 0.348),
                19.05,
                1,
                Hand::Right,
            ),
        ),
        (
            "47½° rounded",
            thread(section(1.0, 23.75, 23.75, 0.6, 0.2359, 0.17, 0.17), 6.0, 1, Hand::Right),
        ),
        (
            "buttress 7°/45°",
            thread(section(3.5, 7.0, 45.0, 2.0, 0.554, 0.0, 0.25), 22.0, 1, Hand::Right),
        ),
        (
            "saw-tooth 3°/30°",
            thread(section(3.0, 30.0, 3.0, 1.8, 0.79, 0.0, 0.3), 20.0, 1, Hand::Left),
        ),
        ("square", thread(section(4.0, 0.0, 0.0, 2.0, 2.0, 0.0, 0.0), 20.0, 1, Hand::Right)),
        (
            "modified square 5°",
            thread(section(4.0, 5.0, 5.0, 2.0, 1.825, 0.0, 0.0), 20.0, 1, Hand::Right),
        ),
        (
            "round 30°",
            thread(section(4.233, 15.0, 15.0, 2.1166, 1.54, 1.0, 1.0), 40.0, 1, Hand::Right),
        ),
        (
            "two starts",
            thread(section(5.0, 15.0, 15.0, 2.75, 1.926, 0.0, 0.0), 30.0, 2, Hand::Right),
        ),
        (
            "three starts, left",
            thread(section(2.0, 15.0, 15.0, 1.1, 0.73, 0.0, 0.1), 14.0, 3, Hand::Left),
        ),
    ]
}

fn views() -> Vec<View> {
    vec![
        View::PARALLEL,
        View { tilt_rad: 0.02, ..View::PARALLEL },
        View::from_distance(220.0),
        View { foot_x_mm: 6.0, foot_z_mm: 11.0, tilt_rad: -0.015, ..View::from_distance(150.0) },
        View { foot_x_mm: -10.0, foot_z_mm: -14.0, tilt_rad: 0.01, ..View::from_distance(110.0) },
    ]
}

#[test]
fn contour_and_envelope_agree_to_a_fifth_of_a_micrometre() {
    agree(families());
}

#[test]
fn contour_and_envelope_agree_on_a_cone() {
    // 1:16 either way, the least that is said of a worn screw, and far steeper than any thread.
    let of = |names: &[&str], taper: f64| {
        let wanted = families().into_iter().filter(|(n, _)| names.contains(n));
        wanted.map(|(n, t)| (n, t.tapered(taper).unwrap())).collect::<Vec<_>>()
    };
    let pipes = ["55° rounded", "60°", "trapezoidal 30°, rounded", "three starts, left"];
    agree(of(&pipes, 1.0 / 16.0));
    agree(of(&pipes[..2], -1.0 / 16.0));
    agree(of(&["buttress 7°/45°"], 0.003));
    agree(of(&["saw-tooth 3°/30°"], -0.2));
}

fn agree(threads: Vec<(&'static str, Thread)>) {
    let mut worst = (0.0f64, String::new());
    for (name, thread) in threads {
        let profile = thread.profile();
        let (advance, pitch) = (thread.signed_advance_mm(), thread.section().pitch_mm());
        for (v, view) in views().iter().enumerate() {
            for edge in [Edge::Upper, Edge::Lower] {
                let phase = 0.3;
                let grooves = -4..=4;
                let fast = outline(&profile, advance, phase, view, edge, grooves);
                let zs: Vec<f64> = (0..70)
                    .map(|i| -1.4 * pitch + 2.8 * pitch * (f64::from(i) + 0.37) / 70.0)
                    .collect();
                let slow = envelope::heights(&profile, advance, phase, view, edge, &zs);
                for (&z, slow) in zs.iter().zip(slow) {
                    let quick = fast.x_at(z).unwrap();
                    // On a steep flank a height is a width divided by the slope: compare square
                    // to the outline.
                    let ahead = fast.x_at(z + 1e-4).unwrap();
                    let slope = (ahead - quick) / 1e-4;
                    let miss = (slow - quick).abs() / slope.hypot(1.0);
                    if miss > worst.0 {
                        worst = (miss, format!("{name}, view {v}, {edge:?}, z {z:.3}"));
                    }
                }
            }
        }
    }
    assert!(worst.0 < 2e-4, "{} mm at {}", worst.0, worst.1);
}

#[test]
fn every_stretch_of_outline_knows_what_casts_it() {
    for (name, thread) in families() {
        let profile = thread.profile();
        for view in views() {
            for edge in [Edge::Upper, Edge::Lower] {
                let advance = thread.signed_advance_mm();
                let shadow = outline(&profile, advance, 0.3, &view, edge, -1..=1);
                let placer = Placer::new(&profile, advance, 0.3, &view, edge);
                for segment in &shadow.segments {
                    let (a, b) = (shadow.vertices[segment.a].site, shadow.vertices[segment.b].site);
                    // Where the contour leaps round the screw nothing lies between.
                    if (a.theta - b.theta).abs() > 0.3 {
                        continue;
                    }
                    let (piece, s) = shadow.piece_at(segment, 0.5);
                    let theta = 0.5 * (a.theta + b.theta);
                    let site = Site { groove: a.groove, piece, s, theta };
                    let (z, x) = placer.cast(placer.point(&site, theta.sin_cos()));
                    let (on_z, on_x) = shadow.on_line(segment, 0.5);
                    // Sideways along the surface a place between two may be a little off.
                    let off = (z - on_z).hypot(x - on_x);
                    assert!(
                        off < 0.02,
                        "{name}, {view:?}, {edge:?}: {piece:?} {s:.3} {off} mm off"
                    );
                }
            }
        }
    }
}

#[test]
fn the_table_of_the_note_is_reproduced() {
    // Computed by an independent program from the definition, parallel light, square to the axis:
    // pitch, half angle, major diameter, starts, half angle seen (°), groove seen narrower by (mm).
    let rows = [
        (3.0, 17.5, 14.0, 1, "17.95", "0.112"),
        (3.0, 17.5, 22.0, 1, "17.67", "0.070"),
        (2.0, 15.0, 10.0, 1, "15.46", "0.081"),
        (4.0, 15.0, 20.0, 1, "15.46", "0.163"),
        (4.0, 15.0, 12.0, 1, "16.30", "0.280"),
        (1.5, 30.0, 10.0, 1, "30.10", "0.021"),
        (5.0, 14.5, 25.0, 1, "14.97", "0.210"),
        (3.0, 10.0, 16.0, 1, "10.71", "0.168"),
        (4.0, 5.0, 20.0, 1, "9.04", "0.400"),
        (8.0, 15.0, 20.0, 2, "24.7", "2.20"),
    ];
    for (pitch, half, major, starts, angle_seen, narrower) in rows {
        let tan = f64::to_radians(half).tan();
        let depth = f64::min(0.5 * pitch, 0.45 * pitch / tan);
        let crest = 0.5 * pitch - depth * tan;
        let section = Section::symmetric(pitch, f64::to_radians(half), depth, crest).unwrap();
        let thread = Thread::new(section, major, starts, Hand::Right).unwrap();
        let profile = Profile::new(&section, 0.5 * major);
        let shadow =
            outline(&profile, thread.signed_advance_mm(), 0.0, &View::PARALLEL, Edge::Upper, 0..=0);
        let seen = seen_by_projector(&shadow, 0).unwrap();
        let true_groove = pitch - section.ridge_thickness_mm(0.5 * depth);
        // Read where the outline crosses mid depth, as the table was.
        let crossings = at_height(&shadow.polyline(), 0.5 * major - 0.5 * depth);
        let groove = crossings[1] - crossings[0];
        // The table was read off a grid of about two thousand points a pitch: a width may be off by
        // 1.5 µm, and the angle of the steepest row, which hangs on a few points next to the crest
        // corner, by 0.025°.
        let digits = |text: &str| text.len() - text.find('.').unwrap() - 1;
        for (what, value, printed) in [
            ("right angle", seen.right_flank_rad.to_degrees(), angle_seen),
            ("left angle", seen.left_flank_rad.to_degrees(), angle_seen),
            ("narrower by", true_groove - groove, narrower),
        ] {
            let unit = 10f64.powi(-(digits(printed) as i32));
            let slack = if what == "narrower by" {
                1.6
            } else if half == 5.0 {
                2.5
            } else {
                1.0
            };
            let off = (value - printed.parse::<f64>().unwrap()).abs() / unit;
            println!("P {pitch} {half}° Ø{major} x{starts} {what}: {value:.5}, printed {printed}");
            assert!(off < slack, "P {pitch} {half}° Ø{major}: {what} {value:.5} against {printed}");
        }
    }
}

/// Positions at which a polyline of `(z, x)` crosses the height `x`.
fn at_height(line: &[(f64, f64)], x: f64) -> Vec<f64> {
    line.windows(2)
        .filter(|w| (w[0].1 - x) * (w[1].1 - x) < 0.0)
        .map(|w| w[0].0 + (w[0].1 - x) / (w[0].1 - w[1].1) * (w[1].0 - w[0].0))
        .collect()
}

#[test]
fn grooves_differ_across_a_near_picture() {
    // The worked example of the note: camera 200 mm above a P 3, 17.5°, Ø14 screw.
    let section = Section::symmetric(3.0, 17.5f64.to_radians(), 1.4, 1.1).unwrap();
    let thread = Thread::new(section, 14.0, 1, Hand::Right).unwrap();
    let profile = Profile::new(&section, 7.0);
    let view = View::from_distance(200.0);
    // A crest under the eye, so that the grooves of the example lie at 1.5 mm and 13.5 mm.
    let shadow = outline(&profile, thread.signed_advance_mm(), 0.0, &view, Edge::Upper, -6..=5);
    let crossings = at_height(&shadow.polyline(), 6.3);
    let width_near = |z: f64| {
        crossings
            .windows(2)
            .find(|w| (0.5 * (w[0] + w[1]) - z).abs() < 0.1)
            .map(|w| w[1] - w[0])
            .unwrap()
    };
    assert_abs_diff_eq!(width_near(-1.5), 1.366, epsilon = 5e-4);
    assert_abs_diff_eq!(width_near(13.5), 1.054, epsilon = 5e-4);
    assert_abs_diff_eq!(3.0 - section.ridge_thickness_mm(0.7), 1.459, epsilon = 5e-4);
}

#[test]
fn at_the_pitch_line_the_ridge_looks_thicker_as_computed_elsewhere() {
    // Exact values at the pitch line, parallel light, from an independent computation: ridge looks
    // thicker on each flank by (mm).
    for (pitch, half, depth, crest_over_p, major, thicker) in [
        (1.5, 30.0, 0.92, 0.125, 10.0, 0.0109),
        (4.0, 15.0, 2.25, 0.366, 16.0, 0.103),
        (7.0, 15.0, 4.0, 0.366, 40.0, 0.124),
        (5.08, 14.5, 2.794, 0.3707, 25.4, 0.107),
    ] {
        let section =
            Section::symmetric(pitch, f64::to_radians(half), depth, crest_over_p * pitch).unwrap();
        let thread = Thread::new(section, major, 1, Hand::Right).unwrap();
        let profile = Profile::new(&section, 0.5 * major);
        let shadow =
            outline(&profile, thread.signed_advance_mm(), 0.0, &View::PARALLEL, Edge::Upper, 0..=0);
        let crossing = at_height(&shadow.polyline(), 0.5 * thread.pitch_diameter_mm())[0];
        let seen = crossing - 0.25 * pitch;
        println!("P {pitch} Ø{major}: {seen:.4} against {thicker}");
        assert_abs_diff_eq!(seen, thicker, epsilon = 0.012 * thicker + 1e-4);
    }
}

#[test]
fn the_hand_has_the_right_sign() {
    // With the axis level, the crests on the near side of a right-hand thread lean like `\`: going
    // up (x) they go left (z falls). The near side is y < 0, towards the eye.
    let section = Section::symmetric(3.0, 0.26, 1.5, 1.1).unwrap();
    let right = Thread::new(section, 16.0, 1, Hand::Right).unwrap();
    let crest = |theta: f64| {
        let p = right.signed_advance_mm();
        (8.0 * theta.cos(), 8.0 * theta.sin(), p * theta)
    };
    let (lower, upper) = (crest(-1.7), crest(-1.4));
    assert!(lower.1 < 0.0 && upper.1 < 0.0, "near side");
    assert!(upper.0 > lower.0, "upper is higher");
    assert!(upper.2 < lower.2, "and further left");
}

#[test]
fn the_other_hand_is_the_mirror_image() {
    let section = section(3.0, 10.0, 25.0, 1.5, 0.9, 0.0, 0.0);
    let mirrored = {
        let n = section.numbers();
        Section::new(SectionNumbers {
            right_flank_rad: n.left_flank_rad,
            left_flank_rad: n.right_flank_rad,
            ..n
        })
        .unwrap()
    };
    let view = View { foot_z_mm: 7.0, tilt_rad: 0.01, ..View::from_distance(180.0) };
    let turned = View { foot_z_mm: -7.0, tilt_rad: -0.01, ..view };
    let p = 3.0 / (2.0 * std::f64::consts::PI);
    let a = outline(&Profile::new(&section, 8.0), -p, 0.4, &view, Edge::Upper, -3..=3);
    let b = outline(&Profile::new(&mirrored, 8.0), p, -0.4, &turned, Edge::Upper, -4..=3);
    for i in 0..50 {
        let z = -4.0 + 0.17 * f64::from(i);
        assert_abs_diff_eq!(a.x_at(z).unwrap(), b.x_at(-z).unwrap(), epsilon = 2e-4);
    }
}

#[test]
fn a_hidden_root_is_reported() {
    // A deep, narrow groove on a steep lead: the flanks meet above the root.
    let section = Section::symmetric(8.0, 15f64.to_radians(), 4.0, 3.4).unwrap();
    let thread = Thread::new(section, 20.0, 2, Hand::Right).unwrap();
    let profile = Profile::new(&section, 10.0);
    let hidden =
        outline(&profile, thread.signed_advance_mm(), 0.0, &View::PARALLEL, Edge::Upper, 0..=0);
    assert!(!hidden.root_seen(0));
    let plain = Thread::new(section, 60.0, 1, Hand::Right).unwrap();
    let profile = Profile::new(&section, 30.0);
    let seen =
        outline(&profile, plain.signed_advance_mm(), 0.0, &View::PARALLEL, Edge::Upper, 0..=0);
    assert!(seen.root_seen(0));
}

#[test]
fn a_vertex_can_be_placed_again() {
    let section = section(4.0, 15.0, 12.0, 2.2, 1.4, 0.1, 0.1);
    let profile = Profile::new(&section, 12.0);
    let view = View { foot_x_mm: 2.0, tilt_rad: 0.01, ..View::from_distance(200.0) };
    for edge in [Edge::Upper, Edge::Lower] {
        let shadow = outline(&profile, -0.6, 0.2, &view, edge, -1..=1);
        let placer = Placer::new(&profile, -0.6, 0.2, &view, edge);
        for v in &shadow.vertices {
            let (z, x) = placer.cast(placer.point(&v.site, v.site.theta.sin_cos()));
            assert_abs_diff_eq!(z, v.z, epsilon = 1e-12);
            assert_abs_diff_eq!(x, v.x, epsilon = 1e-12);
        }
        assert!(shadow.vertices.iter().any(|v| v.site.piece == Piece::FilletLeft));
    }
}

#[test]
fn a_cone_keeps_the_flank_angles_and_the_pitch_along_the_axis() {
    // ISO 7-1 and ASME B1.20.1: angles from the normal to the axis, pitch along it, crests and roots
    // along the cone, 1:16 on the diameter.
    let n = 7.0f64.to_radians().tan();
    for taper in [1.0 / 16.0, -1.0 / 16.0] {
        let section = section(2.309, 7.0, 45.0, 1.2, 0.5, 0.0, 0.0);
        let thread = Thread::new(section, 33.0, 1, Hand::Right).unwrap().tapered(taper).unwrap();
        let profile = thread.profile();
        let at = |piece, s, groove: f64| {
            let p = profile.point(piece, s);
            let z = p.z + groove * 2.309;
            (z, p.r + profile.rise() * z)
        };
        let tangent = |piece| {
            let (a, b) = (at(piece, 0.0, 3.0), at(piece, 1.0, 3.0));
            (b.0 - a.0) / (b.1 - a.1)
        };
        assert_abs_diff_eq!(tangent(Piece::FlankRight), -n, epsilon = 1e-12);
        assert_abs_diff_eq!(tangent(Piece::FlankLeft), 1.0, epsilon = 1e-12);
        for piece in [Piece::CrestRight, Piece::Root] {
            assert_abs_diff_eq!(1.0 / tangent(piece), 0.5 * taper, epsilon = 1e-12);
        }
        // Sixteen millimetres on, the diameter has changed by a millimetre.
        let (near, far) = (at(Piece::CrestRight, 0.0, 0.0), at(Piece::CrestRight, 0.0, 4.0));
        let gained = 2.0 * (far.1 - near.1);
        assert_abs_diff_eq!(gained, taper * (far.0 - near.0), epsilon = 1e-12);
        assert_abs_diff_eq!(far.0 - near.0, 4.0 * 2.309, epsilon = 1e-12);
    }
    // Height of the sharp V of a 60° thread on 1:16: printed in ASME B1.20.1 as 0.865743 P.
    let v = Section::symmetric(1.0, 30f64.to_radians(), 0.8, 0.0).unwrap();
    let straight = v.straightened(1.0 / 32.0).unwrap();
    let tangents = straight.right_flank_rad().tan() + straight.left_flank_rad().tan();
    assert_abs_diff_eq!(1.0 / tangents, 0.865_743, epsilon = 1e-6);
}

#[test]
fn a_taper_out_of_limits_is_named() {
    let thread = families()[0].1;
    for taper in [0.51, -3.0, f64::NAN] {
        let e = thread.tapered(taper).unwrap_err();
        assert!(e.to_string().contains("-0.5 to 0.5"), "{e}");
    }
}
