//! What the contact analysis needs to know, as plain data that a caller fills from a drawing.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::catalog::crops::{Crop, Position, UsualPreparation};
use crate::geometry::PlanPoint;
use crate::ids::Id;
use crate::rulebook::{
    BackflowDevice, Limit, MarkedPart, Method, Place, Relief, Rulebook, SiteKind,
};
use crate::units::{Area, Length};

/// Everything the rules are asked about.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Input {
    /// The water itself, for findings about it.
    pub water: Option<Id>,
    /// The books in force. Without a binding one the generic book decides.
    pub books: Vec<Arc<Rulebook>>,
    /// The class the supplier stated, in the words of the book, or `unknown`.
    pub water_class: String,
    /// The same in the words of single books, by book.
    pub class_by_book: BTreeMap<String, String>,
    /// Kind of site.
    pub site: SiteKind,
    /// Beds that many people share, where promises about cooking do not hold.
    pub shared_beds: bool,
    /// Every plant that gets the water, wanted or not.
    pub plantings: Vec<Planting>,
    /// Measured distances.
    pub distances: Vec<MeasuredDistance>,
    /// How much less a distance may be on site than on the drawing.
    pub uncertainty: Length,
    /// Crossings of reclaimed and drinking-water pipes.
    pub crossings: Vec<CrossingFacts>,
    /// Outlets that a person can open.
    pub outlets: Vec<OutletFacts>,
    /// Signs.
    pub signs: SignFacts,
    /// What protects the drinking-water service; absent when the plan has none.
    pub service: Option<ServiceFacts>,
    /// Colour of the parts.
    pub marking: Vec<MarkingFacts>,
}

impl Input {
    /// What was stated of the water, in the words of a book where somebody used them.
    #[must_use]
    pub fn class_in(&self, book: &Rulebook) -> &str {
        // Only a book that advises sorts waters beside the binding ones.
        let own = self.class_by_book.get(&book.id);
        let own = own.filter(|_| !book.binding);
        own.map_or(self.water_class.as_str(), String::as_str)
    }

    /// Whether a book sorts the water into classes of which none was stated.
    #[must_use]
    pub fn is_unsorted_by(&self, book: &Rulebook) -> bool {
        let class = self.class_in(book);
        !book.judges_unknown && !book.water_classes.is_empty() && !book.knows_class(class)
    }
}

/// One plant, or one crop of a bed, under one zone.
#[derive(Clone, PartialEq, Debug)]
pub struct Planting {
    /// The bed, lawn or tree.
    pub subject: Id,
    /// Which planting of it.
    pub index: usize,
    /// The zone that waters it.
    pub zone: Option<Id>,
    /// What is grown.
    pub plant: Plant,
    /// How it is eaten.
    pub preparation: Preparation,
    /// How the water comes.
    pub method: Method,
    /// What decides contact beyond the method.
    pub geometry: Geometry,
    /// How much of the bed a spray wets.
    pub overlap: Option<Area>,
}

/// What is grown.
#[derive(Clone, PartialEq, Debug)]
pub enum Plant {
    /// Something to eat.
    Food(CropFacts),
    /// Lawn.
    Turf,
    /// Anything else.
    Ornamental,
}

/// What the rules ask of a crop.
#[derive(Clone, PartialEq, Debug)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a separate attribute that rules ask for"
)]
pub struct CropFacts {
    /// Row of the crop table.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Where the edible part sits.
    pub position: Position,
    /// Height of the lowest edible part.
    pub lowest_edible: Length,
    /// Citrus.
    pub citrus: bool,
    /// Nut tree.
    pub nut: bool,
    /// Tree.
    pub tree: bool,
    /// Vine.
    pub vine: bool,
}

impl CropFacts {
    /// As the crop table has it.
    #[must_use]
    pub fn from_catalog(crop: &Crop) -> Self {
        Self {
            id: crop.id.clone(),
            name: crop.name.clone(),
            position: crop.position,
            lowest_edible: crop.lowest_edible,
            citrus: crop.citrus,
            nut: crop.nut,
            tree: crop.tree,
            vine: crop.vine,
        }
    }

    /// With the height that was measured on this plant; the band follows.
    #[must_use]
    pub fn at_height(mut self, lowest_edible: Length) -> Self {
        self.position = self.position.at_height(lowest_edible);
        self.lowest_edible = lowest_edible;
        self
    }
}

/// How a crop is eaten, as far as anybody said.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Preparation {
    /// Raw, with its skin.
    Raw,
    /// Skin, rind, husk or shell always removed.
    SkinRemoved,
    /// Always cooked.
    Cooked,
    /// Skin removed or cooked, one of the two.
    SkinRemovedOrCooked,
    /// Goes through pasteurisation or a commercial process that destroys germs.
    Pasteurised,
    /// Not known.
    Unknown,
}

