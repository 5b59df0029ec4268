//! Builds the network a validation case describes and remembers the names of its parts.

use std::collections::BTreeMap;

use aubergine_core::hydraulics::{
    FrictionLaw, LinkKind, LossCurve, Network, OutletLaw, Pipe, Solution, SupplyCurve, Water,
};
use aubergine_core::units::{Flow, Length, Pressure};

use super::table::{Bed, Case, DeviceInput, Emitter, Lateral, NetworkInput, OutletAt, SourceAt};

/// A network with the names of its parts.
pub struct Built {
    pub network: Network,
    junctions: BTreeMap<String, usize>,
    links: BTreeMap<String, usize>,
    outlets: BTreeMap<String, usize>,
}

impl Built {
    fn new(water: Water, law: FrictionLaw) -> Self {
        Self {
            network: Network::new(water, law),
            junctions: BTreeMap::new(),
            links: BTreeMap::new(),
            outlets: BTreeMap::new(),
        }
    }

    pub fn junction(&self, name: &str) -> usize {
        *self
            .junctions
            .get(name)
            .unwrap_or_else(|| panic!("no junction {name}"))
    }

    pub fn link(&self, name: &str) -> usize {
        *self
            .links
            .get(name)
            .unwrap_or_else(|| panic!("no link {name}"))
    }

    pub fn outlet(&self, name: &str) -> usize {
        *self
            .outlets
            .get(name)
            .unwrap_or_else(|| panic!("no outlet {name}"))
    }

    pub fn emitter_flows(&self, solution: &Solution) -> Vec<Flow> {
        solution.outlet_flows.clone()
    }

    fn add_junction(&mut self, name: &str, level_m: f64) -> usize {
        let index = self.network.add_junction(Length::from_metres(level_m));
        self.junctions.insert(name.to_owned(), index);
        index
    }

    fn add_link(&mut self, name: &str, from: usize, to: usize, kind: LinkKind) {
        let index = self.network.add_link(from, to, kind);
        self.links.insert(name.to_owned(), index);
    }

    fn add_outlet(&mut self, name: &str, junction: usize, law: OutletLaw) {
        let index = self.network.add_outlet(junction, law);
        self.outlets.insert(name.to_owned(), index);
    }
}

pub fn law_of(case: &Case) -> FrictionLaw {
    match case.law.as_deref() {
        None | Some("fitted") => FrictionLaw::Fitted,
        Some("colebrook") => FrictionLaw::Colebrook,
        Some("churchill") => FrictionLaw::Churchill,
        Some("smooth_power") => FrictionLaw::SmoothPower,
        Some("hw130") => FrictionLaw::HazenWilliams { c: 130.0 },
        Some("hw150") => FrictionLaw::HazenWilliams { c: 150.0 },
        Some(other) => panic!("no law {other}"),
    }
}

/// The network of a case that has one.
pub fn network(case: &Case, water: Water) -> Option<Built> {
    let mut built = Built::new(water, law_of(case));
    if let Some(lateral) = &case.lateral {
        build_lateral(&mut built, lateral);
    } else if let Some(bed) = &case.bed {
        build_bed(&mut built, bed);
    } else if let Some(input) = &case.network {
        build_network(&mut built, input);
    } else {
        return None;
    }
    Some(built)
}

fn emitter_law(emitter: &Emitter) -> OutletLaw {
    let flow = Flow::from_gallons_per_hour(emitter.flow_gph);
    match emitter.minimum_psi {
        Some(minimum) => OutletLaw::Compensating {
            flow,
            minimum: Pressure::from_psi(minimum),
            maximum: Pressure::from_psi(60.0),
            exponent_below: 0.5,
        },
        None => OutletLaw::Power {
            flow,
            at: Pressure::from_psi(emitter.at_psi.expect("a pressure")),
            exponent: emitter.exponent.expect("an exponent"),
        },
    }
}

fn smooth(length_ft: f64, bore_in: f64) -> Pipe {
    Pipe::plain(
        Length::from_feet(length_ft),
        Length::from_inches(bore_in),
        Length::ZERO,
    )
}

fn build_lateral(built: &mut Built, lateral: &Lateral) {
    let inlet = built.add_junction("inlet", 0.0);
    let mut last = inlet;
    for i in 1..=lateral.num {
        let name = i.to_string();
        let level_m = lateral.slope * lateral.spacing_ft * 0.3048 * i as f64;
        let here = built.add_junction(&name, level_m);
        let pipe = Pipe {
            equivalent: Length::from_feet(lateral.equivalent_ft),
            ..smooth(lateral.spacing_ft, lateral.bore_in)
        };
        built.add_link(&name, last, here, LinkKind::Pipe(pipe));
        built.add_outlet(&name, here, emitter_law(&lateral.emitter));
        last = here;
    }
    built.network.add_source(
        inlet,
        SupplyCurve::fixed(Pressure::from_psi(lateral.inlet_psi)),
    );
}

