//! Seams along the borders of units of a decoded picture, where its data was damaged and its codes are all
//! possible nevertheless: a block of the file that took the place of another of as many units, or two
//! that changed places. What lies between is of another part of the picture, of another brightness, or
//! shifted along its rows and on into the next; it ends at a line without any blur, which no lens draws.
//!
//! All limits here are empirical: of 9000 damaged pictures, those whose codes were all possible and that
//! measured more than a standard uncertainty off have them passed; of 60 sound ones (shadows, light on metal,
//! workshop photographs, qualities 20 to 100) none comes near.

use super::Blocks;

/// Least step of brightness of a seam, in levels of 255, and in deviations of what steps there are.
const LEAST_STEP: f32 = 8.0;
const STEPS_OF_NOISE: f32 = 6.0;

/// The least step of a seam, and of a lasting step, in steps between two values of a block's brightness: in a
/// heavily compressed picture blocks that an edge goes through end in steps of several such, and light that
/// falls off goes down by one along a whole row of blocks; both without blur.
const SEAM_STEPS_OF_BLOCKS: f32 = 4.0;
const LASTING_STEPS_OF_BLOCKS: f32 = 1.5;

/// Beside a seam the brightness changes by less than this part of its step.
const BLUR: f32 = 0.25;

/// Cells with a seam in one row of units, and in all rows, that make a damage; the same of columns, whose
/// seams are short: where a row that was shifted goes on in the next.
const IN_ROW: (usize, usize) = (6, 12);
const IN_COLUMN: (usize, usize) = (5, 5);

/// Pixels of a cell of a column.
const CELL: usize = 8;

/// More rows with seams than these, in all and as a part of all rows, are a pattern, which belongs to the
/// picture.
const MOST_ROWS: usize = 40;
const MOST_OF_ROWS: usize = 4;

/// Least lasting step of brightness over a whole row of units, in levels of 255, and times what is usual.
const LASTING_STEP: f32 = 1.5;
const TIMES_USUAL: f32 = 8.0;

/// A line of pixels across which is looked: how the brightness steps over it, and changes just before and
/// behind.
#[derive(Clone, Copy, Default)]
struct Step {
    over: f32,
    before: f32,
    behind: f32,
}

impl Step {
    /// What the step is beyond the slope it stands in.
    fn jump(self) -> f32 {
        self.over - 0.5 * (self.before + self.behind)
    }

    fn is_hard(self, least: f32) -> bool {
        let beside = BLUR * self.over.abs();
        self.jump().abs() > least && self.before.abs() < beside && self.behind.abs() < beside
    }
}

/// Mean brightness of cells along each line of pixels, of rows or of columns.
struct Means {
    of: Vec<f32>,
    lines: usize,
    cells: usize,
    /// From one line to the next, and from one cell to the next.
    strides: (usize, usize),
}

impl Means {
    /// Of rows, in cells as wide as a unit.
    fn of_rows(samples: &[u8], width: usize, unit_w: usize) -> Self {
        let cells = width / unit_w;
        let mut of = Vec::with_capacity(samples.len() / unit_w);
        let part = 1.0 / unit_w as f32;
        for row in samples.chunks_exact(width) {
            let sum = |cell: &[u8]| cell.iter().map(|&v| u32::from(v)).sum::<u32>() as f32 * part;
            of.extend(row.chunks_exact(unit_w).map(sum));
        }
        Self { lines: samples.len() / width, cells, strides: (cells, 1), of }
    }

    /// Of columns, in cells of [`CELL`] rows.
    fn of_columns(samples: &[u8], width: usize) -> Self {
        let mut of = Vec::with_capacity(samples.len() / CELL);
        let mut sums = vec![0u16; width];
        for rows in samples.chunks_exact(width * CELL) {
            sums.fill(0);
            for row in rows.chunks_exact(width) {
                for (sum, &v) in sums.iter_mut().zip(row) {
                    *sum += u16::from(v);
                }
            }
            of.extend(sums.iter().map(|&s| f32::from(s) / CELL as f32));
        }
        let cells = samples.len() / width / CELL;
        Self { lines: width, cells, strides: (1, width), of }
    }

    /// The step before line `line` in one cell; it has two lines on either side.
    fn step(&self, line: usize, cell: usize) -> Step {
        let at = |line: usize| {
            self.of.get(line * self.strides.0 + cell * self.strides.1).copied().unwrap_or(0.0)
        };
        let [a, b, c, d] = [at(line - 2), at(line - 1), at(line), at(line + 1)];
        Step { over: c - b, before: b - a, behind: d - c }
    }

