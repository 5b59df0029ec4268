//! What `check --json` prints fits the schema that is published with it, and the schema lets nothing else pass.

use acceptance::{CEDARBRAKE, DATE, SAMPLES, run, sample_path};
use aubergine_core::report::SCHEMA;
use serde_json::{Value, json};

fn schema() -> Value {
    serde_json::from_str(SCHEMA).expect("the schema is JSON")
}

fn checked(name: &str, more: &[&str]) -> Value {
    let path = sample_path(name);
    let path = path.to_str().expect("a path of text");
    let run = run([&["check", path, "--json", "--date", DATE], more].concat());
    serde_json::from_slice(&run.stdout).unwrap_or_else(|error| panic!("{name}: {error}\n{run:?}"))
}

#[test]
fn both_samples_fit_the_schema_in_every_case_with_and_without_fixes() {
    let schema = schema();
    assert!(jsonschema::meta::is_valid(&schema), "the schema itself");
    let validator = jsonschema::validator_for(&schema).unwrap();
    for name in SAMPLES {
        for case in ["low", "normal", "high", "worst"] {
            for fixes in [&[][..], &["--fixes"]] {
                let result = checked(name, &[&["--case", case], fixes].concat());
                let errors: Vec<String> = validator
                    .iter_errors(&result)
                    .map(|error| format!("{}: {error}", error.instance_path()))
                    .collect();
                assert!(errors.is_empty(), "{name} {case}: {errors:#?}");
                assert_eq!(result["case"], case);
                let has_fixes = result["findings"][0].get("fixes").is_some();
                assert_eq!(has_fixes, !fixes.is_empty(), "{name} {case}");
            }
        }
    }
}

/// Every object of the schema is closed and every member described, so that the schema is the documentation.
#[test]
fn the_schema_is_strict_and_described() {
    fn walk(at: &str, schema: &Value) {
        if let Some(members) = schema.get("properties").and_then(Value::as_object) {
            assert_eq!(schema["additionalProperties"], false, "{at} is open");
            for (name, member) in members {
                let described = member.get("description").is_some() || member.get("$ref").is_some();
                assert!(described, "{at}.{name} is not described");
                walk(&format!("{at}.{name}"), member);
            }
        }
        if let Some(items) = schema.get("items") {
            walk(&format!("{at}[]"), items);
        }
    }
    let schema = schema();
    walk("check", &schema);
    for (name, definition) in schema["$defs"].as_object().unwrap() {
        assert!(definition.get("description").is_some(), "{name}");
        walk(name, definition);
    }
}

/// A schema that accepts anything would pass the test above: each of these must be told.
#[test]
fn what_does_not_fit_is_refused() {
    let validator = jsonschema::validator_for(&schema()).unwrap();
    let good = checked(CEDARBRAKE, &["--fixes", "--case", "worst"]);
    assert!(validator.is_valid(&good));
    let changes: [(&str, Value); 9] = [
        ("/version", json!(2)),
        ("/case", json!("average")),
        ("/plan/fingerprint", json!("8716")),
        ("/zones/0/num_emitters", json!(1.5)),
        ("/zones/0/flow_lps", json!({"low": 1.0})),
        ("/nodes/0/pressure_kpa", Value::Null),
        ("/verdicts/0/ask", json!("")),
        ("/findings/0/severity", json!("warning")),
        ("/findings/1/measured/unit", json!("ft2")),
    ];
    for (pointer, value) in changes {
        let mut bad = good.clone();
        *bad.pointer_mut(pointer)
            .unwrap_or_else(|| panic!("{pointer}")) = value;
        assert!(!validator.is_valid(&bad), "{pointer}");
    }
    for pointer in [
        "",
        "/supply/0",
        "/pipes/0",
        "/verdicts/0/citation",
        "/parts/0",
    ] {
        let mut bad = good.clone();
        let object = bad.pointer_mut(pointer).and_then(Value::as_object_mut);
        object.unwrap().insert("more".to_owned(), json!(1));
        assert!(!validator.is_valid(&bad), "{pointer} takes unknown members");
    }
}

/// Numbers carry their unit in the key, and nothing is null.
#[test]
fn nothing_is_null_and_the_arrays_of_zones_are_in_order() {
    fn walk(at: &str, value: &Value) {
        match value {
            Value::Null => panic!("{at} is null"),
            Value::Array(items) => items.iter().for_each(|item| walk(at, item)),
            Value::Object(members) => {
                for (name, member) in members {
                    walk(&format!("{at}.{name}"), member);
                }
            }
            _ => {}
        }
    }
    let id = |row: &Value| {
        row["id"]
            .as_str()
            .unwrap()
            .parse::<aubergine_core::ids::Id>()
    };
    for name in SAMPLES {
        let result = checked(name, &["--fixes"]);
        walk(name, &result);
        for key in ["supply", "zones"] {
            let ids: Vec<_> = result[key]
                .as_array()
                .unwrap()
                .iter()
                .map(|row| id(row).unwrap())
                .collect();
            assert!(ids.is_sorted() && !ids.is_empty(), "{name} {key}");
        }
        for key in ["findings", "parts"] {
            let rows = result[key].as_array().unwrap();
            let ids: Vec<_> = rows.iter().map(|row| row["id"].as_str()).collect();
            assert!(ids.is_sorted() && !ids.is_empty(), "{name} {key}");
        }
    }
}
