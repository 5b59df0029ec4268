//! Pipe sizes at least cost for a zone or the whole plan: searched at low supply, then proved by solving all three cases.
//!
//! The search knows flows, not the plan: it takes those of the sizes before, so it is repeated with the flows of what it
//! found until nothing changes; then single runs are tried in their next cheaper size, because smaller pipes also let
//! less through. A main that several zones use is sized for the largest of their flows. What is offered
//! is only what a full analysis of the changed plan bears out; where that misses a limit, the search is repeated with
//! something in hand.

mod no_sizes;
mod tree;
mod trials;

use std::collections::{BTreeMap, BTreeSet};

pub use self::no_sizes::NoSizes;
use super::effect::{Effect, preview};
pub use super::hydraulic_checks::FASTEST;
use super::readings::even_at;
use super::{Analysis, Analyzer, ZoneAnalysis};
use crate::edit::Edit;
use crate::hydraulics::SupplyCase;
use crate::hydraulics::from_plan::water_of_plan;
use crate::hydraulics::sizing::{Unsizable, least_cost};
use crate::ids::Id;
use crate::model::{Document, Plan, State};
use crate::takeoff::Mismatch;
use crate::units::{Length, Pressure, Velocity};
use tree::{Sized, Tree};
use trials::Trials;

/// The flow variation that sizes may bring about: emitters of a zone within a fifth (NRCS practice standard 441, from
/// memory). A zone that is less even already may stay so.
pub const MOST_VARIATION: f64 = 0.20;

/// By how much an uneven zone may become less even: less than is shown.
pub const NO_MATTER: f64 = 0.005;

/// How often the search is repeated.
const MOST_ROUNDS: usize = 12;

/// One run and its sizes.
#[derive(Clone, PartialEq, Debug)]
pub struct RunSize {
    /// The run.
    pub id: Id,
    /// Row of the pipe catalog now.
    pub old: String,
    /// Row of the pipe catalog then.
    pub new: String,
    /// Its length.
    pub length: Length,
    /// Relative cost now.
    pub cost_before: f64,
    /// Relative cost then.
    pub cost_after: f64,
}

/// What keeps a run from being cheaper, or the whole.
#[derive(Clone, PartialEq, Debug)]
pub enum Bound {
    /// In the next cheaper size the water of a run is too fast.
    Velocity {
        /// The run.
        run: Id,
        /// The next cheaper size: row of the pipe catalog.
        smaller: String,
        /// How fast it would be.
        velocity: Velocity,
    },
    /// The outlet with least to spare at low supply.
    Pressure {
        /// Its name.
        outlet: String,
        /// What it gets.
        pressure: Pressure,
        /// What it needs.
        least: Pressure,
        /// Runs that would be cheaper but for the pressure.
        runs: Vec<Id>,
    },
}

/// Sizes that were found and proved.
#[derive(Clone, Debug)]
pub struct Sizing {
    /// Every run that was sized, also those that keep their size, by id.
    pub runs: Vec<RunSize>,
    /// The change; `None` where every run has the size of least cost.
    pub edit: Option<Edit>,
    /// Relative cost of these runs now.
    pub cost_before: f64,
    /// Relative cost of these runs then.
    pub cost_after: f64,
    /// What binds.
    pub bounds: Vec<Bound>,
    /// The fastest water in these runs then, and where, over all cases.
    pub fastest: Option<(Id, Velocity)>,
    /// Flow variation of each zone at low supply then.
    pub variation: Vec<(Id, f64)>,
    /// Lists of the search were thinned: the cost may be beaten by a little.
    pub is_thinned: bool,
    /// The plan as it would be.
    pub then: Analysis,
}

