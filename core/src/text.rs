//! The one table of sentences that people read: key → English text with `{named}` gaps.
//!
//! The tables lie in `core/data/text/*.toml`, one a subject. A key that is missing is a bug that tests find; at run time
//! it shows itself as the bare key instead of stopping the program.

use std::collections::BTreeMap;
use std::sync::LazyLock;

const FILES: [(&str, &str); 11] = [
    ("findings", include_str!("../data/text/findings.toml")),
    ("contact", include_str!("../data/text/contact.toml")),
    ("drawing", include_str!("../data/text/drawing.toml")),
    ("file", include_str!("../data/text/file.toml")),
    ("read", include_str!("../data/text/read.toml")),
    ("report", include_str!("../data/text/report.toml")),
    (
        "rules_guidelines",
        include_str!("../data/text/rules_guidelines.toml"),
    ),
    ("rules_us", include_str!("../data/text/rules_us.toml")),
    ("sizing", include_str!("../data/text/sizing.toml")),
    ("window", include_str!("../data/text/window.toml")),
    ("working", include_str!("../data/text/working.toml")),
];

static TABLE: LazyLock<BTreeMap<String, String>> = LazyLock::new(|| {
    let mut table = BTreeMap::new();
    for (_, file) in FILES {
        // A file that does not parse leaves its keys missing, which `every_file_parses` reports with its line.
        if let Ok(rows) = toml::from_str::<BTreeMap<String, String>>(file) {
            table.extend(rows);
        }
    }
    table
});

/// The text under a key, or the key itself.
#[must_use]
pub fn get(key: &str) -> &str {
    TABLE.get(key).map_or(key, String::as_str)
}

/// Whether the table has the key.
#[must_use]
pub fn has(key: &str) -> bool {
    TABLE.contains_key(key)
}

/// The text under a key with its gaps filled; a gap without a value stays visible.
#[must_use]
pub fn fill<'a>(key: &str, values: impl IntoIterator<Item = (&'a str, String)>) -> String {
    let mut text = get(key).to_owned();
    for (name, value) in values {
        text = text.replace(&format!("{{{name}}}"), &value);
    }
    text
}

/// Every key and its text, sorted, for the tests of the table.
pub fn entries() -> impl Iterator<Item = (&'static str, &'static str)> {
    TABLE
        .iter()
        .map(|(key, text)| (key.as_str(), text.as_str()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_parses_and_no_key_is_defined_twice() {
        let mut seen = BTreeMap::new();
        for (name, file) in FILES {
            let rows = toml::from_str::<BTreeMap<String, String>>(file)
                .map_err(|error| format!("{name}: {error}"))
                .unwrap();
            for key in rows.into_keys() {
                assert_eq!(seen.insert(key.clone(), name), None, "{key} stands twice");
            }
        }
    }

    #[test]
    fn gaps_are_filled_by_name() {
        assert_eq!(
            fill("no such key {a}", [("a", "1".to_owned())]),
            "no such key 1"
        );
    }
}
