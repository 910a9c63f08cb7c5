//! Drawings as PDF 1.7 with the faces embedded.

use super::drawing::{Drawing, Ink, Item, Pen, PictureBytes, Text};
use super::font::{self, Weight};
use super::geometry::{Path, Point, Rect, Segment};
use pdf_writer::types::UnicodeCmap;
use pdf_writer::types::{CidFontType, FontFlags, LineCapStyle, LineJoinStyle, SystemInfo};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Ref, Str, TextStr};
use std::collections::BTreeMap;
use subsetter::GlyphRemapper;
use thiserror::Error;

/// Points in a millimetre.
const PT: f64 = 72.0 / 25.4;
const DEFLATE_LEVEL: u8 = 6;
/// Largest picture that is unpacked to be embedded.
const MOST_PICTURE_BYTES: usize = 256 << 20;

/// Why drawings do not become a PDF.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PdfError {
    /// A face could not be cut down to the glyphs in use.
    #[error("the lettering could not be embedded: {0}")]
    Font(String),
    /// The bytes are not the picture they claim to be.
    #[error("the picture could not be embedded: {0}")]
    Picture(String),
}

/// The pages as one PDF file. The same drawings give the same bytes: no clock, no random number.
///
/// The file asks the viewer not to scale it when printing (`PrintScaling` none); not all obey.
///
/// # Errors
/// [`PdfError`] when a picture is not the JPEG or PNG it is said to be.
pub fn pdf(drawings: &[Drawing]) -> Result<Vec<u8>, PdfError> {
    write_pdf(drawings, true)
}

/// As [`pdf`], under this title instead of the first page's, and with `keywords` for programs.
///
/// # Errors
/// As [`pdf`].
pub fn pdf_titled(drawings: &[Drawing], title: &str, keywords: &str) -> Result<Vec<u8>, PdfError> {
    written(drawings, true, title, keywords)
}

/// As [`pdf`]; with `compressed` off the content streams can be read as text, for tests.
pub(crate) fn write_pdf(drawings: &[Drawing], compressed: bool) -> Result<Vec<u8>, PdfError> {
    written(drawings, compressed, drawings.first().map_or("", |d| d.title.as_str()), "")
}

fn written(
    drawings: &[Drawing],
    compressed: bool,
    title: &str,
    keywords: &str,
) -> Result<Vec<u8>, PdfError> {
    let mut file = File { pdf: Pdf::new(), next: 1, compressed };
    file.pdf.set_version(1, 7);
    let catalog = file.id();
    let tree = file.id();
    let mut faces = Faces {
        regular: Face::new(&mut file, Weight::Regular),
        bold: Face::new(&mut file, Weight::Bold),
    };
    let mut page_ids = Vec::new();
    for drawing in drawings {
        let page_id = file.id();
        let content_id = file.id();
        page_ids.push(page_id);
        let mut pictures: Vec<(String, Ref)> = Vec::new();
        let mut content = Content::new();
        content.set_line_join(LineJoinStyle::MiterJoin);
        for item in drawing.items() {
            match item {
                Item::Stroke { path, pen } => stroke(&mut content, &path, pen),
                Item::Fill { path, ink, .. } => fill(&mut content, &path, ink),
                Item::Text(text) => faces.of(text.weight).show(&mut content, &text),
                Item::Picture { place, bytes } => {
                    let id = file.picture(&bytes)?;
                    let name = format!("P{}", pictures.len());
                    picture(&mut content, place, &name);
                    pictures.push((name, id));
                }
            }
        }
        let content = content.finish();
        file.stream(content_id, &content);
        let mut page = file.pdf.page(page_id);
        page.media_box(pdf_writer::Rect::new(
            0.0,
            0.0,
            (drawing.paper.width_mm() * PT) as f32,
            (drawing.paper.height_mm() * PT) as f32,
        ));
        page.parent(tree);
        page.contents(content_id);
        let mut resources = page.resources();
        let mut fonts = resources.fonts();
        for face in [&faces.regular, &faces.bold] {
            fonts.pair(Name(face.name().as_bytes()), face.id);
        }
        fonts.finish();
        let mut objects = resources.x_objects();
        for (name, id) in &pictures {
            objects.pair(Name(name.as_bytes()), *id);
        }
    }
    faces.regular.embed(&mut file)?;
    faces.bold.embed(&mut file)?;

    file.pdf.pages(tree).kids(page_ids.iter().copied()).count(page_ids.len() as i32);
    let id = file.id();
    let mut info = file.pdf.document_info(id);
    info.title(TextStr(title)).creator(TextStr("Flanklight"));
    if !keywords.is_empty() {
        info.keywords(TextStr(keywords));
    }
    info.finish();
    let mut root = file.pdf.catalog(catalog);
    root.pages(tree);
    root.lang(TextStr("en"));
    let mut preferences = root.viewer_preferences();
    preferences.display_doc_title(true);
    preferences.pair(Name(b"PrintScaling"), Name(b"None"));
    preferences.finish();
    root.finish();
    Ok(file.pdf.finish())
}

