//! Picture and further evidence together: the best estimate, the readings that disagree, what to
//! measure next, and what rounding the form would cost.
//!
//! # For who shows it
//!
//! - **Table of evidence**: one line per entry of [`Job::evidence`](crate::Job::evidence), in its
//!   order. A new line is `ReadingSaid::blank(kind)` with a kind out of
//!   [`EvidenceKind::ALL`](standards::EvidenceKind::ALL); its unread numbers are 0. Every change is an
//!   ordinary `History::edit`, so it can be undone. [`Identity::readings`] has the same length and
//!   order: [`ReadingFound::says`] is what the line says by itself (a length over 10 threads: a
//!   pitch), [`ReadingFound::expected`] what all others predict, and [`ReadingFound::standing`] whether
//!   it agrees.
//! - **Best estimate**: [`Identity::estimates`], picture beside combination.
//! - **Disagreement**: [`Identity::disagreement`] when the readings as a whole contradict each other;
//!   its sentences name the readings, and also stand among the findings' warnings (part
//!   `Identity`, code `readings-disagree`).
//! - **Odds**: [`Findings::ranking`](crate::Findings::ranking) already has the evidence in it.
//! - **What next**: [`Identity::next`], best first; [`Suggestion::text`] is a sentence and
//!   [`Suggestion::expected`] the reading each candidate predicts.
//! - **Rounding**: [`Identity::roundings`], one per choice in the order of [`ROUNDINGS`]; the choice
//!   made is [`Job::rounding`](crate::Job::rounding). Always show the text with it: it says the cost.

use crate::asked::FEATURES;
use crate::job::Job;
use form::{Quantity, Said, Sentence, Source, sentence};
use serde::{Deserialize, Serialize};
use shop::ScrewForm;
use standards::{
    Combined, Evidence, EvidenceKind, Feature, Measured, Prior, Ranking, Rounded, Rounding,
    Suggestion, combine, rank, rounded, what_next,
};
use std::sync::Arc;

/// The choices of rounding, in the order they are offered.
pub const ROUNDINGS: [Rounding; 3] =
    [Rounding::AsMeasured, Rounding::NearestStandard, Rounding::RoundNumbers];

/// One line of the table of evidence: what was found out beside the picture.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReadingSaid {
    /// What was read. Its serialised names are those of the job file.
    #[serde(flatten)]
    pub evidence: Evidence,
    /// Where, with what, by whom.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

impl ReadingSaid {
    /// A line without a note.
    #[must_use]
    pub fn new(evidence: Evidence) -> Self {
        Self { evidence, note: String::new() }
    }

    /// A line in which nothing has been read yet.
    #[must_use]
    pub fn blank(kind: EvidenceKind) -> Self {
        Self::new(kind.blank())
    }
}

/// A number before and after the evidence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Which number; its unit is in [`Feature::key`].
    pub feature: Feature,
    /// What the picture alone says.
    pub picture: Option<Quantity>,
    /// What picture and evidence say together.
    pub together: Quantity,
}

/// How a reading stands to the others.
#[derive(Debug, Clone, PartialEq)]
pub enum Standing {
    /// It is not used; a sentence says why (a number is missing, or outside its limits).
    NotUsed(Sentence),
    /// It shifts the odds only: a country, what the dials are divided in, a gauge that does not fit.
    Belief,
    /// Nothing else bears on the same number.
    Alone,
    /// It agrees with the others.
    Agrees,
    /// The readings disagree, and leaving this one out would help; `sole` when it is the only such.
    Doubted {
        /// Whether it alone stands against all others.
        sole: bool,
    },
}

/// One line of the table of evidence, judged.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingFound {
    /// The number it bears on and what it says of it by itself, lengths in mm, angles in degrees.
    pub says: Option<(Feature, Quantity)>,
    /// What all other readings say of the same number; `None` when nothing else bears on it.
    pub expected: Option<f64>,
    /// How far it lies from that, in standard uncertainties of the difference.
    pub in_u: Option<f64>,
    /// How it stands to the others.
    pub standing: Standing,
}

/// The readings as a whole contradict each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Disagreement {
    /// Probability that chance alone makes them differ so much.
    pub by_chance: f64,
    /// Sentences that name the readings to doubt, the worst first.
    pub sentences: Vec<Sentence>,
}

