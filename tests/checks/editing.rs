//! Single edits on the samples: what is joined follows, only what depends on a change is worked out again, a cancelled
//! gesture and a refused edit leave no trace.

use std::sync::Arc;

use acceptance::{CEDARBRAKE, LARKMEAD, sample};
use aubergine_core::analysis::{Analyzer, Recomputed};
use aubergine_core::edit::{self, Edit, EditError, History};
use aubergine_core::file;
use aubergine_core::geometry::{PlanPoint, PlanVector};
use aubergine_core::ids::{Id, Kind};
use aubergine_core::layout::port_place;
use aubergine_core::model::{Device, End, Object, Pipe, PipeRole, Plan, integrity};
use aubergine_core::units::Length;

fn id(text: &str) -> Id {
    text.parse().unwrap()
}

fn worked_out(analyzer: &Analyzer, before: Recomputed) -> (usize, usize) {
    let now = analyzer.recomputed();
    (now.layouts - before.layouts, now.solves - before.solves)
}

#[test]
fn moving_a_bed_takes_its_lines_and_pipe_along_and_solves_its_zone_only() {
    let mut document = sample(LARKMEAD);
    let mut analyzer = Analyzer::default();
    let before = analyzer.update(&document.design);
    assert_eq!(
        analyzer.recomputed().solves,
        3 * document.design.objects.zones.len()
    );
    let counted = analyzer.recomputed();
    let by = PlanVector::new(Length::from_feet(3.0).metres(), 0.0);
    let edit = Edit::Move {
        ids: vec![id("B3")],
        by,
    };
    let (moved, effects) = edit::apply(&document.design, &mut document.next_id, &edit).unwrap();
    // One bed and the pipe that feeds it, and nothing else.
    assert_eq!(effects.touched, [id("B3"), id("P9")]);
    let pipe = &moved.objects.pipes[&id("P9")];
    let port = pipe.end.port().unwrap();
    let end = *pipe.vertices.0.last().unwrap();
    assert_eq!(Some(end), port_place(&moved.objects, &moved.catalog, port));
    let old = document.design.objects.pipes[&id("P9")].vertices.0.clone();
    assert!(end.distance(*old.last().unwrap() + by).metres() < 1e-9);
    assert_eq!(
        pipe.vertices.0[0], old[0],
        "its other end stays on the lateral"
    );

    let after = analyzer.update(&moved);
    assert_eq!(
        worked_out(&analyzer, counted),
        (1, 3),
        "one fill; one operating set in three cases"
    );
    for (was, is) in before.beds[&id("B3")]
        .rows
        .iter()
        .zip(&after.beds[&id("B3")].rows)
    {
        assert_eq!(was.emitters.len(), is.emitters.len());
        for (was, is) in was.emitter_places().zip(is.emitter_places()) {
            assert!(is.distance(was + by).metres() < 1e-9);
        }
    }
    for zone in ["Z2", "Z3"].map(id) {
        assert!(
            Arc::ptr_eq(
                &before.zones[&zone].solutions[0],
                &after.zones[&zone].solutions[0]
            ),
            "{zone}"
        );
    }
    assert!(before.zones[&id("Z1")].solutions[0] != after.zones[&id("Z1")].solutions[0]);
    // The same plan again, and the first one again.
    let counted = analyzer.recomputed();
    analyzer.update(&moved);
    assert_eq!(worked_out(&analyzer, counted), (0, 0));
}

#[test]
fn moving_what_carries_no_water_solves_nothing() {
    for (name, which) in [
        (LARKMEAD, "G1"),
        (LARKMEAD, "M1"),
        (LARKMEAD, "F1"),
        (LARKMEAD, "T1"),
        (CEDARBRAKE, "G1"),
        (CEDARBRAKE, "M2"),
    ] {
        let mut document = sample(name);
        let mut analyzer = Analyzer::default();
        analyzer.update(&document.design);
        let counted = analyzer.recomputed();
        let edit = Edit::Move {
            ids: vec![id(which)],
            by: PlanVector::new(0.4, -0.3),
        };
        let (moved, effects) = edit::apply(&document.design, &mut document.next_id, &edit).unwrap();
        assert_eq!(effects.touched, [id(which)], "{name}");
        analyzer.update(&moved);
        assert_eq!(worked_out(&analyzer, counted), (0, 0), "{name} {which}");
    }
    // A label changes no number either.
    let document = sample(LARKMEAD);
    let mut analyzer = Analyzer::default();
    analyzer.update(&document.design);
    let counted = analyzer.recomputed();
    let mut plan = document.design.clone();
    Arc::make_mut(plan.objects.pipes.get_mut(&id("P2")).unwrap())
        .meta
        .label = "Main".to_owned();
    Arc::make_mut(plan.objects.zones.get_mut(&id("Z1")).unwrap())
        .meta
        .label = "Food".to_owned();
    analyzer.update(&plan);
    assert_eq!(worked_out(&analyzer, counted), (0, 0));
}

