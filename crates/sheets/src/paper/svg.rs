//! A drawing as SVG 1.1, in millimetres.

use super::drawing::{Anchor, Drawing, Ink, Item, Layer, Pen, Text};
use super::font::Weight;
use super::geometry::{Path, Point, Segment};
use base64::Engine;
use std::fmt::Write;

/// Liberation Sans, Arial and Helvetica have the same widths; `sans-serif` is there everywhere.
const FAMILY: &str = "'Liberation Sans', Arial, Helvetica, sans-serif";

/// The page as an SVG file: one user unit is one millimetre, `width` and `height` say so, and
/// pictures are embedded.
#[must_use]
pub fn svg(drawing: &Drawing) -> String {
    let (w, h) = (drawing.paper.width_mm(), drawing.paper.height_mm());
    let mut out = String::new();
    let (ws, hs) = (number(w), number(h));
    line(
        &mut out,
        &format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" \
             xmlns:xlink=\"http://www.w3.org/1999/xlink\" version=\"1.1\" \
             width=\"{ws}mm\" height=\"{hs}mm\" viewBox=\"0 0 {ws} {hs}\">"
        ),
    );
    line(&mut out, &format!("<title>{}</title>", escaped(&drawing.title)));
    line(&mut out, &format!("<rect width=\"{ws}\" height=\"{hs}\" fill=\"#fff\"/>"));
    line(
        &mut out,
        &format!("<g fill=\"none\" stroke-linejoin=\"miter\" font-family=\"{FAMILY}\">"),
    );
    let mut open: Option<Pen> = None;
    for item in drawing.items() {
        if let (Some(pen), Item::Stroke { pen: next, .. }) = (open, &item) {
            if pen != *next {
                line(&mut out, "</g>");
                open = None;
            }
        } else if open.is_some() {
            line(&mut out, "</g>");
            open = None;
        }
        match item {
            Item::Stroke { path, pen } => {
                if open.is_none() {
                    line(&mut out, &group(pen));
                    open = Some(pen);
                }
                line(&mut out, &format!("<path d=\"{}\"/>", course(&path, h)));
            }
            Item::Fill { path, layer, ink } => {
                let d = course(&Path { closed: true, ..path }, h);
                line(
                    &mut out,
                    &format!(
                        "<path class=\"{}\" fill=\"{}\" d=\"{d}\"/>",
                        layer.name(),
                        colour(ink)
                    ),
                );
            }
            Item::Text(text) => line(&mut out, &lettered(&text, h)),
            Item::Picture { place, bytes } => {
                let data = base64::engine::general_purpose::STANDARD.encode(bytes.bytes().as_ref());
                line(
                    &mut out,
                    &format!(
                        "<image x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" \
                         preserveAspectRatio=\"none\" xlink:href=\"data:{};base64,{data}\"/>",
                        number(place.left),
                        number(h - place.top),
                        number(place.width()),
                        number(place.height()),
                        bytes.media_type()
                    ),
                );
            }
        }
    }
    if open.is_some() {
        line(&mut out, "</g>");
    }
    line(&mut out, "</g>");
    line(&mut out, "</svg>");
    out
}

fn line(out: &mut String, text: &str) {
    out.push_str(text);
    out.push('\n');
}

fn group(pen: Pen) -> String {
    let mut s = format!(
        "<g class=\"{}\" stroke=\"{}\" stroke-width=\"{}\"",
        pen.layer.name(),
        colour(pen.ink),
        number(pen.width_mm)
    );
    let dash = pen.dash.pattern_mm();
    if !dash.is_empty() {
        let dash: Vec<String> = dash.iter().map(|d| number(*d)).collect();
        let _ = write!(s, " stroke-dasharray=\"{}\"", dash.join(" "));
    }
    s.push('>');
    s
}

fn course(path: &Path, h: f64) -> String {
    let at = |p: Point| format!("{} {}", number(p.x), number(h - p.y));
    let mut d = match path.vertices.first() {
        Some(v) => format!("M{}", at(v.at)),
        None => return String::new(),
    };
    for segment in path.segments() {
        match segment {
            Segment::Line(_, to) => {
                let _ = write!(d, "L{}", at(to));
            }
            Segment::Arc { to, radius, sweep_rad, .. } => {
                let r = number(radius);
                let large = u8::from(sweep_rad.abs() > std::f64::consts::PI);
                // In SVG y runs down, so counter-clockwise on paper is sweep 0.
                let sweep = u8::from(sweep_rad < 0.0);
                let _ = write!(d, "A{r} {r} 0 {large} {sweep} {}", at(to));
            }
        }
    }
    if path.closed {
        d.push('Z');
    }
    d
}

fn lettered(text: &Text, h: f64) -> String {
    let (x, y) = (number(text.at.x), number(h - text.at.y));
    let mut s = format!(
        "<text class=\"{}\" x=\"{x}\" y=\"{y}\" font-size=\"{}\" fill=\"#000\"",
        Layer::Text.name(),
        number(text.size_mm)
    );
    match text.anchor {
        Anchor::Start => {}
        Anchor::Middle => s.push_str(" text-anchor=\"middle\""),
        Anchor::End => s.push_str(" text-anchor=\"end\""),
    }
    if text.weight == Weight::Bold {
        s.push_str(" font-weight=\"bold\"");
    }
    if text.turn_deg != 0.0 {
        let _ = write!(s, " transform=\"rotate({} {x} {y})\"", number(-text.turn_deg));
    }
    // Holds the layout when the viewer has none of the faces with these widths.
    let _ = write!(
        s,
        " textLength=\"{}\" lengthAdjust=\"spacingAndGlyphs\">{}</text>",
        number(text.width_mm()),
        escaped(&text.text)
    );
    s
}

fn colour(ink: Ink) -> &'static str {
    match ink {
        Ink::Black => "#000",
        Ink::Grey => "#afafaf",
        Ink::White => "#fff",
    }
}

/// At most four decimals (a tenth of a micrometre), no trailing zeros.
pub(crate) fn number(v: f64) -> String {
    let s = format!("{v:.4}");
    let s = s.trim_end_matches('0').trim_end_matches('.');
    if s == "-0" { "0".into() } else { s.into() }
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            // Not characters of XML 1.0.
            '\u{FFFE}' | '\u{FFFF}' => out.push('\u{FFFD}'),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        assert_eq!(number(1.0), "1");
        assert_eq!(number(-0.000_01), "0");
        assert_eq!(number(215.9), "215.9");
        assert_eq!(number(0.123_456), "0.1235");
    }

    #[test]
    fn text_cannot_break_the_file() {
        assert_eq!(escaped("a<b & \"c\"\u{1}"), "a&lt;b &amp; &quot;c&quot; ");
    }
}
