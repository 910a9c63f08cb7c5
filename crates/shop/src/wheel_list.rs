//! Change wheels as people list them: one by one, or from one to another.

use thiserror::Error;

/// Step of a set of wheels where only its ends are said, teeth (common practice: sets go by fives).
const USUAL_STEP: i64 = 5;
/// Teeth a wheel may have.
const TEETH: std::ops::RangeInclusive<u32> = 8..=400;
/// Most wheels in a list.
const MOST: usize = 64;

/// Why a text is no list of wheels.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum WheelListError {
    /// A word.
    #[error("\"{0}\" is no number of teeth: write 20, 25, 30 with 8 to 400 teeth each")]
    Word(String),
    /// A wheel nobody makes.
    #[error("\"{0}\" is no wheel: a wheel of {0} teeth is outside 8 to 400 teeth")]
    Teeth(u32),
    /// Dots or a hyphen with no wheel on one side.
    #[error("\"{0}\" stands without a wheel before and a wheel behind it: write 20, 25 … 65")]
    Open(String),
    /// A range that begins where another ends.
    #[error("two ranges meet at {0}: write each by itself, 20-40, 50-80")]
    Meets(u32),
    /// From a larger wheel to a smaller.
    #[error("{first} to {last} goes down: write the smaller wheel first")]
    Down {
        /// First wheel.
        first: u32,
        /// Last wheel.
        last: u32,
    },
    /// Steps that pass the last wheel by.
    #[error(
        "from {first} in steps of {step} no wheel has {last} teeth: write the last of the row, and \
         {last} behind it with a comma"
    )]
    Misses {
        /// First wheel.
        first: u32,
        /// Step, teeth.
        step: i64,
        /// Last wheel.
        last: u32,
    },
    /// Too many.
    #[error("{0} wheels are more than 64")]
    Many(usize),
}

enum Piece {
    Wheel(u32),
    Mark { text: String, dots: bool },
}

/// Teeth of the wheels in `text`, whatever stands between them: "20, 20, 25". Dots go on from the two
/// wheels before them in their step, "20, 25 … 65"; a hyphen, or dots behind one wheel, in steps of
/// five.
///
/// # Errors
/// [`WheelListError`] names what cannot be read.
pub fn wheel_list(text: &str) -> Result<Vec<u32>, WheelListError> {
    let mut out: Vec<u32> = Vec::new();
    let mut mark: Option<(String, bool)> = None;
    // The last wheel came as the end of a range.
    let mut ended = false;
    for piece in pieces(text)? {
        match piece {
            Piece::Mark { text, dots } => match out.last() {
                None => return Err(WheelListError::Open(text)),
                Some(_) if mark.is_some() => return Err(WheelListError::Open(text)),
                Some(last) if ended => return Err(WheelListError::Meets(*last)),
                Some(_) => mark = Some((text, dots)),
            },
            Piece::Wheel(n) => {
                ended = mark.is_some();
                match mark.take() {
                    None => out.push(n),
                    Some((_, dots)) => out.extend(between(&out, dots, n)?),
                }
            }
        }
    }
    if let Some((text, _)) = mark {
        return Err(WheelListError::Open(text));
    }
    if out.len() > MOST {
        return Err(WheelListError::Many(out.len()));
    }
    Ok(out)
}

/// The wheels behind the last of `before`, up to `last`.
fn between(before: &[u32], dots: bool, last: u32) -> Result<Vec<u32>, WheelListError> {
    let Some(&first) = before.last() else { return Ok(vec![last]) };
    let (from, to) = (i64::from(first), i64::from(last));
    let said =
        before.len().checked_sub(2).and_then(|i| before.get(i)).map(|b| from - i64::from(*b));
    // Two wheels that lead elsewhere, or one that is owned twice, are no step.
    let said = said.filter(|step| dots && *step != 0 && (to - from).signum() == step.signum());
    let step = match said {
        Some(step) => step,
        None if to <= from => return Err(WheelListError::Down { first, last }),
        None => USUAL_STEP,
    };
    if (to - from) % step != 0 {
        return Err(WheelListError::Misses { first, step: step.abs(), last });
    }
    let wheels = (1..=(to - from) / step).map(|k| from + k * step);
    Ok(wheels.filter_map(|teeth| u32::try_from(teeth).ok()).collect())
}

