//! The report for a client: what the drawing is, what stands against it, whether the water may be used, pressures, parts,
//! assumptions, cautions. The words come from the text table, the numbers from `units::display`.

use super::notes::Notes;
use super::summary::zone_summaries;
use super::tree::{Align, Block, Cell, Column, Figure, PaperSize, Report, Section, Table};
use super::{Checked, Shown, contact_table, findings_section};
use crate::analysis::class_in_words;
use crate::drawing::notice::{aged_rules, rules_in_force, rules_line, whom_to_ask};
use crate::drawing::paper::Paper;
use crate::drawing::sheet::{SheetInput, sheet};
use crate::drawing::theme::Theme;
use crate::drawing::words::{plan_name, short_fingerprint};
use crate::drawing::{View, ViewOptions, build};
use crate::hydraulics::SupplyCase;
use crate::model::{Plan, WaterKind};
use crate::takeoff::Quantity;
use crate::text;
use crate::units::display;

/// Height of the window that a report keeps for its drawing, in points.
const FIGURE_HEIGHT_PT: f64 = 650.0;

/// The client set.
#[must_use]
pub fn client_report(checked: &Checked<'_>) -> Report {
    let plan = checked.plan;
    let fingerprint = short_fingerprint(plan);
    let paper = PaperSize::of(checked.units);
    let mut notes = Notes::default();
    let mut contact = contact_table::section(checked, &mut notes);
    let findings = findings_section::section(checked, &mut notes);
    contact.blocks.extend(notes.block());
    Report {
        title: plan_name(plan),
        kind: said("client.kind"),
        language: "en",
        facts: facts(checked, &fingerprint),
        sections: vec![
            drawing(checked, paper),
            contact,
            Section {
                heading: said("client.cautions"),
                blocks: vec![Block::Cautions {
                    items: super::cautions().into_iter().map(str::to_owned).collect(),
                }],
            },
            findings,
            zones(checked),
            assumptions(checked),
            parts(checked),
        ],
        running: running("client.running", checked),
        footer: footer(plan),
        paper,
    }
}

/// The line at the head of each page.
pub(super) fn running(key: &str, checked: &Checked<'_>) -> String {
    let values = [
        ("name", plan_name(checked.plan)),
        ("fingerprint", short_fingerprint(checked.plan)),
        ("date", checked.date.to_owned()),
    ];
    text::fill(key, values)
}

/// The line at the foot of each page: the rules, and whom to ask.
pub(super) fn footer(plan: &Plan) -> String {
    let rules = rules_in_force(plan);
    let values = [("rules", rules_line(&rules)), ("ask", whom_to_ask(&rules))];
    text::fill("client.footer", values)
}

pub(super) fn said(key: &str) -> String {
    text::get(key).to_owned()
}

pub(super) fn paragraph(text: String) -> Block {
    Block::Paragraph { text }
}

fn facts(checked: &Checked<'_>, fingerprint: &str) -> Vec<(String, String)> {
    let plan = checked.plan;
    let mut facts = Vec::new();
    let mut add = |key: &str, words: String| {
        if !words.is_empty() {
            facts.push((said(key), words));
        }
    };
    add("client.place", plan.site.place.clone());
    add("client.date", checked.date.to_owned());
    add("client.design", fingerprint.to_owned());
    add("client.state", said("paper.state"));
    add("client.found", findings_section::counts(checked));
    let rules = rules_line(&rules_in_force(plan));
    let rules = if aged_rules(plan, checked.date).is_empty() {
        rules
    } else {
        text::fill("client.rules_aged", [("rules", rules)])
    };
    add("client.rules", rules);
    add("client.waters", waters(plan));
    facts
}

/// The class of each irrigation water, and who stated it.
fn waters(plan: &Plan) -> String {
    let irrigation = plan.objects.waters.values();
    let rows = irrigation
        .filter(|water| water.kind != WaterKind::Potable)
        .map(|water| {
            let stated = if water.class_stated_by.is_empty() {
                said("client.class_unstated")
            } else {
                text::fill(
                    "client.class_stated",
                    [("who", water.class_stated_by.clone())],
                )
            };
            let key = if water.meta.label.is_empty() {
                "client.water_row_unnamed"
            } else {
                "client.water_row"
            };
            text::fill(
                key,
                [
                    ("label", water.meta.label.clone()),
                    ("class", class_in_words(plan, &water.class)),
                    ("stated", stated),
                ],
            )
        });
    rows.collect::<Vec<_>>().join("; ")
}

/// The plan at an exact scale, in the contact view: it is what the client reads it for.
pub(super) fn drawing(checked: &Checked<'_>, paper: PaperSize) -> Section {
    let options = ViewOptions {
        view: View::Contact,
        case: match checked.shown {
            Shown::Case(case) => case,
            Shown::Worst => SupplyCase::Low,
        },
        units: checked.units,
    };
    let drawing = build(checked.plan, checked.review, checked.analysis, options);
    let input = SheetInput {
        plan: checked.plan,
        analysis: checked.analysis,
        drawing: &drawing,
        options,
        theme: Theme::Light,
        date: checked.date,
    };
    let block = match sheet(
        &input,
        Paper::figure(paper.content_width(), FIGURE_HEIGHT_PT),
    ) {
        Ok(sheet) => Block::Figure(Figure {
            caption: text::fill(
                "client.figure",
                [
                    ("name", plan_name(checked.plan)),
                    ("scale", sheet.scale.words.to_owned()),
                ],
            ),
            svg: sheet.svg,
            alt: sheet.alt,
            width_pt: sheet.width,
            height_pt: sheet.height,
        }),
        // Said in its place, never shrunk silently.
        Err(error) => paragraph(text::fill(
            "client.figure_missing",
            [("why", error.to_string())],
        )),
    };
    Section {
        heading: said("client.plan"),
        blocks: vec![block],
    }
}

