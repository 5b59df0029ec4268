//! The rules of the house for data and words: every row says where it is from and how that is known, every sentence is
//! there and is used, and nothing claims more than the rules say.

use std::collections::BTreeSet;

use acceptance::{DATE, QUINCE, SAMPLES, run, sample_path};
use aubergine_core::rulebook::built_in;
use aubergine_core::text;
use serde_json::Value as Json;
use toml::{Table, Value};

use super::tidy::{code_lines, files, without_tests};

const BASES: [&str; 6] = [
    "read",
    "summary",
    "memory",
    "computed",
    "common_practice",
    "judgement",
];

fn word<'a>(row: &'a Table, key: &str) -> &'a str {
    row.get(key).and_then(Value::as_str).unwrap_or_default()
}

#[test]
fn every_catalog_row_says_where_it_is_from_and_how_that_is_known() {
    let mut num_rows = 0;
    for (file, text) in files("core/data/catalog", &["toml"]) {
        let tables: Table = text
            .parse()
            .unwrap_or_else(|error| panic!("{file}: {error}"));
        for (key, value) in &tables {
            let rows: Vec<&Table> = match value {
                Value::Array(rows) => rows.iter().filter_map(Value::as_table).collect(),
                Value::Table(row) => vec![row],
                other => panic!("{file}: {key} is no row: {other:?}"),
            };
            for row in rows {
                num_rows += 1;
                let id = row.get("id").and_then(Value::as_str).unwrap_or(key);
                let (source, basis) = (word(row, "source"), word(row, "basis"));
                assert!(source.len() > 3, "{file}: {id} has no source");
                assert!(BASES.contains(&basis), "{file}: {id} has basis \"{basis}\"");
                // What is said in words and what is said for machines agree.
                let admits = source.contains("memory") || source.contains("general knowledge");
                assert!(!(admits && basis == "read"), "{file}: {id}: {source}");
                assert_eq!(
                    source.starts_with("common practice"),
                    basis == "common_practice",
                    "{file}: {id}: {source}"
                );
            }
        }
    }
    assert!(num_rows > 250, "{num_rows}");
}

#[test]
fn every_rulebook_row_cites_a_source_of_its_book() {
    let mut num_rows = 0;
    for book in built_in() {
        assert!(
            !book.ask.is_empty() && !book.as_of.is_empty(),
            "{}",
            book.id
        );
        for source in &book.sources {
            assert!(
                !source.what.is_empty() && !source.address.is_empty(),
                "{}: {}",
                book.id,
                source.key
            );
        }
        for (row, origin) in book.origins() {
            num_rows += 1;
            let what = format!("{} {row}", book.id);
            assert!(
                !origin.clause.is_empty() && !origin.as_of.is_empty(),
                "{what}"
            );
            assert!(!origin.source.is_empty(), "{what}");
            // A row from a source names one of the book's; the others say that there is none.
            let named = book
                .sources
                .iter()
                .any(|source| source.key == origin.source);
            if origin.is_read() {
                assert!(named, "{what}: source {} is not in the book", origin.source);
            }
            assert!(text::has(&origin.message), "{what}: {}", origin.message);
        }
    }
    assert!(num_rows > 50, "{num_rows}");
}

#[test]
fn every_case_names_its_source_or_says_that_there_is_none() {
    for (file, text) in files("tests/cases", &["toml"]) {
        let tables: Table = text
            .parse()
            .unwrap_or_else(|error| panic!("{file}: {error}"));
        for (index, case) in tables
            .values()
            .filter_map(Value::as_array)
            .flatten()
            .enumerate()
        {
            let case = case.as_table().unwrap();
            let id = [word(case, "id"), word(case, "typed")].concat();
            assert!(
                word(case, "source").len() > 3,
                "{file}: case {index} {id} names no source"
            );
            // How the number is known: by its kind and basis, or by its trust, or in the words of the source.
            let kind = (word(case, "kind"), word(case, "basis"));
            let known = match kind {
                ("", "") => !word(case, "trust").is_empty() || case.contains_key("typed"),
                (kind, basis) => {
                    ["published", "library", "analytical", "computed"].contains(&kind)
                        && BASES.contains(&basis)
                }
            };
            assert!(known, "{file}: {id}: {kind:?}");
        }
    }
    for (file, text) in files("tests/cases", &["csv"]) {
        assert!(text.lines().count() > 1, "{file}");
    }
}

