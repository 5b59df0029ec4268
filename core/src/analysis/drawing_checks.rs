//! Judges the drawing itself: what is not finished, not joined, not known to the catalog, missing in a chain.

use std::collections::{BTreeMap, BTreeSet};

use super::ZoneAnalysis;
use super::hydraulic_checks::has_device;
use crate::catalog::EmissionPartKind;
use crate::finding::{Finding, Message, Severity, Value};
use crate::ids::{Id, Kind};
use crate::model::integrity::{self, Violation};
use crate::model::{BedUse, DeviceKind, End, Plan, State};
use crate::takeoff::PartsList;

/// Every finding about the drawing.
pub(super) fn all(
    plan: &Plan,
    zones: &BTreeMap<Id, ZoneAnalysis>,
    parts: &PartsList,
) -> Vec<Finding> {
    let mut findings = structure(plan);
    findings.extend(unknown_parts(plan, zones));
    findings.extend(bad_curves(zones));
    findings.extend(not_in_a_zone(plan, zones));
    findings.extend(open_ends(plan));
    findings.extend(crops(plan));
    findings.extend(mixed_zones(plan, zones));
    findings.extend(unfiltered(plan, zones));
    findings.extend(flush_ends(plan, zones));
    findings.extend(unlike_ends(parts));
    findings.extend(wells(plan));
    findings
}

/// Broken structural rules that a file may carry.
fn structure(plan: &Plan) -> Vec<Finding> {
    integrity::violations(&plan.objects)
        .into_iter()
        .map(|violation| {
            let what = Value::Text(violation.to_string());
            match violation {
                Violation::WatersMeet { a, b } => {
                    let message = Message::new(
                        "drawing.waters_meet",
                        vec![("a", ids(&[a])), ("b", ids(&[b]))],
                    );
                    Finding::new("drawing.waters_meet", Severity::Stop, vec![a, b], message)
                }
                other => {
                    let message = Message::new("drawing.structure", vec![("what", what)]);
                    Finding::new(
                        "drawing.structure",
                        Severity::Check,
                        vec![other.place()],
                        message,
                    )
                }
            }
        })
        .collect()
}