/// The file in the making.
struct File {
    pdf: Pdf,
    next: i32,
    compressed: bool,
}

impl File {
    fn id(&mut self) -> Ref {
        let id = Ref::new(self.next);
        self.next += 1;
        id
    }

    fn stream(&mut self, id: Ref, data: &[u8]) {
        if self.compressed {
            let packed = deflate(data);
            self.pdf.stream(id, &packed).filter(Filter::FlateDecode);
        } else {
            self.pdf.stream(id, data);
        }
    }

    fn picture(&mut self, bytes: &PictureBytes) -> Result<Ref, PdfError> {
        let id = self.id();
        match bytes {
            PictureBytes::Jpeg(file) => {
                let jpeg = JpegHeader::read(file).ok_or_else(|| {
                    PdfError::Picture("the bytes are not a JPEG that PDF can hold".into())
                })?;
                let mut image = self.pdf.image_xobject(id, file);
                image.filter(Filter::DctDecode);
                image.width(jpeg.width).height(jpeg.height);
                image.bits_per_component(8);
                match jpeg.components {
                    1 => image.color_space().device_gray(),
                    4 => image.color_space().device_cmyk(),
                    _ => image.color_space().device_rgb(),
                }
                if jpeg.components == 4 {
                    // Four-colour JPEG files hold their values inverted, by the custom of the
                    // programs that write them.
                    image.decode([1.0, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0]);
                }
            }
            PictureBytes::Png(file) => {
                let (width, height, grey, samples) = decode_png(file).map_err(PdfError::Picture)?;
                let packed = deflate(&samples);
                let mut image = self.pdf.image_xobject(id, &packed);
                image.filter(Filter::FlateDecode);
                image.width(width).height(height);
                image.bits_per_component(8);
                if grey {
                    image.color_space().device_gray();
                } else {
                    image.color_space().device_rgb();
                }
            }
        }
        Ok(id)
    }
}

fn deflate(data: &[u8]) -> Vec<u8> {
    miniz_oxide::deflate::compress_to_vec_zlib(data, DEFLATE_LEVEL)
}

fn decode_png(file: &[u8]) -> Result<(i32, i32, bool, Vec<u8>), String> {
    let mut decoder = png::Decoder::new(std::io::Cursor::new(file));
    decoder.set_transformations(png::Transformations::normalize_to_color8());
    let mut reader = decoder.read_info().map_err(|e| e.to_string())?;
    let size = reader.output_buffer_size().ok_or("its size does not fit the memory")?;
    if size > MOST_PICTURE_BYTES {
        return Err(format!(
            "{} MB of pixels are outside 0 to {} MB",
            size >> 20,
            MOST_PICTURE_BYTES >> 20
        ));
    }
    let mut buffer = vec![0; size];
    let info = reader.next_frame(&mut buffer).map_err(|e| e.to_string())?;
    buffer.truncate(info.buffer_size());
    // Transparency is laid on white, the colour of the paper.
    let on_white = |c: u8, a: u8| {
        let (c, a) = (u32::from(c), u32::from(a));
        ((c * a + 255 * (255 - a) + 127) / 255) as u8
    };
    let (grey, samples) = match info.color_type {
        png::ColorType::Grayscale => (true, buffer),
        png::ColorType::GrayscaleAlpha => {
            (true, buffer.chunks_exact(2).map(|p| on_white(p[0], p[1])).collect())
        }
        png::ColorType::Rgba => (
            false,
            buffer
                .chunks_exact(4)
                .flat_map(|p| [on_white(p[0], p[3]), on_white(p[1], p[3]), on_white(p[2], p[3])])
                .collect(),
        ),
        _ => (false, buffer),
    };
    Ok((info.width as i32, info.height as i32, grey, samples))
}

