//! The contact table on paper: bed by crop the condition first, then the word, then the rule and whom to ask.
//!
//! Plantings with the same answer share a row, so that a table stays short enough to be read; each keeps its own line.

use super::Checked;
use super::compose::{column, paragraph};
use super::tree::{Align, Block, Cell, Section, Table};
use crate::contact::Ruling;
use crate::finding::listed;
use crate::ids::Id;
use crate::rulebook::{Method, Verdict};
use crate::text;

/// Plantings with one answer.
struct Group {
    beds: Vec<(Id, Method, Vec<String>)>,
    conditions: Vec<String>,
    verdict: Verdict,
    rule: Vec<String>,
    is_food: bool,
}

pub(super) fn section(checked: &Checked<'_>) -> Section {
    let heading = text::get("client.contact").to_owned();
    let mut groups: Vec<Group> = Vec::new();
    for judged in checked.analysis.contact.values() {
        for ruling in &judged.output.rulings {
            add(ruling, &mut groups);
        }
    }
    if groups.is_empty() {
        let blocks = vec![paragraph(text::get("client.contact_none").to_owned())];
        return Section { heading, blocks };
    }
    // Strictest first; of one word in the order of the beds.
    groups.sort_by_key(|group| std::cmp::Reverse(group.verdict));
    let head = |key: &str, width| column(text::get(key).to_owned(), width, Align::Left);
    let table = Table {
        caption: heading.clone(),
        columns: vec![
            head("client.where", 2.8),
            head("client.only_if", 3.1),
            head("client.word", 2.2),
            head("client.rule", 3.2),
        ],
        rows: groups.into_iter().map(row).collect(),
    };
    let blocks = vec![
        paragraph(text::get("client.contact_intro").to_owned()),
        Block::Table(table),
    ];
    Section { heading, blocks }
}

fn add(ruling: &Ruling, groups: &mut Vec<Group>) {
    let conditions = conditions(ruling);
    let rule = rule(ruling);
    let known = groups.iter_mut().find(|group| {
        group.verdict == ruling.verdict && group.conditions == conditions && group.rule == rule
    });
    let crop = text::get(&ruling.name).to_owned();
    let Some(group) = known else {
        groups.push(Group {
            beds: vec![(ruling.subject, ruling.method, vec![crop])],
            conditions,
            verdict: ruling.verdict,
            rule,
            is_food: ruling.crop.is_some(),
        });
        return;
    };
    group.is_food |= ruling.crop.is_some();
    let bed = group
        .beds
        .iter_mut()
        .find(|(bed, method, _)| *bed == ruling.subject && *method == ruling.method);
    match bed {
        Some((_, _, crops)) if crops.contains(&crop) => {}
        Some((_, _, crops)) => crops.push(crop),
        None => group.beds.push((ruling.subject, ruling.method, vec![crop])),
    }
}

/// What must hold for the word, or what must be known first.
fn conditions(ruling: &Ruling) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    if ruling.verdict != Verdict::Ask && !ruling.conditions.is_empty() {
        let each = ruling.conditions.iter().map(|key| text::get(key));
        lines.push(each.collect::<Vec<_>>().join("; "));
    }
    if ruling.verdict == Verdict::IfProcessed && lines.is_empty() {
        lines.push(text::get("client.declared").to_owned());
    }
    if !ruling.missing.is_empty() {
        let facts = ruling
            .missing
            .iter()
            .map(|fact| text::get(fact.key()).to_owned());
        lines.push(text::fill("client.missing", [("facts", listed(facts))]));
    }
    if lines.is_empty() {
        lines.push(text::get("client.no_condition").to_owned());
    }
    lines
}

fn rule(ruling: &Ruling) -> Vec<String> {
    let mut lines = vec![
        text::get(&ruling.decided_by.message).to_owned(),
        super::cited(&ruling.decided_by.citation),
    ];
    if ruling.cautious_reading {
        lines.push(text::get("client.reading").to_owned());
    }
    for advice in ruling
        .advisory
        .iter()
        .filter(|advice| advice.verdict > ruling.verdict)
    {
        lines.push(text::fill(
            "client.advice",
            [
                ("word", text::get(advice.verdict.key()).to_owned()),
                ("rule", super::cited(&advice.citation)),
            ],
        ));
    }
    lines.push(text::fill("client.ask", [("ask", ruling.ask.clone())]));
    lines
}

fn row(group: Group) -> Vec<Cell> {
    let beds = group.beds.into_iter().map(|(bed, method, crops)| {
        text::fill(
            "client.planting",
            [
                ("bed", bed.to_string()),
                ("crops", crops.join(", ")),
                ("method", text::get(method.key()).to_owned()),
            ],
        )
    });
    let mut word = vec![text::get(group.verdict.key()).to_owned()];
    if group.is_food && matches!(group.verdict, Verdict::NoConflict | Verdict::Conditions) {
        word.push(text::get("client.wash").to_owned());
    }
    vec![
        Cell {
            lines: beds.collect(),
            mark: None,
        },
        Cell {
            lines: group.conditions,
            mark: None,
        },
        Cell {
            lines: word,
            mark: Some(group.verdict),
        },
        Cell {
            lines: group.rule,
            mark: None,
        },
    ]
}
