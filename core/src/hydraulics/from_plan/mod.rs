//! From the drawing to a network: which junctions, links and outlets the objects of an operating set become.
//!
//! The solver's numbers come back through the maps kept here. Local losses are counted from the topology.

mod areas;
mod losses;

use std::collections::BTreeMap;
use std::sync::Arc;

use super::zones::{OperatingSet, taking_part};
use super::{
    FrictionLaw, LinkKind, LossCurve, Network, Pipe as PipeLink, PointsError, SupplyCurve, Water,
};
use crate::catalog::PipePart;
use crate::catalog::fittings::Fitting;
use crate::geometry::PlanPoint;
use crate::ids::{Id, Kind};
use crate::layout::{BedLayout, Ground};
use crate::model::Joints;
use crate::model::{DeviceKind, End, Plan, PortRef, Supply};
use crate::units::{Length, Pressure, Temperature};
pub use losses::SMOOTH_TUBE;
use losses::{Locals, bend_losses, bends, end_losses, loss_curve};

/// One of the three pressures that a supplier's main may have.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SupplyCase {
    /// The lowest pressure at rest that the supplier names.
    #[default]
    Low,
    /// The pressure at rest that was measured.
    Normal,
    /// The highest.
    High,
}

impl SupplyCase {
    /// All three, in order.
    pub const ALL: [Self; 3] = [Self::Low, Self::Normal, Self::High];

    /// What a list in the order of [`Self::ALL`] holds for this case.
    #[must_use]
    pub const fn of<T>(self, [low, normal, high]: &[T; 3]) -> &T {
        match self {
            Self::Low => low,
            Self::Normal => normal,
            Self::High => high,
        }
    }

    /// The letter that stands for it beside a number.
    #[must_use]
    pub const fn letter(self) -> char {
        match self {
            Self::Low => 'L',
            Self::Normal => 'N',
            Self::High => 'H',
        }
    }

    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Low => "low",
            Self::Normal => "normal",
            Self::High => "high",
        }
    }
}

/// The supply curve of a case; a flow test that shows no fall gives a supply of fixed pressure.
#[must_use]
pub fn supply_curve(supply: &Supply, case: SupplyCase) -> SupplyCurve {
    let measured = SupplyCurve::from_test(
        supply.at_rest,
        supply.residual,
        supply.test_flow,
        supply.loss_exponent,
    )
    .unwrap_or_else(|_| SupplyCurve::fixed(supply.at_rest));
    match case {
        SupplyCase::Low => measured.from_rest(supply.low.unwrap_or(supply.at_rest)),
        SupplyCase::Normal => measured,
        SupplyCase::High => measured.from_rest(supply.high.unwrap_or(supply.at_rest)),
    }
}

/// One emission device of a network, in the order of [`Network::outlets`].
#[derive(Clone, PartialEq, Debug)]
pub struct EmitterPoint {
    /// The bed, line or single device it belongs to.
    pub owner: Id,
    /// Row of the bed's fill, from 1; 0 for lines and single devices.
    pub row: usize,
    /// Number along the row or line, from 1.
    pub number: usize,
    /// Row of the emission catalog.
    pub part: String,
    /// Where it is.
    pub at: PlanPoint,
}

impl EmitterPoint {
    /// Its name: `B3.2.7`, `L7.12`, `E4`.
    #[must_use]
    pub fn name(&self) -> String {
        match (self.owner.kind, self.row) {
            (Kind::Emission, _) => self.owner.to_string(),
            (_, 0) => format!("{}.{}", self.owner, self.number),
            (_, row) => format!("{}.{row}.{}", self.owner, self.number),
        }
    }
}

/// A network and what its parts are on the drawing.
#[derive(Clone, PartialEq, Debug)]
pub struct PlanNetwork {
    /// The network, with the curves of the normal case.
    pub network: Network,
    /// Supplies in the order of [`Network::sources`].
    pub supplies: Vec<Id>,
    /// Emission devices in the order of [`Network::outlets`].
    pub emitters: Vec<EmitterPoint>,
    /// Junction of each port.
    pub ports: BTreeMap<PortRef, usize>,
    /// Links of each run, in order from its start.
    pub pipes: BTreeMap<Id, Vec<usize>>,
    /// Links of each bed's header, from its fed end.
    pub headers: BTreeMap<Id, Vec<usize>>,
    /// Links of each row (bed, row from 1) and each hand-drawn line (line, 0), from its fed end.
    pub rows: BTreeMap<(Id, usize), Vec<usize>>,
    /// Link of each device.
    pub devices: BTreeMap<Id, usize>,
    /// Link behind a regulator whose pressure falls off with the flow.
    pub fall_offs: BTreeMap<Id, usize>,
    /// Parts that the catalog does not have: object, key.
    pub unknown_parts: Vec<(Id, String)>,
    /// Curves of points that are none: object, key, why. The device loses what its factor says instead, an emitter
    /// gives its rated flow as an orifice would.
    pub bad_curves: Vec<(Id, String, PointsError)>,
}

