//! Damages JPEG files at random places, as bad cards and broken copies do, and counts which are refused:
//! `cargo run --release -p picture --example damage -- OUT NUMBER SEED FILE …`. A block of 512 bytes to 4 KB
//! is zeroed, replaced by another, or changes places with one. Those that are read all the same are written
//! into the folder OUT, to be measured beside the sound ones.

#![expect(clippy::print_stdout, reason = "a tool for looking")]

use picture::{Limits, decode};
use std::collections::BTreeMap;
use std::path::Path;

struct Random(u64);

impl Random {
    /// Below `n` (xorshift64*).
    fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33) as usize % n
    }
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let usage = "damage OUT NUMBER SEED FILE …";
    let out = arguments.next().ok_or(usage)?;
    let number: usize = arguments.next().ok_or(usage)?.parse()?;
    let mut random = Random(arguments.next().ok_or(usage)?.parse::<u64>()?.max(1));
    let mut files = Vec::new();
    for path in arguments {
        let bytes = std::fs::read(&path)?;
        if let Err(e) = decode(&bytes, &Limits::default()) {
            println!("as it is: {path}: {e}");
        }
        files.push((bytes, path));
    }
    std::fs::create_dir_all(&out)?;
    let (mut done, mut read) = (0, 0);
    let mut why: BTreeMap<String, usize> = BTreeMap::new();
    while done < number {
        let (sound, path) = files.get(random.below(files.len().max(1))).ok_or(usage)?;
        let length = 512 * (1 + random.below(8));
        let mut place = || 512 * random.below(sound.len().saturating_sub(length) / 512 + 1);
        let (at, other) = (place(), place());
        let mut bytes = sound.clone();
        let kind = match random.below(3) {
            0 => {
                bytes[at..at + length].fill(0);
                "zeroed"
            }
            1 => {
                bytes.copy_within(other..other + length, at);
                "doubled"
            }
            _ if at.abs_diff(other) >= length => {
                (0..length).for_each(|i| bytes.swap(at + i, other + i));
                "swapped"
            }
            _ => continue,
        };
        if bytes == *sound {
            continue;
        }
        done += 1;
        let name = Path::new(path).file_name().unwrap_or_default().to_string_lossy().into_owned();
        match decode(&bytes, &Limits::default()) {
            Ok(_) => {
                read += 1;
                std::fs::write(
                    format!("{out}/{done}-{kind}-{length}-at-{at}-{other}-{name}"),
                    bytes,
                )?;
                println!("read: {name}, {length} bytes {kind} at {at} ({other})");
            }
            Err(e) => {
                let text: String =
                    e.to_string().chars().filter(|c| !c.is_ascii_digit()).take(90).collect();
                *why.entry(text).or_default() += 1;
            }
        }
    }
    for (text, count) in why {
        println!("{count:6}  {text} …");
    }
    println!("{done} damaged, {} refused, {read} read", done - read);
    Ok(())
}
