//! Workings of a zone: flow, supply, evenness, rate, surge.

use super::{Bench, Number, Quantity, Step, line, rinsing};
use crate::analysis::Analysis;
use crate::analysis::readings::{SURGE_CLOSING_S, even_at, rates, surges};
use crate::finding::{Message, Value};
use crate::hydraulics::uniformity::low_quarter_count;
use crate::hydraulics::{SupplyCase, supply_curve};
use crate::ids::Id;
use crate::layout::bed_outline;
use crate::units::{Amount, Flow, Length};

pub(super) fn numbers(bench: &Bench<'_>) -> Vec<(Number, Step)> {
    let mut numbers: Vec<(Number, Step)> = flow(bench).into_iter().collect();
    numbers.extend(supply_pressure(bench));
    numbers.extend(evenness(bench));
    numbers.extend(rate(bench));
    numbers.extend(line::of_zone(bench));
    numbers.extend(rinsing::numbers(bench));
    numbers.extend(surge(bench));
    numbers
}

/// The zone that takes most from a supply.
pub(super) fn of_supply(analysis: &Analysis, supply: Id, case: SupplyCase) -> Option<Id> {
    let zones = analysis.zones.iter();
    zones
        .filter(|(_, zone)| zone.built.supplies.contains(&supply))
        .max_by(|a, b| {
            let order = a.1.flow(case).total_cmp(&b.1.flow(case));
            order.then(b.0.cmp(a.0))
        })
        .map(|(id, _)| *id)
}

fn flow(bench: &Bench<'_>) -> Option<(Number, Step)> {
    let given: Vec<Flow> = bench.zone.emitters(bench.case).map(|e| e.flow).collect();
    let total: Flow = given.iter().copied().sum();
    let mean = total / (given.len().max(1) as f64);
    let step = Step {
        what: Message::new("work.zone_flow", vec![("of", Value::Ids(vec![bench.id]))]),
        formula: "Q = Σq_i = n · q_m",
        inputs: vec![
            Quantity::new("n", "work.emitters", Amount::Count(given.len())),
            Quantity::new("q_m", "work.mean_flow", Amount::EmitterFlow(mean)),
        ],
        result: Quantity::new("Q", "work.flow", Amount::Flow(bench.zone.flow(bench.case))),
        band: None,
        source: "work.source_continuity",
        from: Vec::new(),
    };
    (!given.is_empty()).then_some((Number::Flow, step))
}

pub(super) fn supply_pressure(bench: &Bench<'_>) -> Option<(Number, Step)> {
    let id = *bench.zone.built.supplies.first()?;
    let curve = supply_curve(bench.plan.objects.supplies.get(&id)?, bench.case);
    let solution = bench.zone.solution(bench.case);
    let junction = bench.zone.built.network.sources.first()?.junction;
    let flow = *solution.source_flows.first()?;
    let step = Step {
        what: Message::new("work.supply", vec![("of", Value::Ids(vec![id]))]),
        formula: "p = p₀ − Δp_t · (Q/Q_t)^n",
        inputs: vec![
            Quantity::new("p₀", "work.at_rest", Amount::Pressure(curve.at_rest)),
            Quantity::new(
                "Δp_t",
                "work.test_fall",
                Amount::Pressure(curve.loss_at_test),
            ),
            Quantity::new("Q", "work.flow", Amount::Flow(flow)),
            Quantity::new("Q_t", "work.test_flow", Amount::Flow(curve.test_flow)),
            Quantity::new("n", "work.exponent", Amount::Number(curve.exponent)),
        ],
        result: Quantity::new(
            "p",
            "work.pressure",
            Amount::Pressure(*solution.pressures.get(junction)?),
        ),
        band: None,
        source: "work.source_supply",
        from: Vec::new(),
    };
    Some((Number::Supply, step))
}

