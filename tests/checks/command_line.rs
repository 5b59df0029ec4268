//! The program as a black box: exit codes, one clear message for whatever cannot be read, files left alone, and the
//! same bytes for the same plan.

use std::path::{Path, PathBuf};

use acceptance::{CEDARBRAKE, DATE, LARKMEAD, Run, SAMPLES, run, sample_bytes, sample_path};
use aubergine_core::file;
use serde_json::Value;

/// A file of a test in the target folder; each test uses its own names.
fn written(name: &str, bytes: &[u8]) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, bytes).unwrap();
    path
}

fn check(path: &Path, more: &[&str]) -> Run {
    run([&["check", path.to_str().unwrap(), "--date", DATE], more].concat())
}

/// What must hold for every run that gives no result; the message.
fn one_message(run: &Run, what: &str) -> String {
    assert_eq!(run.code, 2, "{what}: {run:?}");
    assert!(run.stdout.is_empty(), "{what}: {run:?}");
    assert!(!run.stderr.contains("panicked"), "{what}: {}", run.stderr);
    let message = run
        .stderr
        .strip_suffix('\n')
        .unwrap_or_else(|| panic!("{what}: no line end"));
    assert!(!message.trim().is_empty(), "{what}: no message");
    message.to_owned()
}

/// Checks bytes that are no plan: one line with place and remedy, and the file as it was.
fn refused(name: &str, bytes: &[u8]) -> String {
    let path = written(name, bytes);
    let message = one_message(&check(&path, &[]), name);
    assert!(
        !message.contains('\n'),
        "{name}: more than one line: {message}"
    );
    assert!(
        message.contains(path.to_str().unwrap()),
        "{name}: no path: {message}"
    );
    let remedies = [
        "open another copy",
        "Open another copy",
        "another kind of file",
        "Install the newer",
        "saved as a plan",
    ];
    assert!(
        remedies.iter().any(|remedy| message.contains(remedy)),
        "{name}: no remedy: {message}"
    );
    assert!(
        std::fs::read(&path).unwrap() == bytes,
        "{name}: the file was changed"
    );
    message
}

/// A sample with one piece of text replaced.
fn with(from: &str, to: &str) -> Vec<u8> {
    let text = String::from_utf8(sample_bytes(LARKMEAD)).unwrap();
    assert!(text.contains(from), "{from}");
    text.replacen(from, to, 1).into_bytes()
}

#[test]
fn the_exit_code_says_whether_there_is_a_stop() {
    for (name, code) in [(LARKMEAD, 0), (CEDARBRAKE, 1)] {
        for more in [&[][..], &["--json"], &["--fixes"], &["--json", "--fixes"]] {
            let run = check(&sample_path(name), more);
            assert_eq!(
                (run.code, run.stderr.as_str()),
                (code, ""),
                "{name} {more:?}"
            );
            assert!(!run.stdout.is_empty(), "{name} {more:?}");
        }
    }
}

