//! Beds on the drawing: what a move carries along, and what is said of beds without water and of beds on each other.

use acceptance::{CEDARBRAKE, LARKMEAD, sample};
use aubergine_core::analysis::{Analysis, Analyzer};
use aubergine_core::edit::{self, Edit};
use aubergine_core::geometry::PlanVector;
use aubergine_core::ids::Id;
use aubergine_core::model::{Document, Plan};

fn id(name: &str) -> Id {
    name.parse().unwrap()
}

fn moved(document: &Document, ids: &[&str], by: PlanVector) -> Plan {
    let mut next_id = document.next_id.clone();
    let ids = ids.iter().map(|name| id(name)).collect();
    edit::apply(&document.design, &mut next_id, &Edit::Move { ids, by })
        .unwrap()
        .0
}

fn told(plan: &Plan) -> Vec<String> {
    let analysis: Analysis = Analyzer::default().update(plan);
    let beds = analysis.findings.iter().filter(|finding| {
        [
            "drawing.unwatered",
            "drawing.serves_apart",
            "drawing.beds_overlap",
            "drawing.bed_outside",
        ]
        .contains(&finding.check.as_str())
    });
    beds.map(|finding| {
        let subjects: Vec<String> = finding.subjects.iter().map(Id::to_string).collect();
        format!("{} {}", finding.check, subjects.join(" "))
    })
    .collect()
}

#[test]
fn the_samples_have_watered_beds_side_by_side() {
    for name in [LARKMEAD, CEDARBRAKE] {
        assert_eq!(told(&sample(name).design), Vec::<String>::new(), "{name}");
    }
}

#[test]
fn a_bed_takes_the_part_of_a_line_that_lies_in_it() {
    let document = sample(CEDARBRAKE);
    let by = PlanVector::new(0.9144, 0.0);
    let after = moved(&document, &["B3"], by);
    let old = &document.design.objects.lines[&id("L1")].vertices.0;
    let new = &after.objects.lines[&id("L1")].vertices.0;
    // B3 spans 26 to 31 ft; what is drawn further left belongs to other beds.
    for (old, new) in old.iter().zip(new) {
        let expected = if old.x > 7.9 { *old + by } else { *old };
        assert_eq!(*new, expected);
    }
    assert!(new.iter().any(|vertex| vertex.x > 7.9));
    assert_eq!(told(&after), Vec::<String>::new());
    // Back again is the plan as it was, but for what adding and taking away leaves in the last digit.
    let there = Document {
        design: after,
        ..document.clone()
    };
    let back = moved(&there, &["B3"], PlanVector::new(-0.9144, 0.0));
    for (old, back) in old.iter().zip(&back.objects.lines[&id("L1")].vertices.0) {
        assert!(old.distance(*back).metres() < 1e-12);
    }
}

#[test]
fn a_line_and_its_beds_that_move_together_move_once() {
    let document = sample(CEDARBRAKE);
    let by = PlanVector::new(0.0, 0.3048);
    let after = moved(&document, &["B1", "B2", "B3", "L1"], by);
    let old = &document.design.objects.lines[&id("L1")].vertices.0;
    let new = &after.objects.lines[&id("L1")].vertices.0;
    for (old, new) in old.iter().zip(new).skip(1) {
        assert_eq!(*new, *old + by);
    }
}

#[test]
fn beds_on_each_other_dry_beds_and_strayed_lines_are_told() {
    let document = sample(CEDARBRAKE);
    // B3 five feet to the left lies half on B2.
    let overlapping = moved(&document, &["B3"], PlanVector::new(-1.524, 0.0));
    assert_eq!(told(&overlapping), ["drawing.beds_overlap B2 B3"]);
    // Nor may a bed stand in the house.
    let close = sample(LARKMEAD);
    let housed = moved(&close, &["B6"], PlanVector::new(0.0, 3.0));
    assert_eq!(told(&housed), ["drawing.beds_overlap B6 F1"]);
    // Nor over the property line, 10 ft to the left of B1.
    let outside = moved(&document, &["B1"], PlanVector::new(-6.0, 0.0));
    assert_eq!(told(&outside), ["drawing.bed_outside B1"]);
    // The line carried off as a whole waters nothing it says it waters.
    let strayed = moved(&document, &["L1"], PlanVector::new(0.0, -15.0));
    assert_eq!(
        told(&strayed),
        [
            "drawing.serves_apart B1 L1",
            "drawing.serves_apart B2 L1",
            "drawing.serves_apart B3 L1",
        ]
    );
    // Without the line two beds stay dry; a spray head is said to serve B2.
    let mut next_id = document.next_id.clone();
    let gone = Edit::Remove(vec![id("L1")]);
    let (dry, _) = edit::apply(&document.design, &mut next_id, &gone).unwrap();
    assert_eq!(told(&dry), ["drawing.unwatered B1 B3"]);
}
