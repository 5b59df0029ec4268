//! The M cases of the case tables as drawn plans: each is written as a plan file and judged by `check --json`, so that
//! the geometry gives the facts.

use std::collections::BTreeSet;
use std::path::Path;

use acceptance::{DATE, run};
use aubergine_core::analysis::Analyzer;
use aubergine_core::catalog::{Catalog, crops::crops};
use aubergine_core::file;
use aubergine_core::geometry::PlanPoint;
use aubergine_core::model::Document;
use aubergine_core::rulebook::{BackflowDevice, Method, Place, Relief, Verdict, built_in_book};
use aubergine_core::units::Length;
use serde_json::{Value, json};

use super::contact_validation::{Case, Cases, cases};

const FOOT: f64 = 0.3048;
/// The pipe that all runs of these plans are made of.
const PIPE: &str = "pvc-sch40-1";
/// The spray head.
const HEAD: &str = "spray-12";
/// Half the width of the planted area in the middle of each plan.
const HALF: f64 = 2.0;

/// Whether a case is one of the check cases, and not a row's own.
fn is_check_case(case: &Case) -> bool {
    let mut letters = case.id.chars();
    letters.next() == Some('M') && letters.next().is_some_and(|letter| letter.is_ascii_digit())
}

/// A plan with its rules, its water and an outline that is far away unless the case is about it.
fn plan(case: &Case, objects: &Value, half_width: f64) -> Document {
    let half = half_width;
    let mut objects = objects.clone();
    // A guideline has classes of its own, beside that of the binding book.
    let is_binding = built_in_book(&case.book).unwrap().binding;
    objects["waters"]["W1"] = if is_binding {
        json!({"kind": "reclaimed", "class": case.water_class})
    } else {
        json!({"kind": "reclaimed", "class_by_book": {&case.book: case.water_class}})
    };
    let file = json!({
        "format": "aubergine-plan",
        "version": 3,
        "design": {
            "name": case.id,
            "site": {
                "outline_m": [[-half, -half], [half, -half], [half, half], [-half, half]],
                "kind": case.site,
            },
            "rules": {"in_force": [case.book]},
            "objects": objects,
        },
    });
    let bytes = serde_json::to_vec(&file).unwrap();
    file::load(&bytes)
        .map_err(|error| format!("{}: {error:?}", case.id))
        .unwrap()
}

/// What the program says of a plan file with that document in it.
fn check(case: &Case, document: &Document) -> Value {
    let name = format!("contact-{}.json", case.id);
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, file::save(document)).unwrap();
    let told = run(["check", path.to_str().unwrap(), "--json", "--date", DATE]);
    assert!(matches!(told.code, 0 | 1), "{}: {told:?}", case.id);
    serde_json::from_slice(&told.stdout).unwrap()
}

fn square(half: f64) -> Value {
    json!([[-half, -half], [half, -half], [half, half], [-half, half]])
}

fn head(serves: &str, low_trajectory: bool) -> Value {
    json!({
        "kind": "spray", "part": HEAD, "water": "W1", "at_m": [0.0, 0.0], "serves": [serves],
        "low_trajectory": low_trajectory,
    })
}

