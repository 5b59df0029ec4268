//! The parts list for other programs: CSV by RFC 4180, UTF-8, lines ended by CR LF, a caution in the first row.

use super::Checked;
use crate::drawing::notice::{caution, rules_in_force};
use crate::takeoff::Quantity;
use crate::text;
use crate::units::{UnitSystem, display};

const NUM_COLUMNS: usize = 5;

/// The parts list as CSV: a row with the caution, a row with the heads, a row a part.
#[must_use]
pub fn parts_csv(checked: &Checked<'_>) -> Vec<u8> {
    let note = text::fill(
        "parts.note",
        [("caution", caution(&rules_in_force(checked.plan)))],
    );
    let mut out = String::new();
    // Every row has the same number of cells, as the format asks.
    write_row(&mut out, [&note, "", "", "", ""]);
    let heads = ["group", "part", "quantity", "unit", "objects"];
    let keys: [String; NUM_COLUMNS] =
        heads.map(|head| text::get(&format!("parts.{head}")).to_owned());
    write_row(&mut out, keys.each_ref().map(String::as_str));
    for line in &checked.analysis.parts.lines {
        let (quantity, unit) = match (line.quantity, checked.units) {
            (Quantity::Pieces(count), _) => (count.to_string(), "parts.pieces"),
            (Quantity::Run(length), UnitSystem::Us) => {
                (display::fixed(length.feet(), 1), "parts.feet")
            }
            (Quantity::Run(length), UnitSystem::Metric) => {
                (display::fixed(length.metres(), 2), "parts.metres")
            }
        };
        let objects: Vec<String> = line.objects.iter().map(ToString::to_string).collect();
        let cells = [
            line.group,
            &line.name,
            &quantity,
            text::get(unit),
            &objects.join(" "),
        ];
        write_row(&mut out, cells);
    }
    out.into_bytes()
}

fn write_row(out: &mut String, cells: [&str; NUM_COLUMNS]) {
    let written = cells.map(cell);
    out.push_str(&written.join(","));
    out.push_str("\r\n");
}

/// A cell: an apostrophe before what a spreadsheet would run as a formula, quotes where the format asks for them.
fn cell(text: &str) -> String {
    let is_formula = text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']);
    let guarded = if is_formula {
        format!("'{text}")
    } else {
        text.to_owned()
    };
    if guarded.contains(['"', ',', '\r', '\n']) {
        format!("\"{}\"", guarded.replace('"', "\"\""))
    } else {
        guarded
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_quoted_and_formulas_disarmed() {
        assert_eq!(cell("1/2 in, \"PVC\""), "\"1/2 in, \"\"PVC\"\"\"");
        assert_eq!(cell("=1+1"), "'=1+1");
        assert_eq!(cell("@x,y"), "\"'@x,y\"");
        assert_eq!(cell("plain"), "plain");
    }
}
