//! What would help: changes of the design that make a finding go or get better, each tried before it is offered.
//!
//! A fix changes the design only, never a fact such as the class of the water, how a crop is eaten or where the yard is.
//! None proposes to feed drinking water into the system, and none a pump.

use std::sync::Arc;

use super::effect::{Progress, preview};
use super::hydraulic_checks::{FASTEST, most_lost_in};
use super::{Analysis, Analyzer, ZoneAnalysis};
use crate::catalog::{Catalog, EmissionLaw, EmissionPartKind};
use crate::edit::Edit;
use crate::finding::{Finding, Message, Value};
use crate::geometry::PlanVector;
use crate::hydraulics::SupplyCase;
use crate::ids::{Id, Kind};
use crate::model::{
    Crossing, Device, DeviceKind, Document, End, Meta, Object, Outlet, Plan, PortRef, Sign,
};
use crate::rulebook::{Rulebook, SignPlace};
use crate::units::Length;

/// A change that helps, tried out.
#[derive(Clone, Debug)]
pub struct Fix {
    /// What to do, in words.
    pub message: Message,
    /// The change.
    pub edit: Edit,
    /// What becomes of the finding.
    pub progress: Progress,
}

/// The changes that help against a finding, in the order in which they are thought of.
#[must_use]
pub fn fixes(
    document: &Document,
    analyzer: &mut Analyzer,
    now: &Analysis,
    finding: &Finding,
) -> Vec<Fix> {
    candidates(document, now, finding)
        .into_iter()
        .filter_map(|(message, edit)| {
            let effect = preview(document, analyzer, now, &edit).ok()?;
            let progress = effect.progress(finding);
            let helps = progress != Progress::NoBetter && effect.new_stops.is_empty();
            helps.then_some(Fix {
                message,
                edit,
                progress,
            })
        })
        .collect()
}

type Candidate = (Message, Edit);

fn candidates(document: &Document, now: &Analysis, finding: &Finding) -> Vec<Candidate> {
    let plan = &document.design;
    match finding.check.as_str() {
        "hydraulics.low_pressure" => low_pressure(plan, now, finding),
        "hydraulics.velocity" => larger_pipes(plan, now, finding).into_iter().collect(),
        "drawing.no_filter" => filters(document, finding).into_iter().collect(),
        "crossing.unmarked" => mark_crossing(plan, finding).into_iter().collect(),
        "outlet" => lock_outlet(plan, finding).into_iter().collect(),
        "signs" => signs(plan, finding).into_iter().collect(),
        check if check.starts_with("marking.") => purple(plan, finding).into_iter().collect(),
        check if check.starts_with("backflow.") => {
            protect_service(plan, finding).into_iter().collect()
        }
        check if check.starts_with("contact.not_allowed") || check.starts_with("setback.") => {
            hold_spray_back(plan, now, finding)
        }
        _ => Vec::new(),
    }
}

fn text(key: &str, values: Vec<(&'static str, Value)>) -> Message {
    Message::new(format!("fix.{key}"), values)
}

fn zone_of<'a>(now: &'a Analysis, finding: &Finding) -> Option<&'a ZoneAnalysis> {
    let id = finding.subjects.iter().find(|id| id.kind == Kind::Zone)?;
    now.zones.get(id)
}

fn low_pressure(plan: &Plan, now: &Analysis, finding: &Finding) -> Vec<Candidate> {
    let Some(zone) = zone_of(now, finding) else {
        return Vec::new();
    };
    let worst = SupplyCase::ALL
        .into_iter()
        .flat_map(|case| zone.emitters(case).map(move |emitter| (case, emitter)))
        .filter(|(_, emitter)| finding.subjects.contains(&emitter.point.owner))
        .min_by(|a, b| a.1.pressure.total_cmp(&b.1.pressure));
    let Some((case, emitter)) = worst else {
        return Vec::new();
    };
    let mut found = Vec::new();
    if let Some((run, _)) = most_lost_in(zone, emitter.junction, case)
        && let Some((size, edit)) = larger_pipe(plan, run)
    {
        found.push((
            text(
                "larger_pipe",
                vec![("run", Value::Ids(vec![run])), ("size", Value::Text(size))],
            ),
            edit,
        ));
    }
    found.extend(compensated(plan, emitter.point.owner));
    found
}

