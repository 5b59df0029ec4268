//! Outlets, signs, and what protects the drinking-water service.

use super::HOSE_REACH;
use super::plantings::preparation;
use crate::contact::{
    Lettering, OutletFacts, Preparation, ReachedBed, ServiceFacts, SignFacts, SignPost,
};
use crate::geometry::PlanPoint;
use crate::ids::Id;
use crate::layout::bed_outline;
use crate::model::{self, BedUse, DeviceKind, MarkKind, Plan, WaterKind};
use crate::rulebook::BackflowDevice;

pub(super) fn outlets(plan: &Plan, water: Id) -> Vec<OutletFacts> {
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
        signs: signs.collect(),
    }
}

/// What stands on the drinking-water service; a device on the reclaimed line does not count.
pub(super) fn service(plan: &Plan) -> Option<ServiceFacts> {
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
                    DeviceKind::BackflowPressureVacuumBreaker
                    | DeviceKind::BackflowAtmosphericVacuumBreaker => BackflowDevice::VacuumBreaker,
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
