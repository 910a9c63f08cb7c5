//! Whether the uncertainties can be believed: random threads in random views are cast and measured,
//! everything a person says of the bar being itself drawn within its stated uncertainty (propagation
//! of distributions, JCGM 101). A 95 % interval, two standard uncertainties to each side, ought to
//! hold the truth 95 times in a hundred.
//!
//! `examples/coverage.rs` makes as many of these trials as wanted.

use fit::{BarDrop, BarShape, Known, Measurement, Sighting};
use form::{Hand, Quantity, Thread};
use lamp::{Difficulty, JpegOptions, Scene};
use picture::{DrawnWanted, Limits};
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;
use std::collections::BTreeMap;
use std::fmt::Write;
use std::ops::Range;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Standard uncertainties with which bars are stated, mm: micrometer, caliper, hearsay.
const BAR_U_MM: [f64; 3] = [0.002, 0.005, 0.01];
/// Standard uncertainty of a drop that was measured, mm.
const DROP_U_MM: f64 = 0.05;
/// Standard uncertainty of a major diameter by micrometer, mm.
const MICROMETER_U_MM: f64 = 0.01;

/// One stated quantity against its truth.
#[derive(Debug, Clone, Copy)]
pub struct Stated {
    /// Name, with the unit.
    pub what: &'static str,
    /// As measured.
    pub found: Quantity,
    /// Truth.
    pub truth: f64,
}

impl Stated {
    /// Error in standard uncertainties.
    pub fn z(&self) -> f64 {
        (self.found.value - self.truth) / self.found.u
    }
}

/// One picture.
pub struct Trial {
    /// Seed of its scene.
    pub seed: u64,
    /// Which kind of scene.
    pub difficulty: Difficulty,
    /// Everything stated, or who refused and why.
    pub stated: Result<Vec<Stated>, String>,
    /// Codes of the warnings given.
    pub warnings: Vec<&'static str>,
    /// Whether the hand stated is right; none when it was not told.
    pub hand: Option<bool>,
    /// Whether the number of starts stated is right.
    pub starts: Option<bool>,
    kind: String,
}

/// Trials with these seeds, the kinds of picture by turns.
///
/// Every thread is put on a cone of this taper, one way in even pictures and the other in odd.
pub fn trials(seeds: Range<usize>, kinds: &[Difficulty], taper: f64) -> Vec<Trial> {
    whole_job_tests::workers::trials(seeds, kinds, |seed, difficulty| {
        let taper = if seed % 2 == 0 { taper } else { -taper };
        Trial::of(seed, difficulty, taper)
    })
}

impl Trial {
    fn of(seed: u64, difficulty: Difficulty, taper: f64) -> Self {
        let mut scene = lamp::random_scene(seed, difficulty);
        if let Ok(thread) = scene.thread.tapered(taper) {
            scene.thread = thread;
        }
        let known = known(&mut scene);
        // A panic is a defect of its own; it must not take the other trials' figures with it.
        let measured = catch_unwind(AssertUnwindSafe(|| measured(&scene, known)))
            .unwrap_or_else(|_| Err("PANIC".into()));
        let kind = kind(&scene);
        match measured {
            Err(why) => Self {
                seed,
                difficulty,
                stated: Err(why),
                warnings: Vec::new(),
                hand: None,
                starts: None,
                kind,
            },
            Ok(m) => Self {
                seed,
                difficulty,
                stated: Ok(stated(&m, &scene)),
                warnings: m.warnings.iter().map(|w| w.code).collect(),
                hand: m.hand.map(|h| h.value == scene.thread.hand()),
                starts: m.starts.map(|s| s.value == scene.thread.starts()),
                kind,
            },
        }
    }
}

/// What the owner of the bar says: the truth, off by as much as it is said to be uncertain. A bar on
/// the same surface as the screw lies as near to it as surfaces are flat, which moves the scene.
fn known(scene: &mut Scene) -> Option<Known> {
    let mut rng = Pcg64Mcg::seed_from_u64(scene.seed ^ 0x636f_7665);
    let u = BAR_U_MM[rng.random_range(0..BAR_U_MM.len())];
    let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
    let bar = scene.bar.as_mut()?;
    let width = Quantity::entered(bar.width_mm + u * normal(), u);
    let major = scene.thread.major_diameter_mm();
    let same = lamp::Bar::same_surface_drop_mm(bar.shape, bar.width_mm, major);
    let bar_drop = if (bar.drop_mm - same).abs() < 1e-6 {
        bar.drop_mm += DROP_U_MM * normal();
        BarDrop::SameSurface
    } else {
        BarDrop::Given(Quantity::entered(bar.drop_mm + DROP_U_MM * normal(), DROP_U_MM))
    };
    Some(Known {
        bar_shape: match bar.shape {
            lamp::BarShape::Round => BarShape::Round,
            lamp::BarShape::Flat => BarShape::Flat,
        },
        bar_drop,
        mirrored: scene.mirrored,
        ..Known::bar(width)
    })
}

