//! The header, the typed reading and the normal form of a document.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use serde::Serialize;
use serde_json::Value;

use super::{FORMAT, LoadError, VERSION, hash, strict, words};
use crate::catalog::{Catalog, Rows};
use crate::model::{BUILT_IN, Document, EmbeddedBook, Objects, Plan, Uses};
use crate::rulebook::{self, Rulebook};

/// Checks format and version before anything else is looked at.
pub(super) fn header(text: &str) -> Result<(), LoadError> {
    #[derive(serde::Deserialize)]
    struct Header {
        format: Option<Value>,
        version: Option<Value>,
    }
    // A text that is not an object has no header at all.
    let header = serde_json::from_str::<Header>(text).map_err(|_| LoadError::NotAPlan {
        found: "missing, for it is not a JSON object".to_owned(),
    })?;
    match header.format {
        Some(Value::String(format)) if format == FORMAT => {}
        Some(other) => {
            return Err(LoadError::NotAPlan {
                found: shortened(&other.to_string()),
            });
        }
        None => {
            return Err(LoadError::NotAPlan {
                found: "missing".to_owned(),
            });
        }
    }
    match header.version.as_ref().and_then(Value::as_u64) {
        Some(found) if found > VERSION => Err(LoadError::Newer { found }),
        Some(found) if found >= 1 => Ok(()),
        _ => Err(LoadError::Meaning {
            line: strict::line_of_key(text, "version"),
            path: "version".to_owned(),
            what: format!("expected a whole number no larger than {VERSION}, from 1 on"),
        }),
    }
}

fn shortened(text: &str) -> String {
    const LONGEST: usize = 60;
    if text.chars().count() <= LONGEST {
        return text.to_owned();
    }
    text.chars().take(LONGEST).chain(['…']).collect()
}

/// Reads the typed document; a value that does not fit is told with its key path and line.
pub(super) fn document(text: &str) -> Result<Document, LoadError> {
    let mut source = serde_json::Deserializer::from_str(text);
    let mut document: Document =
        serde_path_to_error::deserialize(&mut source).map_err(|error| LoadError::Meaning {
            line: error.inner().line(),
            path: error.path().to_string(),
            what: words::plain(error.inner()),
        })?;
    document.extra.remove("format");
    document.extra.remove("version");
    Ok(document)
}

/// Puts format and version first and the rest in its set order, whatever `extra` holds.
pub(super) fn ordered(document: &Document) -> impl Serialize + '_ {
    struct Ordered<'a>(&'a Document);
    impl Serialize for Ordered<'_> {
        fn serialize<S: serde::Serializer>(&self, sink: S) -> Result<S::Ok, S::Error> {
            use serde::ser::SerializeMap;
            let document = self.0;
            let mut map = sink.serialize_map(None)?;
            for key in ["format", "version"] {
                if let Some(value) = document.extra.get(key) {
                    map.serialize_entry(key, value)?;
                }
            }
            map.serialize_entry("design", &document.design)?;
            map.serialize_entry("options", &document.options)?;
            map.serialize_entry("revisions", &document.revisions)?;
            map.serialize_entry("review", &document.review)?;
            map.serialize_entry("season", &document.season)?;
            map.serialize_entry("owner", &document.owner)?;
            map.serialize_entry("next_id", &document.next_id)?;
            map.serialize_entry("assets", &document.assets)?;
            for (key, value) in document
                .extra
                .iter()
                .filter(|(key, _)| !matches!(key.as_str(), "format" | "version"))
            {
                map.serialize_entry(key, value)?;
            }
            map.end()
        }
    }
    Ordered(document)
}

/// Brings a document to its normal form: what it uses is carried in it, what it does not use is not, unless it is the
/// user's own; names in use are never given again.
pub(super) fn normalise(document: &mut Document) {
    let layers: Vec<&Objects> = document
        .options
        .values()
        .flat_map(|layer| [&layer.adds, &layer.replaces])
        .collect();
    let uses = Uses::of(std::iter::once(&document.design.objects).chain(layers.iter().copied()));
    let ids: Vec<_> = document
        .design
        .objects
        .ids()
        .into_iter()
        .chain(layers.iter().flat_map(|layer| layer.ids()))
        .collect();
    for id in ids
        .into_iter()
        .chain(document.review.threads.keys().copied().collect::<Vec<_>>())
    {
        document.next_id.note(id);
    }
    carry_rows(&mut document.design, &uses);
    carry_books(&mut document.design);
}

fn carry_rows(plan: &mut Plan, uses: &Uses) {
    let built_in = Catalog::built_in();
    carry(&mut plan.catalog.pipes, &built_in.pipes, &uses.pipes);
    carry(
        &mut plan.catalog.emissions,
        &built_in.emissions,
        &uses.emissions,
    );
    carry(&mut plan.catalog.devices, &built_in.devices, &uses.devices);
    carry(&mut plan.catalog.crops, &built_in.crops, &uses.crops);
}

fn carry<T: PartialEq>(carried: &mut Rows<T>, built_in: &Rows<T>, used: &BTreeSet<String>) {
    carried.retain(|key, row| used.contains(key) || built_in.get(key) != Some(row));
    for key in used {
        if !carried.contains_key(key)
            && let Some(row) = built_in.get(key)
        {
            carried.insert(key.clone(), Arc::clone(row));
        }
    }
}

/// A book as plans carry it; the origin is [`BUILT_IN`] or the name of the file it came from.
#[must_use]
pub fn embed(book: Rulebook, origin: &str) -> EmbeddedBook {
    EmbeddedBook {
        origin: origin.to_owned(),
        sha256: hash::of_json(&book),
        book: Arc::new(book),
        extra: BTreeMap::new(),
    }
}

fn carry_books(plan: &mut Plan) {
    let in_force: BTreeSet<&String> = plan.rules.in_force.iter().collect();
    let missing: BTreeMap<String, EmbeddedBook> = in_force
        .into_iter()
        .filter(|id| !plan.rules.books.contains_key(*id))
        .filter_map(|id| {
            let book = rulebook::built_in_book(id)?.clone();
            Some((id.clone(), embed(book, BUILT_IN)))
        })
        .collect();
    plan.rules.books.extend(missing);
}
