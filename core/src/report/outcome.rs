//! What a change would do, in words: what becomes of the finding, and what is told that was not told before.

use crate::analysis::evidence::Change;
use crate::analysis::{Fix, Progress};
use crate::finding::{Finding, Severity, listed, named};
use crate::rulebook::Verdict;
use crate::text;
use crate::units::UnitSystem;

/// What becomes of a finding by a fix, and what the fix brings; `None` if it does not help. In brief, as paper has no room
/// for more, what it brings is counted.
pub(super) fn outcome(
    finding: &Finding,
    fix: &Fix,
    units: UnitSystem,
    in_brief: bool,
) -> Option<String> {
    let then = match &fix.progress {
        Progress::Gone if in_brief => text::get("client.then_gone").to_owned(),
        Progress::Gone => text::get("report.then_gone").to_owned(),
        Progress::Better(then) => left(finding, then, units),
        Progress::NoBetter => return None,
    };
    let brought = if in_brief {
        counted(fix)
    } else {
        brought(fix, units)
    };
    Some(match brought {
        None => then,
        Some(brought) => text::fill("report.then_but", [("then", then), ("brought", brought)]),
    })
}

fn left(finding: &Finding, then: &Finding, units: UnitSystem) -> String {
    if then.severity != finding.severity {
        let severity = ("severity", then.severity.word().to_owned());
        return text::fill("report.then_milder", [severity]);
    }
    match (&then.measured, &then.limit) {
        (Some(value), Some(limit)) => text::fill(
            "report.then_limit",
            [("value", value.shown(units)), ("limit", limit.shown(units))],
        ),
        (Some(value), None) => text::fill("report.then", [("value", value.shown(units))]),
        (None, _) => text::get("report.then_less").to_owned(),
    }
}

/// The halves that keep a trouble, and how many new findings a fix brings, by severity.
fn counted(fix: &Fix) -> Option<String> {
    let halves = fix.halves.iter().map(|then| {
        let subjects = ("subjects", named(&then.subjects));
        text::fill("client.then_halves", [subjects])
    });
    let counts = Severity::ALL.into_iter().filter_map(|severity| {
        let new = fix.brings.iter();
        let count = new.filter(|then| then.severity == severity).count();
        (count > 0).then(|| severity.counted(count))
    });
    let counts = listed(counts);
    let new = (!counts.is_empty()).then(|| text::fill("client.then_more", [("counts", counts)]));
    let told: Vec<String> = halves.chain(new).collect();
    (!told.is_empty()).then(|| told.join("; "))
}

/// What is told after a fix that was not told before: of the halves of a run that it cuts, or anew.
#[must_use]
pub fn brought(fix: &Fix, units: UnitSystem) -> Option<String> {
    let halves = fix
        .halves
        .iter()
        .map(|then| text::fill("report.then_halves", [("subjects", named(&then.subjects))]));
    let new = fix.brings.iter().map(|then| {
        let severity = ("severity", then.severity.word().to_owned());
        let sentence = ("sentence", first_sentence(&then.message.sentence(units)));
        text::fill("report.then_new", [severity, sentence])
    });
    let told: Vec<String> = halves.chain(new).collect();
    (!told.is_empty()).then(|| told.join("; "))
}

/// The first sentence, without its stop: what is wrong, without what to do.
fn first_sentence(told: &str) -> String {
    let first = told.split(". ").next().unwrap_or(told);
    first.trim_end_matches('.').to_owned()
}

/// What would change a verdict, with what would then be.
#[must_use]
pub fn change_in_words(change: &Change, units: UnitSystem) -> String {
    let then = change.verdict.map_or("change.dry", Verdict::key);
    let then = ("then", text::get(then).to_owned());
    text::fill(
        "change.then",
        [("what", change.message.sentence(units)), then],
    )
}