/// A planted area or a tree in the middle, watered as the case says.
fn planted(case: &Case) -> Document {
    let crop = crops().get(&case.plant);
    let is_tree = crop.is_some_and(|crop| crop.tree);
    let preparation = Some(case.preparation.as_str()).filter(|how| *how != "usual");
    let planting = json!({
        "crop": case.plant,
        "preparation": preparation.unwrap_or("usual"),
        "surface_stays_dry": case.surfaces == Some(false),
    });
    let mut objects = if is_tree {
        json!({"trees": {"T1": {"at_m": [0.0, 0.0], "planting": planting}}})
    } else {
        let (what, plantings) = match case.plant.as_str() {
            "turf" => ("lawn", json!([])),
            "ornamental" => ("ornamental", json!([])),
            _ => ("food", json!([planting])),
        };
        json!({"beds": {"B1": {
            "use": what, "at_m": [0.0, 0.0], "outline_m": square(HALF), "plantings": plantings,
        }}})
    };
    let subject = if is_tree { "T1" } else { "B1" };
    let line = |placement: &str| {
        json!({
            "part": "line-0.52-0.90-12", "water": "W1", "vertices_m": [[-1.0, 0.0], [1.0, 0.0]],
            "placement": placement, "serves": [subject],
        })
    };
    match case.method.unwrap() {
        Method::Spray => objects["emissions"]["E1"] = head(subject, false),
        Method::MicroSpray => {
            objects["emissions"]["E1"] = head(subject, false);
            objects["emissions"]["E1"]["kind"] = json!("micro_spray");
            objects["emissions"]["E1"]["part"] = json!("micro-spray-0.25");
        }
        Method::Flood => {
            objects["emissions"]["E1"] = head(subject, false);
            objects["emissions"]["E1"]["kind"] = json!("bubbler");
            objects["emissions"]["E1"]["part"] = json!("bubbler-0.5");
        }
        Method::SurfaceDrip => objects["lines"]["L1"] = line("on_soil"),
        Method::DripUnderMulch => objects["lines"]["L1"] = line("under_mulch"),
        Method::SubsurfaceDrip => objects["lines"]["L1"] = line("buried"),
        // No object of a plan waters by furrow or by hand.
        Method::RidgeFurrow | Method::Hand => return plan(case, &json!({}), 100.0),
    }
    plan(case, &objects, 100.0)
}

/// How far to the right of its head the wetted edge of the spray lies, drift included.
fn spray_edge(case: &Case) -> f64 {
    let objects = json!({
        "beds": {"B1": {"use": "lawn", "at_m": [0.0, 0.0], "outline_m": square(HALF)}},
        "emissions": {"E1": head("B1", false)},
    });
    let analysis = Analyzer::default().update(&plan(case, &objects, 100.0).design);
    let reach = analysis.sprays.values().next().unwrap();
    50.0 - reach
        .largest
        .distance_to_point(PlanPoint::new(50.0, 0.0))
        .metres()
}

/// A lawn under a spray, or a bed with drip, and a place at the right of its wetted edge.
fn near_a_place(case: &Case) -> Document {
    let is_spray = case.from == Some(Place::SprayEdge) || case.method == Some(Method::Spray);
    let edge = if is_spray { spray_edge(case) } else { HALF };
    let mut objects = json!({
        "beds": {"B1": {"use": "lawn", "at_m": [0.0, 0.0], "outline_m": square(HALF)}},
    });
    if is_spray {
        objects["emissions"]["E1"] = head("B1", case.relief == Some(Relief::LowTrajectory));
    } else {
        objects["lines"]["L1"] = json!({
            "part": "line-0.52-0.90-12", "water": "W1", "vertices_m": [[-1.0, 0.0], [1.0, 0.0]],
            "serves": ["B1"],
        });
    }
    let at = edge + (case.distance_ft - case.reach_ft) * FOOT;
    let mark = |kind: &str| {
        json!({
            "kind": kind, "at_m": [at, 0.0],
            "exemption_met": case.relief == Some(Relief::WellExemption),
        })
    };
    let mut half_width = 100.0;
    match case.to.unwrap() {
        Place::DomesticWell => objects["marks"]["M1"] = mark("domestic_well"),
        Place::PublicWell => objects["marks"]["M1"] = mark("public_well"),
        Place::EatingArea => {
            objects["features"]["F1"] = json!({
                "kind": "eating_area",
                "outline_m": [[at, -5.0], [at + 5.0, -5.0], [at + 5.0, 5.0], [at, 5.0]],
            });
        }
        // The land beyond the property line.
        Place::Neighbour => half_width = at,
        other => panic!("{}: {other:?} is not drawn", case.id),
    }
    plan(case, &objects, half_width)
}

