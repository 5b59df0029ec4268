//! How quantities are shown to people: the only rounding in the program.
//!
//! US customary or metric, chosen per plan and never stored in results. The steps are those of a person with a tape and
//! a gauge: lengths to 1/4 in or 1 cm, pressures to 0.1 psi or 1 kPa, flows to 0.1 gpm or 0.1 L/min, rates to 0.01 in/h
//! or 0.1 mm/h. A distance that is judged against a limit is rounded *down*, so that the screen never flatters.

use super::{Area, DepthRate, Flow, Length, Pressure, Salinity, Velocity};

/// The family of units that a person reads and types.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum UnitSystem {
    /// Feet and inches, psi, gallons.
    #[default]
    Us,
    /// Metres, kilopascals, litres.
    Metric,
}

impl UnitSystem {
    /// A length of the drawing: `12'-6 1/4"` or `3.82 m`, rounded to the nearest step.
    #[must_use]
    pub fn length(self, length: Length) -> String {
        match self {
            Self::Us => feet_and_inches((length.inches() * 4.0).round()),
            Self::Metric => format!("{} m", fixed(length.metres(), 2)),
        }
    }

    /// A measured distance, rounded down to the step of [`Self::length`].
    #[must_use]
    pub fn distance(self, length: Length) -> String {
        // A hair is added back so that 9 ft, kept as 2.7432 m, is not shown as 8'-11 3/4".
        const HAIR_M: f64 = 1e-9;
        let padded = Length::from_metres(length.metres() + HAIR_M);
        match self {
            Self::Us => feet_and_inches((padded.inches() * 4.0).floor()),
            Self::Metric => format!("{} m", fixed((padded.metres() * 100.0).floor() / 100.0, 2)),
        }
    }

    /// A small dimension such as a bore: `0.824 in` or `20.9 mm`.
    #[must_use]
    pub fn bore(self, length: Length) -> String {
        match self {
            Self::Us => format!("{} in", fixed(length.inches(), 3)),
            Self::Metric => format!("{} mm", fixed(length.millimetres(), 1)),
        }
    }

    /// A run of pipe for a table: `82.5 ft` or `25.15 m`.
    #[must_use]
    pub fn run(self, length: Length) -> String {
        match self {
            Self::Us => format!("{} ft", fixed(length.feet(), 1)),
            Self::Metric => format!("{} m", fixed(length.metres(), 2)),
        }
    }

    /// An area: `31 ft²` or `2.9 m²`.
    #[must_use]
    pub fn area(self, area: Area) -> String {
        match self {
            Self::Us => format!("{} ft²", fixed(area.square_feet(), 0)),
            Self::Metric => format!("{} m²", fixed(area.square_metres(), 1)),
        }
    }

    /// A pressure: `24.6 psi` or `170 kPa`.
    #[must_use]
    pub fn pressure(self, pressure: Pressure) -> String {
        match self {
            Self::Us => format!("{} psi", fixed(pressure.psi(), 1)),
            Self::Metric => format!("{} kPa", fixed(pressure.kilopascals(), 0)),
        }
    }

    /// A flow in a pipe: `5.1 gpm` or `19.4 L/min`.
    #[must_use]
    pub fn flow(self, flow: Flow) -> String {
        match self {
            Self::Us => format!("{} gpm", fixed(flow.gallons_per_minute(), 1)),
            Self::Metric => format!("{} L/min", fixed(flow.litres_per_minute(), 1)),
        }
    }

    /// The flow of one emitter: `0.40 gph` or `1.5 L/h`; of a spray in US units `1.90 gpm`, as its part is named.
    #[must_use]
    pub fn emitter_flow(self, flow: Flow) -> String {
        const LARGEST_IN_GPH: f64 = 20.0;
        match self {
            Self::Us if flow.gallons_per_hour() > LARGEST_IN_GPH => {
                format!("{} gpm", fixed(flow.gallons_per_minute(), 2))
            }
            Self::Us => format!("{} gph", fixed(flow.gallons_per_hour(), 2)),
            Self::Metric => format!("{} L/h", fixed(flow.litres_per_hour(), 1)),
        }
    }

