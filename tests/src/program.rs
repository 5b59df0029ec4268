//! The program as a black box: built once, run as a process of its own.
//!
//! Cargo tells a test only the programs of its own package. So the program is built here, once a test run, by the same
//! cargo, with the same profile, into the same target folder, all of which follow from where this test itself lies
//! (`target/<profile>/deps/checks-…`). Where the program is up to date already this costs a fraction of a second.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

/// What one run of the program gave.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Run {
    /// Exit code; -1 for a run that was killed.
    pub code: i32,
    /// Standard output.
    pub stdout: Vec<u8>,
    /// Standard error.
    pub stderr: String,
}

impl Run {
    /// Standard output as text.
    #[must_use]
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.stdout).into_owned()
    }
}

/// Runs the program with arguments and an empty standard input.
///
/// # Panics
/// When it cannot be built or started.
#[expect(clippy::expect_used, reason = "without the program there is no test")]
pub fn run<S: AsRef<OsStr>>(arguments: impl IntoIterator<Item = S>) -> Run {
    let output = Command::new(program())
        .args(arguments)
        .stdin(std::process::Stdio::null())
        .output()
        .expect("the program starts");
    Run {
        code: output.status.code().unwrap_or(-1),
        stdout: output.stdout,
        stderr: String::from_utf8_lossy(&output.stderr).into_owned(),
    }
}

/// The path of the built program.
fn program() -> &'static Path {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(build)
}

#[expect(clippy::expect_used, reason = "without the program there is no test")]
fn build() -> PathBuf {
    let this = std::env::current_exe().expect("a test has a path");
    let profile_dir = this.ancestors().nth(2).expect("target/<profile>/deps");
    let target_dir = profile_dir.parent().expect("target");
    let profile = match profile_dir.file_name().and_then(OsStr::to_str) {
        Some("debug") | None => "dev",
        Some(other) => other,
    };
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let built = Command::new(cargo)
        .current_dir(super::root())
        .args([
            "build",
            "--quiet",
            "--package",
            "aubergine",
            "--bin",
            "aubergine",
        ])
        .args(["--profile", profile, "--target-dir"])
        .arg(target_dir)
        .status()
        .expect("cargo starts");
    assert!(built.success(), "the program does not build");
    profile_dir.join(format!("aubergine{}", std::env::consts::EXE_SUFFIX))
}
