//! What is known of the thread to be named.

use crate::family::plain;
use form::{Hand, Part, Quantity, Section, Sentence, mm_short, sentence};
use serde::{Deserialize, Serialize};

/// A number a thread has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Feature {
    /// Distance from ridge to next ridge, mm.
    Pitch,
    /// Advance per turn, mm.
    Lead,
    /// Right flank from the normal to the axis, degrees.
    RightFlank,
    /// Left flank from the normal to the axis, degrees.
    LeftFlank,
    /// Both flanks together, degrees.
    IncludedAngle,
    /// Crest to root, radially, mm.
    Depth,
    /// Crest width between theoretical sharp corners, mm.
    CrestFlat,
    /// Root width between theoretical sharp corners, mm.
    RootFlat,
    /// Corner radius of the crest, mm.
    CrestRadius,
    /// Corner radius of the root, mm.
    RootRadius,
    /// Diameter over the crests, mm.
    MajorDiameter,
    /// Diameter at the roots, mm.
    MinorDiameter,
    /// Diameter where ridge and groove are equally wide, mm.
    PitchDiameter,
    /// Change of diameter per unit of length (1:16 is 0.0625).
    Taper,
}

impl Feature {
    /// Every feature.
    pub const ALL: [Self; 14] = [
        Self::Pitch,
        Self::Lead,
        Self::RightFlank,
        Self::LeftFlank,
        Self::IncludedAngle,
        Self::Depth,
        Self::CrestFlat,
        Self::RootFlat,
        Self::CrestRadius,
        Self::RootRadius,
        Self::MajorDiameter,
        Self::MinorDiameter,
        Self::PitchDiameter,
        Self::Taper,
    ];

    /// Name with its unit, as in a measurement's form: `pitch_mm`, `right_flank_deg` …
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Pitch => "pitch_mm",
            Self::Lead => "lead_mm",
            Self::RightFlank => "right_flank_deg",
            Self::LeftFlank => "left_flank_deg",
            Self::IncludedAngle => "included_angle_deg",
            Self::Depth => "depth_mm",
            Self::CrestFlat => "crest_flat_mm",
            Self::RootFlat => "root_flat_mm",
            Self::CrestRadius => "crest_radius_mm",
            Self::RootRadius => "root_radius_mm",
            Self::MajorDiameter => "major_diameter_mm",
            Self::MinorDiameter => "minor_diameter_mm",
            Self::PitchDiameter => "pitch_diameter_mm",
            Self::Taper => "taper",
        }
    }

    /// Name for people.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Pitch => "pitch",
            Self::Lead => "lead",
            Self::RightFlank => "right flank",
            Self::LeftFlank => "left flank",
            Self::IncludedAngle => "included angle",
            Self::Depth => "depth",
            Self::CrestFlat => "crest flat",
            Self::RootFlat => "root flat",
            Self::CrestRadius => "crest radius",
            Self::RootRadius => "root radius",
            Self::MajorDiameter => "major diameter",
            Self::MinorDiameter => "minor diameter",
            Self::PitchDiameter => "pitch diameter",
            Self::Taper => "taper",
        }
    }

    /// Whether the number is a length; an angle or a taper is none.
    #[must_use]
    pub fn is_length(self) -> bool {
        !self.is_angle() && self != Self::Taper
    }

    /// A value of this number in a sentence, with its unit, to at most `most` decimals.
    pub(crate) fn said(self, value: f64, most: usize) -> Part {
        match self {
            f if f.is_length() => mm_short(value, most).into(),
            f if f.is_angle() => format!("{}°", plain(value, most)).into(),
            _ => plain(value, most).into(),
        }
    }

    /// Whether the unit is the degree.
    #[must_use]
    pub fn is_angle(self) -> bool {
        matches!(self, Self::RightFlank | Self::LeftFlank | Self::IncludedAngle)
    }
}

