//! What the window asks for: panels and canvas only read and queue these; the queue is drained once a frame.

use std::cell::RefCell;
use std::path::PathBuf;

use aubergine_core::analysis::working::Number;
use aubergine_core::drawing::View;
use aubergine_core::edit::Edit;
use aubergine_core::geometry::PlanPoint;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::Id;
use aubergine_core::layout::HeadsRule;
use aubergine_core::units::UnitSystem;

use super::command::Command;
use super::state::{SideTab, ThemeChoice};
use super::tools::{Stock, ToolEvent};

/// One request.
#[derive(Clone, Debug)]
pub enum Action {
    /// A command of the table.
    Run(Command),
    /// Something happened on the canvas.
    Tool(ToolEvent),
    /// Take something from the strip; the next press or release on the drawing puts it down.
    Take(Stock),
    /// Put what is held down in the middle of what is seen.
    PutDownInTheMiddle(Stock),
    /// Select one object, in place of the selection or beside it.
    Select {
        /// Which.
        id: Id,
        /// Keep what is selected.
        add: bool,
        /// Bring it into view.
        show: bool,
    },
    /// Change the design as one step.
    Edit {
        /// The step's name in the menu.
        label: String,
        /// The change.
        edit: Edit,
    },
    /// Make a change that would help against a finding, and tell what it did.
    Help {
        /// The change in words.
        what: String,
        /// The change.
        edit: Edit,
    },
    /// Show the heads that would fill an area, or other ones.
    ShowHeads {
        /// The area.
        area: Id,
        /// What they are and how they stand.
        rule: HeadsRule,
    },
    /// Search pipe sizes of least cost, for the runs behind one zone's valve or for all.
    Size(Option<Id>),
    /// Show how a number of an object or place comes about.
    ShowWorking {
        /// Its name.
        of: String,
        /// Which number.
        number: Number,
    },
    /// Another view mode.
    View(View),
    /// Another supply case.
    Case(SupplyCase),
    /// Other units.
    Units(UnitSystem),
    /// Another look.
    Theme(ThemeChoice),
    /// Another tab beside the canvas.
    Tab(SideTab),
    /// Open a finding, or close it when it is open: select its subjects and work out what would help.
    OpenFinding(String),
    /// Move the selection by a step, or the view when nothing is selected.
    Nudge {
        /// Steps to the right.
        right: f64,
        /// Steps up.
        up: f64,
        /// Twelve times as far.
        is_far: bool,
    },
    /// Move the view by pixels.
    Pan {
        /// Right.
        dx: f64,
        /// Down.
        dy: f64,
    },
    /// Zoom about a place on the canvas, in pixels from its middle.
    Zoom {
        /// How much larger.
        factor: f64,
        /// Right of the middle.
        x: f64,
        /// Below the middle.
        y: f64,
    },
    /// The canvas has another size, in pixels.
    CanvasSized {
        /// Width.
        width: f64,
        /// Height.
        height: f64,
    },
    /// Open a plan file.
    Open(PathBuf),
    /// Add local rules from a file.
    AddRules(PathBuf),
    /// Write the plan to a file.
    SaveTo(PathBuf),
    /// Close the question that is open.
    CloseDialog,
    /// Go on without saving.
    DiscardAndGoOn,
    /// Save, then go on.
    SaveAndGoOn,
    /// The path typed so far.
    TypedPath(String),
    /// Write a note.
    AddNote {
        /// The object it is pinned to.
        object: Option<Id>,
        /// The place it is pinned to.
        at: Option<PlanPoint>,
        /// What is wanted: `required`, `recommended`, `question`, `note`.
        kind: String,
        /// Who writes.
        author: String,
        /// What it says.
        text: String,
    },
    /// Move a note on: `open`, `answered`, `closed`.
    SetNoteStatus {
        /// Which.
        id: Id,
        /// The word.
        status: String,
    },
    /// Settle a finding with what was typed.
    Settle {
        /// The finding.
        finding: String,
        /// Why it may stay.
        reason: String,
        /// Who decides.
        name: String,
        /// What shows it.
        evidence: String,
    },
    /// Ask for a reason, a name and evidence to settle a finding.
    AskToSettle(String),
    /// Take a decision about a finding back.
    Unsettle(String),
    /// Take the message away.
    DismissNotice,
}

/// Requests of one frame, in order.
#[derive(Debug, Default)]
pub struct Queue(RefCell<Vec<Action>>);

impl Queue {
    /// Adds a request.
    pub fn push(&self, action: Action) {
        self.0.borrow_mut().push(action);
    }

    /// Takes all requests.
    pub fn take(&self) -> Vec<Action> {
        std::mem::take(&mut self.0.borrow_mut())
    }
}