impl PlanNetwork {
    /// The network with the supply curves of a case, its filters dirty in the low case and clean in the others.
    #[must_use]
    pub fn in_case(&self, plan: &Plan, case: SupplyCase) -> Network {
        let mut network = self.network.clone();
        for (source, id) in network.sources.iter_mut().zip(&self.supplies) {
            if let Some(supply) = plan.objects.supplies.get(id) {
                source.curve = supply_curve(supply, case);
            }
        }
        // Low pressure and filters that were not cleaned come together: the worst day. The other cases have clean ones.
        if case == SupplyCase::Low {
            for (id, link) in &self.devices {
                let dirt = plan
                    .objects
                    .devices
                    .get(id)
                    .and_then(|device| plan.catalog.device(&device.part)?.dirt);
                if let (Some(dirt), Some(link)) = (dirt, network.links.get_mut(*link))
                    && let LinkKind::Device(loss) = &mut link.kind
                {
                    loss.per_lps_squared += dirt.max(0.0);
                }
            }
        }
        network
    }
}

/// Water temperature when nobody says, as the plan's assumptions list it.
pub const ASSUMED_TEMPERATURE: Temperature = Temperature::from_celsius(20.0);

/// The water of a plan at its temperature.
#[must_use]
pub fn water_of_plan(plan: &Plan) -> Water {
    Water::at(plan.site.water_temperature.unwrap_or(ASSUMED_TEMPERATURE))
}

/// The network of an operating set.
#[must_use]
pub fn network(
    plan: &Plan,
    ground: &Ground,
    joints: &Joints,
    beds: &BTreeMap<Id, Arc<BedLayout>>,
    set: &OperatingSet,
) -> PlanNetwork {
    let mut builder = Builder {
        plan,
        ground,
        built: PlanNetwork {
            network: Network::new(water_of_plan(plan), FrictionLaw::Fitted),
            supplies: Vec::new(),
            emitters: Vec::new(),
            ports: BTreeMap::new(),
            pipes: BTreeMap::new(),
            headers: BTreeMap::new(),
            rows: BTreeMap::new(),
            devices: BTreeMap::new(),
            fall_offs: BTreeMap::new(),
            unknown_parts: Vec::new(),
            bad_curves: Vec::new(),
        },
    };
    for id in taking_part(&plan.objects, joints, set) {
        match id.kind {
            Kind::Supply => builder.supply(id),
            Kind::Device => builder.device(id),
            Kind::Pipe => builder.pipe(id),
            Kind::Bed => builder.bed(id, beds),
            Kind::Line => builder.line(id),
            Kind::Emission => builder.emission(id),
            _ => {}
        }
    }
    builder.built
}

struct Builder<'a> {
    plan: &'a Plan,
    ground: &'a Ground,
    built: PlanNetwork,
}

