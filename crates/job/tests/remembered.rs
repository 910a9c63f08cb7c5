//! A job works on with what was measured while its picture is not there, and with that alone.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use form::{Quantity, Units};
use job::{Findings, Job, PICTURE_AWAY, Part, evaluate, from_text, to_text};
use serde_json::json;

fn job() -> Job {
    from_text(include_str!("data/version-1-remembered.flanklight.json"), None).unwrap()
}

fn findings(job: &Job) -> Findings {
    evaluate(job, None, &|_| true).unwrap()
}

#[test]
fn what_was_measured_stands_and_is_said_to_be_remembered() {
    let job = job();
    assert!(job.unknown.is_empty());
    let found = findings(&job);
    assert!(found.recalled && found.screw.is_some() && found.nut.is_some());
    let pitch = found.measurement.as_ref().unwrap().form.pitch_mm.unwrap();
    // The slit screw of the demonstration has 32 threads per inch.
    assert!((pitch.value - 25.4 / 32.0).abs() < 4.0 * pitch.u, "{pitch:?}");
    assert!(found.warnings.iter().any(|w| w.part == Part::Picture && w.code == PICTURE_AWAY));
    // What nobody said of the bar was taken for that when it was measured, and may be confirmed.
    let confirmed = Job { bar: job.bar.confirmed(), ..job.clone() };
    assert!(findings(&confirmed).recalled);
}

#[test]
fn kept_and_read_again_it_is_the_same() {
    let once = to_text(&job(), None);
    let again = to_text(&from_text(&once, None).unwrap(), None);
    assert_eq!(once, again);
    assert!(once.contains("\"remembered\""));
}

#[test]
fn what_was_said_of_it_is_said_in_the_units_of_the_job() {
    let file: serde_json::Value = serde_json::from_str(&to_text(&job(), None)).unwrap();
    // What a file says of a bar 2.5 mm off; in the second no parts are kept, in the third others.
    let parts = json!(["the bar lies ", {"mm": 2.5, "digits": {"of_mm": 1}}, " off"]);
    let others = json!(["the bar lies ", {"mm": 3.5, "digits": {"of_mm": 1}}, " off"]);
    for (parts, inch) in [
        (Some(parts), "the bar lies 0.098 in off"),
        (None, "the bar lies 2.5 mm off"),
        (Some(others), "the bar lies 2.5 mm off"),
    ] {
        let mut file = file.clone();
        let remark = &mut file["remembered"]["remarks"][0];
        remark["text"] = "the bar lies 2.5 mm off".into();
        if let Some(parts) = &parts {
            remark["parts"] = parts.clone();
        }
        let code = remark["code"].as_str().unwrap().to_owned();
        let job = from_text(&file.to_string(), None).unwrap();
        let found = findings(&job);
        let said = found.warnings.iter().find(|w| w.code == code).unwrap();
        assert_eq!(said.text.to_string(), "the bar lies 2.5 mm off");
        assert_eq!(said.text.in_units(Units::Inch), inch);
        let kept = to_text(&job, None);
        assert_eq!(kept.contains("\"parts\""), inch.ends_with("in off"), "{kept}");
        assert_eq!(to_text(&from_text(&kept, None).unwrap(), None), kept);
    }
}

#[test]
fn it_stands_for_what_was_said_then_and_for_nothing_else() {
    let changed: [fn(&mut Job); 5] = [
        |j| j.bar.width_mm = Some(Quantity::entered(5.0, 0.0)),
        |j| j.bar.shape = fit::BarShape::Round,
        |j| j.thread.starts = Some(3),
        |j| j.view = fit::ViewWanted::Parallel,
        |j| j.picture.as_mut().unwrap().sha256 = "00".into(),
    ];
    for (i, change) in changed.into_iter().enumerate() {
        let mut job = job();
        change(&mut job);
        let found = findings(&job);
        assert!(found.measurement.is_none() && !found.recalled, "{i}");
        assert_eq!(found.trouble(Part::Picture).unwrap().code, PICTURE_AWAY, "{i}");
    }
    // Play, sheets and title are no part of what was measured.
    let mut job = job();
    job.title = "another name".into();
    job.nut.play_mm = Quantity::entered(0.05, 0.0);
    assert!(findings(&job).recalled);
}
