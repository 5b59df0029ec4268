//! The letter to the supplier: what is planned, what to state in writing, and how we read the rules where the text does not say
//! so. Nobody but the supplier and the authority can answer; the letter only puts the questions.

use std::collections::{BTreeMap, BTreeSet};

use super::compose::{column, drawing, footer, paragraph, running, said};
use super::tree::{Align, Block, Cell, Column, Entry, PaperSize, Report, Section, Table};
use super::{Checked, ruled};
use crate::analysis::class_in_words;
use crate::contact::Ruling;
use crate::drawing::words::plan_name;
use crate::finding::listed;
use crate::ids::{Id, in_short};
use crate::model::{Water, WaterKind};
use crate::rulebook::{Method, UNKNOWN_CLASS, Verdict};
use crate::text;

/// The plan has no water that could be asked about.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
#[error("The plan has no reclaimed water to ask about: draw its supply first")]
pub struct NothingToAsk;

/// The letter to whoever supplies the reclaimed water.
///
/// # Errors
/// A plan that has no water but drinking water.
pub fn supplier_letter(checked: &Checked<'_>) -> Result<Report, NothingToAsk> {
    let plan = checked.plan;
    let waters: Vec<(Id, &Water)> = plan
        .objects
        .waters
        .iter()
        .filter(|(_, water)| water.kind != WaterKind::Potable)
        .map(|(id, water)| (*id, water.as_ref()))
        .collect();
    if waters.is_empty() {
        return Err(NothingToAsk);
    }
    let paper = PaperSize::of(checked.units);
    let readings = readings(checked);
    let sections = [
        Some(planned(checked)),
        Some(questions(checked, &waters)),
        readings,
        Some(Section {
            heading: said("letter.close"),
            blocks: vec![
                paragraph(said("letter.thanks")),
                paragraph(said("caution.who_decides")),
            ],
        }),
        Some(drawing(checked, paper)),
    ];
    let name = plan_name(plan);
    Ok(Report {
        title: text::fill("letter.title", [("name", name.clone())]),
        kind: said("letter.kind"),
        language: "en",
        facts: facts(checked, &waters),
        sections: sections.into_iter().flatten().collect(),
        running: running("letter.running", checked),
        footer: footer(plan),
        paper,
    })
}

fn facts(checked: &Checked<'_>, waters: &[(Id, &Water)]) -> Vec<(String, String)> {
    let mut suppliers: Vec<String> = waters
        .iter()
        .map(|(_, water)| water.supplier.trim().to_owned())
        .filter(|supplier| !supplier.is_empty())
        .collect();
    suppliers.dedup();
    let to = if suppliers.is_empty() {
        said("letter.to_unknown")
    } else {
        listed(suppliers)
    };
    let place = checked.plan.site.place.trim();
    let place = if place.is_empty() {
        said("letter.place_blank")
    } else {
        place.to_owned()
    };
    vec![
        (said("letter.to"), to),
        (said("letter.from"), said("letter.from_blank")),
        (said("client.place"), place),
        (said("client.date"), checked.date.to_owned()),
    ]
}

/// What is to be watered how: one row a method.
fn planned(checked: &Checked<'_>) -> Section {
    let mut rows: BTreeMap<Method, (Vec<&str>, BTreeSet<Id>)> = BTreeMap::new();
    for ruling in rulings(checked) {
        let (crops, places) = rows.entry(ruling.method).or_default();
        let crop = text::get(&ruling.name);
        if !crops.contains(&crop) {
            crops.push(crop);
        }
        places.insert(ruling.subject);
    }
    let heading = said("letter.planned");
    let site = text::get(checked.plan.site.kind.key()).to_owned();
    let mut blocks = vec![paragraph(text::fill("letter.intro", [("site", site)]))];
    if rows.is_empty() {
        blocks.push(paragraph(said("letter.planned_none")));
        return Section { heading, blocks };
    }
    let head = |key: &str, width: f64| -> Column { column(said(key), width, Align::Left) };
    let rows = rows.into_iter().map(|(method, (crops, places))| {
        vec![
            Cell::of(text::get(method.key())),
            Cell::of(listed(crops.into_iter().map(str::to_owned))),
            Cell::of(in_short(places)),
        ]
    });
    blocks.push(Block::Table(Table {
        caption: heading.clone(),
        columns: vec![
            head("letter.by", 2.0),
            head("letter.what", 4.6),
            head("letter.where", 1.4),
        ],
        rows: rows.collect(),
        in_halves: false,
    }));
    Section { heading, blocks }
}