/// What is known of an external thread; leave out what is not.
///
/// The section's numbers follow the conventions of [`form::Section`]: flats between theoretical
/// sharp corners, flanks from the normal to the axis, right and left of a crest. A section has six
/// independent numbers; giving more (root flat beside crest flat and depth, minor diameter beside
/// major and depth) adds nothing and is not counted twice.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Measured {
    /// Pitch, mm.
    pub pitch_mm: Option<Quantity>,
    /// Advance per turn, mm, when known apart from the pitch.
    pub lead_mm: Option<Quantity>,
    /// Right flank from the normal to the axis, degrees.
    pub right_flank_deg: Option<Quantity>,
    /// Left flank, degrees.
    pub left_flank_deg: Option<Quantity>,
    /// Both flanks together, degrees, when they are not known apart.
    pub included_angle_deg: Option<Quantity>,
    /// Depth, mm.
    pub depth_mm: Option<Quantity>,
    /// Crest flat, mm.
    pub crest_flat_mm: Option<Quantity>,
    /// Root flat, mm.
    pub root_flat_mm: Option<Quantity>,
    /// Crest radius, mm.
    pub crest_radius_mm: Option<Quantity>,
    /// Root radius, mm.
    pub root_radius_mm: Option<Quantity>,
    /// Major diameter, mm.
    pub major_diameter_mm: Option<Quantity>,
    /// Minor diameter, mm.
    pub minor_diameter_mm: Option<Quantity>,
    /// Pitch diameter, mm.
    pub pitch_diameter_mm: Option<Quantity>,
    /// Change of diameter per unit of length; 0 for a parallel thread.
    pub taper: Option<Quantity>,
    /// Number of starts and the probability of it.
    pub starts: Option<(u32, f64)>,
    /// Hand and the probability of it.
    pub hand: Option<(Hand, f64)>,
    /// How the errors of these numbers hang together; `None` takes them as independent. A picture's
    /// do: a wrong scale moves every length alike.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub correlation: Option<Correlation>,
}

/// Correlation of the errors of measured numbers; numbers not named are independent of all others.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Correlation {
    /// Which numbers, in the order of the rows.
    pub features: Vec<Feature>,
    /// Coefficients, -1 to 1; symmetric with 1 on the diagonal.
    pub coefficients: Vec<Vec<f64>>,
}

impl Correlation {
    /// Coefficient between two numbers; 0 where nothing is said of them.
    #[must_use]
    pub fn between(&self, a: Feature, b: Feature) -> f64 {
        if a == b {
            return 1.0;
        }
        let place = |f| self.features.iter().position(|g| *g == f);
        let (Some(i), Some(j)) = (place(a), place(b)) else { return 0.0 };
        let found = self.coefficients.get(i).and_then(|row| row.get(j)).copied();
        found.filter(|c| c.is_finite()).map_or(0.0, |c| c.clamp(-1.0, 1.0))
    }
}

/// One usable number: value with a positive, finite standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Reading {
    pub feature: Feature,
    pub value: f64,
    pub u: f64,
    /// The uncertainty was not given and had to be assumed.
    pub u_assumed: bool,
}

impl Reading {
    /// Says that the uncertainty was assumed.
    pub fn assumption(&self) -> Sentence {
        sentence!(
            "no uncertainty was given for the {}: ± {} assumed",
            self.feature.word(),
            self.feature.said(self.u, 4)
        )
    }
}

impl Measured {
    /// Pitch and included angle alone.
    #[must_use]
    pub fn pitch_and_angle(pitch_mm: Quantity, included_angle_deg: Quantity) -> Self {
        Self {
            pitch_mm: Some(pitch_mm),
            included_angle_deg: Some(included_angle_deg),
            ..Self::default()
        }
    }

