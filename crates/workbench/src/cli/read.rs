//! Reads what stands on the command line: each function takes one value's text and answers with the
//! value, or with a sentence that names the text and its limits.

use fit::{BarDrop, ViewWanted};
use form::Quantity;
use form::units::{self, UnitError};
use job::Duty;
use picture::PixelBox;
use shop::DialUnit;

pub fn length(text: &str) -> Result<Quantity, String> {
    quantity(text, "length", "0 to 10 m, zero excluded", units::length_quantity_mm)
}

pub fn pitch(text: &str) -> Result<Quantity, String> {
    quantity(text, "pitch", "0 to 500 mm, zero excluded", units::pitch_quantity_mm)
}

pub fn angle(text: &str) -> Result<Quantity, String> {
    quantity(text, "angle", "0° to 180°", units::angle_quantity_deg)
}

/// A quantity; what is below nothing names its limits instead of being no number at all.
fn quantity(
    text: &str,
    kind: &str,
    limits: &str,
    read: impl Fn(&str) -> Result<Quantity, UnitError>,
) -> Result<Quantity, String> {
    let refused = match read(text) {
        Ok(q) => return Ok(q),
        Err(e) => e,
    };
    let text = text.trim();
    if text.strip_prefix(MINUS).is_some_and(|rest| read(rest).is_ok()) {
        return Err(format!("{kind} \"{text}\" is below nothing; it lies within {limits}"));
    }
    // The same with its uncertainty made positive.
    let (value, u) = halves_of(text);
    let positive = u.and_then(|u| u.trim().strip_prefix(MINUS)).map(|u| format!("{value}±{u}"));
    if positive.is_some_and(|t| read(&t).is_ok()) {
        return Err(format!("the uncertainty of \"{text}\" is below nothing; write 5mm±0.01mm"));
    }
    Err(refused.to_string())
}

/// Hyphen and minus.
const MINUS: [char; 2] = ['-', '\u{2212}'];

/// What stands before and behind `±`.
fn halves_of(text: &str) -> (&str, Option<&str>) {
    let marks = ["±", "+/-", "+-"];
    let halves = marks.iter().find_map(|mark| text.split_once(mark));
    halves.map_or((text, None), |(value, u)| (value, Some(u)))
}

/// A length that may be nothing: a play, a clearance, a crest flat.
pub fn from_zero(text: &str) -> Result<Quantity, String> {
    quantity(text, "length", "0 to 10 m", units::length_from_zero_quantity_mm)
}

/// A length above nothing, without ±, mm.
pub fn plain_length(text: &str) -> Result<f64, String> {
    let mm = length(text)?.value;
    if mm > 0.0 { Ok(mm) } else { Err(format!("{text} is not above 0")) }
}

pub fn signed_length(text: &str) -> Result<f64, String> {
    units::signed_length_mm(text).map_err(|e| e.to_string())
}

pub fn signed_angle(text: &str) -> Result<f64, String> {
    units::signed_angle_deg(text).map_err(|e| e.to_string())
}

/// One division of a dial, as it is engraved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Division {
    /// Unit of the dial.
    pub unit: DialUnit,
    /// In that unit.
    pub value: f64,
}

/// A division in the unit it is written in: an inch dial counts inches.
pub fn division(text: &str) -> Result<Division, String> {
    let mm = plain_length(text)?;
    let unit = text.trim().trim_start_matches(|c: char| c.is_ascii_digit() || " .,/".contains(c));
    let metric = unit.ends_with('m');
    Ok(if metric {
        Division { unit: DialUnit::Mm, value: mm }
    } else {
        Division { unit: DialUnit::Inch, value: (mm / units::MM_PER_INCH * 1e9).round() / 1e9 }
    })
}

pub fn force(text: &str) -> Result<f64, String> {
    let number = text.trim().strip_suffix('N').map(|n| n.trim().parse::<f64>());
    match number {
        Some(Ok(n)) if n > 0.0 && n.is_finite() => Ok(n),
        _ => Err(format!("\"{text}\" is not a force above nothing: write 300N")),
    }
}

/// What a tool is ground from, or what is usual.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionWanted(pub Option<shop::ToolSection>);

/// Sizes of what a tool is ground from, mm.
const SECTION_MM: std::ops::RangeInclusive<f64> = 0.5..=60.0;

