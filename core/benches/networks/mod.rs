//! The networks the solver is measured on: drip beds on a main, the same with loops, and a mesh. `tests/peers/networks.py` builds them
//! with the same numbers for the solvers it is compared with.

use std::f64::consts::PI;

use aubergine_core::hydraulics::{
    FrictionLaw, LinkKind, Network, OutletLaw, Pipe, SupplyCurve, Tolerance, Water,
};
use aubergine_core::units::{Density, Flow, KinematicViscosity, Length, Pressure};

/// Header junctions of a bed, and emitters of a lateral.
const HEADER: usize = 36;
const LATERAL: usize = 8;

/// What the peers stop at: 1e-6 m, and a mass balance far closer than their change of flow of 1e-6 of all flows.
pub const TOLERANCE: Tolerance = Tolerance {
    head: Length::from_metres(1e-6),
    mass: Flow::from_litres_per_second(1e-6),
    max_iterations: 60,
};

/// A kind of network.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kind {
    /// A tree: a main, on it beds of a header with laterals.
    Beds,
    /// The same with a return pipe from each header's end to the main, and a ring from the main's end to its start.
    BedsLooped,
    /// One bed of 28 lines with 11 emitters each, whatever size is asked for.
    OneBed,
    /// A square grid with an outlet at every junction.
    Mesh,
}

impl Kind {
    /// The name the peers use.
    pub fn name(self) -> &'static str {
        match self {
            Self::Beds => "beds",
            Self::BedsLooped => "beds_looped",
            Self::OneBed => "one_bed",
            Self::Mesh => "mesh",
        }
    }

    /// The network of about so many junctions. Junction 0 is the source.
    pub fn network(self, about: usize) -> Network {
        match self {
            Self::Beds => beds(sized(about), LATERAL, false),
            Self::OneBed => beds((1, 28), 11, false),
            Self::BedsLooped => beds(sized(about), LATERAL, true),
            Self::Mesh => mesh(about),
        }
    }
}

fn empty() -> Network {
    let water = Water {
        density: Density::from_kilograms_per_cubic_metre(998.204),
        viscosity: KinematicViscosity::from_square_metres_per_second(1.003_37e-6),
    };
    let mut network = Network::new(water, FrictionLaw::SmoothPower);
    network.add_junction(Length::ZERO);
    network.add_source(0, supply(1.0));
    network
}

/// 25 psi at the source, times a factor.
pub fn supply(times: f64) -> SupplyCurve {
    SupplyCurve::fixed(Pressure::from_psi(25.0 * times))
}

fn pipe(length_m: f64, bore_m: f64, fittings: f64) -> LinkKind {
    LinkKind::Pipe(Pipe {
        fittings,
        ..Pipe::plain(
            Length::from_metres(length_m),
            Length::from_metres(bore_m),
            Length::ZERO,
        )
    })
}

/// The nearest whole number, as the peers round.
#[allow(clippy::cast_possible_truncation)] // Sizes of networks are small.
fn whole(value: f64) -> usize {
    value.round_ties_even() as usize
}

const FOOT_M: f64 = 0.3048;
const INCH_M: f64 = 0.0254;

/// Beds, and lines of each, for about so many junctions.
fn sized(about: usize) -> (usize, usize) {
    if about <= 150 {
        (1, (about / 9).max(1))
    } else {
        let size = (HEADER * (LATERAL + 1) + 1) as f64;
        (whole(about as f64 / size).max(1), HEADER)
    }
}

fn beds((num_beds, header): (usize, usize), lateral: usize, looped: bool) -> Network {
    let emitter = OutletLaw::Power {
        flow: Flow::from_gallons_per_hour(0.5),
        at: Pressure::from_psi(15.0),
        exponent: 0.5,
    };
    let mut network = empty();
    let water = network.water;
    let bed_m3s = (header * lateral) as f64
        * emitter
            .flow_at(Pressure::from_psi(25.0), water)
            .cubic_metres_per_second();
    let (mut mains, mut header_ends) = (Vec::new(), Vec::new());
    let mut main = 0;
    let grow = |network: &mut Network, from: usize, kind: LinkKind| {
        let to = network.add_junction(Length::ZERO);
        network.add_link(from, to, kind);
        to
    };
    for bed in 0..num_beds {
        // 1.5 m/s in the main.
        let bore_m = (4.0 * bed_m3s * (num_beds - bed) as f64 / PI / 1.5)
            .sqrt()
            .max(INCH_M);
        main = grow(&mut network, main, pipe(10.0 * FOOT_M, bore_m, 0.5));
        mains.push(main);
        let mut along = main;
        for _ in 0..header {
            along = grow(&mut network, along, pipe(FOOT_M, 0.6 * INCH_M, 0.0));
            let mut end = along;
            for i in 0..lateral {
                let fittings = if i == 0 { 4.0 } else { 0.0 };
                end = grow(
                    &mut network,
                    end,
                    pipe(0.5 * FOOT_M, 0.17 * INCH_M, fittings),
                );
                network.add_outlet(end, emitter.clone());
            }
        }
        header_ends.push(along);
    }
    if looped {
        for (end, main) in header_ends.iter().zip(&mains) {
            network.add_link(*end, *main, pipe(header as f64 * FOOT_M, 0.6 * INCH_M, 0.0));
        }
        if num_beds > 2 {
            let length_m = 10.0 * FOOT_M * num_beds as f64;
            network.add_link(main, 0, pipe(length_m, 1.5 * INCH_M, 0.0));
        }
    }
    network
}

fn mesh(about: usize) -> Network {
    let side = whole((about as f64).sqrt()).max(3);
    let each = Flow::from_gallons_per_minute(0.02);
    let outlet = OutletLaw::Power {
        flow: each,
        at: Pressure::from_psi(25.0),
        exponent: 0.5,
    };
    let mut network = empty();
    let total_m3s = each.cubic_metres_per_second() * (side * side) as f64;
    for junction in 1..side * side {
        network.add_junction(Length::ZERO);
        network.add_outlet(junction, outlet.clone());
    }
    for row in 0..side {
        for column in 0..side {
            let from = row * side + column;
            // As if the flow fanned out from one corner and in to the other.
            let rank = (row + column).min(2 * side - 2);
            let share = (rank + 1).min(2 * side - 1 - rank).max(1) as f64;
            let bore_m = (4.0 * (total_m3s / share / 2.0) / PI)
                .sqrt()
                .max(0.3 * INCH_M);
            if column + 1 < side {
                network.add_link(from, from + 1, pipe(1.0, bore_m, 0.0));
            }
            if row + 1 < side {
                network.add_link(from, from + side, pipe(1.0, bore_m, 0.0));
            }
        }
    }
    network
}