/// Two runs side by side, outside to outside as far apart as the case says.
fn side_by_side(case: &Case) -> Document {
    let outside = Catalog::built_in().pipe(PIPE).unwrap().outside.metres();
    let apart = case.distance_ft * FOOT + outside;
    let run = |water: &str, x: f64, depth: f64, is_main: bool| {
        json!({
            "part": PIPE, "water": water, "vertices_m": [[x, -20.0], [x, 20.0]],
            "depth_m": depth, "utility_main": is_main,
        })
    };
    let above = case.above_ft.unwrap_or(0.0) * FOOT;
    let is_main = case.to == Some(Place::PotableMain);
    let objects = json!({
        "waters": {"W2": {"kind": "potable"}},
        "pipes": {"P1": run("W1", 0.0, 1.5, false), "P2": run("W2", apart, 1.5 - above, is_main)},
    });
    plan(case, &objects, 100.0)
}

/// A drinking-water service with a device on it.
fn service(case: &Case) -> Document {
    let (kind, part) = match case.device.unwrap() {
        BackflowDevice::DoubleCheck => ("backflow_double_check", "backflow-dc-1"),
        BackflowDevice::ReducedPressure => ("backflow_reduced_pressure", "backflow-rp-1"),
        other => panic!("{}: {other:?} is not drawn", case.id),
    };
    let supply = json!({
        "water": "W2", "at_m": [0.0, 0.0], "static_kpa": 400.0, "residual_kpa": 350.0,
        "test_flow_lps": 0.6,
    });
    let objects = json!({
        "waters": {"W2": {"kind": "potable"}},
        "supplies": {"S2": supply},
        "devices": {"D1": {"kind": kind, "part": part, "water": "W2", "at_m": [1.0, 0.0]}},
    });
    plan(case, &objects, 100.0)
}

fn outlet(case: &Case) -> Document {
    let has = |name: &str| case.traits.iter().any(|known| known == name);
    let objects = json!({"outlets": {"O1": {
        "kind": "hose_bibb", "water": "W1", "at_m": [0.0, 0.0],
        "locked": has("locked"), "special_tool": has("special_tool"),
        "hose_thread": has("hose_thread"), "in_box": has("in_box"),
        "above_ground": has("above_ground"), "purple": has("purple"),
        "words": case.words, "languages": case.languages, "symbol": case.symbol,
    }}});
    plan(case, &objects, 100.0)
}

/// A sign at the entry, or at a fountain of reclaimed water, of a plan with a purple pipe.
fn sign(case: &Case) -> Document {
    let place = if case.pond { "F1" } else { "M1" };
    let mut objects = json!({
        "pipes": {"P1": {
            "part": PIPE, "water": "W1", "vertices_m": [[0.0, 0.0], [5.0, 0.0]], "purple": true,
        }},
        "marks": {"M1": {"kind": "entry", "at_m": [0.0, 5.0]}},
        "features": {"F1": {
            "kind": "water_body", "holds_reclaimed": case.pond,
            "outline_m": [[10.0, 10.0], [12.0, 10.0], [12.0, 12.0], [10.0, 12.0]],
        }},
    });
    if case.signed {
        let inches = |size: Option<f64>| size.map(|size| size * 0.0254);
        objects["signs"]["G1"] = json!({
            "at_m": [0.0, 5.0], "entry": place, "words": case.words, "languages": case.languages,
            "symbol": case.symbol,
        });
        for (key, size) in [("width_m", case.width_in), ("height_m", case.height_in)] {
            if let Some(size) = inches(size) {
                objects["signs"]["G1"][key] = json!(size);
            }
        }
    }
    plan(case, &objects, 100.0)
}

/// The verdict of the planted area is the case's, by its rows.
fn hold_verdict(case: &Case, told: &Value) {
    let verdicts = told["verdicts"].as_array().unwrap();
    assert_eq!(verdicts.len(), 1, "{}: {verdicts:#?}", case.id);
    let verdict = &verdicts[0];
    if !built_in_book(&case.book).unwrap().binding {
        hold_advice(case, verdict);
        return;
    }
    let expected = serde_json::to_value(case.verdict.unwrap()).unwrap();
    assert_eq!(
        verdict["verdict"], expected,
        "{} {}: {verdict:#}",
        case.id, case.text
    );
    let also = verdict["also"].as_array().unwrap();
    let cited: Vec<&Value> = std::iter::once(verdict).chain(also).collect();
    let cited: Vec<&str> = cited
        .iter()
        .map(|row| row["citation"]["rule"].as_str().unwrap())
        .collect();
    for rule in &case.rules {
        assert!(cited.contains(&rule.as_str()), "{}: {cited:?}", case.id);
    }
}

