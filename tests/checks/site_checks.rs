//! What is asked of the site around the plants: joints a hand can open, vacuum breakers, drinking water for irrigation, the
//! questions nobody drew, purple parts, and distances no better than the tape.

use std::sync::Arc;

use acceptance::yard;
use aubergine_core::analysis::{Analyzer, fixes, setbacks};
use aubergine_core::edit;
use aubergine_core::file;
use aubergine_core::finding::{self, Finding, Severity};
use aubergine_core::geometry::{PlanPoint, Polygon};
use aubergine_core::ids::{Id, Kind};
use aubergine_core::model::{Document, End, Hours, Premise};
use aubergine_core::rulebook::SiteKind;
use aubergine_core::units::{Length, UnitSystem};
use serde_json::{Value, json};

const FOOT: f64 = 0.3048;
const MILLIMETRE: f64 = 1e-3;

/// A yard with reclaimed water W1 and drinking water W2 under one book of rules.
fn plan(book: &str, class: &str, more: &Value) -> Document {
    let objects = json!({
        "waters": {
            "W1": {"kind": "reclaimed", "class": class},
            "W2": {"kind": "potable", "class": ""},
        },
    });
    yard(book, 90.0, objects, more)
}

fn findings(document: &Document) -> Vec<Finding> {
    Analyzer::default().update(&document.design).findings
}

/// The findings of one check, in the order told.
fn told(document: &Document, check: &str) -> Vec<(Severity, String)> {
    let of_check = findings(document)
        .into_iter()
        .filter(|finding| finding.check.starts_with(check));
    of_check
        .map(|finding| (finding.severity, finding.message.sentence(UnitSystem::Us)))
        .collect()
}

fn severities(document: &Document, check: &str) -> Vec<Severity> {
    let told = told(document, check).into_iter();
    told.map(|(severity, _)| severity).collect()
}

/// A spray head of 12 ft reach, and a domestic well that far from the ground it wets.
fn head_and_well(away: f64) -> Document {
    let head = json!({"kind": "spray", "part": "spray-12", "water": "W1", "at_m": [0.0, 0.0]});
    let reach = 12.0 * FOOT;
    let well = json!({"kind": "domestic_well", "at_m": [reach + away, 0.0]});
    plan(
        "us-fl",
        "part-iii",
        &json!({"emissions": {"E1": head}, "marks": {"M1": well}}),
    )
}

#[test]
fn a_distance_no_better_than_the_tape_is_asked_about() {
    let limit = 75.0 * FOOT;
    let within = 0.5 * FOOT;
    let of_well = |document: &Document| severities(document, "setback.us-fl.B02");
    // How far the head throws is not asked here: one measurement tells where the limit is.
    let near = limit - 10.0 * FOOT;
    let on_limit = near + limit - setback_distance(&head_and_well(near));
    let at = |beyond: f64, within: Option<f64>| {
        let mut document = head_and_well(on_limit + beyond);
        let design = &mut document.design;
        design.site.measured_within = within.map(Length::from_metres);
        document
    };
    assert_eq!(of_well(&at(0.0, None)), []);
    assert_eq!(of_well(&at(-MILLIMETRE, None)).len(), 1);
    assert_eq!(of_well(&at(within, Some(within))), []);
    let close = at(within - MILLIMETRE, Some(within));
    assert_eq!(of_well(&close), [Severity::Check]);
    let (_, sentence) = &told(&close, "setback.us-fl.B02")[0];
    assert!(sentence.contains("Tape this distance"), "{sentence}");
    assert!(sentence.contains("within 0'-6\""), "{sentence}");
}

/// What is measured between the wetted ground and the well, in metres.
fn setback_distance(document: &Document) -> f64 {
    let all = findings(document);
    let finding = all
        .iter()
        .find(|finding| finding.check == "setback.us-fl.B02")
        .unwrap();
    match finding.measured {
        Some(finding::Value::Distance(distance)) => distance.metres(),
        ref other => panic!("{other:?}"),
    }
}

