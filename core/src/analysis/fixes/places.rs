//! What would help at places and outlets: a marked crossing, a locked outlet, signs, purple pipe, a head held back.

use std::sync::Arc;

use super::{Candidate, text};
use crate::analysis::Analysis;
use crate::edit::Edit;
use crate::finding::{Finding, Value};
use crate::geometry::{PlanVector, Polygon};
use crate::ids::{Id, Kind};
use crate::model::{
    Crossing, Device, DeviceKind, End, Meta, Object, Outlet, Plan, PortRef, Sign, WaterKind,
};
use crate::rulebook::{Limit, SignPlace};
use crate::units::Length;
use crate::wetting::Wetted;

pub(super) fn mark_crossing(plan: &Plan, finding: &Finding) -> Option<Candidate> {
    let runs: Vec<Id> = finding
        .subjects
        .iter()
        .copied()
        .filter(|id| id.kind == Kind::Pipe)
        .collect();
    let &[a, b] = &runs[..] else { return None };
    let (first, second) = (plan.objects.pipes.get(&a)?, plan.objects.pipes.get(&b)?);
    let at = first.vertices.crossings(&second.vertices).first()?.at;
    // The drinking water is drawn above the other.
    let (over, under) = if plan.water_kind(first.water) == Some(WaterKind::Potable) {
        (a, b)
    } else {
        (b, a)
    };
    let crossing = Crossing {
        over,
        under,
        at,
        vertical_gap: None,
        sleeved: false,
        meta: Meta::default(),
    };
    let values = vec![
        ("over", Value::Ids(vec![over])),
        ("under", Value::Ids(vec![under])),
    ];
    Some((
        text("mark_crossing", values),
        Edit::Add(Object::Crossing(Arc::new(crossing))),
    ))
}

/// An outlet that only its key opens, below ground in a labelled box, and takes no hose.
pub(super) fn lock_outlet(plan: &Plan, finding: &Finding) -> Option<Candidate> {
    let id = *finding.subjects.iter().find(|id| id.kind == Kind::Outlet)?;
    let outlet = plan.objects.outlets.get(&id)?;
    let (words, languages) = wanted_words(plan, SignPlace::Entry);
    let locked = Outlet {
        locked: true,
        special_tool: true,
        hose_thread: false,
        in_box: true,
        above_ground: false,
        purple: true,
        words: [words, vec!["NON-POTABLE WATER".to_owned()]].concat(),
        languages,
        symbol: true,
        ..(**outlet).clone()
    };
    let edit = Edit::Put {
        id,
        object: Object::Outlet(Arc::new(locked)),
    };
    Some((
        text("lock_outlet", vec![("outlet", Value::Ids(vec![id]))]),
        edit,
    ))
}

/// The words and languages that the books ask for on signs.
fn wanted_words(plan: &Plan, place: SignPlace) -> (Vec<String>, Vec<String>) {
    let mut words = Vec::new();
    let mut languages: Vec<String> = Vec::new();
    for row in plan
        .rules
        .books_in_force()
        .flat_map(|book| &book.signs)
        .filter(|row| row.place == place)
    {
        words.extend(
            row.label
                .words
                .iter()
                .filter_map(|choices| choices.first().cloned()),
        );
        languages.extend(row.label.languages.iter().cloned());
    }
    languages.sort();
    languages.dedup();
    (words, languages)
}

/// Signs with the words, languages and size that the books ask for, one at each entry.
pub(super) fn signs(plan: &Plan, finding: &Finding) -> Option<Candidate> {
    let (words, languages) = wanted_words(plan, SignPlace::Entry);
    let rows: Vec<_> = plan
        .rules
        .books_in_force()
        .flat_map(|book| &book.signs)
        .filter(|row| row.place == SignPlace::Entry)
        .collect();
    let widest = rows
        .iter()
        .filter_map(|row| row.width)
        .map(Limit::length)
        .max_by(Length::total_cmp);
    let tallest = rows
        .iter()
        .filter_map(|row| row.height)
        .map(Limit::length)
        .max_by(Length::total_cmp);
    let proper = |sign: Sign| Sign {
        words: words.clone(),
        languages: languages.clone(),
        symbol: true,
        width: sign
            .width
            .into_iter()
            .chain(widest)
            .max_by(Length::total_cmp),
        height: sign
            .height
            .into_iter()
            .chain(tallest)
            .max_by(Length::total_cmp),
        ..sign
    };
    let mut edits = Vec::new();
    for id in finding.subjects.iter().filter(|id| id.kind == Kind::Sign) {
        let sign = plan.objects.signs.get(id)?;
        edits.push(Edit::Put {
            id: *id,
            object: Object::Sign(Arc::new(proper((**sign).clone()))),
        });
    }
    let has_sign = |entry: Id| {
        plan.objects
            .signs
            .values()
            .any(|sign| sign.entry == Some(entry))
    };
    for entry in finding
        .subjects
        .iter()
        .filter(|id| id.kind == Kind::Mark && !has_sign(**id))
    {
        let at = plan.objects.marks.get(entry)?.at;
        let blank = Sign {
            at,
            entry: Some(*entry),
            words: vec![],
            languages: vec![],
            symbol: false,
            width: None,
            height: None,
            meta: Meta::default(),
        };
        edits.push(Edit::Add(Object::Sign(Arc::new(proper(blank)))));
    }
    (!edits.is_empty()).then(|| {
        (
            text("signs", vec![("words", Value::Text(words.join(" / ")))]),
            Edit::All(edits),
        )
    })
}

