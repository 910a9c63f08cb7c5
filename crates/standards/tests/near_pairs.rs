//! Threads that are taken for each other, one pair at a time: at coarse uncertainty "cannot tell", at
//! fine uncertainty the right one, and the measurement proposed next settles it.

#![expect(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test fails by panicking and says on what"
)]

use form::Quantity;
use standards::{
    Feature, Form, Measured, Prior, Ranking, Side, Suggestion, Verdict, families, limits, rank,
    what_next,
};

/// A pair, with how coarsely it must be seen to be confused.
struct Pair {
    a: &'static str,
    b: &'static str,
    /// Relative uncertainty of the pitch, of the angle in degrees, of the diameter in mm.
    coarse: (f64, f64, f64),
}

/// A screw of the pair as it lies on the bench.
struct Screw {
    designation: &'static str,
    form: &'static Form,
    pitch_mm: f64,
    major_mm: f64,
    depth_mm: f64,
    crest_mm: f64,
}

/// A listed size made to the middle of its class.
fn screw(designation: &'static str) -> Screw {
    let found = families().iter().find_map(|f| {
        let size = f.sizes.iter().find(|s| f.designate(s, 1, false) == designation)?;
        Some((f, size))
    });
    let (family, size) = found.unwrap();
    let basic = family.diameters(size);
    let class = limits(family, size, &family.class, Side::External).unwrap();
    let major_mm = class.major.middle_mm();
    let d2 = class.pitch.middle_mm();
    let slope = family.form.slope();
    let crest_mm = 0.5 * size.pitch_mm - 0.5 * (major_mm - d2) * slope;
    let depth_mm = 0.5 * (major_mm - (basic.external_minor_mm - (basic.pitch_mm - d2)));
    Screw { designation, form: &family.form, pitch_mm: size.pitch_mm, major_mm, depth_mm, crest_mm }
}

fn names(candidate: &str, screw: &Screw) -> bool {
    candidate == screw.designation
}

fn odds(ranking: &Ranking, screw: &Screw) -> f64 {
    ranking.candidates.iter().filter(|c| names(&c.designation, screw)).map(|c| c.probability).sum()
}

fn grouped(ranking: &Ranking, a: &Screw, b: &Screw) -> bool {
    ranking
        .cannot_tell
        .iter()
        .any(|g| g.iter().any(|d| names(d, a)) && g.iter().any(|d| names(d, b)))
}

/// A coarse picture of neither: pitch, angle, diameter and depth half-way between the two.
fn between(pair: &Pair, a: &Screw, b: &Screw) -> Measured {
    let (pitch, angle, diameter) = pair.coarse;
    let mean = |x: f64, y: f64| 0.5 * (x + y);
    let p = mean(a.pitch_mm, b.pitch_mm);
    let included = mean(a.form.included_deg(), b.form.included_deg());
    Measured {
        major_diameter_mm: Some(Quantity::measured(mean(a.major_mm, b.major_mm), diameter)),
        depth_mm: Some(Quantity::measured(mean(a.depth_mm, b.depth_mm), 0.05 * p)),
        ..Measured::pitch_and_angle(
            Quantity::measured(p, pitch * p),
            Quantity::measured(included, angle),
        )
    }
}

/// A good picture of the screw.
fn fine(s: &Screw) -> Measured {
    let half = |deg: f64| Some(Quantity::measured(deg, 0.06));
    let length = |mm: f64, u: f64| Some(Quantity::measured(mm, u));
    Measured {
        pitch_mm: length(s.pitch_mm, 4e-4 * s.pitch_mm),
        right_flank_deg: half(s.form.angle_a_deg),
        left_flank_deg: half(s.form.angle_b_deg),
        depth_mm: length(s.depth_mm, 0.01),
        crest_flat_mm: length(s.crest_mm, 0.01),
        major_diameter_mm: length(s.major_mm, 0.015),
        ..Measured::default()
    }
}

