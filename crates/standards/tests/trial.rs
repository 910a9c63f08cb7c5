//! Trials of the ranking on invented threads.

mod support;

use support::trials::{EDGES, Outcome, Population, calibrate, trial};

/// A trial that nothing could fail would prove nothing: uncertainties stated four times too small
/// must show in its figures.
#[test]
fn the_trial_notices_uncertainties_that_are_not_honest() {
    let o = trial(300, 20_240_501, 0.25);
    println!(
        "dishonest: {} of {} in the first group, {} wrong at odds above 95 %",
        o.in_first_group,
        o.listed,
        o.sure_and_wrong.len()
    );
    assert!(o.sure_and_wrong.len() > 3, "{}", o.sure_and_wrong.len());
}

#[test]
fn held_in_trial_of_300() {
    let o = trial(300, 20_240_501, 1.0);
    println!(
        "listed: {} of {} first or in the first group; unlisted: {} of {} called none",
        o.in_first_group, o.listed, o.called_none, o.unlisted
    );
    assert!(f64::from(o.in_first_group) >= 0.97 * f64::from(o.listed), "{:#?}", o.missed);
    assert!(f64::from(o.called_none) >= 0.95 * f64::from(o.unlisted), "{:#?}", o.missed);
    assert!(o.sure_and_wrong.is_empty(), "{:#?}", o.sure_and_wrong);
}

#[test]
fn other_trials_give_the_same() {
    let mut sum = Outcome::default();
    for seed in 1..=5 {
        let o = trial(300, seed, 1.0);
        sum.listed += o.listed;
        sum.in_first_group += o.in_first_group;
        sum.unlisted += o.unlisted;
        sum.called_none += o.called_none;
        sum.sure_and_wrong.extend(o.sure_and_wrong);
        sum.missed.extend(o.missed);
    }
    println!(
        "listed: {} of {} first or in the first group; unlisted: {} of {} called none; wrong at \
         odds above 95 %: {}",
        sum.in_first_group,
        sum.listed,
        sum.called_none,
        sum.unlisted,
        sum.sure_and_wrong.len()
    );
    assert!(f64::from(sum.in_first_group) >= 0.97 * f64::from(sum.listed), "{:#?}", sum.missed);
    assert!(f64::from(sum.called_none) >= 0.95 * f64::from(sum.unlisted), "{:#?}", sum.missed);
    // Odds of 95 % and more may fail now and then, but far less often than 1 in 20.
    assert!(sum.sure_and_wrong.len() <= 7, "{:#?}", sum.sure_and_wrong);
}

/// Of the cases given 80–90 % that share is right, and so in every bin, whether sizes are as common as
/// the prior believes, as uneven as they are judged to be, or all alike.
#[test]
fn odds_are_calibrated_over_2000() {
    for (population, seed) in
        [(Population::Believed, 77), (Population::Judged, 79), (Population::Alike, 78)]
    {
        let (table, every, outside) = calibrate(2000, seed, population);
        table.print(&format!("{population:?}: first answers"));
        // Where the prior is wrong the odds may be somewhat off, and odds of one case hang together.
        let (most, most_every) = match population {
            Population::Believed => (3.0, 4.0),
            Population::Judged | Population::Alike => (4.0, f64::INFINITY),
        };
        for i in 0..8 {
            let bin = format!("{population:?}: odds {}–{}", EDGES[i], EDGES[i + 1]);
            assert!(table.misfit(i).abs() < most, "{bin} are off by {}", table.misfit(i));
            assert!(every.misfit(i).abs() < most_every, "{bin} (all) are off");
        }
        let (seventies, eighties) = (table.share(4, 4), table.share(5, 5));
        assert!((0.60..=0.93).contains(&seventies), "{population:?} {seventies}");
        assert!((0.74..=0.97).contains(&eighties), "{population:?} {eighties}");
        assert!(table.share(7, 7) >= 0.99, "{population:?} {}", table.share(7, 7));
        assert!(outside <= 16, "{population:?}: {outside} of about 1600 outside the first group");
    }
}
