//! What each plant gets, and how: fills, lines, single devices, sprays that land on it.

use std::collections::{BTreeMap, BTreeSet};

use super::Sprays;
use super::grounds::{Grounds, Watering};
use crate::analysis::ZoneAnalysis;
use crate::contact::{CropFacts, Geometry, Plant, Planting, Preparation};
use crate::geometry::Polygon;
use crate::ids::Id;
use crate::layout::bed_outline;
use crate::model::{self, BedUse, EmissionKind, Placement, Plan, Tree};
use crate::rulebook::Method;
use crate::units::{Angle, Length};

pub(super) fn plantings(
    plan: &Plan,
    water: Id,
    zones: &BTreeMap<Id, ZoneAnalysis>,
    sprays: &Sprays<'_>,
    grounds: &mut Grounds,
    only: Option<&BTreeSet<Id>>,
) -> Vec<Planting> {
    let is_wanted = |id: &Id| only.is_none_or(|only| only.contains(id));
    let zone_of = |id: Id| {
        zones
            .iter()
            .find(|(_, zone)| zone.members.contains(&id))
            .map(|(zone, _)| *zone)
    };
    let mut serving: BTreeMap<Id, Vec<(Id, Method)>> = BTreeMap::new();
    for ((device, method, _), served) in servers(plan).filter(|((_, _, of), _)| *of == water) {
        for area in served {
            serving.entry(*area).or_default().push((device, method));
        }
    }
    let served = |id: Id, waterings: &mut Vec<Watering>| {
        for (device, method) in serving.get(&id).into_iter().flatten() {
            let watering = Watering {
                method: *method,
                zone: zone_of(*device),
                overlap: None,
                apex: None,
            };
            add(waterings, watering);
        }
    };
    let mut found = Vec::new();
    for (id, bed) in plan.objects.beds.iter().filter(|(id, _)| is_wanted(id)) {
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
        served(*id, &mut waterings);
        waterings.extend(
            grounds
                .of(plan, (water, *id), &outline, sprays)
                .iter()
                .cloned(),
        );
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
    for (id, tree) in plan.objects.trees.iter().filter(|(id, _)| is_wanted(id)) {
        let mut waterings = Vec::new();
        served(*id, &mut waterings);
        let crown = crown(tree);
        let known = grounds.of(plan, (water, *id), &crown, sprays);
        waterings.extend(known.iter().cloned());
        for watering in &waterings {
            match &tree.planting {
                Some(planting) => found.extend(food(plan, *id, 0, planting, watering)),
                None => found.push(plain(*id, Plant::Ornamental, watering)),
            }
        }
    }
    found
}

/// What a spray must not wet of a tree: its crown, or the place where it stands if nobody said how wide that is.
pub(in crate::analysis) fn crown(tree: &Tree) -> Polygon {
    let whole = (Angle::ZERO, Angle::from_degrees(360.0));
    match tree.canopy.filter(|width| *width > Length::ZERO) {
        Some(width) => Polygon::sector(tree.at, width * 0.5, whole.0, whole.1),
        None => Polygon(vec![tree.at]),
    }
}

/// One entry a method and zone.
fn add(waterings: &mut Vec<Watering>, new: Watering) {
    let same = |known: &Watering| known.method == new.method && known.zone == new.zone;
    if !waterings.iter().any(same) {
        waterings.push(new);
    }
}

/// A line or a single device, its method and its water.
type Server = (Id, Method, Id);

/// Lines and single devices that are there for planted areas or plants, each with what it serves. Sprays count where their
/// water lands, whatever they are there for.
fn servers(plan: &Plan) -> impl Iterator<Item = (Server, &[Id])> {
    let lines = plan.objects.lines.iter();
    let lines = lines.map(|(id, line)| {
        let server = (*id, drip(line.placement), line.water);
        (server, &line.serves[..])
    });
    let emissions = plan.objects.emissions.iter();
    let emissions = emissions.filter_map(|(id, emission)| {
        let method = match emission.kind {
            EmissionKind::Emitter => Method::SurfaceDrip,
            EmissionKind::Bubbler => Method::Flood,
            EmissionKind::MicroSpray | EmissionKind::Spray | EmissionKind::Rotor => return None,
        };
        Some(((*id, method, emission.water), &emission.serves[..]))
    });
    lines.chain(emissions)
}

/// What is there for a planting by its method: the fill of its bed, lines, single devices, each with the key of the sentence
/// that says so.
pub(in crate::analysis) fn drip_behind(
    plan: &Plan,
    zone: Option<&ZoneAnalysis>,
    planting: &Planting,
) -> Vec<(Id, &'static str)> {
    let fill = plan.objects.beds.get(&planting.subject);
    let fill = fill.and_then(|bed| bed.fill.as_ref());
    let filled = fill.filter(|fill| drip(fill.placement) == planting.method);
    let filled = filled.map(|_| (planting.subject, "cause.fill"));
    let served = servers(plan)
        .filter(|((_, method, _), served)| {
            *method == planting.method && served.contains(&planting.subject)
        })
        .map(|((id, ..), _)| (id, "cause.serves"));
    let is_of_zone = |id: Id| zone.is_none_or(|zone| zone.members.contains(&id));
    filled
        .into_iter()
        .chain(served)
        .filter(|(id, _)| is_of_zone(*id))
        .collect()
}

const fn drip(placement: Placement) -> Method {
    match placement {
        Placement::OnSoil => Method::SurfaceDrip,
        Placement::UnderMulch => Method::DripUnderMulch,
        Placement::Buried => Method::SubsurfaceDrip,
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
            surfaces: planting.surface_stays_dry.then_some(false),
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
