//! What the window knows besides the plan: where it is looked at from, what is selected, what was saved.

mod camera;
mod file;
mod view;

pub use camera::Camera;
pub use file::FileState;
pub use view::{Dialog, Next, Notice, SideTab, ThemeChoice, ViewState};
