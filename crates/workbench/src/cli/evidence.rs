//! Evidence beside the numbers, as it is written on the command line.

use super::read::length;
use form::{Quantity, units};
use standards::{Evidence, Instrument, Region, System};

/// How each kind is written; also the help text.
pub const FORMS: &str = "caliper:10=25.4mm, rule:10=25.4mm (length over 10 threads), count:10 (threads \
in an inch), travel:10=25.4mm (over 10 turns), dial:100=0.001in (divisions, value of one), \
fits:8tpi@60deg, not:2.5mm@60deg (leaf of a pitch gauge), major:20mm, minor:17mm, wires:22.1mm@1.5mm \
(over wires of that diameter), taper:1/16 (taper:0 for none), starts:2, dials:inch, country:britain, year:1938";

/// Reads one piece of evidence; readings may carry their uncertainty.
pub fn evidence(text: &str) -> Result<Evidence, String> {
    let unknown = || format!("\"{text}\" is no evidence known here; write for example {FORMS}");
    let (kind, rest) = text.split_once(':').ok_or_else(unknown)?;
    let rest = rest.trim();
    let read = match kind.trim() {
        "caliper" => over(rest, Instrument::Caliper)?,
        "rule" => over(rest, Instrument::Rule)?,
        "count" => {
            let (threads, u) = with_u(rest, number)?;
            let threads = Quantity::entered(threads, u);
            Evidence::Count { threads, length_mm: units::MM_PER_INCH }
        }
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
        "taper" => Evidence::Taper { taper: taper(rest)? },
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

/// Change of diameter per unit of length: `1/16`, `1:16`, `0.0625`, `0`; may carry its uncertainty.
pub fn taper(text: &str) -> Result<Quantity, String> {
    let ratio = |text: &str| {
        let parts: Option<(&str, &str)> = text.split_once(['/', ':']);
        let (rise, run) = parts.unwrap_or((text, "1"));
        let of = |t: &str| t.trim().parse::<f64>().ok().filter(|v| v.is_finite() && *v >= 0.0);
        match (of(rise), of(run)) {
            (Some(rise), Some(run)) if run > 0.0 => Ok(rise / run),
            _ => Err(format!("\"{text}\" is no taper: write 1/16, 0.0625, or 0 for none")),
        }
    };
    let (taper, u) = with_u(text, ratio)?;
    if taper > MOST_TAPER {
        return Err(format!("taper {text} is outside 0 to {MOST_TAPER}"));
    }
    Ok(Quantity::entered(taper, u))
}

/// Steepest taper of a thread.
const MOST_TAPER: f64 = 0.5;

/// A number and its uncertainty behind `±` or `+-`, 0 where there is none.
fn with_u(text: &str, read: impl Fn(&str) -> Result<f64, String>) -> Result<(f64, f64), String> {
    match text.split_once('±').or_else(|| text.split_once("+-")) {
        Some((value, u)) => Ok((read(value.trim())?, read(u.trim())?)),
        None => Ok((read(text.trim())?, 0.0)),
    }
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
            "count:10±0.2",
            "taper:1/16",
            "taper:1:16±0.002",
            "taper:0.06+-0.003",
            "taper:0",
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
            ("taper:16", "outside 0 to 0.5"),
            ("taper:1/0", "no taper"),
            ("taper:a little", "0 for none"),
            ("country:atlantis", "none of"),
            ("major:20", "20"),
        ] {
            let e = evidence(text).unwrap_err();
            assert!(e.contains(wanted), "{text}: {e}");
        }
    }
}
