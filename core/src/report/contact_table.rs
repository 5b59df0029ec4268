//! The contact table on paper: the condition first, then the word, then the number of the note on the rule behind it.
//!
//! Plantings with the same answer share a row, so that a table stays short enough to be read; each keeps its name.

use super::Checked;
use super::compose::{column, paragraph};
use super::notes::Notes;
use super::tree::{Align, Block, Cell, Section, Table};
use crate::contact::{Match, Ruling};
use crate::finding::listed;
use crate::ids::{Id, in_short};
use crate::rulebook::{Method, Verdict};
use crate::text;

/// Plantings with one answer.
struct Group<'a> {
    beds: Vec<(Method, Id, Vec<&'a str>)>,
    conditions: Vec<String>,
    like: &'a Ruling,
    is_food: bool,
}

pub(super) fn section(checked: &Checked<'_>, notes: &mut Notes) -> Section {
    let heading = text::get("client.contact").to_owned();
    let mut groups: Vec<Group<'_>> = Vec::new();
    for judged in checked.analysis.contact.values() {
        for ruling in &judged.rulings {
            add(ruling, &mut groups);
        }
    }
    if groups.is_empty() {
        let blocks = vec![paragraph(text::get("client.contact_none").to_owned())];
        return Section { heading, blocks };
    }
    // Strictest first; of one word in the order of the beds.
    groups.sort_by_key(|group| std::cmp::Reverse(group.like.verdict));
    let head = |key: &str, width| column(text::get(key).to_owned(), width, Align::Left);
    let table = Table {
        caption: heading.clone(),
        columns: vec![
            head("client.where", 3.6),
            head("client.only_if", 4.2),
            head("client.word", 2.5),
            head("client.note", 0.5),
        ],
        rows: groups.into_iter().map(|group| row(group, notes)).collect(),
        in_halves: false,
    };
    let blocks = vec![
        paragraph(text::get("client.contact_intro").to_owned()),
        Block::Table(table),
    ];
    Section { heading, blocks }
}

fn add<'a>(ruling: &'a Ruling, groups: &mut Vec<Group<'a>>) {
    let conditions = conditions(ruling);
    let crop = text::get(&ruling.name);
    let place = (ruling.method, ruling.subject);
    let known = groups
        .iter_mut()
        .find(|group| group.conditions == conditions && have_one_answer(group.like, ruling));
    let Some(group) = known else {
        groups.push(Group {
            beds: vec![(place.0, place.1, vec![crop])],
            conditions,
            like: ruling,
            is_food: ruling.crop.is_some(),
        });
        return;
    };
    group.is_food |= ruling.crop.is_some();
    let mut beds = group.beds.iter_mut();
    match beds.find(|(method, bed, _)| (*method, *bed) == place) {
        Some((_, _, crops)) if crops.contains(&crop) => {}
        Some((_, _, crops)) => crops.push(crop),
        None => group.beds.push((place.0, place.1, vec![crop])),
    }
}

fn have_one_answer(a: &Ruling, b: &Ruling) -> bool {
    let rule = |row: &Match| (row.citation.clone(), row.message.clone());
    a.verdict == b.verdict
        && rule(&a.decided_by) == rule(&b.decided_by)
        && stricter_advice(a).eq(stricter_advice(b))
}

/// Advice never changes the word; where it is stricter, it is told beside it.
fn stricter_advice(ruling: &Ruling) -> impl Iterator<Item = &Match> {
    let rows = ruling.advisory.iter();
    rows.filter(|row| row.verdict > ruling.verdict)
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

/// A line a method; beds with the same crops together.
fn plantings(beds: Vec<(Method, Id, Vec<&str>)>) -> Vec<String> {
    let mut alike: Vec<(Method, Vec<&str>, Vec<Id>)> = Vec::new();
    for (method, bed, crops) in beds {
        let mut known = alike.iter_mut();
        match known.find(|(by, what, _)| *by == method && *what == crops) {
            Some((_, _, beds)) => beds.push(bed),
            None => alike.push((method, crops, vec![bed])),
        }
    }
    let mut lines: Vec<(Method, Vec<String>)> = Vec::new();
    for (method, crops, beds) in alike {
        let planting = text::fill(
            "client.planting",
            [("beds", in_short(beds)), ("crops", crops.join(", "))],
        );
        match lines.iter_mut().find(|(known, _)| *known == method) {
            Some((_, plantings)) => plantings.push(planting),
            None => lines.push((method, vec![planting])),
        }
    }
    let lines = lines.into_iter().map(|(method, plantings)| {
        text::fill(
            "client.by_method",
            [
                ("method", text::get(method.key()).to_owned()),
                ("plantings", plantings.join("; ")),
            ],
        )
    });
    lines.collect()
}

fn row(group: Group<'_>, notes: &mut Notes) -> Vec<Cell> {
    let Ruling {
        verdict,
        decided_by,
        ..
    } = group.like;
    let why = text::get(&decided_by.message);
    let note = notes.number(&decided_by.citation, Some(why));
    let mut word = vec![text::get(verdict.key()).to_owned()];
    for advice in stricter_advice(group.like) {
        let note = notes.number(&advice.citation, Some(text::get(&advice.message)));
        word.push(text::fill(
            "client.advice",
            [
                ("word", text::get(advice.verdict.key()).to_owned()),
                ("note", note.to_string()),
            ],
        ));
    }
    if group.is_food && matches!(verdict, Verdict::NoConflict | Verdict::Conditions) {
        word.push(text::get("client.wash").to_owned());
    }
    let cell = |lines| Cell { lines, mark: None };
    vec![
        cell(plantings(group.beds)),
        cell(group.conditions),
        Cell {
            lines: word,
            mark: Some(*verdict),
        },
        Cell::of(note.to_string()),
    ]
}
