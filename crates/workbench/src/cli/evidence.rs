//! Evidence beside the numbers, as it is written on the command line.

use form::{Quantity, units};
use standards::{Evidence, Instrument, Region, System};

/// How each kind is written; also the help text.
pub const FORMS: &str = "caliper:10=25.4mm, rule:10=25.4mm (length over 10 threads), count:10 (threads \
in an inch), travel:10=25.4mm (over 10 turns), dial:100=0.001in (divisions, value of one), \
fits:8tpi@60deg, not:2.5mm@60deg (leaf of a pitch gauge), major:20mm, minor:17mm, wires:22.1mm@1.5mm \
(over wires of that diameter), taper:1/16, starts:2, dials:inch, country:britain, year:1938";

/// Reads one piece of evidence; readings may carry their uncertainty.
pub fn evidence(text: &str) -> Result<Evidence, String> {
    let unknown = || format!("\"{text}\" is no evidence known here; write for example {FORMS}");
    let (kind, rest) = text.split_once(':').ok_or_else(unknown)?;
    let rest = rest.trim();
    let read = match kind.trim() {
        "caliper" => over(rest, Instrument::Caliper)?,
        "rule" => over(rest, Instrument::Rule)?,
        "count" => Evidence::Count {
            threads: Quantity::entered(number(rest)?, 0.0),
            length_mm: units::MM_PER_INCH,
        },
        "travel" => {
            let (turns, travel) = halves(rest, '=')?;
            Evidence::Travel { turns: number(turns)?, travel_mm: length(travel)? }
        }
        "dial" => {
            let (divisions, value) = halves(rest, '=')?;
            Evidence::DialTurn { divisions: number(divisions)?, division_mm: length(value)?.value }
        }
        kind @ ("fits" | "not") => {
            let (pitch, angle) = halves(rest, '@')?;
            Evidence::PitchGauge {
                pitch_mm: units::pitch_mm(pitch).map_err(|e| e.to_string())?,
                included_deg: units::angle_deg(angle).map_err(|e| e.to_string())?,
                teeth: USUAL_TEETH,
                fits: kind == "fits",
            }
        }
        "major" => Evidence::Major { major_mm: length(rest)? },
        "minor" => Evidence::Minor { minor_mm: length(rest)? },
        "wires" => {
            let (over, wire) = halves(rest, '@')?;
            Evidence::OverWires { over_mm: length(over)?, wire_mm: length(wire)?.value }
        }
        "taper" => {
            let (rise, run) = halves(rest, '/')?;
            Evidence::Taper { taper: Quantity::entered(number(rise)? / number(run)?, 0.0) }
        }
        "starts" => Evidence::Starts { starts: whole(rest)? },
        "dials" => Evidence::Dials {
            system: match rest {
                "metric" => System::Metric,
                "inch" => System::Inch,
                _ => return Err(format!("\"{rest}\" is none of metric, inch")),
            },
        },
        "country" => Evidence::Machine { region: Some(region(rest)?), year: None },
        "year" => Evidence::Machine { region: None, year: Some(whole(rest)?) },
        _ => return Err(unknown()),
    };
    read.check().map_err(|e| e.to_string())?;
    Ok(read)
}

/// Teeth of an ordinary leaf that lie in the thread (common practice).
const USUAL_TEETH: u32 = 8;

fn over(text: &str, instrument: Instrument) -> Result<Evidence, String> {
    let (threads, span) = halves(text, '=')?;
    Ok(Evidence::OverThreads { threads: whole(threads)?, length_mm: length(span)?, instrument })
}

fn halves(text: &str, by: char) -> Result<(&str, &str), String> {
    text.split_once(by)
        .ok_or_else(|| format!("\"{text}\" lacks its \"{by}\"; write for example {FORMS}"))
}

fn number(text: &str) -> Result<f64, String> {
    text.trim()
        .parse::<f64>()
        .ok()
        .filter(|v| v.is_finite() && *v > 0.0)
        .ok_or_else(|| format!("\"{text}\" is not a number above 0"))
}

fn whole(text: &str) -> Result<u32, String> {
    text.trim().parse().map_err(|_| format!("\"{text}\" is not a whole number above 0"))
}

fn length(text: &str) -> Result<Quantity, String> {
    units::length_quantity_mm(text).map_err(|e| e.to_string())
}

fn region(text: &str) -> Result<Region, String> {
    match text {
        "britain" => Ok(Region::Britain),
        "north-america" => Ok(Region::NorthAmerica),
        "europe" => Ok(Region::Europe),
        "asia" => Ok(Region::Asia),
        _ => Err(format!("\"{text}\" is none of britain, north-america, europe, asia")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_the_help_is_read_and_wrong_ones_name_their_limits() {
        for text in [
            "caliper:10=25.4mm±0.03mm",
            "rule:10=1in",
            "count:10",
            "travel:10=25.4mm",
            "dial:100=0.001in",
            "fits:8tpi@60deg",
            "not:2.5mm@60deg",
            "major:20mm",
            "minor:17mm",
            "wires:22.1mm@1.5mm",
            "taper:1/16",
            "starts:2",
            "dials:inch",
            "country:britain",
            "year:1938",
        ] {
            assert!(evidence(text).is_ok(), "{text}: {:?}", evidence(text));
        }
        for (text, wanted) in [
            ("weight:3", "no evidence known"),
            ("caliper:10", "lacks its \"=\""),
            ("caliper:0=25mm", "outside"),
            ("major:5000mm", "outside 0.2 to 2000 mm"),
            ("starts:40", "outside 1 to 16"),
            ("country:atlantis", "none of"),
            ("major:20", "20"),
        ] {
            let e = evidence(text).unwrap_err();
            assert!(e.contains(wanted), "{text}: {e}");
        }
    }
}