/// Text literals of a line of code; escapes do not occur in keys.
fn literals(line: &str) -> impl Iterator<Item = &str> {
    line.split('"').skip(1).step_by(2)
}

fn is_key(text: &str) -> bool {
    let named = |part: &str| {
        part.starts_with(|c: char| c.is_ascii_lowercase())
            && part
                .bytes()
                .all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'_')
    };
    text.split_once('.')
        .is_some_and(|(space, rest)| named(space) && named(rest))
}

/// All literals of the code without tests.
fn code_literals() -> BTreeSet<String> {
    ["core/src", "app/src", "app/print/src"]
        .into_iter()
        .flat_map(|folder| files(folder, &["rs"]))
        .collect::<Vec<_>>()
        .iter()
        .flat_map(|(_, text)| code_lines(without_tests(text)))
        .flat_map(literals)
        .map(str::to_owned)
        .collect()
}

/// Literals of the rulebooks.
fn book_literals() -> BTreeSet<String> {
    files("core/data/rulebooks", &["toml"])
        .iter()
        .flat_map(|(_, text)| text.lines())
        .flat_map(literals)
        .map(str::to_owned)
        .collect()
}

#[test]
fn every_sentence_that_is_named_is_there() {
    let spaces: BTreeSet<&str> = text::entries()
        .filter_map(|(key, _)| key.split('.').next())
        .collect();
    let named = code_literals().into_iter().chain(book_literals());
    let keys: Vec<String> = named
        .filter(|text| is_key(text) && spaces.contains(text.split('.').next().unwrap_or_default()))
        .collect();
    assert!(keys.len() > 100, "{}", keys.len());
    for key in keys {
        assert!(text::has(&key), "{key} is named and not in the table");
    }
    // Keys that are put together.
    for (file, maker, space) in [
        ("core/src/analysis/fixes", "text(", "fix"),
        ("core/src/analysis/assumptions.rs", "add(", "assumption"),
    ] {
        let sources = files(file.trim_end_matches("/assumptions.rs"), &["rs"]);
        let code: String = sources
            .iter()
            .filter(|(name, _)| name.starts_with(file))
            .map(|(_, text)| text.split_whitespace().collect::<String>())
            .collect();
        let names: Vec<&str> = code
            .split(&format!("{maker}\""))
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
            .collect();
        assert!(names.len() >= 4, "{file}: {names:?}");
        for name in names {
            assert!(
                text::has(&format!("{space}.{name}")),
                "{space}.{name} is used and not in the table"
            );
        }
    }
}

#[test]
fn every_sentence_of_the_table_is_used() {
    let (code, books) = (code_literals(), book_literals());
    for (key, sentence) in text::entries() {
        assert!(is_key(key), "{key}");
        assert!(!sentence.trim().is_empty(), "{key} is empty");
        let (_, name) = key.split_once('.').unwrap();
        // Whole, or put together of its space and a word.
        assert!(
            code.contains(key) || books.contains(key) || code.contains(name),
            "{key} is used nowhere"
        );
    }
}

/// A card has room for a reason of thirty words.
#[test]
fn reasons_of_rules_are_short() {
    const MOST: usize = 30;
    for (key, sentence) in text::entries() {
        let is_reason = key.starts_with("rule.") || key.starts_with("uncovered.");
        let num_words = sentence.split_whitespace().count();
        assert!(!is_reason || num_words <= MOST, "{key}: {num_words} words");
    }
}

/// Gaps of a sentence are in braces that close, and have names.
#[test]
fn gaps_of_sentences_are_well_formed() {
    for (key, sentence) in text::entries() {
        let mut rest = sentence;
        while let Some(start) = rest.find('{') {
            let end = rest[start..]
                .find('}')
                .unwrap_or_else(|| panic!("{key}: {sentence}"))
                + start;
            let name = &rest[start + 1..end];
            assert!(
                !name.is_empty()
                    && name
                        .bytes()
                        .all(|byte| byte.is_ascii_lowercase() || byte == b'_'),
                "{key}: {name}"
            );
            rest = &rest[end + 1..];
        }
        assert!(!rest.contains('}'), "{key}: {sentence}");
    }
}