#[test]
fn the_ring_around_a_well_is_where_the_limit_is() {
    let document = head_and_well(40.0);
    let rings = setbacks(&document.design);
    let [ring] = &rings[..] else {
        panic!("{rings:?}");
    };
    assert_eq!(ring.around, Id::new(Kind::Mark, 1));
    assert!((ring.limit.metres() - 75.0 * FOOT).abs() < 1e-9);
    assert!(ring.citation.clause.contains("62-610.471"), "{ring:?}");
    let centre = document.design.objects.marks[&ring.around].at;
    for corner in &ring.rings[0].0 {
        let away = corner.distance(centre).metres();
        // Drawn for the eye, with corners a little outside the circle.
        assert!((away / ring.limit.metres() - 1.0).abs() < 1e-3, "{away}");
    }
}

#[test]
fn ground_around_a_place_grows_by_the_distance_on_every_side() {
    let corners = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0)];
    let square = Polygon(corners.map(|(x, y)| PlanPoint::new(x, y)).to_vec());
    let grown = square.grown(Length::from_metres(2.0));
    assert_eq!(grown.len(), 1);
    // Sides, and quarters of a circle at the corners.
    let exact = 12.0 + 14.0 * 2.0 + std::f64::consts::PI * 4.0;
    let area = grown[0].area().square_metres();
    assert!((area - exact).abs() < 0.01 * exact, "{area} for {exact}");
    for corner in &grown[0].0 {
        let away = square.distance_to_point(*corner).metres();
        assert!((away - 2.0).abs() < MILLIMETRE, "{away}");
    }
}

/// A valve and a filter with hose threads, joined.
fn hose_joint(book: &str, class: &str, boxed: bool) -> Document {
    let mut more = json!({"devices": {
        "D1": {"kind": "filter", "part": "filter-120-hose-3/4", "water": "W1", "at_m": [0.0, 0.0],
               "purple": true},
        "D2": {"kind": "pressure_regulator", "part": "regulator-25-hose-3/4", "water": "W1",
               "at_m": [0.3, 0.0], "inlet": "D1.out", "purple": true},
    }});
    if boxed {
        let contents = ["D1", "D2"];
        more["boxes"] = json!({"V1": {
            "water": "W1", "at_m": [0.0, 0.0], "contents": contents, "purple": true,
        }});
    }
    plan(book, class, &more)
}

#[test]
fn a_hose_thread_on_reclaimed_water_is_an_outlet_in_waiting() {
    let asked = told(
        &hose_joint("generic-default", "unknown", false),
        "hose_joint",
    );
    assert!(
        asked
            .iter()
            .all(|(severity, _)| *severity == Severity::Check)
    );
    assert!(asked[0].1.contains("whoever unscrews it"), "{asked:?}");
    let banned = told(&hose_joint("us-tx", "type-i", false), "hose_joint");
    assert_eq!(banned[0].0, Severity::Stop, "{banned:?}");
    assert!(banned[0].1.contains("is not allowed"), "{banned:?}");
    // Drinking water may have any thread.
    let mut drinking = hose_joint("us-tx", "type-i", false);
    let design = &mut drinking.design;
    for device in design.objects.devices.values_mut() {
        Arc::make_mut(device).water = Id::new(Kind::Water, 2);
    }
    assert_eq!(told(&drinking, "hose_joint"), []);
}

fn breaker(kind: &str, height: Option<f64>, bed_height: f64) -> Document {
    let device = |kind: &str, part: &str, x: f64, inlet: Option<&str>| {
        let mut device = json!({"kind": kind, "part": part, "water": "W2", "at_m": [x, 0.0]});
        if let Some(inlet) = inlet {
            device["inlet"] = json!(inlet);
        }
        device
    };
    let part = if kind.contains("atmospheric") {
        "backflow-avb-3/4"
    } else {
        "backflow-pvb-3/4"
    };
    let mut vacuum = device(kind, part, 1.0, Some("D1.out"));
    if let Some(height) = height {
        vacuum["height_m"] = json!(height);
    }
    let more = json!({
        "supplies": {"S1": {
            "water": "W2", "at_m": [0.0, 0.0], "static_kpa": 400.0, "residual_kpa": 300.0,
            "test_flow_lps": 0.5,
        }},
        "devices": {
            "D1": device("zone_valve", "zone-valve-3/4", 0.5, Some("S1.out")),
            "D2": vacuum,
        },
        "zones": {"Z1": {"valve": "D1"}},
        "heights": {
            "H1": {"at_m": [-5.0, -5.0], "level_m": 0.0},
            "H2": {"at_m": [1.5, -5.0], "level_m": 0.0},
            "H3": {"at_m": [1.5, 5.0], "level_m": 0.0},
            "H4": {"at_m": [-5.0, 5.0], "level_m": 0.0},
            "H5": {"at_m": [2.0, -5.0], "level_m": bed_height},
            "H6": {"at_m": [2.0, 5.0], "level_m": bed_height},
            "H7": {"at_m": [9.0, -5.0], "level_m": bed_height},
            "H8": {"at_m": [9.0, 5.0], "level_m": bed_height},
        },
        "lines": {"L1": {
            "part": "line-0.52-0.90-12", "water": "W2", "vertices_m": [[1.0, 0.0], [2.5, 0.0], [5.0, 0.0]],
            "start": "D2.out",
        }},
    });
    plan("us-fl", "part-iii", &more)
}

