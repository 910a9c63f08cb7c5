//! Synthetic pictures with planted truth: polygons with exact area coverage, blurred in linear
//! light, with noise, uneven light and JPEG as wanted. Independent of the crate's own edge model.

#![allow(dead_code, reason = "each test binary uses a part of it")]
#![expect(clippy::unwrap_used, reason = "test support: a failure here is a failed test")]

use picture::Grey;

/// A closed polygon in pixels.
pub type Polygon = Vec<(f64, f64)>;

/// Deterministic noise (SplitMix64, sums of uniforms).
pub struct Noise(pub u64);

impl Noise {
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    pub fn uniform(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Normal, variance 1 (Box-Muller).
    pub fn normal(&mut self) -> f64 {
        let (a, b) = (self.uniform().max(1e-300), self.uniform());
        (-2.0 * a.ln()).sqrt() * (2.0 * std::f64::consts::PI * b).cos()
    }
}

/// Part of each pixel that the polygon covers, exactly (signed areas accumulated along rows).
pub fn coverage(w: usize, h: usize, polygon: &[(f64, f64)]) -> Vec<f32> {
    let mut acc = vec![0f64; w * h + 2];
    let n = polygon.len();
    for i in 0..n {
        let (mut p, mut q) = (polygon[i], polygon[(i + 1) % n]);
        if p.1 == q.1 {
            continue;
        }
        let sign = if p.1 < q.1 { 1.0 } else { -1.0 };
        if p.1 > q.1 {
            std::mem::swap(&mut p, &mut q);
        }
        let slope = (q.0 - p.0) / (q.1 - p.1);
        let (y0, y1) = (p.1.max(0.0), q.1.min(h as f64));
        let mut y = y0;
        while y < y1 {
            let row = y.floor() as usize;
            let end = (y.floor() + 1.0).min(y1);
            let (xa, xb) = (p.0 + (y - p.1) * slope, p.0 + (end - p.1) * slope);
            cover_row(&mut acc[row * w..(row + 1) * w], xa, xb, sign * (end - y));
            y = end;
        }
    }
    let mut out = Vec::with_capacity(w * h);
    for row in acc[..w * h].chunks(w) {
        let mut sum = 0.0;
        for v in row {
            sum += v;
            out.push(sum.abs().min(1.0) as f32);
        }
    }
    out
}

/// Adds, as differences, the area to the right of an edge piece of height `dy` in one row.
fn cover_row(row: &mut [f64], xa: f64, xb: f64, dy: f64) {
    let w = row.len() as f64;
    let mut add = |i: i64, v: f64| {
        if i < row.len() as i64 {
            row[i.max(0) as usize] += v;
        }
    };
    let (lo, hi) = (xa.min(xb).clamp(0.0, w), xa.max(xb).clamp(0.0, w));
    let length = (xa - xb).abs();
    if length < 1e-12 {
        let i = lo.floor();
        let right = i + 1.0 - lo;
        add(i as i64, dy * right);
        add(i as i64 + 1, dy * (1.0 - right));
        return;
    }
    // What was clamped away on the left covers whole pixels from the first on.
    let left = (0.0f64.min(xa.max(xb)) - xa.min(xb)).max(0.0) / length;
    add(0, dy * left);
    let mut x = lo;
    while x < hi {
        let i = x.floor();
        let end = (i + 1.0).min(hi);
        let part = dy * (end - x) / length;
        let right = i + 1.0 - 0.5 * (x + end);
        add(i as i64, part * right);
        add(i as i64 + 1, part * (1.0 - right));
        x = end;
    }
}

/// Gaussian blur, separable.
pub fn blur(v: &mut [f32], w: usize, h: usize, sigma: f64) {
    if sigma <= 0.0 {
        return;
    }
    let reach = (4.0 * sigma).ceil() as i64;
    let mut kernel: Vec<f32> =
        (-reach..=reach).map(|i| (-0.5 * (i as f64 / sigma).powi(2)).exp() as f32).collect();
    let sum: f32 = kernel.iter().sum();
    kernel.iter_mut().for_each(|k| *k /= sum);
    let mut line = vec![0f32; w.max(h)];
    for row in v.chunks_mut(w) {
        line[..w].copy_from_slice(row);
        for (x, to) in row.iter_mut().enumerate() {
            *to = (-reach..=reach)
                .zip(&kernel)
                .map(|(d, k)| k * line[(x as i64 + d).clamp(0, w as i64 - 1) as usize])
                .sum();
        }
    }
    for x in 0..w {
        for y in 0..h {
            line[y] = v[y * w + x];
        }
        for y in 0..h {
            v[y * w + x] = (-reach..=reach)
                .zip(&kernel)
                .map(|(d, k)| k * line[(y as i64 + d).clamp(0, h as i64 - 1) as usize])
                .sum();
        }
    }
}

pub fn linear_to_srgb(l: f64) -> f64 {
    if l <= 0.003_130_8 { 12.92 * l } else { 1.055 * l.powf(1.0 / 2.4) - 0.055 }
}

/// A thread beside a bar, in pixels before `turn`.
#[derive(Clone, Debug)]
pub struct Shot {
    pub width: usize,
    pub height: usize,
    /// Clockwise on the screen, about the picture's centre; thread and bar alike.
    pub turn: f64,
    pub pitch: f64,
    pub depth: f64,
    pub crest: f64,
    pub root: f64,
    pub major: f64,
    pub teeth: usize,
    /// Thread's middle relative to the picture's.
    pub thread_at: (f64, f64),
    pub bar_at: (f64, f64),
    pub bar_width: f64,
    pub bar_length: f64,
    pub bar_turn: f64,
    pub others: Vec<Polygon>,
    pub specks: usize,
    pub blur: f64,
    /// Noise of one sample in steps of 1/255, encoded.
    pub noise: f64,
    /// Relative loss of light across the picture's diagonal.
    pub falloff: f64,
    pub dark: f64,
    pub light: f64,
    pub light_object: bool,
    /// Another outline for the thread, in pixels from the picture's middle, before turning.
    pub outline: Option<Polygon>,
    /// Perspective of a leaning wall: parts by which the far side is smaller, across and down.
    pub keystone: (f64, f64),
    /// Bright shapes on top of everything (glints).
    pub glints: Vec<Polygon>,
    /// Draw with a stroke of this width instead of filling.
    pub stroke: Option<f64>,
    /// Whether only the long sides are drawn: toothed edges, long sides of the bar.
    pub sides_only: bool,
    /// Unsteadiness of the stroke, pixels.
    pub wobble: f64,
    pub seed: u64,
}

impl Default for Shot {
    fn default() -> Self {
        Self {
            width: 1600,
            height: 1200,
            turn: 0.0,
            pitch: 110.0,
            depth: 60.0,
            crest: 40.0,
            root: 38.0,
            major: 480.0,
            teeth: 11,
            thread_at: (0.0, -150.0),
            bar_at: (0.0, 300.0),
            bar_width: 150.3,
            bar_length: 1300.0,
            bar_turn: 0.01,
            others: Vec::new(),
            specks: 0,
            blur: 1.2,
            noise: 2.0,
            falloff: 0.25,
            dark: 0.03,
            light: 0.8,
            light_object: false,
            outline: None,
            keystone: (0.0, 0.0),
            glints: Vec::new(),
            stroke: None,
            sides_only: false,
            wobble: 0.0,
            seed: 1,
        }
    }
}

impl Shot {
    pub fn place(&self, p: (f64, f64)) -> (f64, f64) {
        let (s, c) = self.turn.sin_cos();
        let (x, y) = (p.0 * c - p.1 * s, p.0 * s + p.1 * c);
        let (w, h) = (self.width as f64 / 2.0, self.height as f64 / 2.0);
        let far = 1.0 + self.keystone.0 * x / w + self.keystone.1 * y / h;
        (w + x / far, h + y / far)
    }

