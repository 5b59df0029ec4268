//! The tree of runs that a search of sizes works on: who feeds whom, what each stretch carries, what each size loses.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::analysis::{Analysis, ZoneAnalysis};
use crate::edit::Edit;
use crate::hydraulics::sizing::{Choice, Input, Run};
use crate::hydraulics::{
    Joints, LinkKind, Network, OperatingSet, PipeFriction, PlanNetwork, SupplyCase, from_plan,
    open_loss, velocity_in,
};
use crate::ids::Id;
use crate::layout::Ground;
use crate::model::{Object, Pipe, Plan};
use crate::units::{Flow, Length};

use super::NoSizes;

/// A link of some zone, by what it is on the drawing: the same in every zone that uses it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Key {
    owner: Id,
    /// Row of a bed, with the header below all rows.
    row: usize,
    /// Place in the list of its owner.
    place: usize,
}

/// What flows through a link, the most of all zones that use it.
#[derive(Clone, Debug)]
struct Stretch {
    /// What feeds it; `None` at a supply.
    before: Option<Key>,
    /// Flow at low supply.
    flow: Flow,
    /// The largest flow of all cases.
    most: Flow,
    /// Head it loses at low supply.
    loss_m: f64,
    /// Head wanted at its end.
    needs_m: Option<f64>,
    /// The most head there can be at its end.
    capped_m: Option<f64>,
}

/// A size that a run may have.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Candidate {
    /// Row of the pipe catalog.
    pub part: String,
    /// Price of the whole run.
    pub cost: f64,
}

/// A run of the search and what it is on the drawing.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Sized {
    /// The run of pipe.
    pub id: Id,
    /// Its place in the list of the search.
    pub place: usize,
    /// In the order of the choices.
    pub candidates: Vec<Candidate>,
}

impl Sized {
    /// The next cheaper size than a part, and its place among the candidates.
    pub fn cheaper_than(&self, part: Option<&String>) -> Option<(usize, &Candidate)> {
        let own = self
            .candidates
            .iter()
            .position(|size| Some(&size.part) == part)?;
        let place = own.checked_sub(1)?;
        Some((place, self.candidates.get(place)?))
    }
}

/// A search made ready.
#[derive(Clone, Debug)]
pub(super) struct Tree {
    pub input: Input,
    pub sized: Vec<Sized>,
    /// What each place of the search is on the drawing.
    pub owners: Vec<Id>,
}

/// Makes the search ready for some zones, with the flows that a plan has now.
pub(super) fn build(
    plan: &Plan,
    now: &Analysis,
    zones: &[Id],
    may_change: &BTreeSet<Id>,
    reserve_m: f64,
    fastest_mps: f64,
) -> Result<Tree, NoSizes> {
    let mut stretches: BTreeMap<Key, Stretch> = BTreeMap::new();
    let mut source_m = f64::INFINITY;
    for id in zones {
        let Some(zone) = now.zones.get(id) else {
            continue;
        };
        let [source] = zone.built.network.sources.as_slice() else {
            return Err(NoSizes::Supplies { zone: *id });
        };
        let heads = &zone.solution(SupplyCase::Low).heads;
        source_m = source_m.min(heads.get(source.junction).map_or(0.0, |head| head.metres()));
        gather(plan, *id, zone, reserve_m, &mut stretches)?;
    }
    let trials = Trials::new(plan, zones, may_change);
    let (order, chains) = ordered(&stretches, may_change);
    let mut places: BTreeMap<Key, (usize, usize)> = BTreeMap::new();
    let mut tree = Tree {
        input: Input {
            runs: Vec::new(),
            source_m,
            fastest_mps,
        },
        sized: Vec::new(),
        owners: Vec::new(),
    };
    for first in order {
        let links = chains.get(&first).cloned().unwrap_or_else(|| vec![first]);
        let place = tree.input.runs.len();
        let parts: Vec<&Stretch> = links.iter().filter_map(|key| stretches.get(key)).collect();
        let is_free = chains.contains_key(&first);
        let (mut candidates, mut choices) = (Vec::new(), Vec::new());
        if is_free {
            trials.offer(first.owner, &links, &parts, &mut candidates, &mut choices);
        }
        if choices.is_empty() {
            choices.push(Choice {
                losses_m: parts.iter().map(|part| part.loss_m).collect(),
                velocity_mps: 0.0,
                cost: 0.0,
            });
        } else {
            tree.sized.push(Sized {
                id: first.owner,
                place,
                candidates,
            });
        }
        tree.input.runs.push(Run {
            before: parts
                .first()
                .and_then(|part| places.get(&part.before?).copied()),
            choices,
            needs_m: parts.iter().map(|part| part.needs_m).collect(),
            most_m: parts.last().and_then(|part| part.capped_m),
        });
        tree.owners.push(first.owner);
        for (stretch, key) in links.iter().enumerate() {
            places.insert(*key, (place, stretch));
        }
    }
    Ok(tree)
}