/// The reading a suggestion would give on this screw.
fn reading(suggestion: &Suggestion, s: &Screw) -> f64 {
    let value = match suggestion.feature {
        Feature::Pitch | Feature::Lead => s.pitch_mm,
        Feature::IncludedAngle => s.form.included_deg(),
        Feature::MajorDiameter => s.major_mm,
        Feature::MinorDiameter => s.major_mm - 2.0 * s.depth_mm,
        Feature::PitchDiameter => {
            s.major_mm - 2.0 * (0.5 * s.pitch_mm - s.crest_mm) / s.form.slope()
        }
        Feature::CrestRadius => s.form.crest_radius * s.pitch_mm,
        Feature::Taper => s.form.taper,
        other => panic!("no reading of {other:?}"),
    };
    value * suggestion.scale
}

#[test]
fn ten_threads_per_inch_and_2_5_mm() {
    judge(&Pair { a: "3/4-10 UNC", b: "M20 x 2.5", coarse: (0.015, 2.0, 0.5) });
}

#[test]
fn five_threads_per_inch_and_5_mm() {
    judge(&Pair { a: "Acme 1-5", b: "Tr 26 x 5", coarse: (0.015, 1.0, 0.4) });
}

#[test]
fn twenty_threads_per_inch_and_1_25_mm() {
    judge(&Pair { a: "1/2-20 UNF", b: "M12 x 1.25", coarse: (0.015, 2.0, 0.4) });
}

#[test]
fn eight_threads_per_inch_and_3_mm() {
    judge(&Pair { a: "1-8 UNC", b: "M24 x 3", coarse: (0.04, 2.0, 0.8) });
}

#[test]
fn twelve_threads_per_inch_and_2_mm() {
    judge(&Pair { a: "9/16-12 UNC", b: "M14 x 2", coarse: (0.04, 2.0, 0.3) });
}

#[test]
fn twenty_nine_degrees_and_thirty() {
    judge(&Pair { a: "Acme 1 1/8-5", b: "Tr 28 x 5", coarse: (0.015, 1.0, 0.4) });
}

#[test]
fn fifty_five_degrees_and_sixty_worn() {
    judge(&Pair { a: "3/8-16 BSW", b: "3/8-16 UNC", coarse: (0.01, 4.0, 0.1) });
    judge(&Pair { a: "1/4-20 BSW", b: "1/4-20 UNC", coarse: (0.01, 4.0, 0.1) });
}

#[test]
fn m10_and_three_eighths_16() {
    judge(&Pair { a: "3/8-16 UNC", b: "M10 x 1.5", coarse: (0.04, 2.0, 0.3) });
}

fn judge(pair: &Pair) {
    let prior = Prior::default();
    let (a, b) = (screw(pair.a), screw(pair.b));
    let coarse = between(pair, &a, &b);
    let ranking = rank(&coarse, &prior);
    let (of_a, of_b) = (odds(&ranking, &a), odds(&ranking, &b));
    println!("{} {of_a:.3}, {} {of_b:.3}, {:?}", pair.a, pair.b, ranking.verdict);
    assert!(grouped(&ranking, &a, &b), "{:?}", ranking.cannot_tell);
    assert_eq!(ranking.verdict, Verdict::CannotTell);
    let next = what_next(&coarse, &ranking);
    let best = next.first().unwrap();
    println!("    next: {} ({:.2} of {:.2} bit)", best.text, best.gain_bits, best.doubt_bits);
    for (truth, other) in [(&a, &b), (&b, &a)] {
        // The sentence says which reading decides for each of the two.
        let expects = best.expected.iter().find(|e| e.designation == truth.designation);
        assert!(
            expects.is_some() && best.text.to_string().contains(truth.designation),
            "{}",
            best.text
        );
        let after = rank(&best.apply(&coarse, reading(best, truth)), &prior);
        let (right, wrong) = (odds(&after, truth), odds(&after, other));
        println!("    {}: then {right:.4} against {wrong:.4}", truth.designation);
        assert!(right > 20.0 * wrong, "{}: {right} {wrong}", truth.designation);
        assert!(!grouped(&after, truth, other), "{}", truth.designation);
        let sharp = rank(&fine(truth), &prior);
        let first = &sharp.candidates[0];
        assert!(names(&first.designation, truth), "{}: {}", truth.designation, first.designation);
        assert!(first.probability > 0.9, "{}", first.probability);
        assert_eq!(sharp.verdict, Verdict::Named);
    }
}