pub(super) fn purple(plan: &Plan, finding: &Finding) -> Option<Candidate> {
    let parts: Vec<(Id, Object)> = finding
        .subjects
        .iter()
        .filter_map(|id| Some((*id, marked(plan.objects.get(*id)?)?)))
        .collect();
    let runs: Vec<Id> = parts.iter().map(|(id, _)| *id).collect();
    let edits = parts
        .into_iter()
        .map(|(id, object)| Edit::Put { id, object });
    let edits: Vec<Edit> = edits.collect();
    (!edits.is_empty()).then(|| {
        (
            text("purple", vec![("runs", Value::Ids(runs))]),
            Edit::All(edits),
        )
    })
}

/// The same object, bought purple or with a purple tag.
fn marked(mut object: Object) -> Option<Object> {
    match &mut object {
        Object::Pipe(pipe) => Arc::make_mut(pipe).purple = true,
        Object::Line(line) => Arc::make_mut(line).purple = true,
        Object::Device(device) => Arc::make_mut(device).purple = true,
        Object::Box(valve_box) => Arc::make_mut(valve_box).purple = true,
        Object::Bed(bed) => Arc::make_mut(bed).fill.as_mut()?.purple = true,
        _ => return None,
    }
    Some(object)
}

/// A reduced-pressure assembly in the first run behind the drinking-water supply.
pub(super) fn protect_service(plan: &Plan, finding: &Finding) -> Option<Candidate> {
    let supply = *finding.subjects.iter().find(|id| id.kind == Kind::Supply)?;
    let from = PortRef::new(supply, "out");
    let (id, pipe) = plan
        .objects
        .pipes
        .iter()
        .find(|(_, pipe)| pipe.start.port() == Some(&from))?;
    let device = Device {
        kind: DeviceKind::BackflowReducedPressure,
        part: "backflow-rp-3/4".to_owned(),
        water: pipe.water,
        at: Default::default(),
        inlet: End::Open,
        set: None,
        closed: false,
        height: None,
        purple: false,
        meta: Meta::default(),
    };
    let station = Length::from_metres(0.5).min(pipe.vertices.length() / 2.0);
    let values = vec![("run", Value::Ids(vec![*id]))];
    Some((
        text("protect_service", values),
        Edit::InsertDevice {
            pipe: *id,
            station,
            device: Arc::new(device),
        },
    ))
}

/// How far and where to move a head so that all it wets lies inside an outline; `None` if it does.
fn back_inside(wetted: &Wetted, outline: &Polygon) -> Option<(Length, PlanVector)> {
    // A foot more than it reaches over: moved, the head may get more pressure and throw farther.
    const SPARE: Length = Length::from_metres(0.3);
    let boundary = outline.boundary();
    let outside = wetted
        .areas()
        .flat_map(|area| &area.0)
        .filter(|point| !outline.contains(**point));
    let farthest =
        outside.max_by(|a, b| boundary.nearest(**a).1.total_cmp(&boundary.nearest(**b).1))?;
    let (station, over) = boundary.nearest(*farthest);
    let inwards = boundary.point_at(station)? - *farthest;
    let distance = inwards.norm();
    (distance > 0.0).then(|| (over + SPARE, inwards * ((over + SPARE).metres() / distance)))
}

/// For water that is thrown where it must not go: the head moved back, or taken away.
pub(super) fn hold_spray_back(plan: &Plan, now: &Analysis, finding: &Finding) -> Vec<Candidate> {
    let mut found = Vec::new();
    let named: Vec<Id> = finding
        .subjects
        .iter()
        .copied()
        .filter(|id| id.kind == Kind::Emission)
        .collect();
    let outline = &plan.site.outline;
    for id in &named {
        let Some(reach) = now.sprays.get(id) else {
            continue;
        };
        if let Some((over, by)) = back_inside(&reach.largest, outline) {
            let values = vec![("head", Value::Ids(vec![*id])), ("by", Value::Length(over))];
            found.push((text("move_head", values), Edit::Move { ids: vec![*id], by }));
        }
    }
    let bed = finding
        .subjects
        .iter()
        .find(|id| id.kind == Kind::Bed)
        .and_then(|id| plan.objects.beds.get(id));
    let outline = bed.map(|bed| crate::layout::bed_outline(bed));
    let over_bed: Vec<Id> = now
        .sprays
        .iter()
        .filter(|(_, reach)| {
            outline
                .as_ref()
                .is_some_and(|bed| reach.largest.overlap(bed) > Default::default())
        })
        .map(|(id, _)| *id)
        .collect();
    let heads = if named.is_empty() { over_bed } else { named };
    if !heads.is_empty() {
        found.push((
            text("remove_heads", vec![("heads", Value::Ids(heads.clone()))]),
            Edit::Remove(heads),
        ));
    }
    found
}
