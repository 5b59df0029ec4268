//! What pipes stand: stiffness of their material, and what warmth takes from their rating.

use super::{Joint, PipePart};
use crate::units::{Length, Pressure, Temperature};

/// What a pipe is made of.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Material {
    /// Rigid polyvinyl chloride.
    Pvc,
    /// Copper.
    Copper,
    /// Polyethylene.
    Polyethylene,
}

impl Material {
    /// Modulus of elasticity of the wall: PVC 2.76 GPa (400 000 psi), copper 117 GPa, polyethylene 0.9 GPa (0.7 to
    /// 1.0). *Source*: from memory.
    #[must_use]
    pub const fn modulus(self) -> Pressure {
        Pressure::from_kilopascals(match self {
            Self::Pvc => 2.76e6,
            Self::Copper => 117e6,
            Self::Polyethylene => 0.9e6,
        })
    }

    /// The share of the rating at 23 °C that is left at a temperature.
    ///
    /// Rigid PVC: 1.00 at 73 °F, 0.88 at 80, 0.75 at 90, 0.62 at 100, 0.51 at 110, 0.40 at 120, 0.31 at 130, 0.22 at
    /// 140, nothing beyond. *Source*: the first two read at ppfahome.org/ub3.aspx, the rest read in trade tables; straight
    /// lines between. Copper and polyethylene: no table held, so nothing is taken off, which for warm polyethylene is not
    /// cautious.
    #[must_use]
    pub fn left_at(self, temperature: Temperature) -> f64 {
        const PVC: [(f64, f64); 8] = [
            (73.0, 1.00),
            (80.0, 0.88),
            (90.0, 0.75),
            (100.0, 0.62),
            (110.0, 0.51),
            (120.0, 0.40),
            (130.0, 0.31),
            (140.0, 0.22),
        ];
        if self != Self::Pvc {
            return 1.0;
        }
        let fahrenheit = temperature.celsius() * 1.8 + 32.0;
        if fahrenheit <= PVC[0].0 {
            return 1.0;
        }
        PVC.windows(2)
            .find(|pair| fahrenheit <= pair[1].0)
            .map_or(0.0, |pair| {
                let ((t0, f0), (t1, f1)) = (pair[0], pair[1]);
                f0 + (f1 - f0) * (fahrenheit - t0) / (t1 - t0)
            })
    }
}

impl PipePart {
    /// What it is made of, told by its ends: solvent ends are PVC, solder ends copper, tubing polyethylene.
    #[must_use]
    pub const fn material(&self) -> Material {
        match self.joint {
            Joint::SolderSpigot(_) | Joint::SolderSocket(_) => Material::Copper,
            Joint::Tube { .. } | Joint::Barb(_) | Joint::Compression(_) => Material::Polyethylene,
            _ => Material::Pvc,
        }
    }

    /// What it stands at a temperature.
    #[must_use]
    pub fn rating_at(&self, temperature: Temperature) -> Option<Pressure> {
        Some(self.rating? * self.material().left_at(temperature))
    }
}

/// Pressure rating of a pipe controlled by its outside: p = 2 S/(SDR − 1), S the long-term stress of the material (PVC 1120
/// 2000 psi; PE100 8 MPa). *Source*: from memory; for PE100 read at piping-world.com.
///
/// ```
/// use aubergine_core::catalog::strength::rating_of_outside;
/// use aubergine_core::units::Pressure;
/// let rating = rating_of_outside(Pressure::from_psi(2000.0), 21.0);
/// assert!((rating.psi() - 200.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn rating_of_outside(stress: Pressure, ratio: f64) -> Pressure {
    stress * (2.0 / (ratio - 1.0))
}

/// Wall of pipe of one dimension ratio: outside/ratio, 0.060 in at least. *Source*: the rule reproduces the table of ASTM
/// D2241 (from memory).
#[must_use]
pub fn wall_of_ratio(outside: Length, ratio: f64) -> Length {
    (outside / ratio).max(Length::from_inches(0.060))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn warmth_takes_from_pvc_only() {
        let at = |material: Material, fahrenheit: f64| {
            material.left_at(Temperature::from_celsius((fahrenheit - 32.0) / 1.8))
        };
        for (fahrenheit, left) in [(60.0, 1.0), (73.0, 1.0), (85.0, 0.815), (140.0, 0.22)] {
            assert!((at(Material::Pvc, fahrenheit) - left).abs() < 1e-9);
        }
        assert!(at(Material::Pvc, 150.0).abs() < 1e-12);
        assert!((at(Material::Copper, 150.0) - 1.0).abs() < 1e-12);
    }
}
