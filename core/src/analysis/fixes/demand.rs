//! What would help a zone that asks for more than its supply may give: a second valve for part of it, emitters of less
//! flow.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::branches::{between, on_own_valve, taken_off};
use super::lines::{line_part, with_line_part};
use super::{Candidate, text, zone_of};
use crate::analysis::{Analysis, ZoneAnalysis};
use crate::catalog::{Catalog, EmissionPart};
use crate::edit::{Edit, rename_joints};
use crate::finding::{Finding, Value};
use crate::ids::{Id, Kind};
use crate::model::Joints;
use crate::model::{
    Document, Emission, End, NextId, Object, Objects, Pipe, Plan, PortRef, integrity,
};
use crate::units::{Angle, Flow, Length};

/// How many places to cut are tried.
const NUM_CUTS: usize = 4;

/// Part of the zone on a second valve on the same main: the most even cuts whose parts the supply can give, first. Where
/// half is still too much, the largest part that it can give, so that the rest is nearer to its limit.
pub(super) fn second_valve(
    document: &Document,
    now: &Analysis,
    finding: &Finding,
) -> Vec<Candidate> {
    let plan = &document.design;
    let (Some(zone), Some(Value::Flow(limit))) = (zone_of(now, finding), &finding.limit) else {
        return Vec::new();
    };
    let all = zone.rated_flow(plan);
    let mut cuts: Vec<Cut> = zone
        .members
        .iter()
        .filter_map(|id| Some((*id, plan.objects.pipes.get(id)?)))
        .flat_map(|(id, pipe)| cuts(plan, zone, id, pipe))
        .filter(|cut| cut.moved > Flow::ZERO && cut.moved < all && cut.moved <= *limit)
        .collect();
    let larger = |cut: &Cut| cut.moved.max(all - cut.moved);
    cuts.sort_by(|a, b| larger(a).total_cmp(&larger(b)).then(a.run.cmp(&b.run)));
    cuts.truncate(NUM_CUTS);
    cuts.into_iter()
        .filter_map(|cut| {
            let mut objects = plan.objects.clone();
            let mut next_id = document.next_id.clone();
            let part = cut.done(&mut objects, &mut next_id)?;
            let main = on_own_valve(&mut objects, &mut next_id, zone, part)?;
            let values = vec![
                ("main", Value::Ids(vec![main])),
                ("moved", Value::Ids(cut.owners)),
                ("flow", Value::Flow(cut.moved)),
                ("rest", Value::Flow(all - cut.moved)),
                ("zone", Value::Ids(zone_id(finding))),
            ];
            Some((
                text("second_valve", values),
                between(&plan.objects, &objects),
            ))
        })
        .collect()
}

/// A place where a run can be cut so that part of its zone hangs on the valve no more.
#[derive(Debug)]
struct Cut {
    run: Id,
    /// What the part asks for.
    moved: Flow,
    /// What gives water there.
    owners: Vec<Id>,
    /// Between the last thing that is joined on one side and the first on the other.
    at: Length,
    /// Whether the part lies behind the cut, along the run.
    behind: bool,
    /// Whether the whole run belongs to the part, and only its end is taken off.
    whole: bool,
}

/// The cuts of one run, at the middle of each stretch between two joints.
fn cuts(plan: &Plan, zone: &ZoneAnalysis, id: Id, pipe: &Pipe) -> Vec<Cut> {
    let length = pipe.vertices.length();
    let mut joined: Vec<(Length, Id)> = Vec::new();
    let station = |port: &str| match port {
        "start" => Length::ZERO,
        "end" => length,
        tap => pipe.taps.get(tap).copied().unwrap_or_default(),
    };
    for (by, end) in integrity::joints(&plan.objects) {
        if let Some(port) = end.port().filter(|port| port.object == id) {
            joined.push((station(&port.port), by));
        }
    }
    let own = [(&pipe.start, Length::ZERO), (&pipe.end, length)];
    joined.extend(
        own.map(|(end, at)| end.port().map(|port| (at, port.object)))
            .into_iter()
            .flatten(),
    );
    joined.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let joints = Joints::of(&plan.objects);
    let barrier = BTreeSet::from([id]);
    let side =
        |joined: &[(Length, Id)]| joints.reached(joined.iter().map(|known| known.1), &barrier);
    let mut found = Vec::new();
    for index in 1..joined.len() {
        let (from, to) = (joined[index - 1].0, joined[index].0);
        // Less than this is one fitting.
        if to - from < Length::from_metres(0.05) {
            continue;
        }
        let (before, after) = (side(&joined[..index]), side(&joined[index..]));
        let behind = before.contains(&zone.valve);
        // With the valve on both sides the runs are a loop; cutting it divides nothing.
        if behind == after.contains(&zone.valve) {
            continue;
        }
        let (part, near) = if behind {
            (after, index == 1)
        } else {
            (before, index + 1 == joined.len())
        };
        let given: BTreeMap<Id, Flow> = given(plan, zone, &part);
        found.push(Cut {
            run: id,
            moved: given.values().copied().sum(),
            owners: given.into_keys().collect(),
            at: (from + to) / 2.0,
            behind,
            whole: near
                && if behind {
                    from == Length::ZERO
                } else {
                    to == length
                },
        });
    }
    found
}

