//! Structural rules of a plan that hold whatever the user draws: names that are used exist, ports exist and are joined
//! once, and two waters never meet.

use std::collections::{BTreeMap, BTreeSet};

use super::{End, Objects, PortRef};
use crate::ids::{Id, Kind};

/// One broken structural rule.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum Violation {
    /// An id stands in the table of another kind.
    #[error("{id} stands under \"{table}\", which holds other kinds of objects")]
    WrongTable {
        /// The id.
        id: Id,
        /// The table it stands in.
        table: &'static str,
    },
    /// A name is used that no object has.
    #[error("{by} names {missing}, which is not in the plan")]
    Missing {
        /// Who names it.
        by: Id,
        /// The name.
        missing: Id,
    },
    /// A port is named that its object does not have.
    #[error("{by} is joined to {port}, but {} has no such port", port.object)]
    NoSuchPort {
        /// Who is joined to it.
        by: Id,
        /// The port.
        port: PortRef,
    },
    /// A port is joined to more than one thing.
    #[error("{port} is joined twice, by {first} and by {second}")]
    JoinedTwice {
        /// The port.
        port: PortRef,
        /// One of the two.
        first: Id,
        /// The other.
        second: Id,
    },
    /// Two waters meet.
    #[error("{a} and {b} carry different waters and must not be joined")]
    WatersMeet {
        /// One side.
        a: Id,
        /// The other side.
        b: Id,
    },
    /// A pipe or line has no length.
    #[error("{0} needs at least two points")]
    TooShort(Id),
}

impl Violation {
    /// Whether a file with it cannot be read at all; the others are things to mend in the drawing.
    #[must_use]
    pub const fn is_fatal(&self) -> bool {
        !matches!(
            self,
            Self::WatersMeet { .. } | Self::JoinedTwice { .. } | Self::TooShort(_)
        )
    }

    /// The object where it shows.
    #[must_use]
    pub const fn place(&self) -> Id {
        match self {
            Self::WrongTable { id, .. } | Self::TooShort(id) => *id,
            Self::Missing { by, .. } | Self::NoSuchPort { by, .. } => *by,
            Self::JoinedTwice { second, .. } => *second,
            Self::WatersMeet { b, .. } => *b,
        }
    }
}

/// All broken structural rules, in the order of the objects.
#[must_use]
pub fn violations(objects: &Objects) -> Vec<Violation> {
    let mut found: Vec<Violation> = objects
        .misplaced()
        .into_iter()
        .map(|(table, id)| Violation::WrongTable { id, table })
        .collect();
    for (by, missing) in references(objects) {
        if !objects.contains(missing) {
            found.push(Violation::Missing { by, missing });
        }
    }
    let mut taken: BTreeMap<PortRef, Id> = BTreeMap::new();
    for (by, end) in joints(objects) {
        let Some(port) = end.port() else { continue };
        if !objects.contains(port.object) {
            found.push(Violation::Missing {
                by,
                missing: port.object,
            });
        } else if !ports(objects, port.object).contains(&port.port) {
            found.push(Violation::NoSuchPort {
                by,
                port: port.clone(),
            });
        } else {
            if let Some(first) = taken.insert(port.clone(), by) {
                found.push(Violation::JoinedTwice {
                    port: port.clone(),
                    first,
                    second: by,
                });
            }
            if let (Some(a), Some(b)) = (water_of(objects, port.object), water_of(objects, by))
                && a != b
            {
                found.push(Violation::WatersMeet {
                    a: port.object,
                    b: by,
                });
            }
        }
    }
    for (id, valve_box) in &objects.boxes {
        for content in &valve_box.contents {
            if water_of(objects, *content).is_some_and(|water| water != valve_box.water) {
                found.push(Violation::WatersMeet {
                    a: *content,
                    b: *id,
                });
            }
        }
    }
    found.extend(
        objects
            .pipes
            .iter()
            .filter(|(_, pipe)| pipe.vertices.0.len() < 2)
            .map(|(id, _)| Violation::TooShort(*id)),
    );
    found.extend(
        objects
            .lines
            .iter()
            .filter(|(_, line)| line.vertices.0.len() < 2)
            .map(|(id, _)| Violation::TooShort(*id)),
    );
    found
}

