//! What the acceptance tests share: the sample plans, and the program as a black box.

use std::path::{Path, PathBuf};

use aubergine_core::file;
use aubergine_core::model::Document;

/// The sample plans, by file name.
pub const SAMPLES: [&str; 2] = ["larkmead-close.json", "cedarbrake-hollow.json"];

/// The root of the workspace.
#[must_use]
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .map(Path::to_path_buf)
        .unwrap_or_default()
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
