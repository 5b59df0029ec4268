//! Tests of whole solves: devices in all their states, degenerate networks, and what a cold solve promises.

use super::*;
use crate::hydraulics::{FrictionLaw, LossCurve, OutletLaw, Pipe, SupplyCurve, Water};
use crate::units::{Pressure, Temperature};

fn network(num_junctions: usize) -> Network {
    let mut network = Network::new(
        Water::at(Temperature::from_celsius(20.0)),
        FrictionLaw::Fitted,
    );
    for _ in 0..num_junctions {
        network.add_junction(Length::ZERO);
    }
    network
}

fn psi(value: f64) -> Pressure {
    Pressure::from_psi(value)
}

fn gpm(value: f64) -> Flow {
    Flow::from_gallons_per_minute(value)
}

fn pipe(feet: f64, inches: f64) -> LinkKind {
    LinkKind::Pipe(Pipe::plain(
        Length::from_feet(feet),
        Length::from_inches(inches),
        Length::ZERO,
    ))
}

fn regulator(set: f64, cv: f64) -> LinkKind {
    LinkKind::Regulator {
        set: psi(set),
        loss: LossCurve::from_cv(cv),
    }
}

fn orifice(flow: f64, at: f64) -> OutletLaw {
    OutletLaw::Power {
        flow: gpm(flow),
        at: psi(at),
        exponent: 0.5,
    }
}

fn assert_flow(found: Flow, wanted_gpm: f64) {
    let found = found.gallons_per_minute();
    assert!(
        (found - wanted_gpm).abs() < 1e-6,
        "{found} for {wanted_gpm}"
    );
}

#[test]
fn equal_regulators_side_by_side_share_the_flow() {
    let mut network = network(2);
    network.add_link(0, 1, regulator(25.0, 4.0));
    network.add_link(0, 1, regulator(25.0, 4.0));
    network.add_outlet(1, orifice(6.0, 25.0));
    network.add_source(0, SupplyCurve::fixed(psi(50.0)));
    let solution = solve(&network);
    assert!(solution.convergence.converged);
    assert_eq!(solution.states, [LinkState::Regulating; 2]);
    assert_flow(solution.flows[0], 3.0);
    assert_flow(solution.flows[1], 3.0);
}

#[test]
fn of_unequal_regulators_side_by_side_the_higher_one_works_while_it_can() {
    let mut network = network(2);
    network.add_link(0, 1, regulator(25.0, 4.0));
    network.add_link(0, 1, regulator(30.0, 4.0));
    network.add_outlet(1, orifice(6.0, 30.0));
    network.add_source(0, SupplyCurve::fixed(psi(50.0)));
    let solution = solve(&network);
    assert!(solution.convergence.converged);
    assert_eq!(solution.states, [LinkState::Shut, LinkState::Regulating]);
    assert_flow(solution.flows[1], 6.0);
}

#[test]
fn a_regulator_is_shut_where_something_else_holds_more() {
    let mut network = network(2);
    network.add_link(0, 1, regulator(25.0, 4.0));
    network.add_outlet(1, orifice(2.0, 40.0));
    network.add_source(0, SupplyCurve::fixed(psi(60.0)));
    network.add_source(1, SupplyCurve::fixed(psi(40.0)));
    let solution = solve(&network);
    assert!(solution.convergence.converged);
    assert_eq!(solution.states, [LinkState::Shut]);
    assert_flow(solution.source_flows[0], 0.0);
    assert_flow(solution.source_flows[1], 2.0);
}

#[test]
fn a_regulator_whose_outlet_runs_back_to_its_inlet_is_open() {
    let mut network = network(3);
    network.add_link(0, 1, pipe(10.0, 0.6));
    network.add_link(1, 2, regulator(40.0, 4.0));
    network.add_link(2, 1, pipe(10.0, 0.6));
    network.add_outlet(2, orifice(3.0, 30.0));
    network.add_source(0, SupplyCurve::fixed(psi(30.0)));
    let solution = solve(&network);
    assert!(solution.convergence.converged);
    assert_eq!(solution.states[1], LinkState::Open);
}

#[test]
fn a_spring_that_the_supply_cannot_open_lets_nothing_through() {
    let mut network = network(2);
    let loss = LossCurve::from_cv(10.0).with_opening(psi(5.0));
    network.add_link(0, 1, LinkKind::Device(loss));
    network.add_outlet(1, orifice(1.0, 20.0));
    network.add_source(0, SupplyCurve::fixed(psi(3.0)));
    let solution = solve(&network);
    assert!(solution.convergence.converged);
    assert_eq!(solution.outlet_flows, [Flow::ZERO]);
    assert!(solution.pressures[1] <= Pressure::ZERO);
}

