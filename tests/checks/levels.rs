//! Levels in a solved plan: a step of a terrace is exactly its weight of water; how the ground falls is drawn.

use std::sync::Arc;

use acceptance::{CEDARBRAKE, LARKMEAD, sample};
use aubergine_core::analysis::Analyzer;
use aubergine_core::drawing::legend::entries;
use aubergine_core::drawing::{Drawing, Role, Shape, View, ViewOptions, build};
use aubergine_core::file;
use aubergine_core::geometry::{PlanPoint, Polygon};
use aubergine_core::hydraulics::{SupplyCase, from_plan};
use aubergine_core::ids::{Id, Kind};
use aubergine_core::layout::bed_outline;
use aubergine_core::model::{Document, Feature, FeatureKind, Meta, Plan, SpotHeight};
use aubergine_core::units::{Length, UnitSystem};

fn id(text: &str) -> Id {
    text.parse().unwrap()
}

fn terrace(outline: Polygon, level: f64) -> Arc<Feature> {
    Arc::new(Feature {
        kind: FeatureKind::Terrace,
        level: Some(Length::from_metres(level)),
        holds_reclaimed: false,
        outline,
        meta: Meta::default(),
    })
}

/// The clean sample with one bed on a terrace.
fn with_terrace(level: f64) -> Document {
    let mut document = sample(LARKMEAD);
    let objects = &mut document.design.objects;
    let bed = bed_outline(&objects.beds[&id("B4")]);
    objects.features.insert(id("F9"), terrace(bed, level));
    document
}

/// The pressures of a bed's emitters in the order of the network, in kPa.
fn pressures(plan: &Plan, bed: &str) -> Vec<f64> {
    let analysis = Analyzer::default().update(plan);
    let zone = &analysis.zones[&id("Z1")];
    zone.emitters(SupplyCase::Normal)
        .filter(|emitter| emitter.point.owner == id(bed))
        .map(|emitter| emitter.pressure.kilopascals())
        .collect()
}

/// Compensated emitters give the same whatever the level, so nothing but the weight of water changes.
#[test]
fn a_step_of_a_terrace_is_exactly_its_weight_of_water() {
    let water = from_plan::water_of_plan(&sample(LARKMEAD).design);
    let level = pressures(&with_terrace(0.0).design, "B4");
    assert_eq!(level.len(), 40);
    for step in [-0.8, 0.35, 1.2] {
        let stepped = pressures(&with_terrace(step).design, "B4");
        let weight = water.pressure_of(Length::from_metres(step)).kilopascals();
        for (flat, stepped) in level.iter().zip(&stepped) {
            // What the solver rounds to is a micrometre of head.
            assert!(
                (flat - stepped - weight).abs() < 5e-5,
                "{flat} {stepped} {weight}"
            );
        }
        // Beds beside the terrace do not notice.
        let beside = pressures(&with_terrace(step).design, "B1");
        let before = pressures(&with_terrace(0.0).design, "B1");
        let off = beside.iter().zip(&before).map(|(a, b)| (a - b).abs());
        assert!(off.fold(0.0, f64::max) < 5e-5);
    }
    // 1 m at 20 °C: ρ·g = 998.2 · 9.80665 (ρ from handbook tables, from memory).
    let metre = water.pressure_of(Length::from_metres(1.0)).kilopascals();
    assert!((metre - 9.789).abs() < 0.001, "{metre}");
}

#[test]
fn a_terrace_is_kept_in_the_file_and_old_files_are_read() {
    let document = with_terrace(-0.25);
    let read = file::load(&file::save(&document)).unwrap();
    let feature = &read.design.objects.features[&id("F9")];
    assert_eq!(feature.kind, FeatureKind::Terrace);
    assert_eq!(feature.level, Some(Length::from_metres(-0.25)));
    let saved = String::from_utf8(file::save(&document)).unwrap();
    assert!(saved.contains("\"version\": 3"));
    for version in ["1", "2"] {
        let older = saved.replacen("\"version\": 3", &format!("\"version\": {version}"), 1);
        assert!(file::load(older.as_bytes()).is_ok(), "version {version}");
    }
}

fn drawn(document: &Document, view: View) -> Drawing {
    let analysis = Analyzer::default().update(&document.design);
    let options = ViewOptions {
        view,
        case: SupplyCase::Normal,
        units: UnitSystem::Us,
    };
    build(&document.design, &document.review, &analysis, options)
}

