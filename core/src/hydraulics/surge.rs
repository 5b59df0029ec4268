//! Water hammer: how fast a pressure wave runs in a pipe, and what a closing valve adds. Estimates; no wave is followed.

use super::water::Water;
use crate::units::{Length, Pressure, Velocity};

/// Bulk modulus of water: 2.19 GPa (from memory).
const WATER_MODULUS: Pressure = Pressure::from_kilopascals(2.19e6);

/// Speed of a pressure wave in a thin-walled pipe: c = √(K/ρ)/√(1 + K D/(E e)). `None` where a number is not positive.
///
/// ```
/// use aubergine_core::hydraulics::{Water, wave_speed};
/// use aubergine_core::units::{Length, Pressure, Temperature};
/// let water = Water::at(Temperature::from_celsius(20.0));
/// let (bore, wall) = (Length::from_inches(1.049), Length::from_inches(0.133));
/// let speed = wave_speed(bore, wall, Pressure::from_kilopascals(2.76e6), water).expect("a pipe");
/// assert!((speed.metres_per_second() - 550.0).abs() < 5.0);
/// ```
#[must_use]
pub fn wave_speed(bore: Length, wall: Length, modulus: Pressure, water: Water) -> Option<Velocity> {
    wave_speed_in(WATER_MODULUS, bore, wall, modulus, water)
}

/// As [`wave_speed`], with another bulk modulus of the liquid.
#[must_use]
pub fn wave_speed_in(
    bulk: Pressure,
    bore: Length,
    wall: Length,
    modulus: Pressure,
    water: Water,
) -> Option<Velocity> {
    let in_rock = bulk.pascals() / water.density.kilograms_per_cubic_metre();
    let give = (bulk / modulus) * (bore / wall);
    let speed = (in_rock / (1.0 + give)).sqrt();
    (bore > Length::ZERO && wall > Length::ZERO && speed > 0.0 && speed.is_finite())
        .then(|| Velocity::from_metres_per_second(speed))
}

/// What stopping the water at once adds: Δp = ρ c ΔV (Joukowsky).
#[must_use]
pub fn sudden_surge(speed: Velocity, stopped: Velocity, water: Water) -> Pressure {
    Pressure::from_pascals(
        water.density.kilograms_per_cubic_metre()
            * speed.metres_per_second()
            * stopped.metres_per_second(),
    )
}

/// What a valve adds that takes `closing_s` seconds to close at the end of a pipe: the sudden surge up to 2 L/c, beyond it
/// less in the ratio of the times (first order).
#[must_use]
pub fn closing_surge(
    sudden: Pressure,
    speed: Velocity,
    length: Length,
    closing_s: f64,
) -> Pressure {
    let there_and_back_s = 2.0 * length.metres() / speed.metres_per_second();
    if closing_s > there_and_back_s {
        sudden * (there_and_back_s / closing_s)
    } else {
        sudden
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Temperature;

    #[test]
    fn a_slow_valve_adds_less() {
        let water = Water::at(Temperature::from_celsius(20.0));
        let speed = Velocity::from_metres_per_second(400.0);
        let sudden = sudden_surge(speed, Velocity::from_metres_per_second(1.0), water);
        let length = Length::from_metres(20.0);
        assert_eq!(closing_surge(sudden, speed, length, 0.05), sudden);
        let slow = closing_surge(sudden, speed, length, 1.0);
        assert!((slow / sudden - 0.1).abs() < 1e-12);
        assert!(wave_speed(Length::ZERO, length, sudden, water).is_none());
    }
}
