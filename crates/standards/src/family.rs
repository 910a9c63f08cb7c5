//! Forms (basic profiles), families (series of sizes in a form), and the diameters they give.

use crate::tolerance::Rule;
use form::{Section, SectionError, SectionNumbers};
use serde::{Deserialize, Serialize};

const MM_PER_INCH: f64 = form::units::MM_PER_INCH;

/// Which world a pitch or diameter belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum System {
    /// Millimetres.
    Metric,
    /// Inches and threads per inch.
    Inch,
}

/// Where a machine came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Region {
    /// United Kingdom and its former dominions.
    Britain,
    /// United States and Canada.
    NorthAmerica,
    /// Continental Europe.
    Europe,
    /// East and South Asia.
    Asia,
}

/// How the clearance at crest and root is reckoned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Clearance {
    /// None beyond the profile.
    #[default]
    None,
    /// `a_c` of ISO 2901 by pitch.
    Iso2901,
    /// ASME B1.5: 0.010 in on the diameter finer than 10 tpi, 0.020 in otherwise.
    Acme,
}

impl Clearance {
    /// Radial clearance at `pitch_mm`, mm.
    #[must_use]
    pub fn radial_mm(self, pitch_mm: f64) -> f64 {
        match self {
            Self::None => 0.0,
            Self::Iso2901 => match pitch_mm {
                p if p < 1.99 => 0.15,
                p if p < 5.01 => 0.25,
                p if p < 12.01 => 0.5,
                _ => 1.0,
            },
            Self::Acme if pitch_mm < 0.0999 * MM_PER_INCH => 0.005 * MM_PER_INCH,
            Self::Acme => 0.010 * MM_PER_INCH,
        }
    }
}

/// A basic profile and the external thread made to it, lengths as fractions of the pitch.
#[derive(Debug, Clone, Deserialize, Default)]
pub struct Form {
    /// Identifier in the data file.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// The standard that defines it, in short.
    pub standard: String,
    /// Where the numbers come from and which were seen.
    pub source: String,
    /// One flank angle from the normal to the axis, degrees (the loaded flank where they differ).
    pub angle_a_deg: f64,
    /// The other flank angle, degrees.
    pub angle_b_deg: f64,
    /// Crest flat between theoretical sharp corners / P.
    pub crest_flat: f64,
    /// Depth of the external thread without clearance / P.
    pub depth: f64,
    /// Clearance added to the depth.
    #[serde(default)]
    pub clearance: Clearance,
    /// Depth of the basic mating profile / P: `D1 = D - 2 engagement P`.
    pub engagement: f64,
    /// Depth of the pitch line below the crest / P: `d2 = d - 2 pitch_line P`.
    pub pitch_line: f64,
    /// Design crest radius / P.
    pub crest_radius: f64,
    /// Largest crest radius met / P.
    pub crest_radius_most: f64,
    /// Design root radius / P.
    pub root_radius: f64,
    /// Least root radius met / P.
    pub root_radius_least: f64,
    /// Largest root radius met / P.
    pub root_radius_most: f64,
    /// Spread of the external depth met on made threads / P (empirical).
    pub depth_sd: f64,
    /// Spread of one flank on threads made to class, degrees (empirical).
    pub flank_sd_deg: f64,
    /// Crest and root are arcs that use the whole flat.
    #[serde(default)]
    pub rounded: bool,
    /// Change of diameter per unit of length.
    #[serde(default)]
    pub taper: f64,
    /// Taper threads: major diameter half-way along the thread less the listed diameter, as a
    /// fraction of that diameter …
    #[serde(default)]
    pub gauge_offset_d: f64,
    /// … plus this fraction of the pitch.
    #[serde(default)]
    pub gauge_offset_p: f64,
}

impl Form {
    /// Included angle, degrees.
    #[must_use]
    pub fn included_deg(&self) -> f64 {
        self.angle_a_deg + self.angle_b_deg
    }

    /// Whether the flanks differ.
    #[must_use]
    pub fn is_asymmetric(&self) -> bool {
        (self.angle_a_deg - self.angle_b_deg).abs() > 1e-9
    }

    /// Sum of the tangents of both flank angles: how fast ridge thickness grows with depth.
    #[must_use]
    pub fn slope(&self) -> f64 {
        self.angle_a_deg.to_radians().tan() + self.angle_b_deg.to_radians().tan()
    }

    /// Depth of the external thread at maximum material, mm.
    #[must_use]
    pub fn external_depth_mm(&self, pitch_mm: f64) -> f64 {
        self.depth * pitch_mm + self.clearance.radial_mm(pitch_mm)
    }

    /// Design section of the external thread; `mirrored` puts angle a on the left flank.
    ///
    /// # Errors
    /// [`SectionError`] when the pitch is not positive.
    pub fn section(&self, pitch_mm: f64, mirrored: bool) -> Result<Section, SectionError> {
        let (right, left) = if mirrored {
            (self.angle_b_deg, self.angle_a_deg)
        } else {
            (self.angle_a_deg, self.angle_b_deg)
        };
        let mut numbers = SectionNumbers {
            pitch_mm,
            depth_mm: self.external_depth_mm(pitch_mm),
            right_flank_rad: right.to_radians(),
            left_flank_rad: left.to_radians(),
            crest_flat_mm: self.crest_flat * pitch_mm,
            crest_radius_mm: 0.0,
            root_radius_mm: 0.0,
        };
        let sharp = Section::new(numbers)?;
        // Printed radii have few digits; never let the last one ask for more than the flat holds.
        numbers.crest_radius_mm =
            (self.crest_radius * pitch_mm).min(sharp.largest_radius_mm(sharp.crest_flat_mm()));
        numbers.root_radius_mm =
            (self.root_radius * pitch_mm).min(sharp.largest_radius_mm(sharp.root_flat_mm()));
        Section::new(numbers)
    }

