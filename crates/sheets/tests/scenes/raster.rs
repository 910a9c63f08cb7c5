//! A grey picture of a page, and the length of its check lines read from it.

#![allow(dead_code, reason = "each test file uses some of it")]
use std::process::Command;

/// A grey picture, row by row from the top.
pub struct Grey {
    pub width: usize,
    pub height: usize,
    pub pixels: Vec<u8>,
    pub px_per_mm: f64,
}

/// Whether a program can be started; says so when it cannot.
#[expect(clippy::print_stdout, reason = "a skipped check must be seen")]
pub fn present(program: &str, argument: &str) -> bool {
    let there = Command::new(program).arg(argument).output().is_ok();
    if !there {
        println!("skipped: {program} is not installed");
    }
    there
}

impl Grey {
    /// Reads a binary PGM.
    pub fn from_pgm(bytes: &[u8], dpi: f64) -> Self {
        let mut fields = Vec::new();
        let mut at = 0;
        while fields.len() < 4 {
            let end = bytes[at..].iter().position(u8::is_ascii_whitespace).unwrap() + at;
            fields.push(std::str::from_utf8(&bytes[at..end]).unwrap().to_owned());
            at = end + 1;
        }
        assert_eq!(fields[0], "P5");
        let (width, height) = (fields[1].parse().unwrap(), fields[2].parse().unwrap());
        Self { width, height, pixels: bytes[at..].to_vec(), px_per_mm: dpi / 25.4 }
    }

    /// Reads a PNG.
    pub fn from_png(bytes: &[u8], dpi: f64) -> Self {
        let decoder = png::Decoder::new(std::io::Cursor::new(bytes));
        let mut reader = decoder.read_info().unwrap();
        let mut buffer = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut buffer).unwrap();
        let channels = info.color_type.samples();
        let pixels = buffer.chunks_exact(channels).map(|p| p[0]).collect();
        Self {
            width: info.width as usize,
            height: info.height as usize,
            pixels,
            px_per_mm: dpi / 25.4,
        }
    }

    /// Middles of the dark runs along a line through the page, mm. `along_x` reads a row at
    /// `at_mm` from the bottom, otherwise a column at `at_mm` from the left; from `from_mm` to
    /// `to_mm`.
    pub fn dark_runs(&self, along_x: bool, at_mm: f64, from_mm: f64, to_mm: f64) -> Vec<f64> {
        let k = self.px_per_mm;
        let height_mm = self.height as f64 / k;
        let pixel = |i: usize| {
            let (x, y) = if along_x {
                (i, ((height_mm - at_mm) * k) as usize)
            } else {
                ((at_mm * k) as usize, self.height - 1 - i)
            };
            255.0 - f64::from(self.pixels[y * self.width + x])
        };
        let (from, to) = ((from_mm * k) as usize, (to_mm * k) as usize);
        let mut runs = Vec::new();
        let (mut mass, mut moment) = (0.0, 0.0);
        for i in from..=to {
            let dark = pixel(i);
            if dark > 20.0 {
                mass += dark;
                moment += dark * (i as f64 + 0.5);
            } else if mass > 0.0 {
                runs.push(moment / mass / k);
                (mass, moment) = (0.0, 0.0);
            }
        }
        runs
    }

    /// Distance between the end ticks of the level and of the upright check line, mm. Looks for
    /// them in the band at the foot and in the filing margin, where nothing else is dark.
    #[expect(clippy::expect_used, reason = "a page without check lines stops the test")]
    pub fn check_lines_mm(&self) -> (f64, f64) {
        let height = (0..260).map(|i| 10.5 + 0.05 * f64::from(i));
        // A row that meets the end ticks alone: exactly two dark runs.
        let level = height
            .map(|y| self.dark_runs(true, y, 21.0, 128.0))
            .find(|r| r.len() == 2)
            .map(|r| r[1] - r[0]);
        let upright = (0..120)
            .map(|i| 13.9 + 0.05 * f64::from(i))
            .map(|x| self.dark_runs(false, x, 12.0, 200.0))
            .find(|r| r.len() == 2)
            .map(|r| r[1] - r[0]);
        (level.expect("two ticks in the foot"), upright.expect("two ticks in the margin"))
    }
}