#[test]
fn a_vacuum_breaker_stands_as_high_as_its_rule_asks() {
    let rise = 0.2;
    for (kind, limit) in [
        ("backflow_atmospheric_vacuum_breaker", 6.0),
        ("backflow_pressure_vacuum_breaker", 12.0),
    ] {
        let limit = limit / 12.0 * FOOT;
        let asked = |height: Option<f64>| breaker(kind, height, rise);
        assert_eq!(
            severities(&asked(None), "breaker.height_unknown"),
            [Severity::Check]
        );
        assert_eq!(told(&asked(Some(rise + limit)), "breaker.low"), []);
        let low = asked(Some(rise + limit - MILLIMETRE));
        assert_eq!(severities(&low, "breaker.low"), [Severity::Fix], "{kind}");
        // Only the atmospheric type may not stay under pressure.
        let hours = told(&asked(Some(1.0)), "breaker.hours").len();
        assert_eq!(hours, usize::from(kind.contains("atmospheric")));
    }
}

#[test]
fn irrigation_on_drinking_water_wants_a_device_of_its_own() {
    let mut document = breaker("backflow_pressure_vacuum_breaker", Some(1.0), 0.0);
    assert_eq!(told(&document, "backflow.drinking_zone"), []);
    let design = &mut document.design;
    let line = design
        .objects
        .lines
        .get_mut(&Id::new(Kind::Line, 1))
        .unwrap();
    Arc::make_mut(line).start = End::At("D1.out".parse().unwrap());
    let bare = told(&document, "backflow.drinking_zone");
    assert_eq!(bare[0].0, Severity::Fix);
    assert!(bare[0].1.contains("Z1"), "{bare:?}");
}

#[test]
fn a_device_on_the_purple_side_protects_no_tap() {
    let of_water = |water: &str| {
        let device = json!({"kind": "backflow_double_check", "part": "backflow-dc-1",
            "water": water, "at_m": [0.0, 0.0], "purple": true});
        plan("us-fl", "part-iii", &json!({"devices": {"D1": device}}))
    };
    let told_of = told(&of_water("W1"), "backflow.on_reclaimed");
    assert_eq!(told_of[0].0, Severity::Note);
    assert!(
        told_of[0].1.contains("not the drinking water"),
        "{told_of:?}"
    );
    assert_eq!(told(&of_water("W2"), "backflow.on_reclaimed"), []);
}

#[test]
fn a_spray_over_a_bed_kept_on_drinking_water_is_a_stop() {
    let bed = json!({
        "use": "food", "at_m": [3.5, 0.0], "outline_m": [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]],
        "plantings": [{"crop": "lettuce_leaf", "preparation": "raw"}],
    });
    let with_head = |y: f64| {
        let mut document = breaker("backflow_pressure_vacuum_breaker", Some(1.0), 0.0);
        let mut file: Value = serde_json::from_slice(&file::save(&document)).unwrap();
        let objects = &mut file["design"]["objects"];
        objects["beds"] = json!({"B1": bed});
        objects["lines"]["L1"]["serves"] = json!(["B1"]);
        objects["emissions"] = json!({"E1": {
            "kind": "spray", "part": "spray-12", "water": "W1", "at_m": [3.5, y],
        }});
        document = file::load(&serde_json::to_vec(&file).unwrap()).unwrap();
        document
    };
    let near = told(&with_head(2.0), "backflow.bed_wetted");
    assert_eq!(near.len(), 1);
    assert_eq!(near[0].0, Severity::Stop);
    assert!(
        near[0].1.contains("E1") && near[0].1.contains("B1"),
        "{near:?}"
    );
    assert_eq!(told(&with_head(20.0), "backflow.bed_wetted"), []);
}

