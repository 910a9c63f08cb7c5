//! What the usual practice would have read off the same outline.

use crate::measure::Setting;
use crate::measurement::Straight;
use crate::params::Param;
use form::shadow::read_straight;

/// Reads every groove of the levelled edges with straight lines, at the scale of the bar's apparent
/// width, and takes the medians.
pub(crate) fn read(setting: &Setting<'_>) -> Option<Straight> {
    let scale = setting.start[Param::Scale];
    let roll = setting.start[Param::Roll];
    let mut readings = Vec::new();
    let mut tops = Vec::new();
    let edges = [(&setting.levelled.upper, 1.0), (&setting.levelled.lower, -1.0)];
    for ((points, sign), folded) in edges.into_iter().zip(&setting.folded) {
        let Some(folded) = folded else { continue };
        let (sin, cos) = roll.sin_cos();
        let turned: Vec<(f64, f64)> = points
            .iter()
            .map(|q| ((q.0 * cos + q.1 * sin) / scale, sign * (q.1 * cos - q.0 * sin) / scale))
            .collect();
        let mut heights: Vec<f64> = turned.iter().map(|q| q.1).collect();
        heights.sort_by(f64::total_cmp);
        tops.push(*heights.get(heights.len() * 24 / 25)?);
        // From crest centre to crest centre, wherever the first of them is.
        let first = (folded.crest_at * cos + sign * folded.crest * sin) / scale;
        let pitch = folded.pitch / scale;
        let low = turned.iter().map(|q| q.0).fold(f64::MAX, f64::min);
        let high = turned.iter().map(|q| q.0).fold(f64::MIN, f64::max);
        let mut k = ((low - first) / pitch).ceil();
        while first + (k + 1.0) * pitch <= high {
            let from = first + k * pitch;
            let mut groove: Vec<(f64, f64)> =
                turned.iter().filter(|q| q.0 >= from && q.0 <= from + pitch).copied().collect();
            groove.sort_by(|a, b| a.0.total_cmp(&b.0));
            if let Some(r) = read_straight(&groove) {
                readings.push((r, pitch));
            }
            k += 1.0;
        }
    }
    let median = |f: &dyn Fn(&(form::shadow::StraightReading, f64)) -> f64| -> Option<f64> {
        let mut values: Vec<f64> = readings.iter().map(f).filter(|v| v.is_finite()).collect();
        if values.is_empty() {
            return None;
        }
        let middle = values.len() / 2;
        Some(*values.select_nth_unstable_by(middle, f64::total_cmp).1)
    };
    let right = median(&|r| r.0.right_flank_rad)?;
    let left = median(&|r| r.0.left_flank_rad)?;
    let groove = median(&|r| r.0.groove_mm)?;
    let depth = median(&|r| r.0.depth_mm)?;
    let pitch = median(&|r| r.1)?;
    let half = 0.5 * depth * (right.tan() + left.tan());
    Some(Straight {
        pitch_mm: pitch,
        right_flank_deg: right.to_degrees(),
        left_flank_deg: left.to_degrees(),
        crest_flat_mm: pitch - groove - half,
        root_flat_mm: groove - half,
        major_diameter_mm: (tops.len() == 2).then(|| tops.iter().sum()),
    })
}