    /// Upper and lower toothed edges, and the closed thread polygon, before placing.
    pub fn thread(&self) -> Polygon {
        if let Some(outline) = &self.outline {
            return outline.iter().map(|&p| self.place(p)).collect();
        }
        let flank = (self.pitch - self.crest - self.root) / 2.0;
        let length = self.teeth as f64 * self.pitch;
        let (x0, y0) = (self.thread_at.0 - length / 2.0, self.thread_at.1);
        let (top, low) = (-self.major / 2.0, -self.major / 2.0 + self.depth);
        let mut upper = vec![(0.0, low)];
        for i in 0..self.teeth {
            let x = i as f64 * self.pitch + self.root / 2.0;
            upper.extend([
                (x, low),
                (x + flank, top),
                (x + flank + self.crest, top),
                (x + 2.0 * flank + self.crest, low),
            ]);
        }
        upper.push((length, low));
        // The lower edge is half a pitch on, as a screw's is.
        let mut lower: Polygon =
            upper.iter().map(|&(x, y)| ((x + self.pitch / 2.0) % (length + 1e-9), -y)).collect();
        lower.sort_by(|a, b| b.0.total_cmp(&a.0));
        let first = lower.first().map_or(-low, |p| p.1);
        let last = lower.last().map_or(-low, |p| p.1);
        lower.insert(0, (length, first));
        lower.push((0.0, last));
        upper.extend(lower);
        upper.iter().map(|&(x, y)| self.place((x + x0, y + y0))).collect()
    }

