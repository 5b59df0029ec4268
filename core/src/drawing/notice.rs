//! What every sheet says about itself: the rules it was judged by and their dates, whom to ask, and the cautions that must
//! not get lost when a picture travels alone.

use std::collections::BTreeSet;

use crate::model::Plan;
use crate::rulebook::{GENERIC, Rulebook, built_in_book};
use crate::text;

/// One book in force.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
pub struct RuleSource {
    /// Its title.
    pub title: String,
    /// The date of the text we hold.
    pub as_of: String,
    /// Who gives a binding answer.
    pub ask: String,
}

/// The books that a plan is judged by, in the order of the plan: those it carries, or the program's of that name. The
/// default book joins when no binding book is chosen, as in the judgement itself.
#[must_use]
pub fn rules_in_force(plan: &Plan) -> Vec<RuleSource> {
    books(plan).into_iter().map(source).collect()
}

fn books(plan: &Plan) -> Vec<&Rulebook> {
    let mut books: Vec<&Rulebook> = plan.rules.books_in_force().collect();
    if !books.iter().any(|book| book.binding && !book.overlay) {
        books.extend(built_in_book(GENERIC));
    }
    books
}

fn source(book: &Rulebook) -> RuleSource {
    RuleSource {
        title: book.title.clone(),
        as_of: book.as_of.clone(),
        ask: book.ask.clone(),
    }
}

/// The books in force whose texts should be read again on a day, `YYYY-MM-DD`.
#[must_use]
pub fn aged_rules(plan: &Plan, day: &str) -> Vec<RuleSource> {
    let books = books(plan).into_iter();
    books.filter(|book| book.is_aged(day)).map(source).collect()
}

/// That texts should be read again, what is known to have changed, and whom to ask; nothing where none should.
#[must_use]
pub fn aged_line(plan: &Plan, day: &str) -> Option<String> {
    let aged = aged_rules(plan, day);
    if aged.is_empty() {
        return None;
    }
    let read: BTreeSet<String> = aged.iter().map(|rule| rule.as_of.clone()).collect();
    let values = [
        ("days", crate::finding::listed(read)),
        ("ask", whom_to_ask(&aged)),
    ];
    let known = books(plan).into_iter().flat_map(|book| &book.changes);
    let come = known.filter(|change| change.from.as_str() <= day);
    let told = come.map(|change| {
        let values = [("from", change.from.clone()), ("what", change.what.clone())];
        text::fill("paper.changed", values)
    });
    let lines: Vec<String> = std::iter::once(text::fill("paper.aged", values))
        .chain(told)
        .collect();
    Some(lines.join(" "))
}

/// `California … as of 2025-11-01`, several joined by semicolons.
#[must_use]
pub fn rules_line(rules: &[RuleSource]) -> String {
    let each = rules.iter().map(|rule| {
        text::fill(
            "paper.rule_as_of",
            [("title", rule.title.clone()), ("date", rule.as_of.clone())],
        )
    });
    each.collect::<Vec<_>>().join("; ")
}

/// Everybody to ask, without repeats.
#[must_use]
pub fn whom_to_ask(rules: &[RuleSource]) -> String {
    let mut asked: Vec<String> = Vec::new();
    for rule in rules {
        if !asked.contains(&rule.ask) {
            asked.push(rule.ask.clone());
        }
    }
    crate::finding::listed(asked)
}

/// The caution of a picture or a table, in one paragraph: no permit, which rules as of when, whom to ask, hands and
/// children, produce, traces not assessed.
#[must_use]
pub fn caution(rules: &[RuleSource]) -> String {
    text::fill(
        "paper.caution",
        [("rules", rules_line(rules)), ("ask", whom_to_ask(rules))],
    )
}