#[test]
fn files_that_are_no_plans_are_told_with_place_and_remedy() {
    assert!(refused("empty.json", b"").contains("empty"));
    assert!(refused("blank.json", b" \n\t\r\n").contains("empty"));
    assert!(refused("text.json", b"This is a letter.\n").contains("Line 1, column 1"));
    assert!(refused("list.json", b"[1, 2, 3]").contains("not a plan"));
    assert!(refused("other.json", br#"{"type": "FeatureCollection"}"#).contains("not a plan"));
    assert!(refused("number.json", b"17").contains("not a plan"));
    assert!(refused("nulls.json", &[0; 4096]).contains("Line 1, column 1"));
    let message = refused(
        "not-text.json",
        &[b"{\"format\": \"aub\xFFergine".as_slice(), b"\"}"].concat(),
    );
    assert!(message.contains("byte 15 is not text"), "{message}");
    let message = refused("format.json", &with("aubergine-plan", "other-plan"));
    assert!(
        message.contains("other-plan") && message.contains("aubergine-plan"),
        "{message}"
    );
    let message = refused("newer.json", &with("\"version\": 3", "\"version\": 4"));
    assert!(
        message.contains("newer version") && message.contains("not changed"),
        "{message}"
    );
    let message = refused(
        "version.json",
        &with("\"version\": 3", "\"version\": \"one\""),
    );
    assert!(
        message.contains("version") && message.contains("Line 3"),
        "{message}"
    );
}

#[test]
fn mistakes_inside_a_plan_are_told_with_line_and_key() {
    let message = refused("syntax.json", &with("\"version\": 3,", "\"version\": 3"));
    assert!(message.contains("Line 4, column"), "{message}");
    let message = refused(
        "huge.json",
        &with("\"static_kpa\": 468.843496", "\"static_kpa\": 1e999"),
    );
    assert!(
        message.contains("number out of range") && message.contains("Line "),
        "{message}"
    );
    let digits = format!("\"static_kpa\": {}", "9".repeat(400));
    assert!(refused("digits.json", &with("\"static_kpa\": 468.843496", &digits)).contains("Line "));
    let message = refused(
        "word.json",
        &with("\"static_kpa\": 468.843496", "\"static_kpa\": \"high\""),
    );
    assert!(
        message.contains("design.objects.supplies.S1") && message.contains("Line "),
        "{message}"
    );
    let message = refused(
        "kind.json",
        &with("\"kind\": \"zone_valve\"", "\"kind\": \"tap\""),
    );
    assert!(message.contains("the word `tap` is not known"), "{message}");
    let message = refused("name.json", &with("\"B3\": {", "\"Q3\": {"));
    assert!(message.contains("Q3"), "{message}");
    let message = refused(
        "port.json",
        &with("\"end\": \"B3.in\"", "\"end\": \"B3.side\""),
    );
    assert!(
        message.contains("B3.side") && message.contains("design.objects.pipes.P9"),
        "{message}"
    );
    let message = refused(
        "missing.json",
        &with("\"end\": \"B3.in\"", "\"end\": \"B33.in\""),
    );
    assert!(
        message.contains("B33") && message.contains("Line "),
        "{message}"
    );
    for (from, to) in [
        ("\"version\": 3,", "\"version\": 3,\n  \"version\": 1,"),
        ("\"B3\": {", "\"B4\": {"),
        (
            "\"use\": \"food\",",
            "\"use\": \"food\", \"use\": \"lawn\",",
        ),
    ] {
        let message = refused("twice.json", &with(from, to));
        assert!(
            message.contains("stands twice") && message.contains("Line "),
            "{message}"
        );
    }
}

/// serde's own guard against deep nesting must end in a message, wherever the brackets stand.
#[test]
fn deep_nesting_is_told_and_does_not_overflow_the_stack() {
    let deep = "[".repeat(10_000);
    let both = format!("{deep}{}", "]".repeat(10_000));
    let objects = "{\"a\":".repeat(10_000);
    refused("brackets.json", deep.as_bytes());
    refused("closed.json", both.as_bytes());
    refused("objects.json", objects.as_bytes());
    refused(
        "inside.json",
        &with(
            "\"version\": 3,",
            &format!("\"version\": 3, \"more\": {both},"),
        ),
    );
}

#[test]
fn a_plan_cut_off_anywhere_is_told() {
    for name in SAMPLES {
        let bytes = sample_bytes(name);
        let whole = bytes.iter().rposition(|byte| *byte == b'}').unwrap();
        // Coarse over the whole file, and every byte at its end.
        let places = (0..48)
            .map(|part| part * whole / 48)
            .chain(whole - 12..=whole);
        // Not within a character: that is another mistake, told elsewhere.
        let starts_character = |end: &usize| bytes[*end] & 0b1100_0000 != 0b1000_0000;
        for end in places.filter(starts_character) {
            let message = refused("cut.json", &bytes[..end]);
            assert!(end == 0 || message.contains("Line "), "{end}: {message}");
        }
    }
}

#[test]
fn random_bytes_are_told() {
    // A fixed linear congruential generator: the same bytes each time.
    let mut state = 20_270_315_u64;
    for length in [1_usize, 2, 3, 17, 1000, 200_000] {
        for round in 0..4 {
            let bytes: Vec<u8> = std::iter::repeat_with(|| {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1_442_695_040_888_963_407);
                state.to_be_bytes()[0]
            })
            .take(length)
            .map(|byte| {
                if round % 2 == 0 {
                    byte
                } else {
                    b' ' + byte % 95
                }
            })
            .collect();
            // A single digit or a blank is JSON, or nothing; both have a message as well.
            refused("random.json", &bytes);
        }
    }
}

#[test]
fn paths_that_lead_nowhere_are_told() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
    for path in [
        folder.join("no-such-plan.json"),
        folder.to_path_buf(),
        folder.join("no-folder/plan.json"),
    ] {
        let message = one_message(&check(&path, &[]), "path");
        assert!(!message.contains('\n'), "{message}");
        assert!(
            message.contains("cannot be read") && message.contains("Check the path"),
            "{message}"
        );
        assert!(message.contains(path.to_str().unwrap()), "{message}");
        assert!(!message.contains("os error"), "{message}");
    }
    let message = one_message(
        &check(&sample_path(LARKMEAD), &["--option", "Winter"]),
        "option",
    );
    assert!(
        message.contains("Winter") && !message.contains('\n'),
        "{message}"
    );
}

