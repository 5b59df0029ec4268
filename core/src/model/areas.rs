//! Planted areas with what grows on them and how they are filled with emitter lines; other areas of the site.

use super::{Extra, Meta, Placement, is_default};
use crate::geometry::{PlanPoint, Polygon};
use crate::ids::Id;
use crate::units::{Angle, Area, DepthRate, Length};

/// What an area is planted with.
#[derive(
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Debug,
    Default,
    serde::Serialize,
    serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum BedUse {
    /// Something that is eaten.
    #[default]
    Food,
    /// Grass.
    Lawn,
    /// Plants nobody eats.
    Ornamental,
}

/// How a crop comes to the table. It is a fact that somebody states; no proposal of the program changes it.
#[derive(
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Debug,
    Default,
    serde::Serialize,
    serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Preparation {
    /// As the crop table says it usually is.
    #[default]
    Usual,
    /// Eaten raw with its skin.
    Raw,
    /// Skin, rind, husk or shell always removed.
    SkinRemoved,
    /// Always cooked.
    Cooked,
    /// Not known.
    Unknown,
}

/// One crop in a bed.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Planting {
    /// Row of the crop table.
    pub crop: String,
    /// How it is eaten.
    #[serde(default, skip_serializing_if = "is_default")]
    pub preparation: Preparation,
    /// Height of the lowest edible part, where it differs from the table's.
    #[serde(
        rename = "lowest_edible_m",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub lowest_edible: Option<Length>,
    /// Somebody states that the water of a buried line never comes to the surface here.
    #[serde(default, skip_serializing_if = "is_default")]
    pub surface_stays_dry: bool,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A planted area. Its outline lies in its own coordinates, so that moving it changes one field.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Bed {
    /// What it is planted with.
    #[serde(rename = "use", default)]
    pub use_: BedUse,
    /// Where the origin of its coordinates lies.
    #[serde(rename = "at_m")]
    pub at: PlanPoint,
    /// How far it is turned, anticlockwise.
    #[serde(rename = "turn_deg", default, skip_serializing_if = "is_default")]
    pub turn: Angle,
    /// Its outline in bed coordinates.
    #[serde(rename = "outline_m")]
    pub outline: Polygon,
    /// What grows there.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub plantings: Vec<Planting>,
    /// How emitter lines fill it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fill: Option<Fill>,
    /// Intake rate of its own soil, if it is not that of the site.
    #[serde(
        rename = "intake_mm_per_h",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub intake: Option<DepthRate>,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}

/// Which way the rows of a fill run.
#[derive(
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Debug,
    Default,
    serde::Serialize,
    serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Pattern {
    /// Along the longer side of the bed.
    #[default]
    RowsAlong,
    /// Across it: a header along the bed with barbed cross lines.
    RowsAcross,
}

/// Where the header of a fill lies, seen along the rows.
#[derive(
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Debug,
    Default,
    serde::Serialize,
    serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum HeaderSide {
    /// Where the rows begin.
    #[default]
    First,
    /// Where they end.
    Last,
    /// On both sides; the rows join them and the loop is fed from the first.
    Both,
}

/// The rule by which emitter lines fill a bed. Lines, emitters and the port `in` follow from it and are never stored.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Fill {
    /// Which water.
    pub water: Id,
    /// Which way the rows run.
    #[serde(default)]
    pub pattern: Pattern,
    /// Row of the emission catalog for the emitter lines.
    pub line: String,
    /// Row of the pipe catalog for the header.
    pub header: String,
    /// Where the header lies.
    #[serde(default, skip_serializing_if = "is_default")]
    pub header_side: HeaderSide,
    /// The header is fed at its far end instead of the near one.
    #[serde(default, skip_serializing_if = "is_default")]
    pub feed_from_far_end: bool,
    /// Distance between rows.
    #[serde(rename = "row_spacing_m")]
    pub row_spacing: Length,
    /// Distance between emitters on a row; the catalog row's unless told.
    #[serde(
        rename = "emitter_spacing_m",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub emitter_spacing: Option<Length>,
    /// Least distance of rows and emitters from the edge.
    #[serde(rename = "inset_m")]
    pub inset: Length,
    /// How the lines lie.
    #[serde(default)]
    pub placement: Placement,
    /// The rows end in parts that open for rinsing, and not in plugs.
    #[serde(default, skip_serializing_if = "is_default")]
    pub flush_ends: bool,
    /// Lines and header are purple, striped, or tagged purple.
    #[serde(default, skip_serializing_if = "is_default")]
    pub purple: bool,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A tree or another single plant.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Tree {
    /// Where.
    #[serde(rename = "at_m")]
    pub at: PlanPoint,
    /// What is eaten of it; absent for an ornamental.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub planting: Option<Planting>,
    /// Width of its crown.
    #[serde(rename = "canopy_m", default, skip_serializing_if = "Option::is_none")]
    pub canopy: Option<Length>,
    /// The ground that is watered for it, where that is not the crown.
    #[serde(
        rename = "watered_area_m2",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub watered_area: Option<Area>,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}

/// What an area that is not planted is.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum FeatureKind {
    /// A house, a shed.
    Building,
    /// Paths, drives.
    HardSurface,
    /// Where people eat outdoors.
    EatingArea,
    /// Where children play.
    PlayArea,
    /// Where animals live, eat or drink.
    PetArea,
    /// A pool or spa.
    Pool,
    /// A pond, stream or ditch.
    WaterBody,
    /// Land of somebody else.
    NeighbourLand,
    /// Ground with a level of its own, held by walls or banks: flat, with a step at its edge.
    Terrace,
}

/// An area of the site that is not planted itself; beds may lie on a terrace.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Feature {
    /// What it is.
    pub kind: FeatureKind,
    /// The level of a terrace; absent means not told, and the ground is that of the spot heights.
    #[serde(rename = "level_m", default, skip_serializing_if = "Option::is_none")]
    pub level: Option<Length>,
    /// A pond, fountain or tank that is filled with reclaimed water.
    #[serde(default, skip_serializing_if = "is_default")]
    pub holds_reclaimed: bool,
    /// Its outline.
    #[serde(rename = "outline_m")]
    pub outline: Polygon,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}
