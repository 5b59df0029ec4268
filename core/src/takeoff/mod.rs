//! Counts what the drawing needs: lengths of pipe, devices, emitters, fittings of the topology, adapters between ends that
//! do not mate. Lengths are those drawn; allowances and order units come with the parts list on paper.

mod joints;

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::ids::Id;
use crate::layout::BedLayout;
use crate::model::{End, HeaderSide, Meta, Plan, State};
use crate::units::{Angle, Length};

pub use joints::Mismatch;
pub(crate) use joints::hose_joints;

/// How much of a part.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Quantity {
    /// Pieces.
    Pieces(usize),
    /// A length.
    Run(Length),
}

/// One line of the list.
#[derive(Clone, PartialEq, Debug)]
pub struct PartLine {
    /// Group: `pipe`, `emitter_line`, `emission`, `device`, `fitting`, `adapter`, `outlet`, `sign`.
    pub group: &'static str,
    /// Row of the catalog, or a word of the fitting.
    pub key: String,
    /// As people call it.
    pub name: String,
    /// How much.
    pub quantity: Quantity,
    /// The objects it is for, sorted.
    pub objects: Vec<Id>,
}

/// What the drawing needs.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct PartsList {
    /// Lines, by group and key.
    pub lines: Vec<PartLine>,
    /// Joints that no adapter of the catalog makes.
    pub mismatches: Vec<Mismatch>,
}

/// The joints of a plan that no part of the catalog makes.
#[must_use]
pub fn mismatches(plan: &Plan) -> Vec<Mismatch> {
    joints::check(plan).1
}

/// Counts the proposed parts of a plan. What exists already costs nothing and is left out.
#[must_use]
pub fn count(plan: &Plan, beds: &BTreeMap<Id, Arc<BedLayout>>) -> PartsList {
    let mut tally = Tally::default();
    pipes(plan, &mut tally);
    fills(plan, beds, &mut tally);
    single_parts(plan, &mut tally);
    let (adapters, mismatches) = joints::check(plan);
    for (key, name, id) in adapters {
        tally.pieces("adapter", &key, &name, 1, id);
    }
    PartsList {
        lines: tally.lines(),
        mismatches,
    }
}