    /// A velocity: `4.9 ft/s` or `1.49 m/s`.
    #[must_use]
    pub fn velocity(self, velocity: Velocity) -> String {
        match self {
            Self::Us => format!("{} ft/s", fixed(velocity.feet_per_second(), 1)),
            Self::Metric => format!("{} m/s", fixed(velocity.metres_per_second(), 2)),
        }
    }

    /// A rate of water on soil: `0.64 in/h` or `16.3 mm/h`.
    #[must_use]
    pub fn rate(self, rate: DepthRate) -> String {
        match self {
            Self::Us => format!("{} in/h", fixed(rate.inches_per_hour(), 2)),
            Self::Metric => format!("{} mm/h", fixed(rate.millimetres_per_hour(), 1)),
        }
    }
}

/// A salinity, the same in both systems: `1.9 dS/m`.
#[must_use]
pub fn salinity(value: Salinity) -> String {
    format!("{} dS/m", fixed(value.decisiemens_per_metre(), 1))
}

/// A share in whole percent: `91 %`.
#[must_use]
pub fn percent(share: f64) -> String {
    format!("{} %", fixed(share * 100.0, 0))
}

/// A slope as a share of the run, in percent with one decimal: `1.0 %`.
#[must_use]
pub fn grade(share: f64) -> String {
    format!("{} %", fixed(share * 100.0, 1))
}

/// A number with a fixed count of decimals, a true minus sign and no negative zero.
#[must_use]
pub fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    let is_zero = text.bytes().all(|byte| byte == b'0' || byte == b'.');
    if value < 0.0 && !is_zero {
        format!("−{text}")
    } else {
        text
    }
}

/// A number with a count of significant digits, without an exponent; below a hundred-millionth of one it is 0.
#[must_use]
pub fn significant(value: f64, digits: usize) -> String {
    if value == 0.0 || value.abs() < 1e-8 {
        return "0".to_owned();
    }
    #[expect(
        clippy::cast_possible_truncation,
        reason = "the power of ten of a finite double is within ±308"
    )]
    let place = value.abs().log10().floor() as i64;
    let decimals = i64::try_from(digits).unwrap_or(i64::MAX) - 1 - place;
    fixed(value, usize::try_from(decimals).unwrap_or(0).min(12))
}

/// Feet and inches from a count of quarter inches, as drawings write them: `12'-6 1/4"`.
fn feet_and_inches(quarters: f64) -> String {
    let sign = if quarters < 0.0 { "−" } else { "" };
    let quarters = quarters.abs();
    let feet = (quarters / 48.0).floor();
    let rest = quarters - feet * 48.0;
    let inches = (rest / 4.0).floor();
    let fraction = match rest - inches * 4.0 {
        part if part < 0.5 => "",
        part if part < 1.5 => " 1/4",
        part if part < 2.5 => " 1/2",
        _ => " 3/4",
    };
    format!("{sign}{feet:.0}'-{inches:.0}{fraction}\"")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_read_like_a_drawing() {
        let us = UnitSystem::Us;
        assert_eq!(us.length(Length::from_millimetres(3810.0)), "12'-6\"");
        assert_eq!(us.length(Length::from_millimetres(3822.7)), "12'-6 1/2\"");
        assert_eq!(
            UnitSystem::Metric.length(Length::from_metres(3.81)),
            "3.81 m"
        );
    }

    #[test]
    fn a_distance_is_never_shown_larger_than_it_is() {
        let us = UnitSystem::Us;
        assert_eq!(us.distance(Length::from_feet(9.0)), "9'-0\"");
        assert_eq!(
            us.distance(Length::from_metres(Length::from_feet(9.0).metres() - 0.001)),
            "8'-11 3/4\""
        );
    }

    #[test]
    fn significant_digits_count_from_the_first_that_is_not_zero() {
        for (value, shown) in [
            (0.031_415_9, "0.031416"),
            (123_456.7, "123457"),
            (-2.5, "−2.5000"),
            (0.0, "0"),
        ] {
            assert_eq!(significant(value, 5), shown);
        }
    }

    #[test]
    fn zero_has_no_sign() {
        assert_eq!(fixed(-0.001, 2), "0.00");
        assert_eq!(fixed(-0.3, 1), "−0.3");
    }
}