impl Builder<'_> {
    /// The junction of a port, made when it is first named.
    fn port(&mut self, port: PortRef, at: PlanPoint) -> usize {
        if let Some(known) = self.built.ports.get(&port) {
            return *known;
        }
        let junction = self.built.network.add_junction(self.ground.level(at));
        self.built.ports.insert(port, junction);
        junction
    }

    /// The junction of an end: that of the port it is joined to, or one of its own.
    fn end(&mut self, own: PortRef, joined: &End, at: PlanPoint) -> usize {
        match joined {
            End::At(port) => {
                let junction = self.port(port.clone(), at);
                // Something else may have been joined to this very end before: the two are one point.
                if let Some(known) = self
                    .built
                    .ports
                    .insert(own, junction)
                    .filter(|known| *known != junction)
                {
                    self.built
                        .network
                        .add_link(known, junction, LinkKind::Device(LossCurve::NONE));
                }
                junction
            }
            End::Open | End::Cap | End::Flush => self.port(own, at),
        }
    }

    fn supply(&mut self, id: Id) {
        let Some(supply) = self.plan.objects.supplies.get(&id) else {
            return;
        };
        let junction = self.port(PortRef::new(id, "out"), supply.at);
        self.built
            .network
            .add_source(junction, supply_curve(supply, SupplyCase::Normal));
        self.built.supplies.push(id);
    }

    fn device(&mut self, id: Id) {
        let Some(device) = self.plan.objects.devices.get(&id) else {
            return;
        };
        let from = self.end(PortRef::new(id, "in"), &device.inlet, device.at);
        let to = self.port(PortRef::new(id, "out"), device.at);
        let part = self.plan.catalog.device(&device.part);
        if part.is_none() {
            self.unknown(id, &device.part);
        }
        let mut loss_curve = |part| {
            loss_curve(part).unwrap_or_else(|error| {
                self.built.bad_curves.push((id, device.part.clone(), error));
                LossCurve {
                    opening: part.opening.max(Pressure::ZERO),
                    per_lps_squared: part.loss.max(0.0),
                    checked: part.one_way,
                    ..LossCurve::NONE
                }
            })
        };
        let kind = match part {
            _ if device.closed || device.kind == DeviceKind::AirGap => LinkKind::Closed,
            Some(part) if device.kind == DeviceKind::PressureRegulator => {
                match device.set.or(part.set) {
                    Some(set) => LinkKind::Regulator {
                        set,
                        loss: loss_curve(part),
                    },
                    None => LinkKind::Device(loss_curve(part)),
                }
            }
            Some(part) => LinkKind::Device(loss_curve(part)),
            // An unknown device is told as a finding; water passes, so that the rest can still be judged.
            None => LinkKind::Device(LossCurve::NONE),
        };
        // What falls off with the flow is lost behind the regulator: outlet = min(set, inlet − loss) − fall-off · Q.
        let is_regulator = matches!(kind, LinkKind::Regulator { .. });
        let fall_off = part
            .and_then(|part| part.fall_off)
            .filter(|factor| is_regulator && *factor > 0.0);
        let held = match fall_off {
            Some(_) => self
                .built
                .network
                .add_junction(self.ground.level(device.at)),
            None => to,
        };
        let link = self.built.network.add_link(from, held, kind);
        self.built.devices.insert(id, link);
        if let Some(per_lps) = fall_off {
            let falls = LossCurve {
                per_lps,
                ..LossCurve::NONE
            };
            let link = self
                .built
                .network
                .add_link(held, to, LinkKind::Device(falls));
            self.built.fall_offs.insert(id, link);
        }
    }

    fn pipe(&mut self, id: Id) {
        let Some(pipe) = self.plan.objects.pipes.get(&id) else {
            return;
        };
        let Some(part) = self.plan.catalog.pipe(&pipe.part) else {
            return self.unknown(id, &pipe.part);
        };
        let (Some(first), Some(last)) = (pipe.vertices.0.first(), pipe.vertices.0.last()) else {
            return;
        };
        let total = pipe.vertices.length();
        let start = self.end(PortRef::new(id, "start"), &pipe.start, *first);
        let mut taps: Vec<(Length, &String)> = pipe
            .taps
            .iter()
            .map(|(name, station)| (station.max(Length::ZERO).min(total), name))
            .collect();
        taps.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(b.1)));
        let bends = bends(&pipe.vertices);
        let mut links = Vec::new();
        let mut from = (start, Length::ZERO);
        let bore = part.bore();
        let mut entry = end_losses(self.plan, part, &pipe.start, true);
        for (station, name) in taps {
            let at = pipe.vertices.point_at(station).unwrap_or(*first);
            let to = self.port(PortRef::new(id, name.clone()), at);
            let fittings = entry + bend_losses(&bends, from.1, station, bore);
            links.push(self.stretch(from.0, to, station - from.1, part, fittings));
            from = (to, station);
            entry = Locals::of(Fitting::TeeRun, bore);
        }
        let end = self.end(PortRef::new(id, "end"), &pipe.end, *last);
        let fittings = entry
            + bend_losses(&bends, from.1, total, bore)
            + end_losses(self.plan, part, &pipe.end, false);
        links.push(self.stretch(from.0, end, total - from.1, part, fittings));
        self.built.pipes.insert(id, links);
    }

    fn unknown(&mut self, by: Id, key: &str) {
        self.built.unknown_parts.push((by, key.to_owned()));
    }

    fn stretch(
        &mut self,
        from: usize,
        to: usize,
        length: Length,
        part: &PipePart,
        fittings: Locals,
    ) -> usize {
        let pipe = PipeLink {
            fittings: fittings.coefficient,
            equivalent: fittings.equivalent,
            ..PipeLink::plain(length.max(Length::ZERO), part.bore(), part.roughness)
        };
        self.built.network.add_link(from, to, LinkKind::Pipe(pipe))
    }
}
