//! What was found about pipe sizes, in words and for machines.

use serde::Serialize;

use crate::analysis::sizing::{Bound, NoSizes, Sizing};
use crate::drawing::words::plan_name;
use crate::finding::{Message, Value};
use crate::ids::Id;
use crate::model::Plan;
use crate::text;
use crate::units::{UnitSystem, display};

/// Sizes in words, part by part, so that window and terminal say the same.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SizingWords {
    /// Cost now and then.
    pub cost: String,
    /// Each run that changes.
    pub changes: Vec<String>,
    /// Each run that stays.
    pub stays: Vec<String>,
    /// What binds.
    pub bounds: Vec<String>,
    /// How it was proved, and with what margins.
    pub proof: Vec<String>,
    /// What the prices are.
    pub price_note: &'static str,
}

/// Sizes in words.
#[must_use]
pub fn sizing_words(plan: &Plan, sizing: &Sizing, units: UnitSystem) -> SizingWords {
    let name = |key: &str| {
        let row = plan.catalog.pipe(key);
        row.map_or_else(|| key.to_owned(), |row| row.name.clone())
    };
    let say = |key: &str, values| Message::new(key, values).sentence(units);
    let ids = |id: Id| Value::Ids(vec![id]);
    let before = display::fixed(sizing.cost_before, 1);
    let cost = if sizing.edit.is_none() {
        text::fill("size.cost_same", [("before", before)])
    } else {
        let share = sizing.cost_after / sizing.cost_before - 1.0;
        let change = format!(
            "{}{}",
            if share < 0.0 { "−" } else { "+" },
            display::percent(share.abs())
        );
        text::fill(
            "size.cost",
            [
                ("before", before),
                ("after", display::fixed(sizing.cost_after, 1)),
                ("change", change),
            ],
        )
    };
    let (mut changes, mut stays) = (Vec::new(), Vec::new());
    for run in &sizing.runs {
        let changed = run.old != run.new;
        let key = if changed { "size.run" } else { "size.run_same" };
        let words = say(
            key,
            vec![
                ("run", ids(run.id)),
                ("old", Value::Text(name(&run.old))),
                ("new", Value::Text(name(&run.new))),
                ("length", Value::Length(run.length)),
            ],
        );
        if changed { &mut changes } else { &mut stays }.push(words);
    }
    let bounds = sizing
        .bounds
        .iter()
        .map(|bound| match bound {
            Bound::Velocity {
                run,
                smaller,
                velocity,
            } => say(
                "size.bound_velocity",
                vec![
                    ("run", ids(*run)),
                    ("smaller", Value::Text(name(smaller))),
                    ("velocity", Value::Velocity(*velocity)),
                    ("limit", Value::Velocity(crate::analysis::sizing::FASTEST)),
                ],
            ),
            Bound::Pressure {
                outlet,
                pressure,
                least,
                runs,
            } => say(
                if runs.is_empty() {
                    "size.least_spare"
                } else {
                    "size.bound_pressure"
                },
                vec![
                    ("outlet", Value::Text(outlet.clone())),
                    ("pressure", Value::Pressure(*pressure)),
                    ("least", Value::Pressure(*least)),
                    ("runs", Value::Ids(runs.clone())),
                ],
            ),
        })
        .collect();
    let mut proof = vec![text::get("size.proved").to_owned()];
    if let Some((run, velocity)) = sizing.fastest {
        proof.push(say(
            "size.fastest",
            vec![("run", ids(run)), ("velocity", Value::Velocity(velocity))],
        ));
    }
    proof.extend(sizing.variation.iter().map(|(zone, variation)| {
        say(
            "size.variation",
            vec![
                ("zone", ids(*zone)),
                ("variation", Value::Share(*variation)),
            ],
        )
    }));
    if sizing.is_thinned {
        proof.push(text::get("size.thinned").to_owned());
    }
    SizingWords {
        cost,
        changes,
        stays,
        bounds,
        proof,
        price_note: text::get("size.price_note"),
    }
}

/// Sizes as plain text for a terminal.
#[must_use]
pub fn sizing_text(plan: &Plan, found: &Result<Sizing, NoSizes>, units: UnitSystem) -> String {
    let sizing = match found {
        Ok(sizing) => sizing,
        Err(why) => return format!("{}\n", why.message().sentence(units)),
    };
    let words = sizing_words(plan, sizing, units);
    let mut lines = vec![
        format!("{} · {}", plan_name(plan), text::get("size.title")),
        words.cost,
        words.price_note.to_owned(),
        String::new(),
        text::get("size.runs").to_owned(),
    ];
    let runs = words.changes.into_iter().chain(words.stays);
    lines.extend(runs.map(|words| format!("  {words}")));
    lines.extend([String::new(), text::get("size.what_binds").to_owned()]);
    lines.extend(words.bounds.into_iter().map(|words| format!("  {words}")));
    lines.push(String::new());
    lines.extend(words.proof);
    lines.push(String::new());
    lines.join("\n")
}

#[derive(Serialize)]
struct SizingDocument {
    schema: &'static str,
    version: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    refused: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    price: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cost_before: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cost_after: Option<f64>,
    runs: Vec<RunRow>,
    binds: Vec<BoundRow>,
}

#[derive(Serialize)]
struct RunRow {
    id: Id,
    old: String,
    new: String,
    length_m: f64,
    cost_before: f64,
    cost_after: f64,
}

#[derive(Serialize)]
#[serde(tag = "by", rename_all = "snake_case")]
enum BoundRow {
    Velocity {
        run: Id,
        smaller: String,
        velocity_mps: f64,
        limit_mps: f64,
    },
    Pressure {
        outlet: String,
        pressure_kpa: f64,
        least_kpa: f64,
        runs: Vec<Id>,
    },
}

/// Sizes as canonical JSON in SI, with a final line break; where there are none, the reason under `refused`.
#[must_use]
pub fn sizing_json(found: &Result<Sizing, NoSizes>, units: UnitSystem) -> Vec<u8> {
    let sizing = found.as_ref().ok();
    let bound = |bound: &Bound| match bound.clone() {
        Bound::Velocity {
            run,
            smaller,
            velocity,
        } => BoundRow::Velocity {
            run,
            smaller,
            velocity_mps: velocity.metres_per_second(),
            limit_mps: crate::analysis::sizing::FASTEST.metres_per_second(),
        },
        Bound::Pressure {
            outlet,
            pressure,
            least,
            runs,
        } => BoundRow::Pressure {
            outlet,
            pressure_kpa: pressure.kilopascals(),
            least_kpa: least.kilopascals(),
            runs,
        },
    };
    let document = SizingDocument {
        schema: "aubergine-size",
        version: 1,
        refused: found
            .as_ref()
            .err()
            .map(|why| why.message().sentence(units)),
        price: sizing.map(|_| text::get("size.price_note")),
        cost_before: sizing.map(|sizing| sizing.cost_before),
        cost_after: sizing.map(|sizing| sizing.cost_after),
        runs: sizing.map_or_else(Vec::new, |sizing| {
            let rows = sizing.runs.iter().map(|run| RunRow {
                id: run.id,
                old: run.old.clone(),
                new: run.new.clone(),
                length_m: run.length.metres(),
                cost_before: run.cost_before,
                cost_after: run.cost_after,
            });
            rows.collect()
        }),
        binds: sizing.map_or_else(Vec::new, |sizing| sizing.bounds.iter().map(bound).collect()),
    };
    let mut bytes = crate::file::canonical(&document);
    bytes.push(b'\n');
    bytes
}
