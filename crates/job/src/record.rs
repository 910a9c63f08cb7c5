//! The result of a measurement as JSON, `flanklight/measurement/1`.

use crate::findings::{Findings, Part};
use fit::{Chosen, FormFound, Measurement, Straight, ViewFound};
use form::{Hand, Quantity};
use picture::Drawn;
use serde::{Deserialize, Serialize, Serializer};
use std::path::Path;

/// A measurement as programs read it; the field names are the format's.
#[derive(Debug, Clone, Serialize)]
#[expect(missing_docs, reason = "each name is the format's, and says quantity and unit")]
pub struct Record {
    pub schema: &'static str,
    pub picture: PictureRecord,
    pub scale: ScaleRecord,
    pub view: ViewRecord,
    pub form: FormRecord,
    /// Where in the picture the diameters of a tapered thread are those given, px.
    pub diameters_at_px: [f64; 2],
    pub starts: Option<ChoiceRecord<u32>>,
    pub hand: Option<ChoiceRecord<Hand>>,
    pub candidates: Vec<CandidateRecord>,
    pub no_standard_probability: f64,
    pub cannot_tell: Vec<Vec<String>>,
    pub straight_reading: Option<StraightRecord>,
    /// What each uncertainty is made of, the largest share first.
    pub budget: Vec<BudgetRecord>,
    /// What would make the numbers surer, the greatest gain first.
    pub remedies: Vec<RemedyRecord>,
    pub warnings: Vec<WarningRecord>,
    /// Why nothing is designed for this thread, when what it does forbids it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub refusal: Option<String>,
}

#[derive(Debug, Clone, Serialize)]
pub struct PictureRecord {
    pub file: String,
    pub width_px: usize,
    pub height_px: usize,
    pub outline: &'static str,
}

#[derive(Debug, Clone, Serialize)]
pub struct ScaleRecord {
    #[serde(serialize_with = "told")]
    pub px_per_mm: Option<Quantity>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ViewKind {
    Perspective,
    Parallel,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct ViewRecord {
    pub kind: ViewKind,
    #[serde(serialize_with = "told")]
    pub camera_distance_mm: Option<Quantity>,
    #[serde(serialize_with = "told")]
    pub tilt_deg: Option<Quantity>,
    #[serde(serialize_with = "told")]
    pub roll_deg: Option<Quantity>,
}

/// The numbers of a thread's form.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[expect(missing_docs, reason = "as in `Record`")]
pub struct FormRecord {
    #[serde(serialize_with = "told")]
    pub pitch_mm: Option<Quantity>,
    #[serde(serialize_with = "told")]
    pub lead_mm: Option<Quantity>,
    #[serde(serialize_with = "told")]
    pub right_flank_deg: Option<Quantity>,
    #[serde(serialize_with = "told")]
    pub left_flank_deg: Option<Quantity>,
    #[serde(serialize_with = "told")]
    pub included_angle_deg: Option<Quantity>,
    #[serde(serialize_with = "told")]
    pub depth_mm: Option<Quantity>,
    #[serde(serialize_with = "told")]
    pub crest_flat_mm: Option<Quantity>,
    #[serde(serialize_with = "told")]
    pub root_flat_mm: Option<Quantity>,
    #[serde(serialize_with = "told")]
    pub crest_radius_mm: Option<Quantity>,
    #[serde(serialize_with = "told")]
    pub root_radius_mm: Option<Quantity>,
    #[serde(serialize_with = "told")]
    pub major_diameter_mm: Option<Quantity>,
    #[serde(serialize_with = "told")]
    pub minor_diameter_mm: Option<Quantity>,
    #[serde(serialize_with = "told")]
    pub pitch_diameter_mm: Option<Quantity>,
    /// Change of diameter per length, positive when the right end is thicker.
    #[serde(serialize_with = "told")]
    pub taper: Option<Quantity>,
}

/// What was chosen among several, and how sure that is.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[expect(missing_docs, reason = "as in `Record`")]
pub struct ChoiceRecord<T> {
    pub value: T,
    pub probability: f64,
}

/// A candidate standard.
#[derive(Debug, Clone, Serialize)]
#[expect(missing_docs, reason = "as in `Record`")]
pub struct CandidateRecord {
    pub designation: String,
    pub family: String,
    pub probability: f64,
    pub deviations: Vec<DeviationRecord>,
}

#[derive(Debug, Clone, Serialize)]
pub struct DeviationRecord {
    pub what: String,
    pub measured: f64,
    pub standard: f64,
    pub in_u: f64,
}

/// What straight lines along the shadow would have told.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct StraightRecord {
    pub pitch_mm: f64,
    pub right_flank_deg: f64,
    pub left_flank_deg: f64,
    pub crest_flat_mm: f64,
    pub root_flat_mm: f64,
    pub major_diameter_mm: Option<f64>,
}

/// The standard uncertainty that one source alone would leave, in the unit of the quantity.
#[derive(Debug, Clone, Serialize)]
pub struct BudgetRecord {
    pub quantity: String,
    pub source: String,
    pub u: f64,
}

/// What to do, and the standard uncertainties it would leave.
#[derive(Debug, Clone, Serialize)]
pub struct RemedyRecord {
    pub advice: String,
    pub gains: Vec<GainRecord>,
}

#[derive(Debug, Clone, Serialize)]
pub struct GainRecord {
    pub quantity: String,
    pub u_now: f64,
    pub u_then: f64,
}

#[derive(Debug, Clone, Serialize)]
pub struct WarningRecord {
    pub code: String,
    pub text: String,
}

/// A quantity the data cannot tell has no finite uncertainty, and is `null`.
pub(crate) fn told<S: Serializer>(q: &Option<Quantity>, s: S) -> Result<S::Ok, S::Error> {
    q.filter(|q| q.value.is_finite() && q.u.is_finite()).serialize(s)
}

impl<T> ChoiceRecord<T> {
    pub(crate) fn of(c: Chosen<T>) -> Self {
        Self { value: c.value, probability: c.probability }
    }