/// The next larger size for a run.
fn larger_pipe(plan: &Plan, id: Id) -> Option<(String, Edit)> {
    let pipe = plan.objects.pipes.get(&id)?;
    let (key, row) = plan.catalog.next_larger_pipe(&pipe.part)?;
    let mut larger = (**pipe).clone();
    key.clone_into(&mut larger.part);
    Some((
        row.name.clone(),
        Edit::Put {
            id,
            object: Object::Pipe(Arc::new(larger)),
        },
    ))
}

/// Compensating emitters of the same spacing in place of those that are not.
fn compensated(plan: &Plan, id: Id) -> Option<Candidate> {
    let line = plan.objects.lines.get(&id)?;
    let part = plan
        .catalog
        .emission(&line.part)
        .filter(|part| part.law == EmissionLaw::Power)?;
    let (key, row) = Catalog::built_in()
        .emissions
        .iter()
        .filter(|(_, row)| {
            row.kind == EmissionPartKind::EmitterLine && row.law == EmissionLaw::Compensating
        })
        .filter(|(_, row)| row.spacing == part.spacing)
        .min_by(|a, b| {
            (a.1.flow - part.flow)
                .abs()
                .total_cmp(&(b.1.flow - part.flow).abs())
        })?;
    let mut other = (**line).clone();
    key.clone_into(&mut other.part);
    let values = vec![
        ("line", Value::Ids(vec![id])),
        ("part", Value::Text(row.name.clone())),
    ];
    Some((
        text("compensated", values),
        Edit::Put {
            id,
            object: Object::Line(Arc::new(other)),
        },
    ))
}

/// Every run that is too fast in as many sizes as bring its present flow under the limit.
fn larger_pipes(plan: &Plan, now: &Analysis, finding: &Finding) -> Option<Candidate> {
    let zone = zone_of(now, finding)?;
    let mut edits = Vec::new();
    let mut runs = Vec::new();
    for id in finding.subjects.iter().filter(|id| id.kind == Kind::Pipe) {
        let pipe = plan.objects.pipes.get(id)?;
        let links = zone.built.pipes.get(id)?;
        let flow = SupplyCase::ALL
            .map(|case| zone.fastest(links, case).0)
            .into_iter()
            .fold(Default::default(), crate::units::Flow::max);
        let mut part = pipe.part.clone();
        while let Some((key, row)) = plan.catalog.next_larger_pipe(&part) {
            key.clone_into(&mut part);
            // A larger pipe also lets more through: a tenth is kept in hand.
            if super::zones::velocity(flow * 1.1, row.bore()) <= FASTEST {
                break;
            }
        }
        if part != pipe.part {
            edits.push(Edit::Put {
                id: *id,
                object: Object::Pipe(Arc::new(crate::model::Pipe {
                    part,
                    ..(**pipe).clone()
                })),
            });
            runs.push(*id);
        }
    }
    (!edits.is_empty()).then(|| {
        (
            text("larger_pipes", vec![("runs", Value::Ids(runs))]),
            Edit::All(edits),
        )
    })
}

/// A filter behind the valve of each zone that has none.
fn filters(document: &Document, finding: &Finding) -> Option<Candidate> {
    let plan = &document.design;
    let objects = &plan.objects;
    let mut next_id = document.next_id.clone();
    let mut edits = Vec::new();
    for zone in finding
        .subjects
        .iter()
        .filter_map(|id| objects.zones.get(id))
    {
        let valve = objects.devices.get(&zone.valve)?;
        let behind = PortRef::new(zone.valve, "out");
        let mut filter = Device {
            kind: DeviceKind::Filter,
            part: "filter-120-3/4".to_owned(),
            water: valve.water,
            at: valve.at,
            inlet: End::Open,
            set: None,
            closed: false,
            meta: Meta::default(),
        };
        let next_device = objects
            .devices
            .iter()
            .find(|(_, device)| device.inlet.port() == Some(&behind));
        let next_pipe = objects
            .pipes
            .iter()
            .find(|(_, pipe)| pipe.start.port() == Some(&behind));
        if let Some((id, device)) = next_device {
            // Chained devices: the next one is moved from the valve onto the filter.
            let filter_id = next_id.take(Kind::Device);
            filter.inlet = End::At(behind);
            let mut moved = (**device).clone();
            moved.inlet = End::At(PortRef::new(filter_id, "out"));
            edits.push(Edit::Add(Object::Device(Arc::new(filter))));
            edits.push(Edit::Put {
                id: *id,
                object: Object::Device(Arc::new(moved)),
            });
        } else if let Some((id, pipe)) = next_pipe {
            next_id.take(Kind::Device);
            let station = Length::from_metres(0.3).min(pipe.vertices.length() / 2.0);
            edits.push(Edit::InsertDevice {
                pipe: *id,
                station,
                device: Arc::new(filter),
            });
        }
    }
    (!edits.is_empty()).then(|| {
        (
            text(
                "filter",
                vec![("zones", Value::Ids(finding.subjects.clone()))],
            ),
            Edit::All(edits),
        )
    })
}

