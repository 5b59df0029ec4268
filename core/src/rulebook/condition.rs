//! The closed conditions of a row: lists of words and flags, no expressions. An empty list asks nothing.

use super::kinds::{ContactTest, Method, PlantKind, Position, Prepared, Reach, SiteKind};

/// The word that stands for a class nobody has told.
pub const UNKNOWN_CLASS: &str = "unknown";

/// What must hold for a row to apply.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct When {
    /// Water classes of the book; `unknown` only in a book that judges it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub classes: Vec<String>,
    /// Kinds of site.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub sites: Vec<SiteKind>,
    /// What is grown.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub plants: Vec<PlantKind>,
    /// How it is eaten; food only.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub preparations: Vec<Prepared>,
    /// Where the edible part sits; food only.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub positions: Vec<Position>,
    /// How the water comes.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub methods: Vec<Method>,
    /// What the water reaches; food only.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub reaches: Vec<Reach>,
    /// Whether the edible part counts as touched under the book's contact test; food only.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub touched: Option<bool>,
    /// Citrus or not; food only.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub citrus: Option<bool>,
    /// Nut tree or not; food only.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nut: Option<bool>,
    /// Tree or not; food only.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tree: Option<bool>,
    /// Orchard or vineyard (tree or vine) or not; food only.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub orchard: Option<bool>,
}

/// A food plant with every fact known.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct FoodCell {
    /// Where the edible part sits.
    pub position: Position,
    /// Citrus.
    pub citrus: bool,
    /// Nut tree.
    pub nut: bool,
    /// Tree.
    pub tree: bool,
    /// Vine.
    pub vine: bool,
    /// How it is eaten.
    pub prepared: Prepared,
    /// What the water reaches.
    pub reach: Reach,
}

/// What is grown, with every fact known.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum PlantCell {
    /// Something to eat.
    Food(FoodCell),
    /// Lawn.
    Turf,
    /// Anything else.
    Ornamental,
}

impl PlantCell {
    /// Its kind.
    #[must_use]
    pub const fn kind(&self) -> PlantKind {
        match self {
            Self::Food(_) => PlantKind::Food,
            Self::Turf => PlantKind::Turf,
            Self::Ornamental => PlantKind::Ornamental,
        }
    }
}

/// One case with every fact known: what the rows of a book are compared with.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Cell<'a> {
    /// Water class.
    pub class: &'a str,
    /// Kind of site.
    pub site: SiteKind,
    /// How the water comes; never by hand.
    pub method: Method,
    /// What is grown.
    pub plant: PlantCell,
}

fn asks<T: PartialEq>(list: &[T], value: &T) -> bool {
    list.is_empty() || list.contains(value)
}

fn wants(flag: Option<bool>, value: bool) -> bool {
    flag.is_none_or(|wanted| wanted == value)
}

impl When {
    /// Whether the class and site fit.
    #[must_use]
    pub fn fits_place(&self, class: &str, site: SiteKind) -> bool {
        (self.classes.is_empty() || self.classes.iter().any(|known| known == class))
            && asks(&self.sites, &site)
    }

    /// Whether the row applies to a case.
    #[must_use]
    pub fn fits(&self, cell: &Cell<'_>, test: ContactTest) -> bool {
        self.fits_place(cell.class, cell.site)
            && asks(&self.plants, &cell.plant.kind())
            && asks(&self.methods, &cell.method)
            && match cell.plant {
                PlantCell::Food(food) => self.fits_food(food, test),
                PlantCell::Turf | PlantCell::Ornamental => !self.speaks_of_food(),
            }
    }

    fn fits_food(&self, food: FoodCell, test: ContactTest) -> bool {
        asks(&self.preparations, &food.prepared)
            && asks(&self.positions, &food.position)
            && asks(&self.reaches, &food.reach)
            && wants(self.touched, test.touched(food.position, food.reach))
            && wants(self.citrus, food.citrus)
            && wants(self.nut, food.nut)
            && wants(self.tree, food.tree)
            && wants(self.orchard, food.tree || food.vine)
    }

    /// Whether it asks for something that only food has.
    fn speaks_of_food(&self) -> bool {
        !(self.preparations.is_empty() && self.positions.is_empty() && self.reaches.is_empty())
            || [self.touched, self.citrus, self.nut, self.tree, self.orchard]
                .iter()
                .any(Option::is_some)
    }
}