/// Starts as lead ÷ pitch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StartsFound {
    /// Advance per turn as read, mm.
    pub lead_mm: Quantity,
    /// Pitch by everything else, mm.
    pub pitch_mm: Quantity,
    /// Lead ÷ pitch.
    pub ratio: Quantity,
    /// The whole number.
    pub starts: u32,
    /// Probability of it.
    pub probability: f64,
}

/// A choice of rounding with what it costs, or why it cannot be had.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundingOffer {
    /// The choice.
    pub rounding: Rounding,
    /// The rounded form; the error is a sentence.
    pub form: Result<Rounded, Sentence>,
}

impl RoundingOffer {
    /// What to show beside the choice: its cost in play, or why it cannot be had.
    #[must_use]
    pub fn text(&self) -> &Sentence {
        match &self.form {
            Ok(form) => &form.text,
            Err(why) => why,
        }
    }
}

/// What picture and evidence say together about which thread it is.
#[derive(Debug, Clone)]
pub struct Identity {
    /// The combination in full, with every residual and χ².
    pub combined: Combined,
    /// Numbers that picture or evidence tell, in the order of [`Feature::ALL`].
    pub estimates: Vec<Estimate>,
    /// The lines of the table of evidence, in its order.
    pub readings: Vec<ReadingFound>,
    /// Whether the readings contradict each other.
    pub disagreement: Option<Disagreement>,
    /// Starts, when a lead was read apart from the pitch.
    pub starts: Option<StartsFound>,
    /// Measurements that would help most, best first; empty when nothing is in doubt.
    pub next: Vec<Suggestion>,
    /// The choices of [`ROUNDINGS`], in that order.
    pub roundings: Vec<RoundingOffer>,
}

impl Identity {
    /// The offer for a choice.
    #[must_use]
    pub fn rounding(&self, rounding: Rounding) -> Option<&RoundingOffer> {
        self.roundings.iter().find(|o| o.rounding == rounding)
    }
}

/// Identity and odds from the picture's numbers, or those typed in their place, and the job's evidence;
/// either may be empty.
#[must_use]
pub fn identify(job: &Job, picture: &Measured) -> (Identity, Arc<Ranking>) {
    let evidence: Vec<Evidence> = job.evidence.iter().map(|r| r.evidence.clone()).collect();
    let picture = &without_repeats(job, picture);
    let combined = combine(picture, &Prior::default(), &evidence);
    let together = &combined.measured;
    let ranking = rank(together, &combined.prior);
    let next = what_next(together, &ranking);
    let length_mm = job
        .nut
        .length_mm
        .or_else(|| together.major_diameter_mm.map(|d| NUT_LENGTH_OF_DIAMETER * d.value))
        .or_else(|| together.pitch_mm.map(|p| NUT_LENGTH_OF_PITCH * p.value))
        .unwrap_or(USUAL_NUT_LENGTH_MM);
    // A standard that was chosen is never quietly replaced by another.
    let beside = match &job.beside {
        None => Ok(ranking.candidates.first()),
        Some(name) => match ranking.candidates.iter().find(|c| c.is_called(name)) {
            Some(chosen) => Ok(Some(chosen)),
            None => Err(not_among(name, &ranking)),
        },
    };
    let offer = |rounding| {
        let form = match (rounding, &beside) {
            (Rounding::NearestStandard, Err(why)) => Err(why.clone()),
            (_, beside) => {
                let standard = beside.as_ref().ok().copied().flatten();
                rounded(together, rounding, standard, length_mm).map_err(|e| e.said())
            }
        };
        RoundingOffer { rounding, form }
    };
    let roundings = ROUNDINGS.map(offer).to_vec();
    let identity = Identity {
        estimates: estimates(picture, together),
        readings: readings(&evidence, &combined),
        disagreement: (!combined.contradictions.is_empty()).then(|| Disagreement {
            by_chance: combined.p_value,
            sentences: combined.contradictions.iter().map(|c| c.text.clone()).collect(),
        }),
        starts: starts(picture, &evidence, &combined),
        next,
        roundings,
        combined,
    };
    (identity, Arc::new(ranking))
}

/// Why a standard that was chosen cannot be rounded to.
fn not_among(name: &str, ranking: &Ranking) -> Sentence {
    let near: Vec<&str> =
        ranking.candidates.iter().take(4).map(standards::Candidate::name).collect();
    let near = if near.is_empty() { "none is".to_owned() } else { near.join(", ") };
    sentence!(
        "{} is not among the standards this thread may follow ({}): choose one of them, or keep the \
         form as measured",
        name,
        near
    )
}