#[test]
fn rigid_plastic_above_the_ground_is_told() {
    let run = |depth: f64, part: &str| {
        let pipe = json!({"role": "lateral", "part": part, "water": "W1", "purple": true,
            "vertices_m": [[0.0, 0.0], [3.0, 0.0]], "depth_m": depth});
        plan("us-fl", "part-iii", &json!({"pipes": {"P1": pipe}}))
    };
    let sun = |depth: f64, part: &str| severities(&run(depth, part), "pipe.sun");
    assert_eq!(sun(0.0, "pvc-sch40-1"), [Severity::Check]);
    assert_eq!(sun(0.3, "pvc-sch40-1"), []);
    assert_eq!(sun(0.0, "tubing-0.600"), []);
}

#[test]
fn the_drinking_water_side_is_asked_about_until_answered() {
    let mut document = plan("us-fl", "part-iii", &json!({}));
    let open = told(&document, "premises.open");
    assert_eq!(open[0].0, Severity::Check);
    assert!(open[0].1.contains("answered: 10"), "{open:?}");
    let answer = |document: &mut Document, question: Premise, answer: bool| {
        let design = &mut document.design;
        design.site.premises.set(question, Some(answer));
    };
    for question in Premise::ALL {
        answer(&mut document, question, question.good());
    }
    assert_eq!(told(&document, "premises"), []);
    for question in Premise::ALL {
        let mut other = document.clone();
        answer(&mut other, question, !question.good());
        let found = told(&other, "premises.found");
        assert_eq!(found.len(), 1, "{question:?}");
    }
    // A plan without reclaimed water is not asked.
    let design = &mut document.design;
    design.site.premises = Default::default();
    design.objects.waters.remove(&Id::new(Kind::Water, 1));
    assert_eq!(told(&document, "premises"), []);
}

#[test]
fn what_must_be_purple_is_marked_by_the_help() {
    let pipe = json!({"role": "lateral", "part": "pvc-sch40-1", "water": "W1",
        "vertices_m": [[0.0, 0.0], [3.0, 0.0]], "depth_m": 0.3});
    let valve =
        json!({"kind": "zone_valve", "part": "zone-valve-3/4", "water": "W1", "at_m": [0.0, 0.0]});
    let document = plan(
        "us-tx",
        "type-i",
        &json!({"pipes": {"P1": pipe}, "devices": {"D1": valve}}),
    );
    let marking: Vec<Finding> = findings(&document)
        .into_iter()
        .filter(|finding| finding.check.starts_with("marking."))
        .collect();
    let subjects: Vec<Id> = marking
        .iter()
        .flat_map(|finding| finding.subjects.clone())
        .collect();
    for id in [Id::new(Kind::Pipe, 1), Id::new(Kind::Device, 1)] {
        assert!(subjects.contains(&id), "{marking:?}");
    }
    let mut marked = document;
    let mut analyzer = Analyzer::default();
    for finding in marking {
        let now = analyzer.update(&marked.design);
        let offered = fixes(&marked, &mut analyzer, &now, &finding);
        let mut next_id = marked.next_id.clone();
        let (design, _) = edit::apply(&marked.design, &mut next_id, &offered[0].edit).unwrap();
        marked.design = design;
    }
    assert_eq!(told(&marked, "marking."), []);
}

#[test]
fn sprays_by_day_and_sprays_at_hours_nobody_told_are_asked_about() {
    let mut document = head_and_well(80.0);
    let asked = |document: &Document| severities(document, "spray.");
    // A household knows when it is outside; others do not.
    assert_eq!(asked(&document), []);
    document.design.site.kind = SiteKind::CommunityGarden;
    assert_eq!(asked(&document), [Severity::Check]);
    document.design.site.hours = Hours::read("22:00-06:00");
    assert_eq!(asked(&document), []);
    document.design.site.hours = Hours::read("22:00-06:01");
    assert_eq!(asked(&document), [Severity::Check]);
    // Drinking water may be sprayed at any hour.
    let design = &mut document.design;
    for head in design.objects.emissions.values_mut() {
        Arc::make_mut(head).water = Id::new(Kind::Water, 2);
    }
    assert_eq!(asked(&document), []);
}

