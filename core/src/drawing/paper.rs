//! Papers and scales on offer.

use super::svg::MM;
use crate::units::UnitSystem;

/// A scale: how people write it, and what one unit on paper is in the yard.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Scale {
    /// As written on the sheet.
    pub words: &'static str,
    /// One unit on paper is this many in the yard.
    pub denominator: f64,
}

const fn scale(words: &'static str, denominator: f64) -> Scale {
    Scale { words, denominator }
}

/// Engineer's and architect's scales (`users.md` 4.2), largest first.
pub const US_SCALES: [Scale; 12] = [
    scale("1/4\" = 1'-0\"", 48.0),
    scale("1\" = 5'", 60.0),
    scale("3/16\" = 1'-0\"", 64.0),
    scale("1/8\" = 1'-0\"", 96.0),
    scale("1\" = 10'", 120.0),
    scale("3/32\" = 1'-0\"", 128.0),
    scale("1/16\" = 1'-0\"", 192.0),
    scale("1\" = 20'", 240.0),
    scale("1\" = 30'", 360.0),
    scale("1\" = 40'", 480.0),
    scale("1\" = 50'", 600.0),
    scale("1\" = 60'", 720.0),
];
/// Metric scales, largest first.
pub const METRIC_SCALES: [Scale; 6] = [
    scale("1:20", 20.0),
    scale("1:50", 50.0),
    scale("1:100", 100.0),
    scale("1:200", 200.0),
    scale("1:250", 250.0),
    scale("1:500", 500.0),
];

/// The scales of a family of units, largest first.
#[must_use]
pub const fn scales(units: UnitSystem) -> &'static [Scale] {
    match units {
        UnitSystem::Us => &US_SCALES,
        UnitSystem::Metric => &METRIC_SCALES,
    }
}

/// The paper that a drawing goes on, in points.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Paper {
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
    /// Border left, right, top and bottom; the left one is for binding.
    pub border: [f64; 4],
    /// Whether title and date stand on the sheet.
    pub title: Titled,
    /// Whether the sheet may be lower than the paper.
    pub height_use: HeightUse,
}

/// Whether a sheet carries its title.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Titled {
    /// A picture that travels alone.
    Yes,
    /// Part of a report that has its own title.
    No,
}

/// What becomes of height that is not needed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum HeightUse {
    /// The sheet is as high as the paper.
    Whole,
    /// The sheet ends below its last line.
    Needed,
}

impl Paper {
    /// Tabloid (11 × 17 in) or A3, upright or lying, with the borders of `users.md` 4.1.
    #[must_use]
    pub const fn single(units: UnitSystem, orientation: Orientation) -> Self {
        let (short, long) = match units {
            UnitSystem::Us => (792.0, 1224.0),
            UnitSystem::Metric => (297.0 * MM, 420.0 * MM),
        };
        let (width, height) = match orientation {
            Orientation::Upright => (short, long),
            Orientation::Lying => (long, short),
        };
        Self {
            width,
            height,
            border: [20.0 * MM, 12.0 * MM, 12.0 * MM, 12.0 * MM],
            title: Titled::Yes,
            height_use: HeightUse::Whole,
        }
    }

    /// A window in a report.
    #[must_use]
    pub const fn figure(width: f64, height: f64) -> Self {
        Self {
            width,
            height,
            border: [0.0; 4],
            title: Titled::No,
            height_use: HeightUse::Needed,
        }
    }
}

/// How a paper lies.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Orientation {
    /// Higher than wide.
    Upright,
    /// Wider than high.
    Lying,
}
