//! The trials: threads invented, measured and ranked, and how often the answer was right.

use super::{Care, Rng, any_listed, judged_listed, made, measure, unlisted, usual_listed};
use form::Quantity;
use standards::{Family, Feature, Measured, Prior, Ranking, Size, Verdict, rank};

/// Whether a ranking names `designation`, under this or another of its names, at `index`.
fn names(ranking: &Ranking, index: usize, designation: &str) -> bool {
    ranking
        .candidates
        .get(index)
        .is_some_and(|c| c.designation == designation || c.also.iter().any(|a| a == designation))
}

fn in_first_group(ranking: &Ranking, designation: &str) -> bool {
    let group = ranking.first_group();
    ranking.candidates.iter().any(|c| {
        group.contains(&c.designation.as_str())
            && (c.designation == designation || c.also.iter().any(|a| a == designation))
    })
}

fn random_care(rng: &mut Rng) -> Care {
    let mut care = Care::of(10f64.powf(rng.between(-0.3, 1.6)));
    care.form_known = rng.even() < 0.75;
    care.diameter_known = rng.even() < 0.9;
    care.taper_known = rng.even() < 0.5;
    care.scale_rel = random_scale(rng, 0.02);
    care
}

/// Half of the measurements come from pictures, whose lengths share an error of 0.05 % up to `most`.
fn random_scale(rng: &mut Rng, most: f64) -> f64 {
    if rng.even() < 0.5 { 10f64.powf(rng.between(-3.3, most.log10())) } else { 0.0 }
}

/// What a trial of listed and unlisted threads gave.
#[derive(Default)]
pub struct Outcome {
    pub listed: u32,
    pub in_first_group: u32,
    pub unlisted: u32,
    pub called_none: u32,
    /// Wrong answers at odds above 95 %.
    pub sure_and_wrong: Vec<String>,
    pub missed: Vec<String>,
}

/// Two listed threads of any family and size for each unlisted one, measured with a care from half
/// to six times as coarse as a good picture and a scale known to 0.5 % or better: "whose uncertainty
/// allows". One power screw in four has several starts and its lead read by dials.
///
/// `honesty` 1 states the uncertainties as they are; 0.25 states a quarter of them.
pub fn trial(cases: usize, seed: u64, honesty: f64) -> Outcome {
    let mut rng = Rng(seed);
    let prior = Prior::default();
    let mut o = Outcome::default();
    for case in 0..cases {
        let mut care = Care::of(10f64.powf(rng.between(-0.3, 0.8)));
        care.scale_rel = random_scale(&mut rng, 0.005);
        let (real, truth) = if case % 3 == 2 {
            let pitch_rel = care.pitch_rel.hypot(care.scale_rel);
            (unlisted(&mut rng, care.flank_deg, pitch_rel), None)
        } else {
            let (family, size) = any_listed(&mut rng);
            let mut real = made(family, size, &mut rng);
            if family.power && rng.even() < 0.25 {
                real.starts_read = Some(rng.between(2.0, 5.0) as u32);
            }
            let starts = real.starts_read.unwrap_or(1);
            (real, Some(family.designate(size, starts, false)))
        };
        let mut measured = measure(&real, care, &mut rng);
        understate(&mut measured, honesty);
        let ranking = rank(&measured, &prior);
        let none = ranking.no_standard_probability;
        let first = ranking.candidates.first();
        let odds = first.map_or(0.0, |c| c.probability);
        let says = || {
            format!(
                "{}: none {none:.3}, first {} {odds:.3}; {real:?}",
                truth.as_deref().unwrap_or("unlisted"),
                first.map_or("", |c| c.designation.as_str())
            )
        };
        let (good, sure_and_wrong) = match truth.as_deref() {
            Some(t) => {
                o.listed += 1;
                let good = ranking.verdict != Verdict::None && in_first_group(&ranking, t);
                o.in_first_group += u32::from(good);
                (good, none > 0.95 || (odds > 0.95 && !names(&ranking, 0, t)))
            }
            None => {
                o.unlisted += 1;
                let good = ranking.verdict == Verdict::None;
                o.called_none += u32::from(good);
                (good, odds > 0.95)
            }
        };
        if !good {
            o.missed.push(says());
        }
        if sure_and_wrong {
            o.sure_and_wrong.push(says());
        }
    }
    o
}