fn pieces(text: &str) -> Result<Vec<Piece>, WheelListError> {
    let kind = |c: char| match c {
        '.' | '…' => 'd',
        '-' | '–' | '—' | '\u{2212}' => 'h',
        c if c.is_alphanumeric() => 'w',
        _ => ' ',
    };
    let mut runs: Vec<(char, String)> = Vec::new();
    for c in text.chars() {
        match runs.last_mut() {
            Some((k, run)) if *k == kind(c) => run.push(c),
            _ => runs.push((kind(c), c.to_string())),
        }
    }
    let mut out = Vec::new();
    for i in 0..runs.len() {
        let (k, run) = (runs[i].0, runs[i].1.clone());
        let before = i.checked_sub(1).map(|b| runs[b].1.as_str());
        match k {
            'w' => {
                let teeth = run.parse::<u32>().map_err(|_| WheelListError::Word(run))?;
                if !TEETH.contains(&teeth) {
                    return Err(WheelListError::Teeth(teeth));
                }
                out.push(Piece::Wheel(teeth));
            }
            // A full stop behind a number only parts it from the next.
            'd' if run == "." => {}
            'd' => out.push(Piece::Mark { text: run, dots: true }),
            // With nothing but a comma before it, a hyphen is a sign, and no wheel has one.
            'h' if before.is_none_or(|b| b.contains([',', ';']))
                && runs.get(i + 1).is_some_and(|next| next.0 == 'w') =>
            {
                return Err(WheelListError::Word(format!("{run}{}", runs[i + 1].1)));
            }
            'h' => out.push(Piece::Mark { text: run, dots: false }),
            _ => {}
        }
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_is_every_wheel_of_it() {
        let fives = [20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 127];
        for text in [
            "20, 25 … 65, 127",
            "20, 25, ..., 65, 127",
            "20-65, 127",
            "20 – 65 127",
            "20..65, 127",
            "20 … 65; 127",
            "20,25,30,35,40,45,50,55,60,65,127",
        ] {
            assert_eq!(wheel_list(text).unwrap(), fives, "{text}");
        }
        assert_eq!(wheel_list("20, 20, 24 … 32").unwrap(), [20, 20, 24, 28, 32]);
        assert_eq!(wheel_list("20, 20 … 30").unwrap(), [20, 20, 25, 30]);
        assert_eq!(wheel_list("127, 20 … 30").unwrap(), [127, 20, 25, 30]);
        assert_eq!(wheel_list("40, 38 ... 34").unwrap(), [40, 38, 36, 34]);
        assert_eq!(wheel_list("20. 30.").unwrap(), [20, 30]);
        assert_eq!(wheel_list(" ").unwrap(), [0; 0]);
    }

    #[test]
    fn what_is_no_range_is_refused_by_name() {
        for (text, said) in [
            ("65-20", "65 to 20 goes down"),
            ("20-63", "from 20 in steps of 5 no wheel has 63 teeth"),
            ("20, 24 … 50", "from 24 in steps of 4 no wheel has 50 teeth"),
            ("20, 25 …", "\"…\" stands without a wheel"),
            ("… 65", "\"…\" stands without a wheel"),
            ("20-25-30", "two ranges meet at 25"),
            ("-5, 127", "\"-5\" is no number of teeth"),
            ("20, -65", "\"-65\" is no number of teeth"),
            ("20, 5", "\"5\" is no wheel"),
            ("20 to 65", "\"to\" is no number of teeth"),
            ("20, 21 … 100", "81 wheels are more than 64"),
        ] {
            let why = wheel_list(text).map_err(|e| e.to_string()).unwrap_err();
            assert!(why.contains(said), "{text}: {why}");
        }
    }
}
