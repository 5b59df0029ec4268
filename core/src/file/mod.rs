//! The plan file: bytes to a document and back. It never touches a disk.
//!
//! JSON with `"format": "aubergine-plan"` and a version; the model's structs are the schema. Reading is strict: every
//! mistake is told once, with its place and what to do; writing is canonical, so that two saves are equal byte for byte.

mod format;
pub mod hash;
mod strict;
mod words;
mod writer;

use serde_json::Value;

use crate::model::{Document, integrity};

pub use format::embed;
pub use hash::{fingerprint, sha256_hex};
pub(crate) use writer::pretty as canonical;

/// The word that marks a plan file.
pub const FORMAT: &str = "aubergine-plan";
/// The version this program writes.
pub const VERSION: u64 = 3;
/// Larger files are refused unread: the largest plan this program is made for takes a tenth of it.
pub const LARGEST_BYTES: usize = 256 * 1024 * 1024;

/// Why a file cannot be read. Each sentence says what is wrong, where, and what can be done.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LoadError {
    /// Nothing in it.
    #[error("The file is empty. Open another copy of the plan, or start a new one.")]
    Empty,
    /// Far too large.
    #[error("The file has {megabytes} MB; plans up to {} MB can be read. Is it another kind of file?", LARGEST_BYTES / 1024 / 1024)]
    TooLarge {
        /// Its size.
        megabytes: usize,
    },
    /// Not text at all.
    #[error("The file is not a plan: byte {at} is not text. Is it another kind of file?")]
    NotText {
        /// First byte that is not UTF-8.
        at: usize,
    },
    /// No group in braces, which a plan is.
    #[error(
        "Line {line}, column {column}: this is not a plan file, for a plan begins with a brace here. Open a file that was saved as a plan. Is it another kind of file?"
    )]
    NoGroup {
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
    },
    /// The end is missing.
    #[error(
        "Line {line}, column {column}: the file ends in the middle of the plan; the rest is missing. Open another copy."
    )]
    CutOff {
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
    },
    /// Not JSON.
    #[error(
        "Line {line}, column {column}: {what}. The file is damaged here; open another copy, or mend that line in a text editor."
    )]
    Syntax {
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// What is wrong there.
        what: String,
    },
    /// JSON, but not a plan.
    #[error(
        "The file is not a plan: its \"format\" is {found}, and plans say \"{FORMAT}\". Open a file that was saved as a plan."
    )]
    NotAPlan {
        /// What it says instead.
        found: String,
    },
    /// From a newer program.
    #[error(
        "This plan was made with a newer version of the program (file version {found}; this one reads up to {VERSION}). Install the newer version to work on it; the file was not changed."
    )]
    Newer {
        /// Its version.
        found: u64,
    },
    /// A value that does not fit.
    #[error(
        "Line {line}, at {path}: {what}. Mend that value in a text editor, or open another copy."
    )]
    Meaning {
        /// Line, from 1.
        line: usize,
        /// Key path from the top.
        path: String,
        /// What is wrong with it.
        what: String,
    },
    /// Names that lead nowhere.
    #[error("{place}: {what}. Mend that line in a text editor, or open another copy.{more}")]
    Broken {
        /// `Line 12, at design.objects.pipes.P1`.
        place: String,
        /// The first broken rule.
        what: String,
        /// How many more there are, as a sentence.
        more: String,
    },
}

/// Reads a plan file.
///
/// The document comes back in normal form: rows and rulebooks in use are carried in it, and `next_id` is above every
/// name in use.
///
/// # Errors
/// [`LoadError`] with the place and the remedy. Nothing is half read.
pub fn load(bytes: &[u8]) -> Result<Document, LoadError> {
    if bytes.len() > LARGEST_BYTES {
        return Err(LoadError::TooLarge {
            megabytes: bytes.len() / 1024 / 1024,
        });
    }
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(LoadError::Empty);
    }
    let text = strict::text(bytes)?;
    strict::check(text)?;
    format::header(text)?;
    let mut document = format::document(text)?;
    let violations = integrity::violations(&document.design.objects);
    let mut fatal = violations.iter().filter(|violation| violation.is_fatal());
    if let Some(first) = fatal.next() {
        let others = fatal.count();
        let more = if others > 0 {
            format!(" ({others} more like it.)")
        } else {
            String::new()
        };
        return Err(LoadError::Broken {
            place: strict::place_of(text, first.place()),
            what: first.to_string(),
            more,
        });
    }
    format::normalise(&mut document);
    Ok(document)
}