/// Sizes at least cost for the runs behind the valve of one zone, or for every run that some zone uses. Runs that exist
/// already, are to be removed or belong to a utility keep their size.
///
/// # Errors
/// There is nothing to size, no sizes keep the limits, or the proof failed.
pub fn size(
    document: &Document,
    analyzer: &mut Analyzer,
    now: &Analysis,
    zone: Option<Id>,
) -> Result<Sizing, NoSizes> {
    let plan = &document.design;
    let zones: Vec<Id> = match zone {
        Some(zone) => vec![zone],
        None => now.zones.keys().copied().collect(),
    };
    let may_change: BTreeSet<Id> = zones
        .iter()
        .filter_map(|id| Some((zone.is_some(), now.zones.get(id)?)))
        .flat_map(|(behind_valve, zone)| {
            let used = zone.built.pipes.keys();
            used.filter(move |id| !behind_valve || zone.members.contains(id))
        })
        .filter(|id| {
            plan.objects
                .pipes
                .get(id)
                .is_some_and(|pipe| pipe.meta.state == State::Proposed && !pipe.utility_main)
        })
        .copied()
        .collect();
    let trials = Trials::new(plan, &zones, &may_change);
    let water = water_of_plan(plan);
    let (mut reserve_m, mut fastest_mps) = (0.0, FASTEST.metres_per_second());
    let mut flows_of = now.clone();
    let mut tried: Option<BTreeMap<Id, String>> = None;
    let mut missed = NoSizes::Nothing;
    let mut best: Option<Found> = None;
    for _ in 0..MOST_ROUNDS {
        let tree = tree::build(
            &trials,
            &flows_of,
            &zones,
            &may_change,
            reserve_m,
            fastest_mps,
        )?;
        if tree.sized.is_empty() {
            return Err(NoSizes::Nothing);
        }
        let sizes = match least_cost(&tree.input) {
            Ok(sizes) => sizes,
            Err(_) if best.is_some() || missed != NoSizes::Nothing => break,
            Err(error) => return Err(no_sizes(plan, &tree, &error)),
        };
        let parts: BTreeMap<Id, String> = tree
            .sized
            .iter()
            .filter_map(|run| {
                let choice = *sizes.choice.get(run.place)?;
                Some((run.id, run.candidates.get(choice)?.part.clone()))
            })
            .collect();
        if tried.as_ref() == Some(&parts) && best.is_some() {
            break;
        }
        let edit = tree::edit(plan, &parts).unwrap_or(Edit::All(Vec::new()));
        let Ok(effect) = preview(document, analyzer, now, &edit) else {
            return Err(NoSizes::Nothing);
        };
        match proof(plan, now, &effect, &zones, &parts) {
            Ok(()) => {
                let is_cheaper = best.as_ref().is_none_or(|best| sizes.cost < best.cost);
                flows_of = effect.analysis.clone();
                if is_cheaper {
                    best = Some(Found {
                        sized: tree.sized,
                        cost: sizes.cost,
                        is_thinned: sizes.is_thinned,
                        parts: parts.clone(),
                        then: effect.analysis,
                    });
                } else {
                    break;
                }
            }
            Err(_) if best.is_some() => break,
            Err(why) => {
                match &why {
                    NoSizes::LowPressure {
                        pressure, least, ..
                    } => reserve_m += water.head_of(*least - *pressure).metres() + 0.01,
                    NoSizes::Fast { velocity, .. } => {
                        fastest_mps *=
                            0.999 * (FASTEST.metres_per_second() / velocity.metres_per_second());
                    }
                    _ => reserve_m += 0.5,
                }
                missed = why;
                flows_of = effect.analysis;
            }
        }
        tried = Some(parts);
    }
    let Some(mut best) = best else {
        return Err(missed);
    };
    // Flows follow the sizes: what was too large for the flows searched with may do with those that come about.
    let mut tries = 0;
    'cheaper: while tries < MOST_TRIES {
        for parts in best.one_cheaper() {
            tries += 1;
            let Some(edit) = tree::edit(plan, &parts) else {
                continue;
            };
            let Ok(effect) = preview(document, analyzer, now, &edit) else {
                continue;
            };
            if proof(plan, now, &effect, &zones, &parts).is_ok() {
                best.parts = parts;
                best.then = effect.analysis;
                continue 'cheaper;
            }
            if tries == MOST_TRIES {
                break;
            }
        }
        break;
    }
    let fastest_mps = FASTEST.metres_per_second();
    // What binds is told for the flows that come about.
    let tree = tree::build(&trials, &best.then, &zones, &may_change, 0.0, fastest_mps)?;
    Ok(told(plan, &zones, &tree, best))
}

