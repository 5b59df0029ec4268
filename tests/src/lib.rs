//! What the acceptance tests share: the sample plans, and the program as a black box.

pub mod program;

use std::path::{Path, PathBuf};

use aubergine_core::file;
use aubergine_core::model::Document;
use serde_json::{Value, json};

pub use program::{Run, run};

/// The sample plans, by file name.
pub const SAMPLES: [&str; 4] = [LARKMEAD, CEDARBRAKE, SALTBUSH, QUINCE];
/// The clean sample.
pub const LARKMEAD: &str = "larkmead-close.json";
/// The sample with its fifteen intended findings.
pub const CEDARBRAKE: &str = "cedarbrake-hollow.json";
/// The community garden of 128 beds.
pub const SALTBUSH: &str = "saltbush-commons.json";
/// The dense bed of 308 emitters.
pub const QUINCE: &str = "quince-row.json";

/// The date that tests give where a date is shown.
pub const DATE: &str = "2027-03-15";

/// The root of the workspace.
#[must_use]
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .map(Path::to_path_buf)
        .unwrap_or_default()
}

/// Holds a number against another within a share of that.
///
/// # Panics
/// When it is further off.
#[track_caller]
pub fn near(found: f64, expected: f64, share: f64) {
    let off = (found - expected).abs() / expected;
    assert!(
        off <= share,
        "{found} for {expected}: {:.1} % off",
        off * 100.0
    );
}

/// The path of a sample plan.
#[must_use]
pub fn sample_path(name: &str) -> PathBuf {
    root().join("sample-plans").join(name)
}

/// The bytes of a sample plan.
///
/// # Panics
/// When the file is not there: the test cannot go on.
#[must_use]
#[expect(clippy::expect_used, reason = "a missing sample is a broken checkout")]
pub fn sample_bytes(name: &str) -> Vec<u8> {
    std::fs::read(sample_path(name)).expect("the sample plan is in the checkout")
}

/// A sample plan.
///
/// # Panics
/// When it cannot be read: the test cannot go on.
#[must_use]
#[expect(
    clippy::expect_used,
    reason = "an unreadable sample is what other tests report"
)]
pub fn sample(name: &str) -> Document {
    file::load(&sample_bytes(name)).expect("the sample plan can be read")
}

/// A plan of a home under one book of rules: a square yard of twice the half width, in metres, with some objects, to which
/// others are added kind by kind.
///
/// # Panics
/// Where the objects are none of a plan.
#[must_use]
#[expect(
    clippy::expect_used,
    reason = "a yard that cannot be read is a mistake of its test"
)]
pub fn yard(book: &str, half: f64, mut objects: Value, more: &Value) -> Document {
    for (kind, rows) in more.as_object().into_iter().flatten() {
        objects[kind] = rows.clone();
    }
    let file = json!({
        "format": "aubergine-plan",
        "version": 3,
        "design": {
            "name": "yard",
            "site": {
                "outline_m": [[-half, -half], [half, -half], [half, half], [-half, half]],
                "kind": "residence_individual",
            },
            "rules": {"in_force": [book]},
            "objects": objects,
        },
    });
    file::load(file.to_string().as_bytes()).expect("the yard can be read")
}
