//! The rules of the house for code: size and first line of files, the ladder of imports, what core must not know, the
//! crates it stands on, and words that must not be left behind.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

use acceptance::root;

/// Every file under a folder that is part of the repository, with its path from the root.
pub fn files(under: &str, extensions: &[&str]) -> Vec<(String, String)> {
    fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            if path.is_dir() {
                if name != "target" && name != ".git" {
                    walk(&path, found);
                }
            } else {
                found.push(path);
            }
        }
    }
    let mut paths = Vec::new();
    walk(&root().join(under), &mut paths);
    paths.sort();
    paths
        .into_iter()
        .filter(|path| {
            let extension = path.extension().unwrap_or_default().to_string_lossy();
            extensions.is_empty() || extensions.contains(&extension.as_ref())
        })
        .filter_map(|path| {
            // Fonts and pictures are no text.
            let text = std::fs::read_to_string(&path).ok()?;
            let name = path
                .strip_prefix(root())
                .unwrap()
                .to_string_lossy()
                .replace('\\', "/");
            Some((name, text))
        })
        .collect()
}

/// Lines without comments. Good enough for code that is formatted: `//` inside a string only hides the rest of it.
pub fn code_lines(text: &str) -> impl Iterator<Item = &str> {
    text.lines()
        .map(|line| line.split("//").next().unwrap_or_default())
}

/// The part before the unit tests, which stand last in a file.
pub fn without_tests(text: &str) -> &str {
    text.split("#[cfg(test)]\nmod tests")
        .next()
        .unwrap_or_default()
}

#[test]
fn files_are_short_and_say_what_they_are_for() {
    const LONGEST: usize = 500;
    let sources = files("", &["rs"]);
    assert!(sources.len() > 100, "{}", sources.len());
    for (name, text) in sources {
        let lines = text.lines().count();
        assert!(
            lines <= LONGEST,
            "{name} has {lines} lines, {LONGEST} at most"
        );
        let first = text.lines().next().unwrap_or_default();
        assert!(
            first.starts_with("//! ") && first.len() > 20,
            "{name} does not begin with what it is for"
        );
    }
}

/// Lowest first. A module may use what stands on a lower rung, never its own rung or a higher one.
const LADDER: [&[&str]; 17] = [
    &["units"],
    &["geometry"],
    &["text", "ids"],
    &["finding"],
    &["catalog"],
    &["rulebook"],
    &["model"],
    &["layout"],
    &["edit"],
    &["file"],
    &["hydraulics"],
    &["wetting"],
    &["agronomy", "contact", "coverage", "margin", "takeoff"],
    &["analysis"],
    &["drawing"],
    &["report"],
    &["lib"],
];

/// Not even downwards: what one needs of the other is a field of its input, filled by `analysis`.
const APART: [(&str, &str); 5] = [
    ("contact", "hydraulics"),
    ("contact", "wetting"),
    ("agronomy", "hydraulics"),
    ("contact", "model"),
    ("hydraulics", "edit"),
];

/// Top-level module of core → modules it names, with a file where it does.
fn imports() -> BTreeMap<String, BTreeMap<String, String>> {
    let mut found: BTreeMap<String, BTreeMap<String, String>> = BTreeMap::new();
    for (name, text) in files("core/src", &["rs"]) {
        let inside = name.strip_prefix("core/src/").unwrap();
        let top = inside
            .split('/')
            .next()
            .unwrap()
            .trim_end_matches(".rs")
            .to_owned();
        let row = found.entry(top.clone()).or_default();
        for line in code_lines(&text) {
            assert!(
                !line.contains("use crate::{") && !line.contains("use crate::*"),
                "{name}: one `use` a module"
            );
            for rest in line.split("crate::").skip(1) {
                let end = rest
                    .find(|c: char| !c.is_ascii_lowercase() && c != '_')
                    .unwrap_or(rest.len());
                if end > 0 && rest[..end] != top {
                    row.entry(rest[..end].to_owned())
                        .or_insert_with(|| name.clone());
                }
            }
        }
    }
    found
}

#[test]
fn imports_of_core_only_go_down_the_ladder() {
    let rung = |module: &str| LADDER.iter().position(|rung| rung.contains(&module));
    let imports = imports();
    assert!(
        imports["analysis"].len() > 8,
        "the scan finds the imports: {imports:?}"
    );
    for (module, used) in &imports {
        let own =
            rung(module).unwrap_or_else(|| panic!("core::{module} has no rung on the ladder"));
        for (other, file) in used {
            let theirs = rung(other)
                .unwrap_or_else(|| panic!("{file}: crate::{other} has no rung on the ladder"));
            assert!(theirs < own, "{file}: {module} must not use {other}");
            assert!(
                !APART.contains(&(module.as_str(), other.as_str())),
                "{file}: {module} and {other} stay apart"
            );
        }
    }
}

