//! Results in words and columns, for people.

use fit::{FormFound, Gain, Measurement};
use form::units::MM_PER_INCH;
use form::{Quantity, Sentence, Units, mm, sentence};
use job::{Findings, Identity, Part};
use shop::About;
use standards::{Evidence, Feature};
use std::fmt::Write;

/// Most decimals of an angle in degrees worth showing.
const ANGLE_DECIMALS: usize = 3;
const WIDTH: usize = 92;

/// One line of the form: name, quantity, whether it is an angle.
pub type FormLine = (&'static str, Option<Quantity>, bool);

/// The form, in the order in which it is shown everywhere.
#[must_use]
pub fn form_lines(f: &FormFound) -> [FormLine; 13] {
    [
        ("pitch", f.pitch_mm, false),
        ("lead", f.lead_mm, false),
        ("right flank", f.right_flank_deg, true),
        ("left flank", f.left_flank_deg, true),
        ("included angle", f.included_angle_deg, true),
        ("depth", f.depth_mm, false),
        ("crest flat", f.crest_flat_mm, false),
        ("root flat", f.root_flat_mm, false),
        ("crest radius", f.crest_radius_mm, false),
        ("root radius", f.root_radius_mm, false),
        ("major diameter", f.major_diameter_mm, false),
        ("minor diameter", f.minor_diameter_mm, false),
        ("pitch diameter", f.pitch_diameter_mm, false),
    ]
}

/// A quantity with its unit; what cannot be told says so.
#[must_use]
pub fn quantity(q: Option<Quantity>, angle: bool, units: Units) -> String {
    match q.filter(|q| q.value.is_finite() && q.u.is_finite()) {
        None => "cannot tell".into(),
        Some(q) if angle => format!("{}°", q.with_u(ANGLE_DECIMALS)),
        Some(q) => units.show(q),
    }
}

/// Between what a play lies, mm, to the digits that every sentence and sheet gives it.
#[must_use]
pub fn between(least_mm: f64, most_mm: f64, units: Units) -> String {
    sentence!("{} to {}", mm(least_mm, 2), mm(most_mm, 2)).in_units(units)
}

/// A number without a unit, with its uncertainty.
#[must_use]
pub fn plain_quantity(q: Quantity, decimals: usize) -> String {
    if q.value.is_finite() && q.u.is_finite() { q.with_u(decimals) } else { "cannot tell".into() }
}

fn plain(value: Option<f64>, angle: bool, units: Units) -> String {
    match value {
        None => "–".into(),
        Some(v) if angle => format!("{v:.2}°"),
        Some(v) => units.plain(v, 3),
    }
}

/// The table of a measurement.
#[must_use]
pub fn measurement(findings: &Findings, units: Units) -> String {
    let mut out = String::new();
    let Some(m) = &findings.measurement else { return out };
    let _ = writeln!(
        out,
        "Form of the axial section. ± is one standard uncertainty (k = 1); twice it covers about \
         95 %.\n"
    );
    let _ = writeln!(out, "  {:<16} {:<26} {:<10} straight lines along", "", "the screw", "");
    let _ = writeln!(out, "  {:<16} {:<26} {:<10} the shadow would say", "", "is", "source");
    let straight = straight_lines(m);
    for (name, q, angle) in form_lines(&m.form) {
        let shown = quantity(q, angle, units);
        let source = q.map_or_else(String::new, |q| q.source.to_string());
        let seen = straight
            .iter()
            .find(|(n, _)| *n == name)
            .map_or_else(String::new, |(_, v)| plain(*v, angle, units));
        let line = format!("  {name:<16} {shown:<26} {source:<10} {seen}");
        let _ = writeln!(out, "{}", line.trim_end());
    }
    out.push('\n');
    match &m.starts {
        Some(s) => {
            let _ = writeln!(out, "  {:<16} {:<26} {}", "starts", s.value, chosen(s.probability));
        }
        None => out.push_str("  starts           cannot tell\n"),
    }
    match &m.hand {
        Some(h) => {
            let _ = writeln!(
                out,
                "  {:<16} {:<26} {}",
                "hand",
                h.value.to_string(),
                chosen(h.probability)
            );
        }
        None => out.push_str("  hand             cannot tell\n"),
    }
    let _ = writeln!(out, "  {:<16} {}", "taper", m.form.taper_in_words());
    view(&mut out, m, units);
    out
}

/// What the uncertainties are made of, and what would help most.
#[must_use]
pub fn budget(m: &Measurement, units: Units) -> String {
    let mut out = String::from("Where the uncertainty comes from, the largest share first\n\n");
    for name in BUDGETED {
        let of_it = || m.budget.iter().filter(|l| l.quantity == name);
        let largest = of_it().map(|l| l.u).fold(0.0, f64::max);
        let worth = of_it().filter(|l| l.u > WORTH_TELLING * largest).take(MOST_SHARES);
        for (i, line) in worth.enumerate() {
            let name = if i == 0 { words_of(name) } else { String::new() };
            let u = doubt(&line.quantity, line.u, units);
            let _ = writeln!(out, "  {name:<16} {u:>10}  {}", line.source);
        }
    }
    let remedies = m.remedies();
    if let Some(first) = remedies.first() {
        let _ = writeln!(out, "\nWhat would help most\n\n  {}", first.advice);
        for gain in first.gains.iter().take(MOST_GAINS) {
            let _ = writeln!(out, "    {}", gained(gain, units));
        }
        for remedy in remedies.iter().skip(1).take(MOST_SHARES) {
            let _ = writeln!(out, "  {}", remedy.advice);
        }
    }
    out
}

/// What a tool, a nut and their wheels hang on; the rest follows from it, and stands in the JSON.
const BUDGETED: [&str; 6] = [
    "pitch_mm",
    "right_flank_deg",
    "left_flank_deg",
    "crest_flat_mm",
    "root_flat_mm",
    "major_diameter_mm",
];
/// Part of the largest share of a quantity from which another is told.
const WORTH_TELLING: f64 = 0.25;
/// Shares of a quantity that are told, and gains of a remedy.
const MOST_SHARES: usize = 3;
const MOST_GAINS: usize = 4;

/// What a remedy would gain, in words.
#[must_use]
pub fn gained(gain: &Gain, units: Units) -> String {
    let of = &gain.quantity;
    let (then, now) = (doubt(of, gain.u_then, units), doubt(of, gain.u_now, units));
    format!("{}: ± {then} instead of {now}", words_of(of))
}

/// A quantity's name as people read it.
#[must_use]
pub fn words_of(quantity: &str) -> String {
    quantity.trim_end_matches("_mm").trim_end_matches("_deg").replace('_', " ")
}

/// An uncertainty in the unit it is small in.
#[must_use]
pub fn doubt(quantity: &str, u: f64, units: Units) -> String {
    match units {
        _ if quantity.ends_with("_deg") => format!("{u:.3}°"),
        Units::Mm => format!("{:.1} µm", 1000.0 * u),
        Units::Inch | Units::Thou => {
            let thou = 1000.0 * u / MM_PER_INCH;
            format!("{thou:.*} thou", if thou < 0.1 { 3 } else { 2 })
        }
    }
}

/// What straight lines along the shadow would say, by the names of [`form_lines`].
#[must_use]
pub fn straight_lines(m: &Measurement) -> Vec<(&'static str, Option<f64>)> {
    let Some(s) = m.straight else { return Vec::new() };
    vec![
        ("pitch", Some(s.pitch_mm)),
        ("right flank", Some(s.right_flank_deg)),
        ("left flank", Some(s.left_flank_deg)),
        ("included angle", Some(s.right_flank_deg + s.left_flank_deg)),
        ("crest flat", Some(s.crest_flat_mm)),
        ("root flat", Some(s.root_flat_mm)),
        ("major diameter", s.major_diameter_mm),
    ]
}

/// How sure a choice is; one the person made is not the picture's.
#[must_use]
pub fn chosen(p: f64) -> String {
    if p >= 1.0 { "entered".into() } else { odds(p) }
}

/// A probability, without false certainty, as the sheets print it.
#[must_use]
pub fn odds(p: f64) -> String {
    sheets::percent(p)
}

fn view(out: &mut String, m: &Measurement, units: Units) {
    let v = &m.view;
    let kind = if v.perspective { "from a distance" } else { "parallel light" };
    let _ = writeln!(out, "  {:<16} {kind}", "view");
    if let Some(d) = v.camera_distance_mm {
        let _ = writeln!(out, "  {:<16} {:<26} {}", "camera", units.show(d), d.source);
    }
    if let Some(t) = v.tilt_deg {
        let _ =
            writeln!(out, "  {:<16} {:<26} {}", "tilt", quantity(Some(t), true, units), t.source);
    }
    let scale = m.px_per_mm;
    let _ = if scale.u < scale.value {
        let shown = format!("{} px/{}", scale.scaled(units.in_mm()).with_u(4), units.symbol());
        writeln!(out, "  {:<16} {shown:<26} {}", "scale", scale.source)
    } else {
        writeln!(out, "  {:<16} cannot tell", "scale")
    };
}

/// The candidates.
#[must_use]
pub fn candidates(ranking: &standards::Ranking, units: Units) -> String {
    let mut out = String::from("Likely standard\n\n");
    for c in ranking.candidates.iter().take_while(|c| c.probability >= 0.001).take(8) {
        // A size of its own carries its form in its name.
        let family = if c.in_series { c.family } else { "" };
        let line = format!("  {:>8}  {:<28} {family}", odds(c.probability), c.designation);
        let _ = writeln!(out, "{}", line.trim_end());
    }
    let _ = writeln!(out, "  {:>8}  no standard form", odds(ranking.no_standard_probability));
    if !ranking.explanation.is_empty() {
        out.push('\n');
    }
    for line in &ranking.explanation {
        out.push_str(&wrapped(&line.in_units(units), "  "));
    }
    out
}

/// The designations of a group, without the remarks the table above it makes of each.
#[must_use]
pub fn group(designations: &[String]) -> String {
    let shown: Vec<&str> =
        designations.iter().take(MOST_IN_GROUP).map(|d| without_remark(d)).collect();
    let more = designations.len().saturating_sub(MOST_IN_GROUP);
    let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("{}{rest}", shown.join(", "))
}

/// More members of a group than these say nothing that these do not.
const MOST_IN_GROUP: usize = 8;

/// A designation without what is remarked about it: `Tr 22 x 3.5 (form ISO 2901; …)`.
fn without_remark(designation: &str) -> &str {
    designation.split(" (form ").next().unwrap_or(designation)
}

/// A suggestion, its designations without their remarks.
#[must_use]
pub fn suggestion(text: &str) -> String {
    let mut parts = text.split(" (form ");
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        out.push_str(part.split_once(')').map_or("", |(_, rest)| rest));
    }
    out
}

