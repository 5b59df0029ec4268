//! Workings of the velocity at an end that opens for rinsing, and of how many ends open at once.

use super::{Bench, Number, Quantity, Step};
use crate::analysis::readings::{ENOUGH_TO_FLUSH, FlushReading, OpenedEnd, flush_at};
use crate::finding::{Message, Value};
use crate::hydraulics::flow_through;
use crate::units::{Amount, Velocity};

/// Both, at low supply whatever the case; nothing where no end opens.
pub(super) fn numbers(bench: &Bench<'_>) -> Vec<(Number, Step)> {
    let Some(read) = flush_at(bench.plan, bench.zone) else {
        return Vec::new();
    };
    vec![
        (Number::Rinse, velocity(bench, &read.worst)),
        (Number::AtOnce, at_once(bench, &read)),
    ]
}

/// V = √(2p/ρ): what pressure is left at the open end becomes velocity; the flow is that through the bore.
fn velocity(bench: &Bench<'_>, opened: &OpenedEnd) -> Step {
    let water = bench.zone.built.network.water;
    let end = || vec![("of", Value::Text(opened.end.name.clone()))];
    let flow = flow_through(opened.end.bore, opened.velocity);
    let leaves = Step {
        what: Message::new("work.rinse_flow", end()),
        formula: "Q = V · π D²/4",
        inputs: vec![
            Quantity::new("V", "work.velocity", Amount::Velocity(opened.velocity)),
            Quantity::new("D", "work.bore", Amount::Bore(opened.end.bore)),
        ],
        result: Quantity::new("Q", "work.flow", Amount::Flow(flow)),
        band: None,
        source: "work.source_continuity",
        from: Vec::new(),
    };
    Step {
        what: Message::new("work.rinse", end()),
        formula: "V = √(2p/ρ)",
        inputs: vec![
            Quantity::new("p", "work.left_at_end", Amount::Pressure(opened.pressure)),
            Quantity::new("ρ", "work.density", Amount::Density(water.density)),
        ],
        result: Quantity::new("V", "work.velocity", Amount::Velocity(opened.velocity)),
        band: None,
        source: "work.source_rinse",
        from: vec![leaves],
    }
}

/// The number up to which the slowest of the ends opened together is fast enough.
fn at_once(bench: &Bench<'_>, read: &FlushReading) -> Step {
    let quantity = |symbol: &str, name, velocity: Velocity| {
        Quantity::new(symbol, name, Amount::Velocity(velocity))
    };
    let mut inputs = vec![
        Quantity::new("N", "work.ends", Amount::Count(read.ends.len())),
        quantity("V_f", "work.fast_enough", ENOUGH_TO_FLUSH),
    ];
    inputs.extend(
        read.together
            .map(|velocity| quantity("V(n)", "work.slowest", velocity)),
    );
    inputs.extend(
        read.beyond
            .map(|velocity| quantity("V(n+1)", "work.slowest_beyond", velocity)),
    );
    let formula = match (read.together, read.beyond) {
        (Some(_), Some(_)) => "V(n) ≥ V_f > V(n+1)",
        (None, Some(_)) => "V_f > V(n+1), n = 0",
        (_, None) => "V(n) ≥ V_f",
    };
    Step {
        what: Message::new("work.at_once", vec![("of", Value::Ids(vec![bench.id]))]),
        formula,
        inputs,
        result: Quantity::new("n", "work.ends_at_once", Amount::Count(read.at_once)),
        band: None,
        source: "work.source_fast_enough",
        from: Vec::new(),
    }
}