fn measured(scene: &Scene, known: Option<Known>) -> Result<Measurement, String> {
    let mut known = known.ok_or("a scene without a bar")?;
    let text = |e: &dyn std::fmt::Display| format!("lamp: {e}");
    let cast = lamp::cast(scene).map_err(|e| text(&e))?;
    let focal_35mm = scene.focal_35mm().filter(|f| (1.0..=65_535.0).contains(f));
    let options = JpegOptions { focal_35mm, ..JpegOptions::default() };
    let bytes = cast.to_jpeg(&options).map_err(|e| text(&e))?;
    let says = |e: picture::PictureError| format!("picture: {}", e.code());
    let picture = picture::decode(&bytes, &Limits::default()).map_err(says)?;
    let found = picture::trace(&picture.grey, DrawnWanted::Auto, &|_| true).map_err(says)?;
    let bar = picture::find_bar(&found, None).map_err(says)?;
    let thread = picture::find_thread(&found, Some(&bar), None).map_err(says)?;
    known.focal_35mm = picture.focal_35mm;
    if thread.upper.is_empty() || thread.lower.is_empty() {
        let off: f64 = StandardNormal.sample(&mut Pcg64Mcg::seed_from_u64(scene.seed));
        let read = scene.thread.major_diameter_mm() + MICROMETER_U_MM * off;
        known.major_diameter_mm = Some(Quantity::entered(read, MICROMETER_U_MM));
    }
    let sighting = Sighting {
        width_px: picture.grey.width(),
        height_px: picture.grey.height(),
        drawn: found.drawn,
        bar,
        thread,
    };
    fit::measure(&sighting, &known, &|_| true).map_err(|e| format!("fit: {e}"))
}

