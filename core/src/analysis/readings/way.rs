//! The way of the water from its supply to any place: heads, levels and pressures along it, what it passes.

use std::collections::{BTreeMap, VecDeque};

use super::path::{LossShare, shares};
use crate::analysis::zones::path_along;
use crate::analysis::{Analysis, ZoneAnalysis};
use crate::hydraulics::{LinkKind, SupplyCase, supply_curve};
use crate::ids::{Id, Kind};
use crate::model::{Plan, PortRef};
use crate::units::{Length, Pressure};

/// A place that water reaches: an emission device or a port.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Place {
    /// Its name: `B3.2.7`, `L7.12`, `E4`, `P4.end`, `D3.out`.
    pub name: String,
    /// The zone that runs.
    pub zone: Id,
    /// Whether it is an emission device.
    pub is_emitter: bool,
    pub(in crate::analysis) junction: usize,
}

/// A point of a way.
#[derive(Clone, PartialEq, Debug)]
pub struct WayPoint {
    /// What stands there; absent between two stretches of one object.
    pub name: Option<String>,
    /// What the water came through; the supply at the first point.
    pub through: Id,
    /// Distance from the supply along the pipes.
    pub along: Length,
    /// Level above the plan's datum.
    pub level: Length,
    /// Head above the same datum, in the order of [`SupplyCase::ALL`].
    pub head: [Length; 3],
    /// Gauge pressure: the head above the level.
    pub pressure: [Pressure; 3],
}

/// The way to a place.
#[derive(Clone, PartialEq, Debug)]
pub struct Way {
    /// Where it ends.
    pub place: Place,
    /// Points from the supply on. The way is that of the case it was asked for; a loop may be fed otherwise in another.
    pub points: Vec<WayPoint>,
    /// Pressure of the supply at rest.
    pub at_rest: [Pressure; 3],
    /// Who takes the pressure, in each case; each list has the same parts in the same order.
    pub shares: [Vec<LossShare>; 3],
}

impl Way {
    /// Pressure at its end.
    #[must_use]
    pub fn arrives(&self) -> [Pressure; 3] {
        self.points
            .last()
            .map_or([Pressure::ZERO; 3], |point| point.pressure)
    }

    /// The devices on it: their point, in the order of the way.
    pub fn devices(&self) -> impl Iterator<Item = (Id, &WayPoint)> {
        // The outlet of a regulator is two points where its pressure falls off with the flow: the second counts.
        let next = self.points.iter().skip(1).map(Some).chain([None]);
        self.points.iter().zip(next).filter_map(|(point, next)| {
            let is_last = next.is_none_or(|next| next.through != point.through);
            (point.through.kind == Kind::Device && is_last).then_some((point.through, point))
        })
    }
}

/// The places of an object that a way can be read to, the one that stands for it first: its weakest emission device in the
/// case, or where its water leaves. Empty for what no water reaches.
#[must_use]
pub fn places(analysis: &Analysis, id: Id, case: SupplyCase) -> Vec<Place> {
    let mut found: Vec<(Pressure, Place)> = Vec::new();
    for (zone, solved) in &analysis.zones {
        let own = solved
            .emitters(case)
            .filter(|emitter| emitter.point.owner == id);
        found.extend(own.map(|emitter| {
            let place = Place {
                name: emitter.point.name(),
                zone: *zone,
                is_emitter: true,
                junction: emitter.junction,
            };
            (emitter.pressure, place)
        }));
    }
    let weakest = found
        .iter()
        .enumerate()
        .min_by(|a, b| a.1.0.total_cmp(&b.1.0))
        .map(|(index, _)| index);
    if let Some(weakest) = weakest {
        found[..=weakest].rotate_right(1);
    }
    let mut places: Vec<Place> = found.into_iter().map(|(_, place)| place).collect();
    let mut ports = ports(analysis, id);
    // The end of a run and the outlet of a device stand for them.
    ports.sort_by_key(|place| !(place.name.ends_with(".end") || place.name.ends_with(".out")));
    places.extend(ports);
    places
}

/// The supplied ports of an object, in the zone that leaves them least pressure: each zone runs alone.
fn ports(analysis: &Analysis, id: Id) -> Vec<Place> {
    let mut lowest: BTreeMap<&PortRef, (Pressure, Place)> = BTreeMap::new();
    for (zone, solved) in &analysis.zones {
        let solution = solved.solution(SupplyCase::Low);
        for (port, junction) in &solved.built.ports {
            let is_supplied = solution.supplied.get(*junction).copied().unwrap_or(false);
            let Some(pressure) = solution
                .pressures
                .get(*junction)
                .filter(|_| port.object == id && is_supplied)
            else {
                continue;
            };
            let place = Place {
                name: port.to_string(),
                zone: *zone,
                is_emitter: false,
                junction: *junction,
            };
            match lowest.get_mut(port) {
                Some(known) if known.0 <= *pressure => {}
                Some(known) => *known = (*pressure, place),
                None => {
                    lowest.insert(port, (*pressure, place));
                }
            }
        }
    }
    lowest.into_values().map(|(_, place)| place).collect()
}

