//! What the pointer does, turned into selection, gestures and edits.

use aubergine_core::drawing::pick;
use aubergine_core::edit::Edit;
use aubergine_core::geometry::{PlanPoint, PlanVector};
use aubergine_core::ids::{Id, Kind};
use aubergine_core::text;
use aubergine_core::units::Length;

use super::edit::{has_place, what_moves};
use crate::window::app::App;
use crate::window::panels::describe::pressure_of;
use crate::window::tools::{
    CATCH_PX, Grip, Handle, Pointer, RunDraft, SelectState, Stock, Tool, ToolEvent, handle_edit,
    handles, heads_edit, land, offset, run_edit,
};

/// How near a click must be to a line, in pixels.
const SLACK_PX: f64 = 7.0;
/// Clicks this near to each other go through what lies beneath.
const SAME_PLACE_PX: f64 = 4.0;

pub(super) fn handle(app: &mut App, event: ToolEvent) {
    match event {
        ToolEvent::Hover(pointer) => hover(app, &pointer),
        ToolEvent::Leave => leave(app),
        ToolEvent::Click(pointer) => click(app, &pointer),
        ToolEvent::DoubleClick(pointer) => {
            if matches!(app.tool, Tool::Run(_)) {
                finish(app);
            } else {
                click(app, &pointer);
            }
        }
        ToolEvent::DragStart(pointer) => drag_start(app, &pointer),
        ToolEvent::DragTo(pointer) => drag_to(app, &pointer),
        ToolEvent::DragEnd(pointer) => {
            drag_to(app, &pointer);
            set_point(app, &pointer);
            drag_end(app, &pointer);
        }
        ToolEvent::Drop(pointer) => {
            if let Tool::Place { stock, .. } = app.tool {
                put_down(app, stock, &pointer);
            }
        }
        ToolEvent::DropOutside => {
            if matches!(app.tool, Tool::Place { .. }) {
                app.tool = Tool::default();
            }
        }
    }
}

fn hover(app: &mut App, pointer: &Pointer) {
    match &mut app.tool {
        Tool::Place { at, .. } => *at = Some(*pointer),
        Tool::Run(draft) => draft.aim(&app.history.document().design, pointer),
        _ => {}
    }
}

fn leave(app: &mut App) {
    match &mut app.tool {
        Tool::Place { at, .. } => *at = None,
        Tool::Run(draft) => draft.next = None,
        _ => {}
    }
}

/// Everything under the pointer that can be selected, nearest first. An emitter line comes after the bed it lies in: rows are
/// so close that there would be no place to take hold of the bed.
fn under(app: &App, pointer: &Pointer) -> Vec<Id> {
    let hits = pick::at(&app.results.drawing, pointer.at, pointer.px(SLACK_PX));
    let mut hits: Vec<Id> = hits.into_iter().map(|hit| hit.subject).collect();
    let lines = &app.plan().objects.lines;
    let line = hits.first().and_then(|first| lines.get(first));
    let bed = line.and_then(|line| hits.iter().position(|id| line.serves.contains(id)));
    if let Some(bed) = bed {
        let bed = hits.remove(bed);
        hits.insert(0, bed);
    }
    hits
}

fn click(app: &mut App, pointer: &Pointer) {
    match &mut app.tool {
        Tool::Select(_) => click_select(app, pointer),
        Tool::Hand | Tool::Heads { .. } => {}
        Tool::Place { stock, .. } => {
            let stock = *stock;
            put_down(app, stock, pointer);
        }
        Tool::Run(_) => set_point(app, pointer),
        Tool::Note => {
            let object = under(app, pointer)
                .into_iter()
                .find(|id| id.kind != Kind::Note);
            super::notes::ask(app, object, Some(pointer.at));
        }
    }
}

/// A point of the run that is drawn; a joint ends the run.
fn set_point(app: &mut App, pointer: &Pointer) {
    if let Tool::Run(draft) = &mut app.tool {
        draft.aim(&app.history.document().design, pointer);
        if draft.set() {
            finish(app);
        }
    }
}