/// How many single runs are tried in a cheaper size after the search.
const MOST_TRIES: usize = 60;

struct Found {
    sized: Vec<Sized>,
    cost: f64,
    is_thinned: bool,
    parts: BTreeMap<Id, String>,
    then: Analysis,
}

impl Found {
    /// The sizes with one run in its next cheaper size, the one that saves most first.
    fn one_cheaper(&self) -> Vec<BTreeMap<Id, String>> {
        let mut found: Vec<(f64, BTreeMap<Id, String>)> = Vec::new();
        for run in &self.sized {
            let Some((place, smaller)) = run.cheaper_than(self.parts.get(&run.id)) else {
                continue;
            };
            let saved = run.candidates.get(place + 1).map_or(0.0, |size| size.cost) - smaller.cost;
            let mut parts = self.parts.clone();
            parts.insert(run.id, smaller.part.clone());
            found.push((saved, parts));
        }
        found.sort_by(|a, b| b.0.total_cmp(&a.0));
        found.into_iter().map(|(_, parts)| parts).collect()
    }
}

fn no_sizes(plan: &Plan, tree: &Tree, error: &Unsizable) -> NoSizes {
    let water = water_of_plan(plan);
    let missing = |wanted: f64, there: f64| water.pressure_of(Length::from_metres(wanted - there));
    let of = |run: usize, why: &dyn Fn(Id) -> NoSizes| {
        let owner = tree.owners.get(run);
        owner.map_or(NoSizes::Nothing, |owner| why(*owner))
    };
    match *error {
        Unsizable::TooFast { run, .. } => of(run, &|run| NoSizes::TooFast { run }),
        Unsizable::HeldDown {
            run,
            wanted_m,
            most_m,
        } => of(run, &|device| NoSizes::HeldDown {
            device,
            missing: missing(wanted_m, most_m),
        }),
        Unsizable::TooLittleHead { wanted_m, source_m } => NoSizes::TooLittle {
            missing: missing(wanted_m, source_m),
        },
        Unsizable::NotATree { run } => of(run, &|run| NoSizes::Loop { run }),
    }
}

/// Whether the changed plan, solved in full, keeps every limit.
fn proof(
    plan: &Plan,
    now: &Analysis,
    effect: &Effect,
    zones: &[Id],
    parts: &BTreeMap<Id, String>,
) -> Result<(), NoSizes> {
    let then = &effect.analysis;
    for id in zones {
        let Some(zone) = then.zones.get(id) else {
            continue;
        };
        for case in SupplyCase::ALL {
            for run in parts.keys() {
                let Some(links) = zone.built.pipes.get(run) else {
                    continue;
                };
                let (_, velocity) = zone.fastest(links, case);
                if velocity > FASTEST {
                    return Err(NoSizes::Fast {
                        run: *run,
                        case,
                        velocity,
                    });
                }
            }
            if let Some((outlet, pressure, least)) =
                worst_outlet(plan, zone, case).filter(|(_, pressure, least)| pressure < least)
            {
                return Err(NoSizes::LowPressure {
                    outlet,
                    case,
                    pressure,
                    least,
                });
            }
        }
        let before = variation_of(plan, now, *id).unwrap_or(0.0);
        let most = MOST_VARIATION.max(before + NO_MATTER);
        if let Some(variation) = variation_of(plan, then, *id).filter(|then| *then > most) {
            return Err(NoSizes::Uneven {
                zone: *id,
                variation,
                most,
            });
        }
    }
    let known = &now.parts.mismatches;
    let is_new = |joint: &&Mismatch| {
        let is_same = |other: &Mismatch| (other.by, other.to) == (joint.by, joint.to);
        !known.iter().any(is_same)
    };
    if let Some(joint) = then.parts.mismatches.iter().find(is_new) {
        return Err(NoSizes::Ends {
            a: joint.by,
            b: joint.to,
        });
    }
    match effect.new_stops.first() {
        Some(stop) => Err(NoSizes::Stop {
            message: stop.message.clone(),
        }),
        None => Ok(()),
    }
}

