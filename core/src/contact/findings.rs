//! From rulings to findings: one Stop or Check a bed, zone and row, one Check a row and method where only somebody else can
//! answer, one Note a list of conditions.

use std::collections::{BTreeMap, BTreeSet};

use super::input::Input;
use super::result::{Fact, Match, Ruling};
use crate::finding::{Basis, Finding, Message, Severity, Value, listed};
use crate::ids::Id;
use crate::rulebook::{Method, Verdict};
use crate::text;
use crate::units::Area;

/// Everything the rulings give reason to tell.
pub(super) fn of_rulings(rulings: &[Ruling]) -> Vec<Finding> {
    let mut findings = decided(rulings);
    findings.extend(advised(rulings));
    findings.extend(conditional(rulings));
    findings
}

/// What a finding is about: the bed and its zone, and the row by word, book and id.
type Subject = (Option<(Id, Option<Id>)>, Verdict, String, String);

fn decided(rulings: &[Ruling]) -> Vec<Finding> {
    let mut groups: BTreeMap<(Subject, Option<Method>), Vec<&Ruling>> = BTreeMap::new();
    for ruling in rulings.iter().filter(|ruling| !ruling.verdict.allows()) {
        let cited = &ruling.decided_by.citation;
        // A question that a fact of the bed could not settle is the same for every bed: it is asked once a method.
        let asked_once = ruling.verdict == Verdict::Ask && ruling.missing.is_empty();
        let subject = (
            (!asked_once).then_some((ruling.subject, ruling.zone)),
            ruling.verdict,
            cited.book.clone(),
            cited.rule.clone(),
        );
        let method = asked_once.then_some(ruling.method);
        groups.entry((subject, method)).or_default().push(ruling);
    }
    groups
        .into_iter()
        .filter_map(|(((_, verdict, book, rule), _), group)| {
            let row = &group.first()?.decided_by;
            let severity = if verdict == Verdict::Prohibit {
                Severity::Stop
            } else {
                Severity::Check
            };
            let facts: BTreeSet<Fact> = group
                .iter()
                .flat_map(|ruling| ruling.missing.iter().copied())
                .collect();
            let mut values = sentence_values(&group, row);
            let facts = facts.iter().map(|fact| text::get(fact.key()).to_owned());
            values.push(("facts", Value::Text(facts.collect::<Vec<_>>().join("; "))));
            let message = message_key(verdict, row, group.iter().any(|r| !r.missing.is_empty()));
            let check = format!("contact.{}.{book}.{rule}", word(verdict));
            Some(Finding {
                measured: overlap(&group).map(Value::Area),
                citation: Some(row.citation.clone()),
                ..Finding::new(
                    check,
                    severity,
                    subjects(&group),
                    Message::new(message, values),
                )
            })
        })
        .collect()
}

fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Prohibit => "not_allowed",
        Verdict::Ask => "ask",
        Verdict::IfProcessed => "if_processed",
        Verdict::Conditions => "conditions",
        Verdict::NoConflict => "no_conflict",
    }
}

fn message_key(verdict: Verdict, row: &Match, lacks_facts: bool) -> &'static str {
    let is_reading = row.citation.interpretation || row.citation.basis == Basis::Judgement;
    match verdict {
        Verdict::Prohibit if is_reading => "contact.not_allowed_reading",
        Verdict::Prohibit if row.citation.basis == Basis::Memory => "contact.not_allowed_memory",
        Verdict::Prohibit => "contact.not_allowed",
        Verdict::IfProcessed => "contact.if_processed",
        _ if lacks_facts => "contact.ask_fact",
        _ if row.is_default => "contact.ask_uncovered",
        _ => "contact.ask_rule",
    }
}

/// The beds of a group and their zones.
fn subjects(group: &[&Ruling]) -> Vec<Id> {
    let zones = group.iter().filter_map(|ruling| ruling.zone);
    beds(group).into_iter().chain(zones).collect()
}

fn beds(group: &[&Ruling]) -> Vec<Id> {
    let beds: BTreeSet<Id> = group.iter().map(|ruling| ruling.subject).collect();
    beds.into_iter().collect()
}

