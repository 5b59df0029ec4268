//! What is brought into view, and which finding is open.

use aubergine_core::drawing::build::{place_of, shape_of};
use aubergine_core::geometry::PlanPoint;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::Id;

use crate::window::app::App;
use crate::window::state::SideTab;

/// Brings everything into view, once the size of the canvas is known.
pub(in crate::window) fn fit(app: &mut App) {
    if app.camera.width <= 0.0 {
        return;
    }
    let bounds = app.results.drawing.bounds();
    let (low, high) = bounds.unwrap_or((PlanPoint::new(0.0, 0.0), PlanPoint::new(15.0, 10.0)));
    app.camera.fit(low, high);
    app.view.is_fitted = true;
}

/// The corners of objects.
fn bounds_of(app: &App, ids: impl Iterator<Item = Id>) -> Option<(PlanPoint, PlanPoint)> {
    let mut points: Vec<PlanPoint> = Vec::new();
    for id in ids {
        match shape_of(app.plan(), id) {
            Some(shape) => shape.each_point(|point| points.push(point)),
            None => points.extend(place_of(app.plan(), id)),
        }
    }
    points
        .into_iter()
        .map(|point| (point, point))
        .reduce(|(low, high), (point, _)| {
            (
                PlanPoint::new(low.x.min(point.x), low.y.min(point.y)),
                PlanPoint::new(high.x.max(point.x), high.y.max(point.y)),
            )
        })
}

pub(super) fn fit_selection(app: &mut App) {
    match bounds_of(app, app.selection.iter().copied()) {
        Some((low, high)) => {
            // Small things are shown with their surroundings.
            const AROUND_M: f64 = 1.5;
            app.camera.fit(
                PlanPoint::new(low.x - AROUND_M, low.y - AROUND_M),
                PlanPoint::new(high.x + AROUND_M, high.y + AROUND_M),
            );
        }
        None => fit(app),
    }
}

/// Moves the view only if part of the selection is out of sight.
pub(super) fn show_selection(app: &mut App) {
    if let Some((low, high)) = bounds_of(app, app.selection.iter().copied())
        && !(app.camera.sees(low) && app.camera.sees(high))
    {
        fit_selection(app);
    }
}

/// Searches pipe sizes and shows them; nothing changes yet.
pub(super) fn size(app: &mut App, zone: Option<Id>) {
    app.size(zone);
    app.view.tab = SideTab::Object;
    app.view.has_side_panel = true;
}

pub(super) fn open_finding(app: &mut App, id: String) {
    if app.view.open_finding.as_ref() == Some(&id) {
        app.view.open_finding = None;
        app.help = None;
        return;
    }
    if let Some(finding) = app.results.analysis.finding(&id) {
        let known = |id: &Id| app.plan().objects.contains(*id);
        let subjects: Vec<Id> = finding.subjects.iter().copied().filter(known).collect();
        app.selection = subjects.into_iter().collect();
    }
    app.view.open_finding = Some(id);
    app.view.tab = SideTab::Findings;
    app.view.has_side_panel = true;
    show_selection(app);
    app.refresh_help();
}

pub(super) fn step_finding(app: &mut App, forward: bool) {
    let ids: Vec<String> = app
        .results
        .analysis
        .findings
        .iter()
        .map(aubergine_core::finding::Finding::id)
        .collect();
    let count = ids.len();
    if count == 0 {
        let missing = crate::window::panels::missing(app);
        let key = missing.first().copied().unwrap_or("window.none_found");
        app.say(aubergine_core::text::get(key));
        return;
    }
    let open = app.view.open_finding.as_ref();
    let here = open.and_then(|open| ids.iter().position(|id| id == open));
    let next = match (here, forward) {
        (None, true) => 0,
        (None, false) => count - 1,
        (Some(index), true) => (index + 1) % count,
        (Some(index), false) => (index + count - 1) % count,
    };
    if let Some(id) = ids.get(next).filter(|id| open != Some(id)) {
        open_finding(app, id.clone());
    }
}

pub(super) fn next_case(app: &mut App) {
    app.view.case = match app.view.case {
        SupplyCase::Low => SupplyCase::Normal,
        SupplyCase::Normal => SupplyCase::High,
        SupplyCase::High => SupplyCase::Low,
    };
}