/// The place of a name; an object's own name gives the place that stands for it.
#[must_use]
pub fn place(analysis: &Analysis, name: &str, case: SupplyCase) -> Option<Place> {
    let object: Id = name.split('.').next()?.parse().ok()?;
    let mut places = places(analysis, object, case).into_iter();
    if name.contains('.') {
        places.find(|place| place.name == name)
    } else {
        places.next()
    }
}

/// The way to a place as the water takes it in a case.
#[must_use]
pub fn way(plan: &Plan, analysis: &Analysis, place: &Place, case: SupplyCase) -> Option<Way> {
    let zone = analysis.zones.get(&place.zone)?;
    let links = links_to(zone, place.junction, case);
    let network = &zone.built.network;
    let mut start = place.junction;
    for index in links.iter().rev() {
        let link = network.links.get(*index)?;
        start = if link.to == start { link.from } else { link.to };
    }
    let source = network
        .sources
        .iter()
        .position(|source| source.junction == start)?;
    let supply = *zone.built.supplies.get(source)?;
    let curve = |case| Some(supply_curve(plan.objects.supplies.get(&supply)?, case));
    let owners = owners(zone);
    let names: BTreeMap<usize, String> = zone
        .built
        .ports
        .iter()
        .map(|(port, junction)| (*junction, port.to_string()))
        .collect();
    let point = |junction: usize, through: Id, along: Length| {
        let mut point = WayPoint {
            name: names.get(&junction).cloned(),
            through,
            along,
            level: network.junctions.get(junction)?.level,
            head: [Length::ZERO; 3],
            pressure: [Pressure::ZERO; 3],
        };
        for (index, case) in SupplyCase::ALL.into_iter().enumerate() {
            let solution = zone.solution(case);
            point.head[index] = *solution.heads.get(junction)?;
            point.pressure[index] = *solution.pressures.get(junction)?;
        }
        Some(point)
    };
    let mut points = vec![point(start, supply, Length::ZERO)?];
    let mut here = start;
    let mut along = Length::ZERO;
    for index in &links {
        let link = network.links.get(*index)?;
        here = if link.from == here {
            link.to
        } else {
            link.from
        };
        if let LinkKind::Pipe(pipe) = link.kind {
            along += pipe.length;
        }
        // Two ends that were joined one to the other are one place.
        if let Some(owner) = owners.get(index) {
            points.push(point(here, *owner, along)?);
        }
    }
    if let Some(last) = points.last_mut() {
        last.name = Some(place.name.clone());
    }
    let mut at_rest = [Pressure::ZERO; 3];
    for (value, case) in at_rest.iter_mut().zip(SupplyCase::ALL) {
        *value = curve(case)?.at_rest;
    }
    let shares = [0, 1, 2].map(|case| shares(&points, case, at_rest[case], network.water));
    Some(Way {
        place: place.clone(),
        points,
        at_rest,
        shares,
    })
}

/// The links on the way to a junction from its supply on. What stands still is reached by the shortest way from where
/// the water runs: behind a cap or in a zone that gives nothing.
fn links_to(zone: &ZoneAnalysis, junction: usize, case: SupplyCase) -> Vec<usize> {
    let feeding = zone.feeding(case);
    let network = &zone.built.network;
    let is_reached = |here: usize| {
        feeding.get(here).copied().flatten().is_some()
            || network.sources.iter().any(|source| source.junction == here)
    };
    let mut at: Vec<Vec<usize>> = vec![Vec::new(); network.junctions.len()];
    if !is_reached(junction) {
        for (index, link) in network.links.iter().enumerate() {
            for end in [link.from, link.to] {
                if let Some(list) = at.get_mut(end) {
                    list.push(index);
                }
            }
        }
    }
    let mut still: Vec<Option<(usize, usize)>> = vec![None; network.junctions.len()];
    let mut ahead = VecDeque::from([junction]);
    let mut end = None;
    while let Some(here) = ahead.pop_front() {
        if is_reached(here) {
            end = Some(here);
            break;
        }
        for index in at.get(here).into_iter().flatten() {
            let Some(link) = network.links.get(*index) else {
                continue;
            };
            let other = if link.from == here {
                link.to
            } else {
                link.from
            };
            let is_new = other != junction && still.get(other).is_some_and(Option::is_none);
            if is_new && !matches!(link.kind, LinkKind::Closed) {
                still[other] = Some((*index, here));
                ahead.push_back(other);
            }
        }
    }
    let Some(end) = end else { return Vec::new() };
    let mut links = path_along(&feeding, end);
    links.reverse();
    let mut here = end;
    while here != junction {
        let Some((link, next)) = still.get(here).copied().flatten() else {
            break;
        };
        links.push(link);
        here = next;
    }
    links
}

/// The object that each link belongs to.
fn owners(zone: &ZoneAnalysis) -> BTreeMap<usize, Id> {
    let built = &zone.built;
    let runs = built.pipes.iter().chain(&built.headers);
    let rows = built.rows.iter().map(|((id, _), links)| (id, links));
    runs.chain(rows)
        .flat_map(|(id, links)| links.iter().map(|link| (*link, *id)))
        .chain(
            built
                .devices
                .iter()
                .chain(&built.fall_offs)
                .map(|(id, link)| (*link, *id)),
        )
        .collect()
}