fn sentence_values(group: &[&Ruling], row: &Match) -> Vec<(&'static str, Value)> {
    let crops: BTreeSet<&str> = group.iter().map(|ruling| text::get(&ruling.name)).collect();
    let methods: BTreeSet<&str> = group
        .iter()
        .map(|ruling| text::get(ruling.method.key()))
        .collect();
    vec![
        (
            "crops",
            Value::Text(listed(crops.into_iter().map(str::to_owned))),
        ),
        ("bed", Value::Ids(beds(group))),
        (
            "method",
            Value::Text(listed(methods.into_iter().map(str::to_owned))),
        ),
        ("why", Value::Key(row.message.clone())),
        ("ask", Value::Text(row.citation.ask.clone())),
    ]
}

fn overlap(group: &[&Ruling]) -> Option<Area> {
    group
        .iter()
        .filter_map(|ruling| ruling.overlap)
        .max_by(Area::total_cmp)
}

/// Books that advise, and cannot as long as nobody tells the class of the water in their words: one Check a book.
pub(super) fn of_silent_advice(input: &Input) -> Vec<Finding> {
    let silent = input.books.iter().filter(|book| {
        !book.binding && !book.overlay && !input.plantings.is_empty() && input.is_unsorted_by(book)
    });
    silent
        .map(|book| {
            let classes = book.water_classes.iter().map(|class| class.label.clone());
            let values = vec![
                ("title", Value::Text(book.title.clone())),
                ("classes", Value::Text(listed(classes))),
                ("ask", Value::Text(book.ask.clone())),
            ];
            Finding::new(
                format!("contact.advice_class.{}", book.id),
                Severity::Check,
                input.water.into_iter().collect(),
                Message::new("contact.advice_class", values),
            )
        })
        .collect()
}

/// Advice that is stricter than the rule: beside the verdict, never instead of it. What only somebody else can answer is asked
/// once for all beds.
fn advised(rulings: &[Ruling]) -> Vec<Finding> {
    let mut groups: BTreeMap<Subject, Vec<(&Ruling, &Match)>> = BTreeMap::new();
    for ruling in rulings {
        let stricter = ruling
            .advisory
            .iter()
            .filter(|row| row.verdict > ruling.verdict);
        for row in stricter {
            let cited = &row.citation;
            let subject = (
                (row.verdict != Verdict::Ask).then_some((ruling.subject, ruling.zone)),
                row.verdict,
                cited.book.clone(),
                cited.rule.clone(),
            );
            groups.entry(subject).or_default().push((ruling, row));
        }
    }
    groups
        .into_iter()
        .filter_map(|((_, verdict, book, rule), group)| {
            let (_, row) = *group.first()?;
            let rulings: Vec<&Ruling> = group.iter().map(|(ruling, _)| *ruling).collect();
            let mut values = sentence_values(&rulings, row);
            values.push(("verdict", Value::Key(verdict.key().to_owned())));
            Some(Finding {
                citation: Some(row.citation.clone()),
                ..Finding::new(
                    format!("contact.advice.{}.{book}.{rule}", word(verdict)),
                    Severity::Check,
                    subjects(&rulings),
                    Message::new("contact.advice_stricter", values),
                )
            })
        })
        .collect()
}

fn conditional(rulings: &[Ruling]) -> Vec<Finding> {
    let mut groups: BTreeMap<&[String], Vec<&Ruling>> = BTreeMap::new();
    for ruling in rulings {
        if ruling.verdict == Verdict::Conditions {
            groups.entry(&ruling.conditions).or_default().push(ruling);
        }
    }
    groups
        .into_iter()
        .filter_map(|(conditions, group)| {
            let first = group.first()?;
            let beds = beds(&group);
            let words: Vec<&str> = conditions.iter().map(|key| text::get(key)).collect();
            let has_food = group.iter().any(|ruling| ruling.crop.is_some());
            let message = Message::new(
                if has_food {
                    "contact.conditions_food"
                } else {
                    "contact.conditions"
                },
                vec![
                    ("beds", Value::Ids(beds.clone())),
                    ("conditions", Value::Text(words.join("; "))),
                    ("ask", Value::Text(first.ask.clone())),
                ],
            );
            // The list itself is part of the name: one bed can stand under two lists.
            let short = conditions
                .iter()
                .map(|key| key.trim_start_matches("condition."));
            let check = format!("contact.conditions.{}", short.collect::<Vec<_>>().join("+"));
            Some(Finding {
                citation: Some(first.decided_by.citation.clone()),
                ..Finding::new(check, Severity::Note, beds, message)
            })
        })
        .collect()
}
