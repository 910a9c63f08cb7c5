//! Trials of the ranking on invented threads.

mod support;

use support::trials::{EDGES, Outcome, calibrate, trial};

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

#[test]
fn odds_are_calibrated_over_2000() {
    let (table, every, _) = calibrate(2000, 77, true);
    table.print("sizes as common as the prior says: first answers");
    every.print("the same: every odds given");
    for i in 0..8 {
        assert!(table.misfit(i).abs() < 3.0, "odds {}–{} are off", EDGES[i], EDGES[i + 1]);
        // Odds of one case hang together, so chance is wider here.
        assert!(every.misfit(i).abs() < 4.0, "odds {}–{} are off", EDGES[i], EDGES[i + 1]);
    }
    // Of the cases given 80–90 % about that share is right; so of all from 80 % up to 95 %.
    let share = |bins: &[(u32, u32, f64)]| {
        let n: u32 = bins.iter().map(|b| b.0).sum();
        f64::from(bins.iter().map(|b| b.1).sum::<u32>()) / f64::from(n)
    };
    let eighties = share(&table.bins[5..6]);
    assert!((0.70..=0.96).contains(&eighties), "{eighties}");
    let high = share(&table.bins[5..7]);
    assert!((0.80..=0.99).contains(&high), "{high}");
}

/// Drawn without regard to how common a size is, odds between look-alikes cannot be calibrated; the
/// groups must still hold the truth, and high odds must still be right.
#[test]
fn a_population_nobody_assumed_stays_in_the_first_group() {
    let (table, _, outside) = calibrate(2000, 78, false);
    table.print("every family and size alike");
    println!("outside the first group: {outside} of about 1600");
    assert!(outside <= 32, "{outside} outside the first group");
    let (n, right, _) = table.bins[7];
    assert!(f64::from(right) >= 0.99 * f64::from(n), "{right} of {n} right above 95 %");
}