/// Everything stated, beside the truth.
fn stated(m: &Measurement, scene: &Scene) -> Vec<Stated> {
    let thread: &Thread = &scene.thread;
    let section = thread.section();
    let (right, left) = scene.flanks_in_picture_rad();
    let f = &m.form;
    let inverse = |d: Quantity| Quantity::measured(1.0 / d.value, d.u / (d.value * d.value));
    let camera = m.view.camera_distance_mm.map(inverse);
    let mut taper = thread.taper() * if scene.points_left() { -1.0 } else { 1.0 };
    if scene.roll_rad.cos().abs() < 0.2 {
        // An upright screw has no right end; which one is taken for it does not matter.
        taper = taper.abs().copysign(f.taper.map_or(1.0, |t| t.value));
    }
    // Diameters of a tapered thread are those where the measurement says.
    let off_mm = thread.taper() * axial_mm(scene, m.diameters_at_px);
    // Of a radius that is nought, "none, or up to so much" is always right: those that are there are
    // also counted by themselves.
    let there = |radius: Option<Quantity>, truth: f64| radius.filter(|_| truth > 0.0);
    let (crest, root) = (section.crest_radius_mm(), section.root_radius_mm());
    let rows: [(&'static str, Option<Quantity>, f64); 14] = [
        ("pitch_mm", f.pitch_mm, section.pitch_mm()),
        ("right_flank_deg", f.right_flank_deg, right.to_degrees()),
        ("left_flank_deg", f.left_flank_deg, left.to_degrees()),
        ("depth_mm", f.depth_mm, section.depth_mm()),
        ("crest_flat_mm", f.crest_flat_mm, section.crest_flat_mm()),
        // Along the axis, between where the flanks meet the cone of the roots.
        ("root_flat_mm", f.root_flat_mm, thread.profile().section().root_flat_mm()),
        ("crest_radius_mm", f.crest_radius_mm, crest),
        ("crest_radius_mm, one there", there(f.crest_radius_mm, crest), crest),
        ("root_radius_mm", f.root_radius_mm, root),
        ("root_radius_mm, one there", there(f.root_radius_mm, root), root),
        ("major_diameter_mm", f.major_diameter_mm, thread.major_diameter_mm() + off_mm),
        ("minor_diameter_mm", f.minor_diameter_mm, thread.minor_diameter_mm() + off_mm),
        ("taper", f.taper, taper),
        // By its inverse, which is what a picture tells evenly.
        ("camera_per_mm", camera, scene.view.inverse_distance_per_mm),
    ];
    rows.into_iter()
        .filter_map(|(what, found, truth)| Some(Stated { what, found: found?, truth }))
        .collect()
}

/// Place along the axis that is seen nearest to a pixel, mm.
fn axial_mm(scene: &Scene, at_px: (f64, f64)) -> f64 {
    let mapping = scene.mapping();
    let mut z = 0.0;
    for _ in 0..20 {
        let (here, ahead) = (mapping.px((z, 0.0)), mapping.px((z + 0.01, 0.0)));
        let (dx, dy) = ((ahead.0 - here.0) / 0.01, (ahead.1 - here.1) / 0.01);
        let (ox, oy) = (at_px.0 - here.0, at_px.1 - here.1);
        z += (ox * dx + oy * dy) / (dx * dx + dy * dy);
    }
    z
}

/// What is out of the ordinary in a scene.
fn kind(scene: &Scene) -> String {
    let s = scene;
    let section = s.thread.section();
    let traits = [
        ("pencil", matches!(s.drawn, lamp::Drawn::Pencil(_))),
        ("parallel", s.view.distance_mm().is_none()),
        ("worn", s.wear.is_some()),
        ("wall", s.wall != lamp::Homography::IDENTITY),
        ("lens", s.lens_k1 != 0.0),
        ("mirrored", s.mirrored),
        ("left-hand", s.thread.hand() == Hand::Left),
        ("strip", s.bar.is_some_and(|b| b.shape == lamp::BarShape::Flat)),
        ("rounded", section.crest_radius_mm() > 0.0 || section.root_radius_mm() > 0.0),
        ("square", section.right_flank_rad() < 0.06),
        ("dirt", s.dirt.on_outline + s.dirt.burrs > 0),
    ];
    let mut out = format!(
        "P {:.3}, {:.0} px/P, {} starts",
        section.pitch_mm(),
        s.px_per_mm * section.pitch_mm(),
        s.thread.starts()
    );
    for (name, _) in traits.into_iter().filter(|t| t.1) {
        let _ = write!(out, ", {name}");
    }
    out
}

/// How often what was stated holds, quantity by quantity.
#[derive(Debug, Clone, Copy, Default)]
pub struct Coverage {
    /// How many were stated.
    pub n: usize,
    /// How many within one, two and four standard uncertainties.
    pub within: [usize; 3],
}

impl Coverage {
    /// Fraction within two standard uncertainties.
    pub fn of_95(&self) -> f64 {
        self.within[1] as f64 / self.n.max(1) as f64
    }
}

/// Coverage of every quantity over the trials that `pick` takes.
pub fn coverage(
    trials: &[Trial],
    pick: impl Fn(&Trial) -> bool,
) -> BTreeMap<&'static str, Coverage> {
    let mut all: BTreeMap<&'static str, Coverage> = BTreeMap::new();
    for s in trials.iter().filter(|t| pick(t)).filter_map(|t| t.stated.as_ref().ok()).flatten() {
        let c = all.entry(s.what).or_default();
        c.n += 1;
        for (count, limit) in c.within.iter_mut().zip([1.0, 2.0, 4.0]) {
            *count += usize::from(s.z().abs() <= limit);
        }
    }
    all
}

/// The figures as a table.
pub fn table(trials: &[Trial]) -> String {
    let mut out = String::new();
    let refused = trials.iter().filter(|t| t.stated.is_err()).count();
    let count = |f: &dyn Fn(&Trial) -> Option<bool>, is| {
        trials.iter().filter(|t| t.stated.is_ok() && f(t) == is).count()
    };
    let _ = writeln!(out, "{} pictures, {refused} refused", trials.len());
    for (name, f) in [
        ("hand", &(|t: &Trial| t.hand) as &dyn Fn(&Trial) -> Option<bool>),
        ("starts", &|t: &Trial| t.starts),
    ] {
        let [right, wrong, untold] = [Some(true), Some(false), None].map(|is| count(f, is));
        let _ = writeln!(out, "{name}: {right} right, {wrong} wrong, {untold} not told");
    }
    let _ = writeln!(
        out,
        "\n| quantity | stated | within u | within 2u | within 4u | clean, 2u | workshop, 2u | harsh, 2u |\n|---|---|---|---|---|---|---|---|"
    );
    let by: Vec<_> =
        Difficulty::ALL.iter().map(|d| coverage(trials, |t| t.difficulty == *d)).collect();
    for (what, c) in coverage(trials, |_| true) {
        let percent = |k: usize| 100.0 * k as f64 / c.n.max(1) as f64;
        let [one, two, four] = c.within.map(percent);
        let _ = write!(out, "| {what} | {} | {one:.0} % | {two:.1} % | {four:.1} % |", c.n);
        for d in &by {
            match d.get(what) {
                Some(d) => {
                    let _ = write!(out, " {:.0} % of {} |", 100.0 * d.of_95(), d.n);
                }
                None => out.push_str(" - |"),
            }
        }
        out.push('\n');
    }
    out
}

