//! Shadows of threads whose truth is known, measured as the program measures them.

use crate::house::read;
use fit::{BarDrop, BarShape, Measurement};
use form::{Hand, Quantity};
use job::{Job, Loaded};
use serde_json::Value;
use std::fmt::Write;
use std::path::Path;

/// A picture and what it shows in truth.
#[derive(Debug, Clone)]
pub struct Shadow {
    /// Name in `truth.json`.
    pub name: String,
    truth: Value,
}

/// One quantity: what is true, what straight lines along the shadow say, what was found.
#[derive(Debug, Clone, Copy)]
pub struct Compared {
    /// Name, with the unit.
    pub what: &'static str,
    /// Truth.
    pub truth: f64,
    /// Straight lines along the outline, scale straight from the bar.
    pub straight: Option<f64>,
    /// As measured.
    pub found: Option<Quantity>,
}

impl Compared {
    /// How far what was found is off; infinite when it was not.
    #[must_use]
    pub fn off(&self) -> f64 {
        self.found.map_or(f64::INFINITY, |q| (q.value - self.truth).abs())
    }

    /// How far the straight lines are off.
    #[must_use]
    pub fn straight_off(&self) -> f64 {
        self.straight.map_or(f64::INFINITY, |v| (v - self.truth).abs())
    }
}

/// The shadows in a folder that holds `truth.json`, in order.
#[must_use]
pub fn in_folder(folder: &Path) -> Vec<Shadow> {
    let file = folder.join("truth.json");
    let all: Value =
        serde_json::from_str(&read(&file)).unwrap_or_else(|e| panic!("{}: {e}", file.display()));
    let all = all.as_object().expect("truth.json is an object by name");
    all.iter().map(|(name, truth)| Shadow { name: name.clone(), truth: truth.clone() }).collect()
}

impl Shadow {
    /// A number of the truth, `null` where there is none.
    fn number(&self, name: &str) -> Option<f64> {
        self.truth.get(name).and_then(Value::as_f64)
    }

    /// A number every truth has.
    fn must(&self, name: &str) -> f64 {
        self.number(name).unwrap_or_else(|| panic!("{}: no {name}", self.name))
    }

    /// Whether the camera stood near.
    #[must_use]
    pub fn is_perspective(&self) -> bool {
        self.number("camera_mm").is_some()
    }

    /// Number of starts.
    #[must_use]
    pub fn starts(&self) -> u32 {
        self.must("starts") as u32
    }

    /// Hand.
    #[must_use]
    pub fn hand(&self) -> Hand {
        if self.truth["hand"] == "left" { Hand::Left } else { Hand::Right }
    }

    /// Whether only one edge of the screw is in the picture, so that its diameter must be entered.
    fn one_edge(&self) -> bool {
        self.name.ends_with("one_side")
    }

    /// The picture measured with what its owner would say: width and shape of the bar, and where a
    /// flat one lies.
    #[must_use]
    pub fn measured(&self, folder: &Path) -> Measurement {
        let file = folder.join(self.truth["file"].as_str().expect("a truth names its file"));
        let loaded = Loaded::open(&file).unwrap_or_else(|e| panic!("{}: {e}", self.name));
        let mut job = Job::on_picture(&file, loaded.sha256.clone());
        let bar = &self.truth["bar"];
        let width_mm = bar["size_mm"].as_f64().expect("a bar has a width");
        job.bar.width_mm = Some(Quantity::entered(width_mm, 0.0));
        if bar["kind"] == "block" {
            job.bar.shape = BarShape::Flat;
            let drop_mm = bar["drop_mm"].as_f64().expect("a bar lies somewhere");
            job.bar.drop = BarDrop::Given(Quantity::entered(drop_mm, 0.0));
        }
        if self.one_edge() {
            let diameter = self.must("major_diameter_mm");
            job.thread.major_diameter_mm = Some(Quantity::entered(diameter, 0.01));
        }
        let findings = job::evaluate(&job, Some(&loaded), &|_| true).expect("nobody stops it");
        match findings.measurement {
            Some(m) => (*m).clone(),
            None => panic!("{}: {:?}", self.name, findings.troubles),
        }
    }

