//! The one table of commands: label, key, hint, and when a command can be given. Menus, keys and the key sheet read it.

/// A key with its held keys. `Command` is Ctrl, or the command key where there is one.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Keys {
    /// Ctrl or the command key is held.
    pub command: bool,
    /// Shift is held.
    pub shift: bool,
    /// The key, by the name that the window library gives it.
    pub key: &'static str,
}

/// Something a person can ask for.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Command {
    /// A plan with nothing drawn.
    New,
    /// Choose a plan file.
    Open,
    /// Type the path of a plan file.
    OpenTyped,
    /// The clean sample.
    OpenSample,
    /// The sample that is wrong on purpose.
    OpenFaultySample,
    /// The large sample plan.
    OpenLargeSample,
    /// The sample with a dense bed.
    OpenDenseSample,
    /// Write the plan to its file.
    Save,
    /// Write it to another file.
    SaveAs,
    /// Type the path to write to.
    SaveTyped,
    /// Write what the view shows as a drawing file.
    Export,
    /// Write the summary for paper.
    Print,
    /// Write the questions for the supplier.
    Letter,
    /// Add the rules of a town or a supplier.
    AddRules,
    /// Close the window.
    Quit,
    /// Take the last step back.
    Undo,
    /// Do it again.
    Redo,
    /// Remove the selection.
    Delete,
    /// Select everything drawn.
    SelectAll,
    /// Stop, put down, deselect.
    Cancel,
    /// Finish what is being drawn, or put down what is held.
    Finish,
    /// The select tool.
    SelectTool,
    /// The hand.
    HandTool,
    /// Draw a run.
    RunTool,
    /// Pin a note.
    NoteTool,
    /// All in view.
    Fit,
    /// The selection in view.
    FitSelection,
    /// Larger.
    ZoomIn,
    /// Smaller.
    ZoomOut,
    /// Which water.
    ViewWater,
    /// Pressures.
    ViewPressure,
    /// Verdicts.
    ViewContact,
    /// Water of sprays on the ground.
    ViewCoverage,
    /// The plan alone.
    ViewPlain,
    /// Search pipe sizes of least cost for the whole plan.
    SizePipes,
    /// What the rules say of every crop under every method.
    Crops,
    /// Next supply case.
    NextCase,
    /// Grid on or off.
    Grid,
    /// Legend folded or whole.
    Legend,
    /// Only the drawing.
    Present,
    /// Panels on or off.
    Panels,
    /// Next finding.
    NextFinding,
    /// Finding before.
    PreviousFinding,
    /// Select the next object.
    NextObject,
    /// Select the object before.
    PreviousObject,
    /// The sheet of keys.
    KeySheet,
    /// The list of words.
    Words,
}

/// A row of the table.
#[derive(Clone, Copy, Debug)]
pub struct Entry {
    /// The command.
    pub command: Command,
    /// Its words in menus.
    pub label: &'static str,
    /// One sentence more.
    pub hint: &'static str,
    /// Its keys.
    pub keys: Option<Keys>,
}

const fn plain(key: &'static str) -> Option<Keys> {
    Some(Keys {
        command: false,
        shift: false,
        key,
    })
}
const fn shift(key: &'static str) -> Option<Keys> {
    Some(Keys {
        command: false,
        shift: true,
        key,
    })
}
const fn command(key: &'static str) -> Option<Keys> {
    Some(Keys {
        command: true,
        shift: false,
        key,
    })
}
const fn command_shift(key: &'static str) -> Option<Keys> {
    Some(Keys {
        command: true,
        shift: true,
        key,
    })
}

const fn row(
    command: Command,
    label: &'static str,
    hint: &'static str,
    keys: Option<Keys>,
) -> Entry {
    Entry {
        command,
        label,
        hint,
        keys,
    }
}

