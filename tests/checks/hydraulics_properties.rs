//! What must hold for any network: balances, monotony, and that only what matters matters. Networks are random trees with a few loops,
//! slopes, devices and all outlet laws. It compares the solver with itself only; numbers are checked by the validation cases.

use aubergine_core::hydraulics::{
    FrictionLaw, Junction, Link, LinkKind, LinkState, LossCurve, Network, Outlet, OutletLaw, Pipe,
    PipeFriction, PointCurve, Prepared, Solution, Source, SupplyCurve, Tolerance, Water, solve,
};
use aubergine_core::units::{Flow, Length, Temperature};
use proptest::prelude::*;
use random::{kpa, m, m3s, network, outlet};

mod random;

/// Half a quantum of flow at each end, for each link at a junction.
const FLOW_QUANTUM_M3S: f64 = 1e-12;

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

/// 256 networks for each property; `PROPTEST_CASES=5000` for a long run.
fn config() -> ProptestConfig {
    let cases = std::env::var("PROPTEST_CASES").ok();
    let cases = cases.and_then(|cases| cases.parse().ok()).unwrap_or(256);
    ProptestConfig {
        failure_persistence: None,
        // The same networks every time: a check that fails must fail again.
        rng_seed: proptest::test_runner::RngSeed::Fixed(20_260_101),
        // Some properties pass over networks that they cannot speak of.
        max_global_rejects: 8 * cases,
        ..ProptestConfig::with_cases(cases)
    }
}

/// Emitters of a lateral at their distance, on a bore.
type Lateral = (usize, f64, f64, OutletLaw);

fn lateral() -> impl Strategy<Value = Lateral> {
    let power = (1.0..5.0, 0.4..0.8).prop_map(|(lph, exponent)| OutletLaw::Power {
        flow: Flow::from_litres_per_hour(lph),
        at: kpa(100.0),
        exponent,
    });
    let bore_m = prop_oneof![Just(0.0043), Just(0.0152)];
    (3_usize..12, 0.1..0.6, bore_m, power)
}

fn add_lateral(network: &mut Network, inlet: usize, (num, spacing_m, bore_m, law): &Lateral) {
    let mut last = inlet;
    for _ in 0..*num {
        let next = network.add_junction(m(0.0));
        let pipe = Pipe::plain(m(*spacing_m), m(*bore_m), m(0.0));
        network.add_link(last, next, LinkKind::Pipe(pipe));
        network.add_outlet(next, law.clone());
        last = next;
    }
}