pub fn section(text: &str) -> Result<SectionWanted, String> {
    let plain = text.trim().to_lowercase();
    if plain == "usual" {
        return Ok(SectionWanted(None));
    }
    let wrong = || {
        format!(
            "\"{text}\" is no section of a tool: write round:4mm, square:8mm, insert:3mm or usual"
        )
    };
    let (kind, size) = plain.split_once(':').ok_or_else(wrong)?;
    let size_mm = plain_length(size)?;
    if !SECTION_MM.contains(&size_mm) {
        let (least, most) = (SECTION_MM.start(), SECTION_MM.end());
        return Err(format!("\"{text}\" is outside {least} to {most} mm"));
    }
    let section = match kind.trim() {
        "round" => shop::ToolSection::Round { diameter_mm: size_mm },
        "square" => shop::ToolSection::Square { side_mm: size_mm },
        "insert" => shop::ToolSection::Insert { height_mm: size_mm },
        _ => return Err(wrong()),
    };
    Ok(SectionWanted(Some(section)))
}

pub fn work_material(text: &str) -> Result<shop::WorkMaterial, String> {
    let word = |m: &shop::WorkMaterial| m.name().replace(' ', "-");
    let plain = text.trim().to_lowercase().replace(' ', "-");
    shop::WorkMaterial::ALL.into_iter().find(|m| word(m) == plain).ok_or_else(|| {
        let words: Vec<String> = shop::WorkMaterial::ALL.iter().map(word).collect();
        format!("\"{text}\" is none of {}", words.join(", "))
    })
}

/// Wheels that are owned.
#[derive(Debug, Clone)]
pub struct Owned(pub Vec<u32>);

pub fn owned(text: &str) -> Result<Owned, String> {
    shop::wheel_list(text).map(Owned).map_err(|e| e.to_string())
}

pub fn wheel_pair(text: &str) -> Result<(u32, u32), String> {
    let parts: Result<Vec<u32>, _> = text.split(',').map(|n| n.trim().parse::<u32>()).collect();
    match parts.as_deref() {
        Ok(&[driven, driver]) => Ok((driven, driver)),
        _ => Err(format!("\"{text}\" is not two numbers of teeth: write 127,120")),
    }
}

/// Which train is to be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TrainWanted {
    /// The best, whatever it is.
    Best,
    /// This one.
    These(job::TrainSaid),
}

/// Drivers over driven wheels, or driver over driven pair by pair.
pub fn train(text: &str) -> Result<TrainWanted, String> {
    let plain = text.trim().to_lowercase().replace(['×', '*', ','], "x");
    if plain == "best" {
        return Ok(TrainWanted::Best);
    }
    let wrong = || {
        format!(
            "\"{text}\" is no train: write its drivers over as many driven wheels, 40x30/60x50, pair by \
             pair, 40/60x30/50, or best"
        )
    };
    let wheels = |part: &str| -> Option<Vec<u32>> {
        part.split('x').map(|n| n.trim().parse::<u32>().ok()).collect()
    };
    let pairs: Option<Vec<(u32, u32)>> = plain
        .split('x')
        .map(|pair| {
            let (driver, driven) = pair.split_once('/')?;
            Some((driver.trim().parse().ok()?, driven.trim().parse().ok()?))
        })
        .collect();
    let (drivers, driven) = match (pairs, plain.split_once('/')) {
        (Some(pairs), _) => pairs.into_iter().unzip(),
        (None, Some((above, below))) => {
            (wheels(above).ok_or_else(wrong)?, wheels(below).ok_or_else(wrong)?)
        }
        (None, None) => return Err(wrong()),
    };
    if drivers.len() != driven.len() {
        return Err(wrong());
    }
    Ok(TrainWanted::These(job::TrainSaid { drivers, driven }))
}

pub fn cylinder(text: &str) -> Result<shop::CylinderReading, String> {
    let (top, diameter) = text
        .split_once(',')
        .ok_or_else(|| format!("\"{text}\" is not a height and a diameter: write 62.31mm,20mm"))?;
    let (top_mm, diameter_mm) = (length(top)?, length(diameter)?);
    Ok(shop::CylinderReading { top_mm, diameter_mm })
}

pub fn jaws(text: &str) -> Result<shop::JawReadings, String> {
    let readings: Result<Vec<f64>, String> = text.split(',').map(signed_length).collect();
    match readings?.as_slice() {
        &[a, b, c, d] => Ok(shop::JawReadings { at_mm: [a, b, c, d] }),
        other => Err(format!(
            "\"{text}\" holds {} readings; four are needed, one at each jaw: 0.12mm,0mm,-0.08mm,0.03mm",
            other.len()
        )),
    }
}