/// What each thing of a part gives at its rating.
fn given(plan: &Plan, zone: &ZoneAnalysis, part: &BTreeSet<Id>) -> BTreeMap<Id, Flow> {
    let mut given = BTreeMap::new();
    for point in &zone.built.emitters {
        if part.contains(&point.owner)
            && let Some(row) = plan.catalog.emission(&point.part)
        {
            *given.entry(point.owner).or_insert(Flow::ZERO) += row.flow;
        }
    }
    given
}

impl Cut {
    /// Takes the part off. Answers with the run it hangs on then, whose end there is open.
    fn done(&self, objects: &mut Objects, next_id: &mut NextId) -> Option<Id> {
        if self.whole {
            taken_off(objects, self.run, |pipe| self.own_end(pipe))?;
            return Some(self.run);
        }
        // The part that stays keeps the name of the run. The other gets a new one, and what is joined to it follows.
        let pipe = objects.pipes.get(&self.run)?.clone();
        let (mut kept, mut part) = ((*pipe).clone(), (*pipe).clone());
        let is_behind = |tap: &Length| *tap > self.at;
        kept.taps.retain(|_, tap| is_behind(tap) != self.behind);
        part.taps.retain(|_, tap| is_behind(tap) == self.behind);
        let front = pipe.vertices.between(Length::ZERO, self.at);
        let back = pipe.vertices.between(self.at, pipe.vertices.length());
        let (before, after) = if self.behind {
            (&mut kept, &mut part)
        } else {
            (&mut part, &mut kept)
        };
        (before.vertices, after.vertices) = (front, back);
        after.taps.values_mut().for_each(|tap| *tap -= self.at);
        (before.end, after.start) = if self.behind {
            (End::Cap, End::Open)
        } else {
            (End::Open, End::Cap)
        };
        let id = next_id.take(Kind::Pipe);
        let last = if self.behind { "end" } else { "start" };
        let moved: Vec<String> = part.taps.keys().cloned().chain([last.to_owned()]).collect();
        objects.pipes.insert(self.run, Arc::new(kept));
        objects.pipes.insert(id, Arc::new(part));
        for port in moved {
            let (from, to) = (PortRef::new(self.run, port.clone()), PortRef::new(id, port));
            rename_joints(objects, &from, &to);
        }
        Some(id)
    }

    /// The end of the run where the part is taken off.
    fn own_end<'a>(&self, pipe: &'a mut Pipe) -> &'a mut End {
        if self.behind {
            &mut pipe.start
        } else {
            &mut pipe.end
        }
    }
}

fn zone_id(finding: &Finding) -> Vec<Id> {
    let mut zones = finding.subjects.iter().copied();
    zones.find(|id| id.kind == Kind::Zone).into_iter().collect()
}

/// The next row of less flow for everything of the zone that has one: heads of the same throw whose flow goes with their
/// arc, emitters of the same law and spacing.
pub(super) fn less_flow(plan: &Plan, now: &Analysis, finding: &Finding) -> Option<Candidate> {
    let zone = zone_of(now, finding)?;
    let mut owners: BTreeMap<Id, f64> = BTreeMap::new();
    for point in &zone.built.emitters {
        *owners.entry(point.owner).or_default() += 1.0;
    }
    let mut flow = zone.rated_flow(plan);
    let mut edits = Vec::new();
    let mut changed = Vec::new();
    for (id, count) in owners {
        if let Some((object, less)) = giving_less(plan, id) {
            flow -= less * count;
            edits.push(Edit::Put { id, object });
            changed.push(id);
        }
    }
    if edits.is_empty() {
        return None;
    }
    let values = vec![
        ("given", Value::Ids(changed)),
        ("zone", Value::Ids(zone_id(finding))),
        ("flow", Value::Flow(flow)),
    ];
    Some((text("less_flow", values), Edit::All(edits)))
}

/// The thing with other parts, and how much less flow each of its emission devices has.
fn giving_less(plan: &Plan, id: Id) -> Option<(Object, Flow)> {
    let rows = || Catalog::built_in().emissions.iter();
    let next = |part: &EmissionPart| {
        rows()
            .filter(|(_, row)| {
                row.kind == part.kind
                    && row.law == part.law
                    && row.spacing == part.spacing
                    && row.flow < part.flow
            })
            .max_by(|a, b| a.1.flow.total_cmp(&b.1.flow).then(b.0.cmp(a.0)))
    };
    let Some(emission) = plan.objects.emissions.get(&id) else {
        let part = plan.catalog.emission(line_part(plan, id)?)?;
        let (key, row) = next(part)?;
        return Some((with_line_part(plan, id, key)?, part.flow - row.flow));
    };
    let part = plan.catalog.emission(&emission.part)?;
    let (key, row) = if emission.kind.sprays() {
        // The smallest arc of the family that still covers what the head waters.
        let family = part.family.as_ref()?;
        let covers = |arc: Option<Angle>| arc.is_none_or(|arc| arc >= emission.arc_sweep);
        rows()
            .filter(|(_, row)| {
                row.family.as_ref() == Some(family) && row.flow < part.flow && covers(row.arc)
            })
            .min_by(|a, b| a.1.flow.total_cmp(&b.1.flow).then(a.0.cmp(b.0)))?
    } else {
        next(part)?
    };
    let other = Emission {
        part: key.clone(),
        ..(**emission).clone()
    };
    Some((Object::Emission(Arc::new(other)), part.flow - row.flow))
}
