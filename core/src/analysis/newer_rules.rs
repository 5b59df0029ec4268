//! Rules age: a plan carries the text of its books, and the program may hold another one since. What would be judged otherwise
//! under the program's text is told before anything is printed, and the plan goes on under its own until somebody decides.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::contact_input;
use super::memo::Memo;
use super::zones::{SprayReach, ZoneAnalysis};
use crate::contact::{self, Input, Output, Ruling};
use crate::edit::Edit;
use crate::finding::{Finding, Message, Severity, Value, listed};
use crate::ids::Id;
use crate::model::{BUILT_IN, Plan};
use crate::rulebook::{Rulebook, built_in_book};
use crate::text;

/// Changes told in full; the rest is counted.
const MOST_TOLD: usize = 6;

/// What waters are judged like under the program's text of a book.
#[derive(Debug, Default)]
pub(super) struct Judgements {
    judged: Memo<(String, Id), Input, Output>,
    kept: contact_input::Kept,
}

/// A book the plan carries, and the program's own of that name, where they differ.
fn differing(plan: &Plan) -> impl Iterator<Item = (&Rulebook, &'static Rulebook)> {
    let in_force = plan.rules.in_force.iter();
    in_force.filter_map(|id| {
        let carried = plan.rules.books.get(id)?;
        let own = built_in_book(id).filter(|_| carried.origin == BUILT_IN)?;
        (*carried.book != *own).then_some((carried.book.as_ref(), own))
    })
}

/// The edit by which a plan goes on under the program's text of a book.
pub(super) fn take_over(plan: &Plan, book: &str) -> Option<Edit> {
    let mut rules = plan.rules.clone();
    rules.books.remove(book)?;
    Some(Edit::SetRules(Box::new(rules)))
}

/// One Check a book, with the verdicts that would change.
pub(super) fn all(
    plan: &Plan,
    zones: &BTreeMap<Id, ZoneAnalysis>,
    sprays: &BTreeMap<Id, SprayReach>,
    contact: &BTreeMap<Id, Arc<Output>>,
    Judgements {
        judged: judgements,
        kept,
    }: &mut Judgements,
) -> Vec<Finding> {
    let mut asked = BTreeSet::new();
    let findings = differing(plan)
        .map(|(carried, own)| {
            let mut other = plan.clone();
            other.rules.books.remove(&own.id);
            let mut changes = Vec::new();
            let mut subjects = Vec::new();
            for (water, judged) in contact {
                let input = contact_input::of_water(&other, *water, zones, sprays, kept);
                let key = (own.id.clone(), *water);
                let then = judgements.get(&key, input, contact::assess);
                asked.insert(key);
                for (was, is) in changed(&judged.rulings, &then.rulings) {
                    subjects.push(was.subject);
                    changes.push(told(was, is));
                }
            }
            let num_more = changes.len().saturating_sub(MOST_TOLD);
            changes.truncate(MOST_TOLD);
            if num_more > 0 {
                let count = ("count", num_more.to_string());
                changes.push(text::fill("rules.more_changes", [count]));
            }
            let key = if changes.is_empty() {
                "rules.newer_same"
            } else {
                "rules.newer"
            };
            let words = |words: &str| Value::Text(words.to_owned());
            let values = vec![
                ("title", words(&own.title)),
                ("carried", words(&carried.as_of)),
                ("own", words(&own.as_of)),
                ("changes", Value::Text(listed(changes))),
            ];
            let check = format!("rules.newer.{}", own.id);
            Finding::new(check, Severity::Check, subjects, Message::new(key, values))
        })
        .collect();
    judgements.keep(|key| asked.contains(key));
    findings
}

/// Rulings of the same planting with another word.
fn changed<'a>(was: &'a [Ruling], is: &'a [Ruling]) -> Vec<(&'a Ruling, &'a Ruling)> {
    let key = |it: &Ruling| (it.subject, it.index, it.zone, it.method);
    let then: BTreeMap<_, &Ruling> = is.iter().map(|it| (key(it), it)).collect();
    let pairs = was.iter().filter_map(|it| Some((it, *then.get(&key(it))?)));
    pairs
        .filter(|(was, is)| was.verdict != is.verdict)
        .collect()
}

fn told(was: &Ruling, is: &Ruling) -> String {
    let gaps = [
        ("bed", was.subject.to_string()),
        ("crop", text::get(&was.name).to_owned()),
        ("was", text::get(was.verdict.key()).to_owned()),
        ("is", text::get(is.verdict.key()).to_owned()),
    ];
    text::fill("rules.change", gaps)
}
