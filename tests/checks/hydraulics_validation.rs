//! Runs the table of validation cases of the hydraulic core, judges each number by the tolerance of its case, and prints how many
//! of each kind there are and how large the largest error is. It contains no expected number of its own.

mod build;
mod parts;
mod table;

use std::collections::BTreeMap;

use aubergine_core::hydraulics::uniformity::{Uniformity, christiansen_factor};
use aubergine_core::hydraulics::{
    FrictionLaw, LinkState, Network, OutletLaw, Pipe, PipeFriction, Solution, SupplyCurve, Water,
    solve,
};
use aubergine_core::units::{Flow, Length, Pressure};

use build::{Built, law_of};
use table::{Case, Table};

const CUBIC_FOOT_M3: f64 = 0.3048 * 0.3048 * 0.3048;

/// One number found, with what it may be off by.
struct Found {
    value: f64,
    allowed: f64,
}

/// What an error is an error of, for the printed summary.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Measure {
    HeadM,
    FlowRelative,
    OtherRelative,
}

#[derive(Default)]
struct Tally {
    num_cases: usize,
    num_values: usize,
    largest: BTreeMap<Measure, (f64, String)>,
}

impl Tally {
    fn note(&mut self, measure: Measure, error: f64, place: String) {
        self.num_values += 1;
        let entry = self.largest.entry(measure).or_insert((-1.0, String::new()));
        if error > entry.0 {
            *entry = (error, place);
        }
    }
}

fn table() -> Table {
    toml::from_str(include_str!("../cases/hydraulics.toml")).expect("the table of cases reads")
}

/// Cases whose number was read or comes from a library that is not ours. Closed forms were worked out by us.
fn is_validation(case: &Case) -> bool {
    match case.kind.as_str() {
        "published" => case.basis == "read",
        "library" => true,
        _ => false,
    }
}

/// The number a case asks for where no network is needed.
fn direct(case: &Case, what: &str, water: Water) -> f64 {
    if let Some(number) = parts::number(case, what, water) {
        number
    } else if let Some(input) = &case.friction {
        // A bore of a metre and a flow that gives the Reynolds number.
        let bore = Length::from_metres(1.0);
        let pipe = Pipe::plain(bore, bore, Length::from_metres(input.relative_roughness));
        let friction = PipeFriction::new(&pipe, water, law_of(case)).expect("a sound pipe");
        let flow = input.reynolds * std::f64::consts::PI / 4.0
            * water.viscosity.square_metres_per_second();
        friction.factor(Flow::from_cubic_metres_per_second(flow))
    } else if let Some(input) = &case.pipe {
        let pipe = input.pipe();
        let friction = PipeFriction::new(&pipe, water, law_of(case)).expect("a sound pipe");
        let loss = friction
            .at(Flow::from_gallons_per_minute(
                input.flow_gpm.expect("a flow"),
            ))
            .loss;
        match what {
            "loss_psi" => water.pressure_of(loss).psi(),
            "loss_ft" => loss.feet(),
            _ => panic!("{}: {what}", case.id),
        }
    } else if case.water_at.is_some() {
        match what {
            "density_kgm3" => water.density.kilograms_per_cubic_metre(),
            "viscosity_1e6_m2s" => water.viscosity.square_metres_per_second() * 1e6,
            _ => panic!("{}: {what}", case.id),
        }
    } else if let Some(input) = &case.outlet {
        let law = OutletLaw::Power {
            flow: Flow::from_gallons_per_minute(input.flow_gpm),
            at: water.pressure_of(Length::from_feet(input.at_head_ft)),
            exponent: input.exponent,
        };
        law.flow_at(water.pressure_of(Length::from_feet(input.head_ft)), water)
            .gallons_per_minute()
    } else if let Some(input) = &case.supply {
        let curve = SupplyCurve::from_test(
            Pressure::from_psi(input.static_psi),
            Pressure::from_psi(input.residual_psi),
            Flow::from_gallons_per_minute(input.flow_gpm),
            input.exponent,
        );
        let curve = curve.expect("a sound test");
        curve
            .flow_at(Pressure::from_psi(input.at_psi))
            .gallons_per_minute()
    } else if let Some(input) = &case.multiple_outlets {
        christiansen_factor(input.num, input.exponent).expect("outlets")
    } else {
        panic!("{} has no input", case.id)
    }
}

