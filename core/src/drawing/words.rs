//! A sheet in words: its title, its description for those who cannot see it, its short fingerprint.

use std::collections::BTreeMap;

use super::paper::Scale;
use super::sheet::SheetInput;
use super::{Role, Shape, View};
use crate::file::fingerprint;
use crate::model::Plan;
use crate::text;

/// The drawing in words.
pub(super) fn alt(input: &SheetInput<'_>, scale: Scale) -> String {
    const LONGEST: usize = 400;
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for mark in input.drawing.marks() {
        let key = match (&mark.shape, mark.role) {
            (Shape::Area(_), Role::Planted(..)) => "paper.beds",
            (Shape::Symbol { .. }, Role::Device(_)) => "paper.devices",
            _ => continue,
        };
        *counts.entry(key).or_default() += 1;
    }
    counts.insert("paper.pipes", input.plan.objects.pipes.len());
    let each = counts.into_iter().map(|(key, count)| {
        let what = text::get(key).to_owned();
        text::fill(
            "paper.alt_unit",
            [("count", count.to_string()), ("what", what)],
        )
    });
    let told = text::fill(
        "paper.alt",
        [
            ("name", plan_name(input.plan).chars().take(120).collect()),
            ("scale", scale.words.to_owned()),
            ("view", view_word(input.options.view).to_owned()),
            ("counts", crate::finding::listed(each)),
        ],
    );
    told.chars().take(LONGEST).collect()
}

/// The name of a plan; that it has none, if so.
#[must_use]
pub fn plan_name(plan: &Plan) -> String {
    if plan.name.trim().is_empty() {
        text::get("paper.unnamed").to_owned()
    } else {
        plan.name.clone()
    }
}

/// The first eight letters of the fingerprint: what people compare.
#[must_use]
pub fn short_fingerprint(plan: &Plan) -> String {
    fingerprint(plan).chars().take(8).collect()
}

fn view_word(view: View) -> &'static str {
    text::get(match view {
        View::Water => "view.water",
        View::Pressure => "view.pressure",
        View::Contact => "view.contact",
        View::Coverage => "view.coverage",
        View::Plain => "view.plain",
    })
}

pub(super) fn title(input: &SheetInput<'_>) -> String {
    text::fill(
        "paper.title",
        [
            ("name", plan_name(input.plan)),
            ("view", view_word(input.options.view).to_owned()),
        ],
    )
}
