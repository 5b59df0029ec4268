//! One drawing for every sink: window, SVG, paper, picking, goldens.
//!
//! A mark says what it means (its role, its subject, its value), never a colour; `theme` turns roles into ink. Shapes lie
//! in plan coordinates, in metres; line widths, symbols and letters have sizes of the output and do not grow with it.
//! Selection, hover and previews belong to the window and are not here.

pub mod build;
pub mod colour;
pub mod coverage;
pub mod dump;
mod fall;
pub mod font;
pub mod footing;
pub mod furniture;
pub mod gauge;
pub mod hatch;
pub mod labels;
pub mod legend;
mod network;
pub mod notice;
pub mod paper;
pub mod pick;
mod sample;
pub mod sheet;
pub mod svg;
pub mod symbols;
pub mod theme;
pub mod words;
pub mod writer;

pub use build::build;
pub use symbols::Symbol;

use crate::coverage::SpotKind;
use crate::geometry::{PlanPoint, Polygon, Polyline};
use crate::hydraulics::SupplyCase;
use crate::ids::Id;
use crate::model::{BedUse, FeatureKind, PipeRole, WaterKind};
use crate::rulebook::Verdict;
use crate::units::{Angle, DepthRate, Pressure};

/// What the drawing shows beside the bare plan.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum View {
    /// Which water flows where.
    #[default]
    Water,
    /// Pressure along every run.
    Pressure,
    /// Verdicts on the beds, and what sprays wet.
    Contact,
    /// How much water of sprays falls where.
    Coverage,
    /// The plan alone.
    Plain,
}

impl View {
    /// All that can be chosen, in the order of their keys.
    pub const ALL: [Self; 5] = [
        Self::Water,
        Self::Pressure,
        Self::Contact,
        Self::Coverage,
        Self::Plain,
    ];

    /// The word on screen.
    #[must_use]
    pub fn word(self) -> &'static str {
        crate::text::get(match self {
            Self::Water => "view.choose_water",
            Self::Pressure => "view.choose_pressure",
            Self::Contact => "view.choose_contact",
            Self::Coverage => "view.choose_coverage",
            Self::Plain => "view.choose_plain",
        })
    }
}

/// What to draw.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct ViewOptions {
    /// The view.
    pub view: View,
    /// The supply case whose pressures are shown.
    pub case: SupplyCase,
    /// Units of the labels.
    pub units: crate::units::UnitSystem,
}

/// A whole drawing, layers from back to front.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Drawing {
    /// Layers from back to front.
    pub layers: Vec<Layer>,
}

/// Marks of one sort.
#[derive(Clone, PartialEq, Debug)]
pub struct Layer {
    /// What sort.
    pub kind: LayerKind,
    /// Marks from back to front.
    pub marks: Vec<Mark>,
}

/// Layers from back to front.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum LayerKind {
    /// Property line and ground.
    Site,
    /// Buildings, paving, places.
    Features,
    /// Beds, lawns, trees.
    Planting,
    /// Verdicts and wetted ground.
    Contact,
    /// Runs of pipe.
    Pipes,
    /// Emitter lines and emitters.
    Emitters,
    /// Devices, outlets, signs, wells.
    Devices,
    /// Names and numbers.
    Labels,
    /// Review notes.
    Notes,
}

/// One thing drawn.
#[derive(Clone, PartialEq, Debug)]
pub struct Mark {
    /// Where and how.
    pub shape: Shape,
    /// What it means.
    pub role: Role,
    /// The object it belongs to.
    pub subject: Option<Id>,
}

/// Geometry of a mark.
#[derive(Clone, PartialEq, Debug)]
pub enum Shape {
    /// A closed outline, filled or not as its role says.
    Area(Polygon),
    /// An open chain.
    Line(Polyline),
    /// Small round dots.
    Dots(Vec<PlanPoint>),
    /// A symbol of fixed output size.
    Symbol {
        /// Which.
        symbol: Symbol,
        /// Its middle.
        at: PlanPoint,
        /// How it is turned, anticlockwise.
        turn: Angle,
    },
    /// Letters.
    Text {
        /// The place they hang on.
        at: PlanPoint,
        /// What they say.
        text: String,
        /// Which point of the text lies at the place.
        anchor: Anchor,
    },
}

