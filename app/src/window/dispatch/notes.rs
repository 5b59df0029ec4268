//! Review pins and decisions about findings: they are not part of the design, and undo leaves them alone.

use aubergine_core::analysis::settled;
use aubergine_core::geometry::PlanPoint;
use aubergine_core::ids::{Id, Kind};
use aubergine_core::model::Thread;

use crate::window::app::App;
use crate::window::state::{Dialog, SideTab};
use crate::window::tools::Tool;

/// With something selected the note is pinned to that; otherwise the next click says where.
pub(super) fn begin(app: &mut App) {
    match app.selected_one() {
        Some(id) => ask(app, Some(id), None),
        None => super::set_tool(app, Tool::Note),
    }
}

pub(super) fn ask(app: &mut App, object: Option<Id>, at: Option<PlanPoint>) {
    app.tool = Tool::default();
    app.view.dialog = Some(Dialog::Note { object, at });
}

pub(super) fn add(
    app: &mut App,
    object: Option<Id>,
    at: Option<PlanPoint>,
    kind: String,
    author: String,
    text: String,
) {
    app.view.dialog = None;
    app.view.author.clone_from(&author);
    let at = at.or_else(|| aubergine_core::drawing::build::place_of(app.plan(), object?));
    let mut next_id = app.document().next_id.clone();
    for known in app.document().review.threads.keys() {
        next_id.note(*known);
    }
    let id = next_id.take(Kind::Note);
    let thread = Thread {
        author,
        kind,
        status: "open".to_owned(),
        object,
        at,
        text,
        ..Thread::default()
    };
    let (review, _) = app.history.beside_the_design();
    review.threads.insert(id, thread);
    app.view.tab = SideTab::Notes;
    app.view.has_side_panel = true;
}

pub(super) fn set_status(app: &mut App, id: Id, status: String) {
    let (review, _) = app.history.beside_the_design();
    if let Some(thread) = review.threads.get_mut(&id) {
        thread.status = status;
    }
}

/// Records why a finding may stay and who answers for that; what is missing is told in the question.
pub(super) fn settle(app: &mut App, finding: &str, reason: &str, name: &str, evidence: &str) {
    let Some(found) = app.analysis().finding(finding) else {
        app.view.dialog = None;
        return;
    };
    match settled::settle(found, reason, name, evidence, &crate::today()) {
        Ok(settlement) => {
            app.view.author.clone_from(&settlement.name);
            let (review, _) = app.history.beside_the_design();
            review.settled.insert(finding.to_owned(), settlement);
            app.view.dialog = None;
        }
        Err(error) => app.say_problem(error.to_string()),
    }
}

/// Takes a decision back: the finding stands open again.
pub(super) fn unsettle(app: &mut App, finding: &str) {
    let (review, _) = app.history.beside_the_design();
    review.settled.remove(finding);
}