fn mark_crossing(plan: &Plan, finding: &Finding) -> Option<Candidate> {
    let runs: Vec<Id> = finding
        .subjects
        .iter()
        .copied()
        .filter(|id| id.kind == Kind::Pipe)
        .collect();
    let &[a, b] = &runs[..] else { return None };
    let (first, second) = (plan.objects.pipes.get(&a)?, plan.objects.pipes.get(&b)?);
    let at = first.vertices.crossings(&second.vertices).first()?.at;
    let is_potable = |water: Id| {
        plan.objects
            .waters
            .get(&water)
            .is_some_and(|water| water.kind == crate::model::WaterKind::Potable)
    };
    // The drinking water is drawn above the other.
    let (over, under) = if is_potable(first.water) {
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
fn lock_outlet(plan: &Plan, finding: &Finding) -> Option<Candidate> {
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

fn books(plan: &Plan) -> impl Iterator<Item = &Rulebook> {
    plan.rules.in_force.iter().filter_map(|id| {
        plan.rules
            .books
            .get(id)
            .map(|carried| carried.book.as_ref())
            .or_else(|| crate::rulebook::built_in_book(id))
    })
}

/// The words and languages that the books ask for on signs.
fn wanted_words(plan: &Plan, place: SignPlace) -> (Vec<String>, Vec<String>) {
    let mut words = Vec::new();
    let mut languages: Vec<String> = Vec::new();
    for row in books(plan)
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
fn signs(plan: &Plan, finding: &Finding) -> Option<Candidate> {
    let (words, languages) = wanted_words(plan, SignPlace::Entry);
    let rows: Vec<_> = books(plan)
        .flat_map(|book| &book.signs)
        .filter(|row| row.place == SignPlace::Entry)
        .collect();
    let widest = rows
        .iter()
        .filter_map(|row| row.width)
        .map(|limit| limit.length())
        .max_by(Length::total_cmp);
    let tallest = rows
        .iter()
        .filter_map(|row| row.height)
        .map(|limit| limit.length())
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

fn purple(plan: &Plan, finding: &Finding) -> Option<Candidate> {
    let runs: Vec<Id> = finding
        .subjects
        .iter()
        .copied()
        .filter(|id| id.kind == Kind::Pipe)
        .collect();
    let edits: Vec<Edit> = runs
        .iter()
        .filter_map(|id| {
            let pipe = crate::model::Pipe {
                purple: true,
                ..(**plan.objects.pipes.get(id)?).clone()
            };
            Some(Edit::Put {
                id: *id,
                object: Object::Pipe(Arc::new(pipe)),
            })
        })
        .collect();
    (!edits.is_empty()).then(|| {
        (
            text("purple", vec![("runs", Value::Ids(runs))]),
            Edit::All(edits),
        )
    })
}

/// A reduced-pressure assembly in the first run behind the drinking-water supply.
fn protect_service(plan: &Plan, finding: &Finding) -> Option<Candidate> {
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

/// For water that is thrown where it must not go: the head moved back, or taken away.
fn hold_spray_back(plan: &Plan, now: &Analysis, finding: &Finding) -> Vec<Candidate> {
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
        let (_, over) = reach.largest.beyond(outline);
        let inwards = outline.centre() - reach.largest.at;
        let distance = inwards.norm();
        if over > Length::ZERO && distance > 0.0 {
            // A hand's breadth more than it reaches over.
            const SPARE: Length = Length::from_metres(0.1);
            let by: PlanVector = inwards * ((over + SPARE).metres() / distance);
            let values = vec![
                ("head", Value::Ids(vec![*id])),
                ("by", Value::Length(over + SPARE)),
            ];
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