/// Adds what one zone knows of its links.
fn gather(
    plan: &Plan,
    id: Id,
    zone: &ZoneAnalysis,
    reserve_m: f64,
    stretches: &mut BTreeMap<Key, Stretch>,
) -> Result<(), NoSizes> {
    let network = &zone.built.network;
    let low = zone.solution(SupplyCase::Low);
    let keys = keys(zone);
    let feeding = zone.feeding(SupplyCase::Low);
    let fed: BTreeSet<usize> = feeding.iter().flatten().map(|(link, _)| *link).collect();
    // A link that carries water and feeds nothing closes a loop.
    let closing = low
        .flows
        .iter()
        .enumerate()
        .find(|(link, flow)| flow.abs() > LEAST_FLOW && !fed.contains(link));
    if let Some((link, _)) = closing {
        let owner = keys.get(&link).map_or(id, |key| key.owner);
        return Err(NoSizes::Loop { run: owner });
    }
    // Some joints are links without an owner: they are passed over.
    let named = |mut junction: usize| {
        for _ in 0..=network.links.len() {
            let (link, from) = feeding.get(junction).copied().flatten()?;
            if let Some(key) = keys.get(&link) {
                return Some((*key, link));
            }
            junction = from;
        }
        None
    };
    let mut needs: BTreeMap<usize, f64> = BTreeMap::new();
    for emitter in zone.emitters(SupplyCase::Low) {
        let least = plan
            .catalog
            .emission(&emitter.point.part)
            .map_or(crate::units::Pressure::ZERO, |part| part.minimum);
        let level = network
            .junctions
            .get(emitter.junction)
            .map_or(0.0, |junction| junction.level.metres());
        let wanted = level + network.water.head_of(least).metres() + reserve_m;
        let known = needs.entry(emitter.junction).or_insert(wanted);
        *known = known.max(wanted);
    }
    for (junction, fed_by) in feeding.iter().enumerate() {
        let Some((index, from)) = *fed_by else {
            continue;
        };
        let (Some(key), Some(link)) = (keys.get(&index), network.links.get(index)) else {
            continue;
        };
        let flow = low.flows.get(index).copied().unwrap_or_default().abs();
        let most = SupplyCase::ALL
            .iter()
            .filter_map(|case| zone.solution(*case).flows.get(index))
            .fold(Flow::ZERO, |most, flow| most.max(flow.abs()));
        let level = |place: usize| {
            let junction = network.junctions.get(place);
            junction.map_or(0.0, |junction| junction.level.metres())
        };
        let (loss_m, capped_m) = match &link.kind {
            LinkKind::Regulator { set, loss } => (
                open_loss(loss, network.water, flow).metres(),
                Some(level(junction) + network.water.head_of(*set).metres()),
            ),
            _ => (
                low.losses
                    .get(index)
                    .map_or(0.0, |loss| loss.metres().abs()),
                None,
            ),
        };
        let before = named(from).map(|(key, _)| key);
        let needs_m = needs.get(&junction).copied();
        match stretches.get_mut(key) {
            None => {
                stretches.insert(
                    *key,
                    Stretch {
                        before,
                        flow,
                        most,
                        loss_m,
                        needs_m,
                        capped_m,
                    },
                );
            }
            Some(known) if known.before != before => {
                return Err(NoSizes::Loop { run: key.owner });
            }
            Some(known) => {
                known.flow = known.flow.max(flow);
                known.most = known.most.max(most);
                known.loss_m = known.loss_m.max(loss_m);
            }
        }
    }
    Ok(())
}

/// Below this a link is taken to stand still: 0.004 L/h, a thousandth of what the slowest emitter gives.
const LEAST_FLOW: Flow = Flow::from_litres_per_second(1e-6);

