//! Seams along the rows of units of a decoded picture, where its data was damaged and its codes are all
//! possible nevertheless: a block of the file that took the place of another of as many units, or two
//! that changed places. What lies between is of another part of the picture or of another brightness, and
//! ends at a line without any blur, which no lens draws.
//!
//! All limits here are empirical: of 3000 damaged pictures whose codes were all possible, those further off
//! than their limits have them passed many times; of 60 sound ones (shadows, light on metal, workshop
//! photographs, qualities 20 to 100) none comes near.

/// Rows of pixels beside a border of units where there is none: what is as sharp there is in the picture.
const ELSEWHERE: [isize; 4] = [-5, -3, 3, 5];

/// Least step of brightness of a seam, in levels of 255, and in deviations of what steps there are.
const LEAST_STEP: f32 = 8.0;
const STEPS_OF_NOISE: f32 = 6.0;

/// Beside a seam the brightness changes by less than this part of its step.
const BLUR: f32 = 0.25;

/// Units with a seam in one row, and in all, that make a damage.
const UNITS_IN_ROW: usize = 6;
const UNITS_IN_ALL: usize = 12;

/// More rows with seams than these, in all and as a part of all rows, are a pattern, which belongs to the
/// picture.
const MOST_ROWS: usize = 40;
const MOST_OF_ROWS: usize = 4;

/// Least lasting step of brightness, in levels of 255, over a whole row of units.
const LASTING_STEP: f32 = 2.5;

/// A border between units: how the brightness steps over it, and changes just above and below.
#[derive(Clone, Copy, Default)]
struct Step {
    over: f32,
    above: f32,
    below: f32,
}

impl Step {
    /// What the step is beyond the slope it stands in.
    fn jump(self) -> f32 {
        self.over - 0.5 * (self.above + self.below)
    }

    fn is_hard(self, least: f32) -> bool {
        let beside = BLUR * self.over.abs();
        self.jump().abs() > least && self.above.abs() < beside && self.below.abs() < beside
    }
}

/// A row of pixels, from the top, where a seam lies; `None` where there is none.
pub(crate) fn find(samples: &[u8], width: usize, unit: (usize, usize)) -> Option<usize> {
    let (unit_w, unit_h) = unit;
    let across = width / unit_w.max(1);
    let height = samples.len() / width.max(1);
    if across < 8 || unit_h < 8 || height < 3 * unit_h {
        return None;
    }
    let borders: Vec<usize> = (1..).map(|n| n * unit_h).take_while(|&y| y + 5 < height).collect();
    let mut steps = Vec::with_capacity(borders.len() * across);
    for &y in &borders {
        steps_at(samples, width, y, unit_w, &mut steps);
    }
    if let Some(y) = hard_rows(samples, width, unit_w, &borders, &steps) {
        return Some(y);
    }
    lasting(&steps, across).and_then(|row| borders.get(row).copied())
}

/// The steps over the border above pixel row `y`, one for each unit.
fn steps_at(samples: &[u8], width: usize, y: usize, unit_w: usize, out: &mut Vec<Step>) {
    let row = |dy: usize| samples.get((y + dy - 2) * width..(y + dy - 1) * width).unwrap_or(&[]);
    let sums = |part: &[u8]| part.iter().map(|&v| u32::from(v)).sum::<u32>() as f32;
    let rows = [row(0), row(1), row(2), row(3)];
    let part = 1.0 / unit_w as f32;
    let mut units = rows.map(|r| r.chunks_exact(unit_w));
    while let [Some(a), Some(b), Some(c), Some(d)] = units.each_mut().map(Iterator::next) {
        let [a, b, c, d] = [a, b, c, d].map(sums);
        out.push(Step { over: (c - b) * part, above: (b - a) * part, below: (d - c) * part });
    }
}

/// Rows of units that end without blur.
fn hard_rows(
    samples: &[u8],
    width: usize,
    unit_w: usize,
    borders: &[usize],
    steps: &[Step],
) -> Option<usize> {
    let mut jumps: Vec<f32> = steps.iter().map(|s| s.jump().abs()).collect();
    let middle = jumps.len() / 2;
    let median = *jumps.select_nth_unstable_by(middle, f32::total_cmp).1;
    let least = LEAST_STEP.max(STEPS_OF_NOISE * 1.4826 * median);
    let hard = |steps: &[Step]| steps.iter().filter(|s| s.is_hard(least)).count();
    let (mut rows, mut all, mut first) = (0, 0, None);
    let mut beside = Vec::new();
    for (&y, here) in borders.iter().zip(steps.chunks(width / unit_w)) {
        let count = hard(here);
        if count < UNITS_IN_ROW {
            continue;
        }
        let elsewhere = |off: isize| {
            beside.clear();
            steps_at(samples, width, y.saturating_add_signed(off), unit_w, &mut beside);
            hard(&beside)
        };
        let most = ELSEWHERE.map(elsewhere).into_iter().max().unwrap_or(0);
        if count >= 3 * (most + 1) {
            rows += 1;
            all += count;
            first = first.or(Some(y));
        }
    }
    first.filter(|_| rows <= most_rows(borders.len()) && all >= UNITS_IN_ALL)
}

fn most_rows(all: usize) -> usize {
    MOST_ROWS.min(all / MOST_OF_ROWS)
}

/// The row of units from which on the picture is brighter or darker: the step goes on for a whole row,
/// wherever in it it begins.
fn lasting(steps: &[Step], across: usize) -> Option<usize> {
    const MOST: f32 = 8.0;
    let of_step = |s: &Step| [s.jump(), s.above, s.below].map(|v| v.clamp(-MOST, MOST));
    let mut sums = [0.0f32; 3];
    let (mut best, mut found, mut places) = (LASTING_STEP, None, 0);
    for (i, step) in steps.iter().enumerate() {
        for (sum, v) in sums.iter_mut().zip(of_step(step)) {
            *sum += v;
        }
        if i < across {
            continue;
        }
        for (sum, v) in sums.iter_mut().zip(of_step(&steps[i - across])) {
            *sum -= v;
        }
        let [jump, above, below] = sums.map(|s| (s / across as f32).abs());
        if jump >= LASTING_STEP && above < 0.2 * jump && below < 0.2 * jump {
            places += 1;
            if jump > best {
                (best, found) = (jump, Some((i + 1 - across) / across));
            }
        }
    }
    found.filter(|_| places <= across * most_rows(steps.len() / across))
}