pub(super) fn column(head: String, width: f64, align: Align) -> Column {
    Column { head, width, align }
}

/// A shown quantity as figure and unit.
fn split(shown: &str) -> (String, String) {
    match shown.rsplit_once(' ') {
        Some((figure, unit)) => (figure.to_owned(), unit.to_owned()),
        None => (shown.to_owned(), String::new()),
    }
}

fn zones(checked: &Checked<'_>) -> Section {
    let units = checked.units;
    let rows = zone_summaries(checked.plan, checked.analysis);
    let heading = said("client.zones");
    if rows.is_empty() {
        let blocks = vec![paragraph(said("client.zones_none"))];
        return Section { heading, blocks };
    }
    let flow_unit = split(&units.flow(crate::units::Flow::ZERO)).1;
    let pressure_unit = split(&units.pressure(crate::units::Pressure::ZERO)).1;
    let head = |key: &str, unit: &str| text::fill(key, [("unit", unit.to_owned())]);
    let pair = |low: Option<String>, high: Option<String>| {
        let figure =
            |shown: Option<String>| shown.map_or_else(|| "–".to_owned(), |shown| split(&shown).0);
        text::fill(
            "client.pair",
            [("low", figure(low)), ("high", figure(high))],
        )
    };
    let columns = vec![
        column(said("client.zone"), 3.1, Align::Left),
        column(head("client.flow", &flow_unit), 1.5, Align::Right),
        column(head("client.rated", &flow_unit), 0.95, Align::Right),
        column(said("client.emitters"), 1.15, Align::Right),
        column(head("client.at_valve", &pressure_unit), 1.5, Align::Right),
        column(head("client.first", &pressure_unit), 1.5, Align::Right),
        column(head("client.last", &pressure_unit), 1.5, Align::Right),
        column(said("client.uniformity"), 1.3, Align::Right),
    ];
    let rows = rows.into_iter().map(|row| {
        let pressures = |[low, _, high]: [Option<crate::units::Pressure>; 3]| {
            let shown = |value: Option<_>| value.map(|value| units.pressure(value));
            pair(shown(low), shown(high))
        };
        let [low, _, high] = row.flow.map(|flow| Some(units.flow(flow)));
        let even = row.uniformity[0].map_or_else(|| "–".to_owned(), display::percent);
        let zone = format!("{} {}", row.id, row.label);
        [
            zone.trim_end().to_owned(),
            pair(low, high),
            split(&units.flow(row.rated)).0,
            row.num_emitters.to_string(),
            pressures(row.at_valve),
            pressures(row.first),
            pressures(row.last),
            even,
        ]
        .map(Cell::of)
        .to_vec()
    });
    let table = Table {
        caption: heading.clone(),
        columns,
        rows: rows.collect(),
        in_halves: false,
    };
    let blocks = vec![paragraph(said("client.zones_intro")), Block::Table(table)];
    Section { heading, blocks }
}

fn parts(checked: &Checked<'_>) -> Section {
    let heading = said("client.parts");
    let lines = &checked.analysis.parts.lines;
    if lines.is_empty() {
        let blocks = vec![paragraph(said("client.parts_none"))];
        return Section { heading, blocks };
    }
    let rows = lines.iter().map(|line| {
        let quantity = match line.quantity {
            Quantity::Pieces(count) => count.to_string(),
            Quantity::Run(length) => checked.units.run(length),
        };
        vec![Cell::of(quantity), Cell::of(line.name.clone())]
    });
    let table = Table {
        caption: heading.clone(),
        columns: vec![
            column(said("client.quantity"), 1.15, Align::Right),
            column(said("client.part"), 4.6, Align::Left),
        ],
        rows: rows.collect(),
        in_halves: true,
    };
    let blocks = vec![paragraph(said("client.parts_intro")), Block::Table(table)];
    Section { heading, blocks }
}

fn assumptions(checked: &Checked<'_>) -> Section {
    let assumed = &checked.analysis.assumptions;
    let intro = match assumed.len() {
        0 => said("client.assumptions_none"),
        1 => said("client.assumptions_one"),
        count => text::fill("client.assumptions_intro", [("count", count.to_string())]),
    };
    let items: Vec<String> = assumed
        .iter()
        .map(|assumption| assumption.message.sentence(checked.units))
        .collect();
    let mut blocks = vec![paragraph(intro)];
    if !items.is_empty() {
        blocks.push(Block::List { items });
    }
    Section {
        heading: said("client.assumptions"),
        blocks,
    }
}
