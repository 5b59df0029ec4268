//! Networks at the edge of sense: each gives a defined result or names what is wrong, never a panic. Devices in parallel and in loops have
//! values computed without our code by `tests/peers/degenerate.py` (SciPy's root finder over friction factors of the library fluids,
//! every combination of states tried).

use aubergine_core::hydraulics::{
    FrictionLaw, LinkKind, LinkState, LossCurve, Network, OutletLaw, Pipe, Solution, SupplyCurve,
    Water, solve,
};
use aubergine_core::units::{Density, Flow, KinematicViscosity, Length, Pressure};

use LinkState::{Open, Regulating, Shut};

/// The water of `tests/peers/reference.py`.
fn network(num: usize) -> Network {
    let water = Water {
        density: Density::from_kilograms_per_cubic_metre(998.204),
        viscosity: KinematicViscosity::from_square_metres_per_second(1.003_367e-6),
    };
    let mut network = Network::new(water, FrictionLaw::Colebrook);
    for _ in 0..num {
        network.add_junction(Length::ZERO);
    }
    network
}

fn kpa(value: f64) -> Pressure {
    Pressure::from_kilopascals(value)
}

fn pipe(length_m: f64, bore_m: f64) -> LinkKind {
    LinkKind::Pipe(Pipe::plain(
        Length::from_metres(length_m),
        Length::from_metres(bore_m),
        Length::from_metres(1.5e-6),
    ))
}

fn loss(per_lps_squared: f64) -> LossCurve {
    LossCurve {
        per_lps_squared,
        ..LossCurve::NONE
    }
}

fn regulator(set_kpa: f64, per_lps_squared: f64) -> LinkKind {
    LinkKind::Regulator {
        set: kpa(set_kpa),
        loss: loss(per_lps_squared),
    }
}

fn orifice(lps: f64) -> OutletLaw {
    OutletLaw::Power {
        flow: Flow::from_litres_per_second(lps),
        at: kpa(200.0),
        exponent: 0.5,
    }
}

/// Supplied with 350 kPa at junction 0.
fn built(num: usize, links: &[(usize, usize, LinkKind)], outlets: &[(usize, f64)]) -> Network {
    let mut network = network(num);
    for (from, to, kind) in links {
        network.add_link(*from, *to, kind.clone());
    }
    for (at, lps) in outlets {
        network.add_outlet(*at, orifice(*lps));
    }
    network.add_source(0, SupplyCurve::fixed(kpa(350.0)));
    network
}

fn lps(flow: Flow) -> f64 {
    flow.litres_per_second()
}

/// Heads within 1e-6 m (half of it is rounding), flows within 1e-9 L/s and the last digit of the expected ones.
fn check(network: &Network, heads_m: &[f64], flows_lps: &[f64], states: &[LinkState]) {
    let solution = solve(network);
    assert!(solution.convergence.converged, "{:?}", solution.convergence);
    for (found, wanted) in solution.heads.iter().zip(heads_m) {
        assert!((found.metres() - wanted).abs() < 1e-6, "{found:?} {wanted}");
    }
    for (found, wanted) in solution.flows.iter().zip(flows_lps) {
        assert!((lps(*found) - wanted).abs() < 2e-9, "{found:?} {wanted}");
    }
    assert_eq!(solution.states, states);
}

#[test]
fn the_higher_of_two_regulators_in_parallel_opens_and_the_lower_makes_up() {
    let links = [
        (0, 1, pipe(6.0, 0.02093)),
        (1, 2, regulator(200.0, 300.0)),
        (1, 2, regulator(170.0, 100.0)),
    ];
    check(
        &built(3, &links, &[(2, 0.9)]),
        &[35.754282145, 33.958796455, 17.366365613],
        &[0.8297590012, 0.7358077731, 0.0939512281],
        &[Open, Open, Regulating],
    );
}

#[test]
fn equal_regulators_in_parallel_hold_their_pressure_and_share_alike() {
    let links = [
        (0, 1, pipe(6.0, 0.02093)),
        (1, 2, regulator(170.0, 100.0)),
        (1, 2, regulator(170.0, 300.0)),
    ];
    // The heads and the sum are the reference's; which of them gives how much is free, and ours is half each.
    check(
        &built(3, &links, &[(2, 0.6)]),
        &[35.754282145, 34.882041156, 17.366365613],
        &[0.5531726674, 0.5531726674 / 2.0, 0.5531726674 / 2.0],
        &[Open, Regulating, Regulating],
    );
}