#[test]
fn what_no_source_reaches_is_reported_and_not_solved() {
    let mut network = network(5);
    network.add_link(0, 1, pipe(10.0, 0.6));
    network.add_link(1, 2, LinkKind::Closed);
    network.add_link(2, 3, pipe(10.0, 0.6));
    for node in 0..5 {
        network.add_outlet(node, orifice(0.1, 20.0));
    }
    network.add_source(0, SupplyCurve::fixed(psi(30.0)));
    let solution = solve(&network);
    assert!(solution.convergence.converged);
    assert_eq!(solution.supplied, [true, true, false, false, false]);
    assert_eq!(solution.states[1], LinkState::Shut);
    assert_eq!(solution.outlet_flows[3], Flow::ZERO);
    assert_eq!(solution.pressures[4], Pressure::ZERO);
}

#[test]
fn a_network_without_anything_is_solved() {
    for num in [0, 1, 3] {
        let solution = solve(&network(num));
        assert!(solution.convergence.converged);
        assert_eq!(solution.heads.len(), num);
        assert!(solution.supplied.iter().all(|supplied| !supplied));
    }
}

#[test]
fn pipes_without_length_and_lossless_devices_carry_water_without_loss() {
    let mut network = network(4);
    network.add_link(0, 1, pipe(0.0, 0.6));
    network.add_link(1, 2, LinkKind::Device(LossCurve::NONE));
    network.add_link(1, 2, pipe(0.0, 0.6));
    network.add_link(2, 3, pipe(50.0, 0.6));
    network.add_link(3, 3, pipe(50.0, 0.6));
    network.add_outlet(3, orifice(2.0, 20.0));
    network.add_source(0, SupplyCurve::fixed(psi(30.0)));
    let solution = solve(&network);
    assert!(solution.convergence.converged, "{:?}", solution.convergence);
    assert_eq!(solution.heads[0], solution.heads[2]);
    assert!(solution.outlet_flows[0] > gpm(1.0));
    assert_eq!(solution.flows[4], Flow::ZERO);
}

#[test]
fn input_without_sense_is_named() {
    let mut sound = network(3);
    sound.add_link(0, 1, pipe(10.0, 0.6));
    sound.add_link(1, 2, pipe(10.0, 0.6));
    sound.add_outlet(2, orifice(1.0, 20.0));
    sound.add_source(0, SupplyCurve::fixed(psi(30.0)));
    assert!(solve(&sound).convergence.converged);
    let mut broken = sound.clone();
    broken.links[1].kind = pipe(10.0, 0.0);
    let solution = solve(&broken);
    assert!(!solution.convergence.converged);
    assert_eq!(solution.convergence.worst_junction, Some(1));
    assert_eq!(solution.supplied, [true, true, false]);
    let mut two = sound.clone();
    two.add_source(0, SupplyCurve::fixed(psi(31.0)));
    assert_eq!(solve(&two).convergence.worst_junction, Some(0));
    let mut nowhere = sound;
    nowhere.links[1].to = 9;
    assert_eq!(solve(&nowhere).convergence.worst_junction, Some(1));
}

#[test]
fn a_demand_beyond_the_supply_gives_negative_pressure_not_less_flow() {
    let mut network = network(2);
    network.add_link(0, 1, pipe(100.0, 0.6));
    network.add_outlet(1, OutletLaw::Fixed(gpm(10.0)));
    network.add_source(0, SupplyCurve::fixed(psi(20.0)));
    let solution = solve(&network);
    assert!(solution.convergence.converged);
    assert_flow(solution.outlet_flows[0], 10.0);
    assert!(solution.pressures[1] < Pressure::ZERO);
}

#[test]
fn a_solver_takes_networks_of_other_topology_and_forgets_what_it_solved() {
    let mut small = network(2);
    small.add_link(0, 1, pipe(10.0, 0.6));
    small.add_outlet(1, orifice(1.0, 20.0));
    small.add_source(0, SupplyCurve::fixed(psi(30.0)));
    let mut large = small.clone();
    let end = large.add_junction(Length::ZERO);
    large.add_link(1, end, pipe(10.0, 0.17));
    large.add_outlet(end, orifice(0.1, 20.0));
    let mut solver = Prepared::new(&small);
    let first = solver.update(&small).solve(&Tolerance::FINAL, None);
    let other = solver.update(&large).solve(&Tolerance::FINAL, Some(&first));
    assert!(other.convergence.converged);
    assert_eq!(solver.update(&small).solve(&Tolerance::FINAL, None), first);
}
