//! Fills the contact input from the drawing and the solved zones: what each plant gets and how, and what lies how near.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::{SprayReach, ZoneAnalysis, separation};
use crate::contact::{
    CropFacts, Geometry, Input, Lettering, MarkingFacts, MeasuredDistance, OutletFacts, Plant,
    Planting, Preparation, ReachedBed, ServiceFacts, SignFacts, SignPost,
};
use crate::geometry::{PlanPoint, Polygon};
use crate::ids::Id;
use crate::layout::bed_outline;
use crate::model::{
    self, BedUse, DeviceKind, EmissionKind, FeatureKind, MarkKind, Placement, Plan, WaterKind,
    integrity,
};
use crate::rulebook::{
    self, BackflowDevice, Limit, MarkedPart, Method, Place, Relief, Rulebook, SiteKind,
    built_in_book,
};
use crate::units::{Area, Length};

/// How far a garden hose is taken to reach: 50 ft (common practice, no source).
pub const HOSE_REACH: Length = Length::from_metres(15.24);
/// Overlaps below this are drawing noise.
const SMALLEST_OVERLAP: Area = Area::from_square_metres(0.01);

/// The input for one water.
pub(super) fn of_water(
    plan: &Plan,
    water: Id,
    zones: &BTreeMap<Id, ZoneAnalysis>,
    sprays: &BTreeMap<Id, SprayReach>,
) -> Input {
    let books = books(plan);
    let is_reclaimed = plan
        .objects
        .waters
        .get(&water)
        .is_some_and(|water| water.kind == WaterKind::Reclaimed);
    let site = plan.site.kind;
    let sprays: Sprays<'_> = sprays
        .iter()
        .filter(|(id, _)| integrity::water_of(&plan.objects, **id) == Some(water))
        .map(|(id, reach)| (*id, reach))
        .collect();
    let mut input = Input {
        water_class: plan
            .objects
            .waters
            .get(&water)
            .map_or("unknown", |water| water.class.as_str())
            .to_owned(),
        site,
        shared_beds: matches!(site, SiteKind::CommunityGarden | SiteKind::SchoolPark),
        plantings: plantings(plan, water, zones, &sprays),
        distances: distances(plan, water, &sprays),
        ..Input::default()
    };
    if is_reclaimed {
        let refs: Vec<&Rulebook> = judging_books(&books);
        let limits = |place: Place| -> Vec<Limit> {
            rulebook::limits(&refs, site, Place::ReclaimedPipe, place)
        };
        input
            .distances
            .extend(separation::side_by_side(plan, water, limits));
        input.crossings = separation::crossings(plan, water);
        input.outlets = outlets(plan, water);
        input.signs = signs(plan);
        input.service = service(plan);
        let pipes = plan
            .objects
            .pipes
            .iter()
            .filter(|(_, pipe)| pipe.water == water);
        input.marking = pipes
            .map(|(id, pipe)| MarkingFacts {
                subject: *id,
                part: MarkedPart::Pipe,
                purple: pipe.purple,
            })
            .collect();
    }
    input.books = books;
    input
}

type Sprays<'a> = BTreeMap<Id, &'a SprayReach>;

/// The books of the plan: those it carries, or the program's of that name.
fn books(plan: &Plan) -> Vec<Arc<Rulebook>> {
    let carried = |id: &String| {
        plan.rules
            .books
            .get(id)
            .map(|carried| Arc::clone(&carried.book))
    };
    let own = |id: &String| built_in_book(id).cloned().map(Arc::new);
    plan.rules
        .in_force
        .iter()
        .filter_map(|id| carried(id).or_else(|| own(id)))
        .collect()
}

/// The books that judge places: the generic one when nothing binding is chosen, as `contact` does.
fn judging_books(books: &[Arc<Rulebook>]) -> Vec<&Rulebook> {
    let mut refs: Vec<&Rulebook> = books.iter().map(AsRef::as_ref).collect();
    if !refs.iter().any(|book| book.binding && !book.overlay) {
        refs.extend(built_in_book(rulebook::GENERIC));
    }
    refs
}