/// What the program says of the samples, as text and as JSON, with fixes.
fn outputs() -> Vec<(String, String)> {
    let mut found = Vec::new();
    for name in SAMPLES {
        for more in [
            &["--fixes"][..],
            &["--fixes", "--json"],
            &["--units", "metric", "--fixes"],
        ] {
            let path = sample_path(name);
            let run = run([&["check", path.to_str().unwrap(), "--date", DATE], more].concat());
            found.push((format!("check {name} {more:?}"), run.text()));
        }
    }
    found
}

#[test]
fn nothing_says_that_anything_is_allowed_beyond_doubt() {
    // Put together, so that the list is no use of the words.
    let words = [
        ["sa", "fe"],
        ["appro", "ved"],
        ["compl", "iant"],
        ["certi", "fied"],
        ["guaran", "teed"],
    ]
    .map(|parts| parts.concat());
    let mut texts = files("core/data/text", &["toml"]);
    texts.extend(files("core/data/rulebooks", &["toml"]));
    texts.extend(files("core/data/catalog", &["toml"]));
    texts.extend(files("sample-plans", &["json"]));
    texts.extend(outputs());
    assert!(texts.len() > 15, "{}", texts.len());
    for (name, text) in texts {
        for found in text.split(|c: char| !c.is_alphabetic()) {
            let found = found.to_lowercase();
            assert!(!words.contains(&found), "{name}: {found}");
        }
    }
}

#[test]
fn no_key_and_no_gap_reaches_a_reader() {
    let keys: BTreeSet<&str> = text::entries().map(|(key, _)| key).collect();
    for (name, output) in outputs() {
        if name.contains("--json") {
            let result: Json = serde_json::from_str(&output).unwrap();
            for key in [
                "sentence",
                "what",
                "words",
                "reason",
                "name",
                "ask",
                "conditions",
                "missing",
            ] {
                each(&result, key, &mut |text| {
                    assert!(
                        !keys.contains(text) && !text.contains(['{', '}']),
                        "{name}: {text}"
                    );
                });
            }
        } else {
            assert!(!output.contains(['{', '}']), "{name}");
            for token in output.split_whitespace() {
                assert!(
                    !keys.contains(token.trim_matches(|c: char| !c.is_alphanumeric())),
                    "{name}: {token}"
                );
            }
        }
    }
}

/// Every text under a key, at any depth.
fn each(value: &Json, key: &str, see: &mut impl FnMut(&str)) {
    match value {
        Json::Array(items) => items.iter().for_each(|item| each(item, key, see)),
        Json::Object(members) => {
            for (name, member) in members {
                match member {
                    Json::String(text) if name == key => see(text),
                    Json::Array(items) if name == key => {
                        items.iter().filter_map(Json::as_str).for_each(&mut *see);
                    }
                    _ => each(member, key, see),
                }
            }
        }
        _ => {}
    }
}

/// A verdict names whom to ask and what it rests on, and every caution is there.
#[test]
fn every_verdict_names_its_rule_and_whom_to_ask() {
    for (name, output) in outputs()
        .into_iter()
        .filter(|(name, _)| name.contains("--json"))
    {
        let result: Json = serde_json::from_str(&output).unwrap();
        let verdicts = result["verdicts"].as_array().unwrap();
        // The dense bed has two crops only.
        let least = if name.contains(QUINCE) { 2 } else { 10 };
        assert!(verdicts.len() >= least, "{name}");
        for verdict in verdicts {
            let filled = |pointer: &str| {
                verdict
                    .pointer(pointer)
                    .and_then(Json::as_str)
                    .is_some_and(|text| text.len() > 1)
            };
            for pointer in [
                "/ask",
                "/layer",
                "/reason",
                "/citation/book",
                "/citation/rule",
                "/citation/clause",
                "/citation/source",
                "/citation/as_of",
                "/citation/ask",
            ] {
                assert!(filled(pointer), "{name}: {pointer} of {verdict}");
            }
        }
        let cautions = result["cautions"].to_string();
        for said in [
            "not a permit",
            "not for drinking",
            "Never join",
            "cross-connections",
            "buried services",
            "drinking water",
        ] {
            assert!(cautions.contains(said), "{name}: {said}");
        }
    }
}
