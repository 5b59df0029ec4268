//! Verdicts: the word, its rule, what on the drawing brings it about, what would change it.

use super::rows::{CauseRow, ChangeRow, MatchRow, MoveRow, VerdictRow};
use super::{rounded, word};
use crate::analysis::evidence::{self, Change, Evidence};
use crate::contact::{Match, Ruling};
use crate::ids::Id;
use crate::report::Checked;
use crate::text;

pub(super) fn rows(checked: &Checked<'_>) -> Vec<VerdictRow> {
    let mut rows = Vec::new();
    for (water, judged) in &checked.analysis.contact {
        let rulings: Vec<&Ruling> = judged.rulings.iter().collect();
        let behind = evidence::evidence(checked.plan, checked.analysis, *water, &rulings);
        let pairs = rulings.into_iter().zip(&behind);
        rows.extend(pairs.map(|(ruling, behind)| row(checked, *water, ruling, behind)));
    }
    rows.sort_by_key(|row| (row.id, row.planting, row.zone, row.water));
    rows
}

fn row(checked: &Checked<'_>, water: Id, ruling: &Ruling, behind: &Evidence) -> VerdictRow {
    let in_words = |keys: &[String]| keys.iter().map(|key| text::get(key).to_owned()).collect();
    let missing = ruling.missing.iter();
    let causes = behind.causes.iter();
    let changes = behind.changes.iter();
    VerdictRow {
        id: ruling.subject,
        planting: ruling.index,
        water,
        zone: ruling.zone,
        crop: ruling.crop.clone(),
        name: text::get(&ruling.name).to_owned(),
        method: ruling.method.word().to_owned(),
        contact: ruling.contact.map(|contact| word(&contact)),
        overlap_m2: ruling.overlap.map(|area| rounded(area.square_metres(), 4)),
        verdict: word(&ruling.verdict),
        words: text::get(ruling.verdict.key()).to_owned(),
        layer: ruling.decided_by.citation.book.clone(),
        reason: text::get(&ruling.decided_by.message).to_owned(),
        citation: ruling.decided_by.citation.clone(),
        also: ruling.also.iter().map(match_row).collect(),
        advisory: ruling.advisory.iter().map(match_row).collect(),
        conditions: in_words(&ruling.conditions),
        missing: missing
            .map(|fact| text::get(fact.key()).to_owned())
            .collect(),
        causes: causes
            .map(|cause| CauseRow {
                id: cause.subject,
                sentence: cause.message.sentence(checked.units),
            })
            .collect(),
        changes: changes.map(|change| change_row(checked, change)).collect(),
        cautious_reading: ruling.cautious_reading,
        ask: ruling.ask.clone(),
    }
}

fn match_row(found: &Match) -> MatchRow {
    MatchRow {
        verdict: word(&found.verdict),
        reason: text::get(&found.message).to_owned(),
        citation: found.citation.clone(),
    }
}

fn change_row(checked: &Checked<'_>, change: &Change) -> ChangeRow {
    ChangeRow {
        what: change.message.sentence(checked.units),
        verdict: change.verdict.as_ref().map(word),
        method: change.method.map(|method| method.word().to_owned()),
        moved: change.moved.map(|(id, by)| MoveRow {
            id,
            x_m: rounded(by.x, 6),
            y_m: rounded(by.y, 6),
        }),
    }
}
