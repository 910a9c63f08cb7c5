//! What a tool really cuts: as drawn, or as it came off the wheel.

use crate::groove::{Groove, WallPoint};
use crate::mating::{self, MatingError};
use crate::notice::Notice;
use crate::nut::NutDesign;
use crate::screw::{ScrewError, ScrewForm};
use crate::tool::{ToolFor, ToolForm, picture_right_sign, rake_plane};
use form::{Quantity, Said, Sentence, figure, mm, outside, sentence};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Why a ground tool cannot be judged.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum GroundError {
    /// Not a nut tool.
    NotForNut,
    /// Not an outline.
    Outline(usize),
    /// A number out of limits.
    Limits {
        /// What.
        what: &'static str,
        /// Value.
        value: f64,
        /// Least.
        least: f64,
        /// Most.
        most: f64,
    },
    /// The assembly.
    Mating(#[from] MatingError),
    /// The screw.
    Screw(#[from] ScrewError),
}

impl Said for GroundError {
    fn said(&self) -> Sentence {
        match self {
            Self::NotForNut => {
                sentence!("only a tool for a nut can be judged by the play of the nut")
            }
            Self::Outline(it) => sentence!(
                "the outline has {} points with a wall on each side of the tip; at least 2 on each are needed",
                *it
            ),
            Self::Limits { what, value, least, most } => {
                outside(what, [*value, *least, *most].map(|v| figure(v, 3)))
            }
            Self::Mating(e) => e.said(),
            Self::Screw(e) => e.said(),
        }
    }
}

form::said_by_display!(GroundError);

/// The groove that an edge cuts in a bore of radius `bore_radius_mm`, fed in so that its tip reaches
/// `tip_radius_mm`; `outline_mm` is an outline in the frame of [`ToolForm::outline_mm`], held and set
/// as `tool` is.
///
/// This is the way forward that [`crate::tool_for_nut`] solves backward, and it needs no solving:
/// every point of the edge sweeps its helix.
///
/// # Errors
/// [`GroundError::NotForNut`], or [`GroundError::Outline`] when there are no two walls.
pub fn groove_cut_by(
    tool: &ToolForm,
    outline_mm: &[[f64; 2]],
    bore_radius_mm: f64,
    tip_radius_mm: f64,
) -> Result<Groove, GroundError> {
    if tool.purpose != ToolFor::Nut {
        return Err(GroundError::NotForNut);
    }
    let plane = rake_plane(
        tool.purpose,
        tip_radius_mm,
        tool.pitch_lead_angle_deg.to_radians(),
        tool.pitch_mm * f64::from(tool.starts),
        tool.hand,
        &tool.setting,
    );
    let sign = picture_right_sign(tool.setting.stance);
    let cut = |p: &[f64; 2]| {
        let c = plane.cuts(*p);
        WallPoint { radius_mm: c.radius_mm, along_mm: sign * c.along_mm }
    };
    // Each wall from the shank's end until it stops going outward: there the bottom begins.
    let wall = |points: &mut dyn Iterator<Item = &[f64; 2]>| {
        let mut out: Vec<WallPoint> = Vec::new();
        for p in points {
            let c = cut(p);
            if out.last().is_some_and(|last| c.radius_mm <= last.radius_mm + 1e-12) {
                break;
            }
            out.push(c);
        }
        out
    };
    let page_left = wall(&mut outline_mm.iter().filter(|p| p[0] < 0.0));
    let page_right = wall(&mut outline_mm.iter().rev().filter(|p| p[0] > 0.0));
    if page_left.len() < 2 || page_right.len() < 2 {
        return Err(GroundError::Outline(page_left.len().min(page_right.len())));
    }
    // A tool inside a bore has +z at page-right; picture-right is `sign` times +z.
    let (right, left) = if sign > 0.0 { (page_right, page_left) } else { (page_left, page_right) };
    let bottom_radius_mm =
        right.iter().chain(&left).map(|p| p.radius_mm).fold(f64::NEG_INFINITY, f64::max);
    Ok(Groove {
        bore_radius_mm,
        bottom_radius_mm,
        right,
        left,
        pitch_mm: tool.pitch_mm,
        starts: tool.starts,
        hand: tool.hand,
    })
}

/// A tool as ground, measured in its own picture; sides as in the drawing of the tool.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct GroundTool {
    /// Left edge from the middle line, degrees.
    pub left_deg: Quantity,
    /// Right edge, degrees.
    pub right_deg: Quantity,
    /// Tip between sharp corners, mm.
    pub tip_flat_mm: Quantity,
    /// Corner radius, mm.
    pub corner_radius_mm: f64,
}

/// What the errors of a ground tool do.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GroundCheck {
    /// Left angle as ground less as drawn, degrees.
    pub left_error_deg: Quantity,
    /// Right angle as ground less as drawn, degrees.
    pub right_error_deg: Quantity,
    /// Tip as ground less as drawn, mm.
    pub tip_flat_error_mm: Quantity,
    /// Axial play with this tool at the drawn infeed, mm.
    pub play_mm: Quantity,
    /// That less the play with the tool as drawn, mm.
    pub play_change_mm: Quantity,
    /// Infeed from touching the bore that brings the play back, mm; `None` when no infeed does.
    pub corrected_infeed_mm: Option<f64>,
    /// What is to be said.
    pub notices: Vec<Notice>,
}

