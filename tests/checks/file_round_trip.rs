//! Plan files: what is saved is what is loaded, what is not understood is kept, and damaged bytes end in a message.

use acceptance::{DATE, LARKMEAD, QUINCE, SAMPLES, sample, sample_bytes};
use aubergine_core::analysis::Analyzer;
use aubergine_core::edit::{Edit, History};
use aubergine_core::file;
use aubergine_core::geometry::PlanVector;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::Id;
use aubergine_core::model::Document;
use aubergine_core::report::{Checked, Shown, check_json, check_text};
use proptest::prelude::*;
use serde_json::{Map, Value, json};

#[test]
fn what_is_saved_is_what_is_loaded() {
    for name in SAMPLES {
        let document = sample(name);
        let saved = file::save(&document);
        let again = file::load(&saved).unwrap();
        assert!(again == document, "{name}: load → save → load");
        assert!(file::save(&again) == saved, "{name}: a second save differs");
        assert_eq!(
            file::fingerprint(&again.design),
            file::fingerprint(&document.design)
        );
    }
}

/// The fingerprint follows the design and nothing else.
#[test]
fn the_fingerprint_is_that_of_the_design_alone() {
    let mut document = sample(LARKMEAD);
    let before = file::fingerprint(&document.design);
    document.owner.name = "Somebody Else".to_owned();
    document
        .season
        .insert("2027".to_owned(), json!({"opened": "2027-03-01"}));
    document.next_id.take(aubergine_core::ids::Kind::Bed);
    let again = file::load(&file::save(&document)).unwrap();
    assert!(again == document);
    assert_eq!(file::fingerprint(&again.design), before);
    document.design.site.place.push('!');
    assert_ne!(file::fingerprint(&document.design), before);
}

const UNKNOWN: &str = "zz_of_a_newer_program";

/// Adds an unknown member to every object that stands for a thing of the model. Tables keyed by name hold such objects
/// and take none themselves. Rulebooks inside a plan are closed: their rows decide, and a row with a member that is not
/// understood must not.
fn add_unknowns(path: &mut Vec<String>, value: &mut Value) -> usize {
    const TABLES: [&str; 6] = ["threads", "next_id", "taps_m", "assets", "books", "options"];
    let Value::Object(members) = value else {
        return match value {
            Value::Array(items) => items.iter_mut().map(|item| add_unknowns(path, item)).sum(),
            _ => 0,
        };
    };
    let last = path.last().map_or("", String::as_str);
    if last == "book" {
        return 0;
    }
    let parent = path.iter().rev().nth(1).map_or("", String::as_str);
    let is_table = TABLES.contains(&last)
        || (parent == "objects" && path.len() == 3)
        || (parent == "catalog" && path.len() == 3);
    let mut added = 0;
    for (key, member) in members.iter_mut() {
        path.push(key.clone());
        added += add_unknowns(path, member);
        path.pop();
    }
    if !is_table {
        members.insert(
            UNKNOWN.to_owned(),
            json!({"deep": [1, {"x": true, "none": null}], "text": "é"}),
        );
        added += 1;
    }
    added
}

fn count(value: &Value) -> usize {
    match value {
        Value::Array(items) => items.iter().map(count).sum(),
        Value::Object(members) => {
            usize::from(members.contains_key(UNKNOWN)) + members.values().map(count).sum::<usize>()
        }
        _ => 0,
    }
}

