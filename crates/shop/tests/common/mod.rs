//! Screws used by several tests.
#![allow(dead_code, reason = "each test file uses some of them")]

use form::{Hand, Section, SectionNumbers, Source, Thread};
use shop::ScrewForm;

/// Symmetric sharp-cornered thread, angles in degrees.
#[expect(clippy::unwrap_used, reason = "a test helper with numbers of its own")]
pub fn thread(
    pitch: f64,
    half: f64,
    depth: f64,
    crest: f64,
    major: f64,
    starts: u32,
    hand: Hand,
) -> Thread {
    let section = Section::symmetric(pitch, half.to_radians(), depth, crest).unwrap();
    Thread::new(section, major, starts, hand).unwrap()
}

/// Screw of ISO 2904: external depth P/2 + ac, crest 0.366 P.
pub fn trapezoidal(major: f64, pitch: f64, ac: f64) -> ScrewForm {
    let crest = pitch * (0.5 - 0.5 * 15f64.to_radians().tan());
    let t = thread(pitch, 15.0, 0.5 * pitch + ac, crest, major, 1, Hand::Right);
    ScrewForm::from_thread(&t, Source::Standard)
}

/// Rows of a reference table, without the source line, by comma.
pub fn rows(text: &str) -> Vec<Vec<String>> {
    text.lines()
        .filter(|l| !l.starts_with('#') && !l.trim().is_empty())
        .skip(1)
        .map(|l| {
            let (mut out, mut cell, mut quoted) = (Vec::new(), String::new(), false);
            for c in l.chars() {
                match c {
                    '"' => quoted = !quoted,
                    ',' if !quoted => out.push(std::mem::take(&mut cell)),
                    c => cell.push(c),
                }
            }
            out.push(cell);
            out
        })
        .collect()
}

/// Small deterministic generator for planted-truth tests.
pub struct Lcg(pub u64);

impl Lcg {
    pub fn unit(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 11) as f64) / (1u64 << 53) as f64
    }
    pub fn between(&mut self, lo: f64, hi: f64) -> f64 {
        lo + (hi - lo) * self.unit()
    }
}

/// A screw nobody can name: asymmetric, rounded, one to three starts, either hand.
pub fn random_thread(rng: &mut Lcg) -> Thread {
    loop {
        let pitch = rng.between(1.0, 6.0);
        let right = rng.between(3.0, 32.0f64).to_radians();
        let left = rng.between(3.0, 32.0f64).to_radians();
        let depth = rng.between(0.3, 0.6) * pitch;
        let crest = rng.between(0.15, 0.4) * pitch;
        let radius = rng.between(0.0, 0.06) * pitch;
        let numbers = SectionNumbers {
            pitch_mm: pitch,
            depth_mm: depth,
            right_flank_rad: right,
            left_flank_rad: left,
            crest_flat_mm: crest,
            crest_radius_mm: radius,
            root_radius_mm: radius,
        };
        let starts = 1 + (rng.unit() * 3.0) as u32;
        let hand = if rng.unit() < 0.5 { Hand::Right } else { Hand::Left };
        let major = rng.between(5.0, 10.0) * pitch;
        if let Ok(section) = Section::new(numbers)
            && section.root_flat_mm() > 0.15 * pitch
            && let Ok(t) = Thread::new(section, major, starts, hand)
        {
            return t;
        }
    }
}
