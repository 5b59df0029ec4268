//! First agronomic checks: how fast water is put on against what the soil takes in, and whether the water's salt harms
//! what is planted. The season, the schedule and the balances are not here yet.

use crate::catalog::salt::SaltTolerance;
use crate::units::{Area, DepthRate, Flow, Salinity};

/// The rate at which a flow covers an area; zero for an area that is not positive.
#[must_use]
pub fn application_rate(flow: Flow, area: Area) -> DepthRate {
    if area <= Area::ZERO {
        return DepthRate::ZERO;
    }
    // 1 L/h on 1 m² is 1 mm/h.
    DepthRate::from_millimetres_per_hour(flow.litres_per_hour() / area.square_metres())
}

/// Share of the full yield that a crop keeps in the long run under a water's salinity.
///
/// The root zone is taken to settle at 1.5 times the salinity of the water (a leaching fraction of 15 to 20 %), and the
/// yield to fall in a straight line beyond the crop's threshold. *Source*: Ayers & Westcot, FAO Irrigation and Drainage
/// Paper 29 rev. 1, and Maas & Hoffman 1977 (both from memory; the crop rows say how they are known).
#[must_use]
pub fn relative_yield(tolerance: &SaltTolerance, water: Salinity) -> f64 {
    const ROOT_ZONE_FACTOR: f64 = 1.5;
    let excess = water * ROOT_ZONE_FACTOR - tolerance.threshold;
    let loss = excess.max(Salinity::ZERO).decisiemens_per_metre() * tolerance.loss_per_ds_per_m;
    (1.0 - loss).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn forty_four_gallons_an_hour_on_a_dense_grid() {
        // 231 · q / (s · r) in inches and gallons: 0.40 gph every 12 in, rows 12 in apart → 0.642 in/h (computed).
        let rate = application_rate(
            Flow::from_gallons_per_hour(0.40),
            Area::from_square_feet(1.0),
        );
        assert!((rate.inches_per_hour() - 231.0 * 0.40 / 144.0).abs() < 1e-9);
    }

    #[test]
    fn nothing_covers_no_area() {
        assert_eq!(
            application_rate(Flow::from_gallons_per_hour(1.0), Area::ZERO),
            DepthRate::ZERO
        );
    }

    #[test]
    fn strawberry_under_water_of_0_7_keeps_its_yield() {
        // FAO 29 table 4: strawberry, threshold ECe 1.0, 100 % at ECw 0.7, 90 % at 0.9 (read in the salt table's source).
        let strawberry = crate::catalog::salt::tolerance("strawberry").unwrap();
        let keeps = |ec| relative_yield(strawberry, Salinity::from_decisiemens_per_metre(ec));
        assert!((keeps(0.66) - 1.0).abs() < 1e-9);
        assert!((keeps(0.87) - 0.90).abs() < 0.01);
        assert!(keeps(9.0).abs() < 1e-12);
    }
}
