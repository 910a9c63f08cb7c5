//! How numbers stand in entries: as the person would write them.

use form::{Quantity, Units, units};

/// A number without trailing zeros.
pub(super) fn trimmed(value: f64) -> String {
    trimmed_to(value, 6)
}

/// The same to so many decimals at most.
fn trimmed_to(value: f64, most: usize) -> String {
    let text = format!("{value:.most$}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A length as the person would write it: no digits that were not given, and none that only come of
/// turning it into other units.
#[must_use]
pub fn entered(q: Quantity, units: Units) -> String {
    let (value, u) = (q.value / units.in_mm(), q.u / units.in_mm());
    let unit = units.symbol();
    // A ten-thousandth of a millimetre, or about that.
    let most = match units {
        Units::Mm => 4,
        Units::Inch => 5,
        Units::Thou => 2,
    };
    let short = |v: f64| trimmed(v) == trimmed_to(v, most);
    match u > 0.0 {
        true if short(value) && short(u) => {
            let u = trimmed(u);
            // As many decimals before ± as behind it, at the least.
            let decimals = |text: &str| text.split_once('.').map_or(0, |(_, d)| d.len());
            let most = decimals(&u).max(decimals(&trimmed(value)));
            format!("{value:.most$} ± {u} {unit}")
        }
        true => format!("{} {unit}", Quantity::new(value, u, q.source).with_u(6)),
        false => format!("{} {unit}", trimmed_to(value, most)),
    }
}

/// A length in a column whose head names the unit.
pub(super) fn bare(text: &str, units: Units) -> String {
    text.trim_end_matches(units.symbol()).trim_end().to_owned()
}

/// A place along a slide, to a few micrometres: nobody sets a slide nearer.
pub(super) fn place(mm: f64, units: Units) -> String {
    let most = match units {
        Units::Mm => 3,
        Units::Inch => 4,
        Units::Thou => 1,
    };
    trimmed_to(mm / units.in_mm(), most)
}

/// An angle as the person would write it.
pub(super) fn angle(q: Quantity) -> String {
    if q.u > 0.0 {
        format!("{} ± {}°", trimmed(q.value), trimmed(q.u))
    } else {
        format!("{}°", trimmed(q.value))
    }
}

/// A lead; threads per inch where they come out whole: no usual metric pitch does.
pub(super) fn lead(mm: f64, shown: Units) -> String {
    let tpi = units::MM_PER_INCH / mm;
    if (tpi - tpi.round()).abs() < 1e-6 {
        return format!("{tpi:.0} tpi");
    }
    entered(Quantity::entered(mm, 0.0), shown)
}
