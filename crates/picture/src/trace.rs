//! From a grey picture to a scene: every object's outline, and how it is drawn.

use crate::bar::find_bar;
use crate::contour::Boundary;
use crate::decode::LEAST_SIDE;
use crate::edges::{Shapes, trace_edge, typical_contrast};
use crate::geometry::{PixelBox, median};
use crate::grey::Grey;
use crate::line::trace_line;
use crate::notice::{Notice, PictureError};
use crate::objects::{Threshold, is_line_drawing, worth_tracing};
use crate::outline::Outline;
use crate::reduce::Reduced;
use crate::strokes::{Faintness, Strokes};
use crate::thread::find_thread;
use crate::tone::Tone;

/// How the outlines are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drawn {
    /// The edge between dark and light.
    Shadow,
    /// The middle of a drawn line.
    Line,
}

/// How the outlines are to be taken.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DrawnWanted {
    /// As the picture suggests.
    #[default]
    Auto,
    /// As the edge between dark and light.
    Shadow,
    /// As the middle of a drawn line.
    Line,
}

/// The objects of a picture.
#[derive(Clone, Debug)]
pub struct Scene {
    /// Width of the picture in pixels.
    pub width: usize,
    /// Height of the picture in pixels.
    pub height: usize,
    /// Outlines, the largest first.
    pub outlines: Vec<Outline>,
    /// How they are drawn.
    pub drawn: Drawn,
    /// Whether objects (or lines) are darker than what is round them.
    pub object_is_dark: bool,
    /// Typical blur, in pixels, as in [`crate::EdgePoint::blur_px`].
    pub blur_px: f64,
    /// Typical noise of one pixel, in linear light.
    pub noise: f64,
    /// What the profiles of all its edges say of the picture's tones.
    pub tone: Option<Tone>,
    /// What deserves a second look.
    pub warnings: Vec<Notice>,
}

impl Scene {
    /// The whole picture as a box.
    pub fn bounds(&self) -> PixelBox {
        PixelBox { x: 0.0, y: 0.0, w: self.width as f64, h: self.height as f64 }
    }
}

/// Share of the picture's border above which the dark may be the surroundings.
const DARK_BORDER: f64 = 0.3;

