//! One page of paper and what is drawn on it.

use super::font::{self, Weight};
use super::geometry::{Path, Point, Rect, pt};
use std::sync::Arc;

/// Size of the paper, upright.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Paper {
    /// ISO 216 A4, 210 × 297 mm.
    #[default]
    A4,
    /// US Letter, 8.5 × 11 in.
    Letter,
}

impl Paper {
    /// Width, mm.
    #[must_use]
    pub fn width_mm(self) -> f64 {
        match self {
            Self::A4 => 210.0,
            Self::Letter => 215.9,
        }
    }
    /// Height, mm.
    #[must_use]
    pub fn height_mm(self) -> f64 {
        match self {
            Self::A4 => 297.0,
            Self::Letter => 279.4,
        }
    }
    /// Name as printed.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "US Letter",
        }
    }
}

/// What a line belongs to: a layer of the DXF file, a class in the SVG.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Layer {
    /// Border, rules and table lines.
    Frame,
    /// Visible edges of the thing drawn.
    Outline,
    /// Lines to cut along or to hold a part against.
    Gauge,
    /// Hidden edges.
    Hidden,
    /// Axes and lines of symmetry.
    Centre,
    /// Dimension, extension and leader lines.
    Dimension,
    /// Hatching of cut faces.
    Hatch,
    /// Lettering.
    Text,
    /// The 100 mm lines a print proves itself by.
    CheckLine,
    /// Curves and axes of a plot.
    Plot,
    /// Outlines laid over a picture.
    Overlay,
}

impl Layer {
    /// All layers.
    pub const ALL: [Self; 11] = [
        Self::Frame,
        Self::Outline,
        Self::Gauge,
        Self::Hidden,
        Self::Centre,
        Self::Dimension,
        Self::Hatch,
        Self::Text,
        Self::CheckLine,
        Self::Plot,
        Self::Overlay,
    ];
    /// Name in files.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Frame => "FRAME",
            Self::Outline => "OUTLINE",
            Self::Gauge => "GAUGE",
            Self::Hidden => "HIDDEN",
            Self::Centre => "CENTRE",
            Self::Dimension => "DIMENSION",
            Self::Hatch => "HATCH",
            Self::Text => "TEXT",
            Self::CheckLine => "CHECK_LINE",
            Self::Plot => "PLOT",
            Self::Overlay => "OVERLAY",
        }
    }
}

/// Kind of broken line (ISO 128-2).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Dash {
    /// Unbroken.
    Solid,
    /// Dashes, for hidden edges.
    Dashed,
    /// Long dash, dot; for axes.
    Chain,
    /// Dots.
    Dotted,
}

impl Dash {
    /// Lengths of stroke and gap, mm; empty when unbroken.
    #[must_use]
    pub fn pattern_mm(self) -> &'static [f64] {
        match self {
            Self::Solid => &[],
            Self::Dashed => &[2.4, 1.0],
            Self::Chain => &[6.0, 1.0, 0.5, 1.0],
            Self::Dotted => &[0.4, 0.9],
        }
    }
}

/// How dark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ink {
    /// Black.
    Black,
    /// Light grey, for grids that must not compete with the outline.
    Grey,
    /// White, for lines over a dark picture.
    White,
}

impl Ink {
    /// Lightness, 0 black to 255 white.
    #[must_use]
    pub fn luma(self) -> u8 {
        match self {
            Self::Black => 0,
            Self::Grey => 175,
            Self::White => 255,
        }
    }
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Layer.
    pub layer: Layer,
    /// Line width, mm.
    pub width_mm: f64,
    /// Broken or not.
    pub dash: Dash,
    /// How dark.
    pub ink: Ink,
}