    /// Basic and design diameters of the size `major_mm` × `pitch_mm`.
    #[must_use]
    pub fn diameters(&self, major_mm: f64, pitch_mm: f64) -> Diameters {
        let clearance = self.clearance.radial_mm(pitch_mm);
        Diameters {
            major_mm,
            pitch_mm: major_mm - 2.0 * self.pitch_line * pitch_mm,
            external_minor_mm: major_mm - 2.0 * self.external_depth_mm(pitch_mm),
            internal_minor_mm: major_mm - 2.0 * self.engagement * pitch_mm,
            internal_major_mm: major_mm + 2.0 * clearance,
        }
    }
}

/// Basic and design diameters, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Diameters {
    /// `d`, external major.
    pub major_mm: f64,
    /// `d2 = D2`.
    pub pitch_mm: f64,
    /// `d3`, external minor.
    pub external_minor_mm: f64,
    /// `D1`, internal minor (bore of the nut).
    pub internal_minor_mm: f64,
    /// `D4` (or `D`), internal major.
    pub internal_major_mm: f64,
}

/// One size of a series.
#[derive(Debug, Clone, PartialEq)]
pub struct Size {
    /// As written in the standard: `"24"`, `"1/2"`, `"#10"`.
    pub label: String,
    /// Nominal (basic) major diameter, mm.
    pub major_mm: f64,
    /// Pitch, mm.
    pub pitch_mm: f64,
    /// 1 common, 2 less so, 3 seldom.
    pub choice: u8,
    /// seen, table, computed or memory: how well the row is founded.
    pub flag: String,
}

/// A series of sizes in one form.
#[derive(Debug, Clone, Deserialize)]
pub struct Family {
    /// Identifier in the data file.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Standards, or "common practice".
    pub standard: String,
    /// Edition the data follow.
    pub edition: String,
    /// Basic profile.
    #[serde(skip)]
    pub form: Form,
    /// Metric or inch.
    pub system: System,
    /// Pattern of a listed size's designation.
    #[serde(default)]
    pub designation: String,
    /// Pattern for sizes of this form that are in no series; `None` when another family of the
    /// same form speaks for them.
    pub own_size: Option<String>,
    /// How common such sizes are, relative to other families' own sizes.
    #[serde(default)]
    pub own_size_share: f64,
    /// Own sizes are as likely in the other system.
    #[serde(default)]
    pub both_systems: bool,
    /// Used to move things; several starts are met.
    #[serde(default)]
    pub power: bool,
    /// How the limits are computed.
    pub tolerance: Rule,
    /// The tolerance class taken for ranking.
    pub class: String,
    /// How common, relative (empirical judgement).
    pub weight: f64,
    /// Another family that stands for this one in a ranking, because the form cannot differ.
    pub ranked_as: Option<String>,
    /// Where it was usual.
    pub regions: Vec<Region>,
    /// First and last year it was usual.
    pub years: (u32, u32),
    /// The sizes.
    #[serde(skip)]
    pub sizes: Vec<Size>,
    /// Every pitch of the series, ascending, mm.
    #[serde(skip)]
    pub pitches_mm: Vec<f64>,
}

impl Family {
    /// Designation of a listed size, with starts and hand where they matter.
    #[must_use]
    pub fn designate(&self, size: &Size, starts: u32, left_hand: bool) -> String {
        fill(&self.designation, &size.label, size.pitch_mm, starts, left_hand)
    }

    /// Diameters of a listed size.
    #[must_use]
    pub fn diameters(&self, size: &Size) -> Diameters {
        self.form.diameters(size.major_mm, size.pitch_mm)
    }
}

/// Sizes of the family called `id`.
#[must_use]
pub fn sizes(id: &str) -> &'static [Size] {
    crate::catalogue::family(id).map_or(&[], |f| f.sizes.as_slice())
}

/// Fills a designation pattern; for several starts a metric pitch becomes `lead (Ppitch)`.
pub(crate) fn fill(
    pattern: &str,
    size: &str,
    pitch_mm: f64,
    starts: u32,
    left_hand: bool,
) -> String {
    let several = starts > 1;
    let pitch = if several {
        format!("{} (P{})", plain(pitch_mm * f64::from(starts), 3), plain(pitch_mm, 3))
    } else {
        plain(pitch_mm, 3)
    };
    let mut text = pattern
        .replace("{size}", size)
        .replace("{pitch}", &pitch)
        .replace("{tpi}", &plain(MM_PER_INCH / pitch_mm, 3))
        .replace("{module}", &plain(pitch_mm / std::f64::consts::PI, 3));
    if several && !pattern.contains("{pitch}") {
        text.push_str(&format!(", {starts} starts"));
    }
    if left_hand {
        text.push_str(" LH");
    }
    text
}

/// `value` with at most `decimals` digits and no trailing zeros.
pub(crate) fn plain(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// An inch length as a fraction down to 1/64 where it is one, otherwise as a decimal.
pub(crate) fn inch_label(major_mm: f64) -> String {
    let sixty_fourths = major_mm / MM_PER_INCH * 64.0;
    let whole = sixty_fourths.round();
    if (sixty_fourths - whole).abs() > 1e-3 {
        return plain(major_mm / MM_PER_INCH, 3);
    }
    let (mut n, mut d) = (whole as u64 % 64, 64u64);
    let inches = whole as u64 / 64;
    while n > 0 && n % 2 == 0 {
        n /= 2;
        d /= 2;
    }
    match (inches, n) {
        (i, 0) => i.to_string(),
        (0, n) => format!("{n}/{d}"),
        (i, n) => format!("{i} {n}/{d}"),
    }
}
