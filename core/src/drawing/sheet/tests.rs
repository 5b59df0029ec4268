//! Sheets of small plans: exact scale, what the legend lists, what stands in every file.

use super::*;
use crate::analysis::Analyzer;
use crate::drawing::paper::METRIC_SCALES;
use crate::drawing::{Layer, LayerKind, Mark, Role, Shape, build};
use crate::geometry::{Polygon, Polyline};
use crate::hydraulics::SupplyCase;
use crate::ids::{Id, Kind};
use crate::model::{Meta, Review, Tree};
use crate::units::Length;

fn options(view: View, units: UnitSystem) -> ViewOptions {
    ViewOptions {
        view,
        case: SupplyCase::Low,
        units,
    }
}

/// A yard of the given size, drawn on a sheet.
fn yard(
    width: Length,
    height: Length,
    paper: Paper,
    units: UnitSystem,
) -> Result<Sheet, SheetError> {
    let mut plan = Plan {
        name: "A <yard> & \"more\"\u{1}".to_owned(),
        ..Plan::default()
    };
    plan.site.outline = Polygon::rectangle(PlanPoint::new(0.0, 0.0), width, height);
    drawn(&plan, paper, units)
}

fn drawn(plan: &Plan, paper: Paper, units: UnitSystem) -> Result<Sheet, SheetError> {
    let analysis = Analyzer::default().update(plan);
    let options = options(View::Water, units);
    let drawing = build(plan, &Review::default(), &analysis, options);
    sheet(
        &SheetInput {
            plan,
            analysis: &analysis,
            drawing: &drawing,
            options,
            theme: Theme::Light,
            date: "2027-05-14",
        },
        paper,
    )
}

#[test]
fn a_hundred_feet_at_one_inch_to_ten_feet_are_ten_inches() {
    let mapping = Mapping {
        corner: PlanPoint::new(0.0, 0.0),
        left: 12.5,
        top: 30.0,
        denominator: 120.0,
    };
    let line = Polyline(vec![
        PlanPoint::new(0.0, -1.0),
        PlanPoint::new(Length::from_feet(100.0).metres(), -1.0),
    ]);
    let drawing = Drawing {
        layers: vec![Layer {
            kind: LayerKind::Site,
            marks: vec![Mark {
                shape: Shape::Line(line),
                role: Role::PropertyLine,
                subject: None,
            }],
        }],
    };
    let mut out = Writer::default();
    svg::write(&drawing, Theme::Light, "#FFFFFF", &mapping, &mut out);
    let text = out.finish();
    let y = number(30.0 + 72.0 / 0.0254 / 120.0);
    // 720 pt are 10.000 in.
    assert!(
        text.contains(&format!("d=\"M12.5 {y}L732.5 {y}\"")),
        "{text}"
    );
}

#[test]
fn the_largest_listed_scale_that_fits_is_taken() {
    let paper = Paper::figure(504.0, 620.0);
    let us = yard(
        Length::from_feet(50.0),
        Length::from_feet(40.0),
        paper,
        UnitSystem::Us,
    )
    .unwrap();
    assert_eq!(us.scale.words, "1/8\" = 1'-0\"");
    let metric = yard(
        Length::from_metres(15.0),
        Length::from_metres(12.0),
        paper,
        UnitSystem::Metric,
    );
    assert_eq!(metric.unwrap().scale, METRIC_SCALES[2]);
}

#[test]
fn what_fits_at_no_listed_scale_is_refused_in_words() {
    let paper = Paper::figure(504.0, 620.0);
    let error = yard(
        Length::from_metres(2000.0),
        Length::from_metres(2000.0),
        paper,
        UnitSystem::Us,
    );
    let told = error.unwrap_err().to_string();
    assert!(
        told.contains("1\" = 60'") && told.contains("larger sheet"),
        "{told}"
    );
}

#[test]
fn names_without_room_are_counted_beside_the_scale_bar() {
    let told = |num_trees: u32| {
        let mut plan = Plan::default();
        let (width, height) = (Length::from_feet(50.0), Length::from_feet(40.0));
        plan.site.outline = Polygon::rectangle(PlanPoint::new(0.0, 0.0), width, height);
        for tree in 0..num_trees {
            plan.objects.trees.insert(
                Id::new(Kind::Tree, tree + 1),
                Tree {
                    at: PlanPoint::new(6.0, 6.0 + 0.01 * f64::from(tree)),
                    planting: None,
                    canopy: None,
                    watered_area: None,
                    meta: Meta::default(),
                }
                .into(),
            );
        }
        let paper = Paper::single(UnitSystem::Us, Orientation::Lying);
        let svg = drawn(&plan, paper, UnitSystem::Us).unwrap().svg;
        let written = (1..=num_trees)
            .filter(|number| svg.contains(&format!(">{}<", Id::new(Kind::Tree, *number))))
            .count();
        let told = (1..=num_trees as usize)
            .find(|count| svg.contains(&format!("Names without room here: {count}.")));
        assert_eq!(svg.contains("Names without room"), told.is_some());
        (written, told.unwrap_or(0))
    };
    assert_eq!(told(1), (1, 0));
    let (written, left_out) = told(60);
    assert!(written > 0 && left_out > 0, "{written} {left_out}");
    assert_eq!(written + left_out, 60);
}

#[test]
fn markup_in_names_is_escaped_and_the_caution_stands_inside() {
    let paper = Paper::single(UnitSystem::Us, Orientation::Lying);
    let sheet = yard(
        Length::from_feet(50.0),
        Length::from_feet(40.0),
        paper,
        UnitSystem::Us,
    )
    .unwrap();
    assert!(
        sheet
            .svg
            .contains("<title>A &lt;yard&gt; &amp; &quot;more&quot;")
    );
    assert!(!sheet.svg.contains('\u{1}'));
    for words in ["not a permit", "as of", "Confirm with", "Print at 100 %"] {
        assert!(sheet.svg.contains(words), "{words}");
    }
    assert!((20..=500).contains(&sheet.alt.chars().count()));
}

#[test]
fn scales_are_listed_from_large_to_small() {
    for units in [UnitSystem::Us, UnitSystem::Metric] {
        let list = scales(units);
        assert!(
            list.windows(2)
                .all(|pair| pair[0].denominator < pair[1].denominator)
        );
    }
}
