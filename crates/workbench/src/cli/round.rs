//! What nut and tool are made to: the form as measured, a standard, or round numbers.

use super::failure::Failure;
use super::text;
use clap::{Args, ValueEnum};
use form::{Quantity, Units};
use job::{Identity, Job};
use standards::{Rounded, Rounding};

/// What was asked on the command line.
#[derive(Debug, Clone, Args)]
pub struct RoundTo {
    /// Make it to the form as measured, to a standard, or to round numbers: pitch to 0.25 mm or a
    /// whole number of threads per inch, flanks to half a degree. What that costs in play is said.
    #[arg(long, value_enum)]
    pub round: Option<RoundWanted>,
    /// Which standard --round standard means, as `match` writes it; the likeliest if not given.
    #[arg(long, value_name = "DESIGNATION", requires = "round")]
    pub standard: Option<String>,
}

/// A rounding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum RoundWanted {
    /// The numbers as they are.
    AsMeasured,
    /// The numbers of a standard.
    Standard,
    /// Round numbers.
    Round,
}

impl RoundTo {
    /// Writes what was given over what the job says.
    pub fn over(&self, job: &mut Job) {
        if let Some(round) = self.round {
            job.rounding = match round {
                RoundWanted::AsMeasured => Rounding::AsMeasured,
                RoundWanted::Standard => Rounding::NearestStandard,
                RoundWanted::Round => Rounding::RoundNumbers,
            };
        }
        if self.standard.is_some() {
            job.beside.clone_from(&self.standard);
        }
    }

    /// The rounded form of the results. One that the job asks for and cannot have is `None`, with a
    /// warning among the findings.
    ///
    /// # Errors
    /// [`Failure`] when it was asked for here.
    pub fn made(&self, job: &Job, found: Option<&Identity>) -> Result<Option<Rounded>, Failure> {
        let offer = found.and_then(|i| i.rounding(job.rounding));
        match offer.map(|o| &o.form) {
            Some(Ok(form)) => Ok(Some(form.clone())),
            Some(Err(why)) if self.round.is_some() => Err(Failure::NotMeasured(why.clone())),
            _ => Ok(None),
        }
    }
}

/// A rounded form and what it costs, in columns.
#[must_use]
pub fn table(form: &Rounded, units: Units) -> String {
    let length = |mm: f64| units.plain(mm, 3);
    let what = match form.rounding {
        Rounding::AsMeasured => "The form as measured",
        Rounding::NearestStandard => "Rounded to the standard",
        Rounding::RoundNumbers => "Rounded to round numbers",
    };
    let mut rows = vec![
        ("pitch", units.plain(form.pitch_mm, 4)),
        ("right flank", format!("{:.2}°", form.right_flank_deg)),
        ("left flank", format!("{:.2}°", form.left_flank_deg)),
        ("depth", length(form.depth_mm)),
        ("crest flat", length(form.crest_flat_mm)),
    ];
    if let Some(mm) = form.major_diameter_mm {
        rows.push(("major diameter", length(mm)));
    }
    let mut out = String::new();
    if form.rounding == Rounding::AsMeasured {
        rows.push(("costs in axial play", "nothing beyond what the nut is given".into()));
    } else {
        let play = Quantity::derived(form.play_mm, form.play_u_mm);
        let ridge = form.play_from_thickness_mm;
        rows.push(("length of the nut", units.plain(form.nut_length_mm, 1)));
        rows.push(("costs in axial play", text::quantity(Some(play), false, units)));
        rows.push(("  from the pitch", length(form.play_from_pitch_mm)));
        rows.push(("  from the flanks", length(form.play_from_flanks_mm)));
        if ridge.abs() > LEAST_RIDGE_MM {
            let than = if ridge > 0.0 { "thinner" } else { "thicker" };
            rows.push(("  ridge beside the standard's", format!("{} {than}", length(ridge.abs()))));
        }
        if ridge < -LEAST_RIDGE_MM {
            out = text::bullet(
                "the measured ridge is thicker than the standard's: a nut to the standard itself \
                 will not go on, and one made here is given that much more room",
            );
        }
    }
    if !form.assumed.is_empty() && form.rounding != Rounding::AsMeasured {
        let whose = match form.rounding {
            Rounding::NearestStandard => "the standard's",
            _ => "what is usual",
        };
        let what = form.assumed.join(" and ");
        out.push_str(&text::bullet(&format!("{what} not given: {whose} taken")));
    }
    let gap = if out.is_empty() { "" } else { "\n" };
    format!("{what}\n\n{}{gap}{out}", text::rows(&rows))
}

/// Ridges that differ by less are alike, mm.
const LEAST_RIDGE_MM: f64 = 0.005;
