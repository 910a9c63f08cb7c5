//! The screw's ridge in its axial section, corners rounded: how far each side stands from the middle
//! of the crest at any depth.

use form::Section;

/// One ridge of a [`Section`], with `z = 0` at the middle of its theoretical crest.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ridge {
    depth_mm: f64,
    right: Side,
    left: Side,
}

#[derive(Debug, Clone, Copy)]
struct Side {
    tan: f64,
    sin: f64,
    crest_corner_mm: f64,
    crest_radius_mm: f64,
    root_corner_mm: f64,
    root_radius_mm: f64,
    crest_tangent_mm: f64,
    root_tangent_mm: f64,
}

impl Ridge {
    pub(crate) fn new(section: &Section) -> Self {
        let side = |flank_rad: f64| {
            let tangent = (0.5 * (std::f64::consts::FRAC_PI_2 - flank_rad)).tan();
            let crest_corner_mm = 0.5 * section.crest_flat_mm();
            Side {
                tan: flank_rad.tan(),
                sin: flank_rad.sin(),
                crest_corner_mm,
                crest_radius_mm: section.crest_radius_mm(),
                root_corner_mm: crest_corner_mm + section.depth_mm() * flank_rad.tan(),
                root_radius_mm: section.root_radius_mm(),
                crest_tangent_mm: section.crest_radius_mm() * tangent,
                root_tangent_mm: section.root_radius_mm() * tangent,
            }
        };
        Self {
            depth_mm: section.depth_mm(),
            right: side(section.right_flank_rad()),
            left: side(section.left_flank_rad()),
        }
    }

    /// Distance of the right side from the middle at `depth_mm` below the crest line, mm; depths
    /// beyond crest or root continue the straight flank.
    pub(crate) fn right_mm(&self, depth_mm: f64) -> f64 {
        self.right.at(depth_mm, self.depth_mm)
    }

    /// The same to the left, as a positive distance.
    pub(crate) fn left_mm(&self, depth_mm: f64) -> f64 {
        self.left.at(depth_mm, self.depth_mm)
    }
}

impl Side {
    fn at(&self, depth: f64, whole: f64) -> f64 {
        let straight = self.crest_corner_mm + depth * self.tan;
        let r = self.crest_radius_mm;
        if r > 0.0 && (0.0..r * (1.0 - self.sin)).contains(&depth) {
            let centre = self.crest_corner_mm - self.crest_tangent_mm;
            return centre + (r * r - (r - depth).powi(2)).max(0.0).sqrt();
        }
        let r = self.root_radius_mm;
        let from_root = whole - depth;
        if r > 0.0 && (0.0..r * (1.0 - self.sin)).contains(&from_root) {
            let centre = self.root_corner_mm + self.root_tangent_mm;
            return centre - (r * r - (r - from_root).powi(2)).max(0.0).sqrt();
        }
        straight
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use form::SectionNumbers;

    #[test]
    fn rounds_join_the_flanks_without_a_step() {
        let section = Section::new(SectionNumbers {
            pitch_mm: 4.0,
            depth_mm: 1.8,
            right_flank_rad: 0.4,
            left_flank_rad: 0.1,
            crest_flat_mm: 1.4,
            crest_radius_mm: 0.3,
            root_radius_mm: 0.2,
        })
        .unwrap();
        let ridge = Ridge::new(&section);
        for join in [0.3 * (1.0 - 0.4f64.sin()), 1.8 - 0.2 * (1.0 - 0.4f64.sin())] {
            let (before, after) = (ridge.right_mm(join - 1e-9), ridge.right_mm(join + 1e-9));
            assert_abs_diff_eq!(before, after, epsilon = 1e-7);
        }
        for join in [0.3 * (1.0 - 0.1f64.sin()), 1.8 - 0.2 * (1.0 - 0.1f64.sin())] {
            let (before, after) = (ridge.left_mm(join - 1e-9), ridge.left_mm(join + 1e-9));
            assert_abs_diff_eq!(before, after, epsilon = 1e-7);
        }
        // On the straight part both sides make up the thickness that `form` states.
        assert_abs_diff_eq!(
            ridge.right_mm(0.9) + ridge.left_mm(0.9),
            section.ridge_thickness_mm(0.9),
            epsilon = 1e-12
        );
    }
}
