//! The numbered notes of a report: what stands behind a word or a finding is told once, and referred to by its number.

use super::tree::Block;
use crate::finding::{Basis, Citation, listed};
use crate::text;

/// The notes so far, in the order of their numbers.
#[derive(Default)]
pub(super) struct Notes(Vec<Note>);

struct Note {
    why: Option<String>,
    citation: Citation,
}

impl Notes {
    /// The number of the note on a rule, from 1. `why` is the sentence of the rule, for those who do not tell it themselves.
    pub(super) fn number(&mut self, citation: &Citation, why: Option<&str>) -> usize {
        let known = self.0.iter().position(|note| {
            note.citation == *citation
                && (why.is_none() || note.why.is_none() || note.why.as_deref() == why)
        });
        let at = known.unwrap_or_else(|| {
            self.0.push(Note {
                why: None,
                citation: citation.clone(),
            });
            self.0.len() - 1
        });
        if let (Some(why), Some(note)) = (why, self.0.get_mut(at)) {
            note.why = Some(why.to_owned());
        }
        at + 1
    }

    /// The notes and, below them, whom to ask about each.
    pub(super) fn block(self) -> Option<Block> {
        if self.0.is_empty() {
            return None;
        }
        let below = self.asked();
        let items = self.0.into_iter().map(Note::sentence).collect();
        Some(Block::Notes { items, below })
    }

    /// Those whom most notes name, then the others with the numbers of theirs.
    fn asked(&self) -> String {
        let mut groups: Vec<(&str, Vec<String>)> = Vec::new();
        for (number, note) in (1..).zip(&self.0) {
            let ask = note.citation.ask.as_str();
            match groups.iter_mut().find(|(known, _)| *known == ask) {
                Some((_, numbers)) => numbers.push(number.to_string()),
                None => groups.push((ask, vec![number.to_string()])),
            }
        }
        groups.sort_by_key(|(_, numbers)| std::cmp::Reverse(numbers.len()));
        let each = groups.into_iter().enumerate().map(|(at, (ask, numbers))| {
            if at == 0 {
                ask.to_owned()
            } else {
                text::fill(
                    "client.ask_for",
                    [("ask", ask.to_owned()), ("notes", listed(numbers))],
                )
            }
        });
        text::fill(
            "client.whom_to_ask",
            [("each", each.collect::<Vec<_>>().join("; "))],
        )
    }
}

impl Note {
    fn sentence(self) -> String {
        let mut parts: Vec<String> = self.why.into_iter().collect();
        parts.push(format!("{}.", super::cited(&self.citation)));
        if self.citation.interpretation || self.citation.basis == Basis::Judgement {
            parts.push(text::get("client.reading").to_owned());
        }
        parts.join(" ")
    }
}