#[test]
fn a_cancelled_gesture_leaves_no_trace() {
    let document = sample(LARKMEAD);
    let mut history = History::new(document.clone());
    history
        .apply("first", &Edit::Remove(vec![id("G1")]))
        .unwrap();
    let before = history.document().clone();
    history.begin("drag");
    for step in 1..20 {
        let by = PlanVector::new(0.1, 0.01 * f64::from(step));
        history
            .apply(
                "drag",
                &Edit::Move {
                    ids: vec![id("B3"), id("B1")],
                    by,
                },
            )
            .unwrap();
    }
    history
        .apply("drag", &Edit::Remove(vec![id("B2")]))
        .unwrap();
    assert!(history.document().design != before.design);
    history.cancel();
    assert!(*history.document() == before);
    assert_eq!(
        (history.num_steps(), history.undo_label()),
        (1, Some("first"))
    );
    // One gesture is one step, however many edits it took; a gesture that changed nothing is none.
    history.begin("drag");
    for _ in 0..5 {
        history
            .apply(
                "drag",
                &Edit::Move {
                    ids: vec![id("B3")],
                    by: PlanVector::new(0.1, 0.0),
                },
            )
            .unwrap();
    }
    history.commit();
    history.begin("nothing");
    history.commit();
    assert_eq!(
        (history.num_steps(), history.undo_label()),
        (2, Some("drag"))
    );
    history.undo();
    history.undo();
    assert!(history.document().design == document.design);
}

/// A gesture that is open when somebody asks for redo is closed first; nothing of it gets lost between the steps.
#[test]
fn redo_inside_a_gesture_loses_no_state() {
    let document = sample(LARKMEAD);
    let mut history = History::new(document.clone());
    history
        .apply("first", &Edit::Remove(vec![id("G1")]))
        .unwrap();
    history.undo();
    history.begin("drag");
    history
        .apply(
            "drag",
            &Edit::Move {
                ids: vec![id("B3")],
                by: PlanVector::new(0.1, 0.0),
            },
        )
        .unwrap();
    assert_eq!(history.redo(), None, "something else was done since");
    while history.undo().is_some() {}
    assert!(history.document().design == document.design);
}

/// Whether an edit was refused for the right reason.
type Refusal = fn(&EditError) -> bool;

#[test]
fn a_refused_edit_changes_nothing() {
    let document = sample(LARKMEAD);
    let plan = &document.design;
    let put_pipe = |name: &str, end: &str| {
        let mut pipe = (*plan.objects.pipes[&id(name)]).clone();
        pipe.end = end.parse().unwrap();
        Edit::Put {
            id: id(name),
            object: Object::Pipe(Arc::new(pipe)),
        }
    };
    let by = PlanVector::new(1.0, 0.0);
    let device = Arc::clone(&plan.objects.devices[&id("D1")]);
    let insert = |pipe: Id, station: f64| Edit::InsertDevice {
        pipe,
        station: Length::from_metres(station),
        device: Arc::clone(&device),
    };
    let gone = Id::new(Kind::Bed, 77);
    let refusals: [(Edit, Refusal); 11] = [
        (put_pipe("P9", "P14.end"), |error| {
            matches!(error, EditError::WatersMeet { .. })
        }),
        (put_pipe("P14", "P6.end"), |error| {
            matches!(error, EditError::WatersMeet { .. })
        }),
        (
            put_pipe("P9", "B2.in"),
            |error| matches!(error, EditError::Unsound(what) if what.contains("joined twice")),
        ),
        (
            put_pipe("P9", "B3.side"),
            |error| matches!(error, EditError::Unsound(what) if what.contains("no such port")),
        ),
        (
            put_pipe("P9", "B77.in"),
            |error| matches!(error, EditError::Unsound(what) if what.contains("B77")),
        ),
        (
            Edit::Move {
                ids: vec![id("B1"), gone],
                by,
            },
            |error| matches!(error, EditError::NotThere(_)),
        ),
        (Edit::Remove(vec![id("B1"), gone]), |error| {
            matches!(error, EditError::NotThere(_))
        }),
        (
            Edit::Put {
                id: id("B1"),
                object: plan.objects.get(id("P1")).unwrap(),
            },
            |error| matches!(error, EditError::WrongKind(_)),
        ),
        (insert(id("P2"), 0.0), |error| {
            matches!(error, EditError::NoRoom(_))
        }),
        (insert(id("P2"), 1000.0), |error| {
            matches!(error, EditError::NoRoom(_))
        }),
        (
            Edit::All(vec![
                Edit::Remove(vec![id("B1")]),
                Edit::Move {
                    ids: vec![id("B1")],
                    by,
                },
            ]),
            |error| matches!(error, EditError::NotThere(_)),
        ),
    ];
    let mut history = History::new(document.clone());
    for (edit, is_expected) in &refusals {
        let error = history.apply("refused", edit).unwrap_err();
        assert!(is_expected(&error), "{edit:?}: {error}");
        assert!(history.document().design == document.design, "{error}");
        assert_eq!((history.num_steps(), history.revision()), (0, 0), "{error}");
        // Inside a gesture as well.
        history.begin("gesture");
        assert!(history.apply("refused", edit).is_err());
        history.commit();
        assert_eq!(history.num_steps(), 0);
    }
    assert!(file::save(history.document()) == file::save(&document));
}