fn click_select(app: &mut App, pointer: &Pointer) {
    let hits = under(app, pointer);
    let is_again = app
        .last_click
        .filter(|(at, _)| at.distance(pointer.at) <= pointer.px(SAME_PLACE_PX));
    let depth = match is_again {
        Some((_, depth)) if !hits.is_empty() && !pointer.shift => (depth + 1) % hits.len(),
        _ => 0,
    };
    match hits.get(depth) {
        Some(id) => {
            super::edit::select(app, *id, pointer.shift, false);
            show_object(app, *id);
            app.last_click = Some((pointer.at, depth));
        }
        None => {
            if !pointer.shift {
                app.selection.clear();
            }
            app.last_click = None;
        }
    }
}

/// What was picked on the drawing is shown beside it.
fn show_object(app: &mut App, id: Id) {
    if id.kind != Kind::Note {
        app.view.tab = crate::window::state::SideTab::Object;
    }
}

fn handle_under(app: &App, pointer: &Pointer) -> Option<Handle> {
    let id = app.selected_one()?;
    let near = handles(app.plan(), id)
        .into_iter()
        .map(|handle| (handle.at.distance(pointer.at), handle));
    near.filter(|(distance, _)| *distance <= pointer.px(CATCH_PX))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, handle)| handle)
}

fn drag_start(app: &mut App, pointer: &Pointer) {
    // A run can be pulled as well as clicked: its first point is where the button went down.
    if matches!(&app.tool, Tool::Run(draft) if draft.points.is_empty()) {
        set_point(app, pointer);
    }
    if !matches!(app.tool, Tool::Select(_)) {
        return;
    }
    app.last_click = None;
    if let Some(handle) = handle_under(app, pointer) {
        app.history.begin(handle_label(&handle));
        app.tool = Tool::Select(SelectState::Handle {
            handle,
            caught: None,
        });
        return;
    }
    let hits = under(app, pointer);
    let held = hits
        .iter()
        .find(|id| app.selection.contains(id))
        .or(hits.first())
        .copied();
    match held.filter(|id| has_place(*id)) {
        Some(id) => {
            if !app.selection.contains(&id) {
                super::edit::select(app, id, pointer.shift, false);
                show_object(app, id);
            }
            let (ids, label) = what_moves(app);
            let was = match ids.as_slice() {
                [one] => pressure_of(app, *one),
                _ => None,
            };
            app.history.begin(label);
            app.tool = Tool::Select(SelectState::Moving {
                ids,
                origin: pointer.at,
                by: PlanVector::new(0.0, 0.0),
                was,
            });
        }
        None => {
            app.tool = Tool::Select(SelectState::Marquee {
                from: pointer.at,
                to: pointer.at,
                inside: pointer.free,
            });
        }
    }
}

fn drag_to(app: &mut App, pointer: &Pointer) {
    if matches!(app.tool, Tool::Run(_)) {
        hover(app, pointer);
    }
    let Tool::Select(state) = &mut app.tool else {
        return;
    };
    match state {
        SelectState::Idle => {}
        SelectState::Marquee { to, inside, .. } => {
            *to = pointer.at;
            *inside = pointer.free;
        }
        SelectState::Moving {
            ids, origin, by, ..
        } => {
            let wanted = offset(*origin, pointer);
            if wanted == *by {
                return;
            }
            *by = wanted;
            let edit = Edit::Move {
                ids: ids.clone(),
                by: wanted,
            };
            again(app, &edit);
        }
        SelectState::Handle { handle, caught } => {
            // The handle is worked out on the plan as it was, so that taps tried on the way leave nothing behind.
            let handle = *handle;
            *caught = None;
            app.history.cancel();
            app.history.begin(handle_label(&handle));
            let Some((edit, found)) = handle_edit(&app.history.document().design, &handle, pointer)
            else {
                return;
            };
            let result = app.history.apply("", &edit);
            if let Tool::Select(SelectState::Handle { caught, .. }) = &mut app.tool {
                *caught = found;
            }
            match result {
                Ok(_) => app.view.notice = None,
                Err(error) => app.say_problem(error.to_string()),
            }
        }
    }
}

/// `Move a corner of B3`.
fn handle_label(handle: &Handle) -> String {
    let article = if handle.grip == Grip::End { "an" } else { "a" };
    format!("Move {article} {} of {}", handle.grip.word(), handle.id)
}