/// How much the flows of a zone differ at low supply.
fn variation_of(plan: &Plan, analysis: &Analysis, zone: Id) -> Option<f64> {
    let even = even_at(plan, analysis.zones.get(&zone)?, SupplyCase::Low)?;
    Some(even.hydraulic.flow_variation)
}

/// The outlet with least to spare: its name, what it gets, what it needs.
fn worst_outlet(
    plan: &Plan,
    zone: &ZoneAnalysis,
    case: SupplyCase,
) -> Option<(String, Pressure, Pressure)> {
    zone.emitters(case)
        .filter_map(|emitter| {
            let least = plan.catalog.emission(&emitter.point.part)?.minimum;
            Some((emitter.pressure - least, emitter, least))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, emitter, least)| (emitter.point.name(), emitter.pressure, least))
}

fn told(plan: &Plan, zones: &[Id], tree: &Tree, found: Found) -> Sizing {
    let Found {
        is_thinned,
        parts,
        then,
        ..
    } = found;
    let price = |key: &str| plan.catalog.pipe_price(key).unwrap_or_default();
    let mut runs: Vec<RunSize> = parts
        .iter()
        .filter_map(|(id, new)| {
            let old = plan.objects.pipes.get(id)?.part.clone();
            let length = tree::length_of(plan, *id);
            Some(RunSize {
                id: *id,
                cost_before: price(&old) * length.metres(),
                cost_after: price(new) * length.metres(),
                old,
                new: new.clone(),
                length,
            })
        })
        .collect();
    runs.sort_by_key(|run| run.id);
    let mut bounds = Vec::new();
    let mut held = Vec::new();
    for run in &tree.sized {
        let Some((place, smaller)) = run.cheaper_than(parts.get(&run.id)) else {
            continue;
        };
        let search = tree.input.runs.get(run.place);
        let too_fast = search
            .and_then(|search| search.choices.get(place))
            .map(|size| size.velocity_mps)
            .filter(|velocity| *velocity > FASTEST.metres_per_second());
        match too_fast {
            None => held.push(run.id),
            Some(velocity_mps) => bounds.push(Bound::Velocity {
                run: run.id,
                smaller: smaller.part.clone(),
                velocity: Velocity::from_metres_per_second(velocity_mps),
            }),
        }
    }
    let worst = zones
        .iter()
        .filter_map(|id| worst_outlet(plan, then.zones.get(id)?, SupplyCase::Low))
        .min_by(|a, b| (a.1 - a.2).total_cmp(&(b.1 - b.2)));
    if let Some((outlet, pressure, least)) = worst {
        bounds.push(Bound::Pressure {
            outlet,
            pressure,
            least,
            runs: held,
        });
    }
    let fastest = zones
        .iter()
        .filter_map(|id| then.zones.get(id))
        .flat_map(|zone| SupplyCase::ALL.map(|case| (zone, case)))
        .flat_map(|(zone, case)| {
            parts
                .keys()
                .filter_map(move |id| Some((*id, zone.fastest(zone.built.pipes.get(id)?, case).1)))
        })
        .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
    let variation = zones
        .iter()
        .filter_map(|id| Some((*id, variation_of(plan, &then, *id)?)))
        .collect();
    Sizing {
        cost_before: runs.iter().map(|run| run.cost_before).sum(),
        cost_after: runs.iter().map(|run| run.cost_after).sum(),
        runs,
        edit: tree::edit(plan, &parts),
        bounds,
        fastest,
        variation,
        is_thinned,
        then,
    }
}
