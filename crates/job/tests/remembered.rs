//! A job works on with what was measured while its picture is not there, and with that alone.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use form::Quantity;
use job::{Findings, Job, PICTURE_AWAY, Part, evaluate, from_text, to_text};

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