/// Every command.
pub const TABLE: &[Entry] = &[
    row(
        Command::New,
        "New plan",
        "Start with an empty yard.",
        command("N"),
    ),
    row(Command::Open, "Open…", "Choose a plan file.", command("O")),
    row(
        Command::OpenTyped,
        "Open a typed path…",
        "Type the path of a plan file; works without a file dialog.",
        command_shift("O"),
    ),
    row(
        Command::OpenSample,
        "Open sample Larkmead Close",
        "A small yard with six beds; nothing is wrong in it.",
        None,
    ),
    row(
        Command::OpenFaultySample,
        "Open sample Cedarbrake Hollow",
        "A yard that is wrong in fifteen ways on purpose.",
        None,
    ),
    row(
        Command::OpenLargeSample,
        "Open sample Saltbush Commons",
        "A community garden of 128 beds.",
        None,
    ),
    row(
        Command::OpenDenseSample,
        "Open sample Quince Row",
        "A small yard with one bed of 308 emitters on thin lines.",
        None,
    ),
    row(
        Command::Save,
        "Save",
        "Write the plan to its file.",
        command("S"),
    ),
    row(
        Command::SaveAs,
        "Save as…",
        "Write the plan to another file.",
        command_shift("S"),
    ),
    row(
        Command::SaveTyped,
        "Save to a typed path…",
        "Type the path to write to; works without a file dialog.",
        None,
    ),
    row(
        Command::Export,
        "Export…",
        "Write the drawing, the report or the parts list to a file; the ending of the name says which.",
        command("E"),
    ),
    row(
        Command::Print,
        "Print summary (PDF)…",
        "Write the summary for paper as a PDF, to be printed from any reader.",
        command("P"),
    ),
    row(
        Command::Letter,
        "Letter to the supplier…",
        "Write the questions that only the supplier can answer, with the plan attached.",
        None,
    ),
    row(
        Command::AddRules,
        "Add local rules…",
        "Read the rules of a town or a supplier from a file into the plan.",
        None,
    ),
    row(Command::Quit, "Quit", "Close the window.", command("Q")),
    row(
        Command::Undo,
        "Undo",
        "Take the last step back.",
        command("Z"),
    ),
    row(
        Command::Redo,
        "Redo",
        "Do the step again.",
        command_shift("Z"),
    ),
    row(
        Command::Delete,
        "Delete",
        "Remove what is selected.",
        plain("Delete"),
    ),
    row(
        Command::SelectAll,
        "Select all",
        "Select everything drawn.",
        command("A"),
    ),
    row(
        Command::Cancel,
        "Cancel",
        "Stop a gesture, put down what is held, then deselect.",
        plain("Escape"),
    ),
    row(
        Command::Finish,
        "Finish",
        "End the run that is being drawn, or put down what is held.",
        plain("Enter"),
    ),
    row(
        Command::SelectTool,
        "Select",
        "Select and move objects.",
        plain("V"),
    ),
    row(Command::HandTool, "Hand", "Drag the sheet.", plain("H")),
    row(
        Command::RunTool,
        "Draw a pipe run",
        "Click point by point; Enter ends it.",
        plain("P"),
    ),
    row(
        Command::NoteTool,
        "Review pin",
        "Pin a remark of yours to an object or a place.",
        plain("N"),
    ),
    row(
        Command::Fit,
        "Fit the plan",
        "Bring everything into view.",
        plain("F"),
    ),
    row(
        Command::FitSelection,
        "Fit the selection",
        "Bring the selection into view.",
        shift("F"),
    ),
    row(Command::ZoomIn, "Zoom in", "Larger.", command("Plus")),
    row(Command::ZoomOut, "Zoom out", "Smaller.", command("Minus")),
    row(
        Command::ViewWater,
        "Water",
        "Which water flows where.",
        plain("1"),
    ),
    row(
        Command::ViewPressure,
        "Pressure",
        "Pressure along every run.",
        plain("2"),
    ),
    row(
        Command::ViewContact,
        "Contact",
        "May this water touch this crop?",
        plain("4"),
    ),
    row(
        Command::ViewCoverage,
        "Coverage",
        "How much water of the sprays falls where.",
        plain("5"),
    ),
    row(Command::ViewPlain, "Plain", "The plan alone.", plain("7")),
    row(
        Command::SizePipes,
        "Size pipes",
        "Search the pipe sizes of least cost that keep pressure and velocity.",
        None,
    ),
    row(
        Command::NextCase,
        "Next supply case",
        "Low, normal, high pressure at the kerb.",
        plain("C"),
    ),
    row(Command::Grid, "Grid", "Show or hide the grid.", plain("G")),
    row(
        Command::Legend,
        "Legend",
        "Fold the legend to its heading, or show it whole.",
        plain("L"),
    ),
    row(
        Command::Present,
        "Present",
        "Only the drawing; Esc brings the panels back.",
        plain("F11"),
    ),
    row(
        Command::Panels,
        "Side panel",
        "Show or hide the panel on the right.",
        plain("F9"),
    ),
    row(
        Command::NextFinding,
        "Next finding",
        "Open the next finding.",
        plain("F8"),
    ),
    row(
        Command::PreviousFinding,
        "Finding before",
        "Open the finding before.",
        shift("F8"),
    ),
    row(
        Command::NextObject,
        "Next object",
        "Select the next object of the plan.",
        plain("PageDown"),
    ),
    row(
        Command::PreviousObject,
        "Object before",
        "Select the object before.",
        plain("PageUp"),
    ),
    row(
        Command::Crops,
        "Crops and methods…",
        "What the rules say of every crop under every way of watering.",
        plain("M"),
    ),
    row(Command::KeySheet, "Keys", "The sheet of keys.", plain("F1")),
    row(
        Command::Words,
        "Words",
        "What the short words on the drawing and in the panels mean.",
        shift("F1"),
    ),
];

impl Command {
    /// Its row.
    #[must_use]
    pub fn entry(self) -> &'static Entry {
        // The first row stands in for a row that is missing, which `every_command_has_one_row` reports.
        TABLE
            .iter()
            .find(|entry| entry.command == self)
            .unwrap_or(&TABLE[0])
    }
}

impl Keys {
    /// As menus write it: `Ctrl+Shift+S`.
    #[must_use]
    pub fn shown(self) -> String {
        let mut text = String::new();
        if self.command {
            text.push_str("Ctrl+");
        }
        if self.shift {
            text.push_str("Shift+");
        }
        text.push_str(match self.key {
            "Plus" => "+",
            "Minus" => "−",
            "Escape" => "Esc",
            "Delete" => "Del",
            "PageDown" => "Page down",
            "PageUp" => "Page up",
            key => key,
        });
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_commands_share_keys() {
        for (index, one) in TABLE.iter().enumerate() {
            for other in &TABLE[index + 1..] {
                assert!(
                    one.keys.is_none() || one.keys != other.keys,
                    "{:?} and {:?}",
                    one.command,
                    other.command
                );
            }
        }
    }

    #[test]
    fn every_command_has_one_row() {
        for entry in TABLE {
            assert_eq!(
                TABLE
                    .iter()
                    .filter(|row| row.command == entry.command)
                    .count(),
                1
            );
            assert_eq!(entry.command.entry().label, entry.label);
            assert!(!entry.hint.is_empty());
        }
    }
}
