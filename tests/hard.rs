//! Shadows of kinds that once led astray, each found as the person gives it, without a hint: soft ones,
//! several starts, square flanks, sharp crests narrow in the blur, a plane that leans much, faint and unsteady
//! traces.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test stops where a value is missing")]

use fit::{BarShape, Known, Measurement, Sighting};
use form::{Hand, Quantity, Section, SectionNumbers, Thread, View};
use lamp::{Bar, Noise, Scene};
use picture::{DrawnWanted, Limits};

const BAR_MM: f64 = 6.0;

/// Pitch, depth, flank of both sides (degrees), crest flat, root radius, diameter, starts, hand.
type Form = (f64, f64, f64, f64, f64, f64, u32, Hand);

fn thread(
    (pitch_mm, depth_mm, flank, crest_flat_mm, root_radius_mm, major, starts, hand): Form,
) -> Thread {
    let section = Section::new(SectionNumbers {
        pitch_mm,
        depth_mm,
        right_flank_rad: flank.to_radians(),
        left_flank_rad: flank.to_radians(),
        crest_flat_mm,
        crest_radius_mm: 0.0,
        root_radius_mm,
    });
    Thread::new(section.unwrap(), major, starts, hand).unwrap()
}

/// Ten teeth before a camera, a rod at the height of the axis beside them.
fn scene(form: Form, px_per_mm: f64, blur_px: f64, distance_mm: f64) -> Scene {
    let thread = thread(form);
    let (length_mm, half) = (10.0 * form.0, 0.5 * form.5);
    let (w, h) = (1.15 * length_mm * px_per_mm, (2.0 * half + 4.0 * BAR_MM) * px_per_mm);
    Scene {
        length_mm,
        phase_mm: 0.3 * form.0,
        view: View { tilt_rad: 0.008, foot_x_mm: -2.0, ..View::from_distance(distance_mm) },
        roll_rad: 0.02,
        px_per_mm,
        width_px: w as u32,
        height_px: h as u32,
        centre_px: (0.5 * w, (half + BAR_MM) * px_per_mm),
        bar: Some(Bar {
            shape: lamp::BarShape::Round,
            width_mm: BAR_MM,
            length_mm: 1.05 * length_mm,
            drop_mm: 0.0,
            centre_mm: (0.0, -half - 1.2 * BAR_MM),
            roll_rad: 0.03,
        }),
        blur_px,
        noise: Noise::white(0.004),
        seed: 11,
        ..Scene::of(thread)
    }
}

fn measured(scene: &Scene) -> Measurement {
    let bytes = lamp::cast(scene).unwrap().to_png(lamp::Channels::Grey).unwrap();
    let picture = picture::decode(&bytes, &Limits::default()).unwrap();
    let found = picture::trace(&picture.grey, DrawnWanted::Auto, &|_| true).unwrap();
    let bar = picture::find_bar(&found, None).unwrap();
    let thread = picture::find_thread(&found, Some(&bar), None).unwrap();
    let known = Known {
        bar_shape: BarShape::Round,
        bar_drop: fit::BarDrop::Given(Quantity::entered(0.0, 0.05)),
        ..Known::bar(Quantity::entered(BAR_MM, 0.002))
    };
    let (width_px, height_px) = (picture.grey.width(), picture.grey.height());
    let sighting = Sighting { width_px, height_px, drawn: found.drawn, bar, thread };
    fit::measure(&sighting, &known, &|_| true).unwrap()
}

/// Asserts that a quantity is told, within so much of the truth and within 3 u.
fn near(name: &str, found: Option<Quantity>, truth: f64, within: f64) {
    let q = found.unwrap_or_else(|| panic!("{name}: not told"));
    let off = q.value - truth;
    assert!(off.abs() <= within, "{name}: {} ± {}, true {truth}", q.value, q.u);
    assert!(off.abs() <= 3.0 * q.u, "{name}: {} ± {}, true {truth}", q.value, q.u);
}

fn turns(m: &Measurement) -> Option<(u32, Hand)> {
    Some((m.starts.as_ref()?.value, m.hand.as_ref()?.value))
}

