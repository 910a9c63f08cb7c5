//! What a result has to say beside its numbers.

use form::Sentence;
use serde::{Deserialize, Serialize};

/// A remark that travels with a result: a stable code for programs, a sentence for people.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Notice {
    /// Stable identifier, lower case with hyphens.
    pub code: String,
    /// A sentence with the numbers it is about.
    pub text: Sentence,
}

impl Notice {
    /// A notice from its two parts.
    pub fn new(code: &str, text: impl Into<Sentence>) -> Self {
        Self { code: code.to_owned(), text: text.into() }
    }
}

/// Where one number of a result came from, in words fit for a sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Provenance {
    /// The number it is about, by field name.
    pub what: String,
    /// How it was obtained.
    pub text: Sentence,
}

impl Provenance {
    /// A provenance from its two parts.
    pub fn new(what: &str, text: impl Into<Sentence>) -> Self {
        Self { what: what.to_owned(), text: text.into() }
    }
}
