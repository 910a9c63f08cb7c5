//! A drawing as DXF (AutoCAD 2000 text format, AC1015), model space in millimetres.
//!
//! Written here rather than by a library: the drawings need seven kinds of entity, and a file that
//! cutting machines read must hold nothing else. The structure follows the published DXF reference
//! (group codes of R2000).

use super::drawing::{Anchor, Dash, Drawing, Ink, Item, Layer, Pen, Text};
use super::font::{self, Weight};
use super::geometry::{Path, Point, Segment};
use std::fmt::Write;

/// The page as a DXF file. One drawing unit is one millimetre (`$INSUNITS` 4), the origin is the
/// lower left corner of the page, every [`Layer`] is a layer. Of pictures the edge is drawn.
#[must_use]
pub fn dxf(drawing: &Drawing) -> String {
    let mut entities = Writer { out: String::new(), handle: FIRST_ENTITY };
    for item in drawing.items() {
        match item {
            Item::Stroke { path, pen } => entities.stroke(&path, pen),
            Item::Fill { path, layer, ink } => entities.fill(&path, layer, ink),
            Item::Text(text) => entities.text(&text),
            Item::Picture { place, .. } => {
                entities.stroke(&place.path(), Pen::RULE.on(Layer::Overlay));
            }
        }
    }
    let mut w = Writer { out: String::new(), handle: 0 };
    w.header(drawing, entities.handle);
    w.tables();
    w.blocks();
    w.section("ENTITIES");
    w.out.push_str(&entities.out);
    w.pair(0, "ENDSEC");
    w.objects();
    w.pair(0, "EOF");
    w.out
}

// Handles of the fixed parts; entities count up from the last.
const MODEL_RECORD: u32 = 0x1F;
const PAPER_RECORD: u32 = 0x1B;
const ROOT_DICTIONARY: u32 = 0xC;
const GROUP_DICTIONARY: u32 = 0xD;
const FIRST_LAYER: u32 = 0x40;
const FIRST_ENTITY: u32 = 0x100;

struct Writer {
    out: String,
    handle: u32,
}

impl Writer {
    fn pair(&mut self, code: u16, value: impl std::fmt::Display) {
        let _ = writeln!(self.out, "{code:>3}\n{value}");
    }
    fn hex(&mut self, code: u16, handle: u32) {
        self.pair(code, format_args!("{handle:X}"));
    }
    fn real(&mut self, code: u16, v: f64) {
        let mut s = format!("{v:.6}");
        while s.ends_with('0') && !s.ends_with(".0") {
            s.pop();
        }
        self.pair(code, if s == "-0.0" { "0.0" } else { &s });
    }
    fn point(&mut self, code: u16, p: Point) {
        self.real(code, p.x);
        self.real(code + 10, p.y);
        self.real(code + 20, 0.0);
    }
    fn section(&mut self, name: &str) {
        self.pair(0, "SECTION");
        self.pair(2, name);
    }

    fn header(&mut self, drawing: &Drawing, next_handle: u32) {
        self.section("HEADER");
        self.pair(9, "$ACADVER");
        self.pair(1, "AC1015");
        self.pair(9, "$DWGCODEPAGE");
        self.pair(3, "ANSI_1252");
        self.pair(9, "$INSUNITS");
        self.pair(70, 4);
        self.pair(9, "$MEASUREMENT");
        self.pair(70, 1);
        self.pair(9, "$LUNITS");
        self.pair(70, 2);
        self.pair(9, "$LTSCALE");
        self.real(40, 1.0);
        for (name, p) in [
            ("$EXTMIN", Point::default()),
            ("$EXTMAX", Point { x: drawing.paper.width_mm(), y: drawing.paper.height_mm() }),
        ] {
            self.pair(9, name);
            self.point(10, p);
        }
        self.pair(9, "$HANDSEED");
        self.hex(5, next_handle);
        self.pair(0, "ENDSEC");
        self.section("CLASSES");
        self.pair(0, "ENDSEC");
    }

