//! The closed words that rules and plans share: sites, methods, preparations, what water reaches, places, units.

use crate::units::Length;

pub use crate::catalog::crops::Position;

/// Defines a plain enum with a serde name, a list of all values and a text key.
macro_rules! words {
    ($(#[$doc:meta])* $Name:ident, $prefix:literal, { $($(#[$value_doc:meta])* $Value:ident = $word:literal,)+ }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize)]
        pub enum $Name {
            $($(#[$value_doc])* #[serde(rename = $word)] $Value,)+
        }

        impl $Name {
            /// Every value.
            pub const ALL: &'static [Self] = &[$(Self::$Value),+];

            /// The word in files.
            #[must_use]
            pub const fn word(self) -> &'static str {
                match self { $(Self::$Value => $word,)+ }
            }

            /// The key of the words for people.
            #[must_use]
            pub const fn key(self) -> &'static str {
                match self { $(Self::$Value => concat!($prefix, ".", $word),)+ }
            }
        }
    };
}

words! {
    /// What sort of site it is.
    SiteKind, "site", {
        /// One household's own land.
        ResidenceIndividual = "residence_individual",
        /// Common land of several households.
        ResidenceCommon = "residence_common",
        /// Beds that many people share.
        CommunityGarden = "community_garden",
        /// A school, playground or park.
        SchoolPark = "school_park",
        /// A farm; not a landscape system.
        Farm = "farm",
    }
}

#[expect(
    clippy::derivable_impls,
    reason = "the macro cannot mark one value as the default"
)]
impl Default for SiteKind {
    fn default() -> Self {
        Self::ResidenceIndividual
    }
}

words! {
    /// How the water gets to the plant.
    Method, "method", {
        /// Spray heads and rotors.
        Spray = "spray",
        /// Micro-spray.
        MicroSpray = "micro_spray",
        /// Emitter line on the soil.
        SurfaceDrip = "surface_drip",
        /// Emitter line under a mulch.
        DripUnderMulch = "drip_under_mulch",
        /// Buried emitter line.
        SubsurfaceDrip = "subsurface_drip",
        /// Water in furrows between ridges.
        RidgeFurrow = "ridge_furrow",
        /// Bubbler, basin.
        Flood = "flood",
        /// Hose or can. Rules never name it: it counts as spray, or as surface drip when held at the base.
        Hand = "hand",
    }
}

words! {
    /// What is grown.
    PlantKind, "plant", {
        /// Something to eat.
        Food = "food",
        /// Lawn.
        Turf = "turf",
        /// Anything else that nobody eats.
        Ornamental = "ornamental",
    }
}

words! {
    /// What is done to the crop before it is eaten, as far as the rules care.
    Prepared, "prepared", {
        /// Raw, with its skin.
        Raw = "raw",
        /// Skin, rind, husk or shell removed.
        SkinRemoved = "skin_removed",
        /// Cooked by who eats it.
        Cooked = "cooked",
        /// Pasteurised, or put through a commercial process that destroys germs.
        Pasteurised = "pasteurised",
    }
}

words! {
    /// What the water reaches, all geometry known.
    Reach, "reach", {
        /// The edible part itself.
        Direct = "direct",
        /// Soil that the edible part lies in or on.
        WetSoil = "wet_soil",
        /// Neither.
        Nothing = "nothing",
        /// Neither, but the edible part is under 25 cm: splash.
        NothingLow = "nothing_low",
    }
}

words! {
    /// Which question a book asks about contact.
    ContactTest, "contact_test", {
        /// Does the method put water on the edible part? Wet soil counts only for what grows in it.
        Method = "method",
        /// Does water, or soil that it wetted, touch the edible part?
        WaterOrSoil = "water_or_soil",
    }
}

impl ContactTest {
    /// Whether the edible part counts as touched.
    #[must_use]
    pub fn touched(self, position: Position, reach: Reach) -> bool {
        match reach {
            Reach::Direct => true,
            Reach::WetSoil => self == Self::WaterOrSoil || position == Position::Below,
            Reach::Nothing | Reach::NothingLow => false,
        }
    }
}

words! {
    /// Who wrote a book.
    Layer, "layer", {
        /// State or national rule.
        State = "state",
        /// Town, county or district rule.
        Local = "local",
        /// Terms of the water supplier.
        Supplier = "supplier",
        /// Plumbing code.
        Plumbing = "plumbing",
        /// Health guideline or default.
        Guideline = "guideline",
        /// Advice of an extension service.
        Extension = "extension",
    }
}

words! {
    /// How sure we are of a row.
    Confidence, "confidence", {
        /// Sure.
        High = "high",
        /// Rather sure.
        Medium = "medium",
        /// Not sure.
        Low = "low",
    }
}

