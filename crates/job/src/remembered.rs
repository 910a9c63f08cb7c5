//! What a picture told when it was last measured: kept in the job, so that the work goes on while the
//! picture is not there.
//!
//! Left out is what belongs on the picture: outlines, residuals, the edges of the bar.

use crate::file;
use crate::findings::{Findings, Part, Remark};
use crate::job::Job;
use crate::record::{ChoiceRecord, FormRecord, StraightRecord, ViewRecord, told};
use fit::{BudgetLine, FORM_PARAMETERS, Measurement, Tooth};
use form::shadow::Edge;
use form::{Hand, Quantity, Sentence};
use picture::Drawn;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::sync::Arc;

/// What a job remembers of its picture. It is no part of what was said: two jobs that say the same are
/// the same job, whatever either remembers.
#[derive(Debug, Clone, Default)]
pub struct Memory(Option<Arc<Remembered>>);

impl PartialEq for Memory {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// A measurement without what is drawn over the picture.
#[derive(Debug, Clone)]
pub struct Remembered {
    /// Digest of what was measured: see [`file::measured_of`].
    of: String,
    /// Size of the picture, px.
    pub(crate) size_px: (usize, usize),
    /// How its outlines are drawn.
    pub(crate) drawn: Drawn,
    /// What was found.
    pub(crate) measurement: Arc<Measurement>,
    /// What was to be known of it.
    pub(crate) remarks: Vec<Remark>,
}

impl Memory {
    /// What is to be remembered of a measurement just made of `job`'s picture; nothing where there is
    /// none.
    pub(crate) fn of(job: &Job, found: &Findings) -> Self {
        let memory = || {
            Some(Remembered {
                of: file::measured_of(job),
                size_px: found.size_px?,
                drawn: found.drawn?,
                measurement: Arc::clone(found.measurement.as_ref()?),
                remarks: found
                    .warnings
                    .iter()
                    .filter(|w| (Part::Picture..=Part::Form).contains(&w.part))
                    .cloned()
                    .collect(),
            })
        };
        Self(memory().map(Arc::new))
    }

    /// Whether anything is remembered.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_none()
    }

    /// What was measured with all that `job` says of picture, bar, thread and view; `None` where it says
    /// something else by now.
    pub(crate) fn for_job(&self, job: &Job) -> Option<&Remembered> {
        self.0.as_deref().filter(|r| r.of == file::measured_of(job))
    }

    pub(crate) fn to_file(&self) -> Option<Value> {
        let remembered = self.0.as_ref()?;
        serde_json::to_value(RememberedFile::of(remembered)).ok()
    }

    /// From a job file. What cannot be read is forgotten: it is found again in the picture.
    pub(crate) fn from_file(value: Option<&Value>) -> Self {
        let read = |v: &Value| serde_json::from_value::<RememberedFile>(v.clone()).ok();
        Self(value.and_then(read).and_then(RememberedFile::whole).map(Arc::new))
    }
}

/// What the job remembers of its picture, where that is not there.
pub(crate) fn recall(job: &Job, out: &mut Findings) {
    if job.picture.is_none() || job.memory.is_empty() {
        return;
    }
    let Some(remembered) = job.memory.for_job(job) else {
        out.troubles.push(Remark::new(
            Part::Picture,
            PICTURE_AWAY,
            "the picture is not there, and what was measured in it was measured with other entries: \
             bar, thread or view has been changed since. Take that back, or open the picture from \
             where it is now.",
        ));
        return;
    };
    out.size_px = Some(remembered.size_px);
    out.drawn = Some(remembered.drawn);
    out.warnings.push(Remark::new(
        Part::Picture,
        PICTURE_AWAY,
        "the picture is not there: the numbers are those measured when it last was. Bar, outline and \
         view cannot be looked at again until it is opened from where it is now.",
    ));
    out.warnings.extend(remembered.remarks.iter().cloned());
    out.measurement = Some(Arc::clone(&remembered.measurement));
    out.recalled = true;
    out.memory = job.memory.clone();
}

/// Code of what is said where the job's picture is not there and its measurement is remembered.
pub const PICTURE_AWAY: &str = "picture-away";

/// Order of the matrix of correlations.
const N: usize = FORM_PARAMETERS.len();

