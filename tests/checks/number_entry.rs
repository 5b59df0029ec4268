//! Lengths as people type them: the table of `tests/cases/number-entry.toml`.

use aubergine_core::units::{Length, UnitSystem, entry};

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    length: Vec<Case>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    typed: String,
    system: UnitSystem,
    mm: Option<f64>,
    source: String,
}

#[test]
fn every_typed_length_is_understood_in_full_or_refused_with_a_sentence() {
    let table: Table = toml::from_str(include_str!("../cases/number-entry.toml")).unwrap();
    let (mut read, mut refused) = (0, 0);
    for case in &table.length {
        assert!(!case.source.is_empty(), "{}", case.typed);
        match (entry::length(&case.typed, case.system), case.mm) {
            (Ok(length), Some(mm)) => {
                let found = length.millimetres();
                assert!((found - mm).abs() < 1e-9, "{}: {found}", case.typed);
                read += 1;
            }
            (Err(error), None) => {
                let message = error.to_string();
                assert!(message.contains(&case.typed), "{message}");
                // It says what would be understood, and that is true.
                assert!(
                    message.contains("12'6\"") && message.contains("3.81 m"),
                    "{message}"
                );
                refused += 1;
            }
            (found, _) => panic!("{}: {found:?}", case.typed),
        }
    }
    assert_eq!((read, refused), (10, 4));
    for example in ["12'6\"", "12-6", "3.81 m", "150 in"] {
        let found = entry::length(example, UnitSystem::Us).unwrap().metres();
        assert!((found - 3.81).abs() < 1e-12, "{example}");
    }
}

/// The same text means the same whatever typographic marks a keyboard or a copied text brings, and with spaces around.
#[test]
fn typographic_marks_and_spaces_change_nothing() {
    for text in [
        "12'6\"",
        "12′6″",
        "12’6”",
        " 12' 6\" ",
        "12 ft 6 in",
        "12ft6in",
        "12'-6\"",
        "12 ' 6 \"",
    ] {
        let found = entry::length(text, UnitSystem::Us).unwrap_or_else(|error| panic!("{error}"));
        assert!((found.metres() - 3.81).abs() < 1e-12, "{text}: {found:?}");
    }
}

#[test]
fn levels_may_lie_below_zero_and_lengths_may_not() {
    let metric = UnitSystem::Metric;
    assert_eq!(entry::level("-0.5 m", metric).map(Length::metres), Ok(-0.5));
    let below = entry::level("−6\"", UnitSystem::Us).unwrap().inches();
    assert!((below + 6.0).abs() < 1e-9, "{below}");
    assert_eq!(entry::level("1.2", metric).map(Length::metres), Ok(1.2));
    for text in ["--1", "-", "1-", "minus 2", ""] {
        let refused = entry::level(text, metric).unwrap_err();
        assert!(
            refused.to_string().contains(&format!("\"{text}\"")),
            "{text}"
        );
    }
    assert!(entry::length("-0.5 m", metric).is_err());
}