/// Every link that has a name on the drawing.
fn keys(zone: &ZoneAnalysis) -> BTreeMap<usize, Key> {
    let built = &zone.built;
    let mut keys = BTreeMap::new();
    let mut add = |owner: Id, row: usize, place: usize, link: usize| {
        keys.insert(link, Key { owner, row, place });
    };
    for (owner, links) in built.pipes.iter().chain(&built.headers) {
        for (place, link) in links.iter().enumerate() {
            add(*owner, 0, place, *link);
        }
    }
    for ((owner, row), links) in &built.rows {
        for (place, link) in links.iter().enumerate() {
            add(*owner, row + 1, place, *link);
        }
    }
    for (owner, link) in &built.devices {
        add(*owner, 0, 0, *link);
    }
    for (owner, link) in &built.fall_offs {
        add(*owner, 0, 1, *link);
    }
    keys
}

type Chains = BTreeMap<Key, Vec<Key>>;

/// The first links of all runs, each behind what feeds it, and the links of those that may change. A run that is fed at
/// a tap has water going both ways: it keeps its size, link by link.
fn ordered(stretches: &BTreeMap<Key, Stretch>, may_change: &BTreeSet<Id>) -> (Vec<Key>, Chains) {
    let mut of_run: BTreeMap<Id, Vec<Key>> = BTreeMap::new();
    for key in stretches
        .keys()
        .filter(|key| may_change.contains(&key.owner))
    {
        of_run.entry(key.owner).or_default().push(*key);
    }
    let mut chains = Chains::new();
    let mut inside = BTreeSet::new();
    for links in of_run.values() {
        let follows = |links: &[Key]| {
            links
                .windows(2)
                .all(|pair| stretches.get(&pair[1]).and_then(|part| part.before) == Some(pair[0]))
        };
        let reversed: Vec<Key> = links.iter().rev().copied().collect();
        let chain = if follows(links) {
            links
        } else if follows(&reversed) {
            &reversed
        } else {
            continue;
        };
        if let [first, rest @ ..] = chain.as_slice() {
            inside.extend(rest.iter().copied());
            chains.insert(*first, chain.clone());
        }
    }
    let mut behind: BTreeMap<Option<Key>, Vec<Key>> = BTreeMap::new();
    for (key, part) in stretches.iter().filter(|(key, _)| !inside.contains(*key)) {
        let before = part.before.filter(|key| stretches.contains_key(key));
        behind.entry(before).or_default().push(*key);
    }
    let mut order = Vec::new();
    let mut open: Vec<Key> = behind.get(&None).cloned().unwrap_or_default();
    while let Some(first) = open.pop() {
        order.push(first);
        let links = chains.get(&first).cloned().unwrap_or_else(|| vec![first]);
        for key in links {
            open.extend(behind.get(&Some(key)).into_iter().flatten().copied());
        }
    }
    (order, chains)
}

/// The plan with all its runs in the first, second, third size, so that fittings are counted as they would be.
struct Trials<'a> {
    plan: &'a Plan,
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
    fn new(plan: &'a Plan, zones: &[Id], may_change: &BTreeSet<Id>) -> Self {
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
    fn offer(
        &self,
        id: Id,
        links: &[Key],
        parts: &[&Stretch],
        candidates: &mut Vec<Candidate>,
        choices: &mut Vec<Choice>,
    ) {
        let Some(pipe) = self.plan.objects.pipes.get(&id) else {
            return;
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
        (*candidates, *choices) = found.into_iter().unzip();
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

fn in_size(pipe: &Pipe, part: &str) -> Arc<Pipe> {
    Arc::new(Pipe {
        part: part.to_owned(),
        ..pipe.clone()
    })
}

/// The change that gives runs other sizes; `None` where all have them already.
pub(super) fn edit(plan: &Plan, parts: &BTreeMap<Id, String>) -> Option<Edit> {
    let edits: Vec<Edit> = parts
        .iter()
        .filter_map(|(id, part)| {
            let pipe = plan.objects.pipes.get(id)?;
            (pipe.part != *part).then(|| Edit::Put {
                id: *id,
                object: Object::Pipe(in_size(pipe, part)),
            })
        })
        .collect();
    (!edits.is_empty()).then_some(Edit::All(edits))
}

/// Length of a run.
pub(super) fn length_of(plan: &Plan, id: Id) -> Length {
    let pipe = plan.objects.pipes.get(&id);
    pipe.map_or(Length::ZERO, |pipe| pipe.vertices.length())
}
