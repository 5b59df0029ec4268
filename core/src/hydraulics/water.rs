//! Density and viscosity of water at a temperature. It knows nothing of pipes, and nothing of salts: reclaimed water is
//! treated as fresh water, whose density differs by less than 0.1 % at the salinities a garden can bear.

use crate::units::{
    Density, Flow, GRAVITY_MPS2, KinematicViscosity, Length, Pressure, Temperature,
};

/// The coldest water the formulas are used for, in °C.
const COLDEST_CELSIUS: f64 = 0.0;

/// The warmest water the formulas are used for, in °C.
const WARMEST_CELSIUS: f64 = 40.0;

/// What friction and pressure need to know of the water.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Water {
    /// Mass density.
    pub density: Density,
    /// Kinematic viscosity.
    pub viscosity: KinematicViscosity,
}

impl Water {
    /// Water at a temperature, near atmospheric pressure.
    ///
    /// *Range*: 0–40 °C; a temperature outside is taken as the nearer end, one that is no number as 20 °C.
    ///
    /// *Source*: viscosity from the four-term fit of Pátek et al. 2009 (J. Phys. Chem. Ref. Data 38:21), also in
    /// IAPWS SR6-08; density from the rational polynomial of Kell 1975. Both from memory.
    ///
    /// *Accuracy*: viscosity within 0.004 % of IAPWS 2008 and density within 0.004 kg/m³ of IAPWS-95 (computed with an
    /// independent library for the knowledge file).
    ///
    /// ```
    /// use aubergine_core::hydraulics::Water;
    /// use aubergine_core::units::Temperature;
    /// let water = Water::at(Temperature::from_celsius(20.0));
    /// assert!((water.density.kilograms_per_cubic_metre() - 998.204).abs() < 0.001);
    /// assert!((water.viscosity.square_metres_per_second() - 1.003_369e-6).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn at(temperature: Temperature) -> Self {
        let celsius = temperature.celsius();
        let celsius = if celsius.is_nan() {
            20.0
        } else {
            celsius.clamp(COLDEST_CELSIUS, WARMEST_CELSIUS)
        };
        let density_kgm3 = density_kgm3(celsius);
        Self {
            density: Density::from_kilograms_per_cubic_metre(density_kgm3),
            viscosity: KinematicViscosity::from_square_metres_per_second(
                dynamic_viscosity_pas(celsius) / density_kgm3,
            ),
        }
    }

    /// The weight of a cubic metre in newtons: pascals per metre of head.
    #[must_use]
    pub(crate) fn weight_npm3(self) -> f64 {
        self.density.kilograms_per_cubic_metre() * GRAVITY_MPS2
    }

    /// The head of this water that presses with `pressure`.
    #[must_use]
    pub fn head_of(self, pressure: Pressure) -> Length {
        crate::units::head_of(pressure, self.density)
    }

    /// The pressure under a column of this water.
    #[must_use]
    pub fn pressure_of(self, head: Length) -> Pressure {
        crate::units::pressure_of(head, self.density)
    }

    /// Reynolds number V·D/ν of a flow in a round bore; zero in a bore that is not positive.
    ///
    /// ```
    /// use aubergine_core::hydraulics::Water;
    /// use aubergine_core::units::{Flow, Length, Temperature};
    /// let water = Water::at(Temperature::from_celsius(20.0));
    /// let re = water.reynolds(Flow::from_gallons_per_minute(1.0), Length::from_inches(0.6));
    /// assert!((re - 5253.2).abs() < 0.1);
    /// ```
    #[must_use]
    pub fn reynolds(self, flow: Flow, bore: Length) -> f64 {
        if bore.metres() > 0.0 {
            4.0 * flow.cubic_metres_per_second().abs()
                / (std::f64::consts::PI * bore.metres() * self.viscosity.square_metres_per_second())
        } else {
            0.0
        }
    }
}

/// Kell 1975, kg/m³, at t in °C.
fn density_kgm3(t: f64) -> f64 {
    let polynomial = 999.839_52
        + t * (16.945_176
            + t * (-7.987_040_1e-3
                + t * (-46.170_461e-6 + t * (105.563_02e-9 - t * 280.542_53e-12))));
    polynomial / (1.0 + 16.879_850e-3 * t)
}

/// Pátek et al. 2009, Pa·s, at t in °C.
fn dynamic_viscosity_pas(t: f64) -> f64 {
    let tau = (t + 273.15) / 300.0;
    1e-6 * (280.68 * tau.powf(-1.9)
        + 511.45 * tau.powf(-7.7)
        + 61.131 * tau.powf(-19.6)
        + 0.459_03 * tau.powf(-40.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_of_the_knowledge_file_is_reproduced() {
        // Temperature, density, viscosity in 1e-6 m²/s as printed there (computed, IAPWS).
        for (celsius, density, viscosity) in [
            (5.0, 999.964, 1.5182),
            (10.0, 999.700, 1.3063),
            (15.0, 999.100, 1.1386),
            (20.0, 998.204, 1.00337),
            (25.0, 997.045, 0.8926),
            (30.0, 995.647, 0.8007),
            (40.0, 992.216, 0.6578),
        ] {
            let water = Water::at(Temperature::from_celsius(celsius));
            assert!((water.density.kilograms_per_cubic_metre() - density).abs() < 0.006);
            let found = water.viscosity.square_metres_per_second() * 1e6;
            assert!((found - viscosity).abs() < 1e-4, "{celsius} {found}");
        }
    }

    #[test]
    fn a_temperature_outside_the_range_is_taken_as_the_nearer_end() {
        let at = |celsius| Water::at(Temperature::from_celsius(celsius));
        assert_eq!(at(-5.0), at(0.0));
        assert_eq!(at(80.0), at(40.0));
        assert_eq!(at(f64::NAN), at(20.0));
    }
}