/// The number a case asks for of a solved network.
fn of_network(case: &Case, built: &Built, solution: &Solution, what: &str, at: &str) -> Found {
    let junction = || built.junction(at);
    let link = || solution.flows[built.link(at)];
    let outlet = || solution.outlet_flows[built.outlet(at)];
    let total = || -> Flow { solution.source_flows.iter().copied().sum() };
    let head_allowed = case.pressure_within_m.unwrap_or(1e-5);
    let m_per_psi = built
        .network
        .water
        .head_of(Pressure::from_psi(1.0))
        .metres();
    let flow = |flow: Flow, unit: Flow| {
        let relative = case.flow_relative.unwrap_or(1e-6);
        let allowed = flow.abs().cubic_metres_per_second() * relative + 1e-12;
        Found {
            value: flow / unit,
            allowed: allowed / unit.cubic_metres_per_second(),
        }
    };
    let share = |value: f64| Found {
        value,
        allowed: 5e-6,
    };
    let exact = |value: f64| Found {
        value,
        allowed: 1e-9,
    };
    let even = || Uniformity::of(&built.emitter_flows(solution)).expect("emitters give water");
    let (gpm, gph) = (
        Flow::from_gallons_per_minute(1.0),
        Flow::from_gallons_per_hour(1.0),
    );
    match what {
        "pressure_m" => Found {
            value: built
                .network
                .water
                .head_of(solution.pressures[junction()])
                .metres(),
            allowed: head_allowed,
        },
        "pressure_psi" => Found {
            value: solution.pressures[junction()].psi(),
            allowed: head_allowed / m_per_psi,
        },
        "total_gph" => flow(total(), gph),
        "total_gpm" => flow(total(), gpm),
        "flow_gph" => flow(outlet(), gph),
        "outlet_gpm" => flow(outlet(), gpm),
        "link_gpm" => flow(link(), gpm),
        "link_m3h" => flow(link(), Flow::from_cubic_metres_per_hour(1.0)),
        "link_cfs" => flow(link(), Flow::from_cubic_metres_per_second(CUBIC_FOOT_M3)),
        "flow_variation" => share(even().flow_variation),
        "christiansen" => share(even().christiansen),
        "low_quarter" => share(even().low_quarter),
        "statistical" => share(even().statistical),
        "emission" => share(even().emission(None).share),
        "state" => exact(match solution.states[built.link(at)] {
            LinkState::Open => 0.0,
            LinkState::Regulating => 1.0,
            LinkState::Shut => -1.0,
        }),
        "supplied" => exact(f64::from(u8::from(solution.supplied[junction()]))),
        _ => panic!("{}: {what}", case.id),
    }
}

fn measure_of(what: &str) -> Measure {
    match what {
        "pressure_m" | "pressure_psi" => Measure::HeadM,
        "total_gph" | "total_gpm" | "flow_gph" | "flow_gpm" | "outlet_gpm" | "link_gpm"
        | "link_m3h" | "link_cfs" => Measure::FlowRelative,
        _ => Measure::OtherRelative,
    }
}