fn rulings<'a>(checked: &Checked<'a>) -> impl Iterator<Item = &'a Ruling> {
    let judged = checked.analysis.contact.values();
    judged.flat_map(|output| &output.rulings)
}

/// What only the supplier can state.
fn questions(checked: &Checked<'_>, waters: &[(Id, &Water)]) -> Section {
    let several = waters.len() > 1;
    let mut items: Vec<String> = waters
        .iter()
        .map(|(id, water)| {
            let asked = class_question(checked, water);
            if several {
                let of = (
                    "water",
                    format!("{id} {}", water.meta.label).trim_end().to_owned(),
                );
                text::fill("letter.of_water", [of, ("question", asked)])
            } else {
                asked
            }
        })
        .collect();
    items.extend(
        [
            "letter.treatment",
            "letter.quality",
            "letter.pressure",
            "letter.hours",
            "letter.protection",
            "letter.outlets",
            "letter.signs",
            "letter.agreement",
        ]
        .map(said),
    );
    Section {
        heading: said("letter.questions"),
        blocks: vec![Block::Notes {
            items,
            below: String::new(),
        }],
    }
}

/// Which class: to be named, or to be confirmed. The names are those of the rules in force.
fn class_question(checked: &Checked<'_>, water: &Water) -> String {
    if water.class != UNKNOWN_CLASS {
        let class = ("class", class_in_words(checked.plan, &water.class));
        let who = water.class_stated_by.trim();
        return if who.is_empty() {
            text::fill("letter.class_confirm", [class])
        } else {
            let values = [class, ("who", who.to_owned())];
            text::fill("letter.class_confirm_told", values)
        };
    }
    let books = checked.plan.rules.books_in_force();
    let binding = books.filter(|book| book.binding);
    let mut names: Vec<String> = binding
        .flat_map(|book| &book.water_classes)
        .filter(|class| class.id != UNKNOWN_CLASS)
        .map(|class| class.label.clone())
        .collect();
    names.dedup();
    if names.is_empty() {
        return said("letter.class_open");
    }
    text::fill("letter.class", [("classes", names.join("; "))])
}

/// Where the rule we hold is our reading, or leaves the answer to somebody: the very question, once a rule.
fn readings(checked: &Checked<'_>) -> Option<Section> {
    let mut rows: BTreeMap<(&str, &str), (&Ruling, Vec<String>)> = BTreeMap::new();
    for ruling in rulings(checked) {
        if !ruling.cautious_reading && ruling.verdict != Verdict::Ask {
            continue;
        }
        let citation = &ruling.decided_by.citation;
        let row = rows.entry((&citation.book, &citation.rule));
        let (_, what) = row.or_insert_with(|| (ruling, Vec::new()));
        let use_ = text::fill(
            "letter.use",
            [
                ("crop", text::get(&ruling.name).to_owned()),
                ("id", ruling.subject.to_string()),
                ("method", text::get(ruling.method.key()).to_owned()),
            ],
        );
        if !what.contains(&use_) {
            what.push(use_);
        }
    }
    if rows.is_empty() {
        return None;
    }
    let items = rows.into_values().map(|(ruling, what)| {
        let key = if ruling.cautious_reading {
            "letter.reading"
        } else {
            "letter.open"
        };
        Entry {
            tag: text::get(ruling.verdict.key()).to_owned(),
            text: text::fill(key, [("uses", listed(what))]),
            below: vec![
                text::get(&ruling.decided_by.message).to_owned(),
                ruled(&ruling.decided_by.citation),
            ],
        }
    });
    Some(Section {
        heading: said("letter.readings"),
        blocks: vec![
            paragraph(said("letter.readings_intro")),
            Block::Entries {
                items: items.collect(),
            },
        ],
    })
}