/// Puts the plan back to where the gesture began and applies the whole of it: nothing adds up on the way.
fn again(app: &mut App, edit: &Edit) {
    let ids = match edit {
        Edit::Move { ids, .. } => ids.clone(),
        _ => Vec::new(),
    };
    let label = match ids.as_slice() {
        [one] => format!("Move {one}"),
        many => format!("Move {} objects", many.len()),
    };
    app.history.cancel();
    app.history.begin(label);
    if let Err(error) = app.history.apply("", edit) {
        app.say_problem(error.to_string());
    }
}

fn drag_end(app: &mut App, pointer: &Pointer) {
    let Tool::Select(state) = &mut app.tool else {
        return;
    };
    match std::mem::take(state) {
        SelectState::Idle => {}
        SelectState::Moving { .. } | SelectState::Handle { .. } => app.history.commit(),
        SelectState::Marquee { from, to, inside } => {
            let touched = framed(app, from, to, inside);
            if !pointer.shift {
                app.selection.clear();
            }
            app.selection.extend(touched);
        }
    }
}

/// Objects that a frame touches, or those that lie wholly inside it.
fn framed(app: &App, from: PlanPoint, to: PlanPoint, wholly: bool) -> Vec<Id> {
    use aubergine_core::geometry::Polygon;
    let low = PlanPoint::new(from.x.min(to.x), from.y.min(to.y));
    let (width, height) = ((from.x - to.x).abs(), (from.y - to.y).abs());
    let frame = Polygon::rectangle(low, Length::from_metres(width), Length::from_metres(height));
    let inside = |point: PlanPoint| {
        point.x >= low.x
            && point.x <= low.x + width
            && point.y >= low.y
            && point.y <= low.y + height
    };
    let mut found: Vec<Id> = Vec::new();
    for mark in app.results.drawing.marks() {
        let Some(id) = mark.subject.filter(|id| has_place(*id)) else {
            continue;
        };
        use aubergine_core::drawing::Shape;
        let is_touched = match &mark.shape {
            Shape::Area(area) if wholly => area.0.iter().all(|point| inside(*point)),
            Shape::Line(line) if wholly => line.0.iter().all(|point| inside(*point)),
            Shape::Area(area) => area.overlap(&frame).square_metres() > 0.0,
            Shape::Line(line) => {
                line.0.iter().any(|point| inside(*point))
                    || !line.crossings(&frame.boundary()).is_empty()
            }
            Shape::Symbol { at, .. } => inside(*at),
            Shape::Dots(_) | Shape::Text { .. } => false,
        };
        if is_touched && !found.contains(&id) {
            found.push(id);
        }
    }
    found
}

/// Ends what is being drawn, or puts down what is held.
pub(super) fn finish(app: &mut App) {
    match std::mem::take(&mut app.tool) {
        Tool::Run(draft) => {
            match run_edit(app.plan(), &draft) {
                Some(edit) => super::edit::apply(app, "Draw a pipe run", &edit),
                None => app.tool = Tool::Run(RunDraft::default()),
            };
        }
        Tool::Place { stock, at } => match at {
            Some(pointer) => put_down(app, stock, &pointer),
            None => put_down_in_the_middle(app, stock),
        },
        Tool::Heads { area, rule } => match heads_edit(app.plan(), area, &rule) {
            Some(edit) => {
                super::edit::apply(app, &format!("Fill {area} with heads"), &edit);
                app.say(text::get("window.join_heads"));
            }
            None => app.say_problem(text::get("window.no_heads")),
        },
        other => app.tool = other,
    }
}

/// Puts something from the strip down at a place.
pub(super) fn put_down(app: &mut App, stock: Stock, pointer: &Pointer) {
    app.tool = Tool::default();
    match land(app.document(), stock, pointer) {
        Some(landing) => match landing.edit {
            Some(edit) => {
                super::edit::apply(app, &landing.label, &edit);
                // Lines laid into a bed add no object: the bed is what was worked on.
                if let Edit::Put { id, .. } = edit {
                    super::edit::select(app, id, false, false);
                    show_object(app, id);
                }
            }
            None => app.say_problem(landing.word),
        },
        None => app.say_problem("It cannot be put down there."),
    }
}

/// The way without a pointer: in the middle of what is seen, then moved with the arrow keys.
pub(super) fn put_down_in_the_middle(app: &mut App, stock: Stock) {
    let pointer = Pointer {
        at: app.camera.centre,
        m_per_px: 1.0 / app.camera.px_per_m,
        shift: false,
        free: false,
        units: app.view.units,
    };
    put_down(app, stock, &pointer);
}