    pub fn bar(&self) -> Polygon {
        let (s, c) = self.bar_turn.sin_cos();
        let (l, w) = (self.bar_length / 2.0, self.bar_width / 2.0);
        [(-l, -w), (l, -w), (l, w), (-l, w)]
            .map(|(x, y)| {
                self.place((self.bar_at.0 + x * c - y * s, self.bar_at.1 + x * s + y * c))
            })
            .to_vec()
    }

    /// Linear light, before noise.
    pub fn light(&self) -> Vec<f32> {
        let (w, h) = (self.width, self.height);
        let mut rng = Noise(self.seed);
        let mut shade = vec![0f32; w * h];
        let mut shapes = vec![self.thread(), self.bar()];
        shapes.extend(self.others.iter().cloned());
        for shape in &shapes {
            let parts = match self.stroke {
                None => vec![coverage(w, h, shape)],
                Some(width) => {
                    let longest = shape.len() > 4;
                    let drawn = |p: (f64, f64), q: (f64, f64)| {
                        let (dx, dy) = (q.0 - p.0, q.1 - p.1);
                        let along = dx * self.turn.cos() + dy * self.turn.sin();
                        // Ends are the pieces square to the axis.
                        !self.sides_only
                            || along.abs() > if longest { 1e-6 } else { 0.5 * dx.hypot(dy) }
                    };
                    stroke(w, h, shape, width, self.wobble, &drawn, &mut rng)
                }
            };
            for part in parts {
                for (s, p) in shade.iter_mut().zip(part) {
                    *s = s.max(p);
                }
            }
        }
        for _ in 0..self.specks {
            let (x, y) = (rng.uniform() * w as f64, rng.uniform() * h as f64);
            let r = 0.5 + 4.0 * rng.uniform();
            let disc: Polygon = (0..12)
                .map(|i| {
                    let a = i as f64 * std::f64::consts::TAU / 12.0;
                    (x + r * a.cos(), y + r * a.sin())
                })
                .collect();
            for (s, p) in shade.iter_mut().zip(coverage(w, h, &disc)) {
                *s = s.max(p);
            }
        }
        for glint in &self.glints {
            for (s, p) in shade.iter_mut().zip(coverage(w, h, glint)) {
                *s *= 1.0 - p;
            }
        }
        blur(&mut shade, w, h, self.blur);
        let (dark, light) = (self.dark as f32, self.light as f32);
        let diagonal = ((w * w + h * h) as f64).sqrt();
        shade
            .iter()
            .enumerate()
            .map(|(i, &s)| {
                let s = if self.light_object { 1.0 - s } else { s };
                let along = ((i % w) as f64 + (i / w) as f64 * 0.7) / diagonal;
                (light + (dark - light) * s) * (1.0 - self.falloff * along) as f32
            })
            .collect()
    }

    pub fn samples(&self) -> Vec<u8> {
        let mut rng = Noise(self.seed ^ 0xABCD);
        self.light()
            .iter()
            .map(|&l| {
                let v = 255.0 * linear_to_srgb(f64::from(l)) + self.noise * rng.normal();
                v.round().clamp(0.0, 255.0) as u8
            })
            .collect()
    }

    pub fn grey(&self) -> Grey {
        Grey::from_u8(self.width, self.height, self.samples()).unwrap()
    }

