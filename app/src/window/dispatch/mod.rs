//! The only place where what was asked for is done.

mod edit;
pub(super) mod file;
mod notes;
mod rules;
mod tool;
pub(super) mod view;

use super::action::Action;
use super::app::{App, Sample};
use super::command::Command;
use super::state::{Dialog, Next};
use super::tools::{RunDraft, SelectState, Tool};

pub(super) fn dispatch(app: &mut App, action: Action) {
    match action {
        Action::Run(command) => run(app, command),
        Action::Tool(event) => tool::handle(app, event),
        Action::Take(stock) => {
            app.history.cancel();
            app.tool = Tool::Place { stock, at: None };
        }
        Action::PutDownInTheMiddle(stock) => tool::put_down_in_the_middle(app, stock),
        Action::Select { id, add, show } => edit::select(app, id, add, show),
        Action::Edit { label, edit } => edit::apply(app, &label, &edit),
        Action::Help { what, edit } => edit::help(app, &what, &edit),
        Action::ShowHeads { area, rule } => set_tool(app, Tool::Heads { area, rule }),
        Action::Size(zone) => view::size(app, zone),
        Action::ShowWorking { of, number } => {
            app.view.dialog = Some(Dialog::Working { of, number });
        }
        Action::View(view) => app.view.view = view,
        Action::Case(case) => app.view.case = case,
        Action::Units(units) => app.view.units = units,
        Action::Theme(theme) => app.view.theme = theme,
        Action::Tab(tab) => {
            app.view.tab = tab;
            app.view.has_side_panel = true;
        }
        Action::OpenFinding(id) => view::open_finding(app, id),
        Action::Nudge { right, up, is_far } => edit::nudge(app, right, up, is_far),
        Action::Pan { dx, dy } => app.camera.pan(dx, dy),
        Action::Zoom { factor, x, y } => app.camera.zoom(factor, x, y),
        Action::CanvasSized { width, height } => {
            app.camera.width = width;
            app.camera.height = height;
            if !app.view.is_fitted {
                view::fit(app);
            }
        }
        Action::Open(path) => file::guard(app, Next::Open(path)),
        Action::AddRules(path) => rules::add_from(app, &path),
        Action::SaveTo(path) => {
            file::save_to(app, &path);
        }
        Action::CloseDialog => {
            file::close_dialog(app);
        }
        Action::DiscardAndGoOn => file::go_on(app),
        Action::SaveAndGoOn => file::save_and_go_on(app),
        Action::TypedPath(path) => file::typed(app, &path),
        Action::AddNote {
            object,
            at,
            kind,
            author,
            text,
        } => notes::add(app, object, at, kind, author, text),
        Action::SetNoteStatus { id, status } => notes::set_status(app, id, status),
        Action::AskToSettle(finding) => app.view.dialog = Some(Dialog::Settle(finding)),
        Action::Settle {
            finding,
            reason,
            name,
            evidence,
        } => notes::settle(app, &finding, &reason, &name, &evidence),
        Action::Unsettle(finding) => notes::unsettle(app, &finding),
        Action::DismissNotice => app.view.notice = None,
    }
}

fn run(app: &mut App, command: Command) {
    match command {
        Command::New => file::guard(app, Next::New),
        Command::Open => file::guard(app, Next::Choose),
        Command::OpenTyped => file::guard(app, Next::TypePath),
        Command::OpenSample => file::guard(app, Next::Sample(Sample::LarkmeadClose)),
        Command::OpenFaultySample => file::guard(app, Next::Sample(Sample::CedarbrakeHollow)),
        Command::OpenLargeSample => file::guard(app, Next::Sample(Sample::SaltbushCommons)),
        Command::OpenDenseSample => file::guard(app, Next::Sample(Sample::QuinceRow)),
        Command::Quit => file::guard(app, Next::Quit),
        Command::Save => file::save(app),
        Command::SaveAs => file::save_as(app),
        Command::SaveTyped => file::ask_typed_save(app),
        Command::Export => file::export(app),
        Command::Print => file::print(app),
        Command::Letter => file::letter(app),
        Command::AddRules => file::add_rules(app),
        Command::Undo => edit::undo(app),
        Command::Redo => edit::redo(app),
        Command::Delete => edit::delete(app),
        Command::SelectAll => {
            app.selection = app
                .plan()
                .objects
                .ids()
                .into_iter()
                .filter(|id| edit::has_place(*id))
                .collect();
        }
        Command::Cancel => cancel(app),
        Command::Finish => tool::finish(app),
        Command::SelectTool => set_tool(app, Tool::default()),
        Command::HandTool => set_tool(app, Tool::Hand),
        Command::RunTool => set_tool(app, Tool::Run(RunDraft::default())),
        Command::NoteTool => notes::begin(app),
        Command::Fit => view::fit(app),
        Command::FitSelection => view::fit_selection(app),
        Command::ZoomIn => app.camera.zoom(1.25, 0.0, 0.0),
        Command::ZoomOut => app.camera.zoom(0.8, 0.0, 0.0),
        Command::ViewWater => app.view.view = aubergine_core::drawing::View::Water,
        Command::ViewPressure => app.view.view = aubergine_core::drawing::View::Pressure,
        Command::ViewContact => app.view.view = aubergine_core::drawing::View::Contact,
        Command::ViewCoverage => app.view.view = aubergine_core::drawing::View::Coverage,
        Command::ViewPlain => app.view.view = aubergine_core::drawing::View::Plain,
        Command::SizePipes => {
            // The list of sizes stands with the plan as a whole.
            app.selection.clear();
            view::size(app, None);
        }
        Command::NextCase => view::next_case(app),
        Command::Grid => app.view.has_grid = !app.view.has_grid,
        Command::Legend => app.view.has_legend = !app.view.has_legend,
        Command::Present => {
            app.view.is_presenting = !app.view.is_presenting;
            app.view.is_fitted = false;
        }
        Command::Panels => app.view.has_side_panel = !app.view.has_side_panel,
        Command::NextFinding => view::step_finding(app, true),
        Command::PreviousFinding => view::step_finding(app, false),
        Command::NextObject => edit::step_object(app, true),
        Command::PreviousObject => edit::step_object(app, false),
        Command::Crops => app.view.dialog = Some(Dialog::Crops),
        Command::KeySheet => app.view.dialog = Some(Dialog::Keys),
        Command::Words => app.view.dialog = Some(Dialog::Words),
    }
}

/// Takes another tool in hand; an open gesture is put back first.
fn set_tool(app: &mut App, tool: Tool) {
    app.history.cancel();
    app.tool = tool;
}

/// One step back: dialog, gesture, tool, presentation, selection.
fn cancel(app: &mut App) {
    if file::close_dialog(app) {
        return;
    }
    match &mut app.tool {
        Tool::Select(SelectState::Idle) => {
            if app.view.is_presenting {
                app.view.is_presenting = false;
                app.view.is_fitted = false;
            } else {
                app.selection.clear();
            }
        }
        Tool::Select(state) => {
            *state = SelectState::Idle;
            app.history.cancel();
        }
        Tool::Run(draft) if !draft.points.is_empty() => *draft = RunDraft::default(),
        _ => set_tool(app, Tool::default()),
    }
}
