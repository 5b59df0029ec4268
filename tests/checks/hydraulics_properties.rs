//! What must hold for any network: balances, monotony, and that only what matters matters. Networks are random trees with a few loops,
//! slopes, devices and all outlet laws. It compares the solver with itself only; numbers are checked by the validation cases.

use aubergine_core::hydraulics::{
    FrictionLaw, Junction, Link, LinkKind, LinkState, LossCurve, Network, Outlet, OutletLaw, Pipe,
    PipeFriction, Prepared, Solution, Source, SupplyCurve, Tolerance, Water, solve,
};
use aubergine_core::units::{Flow, Length, Pressure, Temperature};
use proptest::prelude::*;

/// Half a quantum of flow at each end, for each link at a junction.
const FLOW_QUANTUM_M3S: f64 = 1e-12;

fn m(value: f64) -> Length {
    Length::from_metres(value)
}

fn kpa(value: f64) -> Pressure {
    Pressure::from_kilopascals(value)
}

fn m3s(flow: Flow) -> f64 {
    flow.cubic_metres_per_second()
}

fn pipe() -> impl Strategy<Value = Pipe> {
    let bore_mm = prop_oneof![
        Just(4.318),
        Just(15.24),
        Just(20.93),
        Just(26.6),
        Just(30.2)
    ];
    (
        bore_mm,
        0.1..30.0,
        prop_oneof![Just(0.0), Just(1.5e-6)],
        prop_oneof![Just(0.0), 0.2..5.0],
    )
        .prop_map(|(bore_mm, length_m, roughness_m, fittings)| Pipe {
            fittings,
            ..Pipe::plain(
                m(length_m),
                Length::from_millimetres(bore_mm),
                m(roughness_m),
            )
        })
}

fn outlet() -> impl Strategy<Value = OutletLaw> {
    let exponent = prop_oneof![Just(0.5), 0.3..1.0];
    prop_oneof![
        4 => (1.0..8.0, 50.0..250.0, exponent).prop_map(|(lph, at, exponent)| OutletLaw::Power {
            flow: Flow::from_litres_per_hour(lph),
            at: kpa(at),
            exponent,
        }),
        2 => (1.0..8.0, 30.0..150.0).prop_map(|(lph, minimum)| OutletLaw::Compensating {
            flow: Flow::from_litres_per_hour(lph),
            minimum: kpa(minimum),
            maximum: kpa(400.0),
            exponent_below: 0.5,
        }),
        1 => (1.0..600.0).prop_map(|lph| OutletLaw::Power {
            flow: Flow::from_litres_per_hour(lph),
            at: kpa(200.0),
            exponent: 0.5,
        }),
    ]
}

/// What a random link is, besides a pipe.
fn kind(regulators: bool) -> impl Strategy<Value = LinkKind> {
    let valve = (2.0..20.0).prop_map(|cv| LinkKind::Device(LossCurve::from_cv(cv)));
    let check = (2.0..20.0, 0.0..20.0).prop_map(|(cv, opening)| {
        LinkKind::Device(
            LossCurve::from_cv(cv)
                .with_opening(kpa(opening))
                .with_check(),
        )
    });
    let regulator = (60.0..250.0, 2.0..10.0).prop_map(|(set, cv)| LinkKind::Regulator {
        set: kpa(set),
        loss: LossCurve::from_cv(cv).with_opening(kpa(10.0)),
    });
    prop_oneof![
        12 => pipe().prop_map(LinkKind::Pipe),
        2 => valve,
        1 => check,
        u32::from(regulators) => regulator,
    ]
}

fn supply() -> impl Strategy<Value = SupplyCurve> {
    prop_oneof![
        (150.0..500.0).prop_map(|p| SupplyCurve::fixed(kpa(p))),
        (250.0..500.0, 0.1..0.6, 0.3..1.5, 1.8..2.0).prop_map(|(rest, share, lps, exponent)| {
            SupplyCurve::from_test(
                kpa(rest),
                kpa(rest * (1.0 - share)),
                Flow::from_litres_per_second(lps),
                exponent,
            )
            .expect("a sound test")
        }),
    ]
}