/// How a planted area is watered: method, zone, overlap of a spray, what decides contact.
#[derive(Clone, PartialEq)]
struct Watering {
    method: Method,
    zone: Option<Id>,
    overlap: Option<Area>,
    apex: Option<Length>,
}

fn plantings(
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

const fn preparation(told: model::Preparation, usual: Preparation) -> Preparation {
    match told {
        model::Preparation::Usual => usual,
        model::Preparation::Raw => Preparation::Raw,
        model::Preparation::SkinRemoved => Preparation::SkinRemoved,
        model::Preparation::Cooked => Preparation::Cooked,
        model::Preparation::Unknown => Preparation::Unknown,
    }
}

/// Ground that a water wets: outlines of filled beds, corridors of lines, sectors of sprays.
fn distances(plan: &Plan, water: Id, sprays: &Sprays<'_>) -> Vec<MeasuredDistance> {
    let mut found = Vec::new();
    let drips = drip_areas(plan, water);
    for (mark_id, mark) in &plan.objects.marks {
        let to = match mark.kind {
            MarkKind::DomesticWell => Place::DomesticWell,
            MarkKind::PublicWell => Place::PublicWell,
            MarkKind::OtherWell => Place::OtherWell,
            MarkKind::Entry | MarkKind::TestPoint => continue,
        };
        let reliefs = if mark.exemption_met {
            vec![Relief::WellExemption]
        } else {
            vec![]
        };
        let from_sprays = sprays
            .iter()
            .map(|(id, reach)| (*id, reach.largest.distance_to_point(mark.at)));
        let from_drips = drips
            .iter()
            .map(|(id, area)| (*id, area.distance_to_point(mark.at)));
        let nearest = from_sprays
            .chain(from_drips)
            .min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
        if let Some((id, distance)) = nearest {
            found.push(MeasuredDistance {
                reliefs,
                ..measured(Place::WettedEdge, to, vec![id, *mark_id], distance)
            });
        }
    }
    for (feature_id, feature) in &plan.objects.features {
        let to = feature_place(feature.kind);
        for (id, reach) in sprays {
            let wetted = &reach.largest;
            let overlap = wetted.overlap(&feature.outline);
            let overlap = if overlap > SMALLEST_OVERLAP {
                overlap
            } else {
                Area::ZERO
            };
            let reach_into = if overlap > Area::ZERO {
                depth_into(&wetted.drifted, &feature.outline)
            } else {
                Length::ZERO
            };
            let subjects = vec![*id, *feature_id];
            let base = MeasuredDistance {
                overlap,
                reach_into,
                ..measured(
                    Place::WettedEdge,
                    to,
                    subjects,
                    wetted.distance(&feature.outline),
                )
            };
            found.push(MeasuredDistance {
                from: Place::SprayEdge,
                ..base.clone()
            });
            found.push(base);
        }
        for (id, area) in &drips {
            let overlap = area.overlap(&feature.outline);
            let overlap = if overlap > SMALLEST_OVERLAP {
                overlap
            } else {
                Area::ZERO
            };
            let reach_into = if overlap > Area::ZERO {
                depth_into(area, &feature.outline)
            } else {
                Length::ZERO
            };
            let distance = area.distance(&feature.outline);
            let base = measured(Place::WettedEdge, to, vec![*id, *feature_id], distance);
            found.push(MeasuredDistance {
                overlap,
                reach_into,
                ..base
            });
        }
    }
    found.extend(over_the_line(plan, sprays));
    found
}

/// Sprays against the property line: all land beyond it is somebody else's.
fn over_the_line(plan: &Plan, sprays: &Sprays<'_>) -> Vec<MeasuredDistance> {
    let outline = &plan.site.outline;
    if outline.0.len() < 3 {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (id, reach) in sprays {
        let (still, drifted) = reach.largest.beyond(outline);
        // What the head throws over is told; drift alone is told only where the throw itself stays inside.
        let reach_into = if still > Length::ZERO { still } else { drifted };
        let inside = if drifted > Length::ZERO {
            Length::ZERO
        } else {
            inner_distance(&reach.largest.drifted, outline)
        };
        for from in [Place::SprayEdge, Place::WettedEdge] {
            for to in [Place::Neighbour, Place::PropertyLine] {
                found.push(MeasuredDistance {
                    reach_into,
                    ..measured(from, to, vec![*id], inside)
                });
            }
        }
    }
    found
}

fn measured(from: Place, to: Place, subjects: Vec<Id>, distance: Length) -> MeasuredDistance {
    MeasuredDistance {
        from,
        to,
        subjects,
        distance,
        reach_into: Length::ZERO,
        overlap: Area::ZERO,
        length_under: Vec::new(),
        above: None,
        reliefs: Vec::new(),
    }
}

const fn feature_place(kind: FeatureKind) -> Place {
    match kind {
        FeatureKind::Building => Place::Building,
        FeatureKind::HardSurface => Place::Road,
        FeatureKind::EatingArea => Place::EatingArea,
        FeatureKind::PlayArea => Place::PlayArea,
        FeatureKind::PetArea => Place::PetArea,
        FeatureKind::Pool => Place::Pool,
        FeatureKind::WaterBody => Place::SurfaceWater,
        FeatureKind::NeighbourLand => Place::Neighbour,
    }
}

/// The planted areas that drip of a water wets. Lines wet the areas they serve; a line that serves none wets its own path.
fn drip_areas(plan: &Plan, water: Id) -> Vec<(Id, Polygon)> {
    let objects = &plan.objects;
    let mut served: BTreeSet<Id> = BTreeSet::new();
    let mut areas: Vec<(Id, Polygon)> = Vec::new();
    for (id, bed) in &objects.beds {
        if bed.fill.as_ref().is_some_and(|fill| fill.water == water) {
            served.insert(*id);
        }
    }
    for (id, line) in objects.lines.iter().filter(|(_, line)| line.water == water) {
        let beds = line
            .serves
            .iter()
            .filter(|bed| objects.beds.contains_key(bed));
        served.extend(beds);
        areas.push((*id, Polygon(line.vertices.0.clone())));
    }
    for (id, emission) in objects
        .emissions
        .iter()
        .filter(|(_, emission)| emission.water == water)
    {
        if !emission.kind.sprays() {
            served.extend(
                emission
                    .serves
                    .iter()
                    .filter(|bed| objects.beds.contains_key(bed)),
            );
            areas.push((*id, Polygon(vec![emission.at])));
        }
    }
    areas.extend(
        served
            .into_iter()
            .filter_map(|id| Some((id, bed_outline(objects.beds.get(&id)?)))),
    );
    areas
}

/// How deep one outline reaches into another.
fn depth_into(wetted: &Polygon, area: &Polygon) -> Length {
    let boundary = area.boundary();
    let inside = wetted.0.iter().filter(|point| area.contains(**point));
    let deepest = inside
        .map(|point| boundary.nearest(*point).1)
        .fold(Length::ZERO, Length::max);
    // A small area wholly under a large sector has none of the sector's edge inside: its own size is the depth.
    if deepest > Length::ZERO {
        deepest
    } else {
        Length::from_metres(wetted.overlap(area).square_metres().sqrt())
    }
}

/// How far an outline stays inside another that contains it.
fn inner_distance(inner: &Polygon, outer: &Polygon) -> Length {
    let boundary = outer.boundary();
    let farthest = Length::from_metres(f64::INFINITY);
    inner
        .0
        .iter()
        .map(|point: &PlanPoint| boundary.nearest(*point).1)
        .fold(farthest, Length::min)
}

fn outlets(plan: &Plan, water: Id) -> Vec<OutletFacts> {
    let of_water = plan
        .objects
        .outlets
        .iter()
        .filter(|(_, outlet)| outlet.water == water);
    of_water
        .map(|(id, outlet)| OutletFacts {
            subject: *id,
            reclaimed: true,
            locked: outlet.locked,
            special_tool: outlet.special_tool,
            hose_thread: outlet.hose_thread,
            above_ground: outlet.above_ground,
            in_box: outlet.in_box,
            purple: outlet.purple,
            lettering: Lettering {
                words: outlet.words.clone(),
                languages: outlet.languages.clone(),
                symbol: outlet.symbol,
            },
            reaches: reached(plan, outlet.at),
        })
        .collect()
}

/// Food beds with crops eaten raw within reach of a hose.
fn reached(plan: &Plan, at: PlanPoint) -> Vec<ReachedBed> {
    let mut found = Vec::new();
    for (id, bed) in plan
        .objects
        .beds
        .iter()
        .filter(|(_, bed)| bed.use_ == BedUse::Food)
    {
        if bed_outline(bed).distance_to_point(at) > HOSE_REACH {
            continue;
        }
        let raw = |planting: &&model::Planting| {
            plan.catalog.crop(&planting.crop).is_some_and(|crop| {
                let how = preparation(planting.preparation, crop.preparation.into());
                matches!(how, Preparation::Raw | Preparation::Unknown)
            })
        };
        let names = bed
            .plantings
            .iter()
            .filter(raw)
            .filter_map(|planting| plan.catalog.crop(&planting.crop));
        let crops: Vec<String> = names.map(|crop| crop.name.clone()).collect();
        if !crops.is_empty() {
            found.push(ReachedBed { bed: *id, crops });
        }
    }
    found
}

fn signs(plan: &Plan) -> SignFacts {
    let entries = plan
        .objects
        .marks
        .iter()
        .filter(|(_, mark)| mark.kind == MarkKind::Entry);
    let signs = plan.objects.signs.iter().map(|(id, sign)| SignPost {
        subject: *id,
        near: sign.entry,
        lettering: Lettering {
            words: sign.words.clone(),
            languages: sign.languages.clone(),
            symbol: sign.symbol,
        },
        width: sign.width,
        height: sign.height,
    });
    SignFacts {
        entries: entries.map(|(id, _)| *id).collect(),
        signs: signs.collect(),
    }
}

/// What stands on the drinking-water service; a device on the reclaimed line does not count.
fn service(plan: &Plan) -> Option<ServiceFacts> {
    let objects = &plan.objects;
    let is_potable = |water: Id| {
        objects
            .waters
            .get(&water)
            .is_some_and(|water| water.kind == WaterKind::Potable)
    };
    let mut subjects: Vec<Id> = objects
        .supplies
        .iter()
        .filter(|(_, supply)| is_potable(supply.water))
        .map(|(id, _)| *id)
        .collect();
    if subjects.is_empty() {
        return None;
    }
    let devices = objects
        .devices
        .iter()
        .filter(|(_, device)| is_potable(device.water));
    let protecting: Vec<(Id, BackflowDevice)> = devices
        .filter_map(|(id, device)| {
            Some((
                *id,
                match device.kind {
                    DeviceKind::AirGap => BackflowDevice::AirGap,
                    DeviceKind::BackflowReducedPressure => BackflowDevice::ReducedPressure,
                    DeviceKind::BackflowDoubleCheck => BackflowDevice::DoubleCheck,
                    DeviceKind::BackflowDualCheck => BackflowDevice::DualCheck,
                    _ => return None,
                },
            ))
        })
        .collect();
    let strength = |device: BackflowDevice| match device {
        BackflowDevice::AirGap => 4,
        BackflowDevice::ReducedPressure => 3,
        BackflowDevice::DoubleCheck => 2,
        BackflowDevice::DualCheck => 1,
        BackflowDevice::VacuumBreaker | BackflowDevice::None | BackflowDevice::Unknown => 0,
    };
    let strongest = protecting
        .iter()
        .max_by_key(|(_, device)| strength(*device));
    subjects.extend(protecting.iter().map(|(id, _)| *id));
    Some(ServiceFacts {
        device: strongest.map_or(BackflowDevice::None, |(_, device)| *device),
        subjects,
    })
}