/// Finds the outlines in a picture.
///
/// `carry_on` is called now and then with the fraction done, 0 to 1; when it returns `false` the
/// work stops.
///
/// # Errors
/// [`PictureError::Cancelled`], [`PictureError::TooFewPixels`], or
/// [`PictureError::Unmeasurable`] when nothing stands out.
pub fn trace(
    grey: &Grey,
    wanted: DrawnWanted,
    carry_on: &dyn Fn(f32) -> bool,
) -> Result<Scene, PictureError> {
    let go = |f: f32| if carry_on(f) { Ok(()) } else { Err(PictureError::Cancelled) };
    if grey.width() < LEAST_SIDE || grey.height() < LEAST_SIDE {
        return Err(PictureError::TooFewPixels {
            width: grey.width() as u64,
            height: grey.height() as u64,
            least: LEAST_SIDE as u64,
        });
    }
    go(0.0)?;
    let reduced = Reduced::of(grey);
    go(0.2)?;
    let Some(threshold) = Threshold::find(&reduced) else {
        return Err(PictureError::unmeasurable(
            "no-contrast",
            "nothing in the picture stands out from its noise. Put the light behind the screw or \
             tool and the bar (a window, a white screen), so that they are dark against it.",
            None,
        ));
    };
    let mut dark = threshold.dark(&reduced);
    let dark_border = dark.border_fraction();
    let mut light = (dark_border > DARK_BORDER).then(|| dark.inverted());
    let found_dark = threshold.boundaries(&reduced, &mut dark, true);
    let found_light = light.as_mut().map(|m| threshold.boundaries(&reduced, m, false));
    go(0.35)?;

    let lines_are_dark = dark_border <= 0.5;
    let seems_drawn = match (&found_light, lines_are_dark) {
        (Some(light), false) => is_line_drawing(light, reduced.w, reduced.h),
        _ => is_line_drawing(&found_dark, reduced.w, reduced.h),
    };
    let fraction = |from: f32, i: usize, n: usize| from + (1.0 - from) * i as f32 / n.max(1) as f32;
    let as_lines = || {
        let traced = |faintness, from| {
            let go = |i, n| go(fraction(from, i, n));
            let outlines = lines(grey, &reduced, lines_are_dark, faintness, &go)?;
            finish(grey, outlines, Drawn::Line, lines_are_dark)
        };
        let ordinary = traced(Faintness::ORDINARY, 0.4);
        // A line may have been drawn too faintly in places: then bar or thread are not whole.
        better(
            ordinary.map(Judged::of),
            || traced(Faintness::FAINT, 0.7),
            Worth::is_clearly_more_than,
        )
    };
    let as_shadow = || {
        let k = reduced.k;
        let before = threshold.before_background(&reduced);
        let found_dark = match &before {
            Some(before) => {
                let mut dark = before.dark(&reduced);
                before.boundaries(&reduced, &mut dark, true)
            }
            None => found_dark,
        };
        let edges = |found: Vec<Boundary>, dark: bool, from: f32| {
            let found = worth_tracing(found, reduced.w, reduced.h);
            let mut shapes = Shapes::default();
            let mut outlines = Vec::with_capacity(found.len());
            for (i, boundary) in found.iter().enumerate() {
                go(fraction(from, i, found.len()))?;
                let guess = blur_guess(&reduced, boundary, threshold.contrast);
                outlines.extend(trace_edge(grey, boundary, k, guess, dark, &mut shapes));
            }
            finish(grey, outlines, Drawn::Shadow, dark)
        };
        let as_dark = edges(found_dark, true, 0.4);
        // Much of the border is dark: dark objects reaching out of the picture, dark surroundings of
        // a light table, or light objects on dark. Whichever shows a bar and a thread is right.
        match found_light {
            Some(light) => better(
                as_dark.map(Judged::of),
                || edges(light, false, 0.7),
                Worth::has_more_parts_than,
            )
            .map(|judged| judged.scene),
            None => as_dark,
        }
    };
    match wanted {
        DrawnWanted::Shadow => as_shadow(),
        DrawnWanted::Line => as_lines().map(|judged| judged.scene),
        // What seems drawn and shows nothing may be a shadow beside hairs and threads of cloth.
        DrawnWanted::Auto if seems_drawn => {
            let drawn = as_lines();
            let whole = drawn.as_ref().is_ok_and(|judged| judged.worth.is_everything());
            let best =
                if whole { drawn } else { better(drawn, as_shadow, Worth::has_more_parts_than) };
            best.map(|judged| judged.scene)
        }
        DrawnWanted::Auto => as_shadow(),
    }
}

/// The better of two readings, `more` telling whether the second shows more than the first.
fn better(
    first: Result<Judged, PictureError>,
    second: impl FnOnce() -> Result<Scene, PictureError>,
    more: fn(Worth, Worth) -> bool,
) -> Result<Judged, PictureError> {
    if matches!(first, Err(PictureError::Cancelled)) {
        return first;
    }
    match (first, second().map(Judged::of)) {
        (_, Err(PictureError::Cancelled)) => Err(PictureError::Cancelled),
        (Ok(a), Ok(b)) => Ok(if more(b.worth, a.worth) { b } else { a }),
        (Err(_), Ok(b)) => Ok(b),
        (first, Err(_)) => first,
    }
}

/// A scene, and how much it shows: looking takes as long as tracing where there is little to find.
struct Judged {
    scene: Scene,
    worth: Worth,
}

impl Judged {
    fn of(scene: Scene) -> Self {
        Self { worth: Worth::of(&scene), scene }
    }
}

/// How much of what is looked for a scene shows.
#[derive(Clone, Copy)]
struct Worth {
    /// Two for the bar, one for a thread and each edge of it.
    parts: usize,
    /// Points on the edges of the thread.
    points: usize,
}

impl Worth {
    fn of(scene: &Scene) -> Self {
        let bar = find_bar(scene, None).ok();
        let thread = find_thread(scene, bar.as_ref(), None).ok();
        let edges = thread.map(|t| [t.upper.len(), t.lower.len()]);
        Self {
            parts: 2 * usize::from(bar.is_some())
                + edges.map_or(0, |e| 1 + e.iter().filter(|points| **points > 0).count()),
            points: edges.map_or(0, |e| e.iter().sum()),
        }
    }

    /// Whether it shows a bar and both edges of a thread.
    fn is_everything(self) -> bool {
        self.parts == 5
    }

    fn has_more_parts_than(self, other: Self) -> bool {
        self.parts > other.parts
    }

