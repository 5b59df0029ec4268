//! Removing objects: what is joined to them is opened, what cannot be without them goes too.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::EditError;
use crate::ids::Id;
use crate::model::{End, Plan};

/// Removes objects with their zones and crossings, and opens every end that was joined to them.
pub(super) fn with_dependents(plan: &mut Plan, ids: &[Id]) -> Result<(), EditError> {
    let objects = &mut plan.objects;
    for id in ids {
        objects.remove(*id).ok_or(EditError::NotThere(*id))?;
    }
    let gone: BTreeSet<Id> = ids.iter().copied().collect();
    objects.zones.retain(|_, zone| !gone.contains(&zone.valve));
    objects
        .crossings
        .retain(|_, crossing| !gone.contains(&crossing.over) && !gone.contains(&crossing.under));
    let opened = |end: &End| end.port().is_some_and(|port| gone.contains(&port.object));
    for device in objects
        .devices
        .values_mut()
        .filter(|device| opened(&device.inlet))
    {
        Arc::make_mut(device).inlet = End::Open;
    }
    for emission in objects
        .emissions
        .values_mut()
        .filter(|emission| opened(&emission.inlet))
    {
        Arc::make_mut(emission).inlet = End::Open;
    }
    for outlet in objects
        .outlets
        .values_mut()
        .filter(|outlet| opened(&outlet.inlet))
    {
        Arc::make_mut(outlet).inlet = End::Open;
    }
    for pipe in objects.pipes.values_mut() {
        if opened(&pipe.start) {
            Arc::make_mut(pipe).start = End::Open;
        }
        if opened(&pipe.end) {
            Arc::make_mut(pipe).end = End::Open;
        }
    }
    for line in objects.lines.values_mut() {
        if opened(&line.start) {
            Arc::make_mut(line).start = End::Open;
        }
        if opened(&line.end) {
            Arc::make_mut(line).end = End::Open;
        }
        if line.serves.iter().any(|served| gone.contains(served)) {
            Arc::make_mut(line)
                .serves
                .retain(|served| !gone.contains(served));
        }
    }
    for emission in objects.emissions.values_mut() {
        if emission.serves.iter().any(|served| gone.contains(served)) {
            Arc::make_mut(emission)
                .serves
                .retain(|served| !gone.contains(served));
        }
    }
    for valve_box in objects.boxes.values_mut() {
        if valve_box
            .contents
            .iter()
            .any(|content| gone.contains(content))
        {
            Arc::make_mut(valve_box)
                .contents
                .retain(|content| !gone.contains(content));
        }
    }
    for sign in objects.signs.values_mut() {
        if sign.entry.is_some_and(|entry| gone.contains(&entry)) {
            Arc::make_mut(sign).entry = None;
        }
    }
    // A removed water takes along whatever carries it.
    let orphans: Vec<Id> = objects
        .ids()
        .into_iter()
        .filter(|id| {
            crate::model::integrity::water_of(objects, *id)
                .is_some_and(|water| gone.contains(&water))
        })
        .collect();
    if orphans.is_empty() {
        return Ok(());
    }
    for bed in objects.beds.values_mut() {
        if bed
            .fill
            .as_ref()
            .is_some_and(|fill| gone.contains(&fill.water))
        {
            Arc::make_mut(bed).fill = None;
        }
    }
    let carriers: Vec<Id> = orphans
        .into_iter()
        .filter(|id| id.kind != crate::ids::Kind::Bed)
        .collect();
    with_dependents(plan, &carriers)
}
