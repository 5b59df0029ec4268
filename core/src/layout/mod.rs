//! What follows from the drawing: emitter lines and emitters of a fill rule, emitters of a hand-drawn line, places of
//! ports, outlines on the ground, levels. Derived every time, never stored.

pub mod fill;
pub mod heads;
pub mod level;
pub mod ports;

pub use fill::{BedLayout, Row, fill};
pub use heads::{HeadPattern, HeadsRule, PlacedHead, heads};
pub use level::{Ground, Slope};
pub use ports::{bed_outline, into_bed, port_place};

use crate::units::Length;

/// Stations of the emitters of a line: the first half a spacing from its start, then one a spacing. Empty for a spacing
/// that is not positive.
#[must_use]
pub fn stations(length: Length, spacing: Length) -> Vec<Length> {
    // A whole number of spacings must not lose its last emitter to rounding.
    const SLACK: f64 = 1e-9;
    if spacing <= Length::ZERO || !length.is_finite() {
        return Vec::new();
    }
    let count = length / spacing + 0.5 + SLACK;
    let mut stations = Vec::new();
    let mut next = 1.0;
    while next <= count && stations.len() < MOST_EMITTERS_OF_A_LINE {
        stations.push(spacing * (next - 0.5));
        next += 1.0;
    }
    stations
}

/// Far above the 20 000 emitters of the largest plan: it only keeps a typing mistake in a spacing from filling memory.
pub(crate) const MOST_EMITTERS_OF_A_LINE: usize = 50_000;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_of_340_feet_has_340_emitters_a_foot_apart() {
        let found = stations(Length::from_feet(340.0), Length::from_feet(1.0));
        assert_eq!(found.len(), 340);
        assert!((found[0].feet() - 0.5).abs() < 1e-12);
    }

    #[test]
    fn impossible_spacings_give_no_emitters() {
        assert!(stations(Length::from_metres(1.0), Length::ZERO).is_empty());
        assert!(stations(Length::from_metres(1.0), Length::from_metres(-1.0)).is_empty());
    }
}
