//! Any sequence of edits on the samples: undo and redo lose nothing, nothing gets broken, names are given once.

use std::collections::BTreeSet;
use std::sync::Arc;

use acceptance::{SAMPLES, sample};
use aubergine_core::analysis::Analyzer;
use aubergine_core::edit::{Edit, History};
use aubergine_core::file;
use aubergine_core::geometry::PlanVector;
use aubergine_core::ids::Id;
use aubergine_core::model::{Document, End, Object, Plan, PortRef, integrity};
use proptest::prelude::*;
use proptest::sample::Index;

/// What a hand might do next, with places drawn from whatever is there then.
#[derive(Clone, Debug)]
enum Act {
    Move(Vec<Index>, f64, f64),
    Remove(Index),
    Copy(Index),
    Insert(Index, f64),
    Relabel(Index),
    Replace(Index, Index),
    Join(Index, Index, bool),
    Undo,
    Redo,
    Begin,
    Commit,
    Cancel,
}

fn act() -> impl Strategy<Value = Act> {
    let any_index = any::<Index>;
    prop_oneof![
        4 => (prop::collection::vec(any_index(), 1..4), -5.0..5.0, -5.0..5.0).prop_map(|(ids, x, y)| Act::Move(ids, x, y)),
        2 => any_index().prop_map(Act::Remove),
        2 => any_index().prop_map(Act::Copy),
        2 => (any_index(), -0.1..1.1).prop_map(|(pipe, part)| Act::Insert(pipe, part)),
        2 => any_index().prop_map(Act::Relabel),
        1 => (any_index(), any_index()).prop_map(|(a, b)| Act::Replace(a, b)),
        2 => (any_index(), any_index(), any::<bool>()).prop_map(|(a, b, start)| Act::Join(a, b, start)),
        2 => Just(Act::Undo),
        1 => Just(Act::Redo),
        1 => Just(Act::Begin),
        1 => Just(Act::Commit),
        1 => Just(Act::Cancel),
    ]
}

/// The edit of an act on a plan; `None` when there is nothing it could be done to.
fn edit_of(act: &Act, plan: &Plan) -> Option<Edit> {
    let ids = plan.objects.ids();
    if ids.is_empty() {
        return None;
    }
    let pick = |index: &Index| ids[index.index(ids.len())];
    let pipes: Vec<Id> = plan.objects.pipes.keys().copied().collect();
    Some(match act {
        Act::Move(which, x, y) => Edit::Move {
            ids: which.iter().map(pick).collect(),
            by: PlanVector::new(*x, *y),
        },
        Act::Remove(which) => Edit::Remove(vec![pick(which)]),
        Act::Copy(which) => Edit::Add(plan.objects.get(pick(which))?),
        Act::Insert(pipe, part) if !pipes.is_empty() => {
            let pipe = pipes[pipe.index(pipes.len())];
            Edit::InsertDevice {
                pipe,
                station: plan.objects.pipes[&pipe].vertices.length() * *part,
                device: Arc::clone(plan.objects.devices.values().next()?),
            }
        }
        Act::Relabel(which) => {
            let id = pick(which);
            let mut object = plan.objects.get(id)?;
            object.meta_mut().label.push('x');
            Edit::Put { id, object }
        }
        // Of another kind now and then, which must be refused.
        Act::Replace(which, other) => Edit::Put {
            id: pick(which),
            object: plan.objects.get(pick(other))?,
        },
        Act::Join(pipe, other, start) if !pipes.is_empty() => {
            let id = pipes[pipe.index(pipes.len())];
            let other = pick(other);
            let ports = integrity::ports(&plan.objects, other);
            let end = End::At(PortRef::new(other, ports.into_iter().next_back()?));
            let mut pipe = (*plan.objects.pipes[&id]).clone();
            *(if *start {
                &mut pipe.start
            } else {
                &mut pipe.end
            }) = end;
            Edit::Put {
                id,
                object: Object::Pipe(Arc::new(pipe)),
            }
        }
        _ => return None,
    })
}