    fn table(&mut self, name: &str, handle: u32, count: usize) {
        self.pair(0, "TABLE");
        self.pair(2, name);
        self.hex(5, handle);
        self.hex(330, 0);
        self.pair(100, "AcDbSymbolTable");
        self.pair(70, count);
        if name == "DIMSTYLE" {
            self.pair(100, "AcDbDimStyleTable");
        }
    }
    fn record(&mut self, kind: &str, handle: u32, owner: u32, class: &str, name: &str) {
        self.pair(0, kind);
        self.hex(if kind == "DIMSTYLE" { 105 } else { 5 }, handle);
        self.hex(330, owner);
        self.pair(100, "AcDbSymbolTableRecord");
        self.pair(100, class);
        self.pair(2, name);
        if kind != "BLOCK_RECORD" {
            self.pair(70, 0);
        }
    }

    fn tables(&mut self) {
        self.section("TABLES");
        self.table("VPORT", 0x8, 1);
        self.record("VPORT", 0x30, 0x8, "AcDbViewportTableRecord", "*ACTIVE");
        for (code, x, y) in [
            (10, 0.0, 0.0),
            (11, 1.0, 1.0),
            (12, 105.0, 148.5),
            (13, 0.0, 0.0),
            (14, 10.0, 10.0),
            (15, 10.0, 10.0),
        ] {
            self.real(code, x);
            self.real(code + 10, y);
        }
        self.real(40, 310.0);
        self.real(41, 1.4);
        self.pair(0, "ENDTAB");

        let line_types: [(&str, &str, &[f64]); 6] = [
            ("BYBLOCK", "", &[]),
            ("BYLAYER", "", &[]),
            ("CONTINUOUS", "Solid line", &[]),
            ("DASHED", "Hidden edges", Dash::Dashed.pattern_mm()),
            ("CHAIN", "Axes", Dash::Chain.pattern_mm()),
            ("DOTTED", "Dots", Dash::Dotted.pattern_mm()),
        ];
        self.table("LTYPE", 0x5, line_types.len());
        for (i, (name, about, pattern)) in line_types.into_iter().enumerate() {
            self.record("LTYPE", 0x31 + i as u32, 0x5, "AcDbLinetypeTableRecord", name);
            self.pair(3, about);
            self.pair(72, 65);
            self.pair(73, pattern.len());
            self.real(40, pattern.iter().sum());
            for (i, d) in pattern.iter().enumerate() {
                self.real(49, if i % 2 == 0 { *d } else { -d });
                self.pair(74, 0);
            }
        }
        self.pair(0, "ENDTAB");

        self.table("LAYER", 0x2, Layer::ALL.len() + 1);
        for (i, name) in std::iter::once("0").chain(Layer::ALL.map(Layer::name)).enumerate() {
            self.record("LAYER", FIRST_LAYER + i as u32, 0x2, "AcDbLayerTableRecord", name);
            self.pair(62, 7);
            self.pair(6, "CONTINUOUS");
        }
        self.pair(0, "ENDTAB");

        self.table("STYLE", 0x3, 3);
        for (handle, name, file) in [
            (0x38, "STANDARD", "arial.ttf"),
            (0x39, "REGULAR", "arial.ttf"),
            (0x3A, "BOLD", "arialbd.ttf"),
        ] {
            self.record("STYLE", handle, 0x3, "AcDbTextStyleTableRecord", name);
            self.real(40, 0.0);
            self.real(41, 1.0);
            self.real(50, 0.0);
            self.pair(71, 0);
            self.real(42, 2.5);
            self.pair(3, file);
            self.pair(4, "");
        }
        self.pair(0, "ENDTAB");
        self.table("VIEW", 0x6, 0);
        self.pair(0, "ENDTAB");
        self.table("UCS", 0x7, 0);
        self.pair(0, "ENDTAB");
        self.table("APPID", 0x9, 1);
        self.record("APPID", 0x12, 0x9, "AcDbRegAppTableRecord", "ACAD");
        self.pair(0, "ENDTAB");
        self.table("DIMSTYLE", 0xA, 1);
        self.record("DIMSTYLE", 0x27, 0xA, "AcDbDimStyleTableRecord", "STANDARD");
        self.pair(0, "ENDTAB");
        self.table("BLOCK_RECORD", 0x1, 2);
        for (handle, name) in [(MODEL_RECORD, "*MODEL_SPACE"), (PAPER_RECORD, "*PAPER_SPACE")] {
            self.record("BLOCK_RECORD", handle, 0x1, "AcDbBlockTableRecord", name);
        }
        self.pair(0, "ENDTAB");
        self.pair(0, "ENDSEC");
    }

