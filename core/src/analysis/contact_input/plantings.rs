//! What each plant gets, and how: fills, lines, single devices, sprays that land on it.

use std::collections::BTreeMap;

use super::{SMALLEST_OVERLAP, Sprays};
use crate::analysis::{SprayReach, ZoneAnalysis};
use crate::contact::{CropFacts, Geometry, Plant, Planting, Preparation};
use crate::geometry::Polygon;
use crate::ids::Id;
use crate::layout::bed_outline;
use crate::model::{self, BedUse, EmissionKind, Placement, Plan};
use crate::rulebook::Method;
use crate::units::{Area, Length};

/// How a planted area is watered: method, zone, overlap of a spray, what decides contact.
#[derive(Clone, PartialEq)]
struct Watering {
    method: Method,
    zone: Option<Id>,
    overlap: Option<Area>,
    apex: Option<Length>,
}

pub(super) fn plantings(
    plan: &Plan,
    water: Id,
    zones: &BTreeMap<Id, ZoneAnalysis>,
    sprays: &Sprays<'_>,
) -> Vec<Planting> {
    let zone_of = |id: Id| {
        zones
            .iter()
            .find(|(_, zone)| zone.members.contains(&id))
            .map(|(zone, _)| *zone)
    };
    let mut found = Vec::new();
    for (id, bed) in &plan.objects.beds {
        let outline = bed_outline(bed);
        let mut waterings = Vec::new();
        if let Some(fill) = bed.fill.as_ref().filter(|fill| fill.water == water) {
            add(
                &mut waterings,
                Watering {
                    method: drip(fill.placement),
                    zone: zone_of(*id),
                    overlap: None,
                    apex: None,
                },
            );
        }
        serving(plan, water, *id, &zone_of, &mut waterings);
        waterings.extend(sprayed(plan, &outline, sprays));
        for watering in &waterings {
            match bed.use_ {
                BedUse::Food => {
                    for (index, planting) in bed.plantings.iter().enumerate() {
                        found.extend(food(plan, *id, index, planting, watering));
                    }
                }
                BedUse::Lawn => found.push(plain(*id, Plant::Turf, watering)),
                BedUse::Ornamental => found.push(plain(*id, Plant::Ornamental, watering)),
            }
        }
    }
    for (id, tree) in &plan.objects.trees {
        let mut waterings = Vec::new();
        serving(plan, water, *id, &zone_of, &mut waterings);
        for (spray, reach) in sprays {
            if reach.largest.distance_to_point(tree.at) <= Length::ZERO {
                let method = spray_method(plan, *spray);
                add(
                    &mut waterings,
                    Watering {
                        method,
                        zone: reach.zone,
                        overlap: None,
                        apex: reach.largest.apex,
                    },
                );
            }
        }
        for watering in &waterings {
            match &tree.planting {
                Some(planting) => found.extend(food(plan, *id, 0, planting, watering)),
                None => found.push(plain(*id, Plant::Ornamental, watering)),
            }
        }
    }
    found
}

/// One entry a method and zone.
fn add(waterings: &mut Vec<Watering>, new: Watering) {
    let same = |known: &Watering| known.method == new.method && known.zone == new.zone;
    if !waterings.iter().any(same) {
        waterings.push(new);
    }
}

/// How sprays wet an outline: one entry a method and zone, all its heads together.
fn sprayed(plan: &Plan, outline: &Polygon, sprays: &Sprays<'_>) -> Vec<Watering> {
    let mut groups: BTreeMap<(Method, Option<Id>), Vec<&SprayReach>> = BTreeMap::new();
    for (id, reach) in sprays {
        if reach.largest.overlap(outline) > SMALLEST_OVERLAP {
            groups
                .entry((spray_method(plan, *id), reach.zone))
                .or_default()
                .push(reach);
        }
    }
    groups
        .into_iter()
        .map(|((method, zone), heads)| Watering {
            method,
            zone,
            overlap: Some(
                outline.overlap_of_all(heads.iter().flat_map(|reach| reach.largest.areas())),
            ),
            // The highest jet decides; an unknown one cannot be judged by the others.
            apex: heads
                .iter()
                .map(|reach| reach.largest.apex)
                .reduce(|a, b| Some(a?.max(b?)))
                .flatten(),
        })
        .collect()
}