impl From<UsualPreparation> for Preparation {
    fn from(usual: UsualPreparation) -> Self {
        match usual {
            UsualPreparation::Raw => Self::Raw,
            UsualPreparation::Ask => Self::Unknown,
            UsualPreparation::SkinRemoved => Self::SkinRemoved,
            UsualPreparation::Cooked | UsualPreparation::SkinRemovedAndCooked => Self::Cooked,
            UsualPreparation::SkinRemovedOrCooked => Self::SkinRemovedOrCooked,
        }
    }
}

/// What decides contact beyond the method; `None` means nobody told.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Geometry {
    /// Water from a buried line comes to the surface.
    pub surfaces: Option<bool>,
    /// How far the top of a micro-spray jet lies below the lowest edible part; negative above it.
    pub jet_below: Option<Length>,
    /// The edible part stays up on the ridge.
    pub edible_on_ridge: Option<bool>,
    /// How deep the water of a basin stands.
    pub flood_depth: Option<Length>,
    /// Hose or can is held at the base of the plant.
    pub hand_at_base: Option<bool>,
    /// Fruit is picked up from the ground.
    pub windfall: bool,
}

/// A distance between two things that a rule may speak of.
#[derive(Clone, PartialEq, Debug)]
pub struct MeasuredDistance {
    /// Where it starts. A spray is passed twice: as `WettedEdge` and as `SprayEdge`.
    pub from: Place,
    /// Where it ends.
    pub to: Place,
    /// The objects at both ends.
    pub subjects: Vec<Id>,
    /// The least distance; zero where they touch or overlap.
    pub distance: Length,
    /// How far it reaches over an edge or into an area.
    pub reach_into: Length,
    /// How much of an area it covers.
    pub overlap: Area,
    /// For runs side by side: how long the run is that lies nearer than each limit of `rulebook::limits`.
    pub length_under: Vec<(Limit, Length)>,
    /// How much higher the drinking water lies; `None` where depths are not told.
    pub above: Option<Length>,
    /// What a person declared to release from a rule.
    pub reliefs: Vec<Relief>,
}

/// A crossing of a reclaimed and a drinking-water pipe.
#[derive(Clone, PartialEq, Debug)]
pub struct CrossingFacts {
    /// The two pipes, and the crossing mark where there is one.
    pub subjects: Vec<Id>,
    /// Where.
    pub at: PlanPoint,
    /// `PotableMain` or `PotableYardLine`.
    pub potable: Place,
    /// Marked on the plan with its detail.
    pub marked: bool,
    /// How much higher the drinking water lies.
    pub vertical_gap: Option<Length>,
}

/// Words on a sign or an outlet.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Lettering {
    /// The words, one line an entry.
    pub words: Vec<String>,
    /// Languages, as codes.
    pub languages: Vec<String>,
    /// The do-not-drink symbol.
    pub symbol: bool,
}

/// An outlet that a person can open.
#[derive(Clone, PartialEq, Debug)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a separate question on the reviewer's list"
)]
pub struct OutletFacts {
    /// The outlet.
    pub subject: Id,
    /// It gives reclaimed water.
    pub reclaimed: bool,
    /// Not drawn as an outlet: a joint with a hose thread, which anybody can make one.
    pub joint: bool,
    /// Behind a lock.
    pub locked: bool,
    /// Worked only by a special tool.
    pub special_tool: bool,
    /// Takes a standard hose.
    pub hose_thread: bool,
    /// Above the ground.
    pub above_ground: bool,
    /// In a box of its own.
    pub in_box: bool,
    /// Purple.
    pub purple: bool,
    /// What stands on it.
    pub lettering: Lettering,
    /// Beds within hose reach that hold raw food crops.
    pub reaches: Vec<ReachedBed>,
}

/// A bed that a hose reaches.
#[derive(Clone, PartialEq, Debug)]
pub struct ReachedBed {
    /// The bed.
    pub bed: Id,
    /// Its crops that are eaten raw.
    pub crops: Vec<String>,
}

/// Entries and signs.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct SignFacts {
    /// The entries of the site.
    pub entries: Vec<Id>,
    /// Ponds, fountains and tanks that hold the water.
    pub ponds: Vec<Id>,
    /// The signs.
    pub signs: Vec<SignPost>,
}

/// One sign.
#[derive(Clone, PartialEq, Debug)]
pub struct SignPost {
    /// The sign.
    pub subject: Id,
    /// The entry, outlet or pond it stands at.
    pub near: Option<Id>,
    /// What stands on it.
    pub lettering: Lettering,
    /// Its width.
    pub width: Option<Length>,
    /// Its height.
    pub height: Option<Length>,
}

/// What protects the drinking-water service.
#[derive(Clone, PartialEq, Debug)]
pub struct ServiceFacts {
    /// The service and its devices.
    pub subjects: Vec<Id>,
    /// The device; a device on the reclaimed line does not count.
    pub device: BackflowDevice,
}

/// The colour of one part that carries reclaimed water.
#[derive(Clone, PartialEq, Debug)]
pub struct MarkingFacts {
    /// The part.
    pub subject: Id,
    /// What it is.
    pub part: MarkedPart,
    /// Purple, or wrapped in purple tape.
    pub purple: bool,
}