    fn blocks(&mut self) {
        self.section("BLOCKS");
        for (record, begin, name, paper) in [
            (MODEL_RECORD, 0x20, "*MODEL_SPACE", false),
            (PAPER_RECORD, 0x1C, "*PAPER_SPACE", true),
        ] {
            self.pair(0, "BLOCK");
            self.hex(5, begin);
            self.hex(330, record);
            self.pair(100, "AcDbEntity");
            if paper {
                self.pair(67, 1);
            }
            self.pair(8, "0");
            self.pair(100, "AcDbBlockBegin");
            self.pair(2, name);
            self.pair(70, 0);
            self.point(10, Point::default());
            self.pair(3, name);
            self.pair(1, "");
            self.pair(0, "ENDBLK");
            self.hex(5, begin + 1);
            self.hex(330, record);
            self.pair(100, "AcDbEntity");
            if paper {
                self.pair(67, 1);
            }
            self.pair(8, "0");
            self.pair(100, "AcDbBlockEnd");
        }
        self.pair(0, "ENDSEC");
    }

    fn objects(&mut self) {
        self.section("OBJECTS");
        self.pair(0, "DICTIONARY");
        self.hex(5, ROOT_DICTIONARY);
        self.hex(330, 0);
        self.pair(100, "AcDbDictionary");
        self.pair(281, 1);
        self.pair(3, "ACAD_GROUP");
        self.hex(350, GROUP_DICTIONARY);
        self.pair(0, "DICTIONARY");
        self.hex(5, GROUP_DICTIONARY);
        self.hex(330, ROOT_DICTIONARY);
        self.pair(100, "AcDbDictionary");
        self.pair(281, 1);
        self.pair(0, "ENDSEC");
    }

    fn entity(&mut self, kind: &str, layer: Layer) {
        self.pair(0, kind);
        let handle = self.handle;
        self.hex(5, handle);
        self.handle += 1;
        self.hex(330, MODEL_RECORD);
        self.pair(100, "AcDbEntity");
        self.pair(8, layer.name());
    }

    fn pen(&mut self, pen: Pen) {
        match pen.dash {
            Dash::Solid => {}
            Dash::Dashed => self.pair(6, "DASHED"),
            Dash::Chain => self.pair(6, "CHAIN"),
            Dash::Dotted => self.pair(6, "DOTTED"),
        }
        if pen.ink == Ink::Grey {
            self.pair(62, 9);
        }
        self.pair(370, line_weight(pen.width_mm));
    }

    fn stroke(&mut self, path: &Path, pen: Pen) {
        let segments = path.segments();
        if let [Segment::Line(a, b)] = segments[..] {
            self.entity("LINE", pen.layer);
            self.pen(pen);
            self.pair(100, "AcDbLine");
            self.point(10, a);
            self.point(11, b);
        } else if let [Segment::Arc { centre, radius, start_rad, sweep_rad, .. }] = segments[..] {
            let (a, b) = if sweep_rad > 0.0 {
                (start_rad, start_rad + sweep_rad)
            } else {
                (start_rad + sweep_rad, start_rad)
            };
            self.entity("ARC", pen.layer);
            self.pen(pen);
            self.pair(100, "AcDbCircle");
            self.point(10, centre);
            self.real(40, radius);
            self.pair(100, "AcDbArc");
            self.real(50, a.to_degrees().rem_euclid(360.0));
            self.real(51, b.to_degrees().rem_euclid(360.0));
        } else if let Some((centre, radius)) = as_circle(path) {
            self.entity("CIRCLE", pen.layer);
            self.pen(pen);
            self.pair(100, "AcDbCircle");
            self.point(10, centre);
            self.real(40, radius);
        } else {
            self.entity("LWPOLYLINE", pen.layer);
            self.pen(pen);
            self.pair(100, "AcDbPolyline");
            self.pair(90, path.vertices.len());
            self.pair(70, u8::from(path.closed));
            for v in &path.vertices {
                self.real(10, v.at.x);
                self.real(20, v.at.y);
                if v.bulge != 0.0 {
                    self.real(42, v.bulge);
                }
            }
        }
    }