/// A device goes into a run without moving anything: lengths, taps and what hangs on them stay where they were.
#[test]
fn a_device_put_into_a_run_moves_nothing() {
    let mut document = sample(LARKMEAD);
    let plan = document.design.clone();
    let run = &plan.objects.pipes[&id("P6")];
    let station = Length::from_metres(4.0);
    let device = Arc::clone(&plan.objects.devices[&id("D1")]);
    let edit = Edit::InsertDevice {
        pipe: id("P6"),
        station,
        device,
    };
    let (after, effects) = edit::apply(&plan, &mut document.next_id, &edit).unwrap();
    let [new_device, rest] = effects.added[..] else {
        panic!("{effects:?}")
    };
    let (front, back) = (&after.objects.pipes[&id("P6")], &after.objects.pipes[&rest]);
    let total = front.vertices.length() + back.vertices.length();
    assert!((total - run.vertices.length()).abs().metres() < 1e-9);
    assert_eq!(
        after.objects.devices[&new_device].at,
        PlanPoint::new(0.6096 + 4.0, 0.9144)
    );
    assert_eq!(front.taps.len() + back.taps.len(), run.taps.len());
    for (name, tap) in &run.taps {
        let was = run.vertices.point_at(*tap).unwrap();
        let now = match front.taps.get(name) {
            Some(tap) => front.vertices.point_at(*tap),
            None => back.vertices.point_at(back.taps[name]),
        };
        assert!(was.distance(now.unwrap()).metres() < 1e-9, "{name}");
    }
    assert_eq!(back.end, run.end);
    assert_eq!(integrity::violations(&after.objects), vec![]);
}

/// Drawn from the bed to the main or from the main to the bed: the device stands the same way round, at the same place.
#[test]
fn a_device_faces_its_supply_whichever_way_the_run_was_drawn() {
    let document = sample(LARKMEAD);
    let drawn = &document.design;
    let run = &drawn.objects.pipes[&id("P6")];
    let mut turned = drawn.clone();
    let put =
        |plan: &mut Plan, pipe: Pipe| plan.objects.put(id("P6"), Object::Pipe(Arc::new(pipe)));
    put(&mut turned, run.turned());
    for (at, end) in integrity::joints(&drawn.objects) {
        let port = end.port().map(ToString::to_string);
        assert!(
            !matches!(port.as_deref(), Some("P6.start" | "P6.end")),
            "{at} hangs on an end of the run and would have to be renamed here"
        );
    }
    let insert = |plan: &Plan, station: Length| {
        let device = Arc::clone(&drawn.objects.devices[&id("D1")]);
        let edit = Edit::InsertDevice {
            pipe: id("P6"),
            station,
            device,
        };
        let mut next_id = document.next_id.clone();
        edit::apply(plan, &mut next_id, &edit).unwrap().0
    };
    let station = Length::from_metres(4.0);
    let here = insert(drawn, station);
    let there = insert(&turned, run.vertices.length() - station);
    assert_eq!(integrity::violations(&there.objects), vec![]);
    assert_eq!(
        here.objects.pipes[&id("P6")].start,
        there.objects.pipes[&id("P6")].start
    );
    assert_eq!(
        here.objects.pipes[&id("P6")].end,
        there.objects.pipes[&id("P6")].end
    );
    let ends = |plan: &Plan| -> Vec<String> {
        let ends = integrity::joints(&plan.objects);
        ends.map(|(by, end)| format!("{by} {end:?}")).collect()
    };
    assert_eq!(ends(&here), ends(&there));
}

#[test]
fn what_leads_to_a_new_zone_valve_becomes_a_main() {
    let mut document = sample(LARKMEAD);
    let laterals: Vec<Edit> = ["P1", "P2"]
        .map(|name| {
            let pipe = Pipe {
                role: PipeRole::Lateral,
                ..(*document.design.objects.pipes[&id(name)]).clone()
            };
            Edit::Put {
                id: id(name),
                object: Object::Pipe(Arc::new(pipe)),
            }
        })
        .into();
    let valve = Device {
        inlet: End::Open,
        ..(*document.design.objects.devices[&id("D6")]).clone()
    };
    let put = |pipe: &str, valve: &Device| Edit::InsertDevice {
        pipe: id(pipe),
        station: Length::from_metres(0.5),
        device: Arc::new(valve.clone()),
    };
    let edit = Edit::All(laterals.into_iter().chain([put("P2", &valve)]).collect());
    let (plan, _) = edit::apply(&document.design, &mut document.next_id, &edit).unwrap();
    let role = |plan: &Plan, name: &str| plan.objects.pipes[&id(name)].role;
    assert_eq!(role(&plan, "P1"), PipeRole::Main);
    assert_eq!(role(&plan, "P2"), PipeRole::Main);
    // Behind a valve that is there, nothing changes.
    let second = put("P6", &valve);
    let (plan, _) = edit::apply(&document.design, &mut document.next_id, &second).unwrap();
    assert_eq!(role(&plan, "P6"), PipeRole::Lateral);
}