/// A tree of up to 40 junctions with up to `loops` extra pipes, supplied at junction 0.
fn network(loops: usize, regulators: bool) -> impl Strategy<Value = Network> {
    let law = prop_oneof![Just(FrictionLaw::Fitted), Just(FrictionLaw::Colebrook)];
    (2_usize..40).prop_flat_map(move |num| {
        (
            proptest::collection::vec(-4.0..4.0, num),
            proptest::collection::vec((any::<prop::sample::Index>(), kind(regulators)), num - 1),
            proptest::collection::vec(
                (
                    any::<prop::sample::Index>(),
                    any::<prop::sample::Index>(),
                    pipe(),
                ),
                0..=loops,
            ),
            proptest::collection::vec((any::<prop::sample::Index>(), outlet()), 1..40),
            supply(),
            5.0..35.0,
            law.clone(),
        )
            .prop_map(move |(levels, tree, extra, outlets, curve, celsius, law)| {
                let mut network = Network::new(Water::at(Temperature::from_celsius(celsius)), law);
                for level in levels {
                    network.add_junction(m(level));
                }
                for (i, (parent, kind)) in tree.into_iter().enumerate() {
                    // Near ancestors make long laterals.
                    let parent = i - parent.index((i + 1).min(3));
                    network.add_link(parent, i + 1, kind);
                }
                for (a, b, pipe) in extra {
                    network.add_link(a.index(num), b.index(num), LinkKind::Pipe(pipe));
                }
                for (at, law) in outlets {
                    network.add_outlet(at.index(num), law);
                }
                network.add_source(0, curve);
                network
            })
    })
}

/// A solution that converged. Only a regulator inside a loop may fail to, because it can have no consistent state or several; even
/// then the solver must name a place, and the case is skipped.
fn solved(network: &Network) -> Result<Solution, TestCaseError> {
    let solution = solve(network);
    if solution.convergence.converged {
        return Ok(solution);
    }
    let regulator = |link: &Link| matches!(link.kind, LinkKind::Regulator { .. });
    let looped = network.links.len() >= network.junctions.len();
    prop_assert!(
        looped
            && network.links.iter().any(regulator)
            && solution.convergence.worst_junction.is_some(),
        "{:?} {network:?}",
        solution.convergence
    );
    Err(TestCaseError::reject(
        "a regulator inside a loop without a consistent state",
    ))
}

/// Largest distance between two lists of heads, in metres.
fn apart(a: &[Length], b: &[Length]) -> f64 {
    a.iter()
        .zip(b)
        .map(|(a, b)| (*a - *b).abs().metres())
        .fold(0.0, f64::max)
}

/// Flow out of each junction less flow into it.
fn imbalance(network: &Network, solution: &Solution) -> Vec<f64> {
    let mut net = vec![0.0; network.junctions.len()];
    for (link, flow) in network.links.iter().zip(&solution.flows) {
        net[link.from] -= m3s(*flow);
        net[link.to] += m3s(*flow);
    }
    for (outlet, flow) in network.outlets.iter().zip(&solution.outlet_flows) {
        net[outlet.junction] -= m3s(*flow);
    }
    for (source, flow) in network.sources.iter().zip(&solution.source_flows) {
        net[source.junction] += m3s(*flow);
    }
    net
}

