//! `aubergine size`: pipe sizes at least cost, proved by solving all three cases.

use std::path::Path;
use std::process::ExitCode;

use aubergine_core::edit::History;
use aubergine_core::file;
use aubergine_core::ids::Id;
use aubergine_core::report::{sizing_json, sizing_text};
use aubergine_core::text;

use super::input::Opened;
use super::{Common, Failure, output, print};

/// Sizes the pipes of a plan, tells the sizes, and writes the changed plan where that is asked for.
pub(super) fn run(
    path: &Path,
    zone: Option<&str>,
    to: Option<&Path>,
    json: bool,
    common: &Common,
) -> Result<ExitCode, Failure> {
    let mut opened = Opened::read(path, common)?;
    let zone = match zone {
        None => None,
        Some(name) => {
            let known = name.parse::<Id>().ok();
            let known = known.filter(|id| opened.analysis.zones.contains_key(id));
            Some(known.ok_or_else(|| {
                let zones: Vec<String> = opened.analysis.zones.keys().map(Id::to_string).collect();
                format!(
                    "The plan has no zone named \"{name}\". Its zones: {}.",
                    zones.join(", ")
                )
            })?)
        }
    };
    let found = opened.sizes(zone);
    let units = common.units(opened.document.design.site.units);
    let is_found = found.is_ok();
    let bytes = if json {
        sizing_json(&found, units)
    } else {
        sizing_text(&opened.document.design, &found, units).into_bytes()
    };
    if let (Some(to), Ok(sizing)) = (to, found) {
        let mut history = History::new(opened.document);
        if let Some(edit) = &sizing.edit {
            history
                .apply(text::get("size.step"), edit)
                .map_err(|error| Failure(error.to_string()))?;
        }
        output::write(to, &file::save(history.document()), None)?;
        if to.as_os_str() == "-" {
            return Ok(ExitCode::SUCCESS);
        }
    }
    print(&bytes)?;
    Ok(if is_found {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(1)
    })
}