#[test]
fn unknown_fields_survive_at_every_depth_through_edit_undo_and_save() {
    for name in SAMPLES {
        let mut value: Value = serde_json::from_slice(&sample_bytes(name)).unwrap();
        value["review"] = json!({"threads": {"N1": {"author": "A", "object": "B1"}}});
        value["options"] = json!({"later": {"label": "Later", "removes": ["B1"]}});
        let added = add_unknowns(&mut Vec::new(), &mut value);
        // The plan of a single bed has fewer places for them.
        let least = if name == QUINCE { 45 } else { 100 };
        assert!(added > least, "{name}: {added}");
        let document = file::load(&serde_json::to_vec(&value).unwrap()).unwrap();
        let saved = file::save(&document);
        let kept: Value = serde_json::from_slice(&saved).unwrap();
        assert_eq!(lost(&value, &kept), Vec::<String>::new(), "{name}");

        let mut history = History::new(document);
        let bed: Id = "B1".parse().unwrap();
        let edit = Edit::Move {
            ids: vec![bed],
            by: PlanVector::new(0.3, 0.1),
        };
        history.apply("move", &edit).unwrap();
        let moved: Value = serde_json::from_slice(&file::save(history.document())).unwrap();
        assert_ne!(
            moved["design"]["objects"]["beds"]["B1"]["at_m"],
            kept["design"]["objects"]["beds"]["B1"]["at_m"]
        );
        assert_eq!(count(&moved), added, "{name}: an edit lost unknown fields");
        history.undo().unwrap();
        assert!(file::save(history.document()) == saved, "{name}: undo");
    }
}

/// Paths of unknown members of one value that the other does not have.
fn lost(before: &Value, after: &Value) -> Vec<String> {
    fn walk(path: &str, before: &Value, after: &Value, lost: &mut Vec<String>) {
        match (before, after) {
            (Value::Object(a), b) => {
                let none = Map::new();
                let b = b.as_object().unwrap_or(&none);
                if a.get(UNKNOWN) != b.get(UNKNOWN) {
                    lost.push(path.to_owned());
                }
                for (key, value) in a {
                    walk(
                        &format!("{path}.{key}"),
                        value,
                        b.get(key).unwrap_or(&Value::Null),
                        lost,
                    );
                }
            }
            (Value::Array(a), Value::Array(b)) => {
                for (index, value) in a.iter().enumerate() {
                    walk(
                        &format!("{path}[{index}]"),
                        value,
                        b.get(index).unwrap_or(&Value::Null),
                        lost,
                    );
                }
            }
            _ => {}
        }
    }
    let mut found = Vec::new();
    walk("", before, after, &mut found);
    found
}

