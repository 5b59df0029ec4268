//! The findings on paper: each Stop in full, with what would help; the rest in a line each, for `check` tells them whole.

use super::Checked;
use super::compose::paragraph;
use super::notes::Notes;
use super::outcome::outcome;
use super::tree::{Block, Entry, Section};
use crate::analysis::Fix;
use crate::analysis::settled::{num_settled, standing_in_words};
use crate::finding::{Finding, Message, Severity, Value};
use crate::text;

/// Sentences that take more than a line, and their short form.
const IN_SHORT: [(&str, &str); 7] = [
    ("contact.conditions", "client.short_conditions"),
    ("contact.conditions_food", "client.short_conditions"),
    ("crossing.unmarked", "client.short_crossing"),
    ("sign.short", "client.short_signs"),
    ("agronomy.intake", "client.short_intake"),
    ("coverage.dry", "client.short_dry"),
    ("agronomy.salt", "client.short_salt"),
];

pub(super) fn section(checked: &Checked<'_>, notes: &mut Notes) -> Section {
    let findings = &checked.analysis.findings;
    let blocks = if findings.is_empty() {
        vec![paragraph(text::get("report.all_clear").to_owned())]
    } else {
        let items = findings
            .iter()
            .map(|finding| match finding.severity {
                Severity::Stop => in_full(checked, finding, notes),
                Severity::Fix | Severity::Check | Severity::Note => {
                    in_a_line(checked, finding, notes)
                }
            })
            .collect();
        vec![
            paragraph(text::get("client.findings_intro").to_owned()),
            Block::Entries { items },
        ]
    };
    Section {
        heading: text::get("client.findings").to_owned(),
        blocks,
    }
}

/// How many there are of each severity, and how many of all are settled.
pub(super) fn counts(checked: &Checked<'_>) -> String {
    let count = |severity: Severity| severity.counted(checked.analysis.count(severity));
    let settled = match num_settled(checked.review, &checked.analysis.findings) {
        0 => None,
        count => Some(text::fill("settle.count", [("count", count.to_string())])),
    };
    let counts = Severity::ALL.map(count).into_iter().chain(settled);
    counts.collect::<Vec<_>>().join(" · ")
}

fn in_full(checked: &Checked<'_>, finding: &Finding, notes: &mut Notes) -> Entry {
    let number = finding
        .citation
        .as_ref()
        .map(|citation| notes.number(citation, None));
    let text = sentence(checked, finding, number, &finding.message);
    let mut below: Vec<String> = unsaid(checked, finding, &text).into_iter().collect();
    below.extend(standing_in_words(checked.review, finding));
    let id = finding.id();
    let fixes = checked.fixes.iter().find(|(known, _)| *known == id);
    let fixes = fixes.map(|(_, fixes)| fixes.as_slice()).unwrap_or_default();
    below.extend(
        fixes
            .iter()
            .filter_map(|fix| would_help(checked, finding, fix)),
    );
    Entry {
        tag: finding.severity.word().to_owned(),
        text,
        below,
    }
}

/// Without the sentence of the rule, which stands in its note.
fn in_a_line(checked: &Checked<'_>, finding: &Finding, notes: &mut Notes) -> Entry {
    let mut message = finding.message.clone();
    let short = IN_SHORT.iter().find(|(whole, _)| *whole == message.key);
    if let Some((_, short)) = short {
        (*short).clone_into(&mut message.key);
    }
    let number = finding.citation.as_ref().map(|citation| {
        let why = message.values.iter_mut().find(|(name, _)| *name == "why");
        let why = why.map(|(_, why)| std::mem::replace(why, Value::Text(String::new())));
        let why = why.map(|why| why.shown(checked.units));
        notes.number(citation, why.as_deref())
    });
    Entry {
        tag: finding.severity.word().to_owned(),
        text: sentence(checked, finding, number, &message),
        below: standing_in_words(checked.review, finding)
            .into_iter()
            .collect(),
    }
}

/// The sentence with a reference to its note: in the place of whom to ask, who stand there, or at its end.
fn sentence(
    checked: &Checked<'_>,
    finding: &Finding,
    number: Option<usize>,
    message: &Message,
) -> String {
    let (Some(number), Some(citation)) = (number, &finding.citation) else {
        return message.sentence(checked.units);
    };
    let number = number.to_string();
    let mut message = message.clone();
    let template = text::get(&message.key);
    let mut refers = template.contains("{note}");
    message.values.push(("note", Value::Text(number.clone())));
    let same = Value::Text(citation.ask.clone());
    let ask = message.values.iter_mut();
    for (_, value) in ask.filter(|(name, value)| *name == "ask" && *value == same) {
        let named = text::fill("client.named_in", [("note", number.clone())]);
        *value = Value::Text(named);
        refers |= template.contains("{ask}");
    }
    let shown = message.sentence(checked.units);
    // Where a gap was left empty.
    let shown = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    if refers {
        shown
    } else {
        text::fill("client.with_note", [("sentence", shown), ("note", number)])
    }
}

/// What was measured, where the sentence does not say it.
fn unsaid(checked: &Checked<'_>, finding: &Finding, sentence: &str) -> Option<String> {
    let measured = finding.measured.as_ref()?;
    let shown = measured.shown(checked.units);
    if sentence.contains(&shown) {
        return None;
    }
    let key = match measured {
        Value::Area(_) => "client.wetted",
        _ => "client.measured",
    };
    Some(text::fill(key, [("value", shown)]))
}

fn would_help(checked: &Checked<'_>, finding: &Finding, fix: &Fix) -> Option<String> {
    let outcome = outcome(finding, fix, checked.units, true)?;
    let what = fix.message.sentence(checked.units);
    Some(text::fill(
        "client.would_help",
        [("fix", what), ("outcome", outcome)],
    ))
}
