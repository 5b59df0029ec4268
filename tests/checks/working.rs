//! How numbers come about: worked again from what is said, equal to what tables and panels say, and a band where the
//! friction is uncertain.

use std::collections::BTreeMap;

use acceptance::{CEDARBRAKE, DATE, LARKMEAD, QUINCE, SAMPLES, run, sample, sample_path};
use aubergine_core::analysis::readings::{place, places, way};
use aubergine_core::analysis::working::{Number, Step, Working, working};
use aubergine_core::analysis::{Analysis, Analyzer, readings};
use aubergine_core::hydraulics::{FrictionLaw, Regime, SupplyCase, solve};
use aubergine_core::ids::Id;
use aubergine_core::model::Document;
use aubergine_core::report::{working_text, working_words, zone_summaries};
use aubergine_core::units::display::percent;
use aubergine_core::units::{Amount, Length, UnitSystem};

/// The samples in which a way is led to every place; of the largest one that would bring nothing new but time.
const SMALL: [&str; 3] = [LARKMEAD, CEDARBRAKE, QUINCE];

fn analysed(name: &str) -> (Document, Analysis) {
    let document = sample(name);
    let analysis = Analyzer::default().update(&document.design);
    (document, analysis)
}

fn id(text: &str) -> Id {
    text.parse().unwrap()
}

/// The workings of every object of a sample in every case.
fn all(document: &Document, analysis: &Analysis) -> Vec<Working> {
    let ids = document.design.objects.ids();
    ids.iter()
        .flat_map(|id| {
            SupplyCase::ALL.map(|case| working(&document.design, analysis, &id.to_string(), case))
        })
        .flatten()
        .collect()
}

/// The inputs of a step as its words say them: the number before the unit, by its sign.
fn said(inputs: &[String]) -> BTreeMap<String, f64> {
    let number = |words: &str| {
        let (value, _) = words.split_once(", ").unwrap();
        let digits: String = value.chars().take_while(|c| *c != ' ').collect();
        digits.replace('−', "-").parse::<f64>().unwrap()
    };
    inputs
        .iter()
        .map(|words| {
            let (symbol, rest) = words.split_once(" = ").unwrap();
            (symbol.to_owned(), number(rest))
        })
        .collect()
}

/// The number of a result such as `Δp = 0.3 psi (unrounded 0.31 psi)`: as shown, and with its digits.
fn told(result: &str) -> (String, f64) {
    let (_, value) = result.split_once(" = ").unwrap();
    let (shown, digits) = value
        .split_once(" (unrounded ")
        .map_or((value, value), |(shown, digits)| (shown, digits));
    let digits: String = digits
        .chars()
        .take_while(|c| !matches!(*c, ' ' | ')'))
        .collect();
    (shown.to_owned(), digits.replace('−', "-").parse().unwrap())
}

#[track_caller]
fn close(again: f64, told: f64, what: &str) {
    // Five digits of each input; heads are kept to a micrometre.
    assert!(
        (again - told).abs() < 3e-4 * told.abs() + 2e-6,
        "{what}: {again} worked again, {told} told"
    );
}

