//! Quantities of any kind in one list, for workings: with five significant digits, so that a reader can do the sum again,
//! or rounded as the number stands elsewhere.

use super::display::{UnitSystem, fixed, percent, significant};
use super::{Area, Density, DepthRate, Flow, KinematicViscosity, Length, Pressure, Velocity};

/// A quantity with its kind.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Amount {
    /// A pressure.
    Pressure(Pressure),
    /// A head of water, a level, or a length of pipe.
    Length(Length),
    /// A bore.
    Bore(Length),
    /// A flow in a pipe.
    Flow(Flow),
    /// The flow of one emitter.
    EmitterFlow(Flow),
    /// A velocity.
    Velocity(Velocity),
    /// An area.
    Area(Area),
    /// A rate of water on soil.
    Rate(DepthRate),
    /// A density.
    Density(Density),
    /// A kinematic viscosity.
    Viscosity(KinematicViscosity),
    /// A specific weight: the pressure under one unit of head.
    Weight(Density),
    /// A loss of pressure per flow, in kPa per L/s.
    PerFlow(f64),
    /// A loss of pressure per flow squared, in kPa per (L/s)².
    PerFlowSquared(f64),
    /// An acceleration in m/s².
    Acceleration(f64),
    /// A time in seconds.
    Seconds(f64),
    /// A share, from 0 to 1.
    Share(f64),
    /// A plain number.
    Number(f64),
    /// A count.
    Count(usize),
}

impl Amount {
    /// With five significant digits.
    #[must_use]
    pub fn worked(self, units: UnitSystem) -> String {
        let (value, unit) = self.in_units(units);
        let number = match self {
            Self::Count(count) => return count.to_string(),
            _ => shortened(significant(value, 5)),
        };
        if unit.is_empty() {
            number
        } else {
            format!("{number} {unit}")
        }
    }

    /// As the number stands in tables and panels.
    #[must_use]
    pub fn shown(self, units: UnitSystem) -> String {
        match self {
            Self::Pressure(pressure) => units.pressure(pressure),
            Self::Length(length) => units.run(length),
            Self::Bore(length) => units.bore(length),
            Self::Flow(flow) => units.flow(flow),
            Self::EmitterFlow(flow) => units.emitter_flow(flow),
            Self::Velocity(velocity) => units.velocity(velocity),
            Self::Area(area) => units.area(area),
            Self::Rate(rate) => units.rate(rate),
            Self::Share(share) => percent(share),
            Self::Seconds(seconds) => format!("{} s", fixed(seconds, 1)),
            Self::Density(_)
            | Self::Viscosity(_)
            | Self::Weight(_)
            | Self::PerFlow(_)
            | Self::PerFlowSquared(_)
            | Self::Acceleration(_)
            | Self::Number(_)
            | Self::Count(_) => self.worked(units),
        }
    }

    /// The value in the reader's unit, and the unit.
    fn in_units(self, units: UnitSystem) -> (f64, &'static str) {
        let lps_per_gpm = Flow::from_gallons_per_minute(1.0).litres_per_second();
        let psi = |kpa: f64| Pressure::from_kilopascals(kpa).psi();
        let is_us = units == UnitSystem::Us;
        let pick = |us: (f64, &'static str), metric: (f64, &'static str)| {
            if is_us { us } else { metric }
        };
        match self {
            Self::Pressure(p) => pick((p.psi(), "psi"), (p.kilopascals(), "kPa")),
            Self::Length(l) => pick((l.feet(), "ft"), (l.metres(), "m")),
            Self::Bore(l) => pick((l.inches(), "in"), (l.millimetres(), "mm")),
            Self::Flow(q) => pick(
                (q.gallons_per_minute(), "gpm"),
                (q.litres_per_minute(), "L/min"),
            ),
            Self::EmitterFlow(q) => {
                pick((q.gallons_per_hour(), "gph"), (q.litres_per_hour(), "L/h"))
            }
            Self::Velocity(v) => pick(
                (v.feet_per_second(), "ft/s"),
                (v.metres_per_second(), "m/s"),
            ),
            Self::Area(a) => pick((a.square_feet(), "ft²"), (a.square_metres(), "m²")),
            Self::Rate(r) => pick(
                (r.inches_per_hour(), "in/h"),
                (r.millimetres_per_hour(), "mm/h"),
            ),
            // 1 lb/ft³ = 16.018463 kg/m³ (from the exact pound and foot).
            Self::Density(d) => {
                let si = d.kilograms_per_cubic_metre();
                pick((si / 16.018_463_37, "lb/ft³"), (si, "kg/m³"))
            }
            // In mm²/s or 10^−5 ft²/s, as tables print it.
            Self::Viscosity(v) => {
                let si = v.square_metres_per_second();
                pick(
                    (si / (0.3048 * 0.3048) * 1e5, "×10^−5 ft²/s"),
                    (si * 1e6, "mm²/s"),
                )
            }
            Self::Weight(d) => {
                let metre = super::pressure_of(Length::from_metres(1.0), d);
                let foot = super::pressure_of(Length::from_feet(1.0), d);
                pick((foot.psi(), "psi/ft"), (metre.kilopascals(), "kPa/m"))
            }
            Self::PerFlow(b) => pick((psi(b) * lps_per_gpm, "psi/gpm"), (b / 60.0, "kPa/(L/min)")),
            Self::PerFlowSquared(c) => pick(
                (psi(c) * lps_per_gpm * lps_per_gpm, "psi/gpm²"),
                (c / 3600.0, "kPa/(L/min)²"),
            ),
            Self::Acceleration(a) => pick((a / 0.3048, "ft/s²"), (a, "m/s²")),
            Self::Seconds(seconds) => (seconds, "s"),
            Self::Share(share) => (share, ""),
            Self::Number(number) => (number, ""),
            #[expect(
                clippy::cast_precision_loss,
                reason = "counts of plan objects are far below 2^52"
            )]
            Self::Count(count) => (count as f64, ""),
        }
    }
}

/// Without the zeros that end a decimal fraction.
fn shortened(number: String) -> String {
    if number.contains('.') {
        number
            .trim_end_matches('0')
            .trim_end_matches('.')
            .to_owned()
    } else {
        number
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weights_and_losses_keep_their_meaning_in_both_systems() {
        let water = Density::from_kilograms_per_cubic_metre(998.204);
        // 62.3 lb/ft³ at 68 °F, 0.433 psi/ft (handbook values, from memory).
        assert_eq!(
            Amount::Density(water).worked(UnitSystem::Us),
            "62.316 lb/ft³"
        );
        assert_eq!(
            Amount::Weight(water).worked(UnitSystem::Us),
            "0.43275 psi/ft"
        );
        assert_eq!(
            Amount::Weight(water).worked(UnitSystem::Metric),
            "9.789 kPa/m"
        );
        // A loss of 1 psi at 12 gpm, told by its factor.
        let flow = Flow::from_gallons_per_minute(12.0).litres_per_second();
        let factor = Pressure::from_psi(1.0).kilopascals() / (flow * flow);
        assert_eq!(
            Amount::PerFlowSquared(factor).worked(UnitSystem::Us),
            "0.0069444 psi/gpm²"
        );
    }
}
