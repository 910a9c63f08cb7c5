//! Evidence beside a picture: planted truth comes back, and planted blunders are found.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod support;
#[path = "support/table.rs"]
mod table;

use approx::assert_abs_diff_eq;
use form::Quantity;
use standards::{
    Correlation, Evidence, Feature, Instrument, Measured, Origin, Prior, Region, System, Verdict,
    combine, rank,
};
use support::Rng;
use table::Table;

const INCH: f64 = 25.4;

fn entered(value: f64, u: f64) -> Quantity {
    Quantity::entered(value, u)
}

fn coarse_acme() -> Measured {
    Measured {
        major_diameter_mm: Some(Quantity::measured(12.6, 0.2)),
        depth_mm: Some(Quantity::measured(1.5, 0.05)),
        ..Measured::pitch_and_angle(Quantity::measured(2.52, 0.04), Quantity::measured(29.4, 1.0))
    }
}

#[test]
fn agreeing_evidence_sharpens_the_odds() {
    let prior = Prior::default();
    let evidence = [
        Evidence::OverThreads {
            threads: 20,
            length_mm: entered(50.82, 0.0),
            instrument: Instrument::Caliper,
        },
        Evidence::Travel { turns: 10.0, travel_mm: entered(25.39, 0.03) },
        Evidence::Major { major_mm: entered(12.66, 0.01) },
        Evidence::Count { threads: entered(10.0, 0.25), length_mm: 25.4 },
        Evidence::Dials { system: System::Inch },
        Evidence::Machine { region: Some(Region::NorthAmerica), year: Some(1942) },
    ];
    let c = combine(&coarse_acme(), &prior, &evidence);
    assert!(c.contradictions.is_empty(), "{:?}", c.contradictions);
    assert!(c.p_value > 0.05);
    let pitch = c.measured.pitch_mm.unwrap();
    assert_abs_diff_eq!(pitch.value, 2.54, epsilon = 3.0 * pitch.u);
    assert!(pitch.u < 0.002);
    assert_eq!(c.measured.starts.unwrap().0, 1);
    assert!(c.measured.starts.unwrap().1 > 0.99);
    assert_eq!(c.prior.origin, Origin { region: Some(Region::NorthAmerica), year: Some(1942) });
    let ranking = rank(&c.measured, &c.prior);
    assert_eq!(ranking.candidates[0].designation, "Acme 1/2-10");
    assert_eq!(ranking.verdict, Verdict::Named);
}

#[test]
fn weighted_mean_of_two_pitches_by_hand() {
    // 2.50 ± 0.02 from the picture, 25.2 ± 0.1 over ten threads: weights 2500 and 10000.
    let m = Measured { pitch_mm: Some(Quantity::measured(2.50, 0.02)), ..Measured::default() };
    let e = Evidence::OverThreads {
        threads: 10,
        length_mm: entered(25.2, 0.1),
        instrument: Instrument::Rule,
    };
    let c = combine(&m, &Prior::default(), &[e]);
    let p = c.measured.pitch_mm.unwrap();
    assert_abs_diff_eq!(p.value, 2.516, epsilon = 1e-9);
    assert_abs_diff_eq!(p.u, 12_500f64.powf(-0.5), epsilon = 1e-9);
    assert_abs_diff_eq!(
        c.chi2,
        (0.02f64).powi(2) / (0.02f64.powi(2) + 0.01f64.powi(2)),
        epsilon = 1e-9
    );
    assert_eq!(c.dof, 1);
}

#[test]
fn starts_come_from_lead_over_pitch() {
    let m = Measured {
        major_diameter_mm: Some(Quantity::measured(19.95, 0.05)),
        ..Measured::pitch_and_angle(Quantity::measured(4.01, 0.03), Quantity::measured(30.1, 0.5))
    };
    let e = [Evidence::Travel { turns: 5.0, travel_mm: entered(40.03, 0.05) }];
    let c = combine(&m, &Prior::default(), &e);
    assert_eq!(c.measured.starts.unwrap().0, 2);
    assert!(c.measured.starts.unwrap().1 > 0.95);
    let p = c.measured.pitch_mm.unwrap();
    assert_abs_diff_eq!(p.value, 4.003, epsilon = 0.001);
    // Each is held against the other with two starts in mind: 40.03 / 10 against 4.01.
    let expected: Vec<f64> = c.residuals.iter().filter_map(|r| r.expected).collect();
    assert_abs_diff_eq!(expected[0], 4.003, epsilon = 1e-9);
    assert_abs_diff_eq!(expected[1], 40.1, epsilon = 1e-9);
    assert!(c.residuals.iter().filter_map(|r| r.in_u).all(|z| z.abs() < 0.3));
    let ranking = rank(&c.measured, &c.prior);
    assert_eq!(ranking.candidates[0].designation, "Tr 20 x 8 (P4)");
}

