//! What is printed: the result on standard output, what went wrong on standard error. A write that fails is
//! not forgotten, and never a panic.

use std::io::{self, Write};
use std::sync::Mutex;

/// The first write to standard output that failed.
static FAILED: Mutex<Option<io::Error>> = Mutex::new(None);

/// Longest message on standard error, in characters.
const MOST: usize = 400;

/// Prints to standard output, for people: nothing in it steers the terminal.
pub(super) fn print(text: &str) {
    raw(&shown(text));
}

/// Prints to standard output as it is.
pub(super) fn raw(text: &str) {
    let mut out = io::stdout().lock();
    keep(out.write_all(text.as_bytes()));
}

/// Says something on standard error. Where that is gone or full, there is nobody to tell.
pub fn complain(text: &str) {
    let text = shown(&shortened(text.trim_end(), MOST));
    let _ = writeln!(io::stderr().lock(), "flanklight: {text}");
}

fn keep(written: io::Result<()>) {
    if let Err(e) = written
        && let Ok(mut failed) = FAILED.lock()
    {
        failed.get_or_insert(e);
    }
}

/// Whether all that was printed has reached standard output; a reader that went away is not complained of.
pub(super) fn all_printed() -> bool {
    keep(io::stdout().lock().flush());
    let Ok(failed) = FAILED.lock() else { return false };
    match failed.as_ref() {
        None => true,
        Some(e) if e.kind() == io::ErrorKind::BrokenPipe => false,
        Some(e) => {
            complain(&format!(
                "the result could not be written to standard output: {e}. What is there is not whole; \
                 make room, or write it elsewhere."
            ));
            false
        }
    }
}

/// Control characters, and those that turn the direction of writing, as what they are.
pub fn shown(text: &str) -> String {
    let steers = |c: char| {
        c.is_control() && !matches!(c, '\n' | '\t')
            || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    if !text.contains(steers) {
        return text.to_owned();
    }
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        if steers(c) { out.extend(c.escape_unicode()) } else { out.push(c) }
    }
    out
}

/// A text of at most so many characters: of a longer one, its two ends.
pub fn shortened(text: &str, most: usize) -> String {
    let count = text.chars().count();
    if count <= most {
        return text.to_owned();
    }
    let (head, tail) = (most * 3 / 5, most * 2 / 5 - 3);
    let start: String = text.chars().take(head).collect();
    let end: String = text.chars().skip(count - tail).collect();
    format!("{start} … {end}")
}

/// What the parsers of numbers say, in words.
pub(super) fn in_words(text: &str) -> String {
    [
        ("invalid digit found in string", "it is no whole number"),
        ("cannot parse integer from empty string", "nothing stands there"),
        ("number too large to fit in target type", "it is too large"),
        ("number too small to fit in target type", "it is too small"),
        ("invalid float literal", "it is no number"),
        ("cannot parse float from empty string", "nothing stands there"),
    ]
    .iter()
    .fold(text.to_owned(), |text, (code, words)| text.replace(code, words))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_steers_the_terminal() {
        assert_eq!(shown("a\tb\nc µ"), "a\tb\nc µ");
        assert_eq!(shown("\u{1b}]0;x\u{7}\u{9b}\u{202e}"), "\\u{1b}]0;x\\u{7}\\u{9b}\\u{202e}");
    }

    #[test]
    fn what_is_long_keeps_its_ends() {
        let text = format!("begin {} end", "x".repeat(10_000));
        let short = shortened(&text, 400);
        assert!(short.chars().count() <= 400, "{}", short.chars().count());
        assert!(short.starts_with("begin") && short.ends_with("end"));
        assert_eq!(shortened("short", 400), "short");
    }
}
