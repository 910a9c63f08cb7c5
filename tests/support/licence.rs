//! Which licences a dependency may have.

use spdx::{Expression, Licensee, ParseMode};

/// Permissive licences, by their SPDX names.
const PERMISSIVE: &[&str] = &[
    "0BSD",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// One more licence for one package, with the reason.
const ALSO: &[(&str, &str, &str)] = &[
    ("epaint_default_fonts", "OFL-1.1", "the font files of egui: free to ship, not to sell alone"),
    ("epaint_default_fonts", "Ubuntu-font-1.0", "likewise"),
];

/// What is wrong with a package's licence; `None` when it may be used.
#[must_use]
pub fn fault(package: &str, licence: Option<&str>) -> Option<String> {
    let Some(text) = licence else { return Some(format!("{package} names no licence")) };
    // Lax: older manifests write "MIT/Apache-2.0" for "MIT OR Apache-2.0".
    let expression = match Expression::parse_mode(text, ParseMode::LAX) {
        Ok(expression) => expression,
        Err(e) => {
            return Some(format!("{package}: \"{text}\" is no SPDX expression: {}", e.reason));
        }
    };
    let also = ALSO.iter().filter(|(p, _, _)| *p == package).map(|(_, licence, _)| *licence);
    let allowed: Vec<Licensee> =
        PERMISSIVE.iter().copied().chain(also).filter_map(|l| Licensee::parse(l).ok()).collect();
    let may = expression.evaluate(|wanted| allowed.iter().any(|l| l.satisfies(wanted)));
    (!may).then(|| format!("{package}: \"{text}\" asks for more than the permissive licences"))
}

/// Packages that are let in by an exception; each must still be in use.
#[must_use]
pub fn excepted() -> Vec<&'static str> {
    let mut names: Vec<&str> = ALSO.iter().map(|(p, _, _)| *p).collect();
    names.dedup();
    names
}

/// Whether every name in the lists is one that SPDX knows; a misspelt one would allow nothing.
#[must_use]
pub fn lists_are_spdx() -> bool {
    let also = ALSO.iter().map(|(_, licence, _)| *licence);
    PERMISSIVE.iter().copied().chain(also).all(|l| Licensee::parse(l).is_ok())
}
