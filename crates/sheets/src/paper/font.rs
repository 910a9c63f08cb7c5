//! The two faces every sheet is lettered in, and how wide text is in them.
//!
//! Liberation Sans (SIL Open Font License 1.1, from Debian's `fonts-liberation2`; see
//! `assets/fonts`). Its letters are as wide as those of Arial and Helvetica, so that an SVG shown
//! with either of these keeps its layout.

use std::sync::OnceLock;
use ttf_parser::Face;

/// Regular or bold lettering.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Weight {
    /// Upright regular.
    #[default]
    Regular,
    /// Upright bold.
    Bold,
}

impl Weight {
    /// The font file.
    pub(crate) fn bytes(self) -> &'static [u8] {
        match self {
            Self::Regular => {
                include_bytes!("../../../../assets/fonts/LiberationSans-Regular.ttf")
            }
            Self::Bold => include_bytes!("../../../../assets/fonts/LiberationSans-Bold.ttf"),
        }
    }
}

/// Height of a capital letter as a fraction of the type size (OS/2 table: 1409 / 2048).
pub const CAP_HEIGHT: f64 = 1409.0 / 2048.0;
/// Depth of a descender below the baseline as a fraction of the type size.
pub(crate) const DESCENT: f64 = 0.212;
/// Height of the tallest letters in use above the baseline as a fraction of the type size.
pub(crate) const ASCENT: f64 = 0.745;

/// One glyph of a text: number, advance as a fraction of the type size.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Placed {
    pub glyph: u16,
    pub advance: f64,
}

/// A face with the glyphs of ASCII looked up once.
struct Lettering {
    face: Face<'static>,
    ascii: [Placed; 128],
}

impl Lettering {
    fn new(weight: Weight) -> Option<Self> {
        let face = Face::parse(weight.bytes(), 0).ok()?;
        let mut ascii = [Placed { glyph: 0, advance: 0.0 }; 128];
        for (i, slot) in ascii.iter_mut().enumerate() {
            *slot = look_up(&face, char::from(i as u8));
        }
        Some(Self { face, ascii })
    }
}

fn look_up(face: &Face<'static>, c: char) -> Placed {
    let glyph = face.glyph_index(c).unwrap_or_default();
    let advance = face.glyph_hor_advance(glyph).unwrap_or_default();
    Placed { glyph: glyph.0, advance: f64::from(advance) / f64::from(face.units_per_em()) }
}

fn lettering(weight: Weight) -> Option<&'static Lettering> {
    static FACES: [OnceLock<Option<Lettering>>; 2] = [OnceLock::new(), OnceLock::new()];
    FACES[usize::from(weight == Weight::Bold)].get_or_init(|| Lettering::new(weight)).as_ref()
}

/// Glyph and advance of one character. A character the face lacks shows as an empty box.
pub(crate) fn placed(c: char, weight: Weight) -> Placed {
    let Some(lettering) = lettering(weight) else {
        // The file is compiled in and a test reads it: this is never reached.
        return Placed { glyph: 0, advance: 0.6 };
    };
    match lettering.ascii.get(c as usize) {
        Some(p) => *p,
        None => look_up(&lettering.face, c),
    }
}

/// Width of `text` at `size_mm`, mm, by the metrics of the embedded face (no kerning).
#[must_use]
pub fn width_mm(text: &str, size_mm: f64, weight: Weight) -> f64 {
    text.chars().map(|c| placed(c, weight).advance).sum::<f64>() * size_mm
}

/// Breaks `text` into lines no wider than `width` mm. A word wider than a line is broken inside.
#[must_use]
pub fn wrap(text: &str, width: f64, size_mm: f64, weight: Weight) -> Vec<String> {
    let mut lines = Vec::new();
    for paragraph in text.split('\n') {
        let mut line = String::new();
        // Not at a no-break space.
        for word in paragraph.split([' ', '\t', '\r']).filter(|w| !w.is_empty()) {
            let joined = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if width_mm(&joined, size_mm, weight) <= width {
                line = joined;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            for c in word.chars() {
                line.push(c);
                if width_mm(&line, size_mm, weight) > width && line.chars().count() > 1 {
                    line.pop();
                    lines.push(std::mem::replace(&mut line, c.to_string()));
                }
            }
        }
        lines.push(line);
    }
    lines
}

/// `text` cut to `width` mm with an ellipsis when it is longer.
#[must_use]
pub fn shortened(text: &str, width: f64, size_mm: f64, weight: Weight) -> String {
    if width_mm(text, size_mm, weight) <= width {
        return text.to_owned();
    }
    let mut kept = text.to_owned();
    while kept.pop().is_some() {
        let candidate = format!("{}…", kept.trim_end());
        if width_mm(&candidate, size_mm, weight) <= width {
            return candidate;
        }
    }
    String::new()
}

/// Text as it may be lettered: control characters become spaces.
#[must_use]
pub(crate) fn printable(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn widths_are_those_of_the_metric_compatible_family() {
        // Advances published for Helvetica (Adobe core 14 AFM): digits 556, space 278, W 944, of
        // 1000; bold digits 556, W 944, a 556.
        assert_abs_diff_eq!(width_mm("0", 1.0, Weight::Regular), 0.556, epsilon = 5e-4);
        assert_abs_diff_eq!(width_mm("W ", 10.0, Weight::Regular), 12.22, epsilon = 1e-2);
        assert_abs_diff_eq!(width_mm("a", 1.0, Weight::Bold), 0.556, epsilon = 5e-4);
    }

    #[test]
    fn both_faces_have_the_characters_of_the_trade() {
        for weight in [Weight::Regular, Weight::Bold] {
            for c in "°±Ø×−λαΔ≤≥µ–“”’•→…½¼".chars() {
                assert_ne!(placed(c, weight).glyph, 0, "{c}");
            }
        }
    }

    #[test]
    fn wrapped_lines_fit_and_lose_nothing() {
        let text = "Measure the check lines of a print before using it. \
                    Donaudampfschifffahrtsgesellschaftskapitänsmützenabzeichen";
        let lines = wrap(text, 40.0, 3.5, Weight::Regular);
        assert!(lines.iter().all(|l| width_mm(l, 3.5, Weight::Regular) <= 40.0));
        let joined: String = lines.concat().split_whitespace().collect();
        assert_eq!(joined, text.split_whitespace().collect::<String>());
    }

    #[test]
    fn a_long_name_ends_in_an_ellipsis() {
        let s = shortened("A very long name indeed", 20.0, 4.0, Weight::Bold);
        assert!(s.ends_with('…') && width_mm(&s, 4.0, Weight::Bold) <= 20.0);
        assert_eq!(shortened("Nut", 20.0, 4.0, Weight::Bold), "Nut");
    }
}