/// What PDF must be told about a JPEG file.
struct JpegHeader {
    width: i32,
    height: i32,
    components: u8,
}

impl JpegHeader {
    /// Walks the markers to the frame header (ITU-T T.81, B.2.2).
    fn read(file: &[u8]) -> Option<Self> {
        let mut rest = file.strip_prefix(&[0xFF, 0xD8])?;
        loop {
            while let [0xFF, 0xFF, ..] = rest {
                rest = &rest[1..];
            }
            let [0xFF, marker, high, low, ..] = *rest else { return None };
            let length = usize::from(u16::from_be_bytes([high, low]));
            match marker {
                // Frames; C4, C8 and CC are tables and reserved markers in the same range.
                0xC0..=0xCF if !matches!(marker, 0xC4 | 0xC8 | 0xCC) => {
                    let frame = rest.get(4..10)?;
                    let be = |i: usize| i32::from(u16::from_be_bytes([frame[i], frame[i + 1]]));
                    let header = Self { height: be(1), width: be(3), components: frame[5] };
                    let usable = frame[0] == 8
                        && header.width > 0
                        && header.height > 0
                        && matches!(header.components, 1 | 3 | 4);
                    return usable.then_some(header);
                }
                0xD9 | 0xDA => return None,
                _ => rest = rest.get(2 + length..)?,
            }
        }
    }
}

fn xy(p: Point) -> (f32, f32) {
    ((p.x * PT) as f32, (p.y * PT) as f32)
}

fn grey(ink: Ink) -> f32 {
    f32::from(ink.luma()) / 255.0
}

fn trace(content: &mut Content, path: &Path) {
    let Some(first) = path.vertices.first() else { return };
    let (x, y) = xy(first.at);
    content.move_to(x, y);
    for segment in path.segments() {
        match segment {
            Segment::Line(_, to) => {
                let (x, y) = xy(to);
                content.line_to(x, y);
            }
            Segment::Arc { centre, radius, start_rad, sweep_rad, .. } => {
                // A cubic over an eighth of a turn leaves the circle by 4e-6 of its radius.
                let n = (sweep_rad.abs() / std::f64::consts::FRAC_PI_4).ceil().max(1.0);
                let step = sweep_rad / n;
                let handle = 4.0 / 3.0 * (0.25 * step).tan() * radius;
                for i in 0..n as usize {
                    let a = start_rad + step * i as f64;
                    let b = a + step;
                    let at = |t: f64| centre + Point::toward(t) * radius;
                    let along = |t: f64| Point::toward(t).turned() * handle;
                    let (x1, y1) = xy(at(a) + along(a));
                    let (x2, y2) = xy(at(b) - along(b));
                    let (x3, y3) = xy(at(b));
                    content.cubic_to(x1, y1, x2, y2, x3, y3);
                }
            }
        }
    }
    if path.closed {
        content.close_path();
    }
}

fn stroke(content: &mut Content, path: &Path, pen: Pen) {
    content.save_state();
    content.set_stroke_gray(grey(pen.ink));
    content.set_line_width((pen.width_mm * PT) as f32);
    let dash = pen.dash.pattern_mm();
    if dash.is_empty() {
        // Butt ends: a check line must end where it ends.
        content.set_line_cap(LineCapStyle::ButtCap);
    } else {
        content.set_dash_pattern(dash.iter().map(|d| (d * PT) as f32), 0.0);
    }
    trace(content, path);
    content.stroke();
    content.restore_state();
}

fn fill(content: &mut Content, path: &Path, ink: Ink) {
    content.save_state();
    content.set_fill_gray(grey(ink));
    trace(content, path);
    content.fill_nonzero();
    content.restore_state();
}

