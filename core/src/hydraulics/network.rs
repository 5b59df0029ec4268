//! The input of the hydraulic solver as plain data: junctions, links, outlets and sources, numbered by position. It knows
//! nothing of plan objects, and it checks nothing: the solver reports what cannot be solved.

use super::devices::LossCurve;
use super::friction::FrictionLaw;
use super::outlets::OutletLaw;
use super::supply::SupplyCurve;
use super::water::Water;
use crate::units::{Flow, Length, Pressure, Velocity};

/// A network of pipes and devices.
#[derive(Clone, PartialEq, Debug)]
pub struct Network {
    /// The water that flows.
    pub water: Water,
    /// Friction law of all pipes.
    pub law: FrictionLaw,
    /// Points where links meet.
    pub junctions: Vec<Junction>,
    /// Pipes and devices between junctions.
    pub links: Vec<Link>,
    /// Where water leaves.
    pub outlets: Vec<Outlet>,
    /// Where water comes from.
    pub sources: Vec<Source>,
}

impl Network {
    /// An empty network of a water and a law.
    #[must_use]
    pub const fn new(water: Water, law: FrictionLaw) -> Self {
        Self {
            water,
            law,
            junctions: Vec::new(),
            links: Vec::new(),
            outlets: Vec::new(),
            sources: Vec::new(),
        }
    }

    /// Adds a junction at a level and returns its index.
    pub fn add_junction(&mut self, level: Length) -> usize {
        self.junctions.push(Junction { level });
        self.junctions.len() - 1
    }

    /// Adds a link and returns its index.
    pub fn add_link(&mut self, from: usize, to: usize, kind: LinkKind) -> usize {
        self.links.push(Link { from, to, kind });
        self.links.len() - 1
    }

    /// Adds an outlet and returns its index.
    pub fn add_outlet(&mut self, junction: usize, law: OutletLaw) -> usize {
        self.outlets.push(Outlet { junction, law });
        self.outlets.len() - 1
    }

    /// Adds a source and returns its index.
    pub fn add_source(&mut self, junction: usize, curve: SupplyCurve) -> usize {
        self.sources.push(Source { junction, curve });
        self.sources.len() - 1
    }
}

/// Mean velocity of a flow in a round bore, without its sign; zero in a bore that is not positive.
#[must_use]
pub fn velocity_in(bore: Length, flow: Flow) -> Velocity {
    if bore <= Length::ZERO {
        return Velocity::ZERO;
    }
    Velocity::from_metres_per_second(flow.abs().cubic_metres_per_second() / area_m2(bore))
}

/// The flow that runs at a mean velocity in a round bore.
#[must_use]
pub fn flow_through(bore: Length, velocity: Velocity) -> Flow {
    Flow::from_cubic_metres_per_second(velocity.metres_per_second() * area_m2(bore))
}

fn area_m2(bore: Length) -> f64 {
    let radius_m = bore.metres() / 2.0;
    std::f64::consts::PI * radius_m * radius_m
}

/// A point where links meet.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Junction {
    /// Level above the datum of the plan; gauge pressure is that of the head above it.
    pub level: Length,
}

/// A pipe or device between two junctions, given by position in [`Network::junctions`].
#[derive(Clone, PartialEq, Debug)]
pub struct Link {
    /// Where positive flow enters.
    pub from: usize,
    /// Where positive flow leaves.
    pub to: usize,
    /// What it is.
    pub kind: LinkKind,
}

/// What a link is.
#[derive(Clone, PartialEq, Debug)]
pub enum LinkKind {
    /// A pipe.
    Pipe(Pipe),
    /// A device with a loss curve: meter, backflow assembly, valve, filter, check valve.
    Device(LossCurve),
    /// A pressure regulator that holds the pressure at `to` down to `set`; water never flows back through it.
    Regulator {
        /// Pressure held at `to` while the inlet has enough.
        set: Pressure,
        /// Loss while wide open; regulating needs an inlet pressure of `set` plus this loss at least.
        loss: LossCurve,
    },
    /// A closed valve.
    Closed,
}

/// A round pipe of one bore.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Pipe {
    /// Length, zero or more. A pipe without length only loses what its fittings lose.
    pub length: Length,
    /// Inner diameter, positive.
    pub bore: Length,
    /// Height of the wall's roughness, zero or more; 0.0015 mm for plastics and drawn tubing (read:
    /// engineersedge.com/fluid_flow/pipe-roughness.htm).
    pub roughness: Length,
    /// Sum of the local loss coefficients on this pipe's velocity head, zero or more.
    pub fittings: f64,
    /// Length added for local losses.
    pub equivalent: Length,
}

impl Pipe {
    /// A pipe without fittings.
    #[must_use]
    pub const fn plain(length: Length, bore: Length, roughness: Length) -> Self {
        Self {
            length,
            bore,
            roughness,
            fittings: 0.0,
            equivalent: Length::ZERO,
        }
    }
}

/// Where water leaves a junction.
#[derive(Clone, PartialEq, Debug)]
pub struct Outlet {
    /// Position in [`Network::junctions`].
    pub junction: usize,
    /// How much leaves.
    pub law: OutletLaw,
}

/// Where water enters a junction.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Source {
    /// Position in [`Network::junctions`].
    pub junction: usize,
    /// How the pressure falls with the flow.
    pub curve: SupplyCurve,
}
