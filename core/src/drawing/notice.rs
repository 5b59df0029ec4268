//! What every sheet says about itself: the rules it was judged by and their dates, whom to ask, and the cautions that must
//! not get lost when a picture travels alone.

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
    let mut books: Vec<&Rulebook> = plan.rules.books_in_force().collect();
    if !books.iter().any(|book| book.binding && !book.overlay) {
        books.extend(built_in_book(GENERIC));
    }
    books
        .into_iter()
        .map(|book| RuleSource {
            title: book.title.clone(),
            as_of: book.as_of.clone(),
            ask: book.ask.clone(),
        })
        .collect()
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
