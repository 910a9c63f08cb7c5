//! Evidence beside the picture: kept in the file, taken back, combined, contradicted, rounded.

use approx::assert_abs_diff_eq;
use form::{Quantity, Source};
use job::{
    FormatError, History, Job, ROUNDINGS, ReadingSaid, Standing, evaluate, from_text, identify,
    to_text,
};
use standards::{
    Evidence, EvidenceKind, Feature, Instrument, Measured, Region, Rounding, System, Verdict,
};

fn caliper(threads: u32, length_mm: f64, u: f64) -> ReadingSaid {
    ReadingSaid::new(Evidence::OverThreads {
        threads,
        length_mm: Quantity::entered(length_mm, u),
        instrument: Instrument::Caliper,
    })
}

fn travel(turns: f64, travel_mm: f64, u: f64) -> ReadingSaid {
    ReadingSaid::new(Evidence::Travel { turns, travel_mm: Quantity::entered(travel_mm, u) })
}

fn every_kind() -> Vec<ReadingSaid> {
    let q = |v| Quantity::entered(v, 0.01);
    let mut all: Vec<ReadingSaid> = [
        Evidence::Travel { turns: 10.0, travel_mm: q(25.0) },
        Evidence::DialTurn { divisions: 100.0, division_mm: 0.025 },
        Evidence::OverThreads { threads: 8, length_mm: q(20.0), instrument: Instrument::Rule },
        Evidence::Count { threads: Quantity::entered(10.0, 0.25), length_mm: 25.4 },
        Evidence::PitchGauge { pitch_mm: 2.5, included_deg: 60.0, teeth: 8, fits: false },
        Evidence::Major { major_mm: q(20.0) },
        Evidence::Minor { minor_mm: q(17.0) },
        Evidence::OverWires { over_mm: q(22.0), wire_mm: 1.443 },
        Evidence::Taper { taper: q(0.0625) },
        Evidence::Starts { starts: 2 },
        Evidence::Dials { system: System::Inch },
        Evidence::Machine { region: Some(Region::Britain), year: Some(1938) },
    ]
    .map(ReadingSaid::new)
    .to_vec();
    all.push(caliper(10, 25.01, 0.0));
    all[0].note = "tailstock quill, both ways".into();
    all
}

/// A coarse picture of a thread whose pitch is 2.5 mm or 10 threads per inch.
fn coarse() -> Measured {
    Measured {
        pitch_mm: Some(Quantity::measured(2.52, 0.03)),
        right_flank_deg: Some(Quantity::measured(30.0, 0.7)),
        left_flank_deg: Some(Quantity::measured(30.0, 0.7)),
        depth_mm: Some(Quantity::measured(1.53, 0.05)),
        crest_flat_mm: Some(Quantity::measured(0.32, 0.05)),
        major_diameter_mm: Some(Quantity::measured(19.6, 0.5)),
        ..Measured::default()
    }
}

#[test]
fn the_job_file_keeps_every_kind_and_the_choice() {
    let mut job =
        Job { evidence: every_kind(), rounding: Rounding::RoundNumbers, ..Job::default() };
    assert_eq!(from_text(&to_text(&job, None), None).unwrap(), job);
    // A table that is still being filled in is kept too.
    job.evidence = EvidenceKind::ALL.map(ReadingSaid::blank).to_vec();
    assert_eq!(from_text(&to_text(&job, None), None).unwrap(), job);
}

#[test]
fn files_written_before_there_was_evidence_open_and_released_ones_stay_readable() {
    let before = include_str!("data/version-1.flanklight.json");
    let job = from_text(before, None).unwrap();
    assert!(job.evidence.is_empty());
    assert_eq!(job.rounding, Rounding::AsMeasured);
    // The names in this file are the format's; it must not be edited to suit the program.
    let with = include_str!("data/version-1-evidence.flanklight.json");
    let job = from_text(with, None).unwrap();
    assert_eq!(job.evidence, every_kind());
    assert_eq!(job.rounding, Rounding::NearestStandard);
}