#[test]
fn a_word_that_is_neither_command_nor_file_is_told_with_the_commands() {
    let message = one_message(&run(["chekc"]), "neither");
    assert!(
        message.contains("neither a command nor a file named \"chekc\""),
        "{message}"
    );
    for word in ["check, report, draw, parts, letter, size", "--help"] {
        assert!(message.contains(word), "{message}");
    }
    assert!(!message.contains("schedule"), "{message}");
    // The name of a file is taken for one.
    let message = one_message(&run(["no-such.json"]), "file");
    assert!(message.contains("no file of this name"), "{message}");
}

#[test]
fn what_was_written_is_told_and_nothing_for_standard_output() {
    let plan = sample_path(LARKMEAD);
    let plan = plan.to_str().unwrap();
    for (command, name, more) in [
        ("report", "told.pdf", ": 2 pages"),
        ("draw", "told.svg", ""),
        ("draw", "told.png", ""),
        ("parts", "told.csv", ""),
        ("letter", "letter.pdf", ": 2 pages"),
        ("letter", "letter.txt", ""),
        ("size", "told.json", ""),
    ] {
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
        let path = path.to_str().unwrap();
        let told = run([command, plan, "-o", path]);
        assert_eq!(
            (told.code, told.stderr),
            (0, format!("Wrote {path}{more}\n")),
            "{command}"
        );
        if name != "told.png" {
            let told = run([command, plan, "-o", "-"]);
            assert_eq!((told.code, told.stderr.as_str()), (0, ""), "{command}");
        }
    }
    let nowhere = Path::new(env!("CARGO_TARGET_TMPDIR")).join("no-folder/told.svg");
    let told = run(["draw", plan, "-o", nowhere.to_str().unwrap()]);
    let message = one_message(&told, "nowhere");
    assert!(
        message.contains("there is no folder") && !message.contains("os error"),
        "{message}"
    );
}

/// Messages about arguments say which argument, and where help is; they may take more than one line.
#[test]
fn wrong_arguments_are_told() {
    let plan = sample_path(LARKMEAD);
    let plan = plan.to_str().unwrap();
    for (arguments, word) in [
        (&["check"][..], "<PLAN>"),
        (&["check", plan, "--jsn"], "--jsn"),
        (&["check", plan, "--case", "average"], "average"),
        (&["check", plan, "--units", "cubits"], "cubits"),
        (&["check", plan, "--date", "15.3.2027"], "15.3.2027"),
        (&["check", plan, "--date", "2027-02-30"], "2027-02-30"),
        (&["check", plan, "another.json"], "another.json"),
        (&["chek", plan], "chek"),
    ] {
        let message = one_message(&run(arguments), word);
        assert!(
            message.starts_with("error: ") && message.contains(word),
            "{message}"
        );
        assert!(message.contains("--help"), "{message}");
    }
    for arguments in [
        &["--help"][..],
        &["--version"],
        &["check", "--help"],
        &["help"],
    ] {
        let run = run(arguments);
        assert_eq!((run.code, run.stderr.as_str()), (0, ""), "{arguments:?}");
        assert!(!run.stdout.is_empty(), "{arguments:?}");
    }
    assert!(
        run(["--version"])
            .text()
            .contains(env!("CARGO_PKG_VERSION"))
    );
}