#[test]
fn flanks_of_soft_edges_are_not_turned_by_the_corners_at_their_ends() {
    // Flanks of 14 blurs between corners of which each spoils 3.
    let form = (3.0, 1.75, 15.0, 1.098, 0.0, 20.0, 1, Hand::Right);
    let m = measured(&scene(form, 20.0, 2.4, 300.0));
    near("right", m.form.right_flank_deg, 15.0, 0.15);
    near("left", m.form.left_flank_deg, 15.0, 0.15);
    near("depth", m.form.depth_mm, 1.75, 0.006);
}

#[test]
fn three_starts_are_found_unasked() {
    for (form, distance) in [
        ((1.305, 0.75, 30.0, 0.163, 0.0, 9.3, 3, Hand::Right), 410.0),
        ((1.34, 0.80, 20.0, 0.42, 0.0, 11.9, 3, Hand::Left), 460.0),
        ((1.92, 1.10, 30.0, 0.24, 0.0, 13.15, 3, Hand::Right), 550.0),
    ] {
        let m = measured(&scene(form, 55.0, 0.9, distance));
        assert_eq!(turns(&m), Some((3, form.7)), "{form:?}");
        near("pitch", m.form.pitch_mm, form.0, 0.0015);
        near("major", m.form.major_diameter_mm, form.5, 0.01);
    }
}

#[test]
fn square_flanks_are_hidden_and_spoil_nothing_else() {
    for (form, px_per_mm) in [
        ((2.2, 1.1, 0.0, 1.1, 0.0, 19.0, 1, Hand::Right), 52.0),
        ((5.0, 2.5, 0.0, 2.5, 0.0, 33.5, 1, Hand::Right), 29.0),
        ((2.5, 1.25, 1.0, 1.23, 0.0, 18.5, 1, Hand::Left), 49.0),
    ] {
        let m = measured(&scene(form, px_per_mm, 0.8, 250.0));
        assert_eq!(m.form.right_flank_deg.or(m.form.left_flank_deg), None, "{form:?}");
        assert_eq!(m.form.pitch_diameter_mm.or(m.form.root_radius_mm), None, "{form:?}");
        near("pitch", m.form.pitch_mm, form.0, 0.0008 * form.0);
        near("major", m.form.major_diameter_mm, form.5, 0.0008 * form.5);
        near("depth", m.form.depth_mm, form.1, 0.004);
        near("crest", m.form.crest_flat_mm, form.3, 0.006);
    }
}

#[test]
fn a_narrow_crest_in_the_blur_still_tells_the_diameter() {
    // Crest flats of 4 and 5 blurs: nothing of them is beyond the reach of their corners.
    for (pitch, major, px_per_mm, blur) in [(1.0, 8.0, 50.0, 1.5), (2.0, 16.0, 40.0, 2.2)] {
        let form = (pitch, 0.6134 * pitch, 30.0, 0.125 * pitch, 0.0, major, 1, Hand::Right);
        let m = measured(&scene(form, px_per_mm, blur, 300.0));
        assert_eq!(turns(&m), Some((1, Hand::Right)));
        near("pitch", m.form.pitch_mm, pitch, 0.001 * pitch);
        near("major", m.form.major_diameter_mm, major, 0.02);
    }
}

#[test]
fn the_form_is_that_of_the_few_teeth_that_are_not_worn() {
    // One flank of seven teeth in ten, by up to a fifth of the groove.
    let form = (3.5, 2.0, 15.0, 1.281, 0.0, 24.0, 1, Hand::Left);
    for end in [-1.0, 1.0] {
        let mut worn = scene(form, 46.0, 0.9, 230.0);
        worn.wear = Some(lamp::Wear {
            deepest_mm: [0.25, 0.0],
            centre_mm: end * 0.5 * worn.length_mm,
            reach_mm: 0.25 * worn.length_mm,
            scatter: 0.1,
        });
        let m = measured(&worn);
        assert_eq!(turns(&m), Some((1, Hand::Left)), "{end}");
        near("pitch", m.form.pitch_mm, 3.5, 0.003);
        near("right", m.form.right_flank_deg, 15.0, 0.25);
        near("left", m.form.left_flank_deg, 15.0, 0.25);
        near("crest", m.form.crest_flat_mm, 1.281, 0.03);
        near("major", m.form.major_diameter_mm, 24.0, 0.02);
        assert!(m.warnings.iter().any(|w| w.code == "wear"), "{:?}", m.warnings);
    }
}

