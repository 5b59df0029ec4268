//! What water reaches on a plant: edible position × method × geometry → contact code, by the rules that generate the
//! codes of the crop table (section 8 of the rule report; the clearances are those of ISO 16075-2, from memory).

use super::input::{CropFacts, Geometry};
use super::result::Fact;
use crate::rulebook::{Method, Position, Reach};
use crate::units::Length;

/// What is known about contact from position and method alone.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Contact {
    /// Water lands on the edible part.
    D,
    /// The edible part lies in or on wet soil.
    W,
    /// Neither.
    N,
    /// Neither, as long as water from a buried line never comes to the surface.
    N1,
    /// Neither, but the edible part is under 25 cm: splash.
    N2,
    /// Depends on geometry.
    G,
}

impl Contact {
    /// The letter code.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::D => "D",
            Self::W => "W",
            Self::N => "N",
            Self::N1 => "N1",
            Self::N2 => "N2",
            Self::G => "G",
        }
    }

    /// The key of the words for people.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::D => "contact.d",
            Self::W => "contact.w",
            Self::N => "contact.n",
            Self::N1 => "contact.n1",
            Self::N2 => "contact.n2",
            Self::G => "contact.g",
        }
    }
}

/// The contact code of a position and a method. Watering by hand is judged as its worst, spray.
///
/// ```
/// use aubergine_core::contact::{Contact, contact_of};
/// use aubergine_core::rulebook::{Method, Position};
/// assert_eq!(contact_of(Position::Mid, Method::MicroSpray), Contact::G);
/// ```
#[must_use]
pub const fn contact_of(position: Position, method: Method) -> Contact {
    use Contact::{D, G, N, N1, N2, W};
    use Position::{Below, High, Low, Mid, Surface, Tree};
    match (position, method) {
        (Below, _) | (Surface, Method::SurfaceDrip) => W,
        (_, Method::Spray | Method::Hand)
        | (Surface | Low, Method::MicroSpray)
        | (Surface, Method::Flood) => D,
        (Mid | High | Tree, Method::MicroSpray)
        | (Surface, Method::RidgeFurrow)
        | (Low, Method::Flood) => G,
        (_, Method::SubsurfaceDrip) => N1,
        (Low, Method::SurfaceDrip | Method::RidgeFurrow) => N2,
        (_, Method::DripUnderMulch)
        | (Mid | High | Tree, Method::SurfaceDrip | Method::RidgeFurrow | Method::Flood) => N,
    }
}

/// How far the top of a micro-spray jet must stay below the lowest edible part.
#[must_use]
pub const fn jet_clearance(position: Position) -> Length {
    match position {
        Position::Mid => Length::from_metres(0.25),
        _ => Length::from_metres(0.50),
    }
}

/// One way things may be: the method as the rules see it, and what the water reaches.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Touch {
    /// Never by hand.
    pub method: Method,
    /// What it reaches.
    pub reach: Reach,
}