/// Judges a ground tool by the play of the nut it will cut.
///
/// # Errors
/// [`GroundError`].
pub fn check_ground_tool(
    screw: &ScrewForm,
    nut: &NutDesign,
    tool: &ToolForm,
    ground: &GroundTool,
) -> Result<GroundCheck, GroundError> {
    for (what, q) in
        [("left angle (degrees)", ground.left_deg), ("right angle (degrees)", ground.right_deg)]
    {
        if !(-10.0..=80.0).contains(&q.value) {
            return Err(GroundError::Limits { what, value: q.value, least: -10.0, most: 80.0 });
        }
    }
    let flat = ground.tip_flat_mm.value;
    if !(flat > 0.0 && flat < tool.pitch_mm) {
        return Err(GroundError::Limits {
            what: "tip flat (mm)",
            value: flat,
            least: 0.0,
            most: tool.pitch_mm,
        });
    }
    let thread = screw.thickest().thread()?;
    let bore = nut.groove.bore_radius_mm;
    let play_with = |left: f64, right: f64, flat: f64, tip_radius: f64| {
        let outline = straight_outline(tool, left, right, flat, ground.corner_radius_mm);
        let groove = groove_cut_by(tool, &outline, bore, tip_radius)?;
        Ok::<f64, GroundError>(mating::axial_play_mm(&thread, &groove)?)
    };
    let (l, r) = (ground.left_deg, ground.right_deg);
    let full = tool.tip_radius_mm;
    let play = play_with(l.value, r.value, flat, full)?;
    let drawn = {
        let groove = groove_cut_by(tool, &tool.outline_mm, bore, full)?;
        mating::axial_play_mm(&thread, &groove)?
    };
    let mut variance = ground.tip_flat_mm.u.powi(2);
    for (dl, dr) in [(l.u, 0.0), (0.0, r.u)] {
        let step = play_with(l.value + dl, r.value + dr, flat, full)? - play;
        let back = play_with(l.value - dl, r.value - dr, flat, full)? - play;
        variance += step.abs().max(back.abs()).powi(2);
    }
    let u = variance.sqrt();
    let slope = l.value.to_radians().tan() + r.value.to_radians().tan();
    let infeed = full - bore;
    let corrected_infeed_mm = (slope > 0.01)
        .then(|| {
            // The play is not quite linear in the infeed with a tilted rake face: two rounds.
            let mut x = infeed;
            for _ in 0..4 {
                x += (drawn - play_with(l.value, r.value, flat, bore + x).ok()?) / slope;
            }
            Some(x)
        })
        .flatten()
        .filter(|&x| bore + x >= 0.5 * thread.major_diameter_mm() && x <= 1.5 * infeed);
    let error = |got: Quantity, want: f64| Quantity::derived(got.value - want, got.u);
    let check = GroundCheck {
        left_error_deg: error(l, tool.left.angle_deg.value),
        right_error_deg: error(r, tool.right.angle_deg.value),
        tip_flat_error_mm: error(ground.tip_flat_mm, tool.tip_flat_mm.value),
        // What the change wheels' error takes is lost with any tool.
        // In doubt by the form, too, not only by what was read of the tool.
        play_mm: Quantity::derived(play - nut.play_lost_to_lead_mm, u.hypot(nut.axial_play_mm.u)),
        play_change_mm: Quantity::derived(play - drawn, u),
        corrected_infeed_mm,
        notices: Vec::new(),
    };
    Ok(with_words(check, infeed))
}

