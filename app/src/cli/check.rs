//! `aubergine check`: findings, verdicts, pressures and flows of a plan.

use std::path::Path;
use std::process::ExitCode;

use aubergine_core::finding::Severity;
use aubergine_core::report::{check_json, check_text};

use super::input::Opened;
use super::{Common, Failure, print};

/// Checks a plan and prints what was found.
pub(super) fn run(
    path: &Path,
    json: bool,
    with_fixes: bool,
    common: &Common,
) -> Result<ExitCode, Failure> {
    let mut opened = Opened::read(path, common)?;
    let helping = if with_fixes {
        opened.fixes()
    } else {
        Vec::new()
    };
    let checked = opened.checked(&helping, common);
    let bytes = if json {
        check_json(&checked)
    } else {
        check_text(&checked).into_bytes()
    };
    print(&bytes)?;
    Ok(if opened.analysis.count(Severity::Stop) > 0 {
        ExitCode::from(1)
    } else {
        ExitCode::SUCCESS
    })
}