fn build_bed(built: &mut Built, bed: &Bed) {
    let inlet = built.add_junction("inlet", 0.0);
    let centre = bed.fed.as_deref() == Some("centre");
    let mut header = inlet;
    for j in 1..=bed.num_laterals {
        if centre && j == bed.num_laterals / 2 + 1 {
            header = inlet;
        }
        let level_m = bed.slope * bed.header_spacing_ft * 0.3048 * j as f64;
        let name = format!("h{j}");
        let tee = built.add_junction(&name, level_m);
        let pipe = smooth(bed.header_spacing_ft, bed.header_bore_in);
        built.add_link(&name, header, tee, LinkKind::Pipe(pipe));
        header = tee;
        let mut last = tee;
        for i in 1..=bed.num_emitters {
            let name = format!("{j}.{i}");
            let here = built.add_junction(&name, level_m);
            let pipe = Pipe {
                fittings: if i == 1 { bed.take_off } else { 0.0 },
                ..smooth(bed.spacing_ft, bed.bore_in)
            };
            built.add_link(&name, last, here, LinkKind::Pipe(pipe));
            built.add_outlet(&name, here, emitter_law(&bed.emitter));
            last = here;
        }
    }
    if let Some(length_ft) = bed.return_ft {
        let pipe = smooth(length_ft, bed.header_bore_in);
        built.add_link("return", header, inlet, LinkKind::Pipe(pipe));
    }
    built
        .network
        .add_source(inlet, SupplyCurve::fixed(Pressure::from_psi(bed.inlet_psi)));
}

fn build_network(built: &mut Built, input: &NetworkInput) {
    for junction in &input.junctions {
        built.add_junction(&junction.name, junction.z_m);
    }
    for pipe in &input.pipes {
        let from = built.junction(pipe.from.as_deref().expect("an end"));
        let to = built.junction(pipe.to.as_deref().expect("an end"));
        let name = pipe.name.clone().expect("a name");
        built.add_link(&name, from, to, LinkKind::Pipe(pipe.pipe()));
    }
    for device in &input.devices {
        let (from, to) = (built.junction(&device.from), built.junction(&device.to));
        built.add_link(&device.name, from, to, device_kind(device));
    }
    for outlet in &input.outlets {
        let junction = built.junction(&outlet.at);
        built.add_outlet(&outlet.at, junction, outlet_law(outlet));
    }
    for source in &input.sources {
        let junction = built.junction(&source.at);
        let level = built.network.junctions[junction].level;
        let curve = supply(source, level, built.network.water);
        built.network.add_source(junction, curve);
    }
}

fn device_kind(device: &DeviceInput) -> LinkKind {
    if device.closed {
        return LinkKind::Closed;
    }
    let square = device.cv.map_or(LossCurve::NONE, LossCurve::from_cv);
    let by_loss = device.psi_per_gpm2.map(|psi| {
        LossCurve::from_loss_at(Pressure::from_psi(psi), Flow::from_gallons_per_minute(1.0))
    });
    let loss = LossCurve {
        checked: device.checked,
        opening: Pressure::from_psi(device.opening_psi.unwrap_or(0.0)),
        ..by_loss.unwrap_or(square)
    };
    match device.set_psi {
        Some(set) => LinkKind::Regulator {
            set: Pressure::from_psi(set),
            loss,
        },
        None => LinkKind::Device(loss),
    }
}

fn outlet_law(outlet: &OutletAt) -> OutletLaw {
    let fixed = outlet
        .fixed_gpm
        .map(Flow::from_gallons_per_minute)
        .or(outlet.fixed_m3h.map(Flow::from_cubic_metres_per_hour));
    fixed.map_or_else(
        || OutletLaw::Power {
            flow: Flow::from_gallons_per_minute(outlet.flow_gpm.expect("a flow")),
            at: Pressure::from_psi(outlet.at_psi.expect("a pressure")),
            exponent: outlet.exponent.expect("an exponent"),
        },
        OutletLaw::Fixed,
    )
}

fn supply(source: &SourceAt, level: Length, water: Water) -> SupplyCurve {
    if let Some(head_m) = source.head_m {
        return SupplyCurve::fixed(water.pressure_of(Length::from_metres(head_m) - level));
    }
    let at_rest = Pressure::from_psi(source.static_psi.expect("a pressure"));
    source.residual_psi.map_or_else(
        || SupplyCurve::fixed(at_rest),
        |residual| {
            SupplyCurve::from_test(
                at_rest,
                Pressure::from_psi(residual),
                Flow::from_gallons_per_minute(source.flow_gpm.expect("a flow")),
                source.exponent.expect("an exponent"),
            )
            .expect("a sound test")
        },
    )
}