/// The trials furthest off, with what was out of the ordinary in them, and the refusals.
pub fn worst(trials: &[Trial], n: usize) -> String {
    let mut out = String::new();
    let mut off: Vec<(&Trial, &Stated)> = trials
        .iter()
        .filter_map(|t| {
            let worst = t
                .stated
                .as_ref()
                .ok()?
                .iter()
                .max_by(|a, b| a.z().abs().total_cmp(&b.z().abs()))?;
            Some((t, worst))
        })
        .collect();
    off.sort_by(|a, b| b.1.z().abs().total_cmp(&a.1.z().abs()));
    for (t, s) in off.into_iter().take(n) {
        let _ = writeln!(
            out,
            "{:?} {}: {} {:.5} ± {:.5}, true {:.5} ({:+.1} u); hand {:?}, starts {:?}; {}; {:?}",
            t.difficulty,
            t.seed,
            s.what,
            s.found.value,
            s.found.u,
            s.truth,
            s.z(),
            t.hand,
            t.starts,
            t.kind,
            t.warnings
        );
    }
    for t in trials {
        if let Err(why) = &t.stated {
            let _ = writeln!(out, "{:?} {}: refused: {why}; {}", t.difficulty, t.seed, t.kind);
        }
    }
    out
}

#[test]
fn intervals_hold_the_truth() {
    let trials = trials(300..336, &Difficulty::ALL, 0.0);
    eprintln!("{}\n{}", table(&trials), worst(&trials, 5));
    let stated: Vec<&Trial> = trials.iter().filter(|t| t.stated.is_ok()).collect();
    assert!(stated.len() >= 33, "{} of 36 pictures were measured", stated.len());
    assert!(trials.iter().all(|t| t.stated.as_ref().err().is_none_or(|why| why != "PANIC")));
    // With this the program itself says that a measurement is not to be relied on.
    let sound = |t: &Trial| !t.warnings.contains(&"misfit");
    for (what, c) in coverage(&trials, sound) {
        // Of thirty, 95 % intervals miss five or more one time in fifty.
        assert!(c.n - c.within[1] <= 5, "{what}: {} of {} within 2u", c.within[1], c.n);
    }
    // What is told of hand and starts is right; what cannot be told is not said.
    let mut told = trials.iter().filter(|t| sound(t));
    assert!(told.all(|t| t.hand != Some(false) && t.starts != Some(false)));
    // And the intervals are no barn doors: most of one standard uncertainty's misses are there.
    let pitch = coverage(&trials, sound)["pitch_mm"];
    assert!(pitch.within[0] < pitch.n, "every pitch within one standard uncertainty");
}

/// Pictures that once were measured wrongly and surely.
#[test]
fn what_once_led_astray_is_held_by_its_intervals_or_refused() {
    for (seed, difficulty) in [
        // Square flanks: nothing but the crest's corner casts them.
        (999, Difficulty::Clean),
        // The same on a leaning plane, where a fit comes to rest far from what is known of eye and bar.
        (524, Difficulty::Harsh),
        // A bar longer across than along.
        (824, Difficulty::Harsh),
        // One edge: of two starts, and in parallel light.
        (752, Difficulty::Harsh),
        (718, Difficulty::Workshop),
        // A stroke's own flanks taken for those of a bar.
        (995, Difficulty::Harsh),
    ] {
        let trial = Trial::of(seed, difficulty, 0.0);
        assert_ne!(trial.stated.as_ref().err().map(String::as_str), Some("PANIC"), "{seed}");
        // The camera's distance is not for cutting metal by.
        let stated = trial.stated.iter().flatten().filter(|s| s.what != "camera_per_mm");
        for s in stated {
            let Stated { what, found, truth } = s;
            assert!(
                s.z().abs() < 4.0,
                "{seed}: {what} {} ± {}, true {truth}",
                found.value,
                found.u
            );
        }
    }
}