    /// The quantity of a feature, as given.
    #[must_use]
    pub fn get(&self, feature: Feature) -> Option<Quantity> {
        match feature {
            Feature::Pitch => self.pitch_mm,
            Feature::Lead => self.lead_mm,
            Feature::RightFlank => self.right_flank_deg,
            Feature::LeftFlank => self.left_flank_deg,
            Feature::IncludedAngle => self.included_angle_deg,
            Feature::Depth => self.depth_mm,
            Feature::CrestFlat => self.crest_flat_mm,
            Feature::RootFlat => self.root_flat_mm,
            Feature::CrestRadius => self.crest_radius_mm,
            Feature::RootRadius => self.root_radius_mm,
            Feature::MajorDiameter => self.major_diameter_mm,
            Feature::MinorDiameter => self.minor_diameter_mm,
            Feature::PitchDiameter => self.pitch_diameter_mm,
            Feature::Taper => self.taper,
        }
    }

    /// Sets a feature.
    pub fn set(&mut self, feature: Feature, quantity: Option<Quantity>) {
        let place = match feature {
            Feature::Pitch => &mut self.pitch_mm,
            Feature::Lead => &mut self.lead_mm,
            Feature::RightFlank => &mut self.right_flank_deg,
            Feature::LeftFlank => &mut self.left_flank_deg,
            Feature::IncludedAngle => &mut self.included_angle_deg,
            Feature::Depth => &mut self.depth_mm,
            Feature::CrestFlat => &mut self.crest_flat_mm,
            Feature::RootFlat => &mut self.root_flat_mm,
            Feature::CrestRadius => &mut self.crest_radius_mm,
            Feature::RootRadius => &mut self.root_radius_mm,
            Feature::MajorDiameter => &mut self.major_diameter_mm,
            Feature::MinorDiameter => &mut self.minor_diameter_mm,
            Feature::PitchDiameter => &mut self.pitch_diameter_mm,
            Feature::Taper => &mut self.taper,
        };
        *place = quantity;
    }

    /// A copy with one feature replaced.
    #[must_use]
    pub fn with(&self, feature: Feature, quantity: Quantity) -> Self {
        let mut copy = self.clone();
        copy.set(feature, Some(quantity));
        copy
    }

    /// Number of starts that is most likely, 1 where nothing is known.
    #[must_use]
    pub fn likely_starts(&self) -> u32 {
        if let Some((n, p)) = self.starts
            && p >= 0.5
            && n >= 1
        {
            return n;
        }
        if let (Some(lead), Some(pitch)) = (self.lead_mm, self.pitch_mm) {
            let ratio = (lead.value / pitch.value).round();
            if (1.0..=16.0).contains(&ratio) {
                return ratio as u32;
            }
        }
        1
    }

    /// Whether the thread is more likely left-handed than not; `false` where nothing is known.
    #[must_use]
    pub fn is_left_hand(&self) -> bool {
        matches!(self.hand, Some((Hand::Left, p)) if p > 0.5)
    }

    /// Included angle, degrees, from either way it was given.
    #[must_use]
    pub fn included(&self) -> Option<Quantity> {
        match (self.right_flank_deg, self.left_flank_deg) {
            (Some(a), Some(b)) => {
                let shared =
                    self.correlation_of(Feature::RightFlank, Feature::LeftFlank) * a.u * b.u;
                let u = (a.u * a.u + b.u * b.u + 2.0 * shared).max(0.0).sqrt();
                Some(Quantity::derived(a.value + b.value, u))
            }
            _ => self.included_angle_deg,
        }
    }

    /// Whether each flank is known by itself.
    pub(crate) fn flanks_apart(&self) -> bool {
        self.right_flank_deg.is_some() && self.left_flank_deg.is_some()
    }

    /// Correlation of the errors of two numbers.
    pub(crate) fn correlation_of(&self, a: Feature, b: Feature) -> f64 {
        match &self.correlation {
            Some(c) => c.between(a, b),
            None if a == b => 1.0,
            None => 0.0,
        }
    }

    /// Whether the lead only repeats pitch × starts, as a fit reports it.
    pub(crate) fn lead_repeats_pitch(&self) -> bool {
        let (Some(lead), Some(pitch)) = (self.lead_mm, self.pitch_mm) else { return false };
        let n = (lead.value / pitch.value).round().max(1.0);
        (lead.value - n * pitch.value).abs() <= 1e-7 * lead.value.abs()
            && (lead.u - n * pitch.u).abs() <= 1e-3 * (n * pitch.u).max(1e-12)
    }

