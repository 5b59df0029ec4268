//! The bench networks are those of `tests/peers/networks.py`: sizes, and the least head that other solvers find in them.

use aubergine_core::hydraulics::{Prepared, Tolerance};
use aubergine_core::units::Flow;
use bench_networks::{Kind, TOLERANCE, supply};

#[path = "../../core/benches/networks/mod.rs"]
mod bench_networks;

/// Junctions, links and least head at about 1000 junctions.
///
/// *Origin*: `numba_ldl.py` and `scipy_newton.py` of `tests/peers`, which agree in all digits given, run to 1e-10 m.
const EXPECTED: [(Kind, usize, usize, f64); 3] = [
    (Kind::Beds, 976, 975, 16.737922896459708),
    (Kind::BedsLooped, 976, 979, 17.320140603319654),
    (Kind::Mesh, 1024, 1984, 13.841938632363261),
];

#[test]
fn the_bench_networks_are_those_of_the_peers() {
    for (kind, junctions, links, least_m) in EXPECTED {
        let network = kind.network(1000);
        assert_eq!(network.junctions.len(), junctions, "{}", kind.name());
        assert_eq!(network.links.len(), links, "{}", kind.name());
        let mut prepared = Prepared::new(&network);
        let solution = prepared.solve(&Tolerance::FINAL, None);
        assert!(solution.convergence.converged, "{:?}", solution.convergence);
        let found_m = prepared.unrounded_heads().fold(f64::INFINITY, f64::min);
        assert!(
            (found_m / least_m - 1.0).abs() < 1e-9,
            "{} {found_m}",
            kind.name()
        );
    }
}

/// What is measured is what is meant: the looser stop of the benches is met, and a warm start comes to the same heads.
#[test]
fn the_tolerance_of_the_benches_gives_the_same_heads_cold_and_warm() {
    for kind in [Kind::Beds, Kind::BedsLooped, Kind::Mesh] {
        let mut network = kind.network(100);
        let before = Prepared::new(&network).solve(&TOLERANCE, None);
        network.sources[0].curve = supply(1.04);
        let mut prepared = Prepared::new(&network);
        let exact = prepared.solve(&Tolerance::FINAL, None);
        for solution in [
            prepared.solve(&TOLERANCE, None),
            prepared.solve(&TOLERANCE, Some(&before)),
        ] {
            assert!(solution.convergence.converged);
            for (a, b) in solution.heads.iter().zip(&exact.heads) {
                assert!((*a - *b).abs().metres() <= 2e-6);
            }
        }
    }
}

/// 28 lines of 11 emitters: 308 outlets, a main, and nothing starves.
#[test]
fn one_bed_of_28_lines_has_308_emitters_that_all_give_water() {
    let network = Kind::OneBed.network(0);
    assert_eq!(network.outlets.len(), 308);
    // The source, the main, a header junction a line, an emitter each.
    assert_eq!(network.junctions.len(), 1 + 1 + 28 + 308);
    let solution = Prepared::new(&network).solve(&Tolerance::FINAL, None);
    assert!(solution.convergence.converged, "{:?}", solution.convergence);
    let least = solution.outlet_flows.iter().copied().reduce(Flow::min);
    assert!(least.unwrap() > Flow::ZERO);
}