words! {
    /// Where a distance starts or ends.
    Place, "place", {
        /// Outermost point that any method wets, drift included. Passed for every wetted area, sprays too.
        WettedEdge = "wetted_edge",
        /// The same for sprays only; passed beside `WettedEdge`.
        SprayEdge = "spray_edge",
        /// A pipe of reclaimed water.
        ReclaimedPipe = "reclaimed_pipe",
        /// A pond or tank of reclaimed water.
        Impoundment = "impoundment",
        /// A well that a household drinks from.
        DomesticWell = "domestic_well",
        /// A well of a public water system.
        PublicWell = "public_well",
        /// A well whose use is not known.
        UnknownWell = "unknown_well",
        /// A well nobody drinks from.
        OtherWell = "other_well",
        /// Where people eat outdoors.
        EatingArea = "eating_area",
        /// Where food is prepared or handed out.
        FoodPlace = "food_place",
        /// A drinking fountain.
        DrinkingFountain = "drinking_fountain",
        /// A house.
        Building = "building",
        /// Land of somebody else.
        Neighbour = "neighbour",
        /// The property line, where a book sets a distance to it.
        PropertyLine = "property_line",
        /// A road.
        Road = "road",
        /// A drinking-water main of a utility.
        PotableMain = "potable_main",
        /// A drinking-water pipe of the yard.
        PotableYardLine = "potable_yard_line",
        /// A sewer.
        Sewer = "sewer",
        /// A pool or spa.
        Pool = "pool",
        /// Where children play.
        PlayArea = "play_area",
        /// Where animals live, eat or drink.
        PetArea = "pet_area",
        /// Pond, stream, ditch.
        SurfaceWater = "surface_water",
    }
}

words! {
    /// What may release from a distance when a person declares it.
    Relief, "relief", {
        /// Every condition of the rule's exemption for this well, the owner's written consent included.
        WellExemption = "well_exemption",
        /// Low-trajectory nozzles or another way to keep fine drops down.
        LowTrajectory = "low_trajectory",
    }
}

words! {
    /// What protects the drinking-water service.
    BackflowDevice, "device", {
        /// Nothing.
        None = "none",
        /// Air gap.
        AirGap = "air_gap",
        /// Reduced-pressure assembly.
        ReducedPressure = "reduced_pressure",
        /// Double check assembly.
        DoubleCheck = "double_check",
        /// Dual check.
        DualCheck = "dual_check",
        /// Any vacuum breaker.
        VacuumBreaker = "vacuum_breaker",
        /// Nobody looked.
        Unknown = "unknown",
    }
}

words! {
    /// A property of an outlet.
    OutletTrait, "outlet_trait", {
        /// Cannot take a standard hose.
        NoHoseThread = "no_hose_thread",
        /// Behind a lock.
        Locked = "locked",
        /// Worked only by a special tool.
        SpecialTool = "special_tool",
        /// In a box or vault of its own.
        InBox = "in_box",
        /// Below the ground.
        BelowGround = "below_ground",
        /// Labelled as the row asks.
        Labelled = "labelled",
        /// Purple.
        Purple = "purple",
    }
}

words! {
    /// Where a sign stands.
    SignPlace, "sign_place", {
        /// At every entry to the site.
        Entry = "entry",
        /// At every outlet of reclaimed water.
        Outlet = "outlet",
        /// At every pond, fountain or tank of reclaimed water.
        Pond = "pond",
    }
}

words! {
    /// A part that may have to be purple.
    MarkedPart, "part", {
        /// A pipe.
        Pipe = "pipe",
        /// An emitter line or its tubing.
        EmitterLine = "emitter_line",
        /// A valve, its box or lid.
        Valve = "valve",
        /// An outlet.
        Outlet = "outlet",
    }
}

words! {
    /// A unit of length in which a source writes a limit.
    LimitUnit, "unit", {
        /// Inches.
        Inches = "in",
        /// Feet.
        Feet = "ft",
        /// Metres.
        Metres = "m",
    }
}

/// A limit as its source writes it.
#[derive(Clone, Copy, PartialEq, PartialOrd, Debug, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: LimitUnit,
}

/// What a distance may lack and still pass: the resolution of the drawing.
pub const DRAWING_RESOLUTION: Length = Length::from_millimetres(0.1);

impl Limit {
    /// A limit in feet.
    #[must_use]
    pub const fn feet(value: f64) -> Self {
        Self {
            value,
            unit: LimitUnit::Feet,
        }
    }

    /// As a length.
    #[must_use]
    pub const fn length(self) -> Length {
        match self.unit {
            LimitUnit::Inches => Length::from_inches(self.value),
            LimitUnit::Feet => Length::from_feet(self.value),
            LimitUnit::Metres => Length::from_metres(self.value),
        }
    }

    /// A length in the unit of this limit.
    #[must_use]
    pub const fn in_unit(self, length: Length) -> f64 {
        match self.unit {
            LimitUnit::Inches => length.inches(),
            LimitUnit::Feet => length.feet(),
            LimitUnit::Metres => length.metres(),
        }
    }

    /// Whether a distance is at least this, compared in the unit of the source.
    #[must_use]
    pub fn is_met_by(self, distance: Length) -> bool {
        // A hair for the rounding of the conversion, far below what can be drawn.
        const HAIR: Length = Length::from_metres(1e-9);
        self.in_unit(distance) >= self.value - self.in_unit(DRAWING_RESOLUTION + HAIR)
    }
}

/// The five verdicts, the laxest first, so that the strictest is the maximum.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// No conflict found.
    NoConflict,
    /// Allowed with conditions.
    Conditions,
    /// Allowed if processed.
    IfProcessed,
    /// Ask the authority.
    Ask,
    /// Not allowed.
    Prohibit,
}

impl Verdict {
    /// The key of the words on screen.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::NoConflict => "verdict.no_conflict",
            Self::Conditions => "verdict.conditions",
            Self::IfProcessed => "verdict.if_processed",
            Self::Ask => "verdict.ask",
            Self::Prohibit => "verdict.prohibit",
        }
    }

    /// Whether it lets the water be used without another word from anybody.
    #[must_use]
    pub const fn allows(self) -> bool {
        matches!(self, Self::NoConflict | Self::Conditions)
    }
}
