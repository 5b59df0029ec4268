//! The panels around the drawing. They read the state and queue what is asked for.

mod bars;
mod chart;
mod crop_matrix;
pub(super) mod describe;
mod dialogs;
mod findings;
mod inspector;
mod margin;
mod notes;
mod objects;
mod settle;
mod side;
mod strip;
mod verdict_card;
mod verdicts;
mod words;
mod working;

pub(super) use bars::{menu_bar, present_bar, status_bar};
pub(super) use dialogs::dialogs;
pub(super) use findings::missing;
pub(super) use side::side;
pub(super) use strip::strip;
