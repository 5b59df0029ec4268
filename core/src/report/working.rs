//! How numbers come about, in words: the same for the window and the terminal.

use crate::analysis::working::{Number, Quantity, Step, Working};
use crate::text;
use crate::units::{Amount, UnitSystem};

/// One step in words.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct StepWords {
    /// The number that the step belongs to.
    pub number: Number,
    /// 0 for the number itself, one more for each step that it comes from.
    pub depth: usize,
    /// What is worked out: `Pressure lost in P4`.
    pub what: String,
    /// `h = (f · (L + L_e)/D + ΣK) · V²/2g`.
    pub formula: &'static str,
    /// `L = 82.500 ft, length`.
    pub inputs: Vec<String>,
    /// `Δp = 0.3 psi`; of a step before it with more digits.
    pub result: String,
    /// Between what it lies, where that is uncertain.
    pub band: Option<String>,
    /// Where the formula comes from.
    pub source: &'static str,
}

/// The headline of a working.
#[must_use]
pub fn working_title(working: &Working) -> String {
    text::fill(
        "work.title",
        [
            ("of", working.of.clone()),
            ("zone", working.zone.to_string()),
            ("case", working.case.word().to_owned()),
        ],
    )
}

/// Every step of a working, each before the steps that it comes from.
#[must_use]
pub fn working_words(working: &Working, units: UnitSystem) -> Vec<StepWords> {
    let mut words = Vec::new();
    for (number, step) in &working.numbers {
        add(&mut words, *number, step, 0, units);
    }
    words
}

fn add(words: &mut Vec<StepWords>, number: Number, step: &Step, depth: usize, units: UnitSystem) {
    let Quantity { symbol, amount, .. } = &step.result;
    let is_number = depth == 0;
    let value = |amount: Amount| {
        if is_number {
            amount.shown(units)
        } else {
            amount.worked(units)
        }
    };
    let (shown, worked) = (value(*amount), amount.worked(units));
    let result = if shown == worked {
        format!("{symbol} = {worked}")
    } else {
        let unrounded = text::fill("work.unrounded", [("value", worked)]);
        format!("{symbol} = {shown} ({unrounded})")
    };
    let band = step.band.map(|(low, high)| {
        // What rounds to the same number is told with its digits.
        let (mut low_words, mut high_words) = (value(low), value(high));
        if low_words == high_words {
            (low_words, high_words) = (low.worked(units), high.worked(units));
        }
        text::fill("work.band", [("low", low_words), ("high", high_words)])
    });
    words.push(StepWords {
        number,
        depth,
        what: step.what.sentence(units),
        formula: step.formula,
        inputs: step
            .inputs
            .iter()
            .map(|input| {
                let value = input.amount.worked(units);
                format!("{} = {value}, {}", input.symbol, text::get(input.name))
            })
            .collect(),
        result,
        band,
        source: text::get(step.source),
    });
    for before in &step.from {
        add(words, number, before, depth + 1, units);
    }
}

/// A working as plain text for a terminal.
#[must_use]
pub fn working_text(working: &Working, units: UnitSystem) -> String {
    let mut lines = vec![working_title(working)];
    for step in working_words(working, units) {
        if step.depth == 0 {
            lines.push(String::new());
        }
        let indent = "    ".repeat(step.depth);
        lines.push(format!("{indent}{}: {}", step.what, step.result));
        lines.extend(step.band.map(|band| format!("{indent}    {band}")));
        lines.push(format!("{indent}    {}  [{}]", step.formula, step.source));
        lines.extend(
            step.inputs
                .iter()
                .map(|input| format!("{indent}      {input}")),
        );
    }
    lines.push(String::new());
    lines.join("\n")
}
