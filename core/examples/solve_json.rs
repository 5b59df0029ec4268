//! Solves networks given as JSON, one a line on standard input, and writes heads and flows, one object a line. For comparisons with other
//! solvers: `tests/peers/compare.py` writes its input.
//!
//! Units are in the keys; heads are metres above the datum. An unreadable line ends it with a message and exit code 2.

use std::io::BufRead;

use aubergine_core::hydraulics::{
    FrictionLaw, LinkKind, LossCurve, Network, OutletLaw, Pipe, Prepared, SupplyCurve, Tolerance,
    Water,
};
use aubergine_core::units::{Density, Flow, KinematicViscosity, Length, Pressure};
use serde::Deserialize;

#[derive(Deserialize)]
struct Input {
    density_kgm3: f64,
    viscosity_m2ps: f64,
    levels_m: Vec<f64>,
    links: Vec<Link>,
    outlets: Vec<Outlet>,
    sources: Vec<Source>,
}

#[derive(Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
enum Link {
    Pipe {
        from: usize,
        to: usize,
        length_m: f64,
        bore_m: f64,
        roughness_m: f64,
        fittings: f64,
    },
    Device {
        from: usize,
        to: usize,
        per_lps_squared: f64,
        checked: bool,
    },
    Regulator {
        from: usize,
        to: usize,
        set_kpa: f64,
        per_lps_squared: f64,
    },
}

#[derive(Deserialize)]
struct Outlet {
    junction: usize,
    flow_m3s: f64,
    /// Pressure of that flow; without it the flow is the same at any pressure.
    at_kpa: Option<f64>,
    #[serde(default)]
    exponent: f64,
}

#[derive(Deserialize)]
struct Source {
    junction: usize,
    pressure_kpa: f64,
}

fn network(input: &Input) -> Network {
    let water = Water {
        density: Density::from_kilograms_per_cubic_metre(input.density_kgm3),
        viscosity: KinematicViscosity::from_square_metres_per_second(input.viscosity_m2ps),
    };
    let mut network = Network::new(water, FrictionLaw::Colebrook);
    for level_m in &input.levels_m {
        network.add_junction(Length::from_metres(*level_m));
    }
    let loss = |per_lps_squared| LossCurve {
        per_lps_squared,
        ..LossCurve::NONE
    };
    for link in &input.links {
        let (from, to, kind) = match *link {
            Link::Pipe {
                from,
                to,
                length_m,
                bore_m,
                roughness_m,
                fittings,
            } => {
                let m = Length::from_metres;
                let pipe = Pipe {
                    fittings,
                    ..Pipe::plain(m(length_m), m(bore_m), m(roughness_m))
                };
                (from, to, LinkKind::Pipe(pipe))
            }
            Link::Device {
                from,
                to,
                per_lps_squared,
                checked,
            } => {
                let curve = LossCurve {
                    checked,
                    ..loss(per_lps_squared)
                };
                (from, to, LinkKind::Device(curve))
            }
            Link::Regulator {
                from,
                to,
                set_kpa,
                per_lps_squared,
            } => {
                let set = Pressure::from_kilopascals(set_kpa);
                (
                    from,
                    to,
                    LinkKind::Regulator {
                        set,
                        loss: loss(per_lps_squared),
                    },
                )
            }
        };
        network.add_link(from, to, kind);
    }
    for outlet in &input.outlets {
        let flow = Flow::from_cubic_metres_per_second(outlet.flow_m3s);
        let law = outlet
            .at_kpa
            .map_or(OutletLaw::Fixed(flow), |at| OutletLaw::Power {
                flow,
                at: Pressure::from_kilopascals(at),
                exponent: outlet.exponent,
            });
        network.add_outlet(outlet.junction, law);
    }
    for source in &input.sources {
        let pressure = Pressure::from_kilopascals(source.pressure_kpa);
        network.add_source(source.junction, SupplyCurve::fixed(pressure));
    }
    network
}

fn main() {
    for (number, line) in std::io::stdin().lock().lines().enumerate() {
        let input = line.map_err(|error| error.to_string()).and_then(|line| {
            serde_json::from_str::<Input>(&line).map_err(|error| error.to_string())
        });
        let input = match input {
            Ok(input) => input,
            Err(error) => {
                eprintln!(
                    "Line {} of the input cannot be read: {error}. Give one network a line.",
                    number + 1
                );
                std::process::exit(2);
            }
        };
        let solution = Prepared::new(&network(&input)).solve(&Tolerance::FINAL, None);
        let flows = |flows: &[Flow]| -> Vec<f64> {
            flows
                .iter()
                .map(|flow| flow.cubic_metres_per_second())
                .collect()
        };
        let heads: Vec<f64> = solution.heads.iter().map(|head| head.metres()).collect();
        let states: Vec<String> = solution
            .states
            .iter()
            .map(|state| format!("{state:?}").to_lowercase())
            .collect();
        let answer = serde_json::json!({
            "converged": solution.convergence.converged,
            "heads_m": heads,
            "flows_m3s": flows(&solution.flows),
            "outlet_flows_m3s": flows(&solution.outlet_flows),
            "states": states,
        });
        println!("{answer}");
    }
}