/// Parts that neither the plan nor the program has a row for.
fn unknown_parts(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Vec<Finding> {
    let unknown: BTreeSet<(Id, String)> = zones
        .values()
        .flat_map(|zone| zone.built.unknown_parts.iter().cloned())
        .collect();
    let books = plan
        .rules
        .in_force
        .iter()
        .filter(|id| !plan.rules.books.contains_key(*id));
    let unknown_books = books
        .filter(|id| crate::rulebook::built_in_book(id).is_none())
        .map(|id| {
            let message = Message::new(
                "drawing.unknown_book",
                vec![("book", Value::Text(id.clone()))],
            );
            Finding::new(
                format!("drawing.unknown_book.{id}"),
                Severity::Check,
                vec![],
                message,
            )
        });
    unknown
        .into_iter()
        .map(|(id, part)| {
            let values = vec![("id", ids(&[id])), ("part", Value::Text(part))];
            let message = Message::new("drawing.unknown_part", values);
            Finding::new("drawing.unknown_part", Severity::Check, vec![id], message)
        })
        .chain(unknown_books)
        .collect()
}

/// Curves of points that are none.
fn bad_curves(zones: &BTreeMap<Id, ZoneAnalysis>) -> Vec<Finding> {
    let bad: BTreeMap<(Id, &str), String> = zones
        .values()
        .flat_map(|zone| &zone.built.bad_curves)
        .map(|(id, part, why)| ((*id, part.as_str()), why.to_string()))
        .collect();
    bad.into_iter()
        .map(|((id, part), why)| {
            let values = vec![
                ("id", ids(&[id])),
                ("part", Value::Text(part.to_owned())),
                ("why", Value::Text(why)),
            ];
            let message = Message::new("drawing.bad_curve", values);
            Finding::new("drawing.bad_curve", Severity::Check, vec![id], message)
        })
        .collect()
}

/// Things that give water and hang on no zone valve.
fn not_in_a_zone(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Option<Finding> {
    let objects = &plan.objects;
    let filled = objects
        .beds
        .iter()
        .filter(|(_, bed)| bed.fill.is_some())
        .map(|(id, _)| *id);
    let giving = filled
        .chain(objects.lines.keys().copied())
        .chain(objects.emissions.keys().copied());
    let loose: Vec<Id> = giving
        .filter(|id| !zones.values().any(|zone| zone.members.contains(id)))
        .collect();
    if loose.is_empty() {
        return None;
    }
    let message = Message::new("drawing.no_zone", vec![("ids", ids(&loose))]);
    Some(Finding::new(
        "drawing.no_zone",
        Severity::Check,
        loose,
        message,
    ))
}

/// Ends that are neither joined nor closed.
fn open_ends(plan: &Plan) -> Option<Finding> {
    // A run whose end is the port of something else is open on its own side only.
    let named: BTreeSet<(Id, &str)> = integrity::joints(&plan.objects)
        .filter_map(|(_, end)| end.port())
        .map(|port| (port.object, port.port.as_str()))
        .collect();
    let is_open = |id: Id, end: &End, name: &str| *end == End::Open && !named.contains(&(id, name));
    let pipes = plan.objects.pipes.iter().filter(|(id, pipe)| {
        pipe.meta.state != State::ToRemove
            && (is_open(**id, &pipe.start, "start") || is_open(**id, &pipe.end, "end"))
    });
    let lines = plan.objects.lines.iter().filter(|(id, line)| {
        line.meta.state != State::ToRemove
            && (is_open(**id, &line.start, "start") || is_open(**id, &line.end, "end"))
    });
    let open: Vec<Id> = pipes
        .map(|(id, _)| *id)
        .chain(lines.map(|(id, _)| *id))
        .collect();
    if open.is_empty() {
        return None;
    }
    let message = Message::new("drawing.open_end", vec![("ids", ids(&open))]);
    Some(Finding::new(
        "drawing.open_end",
        Severity::Check,
        open,
        message,
    ))
}

/// Food beds whose crops are not told or not in the crop table.
fn crops(plan: &Plan) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (id, bed) in plan
        .objects
        .beds
        .iter()
        .filter(|(_, bed)| bed.use_ == BedUse::Food)
    {
        let unknown: Vec<&str> = bed
            .plantings
            .iter()
            .map(|planting| planting.crop.as_str())
            .filter(|crop| plan.catalog.crop(crop).is_none())
            .collect();
        if bed.plantings.is_empty() {
            let message = Message::new("drawing.no_crop", vec![("bed", ids(&[*id]))]);
            findings.push(Finding::new(
                "drawing.no_crop",
                Severity::Check,
                vec![*id],
                message,
            ));
        } else if !unknown.is_empty() {
            let values = vec![
                ("bed", ids(&[*id])),
                ("crops", Value::Text(unknown.join(", "))),
            ];
            let message = Message::new("drawing.unknown_crop", values);
            findings.push(Finding::new(
                "drawing.unknown_crop",
                Severity::Check,
                vec![*id],
                message,
            ));
        }
    }
    findings
}

/// Sprays and drip on one valve: they need different pressures and minutes.
fn mixed_zones(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (id, zone) in zones {
        let mut sprays: BTreeSet<Id> = BTreeSet::new();
        let mut drips: BTreeSet<Id> = BTreeSet::new();
        for point in &zone.built.emitters {
            match plan.catalog.emission(&point.part).map(|part| part.kind) {
                Some(EmissionPartKind::Spray | EmissionPartKind::Rotor) => {
                    sprays.insert(point.owner)
                }
                Some(EmissionPartKind::EmitterLine | EmissionPartKind::Emitter) => {
                    drips.insert(point.owner)
                }
                _ => continue,
            };
        }
        if sprays.is_empty() || drips.is_empty() {
            continue;
        }
        let (sprays, drips): (Vec<Id>, Vec<Id>) =
            (sprays.into_iter().collect(), drips.into_iter().collect());
        let values = vec![
            ("zone", ids(&[*id])),
            ("sprays", ids(&sprays)),
            ("drips", ids(&drips)),
        ];
        let subjects = sprays.iter().chain(&drips).copied().chain([*id]).collect();
        let message = Message::new("drawing.mixed_zone", values);
        findings.push(Finding::new(
            "drawing.mixed_zone",
            Severity::Fix,
            subjects,
            message,
        ));
    }
    findings
}

/// Zones with emitters and no filter before them.
fn unfiltered(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Option<Finding> {
    let drips = |zone: &ZoneAnalysis| {
        zone.built.emitters.iter().any(|point| {
            let kind = plan.catalog.emission(&point.part).map(|part| part.kind);
            matches!(
                kind,
                Some(EmissionPartKind::EmitterLine | EmissionPartKind::Emitter)
            )
        })
    };
    let lacking: Vec<Id> = zones
        .iter()
        .filter(|(_, zone)| drips(zone) && !has_device(plan, zone, DeviceKind::Filter))
        .map(|(id, _)| *id)
        .collect();
    if lacking.is_empty() {
        return None;
    }
    let message = Message::new("drawing.no_filter", vec![("zones", ids(&lacking))]);
    Some(Finding::new(
        "drawing.no_filter",
        Severity::Fix,
        lacking,
        message,
    ))
}

/// Ends that open for rinsing want to be opened.
fn flush_ends(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Option<Finding> {
    let objects = &plan.objects;
    let flushes = |id: &Id| match id.kind {
        Kind::Bed => objects
            .beds
            .get(id)
            .and_then(|bed| bed.fill.as_ref())
            .is_some_and(|fill| fill.flush_ends),
        Kind::Pipe => objects
            .pipes
            .get(id)
            .is_some_and(|pipe| [&pipe.start, &pipe.end].contains(&&End::Flush)),
        Kind::Line => objects
            .lines
            .get(id)
            .is_some_and(|line| [&line.start, &line.end].contains(&&End::Flush)),
        _ => false,
    };
    let with: Vec<Id> = zones
        .iter()
        .filter(|(_, zone)| zone.members.iter().any(flushes))
        .map(|(id, _)| *id)
        .collect();
    if with.is_empty() {
        return None;
    }
    let message = Message::new("drawing.flush", vec![("zones", ids(&with))]);
    Some(Finding::new("drawing.flush", Severity::Note, with, message))
}

/// Joints that no adapter makes.
fn unlike_ends(parts: &PartsList) -> Vec<Finding> {
    parts
        .mismatches
        .iter()
        .map(|mismatch| {
            let values = vec![
                ("a", ids(&[mismatch.by])),
                ("b", ids(&[mismatch.to])),
                ("end", Value::Text(mismatch.end.to_string())),
                ("port", Value::Text(mismatch.port.to_string())),
            ];
            let message = Message::new("drawing.unlike_ends", values);
            Finding::new(
                "drawing.unlike_ends",
                Severity::Fix,
                vec![mismatch.by, mismatch.to],
                message,
            )
        })
        .collect()
}

/// Rules of distance to wells bind, and nobody said that somebody looked for wells.
fn wells(plan: &Plan) -> Option<Finding> {
    use crate::rulebook::Place;
    let book = plan
        .rules
        .books_in_force()
        .filter(|book| book.binding)
        .find(|book| {
            book.distances
                .iter()
                .any(|row| row.to.contains(&Place::DomesticWell))
        })?;
    if plan.site.wells_surveyed {
        return None;
    }
    let message = Message::new(
        "drawing.wells",
        vec![("ask", Value::Text(book.ask.clone()))],
    );
    Some(Finding::new(
        "drawing.wells",
        Severity::Check,
        vec![],
        message,
    ))
}

fn ids(ids: &[Id]) -> Value {
    Value::Ids(ids.to_vec())
}