#[test]
fn a_blunder_is_named() {
    // The caliper was set over 19 threads and written down as 20.
    let evidence = [
        Evidence::OverThreads {
            threads: 20,
            length_mm: entered(19.0 * 2.54, 0.03),
            instrument: Instrument::Caliper,
        },
        Evidence::Travel { turns: 10.0, travel_mm: entered(25.40, 0.03) },
        Evidence::Count { threads: entered(10.0, 0.1), length_mm: 25.4 },
    ];
    let c = combine(&coarse_acme(), &Prior::default(), &evidence);
    assert!(c.p_value < 1e-6);
    let first = &c.contradictions[0];
    assert!(first.sole_suspect, "{:?}", c.contradictions);
    assert_eq!(c.residuals[first.residual].evidence, Some(0));
    assert!(first.text.to_string().contains("caliper over 20 threads"), "{}", first.text);
    // Three witnesses agree: they keep their weight, the caliper has next to none left.
    let without = combine(&coarse_acme(), &Prior::default(), &evidence[1..]).measured;
    let (with, without) = (c.measured.pitch_mm.unwrap(), without.pitch_mm.unwrap());
    assert!((with.value - without.value).abs() < 0.3 * without.u, "{with:?} {without:?}");
    assert!(with.u >= 0.99 * without.u && with.u < 1.05 * without.u, "{with:?} {without:?}");
    assert!(c.residuals[first.residual].enlarged > 20.0);
    assert_eq!(c.residuals.iter().filter(|r| r.enlarged > 1.0).count(), 1);
    assert!(
        c.notes.iter().any(|n| n.to_string().contains("caliper over 20 threads counts with")
            && n.to_string().contains("the others keep theirs")),
        "{:?}",
        c.notes
    );
    // What the caliper has no part in is as sharp as ever.
    assert_eq!(c.measured.depth_mm, coarse_acme().depth_mm);
    assert_eq!(c.measured.major_diameter_mm, coarse_acme().major_diameter_mm);
}

#[test]
fn two_that_disagree_are_both_suspects() {
    let m = Measured::default();
    let evidence = [
        Evidence::Major { major_mm: entered(20.00, 0.01) },
        Evidence::Major { major_mm: entered(20.30, 0.01) },
    ];
    let c = combine(&m, &Prior::default(), &evidence);
    assert_eq!(c.contradictions.len(), 2);
    assert!(c.contradictions.iter().all(|x| !x.sole_suspect));
    // Birge's ratio by hand: χ² = 0.3² / (2 · 0.01²) = 450 at one degree of freedom; the mean 20.15
    // then carries 0.01 / √2 · √450 = 0.15, which covers both.
    let major = c.measured.major_diameter_mm.unwrap();
    assert_abs_diff_eq!(c.chi2, 450.0, epsilon = 1e-3);
    assert_abs_diff_eq!(major.value, 20.15, epsilon = 1e-9);
    assert_abs_diff_eq!(major.u, 0.15, epsilon = 1e-4);
}

