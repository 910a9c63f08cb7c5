//! Threads that are taken for each other, one pair at a time: at coarse uncertainty "cannot tell", at
//! fine uncertainty the right one, and the measurement proposed next settles it.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use form::Quantity;
use standards::{
    Feature, Form, Measured, Prior, Ranking, Side, Suggestion, Verdict, families, limits, rank,
    what_next,
};

/// A pair, with how coarsely it must be seen to be confused.
struct Pair {
    name: &'static str,
    a: &'static str,
    b: &'static str,
    /// Relative uncertainty of the pitch, of the angle in degrees, of the diameter in mm.
    coarse: (f64, f64, f64),
}

const PAIRS: [Pair; 9] = [
    Pair { name: "10 tpi / 2.5 mm", a: "3/4-10 UNC", b: "M20 x 2.5", coarse: (0.015, 2.0, 0.5) },
    Pair { name: "5 tpi / 5 mm", a: "Acme 1-5", b: "Tr 26 x 5", coarse: (0.015, 1.0, 0.4) },
    Pair { name: "20 tpi / 1.25 mm", a: "1/2-20 UNF", b: "M12 x 1.25", coarse: (0.015, 2.0, 0.4) },
    Pair { name: "8 tpi / 3 mm", a: "1-8 UNC", b: "M24 x 3", coarse: (0.04, 2.0, 0.8) },
    Pair { name: "12 tpi / 2 mm", a: "9/16-12 UNC", b: "M14 x 2", coarse: (0.04, 2.0, 0.3) },
    Pair { name: "29° / 30°", a: "Acme 1 1/8-5", b: "Tr 28 x 5", coarse: (0.015, 1.0, 0.4) },
    Pair { name: "55° / 60° worn", a: "3/8-16 BSW", b: "3/8-16 UNC", coarse: (0.01, 4.0, 0.1) },
    Pair { name: "55° / 60° worn", a: "1/4-20 BSW", b: "1/4-20 UNC", coarse: (0.01, 4.0, 0.1) },
    Pair { name: "M10 / 3/8-16", a: "3/8-16 UNC", b: "M10 x 1.5", coarse: (0.04, 2.0, 0.3) },
];

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
fn near_pairs() {
    let prior = Prior::default();
    for pair in &PAIRS {
        let (a, b) = (screw(pair.a), screw(pair.b));
        let coarse = between(pair, &a, &b);
        let ranking = rank(&coarse, &prior);
        println!(
            "{}: {} {:.3}, {} {:.3}, {:?}",
            pair.name,
            pair.a,
            odds(&ranking, &a),
            pair.b,
            odds(&ranking, &b),
            ranking.verdict
        );
        assert!(grouped(&ranking, &a, &b), "{}: {:?}", pair.name, ranking.cannot_tell);
        assert_eq!(ranking.verdict, Verdict::CannotTell, "{}", pair.name);
        let next = what_next(&coarse, &ranking);
        let best = next.first().unwrap();
        println!("    next: {} ({:.2} of {:.2} bit)", best.text, best.gain_bits, best.doubt_bits);
        for (truth, other) in [(&a, &b), (&b, &a)] {
            let after = rank(&best.apply(&coarse, reading(best, truth)), &prior);
            let (right, wrong) = (odds(&after, truth), odds(&after, other));
            println!(
                "    {}: then {right:.4} against {wrong:.4}; fine {:.4}",
                truth.designation,
                odds(&rank(&fine(truth), &prior), truth)
            );
            assert!(right > 20.0 * wrong, "{}: {} {right} {wrong}", pair.name, truth.designation);
            assert!(!grouped(&after, truth, other), "{}", pair.name);
            let sharp = rank(&fine(truth), &prior);
            assert!(
                names(&sharp.candidates[0].designation, truth),
                "{}: {:?}",
                truth.designation,
                sharp.candidates[0].designation
            );
            assert!(sharp.candidates[0].probability > 0.9, "{}", sharp.candidates[0].probability);
        }
    }
}
