//! Rust sources as the compiler's tokens, without comments and without tests.

use proc_macro2::{Delimiter, Group, TokenStream, TokenTree};

/// A token and the line it stands on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Token {
    /// The token; groups are an opening and a closing token.
    pub text: String,
    /// Whether it is a literal.
    pub literal: bool,
    /// Line, from 1.
    pub line: usize,
}

/// The tokens of a source file that are neither comments, documentation nor test code (items under
/// `#[test]` or `#[cfg(test)]`).
///
/// # Errors
/// A sentence when the text is no Rust.
pub fn tokens(text: &str) -> Result<Vec<Token>, String> {
    let stream: TokenStream = text.parse().map_err(|e| format!("not Rust: {e}"))?;
    let mut found = Vec::new();
    walk(stream, &mut found);
    Ok(found)
}

fn walk(stream: TokenStream, found: &mut Vec<Token>) {
    let trees: Vec<TokenTree> = stream.into_iter().collect();
    let mut i = 0;
    while i < trees.len() {
        if let Some((attribute, after)) = attribute(&trees, i) {
            let words = words(&attribute.stream());
            if is_test(&words) {
                i = end_of_item(&trees, after);
                continue;
            }
            if words.first().is_some_and(|w| w == "doc") {
                i = after;
                continue;
            }
        }
        push(&trees[i], found);
        i += 1;
    }
}

/// The attribute that starts at `i`, and where it ends.
fn attribute(trees: &[TokenTree], i: usize) -> Option<(&Group, usize)> {
    let TokenTree::Punct(hash) = trees.get(i)? else { return None };
    if hash.as_char() != '#' {
        return None;
    }
    let at = match trees.get(i + 1)? {
        TokenTree::Punct(p) if p.as_char() == '!' => i + 2,
        _ => i + 1,
    };
    match trees.get(at)? {
        TokenTree::Group(g) if g.delimiter() == Delimiter::Bracket => Some((g, at + 1)),
        _ => None,
    }
}

fn words(stream: &TokenStream) -> Vec<String> {
    let mut found = Vec::new();
    for tree in stream.clone() {
        match tree {
            TokenTree::Ident(i) => found.push(i.to_string()),
            TokenTree::Group(g) => found.extend(words(&g.stream())),
            _ => {}
        }
    }
    found
}

/// `#[test]`, `#[cfg(test)]`, `#[cfg(all(test, …))]`; not `#[cfg(not(test))]`.
fn is_test(words: &[String]) -> bool {
    let is = |w: &String, name: &str| w == name;
    match words {
        [only] => is(only, "test"),
        [first, rest @ ..] => {
            is(first, "cfg")
                && rest.iter().any(|w| is(w, "test"))
                && !rest.iter().any(|w| is(w, "not") || is(w, "any"))
        }
        [] => false,
    }
}

/// Where the item that starts at `i` ends: after its body or its semicolon.
fn end_of_item(trees: &[TokenTree], i: usize) -> usize {
    let ends = |t: &TokenTree| match t {
        TokenTree::Group(g) => g.delimiter() == Delimiter::Brace,
        TokenTree::Punct(p) => p.as_char() == ';',
        _ => false,
    };
    trees[i..].iter().position(ends).map_or(trees.len(), |n| i + n + 1)
}

fn push(tree: &TokenTree, found: &mut Vec<Token>) {
    let token = |text: &str, literal: bool, span: proc_macro2::Span| Token {
        text: text.to_owned(),
        literal,
        line: span.start().line,
    };
    match tree {
        TokenTree::Group(g) => {
            let (open, close) = match g.delimiter() {
                Delimiter::Parenthesis => ("(", ")"),
                Delimiter::Brace => ("{", "}"),
                Delimiter::Bracket => ("[", "]"),
                Delimiter::None => ("", ""),
            };
            found.push(token(open, false, g.span_open()));
            walk(g.stream(), found);
            found.push(token(close, false, g.span_close()));
        }
        TokenTree::Ident(i) => found.push(token(&i.to_string(), false, i.span())),
        TokenTree::Punct(p) => found.push(token(&p.to_string(), false, p.span())),
        TokenTree::Literal(l) => found.push(token(&l.to_string(), true, l.span())),
    }
}

/// Lines on which `unwrap` is called, as a method or by its path.
#[must_use]
pub fn unwraps(tokens: &[Token]) -> Vec<usize> {
    tokens
        .windows(2)
        .filter(|w| {
            !w[1].literal && w[1].text == "unwrap" && (w[0].text == "." || w[0].text == ":")
        })
        .map(|w| w[1].line)
        .collect()
}

/// Lines on which the macro `name!` is used.
#[must_use]
pub fn macro_uses(tokens: &[Token], name: &str) -> Vec<usize> {
    tokens
        .windows(2)
        .filter(|w| !w[0].literal && w[0].text == name && w[1].text == "!")
        .map(|w| w[0].line)
        .collect()
}

/// Lines on which a path starts with the crate `name`: `name::…`, `use name;`, `use name as …`.
#[must_use]
pub fn crate_uses(tokens: &[Token], name: &str) -> Vec<usize> {
    let text = |i: usize| tokens.get(i).map_or("", |t| t.text.as_str());
    (0..tokens.len())
        .filter(|&i| !tokens[i].literal && text(i) == name)
        .filter(|&i| {
            let path = text(i + 1) == ":" && text(i + 2) == ":";
            let imported = i > 0 && text(i - 1) == "use";
            path || imported
        })
        .map(|i| tokens[i].line)
        .collect()
}

/// Modules of the standard library that are named, each with its line: `std::fs`, `std::{fs, …}`.
#[must_use]
pub fn std_modules(tokens: &[Token]) -> Vec<(String, usize)> {
    let text = |i: usize| tokens.get(i).map_or("", |t| t.text.as_str());
    let mut found = Vec::new();
    for i in 0..tokens.len() {
        if text(i) != "std" || text(i + 1) != ":" || text(i + 2) != ":" {
            continue;
        }
        if text(i + 3) != "{" {
            found.push((text(i + 3).to_owned(), tokens[i].line));
            continue;
        }
        let mut depth = 0;
        for j in i + 3..tokens.len() {
            match text(j) {
                "{" => depth += 1,
                "}" => depth -= 1,
                _ => {}
            }
            if depth == 0 {
                break;
            }
            if depth == 1 && matches!(text(j), "{" | ",") {
                found.push((text(j + 1).to_owned(), tokens[i].line));
            }
        }
    }
    found
}