    /// The quantities that have limits.
    #[must_use]
    pub fn compared(&self, m: &Measurement) -> [Compared; 6] {
        let f = &m.form;
        let s = m.straight;
        let line = |what, name: &str, straight, found| Compared {
            what,
            truth: self.must(name),
            straight,
            found,
        };
        [
            line("pitch, mm", "pitch_mm", s.map(|s| s.pitch_mm), f.pitch_mm),
            line(
                "right flank, °",
                "right_flank_deg",
                s.map(|s| s.right_flank_deg),
                f.right_flank_deg,
            ),
            line("left flank, °", "left_flank_deg", s.map(|s| s.left_flank_deg), f.left_flank_deg),
            line("crest flat, mm", "crest_flat_mm", s.map(|s| s.crest_flat_mm), f.crest_flat_mm),
            line("root flat, mm", "root_flat_mm", s.map(|s| s.root_flat_mm), f.root_flat_mm),
            line(
                "major diameter, mm",
                "major_diameter_mm",
                s.and_then(|s| s.major_diameter_mm),
                f.major_diameter_mm,
            ),
        ]
    }

    /// What a quantity of this picture may be off by: less of a clean one than of one that is traced by
    /// hand, thrown on a leaning wall, worn, or of several starts.
    ///
    /// # Panics
    /// For a quantity without a limit.
    #[must_use]
    pub fn limit(&self, c: &Compared) -> f64 {
        let traced = self.truth["style"] == "traced";
        let leaning = self.name.contains("keystone");
        let worn = self.name.contains("worn");
        let asymmetric = self.must("right_flank_deg") != self.must("left_flank_deg");
        let pick = |usual: f64, if_traced: f64, if_leaning: f64| match (traced, leaning) {
            (true, _) => if_traced,
            (_, true) => if_leaning,
            _ => usual,
        };
        match c.what {
            "pitch, mm" => pick(5e-4, 3e-3, 1.5e-3) * c.truth,
            "right flank, °" | "left flank, °" => {
                // Of a 45° flank beside a 7° one a short piece is seen.
                let usual = if worn {
                    0.25
                } else if asymmetric {
                    0.15
                } else {
                    0.1
                };
                pick(usual, 0.8, 0.25)
            }
            "crest flat, mm" | "root flat, mm" => {
                pick(if worn || self.starts() > 1 { 0.03 } else { 0.012 }, 0.06, 0.03)
            }
            "major diameter, mm" => pick(0.03, 0.06, 0.03),
            other => panic!("no limit for {other}"),
        }
    }

    /// What the raster of the picture itself may move a quantity by, beyond any measuring: a bar laid
    /// exactly along the pixel rows is drawn to a quarter of a pixel, and the pitch goes with it.
    #[must_use]
    pub fn raster_mm(&self, c: &Compared) -> f64 {
        let along_rows = self.truth["bar"]["roll_deg"].as_f64() == Some(0.0);
        if along_rows && c.what == "pitch, mm" { c.truth * 0.25 / self.bar_px() } else { 0.0 }
    }

    /// Width in the picture that the bar ought to have, px, where it stands: a rod's two tangents from
    /// the eye, a block's two edges.
    #[must_use]
    pub fn bar_px(&self) -> f64 {
        let bar = &self.truth["bar"];
        let of = |name: &str| bar[name].as_f64().unwrap_or(0.0);
        let (size, scale) = (of("size_mm"), self.must("px_per_mm"));
        let Some(eye) = self.number("camera_mm") else { return size * scale };
        let far = eye + of("drop_mm");
        if bar["kind"] == "block" {
            return size * scale * eye / far;
        }
        let aside = bar["centre"][1].as_f64().unwrap_or(0.0) * of("roll_deg").to_radians().cos();
        let middle = (aside / far).atan();
        let half = (0.5 * size / aside.hypot(far)).asin();
        eye * scale * ((middle + half).tan() - (middle - half).tan())
    }

    /// Rows of the bar's upper and lower edge in the picture, px: the means of what was found, for a bar
    /// that lies along the rows.
    ///
    /// # Panics
    /// Where there is no bar.
    #[must_use]
    pub fn bar_edges_px(&self, folder: &Path) -> [f64; 2] {
        let file = folder.join(self.truth["file"].as_str().expect("a truth names its file"));
        let picture = picture::open(&file, &picture::Limits::default()).expect("a picture");
        let scene = picture::trace(&picture.grey, picture::DrawnWanted::Auto, &|_| true);
        let bar = picture::find_bar(&scene.expect("outlines"), None).expect("a bar");
        let mut rows =
            bar.edges.map(|edge| edge.iter().map(|p| p.y).sum::<f64>() / edge.len().max(1) as f64);
        rows.sort_by(f64::total_cmp);
        rows
    }