fn evenness(bench: &Bench<'_>) -> Vec<(Number, Step)> {
    let Some(even) = even_at(bench.plan, bench.zone, bench.case) else {
        return Vec::new();
    };
    let found = &even.hydraulic;
    // The measures are of each flow over its own rating: plain numbers.
    let number = |symbol: &str, name, flow: Flow| {
        Quantity::new(symbol, name, Amount::Number(flow.litres_per_second()))
    };
    let count = |symbol: &str, count| Quantity::new(symbol, "work.emitters", Amount::Count(count));
    let mean = || number("r_m", "work.mean_share", found.mean);
    let made = || Quantity::new("CV", "work.manufacture", Amount::Number(even.manufacture));
    let plants = || Quantity::new("e", "work.per_plant", Amount::Count(1));
    let low = low_quarter_count(found.num_outlets);
    let step = |what: &'static str, formula, inputs, symbol: &str, share, source| Step {
        what: Message::new(what, vec![]),
        formula,
        inputs,
        result: Quantity::new(symbol, what, Amount::Share(share)),
        band: None,
        source,
        from: Vec::new(),
    };
    vec![
        (
            Number::Emission,
            step(
                "work.emission",
                "EU = (1 − 1.27 · CV/√e) · r_min/r_m",
                vec![
                    made(),
                    plants(),
                    number("r_min", "work.least_share", found.least),
                    mean(),
                ],
                "EU",
                even.emission,
                "work.source_emission",
            ),
        ),
        (
            Number::LowQuarter,
            step(
                "work.low_quarter",
                "DU = r_lq/r_m",
                vec![
                    count("n_lq", low),
                    number(
                        "r_lq",
                        "work.low_quarter_share",
                        found.mean * found.low_quarter,
                    ),
                    mean(),
                ],
                "DU",
                found.low_quarter,
                "work.source_low_quarter",
            ),
        ),
        (
            Number::Variation,
            step(
                "work.variation",
                "q_var = (r_max − r_min)/r_max",
                vec![
                    number("r_max", "work.largest_share", found.largest),
                    number("r_min", "work.least_share", found.least),
                ],
                "q_var",
                found.flow_variation,
                "work.source_variation",
            ),
        ),
        (
            Number::Statistical,
            step(
                "work.statistical",
                "U_s = 1 − √(V_h² + CV²/e)",
                vec![
                    Quantity::new(
                        "V_h",
                        "work.hydraulic_variation",
                        Amount::Number(1.0 - found.statistical),
                    ),
                    made(),
                    plants(),
                ],
                "U_s",
                even.statistical,
                "work.source_statistical",
            ),
        ),
        (
            Number::Christiansen,
            step(
                "work.christiansen",
                "CU = 1 − d_m/r_m",
                vec![
                    count("n", found.num_outlets),
                    number(
                        "d_m",
                        "work.mean_deviation",
                        found.mean * (1.0 - found.christiansen),
                    ),
                    mean(),
                ],
                "CU",
                found.christiansen,
                "work.source_christiansen",
            ),
        ),
    ]
}

fn rate(bench: &Bench<'_>) -> Vec<(Number, Step)> {
    let found = rates(bench.plan, bench.zone).into_iter();
    let steps = found.filter_map(|(id, rates)| {
        let area = bed_outline(bench.plan.objects.beds.get(&id)?).area();
        let rate = *bench.case.of(&rates);
        let flow = Flow::from_litres_per_hour(rate.millimetres_per_hour() * area.square_metres());
        let step = Step {
            what: Message::new("work.rate", vec![("of", Value::Ids(vec![id]))]),
            formula: "P = Q/A",
            inputs: vec![
                Quantity::new("Q", "work.flow_on_area", Amount::EmitterFlow(flow)),
                Quantity::new("A", "work.area", Amount::Area(area)),
            ],
            result: Quantity::new("P", "work.depth_rate", Amount::Rate(rate)),
            band: None,
            source: "work.source_rate",
            from: Vec::new(),
        };
        Some((Number::Rate, step))
    });
    steps.collect()
}

/// The run with the largest surge before the valve; at high supply, whatever the case.
fn surge(bench: &Bench<'_>) -> Option<(Number, Step)> {
    let found = surges(bench.plan, bench.zone);
    let worst = found
        .iter()
        .max_by(|a, b| a.sudden.total_cmp(&b.sudden).then(b.run.cmp(&a.run)))?;
    let runs = found
        .iter()
        .filter_map(|surge| bench.plan.objects.pipes.get(&surge.run));
    let way: Length = runs.map(|pipe| pipe.vertices.length()).sum();
    let water = bench.zone.built.network.water;
    let run = || vec![("of", Value::Ids(vec![worst.run]))];
    let sudden = Step {
        what: Message::new("work.sudden", run()),
        formula: "Δp = ρ · a · V",
        inputs: vec![
            Quantity::new("ρ", "work.density", Amount::Density(water.density)),
            Quantity::new("a", "work.wave", Amount::Velocity(worst.speed)),
            Quantity::new("V", "work.velocity", Amount::Velocity(worst.velocity)),
        ],
        result: Quantity::new("Δp", "work.surge", Amount::Pressure(worst.sudden)),
        band: None,
        source: "work.source_sudden",
        from: Vec::new(),
    };
    let is_slow = worst.closing < worst.sudden;
    let step = Step {
        what: Message::new("work.closing", run()),
        formula: if is_slow {
            "Δp_t = Δp · (2L/a)/t"
        } else {
            "Δp_t = Δp, t ≤ 2L/a"
        },
        inputs: vec![
            Quantity::new("Δp", "work.surge", Amount::Pressure(worst.sudden)),
            Quantity::new("L", "work.way", Amount::Length(way)),
            Quantity::new("a", "work.wave", Amount::Velocity(worst.speed)),
            Quantity::new("t", "work.closing_time", Amount::Seconds(SURGE_CLOSING_S)),
        ],
        result: Quantity::new("Δp_t", "work.surge", Amount::Pressure(worst.closing)),
        band: None,
        source: "work.source_closing",
        from: vec![sudden],
    };
    Some((Number::Surge, step))
}
