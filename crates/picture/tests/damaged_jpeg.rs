//! JPEG has no checksum: a block of the file that was zeroed, doubled or swapped leaves a picture that
//! looks sound and measures wrong. Such a file is refused; a sound one never is.

#![expect(clippy::unwrap_used, reason = "helpers of tests")]

use image::codecs::jpeg::JpegEncoder;
use picture::{Limits, PictureError, decode};
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn slit() -> Vec<u8> {
    std::fs::read(root().join("demo-projects/slit/slit.jpg")).unwrap()
}

/// What happened to a file.
#[derive(Debug, Clone, Copy)]
enum Damage {
    Zero { at: usize, length: usize },
    Copy { from: usize, at: usize, length: usize },
    Swap { a: usize, b: usize, length: usize },
}

impl Damage {
    fn done_to(self, bytes: &[u8]) -> Vec<u8> {
        let mut out = bytes.to_vec();
        match self {
            Self::Zero { at, length } => out[at..at + length].fill(0),
            Self::Copy { from, at, length } => out.copy_within(from..from + length, at),
            Self::Swap { a, b, length } => (0..length).for_each(|i| out.swap(a + i, b + i)),
        }
        out
    }
}

fn refusal(bytes: &[u8]) -> PictureError {
    decode(bytes, &Limits::default()).unwrap_err()
}

#[test]
fn thirteen_that_measured_wrong_are_refused() {
    // Each was measured 6 to 154 standard uncertainties off, with nothing said.
    let zero = |at, length| Damage::Zero { at, length };
    let swap = |a| Damage::Swap { a, b: a + 4096, length: 4096 };
    let all = [
        zero(655_360, 512),
        zero(694_784, 512),
        zero(420_352, 512),
        zero(659_456, 4096),
        zero(221_184, 4096),
        zero(614_400, 4096),
        zero(512_000, 4096),
        zero(606_208, 4096),
        zero(643_072, 4096),
        Damage::Copy { from: 565_248, at: 569_344, length: 4096 },
        swap(565_248),
        swap(602_112),
        swap(630_784),
    ];
    let sound = slit();
    assert!(decode(&sound, &Limits::default()).is_ok());
    for damage in all {
        let e = refusal(&damage.done_to(&sound));
        let text = e.to_string();
        assert!(e.is_unreadable() && e.code() == "damaged", "{damage:?}: {text}");
        assert!(text.contains(" of 1500") && text.contains("Copy the file again"), "{text}");
    }
}

#[test]
fn where_every_code_is_possible_the_seams_are_seen() {
    // Found among 3000 that were tried: as many units are there as there should be, and no code is wrong. Two
    // of them measured more than 5 standard uncertainties off.
    let double = |from, at, length| Damage::Copy { from, at, length };
    for (name, damage) in [
        ("o07_pencil_traced", Damage::Swap { a: 38_912, b: 223_744, length: 3072 }),
        ("o03_special_phone", Damage::Swap { a: 85_504, b: 27_648, length: 2048 }),
        ("o04_left_hand", Damage::Swap { a: 732_160, b: 357_888, length: 512 }),
        ("o07_pencil_traced", double(139_264, 166_912, 1536)),
        ("o03_special_phone", double(329_216, 330_240, 1024)),
        // Brighter from there on, by less than a step that ends hard.
        ("o09_keystone_wall", double(760_832, 316_416, 1024)),
    ] {
        let sound = std::fs::read(root().join(format!("tests/data/shadows/{name}.jpg"))).unwrap();
        let text = refusal(&damage.done_to(&sound)).to_string();
        assert!(text.contains("a seam runs across it at row"), "{name} {damage:?}: {text}");
    }
    // Between its two places all is shifted along its rows and on into the next, and two levels darker;
    // 500 standard uncertainties off.
    let damage = Damage::Swap { a: 12_288, b: 585_728, length: 1536 };
    let text = refusal(&damage.done_to(&slit())).to_string();
    assert!(text.contains("a seam runs across it"), "{text}");
}

/// Every JPEG of the house, and what other encoders make of one: progressive pictures and restart markers
/// are written by `tests/data/jpegs.py`.
#[test]
fn sound_pictures_are_read() {
    let mut read = 0;
    for folder in
        ["tests/data/shadows", "crates/sheets/tests/data", "crates/picture/tests/data/jpeg"]
    {
        for entry in std::fs::read_dir(root().join(folder)).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_none_or(|e| e != "jpg") {
                continue;
            }
            let result = picture::open(&path, &Limits::default());
            let small = matches!(result, Err(PictureError::TooFewPixels { .. }));
            assert!(small || result.is_ok(), "{}: {:?}", path.display(), result.err());
            read += 1;
        }
    }
    assert!(read > 15, "{read}");
}

#[test]
fn every_way_of_encoding_is_looked_through() {
    let mut tried = 0;
    for entry in std::fs::read_dir(root().join("crates/picture/tests/data/jpeg")).unwrap() {
        let path = entry.unwrap().path();
        let sound = std::fs::read(&path).unwrap();
        if sound.len() < 8000 {
            continue;
        }
        // Behind the headers of all of them.
        for at in (3000..sound.len() - 600).step_by(1500) {
            let damage = Damage::Zero { at, length: 512 };
            let e = refusal(&damage.done_to(&sound));
            assert!(e.is_unreadable(), "{} {damage:?}: {e}", path.display());
            tried += 1;
        }
    }
    assert!(tried > 80, "{tried}");
}

#[test]
fn random_damage_is_refused() {
    let sound = slit();
    let mut state = 0x9E37_79B9_7F4A_7C15_u64;
    let mut below = |n: usize| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 33) as usize % n
    };
    let mut through = Vec::new();
    for i in 0..60 {
        let length = 512 * (1 + below(8));
        let mut place = || 512 * (2 + below(sound.len() / 512 - 12));
        let (a, b) = (place(), place());
        let damage = match i % 3 {
            0 => Damage::Zero { at: a, length },
            1 => Damage::Copy { from: b, at: a, length },
            _ if a.abs_diff(b) >= length => Damage::Swap { a, b, length },
            _ => continue,
        };
        if decode(&damage.done_to(&sound), &Limits::default()).is_ok() {
            through.push(damage);
        }
    }
    // Plain ground in the place of plain ground changes nothing that is measured.
    assert!(through.len() <= 1, "{through:?}");
}

#[test]
fn lines_drawn_by_a_program_are_no_damage() {
    // Hard lines two pixels wide, one edge of each on a border of units.
    let (w, h) = (640_usize, 480_usize);
    let line = |v: usize| (160..162).contains(&v) || (320..322).contains(&v);
    let pixels: Vec<u8> =
        (0..w * h).map(|i| if line(i / w) || line(i % w) { 20 } else { 235 }).collect();
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, 98)
        .encode(&pixels, w as u32, h as u32, image::ExtendedColorType::L8)
        .unwrap();
    assert!(decode(&bytes, &Limits::default()).is_ok());
}

#[test]
fn a_pattern_in_step_with_the_units_is_no_damage() {
    let (w, h) = (640u32, 480u32);
    let pixels: Vec<u8> = (0..w * h).map(|i| if i / w / 16 % 2 == 0 { 40 } else { 220 }).collect();
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, 95)
        .encode(&pixels, w, h, image::ExtendedColorType::L8)
        .unwrap();
    assert!(decode(&bytes, &Limits::default()).is_ok());
}
