//! What the pointer does on the drawing: one tool at a time, each a small state machine without any window in it.

mod corners;
mod heads;
mod land;
mod run;
mod select;
mod snap;
mod starts;
mod stock;

pub(crate) use heads::{heads_edit, placed};
pub use land::{Ghost, Landing, land};
pub use run::{RunDraft, run_edit};
pub use select::{Grip, Handle, SelectState, handles, offset_words};
pub(crate) use select::{handle_edit, offset, step};
pub use snap::{Seek, join, waiting};
pub(crate) use starts::water_of_new;
pub use stock::{GROUPS, Stock};

use aubergine_core::geometry::PlanPoint;
use aubergine_core::ids::Id;
use aubergine_core::layout::HeadsRule;
use aubergine_core::units::{Length, UnitSystem};

/// Where the pointer is, and what is held.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Pointer {
    /// The place on the plan.
    pub at: PlanPoint,
    /// How many metres a pixel is.
    pub m_per_px: f64,
    /// Shift is held.
    pub shift: bool,
    /// Ctrl is held: nothing snaps.
    pub free: bool,
    /// Units in whose steps things move.
    pub units: UnitSystem,
}

impl Pointer {
    /// A distance in pixels as a length of the plan.
    #[must_use]
    pub fn px(&self, pixels: f64) -> Length {
        Length::from_metres(pixels * self.m_per_px)
    }
}

/// What happened on the canvas.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum ToolEvent {
    /// The pointer moved without a button.
    Hover(Pointer),
    /// The pointer left the canvas.
    Leave,
    /// A click.
    Click(Pointer),
    /// A second click at once.
    DoubleClick(Pointer),
    /// A drag began; the pointer is where it was pressed.
    DragStart(Pointer),
    /// The drag goes on.
    DragTo(Pointer),
    /// The button was let go.
    DragEnd(Pointer),
    /// What was taken from the strip is let go over the drawing.
    Drop(Pointer),
    /// It is let go elsewhere.
    DropOutside,
}

/// The tool in hand.
#[derive(Clone, PartialEq, Debug)]
pub enum Tool {
    /// Selects and moves.
    Select(SelectState),
    /// Drags the sheet.
    Hand,
    /// Puts down what was taken from the strip.
    Place {
        /// What.
        stock: Stock,
        /// Where the pointer is.
        at: Option<Pointer>,
    },
    /// Draws a run point by point.
    Run(RunDraft),
    /// Shows the heads that would fill an area.
    Heads {
        /// The area.
        area: Id,
        /// What they are and how they stand.
        rule: HeadsRule,
    },
    /// Pins a note.
    Note,
}

impl Default for Tool {
    fn default() -> Self {
        Self::Select(SelectState::Idle)
    }
}

impl Tool {
    /// What to do next, in the status bar.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Select(SelectState::Idle) => {
                "Click selects, drag moves, click again for what lies beneath. Shift adds."
            }
            Self::Select(SelectState::Moving { .. }) => {
                "Let go to set it down. Ctrl moves freely, Esc puts it back."
            }
            Self::Select(SelectState::Handle { .. }) => {
                "An end let go near a port or a run is joined to it. A corner moves alone while Ctrl is held. Esc puts it back."
            }
            Self::Select(SelectState::Marquee { .. }) => {
                "Everything touched is selected; Ctrl takes only what lies wholly inside, Shift adds."
            }
            Self::Hand => "Drag the sheet. V goes back to selecting.",
            Self::Place { .. } => "Let go or click on the drawing. Esc puts it away.",
            Self::Run(_) => {
                "Click each bend or pull each stretch; Enter or a double click ends the run, Esc drops it."
            }
            Self::Heads { .. } => "Enter puts these heads down, Esc takes them away.",
            Self::Note => "Click the object or the place to set the pin on.",
        }
    }
}

/// How far from the pointer things catch, in pixels.
pub const CATCH_PX: f64 = 12.0;