#[test]
fn evidence_nobody_knows_is_refused_rather_than_dropped() {
    let text = r#"{"schema": "flanklight/job/1", "evidence": [{"kind": "weighed", "grams": 3}]}"#;
    let e = from_text(text, None).unwrap_err();
    assert!(matches!(e, FormatError::Field { field: "line of evidence", .. }), "{e}");
    assert!(e.to_string().contains("weighed"), "{e}");
}

#[test]
fn a_reading_is_entered_and_taken_back() {
    let mut history = History::new(Job::default());
    history.edit("enter evidence", |j| j.evidence.push(caliper(10, 25.0, 0.03)));
    history.edit("correct evidence", |j| j.evidence[0] = caliper(10, 25.4, 0.03));
    history.edit("round", |j| j.rounding = Rounding::RoundNumbers);
    assert_eq!(history.undo().as_deref(), Some("round"));
    assert_eq!(history.now().rounding, Rounding::AsMeasured);
    history.undo();
    assert_eq!(history.now().evidence, [caliper(10, 25.0, 0.03)]);
    history.undo();
    assert!(history.now().evidence.is_empty());
    history.redo();
    assert_eq!(history.now().evidence, [caliper(10, 25.0, 0.03)]);
}

#[test]
fn evidence_settles_what_the_picture_cannot() {
    let mut job = Job::default();
    let (alone, odds) = identify(&job, &coarse());
    assert_eq!(odds.verdict, Verdict::CannotTell);
    assert!(!alone.next.is_empty());
    for (length_mm, micrometer, wanted) in
        [(50.0, 19.90, "M20 x 2.5"), (50.80, 18.97, "3/4-10 UNC")]
    {
        job.evidence = vec![
            caliper(20, length_mm, 0.03),
            ReadingSaid::new(Evidence::Major { major_mm: Quantity::entered(micrometer, 0.0) }),
        ];
        let (identity, odds) = identify(&job, &coarse());
        assert_eq!(odds.verdict, Verdict::Named);
        assert_eq!(odds.candidates[0].designation, wanted);
        assert!(identity.disagreement.is_none(), "{:?}", identity.disagreement);
        let pitch = identity.estimates.iter().find(|e| e.feature == Feature::Pitch).unwrap();
        // By hand: the mean weighted with 1/0.03² for the picture and 1/0.0015² for the caliper.
        let (a, b) = (0.03f64.powi(-2), 0.0015f64.powi(-2));
        let by_hand = (2.52 * a + length_mm / 20.0 * b) / (a + b);
        assert_abs_diff_eq!(pitch.together.value, by_hand, epsilon = 1e-9);
        assert_abs_diff_eq!(pitch.together.u, (a + b).powf(-0.5), epsilon = 1e-9);
        assert_eq!(pitch.picture.unwrap().value, 2.52);
        let says = identity.readings[0].says.unwrap();
        assert_eq!(says.0, Feature::Pitch);
        assert_abs_diff_eq!(says.1.value, length_mm / 20.0, epsilon = 1e-12);
        assert_eq!(identity.readings[0].standing, Standing::Agrees);
        assert_abs_diff_eq!(identity.readings[0].expected.unwrap(), 2.52, epsilon = 1e-9);
    }
}

#[test]
fn the_reading_that_disagrees_is_named() {
    let job = Job {
        evidence: vec![caliper(20, 50.0, 0.03), travel(10.0, 25.0, 0.02), caliper(10, 27.5, 0.03)],
        ..Job::default()
    };
    let (identity, _) = identify(&job, &coarse());
    let disagreement = identity.disagreement.unwrap();
    assert!(disagreement.by_chance < 0.01);
    assert!(
        disagreement.sentences[0].to_string().contains("caliper over 10 threads"),
        "{disagreement:?}"
    );
    assert_eq!(identity.readings[2].standing, Standing::Doubted { sole: true });
    assert_eq!(identity.readings[0].standing, Standing::Agrees);
    assert!(identity.readings[2].in_u.unwrap() > 20.0);
}