fn bytes(plan: &Plan) -> Vec<u8> {
    file::save(&Document {
        design: plan.clone(),
        ..Document::default()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, rng_seed: proptest::test_runner::RngSeed::Fixed(7), ..ProptestConfig::default() })]

    #[test]
    fn all_undos_give_the_first_plan_and_all_redos_the_last(
        name in prop::sample::select(&SAMPLES[..]),
        acts in prop::collection::vec(act(), 1..40),
    ) {
        let document = sample(name);
        let first = document.design.clone();
        let mut names: BTreeSet<Id> = first.objects.ids().into_iter().collect();
        let known = integrity::violations(&first.objects);
        let mut history = History::new(document);
        // What the design was when the open gesture began.
        let mut opened: Option<Plan> = None;
        for act in &acts {
            match act {
                Act::Undo => { history.undo(); opened = None; }
                Act::Redo => { history.redo(); opened = None; }
                Act::Begin => {
                    history.begin("gesture");
                    opened.get_or_insert_with(|| history.document().design.clone());
                }
                Act::Commit => { history.commit(); opened = None; }
                Act::Cancel => {
                    history.cancel();
                    if let Some(before) = opened.take() {
                        prop_assert!(history.document().design == before, "cancel puts back what was");
                    }
                }
                _ => {
                    let before = history.document().design.clone();
                    let Some(edit) = edit_of(act, &before) else { continue };
                    match history.apply("act", &edit) {
                        Ok(effects) => {
                            for added in &effects.added {
                                prop_assert!(names.insert(*added), "{added} was given twice");
                            }
                            let now = &history.document().design;
                            let differing = now.objects.differences(&before.objects);
                            prop_assert_eq!(&effects.touched, &differing);
                        }
                        Err(error) => {
                            prop_assert!(!error.to_string().is_empty());
                            prop_assert!(history.document().design == before, "a refused edit changed something: {error}");
                        }
                    }
                }
            }
            for violation in integrity::violations(&history.document().design.objects) {
                prop_assert!(known.contains(&violation), "{violation}");
            }
        }
        history.commit();
        let last = history.document().design.clone();
        while history.undo().is_some() {}
        prop_assert!(history.document().design == first, "all undos");
        prop_assert!(bytes(&history.document().design) == bytes(&first), "all undos, byte for byte");
        while history.redo().is_some() {}
        // Acts may have ended on an undone state; then redo goes further than the last state.
        while history.document().design != last && history.undo().is_some() {}
        prop_assert!(bytes(&history.document().design) == bytes(&last), "redo gives the last plan");
    }

    /// Without undo in between, all redos end exactly at the last plan.
    #[test]
    fn redo_does_every_step_again(name in prop::sample::select(&SAMPLES[..]), acts in prop::collection::vec(act(), 1..15)) {
        let mut history = History::new(sample(name));
        let mut states = vec![history.document().design.clone()];
        for act in &acts {
            if let Some(edit) = edit_of(act, &history.document().design)
                && history.apply("act", &edit).is_ok_and(|effects| !effects.is_nothing())
            {
                states.push(history.document().design.clone());
            }
        }
        prop_assert_eq!(history.num_steps(), states.len() - 1);
        for state in states.iter().rev().skip(1) {
            prop_assert_eq!(history.undo(), Some("act".to_owned()));
            prop_assert!(history.document().design == *state);
        }
        prop_assert_eq!(history.undo(), None);
        for state in &states[1..] {
            prop_assert_eq!(history.redo(), Some("act".to_owned()));
            prop_assert!(history.document().design == *state);
        }
        prop_assert_eq!(history.redo(), None);
    }

    /// What was asked before plays no part: an analyzer that went along gives what a fresh one gives.
    #[test]
    fn an_analysis_does_not_depend_on_the_way(name in prop::sample::select(&SAMPLES[..]), acts in prop::collection::vec(act(), 1..8)) {
        let mut history = History::new(sample(name));
        let mut analyzer = Analyzer::default();
        analyzer.update(&history.document().design);
        for act in &acts {
            if let Some(edit) = edit_of(act, &history.document().design) {
                let _ = history.apply("act", &edit);
                analyzer.update(&history.document().design);
            }
        }
        let along = analyzer.update(&history.document().design);
        let fresh = Analyzer::default().update(&history.document().design);
        prop_assert!(along.findings == fresh.findings);
        prop_assert!(along.parts == fresh.parts);
        for (id, zone) in &along.zones {
            prop_assert!(zone.solutions == fresh.zones[id].solutions, "{id}");
        }
    }
}
