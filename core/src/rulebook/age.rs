//! Rules change, and a text that was read long ago may be an old one.

use super::rows::Rulebook;

/// A day as `YYYY-MM-DD`: such words sort as days do.
#[must_use]
pub fn is_day(words: &str) -> bool {
    let shape = words.bytes().enumerate().all(|(index, byte)| match index {
        4 | 7 => byte == b'-',
        _ => byte.is_ascii_digit(),
    });
    let part = |from: usize, to: usize| words.get(from..to).and_then(|it| it.parse().ok());
    let month: Option<u8> = part(5, 7);
    let day: Option<u8> = part(8, 10);
    words.len() == 10
        && shape
        && month.is_some_and(|month| (1..=12).contains(&month))
        && day.is_some_and(|day| (1..=31).contains(&day))
}

/// The same day of the next year.
fn a_year_on(day: &str) -> Option<String> {
    let (year, rest) = day.split_once('-')?;
    let year: u32 = year.parse().ok()?;
    Some(format!("{:04}-{rest}", year.checked_add(1)?))
}

impl Rulebook {
    /// Whether its texts should be read again on a day: they were read more than twelve months before, or a change that was
    /// known then is in force now. A day that is none is never late enough.
    #[must_use]
    pub fn is_aged(&self, day: &str) -> bool {
        let is_old = a_year_on(&self.as_of).is_none_or(|limit| day > limit.as_str());
        is_day(day)
            && (is_old
                || self
                    .changes
                    .iter()
                    .any(|change| change.from.as_str() <= day))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rulebook::{GENERIC, KnownChange, built_in_book};

    #[test]
    fn a_book_ages_the_day_after_a_year_and_when_a_known_change_comes() {
        let mut book = built_in_book(GENERIC).unwrap().clone();
        book.as_of = "2025-11-01".to_owned();
        for (day, is_aged) in [
            ("2025-11-01", false),
            ("2026-11-01", false),
            ("2026-11-02", true),
            ("2027-01-01", true),
            ("soon", false),
        ] {
            assert_eq!(book.is_aged(day), is_aged, "{day}");
        }
        book.changes.push(KnownChange {
            from: "2026-03-01".to_owned(),
            what: "a new table".to_owned(),
        });
        assert!(!book.is_aged("2026-02-28"));
        assert!(book.is_aged("2026-03-01"));
    }

    #[test]
    fn a_day_is_written_with_year_month_and_day() {
        assert!(is_day("2026-03-01"));
        for words in [
            "2026",
            "2026-13-01",
            "2026-03-32",
            "26-03-01",
            "2026-3-1",
            "2026/03/01",
            "",
        ] {
            assert!(!is_day(words), "{words}");
        }
    }
}