    pub fn jpeg(&self, quality: u8) -> Vec<u8> {
        let mut out = Vec::new();
        image::codecs::jpeg::JpegEncoder::new_with_quality(&mut out, quality)
            .encode(
                &self.samples(),
                self.width as u32,
                self.height as u32,
                image::ExtendedColorType::L8,
            )
            .unwrap();
        out
    }
}

/// A wobbling stroke round a polygon, as one coverage per piece.
fn stroke(
    w: usize,
    h: usize,
    shape: &[(f64, f64)],
    width: f64,
    wobble: f64,
    drawn: &dyn Fn((f64, f64), (f64, f64)) -> bool,
    rng: &mut Noise,
) -> Vec<Vec<f32>> {
    let mut path = Vec::new();
    let mut pen = Vec::new();
    let n = shape.len();
    for i in 0..n {
        let (p, q) = (shape[i], shape[(i + 1) % n]);
        let down = drawn(p, q);
        let length = (q.0 - p.0).hypot(q.1 - p.1);
        let steps = (length / 12.0).ceil().max(1.0) as usize;
        for j in 0..steps {
            let t = j as f64 / steps as f64;
            path.push((p.0 + t * (q.0 - p.0), p.1 + t * (q.1 - p.1)));
            pen.push(down);
        }
    }
    for p in &mut path {
        p.0 += wobble * rng.normal();
        p.1 += wobble * rng.normal();
    }
    let mut all = vec![0f32; w * h];
    let m = path.len();
    for i in 0..m {
        if !pen[i] {
            continue;
        }
        let (p, q) = (path[i], path[(i + 1) % m]);
        let length = (q.0 - p.0).hypot(q.1 - p.1).max(1e-9);
        let half = 0.5 * width * (0.85 + 0.3 * rng.uniform());
        let (tx, ty) = ((q.0 - p.0) / length * half, (q.1 - p.1) / length * half);
        let quad = [
            (p.0 - tx * 0.6 + ty, p.1 - ty * 0.6 - tx),
            (q.0 + tx * 0.6 + ty, q.1 + ty * 0.6 - tx),
            (q.0 + tx * 0.6 - ty, q.1 + ty * 0.6 + tx),
            (p.0 - tx * 0.6 - ty, p.1 - ty * 0.6 + tx),
        ];
        // Only the rows and columns near the piece.
        let x0 = quad.iter().map(|c| c.0).fold(f64::INFINITY, f64::min).floor().max(0.0) as usize;
        let y0 = quad.iter().map(|c| c.1).fold(f64::INFINITY, f64::min).floor().max(0.0) as usize;
        let x1 = (quad.iter().map(|c| c.0).fold(0.0, f64::max).ceil() as usize).min(w);
        let y1 = (quad.iter().map(|c| c.1).fold(0.0, f64::max).ceil() as usize).min(h);
        if x1 <= x0 || y1 <= y0 {
            continue;
        }
        let local: Polygon = quad.iter().map(|c| (c.0 - x0 as f64, c.1 - y0 as f64)).collect();
        let part = coverage(x1 - x0, y1 - y0, &local);
        for y in y0..y1 {
            for x in x0..x1 {
                let v = 0.75 * part[(y - y0) * (x1 - x0) + x - x0];
                let to = &mut all[y * w + x];
                *to = to.max(v);
            }
        }
    }
    vec![all]
}

/// Signed distance of a point from the nearest side of a polygon, positive to the left of the
/// walk on the screen.
pub fn distance(polygon: &[(f64, f64)], x: f64, y: f64) -> f64 {
    let n = polygon.len();
    let mut best = f64::INFINITY;
    let mut signed = 0.0;
    for i in 0..n {
        let (p, q) = (polygon[i], polygon[(i + 1) % n]);
        let (dx, dy) = (q.0 - p.0, q.1 - p.1);
        let l2 = dx * dx + dy * dy;
        if l2 < 1e-12 {
            continue;
        }
        let t = (((x - p.0) * dx + (y - p.1) * dy) / l2).clamp(0.0, 1.0);
        let d = (x - p.0 - t * dx).hypot(y - p.1 - t * dy);
        if d < best {
            best = d;
            signed = d * ((x - p.0) * dy - (y - p.1) * dx).signum();
        }
    }
    signed
}