#[derive(Default)]
struct Tally(BTreeMap<(&'static str, String), PartLine>);

impl Tally {
    fn add(&mut self, group: &'static str, key: &str, name: &str, quantity: Quantity, id: Id) {
        let line = self
            .0
            .entry((group, key.to_owned()))
            .or_insert_with(|| PartLine {
                group,
                key: key.to_owned(),
                name: name.to_owned(),
                quantity: match quantity {
                    Quantity::Pieces(_) => Quantity::Pieces(0),
                    Quantity::Run(_) => Quantity::Run(Length::ZERO),
                },
                objects: Vec::new(),
            });
        line.quantity = match (line.quantity, quantity) {
            (Quantity::Pieces(a), Quantity::Pieces(b)) => Quantity::Pieces(a + b),
            (Quantity::Run(a), Quantity::Run(b)) => Quantity::Run(a + b),
            // One key has one sort of quantity.
            (known, _) => known,
        };
        line.objects.push(id);
    }

    fn pieces(&mut self, group: &'static str, key: &str, name: &str, count: usize, id: Id) {
        if count > 0 {
            self.add(group, key, name, Quantity::Pieces(count), id);
        }
    }

    fn run(&mut self, group: &'static str, key: &str, name: &str, length: Length, id: Id) {
        if length > Length::ZERO {
            self.add(group, key, name, Quantity::Run(length), id);
        }
    }

    fn lines(self) -> Vec<PartLine> {
        let mut lines: Vec<PartLine> = self.0.into_values().collect();
        for line in &mut lines {
            line.objects.sort_unstable();
            line.objects.dedup();
        }
        lines
    }
}

fn is_bought(meta: &Meta) -> bool {
    meta.state == State::Proposed
}

fn pipes(plan: &Plan, tally: &mut Tally) {
    for (id, pipe) in plan
        .objects
        .pipes
        .iter()
        .filter(|(_, pipe)| is_bought(&pipe.meta))
    {
        let name = plan
            .catalog
            .pipe(&pipe.part)
            .map_or(pipe.part.as_str(), |part| part.name.as_str());
        tally.run("pipe", &pipe.part, name, pipe.vertices.length(), *id);
        let (mut right, mut half) = (0, 0);
        for corner in pipe.vertices.0.windows(3) {
            let (before, after) = (corner[1] - corner[0], corner[2] - corner[1]);
            let turn = Angle::from_radians(before.cross(after).atan2(before.dot(after)).abs());
            // The same limits as the losses: below 10° no fitting, to 60° a 45° elbow.
            if turn.degrees() > 60.0 {
                right += 1;
            } else if turn.degrees() >= 10.0 {
                half += 1;
            }
        }
        let of = |what: &str| (format!("{what}:{}", pipe.part), format!("{name}: {what}"));
        let (key, text) = of("90° elbow");
        tally.pieces("fitting", &key, &text, right, *id);
        let (key, text) = of("45° elbow");
        tally.pieces("fitting", &key, &text, half, *id);
        let (key, text) = of("tee");
        tally.pieces("fitting", &key, &text, pipe.taps.len(), *id);
        let ends = [&pipe.start, &pipe.end];
        let (key, text) = of("cap");
        tally.pieces(
            "fitting",
            &key,
            &text,
            ends.iter().filter(|end| ***end == End::Cap).count(),
            *id,
        );
        let (key, text) = of("flush end");
        tally.pieces(
            "fitting",
            &key,
            &text,
            ends.iter().filter(|end| ***end == End::Flush).count(),
            *id,
        );
    }
}

fn fills(plan: &Plan, beds: &BTreeMap<Id, Arc<BedLayout>>, tally: &mut Tally) {
    for (id, bed) in plan
        .objects
        .beds
        .iter()
        .filter(|(_, bed)| is_bought(&bed.meta))
    {
        let (Some(rule), Some(laid)) = (&bed.fill, beds.get(id)) else {
            continue;
        };
        let header = plan
            .catalog
            .pipe(&rule.header)
            .map_or(rule.header.as_str(), |part| part.name.as_str());
        let line = plan
            .catalog
            .emission(&rule.line)
            .map_or(rule.line.as_str(), |part| part.name.as_str());
        tally.run("pipe", &rule.header, header, laid.header_length(), *id);
        tally.run("emitter_line", &rule.line, line, laid.line_length(), *id);
        let num_rows = laid.rows.len();
        let num_barbs = if rule.header_side == HeaderSide::Both {
            2 * num_rows
        } else {
            num_rows
        };
        tally.pieces(
            "fitting",
            "barb take-off",
            "Barb take-off from header to emitter line",
            num_barbs,
            *id,
        );
        if rule.header_side != HeaderSide::Both {
            if rule.flush_ends {
                tally.pieces(
                    "fitting",
                    "row flush end",
                    "Flush end of an emitter line",
                    num_rows,
                    *id,
                );
            } else {
                tally.pieces(
                    "fitting",
                    "end plug",
                    "End plug of an emitter line",
                    num_rows,
                    *id,
                );
            }
        }
    }
}

fn single_parts(plan: &Plan, tally: &mut Tally) {
    let objects = &plan.objects;
    for (id, line) in objects
        .lines
        .iter()
        .filter(|(_, line)| is_bought(&line.meta))
    {
        let name = plan
            .catalog
            .emission(&line.part)
            .map_or(line.part.as_str(), |part| part.name.as_str());
        tally.run(
            "emitter_line",
            &line.part,
            name,
            line.vertices.length(),
            *id,
        );
        let ends = [&line.start, &line.end];
        let flush = ends.iter().filter(|end| ***end == End::Flush).count();
        tally.pieces(
            "fitting",
            "row flush end",
            "Flush end of an emitter line",
            flush,
            *id,
        );
        let plugs = ends.iter().filter(|end| ***end == End::Cap).count();
        tally.pieces(
            "fitting",
            "end plug",
            "End plug of an emitter line",
            plugs,
            *id,
        );
    }
    for (id, emission) in objects
        .emissions
        .iter()
        .filter(|(_, emission)| is_bought(&emission.meta))
    {
        let name = plan
            .catalog
            .emission(&emission.part)
            .map_or(emission.part.as_str(), |part| part.name.as_str());
        tally.pieces("emission", &emission.part, name, 1, *id);
    }
    for (id, device) in objects
        .devices
        .iter()
        .filter(|(_, device)| is_bought(&device.meta))
    {
        let name = plan
            .catalog
            .device(&device.part)
            .map_or(device.part.as_str(), |part| part.name.as_str());
        tally.pieces("device", &device.part, name, 1, *id);
    }
    for (id, _) in objects
        .outlets
        .iter()
        .filter(|(_, outlet)| is_bought(&outlet.meta))
    {
        tally.pieces("outlet", "outlet", "Outlet with box and label", 1, *id);
    }
    for (id, _) in objects
        .signs
        .iter()
        .filter(|(_, sign)| is_bought(&sign.meta))
    {
        tally.pieces("sign", "sign", "Warning sign", 1, *id);
    }
    for (id, _) in objects
        .boxes
        .iter()
        .filter(|(_, valve_box)| is_bought(&valve_box.meta))
    {
        tally.pieces("box", "valve box", "Valve box, purple lid", 1, *id);
    }
}
