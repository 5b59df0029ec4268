//! Outlets, signs, and what protects the drinking-water service.

use std::collections::BTreeSet;

use super::HOSE_REACH;
use super::plantings::preparation;
use crate::contact::{
    Lettering, MarkingFacts, OutletFacts, Preparation, ReachedBed, ServiceFacts, SignFacts,
    SignPost,
};
use crate::geometry::PlanPoint;
use crate::ids::Id;
use crate::layout::bed_outline;
use crate::model::{
    self, BedUse, DeviceKind, Feature, MarkKind, Plan, PortRef, WaterKind, integrity,
};
use crate::rulebook::{BackflowDevice, MarkedPart};
use crate::takeoff;
use crate::units::Length;

pub(super) fn outlets(plan: &Plan, water: Id) -> Vec<OutletFacts> {
    let of_water = plan
        .objects
        .outlets
        .iter()
        .filter(|(_, outlet)| outlet.water == water);
    of_water
        .map(|(id, outlet)| OutletFacts {
            subject: *id,
            joint: false,
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

/// Joints with a hose thread: whoever unscrews one has an outlet. A locked box keeps hands off.
pub(super) fn hose_joints(plan: &Plan, water: Id) -> Vec<OutletFacts> {
    let objects = &plan.objects;
    let joints = takeoff::hose_joints(plan).into_iter();
    let of_water = joints.filter(|id| integrity::water_of(objects, *id) == Some(water));
    of_water
        .filter_map(|id| {
            let at = place_of(plan, id)?;
            let mut boxes = objects.boxes.values();
            let boxed = boxes.find(|it| it.contents.contains(&id));
            let is_locked = boxed.is_some_and(|it| it.locked);
            let is_buried = objects.pipes.get(&id).and_then(|pipe| pipe.depth);
            Some(OutletFacts {
                subject: id,
                joint: true,
                reclaimed: true,
                locked: is_locked,
                special_tool: false,
                hose_thread: true,
                above_ground: is_buried.is_none_or(|depth| depth <= Length::ZERO) && !is_locked,
                in_box: boxed.is_some(),
                purple: is_purple(plan, id),
                lettering: Lettering::default(),
                reaches: reached(plan, at),
            })
        })
        .collect()
}

/// Where a hand reaches for it.
fn place_of(plan: &Plan, id: Id) -> Option<PlanPoint> {
    let objects = &plan.objects;
    let device = objects.devices.get(&id).map(|device| device.at);
    let supply = objects.supplies.get(&id).map(|supply| supply.at);
    let pipe = objects.pipes.get(&id).map(|pipe| &pipe.vertices);
    let line = objects.lines.get(&id).map(|line| &line.vertices);
    let first = pipe.or(line).and_then(|run| run.0.first().copied());
    device.or(supply).or(first)
}

fn is_purple(plan: &Plan, id: Id) -> bool {
    let objects = &plan.objects;
    let pipe = objects.pipes.get(&id).is_some_and(|pipe| pipe.purple);
    let line = objects.lines.get(&id).is_some_and(|line| line.purple);
    let device = objects.devices.get(&id);
    pipe || line || device.is_some_and(|device| device.purple)
}

/// The colour of every run, emitter line, valve and valve box of a water. That of outlets is asked with the outlets.
pub(super) fn marking(plan: &Plan, water: Id) -> Vec<MarkingFacts> {
    let objects = &plan.objects;
    let fact = |subject: Id, part: MarkedPart, purple: bool| MarkingFacts {
        subject,
        part,
        purple,
    };
    let pipes = objects.pipes.iter().filter(|(_, pipe)| pipe.water == water);
    let lines = objects.lines.iter().filter(|(_, line)| line.water == water);
    let fills = objects.beds.iter().filter_map(|(id, bed)| {
        let fill = bed.fill.as_ref().filter(|fill| fill.water == water)?;
        Some(fact(*id, MarkedPart::EmitterLine, fill.purple))
    });
    let purple_boxes = objects.boxes.values().filter(|it| it.purple);
    let in_purple: BTreeSet<Id> = purple_boxes.flat_map(|it| it.contents.clone()).collect();
    let valves = objects.devices.iter().filter(|(_, device)| {
        let is_valve = matches!(
            device.kind,
            DeviceKind::ZoneValve | DeviceKind::IsolationValve | DeviceKind::MasterValve
        );
        is_valve && device.water == water
    });
    let boxes = objects.boxes.iter().filter(|(_, it)| it.water == water);
    pipes
        .map(|(id, pipe)| fact(*id, MarkedPart::Pipe, pipe.purple))
        .chain(lines.map(|(id, line)| fact(*id, MarkedPart::EmitterLine, line.purple)))
        .chain(fills)
        .chain(valves.map(|(id, device)| {
            let purple = device.purple || in_purple.contains(id);
            fact(*id, MarkedPart::Valve, purple)
        }))
        .chain(boxes.map(|(id, it)| fact(*id, MarkedPart::Valve, it.purple)))
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

pub(super) fn signs(plan: &Plan) -> SignFacts {
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
        ponds: ponds(plan).map(|(id, _)| id).collect(),
        signs: signs.collect(),
    }
}

/// Ponds, fountains and tanks of reclaimed water.
pub(super) fn ponds(plan: &Plan) -> impl Iterator<Item = (Id, &Feature)> {
    let features = plan.objects.features.iter();
    let filled = features.filter(|(_, feature)| feature.holds_reclaimed);
    filled.map(|(id, feature)| (*id, feature.as_ref()))
}

/// What stands on the drinking-water service; a device on the reclaimed line does not count.
pub(super) fn service(plan: &Plan) -> Option<ServiceFacts> {
    let objects = &plan.objects;
    let mut subjects: Vec<Id> = objects
        .supplies
        .iter()
        .filter(|(_, supply)| plan.water_kind(supply.water) == Some(WaterKind::Potable))
        .map(|(id, _)| *id)
        .collect();
    if subjects.is_empty() {
        return None;
    }
    // Every service is protected only as far as the weakest of them.
    let services = subjects.clone();
    let strongest = services.into_iter().map(|supply| {
        let protecting = on_service(plan, supply).into_iter().filter_map(|id| {
            let device = objects.devices.get(&id)?;
            Some((id, device.kind.against_backflow()?))
        });
        let protecting: Vec<(Id, BackflowDevice)> = protecting.collect();
        subjects.extend(protecting.iter().map(|(id, _)| *id));
        let devices = protecting.into_iter().map(|(_, device)| device);
        devices
            .max_by_key(|device| strength(*device))
            .unwrap_or(BackflowDevice::None)
    });
    let weakest =
        strongest.min_by_key(|device| (strength(*device), *device != BackflowDevice::None));
    Some(ServiceFacts {
        device: weakest.unwrap_or(BackflowDevice::None),
        subjects,
    })
}

const fn strength(device: BackflowDevice) -> u8 {
    match device {
        BackflowDevice::AirGap => 4,
        BackflowDevice::ReducedPressure => 3,
        BackflowDevice::DoubleCheck => 2,
        BackflowDevice::DualCheck => 1,
        BackflowDevice::VacuumBreaker | BackflowDevice::None | BackflowDevice::Unknown => 0,
    }
}

/// The devices between a supply and the first place where its water can go more than one way: what stands on a branch
/// protects no other branch.
fn on_service(plan: &Plan, supply: Id) -> Vec<Id> {
    let objects = &plan.objects;
    let joints: Vec<(Id, PortRef)> = integrity::joints(objects)
        .filter_map(|(by, end)| Some((by, end.port()?.clone())))
        .collect();
    let mut found = Vec::new();
    let mut at = PortRef::new(supply, "out");
    loop {
        let mut joined = joints.iter().filter(|(_, port)| *port == at);
        let (Some((next, _)), None) = (joined.next(), joined.next()) else {
            return found;
        };
        let device = match objects.pipes.get(next) {
            // A tap is a branch.
            Some(pipe) if !pipe.taps.is_empty() => return found,
            Some(pipe) => {
                let ends = [&pipe.start, &pipe.end].map(|end| end.port());
                let other = ends.into_iter().flatten().find(|port| **port != at);
                let Some(other) = other else { return found };
                other.object
            }
            None => *next,
        };
        if !objects.devices.contains_key(&device) || found.contains(&device) {
            return found;
        }
        found.push(device);
        at = PortRef::new(device, "out");
    }
}
