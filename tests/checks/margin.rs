//! Credits, dose–response models and log targets against the numbers of their sources.

use aubergine_core::catalog::crops::Position;
use aubergine_core::margin::{
    DoseResponse, Exposure, LedgerError, Measure, Taken, estimate, guideline, guidelines, ledger,
    log_target, pathogens,
};

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Cases {
    sum: Vec<Sum>,
    dose: Vec<Dose>,
    target: Vec<Target>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Sum {
    id: String,
    text: String,
    guideline: String,
    position: Position,
    treatment: f64,
    days: f64,
    per_day: f64,
    measures: Vec<Measure>,
    sum: f64,
    target: f64,
    source: String,
    kind: String,
    basis: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Dose {
    id: String,
    model: DoseResponse,
    dose: f64,
    infection: f64,
    tolerance: f64,
    source: String,
    kind: String,
    basis: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Target {
    id: String,
    pathogen: String,
    litres: f64,
    log: f64,
    published: f64,
    source: String,
    kind: String,
    basis: String,
}

fn cases() -> Cases {
    toml::from_str(include_str!("../cases/margin.toml")).unwrap()
}

#[test]
fn sums_doses_and_targets_are_those_of_their_sources() {
    let cases = cases();
    let mut num_read = 0;
    for case in &cases.sum {
        let taken = Taken {
            treatment: case.treatment,
            measures: case.measures.clone(),
            days: case.days,
            per_day: case.per_day,
        };
        let found = ledger(guideline(&case.guideline).unwrap(), case.position, &taken).unwrap();
        assert!(
            (found.sum - case.sum).abs() < 1e-12,
            "{} {}: {found:?}",
            case.id,
            case.text
        );
        assert!((found.target - case.target).abs() < 1e-12, "{}", case.id);
        assert!(!case.source.is_empty());
        num_read += u32::from(case.kind == "published" && case.basis == "read");
    }
    for case in &cases.dose {
        let found = case.model.infection(case.dose);
        assert!(
            (found - case.infection).abs() <= case.tolerance,
            "{}: {found} ({})",
            case.id,
            case.source
        );
        num_read += u32::from(case.kind == "published" && case.basis == "read");
    }
    for case in &cases.target {
        let germ = pathogens()
            .iter()
            .find(|germ| germ.id == case.pathogen)
            .unwrap();
        let found = log_target(germ, case.litres, 1e-6);
        assert!(
            (found - case.log).abs() < 0.01,
            "{}: {found} ({})",
            case.id,
            case.source
        );
        assert!(
            (found - case.published).abs() < 0.15,
            "{}: {found}",
            case.id
        );
        num_read += u32::from(case.kind == "published" && case.basis == "read");
    }
    println!(
        "margin: {num_read} cases against numbers that were read, {} others",
        cases.sum.len() + cases.dose.len() + cases.target.len() - num_read as usize
    );
}

/// By a general library: `tests/peers/dose_response.py` (mpmath, 40 digits).
#[test]
fn the_exact_form_agrees_with_a_library_at_small_and_large_doses() {
    const VALUES: [(f64, f64, f64, f64); 16] = [
        (0.04, 0.055, 0.001, 0.000420852744529),
        (0.04, 0.055, 0.5, 0.167745592005),
        (0.04, 0.055, 10.0, 0.479390565669),
        (0.04, 0.055, 250.0, 0.544182542721),
        (0.04, 0.055, 590.0, 0.559611046159),
        (0.04, 0.055, 650.0, 0.561316412251),
        (0.04, 0.055, 5000.0, 0.595715482306),
        (0.04, 0.055, 1000000.0, 0.67292854513),
        (0.145, 7.59, 0.001, 1.87447313851e-5),
        (0.145, 7.59, 0.5, 0.00907670387468),
        (0.145, 7.59, 10.0, 0.116409756696),
        (0.145, 7.59, 250.0, 0.404761674126),
        (0.145, 7.59, 590.0, 0.473303308254),
        (0.145, 7.59, 650.0, 0.48057116536),
        (0.145, 7.59, 5000.0, 0.613098269948),
        (0.145, 7.59, 1000000.0, 0.820512643957),
    ];
    for (alpha, beta, dose, value) in VALUES {
        let found = DoseResponse::BetaPoissonExact { alpha, beta }.infection(dose);
        assert!(
            (found - value).abs() < 1e-7 * value.max(1e-3),
            "{alpha} {beta} {dose}: {found}"
        );
    }
}

/// Where the second shape is below one the approximation is wrong, and must not be mistaken for the exact form.
#[test]
fn the_approximation_is_another_number_for_norovirus() {
    let (alpha, beta) = (0.04, 0.055);
    let n50 = beta * (2.0_f64.powf(1.0 / alpha) - 1.0);
    let found = DoseResponse::BetaPoisson { alpha, n50 }.infection(1.0);
    assert!((found - 0.111445).abs() < 1e-6, "{found}");
}

#[test]
fn chances_grow_with_the_dose_and_stay_between_none_and_certain() {
    let models = pathogens().iter().map(|germ| germ.model);
    let exact = DoseResponse::BetaPoissonExact {
        alpha: 0.04,
        beta: 0.055,
    };
    for model in models.chain([exact]) {
        let mut last = 0.0;
        for step in -60..60 {
            let found = model.infection(10.0_f64.powf(f64::from(step) / 5.0));
            assert!(
                (0.0..=1.0).contains(&found) && found >= last,
                "{model:?} {step}: {found} {last}"
            );
            last = found;
        }
        assert_eq!((model.infection(0.0), model.infection(-3.0)), (0.0, 0.0));
    }
}

/// One power of ten more brings small burdens down tenfold; an anchor that several papers share.
#[test]
fn a_power_of_ten_is_a_tenth_of_a_small_burden() {
    for germ in pathogens() {
        let at = |log: f64| estimate(germ, log, Exposure::LETTUCE).daly;
        let ratio = at(7.0) / at(8.0);
        assert!((ratio - 10.0).abs() < 0.05, "{}: {ratio}", germ.id);
    }
}

#[test]
fn what_a_guideline_does_not_hold_is_an_error_and_never_a_silent_nought() {
    let who = guideline("who-2006").unwrap();
    let with = |measures: Vec<Measure>| Taken {
        measures,
        ..Taken::default()
    };
    let told = ledger(who, Position::Mid, &with(vec![Measure::Subsurface]));
    assert_eq!(told, Err(LedgerError::NotCredited(Measure::Subsurface)));
    let told = ledger(who, Position::Below, &with(vec![Measure::Drip]));
    assert_eq!(told, Err(LedgerError::NotCredited(Measure::Drip)));
    for figure in [-1.0, 16.0, f64::NAN, f64::INFINITY] {
        let taken = Taken {
            treatment: figure,
            ..Taken::default()
        };
        assert!(matches!(
            ledger(who, Position::Mid, &taken),
            Err(LedgerError::OutOfRange { .. })
        ));
    }
    let fast = Taken {
        days: 2.0,
        per_day: 3.0,
        ..Taken::default()
    };
    assert!(matches!(
        ledger(who, Position::Mid, &fast),
        Err(LedgerError::OutOfRange { .. })
    ));
    assert_eq!(guidelines().len(), 2);
    assert_eq!(pathogens().len(), 3);
}
