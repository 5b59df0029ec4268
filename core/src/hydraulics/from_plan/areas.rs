//! Beds, emitter lines and single emission devices as parts of a network.

use std::collections::BTreeMap;

use super::super::{LinkKind, OutletLaw, Pipe as PipeLink};
use super::losses::{BARB_TAKE_OFF, Locals, SMOOTH_TUBE, barb_in_the_way, outlet_law};
use super::{Builder, EmitterPoint};
use crate::catalog::{EmissionPart, PipePart};
use crate::geometry::{PlanPoint, Polyline};
use crate::ids::Id;
use crate::layout::{self, BedLayout};
use crate::model::PortRef;
use crate::units::Length;

impl Builder<'_> {
    pub(super) fn bed(&mut self, id: Id, beds: &BTreeMap<Id, std::sync::Arc<BedLayout>>) {
        let Some(bed) = self.plan.objects.beds.get(&id) else {
            return;
        };
        let (Some(rule), Some(laid)) = (&bed.fill, beds.get(&id)) else {
            return;
        };
        let Some(header) = self.plan.catalog.pipe(&rule.header) else {
            return self.unknown(id, &rule.header);
        };
        let Some(line) = self.plan.catalog.emission(&rule.line) else {
            return self.unknown(id, &rule.line);
        };
        let Some(bore) = line.bore else { return };
        let inlet = self.port(PortRef::new(id, "in"), laid.inlet);
        let mut header_links = Vec::new();
        let mut at_header = (inlet, Length::ZERO);
        let mut far_ends = Vec::new();
        for (index, row) in laid.rows.iter().enumerate() {
            let takeoff = if row.takeoff > at_header.1 {
                let next = self
                    .built
                    .network
                    .add_junction(self.ground.level(row.start));
                header_links.push(self.stretch(
                    at_header.0,
                    next,
                    row.takeoff - at_header.1,
                    header,
                    past_barb(header),
                ));
                next
            } else {
                at_header.0
            };
            at_header = (takeoff, row.takeoff);
            let places: Vec<PlanPoint> = row.emitter_places().collect();
            let spots = row.emitters.iter().copied().zip(places);
            let (last, links) = self.emitter_run(
                id,
                index + 1,
                (takeoff, BARB_TAKE_OFF),
                spots,
                line,
                &rule.line,
                bore,
            );
            self.built.rows.insert((id, index + 1), links);
            if let Some(last_station) = row.emitters.last() {
                far_ends.push((last, row.length() - *last_station, row.end));
            }
        }
        if let Some(second) = &laid.second_header {
            self.second_header(second, &far_ends, header, bore, &mut header_links);
        }
        self.built.headers.insert(id, header_links);
    }

    /// Joins the far ends of the rows.
    fn second_header(
        &mut self,
        header: &Polyline,
        far_ends: &[(usize, Length, PlanPoint)],
        part: &PipePart,
        row_bore: Length,
        links: &mut Vec<usize>,
    ) {
        let mut previous: Option<usize> = None;
        let spans =
            std::iter::once(Length::ZERO).chain(header.segments().map(|(a, b)| a.distance(b)));
        for ((last, rest, end), span) in far_ends.iter().zip(spans) {
            let junction = self.built.network.add_junction(self.ground.level(*end));
            let tail = PipeLink {
                fittings: BARB_TAKE_OFF,
                ..PipeLink::plain(*rest, row_bore, part.roughness)
            };
            links.push(
                self.built
                    .network
                    .add_link(*last, junction, LinkKind::Pipe(tail)),
            );
            if let Some(previous) = previous {
                links.push(self.stretch(previous, junction, span, part, past_barb(part)));
            }
            previous = Some(junction);
        }
    }

    pub(super) fn line(&mut self, id: Id) {
        let Some(line) = self.plan.objects.lines.get(&id) else {
            return;
        };
        let Some(part) = self.plan.catalog.emission(&line.part) else {
            return self.unknown(id, &line.part);
        };
        let (Some(bore), Some(spacing)) = (part.bore, part.spacing) else {
            return;
        };
        let (Some(first), Some(last)) = (line.vertices.0.first(), line.vertices.0.last()) else {
            return;
        };
        let start = self.end(PortRef::new(id, "start"), &line.start, *first);
        let end = self.end(PortRef::new(id, "end"), &line.end, *last);
        let length = line.vertices.length();
        let stations = layout::stations(length, spacing);
        let spots: Vec<(Length, PlanPoint)> = stations
            .iter()
            .filter_map(|station| Some((*station, line.vertices.point_at(*station)?)))
            .collect();
        let rest = length - stations.last().copied().unwrap_or_default();
        let (last, mut links) = self.emitter_run(
            id,
            0,
            (start, 0.0),
            spots.into_iter(),
            part,
            &line.part,
            bore,
        );
        let tail = PipeLink::plain(rest, bore, SMOOTH_TUBE);
        links.push(self.built.network.add_link(last, end, LinkKind::Pipe(tail)));
        self.built.rows.insert((id, 0), links);
    }

    pub(super) fn emission(&mut self, id: Id) {
        let Some(emission) = self.plan.objects.emissions.get(&id) else {
            return;
        };
        let junction = self.end(PortRef::new(id, "in"), &emission.inlet, emission.at);
        let Some(part) = self.plan.catalog.emission(&emission.part) else {
            return self.unknown(id, &emission.part);
        };
        let law = self.law_of(id, part, &emission.part);
        self.built.network.add_outlet(junction, law);
        let part = emission.part.clone();
        self.built.emitters.push(EmitterPoint {
            owner: id,
            row: 0,
            number: 1,
            part,
            at: emission.at,
        });
    }

    /// The law of an emission row; one of bad points is told and taken as an orifice.
    fn law_of(&mut self, owner: Id, part: &EmissionPart, key: &str) -> OutletLaw {
        outlet_law(part).unwrap_or_else(|error| {
            let told = (owner, key.to_owned(), error);
            if !self.built.bad_curves.contains(&told) {
                self.built.bad_curves.push(told);
            }
            OutletLaw::Power {
                flow: part.flow,
                at: part.at,
                exponent: 0.5,
            }
        })
    }

    /// Tubing with emitters from a junction on; the last junction and the links come back.
    #[expect(
        clippy::too_many_arguments,
        reason = "one row of a bed and one line differ in all of these"
    )]
    fn emitter_run(
        &mut self,
        owner: Id,
        row: usize,
        (start, entry): (usize, f64),
        spots: impl Iterator<Item = (Length, PlanPoint)>,
        part: &EmissionPart,
        key: &str,
        bore: Length,
    ) -> (usize, Vec<usize>) {
        let law = self.law_of(owner, part, key);
        let obstruction = part.obstruction.unwrap_or(Length::ZERO);
        let mut links = Vec::new();
        let mut from = (start, Length::ZERO);
        for (number, (station, at)) in spots.enumerate() {
            let junction = self.built.network.add_junction(self.ground.level(at));
            let fittings = if number == 0 { entry } else { 0.0 };
            let pipe = PipeLink {
                fittings,
                // Each stretch has the body of the emitter at its end.
                equivalent: obstruction,
                ..PipeLink::plain(station - from.1, bore, SMOOTH_TUBE)
            };
            links.push(
                self.built
                    .network
                    .add_link(from.0, junction, LinkKind::Pipe(pipe)),
            );
            self.built.network.add_outlet(junction, law.clone());
            self.built.emitters.push(EmitterPoint {
                owner,
                row,
                number: number + 1,
                part: key.to_owned(),
                at,
            });
            from = (junction, station);
        }
        (from.0, links)
    }
}

/// The loss in a header past the barb of a row.
fn past_barb(header: &PipePart) -> Locals {
    Locals {
        coefficient: 0.0,
        equivalent: barb_in_the_way(header.bore()),
    }
}