    /// Whether it shows more parts, or the same parts and a tenth more of the thread.
    fn is_clearly_more_than(self, other: Self) -> bool {
        self.parts > other.parts
            || (self.parts == other.parts && 10 * self.points > 11 * other.points)
    }
}

fn lines(
    grey: &Grey,
    reduced: &Reduced,
    dark: bool,
    faintness: Faintness,
    go: &dyn Fn(usize, usize) -> Result<(), PictureError>,
) -> Result<Vec<Outline>, PictureError> {
    let Some(mut strokes) = Strokes::find(reduced, dark, faintness) else { return Ok(Vec::new()) };
    let found = worth_tracing(strokes.boundaries(reduced), reduced.w, reduced.h);
    let width = strokes.width * reduced.k as f64;
    let mut outlines = Vec::with_capacity(found.len());
    for (i, boundary) in found.iter().enumerate() {
        go(i, found.len())?;
        outlines.extend(trace_line(grey, boundary, reduced.k, width, dark));
    }
    Ok(outlines)
}

/// Blur in full pixels from the steepness of the reduced picture along the boundary. Includes what
/// the reduction itself blurs, so it is never too small.
fn blur_guess(reduced: &Reduced, boundary: &Boundary, contrast: f32) -> f64 {
    let mut slopes = Vec::new();
    for p in boundary.points.iter().step_by((boundary.points.len() / 300).max(1)) {
        let (x, y) = (p.0 as usize, p.1 as usize);
        if p.2 || x < 1 || y < 1 || x + 2 > reduced.w || y + 2 > reduced.h {
            continue;
        }
        let gx = (reduced.at((x + 1).min(reduced.w - 1), y) - reduced.at(x - 1, y)) / 2.0;
        let gy = (reduced.at(x, (y + 1).min(reduced.h - 1)) - reduced.at(x, y - 1)) / 2.0;
        slopes.push(f64::from(gx.hypot(gy)));
    }
    let slope = median(&mut slopes);
    if slope <= 0.0 {
        return 4.0 * reduced.k as f64;
    }
    let sigma = f64::from(contrast) / (slope * (2.0 * std::f64::consts::PI).sqrt());
    sigma.clamp(0.7, 12.0) * reduced.k as f64
}

fn finish(
    grey: &Grey,
    mut outlines: Vec<Outline>,
    drawn: Drawn,
    object_is_dark: bool,
) -> Result<Scene, PictureError> {
    // Smudges and shading have outlines too; they are faint beside the real ones.
    let strongest = outlines.iter().map(typical_contrast).fold(0.0, f64::max);
    outlines.retain(|o| typical_contrast(o) > 0.2 * strongest);
    if outlines.is_empty() {
        return Err(PictureError::unmeasurable(
            "no-outline",
            "no object with a clean edge was found in the picture. Put the light behind the \
             screw or tool and the bar, focus on their edges, and let them fill most of the picture.",
            None,
        ));
    }
    let mut scene = Scene {
        width: grey.width(),
        height: grey.height(),
        blur_px: median(&mut outlines.iter().map(|o| o.blur_px).collect::<Vec<_>>()),
        noise: median(&mut outlines.iter().map(|o| o.noise).collect::<Vec<_>>()),
        tone: Tone::together(outlines.iter().filter_map(|o| o.tone)),
        outlines,
        drawn,
        object_is_dark,
        warnings: Vec::new(),
    };
    scene.warnings = warnings(&scene);
    Ok(scene)
}

fn warnings(scene: &Scene) -> Vec<Notice> {
    let mut out = Vec::new();
    let diagonal = (scene.width as f64).hypot(scene.height as f64);
    for outline in scene.outlines.iter().filter(|o| o.bounds.diagonal() > 0.15 * diagonal) {
        // White that is just white is well exposed; a profile cut off at white is lopsided.
        if outline.clipped > 0.3 && outline.tone.is_some_and(Tone::is_lowered) {
            out.push(Notice::new(
                "overexposed",
                format!(
                    "along {:.0} % of this edge the light side is as bright as the file can say \
                     (limit 30 %), so light may have spilled over the edge and moved it inward. \
                     Take the picture with less exposure, so that the light is just short of \
                     white.",
                    100.0 * outline.clipped
                ),
                Some(outline.bounds),
            ));
        }
    }
    out
}