/// The picture's numbers without a diameter that was told to the fit and stands in the table of
/// evidence as well: one reading counts once.
fn without_repeats(job: &Job, picture: &Measured) -> Measured {
    let told = job.thread.major_diameter_mm.map(|q| q.value);
    let repeats = |r: &ReadingSaid| match &r.evidence {
        Evidence::Major { major_mm } => told == Some(major_mm.value),
        _ => false,
    };
    let mut picture = picture.clone();
    if job.evidence.iter().any(repeats) {
        picture.major_diameter_mm = None;
    }
    picture
}

/// A nut is this long in diameters of its screw where nothing is said, as [`shop::NutRequest`] has it.
const NUT_LENGTH_OF_DIAMETER: f64 = 1.5;
/// The same in pitches, for a screw of nine pitches' diameter, where the diameter is not known.
const NUT_LENGTH_OF_PITCH: f64 = 13.5;
/// And where nothing is known, mm.
const USUAL_NUT_LENGTH_MM: f64 = 25.0;

fn estimates(picture: &Measured, together: &Measured) -> Vec<Estimate> {
    Feature::ALL
        .into_iter()
        .filter_map(|feature| {
            let found = |m: &Measured| match feature {
                Feature::IncludedAngle => m.included(),
                other => m.get(other),
            };
            Some(Estimate { feature, picture: found(picture), together: found(together)? })
        })
        .collect()
}

fn readings(evidence: &[Evidence], combined: &Combined) -> Vec<ReadingFound> {
    let judge = |(i, e): (usize, &Evidence)| {
        if let Err(wrong) = e.check() {
            let standing = Standing::NotUsed(wrong.said());
            return ReadingFound { says: None, expected: None, in_u: None, standing };
        }
        let says = e.says();
        // A gauge bears on the angle as well; what stands in the table is the pitch.
        let row = combined
            .residuals
            .iter()
            .filter(|r| r.evidence == Some(i))
            .find(|r| says.is_none_or(|(feature, _)| r.what == feature.key()));
        let doubted = combined
            .contradictions
            .iter()
            .find(|c| combined.residuals.get(c.residual).is_some_and(|r| r.evidence == Some(i)));
        let standing = match (row, doubted) {
            (_, Some(c)) => Standing::Doubted { sole: c.sole_suspect },
            (Some(r), None) if r.expected.is_some() => Standing::Agrees,
            (Some(_), None) => Standing::Alone,
            (None, None) if says.is_some() => Standing::Alone,
            (None, None) => not_in_the_sum(e, combined),
        };
        // The prediction in the unit of what the reading says, not of what was read.
        let expected = row.and_then(|r| {
            let per_read = says.map_or(1.0, |(_, q)| q.value / r.value);
            Some(r.expected? * per_read)
        });
        ReadingFound { says, expected, in_u: row.and_then(|r| r.in_u), standing }
    };
    evidence.iter().enumerate().map(judge).collect()
}

/// Evidence that made no row: either it only shifts the odds, or a note says why it could not be used.
fn not_in_the_sum(e: &Evidence, combined: &Combined) -> Standing {
    let name = e.label();
    match combined.notes.iter().find(|n| n.to_string().starts_with(&name)) {
        Some(why) => Standing::NotUsed(why.clone()),
        None => Standing::Belief,
    }
}

/// Lead by the readings of travel, pitch by everything else.
fn starts(picture: &Measured, evidence: &[Evidence], combined: &Combined) -> Option<StartsFound> {
    let is_lead = |e: &Evidence| e.says().is_some_and(|(f, _)| f == Feature::Lead);
    let usable = |e: &&Evidence| e.check().is_ok();
    let (mut weight, mut sum) = (0.0, 0.0);
    for e in evidence.iter().filter(usable).filter(|e| is_lead(e)) {
        let (_, q) = e.says()?;
        weight += q.u.powi(-2);
        sum += q.value * q.u.powi(-2);
    }
    if weight <= 0.0 {
        return None;
    }
    let lead_mm = Quantity::derived(sum / weight, weight.powf(-0.5));
    let others: Vec<Evidence> =
        evidence.iter().filter(usable).filter(|e| !is_lead(e)).cloned().collect();
    let pitch_mm = combine(picture, &Prior::default(), &others).measured.pitch_mm?;
    let ratio = lead_mm.value / pitch_mm.value;
    let u = ratio * (lead_mm.u / lead_mm.value).hypot(pitch_mm.u / pitch_mm.value);
    let (starts, probability) = combined.measured.starts?;
    Some(StartsFound { lead_mm, pitch_mm, ratio: Quantity::derived(ratio, u), starts, probability })
}