/// Four readings of a pitch, one of them a blunder, beside two of a diameter that are sound.
#[test]
fn a_blunder_spoils_neither_the_estimate_nor_its_uncertainty() {
    let mut rng = Rng(11);
    let (mut covered, mut cases) = (0, 0);
    let mut ratios = Vec::new();
    for case in 0..400 {
        let pitch = rng.between(1.0, 6.0);
        let major = 8.0 * pitch;
        let off = |u: f64, rng: &mut Rng| u * rng.normal();
        let m = Measured {
            pitch_mm: Some(Quantity::measured(pitch + off(0.01, &mut rng), 0.01)),
            major_diameter_mm: Some(Quantity::measured(major + off(0.05, &mut rng), 0.05)),
            ..Measured::default()
        };
        let mut lengths = [(15.0, 0.03), (10.0, 0.03), (12.0, 0.06)]
            .map(|(n, u)| (n, n * pitch + off(u, &mut rng), u));
        // One thread miscounted, or half a millimetre misread, in any of the three.
        let wrong = case % 3;
        lengths[wrong].1 += if rng.even() < 0.5 { pitch } else { -0.5 };
        let reading = |(n, length, u): (f64, f64, f64)| Evidence::OverThreads {
            threads: n as u32,
            length_mm: entered(length, u),
            instrument: Instrument::Caliper,
        };
        let mut evidence: Vec<Evidence> = lengths.map(reading).to_vec();
        evidence.push(Evidence::Major { major_mm: entered(major + off(0.01, &mut rng), 0.01) });
        let c = combine(&m, &Prior::default(), &evidence);
        let sound: Vec<Evidence> =
            (0..4).filter(|i| *i != wrong).map(|i| evidence[i].clone()).collect();
        let without = combine(&m, &Prior::default(), &sound);
        if !without.contradictions.is_empty() {
            continue;
        }
        let (q, clean) = (c.measured.pitch_mm.unwrap(), without.measured.pitch_mm.unwrap());
        cases += 1;
        covered += usize::from((q.value - pitch).abs() <= 2.0 * q.u);
        ratios.push(q.u / clean.u);
        assert_eq!(c.measured.major_diameter_mm, without.measured.major_diameter_mm);
    }
    ratios.sort_by(f64::total_cmp);
    let middle = ratios[ratios.len() / 2];
    println!("within 2 u: {covered} of {cases}; u against that of the sound readings: {middle:.3}");
    assert!(cases > 380);
    assert!(covered as f64 >= 0.93 * cases as f64, "{covered} of {cases}");
    assert!(middle < 1.1, "{middle}");
}

#[test]
fn country_and_year_may_be_told_apart_from_each_other() {
    let machine = |region, year| Evidence::Machine { region, year };
    let both = [machine(Some(Region::Britain), None), machine(None, Some(1938))];
    let c = combine(&coarse_acme(), &Prior::default(), &both);
    assert_eq!(c.prior.origin, Origin { region: Some(Region::Britain), year: Some(1938) });
}

#[test]
fn tapers_are_combined_like_any_number() {
    let m = Measured { taper: Some(Quantity::measured(0.060, 0.004)), ..coarse_acme() };
    let gauge = |taper: f64| [Evidence::Taper { taper: entered(taper, 0.002) }];
    let c = combine(&m, &Prior::default(), &gauge(0.0625));
    // Weights 1 / 0.004² and 1 / 0.002²: a fifth and four fifths.
    let taper = c.measured.taper.unwrap();
    assert_abs_diff_eq!(taper.value, 0.2 * 0.060 + 0.8 * 0.0625, epsilon = 1e-12);
    assert!(c.contradictions.is_empty());
    let c = combine(&m, &Prior::default(), &gauge(0.0));
    assert_eq!(c.contradictions.len(), 2);
    // A taper has no unit.
    assert!(
        c.contradictions.iter().all(|x| !x.text.to_string().contains("mm")),
        "{:?}",
        c.contradictions
    );
}

#[test]
fn planted_blunders_are_found_and_sound_readings_are_not_blamed() {
    let mut rng = Rng(5);
    let (mut found, mut blamed) = (0, 0);
    for case in 0..200 {
        let pitch = rng.between(1.0, 6.0);
        let m = Measured {
            pitch_mm: Some(Quantity::measured(pitch + 0.02 * rng.normal(), 0.02)),
            ..Measured::default()
        };
        let blunder = case % 2 == 0;
        let wrong_threads = if blunder { 14.0 } else { 15.0 };
        let over = |n: f64, real: f64, rng: &mut Rng| Evidence::OverThreads {
            threads: n as u32,
            length_mm: entered(real * pitch + 0.03 * rng.normal(), 0.03),
            instrument: Instrument::Caliper,
        };
        let evidence = [
            over(15.0, wrong_threads, &mut rng),
            over(10.0, 10.0, &mut rng),
            Evidence::Travel {
                turns: 10.0,
                travel_mm: entered(10.0 * pitch + 0.05 * rng.normal(), 0.05),
            },
        ];
        let c = combine(&m, &Prior::default(), &evidence);
        let named = c.contradictions.first().map(|x| c.residuals[x.residual].evidence);
        if blunder {
            found += usize::from(named == Some(Some(0)));
        } else {
            blamed += usize::from(named.is_some());
        }
    }
    println!("found {found} of 100, blamed {blamed} of 100 sound sets");
    assert!(found >= 98, "{found}");
    assert!(blamed <= 4, "{blamed}");
}