/// One way to damage a file.
#[derive(Clone, Debug)]
enum Damage {
    Flip(usize, u8),
    Delete(usize, usize),
    Insert(usize, Vec<u8>),
    Cut(usize),
    Swap(usize, usize),
    Number(usize, &'static str),
}

fn damage() -> impl Strategy<Value = Damage> {
    const NUMBERS: [&str; 12] = [
        "0", "-0.0", "-1", "1e308", "-1e308", "1e-320", "0.1", "1e9", "null", "\"\"", "[]", "{}",
    ];
    let at = any::<prop::sample::Index>().prop_map(|index| index.index(1_000_000_007));
    prop_oneof![
        1 => (at.clone(), any::<u8>()).prop_map(|(at, mask)| Damage::Flip(at, mask)),
        1 => (at.clone(), 1_usize..40).prop_map(|(at, length)| Damage::Delete(at, length)),
        1 => (at.clone(), prop::collection::vec(any::<u8>(), 1..20)).prop_map(|(at, bytes)| Damage::Insert(at, bytes)),
        1 => at.clone().prop_map(Damage::Cut),
        4 => (at.clone(), at.clone()).prop_map(|(a, b)| Damage::Swap(a, b)),
        6 => (at, prop::sample::select(&NUMBERS[..])).prop_map(|(at, number)| Damage::Number(at, number)),
    ]
}

/// Spans of the numbers and words behind `: ` and inside lists: what a slip of the hand would change.
fn values(text: &[u8]) -> Vec<std::ops::Range<usize>> {
    let mut found = Vec::new();
    let mut at = 0;
    while at < text.len() {
        let starts = at > 0 && (text[at - 1] == b' ' || text[at - 1] == b'[');
        if starts && (text[at].is_ascii_digit() || text[at] == b'-' || text[at] == b'"') {
            let is_text = text[at] == b'"';
            let length = text[at + 1..]
                .iter()
                .position(|byte| {
                    if is_text {
                        *byte == b'"'
                    } else {
                        b",]} \n".contains(byte)
                    }
                })
                .map_or(1, |length| length + 1 + usize::from(is_text));
            if text.get(at + length) != Some(&b':') {
                found.push(at..at + length);
            }
            at += length;
        }
        at += 1;
    }
    found
}

fn damaged(mut bytes: Vec<u8>, damages: &[Damage]) -> Vec<u8> {
    for damage in damages {
        if bytes.is_empty() {
            break;
        }
        let spans = values(&bytes);
        let place = |at: usize| at % bytes.len();
        match damage {
            Damage::Flip(at, mask) => {
                let at = place(*at);
                bytes[at] ^= mask;
            }
            Damage::Delete(at, length) => {
                let at = place(*at);
                let end = (at + length).min(bytes.len());
                bytes.drain(at..end);
            }
            Damage::Insert(at, more) => {
                let at = place(*at);
                bytes.splice(at..at, more.iter().copied());
            }
            Damage::Cut(at) => {
                let at = place(*at);
                bytes.truncate(at);
            }
            Damage::Swap(a, b) if !spans.is_empty() => {
                let (a, b) = (a % spans.len(), b % spans.len());
                let (first, second) = (spans[a.min(b)].clone(), spans[a.max(b)].clone());
                if first.end <= second.start {
                    let (one, other) = (
                        bytes[first.clone()].to_vec(),
                        bytes[second.clone()].to_vec(),
                    );
                    bytes.splice(second, one);
                    bytes.splice(first, other);
                }
            }
            Damage::Number(at, number) if !spans.is_empty() => {
                bytes.splice(spans[at % spans.len()].clone(), number.bytes());
            }
            Damage::Swap(..) | Damage::Number(..) => {}
        }
    }
    bytes
}

/// Everything that is done with a plan that could be read: none of it may panic.
fn use_fully(document: &Document) {
    let saved = file::save(document);
    let again =
        file::load(&saved).unwrap_or_else(|error| panic!("what was saved must load: {error}"));
    assert!(
        file::save(&again) == saved,
        "save(load(save(x))) == save(x)"
    );
    let analysis = Analyzer::default().update(&document.design);
    for shown in [Shown::Case(SupplyCase::Low), Shown::Worst] {
        let checked = Checked {
            plan: &document.design,
            review: &document.review,
            analysis: &analysis,
            fixes: &[],
            shown,
            units: document.design.site.units,
            date: DATE,
        };
        let json = check_json(&checked);
        serde_json::from_slice::<Value>(&json).expect("the result is JSON");
        assert!(!check_text(&checked).is_empty());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, rng_seed: proptest::test_runner::RngSeed::Fixed(2), ..ProptestConfig::default() })]

    /// Raw damage: nearly always a message.
    #[test]
    fn damaged_files_never_panic(name in prop::sample::select(&SAMPLES[..]), damages in prop::collection::vec(damage(), 1..6)) {
        let bytes = damaged(sample_bytes(name), &damages);
        match file::load(&bytes) {
            Ok(document) => use_fully(&document),
            Err(error) => prop_assert!(!error.to_string().is_empty()),
        }
    }

    /// Values that do not fit but are still values of a plan: nearly always loaded.
    #[test]
    fn absurd_plans_never_panic(name in prop::sample::select(&SAMPLES[..]), at in any::<prop::sample::Index>(), other in prop::sample::select(&["0", "-0.0", "-1", "1e308", "-1e308", "1e-320", "3e5", "1e9"][..])) {
        let bytes = sample_bytes(name);
        let numbers: Vec<_> = values(&bytes).into_iter().filter(|span| bytes[span.start] != b'"').collect();
        let mut absurd = bytes.clone();
        absurd.splice(numbers[at.index(numbers.len())].clone(), other.bytes());
        match file::load(&absurd) {
            Ok(document) => use_fully(&document),
            Err(error) => prop_assert!(!error.to_string().is_empty()),
        }
    }
}

proptest! {
    // Making 200 kB takes longer than refusing them.
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, rng_seed: proptest::test_runner::RngSeed::Fixed(3), ..ProptestConfig::default() })]

    #[test]
    fn random_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 200_000)) {
        prop_assert!(file::load(&bytes).is_err());
    }
}