    /// The usable numbers, with the stated conventions restored and assumed uncertainties filled in.
    pub(crate) fn readings(&self) -> Vec<Reading> {
        let mut readings = Vec::new();
        for feature in Feature::ALL {
            let Some(q) = self.get(feature) else { continue };
            let positive = !matches!(
                feature,
                Feature::CrestFlat
                    | Feature::RootFlat
                    | Feature::CrestRadius
                    | Feature::RootRadius
                    | Feature::RightFlank
                    | Feature::LeftFlank
                    | Feature::IncludedAngle
                    | Feature::Taper
            );
            if !q.value.is_finite() || !q.u.is_finite() || (positive && q.value <= 0.0) {
                continue;
            }
            let u_assumed = q.u <= 0.0;
            let u = if u_assumed { assumed_u(feature, q.value) } else { q.u };
            readings.push(Reading { feature, value: q.value, u, u_assumed });
        }
        self.restore_flats(&mut readings);
        readings
    }

    /// Some give the straight part of a rounded crest (0 for a full radius) as its flat. A radius
    /// that would not fit the flat between sharp corners shows it; the flat is then restored.
    fn restore_flats(&self, readings: &mut [Reading]) {
        let half_deg = match (self.right_flank_deg, self.left_flank_deg, self.included_angle_deg) {
            (Some(a), Some(b), _) => 0.5 * (a.value + b.value),
            (_, _, Some(both)) => 0.5 * both.value,
            _ => return,
        };
        if !(0.0..80.0).contains(&half_deg) {
            return;
        }
        let used = 2.0 * (0.5 * (90.0 - half_deg)).to_radians().tan();
        for (flat, radius) in
            [(Feature::CrestFlat, self.crest_radius_mm), (Feature::RootFlat, self.root_radius_mm)]
        {
            let Some(radius) = radius else { continue };
            for reading in readings.iter_mut().filter(|r| r.feature == flat) {
                let needs = used * radius.value;
                let u = reading.u.hypot(used * radius.u);
                if u.is_finite() && reading.value < 0.5 * needs && needs - reading.value > 3.0 * u {
                    reading.value += needs;
                    reading.u = u;
                }
            }
        }
    }

    /// Depth and flats from a section, all with the same uncertainty `u_mm`; flanks with `u_deg`.
    #[must_use]
    pub fn from_section(section: &Section, u_mm: f64, u_deg: f64, u_pitch_mm: f64) -> Self {
        let length = |v: f64| Some(Quantity::measured(v, u_mm));
        let angle = |v: f64| Some(Quantity::measured(v.to_degrees(), u_deg));
        Self {
            pitch_mm: Some(Quantity::measured(section.pitch_mm(), u_pitch_mm)),
            right_flank_deg: angle(section.right_flank_rad()),
            left_flank_deg: angle(section.left_flank_rad()),
            depth_mm: length(section.depth_mm()),
            crest_flat_mm: length(section.crest_flat_mm()),
            root_flat_mm: length(section.root_flat_mm()),
            crest_radius_mm: length(section.crest_radius_mm()),
            root_radius_mm: length(section.root_radius_mm()),
            ..Self::default()
        }
    }
}

/// Standard uncertainty taken when a value comes without one: a careful reading with ordinary
/// workshop means (common practice).
#[must_use]
pub fn assumed_u(feature: Feature, value: f64) -> f64 {
    match feature {
        Feature::Pitch | Feature::Lead => 0.003 * value.abs(),
        Feature::RightFlank | Feature::LeftFlank => 0.35,
        Feature::IncludedAngle => 0.5,
        Feature::Taper => 0.003,
        Feature::MajorDiameter | Feature::MinorDiameter | Feature::PitchDiameter => {
            0.05f64.max(0.001 * value.abs())
        }
        _ => 0.03,
    }
}
