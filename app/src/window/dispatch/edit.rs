//! Selection, edits, undo.

use aubergine_core::edit::Edit;
use aubergine_core::finding::Severity;
use aubergine_core::geometry::PlanVector;
use aubergine_core::ids::{Id, Kind};
use aubergine_core::text;

use crate::window::app::App;
use crate::window::state::SideTab;
use crate::window::tools::{SelectState, Tool, step};

/// Whether an object stands somewhere on the drawing.
pub(super) const fn has_place(id: Id) -> bool {
    !matches!(id.kind, Kind::Water | Kind::Zone | Kind::Note)
}

pub(super) fn select(app: &mut App, id: Id, add: bool, show: bool) {
    if id.kind == Kind::Note {
        app.view.tab = SideTab::Notes;
    }
    if !app.plan().objects.contains(id) {
        return;
    }
    if add {
        if !app.selection.remove(&id) {
            app.selection.insert(id);
        }
    } else {
        app.selection.clear();
        app.selection.insert(id);
    }
    if show {
        super::view::show_selection(app);
    }
}

pub(super) fn apply(app: &mut App, label: &str, edit: &Edit) {
    // A change from a panel ends what the pointer was doing.
    app.history.cancel();
    if let Tool::Select(state) = &mut app.tool {
        *state = SelectState::Idle;
    }
    match app.history.apply(label, edit) {
        Ok(effects) => {
            app.view.notice = None;
            if let Some(id) = effects.added.iter().find(|id| has_place(**id)) {
                app.selection = [*id].into();
                app.view.tab = SideTab::Object;
            }
        }
        Err(error) => app.say_problem(error.to_string()),
    }
}

/// Makes a change that was offered as a help, and tells how the counts of findings changed.
pub(super) fn help(app: &mut App, what: &str, edit: &Edit) {
    let Some(counts) = apply_counted(app, what, edit) else {
        return;
    };
    app.view.tab = SideTab::Findings;
    let what = what.trim_end_matches('.').to_owned();
    app.say(text::fill(
        "window.applied",
        [("what", what), ("counts", counts)],
    ));
}

/// Makes a change and tells how the counts of findings changed with it; `None` when it could not be made.
pub(super) fn apply_counted(app: &mut App, what: &str, edit: &Edit) -> Option<String> {
    let count = |app: &App| Severity::ALL.map(|severity| app.analysis().count(severity));
    let (before, revision) = (count(app), app.history.revision());
    apply(app, what, edit);
    if app.history.revision() == revision {
        return None;
    }
    app.update();
    let after = count(app);
    let changes: Vec<String> = Severity::ALL
        .into_iter()
        .zip(before.into_iter().zip(after))
        .filter(|(_, (before, after))| before != after)
        .map(|(severity, (before, after))| {
            let values = [
                ("word", severity.word().to_owned()),
                ("before", before.to_string()),
                ("after", after.to_string()),
            ];
            text::fill("window.count_changed", values)
        })
        .collect();
    Some(if changes.is_empty() {
        text::get("window.count_same").to_owned()
    } else {
        changes.join(", ")
    })
}

pub(super) fn undo(app: &mut App) {
    // While something is dragged, undo puts it back and no more.
    if !matches!(app.tool, Tool::Select(SelectState::Idle)) {
        if let Tool::Select(state) = &mut app.tool {
            *state = SelectState::Idle;
            app.history.cancel();
            return;
        }
        app.tool = Tool::default();
    }
    // What was said of the step is not so any more.
    app.view.notice = None;
    if app.history.undo().is_none() {
        app.say("Nothing is left to undo.");
    }
}

pub(super) fn redo(app: &mut App) {
    if app.history.redo().is_none() {
        app.say("Nothing is left to do again.");
    }
}

pub(super) fn delete(app: &mut App) {
    let ids: Vec<Id> = app.selection.iter().copied().collect();
    if ids.is_empty() {
        app.say("Nothing is selected.");
        return;
    }
    let label = match ids.as_slice() {
        [one] => format!("Delete {one}"),
        many => format!("Delete {} objects", many.len()),
    };
    apply(app, &label, &Edit::Remove(ids));
}

/// What is selected and stands somewhere, and the name of the step that moves it.
pub(super) fn what_moves(app: &App) -> (Vec<Id>, String) {
    let ids: Vec<Id> = app
        .selection
        .iter()
        .copied()
        .filter(|id| has_place(*id))
        .collect();
    let label = match ids.as_slice() {
        [one] => format!("Move {one}"),
        many => format!("Move {} objects", many.len()),
    };
    (ids, label)
}

/// Moves the selection by steps, or the view when nothing is selected.
pub(in crate::window) fn nudge(app: &mut App, right: f64, up: f64, is_far: bool) {
    if app.selection.is_empty() {
        const PAN_PX: f64 = 40.0;
        app.camera.pan(-right * PAN_PX, up * PAN_PX);
        return;
    }
    let by = step(app.view.units, 0.0).metres() * if is_far { 12.0 } else { 1.0 };
    let (ids, label) = what_moves(app);
    let edit = Edit::Move {
        ids,
        by: PlanVector::new(right * by, up * by),
    };
    if let Err(error) = app.history.apply(&label, &edit) {
        app.say_problem(error.to_string());
    }
}

pub(super) fn step_object(app: &mut App, forward: bool) {
    let ids: Vec<Id> = app
        .plan()
        .objects
        .ids()
        .into_iter()
        .filter(|id| has_place(*id))
        .collect();
    let here = app
        .selection
        .first()
        .and_then(|id| ids.iter().position(|known| known == id));
    let count = ids.len();
    let next = match (here, forward) {
        _ if count == 0 => return,
        (None, true) => 0,
        (None, false) => count - 1,
        (Some(index), true) => (index + 1) % count,
        (Some(index), false) => (index + count - 1) % count,
    };
    if let Some(id) = ids.get(next) {
        select(app, *id, false, true);
    }
}