#[test]
fn the_same_plan_gives_the_same_bytes_twice_and_after_load_and_save() {
    for name in SAMPLES {
        let bytes = sample_bytes(name);
        let first = check(&sample_path(name), &["--json", "--fixes"]);
        assert!(
            first == check(&sample_path(name), &["--json", "--fixes"]),
            "{name}"
        );
        // Saved again, and in a spelling that no program of ours would write: one line, keys in another order.
        let saved = written(
            &format!("saved-{name}"),
            &file::save(&file::load(&bytes).unwrap()),
        );
        assert!(
            first == check(&saved, &["--json", "--fixes"]),
            "{name} after load and save"
        );
        let value: Value = serde_json::from_slice(&bytes).unwrap();
        let plain = written(
            &format!("plain-{name}"),
            &serde_json::to_vec(&value).unwrap(),
        );
        assert!(std::fs::read(&plain).unwrap() != bytes, "{name}");
        assert!(
            first == check(&plain, &["--json", "--fixes"]),
            "{name} in another spelling"
        );
        assert!(sample_bytes(name) == bytes, "{name} was changed");
    }
}

#[test]
fn cases_units_and_date_are_those_asked_for() {
    let path = sample_path(CEDARBRAKE);
    let json = |more: &[&str]| -> Value {
        serde_json::from_slice(&check(&path, &[&["--json"], more].concat()).stdout).unwrap()
    };
    let at_valve = |result: &Value| {
        let rows = result["nodes"].as_array().unwrap();
        let node = rows
            .iter()
            .find(|row| row["id"] == "D2.out" && row["zone"] == "Z1")
            .unwrap();
        (
            node["pressure_kpa"].as_f64().unwrap(),
            node["case"].as_str().unwrap().to_owned(),
        )
    };
    let of_zone = json(&[])["zones"][0]["valve_pressure_kpa"].clone();
    for case in ["low", "normal", "high"] {
        let (pressure, told) = at_valve(&json(&["--case", case]));
        assert_eq!(told, case);
        assert_eq!(of_zone[case].as_f64(), Some(pressure), "{case}");
    }
    assert_eq!(
        at_valve(&json(&[])),
        at_valve(&json(&["--case", "low"])),
        "low unless told"
    );
    let worst = json(&["--case", "worst"]);
    assert_eq!(at_valve(&worst).1, "low", "pressure is worst at low supply");
    let fastest = worst["pipes"]
        .as_array()
        .unwrap()
        .iter()
        .find(|row| row["id"] == "P3")
        .unwrap();
    assert_eq!(fastest["case"], "high", "velocity is worst at high supply");

    let us = check(&path, &["--units", "us"]).text();
    let metric = check(&path, &["--units", "metric"]).text();
    assert!(
        us.contains(" psi") && us.contains(" gpm") && us.contains(" ft"),
        "{us}"
    );
    assert!(
        metric.contains(" kPa") && metric.contains(" L/min") && metric.contains(" m"),
        "{metric}"
    );
    // Names of parts keep the units of their trade; results do not.
    for line in metric
        .lines()
        .filter(|line| line.starts_with("Z1 ") || line.contains("Water runs at"))
    {
        assert!(
            !line.contains("psi") && !line.contains("gpm") && !line.contains("ft/s"),
            "{line}"
        );
    }
    // Machines get SI in either: only sentences differ.
    let numbers = |units: &str| without_sentences(json(&["--units", units]));
    assert_eq!(numbers("us"), numbers("metric"));

    assert_eq!(json(&[])["date"], DATE);
    assert!(us.lines().next().unwrap().ends_with(DATE), "{us}");
    let today = run(["check", path.to_str().unwrap(), "--json"]);
    let today: Value = serde_json::from_slice(&today.stdout).unwrap();
    assert!(
        today["date"].as_str().unwrap() > "2024-01-01",
        "today unless told"
    );
}

/// A result without the keys that hold sentences for people.
fn without_sentences(mut value: Value) -> Value {
    match &mut value {
        Value::Object(row) => {
            row.retain(|key, _| key != "sentence" && key != "what");
            for inner in row.values_mut() {
                *inner = without_sentences(inner.take());
            }
        }
        Value::Array(rows) => {
            for inner in rows {
                *inner = without_sentences(inner.take());
            }
        }
        _ => {}
    }
    value
}
