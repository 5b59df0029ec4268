//! The design itself, which is what analyses see.

use std::collections::BTreeMap;
use std::fmt;
use std::marker::PhantomData;
use std::sync::Arc;

use super::{Extra, Objects, Site, Table, WaterKind};
use crate::catalog::Catalog;
use crate::ids::Id;
use crate::rulebook::{Rulebook, built_in_book};

/// A design: the site, the rules it is judged by, the catalog rows it uses, and its objects.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct Plan {
    /// Title of the plan.
    #[serde(default)]
    pub name: String,
    /// The yard.
    #[serde(default)]
    pub site: Site,
    /// The rules it is judged by.
    #[serde(default)]
    pub rules: RuleChoice,
    /// Everything drawn.
    #[serde(default)]
    pub objects: Objects,
    /// Catalog rows in use, so that another copy of the program gives the same answer.
    #[serde(default)]
    pub catalog: Catalog,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

impl Plan {
    /// What sort of water goes by that name; `None` where none does.
    #[must_use]
    pub fn water_kind(&self, water: Id) -> Option<WaterKind> {
        self.objects.waters.get(&water).map(|water| water.kind)
    }
}

/// Which rulebooks bind or advise here.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct RuleChoice {
    /// Books in force, by id; those of the program and local overlays alike.
    #[serde(default)]
    pub in_force: Vec<String>,
    /// The text of the books in use, as it was when the plan was last saved.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub books: BTreeMap<String, EmbeddedBook>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

impl RuleChoice {
    /// The books in force, in the order chosen: those the plan carries, or the program's of that name.
    pub fn books_in_force(&self) -> impl Iterator<Item = &Rulebook> {
        self.in_force.iter().filter_map(|id| {
            let carried = self.books.get(id).map(|carried| carried.book.as_ref());
            carried.or_else(|| built_in_book(id))
        })
    }
}

/// The origin of a book that came with the program.
pub const BUILT_IN: &str = "built-in";

/// A rulebook carried inside a plan.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct EmbeddedBook {
    /// Where it came from: `built-in`, or the file name of a local overlay.
    pub origin: String,
    /// SHA-256 of its canonical JSON.
    pub sha256: String,
    /// The book.
    pub book: Arc<Rulebook>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// Reads a table of objects; a name that stands twice is an error, since one of the two would be lost.
pub(super) fn table<'de, T, D>(source: D) -> Result<Table<T>, D::Error>
where
    T: serde::Deserialize<'de>,
    D: serde::Deserializer<'de>,
{
    struct Reader<T>(PhantomData<T>);
    impl<'de, T: serde::Deserialize<'de>> serde::de::Visitor<'de> for Reader<T> {
        type Value = Table<T>;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str("objects by id")
        }

        fn visit_map<A: serde::de::MapAccess<'de>>(
            self,
            mut rows: A,
        ) -> Result<Table<T>, A::Error> {
            let mut table = Table::new();
            while let Some(id) = rows.next_key::<Id>()? {
                if table.insert(id, Arc::new(rows.next_value()?)).is_some() {
                    return Err(serde::de::Error::custom(format_args!("{id} stands twice")));
                }
            }
            Ok(table)
        }
    }
    source.deserialize_map(Reader(PhantomData))
}
