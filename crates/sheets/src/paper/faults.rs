//! What is wrong with a page: lettering that is crossed, covered or cut off.

use super::drawing::{Drawing, Ink, Item, Text};
use super::geometry::{Point, Rect};

/// Printers leave about this much of the edge blank, mm.
const UNPRINTABLE_MM: f64 = 4.5;
/// Boxes round lettering are a little larger than the ink, mm.
const SLACK_MM: f64 = 0.12;

/// Sentences that name every place where two texts overlap, a line runs through a text, or
/// something leaves the printable area. Empty for a page that is in order.
#[must_use]
pub fn faults(drawing: &Drawing) -> Vec<String> {
    let items: Vec<Item> = drawing.items().collect();
    let printable = drawing.sheet().inset(UNPRINTABLE_MM);
    let bounds: Vec<Option<Rect>> = items
        .iter()
        .map(|item| match item {
            Item::Text(t) => Some(t.bounds()),
            Item::Stroke { path, .. } | Item::Fill { path, .. } => path.bounds(),
            Item::Picture { place, .. } => Some(*place),
        })
        .collect();
    let mut out = Vec::new();
    for (i, item) in items.iter().enumerate() {
        let Some(b) = bounds[i] else { continue };
        let inside = b.left >= printable.left
            && b.right <= printable.right
            && b.bottom >= printable.bottom
            && b.top <= printable.top;
        if !inside {
            out.push(format!("{} leaves the printable area: {b:.1?}", described(item)));
        }
        let Item::Text(text) = item else { continue };
        let corners = shrunk(text);
        for (j, other) in items.iter().enumerate() {
            let near = bounds[j].is_some_and(|o| o.inset(-0.01).overlaps(&b, 0.0));
            if i == j || !near {
                continue;
            }
            let clash = match other {
                Item::Text(o) => j > i && boxes_meet(&corners, &shrunk(o)),
                Item::Stroke { path, .. } | Item::Fill { path, ink: Ink::Black, .. } => {
                    let points = path.flattened(0.05);
                    points.windows(2).any(|w| crosses(&corners, w[0], w[1]))
                        && !lifted(&items, i, j, text)
                }
                Item::Fill { ink: Ink::White, .. } => {
                    j > i && bounds[j].is_some_and(|o| o.overlaps(&b, SLACK_MM))
                }
                Item::Fill { .. } => false,
                Item::Picture { .. } => !lifted(&items, i, j, text),
            };
            if clash {
                out.push(format!("\"{}\" meets {}", text.text, described(other)));
            }
        }
    }
    out
}

fn described(item: &Item) -> String {
    match item {
        Item::Text(t) => format!("\"{}\"", t.text),
        Item::Stroke { pen, .. } => format!("a {} line", pen.layer.name()),
        Item::Fill { layer, ink, .. } => format!("a {} shape in {ink:?}", layer.name()),
        Item::Picture { .. } => "a picture".into(),
    }
}

/// Whether a white shape between item `below` and text `above` lifts the text off it.
fn lifted(items: &[Item], above: usize, below: usize, text: &Text) -> bool {
    let b = text.bounds();
    below < above
        && items[below..above].iter().any(|item| match item {
            Item::Fill { path, ink: Ink::White, .. } => path.bounds().is_some_and(|w| {
                w.left <= b.left && w.right >= b.right && w.bottom <= b.bottom && w.top >= b.top
            }),
            _ => false,
        })
}

fn shrunk(text: &Text) -> [Point; 4] {
    let [a, b, c, d] = text.corners();
    let (along, up) = ((b - a).unit() * SLACK_MM, (d - a).unit() * SLACK_MM);
    [a + along + up, b - along + up, c - along - up, d + along - up]
}

fn cross(a: Point, b: Point) -> f64 {
    a.x * b.y - a.y * b.x
}

fn inside(corners: &[Point; 4], p: Point) -> bool {
    (0..4).all(|i| cross(corners[(i + 1) % 4] - corners[i], p - corners[i]) > 0.0)
}

fn segments_meet(a: Point, b: Point, c: Point, d: Point) -> bool {
    let (r, s) = (b - a, d - c);
    let (o1, o2) = (cross(r, c - a), cross(r, d - a));
    let (o3, o4) = (cross(s, a - c), cross(s, b - c));
    o1 * o2 < 0.0 && o3 * o4 < 0.0
}

fn crosses(corners: &[Point; 4], a: Point, b: Point) -> bool {
    inside(corners, a)
        || inside(corners, b)
        || (0..4).any(|i| segments_meet(a, b, corners[i], corners[(i + 1) % 4]))
}

fn boxes_meet(a: &[Point; 4], b: &[Point; 4]) -> bool {
    (0..4).any(|i| crosses(a, b[i], b[(i + 1) % 4])) || a.iter().any(|p| inside(b, *p))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Anchor, Paper, Path, Pen, pt};

    fn page() -> Drawing {
        let mut d = Drawing::new("t", Paper::A4);
        d.canvas.write(pt(50.0, 100.0), "flank", 5.0, Anchor::Start);
        d
    }

    #[test]
    fn a_clean_page_has_none() {
        assert_eq!(faults(&page()), Vec::<String>::new());
    }

    #[test]
    fn every_kind_is_found() {
        let mut d = page();
        d.canvas.write(pt(55.0, 101.0), "crest", 5.0, Anchor::Start);
        assert!(faults(&d)[0].contains("meets \"crest\""));
        let mut d = page();
        d.canvas.line(pt(40.0, 101.0), pt(90.0, 103.0), Pen::OUTLINE);
        assert!(faults(&d)[0].contains("meets a OUTLINE line"));
        let mut d = page();
        d.canvas.write(pt(190.0, 10.0), "far too far to the right", 5.0, Anchor::Start);
        assert!(faults(&d)[0].contains("leaves"));
        let mut d = page();
        d.canvas.fill(Rect::new(40.0, 90.0, 60.0, 110.0).path(), crate::Layer::Text, Ink::White);
        assert!(faults(&d)[0].contains("meets a TEXT shape in White"));
    }

    #[test]
    fn white_behind_lettering_lifts_it() {
        let mut d = Drawing::new("t", Paper::A4);
        d.canvas.stroke(Path::open([pt(40.0, 101.0), pt(90.0, 103.0)]), Pen::GRID);
        d.canvas.fill(Rect::new(49.0, 98.0, 70.0, 106.0).path(), crate::Layer::Text, Ink::White);
        d.canvas.write(pt(50.0, 100.0), "flank", 5.0, Anchor::Start);
        assert_eq!(faults(&d), Vec::<String>::new());
    }
}