impl Pen {
    const fn new(layer: Layer, width_mm: f64, dash: Dash, ink: Ink) -> Self {
        Self { layer, width_mm, dash, ink }
    }
    /// Visible edges: thick.
    pub const OUTLINE: Self = Self::new(Layer::Outline, 0.5, Dash::Solid, Ink::Black);
    /// Visible edges of small views, and edges of breaks: thin.
    pub const THIN: Self = Self::new(Layer::Outline, 0.25, Dash::Solid, Ink::Black);
    /// True-scale lines something is held against: as fine as a printer can make them.
    pub const GAUGE: Self = Self::new(Layer::Gauge, 0.13, Dash::Solid, Ink::Black);
    /// Hidden edges.
    pub const HIDDEN: Self = Self::new(Layer::Hidden, 0.25, Dash::Dashed, Ink::Black);
    /// Axes.
    pub const CENTRE: Self = Self::new(Layer::Centre, 0.18, Dash::Chain, Ink::Black);
    /// Dimension and extension lines.
    pub const DIMENSION: Self = Self::new(Layer::Dimension, 0.18, Dash::Solid, Ink::Black);
    /// Hatching.
    pub const HATCH: Self = Self::new(Layer::Hatch, 0.18, Dash::Solid, Ink::Black);
    /// Border of the page.
    pub const FRAME: Self = Self::new(Layer::Frame, 0.5, Dash::Solid, Ink::Black);
    /// Rules between parts of a page and in tables.
    pub const RULE: Self = Self::new(Layer::Frame, 0.18, Dash::Solid, Ink::Black);
    /// Check lines.
    pub const CHECK: Self = Self::new(Layer::CheckLine, 0.25, Dash::Solid, Ink::Black);
    /// Grid of a plot or chart.
    pub const GRID: Self = Self::new(Layer::Plot, 0.13, Dash::Solid, Ink::Grey);
    /// Axes of a plot.
    pub const AXIS: Self = Self::new(Layer::Plot, 0.25, Dash::Solid, Ink::Black);
    /// The main curve of a plot.
    pub const CURVE: Self = Self::new(Layer::Plot, 0.6, Dash::Solid, Ink::Black);

    /// The same pen with another line width, mm.
    #[must_use]
    pub const fn width(self, width_mm: f64) -> Self {
        Self { width_mm, ..self }
    }
    /// The same pen with another dash.
    #[must_use]
    pub const fn dash(self, dash: Dash) -> Self {
        Self { dash, ..self }
    }
    /// The same pen with another ink.
    #[must_use]
    pub const fn ink(self, ink: Ink) -> Self {
        Self { ink, ..self }
    }
    /// The same pen on another layer.
    #[must_use]
    pub const fn on(self, layer: Layer) -> Self {
        Self { layer, ..self }
    }
}

/// Which point of a text stands at its position.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Anchor {
    /// Left end of the baseline.
    #[default]
    Start,
    /// Middle of the baseline.
    Middle,
    /// Right end of the baseline.
    End,
}

/// A line of lettering.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// What it says; one line.
    pub text: String,
    /// Where its anchor stands.
    pub at: Point,
    /// Type size (the em), mm; capitals are 0.688 of it high.
    pub size_mm: f64,
    /// Which point of the baseline stands at `at`.
    pub anchor: Anchor,
    /// Turned counter-clockwise about `at`, degrees.
    pub turn_deg: f64,
    /// Regular or bold.
    pub weight: Weight,
}

impl Text {
    /// Width, mm.
    #[must_use]
    pub fn width_mm(&self) -> f64 {
        font::width_mm(&self.text, self.size_mm, self.weight)
    }
    /// Left end of the baseline.
    #[must_use]
    pub fn start(&self) -> Point {
        let back = match self.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => 0.5,
            Anchor::End => 1.0,
        } * self.width_mm();
        self.at - Point::toward(self.turn_deg.to_radians()) * back
    }
    /// The four corners of the lettering, from capital height down to the descender when there is
    /// one.
    #[must_use]
    pub fn corners(&self) -> [Point; 4] {
        let along = Point::toward(self.turn_deg.to_radians());
        let up = along.turned();
        let down = if self.text.contains(['g', 'j', 'p', 'q', 'y', 'Q', ',', ';', '(', ')']) {
            font::DESCENT
        } else {
            0.02
        };
        let a = self.start() - up * (down * self.size_mm);
        let b = a + along * self.width_mm();
        let h = up * ((font::ASCENT + down) * self.size_mm);
        [a, b, b + h, a + h]
    }
    /// Upright rectangle round the lettering.
    #[must_use]
    pub fn bounds(&self) -> Rect {
        let c = self.corners();
        let fold = |f: fn(f64, f64) -> f64, g: fn(&Point) -> f64| {
            c.iter().map(g).reduce(f).unwrap_or_default()
        };
        Rect::new(
            fold(f64::min, |p| p.x),
            fold(f64::min, |p| p.y),
            fold(f64::max, |p| p.x),
            fold(f64::max, |p| p.y),
        )
    }
}