/// Code of the notice that a nut cut with the ground tool will not go on.
pub const TOOL_WILL_NOT_FIT: &str = "tool-will-not-fit";

fn with_words(mut check: GroundCheck, infeed: f64) -> GroundCheck {
    let (change, u) = (check.play_change_mm.value, check.play_change_mm.u);
    let play = check.play_mm.value;
    let say = if play < 0.0 && change < -2.0 * u {
        let mend = match check.corrected_infeed_mm {
            Some(x) => {
                sentence!("feed in {} instead of {}, or grind again", mm(x, 3), mm(infeed, 3))
            }
            None => "no infeed mends it: grind again".into(),
        };
        Notice::new(
            TOOL_WILL_NOT_FIT,
            sentence!(
                "a nut cut with the tool as ground, at the infeed drawn, will not go on the screw: it \
                 wants {} of room; {}",
                mm(-play, 2),
                mend
            ),
        )
    } else if change.abs() <= 2.0 * u {
        Notice::new(
            "tool-as-drawn",
            sentence!(
                "the play changes by {}, which the measurement (± {}) does not tell from nothing",
                mm(change, 3).signed(),
                mm(u, 3)
            ),
        )
    } else if let Some(x) = check.corrected_infeed_mm {
        Notice::new(
            "feed-otherwise",
            sentence!(
                "the play changes by {}; feed in {} instead of {} to have it back, or grind again",
                mm(change, 3).signed(),
                mm(x, 3),
                mm(infeed, 3)
            ),
        )
    } else {
        Notice::new(
            "grind-again",
            sentence!(
                "the play changes by {} and no infeed mends it: grind again",
                mm(change, 3).signed()
            ),
        )
    };
    check.notices.push(say);
    check
}

/// Outline with straight flanks, as ground.
fn straight_outline(
    tool: &ToolForm,
    left_deg: f64,
    right_deg: f64,
    flat_mm: f64,
    corner_mm: f64,
) -> Vec<[f64; 2]> {
    let depth = tool.outline_mm.iter().map(|p| -p[1]).fold(0.0, f64::max);
    let half = |deg: f64| {
        let a = deg.to_radians();
        let tangent = (0.5 * (std::f64::consts::FRAC_PI_2 - a)).tan();
        let r = corner_mm.clamp(0.0, 0.5 * flat_mm / tangent.max(1e-9));
        let joins = r * (1.0 - a.sin());
        let mut out: Vec<[f64; 2]> = (0..=40)
            .map(|i| {
                let d = depth + (joins - depth) * f64::from(i) / 40.0;
                [0.5 * flat_mm + d * a.tan(), -d]
            })
            .collect();
        if r > 0.0 {
            let centre = 0.5 * flat_mm - r * tangent;
            out.extend((1..=16).map(|i| {
                let t = a + (std::f64::consts::FRAC_PI_2 - a) * f64::from(i) / 16.0;
                [centre + r * t.cos(), -r + r * t.sin()]
            }));
        }
        out
    };
    let mut outline: Vec<[f64; 2]> = half(left_deg).into_iter().map(|p| [-p[0], p[1]]).collect();
    outline.extend(half(right_deg).into_iter().rev());
    outline
}
