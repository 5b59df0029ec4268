//! `aubergine check`: findings, verdicts, pressures and flows of a plan.

use std::path::Path;
use std::process::ExitCode;

use aubergine_core::analysis::working;
use aubergine_core::finding::Severity;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::report::{Shown, check_json, check_text, working_text};
use aubergine_core::text;

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
    Ok(exit_code(&opened))
}

/// Prints how the numbers of one object or place come about.
pub(super) fn working(path: &Path, name: &str, common: &Common) -> Result<ExitCode, Failure> {
    let opened = Opened::read(path, common)?;
    let case = match common.shown() {
        Shown::Case(case) => case,
        Shown::Worst => SupplyCase::Low,
    };
    let plan = &opened.document.design;
    let found = working::working(plan, &opened.analysis, name, case)
        .ok_or_else(|| text::fill("work.unknown", [("of", name.to_owned())]))?;
    print(working_text(&found, common.units(plan.site.units)).as_bytes())?;
    Ok(exit_code(&opened))
}

fn exit_code(opened: &Opened) -> ExitCode {
    if opened.analysis.count(Severity::Stop) > 0 {
        ExitCode::from(1)
    } else {
        ExitCode::SUCCESS
    }
}