/// Encoded bytes of a picture.
///
/// The bytes must show the picture upright by themselves: no writer here looks at EXIF orientation.
#[derive(Clone, PartialEq)]
pub enum PictureBytes {
    /// A JPEG file.
    Jpeg(Arc<Vec<u8>>),
    /// A PNG file.
    Png(Arc<Vec<u8>>),
}

impl PictureBytes {
    /// The file itself.
    #[must_use]
    pub fn bytes(&self) -> &Arc<Vec<u8>> {
        match self {
            Self::Jpeg(b) | Self::Png(b) => b,
        }
    }
    /// Media type.
    #[must_use]
    pub fn media_type(&self) -> &'static str {
        match self {
            Self::Jpeg(_) => "image/jpeg",
            Self::Png(_) => "image/png",
        }
    }
}

impl std::fmt::Debug for PictureBytes {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} of {} bytes", self.media_type(), self.bytes().len())
    }
}

/// Something drawn.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A line.
    Stroke {
        /// Its course.
        path: Path,
        /// How it is drawn.
        pen: Pen,
    },
    /// A filled shape (arrowheads, marks, white behind lettering).
    Fill {
        /// Its edge, taken as closed.
        path: Path,
        /// Layer.
        layer: Layer,
        /// How dark.
        ink: Ink,
    },
    /// Lettering.
    Text(Text),
    /// A picture stretched over a rectangle. DXF shows its edge only.
    Picture {
        /// Where.
        place: Rect,
        /// Which.
        bytes: PictureBytes,
    },
}

/// Things drawn, in order: a page, or a view that is still to be placed on one.
///
/// What has a coordinate that is not finite is left out: no file format can hold it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Canvas {
    items: Vec<Item>,
}