fn water() -> Water {
    Water::at(Temperature::from_celsius(20.0))
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
            match (&link.kind, solution.states[i]) {
                (LinkKind::Pipe(pipe), _) => {
                    let friction = PipeFriction::new(pipe, network.water, network.law).expect("sound");
                    let loss = friction.at(flow);
                    let slack = 2e-6 + loss.slope_spm2 * FLOW_QUANTUM_M3S;
                    prop_assert!((fall - loss.loss.metres()).abs() <= slack, "{i} {fall} {loss:?}");
                }
                (LinkKind::Device(loss) | LinkKind::Regulator { loss, .. }, LinkState::Open) => {
                    let loss_m = network.water.head_of(loss.loss(flow)).metres();
                    prop_assert!((fall - loss_m).abs() <= 3e-6, "{i} {fall} {loss_m}");
                }
                (LinkKind::Regulator { set, loss }, LinkState::Regulating) => {
                    prop_assert!((solution.pressures[link.to] - *set).abs().kilopascals() < 1e-4);
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
    fn one_more_outlet_raises_no_pressure(
        network in network(3, true),
        at in any::<prop::sample::Index>(),
        law in outlet(),
    ) {
        let before = solved(&network)?;
        let mut more = network.clone();
        more.add_outlet(at.index(network.junctions.len()), law);
        let after = solved(&more)?;
        for (node, (a, b)) in before.heads.iter().zip(&after.heads).enumerate() {
            if before.supplied[node] && after.supplied[node] {
                prop_assert!(b.metres() <= a.metres() + 2e-6, "{node} {a:?} {b:?}");
            }
        }
    }

    #[test]
    fn twins_get_the_same(network in network(2, true)) {
        // Everything but the source a second time, at the same source.
        let num = network.junctions.len();
        let twin = |node: usize| if node == 0 { 0 } else { node + num - 1 };
        let mut both = network.clone();
        both.junctions.extend_from_slice(&network.junctions[1..]);
        for link in &network.links {
            both.add_link(twin(link.from), twin(link.to), link.kind.clone());
        }
        for outlet in &network.outlets {
            both.add_outlet(twin(outlet.junction), outlet.law.clone());
        }
        let solution = solved(&both)?;
        for node in 0..num {
            let apart = solution.heads[node] - solution.heads[twin(node)];
            prop_assert!(apart.abs().metres() <= 1.001e-6, "{node} {apart:?}");
        }
    }

    /// What flows into one lateral alone at many pressures, as a curve of points, stands for each lateral of a header. Between the
    /// points the curve is interpolated, which is what the tolerance is for.
    #[test]
    fn laterals_lumped_into_a_curve_are_as_the_detailed_ones(
        lateral in lateral(), num in 2_usize..8, spacing_m in 0.2..1.0, rest in 60.0..350.0,
    ) {
        let alone = |pressure: f64| {
            let mut network = Network::new(water(), FrictionLaw::Fitted);
            let inlet = network.add_junction(m(0.0));
            add_lateral(&mut network, inlet, &lateral);
            network.add_source(inlet, SupplyCurve::fixed(kpa(pressure)));
            solve(&network).source_flows[0].litres_per_second()
        };
        let points: Vec<_> = (0..=45).map(|i| f64::from(i) * 8.0).map(|p| (p, if p > 0.0 { alone(p) } else { 0.0 })).collect();
        let lump = OutletLaw::Points(std::sync::Arc::new(PointCurve::new(&points).expect("rising points")));
        let header = |lumped: bool| {
            let mut network = Network::new(water(), FrictionLaw::Fitted);
            let mut last = network.add_junction(m(0.0));
            network.add_source(last, SupplyCurve::fixed(kpa(rest)));
            let mut taps = Vec::new();
            for _ in 0..num {
                let next = network.add_junction(m(0.0));
                network.add_link(last, next, LinkKind::Pipe(Pipe::plain(m(spacing_m), m(0.0152), m(0.0))));
                if lumped { network.add_outlet(next, lump.clone()); } else { add_lateral(&mut network, next, &lateral); }
                taps.push(next);
                last = next;
            }
            let solution = solve(&network);
            (taps.iter().map(|tap| solution.pressures[*tap].kilopascals()).collect::<Vec<_>>(), m3s(solution.source_flows[0]))
        };
        let (detailed, lumped) = (header(false), header(true));
        for (a, b) in detailed.0.iter().zip(&lumped.0) {
            prop_assert!((a - b).abs() <= 1e-3 * a.max(1.0), "{detailed:?} {lumped:?}");
        }
        prop_assert!((detailed.1 - lumped.1).abs() <= 1e-3 * detailed.1, "{detailed:?} {lumped:?}");
    }

    #[test]
    fn a_prepared_network_is_solved_again_without_allocating(network in network(3, true)) {
        let mut prepared = Prepared::new(&network);
        let tolerance = Tolerance::FINAL;
        let start = prepared.solve(&tolerance, None);
        let mut solution = start.clone();
        for start in [None, Some(&start)] {
            let counted = allocation_counter::measure(|| prepared.solve_into(&tolerance, start, &mut solution));
            prop_assert_eq!(counted.count_total, 0);
        }
    }

    #[test]
    fn losses_and_pressures_times_a_factor_give_the_same_flows(network in network(3, true), times in 1.2..4.0) {
        let before = solved(&network)?;
        // Near zero the law of outlets has a bend at 1 cm, which does not scale.
        let low = network.outlets.iter().any(|outlet| before.pressures[outlet.junction] < kpa(1.0));
        prop_assume!(!low);
        let mut scaled = network.clone();
        for junction in &mut scaled.junctions {
            junction.level = junction.level * times;
        }
        let larger = |loss: LossCurve| LossCurve {
            opening: loss.opening * times,
            per_lps: loss.per_lps * times,
            per_lps_squared: loss.per_lps_squared * times,
            ..loss
        };
        for link in &mut scaled.links {
            link.kind = match link.kind.clone() {
                LinkKind::Pipe(pipe) => LinkKind::Pipe(Pipe {
                    length: pipe.length * times,
                    fittings: pipe.fittings * times,
                    ..pipe
                }),
                LinkKind::Device(loss) => LinkKind::Device(larger(loss)),
                LinkKind::Regulator { set, loss } => LinkKind::Regulator { set: set * times, loss: larger(loss) },
                LinkKind::Closed => LinkKind::Closed,
            };
        }
        for outlet in &mut scaled.outlets {
            match &mut outlet.law {
                OutletLaw::Power { at, .. } => *at = *at * times,
                OutletLaw::Compensating { minimum, maximum, .. } => {
                    *minimum = *minimum * times;
                    *maximum = *maximum * times;
                }
                OutletLaw::Points(curve) => *curve = std::sync::Arc::new(curve.scaled(times, 1.0)),
                OutletLaw::Fixed(_) => {}
            }
        }
        let curve = &mut scaled.sources[0].curve;
        curve.at_rest = curve.at_rest * times;
        curve.loss_at_test = curve.loss_at_test * times;
        let after = solved(&scaled)?;
        for (a, b) in before.outlet_flows.iter().zip(&after.outlet_flows) {
            prop_assert!((m3s(*a) - m3s(*b)).abs() <= 4.0 * FLOW_QUANTUM_M3S + 1e-8 * m3s(*a), "{a:?} {b:?}");
        }
    }

    #[test]
    fn a_tree_is_solved_alike_where_closed_valves_make_it_a_loop(
        network in network(0, true),
        valves in proptest::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>()), 1..4),
    ) {
        let folded = solved(&network)?;
        let num = network.junctions.len();
        let mut looped = network.clone();
        for (a, b) in valves {
            looped.add_link(a.index(num), b.index(num), LinkKind::Closed);
        }
        let factored = solve(&looped);
        prop_assert!(factored.convergence.converged, "{:?}", factored.convergence);
        prop_assert!(apart(&folded.heads, &factored.heads) <= 1.001e-6);
        prop_assert_eq!(&folded.supplied, &factored.supplied);
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
        let link = network.links[index].clone();
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
            links: network.links.iter().rev().map(|link| Link { from: new(link.from), to: new(link.to), ..link.clone() }).collect(),
            outlets: network.outlets.iter().map(|outlet| Outlet { junction: new(outlet.junction), ..outlet.clone() }).collect(),
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
            let first = network.links[link].clone();
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
