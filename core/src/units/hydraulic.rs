//! Pressures, flows, velocities and the water properties that tie them to heads.

use super::{GRAVITY_MPS2, Length};

quantity! {
    /// A gauge pressure in kilopascals. 1 psi = 6.894757293168361 kPa (from the exact pound and inch).
    Pressure, from_kilopascals / kilopascals,
    from_pascals / pascals = 1e-3,
    from_psi / psi = 6.894_757_293_168_361,
    from_bar / bar = 100.0,
}

quantity! {
    /// A volume flow in litres per second. 1 US gallon = 3.785411784 L exactly.
    Flow, from_litres_per_second / litres_per_second,
    from_cubic_metres_per_second / cubic_metres_per_second = 1e3,
    from_litres_per_minute / litres_per_minute = 1.0 / 60.0,
    from_litres_per_hour / litres_per_hour = 1.0 / 3600.0,
    from_cubic_metres_per_hour / cubic_metres_per_hour = 1.0 / 3.6,
    from_gallons_per_minute / gallons_per_minute = 3.785_411_784 / 60.0,
    from_gallons_per_hour / gallons_per_hour = 3.785_411_784 / 3600.0,
}

quantity! {
    /// A mean velocity in a pipe, in metres per second.
    Velocity, from_metres_per_second / metres_per_second,
    from_feet_per_second / feet_per_second = 0.3048,
}

quantity! {
    /// A temperature in degrees Celsius.
    Temperature, from_celsius / celsius,
}

quantity! {
    /// A mass density in kilograms per cubic metre.
    Density, from_kilograms_per_cubic_metre / kilograms_per_cubic_metre,
}

quantity! {
    /// A kinematic viscosity in square metres per second.
    KinematicViscosity, from_square_metres_per_second / square_metres_per_second,
}

/// The head of a water column that presses with `pressure`.
#[must_use]
pub fn head_of(pressure: Pressure, density: Density) -> Length {
    Length::from_metres(pressure.pascals() / (density.kilograms_per_cubic_metre() * GRAVITY_MPS2))
}

/// The pressure under a water column of height `head`: 10 m at 20 °C give 97.89 kPa.
#[must_use]
pub fn pressure_of(head: Length, density: Density) -> Pressure {
    Pressure::from_pascals(head.metres() * density.kilograms_per_cubic_metre() * GRAVITY_MPS2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ten_metres_of_water_at_twenty_degrees_press_with_97_89_kilopascals() {
        let pressure = pressure_of(
            Length::from_metres(10.0),
            Density::from_kilograms_per_cubic_metre(998.204),
        );
        assert!((pressure.kilopascals() - 97.89).abs() < 0.01);
    }

    #[test]
    fn a_gallon_a_minute_is_sixty_gallons_an_hour() {
        let flow = Flow::from_gallons_per_minute(1.0);
        assert!((flow.gallons_per_hour() - 60.0).abs() < 1e-12);
        assert!((flow.cubic_metres_per_second() - 6.309_019_64e-5).abs() < 1e-13);
    }
}