#[test]
fn a_regulator_in_a_loop_regulates_beside_its_bypass() {
    let links = [
        (0, 1, pipe(10.0, 0.02093)),
        (1, 2, regulator(150.0, 100.0)),
        (1, 3, pipe(20.0, 0.01524)),
        (3, 2, pipe(20.0, 0.0106)),
    ];
    check(
        &built(4, &links, &[(2, 0.5), (3, 0.05)]),
        &[35.754282145, 34.564438080, 15.323263776, 30.473072580],
        &[0.4940764025, 0.2091709482, 0.2849054543, 0.2238417537],
        &[Open, Regulating, Open, Open],
    );
}

#[test]
fn a_regulator_in_a_loop_is_shut_by_a_wide_bypass() {
    let links = [
        (0, 1, pipe(10.0, 0.02093)),
        (1, 2, regulator(150.0, 100.0)),
        (1, 3, pipe(2.0, 0.01524)),
        (3, 2, pipe(2.0, 0.01524)),
    ];
    check(
        &built(4, &links, &[(2, 0.05), (3, 0.05)]),
        &[35.754282145, 35.636610440, 35.498825889, 35.530728820],
        &[0.1318437449, 0.0, 0.1318437449, 0.0659070680],
        &[Open, Shut, Open, Open],
    );
}

fn check_in_loop(near: f64, far: f64) -> Network {
    let links = [
        (0, 1, pipe(10.0, 0.02093)),
        (1, 2, pipe(20.0, 0.01524)),
        (0, 3, pipe(15.0, 0.02093)),
        (2, 3, LinkKind::Device(loss(50.0).with_check())),
    ];
    built(4, &links, &[(2, near), (3, far)])
}

#[test]
fn a_check_valve_in_a_loop_shuts_against_the_higher_side_and_opens_to_the_lower() {
    check(
        &check_in_loop(0.4, 0.05),
        &[35.754282145, 34.753860360, 25.624853660, 35.700399718],
        &[0.4479666480, 0.4479666480, 0.0660939240, 0.0],
        &[Open, Open, Open, Shut],
    );
    check(
        &check_in_loop(0.05, 0.6),
        &[35.754282145, 35.498102624, 33.181226777, 33.077398281],
        &[0.2062942961, 0.2062942961, 0.6208597691, 0.1425749638],
        &[Open, Open, Open, Open],
    );
}

fn sound(solution: &Solution) {
    assert!(solution.convergence.converged, "{:?}", solution.convergence);
}

#[test]
fn a_loop_without_demand_is_at_rest() {
    let links = [
        (0, 1, pipe(5.0, 0.02)),
        (1, 2, pipe(5.0, 0.02)),
        (2, 3, pipe(50.0, 0.004)),
        (3, 1, pipe(0.1, 0.05)),
    ];
    let solution = solve(&built(4, &links, &[]));
    sound(&solution);
    assert!(
        solution.flows.iter().all(|flow| lps(*flow).abs() <= 1e-8),
        "{:?}",
        solution.flows
    );
    assert!(solution.heads.iter().all(|head| *head == solution.heads[0]));
}

#[test]
fn a_ratio_of_conductances_of_a_hundred_million_is_solved() {
    // 63 mm over a centimetre beside 2 mm over 100 m: laminar slopes apart by L/D⁴ = 1e10.
    let links = [
        (0, 1, pipe(0.01, 0.063)),
        (1, 2, pipe(100.0, 0.002)),
        (1, 3, pipe(0.01, 0.063)),
        (3, 2, pipe(100.0, 0.002)),
    ];
    let solution = solve(&built(4, &links, &[(2, 0.01), (3, 2.0)]));
    sound(&solution);
    let into = lps(solution.flows[1] + solution.flows[3]);
    assert!((into - lps(solution.outlet_flows[0])).abs() < 5e-9);
    assert!((lps(solution.flows[0]) - into - lps(solution.outlet_flows[1])).abs() < 5e-9);
    // Both thin pipes have the same ends but for a hair of head.
    assert!((lps(solution.flows[1]) / lps(solution.flows[3]) - 1.0).abs() < 1e-3);
}

#[test]
fn duplicate_pipes_share_the_flow_and_a_pipe_to_itself_carries_none() {
    let links = [
        (0, 1, pipe(10.0, 0.01)),
        (0, 1, pipe(10.0, 0.01)),
        (1, 0, pipe(10.0, 0.01)),
        (1, 1, pipe(10.0, 0.01)),
    ];
    let solution = solve(&built(2, &links, &[(1, 0.3)]));
    sound(&solution);
    let third = lps(solution.outlet_flows[0]) / 3.0;
    for (flow, wanted) in solution.flows.iter().zip([third, third, -third, 0.0]) {
        assert!((lps(*flow) - wanted).abs() < 2e-9);
    }
}

