//! Tests of the friction laws: continuity, derivatives and worked numbers.

use super::*;
use crate::units::Temperature;

fn water() -> Water {
    Water::at(Temperature::from_celsius(20.0))
}

fn pipe(bore_in: f64, roughness_m: f64) -> Pipe {
    Pipe::plain(
        Length::from_feet(100.0),
        Length::from_inches(bore_in),
        Length::from_metres(roughness_m),
    )
}

const LAWS: [FrictionLaw; 7] = [
    FrictionLaw::Fitted,
    FrictionLaw::Colebrook,
    FrictionLaw::Churchill,
    FrictionLaw::SmoothPower,
    FrictionLaw::Held(Regime::Laminar),
    FrictionLaw::Held(Regime::Turbulent),
    FrictionLaw::HazenWilliams { c: 150.0 },
];

fn flow_of_reynolds(re: f64, bore_in: f64) -> f64 {
    re * PI * bore_in * 0.0254 * water().viscosity.square_metres_per_second() / 4.0
}

#[test]
fn the_derivative_is_that_of_the_loss() {
    for law in LAWS {
        let mut pipe = pipe(0.6, 1.5e-6);
        pipe.fittings = 2.0;
        let friction = PipeFriction::new(&pipe, water(), law).unwrap();
        // Points away from the kinks that some of the laws have.
        for re in [
            10.0, 500.0, 1950.0, 2500.0, 3500.0, 5e3, 2e4, 9e4, 2e5, 3.7e5, 1e6,
        ] {
            let q = flow_of_reynolds(re, 0.6);
            let step = q * 1e-5;
            let numeric = (friction.loss_and_slope(q + step).0
                - friction.loss_and_slope(q - step).0)
                / (2.0 * step);
            let slope = friction.loss_and_slope(q).1;
            assert!(
                (slope / numeric - 1.0).abs() < 1e-6,
                "{law:?} {re} {slope} {numeric}"
            );
        }
    }
}

#[test]
fn fitted_and_colebrook_have_no_jump_in_value_or_slope() {
    for law in [FrictionLaw::Fitted, FrictionLaw::Colebrook] {
        for roughness in [0.0, 1.5e-6, 1e-5] {
            let friction = PipeFriction::new(&pipe(0.6, roughness), water(), law).unwrap();
            for re in [2000.0, 4000.0, 3e5, 4.5e5] {
                let q = flow_of_reynolds(re, 0.6);
                let (below, slope_below) = friction.loss_and_slope(q * (1.0 - 1e-9));
                let (above, slope_above) = friction.loss_and_slope(q * (1.0 + 1e-9));
                assert!((above / below - 1.0).abs() < 1e-8, "{law:?} {re}");
                assert!(
                    (slope_above / slope_below - 1.0).abs() < 1e-7,
                    "{law:?} {re}"
                );
            }
        }
    }
}

#[test]
fn loss_grows_with_flow_and_turns_with_it() {
    for law in LAWS {
        let friction = PipeFriction::new(&pipe(0.17, 0.0), water(), law).unwrap();
        let mut last = 0.0;
        for i in 1..4000 {
            let q = f64::from(i) * 2e-8;
            let (loss, slope) = friction.loss_and_slope(q);
            assert!(loss > last && slope > 0.0, "{law:?} {q}");
            assert!((friction.loss_and_slope(-q).0 + loss).abs() < 1e-15);
            last = loss;
        }
        assert!(friction.loss_and_slope(0.0).1 > 0.0);
    }
}

#[test]
fn the_fitted_law_stays_near_colebrook_outside_the_transition() {
    let fitted = PipeFriction::new(&pipe(1.189, 1.5e-6), water(), FrictionLaw::Fitted).unwrap();
    let exact = PipeFriction::new(&pipe(1.189, 1.5e-6), water(), FrictionLaw::Colebrook).unwrap();
    for re in [500.0, 2000.0, 4000.0, 1e4, 1e5, 3e5, 4e5, 1e6] {
        let q = flow_of_reynolds(re, 1.189);
        let ratio = fitted.loss_and_slope(q).0 / exact.loss_and_slope(q).0;
        assert!((ratio - 1.0).abs() < 1e-3, "{re} {ratio}");
    }
}

#[test]
fn the_held_laws_are_64_over_re_and_colebrook_white_and_enclose_the_others() {
    for roughness in [0.0, 1.5e-6, 1e-5] {
        let factor = |law, re: f64| {
            let friction = PipeFriction::new(&pipe(0.6, roughness), water(), law).unwrap();
            let m3s = flow_of_reynolds(re, 0.6);
            friction.factor(Flow::from_cubic_metres_per_second(m3s))
        };
        let [low, high] = [Regime::Laminar, Regime::Turbulent].map(FrictionLaw::Held);
        for re in [2001.0, 2500.0, 3000.0, 3500.0, 3999.0] {
            assert!((factor(low, re) * re - 64.0).abs() < 1e-9, "{re}");
            let wall = roughness / (0.6 * 0.0254);
            let f = factor(high, re);
            let inner = wall / 3.7 + 2.51 / (re * f.sqrt());
            assert!((1.0 / f.sqrt() + 2.0 * inner.log10()).abs() < 1e-9, "{re}");
            for law in [FrictionLaw::Fitted, FrictionLaw::Colebrook] {
                let used = factor(law, re);
                assert!(factor(low, re) < used && used < f * 1.002, "{law:?} {re}");
            }
        }
        for re in [500.0, 1800.0, 4300.0, 2e4] {
            let exact = factor(FrictionLaw::Colebrook, re);
            assert!((factor(low, re) / exact - 1.0).abs() < 1e-9, "{re}");
            assert!((factor(high, re) / exact - 1.0).abs() < 1e-9, "{re}");
        }
    }
}

#[test]
fn impossible_pipes_are_refused() {
    let sound = pipe(0.6, 0.0);
    let refused = |pipe: Pipe| PipeFriction::new(&pipe, water(), FrictionLaw::Fitted).is_none();
    assert!(!refused(sound));
    assert!(!refused(Pipe {
        length: Length::ZERO,
        ..sound
    }));
    assert!(refused(Pipe {
        bore: Length::ZERO,
        ..sound
    }));
    assert!(refused(Pipe {
        bore: Length::from_metres(f64::NAN),
        ..sound
    }));
    assert!(refused(Pipe {
        bore: Length::from_metres(1e-80),
        ..sound
    }));
    assert!(refused(Pipe {
        length: Length::from_metres(-1.0),
        ..sound
    }));
    assert!(refused(Pipe {
        roughness: Length::from_metres(f64::INFINITY),
        ..sound
    }));
    assert!(refused(Pipe {
        fittings: -1.0,
        ..sound
    }));
    let law = FrictionLaw::HazenWilliams { c: 0.0 };
    assert!(PipeFriction::new(&sound, water(), law).is_none());
}