/// Every way that the known facts leave open, and the fact that would settle it when there are several.
#[must_use]
pub fn touches(
    crop: &CropFacts,
    method: Method,
    geometry: &Geometry,
) -> (Vec<Touch>, Option<Fact>) {
    if method == Method::Hand {
        let (spray, _) = touches(crop, Method::Spray, geometry);
        let (base, _) = touches(crop, Method::SurfaceDrip, geometry);
        return match geometry.hand_at_base {
            Some(true) => (base, None),
            Some(false) => (spray, None),
            None => (
                spray.into_iter().chain(base).collect(),
                Some(Fact::HandAtBase),
            ),
        };
    }
    let good = |low: bool| {
        if low {
            Reach::NothingLow
        } else {
            Reach::Nothing
        }
    };
    let settled = |answer: Option<bool>, bad: Reach, fact: Fact| match answer {
        Some(true) => (vec![good(false)], None),
        Some(false) => (vec![bad], None),
        None => (vec![good(false), bad], Some(fact)),
    };
    let (reaches, fact) = match contact_of(crop.position, method) {
        Contact::D => (vec![Reach::Direct], None),
        Contact::W => (vec![Reach::WetSoil], None),
        Contact::N => (vec![good(false)], None),
        Contact::N2 => (vec![good(true)], None),
        Contact::N1 => settled(
            geometry.surfaces.map(|surfaces| !surfaces),
            Reach::WetSoil,
            Fact::Surfacing,
        ),
        Contact::G => match method {
            Method::MicroSpray => settled(
                geometry
                    .jet_below
                    .map(|below| below >= jet_clearance(crop.position)),
                Reach::Direct,
                Fact::JetClearance,
            ),
            Method::RidgeFurrow => settled(geometry.edible_on_ridge, Reach::Direct, Fact::OnRidge),
            _ => settled(
                geometry.flood_depth.map(|depth| depth < crop.lowest_edible),
                Reach::Direct,
                Fact::FloodDepth,
            ),
        },
    };
    let is_soil_dry = matches!(method, Method::SubsurfaceDrip | Method::DripUnderMulch);
    let picked_up = |reach: Reach| match reach {
        Reach::Nothing | Reach::NothingLow if geometry.windfall && !is_soil_dry => Reach::WetSoil,
        reach => reach,
    };
    let touches = reaches
        .into_iter()
        .map(|reach| Touch {
            method,
            reach: picked_up(reach),
        })
        .collect();
    (touches, fact)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::crops::crops;
    use crate::rulebook::reaches;

    const CODES: &str = include_str!("../../../tests/cases/contact-codes.csv");
    const METHODS: [Method; 7] = [
        Method::Spray,
        Method::MicroSpray,
        Method::SurfaceDrip,
        Method::DripUnderMulch,
        Method::SubsurfaceDrip,
        Method::RidgeFurrow,
        Method::Flood,
    ];

    #[test]
    fn the_generated_codes_equal_the_crop_table() {
        let mut num_codes = 0;
        for row in CODES.lines().skip(1) {
            let mut cells = row.split(',');
            let crop = &crops()[cells.next().unwrap()];
            for (method, code) in METHODS.iter().zip(cells) {
                let contact = contact_of(crop.position, *method);
                assert_eq!(contact.code(), code, "{} {method:?}", crop.id);
                num_codes += 1;
            }
        }
        assert_eq!(num_codes, 103 * 7);
    }

    /// The totality proof of the books rests on this list of outcomes.
    #[test]
    fn every_outcome_is_among_those_the_books_are_checked_with() {
        let answers = [None, Some(false), Some(true)];
        for crop in crops().values() {
            let facts = CropFacts::from_catalog(crop);
            for method in METHODS {
                for answer in answers {
                    for windfall in [false, true] {
                        let geometry = Geometry {
                            surfaces: answer,
                            jet_below: answer
                                .map(|yes| Length::from_metres(if yes { 0.6 } else { 0.1 })),
                            edible_on_ridge: answer,
                            flood_depth: answer
                                .map(|yes| Length::from_metres(if yes { 0.01 } else { 0.3 })),
                            hand_at_base: None,
                            windfall,
                        };
                        for touch in touches(&facts, method, &geometry).0 {
                            assert!(
                                reaches(crop.position, method).contains(&touch.reach),
                                "{} {touch:?}",
                                crop.id
                            );
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn a_jet_must_stay_half_a_metre_below_fruit_on_a_tree() {
        let apple = CropFacts::from_catalog(&crops()["apple"]);
        let with = |metres: f64| {
            let geometry = Geometry {
                jet_below: Some(Length::from_metres(metres)),
                ..Geometry::default()
            };
            touches(&apple, Method::MicroSpray, &geometry).0[0].reach
        };
        assert_eq!((with(0.49), with(0.50)), (Reach::Direct, Reach::Nothing));
    }
}