#[test]
fn losses_velocities_and_flows_can_be_worked_again_from_what_is_said() {
    let mut stretches = 0;
    let (mut flows, mut runs, mut rinsed) = (0, 0, 0);
    for name in SAMPLES {
        let (document, analysis) = analysed(name);
        for working in all(&document, &analysis) {
            let words = working_words(&working, UnitSystem::Metric);
            for (index, step) in words.iter().enumerate() {
                let given = said(&step.inputs);
                let value = |symbol: &str| given[symbol];
                let (shown, result) = told(&step.result);
                let what = format!("{name} {} {}: {}", working.of, step.what, step.result);
                match step.formula {
                    "h = (f · (L + L_e)/D + ΣK) · V²/2g" => {
                        let along = value("f") * (value("L") + value("L_e")) / (value("D") / 1e3);
                        let again = (along + value("ΣK")) * value("V").powi(2) / value("2g");
                        close(again, result, &what);
                        stretches += 1;
                    }
                    "V = 4Q/(π D²)" => {
                        let area = std::f64::consts::PI / 4.0 * (value("D") / 1e3).powi(2);
                        close(value("Q") / 60e3 / area, result, &what);
                    }
                    "Re = V · D/ν" => {
                        close(
                            value("V") * value("D") * 1e-3 / value("ν") * 1e6,
                            result,
                            &what,
                        );
                    }
                    "f = 64/Re" => close(64.0 / value("Re"), result, &what),
                    "f = c₀ + c₁·r + c₂·r² + c₃·r³, r = Re^(−1/4)" => {
                        let r = value("Re").powf(-0.25);
                        let c = ["c₀", "c₁", "c₂", "c₃"].map(value);
                        close(c[0] + r * (c[1] + r * (c[2] + r * c[3])), result, &what);
                        // The law is compared with Colebrook–White, worked here from what is said.
                        let inner = |f: f64| {
                            let wall = value("ε") / (3.7 * bore_before(&words[..index]));
                            -2.0 * (wall + 2.51 / (value("Re") * f.sqrt())).log10()
                        };
                        let compared = value("f CW");
                        close(1.0 / compared.sqrt(), inner(compared), &what);
                        assert!((result / compared - 1.0).abs() < 3e-3, "{what}");
                    }
                    "f = a₀ + a₁·s + a₂·s² + a₃·s³, s = (Re − 2000)/2000" => {
                        let s = (value("Re") - 2000.0) / 2000.0;
                        let a = ["a₀", "a₁", "a₂", "a₃"].map(value);
                        close(a[0] + s * (a[1] + s * (a[2] + s * a[3])), result, &what);
                    }
                    "Δp = γ · Σh" => {
                        let again = value("γ") * value("Σh");
                        close(again, result, &what);
                        // To the digit that panels show.
                        let to_digit = |kpa: f64| format!("{kpa:.0} kPa");
                        assert_eq!(shown, to_digit(result), "{what}");
                    }
                    "q = q_r · (p/p_r)^x" => {
                        let share: f64 = value("p") / value("p_r");
                        close(value("q_r") * share.powf(value("x")), result, &what);
                        flows += 1;
                    }
                    "q = q_r · (p/p_min)^x" => {
                        let share: f64 = value("p") / value("p_min");
                        close(value("q_r") * share.powf(value("x")), result, &what);
                    }
                    "q = q_r, p ≥ p_min" => {
                        close(value("q_r"), result, &what);
                        assert!(value("p") >= value("p_min"), "{what}");
                    }
                    "L = n · s, q_var ≤ q_most" => {
                        close(value("n") * value("s"), result, &what);
                        runs += 1;
                    }
                    "q_var = (q₁ − q_n)/q₁" => {
                        let again = (value("q₁") - value("q_n")) / value("q₁");
                        // The digits of two flows leave four of their difference.
                        assert!((again - result).abs() < 1e-4, "{what} {again}");
                        let is_longer = step.what.contains("one more");
                        assert_eq!(result > 0.1, is_longer, "{what}");
                    }
                    "p = p_in − γ · Σh" => {
                        let again = value("p_in") - value("γ") * value("Σh");
                        close(again, result, &what);
                    }
                    "V = √(2p/ρ)" => {
                        close((2e3 * value("p") / value("ρ")).sqrt(), result, &what);
                    }
                    "Q = V · π D²/4" => {
                        let area = std::f64::consts::PI / 4.0 * (value("D") / 1e3).powi(2);
                        close(value("V") * area * 60e3, result, &what);
                    }
                    "V(n) ≥ V_f > V(n+1)" => {
                        assert!(value("V(n)") >= value("V_f"), "{what}");
                        assert!(value("V_f") > value("V(n+1)"), "{what}");
                        assert!(result < value("N"), "{what}");
                        rinsed += 1;
                    }
                    "V(n) ≥ V_f" => {
                        assert!(value("V(n)") >= value("V_f"), "{what}");
                        close(value("N"), result, &what);
                        rinsed += 1;
                    }
                    "V_f > V(n+1), n = 0" => {
                        assert!(value("V_f") > value("V(n+1)") && result == 0.0, "{what}");
                    }
                    "p = p₀ − Δp_t · (Q/Q_t)^n" => {
                        let share: f64 = value("Q") / value("Q_t");
                        let again = value("p₀") - value("Δp_t") * share.powf(value("n"));
                        close(again, result, &what);
                    }
                    "p = p₀ − ΣΔp − γ · Δz" => {
                        let lost: f64 = given
                            .iter()
                            .filter(|(symbol, _)| symbol.starts_with("Δp "))
                            .map(|(_, lost)| lost)
                            .sum();
                        let again = value("p₀") - lost - value("γ") * value("Δz");
                        assert!((again - result).abs() < 0.02, "{what} {again}");
                    }
                    "Δp = p₁ + c · Q²" => {
                        close(value("p₁") + value("c") * value("Q").powi(2), result, &what);
                    }
                    "P = Q/A" => close(value("Q") / value("A"), result, &what),
                    "Δp = ρ · a · V" => {
                        close(value("ρ") * value("a") * value("V") / 1e3, result, &what);
                    }
                    _ => {}
                }
            }
        }
    }
    assert!(stretches > 60 && flows > 10, "{stretches} {flows}");
    assert!(runs > 20 && rinsed > 10, "{runs} {rinsed}");
}

/// The bore said last, in mm: that of the stretch whose factor follows.
fn bore_before(words: &[aubergine_core::report::StepWords]) -> f64 {
    let mut before = words.iter().rev();
    before
        .find_map(|step| said(&step.inputs).get("D").copied())
        .unwrap()
}