fn picture(content: &mut Content, place: Rect, name: &str) {
    let (x, y) = xy(super::geometry::pt(place.left, place.bottom));
    content.save_state();
    content.transform([(place.width() * PT) as f32, 0.0, 0.0, (place.height() * PT) as f32, x, y]);
    content.x_object(Name(name.as_bytes()));
    content.restore_state();
}

/// Glyphs of one face in use, and where the face goes in the file.
struct Face {
    weight: Weight,
    id: Ref,
    remapper: GlyphRemapper,
    /// By glyph number in the subset: character and advance.
    used: BTreeMap<u16, (char, f64)>,
}

struct Faces {
    regular: Face,
    bold: Face,
}

impl Faces {
    fn of(&mut self, weight: Weight) -> &mut Face {
        match weight {
            Weight::Regular => &mut self.regular,
            Weight::Bold => &mut self.bold,
        }
    }
}

const ORDERING: SystemInfo<'static> =
    SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };

impl Face {
    fn new(file: &mut File, weight: Weight) -> Self {
        Self { weight, id: file.id(), remapper: GlyphRemapper::new(), used: BTreeMap::new() }
    }

    fn name(&self) -> &'static str {
        match self.weight {
            Weight::Regular => "Regular",
            Weight::Bold => "Bold",
        }
    }

    fn show(&mut self, content: &mut Content, text: &Text) {
        let mut codes = Vec::with_capacity(2 * text.text.len());
        for c in text.text.chars() {
            let placed = font::placed(c, self.weight);
            let glyph = self.remapper.remap(placed.glyph);
            if placed.glyph != 0 {
                self.used.entry(glyph).or_insert((c, placed.advance));
            } else {
                self.used.entry(0).or_insert(('\u{FFFD}', placed.advance));
            }
            codes.extend_from_slice(&glyph.to_be_bytes());
        }
        let (x, y) = xy(text.start());
        let (sin, cos) = text.turn_deg.to_radians().sin_cos();
        content.begin_text();
        content.set_fill_gray(0.0);
        content.set_font(Name(self.name().as_bytes()), (text.size_mm * PT) as f32);
        content.set_text_matrix([cos as f32, sin as f32, -sin as f32, cos as f32, x, y]);
        content.show(Str(&codes));
        content.end_text();
    }

    fn embed(&self, file: &mut File) -> Result<(), PdfError> {
        let subset = subsetter::subset(self.weight.bytes(), 0, &self.remapper)
            .map_err(|e| PdfError::Font(e.to_string()))?;
        // Six letters mark a subset (ISO 32000-1, 9.6.4); they need only differ between subsets.
        let base = match self.weight {
            Weight::Regular => "FLKREG+LiberationSans",
            Weight::Bold => "FLKBLD+LiberationSans-Bold",
        };
        let (cid, descriptor, cmap, data) = (file.id(), file.id(), file.id(), file.id());
        file.pdf
            .type0_font(self.id)
            .base_font(Name(base.as_bytes()))
            .encoding_predefined(Name(b"Identity-H"))
            .descendant_font(cid)
            .to_unicode(cmap);
        let mut cid_font = file.pdf.cid_font(cid);
        cid_font
            .subtype(CidFontType::Type2)
            .base_font(Name(base.as_bytes()))
            .system_info(ORDERING)
            .font_descriptor(descriptor)
            .default_width(0.0)
            .cid_to_gid_map_predefined(Name(b"Identity"));
        let mut widths = cid_font.widths();
        for (glyph, (_, advance)) in &self.used {
            widths.consecutive(*glyph, [(advance * 1000.0) as f32]);
        }
        widths.finish();
        cid_font.finish();
        // Figures of the face's head, hhea and OS/2 tables, in thousandths of the type size.
        file.pdf
            .font_descriptor(descriptor)
            .name(Name(base.as_bytes()))
            .flags(FontFlags::NON_SYMBOLIC)
            .bbox(pdf_writer::Rect::new(-544.0, -303.0, 1302.0, 981.0))
            .italic_angle(0.0)
            .ascent(905.0)
            .descent(-212.0)
            .cap_height((font::CAP_HEIGHT * 1000.0) as f32)
            .stem_v(if self.weight == Weight::Bold { 140.0 } else { 90.0 })
            .font_file2(data);
        let mut unicode = UnicodeCmap::new(Name(b"Flanklight"), ORDERING);
        for (glyph, (c, _)) in &self.used {
            unicode.pair(*glyph, *c);
        }
        let unicode = unicode.finish();
        file.stream(cmap, &unicode);
        let packed = deflate(&subset);
        file.pdf
            .stream(data, &packed)
            .filter(Filter::FlateDecode)
            .pair(Name(b"Length1"), subset.len() as i32);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::info::SheetInfo;
    use crate::page::Page;
    use crate::{Paper, Pen, pt};

    /// Straight lines of the content streams as (dx, dy), points.
    fn lines(file: &[u8]) -> Vec<(f64, f64)> {
        let text = String::from_utf8_lossy(file);
        let mut out = Vec::new();
        let mut from = None;
        for line in text.lines() {
            let parts: Vec<&str> = line.split_whitespace().collect();
            if let [x, y, op @ ("m" | "l")] = parts[..]
                && let (Ok(x), Ok(y)) = (x.parse::<f64>(), y.parse::<f64>())
            {
                if let (Some((fx, fy)), "l") = (from, op) {
                    out.push((x - fx, y - fy));
                }
                from = Some((x, y));
            }
        }
        out
    }

    #[test]
    fn check_lines_are_a_hundred_millimetres_in_the_content_stream() {
        // 100 mm are 7200 / 25.4 points (ISO 32000-1, 8.3.2.3: a unit of 1/72 in).
        let hundred = 7200.0 / 25.4;
        for paper in [Paper::A4, Paper::Letter] {
            let info = SheetInfo {
                job: "Loom".into(),
                date: "today".into(),
                made_by: String::new(),
                units: form::Units::Mm,
                paper,
                cautions: Vec::new(),
                thread_use: shop::UseOfThread::MovesOrAdjusts,
            };
            let page = Page::new(&info, "Test", &[], &[]);
            let found = lines(&write_pdf(&[page.drawing], false).unwrap());
            let is = |v: f64, w: f64| (v.abs() - w).abs() < 1e-3;
            assert_eq!(found.iter().filter(|l| is(l.0, hundred) && is(l.1, 0.0)).count(), 1);
            assert_eq!(found.iter().filter(|l| is(l.0, 0.0) && is(l.1, hundred)).count(), 1);
        }
    }

    #[test]
    fn the_file_asks_not_to_be_scaled() {
        let mut d = Drawing::new("Test", Paper::Letter);
        d.canvas.line(pt(10.0, 10.0), pt(20.0, 10.0), Pen::OUTLINE);
        let file = write_pdf(&[d], false).unwrap();
        let text = String::from_utf8_lossy(&file);
        assert!(text.contains("/PrintScaling /None"));
        assert!(text.contains("/MediaBox [0 0 612 792]"));
    }

    #[test]
    fn arcs_stay_on_their_circle() {
        // A quarter of radius 100 mm in two cubics: halfway points within a micrometre.
        let mut content = Content::new();
        let arc = Path::arc(pt(0.0, 0.0), 100.0, 0.0, std::f64::consts::FRAC_PI_2);
        trace(&mut content, &arc);
        let text = String::from_utf8(content.finish().to_vec()).unwrap();
        let mut at = (100.0 * PT, 0.0);
        let mut curves = 0;
        for line in text.lines().filter(|l| l.ends_with(" c")) {
            let n: Vec<f64> = line.split_whitespace().filter_map(|v| v.parse().ok()).collect();
            for i in 1..16 {
                let t = f64::from(i) / 16.0;
                let s = 1.0 - t;
                let mix = |a: f64, b: f64, c: f64, d: f64| {
                    s * s * s * a + 3.0 * s * s * t * b + 3.0 * s * t * t * c + t * t * t * d
                };
                let (x, y) = (mix(at.0, n[0], n[2], n[4]), mix(at.1, n[1], n[3], n[5]));
                assert!((x.hypot(y) / PT - 100.0).abs() < 1e-3, "{}", x.hypot(y) / PT);
            }
            at = (n[4], n[5]);
            curves += 1;
        }
        assert_eq!(curves, 2);
    }
}
