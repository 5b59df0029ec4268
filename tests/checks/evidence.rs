//! What is told to be behind a verdict, and what would change it: the change is made, a millimetre more and a millimetre
//! less, and the verdict looked at again.

use acceptance::yard;
use aubergine_core::analysis::evidence::{Change, Evidence, evidence};
use aubergine_core::analysis::{Analysis, Analyzer, crop_matrix};
use aubergine_core::contact::Ruling;
use aubergine_core::geometry::PlanVector;
use aubergine_core::ids::{Id, Kind};
use aubergine_core::model::Document;
use aubergine_core::rulebook::{Method, Verdict};
use serde_json::{Value, json};

const BED: Id = Id::new(Kind::Bed, 1);
const WATER: Id = Id::new(Kind::Water, 1);
const MILLIMETRE: f64 = 1e-3;

/// A bed of lettuce or tomato in Florida with what waters it.
fn plan(crop: &str, more: &Value) -> Document {
    let objects = json!({
        "waters": {"W1": {"kind": "reclaimed", "class": "part-iii"}},
        "beds": {"B1": {
            "use": "food", "at_m": [0.0, 0.0],
            "outline_m": [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]],
            "plantings": [{"crop": crop, "preparation": "raw"}],
        }},
    });
    yard("us-fl", 50.0, objects, more)
}

fn head(kind: &str, part: &str, x: f64, y: f64, arc: f64) -> Value {
    json!({"kind": kind, "part": part, "water": "W1", "at_m": [x, y], "arc_sweep_deg": arc})
}

/// The one ruling on the bed and what is behind it.
fn asked(document: &Document) -> Option<(Ruling, Evidence)> {
    let analysis: Analysis = Analyzer::default().update(&document.design);
    let ruling = analysis.contact[&WATER].rulings.first()?.clone();
    let behind = evidence(&document.design, &analysis, WATER, &[&ruling]);
    Some((ruling, behind.into_iter().next()?))
}

fn moved(document: &Document, id: Id, by: PlanVector) -> Document {
    let mut document = document.clone();
    let head = document.design.objects.emissions.get_mut(&id).unwrap();
    let head = std::sync::Arc::make_mut(head);
    head.at = head.at + by;
    document
}

#[test]
fn a_head_moved_as_told_and_a_millimetre_more_wets_the_bed_no_more() {
    let places = [
        (4.0, 0.5, 360.0),
        (3.0, 3.0, 360.0),
        (0.4, 0.2, 360.0),
        (-4.0, -1.5, 90.0),
    ];
    for (x, y, arc) in places {
        let head = head("spray", "spray-12", x, y, arc);
        let document = plan("lettuce_leaf", &json!({"emissions": {"E1": head}}));
        let (ruling, behind) = asked(&document).unwrap();
        assert_eq!(ruling.verdict, Verdict::Prohibit, "{x} {y}");
        assert_eq!(behind.causes.len(), 1);
        let away: Vec<&Change> = behind
            .changes
            .iter()
            .filter(|change| change.moved.is_some())
            .collect();
        let [
            Change {
                verdict: None,
                moved: Some((id, by)),
                ..
            },
        ] = away[..]
        else {
            panic!("{away:?}");
        };
        let longer = |more: f64| *by * ((by.norm() + more) / by.norm());
        assert_eq!(
            asked(&moved(&document, *id, longer(-MILLIMETRE))).map(|(ruling, _)| ruling.verdict),
            Some(Verdict::Prohibit),
            "{x} {y}: a millimetre less"
        );
        assert_eq!(
            asked(&moved(&document, *id, longer(MILLIMETRE))),
            None,
            "{x} {y}: a millimetre more"
        );
    }
}