#[derive(Serialize, Deserialize)]
struct RememberedFile {
    /// What it was measured of: SHA-256 of what the job said then.
    of: String,
    size_px: [usize; 2],
    drawn: DrawnFile,
    px_per_mm: Quantity,
    view: ViewRecord,
    form: FormRecord,
    diameters_at_px: [f64; 2],
    /// Rows in the order of [`FORM_PARAMETERS`].
    correlation: [[f64; N]; N],
    starts: Option<ChoiceRecord<u32>>,
    hand: Option<ChoiceRecord<Hand>>,
    straight_reading: Option<StraightRecord>,
    teeth: Vec<ToothFile>,
    budget: Vec<BudgetFile>,
    remarks: Vec<RemarkFile>,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum DrawnFile {
    Shadow,
    Line,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum EdgeFile {
    Upper,
    Lower,
}

#[derive(Serialize, Deserialize)]
struct ToothFile {
    edge: EdgeFile,
    number: i32,
    at_px: [f64; 2],
    #[serde(serialize_with = "told")]
    pitch_error_mm: Option<Quantity>,
    #[serde(serialize_with = "told")]
    right_wear_mm: Option<Quantity>,
    #[serde(serialize_with = "told")]
    left_wear_mm: Option<Quantity>,
}

#[derive(Serialize, Deserialize)]
struct BudgetFile {
    quantity: String,
    source: String,
    u: f64,
    remedy: Option<String>,
}

#[derive(Serialize, Deserialize)]
struct RemarkFile {
    part: PartFile,
    code: String,
    /// The whole sentence, its lengths in mm.
    text: String,
    /// The same in parts, where there are lengths in it; not in files from before there were parts, whose
    /// sentence stays as it was written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    parts: Option<Vec<form::Part>>,
    at_px: Option<[f64; 4]>,
}

/// The parts that look at the picture.
#[derive(Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum PartFile {
    Picture,
    Bar,
    Thread,
    Form,
}

impl RememberedFile {
    fn of(r: &Remembered) -> Self {
        let m = &r.measurement;
        Self {
            of: r.of.clone(),
            size_px: [r.size_px.0, r.size_px.1],
            drawn: match r.drawn {
                Drawn::Shadow => DrawnFile::Shadow,
                Drawn::Line => DrawnFile::Line,
            },
            px_per_mm: m.px_per_mm,
            view: ViewRecord::of(m.view),
            form: FormRecord::of(m.form),
            diameters_at_px: [m.diameters_at_px.0, m.diameters_at_px.1],
            // What hangs together with nothing that is known has no number, and is written as nought.
            correlation: m.correlation.map(|row| row.map(|c| if c.is_finite() { c } else { 0.0 })),
            starts: m.starts.map(ChoiceRecord::of),
            hand: m.hand.map(ChoiceRecord::of),
            straight_reading: m.straight.map(StraightRecord::of),
            teeth: m.teeth.iter().map(ToothFile::of).collect(),
            budget: m
                .budget
                .iter()
                .filter(|b| b.u.is_finite())
                .map(|b| BudgetFile {
                    quantity: b.quantity.clone(),
                    source: b.source.clone(),
                    u: b.u,
                    remedy: b.remedy.clone(),
                })
                .collect(),
            remarks: r.remarks.iter().filter_map(RemarkFile::of).collect(),
        }
    }

    fn whole(self) -> Option<Remembered> {
        let measurement = Measurement {
            px_per_mm: self.px_per_mm,
            view: self.view.found(),
            form: self.form.found(),
            diameters_at_px: (self.diameters_at_px[0], self.diameters_at_px[1]),
            correlation: self.correlation,
            starts: self.starts.map(ChoiceRecord::chosen),
            hand: self.hand.map(ChoiceRecord::chosen),
            shadow_px: Vec::new(),
            section_px: Vec::new(),
            bar_px: Vec::new(),
            residuals: Vec::new(),
            straight: self.straight_reading.map(StraightRecord::read),
            teeth: self.teeth.into_iter().map(ToothFile::tooth).collect(),
            budget: self
                .budget
                .into_iter()
                .map(|b| BudgetLine {
                    quantity: b.quantity,
                    source: b.source,
                    u: b.u,
                    remedy: b.remedy,
                })
                .collect(),
            warnings: Vec::new(),
        };
        measurement.form.pitch_mm.is_none_or(|q| q.value > 0.0).then(|| Remembered {
            of: self.of,
            size_px: (self.size_px[0], self.size_px[1]),
            drawn: match self.drawn {
                DrawnFile::Shadow => Drawn::Shadow,
                DrawnFile::Line => Drawn::Line,
            },
            measurement: Arc::new(measurement),
            remarks: self.remarks.into_iter().map(RemarkFile::remark).collect(),
        })
    }
}

impl ToothFile {
    fn of(t: &Tooth) -> Self {
        Self {
            edge: match t.edge {
                Edge::Upper => EdgeFile::Upper,
                Edge::Lower => EdgeFile::Lower,
            },
            number: t.number,
            at_px: [t.at_px.0, t.at_px.1],
            pitch_error_mm: Some(t.pitch_error_mm),
            right_wear_mm: Some(t.right_wear_mm),
            left_wear_mm: Some(t.left_wear_mm),
        }
    }

    fn tooth(self) -> Tooth {
        // What could not be told of a tooth has no bounds.
        let known =
            |q: Option<Quantity>| q.unwrap_or_else(|| Quantity::measured(0.0, f64::INFINITY));
        Tooth {
            edge: match self.edge {
                EdgeFile::Upper => Edge::Upper,
                EdgeFile::Lower => Edge::Lower,
            },
            number: self.number,
            at_px: (self.at_px[0], self.at_px[1]),
            pitch_error_mm: known(self.pitch_error_mm),
            right_wear_mm: known(self.right_wear_mm),
            left_wear_mm: known(self.left_wear_mm),
        }
    }
}

impl RemarkFile {
    fn of(r: &Remark) -> Option<Self> {
        let part = match r.part {
            Part::Picture => PartFile::Picture,
            Part::Bar => PartFile::Bar,
            Part::Thread => PartFile::Thread,
            Part::Form => PartFile::Form,
            _ => return None,
        };
        let at_px = r.at_px.map(|(x, y, w, h)| [x, y, w, h]);
        let parts = r.text.has_length().then(|| r.text.parts().to_vec());
        Some(Self { part, code: r.code.clone(), text: r.text.to_string(), parts, at_px })
    }

    fn remark(self) -> Remark {
        // The text is what was said; parts that say something else are not its parts.
        let parts = self.parts.map(Sentence::from_iter).filter(|p| p.to_string() == self.text);
        Remark {
            part: match self.part {
                PartFile::Picture => Part::Picture,
                PartFile::Bar => Part::Bar,
                PartFile::Thread => Part::Thread,
                PartFile::Form => Part::Form,
            },
            code: self.code,
            text: parts.unwrap_or_else(|| self.text.into()),
            at_px: self.at_px.map(|[x, y, w, h]| (x, y, w, h)),
        }
    }
}