    pub(crate) fn chosen(self) -> Chosen<T> {
        Chosen { value: self.value, probability: self.probability }
    }
}

impl ViewRecord {
    pub(crate) fn of(v: ViewFound) -> Self {
        Self {
            kind: if v.perspective { ViewKind::Perspective } else { ViewKind::Parallel },
            camera_distance_mm: v.camera_distance_mm,
            tilt_deg: v.tilt_deg,
            roll_deg: v.roll_deg,
        }
    }

    pub(crate) fn found(&self) -> ViewFound {
        ViewFound {
            perspective: self.kind == ViewKind::Perspective,
            camera_distance_mm: self.camera_distance_mm,
            tilt_deg: self.tilt_deg,
            roll_deg: self.roll_deg,
        }
    }
}

impl FormRecord {
    pub(crate) fn of(f: FormFound) -> Self {
        Self {
            pitch_mm: f.pitch_mm,
            lead_mm: f.lead_mm,
            right_flank_deg: f.right_flank_deg,
            left_flank_deg: f.left_flank_deg,
            included_angle_deg: f.included_angle_deg,
            depth_mm: f.depth_mm,
            crest_flat_mm: f.crest_flat_mm,
            root_flat_mm: f.root_flat_mm,
            crest_radius_mm: f.crest_radius_mm,
            root_radius_mm: f.root_radius_mm,
            major_diameter_mm: f.major_diameter_mm,
            minor_diameter_mm: f.minor_diameter_mm,
            pitch_diameter_mm: f.pitch_diameter_mm,
            taper: f.taper,
        }
    }

