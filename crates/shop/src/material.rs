//! What is being cut, and the force it takes.

use crate::pressure::NutMaterial;
use serde::{Deserialize, Serialize};

/// Work materials.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum WorkMaterial {
    /// Tin bronze.
    Bronze,
    /// Brass.
    Brass,
    /// Grey cast iron.
    CastIron,
    /// Leaded or resulphurised steel.
    FreeCuttingSteel,
    /// Plain steel.
    Steel,
    /// Stainless steel.
    StainlessSteel,
    /// Aluminium alloy.
    Aluminium,
    /// Acetal and similar plastics.
    Acetal,
}

impl WorkMaterial {
    /// All of them, for a list to choose from.
    pub const ALL: [Self; 8] = [
        Self::Bronze,
        Self::Brass,
        Self::CastIron,
        Self::FreeCuttingSteel,
        Self::Steel,
        Self::StainlessSteel,
        Self::Aluminium,
        Self::Acetal,
    ];

    /// Specific cutting force of a chip 1 mm thick, N/mm²; common practice, from memory, good to a
    /// third.
    #[must_use]
    pub fn specific_force_n_per_mm2(self) -> f64 {
        match self {
            Self::Bronze => 900.0,
            Self::Brass => 700.0,
            Self::CastIron => 1100.0,
            Self::FreeCuttingSteel => 1500.0,
            Self::Steel => 1900.0,
            Self::StainlessSteel => 2200.0,
            Self::Aluminium => 700.0,
            Self::Acetal => 150.0,
        }
    }

    /// Thickest chip of a form tool in one radial pass that common practice allows on a stiff tool, mm.
    #[must_use]
    pub fn most_infeed_mm(self) -> f64 {
        match self {
            Self::Brass | Self::Aluminium => 0.30,
            Self::Acetal => 0.40,
            Self::Bronze | Self::FreeCuttingSteel | Self::CastIron => 0.25,
            Self::Steel => 0.20,
            Self::StainlessSteel => 0.15,
        }
    }

    /// Thinnest chip that still cuts rather than rubs, mm.
    #[must_use]
    pub fn least_infeed_mm(self) -> f64 {
        match self {
            Self::StainlessSteel | Self::Bronze => 0.03,
            _ => 0.02,
        }
    }

    /// Name in a sentence.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Bronze => "bronze",
            Self::Brass => "brass",
            Self::CastIron => "cast iron",
            Self::FreeCuttingSteel => "free-cutting steel",
            Self::Steel => "steel",
            Self::StainlessSteel => "stainless steel",
            Self::Aluminium => "aluminium",
            Self::Acetal => "acetal",
        }
    }
}

impl From<NutMaterial> for WorkMaterial {
    fn from(nut: NutMaterial) -> Self {
        match nut {
            NutMaterial::Bronze => Self::Bronze,
            NutMaterial::Brass => Self::Brass,
            NutMaterial::CastIron => Self::CastIron,
            NutMaterial::Steel => Self::Steel,
            NutMaterial::Acetal => Self::Acetal,
        }
    }
}

/// Main cutting force on a chip of this width and thickness, N: `kc · b · h^0.75` (thin chips take
/// more force for their area; exponent common practice).
#[must_use]
pub fn cutting_force_n(material: WorkMaterial, width_mm: f64, thickness_mm: f64) -> f64 {
    material.specific_force_n_per_mm2() * width_mm.max(0.0) * thickness_mm.max(0.0).powf(0.75)
}

/// A tool held at one end.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum ToolHolding {
    /// A stiff tool close in its holder: bends less than the slide gives.
    Stiff,
    /// A round boring bar.
    Bar {
        /// Diameter, mm.
        diameter_mm: f64,
        /// Free length, mm.
        overhang_mm: f64,
        /// Solid carbide instead of steel.
        carbide: bool,
    },
}

impl ToolHolding {
    /// Bending at the tip per newton, mm/N: `L³ / (3 E I)` for a bar; a stiff tool is taken as
    /// 20 N/µm (common practice for a small lathe's slide).
    #[must_use]
    pub fn compliance_mm_per_n(self) -> f64 {
        const SLIDE: f64 = 1.0 / 20_000.0;
        match self {
            Self::Stiff => SLIDE,
            Self::Bar { diameter_mm, overhang_mm, carbide } => {
                let modulus = if carbide { 600_000.0 } else { 210_000.0 };
                let inertia = std::f64::consts::PI * diameter_mm.powi(4) / 64.0;
                SLIDE + overhang_mm.powi(3) / (3.0 * modulus * inertia)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_bar_bends_as_a_cantilever() {
        // 10 mm steel, 50 mm out, 100 N: 100·50³/(3·210000·490.87) = 0.04042 mm, and the slide.
        let bar = ToolHolding::Bar { diameter_mm: 10.0, overhang_mm: 50.0, carbide: false };
        assert_relative_eq!(
            100.0 * bar.compliance_mm_per_n(),
            0.04042 + 0.005,
            max_relative = 1e-3
        );
    }
}
