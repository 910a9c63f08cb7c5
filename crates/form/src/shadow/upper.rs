//! The upper envelope of polylines that are functions of `z`.

use super::outline::{Segment, Vertex};
use std::ops::Range;

/// Greatest height of several runs of vertices (each with `z` increasing), as visible segments.
pub(super) fn envelope(vertices: &[Vertex], runs: &[Range<usize>]) -> Vec<Segment> {
    let mut merged: Vec<Segment> = Vec::new();
    for run in runs {
        let segments: Vec<Segment> =
            (run.start..run.end - 1).map(|a| Segment { a, b: a + 1, from: 0.0, to: 1.0 }).collect();
        merged = if merged.is_empty() { segments } else { higher(vertices, &merged, &segments) };
    }
    // A groove answers for what lies between its crest centres; hidden tails may reach farther.
    let (Some(first), Some(last)) = (runs.first(), runs.last()) else { return merged };
    let (z0, z1) = (vertices[first.start].z, vertices[last.end - 1].z);
    merged.retain_mut(|s| {
        let (from, to) = (t_at(vertices, s, z0), t_at(vertices, s, z1));
        (s.from, s.to) = (from.max(s.from), to.min(s.to));
        s.to > s.from
    });
    merged
}

fn z_of(vertices: &[Vertex], s: &Segment, t: f64) -> f64 {
    vertices[s.a].z + t * (vertices[s.b].z - vertices[s.a].z)
}

/// Fraction of the full line of `s` at which it passes `z`.
fn t_at(vertices: &[Vertex], s: &Segment, z: f64) -> f64 {
    let (a, b) = (vertices[s.a].z, vertices[s.b].z);
    if b > a { ((z - a) / (b - a)).clamp(s.from, s.to) } else { s.from }
}

fn x_at(vertices: &[Vertex], s: &Segment, z: f64) -> f64 {
    let t = t_at(vertices, s, z);
    vertices[s.a].x + t * (vertices[s.b].x - vertices[s.a].x)
}

/// The higher of two envelopes at every `z`; where only one exists, that one.
fn higher<'a>(vertices: &[Vertex], left: &'a [Segment], right: &'a [Segment]) -> Vec<Segment> {
    let start = |s: &Segment| z_of(vertices, s, s.from);
    let end = |s: &Segment| z_of(vertices, s, s.to);
    let (Some(l), Some(r)) = (left.first(), right.first()) else {
        return [left, right].concat();
    };
    // What lies before the other begins, or after it ends, is seen whatever the other does, and is
    // most of it.
    let (early, late) = if start(l) <= start(r) { (left, right) } else { (right, left) };
    let from = start(&late[0]);
    let (alone, rest) = early.split_at(early.partition_point(|s| end(s) <= from));
    let until = [rest, late].into_iter().filter_map(<[_]>::last).map(end).fold(f64::MAX, f64::min);
    let both = |list: &'a [Segment]| list.split_at(list.partition_point(|s| start(s) < until));
    let ((rest, rest_after), (late, late_after)) = (both(rest), both(late));
    let mut out: Vec<Segment> = Vec::with_capacity(left.len() + right.len());
    out.extend_from_slice(alone);
    merge(vertices, rest, late, &mut out);
    out.extend_from_slice(rest_after);
    out.extend_from_slice(late_after);
    out
}

/// Appends the higher of two envelopes at every `z`; where only one exists, that one.
fn merge(vertices: &[Vertex], left: &[Segment], right: &[Segment], out: &mut Vec<Segment>) {
    let mut cuts: Vec<f64> = left
        .iter()
        .chain(right)
        .flat_map(|s| [z_of(vertices, s, s.from), z_of(vertices, s, s.to)])
        .collect();
    cuts.sort_by(f64::total_cmp);
    cuts.dedup_by(|a, b| (*a - *b).abs() < 1e-12);
    let (mut i, mut j) = (0, 0);
    for pair in cuts.windows(2) {
        let (z0, z1) = (pair[0], pair[1]);
        let middle = 0.5 * (z0 + z1);
        let l = covering(vertices, left, &mut i, middle);
        let r = covering(vertices, right, &mut j, middle);
        match (l, r) {
            (None, None) => {}
            (Some(s), None) | (None, Some(s)) => push(vertices, out, s, z0, z1),
            (Some(l), Some(r)) => {
                let d0 = x_at(vertices, l, z0) - x_at(vertices, r, z0);
                let d1 = x_at(vertices, l, z1) - x_at(vertices, r, z1);
                let (first, second) = if d0 >= 0.0 { (l, r) } else { (r, l) };
                if d0 * d1 < 0.0 {
                    let cross = z0 + (z1 - z0) * d0 / (d0 - d1);
                    push(vertices, out, first, z0, cross);
                    push(vertices, out, second, cross, z1);
                } else {
                    push(vertices, out, if d0 + d1 >= 0.0 { l } else { r }, z0, z1);
                }
            }
        }
    }
}

/// The segment of `list` that covers `z`, advancing `at`.
fn covering<'a>(
    vertices: &[Vertex],
    list: &'a [Segment],
    at: &mut usize,
    z: f64,
) -> Option<&'a Segment> {
    while *at < list.len() && z_of(vertices, &list[*at], list[*at].to) <= z {
        *at += 1;
    }
    list.get(*at).filter(|s| z_of(vertices, s, s.from) <= z)
}

/// Appends the stretch `z0..z1` of `s`, lengthening the last segment when it is the same line.
fn push(vertices: &[Vertex], out: &mut Vec<Segment>, s: &Segment, z0: f64, z1: f64) {
    let (from, to) = (t_at(vertices, s, z0), t_at(vertices, s, z1));
    match out.last_mut() {
        Some(last) if last.a == s.a && last.b == s.b && (last.to - from).abs() < 1e-9 => {
            last.to = to
        }
        _ if to > from => out.push(Segment { from, to, ..*s }),
        _ => {}
    }
}