/// Names of the ports that other things can be joined to.
#[must_use]
pub fn ports(objects: &Objects, id: Id) -> BTreeSet<String> {
    let named = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect();
    match id.kind {
        Kind::Supply => named(&["out"]),
        Kind::Device => named(&["in", "out"]),
        Kind::Bed if objects.beds.get(&id).is_some_and(|bed| bed.fill.is_some()) => named(&["in"]),
        Kind::Line => named(&["start", "end"]),
        Kind::Emission | Kind::Outlet => named(&["in"]),
        Kind::Pipe => {
            let taps = objects
                .pipes
                .get(&id)
                .map(|pipe| pipe.taps.keys().cloned().collect::<BTreeSet<_>>());
            let mut all = taps.unwrap_or_default();
            all.extend(named(&["start", "end"]) as BTreeSet<String>);
            all
        }
        _ => BTreeSet::new(),
    }
}

/// The water an object carries, if it carries any.
#[must_use]
pub fn water_of(objects: &Objects, id: Id) -> Option<Id> {
    match id.kind {
        Kind::Supply => objects.supplies.get(&id).map(|object| object.water),
        Kind::Device => objects.devices.get(&id).map(|object| object.water),
        Kind::Pipe => objects.pipes.get(&id).map(|object| object.water),
        Kind::Line => objects.lines.get(&id).map(|object| object.water),
        Kind::Emission => objects.emissions.get(&id).map(|object| object.water),
        Kind::Outlet => objects.outlets.get(&id).map(|object| object.water),
        Kind::Box => objects.boxes.get(&id).map(|object| object.water),
        Kind::Bed => objects
            .beds
            .get(&id)
            .and_then(|bed| bed.fill.as_ref())
            .map(|fill| fill.water),
        _ => None,
    }
}

/// Every joint that is written down, with the object that writes it.
pub fn joints(objects: &Objects) -> impl Iterator<Item = (Id, &End)> {
    let devices = objects
        .devices
        .iter()
        .map(|(id, device)| (*id, &device.inlet));
    let pipes = objects
        .pipes
        .iter()
        .flat_map(|(id, pipe)| [(*id, &pipe.start), (*id, &pipe.end)]);
    let lines = objects
        .lines
        .iter()
        .flat_map(|(id, line)| [(*id, &line.start), (*id, &line.end)]);
    let emissions = objects
        .emissions
        .iter()
        .map(|(id, emission)| (*id, &emission.inlet));
    let outlets = objects
        .outlets
        .iter()
        .map(|(id, outlet)| (*id, &outlet.inlet));
    devices
        .chain(pipes)
        .chain(lines)
        .chain(emissions)
        .chain(outlets)
}

/// Every other name that an object uses.
fn references(objects: &Objects) -> Vec<(Id, Id)> {
    let mut found: Vec<(Id, Id)> = Vec::new();
    for id in objects.ids() {
        found.extend(water_of(objects, id).map(|water| (id, water)));
    }
    for (id, zone) in &objects.zones {
        found.push((*id, zone.valve));
    }
    for (id, line) in &objects.lines {
        found.extend(line.serves.iter().map(|served| (*id, *served)));
    }
    for (id, emission) in &objects.emissions {
        found.extend(emission.serves.iter().map(|served| (*id, *served)));
    }
    for (id, valve_box) in &objects.boxes {
        found.extend(valve_box.contents.iter().map(|content| (*id, *content)));
    }
    for (id, crossing) in &objects.crossings {
        found.extend([(*id, crossing.over), (*id, crossing.under)]);
    }
    for (id, sign) in &objects.signs {
        found.extend(sign.entry.map(|entry| (*id, entry)));
    }
    found
}