#[test]
fn core_reads_no_file_clock_or_environment_and_knows_no_window() {
    const FORBIDDEN: [&str; 18] = [
        "egui",
        "eframe",
        "winit",
        "typst",
        "std::fs",
        "std::env::",
        "std::net",
        "std::process",
        "std::thread",
        "thread::spawn",
        "std::time",
        "SystemTime",
        "Instant",
        "println!",
        "eprintln!",
        "std::io::stdin",
        "std::io::stdout",
        "unsafe ",
    ];
    let sources = files("core/src", &["rs"]);
    for (name, text) in &sources {
        for (number, line) in code_lines(text).enumerate() {
            for word in FORBIDDEN {
                assert!(!line.contains(word), "{name}:{}: {word}", number + 1);
            }
        }
    }
    // `env!` and `option_env!` would bake the machine of the builder in.
    assert!(sources.iter().all(|(_, text)| !text.contains("env!(")));
}

fn tree(arguments: &[&str]) -> String {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let output = Command::new(cargo)
        .current_dir(root())
        .args([
            "tree",
            "--offline",
            "--edges",
            "normal",
            "--prefix",
            "none",
            "--format",
            "{p}",
        ])
        .args(arguments)
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn core_stands_on_few_crates_and_none_for_windows_typesetting_pictures_or_networks() {
    const DIRECT: [&str; 11] = [
        "serde",
        "serde_json",
        "serde_path_to_error",
        "toml",
        "thiserror",
        "geo",
        "rstar",
        "spade",
        "sha2",
        "base64",
        "faer",
    ];
    const FOREIGN: [&str; 34] = [
        "egui",
        "eframe",
        "epaint",
        "emath",
        "winit",
        "wgpu",
        "glow",
        "glutin",
        "wayland",
        "x11",
        "accesskit",
        "rfd",
        "arboard",
        "typst",
        "krilla",
        "pdf",
        "printpdf",
        "cosmic",
        "rustybuzz",
        "ttf",
        "fontdb",
        "resvg",
        "usvg",
        "tiny-skia",
        "image",
        "png",
        "jpeg",
        "reqwest",
        "hyper",
        "ureq",
        "tokio",
        "rustls",
        "native-tls",
        "socket2",
    ];
    let manifest: toml::Table = std::fs::read_to_string(root().join("core/Cargo.toml"))
        .unwrap()
        .parse()
        .unwrap();
    for name in manifest["dependencies"].as_table().unwrap().keys() {
        assert!(DIRECT.contains(&name.as_str()), "core depends on {name}");
    }
    let names: BTreeSet<String> = tree(&["--package", "aubergine-core"])
        .lines()
        .filter_map(|line| Some(line.split(' ').next()?.to_owned()))
        .collect();
    assert!(
        names.contains("serde_json") && names.contains("geo"),
        "{names:?}"
    );
    for name in &names {
        assert!(
            !FOREIGN.iter().any(|foreign| name.starts_with(foreign)),
            "core's tree has {name}"
        );
    }
}

/// Two versions of these would be two types of the same thing, or the same large code twice.
#[test]
fn crates_that_matter_are_in_the_build_once() {
    const ONCE: [&str; 13] = [
        "serde",
        "serde_json",
        "geo",
        "geo-types",
        "sha2",
        "clap",
        "jiff",
        "egui",
        "eframe",
        "accesskit",
        "usvg",
        "typst",
        "fontdb",
    ];
    let mut versions: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for line in tree(&["--workspace"]).lines() {
        let mut words = line.split(' ');
        if let (Some(name), Some(version)) = (words.next(), words.next()) {
            versions
                .entry(name.to_owned())
                .or_default()
                .insert(version.to_owned());
        }
    }
    assert!(versions.contains_key("clap"), "{versions:?}");
    for name in ONCE {
        let num = versions.get(name).map_or(0, BTreeSet::len);
        assert!(num <= 1, "{name}: {:?}", versions[name]);
    }
}

#[test]
fn nothing_is_left_unfinished_and_no_such_word_is_used() {
    // Put together here, so that this file does not find itself.
    let markers = [
        ["todo", "!"],
        ["unimplemented", "!"],
        ["FIX", "ME"],
        ["HA", "CK"],
        ["XX", "X"],
        ["dbg", "!("],
    ];
    for (name, text) in files("", &["rs"]) {
        for marker in markers.map(|parts| parts.concat()) {
            assert!(!text.contains(&marker), "{name}: {marker}");
        }
    }
    let words = [["record", "ing"], ["vid", "eo"], ["screen", "cast"]].map(|parts| parts.concat());
    for (name, text) in files("", &["rs", "md", "toml", "json", "snap", "csv", "txt", ""]) {
        if name == "Cargo.lock" {
            continue;
        }
        let text = text.to_lowercase();
        for word in &words {
            let mut hits = text.match_indices(word.as_str()).map(|(at, _)| at);
            let is_word = |at: usize| !text[..at].ends_with(|c: char| c.is_alphanumeric());
            assert!(!hits.any(is_word), "{name}: {word}");
        }
    }
}