    /// What the picture shows, in a few words.
    #[must_use]
    pub fn title(&self) -> String {
        let (right, left) = (self.must("right_flank_deg"), self.must("left_flank_deg"));
        let angles = if right == left {
            format!("{}°", right + left)
        } else {
            format!("{right}°/{left}°")
        };
        let mut title = format!(
            "{angles}, Ø {} × {:.4}",
            self.must("major_diameter_mm"),
            self.must("pitch_mm")
        );
        title.truncate(title.trim_end_matches('0').trim_end_matches('.').len());
        if self.hand() == Hand::Left {
            title.push_str(", left hand");
        }
        match self.number("camera_mm") {
            Some(d) => {
                let _ = write!(title, ", camera at {d} mm");
            }
            None => title.push_str(", parallel light"),
        }
        title
    }
}

/// The table of the README: per picture the truth, what straight lines along the shadow would have
/// told, and what was measured.
#[must_use]
pub fn markdown(rows: &[(Shadow, Measurement)]) -> String {
    let mut out = String::from(
        "| screw | | pitch, mm | right flank, ° | left flank, ° | crest flat, mm | root flat, mm \
         | major Ø, mm |\n|---|---|---|---|---|---|---|---|\n",
    );
    for (shadow, m) in rows {
        let compared = shadow.compared(m);
        let decimals = |c: &Compared| if c.what.ends_with('°') { 2 } else { 3 };
        let cells = |f: &dyn Fn(&Compared) -> String| {
            compared.iter().map(f).collect::<Vec<_>>().join(" | ")
        };
        let truth = cells(&|c| format!("{:.*}", decimals(c), c.truth));
        let straight =
            cells(&|c| c.straight.map_or("–".into(), |v| format!("{v:.*}", decimals(c))));
        let found = cells(&|c| c.found.map_or("cannot tell".into(), |q| q.with_u(decimals(c) + 1)));
        let _ = writeln!(out, "| {} | true | {truth} |", shadow.title());
        let _ = writeln!(out, "| | the shadow, straight lines | {straight} |");
        let _ = writeln!(out, "| | Flanklight | {found} |");
    }
    out
}

/// How far every quantity is off and may be, the worse of two flanks and of two flats; and whether hand
/// and starts are right.
#[must_use]
pub fn limits(rows: &[(Shadow, Measurement)]) -> String {
    let mut out = String::from(
        "| picture | pitch, % | flanks, ° | flats, mm | diameter, mm | starts | hand | |\n\
         |---|---|---|---|---|---|---|---|\n",
    );
    for (shadow, m) in rows {
        let compared = shadow.compared(m);
        let [pitch, right, left, crest, root, major] = &compared;
        let worse = |a: &Compared, b: &Compared| if a.off() > b.off() { *a } else { *b };
        let cell = |c: &Compared, unit: f64, decimals: usize| {
            format!("{:.*} of {}", decimals, c.off() / unit, shadow.limit(c) / unit)
        };
        let percent = pitch.truth / 100.0;
        let per_cent = format!(
            "{:.3} of {}",
            pitch.off() / percent,
            (shadow.limit(pitch) / percent * 1e6).round() / 1e6
        );
        let starts = m.starts.is_some_and(|s| s.value == shadow.starts());
        let hand = match m.hand {
            Some(h) if h.value == shadow.hand() => "right",
            Some(_) => "WRONG",
            None if shadow.is_perspective() && !shadow.one_edge() => "NOT TOLD",
            None => "not told",
        };
        let within = compared.iter().all(|c| c.off() <= shadow.limit(c));
        let _ = writeln!(
            out,
            "| {} | {per_cent} | {} | {} | {} | {} | {hand} | {} |",
            shadow.name,
            cell(&worse(right, left), 1.0, 3),
            cell(&worse(crest, root), 1.0, 4),
            cell(major, 1.0, 4),
            if starts { "right" } else { "WRONG" },
            if within { "within" } else { "NOT WITHIN" },
        );
    }
    out
}
