//! How near wetted ground comes to wells, to places of the site, and to the land of others.

use std::collections::{BTreeMap, BTreeSet};

use super::fixtures::ponds;
use super::standing::Standing;
use super::{SMALLEST_OVERLAP, Sprays};
use crate::contact::MeasuredDistance;
use crate::geometry::Polygon;
use crate::ids::Id;
use crate::layout::bed_outline;
use crate::model::{Feature, FeatureKind, MarkKind, Plan};
use crate::rulebook::{Place, Relief};
use crate::units::{Area, Length};

/// Ground that a water wets: outlines of filled beds, corridors of lines, sectors of sprays.
pub(super) fn distances(
    plan: &Plan,
    sprays: &Sprays<'_>,
    standing: &Standing,
) -> Vec<MeasuredDistance> {
    let mut found = Vec::new();
    for (mark_id, mark) in &plan.objects.marks {
        let Some(to) = well_place(mark.kind) else {
            continue;
        };
        let reliefs = if mark.exemption_met {
            vec![Relief::WellExemption]
        } else {
            vec![]
        };
        let from_sprays = sprays
            .iter()
            .map(|(id, reach)| (*id, reach.largest.distance_to_point(mark.at)));
        let from_drips = standing.to_marks.get(mark_id).copied();
        if let Some((id, distance)) = nearest(from_sprays.chain(from_drips)) {
            found.push(MeasuredDistance {
                reliefs,
                ..measured(Place::WettedEdge, to, vec![id, *mark_id], distance)
            });
        }
    }
    for (feature_id, feature) in &plan.objects.features {
        let Some(to) = feature_place(feature) else {
            continue;
        };
        for (id, reach) in sprays {
            let wetted = &reach.largest;
            let overlap = noticed(wetted.overlap(&feature.outline));
            let reach_into = if overlap > Area::ZERO {
                depth_into(wetted.drifted(), &feature.outline)
            } else {
                Length::ZERO
            };
            let subjects = vec![*id, *feature_id];
            let distance = wetted.distance(&feature.outline);
            let base = MeasuredDistance {
                overlap,
                reach_into,
                reliefs: spray_reliefs(plan, *id),
                ..measured(Place::WettedEdge, to, subjects, distance)
            };
            found.push(MeasuredDistance {
                from: Place::SprayEdge,
                ..base.clone()
            });
            found.push(base);
        }
        let from_drips = standing.to_features.get(feature_id);
        found.extend(from_drips.into_iter().flatten().cloned());
    }
    found.extend(to_fountains(plan, sprays));
    found.extend(over_the_line(plan, sprays));
    found
}

/// Sprays against places where people drink and wash their hands.
fn to_fountains(plan: &Plan, sprays: &Sprays<'_>) -> Vec<MeasuredDistance> {
    let outlets = plan.objects.outlets.iter();
    let fountains = outlets.filter(|(_, outlet)| outlet.kind.is_wash_place());
    let mut found = Vec::new();
    for (fountain, outlet) in fountains {
        for (id, reach) in sprays {
            let wetted = &reach.largest;
            let within = wetted.areas().filter(|area| area.contains(outlet.at));
            let depths = within.map(|area| area.boundary().nearest(outlet.at).1);
            let subjects = vec![*id, *fountain];
            let distance = wetted.distance_to_point(outlet.at);
            let base = MeasuredDistance {
                reach_into: depths.fold(Length::ZERO, Length::max),
                reliefs: spray_reliefs(plan, *id),
                ..measured(
                    Place::WettedEdge,
                    Place::DrinkingFountain,
                    subjects,
                    distance,
                )
            };
            found.push(MeasuredDistance {
                from: Place::SprayEdge,
                ..base.clone()
            });
            found.push(base);
        }
    }
    found
}

/// Overlaps that are more than the drawing's noise.
fn noticed(overlap: Area) -> Area {
    if overlap > SMALLEST_OVERLAP {
        overlap
    } else {
        Area::ZERO
    }
}

/// What drips against the wells and the places of a site: of each well the nearest, of each place all.
type OfDrips = (
    BTreeMap<Id, (Id, Length)>,
    BTreeMap<Id, Vec<MeasuredDistance>>,
);

