//! What each run would lose and cost in each of its sizes.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::tree::{Candidate, Key, Stretch};
use crate::hydraulics::sizing::Choice;
use crate::hydraulics::{
    LinkKind, Network, OperatingSet, PipeFriction, PlanNetwork, from_plan, velocity_in,
};
use crate::ids::Id;
use crate::layout::Ground;
use crate::model::{Joints, Object, Pipe, Plan};

/// The plan with all its runs in the first, second, third size, so that fittings are counted as they would be.
pub(super) struct Trials<'a> {
    pub plan: &'a Plan,
    /// For each size: the part of each run, and the networks of the zones with that.
    sizes: Vec<Trial>,
}

struct Trial {
    parts: BTreeMap<Id, String>,
    networks: Vec<PlanNetwork>,
    /// Runs that would meet an end they cannot be joined to.
    unfit: BTreeSet<Id>,
}

impl<'a> Trials<'a> {
    pub fn new(plan: &'a Plan, zones: &[Id], may_change: &BTreeSet<Id>) -> Self {
        let sizes_of = |id: &Id| -> Vec<String> {
            let part = plan.objects.pipes.get(id).map(|pipe| pipe.part.as_str());
            part.and_then(|key| plan.catalog.pipe(key))
                .map(|row| plan.catalog.sizes_of(row))
                .unwrap_or_default()
                .into_iter()
                .map(|(key, _)| key.to_owned())
                .collect()
        };
        let all: BTreeMap<Id, Vec<String>> =
            may_change.iter().map(|id| (*id, sizes_of(id))).collect();
        let most = all.values().map(Vec::len).max().unwrap_or_default();
        let misfits = |plan: &Plan| -> BTreeSet<(Id, Id)> {
            let found = crate::takeoff::mismatches(plan);
            found.iter().map(|joint| (joint.by, joint.to)).collect()
        };
        let known = misfits(plan);
        let ground = Ground::of(&plan.objects);
        let sizes = (0..most)
            .map(|size| {
                let parts: BTreeMap<Id, String> = all
                    .iter()
                    .filter_map(|(id, sizes)| Some((*id, sizes.get(size)?.clone())))
                    .collect();
                let changed = in_sizes(plan, &parts);
                let joints = Joints::of(&changed.objects);
                let networks = zones
                    .iter()
                    .map(|zone| {
                        let set = OperatingSet::alone(*zone);
                        from_plan::network(&changed, &ground, &joints, &BTreeMap::new(), &set)
                    })
                    .collect();
                let unfit: BTreeSet<Id> = misfits(&changed)
                    .difference(&known)
                    .flat_map(|(by, to)| [*by, *to])
                    .collect();
                Trial {
                    parts,
                    networks,
                    unfit,
                }
            })
            .collect();
        Self { plan, sizes }
    }

    /// The sizes of one run, the cheapest first.
    pub fn offer(
        &self,
        id: Id,
        links: &[Key],
        parts: &[&Stretch],
    ) -> (Vec<Candidate>, Vec<Choice>) {
        let Some(pipe) = self.plan.objects.pipes.get(&id) else {
            return (Vec::new(), Vec::new());
        };
        let length_m = pipe.vertices.length().metres();
        let mut found: Vec<(Candidate, Choice)> = Vec::new();
        for trial in &self.sizes {
            let Some(key) = trial
                .parts
                .get(&id)
                .filter(|key| **key == pipe.part || !trial.unfit.contains(&id))
            else {
                continue;
            };
            let Some(price) = self.plan.catalog.pipe_price(key) else {
                continue;
            };
            let built = trial
                .networks
                .iter()
                .find_map(|built| Some((&built.network, built.pipes.get(&id)?)));
            let Some(choice) = built
                .and_then(|(network, own)| choice(network, own, links, parts, price * length_m))
            else {
                continue;
            };
            let candidate = Candidate {
                part: key.clone(),
                cost: choice.cost,
            };
            found.push((candidate, choice));
        }
        found.sort_by(|a, b| a.0.cost.total_cmp(&b.0.cost));
        found.into_iter().unzip()
    }
}

fn choice(
    network: &Network,
    own: &[usize],
    links: &[Key],
    parts: &[&Stretch],
    cost: f64,
) -> Option<Choice> {
    let mut losses_m = Vec::new();
    let mut velocity_mps = 0.0_f64;
    for (key, part) in links.iter().zip(parts) {
        let link = network.links.get(*own.get(key.place)?)?;
        let LinkKind::Pipe(pipe) = &link.kind else {
            return None;
        };
        let friction = PipeFriction::new(pipe, network.water, network.law)?;
        losses_m.push(friction.at(part.flow).loss.metres());
        velocity_mps = velocity_mps.max(velocity_in(pipe.bore, part.most).metres_per_second());
    }
    Some(Choice {
        losses_m,
        velocity_mps,
        cost,
    })
}

/// A plan with other sizes.
fn in_sizes(plan: &Plan, parts: &BTreeMap<Id, String>) -> Plan {
    let mut changed = plan.clone();
    for (id, part) in parts {
        if let Some(pipe) = plan.objects.pipes.get(id) {
            changed.objects.put(*id, Object::Pipe(in_size(pipe, part)));
        }
    }
    changed
}

/// A run in another size.
pub(super) fn in_size(pipe: &Pipe, part: &str) -> Arc<Pipe> {
    Arc::new(Pipe {
        part: part.to_owned(),
        ..pipe.clone()
    })
}