/// What the numbers given and further readings say together, each reading beside what all others make
/// of it, and which disagree.
#[must_use]
pub fn together(identity: &Identity, evidence: &[Evidence], units: Units) -> String {
    let shown = |feature: Feature, q: Option<Quantity>| match (feature, q) {
        (_, None) => "–".to_owned(),
        (Feature::Taper, Some(q)) => plain_quantity(q, 4),
        (f, q) => quantity(q, f.is_angle(), units),
    };
    let mut out = String::from("Numbers and readings together. ± is one standard uncertainty.\n\n");
    let _ = writeln!(out, "  {:<16} {:<26} with the readings", "", "as given");
    for e in &identity.estimates {
        let given = match e.picture {
            Some(q) if q.u == 0.0 => format!("{} (no ±)", bare(e.feature, q.value, units)),
            q => shown(e.feature, q),
        };
        let together = shown(e.feature, Some(e.together));
        let _ = writeln!(out, "  {:<16} {given:<26} {together}", e.feature.word());
    }
    if let Some((starts, p)) = identity.combined.measured.starts {
        let _ = writeln!(out, "  {:<16} {:<26} {starts} ({})", "starts", "", odds(p));
    }
    let combined = &identity.combined;
    if combined.residuals.iter().any(|r| r.expected.is_some()) {
        let _ = writeln!(out, "\n  {:<30} {:<24} {:<18} apart", "", "read", "the others say");
    }
    for r in &combined.residuals {
        let (Some(expected), Some(apart)) = (r.expected, r.in_u) else { continue };
        let feature = Feature::ALL.into_iter().find(|f| f.key() == r.what);
        let feature = feature.unwrap_or(Feature::Pitch);
        let read = shown(feature, Some(Quantity::derived(r.value, r.u)));
        // With the digits of the reading: more would not be compared.
        let others = shown(feature, Some(Quantity::derived(expected, r.u)));
        let (number, unit) = others.split_once(" ± ").map_or((others.as_str(), ""), |(n, rest)| {
            (n, rest.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.'))
        });
        let doubt = if r.enlarged > 1.0 { "  doubted" } else { "" };
        let others = format!("{number}{unit}");
        let _ = writeln!(out, "  {:<30} {read:<24} {others:<18} {apart:+.1} u{doubt}", r.label);
    }
    let belief = |e: &Evidence| {
        let misfit = matches!(e, Evidence::PitchGauge { fits: false, .. });
        misfit || matches!(e, Evidence::Dials { .. } | Evidence::Machine { .. })
    };
    if evidence.iter().any(belief) {
        out.push_str(
            "\n  Country, period, dials and gauges that do not fit shift the odds only.\n",
        );
    }
    if combined.dof > 0 {
        let excess = match combined.dof {
            1 => "one more reading than is needed".to_owned(),
            n => format!("{n} more readings than are needed"),
        };
        let says = format!(
            "χ² is {:.1} for {excess}; chance alone gives as much in {} of cases.",
            combined.chi2,
            odds(combined.p_value)
        );
        out.push('\n');
        out.push_str(&wrapped(&says, "  "));
    }
    if !combined.contradictions.is_empty() {
        out.push_str("\nThe readings disagree\n\n");
    }
    for contradiction in &combined.contradictions {
        out.push_str(&said(&contradiction.text, units));
    }
    if combined.contradictions.is_empty() && !combined.notes.is_empty() {
        out.push('\n');
    }
    for note in &combined.notes {
        out.push_str(&said(note, units));
    }
    out
}

/// A number that came without its uncertainty, as it was typed.
fn bare(feature: Feature, value: f64, units: Units) -> String {
    let text = match feature {
        Feature::Taper => format!("{value:.4}"),
        f if f.is_angle() => format!("{value:.3}"),
        _ => {
            let q = units.of_mm(Quantity::standard(value));
            format!("{:.*}", units.finest(q), q.value)
        }
    };
    let digits = text.trim_end_matches('0').trim_end_matches('.');
    match feature {
        Feature::Taper => digits.to_owned(),
        f if f.is_angle() => format!("{digits}°"),
        _ => format!("{digits} {}", units.symbol()),
    }
}

/// Refusal, troubles and warnings of the parts of the work up to and with `last`.
#[must_use]
pub fn remarks(findings: &Findings, last: Part, units: Units) -> String {
    let troubles: Vec<_> = findings.troubles.iter().filter(|t| t.part <= last).collect();
    let (notes, warnings): (Vec<_>, Vec<_>) =
        findings.warnings.iter().filter(|w| w.part <= last).partition(|w| w.is_note());
    let mut out = String::new();
    if let Some(refusal) = &findings.refusal {
        out.push_str("Refused\n\n");
        out.push_str(&bullet(refusal));
        out.push('\n');
    }
    if !troubles.is_empty() {
        out.push_str("Could not be done\n\n");
        for t in troubles {
            out.push_str(&said(&t.text, units));
        }
        out.push('\n');
    }
    for (title, remarks) in [("Warnings", warnings), ("Good to know", notes)] {
        if !remarks.is_empty() {
            let lines: String = remarks.iter().map(|w| said(&w.text, units)).collect();
            out.push_str(&format!("{title}\n\n{lines}\n"));
        }
    }
    out
}

/// The cautions that go with what a command is about.
#[must_use]
pub fn cautions(about: &[About]) -> String {
    let mut out = String::from("Cautions\n\n");
    for c in shop::cautions_for(about) {
        out.push_str(&bullet(&c.text.to_string()));
    }
    out
}

/// The cautions for a job: as long as nobody said what its thread does, that as well.
#[must_use]
pub fn cautions_for(job: &job::Job, about: &[About]) -> String {
    let mut out = cautions(about);
    out.extend(job.duty.and_then(job::Duty::caution).map(bullet));
    if job.duty.is_none() {
        out.push_str(&bullet(&format!(
            "{} Say it with --duty of measure or match.",
            job::NOBODY_SAID
        )));
    }
    out
}

/// Two columns: what, and how much.
#[must_use]
pub fn rows(rows: &[(&str, String)]) -> String {
    let widest = rows.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0).max(34);
    let mut out = String::new();
    for (name, value) in rows {
        let _ = writeln!(out, "  {name:<widest$} {value}");
    }
    out
}