/// The pitch diameter that a reading over wires says of a thread (lengths mm).
fn by_wires(m: &Measured, wire_mm: f64, over_mm: f64) -> f64 {
    let e = Evidence::OverWires { over_mm: entered(over_mm, 1e-5), wire_mm };
    combine(m, &Prior::default(), &[e]).measured.pitch_diameter_mm.unwrap().value
}

/// A thread known but for its diameter, which lies near `near_mm` (it enters the lead correction).
fn before_wires(pitch_mm: f64, included_deg: f64, near_mm: f64) -> Measured {
    Measured {
        pitch_diameter_mm: Some(Quantity::measured(near_mm, 1.0)),
        ..Measured::pitch_and_angle(
            Quantity::measured(pitch_mm, 1e-7),
            Quantity::measured(included_deg, 1e-7),
        )
    }
}

/// No lead angle: the diameter that enters the correction is huge, and worth nothing as a reading.
fn without_lead(pitch_mm: f64, included_deg: f64) -> Measured {
    let mut m = before_wires(pitch_mm, included_deg, 1e7);
    m.pitch_diameter_mm = Some(Quantity::measured(1e7, 1e9));
    m
}

#[test]
fn over_wires_gives_the_pitch_diameter_of_worked_examples() {
    // Machinery's Handbook 31st ed. p. 2130 and others: M = D - 1.5155 P + 3 W, without lead
    // correction, so that d2 = D - 0.6495 P.
    let table = Table::read("three_wire_examples.csv");
    let mut held = 0;
    for row in table.rows() {
        let value = |name: &str| row.text(name).split('=').nth(1).unwrap().parse::<f64>();
        let (d, tpi) = match row.text("thread").trim_start_matches("UN ").split_once('-') {
            Some((size, tpi)) => (inches(size), tpi.parse::<f64>().unwrap()),
            // The Acme worm of large lead is held against its helicoid where wires are computed.
            None => continue,
        };
        let (Ok(w), Ok(m)) = (value("wire"), value("printed")) else { continue };
        let got = by_wires(&without_lead(INCH / tpi, 60.0), INCH * w, INCH * m) / INCH;
        // One print has three decimals.
        let epsilon = if row.text("printed").len() < 7 { 6e-4 } else { 6e-5 };
        assert_abs_diff_eq!(got, d - 0.649_519 / tpi, epsilon = epsilon);
        held += 1;
    }
    assert_eq!(held, 6);
}

/// "1 1/2", "7/8", "2".
fn inches(text: &str) -> f64 {
    text.split(' ')
        .map(|part| match part.split_once('/') {
            Some((n, d)) => n.parse::<f64>().unwrap() / d.parse::<f64>().unwrap(),
            None => part.parse().unwrap(),
        })
        .sum()
}

#[test]
fn over_wires_has_the_constants_of_a_gauge_maker() {
    // E = M - (kG G - kP P) without lead angle, best wire G.
    for row in Table::read("wire_constants.csv").rows() {
        let angle = match row.text("thread") {
            "60 deg" => 60.0,
            "Whitworth 55" => 55.0,
            "BA 47.5" => 47.5,
            "Loewenherz 53d8m" => 53.0 + 8.0 / 60.0,
            "29 Acme" => 29.0,
            // Printed without its constants.
            "40" => 40.0,
            "30 Tr (own arithmetic)" => 30.0,
            other => panic!("{other}"),
        };
        let k_p = row.number("exact_check_kP");
        let k_g = match row.text("kG") {
            "" => 1.0 + 1.0 / 20f64.to_radians().sin(),
            text => text.parse().unwrap(),
        };
        let (p, g, over) = (2.0, 2.0 * row.number("best_wire_over_P"), 30.0);
        let got = by_wires(&without_lead(p, angle), g, over);
        assert_abs_diff_eq!(got, over - (k_g * g - k_p * p), epsilon = 3e-4);
    }
}