#[test]
fn the_numbers_are_those_of_tables_and_panels() {
    for name in SAMPLES {
        let (document, analysis) = analysed(name);
        let plan = &document.design;
        let units = UnitSystem::Us;
        for case in SupplyCase::ALL {
            for run in plan.objects.pipes.keys() {
                let Some(found) = working(plan, &analysis, &run.to_string(), case) else {
                    continue;
                };
                let zone = &analysis.zones[&found.zone];
                let links = &zone.built.pipes[run];
                let water = zone.built.network.water;
                let (_, loss) = &found.numbers[0];
                let lost = water.pressure_of(zone.loss(links, case));
                assert_eq!(
                    loss.result.amount.shown(units),
                    units.pressure(lost),
                    "{name} {run}"
                );
                if let Some((_, step)) = found.numbers.get(1) {
                    assert_eq!(
                        step.result.amount,
                        Amount::Velocity(zone.fastest(links, case).1)
                    );
                }
            }
            for summary in zone_summaries(plan, &analysis) {
                let found = working(plan, &analysis, &summary.id.to_string(), case).unwrap();
                let number = |wanted: Number| {
                    let step = found.numbers.iter().find(|(number, _)| *number == wanted);
                    step.map(|(_, step)| step.result.amount.shown(units))
                };
                let flow = case.of(&summary.flow);
                assert_eq!(number(Number::Flow), Some(units.flow(*flow)));
                assert_eq!(
                    number(Number::LowQuarter),
                    case.of(&summary.uniformity).map(percent)
                );
                let read = readings(plan, &analysis, summary.id).unwrap();
                let even = case.of(&read.even).as_ref();
                assert_eq!(
                    number(Number::Emission),
                    even.map(|even| percent(even.emission))
                );
            }
        }
    }
}

fn steps<'a>(step: &'a Step, found: &mut Vec<&'a Step>) {
    found.push(step);
    for before in &step.from {
        steps(before, found);
    }
}

#[test]
fn friction_between_laminar_and_turbulent_is_told_as_a_band() {
    let mut uncertain = 0;
    for name in SAMPLES {
        let (document, analysis) = analysed(name);
        for working in all(&document, &analysis) {
            let mut every = Vec::new();
            for (_, step) in &working.numbers {
                steps(step, &mut every);
            }
            for step in every {
                let reynolds = step
                    .inputs
                    .iter()
                    .find(|input| input.symbol == "Re")
                    .map(|input| input.amount);
                let Some(Amount::Number(reynolds)) = reynolds else {
                    continue;
                };
                let is_between = reynolds > 2000.0 && reynolds < 4000.0;
                assert_eq!(step.band.is_some(), is_between, "{reynolds}");
                if let (Some((Amount::Number(low), Amount::Number(high))), Amount::Number(used)) =
                    (step.band, step.result.amount)
                {
                    assert!((low - 64.0 / reynolds).abs() < 1e-9);
                    assert!(low < used && used < high, "{low} {used} {high}");
                    uncertain += 1;
                }
            }
            // A run's band encloses the number that is shown.
            for (number, step) in &working.numbers {
                if let (
                    Number::Loss,
                    Some((Amount::Pressure(low), Amount::Pressure(high))),
                    Amount::Pressure(used),
                ) = (number, step.band, step.result.amount)
                {
                    assert!(low < used && used < high, "{low:?} {used:?} {high:?}");
                }
            }
        }
    }
    assert!(uncertain > 0);
}