    pub(crate) fn found(&self) -> FormFound {
        FormFound {
            pitch_mm: self.pitch_mm,
            lead_mm: self.lead_mm,
            right_flank_deg: self.right_flank_deg,
            left_flank_deg: self.left_flank_deg,
            included_angle_deg: self.included_angle_deg,
            depth_mm: self.depth_mm,
            crest_flat_mm: self.crest_flat_mm,
            root_flat_mm: self.root_flat_mm,
            crest_radius_mm: self.crest_radius_mm,
            root_radius_mm: self.root_radius_mm,
            major_diameter_mm: self.major_diameter_mm,
            minor_diameter_mm: self.minor_diameter_mm,
            pitch_diameter_mm: self.pitch_diameter_mm,
            taper: self.taper,
        }
    }
}

impl RemedyRecord {
    fn of(r: fit::Remedy) -> Self {
        let gain =
            |g: fit::Gain| GainRecord { quantity: g.quantity, u_now: g.u_now, u_then: g.u_then };
        Self { advice: r.advice, gains: r.gains.into_iter().map(gain).collect() }
    }
}

impl StraightRecord {
    pub(crate) fn of(s: Straight) -> Self {
        Self {
            pitch_mm: s.pitch_mm,
            right_flank_deg: s.right_flank_deg,
            left_flank_deg: s.left_flank_deg,
            crest_flat_mm: s.crest_flat_mm,
            root_flat_mm: s.root_flat_mm,
            major_diameter_mm: s.major_diameter_mm,
        }
    }

    pub(crate) fn read(self) -> Straight {
        Straight {
            pitch_mm: self.pitch_mm,
            right_flank_deg: self.right_flank_deg,
            left_flank_deg: self.left_flank_deg,
            crest_flat_mm: self.crest_flat_mm,
            root_flat_mm: self.root_flat_mm,
            major_diameter_mm: self.major_diameter_mm,
        }
    }
}

impl CandidateRecord {
    /// From a candidate of a ranking.
    #[must_use]
    pub fn of(c: &standards::Candidate) -> Self {
        Self {
            designation: c.designation.clone(),
            family: c.family.to_owned(),
            probability: c.probability,
            deviations: c
                .deviations
                .iter()
                .map(|d| DeviationRecord {
                    what: d.what.to_owned(),
                    measured: d.measured,
                    standard: d.standard,
                    in_u: d.in_u,
                })
                .collect(),
        }
    }
}

impl Record {
    /// The record of findings that hold a measurement; `None` when they hold none.
    #[must_use]
    pub fn of(findings: &Findings, picture: &Path) -> Option<Self> {
        let m: &Measurement = findings.measurement.as_deref()?;
        let (width_px, height_px) = findings.size_px?;
        Some(Self {
            schema: "flanklight/measurement/1",
            picture: PictureRecord {
                file: picture.to_string_lossy().into_owned(),
                width_px,
                height_px,
                outline: match findings.drawn? {
                    Drawn::Shadow => "shadow",
                    Drawn::Line => "line",
                },
            },
            scale: ScaleRecord { px_per_mm: Some(m.px_per_mm) },
            view: ViewRecord::of(m.view),
            form: FormRecord::of(m.form),
            diameters_at_px: [m.diameters_at_px.0, m.diameters_at_px.1],
            starts: m.starts.map(ChoiceRecord::of),
            hand: m.hand.map(ChoiceRecord::of),
            candidates: findings
                .ranking
                .iter()
                .flat_map(|r| r.candidates.iter().map(CandidateRecord::of))
                .collect(),
            no_standard_probability: findings
                .ranking
                .as_ref()
                .map_or(1.0, |r| r.no_standard_probability),
            cannot_tell: findings.ranking.as_ref().map_or_else(Vec::new, |r| r.cannot_tell.clone()),
            straight_reading: m.straight.map(StraightRecord::of),
            budget: m
                .budget
                .iter()
                .filter(|b| b.u.is_finite())
                .map(|b| BudgetRecord {
                    quantity: b.quantity.clone(),
                    source: b.source.clone(),
                    u: b.u,
                })
                .collect(),
            remedies: m.remedies().into_iter().map(RemedyRecord::of).collect(),
            // What concerns the machine is said where it is asked for.
            warnings: findings
                .warnings
                .iter()
                .filter(|w| (Part::Picture..=Part::Identity).contains(&w.part))
                .map(|w| WarningRecord { code: w.code.clone(), text: w.text.to_string() })
                .collect(),
            refusal: findings.refusal.clone(),
        })
    }
}