#[test]
fn over_wires_at_large_leads_is_first_order() {
    // Machinery's Handbook 31st ed. p. 2136, 29°, axial pitch 1: M = E + (C + c). The correction here
    // is of first order; the table tells how far it may be trusted: 0.0022 P at 12°.
    let table = Table::read("acme_large_lead.csv");
    assert_eq!(table.len(), 14);
    for row in table.rows() {
        let starts = row.number("starts");
        let lead_rad = row.number("lead_deg").to_radians();
        let e_mm = starts / (std::f64::consts::PI * lead_rad.tan());
        let mut m = before_wires(1.0, 29.0, e_mm);
        m.starts = Some((starts as u32, 1.0));
        let got = by_wires(&m, row.number("w1"), e_mm + row.number("printed"));
        assert_abs_diff_eq!(got, e_mm, epsilon = 2.2e-3);
        let first_order = e_mm + row.number("rake_formula");
        assert_abs_diff_eq!(by_wires(&m, row.number("w1"), first_order), e_mm, epsilon = 4e-4);
    }
}

#[test]
fn a_leaf_that_does_not_fit_speaks_against_its_thread() {
    let m = Measured {
        major_diameter_mm: Some(Quantity::measured(9.4, 0.1)),
        ..Measured::pitch_and_angle(Quantity::measured(1.585, 0.01), Quantity::measured(57.5, 2.0))
    };
    let before = rank(&m, &Prior::default());
    let odds = |r: &standards::Ranking, name: &str| {
        r.candidates.iter().find(|c| c.designation == name).map_or(0.0, |c| c.probability)
    };
    assert!(odds(&before, "3/8-16 UNC") > 0.2 && odds(&before, "3/8-16 BSW") > 0.2);
    let leaf = |fits| Evidence::PitchGauge { pitch_mm: 1.5875, included_deg: 55.0, teeth: 8, fits };
    let no = combine(&m, &Prior::default(), &[leaf(false)]);
    assert!(odds(&rank(&no.measured, &no.prior), "3/8-16 UNC") > 0.75);
    let yes = combine(&m, &Prior::default(), &[leaf(true)]);
    let after = rank(&yes.measured, &yes.prior);
    assert!(odds(&after, "3/8-16 BSW") > odds(&before, "3/8-16 BSW"));
}

/// A picture whose scale is 1.6 % wrong shows every length 1.6 % long. Its numbers say how their errors
/// hang together, so a caliper over the threads mends the depth and the diameter too.
#[test]
fn a_caliper_mends_the_scale_of_the_whole_picture() {
    let scale = 1.016;
    let own = 1e-3;
    let features = [Feature::Pitch, Feature::MajorDiameter, Feature::Depth];
    let truth = [2.5, 20.0, 1.5];
    let mut m = Measured::pitch_and_angle(entered(1.0, 1.0), entered(60.0, 0.2));
    for (f, t) in features.into_iter().zip(truth) {
        m.set(f, Some(Quantity::measured(t * scale, t * 0.02f64.hypot(own))));
    }
    let share = 0.02f64.powi(2) / (0.02f64.powi(2) + own * own);
    let row = |i: usize| (0..3).map(|j| if i == j { 1.0 } else { share }).collect();
    m.correlation =
        Some(Correlation { features: features.to_vec(), coefficients: (0..3).map(row).collect() });
    let e = [Evidence::OverThreads {
        threads: 20,
        length_mm: entered(50.0, 0.02),
        instrument: Instrument::Caliper,
    }];
    let c = combine(&m, &Prior::default(), &e);
    assert!(c.contradictions.is_empty(), "{:?}", c.contradictions);
    for (f, t) in features.into_iter().zip(truth) {
        let q = c.measured.get(f).unwrap();
        assert_abs_diff_eq!(q.value, t, epsilon = 0.002 * t);
        assert!(q.u < 0.002 * t, "{f:?} {q:?}");
    }
    // By hand, for the diameter: the caliper moves it by covariance / variance of the difference.
    let (up, ud) = (2.5 * 0.02f64.hypot(own), 20.0 * 0.02f64.hypot(own));
    let gain = share * up * ud / (up * up + 0.001f64.powi(2));
    let by_hand = 20.0 * scale - gain * (2.5 * scale - 2.5);
    let major = c.measured.major_diameter_mm.unwrap();
    assert_abs_diff_eq!(major.value, by_hand, epsilon = 1e-4);
    // What is left hangs together far less.
    let before = m.correlation.take().unwrap();
    let after = c.measured.correlation.as_ref().unwrap();
    assert!(
        after.between(features[0], features[1]) < 0.9 * before.between(features[0], features[1])
    );
    // Without the correlations only the pitch is mended.
    let alone = combine(&m, &Prior::default(), &e).measured;
    assert_abs_diff_eq!(alone.major_diameter_mm.unwrap().value, 20.0 * scale, epsilon = 1e-9);
    // Two readings that both find the scale wrong are one contradiction of the picture, not of each
    // other.
    m.correlation = Some(before);
    for (f, t) in features.into_iter().zip(truth) {
        m.set(f, Some(Quantity::measured(t * scale, t * 0.003f64.hypot(own))));
    }
    let both = [e[0].clone(), Evidence::Major { major_mm: entered(20.0, 0.01) }];
    let c = combine(&m, &Prior::default(), &both);
    assert!(!c.contradictions.is_empty());
    for contradiction in &c.contradictions {
        let residual = &c.residuals[contradiction.residual];
        assert_eq!(residual.evidence, None, "{}", contradiction.text);
        // Numbers that nothing else bears on are not blamed.
        assert!(residual.expected.is_some(), "{}", contradiction.text);
    }
}