/// A pressure and a flow whose way has uncertain stretches lie within the band of two more solves, one with 64/Re held on,
/// one with Colebrook–White; where all stretches are certain there is no band.
#[test]
fn an_uncertain_way_gives_a_band_of_pressure_and_flow() {
    let (document, analysis) = analysed(QUINCE);
    let plan = &document.design;
    let mut bands = 0;
    for name in ["B1", "B1.1.11", "B1.28.11", "B1.28.1", "P3.end"] {
        for case in SupplyCase::ALL {
            let found = working(plan, &analysis, name, case).unwrap();
            let zone = &analysis.zones[&found.zone];
            let at = place(&analysis, name, case).unwrap();
            let held = [Regime::Laminar, Regime::Turbulent].map(|regime| {
                let mut network = zone.built.in_case(plan, case);
                network.law = FrictionLaw::Held(regime);
                let solution = solve(&network);
                assert!(solution.convergence.converged, "{name} {regime:?}");
                solution
            });
            for (number, step) in &found.numbers {
                let (Some((low, high)), true) =
                    (step.band, matches!(number, Number::Pressure | Number::Flow))
                else {
                    continue;
                };
                bands += 1;
                if let (Amount::Pressure(low), Amount::Pressure(high), Amount::Pressure(used)) =
                    (low, high, step.result.amount)
                {
                    assert!(
                        low <= used && used <= high,
                        "{name}: {low:?} {used:?} {high:?}"
                    );
                    // Near the supply more flow may cost more than less friction gives; at the far end it does not.
                    if at.name == "B1.28.11" {
                        assert!(low < used && used < high, "{name}");
                        let port = zone
                            .built
                            .emitters
                            .iter()
                            .position(|point| point.name() == at.name);
                        let junction = zone.built.network.outlets[port.unwrap()].junction;
                        let [laminar, turbulent] = &held;
                        assert_eq!(high, laminar.pressures[junction]);
                        assert_eq!(low, turbulent.pressures[junction]);
                        // A fifth to a half more friction in the lines is tenths of a psi here, not more.
                        assert!(
                            (0.005..1.0).contains(&(high - low).psi()),
                            "{low:?} {high:?}"
                        );
                    }
                }
                if let (
                    Amount::EmitterFlow(low),
                    Amount::EmitterFlow(high),
                    Amount::EmitterFlow(used),
                ) = (low, high, step.result.amount)
                {
                    assert!(
                        low <= used && used <= high,
                        "{name}: {low:?} {used:?} {high:?}"
                    );
                }
            }
            let has_band = found
                .numbers
                .iter()
                .any(|(number, step)| *number == Number::Pressure && step.band.is_some());
            assert_eq!(has_band, name != "P3.end", "{name} {case:?}");
        }
    }
    assert!(bands >= 20, "{bands}");
    let words = working(plan, &analysis, "B1", SupplyCase::Low).unwrap();
    assert!(working_text(&words, UnitSystem::Us).contains("psi: at a Reynolds number"));
}

#[test]
fn check_prints_the_working_of_a_name_and_says_which_names_there_are() {
    let path = sample_path(CEDARBRAKE);
    let path = path.to_str().unwrap();
    let ask = |name: &str| {
        run([
            "check",
            path,
            "--date",
            DATE,
            "--working",
            name,
            "--case",
            "high",
            "--units",
            "us",
        ])
    };
    let (document, analysis) = analysed(CEDARBRAKE);
    let expected = working(&document.design, &analysis, "P4", SupplyCase::High).unwrap();
    let told = ask("P4");
    assert_eq!(told.code, 1, "the plan has Stops");
    assert_eq!(told.text(), working_text(&expected, UnitSystem::Us));
    let refused = ask("häh");
    assert_eq!(refused.code, 2);
    assert!(refused.stdout.is_empty() && refused.stderr.contains("Name a run"));
    for unknown in ["P999", "", "B", "P4.nothing", "G1", "B3.1.999"] {
        let found = working(&document.design, &analysis, unknown, SupplyCase::Low);
        assert_eq!(found, None, "{unknown}");
    }
}

#[test]
fn a_way_leads_from_the_supply_to_emitters_ports_and_what_stands_still() {
    for name in SMALL {
        let (document, analysis) = analysed(name);
        let plan = &document.design;
        let mut ways = 0;
        for id in plan.objects.ids() {
            for place in places(&analysis, id, SupplyCase::Low) {
                let Some(way) = way(plan, &analysis, &place, SupplyCase::Low) else {
                    panic!("{name}: no way to {}", place.name);
                };
                ways += 1;
                let density = analysis.zones[&place.zone].built.network.water;
                for pair in way.points.windows(2) {
                    assert!(pair[1].along >= pair[0].along);
                }
                for point in &way.points {
                    for case in 0..3 {
                        let gap = density.pressure_of(point.head[case] - point.level);
                        assert!((gap - point.pressure[case]).abs().kilopascals() < 1e-3);
                    }
                }
                for (case, shares) in way.shares.iter().enumerate() {
                    let taken: f64 = shares.iter().map(|share| share.lost.kilopascals()).sum();
                    let lost = (way.at_rest[case] - way.arrives()[case]).kilopascals();
                    assert!((taken - lost).abs() < 1e-3, "{name} {}", place.name);
                }
            }
        }
        assert!(ways > 100, "{name}: {ways}");
    }
    // The regulator stands on the way to a bed behind it, once; the way is as long as its pipes.
    let (document, analysis) = analysed(LARKMEAD);
    let bed = place(&analysis, "B3", SupplyCase::Low).unwrap();
    assert!(bed.is_emitter && bed.name.starts_with("B3."));
    let found = way(&document.design, &analysis, &bed, SupplyCase::Low).unwrap();
    let devices: Vec<Id> = found.devices().map(|(id, _)| id).collect();
    assert_eq!(devices, ["D1", "D2", "D6", "D7", "D8"].map(id));
    assert!(found.points.last().unwrap().along > Length::from_metres(5.0));
}
