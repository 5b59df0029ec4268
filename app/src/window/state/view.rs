//! What is shown: view mode, supply case, panels, dialogs, messages.

use std::path::PathBuf;

use aubergine_core::analysis::working::Number;
use aubergine_core::drawing::{View, ViewOptions};
use aubergine_core::geometry::PlanPoint;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::Id;
use aubergine_core::units::UnitSystem;

use crate::window::app::Sample;

/// Light, dark, or as the desktop has it.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum ThemeChoice {
    /// As the desktop has it.
    #[default]
    System,
    /// Paper.
    Light,
    /// Night.
    Dark,
}

/// Tabs beside the canvas.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum SideTab {
    /// The selected object.
    #[default]
    Object,
    /// Findings.
    Findings,
    /// Every object by name.
    Objects,
    /// Review notes.
    Notes,
}

/// What goes on after a question about unsaved changes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Next {
    /// An empty plan.
    New,
    /// A sample.
    Sample(Sample),
    /// Choose a file.
    Choose,
    /// Type a path.
    TypePath,
    /// This file.
    Open(PathBuf),
    /// Close the window.
    Quit,
}

/// A question that is open.
#[derive(Clone, PartialEq, Debug)]
pub enum Dialog {
    /// The plan has changes that are not saved.
    Unsaved(Next),
    /// A path to open is typed.
    OpenPath(String),
    /// A path to save to is typed.
    SavePath(String),
    /// A path to export to is typed.
    ExportPath(String),
    /// Path to write the paper to.
    PaperPath(String),
    /// Type the path of the letter to the supplier.
    LetterPath(String),
    /// Path of local rules.
    RulesPath(String),
    /// A note is written.
    Note {
        /// The object it is pinned to.
        object: Option<Id>,
        /// The place.
        at: Option<PlanPoint>,
    },
    /// A finding is settled: why, and who answers for it.
    Settle(String),
    /// The keys.
    Keys,
    /// The list of words.
    Words,
    /// What the rules say of every crop under every method.
    Crops,
    /// How a number comes about.
    Working {
        /// Name of the object or place.
        of: String,
        /// Which number.
        number: Number,
    },
}

/// A message that stays until it is dismissed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Notice {
    /// What it says.
    pub text: String,
    /// Whether something went wrong.
    pub is_problem: bool,
}

/// What is shown.
#[derive(Clone, Debug)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a switch of its own in the view menu"
)]
pub struct ViewState {
    /// The view mode.
    pub view: View,
    /// The supply case.
    pub case: SupplyCase,
    /// Units of every number.
    pub units: UnitSystem,
    /// Look.
    pub theme: ThemeChoice,
    /// Tab beside the canvas.
    pub tab: SideTab,
    /// The panel beside the canvas is shown.
    pub has_side_panel: bool,
    /// Only the drawing is shown.
    pub is_presenting: bool,
    /// The grid is shown.
    pub has_grid: bool,
    /// The legend is shown whole, not folded to its heading.
    pub has_legend: bool,
    /// The drawing was brought into view once.
    pub is_fitted: bool,
    /// The finding that is open.
    pub open_finding: Option<String>,
    /// The question that is open.
    pub dialog: Option<Dialog>,
    /// The message.
    pub notice: Option<Notice>,
    /// Who writes notes.
    pub author: String,
}

impl ViewState {
    /// The first look at a plan.
    #[must_use]
    pub fn new(units: UnitSystem) -> Self {
        Self {
            view: View::Water,
            case: SupplyCase::Low,
            units,
            theme: ThemeChoice::default(),
            tab: SideTab::default(),
            has_side_panel: true,
            is_presenting: false,
            has_grid: true,
            has_legend: true,
            is_fitted: false,
            open_finding: None,
            dialog: None,
            notice: None,
            author: String::new(),
        }
    }

    /// What the drawing is built for.
    #[must_use]
    pub fn options(&self) -> ViewOptions {
        ViewOptions {
            view: self.view,
            case: self.case,
            units: self.units,
        }
    }
}