/// Dripped grounds against wells and places.
pub(super) fn of_drips(plan: &Plan, water: Id) -> OfDrips {
    let drips = drip_areas(plan, water);
    let marks = plan.objects.marks.iter();
    let wells = marks.filter(|(_, mark)| well_place(mark.kind).is_some());
    let to_marks = wells.filter_map(|(mark_id, mark)| {
        let away = drips.iter();
        let away = away.map(|(id, area)| (*id, area.distance_to_point(mark.at)));
        Some((*mark_id, nearest(away)?))
    });
    let features = plan.objects.features.iter();
    let places = features.filter_map(|(id, it)| Some((*id, it, feature_place(it)?)));
    let to_features = places.map(|(feature_id, feature, to)| {
        let of_drip = |(id, area): &(Id, Polygon)| {
            let overlap = noticed(area.overlap(&feature.outline));
            let reach_into = if overlap > Area::ZERO {
                depth_into(area, &feature.outline)
            } else {
                Length::ZERO
            };
            let distance = area.distance(&feature.outline);
            MeasuredDistance {
                overlap,
                reach_into,
                ..measured(Place::WettedEdge, to, vec![*id, feature_id], distance)
            }
        };
        (feature_id, drips.iter().map(of_drip).collect())
    });
    (to_marks.collect(), to_features.collect())
}

/// Reclaimed pipes and ponds against wells, and ponds against open water: of each kind the nearest counts.
pub(super) fn of_reclaimed(plan: &Plan, water: Id) -> Vec<MeasuredDistance> {
    let objects = &plan.objects;
    let mut found = Vec::new();
    for (mark_id, mark) in &objects.marks {
        let Some(to) = well_place(mark.kind) else {
            continue;
        };
        let pipes = objects.pipes.iter();
        let pipes = pipes.filter(|(_, pipe)| pipe.water == water);
        let pipes = pipes.map(|(id, pipe)| (*id, pipe.vertices.nearest(mark.at).1));
        let ponds = ponds(plan).map(|(id, pond)| (id, pond.outline.distance_to_point(mark.at)));
        let nearest = [
            (Place::ReclaimedPipe, nearest(pipes)),
            (Place::Impoundment, nearest(ponds)),
        ];
        for (from, nearest) in nearest {
            let told =
                nearest.map(|(id, distance)| measured(from, to, vec![id, *mark_id], distance));
            found.extend(told);
        }
    }
    for (id, pond) in ponds(plan) {
        let open = objects.features.iter();
        let open = open.filter(|(_, other)| feature_place(other) == Some(Place::SurfaceWater));
        found.extend(open.map(|(other_id, other)| {
            let distance = pond.outline.distance(&other.outline);
            let ends = vec![id, *other_id];
            measured(Place::Impoundment, Place::SurfaceWater, ends, distance)
        }));
    }
    found
}

fn nearest(distances: impl Iterator<Item = (Id, Length)>) -> Option<(Id, Length)> {
    distances.min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)))
}

/// What was declared of a spray that may release from a rule.
fn spray_reliefs(plan: &Plan, spray: Id) -> Vec<Relief> {
    let head = plan.objects.emissions.get(&spray);
    if head.is_some_and(|head| head.low_trajectory) {
        vec![Relief::LowTrajectory]
    } else {
        Vec::new()
    }
}

/// Sprays against the property line: all land beyond it is somebody else's.
fn over_the_line(plan: &Plan, sprays: &Sprays<'_>) -> Vec<MeasuredDistance> {
    let outline = &plan.site.outline;
    if outline.0.len() < 3 {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (id, reach) in sprays {
        let wetted = &reach.largest;
        let to_edges = wetted.distance_to_edges(outline);
        let is_within = to_edges > Length::ZERO && outline.contains(wetted.at);
        let (still, drifted) = if is_within {
            (Length::ZERO, Length::ZERO)
        } else {
            wetted.beyond(outline)
        };
        // What the head throws over is told; drift alone is told only where the throw itself stays inside.
        let reach_into = if still > Length::ZERO { still } else { drifted };
        let inside = if drifted > Length::ZERO {
            Length::ZERO
        } else {
            to_edges
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

/// What the rules call a well.
pub(super) const fn well_place(kind: MarkKind) -> Option<Place> {
    Some(match kind {
        MarkKind::DomesticWell => Place::DomesticWell,
        MarkKind::PublicWell => Place::PublicWell,
        MarkKind::OtherWell => Place::OtherWell,
        MarkKind::Entry | MarkKind::TestPoint => return None,
    })
}

/// What the rules call it; a terrace is ground like any other, and a pond of the water itself is none to keep it from.
pub(super) fn feature_place(feature: &Feature) -> Option<Place> {
    if feature.holds_reclaimed {
        return None;
    }
    Some(match feature.kind {
        FeatureKind::Building => Place::Building,
        FeatureKind::HardSurface => Place::Road,
        FeatureKind::EatingArea => Place::EatingArea,
        FeatureKind::PlayArea => Place::PlayArea,
        FeatureKind::PetArea => Place::PetArea,
        FeatureKind::Pool => Place::Pool,
        FeatureKind::WaterBody => Place::SurfaceWater,
        FeatureKind::NeighbourLand => Place::Neighbour,
        FeatureKind::Terrace => return None,
    })
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