#[test]
fn every_case_is_met_within_its_tolerance() {
    let mut tallies: BTreeMap<(bool, String, String), Tally> = BTreeMap::new();
    let mut failures = Vec::new();
    let mut iterations = 0;
    for case in &table().case {
        let water = case.water.map_or_else(
            || case.water_at.unwrap_or_default().water(),
            table::WaterOf::water,
        );
        let built = build::network(case, water);
        let solution = built.as_ref().map(|built| solve(&built.network));
        if let Some(solution) = &solution {
            if !solution.convergence.converged {
                failures.push(format!("{}: {:?}", case.id, solution.convergence));
            }
            iterations = iterations.max(solution.convergence.iterations);
        }
        let key = (is_validation(case), case.kind.clone(), case.basis.clone());
        let tally = tallies.entry(key).or_default();
        tally.num_cases += 1;
        assert!(!case.reason.is_empty() && !case.source.is_empty() && !case.expected.is_empty());
        for (what, at, expected) in &case.expected {
            let found = match (&built, &solution) {
                (Some(built), Some(solution)) => of_network(case, built, solution, what, at),
                _ => Found {
                    value: direct(case, what, water),
                    allowed: case
                        .within
                        .unwrap_or_else(|| expected.abs() * case.relative.expect("a tolerance")),
                },
            };
            let error = (found.value - expected).abs();
            if error.is_nan() || error > found.allowed {
                failures.push(format!(
                    "{} {what} {at}: {} for {expected}, allowed {:e}",
                    case.id, found.value, found.allowed
                ));
            }
            let measure = measure_of(what);
            let shown = match (measure, what.as_str()) {
                (Measure::HeadM, "pressure_psi") => {
                    water.head_of(Pressure::from_psi(error)).metres()
                }
                (Measure::HeadM, _) => error,
                _ if expected.abs() > 0.0 => error / expected.abs(),
                _ => error,
            };
            tally.note(measure, shown, format!("{} {what} {at}", case.id));
        }
    }
    let (mut validation, mut others) = (0, 0);
    for ((counts, kind, basis), tally) in &tallies {
        if *counts {
            validation += tally.num_cases;
        } else {
            others += tally.num_cases;
        }
        let word = if *counts {
            "validation"
        } else {
            "not validation"
        };
        println!(
            "{word}: {kind}, {basis}: {} cases, {} values",
            tally.num_cases, tally.num_values
        );
        for (measure, (error, place)) in &tally.largest {
            println!("    largest {measure:?} {error:.2e} ({place})");
        }
    }
    println!("{validation} validation cases, {others} others, at most {iterations} Newton steps");
    assert!(
        failures.is_empty(),
        "{} misses:\n{}",
        failures.len(),
        failures.join("\n")
    );
    assert!(validation >= 80, "validation cases got lost");
}

/// The law of the product against Colebrook–White: three percent of each loss, which is the uncertainty of the join
/// between laminar and turbulent flow and far above the error of the fit.
#[test]
fn the_fitted_law_loses_what_colebrook_loses_within_three_percent() {
    let mut largest = (0.0_f64, String::new());
    for case in table().case.iter().filter(|case| case.fitted_too) {
        let water = case
            .water
            .map_or_else(|| table::WaterAt::default().water(), table::WaterOf::water);
        let built = build::network(case, water).expect("a network");
        let exact = solve(&built.network);
        let fitted = solve(&Network {
            law: FrictionLaw::Fitted,
            ..built.network.clone()
        });
        assert!(fitted.convergence.converged, "{}", case.id);
        // Losses from the highest head of the network; a millimetre is below what anyone reads.
        let top = exact
            .heads
            .iter()
            .copied()
            .fold(Length::from_metres(-1e9), Length::max);
        for (a, b) in exact.heads.iter().zip(&fitted.heads) {
            let loss = (top - *a).metres();
            let error = (*a - *b).abs().metres();
            assert!(
                error <= 0.03 * loss + 1e-3,
                "{}: {error} of {loss}",
                case.id
            );
            if loss > 0.1 && error / loss > largest.0 {
                largest = (error / loss, case.id.clone());
            }
        }
    }
    println!(
        "fitted against Colebrook: largest difference {:.2e} of the loss ({})",
        largest.0, largest.1
    );
}

/// A bed looped both ways, dragged about: a warm solve ends where a cold one does.
#[test]
fn a_warm_solve_ends_at_the_numbers_of_a_cold_one() {
    use aubergine_core::hydraulics::{Prepared, Tolerance};
    for case in table().case.iter().filter(|case| case.fitted_too) {
        let built = build::network(case, table::WaterAt::default().water()).expect("a network");
        let mut other = built.network.clone();
        for source in &mut other.sources {
            source.curve.at_rest = source.curve.at_rest * 1.04;
        }
        let mut solver = Prepared::new(&built.network);
        let before = solver.update(&other).solve(&Tolerance::FINAL, None);
        let warm = solver
            .update(&built.network)
            .solve(&Tolerance::FINAL, Some(&before));
        let cold = solver.update(&built.network).solve(&Tolerance::FINAL, None);
        assert_eq!(
            cold,
            solve(&built.network),
            "{}: a cold solve depends on nothing before",
            case.id
        );
        assert!(warm.convergence.converged, "{}", case.id);
        for (a, b) in warm.heads.iter().zip(&cold.heads) {
            assert!((*a - *b).abs().metres() <= 1.0001e-6, "{}", case.id);
        }
        let moving = solver
            .update(&built.network)
            .solve(&Tolerance::MOVING, Some(&before));
        for (a, b) in moving.heads.iter().zip(&cold.heads) {
            assert!((*a - *b).abs().metres() <= 1e-3, "{}", case.id);
        }
    }
}