impl Canvas {
    /// Everything drawn so far.
    #[must_use]
    pub fn items(&self) -> &[Item] {
        &self.items
    }
    /// Draws a path.
    pub fn stroke(&mut self, path: Path, pen: Pen) {
        if path.vertices.len() > 1 && path.is_finite() {
            self.items.push(Item::Stroke { path, pen });
        }
    }
    /// Draws a straight line.
    pub fn line(&mut self, from: Point, to: Point, pen: Pen) {
        self.stroke(Path::open([from, to]), pen);
    }
    /// Fills a shape.
    pub fn fill(&mut self, path: Path, layer: Layer, ink: Ink) {
        if path.is_finite() {
            self.items.push(Item::Fill { path, layer, ink });
        }
    }
    /// Letters a line.
    pub fn text(&mut self, text: Text) {
        let placed = text.at.length().is_finite() && text.size_mm.is_finite();
        if placed && !text.text.trim().is_empty() {
            self.items.push(Item::Text(Text { text: font::printable(&text.text), ..text }));
        }
    }
    /// Letters a regular level line.
    pub fn write(&mut self, at: Point, text: &str, size_mm: f64, anchor: Anchor) {
        let text = text.to_owned();
        self.text(Text { text, at, size_mm, anchor, turn_deg: 0.0, weight: Weight::Regular });
    }
    /// Letters a bold level line.
    pub fn write_bold(&mut self, at: Point, text: &str, size_mm: f64, anchor: Anchor) {
        let text = text.to_owned();
        self.text(Text { text, at, size_mm, anchor, turn_deg: 0.0, weight: Weight::Bold });
    }
    /// Letters a regular level line and clears the paper behind it, for lettering on an axis, a
    /// grid or a hatched face.
    pub fn write_lifted(&mut self, at: Point, text: &str, size_mm: f64, anchor: Anchor) {
        let text = font::printable(text);
        let text = Text { text, at, size_mm, anchor, turn_deg: 0.0, weight: Weight::Regular };
        self.fill(text.bounds().inset(-0.35).path(), Layer::Text, Ink::White);
        self.text(text);
    }
    /// Letters `text` broken to `width` mm, first baseline at `at`; returns the baseline that would
    /// follow the last line.
    pub fn write_wrapped(
        &mut self,
        at: Point,
        text: &str,
        width: f64,
        size_mm: f64,
        leading_mm: f64,
    ) -> f64 {
        let mut y = at.y;
        for line in font::wrap(text, width, size_mm, Weight::Regular) {
            self.write(pt(at.x, y), &line, size_mm, Anchor::Start);
            y -= leading_mm;
        }
        y
    }
    /// Places a picture.
    pub fn picture(&mut self, place: Rect, bytes: PictureBytes) {
        self.items.push(Item::Picture { place, bytes });
    }
    /// The smallest upright rectangle round everything drawn; `None` when there is nothing.
    #[must_use]
    pub fn bounds(&self) -> Option<Rect> {
        self.items
            .iter()
            .filter_map(|item| match item {
                Item::Stroke { path, .. } | Item::Fill { path, .. } => path.bounds(),
                Item::Text(text) => Some(text.bounds()),
                Item::Picture { place, .. } => Some(*place),
            })
            .reduce(|a, b| {
                Rect::new(
                    a.left.min(b.left),
                    a.bottom.min(b.bottom),
                    a.right.max(b.right),
                    a.top.max(b.top),
                )
            })
    }
    /// Adds everything of `view`, moved by `by`.
    pub fn place(&mut self, view: &Self, by: Point) {
        self.items.extend(view.items.iter().cloned().map(|item| match item {
            Item::Stroke { path, pen } => Item::Stroke { path: path.placed(1.0, by), pen },
            Item::Fill { path, layer, ink } => {
                Item::Fill { path: path.placed(1.0, by), layer, ink }
            }
            Item::Text(t) => Item::Text(Text { at: t.at + by, ..t }),
            Item::Picture { place: p, bytes } => {
                let place = Rect::new(p.left + by.x, p.bottom + by.y, p.right + by.x, p.top + by.y);
                Item::Picture { place, bytes }
            }
        }));
    }
    /// Adds `view` centred in `place`.
    pub fn place_centred(&mut self, view: &Self, place: Rect) {
        if let Some(b) = view.bounds() {
            self.place(view, place.centre() - b.centre());
        }
    }
}

/// One page.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Title, as printed and in the file's properties.
    pub title: String,
    /// Paper.
    pub paper: Paper,
    /// Page number, from 1.
    pub page: usize,
    /// Number of pages in the set.
    pub pages: usize,
    /// Where `Page n of m` ends, on its baseline.
    pub page_mark_at: Point,
    /// What is drawn, except for the page mark.
    pub canvas: Canvas,
}

/// Type size of `Page n of m`, mm.
const PAGE_MARK_MM: f64 = 3.5;

impl Drawing {
    /// An empty page, number 1 of 1.
    #[must_use]
    pub fn new(title: &str, paper: Paper) -> Self {
        Self {
            title: font::printable(title),
            paper,
            page: 1,
            pages: 1,
            page_mark_at: pt(paper.width_mm() - 12.0, paper.height_mm() - 18.0),
            canvas: Canvas::default(),
        }
    }

    /// Everything drawn, the page mark last.
    pub fn items(&self) -> impl Iterator<Item = Item> + '_ {
        let mark = Item::Text(Text {
            text: format!("Page {} of {}", self.page, self.pages),
            at: self.page_mark_at,
            size_mm: PAGE_MARK_MM,
            anchor: Anchor::End,
            turn_deg: 0.0,
            weight: Weight::Regular,
        });
        self.canvas.items.iter().cloned().chain(std::iter::once(mark))
    }

    /// The page as a rectangle.
    #[must_use]
    pub fn sheet(&self) -> Rect {
        Rect::new(0.0, 0.0, self.paper.width_mm(), self.paper.height_mm())
    }
}

/// Numbers the pages of a set in the order given.
pub fn number_pages(drawings: &mut [Drawing]) {
    let pages = drawings.len();
    for (i, d) in drawings.iter_mut().enumerate() {
        d.page = i + 1;
        d.pages = pages;
    }
}