/// The advice beside a verdict is the case's, row by row, its strictest word the case's word.
fn hold_advice(case: &Case, verdict: &Value) {
    let advice = verdict["advisory"].as_array().unwrap();
    let words = advice.iter().map(|row| {
        let word = row["verdict"].clone();
        serde_json::from_value::<Verdict>(word).unwrap()
    });
    assert_eq!(words.max(), case.verdict, "{}: {advice:#?}", case.id);
    let mut cited: Vec<&str> = advice
        .iter()
        .map(|row| row["citation"]["rule"].as_str().unwrap())
        .collect();
    cited.sort_unstable();
    assert_eq!(cited, case.rules, "{}", case.id);
}

/// The findings that cite the case's row are as grave as it says, or there are none.
fn hold_findings(case: &Case, told: &Value) {
    let findings = told["findings"].as_array().unwrap();
    let of_row: Vec<&Value> = findings
        .iter()
        .filter(|finding| finding["citation"]["rule"] == case.rule.as_str())
        .collect();
    let graveness: Vec<&str> = of_row
        .iter()
        .map(|finding| finding["severity"].as_str().unwrap())
        .collect();
    let expected: &[&str] = match case.expected.as_str() {
        "pass" => &[],
        word => &[word],
    };
    assert_eq!(
        graveness, expected,
        "{} {}: {of_row:#?}",
        case.id, case.text
    );
}

/// A check case, its plan, and how to hold what is told of it.
type Drawn<'a> = (&'a Case, Document, fn(&Case, &Value));
/// Draws a case.
type Draw = fn(&Case) -> Document;

/// The document of a check case, and how to hold what is told of it; `None` for what no plan can draw.
pub(super) fn drawn(cases: &Cases) -> Vec<Drawn<'_>> {
    let mut all: Vec<Drawn<'_>> = Vec::new();
    let undrawn = [Some(Method::RidgeFurrow), Some(Method::Hand)];
    for case in cases.plant.iter().filter(|case| is_check_case(case)) {
        if !undrawn.contains(&case.method) {
            all.push((case, planted(case), hold_verdict));
        }
    }
    for case in cases.place.iter().filter(|case| is_check_case(case)) {
        let document = if case.from == Some(Place::ReclaimedPipe) {
            side_by_side(case)
        } else {
            near_a_place(case)
        };
        all.push((case, document, hold_findings));
    }
    let fixtures: [(&[Case], Draw); 3] = [
        (&cases.service, service),
        (&cases.outlet, outlet),
        (&cases.sign, sign),
    ];
    for (rows, draw) in fixtures {
        for case in rows.iter().filter(|case| is_check_case(case)) {
            all.push((case, draw(case), hold_findings));
        }
    }
    all
}

#[test]
fn the_check_cases_are_judged_alike_when_they_are_drawn() {
    let cases = cases();
    let mut seen = BTreeSet::new();
    for (case, document, hold) in drawn(&cases) {
        hold(case, &check(case, &document));
        seen.insert(case.id.clone());
    }
    let missing: Vec<String> = (1..=39)
        .chain([42])
        .map(|number| format!("M{number:02}"))
        .filter(|id| !seen.contains(id))
        .collect();
    assert!(missing.is_empty(), "not drawn: {missing:?}");
}

#[test]
fn a_millimetre_at_the_limit_flips_the_drawn_setback() {
    let cases = cases();
    let case = cases.place.iter().find(|case| case.id == "M08").unwrap();
    let stops = |feet: f64| {
        let case = Case {
            distance_ft: feet,
            ..case.clone()
        };
        let analysis = Analyzer::default().update(&near_a_place(&case).design);
        analysis
            .findings
            .iter()
            .any(|finding| finding.check == "setback.us-fl.B01")
    };
    let millimetre = Length::from_millimetres(1.0).feet();
    assert!(!stops(75.0));
    assert!(stops(75.0 - millimetre));
}
