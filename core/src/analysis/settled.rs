//! Decisions of people about findings: a Check or a Fix may be settled with a reason and a name, a Stop may not, and what was
//! settled stands open again once the finding says something else.

use crate::finding::{Finding, Severity};
use crate::model::{Review, Settlement};
use crate::text;

/// How a finding stands.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Standing<'a> {
    /// Nobody has decided about it, or nobody may.
    Open,
    /// Somebody has.
    Settled(&'a Settlement),
    /// Somebody had, but it says something else now.
    Reopened(&'a Settlement),
}

/// Why a finding cannot be settled so.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
pub enum SettleError {
    /// A rule forbids it or it cannot work: no reason lifts that.
    #[error("{}", text::get("settle.stop"))]
    Stop,
    /// A Note asks nobody to decide.
    #[error("{}", text::get("settle.note"))]
    Note,
    /// The reason is empty.
    #[error("{}", text::get("settle.no_reason"))]
    NoReason,
    /// The name is empty.
    #[error("{}", text::get("settle.no_name"))]
    NoName,
}

/// Whether anybody may settle findings of a gravity.
#[must_use]
pub const fn can_be_settled(severity: Severity) -> bool {
    matches!(severity, Severity::Fix | Severity::Check)
}

/// How a finding stands. A decision about what has become a Stop counts for nothing.
#[must_use]
pub fn standing<'a>(review: &'a Review, finding: &Finding) -> Standing<'a> {
    match review.settled.get(&finding.id()) {
        None => Standing::Open,
        Some(settled) if can_be_settled(finding.severity) && settled.facts == finding.facts() => {
            Standing::Settled(settled)
        }
        Some(settled) => Standing::Reopened(settled),
    }
}

/// How many of the findings are settled.
#[must_use]
pub fn num_settled<'a>(review: &Review, findings: impl IntoIterator<Item = &'a Finding>) -> usize {
    let findings = findings.into_iter();
    findings
        .filter(|finding| matches!(standing(review, finding), Standing::Settled(_)))
        .count()
}

/// A decision about a finding as it stands, made on a day (`YYYY-MM-DD`).
///
/// # Errors
/// The finding is a Stop or a Note, or the reason or the name is empty.
pub fn settle(
    finding: &Finding,
    reason: &str,
    name: &str,
    evidence: &str,
    on: &str,
) -> Result<Settlement, SettleError> {
    let (reason, name) = (reason.trim(), name.trim());
    match finding.severity {
        Severity::Stop => Err(SettleError::Stop),
        Severity::Note => Err(SettleError::Note),
        Severity::Fix | Severity::Check if reason.is_empty() => Err(SettleError::NoReason),
        Severity::Fix | Severity::Check if name.is_empty() => Err(SettleError::NoName),
        Severity::Fix | Severity::Check => Ok(Settlement {
            reason: reason.to_owned(),
            name: name.to_owned(),
            on: on.to_owned(),
            evidence: evidence.trim().to_owned(),
            facts: finding.facts(),
            ..Settlement::default()
        }),
    }
}

/// The decision in words, where there is or was one: `settled by … on …: …`.
#[must_use]
pub fn standing_in_words(review: &Review, finding: &Finding) -> Option<String> {
    let (key, settled) = match standing(review, finding) {
        Standing::Open => return None,
        Standing::Settled(settled) if settled.evidence.is_empty() => ("settle.settled", settled),
        Standing::Settled(settled) => ("settle.settled_shown", settled),
        Standing::Reopened(settled) => ("settle.reopened", settled),
    };
    let gaps = [
        ("name", settled.name.clone()),
        ("on", settled.on.clone()),
        ("reason", settled.reason.clone()),
        ("evidence", settled.evidence.clone()),
        ("facts", settled.facts.clone()),
    ];
    Some(text::fill(key, gaps))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::{Message, Value};
    use crate::ids::{Id, Kind};
    use crate::units::Length;

    fn finding(severity: Severity, feet: f64) -> Finding {
        let values = vec![("distance", Value::Distance(Length::from_feet(feet)))];
        Finding::new(
            "setback",
            severity,
            vec![Id::new(Kind::Bed, 1)],
            Message::new("setback.ask", values),
        )
    }

    #[test]
    fn a_stop_and_a_note_cannot_be_settled_and_somebody_must_say_why_and_who() {
        let settle = |severity, reason, name| {
            settle(&finding(severity, 9.0), reason, name, "", "2027-05-14").err()
        };
        assert_eq!(settle(Severity::Stop, "r", "n"), Some(SettleError::Stop));
        assert_eq!(settle(Severity::Note, "r", "n"), Some(SettleError::Note));
        assert_eq!(settle(Severity::Fix, " ", "n"), Some(SettleError::NoReason));
        assert_eq!(settle(Severity::Check, "r", " "), Some(SettleError::NoName));
        assert_eq!(settle(Severity::Check, "r", "n"), None);
        assert_eq!(settle(Severity::Fix, "r", "n"), None);
    }

    #[test]
    fn what_was_settled_stands_open_again_when_its_facts_change_or_it_becomes_a_stop() {
        let was = finding(Severity::Check, 9.0);
        let mut review = Review::default();
        let settled = settle(&was, "Taped on site", "M. Alder", "photo 3", "2027-05-14").unwrap();
        review.settled.insert(was.id(), settled.clone());
        assert_eq!(standing(&review, &was), Standing::Settled(&settled));
        assert_eq!(num_settled(&review, [&was]), 1);
        for other in [finding(Severity::Check, 8.0), finding(Severity::Stop, 9.0)] {
            assert_eq!(other.id(), was.id());
            assert_eq!(standing(&review, &other), Standing::Reopened(&settled));
            let words = standing_in_words(&review, &other).unwrap();
            assert!(words.contains("2027-05-14"), "{words}");
        }
        let words = standing_in_words(&review, &was).unwrap();
        for part in ["Taped on site", "M. Alder", "photo 3"] {
            assert!(words.contains(part), "{words}");
        }
    }
}
