//! What is wrong with a job file's text, in words: the parser's own are for programmers.

use serde_json::Error;
use serde_json::error::Category;

/// Why a text is not JSON.
pub(crate) fn not_json(e: &Error) -> String {
    let at = format!("in line {}, column {}", e.line(), e.column());
    match e.classify() {
        Category::Eof if e.line() <= 1 && e.column() == 0 => "it is empty".into(),
        Category::Eof => format!("it stops too early, {at}"),
        _ => format!("what stands {at} makes no sense there"),
    }
}

/// Which value is of another kind than it must be, as the parser says it, in words.
pub(crate) fn wrong_shape(e: &Error) -> String {
    let text = e.to_string();
    let place = match e.line() {
        0 => String::new(),
        line => format!(" (line {line}, column {})", e.column()),
    };
    let text = text.split(" at line ").next().unwrap_or_default();
    let words = said(text).unwrap_or_else(|| "a value is of another kind than it must be".into());
    format!("{words}{place}")
}

fn said(text: &str) -> Option<String> {
    if let Some(field) = text.strip_prefix("missing field ") {
        return Some(format!("the field {} is missing", unquoted(field)));
    }
    if let Some(field) = text.strip_prefix("duplicate field ") {
        return Some(format!("the field {} stands there twice", unquoted(field)));
    }
    let (found, expected) = text.split_once(", expected ").or(text.split_once(" expected "))?;
    let found = found
        .strip_prefix("invalid type: ")
        .or(found.strip_prefix("invalid value: "))
        .or(found.strip_prefix("unknown variant "))
        .or(found.strip_prefix("invalid length "))?;
    Some(format!("{} stands where {} is expected", found_words(found), expected_words(expected)))
}

fn unquoted(text: &str) -> String {
    short(&text.replace('`', "\""))
}

/// What stands there may be of any length.
fn short(text: &str) -> String {
    const MOST: usize = 60;
    match text.char_indices().nth(MOST) {
        Some((end, _)) => format!("{} …", &text[..end]),
        None => text.to_owned(),
    }
}

fn found_words(found: &str) -> String {
    match found {
        "map" => return "a group of fields".into(),
        "sequence" => return "a list".into(),
        "null" | "unit value" => return "nothing (null)".into(),
        _ => {}
    }
    for kind in ["string ", "floating point ", "integer ", "boolean "] {
        if let Some(value) = found.strip_prefix(kind) {
            return short(&value.replace('`', ""));
        }
    }
    unquoted(found)
}

fn expected_words(expected: &str) -> String {
    if let Some(list) = expected.strip_prefix("one of ") {
        return format!("one of {}", unquoted(list));
    }
    if expected.starts_with('`') {
        return unquoted(expected);
    }
    let length = expected.strip_prefix("an array of length ");
    let kind = match expected {
        "f64" | "f32" | "a finite number" => "a number",
        "u8" | "u16" | "u32" | "u64" | "usize" | "i8" | "i16" | "i32" | "i64" => "a whole number",
        "a string" | "string" | "str" => "text in quotes",
        "a boolean" => "true or false",
        "a sequence" => "a list",
        "unit" => "nothing (null)",
        _ if length.is_some() => {
            return format!("a list of {}", length.unwrap_or_default());
        }
        _ if expected.starts_with("struct") || expected.contains("map") => "a group of fields",
        _ if expected.contains("tuple") => "a list",
        _ if expected.contains("enum") || expected.contains("variant") => "one of its words",
        _ => "something else",
    };
    kind.into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde::Deserialize;
    use std::collections::BTreeMap;

    #[derive(Deserialize, Debug)]
    #[serde(rename_all = "lowercase")]
    enum Paper {
        A4,
        Letter,
    }

    #[derive(Deserialize, Debug)]
    #[expect(dead_code, reason = "only read")]
    struct AsWritten {
        n: u32,
        x: f64,
        paper: Paper,
        inner: BTreeMap<String, [f64; 2]>,
    }

    #[test]
    fn no_word_of_the_parser_is_left() {
        let whole = r#"{"n":1,"x":1.5,"paper":"a4","inner":{}}"#;
        assert!(serde_json::from_str::<AsWritten>(whole).is_ok());
        for (from, to, words) in [
            ("\"n\":1", "\"n\":\"two\"", "\"two\" stands where a whole number is expected"),
            ("\"n\":1", "\"n\":-1", "-1 stands where a whole number is expected"),
            ("1.5", "[1]", "a list stands where a number is expected"),
            ("1.5", "null", "nothing (null) stands where a number is expected"),
            ("\"a4\"", "\"a5\"", "\"a5\" stands where \"a4\" or \"letter\" is expected"),
            ("{}", "7", "7 stands where a group of fields is expected"),
            ("\"n\":1,", "", "the field \"n\" is missing"),
        ] {
            let text = whole.replacen(from, to, 1);
            let e = serde_json::from_str::<AsWritten>(&text).unwrap_err();
            let said = wrong_shape(&e);
            assert!(said.starts_with(words) && said.contains("line 1"), "{said}");
            for word in ["struct", "AsWritten", "u32", "invalid", "variant", "`"] {
                assert!(!said.contains(word), "{said}");
            }
        }
        let long = whole.replace("\"n\":1", &format!("\"n\":\"{}\"", "x".repeat(5000)));
        assert!(wrong_shape(&serde_json::from_str::<AsWritten>(&long).unwrap_err()).len() < 200);
        let parse = |text: &str| not_json(&serde_json::from_str::<AsWritten>(text).unwrap_err());
        assert_eq!(parse(""), "it is empty");
        assert!(parse("{\"n\":").contains("stops too early"));
        assert!(parse("{n}").contains("line 1, column 2 makes no sense"));
    }
}