/// Which point of a text lies at its place; the other side gets the gap of half a letter.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Anchor {
    /// The middle.
    Middle,
    /// The middle of the upper edge: the text hangs below.
    Below,
    /// The middle of the lower edge: the text stands above.
    Above,
    /// The middle of the left edge: the text stands to the right.
    Right,
}

/// What a result stands on.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Footing {
    /// Facts that somebody stated.
    Stated,
    /// A supply or a class of water that was assumed: drawn dashed, and the word stands by it.
    Assumed,
}

/// A band of rates of water on the ground.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct RateBand {
    /// Its lower end.
    pub from: DepthRate,
    /// Its upper end; infinite for the last.
    pub to: DepthRate,
    /// Which of the bands, from 0.
    pub step: u8,
    /// Far less or far more than the mean of its area.
    pub spot: Option<SpotKind>,
}

/// What a mark means.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Role {
    /// The ground inside the property line.
    Ground,
    /// The property line.
    PropertyLine,
    /// Which way the ground falls.
    Fall,
    /// The edge of the surveyed area; beyond it the ground is taken as level.
    SurveyEdge,
    /// An area that is not planted.
    Feature(FeatureKind),
    /// A planted area, and which way its rows run.
    Planted(BedUse, Angle),
    /// The crown of a tree.
    Canopy,
    /// The verdict on a planted area.
    Verdict(Verdict, Footing),
    /// Ground on which so much water falls.
    Rate(RateBand, Footing),
    /// Ground that a spray wets.
    Wetted(Footing),
    /// A run of pipe, by its water.
    Pipe(WaterKind, PipeRole),
    /// The same, by the pressure in it.
    PipePressure(Pressure, WaterKind, PipeRole, Footing),
    /// Tubing of emitter lines, by its water.
    EmitterLine(WaterKind),
    /// The same, by the pressure in it.
    EmitterLinePressure(Pressure, Footing),
    /// Emitters.
    Emitter(WaterKind),
    /// A device or outlet, by its water.
    Device(WaterKind),
    /// A sign, well, entry or other mark of the site.
    SiteMark,
    /// The name of an object.
    Name,
    /// A number with its unit.
    Number,
    /// What is left out first where there is no room.
    Detail,
    /// The letters and ticks along a run that tell its water and its part, whatever its colour shows.
    RunCode(WaterKind, PipeRole, Footing),
    /// A note that is open.
    NoteOpen,
    /// A note that is closed.
    NoteClosed,
}

impl Drawing {
    /// Every mark, from back to front.
    pub fn marks(&self) -> impl Iterator<Item = &Mark> {
        self.layers.iter().flat_map(|layer| &layer.marks)
    }

    /// The least and the largest corner of everything drawn; `None` of nothing.
    #[must_use]
    pub fn bounds(&self) -> Option<(PlanPoint, PlanPoint)> {
        let mut found: Option<(PlanPoint, PlanPoint)> = None;
        for mark in self.marks() {
            mark.shape.each_point(|point| {
                found = Some(found.map_or((point, point), |(low, high)| {
                    (
                        PlanPoint::new(low.x.min(point.x), low.y.min(point.y)),
                        PlanPoint::new(high.x.max(point.x), high.y.max(point.y)),
                    )
                }));
            });
        }
        found
    }
}

impl Shape {
    /// Calls back with every point of the shape; symbols and texts have one.
    pub fn each_point(&self, mut on_point: impl FnMut(PlanPoint)) {
        match self {
            Self::Area(Polygon(points)) | Self::Line(Polyline(points)) | Self::Dots(points) => {
                points.iter().copied().for_each(on_point);
            }
            Self::Symbol { at, .. } | Self::Text { at, .. } => on_point(*at),
        }
    }
}