    /// Shapes of three or four corners become SOLID entities. Larger ones (round marks) are drawn
    /// as their edge. White ones only lift lettering off what lies behind and are left out.
    fn fill(&mut self, path: &Path, layer: Layer, ink: Ink) {
        if ink == Ink::White {
            return;
        }
        let corners: Vec<Point> = path.vertices.iter().map(|v| v.at).collect();
        let straight = path.vertices.iter().all(|v| v.bulge == 0.0);
        match corners[..] {
            // SOLID takes its corners crosswise: the last two are exchanged.
            [a, b, c] if straight => self.solid(layer, [a, b, c, c]),
            [a, b, c, d] if straight => self.solid(layer, [a, b, d, c]),
            _ => self.stroke(&Path { closed: true, ..path.clone() }, Pen::THIN.on(layer)),
        }
    }

    fn solid(&mut self, layer: Layer, corners: [Point; 4]) {
        self.entity("SOLID", layer);
        self.pair(100, "AcDbTrace");
        for (i, p) in corners.into_iter().enumerate() {
            self.point(10 + i as u16, p);
        }
    }

    fn text(&mut self, text: &Text) {
        self.entity("TEXT", Layer::Text);
        self.pair(100, "AcDbText");
        self.point(10, text.start());
        // DXF measures lettering by its capitals.
        self.real(40, text.size_mm * font::CAP_HEIGHT);
        self.pair(1, encoded(&text.text));
        self.real(50, text.turn_deg.rem_euclid(360.0));
        let style = match text.weight {
            Weight::Regular => "REGULAR",
            Weight::Bold => "BOLD",
        };
        self.pair(7, style);
        let justification = match text.anchor {
            Anchor::Start => 0,
            Anchor::Middle => 1,
            Anchor::End => 2,
        };
        if justification != 0 {
            self.pair(72, justification);
            self.point(11, text.at);
        }
        self.pair(100, "AcDbText");
    }
}

fn as_circle(path: &Path) -> Option<(Point, f64)> {
    match (&path.segments()[..], path.closed) {
        (
            [Segment::Arc { centre, radius, sweep_rad: a, .. }, Segment::Arc { sweep_rad: b, .. }],
            true,
        ) if ((a + b).abs() - std::f64::consts::TAU).abs() < 1e-9 => Some((*centre, *radius)),
        _ => None,
    }
}

/// The nearest of the line widths DXF knows, in hundredths of a millimetre.
fn line_weight(width_mm: f64) -> i32 {
    const KNOWN: [i32; 12] = [9, 13, 15, 18, 20, 25, 30, 35, 50, 60, 70, 100];
    let wanted = (width_mm * 100.0).round() as i32;
    KNOWN.into_iter().min_by_key(|k| (k - wanted).abs()).unwrap_or(25)
}

/// R2000 files are in a code page: three signs of drawings have codes of their own that every
/// program knows, other characters beyond ASCII are written by number, in UTF-16.
fn encoded(text: &str) -> String {
    // Two percent signs begin a code.
    let text = text.replace("%%", "% %");
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '°' => out.push_str("%%d"),
            '±' => out.push_str("%%p"),
            'Ø' => out.push_str("%%c"),
            c if c.is_ascii() && !c.is_ascii_control() => out.push(c),
            c => {
                for u in c.encode_utf16(&mut [0; 2]) {
                    let _ = write!(out, "\\U+{u:04X}");
                }
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_ascii() {
        assert_eq!(encoded("Ø 5 ± 0,1°"), "%%c 5 %%p 0,1%%d");
        assert_eq!(encoded("λ × 2, 5 %%"), "\\U+03BB \\U+00D7 2, 5 % %");
    }

    #[test]
    fn line_widths_are_known_ones() {
        assert_eq!(line_weight(0.5), 50);
        assert_eq!(line_weight(0.13), 13);
        assert_eq!(line_weight(0.24), 25);
    }
}