#[test]
fn other_methods_of_an_evidence_give_the_word_that_was_told() {
    let head = head("spray", "spray-12", 0.0, 0.0, 360.0);
    let document = plan("tomato_staked_pruned", &json!({"emissions": {"E1": head}}));
    let (ruling, behind) = asked(&document).unwrap();
    assert_eq!(ruling.verdict, Verdict::Prohibit);
    let told = behind.changes.iter().filter_map(|change| {
        let placement = match change.method? {
            Method::SurfaceDrip => "on_soil",
            Method::DripUnderMulch => "under_mulch",
            _ => "buried",
        };
        Some((placement, change.verdict))
    });
    let told: Vec<_> = told.collect();
    assert!(!told.is_empty());
    for (placement, verdict) in told {
        let line = json!({
            "part": "line-0.52-0.90-12", "water": "W1", "vertices_m": [[-1.0, 0.0], [1.0, 0.0]],
            "placement": placement, "serves": ["B1"],
        });
        let changed = plan("tomato_staked_pruned", &json!({"lines": {"L1": line}}));
        let (ruling, behind) = asked(&changed).unwrap();
        assert_eq!(Some(ruling.verdict), verdict, "{placement}");
        let [cause] = &behind.causes[..] else {
            panic!("{:?}", behind.causes);
        };
        assert_eq!(cause.subject, Id::new(Kind::Line, 1));
    }
}

/// A jet needs clearance below the fruit: raised by what is told the word is milder, a millimetre less it is not.
#[test]
fn fruit_raised_above_a_jet_as_told_flips_the_verdict() {
    let head = head("micro_spray", "micro-spray-0.25", 0.0, 0.0, 360.0);
    let mut document = plan("tomato_staked_pruned", &json!({"emissions": {"E1": head}}));
    let at_height = |document: &mut Document, metres: f64| {
        let bed = document.design.objects.beds.get_mut(&BED).unwrap();
        std::sync::Arc::make_mut(bed).plantings[0].lowest_edible =
            Some(aubergine_core::units::Length::from_metres(metres));
    };
    const START: f64 = 0.51;
    at_height(&mut document, START);
    let (ruling, behind) = asked(&document).unwrap();
    assert_eq!(ruling.verdict, Verdict::Prohibit);
    let (change, by) = behind
        .changes
        .iter()
        .find_map(|change| {
            let values = &change.message.values;
            let (_, value) = values.iter().find(|_| change.message.key == "change.jet")?;
            Some((change, value.number()?.0))
        })
        .unwrap();
    at_height(&mut document, START + by - MILLIMETRE);
    assert_eq!(asked(&document).unwrap().0.verdict, Verdict::Prohibit);
    at_height(&mut document, START + by + MILLIMETRE);
    assert_eq!(Some(asked(&document).unwrap().0.verdict), change.verdict);
}

/// The matrix is the rule engine again: a cell gives the word that a drawn plan gets.
#[test]
fn a_cell_of_the_matrix_gives_the_word_of_a_drawn_bed() {
    let line = json!({
        "part": "line-0.52-0.90-12", "water": "W1", "vertices_m": [[-1.0, 0.0], [1.0, 0.0]],
        "placement": "on_soil", "serves": ["B1"],
    });
    let spray = head("spray", "spray-12", 0.0, 0.0, 360.0);
    let mut compared = 0;
    for crop in [
        "lettuce_leaf",
        "tomato_staked_pruned",
        "carrot",
        "watermelon",
        "kale",
    ] {
        for (method, more) in [
            (Method::SurfaceDrip, json!({"lines": {"L1": line}})),
            (Method::Spray, json!({"emissions": {"E1": spray}})),
        ] {
            let mut document = plan(crop, &more);
            let bed = document.design.objects.beds.get_mut(&BED).unwrap();
            std::sync::Arc::make_mut(bed).plantings[0].preparation =
                aubergine_core::model::Preparation::Usual;
            let rows = crop_matrix(&document.design, WATER);
            assert_eq!(rows.len(), 103);
            let row = rows.iter().find(|row| row.crop == crop).unwrap();
            assert_eq!(row.cells.len(), Method::ALL.len());
            let place = Method::ALL.iter().position(|it| *it == method).unwrap();
            let (ruling, _) = asked(&document).unwrap();
            assert_eq!(
                row.cells[place].verdict, ruling.verdict,
                "{crop} {method:?}"
            );
            assert_eq!(row.cells[place].decided_by, ruling.decided_by);
            compared += 1;
        }
    }
    assert_eq!(compared, 10);
}