/// Writes a document in its canonical form.
#[must_use]
pub fn save(document: &Document) -> Vec<u8> {
    let mut document = document.clone();
    format::normalise(&mut document);
    document
        .extra
        .insert("format".to_owned(), Value::from(FORMAT));
    document
        .extra
        .insert("version".to_owned(), Value::from(VERSION));
    let mut bytes = writer::pretty(&format::ordered(&document));
    bytes.push(b'\n');
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    fn message(text: &str) -> String {
        load(text.as_bytes()).unwrap_err().to_string()
    }

    #[test]
    fn an_empty_plan_reads_back_as_written() {
        let saved = save(&Document::default());
        let again = load(&saved).unwrap();
        assert_eq!(save(&again), saved);
    }

    #[test]
    fn syntax_errors_give_line_and_column() {
        assert!(
            message("{\n  \"format\": \"aubergine-plan\",\n  \"version\": }")
                .starts_with("Line 3, column")
        );
    }

    #[test]
    fn meaning_errors_give_line_and_path() {
        let text = "{\"format\": \"aubergine-plan\", \"version\": 1, \"design\": {\"objects\": {\"beds\": {\n\"B1\": {\"at_m\": [0, \"x\"], \"outline_m\": []}}}}}";
        let message = message(text);
        assert!(
            message.starts_with("Line 2, at design.objects.beds.B1.at_m"),
            "{message}"
        );
    }

    #[test]
    fn a_key_that_stands_twice_is_an_error_at_any_depth() {
        for text in [
            "{\"format\": \"aubergine-plan\", \"version\": 1, \"owner\": {}, \"owner\": {}}",
            "{\"format\": \"aubergine-plan\", \"version\": 1, \"later\": {\"deep\": [{\"a\": 1, \"a\": 2}]}}",
        ] {
            assert!(message(text).contains("twice"), "{}", message(text));
        }
    }

    #[test]
    fn a_newer_file_is_named_as_such() {
        assert_eq!(
            load(format!("{{\"format\": \"{FORMAT}\", \"version\": {}}}", VERSION + 1).as_bytes()),
            Err(LoadError::Newer { found: VERSION + 1 })
        );
    }

    #[test]
    fn names_that_lead_nowhere_give_their_line() {
        let text = "{\"format\": \"aubergine-plan\", \"version\": 1, \"design\": {\"objects\": {\"pipes\": {\n\"P1\": {\"part\": \"x\", \"water\": \"W1\", \"vertices_m\": [[0,0],[1,0]]}}}}}";
        let message = message(text);
        assert!(
            message.starts_with("Line 2, at design.objects.pipes.P1: P1 names W1"),
            "{message}"
        );
    }

    #[test]
    fn unknown_fields_survive_at_every_depth() {
        let text = r#"{"format": "aubergine-plan", "version": 1, "later": {"x": [1, 2.5]},
            "design": {"later": true, "site": {"later": 1, "soil": {"later": "s"}},
              "objects": {"later_kind": {"Q1": {}}, "waters": {"W1": {"kind": "reclaimed", "later": null, "report": {"ph": 7.4}}},
                "beds": {"B1": {"at_m": [0, 0], "outline_m": [[0,0],[1,0],[1,1]], "later": {"a": 1},
                   "plantings": [{"crop": "x", "later": 3}]}}}}}"#;
        let saved = String::from_utf8(save(&load(text.as_bytes()).unwrap())).unwrap();
        assert_eq!(saved.matches("later").count(), 8, "{saved}");
        assert!(saved.contains("\"ph\": 7.4"));
    }
}