#[test]
fn a_plane_that_leans_much_is_doubtful_along_the_axis_alone() {
    let form = (2.5, 1.53, 30.0, 0.3125, 0.0, 20.0, 1, Hand::Right);
    let leaning =
        Scene { wall: lamp::Homography::keystone(0.0022, -0.001), ..scene(form, 50.0, 0.9, 400.0) };
    let m = measured(&leaning);
    assert_eq!(turns(&m), Some((1, Hand::Right)));
    near("pitch", m.form.pitch_mm, 2.5, 0.2);
    near("depth", m.form.depth_mm, 1.53, 0.01);
    assert!(m.form.pitch_mm.unwrap().u > 0.02, "nothing tells the stretch");
}

#[test]
fn a_full_radius_is_known_as_well_as_it_shows() {
    let sharp = thread((3.0, 1.5, 20.0, 0.9, 0.0, 20.0, 1, Hand::Right));
    let section = sharp.section();
    let full = section.largest_radius_mm(section.root_flat_mm());
    let m = measured(&scene((3.0, 1.5, 20.0, 0.9, full, 20.0, 1, Hand::Right), 45.0, 0.9, 300.0));
    near("root radius", m.form.root_radius_mm, full, 0.01);
    let u = m.form.root_radius_mm.unwrap().u;
    assert!(u < 0.008 * full, "± {u} of {full}, though blur hides nothing of it");
    near("depth", m.form.depth_mm, 1.5, 0.003);
}

/// A 30° screw of 16 mm by 3, its shadow traced.
fn traced(pencil: lamp::Pencil) -> Measurement {
    let form = (3.0, 1.75, 15.0, 1.098, 0.0, 16.0, 1, Hand::Right);
    measured(&Scene { drawn: lamp::Drawn::Pencil(pencil), ..scene(form, 55.0, 1.0, 350.0) })
}

#[test]
fn a_trace_is_read_on_where_it_is_faint() {
    let m = traced(lamp::Pencil { unevenness: 0.4, darkness: 0.6, ..lamp::Pencil::default() });
    assert_eq!(turns(&m), Some((1, Hand::Right)));
    let teeth = |edge| m.teeth.iter().filter(|t| t.edge == edge).count();
    let [upper, lower] = [form::shadow::Edge::Upper, form::shadow::Edge::Lower].map(teeth);
    assert!(upper >= 8 && lower >= 4, "{upper} teeth above, {lower} below");
    near("pitch", m.form.pitch_mm, 3.0, 0.009);
    near("right", m.form.right_flank_deg, 15.0, 0.8);
    near("left", m.form.left_flank_deg, 15.0, 0.8);
    near("major", m.form.major_diameter_mm, 16.0, 0.06);
}

#[test]
fn the_budget_adds_up_to_what_is_stated_even_where_teeth_disagree() {
    let unsteady = lamp::Pencil { wobble_mm: 0.06, wobble_length_mm: 4.0, ..Default::default() };
    let m = traced(unsteady);
    assert!(m.warnings.iter().any(|w| w.code == "teeth-disagree"), "{:?}", m.warnings);
    for (name, stated) in [("pitch_mm", m.form.pitch_mm), ("crest_flat_mm", m.form.crest_flat_mm)] {
        let squares = m.budget.iter().filter(|b| b.quantity == name).map(|b| b.u * b.u);
        let (sum, stated) = (squares.sum::<f64>().sqrt(), stated.unwrap().u);
        assert!((sum / stated - 1.0).abs() < 0.02, "{name}: shares make {sum}, stated {stated}");
    }
}
