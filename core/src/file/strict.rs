//! What must hold of the text before it is read as a plan: it is text, whole, a group in braces, and no key stands twice.
//! Also finds the line of an object.

use std::collections::BTreeSet;
use std::fmt;

use serde::de::{DeserializeSeed, Error as _, MapAccess, SeqAccess, Visitor};

use super::{LoadError, words};
use crate::ids::Id;

/// The bytes as text. A letter that is cut through at the end is a file that is cut off.
pub(super) fn text(bytes: &[u8]) -> Result<&str, LoadError> {
    std::str::from_utf8(bytes).map_err(|error| {
        let at = error.valid_up_to();
        let (line, column) = place_at(&bytes[..at]);
        match error.error_len() {
            None if bytes.trim_ascii_start().starts_with(b"{") => {
                LoadError::CutOff { line, column }
            }
            _ => LoadError::NotText { at },
        }
    })
}

/// Line and column, from 1, of what follows these bytes.
fn place_at(before: &[u8]) -> (usize, usize) {
    let lines = before.split(|byte| *byte == b'\n');
    let last = before.rsplit(|byte| *byte == b'\n').next();
    (lines.count(), last.map_or(0, <[u8]>::len) + 1)
}

/// Reads the whole text once: syntax errors and double keys are told with line and column.
pub(super) fn check(text: &str) -> Result<(), LoadError> {
    let blank = text.len() - text.trim_ascii_start().len();
    if !text[blank..].starts_with('{') {
        let (line, column) = place_at(&text.as_bytes()[..blank]);
        return Err(LoadError::NoGroup { line, column });
    }
    let mut source = serde_json::Deserializer::from_str(text);
    let checked = NoDoubles
        .deserialize(&mut source)
        .and_then(|()| source.end());
    checked.map_err(|error| syntax(&error))
}

/// The parser's error as ours.
fn syntax(error: &serde_json::Error) -> LoadError {
    let (line, column) = (error.line(), error.column());
    if error.is_eof() {
        return LoadError::CutOff { line, column };
    }
    LoadError::Syntax {
        line,
        column,
        what: words::plain(error),
    }
}

/// The line where a key first stands; 1 if it does not.
pub(super) fn line_of_key(text: &str, key: &str) -> usize {
    let key = format!("\"{key}\"");
    let defined = text
        .match_indices(&key)
        .find(|(at, _)| text[at + key.len()..].trim_start().starts_with(':'));
    defined.map_or(1, |(at, _)| text[..at].matches('\n').count() + 1)
}

/// `Line 12, at design.objects.pipes.P1`: where an object is defined. The text has been checked, so its key stands once.
pub(super) fn place_of(text: &str, id: Id) -> String {
    let line = line_of_key(text, &id.to_string());
    let table = match id.kind {
        crate::ids::Kind::Box => "boxes".to_owned(),
        crate::ids::Kind::Supply => "supplies".to_owned(),
        crate::ids::Kind::Crossing => "crossings".to_owned(),
        kind => format!("{kind:?}s").to_lowercase(),
    };
    format!("Line {line}, at design.objects.{table}.{id}")
}

/// Reads any value and keeps nothing but the keys of the objects it is inside.
struct NoDoubles;

impl<'de> DeserializeSeed<'de> for NoDoubles {
    type Value = ();
    fn deserialize<D: serde::Deserializer<'de>>(self, source: D) -> Result<(), D::Error> {
        source.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for NoDoubles {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("any value")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut rows: A) -> Result<(), A::Error> {
        let mut seen = BTreeSet::new();
        while let Some(key) = rows.next_key::<String>()? {
            if seen.contains(&key) {
                return Err(A::Error::custom(format_args!(
                    "the key \"{key}\" stands twice"
                )));
            }
            seen.insert(key);
            rows.next_value_seed(Self)?;
        }
        Ok(())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<(), A::Error> {
        while items.next_element_seed(Self)?.is_some() {}
        Ok(())
    }

    fn visit_bool<E>(self, _: bool) -> Result<(), E> {
        Ok(())
    }
    fn visit_i64<E>(self, _: i64) -> Result<(), E> {
        Ok(())
    }
    fn visit_u64<E>(self, _: u64) -> Result<(), E> {
        Ok(())
    }
    fn visit_f64<E>(self, _: f64) -> Result<(), E> {
        Ok(())
    }
    fn visit_str<E>(self, _: &str) -> Result<(), E> {
        Ok(())
    }
    fn visit_unit<E>(self) -> Result<(), E> {
        Ok(())
    }
}