/// States `honesty` times the uncertainties there are.
fn understate(measured: &mut Measured, honesty: f64) {
    for feature in Feature::ALL {
        if let Some(q) = measured.get(feature) {
            measured.set(feature, Some(Quantity::measured(q.value, honesty * q.u)));
        }
    }
}

/// A table of odds given against how often they were right.
#[derive(Default)]
pub struct Calibration {
    /// Per bin: cases, right ones, sum of the odds.
    pub bins: [(u32, u32, f64); 8],
    brier: f64,
    cases: u32,
}

pub const EDGES: [f64; 9] = [0.0, 0.3, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0];

impl Calibration {
    fn add(&mut self, odds: f64, right: bool) {
        let i = EDGES.iter().rposition(|e| odds >= *e).unwrap().min(7);
        self.bins[i].0 += 1;
        self.bins[i].1 += u32::from(right);
        self.bins[i].2 += odds;
        self.brier += (odds - f64::from(u8::from(right))).powi(2);
        self.cases += 1;
    }

    pub fn print(&self, title: &str) {
        println!("{title}\nodds given   cases  right  share  mean odds");
        for (i, (n, right, sum)) in self.bins.iter().enumerate() {
            let n_f = f64::from((*n).max(1));
            let share = f64::from(*right) / n_f;
            println!(
                "{:.2}–{:.2}  {n:6} {right:6}  {share:.3}  {:.3}",
                EDGES[i],
                EDGES[i + 1],
                sum / n_f
            );
        }
        println!("Brier score {:.4}", self.brier / f64::from(self.cases));
    }

    /// Share of right answers among the odds from `EDGES[first]` up to `EDGES[last + 1]`.
    pub fn share(&self, first: usize, last: usize) -> f64 {
        let bins = &self.bins[first..=last];
        let n: u32 = bins.iter().map(|b| b.0).sum();
        f64::from(bins.iter().map(|b| b.1).sum::<u32>()) / f64::from(n)
    }

    /// How far the share of right answers lies from the mean odds, in standard deviations of chance.
    pub fn misfit(&self, i: usize) -> f64 {
        let (n, right, sum) = self.bins[i];
        let n = f64::from(n);
        let mean = sum / n;
        (f64::from(right) - sum) / (n * mean * (1.0 - mean)).sqrt().max(1.0)
    }
}

/// How often each listed size is met.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Population {
    /// As the prior believes.
    Believed,
    /// As unevenly as it is judged, of which the prior believes only the square root.
    Judged,
    /// Every family alike, and every size in it.
    Alike,
}

impl Population {
    fn draw(self, rng: &mut Rng, prior: &Prior) -> (&'static Family, &'static Size) {
        match self {
            Self::Believed => usual_listed(rng, prior),
            Self::Judged => judged_listed(rng),
            Self::Alike => any_listed(rng),
        }
    }
}

/// The answers given first; every odds given; listed threads outside the first group.
pub fn calibrate(
    cases: usize,
    seed: u64,
    population: Population,
) -> (Calibration, Calibration, u32) {
    let mut rng = Rng(seed);
    let prior = Prior::default();
    let mut table = Calibration::default();
    let mut every = Calibration::default();
    let mut outside = 0;
    for _ in 0..cases {
        let care = random_care(&mut rng);
        let (real, truth) = if rng.even() < prior.no_standard {
            (unlisted(&mut rng, 0.0, 0.0), None)
        } else {
            let (family, size) = population.draw(&mut rng, &prior);
            (made(family, size, &mut rng), Some(family.designate(size, 1, false)))
        };
        let ranking = rank(&measure(&real, care, &mut rng), &prior);
        let best = ranking.candidates.first().map_or(0.0, |c| c.probability);
        let none = ranking.no_standard_probability;
        let (odds, right) = if none >= best {
            (none, truth.is_none())
        } else {
            (best, truth.as_deref().is_some_and(|t| names(&ranking, 0, t)))
        };
        table.add(odds, right);
        every.add(none, truth.is_none());
        for (i, c) in ranking.candidates.iter().enumerate() {
            every.add(c.probability, truth.as_deref().is_some_and(|t| names(&ranking, i, t)));
        }
        if let Some(t) = truth.as_deref()
            && !in_first_group(&ranking, t)
        {
            outside += 1;
        }
    }
    (table, every, outside)
}
