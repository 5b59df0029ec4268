//! The desktop window. One frame: panels and canvas read the state and queue actions; then the queue is drained and the
//! results of the new state are worked out, so that the next frame shows new places and their numbers together.

mod action;
mod app;
mod asked;
mod canvas;
mod command;
mod dispatch;
mod export;
mod files;
mod frame;
mod panels;
mod state;
mod theme;
mod tools;
mod widgets;

use std::path::Path;

pub use action::{Action, Queue};
pub use app::App;
pub use command::{Command, Keys, TABLE};
pub use files::Dialogs;
pub use frame::Window;
pub use state::{Camera, Dialog, Next, SideTab, ThemeChoice};
pub use tools::{GROUPS, Pointer, Stock, ToolEvent};

/// Gives a context the type family and both looks; a window needs them from its first frame on.
pub fn prepare(context: &eframe::egui::Context) {
    theme::install(context);
}

/// Opens the window on a plan, or on the built-in sample.
///
/// # Errors
/// One plain sentence: the plan cannot be read, or there is no display to open a window on.
pub fn run(plan: Option<&Path>) -> Result<(), String> {
    let document = match plan {
        Some(path) => crate::disk::read(path)?,
        None => app::Sample::LarkmeadClose.document()?,
    };
    if !has_display() {
        return Err(no_display(plan));
    }
    let viewport = eframe::egui::ViewportBuilder::default()
        .with_title("Aubergine")
        .with_app_id("aubergine")
        .with_inner_size([1440.0, 900.0])
        .with_min_inner_size([900.0, 600.0])
        .with_drag_and_drop(true);
    let options = eframe::NativeOptions {
        viewport,
        ..eframe::NativeOptions::default()
    };
    let path = plan.map(Path::to_path_buf);
    eframe::run_native(
        "aubergine",
        options,
        Box::new(move |cc| {
            let context = cc.egui_ctx.clone();
            let dialogs = Dialogs::waking(move || context.request_repaint());
            Ok(Box::new(Window::new(
                &cc.egui_ctx,
                App::new(document, path, dialogs),
            )))
        }),
    )
    .map_err(|error| {
        // What the libraries say begins with places in their own code; the reason stands last.
        let said = error.to_string();
        let reason = said.rsplit(": ").next().unwrap_or_default();
        let reason = reason.trim_end_matches('.');
        format!(
            "The window could not be opened ({reason}). {}",
            instead(plan)
        )
    })
}

/// Whether there is anything to open a window on. Elsewhere than on Unix desktops there always is.
fn has_display() -> bool {
    if cfg!(any(target_os = "windows", target_os = "macos")) {
        return true;
    }
    let is_set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    is_set("DISPLAY") || is_set("WAYLAND_DISPLAY") || is_set("WAYLAND_SOCKET")
}

fn no_display(plan: Option<&Path>) -> String {
    format!("There is no display to open a window on. {}", instead(plan))
}

fn instead(plan: Option<&Path>) -> String {
    let name = plan.map_or_else(|| "PLAN".to_owned(), |path| path.display().to_string());
    // As it was called, so that the line can be copied.
    let program = std::env::args()
        .next()
        .unwrap_or_else(|| "aubergine".to_owned());
    format!(
        "Without a window, `{program} report {name} -o report.pdf` writes the plan and its results to a file."
    )
}