#[test]
fn starts_are_lead_by_pitch() {
    for (lead_mm, starts) in [(2.5, 1), (5.0, 2), (7.5, 3)] {
        let job = Job {
            evidence: vec![travel(10.0, 10.0 * lead_mm, 0.03), caliper(10, 25.0, 0.03)],
            ..Job::default()
        };
        let (identity, odds) = identify(&job, &coarse());
        let found = identity.starts.unwrap();
        assert_eq!(found.starts, starts);
        assert!(found.probability > 0.99);
        assert_abs_diff_eq!(found.ratio.value, f64::from(starts), epsilon = 0.01);
        assert!(found.ratio.u < 0.01 && found.ratio.u > 0.0);
        assert_eq!(odds.candidates[0].starts, starts);
    }
}

#[test]
fn what_cannot_be_used_says_so_and_what_only_shifts_odds_too() {
    let job = Job {
        evidence: vec![
            ReadingSaid::blank(EvidenceKind::Caliper),
            ReadingSaid::new(Evidence::Dials { system: System::Metric }),
            ReadingSaid::new(Evidence::Major { major_mm: Quantity::entered(-3.0, 0.0) }),
        ],
        ..Job::default()
    };
    let (identity, odds) = identify(&job, &coarse());
    let Standing::NotUsed(why) = &identity.readings[0].standing else {
        unreachable!("{:?}", identity.readings[0])
    };
    assert!(why.to_string().contains("0 mm is outside 0.05 to 500 mm"), "{why}");
    assert_eq!(identity.readings[1].standing, Standing::Belief);
    assert!(matches!(identity.readings[2].standing, Standing::NotUsed(_)));
    let odds_of = |r: &standards::Ranking, name: &str| {
        r.candidates.iter().find(|c| c.designation == name).map_or(0.0, |c| c.probability)
    };
    let (_, plain) = identify(&Job::default(), &coarse());
    assert!(odds_of(&odds, "M20 x 2.5") > odds_of(&plain, "M20 x 2.5"));
    assert!(odds_of(&odds, "3/4-10 UNC") < odds_of(&plain, "3/4-10 UNC"));
}

#[test]
fn a_diameter_told_to_the_fit_and_entered_again_counts_once() {
    let micrometer = Quantity::entered(19.9, 0.01);
    let fitted = Measured { major_diameter_mm: Some(Quantity::measured(19.9, 0.01)), ..coarse() };
    let mut job = Job {
        evidence: vec![ReadingSaid::new(Evidence::Major { major_mm: micrometer })],
        ..Job::default()
    };
    let u = |job: &Job| identify(job, &fitted).0.combined.measured.major_diameter_mm.unwrap().u;
    // Two instruments: better than either.
    assert_abs_diff_eq!(u(&job), 0.01 / 2f64.sqrt(), epsilon = 1e-9);
    job.thread.major_diameter_mm = Some(micrometer);
    assert_abs_diff_eq!(u(&job), 0.01, epsilon = 1e-9);
}

fn nut_of_25() -> Job {
    let mut job = Job::default();
    job.nut.length_mm = Some(25.0);
    job
}