/// One point of a list, its lengths in the units wanted.
#[must_use]
pub fn said(text: &Sentence, units: Units) -> String {
    bullet(&text.in_units(units))
}

/// One point of a list.
#[must_use]
pub fn bullet(text: &str) -> String {
    let body = wrapped(text, "    ");
    format!("  - {}", body.trim_start())
}

/// Text in lines of bounded width.
#[must_use]
pub fn wrapped(text: &str, indent: &str) -> String {
    let mut out = String::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        if !line.is_empty()
            && indent.len() + line.chars().count() + 1 + word.chars().count() > WIDTH
        {
            let _ = writeln!(out, "{indent}{line}");
            line.clear();
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    if !line.is_empty() {
        let _ = writeln!(out, "{indent}{line}");
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn probabilities_never_claim_certainty_that_was_not_entered() {
        assert_eq!(odds(1.0), "> 99.9 %");
        assert_eq!(odds(0.999_99), "> 99.9 %");
        assert_eq!(odds(0.995), "99.5 %");
        assert_eq!(odds(0.5), "50 %");
        assert_eq!(odds(0.0), "< 0.1 %");
    }

    #[test]
    fn what_cannot_be_told_has_no_digits() {
        assert_eq!(quantity(None, false, Units::Mm), "cannot tell");
        let unknown = Quantity::measured(1.0, f64::INFINITY);
        assert_eq!(quantity(Some(unknown), true, Units::Mm), "cannot tell");
        assert_eq!(
            quantity(Some(Quantity::measured(15.0, 0.05)), true, Units::Mm),
            "15.00 ± 0.05°"
        );
    }

    #[test]
    fn lists_of_names_are_short() {
        let own = "Tr 22 x 3.5 (form ISO 2901; pitch and size not in the series)".to_owned();
        let names: Vec<String> = std::iter::repeat_n(own, 10).collect();
        assert_eq!(group(&names[..2]), "Tr 22 x 3.5, Tr 22 x 3.5");
        assert!(group(&names).ends_with("Tr 22 x 3.5 and 2 more"));
        let text =
            "measure (± 1 mm): 3 mm says Tr 8 x 8 (P2) (form ISO 2901; no size) or Acme; 4 mm";
        assert_eq!(suggestion(text), "measure (± 1 mm): 3 mm says Tr 8 x 8 (P2) or Acme; 4 mm");
    }

    #[test]
    fn lines_stay_within_the_width() {
        let text = wrapped(&"word ".repeat(100), "    ");
        assert!(text.lines().all(|l| l.chars().count() <= WIDTH));
        assert_eq!(text.matches("word").count(), 100);
    }
}
