//! The order of one frame.

use aubergine_core::drawing::View;
use eframe::egui::{self, Context, Event, Key};

use super::action::Action;
use super::app::App;
use super::canvas::{self, Cache};
use super::command::{Command, Entry, TABLE};
use super::panels;
use super::state::ThemeChoice;
use super::theme;
use super::tools::{SelectState, Tool};

/// The window: the state, and what the window itself remembers of the last frame.
pub struct Window {
    /// The state.
    pub app: App,
    cache: Cache,
    shown_theme: ThemeChoice,
    shown_title: String,
    may_close: bool,
}

impl Window {
    /// A window of a context.
    #[must_use]
    pub fn new(context: &Context, app: App) -> Self {
        theme::install(context);
        let choice = app.view.theme;
        theme::choose(context, choice);
        Self {
            app,
            cache: Cache::default(),
            shown_theme: choice,
            shown_title: String::new(),
            may_close: false,
        }
    }

    /// One frame: keys, panels, canvas, dialogs; then what they asked for is done.
    pub fn frame(&mut self, ui: &mut egui::Ui) {
        self.keys(ui);
        let app = &self.app;
        if app.view.is_presenting {
            panels::present_bar(ui, app);
        } else {
            panels::menu_bar(ui, app);
            panels::status_bar(ui, app);
            panels::strip(ui, app);
            panels::side(ui, app);
        }
        canvas::show(ui, app, &mut self.cache);
        panels::dialogs(ui, app);
        focus_ring(ui);
        self.settle(ui);
    }

    /// Does what was asked for; the next frame shows it.
    fn settle(&mut self, context: &Context) {
        if context.input(|input| input.events.contains(&Event::WindowFocused(false))) {
            self.app.dialogs.keyboard_went_away();
        }
        if self.app.drain() {
            context.request_repaint();
        }
        if self.shown_theme != self.app.view.theme {
            self.shown_theme = self.app.view.theme;
            theme::choose(context, self.shown_theme);
            context.request_repaint();
        }
        let title = title(&self.app);
        if self.shown_title != title {
            context.send_viewport_cmd(egui::ViewportCommand::Title(title.clone()));
            self.shown_title = title;
        }
        if self.app.is_quitting && !self.may_close {
            self.may_close = true;
            context.send_viewport_cmd(egui::ViewportCommand::Close);
        }
    }

    /// Keys, dropped files, and the cross in the corner of the window.
    fn keys(&self, ui: &egui::Ui) {
        let app = &self.app;
        if !self.may_close && ui.input(|input| input.viewport().close_requested()) {
            ui.send_viewport_cmd(egui::ViewportCommand::CancelClose);
            app.queue.push(Action::Run(Command::Quit));
        }
        let dropped = ui.input(|input| {
            input
                .raw
                .dropped_files
                .first()
                .map(|file| file.path().to_path_buf())
        });
        if let Some(path) = dropped {
            let is_rules = path.extension().is_some_and(|ending| ending == "toml");
            app.queue.push(if is_rules {
                Action::AddRules(path)
            } else {
                Action::Open(path)
            });
        }
        let is_typing = ui.text_edit_focused();
        // An open menu or list has the keyboard to itself.
        if egui::Popup::is_any_open(ui.ctx()) {
            return;
        }
        let wanted = |event: &Event| command_of(event).filter(|entry| self.takes(entry, is_typing));
        // Each press carries the keys that were held with it: a quick press and release may fall into one frame.
        ui.input_mut(|input| {
            input.events.retain(|event| match wanted(event) {
                Some(entry) => {
                    app.queue.push(Action::Run(entry.command));
                    false
                }
                None => true,
            });
        });
    }

    /// Whether a command takes its keys now, or leaves them to what has the focus.
    fn takes(&self, entry: &Entry, is_typing: bool) -> bool {
        let Some(keys) = entry.keys else { return false };
        let is_function_key = keys.key.len() > 1 && keys.key.starts_with('F');
        // Selecting and undoing belong to the text while it is typed.
        let is_of_text = !keys.command || matches!(keys.key, "A" | "Z");
        if is_typing && is_of_text && !is_function_key {
            return false;
        }
        let has_dialog = self.app.view.dialog.is_some();
        match keys.key {
            "Escape" => true,
            // A button in focus takes Enter for itself.
            "Enter" => {
                !has_dialog
                    && matches!(
                        self.app.tool,
                        Tool::Run(_) | Tool::Place { .. } | Tool::Heads { .. }
                    )
            }
            _ => !has_dialog,
        }
    }
}

/// The command whose keys an event is.
fn command_of(event: &Event) -> Option<&'static Entry> {
    let Event::Key {
        key,
        pressed: true,
        modifiers,
        ..
    } = event
    else {
        return None;
    };
    TABLE.iter().find(|entry| {
        entry.keys.is_some_and(|keys| {
            let is_plus = keys.key == "Plus";
            let is_key = Key::from_name(keys.key) == Some(*key) || (is_plus && *key == Key::Equals);
            is_key
                && modifiers.command == keys.command
                && (modifiers.shift == keys.shift || is_plus)
                && !modifiers.alt
        })
    })
}

/// What has the focus is seen, wherever it is: fields, buttons, rows.
fn focus_ring(ui: &egui::Ui) {
    let Some(id) = ui.memory(egui::Memory::focused) else {
        return;
    };
    // The drawing shows by its selection where the focus is.
    const TALLEST: f32 = 300.0;
    let known = ui.read_response(id);
    let Some(response) = known.filter(|response| response.rect.height() < TALLEST) else {
        return;
    };
    let ink = theme::token(theme::current(ui), "ink");
    let painter = ui.layer_painter(response.layer_id);
    let rect = response.interact_rect.expand(1.0);
    painter.rect_stroke(
        rect,
        3.0,
        egui::Stroke::new(2.0, ink),
        egui::StrokeKind::Outside,
    );
}

fn title(app: &App) -> String {
    let name = if app.plan().name.is_empty() {
        "New plan"
    } else {
        &app.plan().name
    };
    let mark = if app.file.is_dirty {
        " — not saved"
    } else {
        ""
    };
    format!("{name}{mark} — Aubergine")
}

/// Whether something is being dragged on the drawing.
pub(super) const fn is_moving(app: &App) -> bool {
    matches!(
        app.tool,
        Tool::Select(SelectState::Moving { .. } | SelectState::Handle { .. })
    )
}

/// The view modes with their commands, in the order of their keys.
pub(super) const VIEWS: [(View, Command); 5] = [
    (View::Water, Command::ViewWater),
    (View::Pressure, Command::ViewPressure),
    (View::Contact, Command::ViewContact),
    (View::Coverage, Command::ViewCoverage),
    (View::Plain, Command::ViewPlain),
];

impl eframe::App for Window {
    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        self.frame(ui);
    }
}