fn arrows(drawing: &Drawing) -> Vec<(PlanPoint, f64)> {
    let of = drawing.marks().filter(|mark| mark.role == Role::Fall);
    of.map(|mark| match mark.shape {
        Shape::Symbol { at, turn, .. } => (at, turn.degrees()),
        _ => panic!("{mark:?}"),
    })
    .collect()
}

#[test]
fn arrows_point_downhill_on_bare_ground_and_tell_the_fall() {
    let document = sample(CEDARBRAKE);
    let plan = drawn(&document, View::Plain);
    let found = arrows(&plan);
    assert!(!found.is_empty());
    // 2.5 ft over 74 ft to the east, 2.5 ft over 96 ft to the south.
    let (east, south) = (2.5 / 74.0, 2.5 / 96.0);
    let way = -f64::atan2(south, east).to_degrees();
    for (at, turn) in &found {
        assert!((turn - way).abs() < 0.01, "{turn} for {way}");
        for bed in document.design.objects.beds.values() {
            assert!(bed_outline(bed).distance_to_point(*at) > Length::ZERO);
        }
    }
    let percent = format!("{:.1} %", f64::hypot(east, south) * 100.0);
    let is_told = |mark: &&aubergine_core::drawing::Mark| matches!(&mark.shape, Shape::Text { text, .. } if *text == percent);
    assert_eq!(plan.marks().filter(is_told).count(), found.len());
    for (view, shows) in [
        (View::Water, true),
        (View::Pressure, true),
        (View::Contact, false),
        (View::Coverage, false),
    ] {
        assert_eq!(
            !arrows(&drawn(&document, view)).is_empty(),
            shows,
            "{view:?}"
        );
    }
    let legend = entries(&plan, UnitSystem::Us);
    let said = |words: &str| {
        legend
            .iter()
            .filter(|entry| entry.words.contains(words))
            .count()
    };
    assert_eq!((said("downhill"), said("taken as level")), (1, 0));
}

/// Where the survey ends within the site, its edge is drawn: beyond it the level is assumed.
#[test]
fn the_edge_of_the_survey_is_drawn_where_the_site_goes_beyond_it() {
    let mut document = sample(CEDARBRAKE);
    let heights = &mut document.design.objects.heights;
    let corner = heights.get_mut(&id("H3")).unwrap();
    Arc::make_mut(corner).at = PlanPoint::new(12.0, 20.0);
    let edge = |drawing: &Drawing| {
        let of = drawing.marks();
        of.filter(|mark| mark.role == Role::SurveyEdge).count()
    };
    let plan = drawn(&document, View::Plain);
    assert_eq!(edge(&plan), 1);
    let legend = entries(&plan, UnitSystem::Us);
    assert!(
        legend
            .iter()
            .any(|entry| entry.words.contains("taken as level"))
    );
    assert_eq!(edge(&drawn(&sample(CEDARBRAKE), View::Plain)), 0);
    // Without heights nothing is told.
    document.design.objects.heights.clear();
    let bare = drawn(&document, View::Plain);
    assert!(edge(&bare) == 0 && arrows(&bare).is_empty());
}

/// A survey of many places does not cover the plan with arrows; level ground has none.
#[test]
fn a_dense_survey_has_few_arrows() {
    let mut document = sample(CEDARBRAKE);
    let heights = &mut document.design.objects.heights;
    let spot = |x: f64, y: f64, level: f64| {
        Arc::new(SpotHeight {
            at: PlanPoint::new(x, y),
            level: Length::from_metres(level),
            meta: Meta::default(),
        })
    };
    heights.clear();
    let mut flat = heights.clone();
    let mut number = 0;
    for column in 0..20 {
        for row in 0..25 {
            number += 1;
            let (x, y) = (f64::from(column) * 1.1, f64::from(row) * 1.2);
            let name = Id::new(Kind::Height, number);
            heights.insert(name, spot(x, y, 0.02 * y + 0.01 * (x * 0.7).sin()));
            flat.insert(name, spot(x, y, 3.0));
        }
    }
    let count = arrows(&drawn(&document, View::Plain)).len();
    assert!((8..60).contains(&count), "{count}");
    document.design.objects.heights = flat;
    assert!(arrows(&drawn(&document, View::Plain)).is_empty());
}