/// A number by picture and evidence together: only what the evidence moved or sharpened carries another
/// source than before.
pub(crate) fn told_together(
    old: Option<Quantity>,
    feature: Feature,
    all: &Combined,
) -> Option<Quantity> {
    match (old, all.measured.get(feature)) {
        (Some(old), Some(new)) if new.value == old.value && new.u == old.u => Some(old),
        (_, Some(new)) => Some(new),
        (old, None) => old,
    }
}

/// The screw by picture and evidence together. Readings that disagree change nothing: a nut is not cut
/// to the mean of a right and a wrong number.
#[must_use]
pub(crate) fn with_evidence(screw: &ScrewForm, all: &Combined) -> ScrewForm {
    if !all.contradictions.is_empty() {
        return screw.clone();
    }
    let with = |old: Quantity, feature| told_together(Some(old), feature, all).unwrap_or(old);
    let mut out = screw.clone();
    out.pitch_mm = with(out.pitch_mm, Feature::Pitch);
    out.right_flank_deg = with(out.right_flank_deg, Feature::RightFlank);
    out.left_flank_deg = with(out.left_flank_deg, Feature::LeftFlank);
    out.depth_mm = with(out.depth_mm, Feature::Depth);
    out.crest_flat_mm = with(out.crest_flat_mm, Feature::CrestFlat);
    out.crest_radius_mm = with(out.crest_radius_mm, Feature::CrestRadius);
    out.root_radius_mm = with(out.root_radius_mm, Feature::RootRadius);
    out.major_diameter_mm = with(out.major_diameter_mm, Feature::MajorDiameter);
    let together = &all.measured;
    if let Some((starts, probability)) = together.starts
        && probability > 0.5
    {
        out.starts = starts;
    }
    if let (Some(correlation), true) = (&together.correlation, out.correlation.is_some()) {
        out.correlation = Some(std::array::from_fn(|i| {
            std::array::from_fn(|j| correlation.between(FEATURES[i], FEATURES[j]))
        }));
    }
    let out = out.settled();
    if out.check().is_ok() { out } else { screw.clone() }
}

/// The screw the nut is made for: as measured, or rounded as the person asked. A rounded form keeps
/// what the rounding costs as extra thickness of the ridge, so that the nut still goes on the real
/// screw.
#[must_use]
pub(crate) fn rounded_screw(screw: &ScrewForm, form: &Rounded) -> ScrewForm {
    if form.rounding == Rounding::AsMeasured {
        return screw.clone();
    }
    let numbers = form.section.numbers();
    let source = match form.rounding {
        Rounding::NearestStandard => Source::Standard,
        _ => Source::Assumed,
    };
    let to = |old: Quantity, value: f64| Quantity::new(value, old.u, source);
    let extra =
        (form.play_from_pitch_mm + form.play_from_flanks_mm - form.play_from_thickness_mm).max(0.0);
    ScrewForm {
        pitch_mm: to(screw.pitch_mm, numbers.pitch_mm),
        right_flank_deg: to(screw.right_flank_deg, form.right_flank_deg),
        left_flank_deg: to(screw.left_flank_deg, form.left_flank_deg),
        depth_mm: to(screw.depth_mm, numbers.depth_mm),
        crest_flat_mm: to(screw.crest_flat_mm, numbers.crest_flat_mm),
        crest_radius_mm: to(screw.crest_radius_mm, numbers.crest_radius_mm),
        root_radius_mm: to(screw.root_radius_mm, numbers.root_radius_mm),
        major_diameter_mm: match form.major_diameter_mm {
            Some(d) => to(screw.major_diameter_mm, d),
            None => screw.major_diameter_mm,
        },
        thickest_extra_mm: Quantity::derived(
            screw.thickest_extra_mm.value + extra,
            screw.thickest_extra_mm.u,
        ),
        ..screw.clone()
    }
}