fn config() -> ProptestConfig {
    ProptestConfig {
        failure_persistence: None,
        // The same networks every time: a check that fails must fail again.
        rng_seed: proptest::test_runner::RngSeed::Fixed(20_260_101),
        ..ProptestConfig::with_cases(64)
    }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn what_flows_in_flows_out(network in network(3, true)) {
        let solution = solved(&network)?;
        let parts = network.links.len() + network.outlets.len() + 1;
        for (node, net) in imbalance(&network, &solution).iter().enumerate() {
            prop_assert!(net.abs() <= FLOW_QUANTUM_M3S * parts as f64, "{node} {net:e}");
        }
    }

    #[test]
    fn heads_fall_by_what_each_link_loses(network in network(3, true)) {
        let solution = solved(&network)?;
        for (i, link) in network.links.iter().enumerate() {
            let fall = (solution.heads[link.from] - solution.heads[link.to]).metres();
            let flow = solution.flows[i];
            if !solution.supplied[link.from] || !solution.supplied[link.to] || link.from == link.to {
                continue;
            }
            match (link.kind, solution.states[i]) {
                (LinkKind::Pipe(pipe), _) => {
                    let friction = PipeFriction::new(&pipe, network.water, network.law).expect("sound");
                    let loss = friction.at(flow);
                    let slack = 2e-6 + loss.slope_spm2 * FLOW_QUANTUM_M3S;
                    prop_assert!((fall - loss.loss.metres()).abs() <= slack, "{i} {fall} {loss:?}");
                }
                (LinkKind::Device(loss) | LinkKind::Regulator { loss, .. }, LinkState::Open) => {
                    let loss_m = network.water.head_of(loss.loss(flow)).metres();
                    prop_assert!((fall - loss_m).abs() <= 3e-6, "{i} {fall} {loss_m}");
                }
                (LinkKind::Regulator { set, loss }, LinkState::Regulating) => {
                    prop_assert!((solution.pressures[link.to] - set).abs().kilopascals() < 1e-4);
                    let least = network.water.head_of(loss.loss(flow)).metres();
                    prop_assert!(fall >= least - 3e-6 && flow >= Flow::ZERO);
                }
                _ => prop_assert!(flow == Flow::ZERO),
            }
        }
    }

    #[test]
    fn more_supply_lowers_no_outlets_flow(network in network(3, true), more in 1.0..100.0) {
        let before = solved(&network)?;
        let mut higher = network.clone();
        higher.sources[0].curve.at_rest += kpa(more);
        let after = solved(&higher)?;
        for (a, b) in before.outlet_flows.iter().zip(&after.outlet_flows) {
            prop_assert!(m3s(*b) >= m3s(*a) - 2.0 * FLOW_QUANTUM_M3S, "{a:?} {b:?}");
        }
    }

    #[test]
    // Trees only: around a loop of unlike laws a wider bridge may lower the total (the paradox of Braess).
    fn a_larger_bore_never_lowers_the_total(
        network in network(0, true),
        which in any::<prop::sample::Index>(),
        times in 1.05..3.0,
    ) {
        let before = solved(&network)?;
        let mut larger = network.clone();
        let index = which.index(larger.links.len());
        if let LinkKind::Pipe(pipe) = &mut larger.links[index].kind {
            pipe.bore = pipe.bore * times;
            // A local loss is a number of velocity heads: kept, it falls with the bore like friction.
        }
        let after = solved(&larger)?;
        let total = |solution: &Solution| -> f64 { solution.outlet_flows.iter().map(|flow| m3s(*flow)).sum() };
        let slack = FLOW_QUANTUM_M3S * network.outlets.len() as f64;
        prop_assert!(total(&after) >= total(&before) - slack);
    }

    #[test]
    fn splitting_a_pipe_changes_nothing(
        network in network(2, true),
        which in any::<prop::sample::Index>(),
        share in 0.0..1.0,
    ) {
        let index = which.index(network.links.len());
        let Link { from, to, kind: LinkKind::Pipe(pipe) } = network.links[index] else { return Ok(()) };
        let before = solved(&network)?;
        let mut split = network.clone();
        let middle = split.add_junction(network.junctions[from].level);
        let first = Pipe { length: pipe.length * share, ..pipe };
        let second = Pipe { length: pipe.length * (1.0 - share), fittings: 0.0, ..pipe };
        split.links[index] = Link { from, to: middle, kind: LinkKind::Pipe(first) };
        split.add_link(middle, to, LinkKind::Pipe(second));
        let after = solved(&split)?;
        prop_assert!(apart(&before.heads, &after.heads) <= 2e-6);
    }

    #[test]
    fn turning_a_pipe_round_turns_its_sign_only(
        network in network(3, true),
        which in any::<prop::sample::Index>(),
    ) {
        let index = which.index(network.links.len());
        let link = network.links[index];
        if !matches!(link.kind, LinkKind::Pipe(_)) {
            return Ok(());
        }
        let before = solved(&network)?;
        let mut turned = network.clone();
        turned.links[index] = Link { from: link.to, to: link.from, ..link };
        let after = solved(&turned)?;
        prop_assert!(apart(&before.heads, &after.heads) <= 2e-6);
        prop_assert!(m3s(before.flows[index] + after.flows[index]).abs() <= 2.0 * FLOW_QUANTUM_M3S);
    }

    #[test]
    fn other_numbers_for_the_junctions_change_nothing(network in network(3, true), turn in 1_usize..40) {
        let before = solved(&network)?;
        let num = network.junctions.len();
        let new = |old: usize| (num - 1 - old + turn) % num;
        let mut junctions = network.junctions.clone();
        for (old, junction) in network.junctions.iter().enumerate() {
            junctions[new(old)] = *junction;
        }
        let relabelled = Network {
            junctions,
            links: network.links.iter().rev().map(|link| Link { from: new(link.from), to: new(link.to), ..*link }).collect(),
            outlets: network.outlets.iter().map(|outlet| Outlet { junction: new(outlet.junction), ..*outlet }).collect(),
            sources: network.sources.iter().map(|source| Source { junction: new(source.junction), ..*source }).collect(),
            ..network
        };
        let after = solved(&relabelled)?;
        for (old, head) in before.heads.iter().enumerate() {
            prop_assert!((*head - after.heads[new(old)]).abs().metres() <= 2e-6);
        }
    }

    #[test]
    fn lifting_everything_changes_nothing(network in network(3, true), lift in -200.0..2000.0) {
        let before = solved(&network)?;
        let mut lifted = network.clone();
        for junction in &mut lifted.junctions {
            junction.level += m(lift);
        }
        let after = solved(&lifted)?;
        for (a, b) in before.pressures.iter().zip(&after.pressures) {
            prop_assert!((*a - *b).abs().kilopascals() <= 3e-5, "{a:?} {b:?}");
        }
    }

    #[test]
    fn a_warm_start_ends_where_a_cold_one_does(network in network(3, true), more in -40.0..40.0) {
        let mut other = network.clone();
        other.sources[0].curve.at_rest += kpa(more);
        let mut solver = Prepared::new(&network);
        let start = solver.update(&other).solve(&Tolerance::FINAL, None);
        let warm = solver.update(&network).solve(&Tolerance::FINAL, Some(&start));
        let cold = solver.update(&network).solve(&Tolerance::FINAL, None);
        prop_assert_eq!(&cold, &solve(&network));
        prop_assert!(warm.convergence.converged);
        prop_assert!(apart(&warm.heads, &cold.heads) <= 2e-6);
    }

    #[test]
    fn nonsense_never_panics_and_is_reported(
        network in network(3, true),
        spoil in proptest::collection::vec((0_u8..16, any::<prop::sample::Index>()), 1..5),
    ) {
        let mut network = network;
        // Only the last spoiling counts: an earlier one may have been undone.
        let (mut nonsense, mut ever) = (false, false);
        for (how, index) in spoil {
            ever |= nonsense;
            nonsense = false;
            let (num, links) = (network.junctions.len(), network.links.len());
            let link = index.index(links);
            let first = network.links[link];
            match how {
                0 => network.sources.clear(),
                1 => network.links[link].kind = LinkKind::Closed,
                2 => network.links[link].to = first.from,
                3 => { network.add_link(first.from, first.to, first.kind); }
                4 => { network.links[link].to = num + 7; nonsense = true; }
                5 => {
                    let outlet = index.index(network.outlets.len());
                    network.outlets[outlet].junction = num;
                    nonsense = true;
                }
                6 => network.junctions.push(Junction { level: m(1.0) }),
                7 => { network.junctions[index.index(num)].level = m(f64::NAN); nonsense = true; }
                8 => { network.add_source(num - 1, SupplyCurve::fixed(kpa(100.0))); }
                9 => { network.add_source(num + 1, SupplyCurve::fixed(kpa(100.0))); nonsense = true; }
                10 => { network.add_outlet(index.index(num), OutletLaw::Fixed(Flow::from_litres_per_second(f64::NAN))); nonsense = true; }
                11 => { network.add_outlet(index.index(num), OutletLaw::Fixed(Flow::from_litres_per_second(50.0))); }
                12 => { network.add_outlet(index.index(num), OutletLaw::Fixed(Flow::from_litres_per_second(-0.5))); }
                _ => if let LinkKind::Pipe(pipe) = &mut network.links[link].kind {
                    match how {
                        13 => pipe.length = Length::ZERO,
                        14 => { pipe.bore = Length::ZERO; nonsense = first.from != first.to; }
                        _ => { pipe.fittings = f64::NAN; nonsense = first.from != first.to; }
                    }
                },
            }
        }
        let solution = solve(&network);
        prop_assert_eq!(solution.heads.len(), network.junctions.len());
        prop_assert_eq!(solution.flows.len(), network.links.len());
        prop_assert_eq!(solution.outlet_flows.len(), network.outlets.len());
        prop_assert_eq!(solution.source_flows.len(), network.sources.len());
        if nonsense {
            prop_assert!(!solution.convergence.converged);
        } else if !ever {
            // Otherwise it converges or names a place.
            prop_assert!(solution.convergence.converged || solution.convergence.worst_junction.is_some());
        }
        if network.sources.is_empty() {
            prop_assert!(solution.supplied.iter().all(|supplied| !supplied));
            prop_assert!(solution.outlet_flows.iter().all(|flow| *flow == Flow::ZERO));
        }
    }
}
