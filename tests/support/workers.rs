//! Many independent trials on all cores.

use lamp::Difficulty;
use std::ops::Range;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// One trial for every seed, the kinds of picture by turns; in the order of the seeds.
pub fn trials<T: Send>(
    seeds: Range<usize>,
    kinds: &[Difficulty],
    trial: impl Fn(u64, Difficulty) -> T + Sync,
) -> Vec<T> {
    let next = AtomicUsize::new(seeds.start);
    let done = Mutex::new(Vec::with_capacity(seeds.len()));
    let workers = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..workers {
            scope.spawn(|| {
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    let Some(kind) = kinds.get(i % kinds.len()).filter(|_| i < seeds.end) else {
                        return;
                    };
                    let result = trial(i as u64, *kind);
                    if let Ok(mut done) = done.lock() {
                        done.push((i, result));
                    }
                }
            });
        }
    });
    let mut done = done.into_inner().unwrap_or_default();
    done.sort_by_key(|(i, _)| *i);
    done.into_iter().map(|(_, result)| result).collect()
}