/// Lines and single devices that are there for a planted area or plant.
fn serving(
    plan: &Plan,
    water: Id,
    id: Id,
    zone_of: &impl Fn(Id) -> Option<Id>,
    waterings: &mut Vec<Watering>,
) {
    for (line_id, line) in plan
        .objects
        .lines
        .iter()
        .filter(|(_, line)| line.water == water)
    {
        if line.serves.contains(&id) {
            let method = drip(line.placement);
            add(
                waterings,
                Watering {
                    method,
                    zone: zone_of(*line_id),
                    overlap: None,
                    apex: None,
                },
            );
        }
    }
    for (emission_id, emission) in plan
        .objects
        .emissions
        .iter()
        .filter(|(_, emission)| emission.water == water)
    {
        let method = match emission.kind {
            EmissionKind::Emitter => Method::SurfaceDrip,
            EmissionKind::Bubbler => Method::Flood,
            // Sprays count where their water lands, whatever they are there for.
            EmissionKind::MicroSpray | EmissionKind::Spray | EmissionKind::Rotor => continue,
        };
        if emission.serves.contains(&id) {
            add(
                waterings,
                Watering {
                    method,
                    zone: zone_of(*emission_id),
                    overlap: None,
                    apex: None,
                },
            );
        }
    }
}

const fn drip(placement: Placement) -> Method {
    match placement {
        Placement::OnSoil => Method::SurfaceDrip,
        Placement::UnderMulch => Method::DripUnderMulch,
        Placement::Buried => Method::SubsurfaceDrip,
    }
}

fn spray_method(plan: &Plan, spray: Id) -> Method {
    let kind = plan
        .objects
        .emissions
        .get(&spray)
        .map(|emission| emission.kind);
    if kind == Some(EmissionKind::MicroSpray) {
        Method::MicroSpray
    } else {
        Method::Spray
    }
}

fn plain(subject: Id, plant: Plant, watering: &Watering) -> Planting {
    Planting {
        subject,
        index: 0,
        zone: watering.zone,
        plant,
        preparation: Preparation::Unknown,
        method: watering.method,
        geometry: Geometry::default(),
        overlap: watering.overlap,
    }
}

/// A crop under a watering; `None` for a crop that the table does not have, which the drawing checks tell.
fn food(
    plan: &Plan,
    subject: Id,
    index: usize,
    planting: &model::Planting,
    watering: &Watering,
) -> Option<Planting> {
    let crop = plan.catalog.crop(&planting.crop)?;
    let mut facts = CropFacts::from_catalog(crop);
    if let Some(height) = planting.lowest_edible {
        facts = facts.at_height(height);
    }
    let jet_below = watering.apex.map(|apex| facts.lowest_edible - apex);
    Some(Planting {
        subject,
        index,
        zone: watering.zone,
        preparation: preparation(planting.preparation, crop.preparation.into()),
        method: watering.method,
        geometry: Geometry {
            jet_below,
            ..Geometry::default()
        },
        overlap: watering.overlap,
        plant: Plant::Food(facts),
    })
}

pub(super) const fn preparation(told: model::Preparation, usual: Preparation) -> Preparation {
    match told {
        model::Preparation::Usual => usual,
        model::Preparation::Raw => Preparation::Raw,
        model::Preparation::SkinRemoved => Preparation::SkinRemoved,
        model::Preparation::Cooked => Preparation::Cooked,
        model::Preparation::Unknown => Preparation::Unknown,
    }
}