#[test]
fn every_rounding_says_what_it_costs() {
    let (identity, odds) = identify(&nut_of_25(), &coarse());
    assert_eq!(identity.roundings.len(), ROUNDINGS.len());
    let form = |r: Rounding| identity.rounding(r).unwrap().form.clone().unwrap();
    assert_eq!(form(Rounding::AsMeasured).play_mm, 0.0);
    let round = form(Rounding::RoundNumbers);
    // 2.52 mm is nearer 2.5 mm than 10 threads per inch (2.54 mm); over 25 mm that is 0.198 mm.
    assert_abs_diff_eq!(round.pitch_mm, 2.5, epsilon = 1e-12);
    assert_abs_diff_eq!(round.play_from_pitch_mm, 25.0 * (1.0 - 2.5 / 2.52), epsilon = 1e-9);
    let standard = form(Rounding::NearestStandard);
    assert_abs_diff_eq!(standard.pitch_mm, odds.candidates[0].pitch_mm, epsilon = 1e-9);
    for offer in &identity.roundings {
        assert!(offer.text().to_string().contains("play"), "{}", offer.text());
    }
    let job = Job { beside: Some("3/4-10 UNC".into()), ..nut_of_25() };
    let (identity, _) = identify(&job, &coarse());
    let chosen = identity.rounding(Rounding::NearestStandard).unwrap().form.clone().unwrap();
    assert_abs_diff_eq!(chosen.pitch_mm, 2.54, epsilon = 1e-9);
    // One that the thread cannot be is said to be none, not replaced by another.
    let job = Job { beside: Some("M24 x 3".into()), ..nut_of_25() };
    let (identity, _) = identify(&job, &coarse());
    let why = identity.rounding(Rounding::NearestStandard).unwrap().text();
    assert!(
        why.to_string().contains("M24 x 3 is not among") && why.to_string().contains("M20 x 2.5"),
        "{why}"
    );
    assert!(identity.rounding(Rounding::RoundNumbers).unwrap().form.is_ok());
}

#[test]
fn without_a_picture_evidence_alone_is_judged() {
    let job = Job {
        evidence: vec![
            caliper(20, 50.0, 0.03),
            ReadingSaid::new(Evidence::Major { major_mm: Quantity::entered(19.9, 0.02) }),
            ReadingSaid::new(Evidence::PitchGauge {
                pitch_mm: 2.5,
                included_deg: 60.0,
                teeth: 8,
                fits: true,
            }),
        ],
        ..Job::default()
    };
    let findings = evaluate(&job, None, &|_| true).unwrap();
    let identity = findings.identity.unwrap();
    let ranking = findings.ranking.unwrap();
    assert_eq!(ranking.candidates[0].designation, "M20 x 2.5");
    let offer = identity.rounding(Rounding::RoundNumbers).unwrap();
    assert!(
        offer.text().to_string().contains("not measured: what is usual taken"),
        "{}",
        offer.text()
    );
    assert!(evaluate(&Job::default(), None, &|_| true).unwrap().identity.is_none());
    assert_eq!(Quantity::entered(1.0, 0.0).source, Source::Entered);
}

/// A worn Tr 24 x 5 as somebody typed it in, its pitch 0.2 % long.
fn typed() -> Job {
    let mut job = nut_of_25();
    let q = |v: f64, u: f64| Some(Quantity::entered(v, u));
    job.form.pitch_mm = q(5.01, 0.004);
    job.form.right_flank_deg = q(15.1, 0.1);
    job.form.left_flank_deg = q(15.2, 0.1);
    job.form.depth_mm = q(2.7, 0.02);
    job.form.crest_flat_mm = q(1.78, 0.01);
    job.thread.major_diameter_mm = q(23.95, 0.02);
    job.nut.play_mm = Quantity::entered(0.08, 0.0);
    job
}