    fn steps(&self, line: usize) -> impl Iterator<Item = Step> + '_ {
        (0..self.cells).map(move |cell| self.step(line, cell))
    }

    /// The lines that borders of units stand before.
    fn borders(&self, unit: usize) -> impl Iterator<Item = usize> + '_ {
        (1..).map(move |n| n * unit).take_while(|&y| y + 1 < self.lines)
    }

    /// The first border that ends without blur; where the picture has such lines elsewhere too, it was drawn
    /// so.
    fn hard(
        &self,
        unit: usize,
        coarseness: f32,
        (in_line, in_all): (usize, usize),
    ) -> Option<usize> {
        let mut jumps: Vec<f32> =
            self.borders(unit).flat_map(|y| self.steps(y)).map(|s| s.jump().abs()).collect();
        if jumps.is_empty() {
            return None;
        }
        let middle = jumps.len() / 2;
        let median = *jumps.select_nth_unstable_by(middle, f32::total_cmp).1;
        let least =
            LEAST_STEP.max(STEPS_OF_NOISE * 1.4826 * median).max(SEAM_STEPS_OF_BLOCKS * coarseness);
        let (mut lines, mut all, mut elsewhere, mut first) = (0, 0, 0, None);
        for line in 2..self.lines - 1 {
            let count = self.steps(line).filter(|s| s.is_hard(least)).count();
            if count < in_line {
                continue;
            }
            if line % unit == 0 {
                (lines, all) = (lines + 1, all + count);
                first = first.or(Some(line));
            } else {
                elsewhere += 1;
            }
        }
        let few = lines <= most_rows(self.lines / unit) && lines > elsewhere;
        first.filter(|_| few && all >= in_all)
    }

    /// The border of a row of units from which on the picture is brighter or darker: the step goes on for a
    /// whole row, wherever in it it begins.
    fn lasting(&self, unit: usize, coarseness: f32) -> Option<usize> {
        const MOST: f32 = 8.0;
        let across = self.cells;
        let steps: Vec<[f32; 3]> = self
            .borders(unit)
            .flat_map(|y| self.steps(y))
            .map(|s| [s.jump(), s.before, s.behind].map(|v| v.clamp(-MOST, MOST)))
            .collect();
        let mut means: Vec<[f32; 3]> = Vec::with_capacity(steps.len());
        let mut sums = [0.0f64; 3];
        for (i, step) in steps.iter().enumerate() {
            for (k, sum) in sums.iter_mut().enumerate() {
                *sum += f64::from(step[k]);
                if i >= across {
                    *sum -= f64::from(steps[i - across][k]);
                }
            }
            if i + 1 >= across {
                means.push(sums.map(|s| (s / across as f64).abs() as f32));
            }
        }
        if means.is_empty() {
            return None;
        }
        let mut jumps: Vec<f32> = means.iter().map(|m| m[0]).collect();
        let middle = jumps.len() / 2;
        let usual = *jumps.select_nth_unstable_by(middle, f32::total_cmp).1;
        let least = LASTING_STEP.max(TIMES_USUAL * usual).max(LASTING_STEPS_OF_BLOCKS * coarseness);
        let is_step = |m: &[f32; 3]| m[0] >= least && m[1] < 0.2 * m[0] && m[2] < 0.2 * m[0];
        let places = means.iter().filter(|m| is_step(m)).count();
        let best = means.iter().enumerate().filter(|(_, m)| is_step(m));
        let (at, _) = best.max_by(|(_, a), (_, b)| a[0].total_cmp(&b[0]))?;
        let few = places <= across * most_rows(steps.len() / across);
        // A picture with such lines elsewhere was drawn so.
        let whole = |line: usize| {
            let sum = self.steps(line).fold([0.0f32; 3], |sum, s| {
                let [a, b, c] = [s.jump(), s.before, s.behind].map(|v| v.clamp(-MOST, MOST));
                [sum[0] + a, sum[1] + b, sum[2] + c]
            });
            is_step(&sum.map(|s| (s / across as f32).abs()))
        };
        let few = few && !(2..self.lines - 1).any(|line| line % unit != 0 && whole(line));
        few.then_some((at / across + 1) * unit)
    }
}

fn most_rows(all: usize) -> usize {
    MOST_ROWS.min(all / MOST_OF_ROWS)
}

/// Where a seam lies, in words; `None` where there is none.
pub(crate) fn find(samples: &[u8], width: usize, blocks: Blocks) -> Option<String> {
    let Blocks { unit: (unit_w, unit_h), coarseness } = blocks;
    let height = samples.len() / width.max(1);
    if unit_w < 8 || unit_h < 8 || width < 8 * unit_w || height < 8 * unit_h {
        return None;
    }
    let rows = Means::of_rows(samples, width, unit_w);
    if let Some(y) =
        rows.hard(unit_h, coarseness, IN_ROW).or_else(|| rows.lasting(unit_h, coarseness))
    {
        return Some(format!("at row {y} of {height}"));
    }
    let x = Means::of_columns(samples, width).hard(unit_w, coarseness, IN_COLUMN)?;
    Some(format!("at column {x} of {width}"))
}
