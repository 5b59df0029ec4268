//! The tree of runs that a search of sizes works on: who feeds whom, what each stretch carries, what each size loses.

use std::collections::{BTreeMap, BTreeSet};

use crate::analysis::{Analysis, ZoneAnalysis};
use crate::edit::Edit;
use crate::hydraulics::sizing::{Choice, Input, Run};
use crate::hydraulics::{LinkKind, SupplyCase, open_loss};
use crate::ids::Id;
use crate::model::{Object, Plan};
use crate::units::{Flow, Length};

use super::NoSizes;
use super::trials::{Trials, in_size};

/// A link of some zone, by what it is on the drawing: the same in every zone that uses it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Key {
    pub owner: Id,
    /// Row of a bed, with the header below all rows.
    pub row: usize,
    /// Place in the list of its owner.
    pub place: usize,
}

/// What flows through a link, the most of all zones that use it.
#[derive(Clone, Debug)]
pub(super) struct Stretch {
    /// What feeds it; `None` at a supply.
    pub before: Option<Key>,
    /// Flow at low supply.
    pub flow: Flow,
    /// The largest flow of all cases.
    pub most: Flow,
    /// Head it loses at low supply.
    pub loss_m: f64,
    /// Head wanted at its end.
    pub needs_m: Option<f64>,
    /// The most head there can be at its end.
    pub capped_m: Option<f64>,
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
    trials: &Trials<'_>,
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
        gather(trials.plan, *id, zone, reserve_m, &mut stretches)?;
    }
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
        let (candidates, mut choices) = if is_free {
            trials.offer(first.owner, &links, &parts)
        } else {
            (Vec::new(), Vec::new())
        };
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
    let level = |place: usize| {
        let junction = network.junctions.get(place);
        junction.map_or(0.0, |junction| junction.level.metres())
    };
    let mut needs: BTreeMap<usize, f64> = BTreeMap::new();
    for emitter in zone.emitters(SupplyCase::Low) {
        let least = plan
            .catalog
            .emission(&emitter.point.part)
            .map_or(crate::units::Pressure::ZERO, |part| part.minimum);
        let wanted = level(emitter.junction) + network.water.head_of(least).metres() + reserve_m;
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