pub fn drop(text: &str) -> Result<BarDrop, String> {
    if text.trim() == "same-surface" {
        return Ok(BarDrop::SameSurface);
    }
    let drop = units::signed_length_quantity_mm(text)
        .map_err(|e| format!("{e}; or write same-surface"))?;
    if drop.value.abs() > 1000.0 {
        return Err(format!("\"{text}\" is outside -1 m to 1 m"));
    }
    Ok(BarDrop::Given(drop))
}

pub fn view(text: &str) -> Result<ViewWanted, String> {
    match text.trim() {
        "auto" => Ok(ViewWanted::Auto),
        "parallel" => Ok(ViewWanted::Parallel),
        other => units::length_quantity_mm(other)
            .map(ViewWanted::Distance)
            .map_err(|e| format!("{e}; or write auto or parallel")),
    }
}

pub fn duty(text: &str) -> Result<Duty, String> {
    Duty::from_word(text).ok_or_else(|| {
        let words: Vec<&str> = Duty::ALL.iter().map(|d| d.word()).collect();
        format!("\"{text}\" is none of {}", words.join(", "))
    })
}

pub fn pixel_box(text: &str) -> Result<PixelBox, String> {
    let numbers: Result<Vec<f64>, _> = text.split(',').map(|n| n.trim().parse::<f64>()).collect();
    match numbers.as_deref() {
        Ok(&[x, y, w, h]) if [x, y, w, h].iter().all(|v| v.is_finite()) && w > 0.0 && h > 0.0 => {
            Ok(PixelBox { x, y, w, h })
        }
        _ => Err(format!(
            "\"{text}\" is not a box: write left, top, width and height in pixels, for example \
             100,200,1500,300; width and height are above 0"
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_train_is_read_as_drivers_over_driven_or_pair_by_pair() {
        let these = |a: &[u32], b: &[u32]| {
            Ok(TrainWanted::These(job::TrainSaid { drivers: a.to_vec(), driven: b.to_vec() }))
        };
        assert_eq!(train("40x30/60x50"), these(&[40, 30], &[60, 50]));
        assert_eq!(train("40 × 30 / 60 × 50"), these(&[40, 30], &[60, 50]));
        assert_eq!(train("40/60x30/50"), these(&[40, 30], &[60, 50]));
        assert_eq!(train("120/127"), these(&[120], &[127]));
        assert_eq!(train("Best"), Ok(TrainWanted::Best));
        for wrong in ["", "120", "40x30/60", "40/60x30", "a/b", "40/60/30"] {
            let said = train(wrong).unwrap_err();
            assert!(said.contains(&format!("\"{wrong}\"")), "{said}");
        }
    }

    #[test]
    fn what_is_below_nothing_names_its_limits() {
        for (refused, words) in [
            (length("-3mm"), "within 0 to 10 m, zero excluded"),
            (length("\u{2212}3mm"), "below nothing"),
            (length("0mm"), "zero excluded"),
            (length("-3"), "not a number"),
            (length("3mm\u{b1}-0.1mm"), "uncertainty of \"3mm\u{b1}-0.1mm\" is below nothing"),
            (length("3mm+--0.1mm"), "is below nothing"),
            (pitch("-8tpi"), "within 0 to 500 mm"),
            (angle("-30deg"), "0° to 180°"),
            (from_zero("-0.1mm"), "within 0 to 10 m"),
            (from_zero("0"), "no unit"),
            (from_zero("0mm\u{b1}-1mm"), "below nothing"),
        ] {
            let text = refused.unwrap_err();
            assert!(text.contains(words), "{text}");
        }
    }

    #[test]
    fn a_division_is_of_the_dial_it_is_engraved_on() {
        for (text, unit, value) in [
            ("0.02mm", DialUnit::Mm, 0.02),
            ("10um", DialUnit::Mm, 0.01),
            ("0.001in", DialUnit::Inch, 0.001),
            ("1thou", DialUnit::Inch, 0.001),
            ("1/1000\"", DialUnit::Inch, 0.001),
        ] {
            let read = division(text).unwrap();
            assert_eq!(read.unit, unit, "{text}");
            assert!((read.value - value).abs() < 1e-12, "{text}: {}", read.value);
        }
        assert!(division("0mm").is_err() && division("0.02").is_err());
    }

    #[test]
    fn nothing_is_a_play_and_a_flat() {
        assert_eq!(from_zero("0mm").unwrap(), Quantity::entered(0.0, 0.0));
        let q = from_zero("0mm+-0.05mm").unwrap();
        assert!(q.value == 0.0 && (q.u - 0.05).abs() < 1e-12);
        assert!((from_zero("2thou").unwrap().value - 0.0508).abs() < 1e-12);
    }
}
