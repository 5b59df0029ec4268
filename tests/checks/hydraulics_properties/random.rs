//! Random networks: trees with a few loops, slopes, devices and all outlet laws.

use aubergine_core::hydraulics::{
    FrictionLaw, LinkKind, LossCurve, Network, OutletLaw, Pipe, SupplyCurve, Water,
};
use aubergine_core::units::{Flow, Length, Pressure, Temperature};
use proptest::prelude::*;

pub fn m(value: f64) -> Length {
    Length::from_metres(value)
}

pub fn kpa(value: f64) -> Pressure {
    Pressure::from_kilopascals(value)
}

pub fn m3s(flow: Flow) -> f64 {
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

pub fn outlet() -> impl Strategy<Value = OutletLaw> {
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
pub fn network(loops: usize, regulators: bool) -> impl Strategy<Value = Network> {
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
