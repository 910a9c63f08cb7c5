//! What a tool is ground from, how it is turned and seen, and what its clearances hold for, in words.

use crate::tool::{Stance, ToolFor, ToolForm, ToolSetting, ToolSide};
use form::{Hand, Quantity, Sentence, mm, sentence};
use serde::{Deserialize, Serialize};

/// Section of the steel or carbide that the tool is ground from: how high its faces are below the edge.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum ToolSection {
    /// A round blank, its rake face ground down to the middle.
    Round {
        /// Diameter, mm.
        diameter_mm: f64,
    },
    /// A square bit, rake face on top.
    Square {
        /// Side, mm.
        side_mm: f64,
    },
    /// An insert or a brazed tip.
    Insert {
        /// Thickness below the edge, mm.
        height_mm: f64,
    },
}

impl ToolSection {
    /// Height of the faces below the edge, mm.
    #[must_use]
    pub fn height_mm(self) -> f64 {
        match self {
            Self::Round { diameter_mm } => 0.5 * diameter_mm,
            Self::Square { side_mm } => side_mm,
            Self::Insert { height_mm } => height_mm,
        }
    }

    /// What it is, in words.
    #[must_use]
    pub fn words(self) -> Sentence {
        match self {
            Self::Round { diameter_mm } => {
                sentence!("a round blank of {}, ground down to its middle", mm(diameter_mm, 2))
            }
            Self::Square { side_mm } => sentence!("a square bit of {}", mm(side_mm, 2)),
            Self::Insert { height_mm } => sentence!("an insert {} thick", mm(height_mm, 2)),
        }
    }
}

/// How far and which way a tool is turned about its shank.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Turn {
    /// Lead angle at the pitch diameter, degrees.
    pub by_deg: f64,
    /// Diameter at which that is the lead angle, mm.
    pub at_diameter_mm: f64,
    /// Whether the leading side of the rake face goes down (rake face up) or up (rake face down): with
    /// the work, in either case.
    pub leading_side_down: bool,
    /// How much too narrow the groove comes at its bottom and at the bore (or the crest) when the tool is
    /// turned the other way, mm.
    pub wrong_way_narrower_mm: (f64, f64),
}

impl Turn {
    /// The angle, and which side goes down.
    #[must_use]
    pub fn angle_and_way(&self) -> String {
        let way = if self.leading_side_down { "down" } else { "up" };
        format!("{:.2}°, the leading side of the rake face {way}", self.by_deg)
    }

    /// How it is turned.
    #[must_use]
    pub fn words(&self) -> String {
        format!("turned about its shank by {}", self.angle_and_way())
    }
}

/// What right and left of the screw are, where it was seen in a picture.
const OF_PICTURE: &str = "\"Right\" and \"left\" of the screw are those of the picture; hold the work with the picture's right toward the tailstock.";
/// And where it was typed or named.
const OF_SCREW: &str =
    "\"Right\" and \"left\" of the screw are as it lies with its right end toward the tailstock.";

impl ToolForm {
    /// The view in words for a thread that was typed or named: there is no picture to speak of.
    #[must_use]
    pub fn view_without_picture(&self) -> String {
        self.view.replace(OF_PICTURE, OF_SCREW)
    }

    /// What the clearances hold for, and how they are measured.
    #[must_use]
    pub fn clearances_hold_for(&self) -> Sentence {
        let height = mm(self.front.height_mm, 2);
        let what = match (self.setting.height_mm, self.setting.section) {
            (None, Some(section)) => sentence!("{}: faces {} high", section.words(), height),
            (None, None) if self.purpose == ToolFor::Nut => sentence!(
                "faces up to {} high below the edge, as a round blank of up to {} ground down to its middle has",
                height,
                mm(2.0 * self.front.height_mm, 2)
            ),
            _ => sentence!("faces up to {} high below the edge", height),
        };
        sentence!(
            "The clearances hold for {}; a higher tool needs more. Side clearance is measured facing the tip, front clearance from the side, both from the upright.",
            what
        )
    }

    /// The angles of the left and right side to grind: one and the same where the two differ by less than
    /// either is known.
    #[must_use]
    pub fn angles_to_grind(&self) -> (Quantity, Quantity) {
        let (left, right) = (self.left.angle_deg, self.right.angle_deg);
        if (left.value - right.value).abs() < left.u.min(right.u) {
            let mean = 0.5 * (left.value + right.value);
            (Quantity { value: mean, ..left }, Quantity { value: mean, ..right })
        } else {
            (left, right)
        }
    }
}

/// Which way to look, which side is which, which way it feeds.
pub(crate) fn view(
    purpose: ToolFor,
    setting: &ToolSetting,
    right: &ToolSide,
    left: &ToolSide,
    hand: Hand,
) -> String {
    let forward = setting.stance.forward();
    let inside = purpose == ToolFor::Nut;
    // Page-right is +z inside and -z outside; +z is the headstock with the spindle forward.
    let page_right_end = if inside == forward { "headstock" } else { "tailstock" };
    let toward = if (hand == Hand::Right) == forward { "headstock" } else { "tailstock" };
    let place = match setting.stance {
        Stance::Near => "on the near side, rake face up, spindle forward",
        Stance::FarUpsideDown => "on the far side, rake face down, spindle forward",
        Stance::FarReverse => "on the far side, rake face up, spindle in reverse",
    };
    let leads = if right.leading { "right" } else { "left" };
    format!(
        "As seen looking down on the rake face, tip up, shank toward you. Cuts {place}; the right of the drawing faces the {page_right_end}. {hand}-hand thread: feeds toward the {toward}, the {leads} side leads. Right side: the screw's {} flank; left side: its {} flank. {OF_PICTURE}",
        right.screw_flank,
        left.screw_flank,
        hand = match hand {
            Hand::Right => "Right",
            Hand::Left => "Left",
        },
    )
}
