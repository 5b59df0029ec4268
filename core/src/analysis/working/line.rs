//! Workings of the longest even run of an emitter line.

use super::pipes::{Stretch, friction};
use super::{Bench, Number, Quantity, Step, emitters};
use crate::analysis::readings::{RUN_VARIATION, even_lines};
use crate::finding::{Message, Value};
use crate::hydraulics::{EvenLine, RunLength};
use crate::ids::Id;
use crate::text;
use crate::units::{Amount, Flow, Length, Pressure};

/// Of every line product of a zone, at low supply whatever the case.
pub(super) fn of_zone(bench: &Bench<'_>) -> Vec<(Number, Step)> {
    let lines = even_lines(bench.plan, bench.zone).into_iter();
    lines
        .filter_map(|(part, inlet, line)| longest(bench, part, inlet, &line))
        .collect()
}

/// Of the product of one bed or line.
pub(super) fn of_object(bench: &Bench<'_>, id: Id) -> Option<(Number, Step)> {
    let emitters = &bench.zone.built.emitters;
    let own = emitters.iter().find(|point| point.owner == id)?;
    let lines = even_lines(bench.plan, bench.zone).into_iter();
    let (part, inlet, line) = lines.into_iter().find(|(part, ..)| *part == own.part)?;
    longest(bench, part, inlet, &line)
}

/// L = n · s, with the flows of the first and last emitter of that run and of one emitter more.
fn longest(
    bench: &Bench<'_>,
    part: &str,
    inlet: Pressure,
    line: &EvenLine,
) -> Option<(Number, Step)> {
    let run = line.longest(inlet, RUN_VARIATION)?;
    let name = bench
        .plan
        .catalog
        .emission(part)
        .map_or(part, |part| part.name.as_str());
    let mut from = vec![variation("work.run_variation", line, &run)];
    from.extend(
        line.of(run.num + 1, inlet)
            .map(|longer| variation("work.run_one_more", line, &longer)),
    );
    from.extend(ends(bench, line, inlet, &run));
    let step = Step {
        what: Message::new("work.longest", vec![("of", Value::Text(name.to_owned()))]),
        formula: "L = n · s, q_var ≤ q_most",
        inputs: vec![
            Quantity::new("n", "work.emitters", Amount::Count(run.num)),
            Quantity::new("s", "work.spacing", Amount::Length(line.spacing)),
            Quantity::new(
                "q_most",
                "work.most_variation",
                Amount::Share(RUN_VARIATION),
            ),
        ],
        result: Quantity::new("L", "work.length", Amount::Length(run.length)),
        band: None,
        source: "work.source_longest",
        from,
    };
    Some((Number::Longest, step))
}

fn given(line: &EvenLine, head: Length) -> (Pressure, Flow) {
    let pressure = line.water.pressure_of(head);
    (pressure, line.law.flow_at(pressure, line.water))
}

fn variation(what: &'static str, line: &EvenLine, run: &RunLength) -> Step {
    let flow = |symbol: &str, name, head| {
        Quantity::new(symbol, name, Amount::EmitterFlow(given(line, head).1))
    };
    Step {
        what: Message::new(what, vec![("count", Value::Count(run.num))]),
        formula: "q_var = (q₁ − q_n)/q₁",
        inputs: vec![
            flow("q₁", "work.first_flow", run.first),
            flow("q_n", "work.last_flow", run.last),
        ],
        result: Quantity::new("q_var", "work.variation", Amount::Share(run.variation)),
        band: None,
        source: "work.source_variation",
        from: Vec::new(),
    }
}

/// Pressure and flow of the first and of the last emitter; the first stretch, which loses most, in full.
fn ends(bench: &Bench<'_>, line: &EvenLine, inlet: Pressure, run: &RunLength) -> Vec<Step> {
    let entered = line.water.head_of(inlet);
    let pipe = line.stretch();
    let first = Stretch {
        pipe: &pipe,
        flow: run.inflow,
        lost: entered - run.first,
        number: 1,
    };
    let end = |symbol: &'static str, name: &'static str, head: Length, from: Vec<Step>| {
        let (pressure, flow) = given(line, head);
        let what = vec![("of", Value::Text(text::get(name).to_owned()))];
        let arrives = Step {
            what: Message::new("work.pressure_at", what),
            formula: "p = p_in − γ · Σh",
            inputs: vec![
                Quantity::new("p_in", "work.line_inlet", Amount::Pressure(inlet)),
                Quantity::new("γ", "work.weight", Amount::Weight(line.water.density)),
                Quantity::new("Σh", "work.head_lost", Amount::Length(entered - head)),
            ],
            result: Quantity::new("p", "work.pressure", Amount::Pressure(pressure)),
            band: None,
            source: "work.source_energy",
            from,
        };
        let mut gives = emitters::flow(text::get(name), &line.law, pressure, flow);
        symbol.clone_into(&mut gives.result.symbol);
        gives.from.push(arrives);
        gives
    };
    vec![
        end(
            "q₁",
            "work.first_emitter",
            run.first,
            vec![friction(bench, &first)],
        ),
        end("q_n", "work.last_emitter", run.last, Vec::new()),
    ]
}
