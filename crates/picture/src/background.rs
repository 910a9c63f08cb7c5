//! The light behind things: what it would be where they stand.

use crate::reduce::{Grid, Reduced, Tiles, fill_in};

/// Range of light within a tile, as a part of its brightest, up to which it may be background.
const EVEN: f32 = 0.10;
/// Difference between neighbouring tiles, as a part of the brighter, up to which both are of one surface.
const SMOOTH: f32 = 0.07;
/// Part of the picture that another even region must cover to be background too.
const LARGE: f32 = 0.015;
/// How far such a region may be darker or brighter than the background about it.
const LIKE: (f32, f32) = (0.8, 1.25);

/// Encoded light of the background on a grid of tiles, handed on from where it is seen to where things
/// stand before it. `None` where no region of the picture is even.
pub(crate) fn background(reduced: &Reduced, tiles: &Tiles) -> Option<Grid> {
    let (w, h) = (tiles.w, tiles.h);
    let spread = 3.0 * reduced.noise as f32;
    let level: Vec<Option<f32>> = tiles
        .own_low
        .iter()
        .zip(&tiles.own_high)
        .map(|(&low, &high)| {
            (high - low <= EVEN * high + spread && high > 0.0).then_some(0.5 * (low + high))
        })
        .collect();
    let region = regions(&level, w, h, spread);
    let count = region.iter().flatten().max().map_or(0, |m| m + 1);
    let mut size = vec![0usize; count];
    let mut light = vec![0f32; count];
    for (r, l) in region.iter().zip(&level) {
        if let (Some(r), Some(l)) = (r, l) {
            size[*r] += 1;
            light[*r] += l;
        }
    }
    // Bright and large: things before the light are dark, and smaller than what is behind them.
    let main = (0..count).max_by(|&a, &b| light[a].total_cmp(&light[b]))?;
    let of = |wanted: &dyn Fn(usize) -> bool| -> Vec<Option<f32>> {
        region.iter().zip(&level).map(|(r, l)| r.filter(|r| wanted(*r)).and(*l)).collect()
    };
    let first = fill_in(&of(&|r| r == main), w, h);
    // What a thing parts from the rest is background too, if it is as light.
    let mut ratio = vec![0f32; count];
    for ((r, l), b) in region.iter().zip(&level).zip(&first) {
        if let (Some(r), Some(l)) = (r, l) {
            ratio[*r] += l / b.max(1.0);
        }
    }
    let least = (LARGE * (w * h) as f32).max(2.0);
    let also = |r: usize| {
        let like = ratio[r] / size[r] as f32;
        r == main || (size[r] as f32 >= least && like > LIKE.0 && like < LIKE.1)
    };
    Some(Grid { size: tiles.size, w, h, v: fill_in(&of(&also), w, h) })
}

/// Connected tiles of even light that pass smoothly into each other, numbered.
fn regions(level: &[Option<f32>], w: usize, h: usize, spread: f32) -> Vec<Option<usize>> {
    let mut region: Vec<Option<usize>> = vec![None; w * h];
    let mut next = 0;
    let mut pending = Vec::new();
    for start in 0..w * h {
        if region[start].is_some() || level[start].is_none() {
            continue;
        }
        region[start] = Some(next);
        pending.push(start);
        while let Some(i) = pending.pop() {
            let Some(here) = level[i] else { continue };
            let (x, y) = (i % w, i / w);
            let near = [
                (x > 0).then(|| i - 1),
                (x + 1 < w).then(|| i + 1),
                (y > 0).then(|| i - w),
                (y + 1 < h).then(|| i + w),
            ];
            for j in near.into_iter().flatten() {
                let Some(there) = level[j] else { continue };
                let apart = (here - there).abs();
                if region[j].is_none() && apart <= SMOOTH * here.max(there) + spread {
                    region[j] = Some(next);
                    pending.push(j);
                }
            }
        }
        next += 1;
    }
    region
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grey::Grey;

    #[test]
    fn what_is_behind_things_is_seen_through_them_and_in_falling_light() {
        let (w, h) = (640, 480);
        let light = |x: usize, y: usize| {
            let (dx, dy) = (x as f64 / 640.0 - 0.5, y as f64 / 480.0 - 0.5);
            220.0 * (1.0 - 1.1 * (dx * dx + dy * dy))
        };
        // A bright bar with a brighter streak from border to border.
        let samples = (0..w * h)
            .map(|i| {
                let (x, y) = (i % w, i / w);
                match y {
                    200..300 => 0.55 * light(x, y) + if y % 100 > 60 { 40.0 } else { 0.0 },
                    _ => light(x, y),
                }
                .round() as u8
            })
            .collect();
        let reduced = Reduced::of(&Grey::from_u8(w, h, samples).unwrap());
        let tiles = Tiles::of(&reduced, 16);
        let seen = background(&reduced, &tiles).unwrap();
        for (x, y) in [(30, 30), (320, 100), (320, 250), (600, 460), (320, 400)] {
            let truth = 257.0 * light(x, y);
            let found = f64::from(seen.at(x, y));
            // Behind things it is handed on from the nearest tiles, which is near enough for a threshold.
            assert!((found / truth - 1.0).abs() < 0.17, "{found} for {truth} at {x}, {y}");
        }
    }
}