#[test]
fn rounding_changes_the_nut_and_its_cost_is_in_its_play() {
    let found = |rounding| {
        let job = Job { rounding, ..typed() };
        evaluate(&job, None, &|_| true).unwrap()
    };
    let measured = found(Rounding::AsMeasured).nut.unwrap();
    assert_abs_diff_eq!(measured.pitch_mm.value, 5.01, epsilon = 1e-12);
    assert_abs_diff_eq!(measured.axial_play_mm.value, 0.08, epsilon = 1e-9);
    for (rounding, name) in
        [(Rounding::NearestStandard, "Tr 24 x 5"), (Rounding::RoundNumbers, "round numbers")]
    {
        let findings = found(rounding);
        let offer = findings.identity.as_ref().unwrap().rounding(rounding).unwrap().clone();
        let form = offer.form.clone().unwrap();
        let nut = findings.nut.as_ref().unwrap();
        assert_abs_diff_eq!(nut.pitch_mm.value, 5.0, epsilon = 1e-9);
        assert_abs_diff_eq!(nut.right_flank_deg.value, 15.0, epsilon = 1e-9);
        // 0.2 % of 25 mm, by hand.
        assert_abs_diff_eq!(form.play_from_pitch_mm, 25.0 * (1.0 - 5.0 / 5.01), epsilon = 1e-9);
        // The groove is wider than the rounded ridge by the play asked for and by what the rounding
        // spoils and the ridge of the standard does not already give.
        let extra =
            form.play_from_pitch_mm + form.play_from_flanks_mm - form.play_from_thickness_mm;
        let screw = findings.screw.as_ref().unwrap();
        assert_abs_diff_eq!(screw.thickest_extra_mm.value, extra.max(0.0), epsilon = 1e-12);
        let said = findings.warnings.iter().find(|w| w.code == "rounded").unwrap();
        assert!(
            said.text.to_string().contains(name) && said.text.to_string().contains("axial play"),
            "{}",
            said.text
        );
        // That is no wear, and is not said to be; what a gauge found at the ends comes on top.
        assert!(findings.warnings.iter().all(|w| w.code != "worn-screw"));
        let mut gauged = Job { rounding, ..typed() };
        gauged.nut.unworn_thicker_mm = Some(Quantity::entered(0.05, 0.01));
        let gauged = evaluate(&gauged, None, &|_| true).unwrap();
        let thicker = gauged.screw.unwrap().thickest_extra_mm.value;
        assert_abs_diff_eq!(thicker, 0.05 + extra.max(0.0), epsilon = 1e-12);
        assert!(gauged.warnings.iter().any(|w| w.code == "worn-screw"));
        let tool = findings.tool.as_ref().unwrap();
        assert_abs_diff_eq!(tool.right.angle_deg.value, 15.0, epsilon = 0.2);
    }
    // A standard far from this thread is refused, and the nut stays as measured.
    let mut far = Job { rounding: Rounding::NearestStandard, ..typed() };
    far.form.pitch_mm = Some(Quantity::entered(4.7, 0.004));
    let findings = evaluate(&far, None, &|_| true).unwrap();
    let said = findings.warnings.iter().find(|w| w.code == "not-rounded").unwrap();
    assert!(said.text.to_string().contains("too far away to round to"), "{}", said.text);
    assert_abs_diff_eq!(findings.nut.unwrap().pitch_mm.value, 4.7, epsilon = 1e-12);
}

#[test]
fn evidence_changes_the_nut_unless_the_readings_disagree() {
    let nut = |evidence| {
        let job = Job { evidence, ..typed() };
        evaluate(&job, None, &|_| true).unwrap().nut.unwrap()
    };
    let alone = nut(Vec::new());
    // Over 20 threads 100.04 ± 0.02: 5.002 ± 0.001 outweighs 5.01 ± 0.004 sixteen times, by hand
    // (16 · 5.002 + 5.010) / 17.
    let together = nut(vec![caliper(20, 100.04, 0.02)]);
    assert_abs_diff_eq!(together.pitch_mm.value, (16.0 * 5.002 + 5.010) / 17.0, epsilon = 1e-9);
    assert!(together.pitch_mm.u < 0.3 * alone.pitch_mm.u);
    assert_eq!(alone.pitch_mm.value, 5.01);
    // A mean of a right and a wrong number fits nothing.
    let contradicted = nut(vec![caliper(20, 95.0, 0.02)]);
    assert_eq!(contradicted.pitch_mm.value, 5.01);
    // A rounding that cannot be had does not take the evidence away.
    let mut job = Job { evidence: vec![caliper(20, 100.04, 0.02)], ..typed() };
    job.rounding = Rounding::NearestStandard;
    job.beside = Some("M24 x 3".into());
    let findings = evaluate(&job, None, &|_| true).unwrap();
    assert_abs_diff_eq!(
        findings.nut.unwrap().pitch_mm.value,
        together.pitch_mm.value,
        epsilon = 1e-9
    );
}
