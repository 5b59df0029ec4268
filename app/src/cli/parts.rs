//! `aubergine parts`: the parts list as CSV.

use std::path::Path;
use std::process::ExitCode;

use aubergine_core::report::parts_csv;

use super::input::Opened;
use super::{Common, Failure, output};

/// Writes the parts list.
pub(super) fn run(path: &Path, output: &Path, common: &Common) -> Result<ExitCode, Failure> {
    let opened = Opened::read(path, common)?;
    let list = parts_csv(&opened.checked(&[], common));
    output::write(output, &list, None)?;
    Ok(ExitCode::SUCCESS)
}