#[test]
fn a_fountain_under_a_spray_is_told_like_any_place_of_people() {
    let fountain = |kind: &str, x: f64| {
        let mut document = head_and_well(80.0);
        let mut file: Value = serde_json::from_slice(&file::save(&document)).unwrap();
        let design = &mut file["design"];
        design["rules"]["in_force"] = json!(["us-ca"]);
        design["objects"]["waters"]["W1"]["class"] = json!("tertiary");
        design["objects"]["outlets"] =
            json!({"O1": {"kind": kind, "water": "W2", "at_m": [x, 0.0]}});
        document = file::load(&serde_json::to_vec(&file).unwrap()).unwrap();
        severities(&document, "setback.us-ca.B15")
    };
    for kind in ["drinking_fountain", "hand_wash"] {
        assert_eq!(fountain(kind, 2.0), [Severity::Stop], "{kind}");
        assert_eq!(fountain(kind, 30.0), [], "{kind}");
    }
    assert_eq!(fountain("hose_bibb", 2.0), []);
}

#[test]
fn only_a_locked_box_keeps_hands_off_a_hose_thread() {
    let in_box = |is_locked: bool| {
        let mut document = hose_joint("us-fl", "part-iii", true);
        for it in document.design.objects.boxes.values_mut() {
            Arc::make_mut(it).locked = is_locked;
        }
        severities(&document, "hose_joint")
    };
    let bare = severities(&hose_joint("us-fl", "part-iii", false), "hose_joint");
    assert!(bare.contains(&Severity::Stop), "{bare:?}");
    assert_eq!(in_box(false), bare);
    assert!(!in_box(true).contains(&Severity::Stop));
}

#[test]
fn a_device_on_one_branch_protects_no_other() {
    let with = |inlet: &str| {
        let more = json!({
            "supplies": {"S1": {
                "water": "W2", "at_m": [0.0, 0.0], "static_kpa": 400.0, "residual_kpa": 300.0,
                "test_flow_lps": 0.5,
            }},
            "pipes": {"P1": {
                "role": "service", "part": "pvc-sch40-1", "water": "W2", "depth_m": 0.5,
                "vertices_m": [[0.0, 0.0], [9.0, 0.0]], "start": START_OF[usize::from(inlet == "S1.out")],
                "taps_m": {"t1": 4.0},
            }},
            "devices": {"D1": {
                "kind": "backflow_reduced_pressure", "part": "backflow-rp-1", "water": "W2",
                "at_m": [4.0, 0.5], "inlet": inlet,
            }},
        });
        severities(&plan("us-tx", "type-i", &more), "backflow.us-tx")
    };
    assert_eq!(with("S1.out"), []);
    assert_eq!(with("P1.t1"), [Severity::Stop]);
}

/// Where the run begins: at the supply, or behind the device.
const START_OF: [&str; 2] = ["S1.out", "D1.out"];

#[test]
fn a_spray_that_reaches_the_crown_reaches_the_tree() {
    let wetted = |canopy: Option<f64>, away: f64| {
        let head = json!({"kind": "spray", "part": "spray-12", "water": "W1", "at_m": [0.0, 0.0]});
        let mut tree = json!({
            "at_m": [away, 0.0], "planting": {"crop": "apple", "preparation": "raw"},
        });
        if let Some(canopy) = canopy {
            tree["canopy_m"] = json!(canopy);
        }
        let more = json!({"emissions": {"E1": head}, "trees": {"T1": tree}});
        let document = plan("us-fl", "part-iii", &more);
        let analysis = Analyzer::default().update(&document.design);
        let judged = &analysis.contact[&Id::new(Kind::Water, 1)];
        judged.rulings.len() == 1
    };
    let near = 3.0;
    let far = 9.0;
    assert!(wetted(None, near) && !wetted(None, far));
    assert!(wetted(Some(8.0), far) && !wetted(Some(1.0), far));
}