#[test]
fn a_lead_that_repeats_the_pitch_follows_it() {
    let mut m = Measured {
        major_diameter_mm: Some(Quantity::measured(19.95, 0.05)),
        ..Measured::pitch_and_angle(Quantity::measured(4.01, 0.03), Quantity::measured(30.1, 0.5))
    };
    m.lead_mm = m.pitch_mm.map(|p| p.scaled(2.0));
    m.starts = Some((2, 0.99));
    let e = Evidence::OverThreads {
        threads: 10,
        length_mm: entered(40.0, 0.02),
        instrument: Instrument::Caliper,
    };
    let c = combine(&m, &Prior::default(), &[e]).measured;
    assert_abs_diff_eq!(c.lead_mm.unwrap().value, 2.0 * c.pitch_mm.unwrap().value, epsilon = 1e-12);
}

#[test]
fn a_lead_that_is_a_whole_multiple_tells_the_starts() {
    // As typed: no starts beside it, exact multiples (ISO 2904 sizes and others).
    let m = |pitch_mm: f64, lead_mm: f64| Measured {
        major_diameter_mm: Some(entered(20.0, 0.0)),
        lead_mm: Some(entered(lead_mm, 0.0)),
        ..Measured::pitch_and_angle(entered(pitch_mm, 0.0), entered(30.0, 0.0))
    };
    for (pitch, lead, starts) in [
        (4.0, 8.0, 2),
        (5.0, 10.0, 2),
        (3.0, 9.0, 3),
        (2.0, 8.0, 4),
        (INCH / 6.0, INCH / 3.0, 2),
        (4.0, 8.0001, 2),
        (4.0, 4.0, 1),
    ] {
        let c = combine(&m(pitch, lead), &Prior::default(), &[]).measured;
        let (found, probability) = c.starts.unwrap();
        assert_eq!(found, starts, "{pitch} {lead}");
        assert!(probability > 0.9, "{pitch} {lead}: {probability}");
        let ranking = rank(&c, &Prior::default());
        assert!(ranking.candidates.iter().take(1).all(|c| c.probability > 0.0));
    }
}

#[test]
fn a_chosen_standard_keeps_its_exact_pitch_and_angles() {
    let exact = Measured {
        major_diameter_mm: Some(Quantity::standard(20.0)),
        right_flank_deg: Some(Quantity::standard(15.0)),
        left_flank_deg: Some(Quantity::standard(15.0)),
        depth_mm: Some(Quantity::standard(2.25)),
        crest_flat_mm: Some(Quantity::standard(1.464)),
        pitch_mm: Some(Quantity::standard(4.0)),
        ..Measured::default()
    };
    let caliper = |length_mm| Evidence::OverThreads {
        threads: 10,
        length_mm: entered(length_mm, 0.03),
        instrument: Instrument::Caliper,
    };
    for e in [Evidence::Starts { starts: 2 }, caliper(40.02)] {
        let c = combine(&exact, &Prior::default(), std::slice::from_ref(&e));
        assert!(c.contradictions.is_empty(), "{e:?}: {:?}", c.contradictions);
        assert_eq!(c.measured.pitch_mm, exact.pitch_mm, "{e:?}");
        assert_eq!(c.measured.right_flank_deg, exact.right_flank_deg, "{e:?}");
        // What nothing new bears on stays as it was.
        assert_eq!(c.measured.depth_mm, exact.depth_mm, "{e:?}");
    }
    // A reading that does not fit it is said to contradict it.
    let c = combine(&exact, &Prior::default(), &[caliper(41.0)]);
    assert!(!c.contradictions.is_empty());
    assert_eq!(c.measured.pitch_mm, exact.pitch_mm);
}