#[test]
fn a_ring_of_pipes_without_length_carries_water_without_loss() {
    let links = [
        (0, 1, pipe(0.0, 0.02)),
        (1, 2, pipe(0.0, 0.02)),
        (2, 0, pipe(0.0, 0.02)),
    ];
    let solution = solve(&built(3, &links, &[(2, 0.3)]));
    sound(&solution);
    assert_eq!(solution.heads[2], solution.heads[0]);
}

#[test]
fn an_island_and_what_lies_behind_closed_valves_are_told_and_not_solved() {
    let links = [
        (0, 1, LinkKind::Closed),
        (1, 2, pipe(5.0, 0.02)),
        (3, 4, pipe(5.0, 0.02)),
        (4, 3, pipe(5.0, 0.01)),
    ];
    let solution = solve(&built(5, &links, &[(2, 0.3), (4, 0.3)]));
    sound(&solution);
    assert_eq!(solution.supplied, [true, false, false, false, false]);
    assert!(solution.outlet_flows.iter().all(|flow| *flow == Flow::ZERO));
    assert_eq!(solution.source_flows, [Flow::ZERO]);
}

#[test]
fn without_a_source_nothing_is_supplied() {
    let mut network = built(
        3,
        &[(0, 1, pipe(5.0, 0.02)), (1, 2, pipe(5.0, 0.02))],
        &[(2, 0.3)],
    );
    network.sources.clear();
    let solution = solve(&network);
    sound(&solution);
    assert!(solution.supplied.iter().all(|supplied| !supplied));
    assert!(
        solution
            .pressures
            .iter()
            .all(|pressure| *pressure == Pressure::ZERO)
    );
}

#[test]
fn a_siphon_has_a_negative_pressure_at_its_crest_and_flows_on() {
    let links = [(0, 1, pipe(10.0, 0.02)), (1, 2, pipe(60.0, 0.02))];
    let mut network = built(3, &links, &[(2, 0.2)]);
    network.junctions[1].level = Length::from_metres(38.0);
    let solution = solve(&network);
    sound(&solution);
    assert!(solution.pressures[1] < Pressure::ZERO);
    assert!(solution.outlet_flows[0] > Flow::ZERO);
}

#[test]
fn a_number_without_sense_is_named_with_its_junction() {
    let sound = built(
        3,
        &[(0, 1, pipe(5.0, 0.02)), (1, 2, pipe(5.0, 0.02))],
        &[(2, 0.3)],
    );
    assert!(solve(&sound).convergence.converged);
    let spoilt = |kind: LinkKind| {
        let mut network = sound.clone();
        network.links[1].kind = kind;
        solve(&network)
    };
    for kind in [
        pipe(5.0, 0.0),
        pipe(5.0, f64::NAN),
        pipe(f64::NAN, 0.02),
        pipe(-1.0, 0.02),
        pipe(5.0, 1e-90),
        regulator(f64::NAN, 1.0),
        LinkKind::Device(loss(f64::NAN)),
    ] {
        let solution = spoilt(kind.clone());
        assert!(!solution.convergence.converged, "{kind:?}");
        assert_eq!(solution.convergence.worst_junction, Some(1), "{kind:?}");
        assert_eq!(solution.supplied, [true, true, false], "{kind:?}");
    }
    let mut lost = sound.clone();
    lost.junctions[2].level = Length::from_metres(f64::NAN);
    assert_eq!(solve(&lost).convergence.worst_junction, Some(2));
    let mut torn = sound;
    torn.sources[0].curve.at_rest = kpa(f64::NAN);
    assert_eq!(solve(&torn).convergence.worst_junction, Some(0));
}

#[test]
fn a_solve_that_may_take_no_steps_names_where_it_is_worst() {
    use aubergine_core::hydraulics::{Prepared, Tolerance};
    let network = check_in_loop(0.4, 0.05);
    let few = Tolerance {
        max_iterations: 1,
        ..Tolerance::FINAL
    };
    let solution = Prepared::new(&network).solve(&few, None);
    assert!(!solution.convergence.converged);
    assert!(solution.convergence.energy_residual_m > 1e-6);
    assert!(solution.convergence.worst_junction.is_some());
}
