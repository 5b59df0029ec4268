//! The map of water under sprays against closed forms and quadratures, its balance of volumes, and what is told of it.

use acceptance::{CEDARBRAKE, sample};
use aubergine_core::analysis::Analyzer;
use aubergine_core::catalog::{Catalog, Profile, ProfileForm, ProfilePoint};
use aubergine_core::coverage::{Coverage, Head, SpotKind};
use aubergine_core::drawing::{self, LayerKind, Role, Shape, View, ViewOptions};
use aubergine_core::geometry::{PlanPoint, Polygon};
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::layout::{HeadPattern, HeadsRule, heads};
use aubergine_core::units::{Angle, DepthRate, Flow, Length, UnitSystem};
use proptest::prelude::*;

const THROW_M: f64 = 4.0;

#[derive(serde::Deserialize)]
struct Table {
    case: Vec<Case>,
}

#[derive(serde::Deserialize)]
struct Case {
    id: String,
    profile: Profile,
    pattern: String,
    spacing_over_throw: f64,
    low_quarter: f64,
    christiansen: f64,
    allowed: f64,
}

fn head(x: f64, y: f64, profile: Profile) -> Head {
    Head {
        at: PlanPoint::new(x, y),
        throw: Length::from_metres(THROW_M),
        from: Angle::ZERO,
        sweep: Angle::from_degrees(360.0),
        flow: Flow::from_litres_per_second(0.1),
        profile,
        also: Vec::new(),
    }
}

/// Heads far around one cell of the pattern, and the cell.
fn endless(case: &Case) -> (Polygon, Vec<Head>) {
    let spacing = case.spacing_over_throw * THROW_M;
    let is_square = case.pattern == "square";
    let line = spacing * if is_square { 1.0 } else { 3.0_f64.sqrt() / 2.0 };
    let mut heads = Vec::new();
    for row in -5..=7_i32 {
        let shift = if is_square || row % 2 == 0 { 0.0 } else { 0.5 };
        for column in -5..=6_i32 {
            let x = (f64::from(column) + shift) * spacing;
            heads.push(head(x, f64::from(row) * line, case.profile.clone()));
        }
    }
    let high = if is_square { spacing } else { 2.0 * line };
    let (wide, high) = (Length::from_metres(spacing), Length::from_metres(high));
    (Polygon::rectangle(PlanPoint::default(), wide, high), heads)
}

#[test]
fn evenness_of_endless_patterns_is_that_of_the_closed_forms() {
    let table: Table = toml::from_str(include_str!("../cases/coverage.toml")).unwrap();
    for case in &table.case {
        let (cell, heads) = endless(case);
        let map = Coverage::of(&cell, &heads).unwrap();
        println!(
            "{}: low quarter {:.4} ({:.4}), Christiansen {:.4} ({:.4})",
            case.id, map.low_quarter, case.low_quarter, map.christiansen, case.christiansen
        );
        assert!(
            (map.low_quarter - case.low_quarter).abs() < case.allowed,
            "{}",
            case.id
        );
        assert!(
            (map.christiansen - case.christiansen).abs() < case.allowed,
            "{}",
            case.id
        );
        // One head's water falls on the part of the pattern that is its own.
        let heads_of_cell = if case.pattern == "square" { 1.0 } else { 2.0 };
        let mean = 0.1 * heads_of_cell * 3600.0 / cell.area().square_metres();
        let off = map.mean.millimetres_per_hour() / mean - 1.0;
        assert!(off.abs() < 0.002, "{}: mean {off}", case.id);
    }
}

proptest! {
    /// What the heads give falls on the area or is told as thrown off, to a millionth, wherever they stand.
    #[test]
    fn no_water_is_lost(
        places in proptest::collection::vec(
            (-3.0..12.0_f64, -3.0..9.0_f64, 0.0..6.0_f64, 0.0..360.0_f64, 5.0..360.0_f64, 0.001..0.3_f64),
            1..9,
        ),
        corner in 1.0..8.0_f64,
    ) {
        let outline = [(0.0, 0.0), (9.0, 0.0), (9.0, 2.0), (corner, 3.0), (3.0, 6.0), (0.0, 6.0)];
        let outline = Polygon(outline.map(|(x, y)| PlanPoint::new(x, y)).to_vec());
        let heads: Vec<Head> = places
            .iter()
            .map(|(x, y, throw, from, sweep, flow)| Head {
                throw: Length::from_metres(*throw),
                from: Angle::from_degrees(*from),
                sweep: Angle::from_degrees(*sweep),
                flow: Flow::from_litres_per_second(*flow),
                ..head(*x, *y, Profile::ASSUMED)
            })
            .collect();
        if let Some(map) = Coverage::of(&outline, &heads) {
            let balance = (map.on_area + map.off) / map.given - 1.0;
            prop_assert!(balance.abs() < 1e-6, "{balance}");
            prop_assert!(map.low_quarter <= 1.0 + 1e-12 && map.extremes.0 <= map.mean);
            // The bands cover no more than the area, and are simple outlines in it.
            for part in map.loops(&[map.mean * 0.5, map.mean, map.mean * 2.0]) {
                prop_assert!(part.band <= 3);
                let area = part.area.area();
                prop_assert!(area <= outline.area() * (1.0 + 1e-9));
            }
        }
    }
}

#[test]
fn a_profile_of_points_is_read_between_them_and_a_bad_one_gives_no_nonsense() {
    let point = |share, rate| ProfilePoint {
        share,
        rate,
        extra: std::collections::BTreeMap::new(),
    };
    let donut = Profile::Points(vec![point(0.0, 0.0), point(0.5, 2.0), point(1.0, 0.0)]);
    assert!((donut.rate(0.25) - 1.0).abs() < 1e-12 && (donut.rate(0.75) - 1.0).abs() < 1e-12);
    assert!(donut.rate(1.01).abs() < 1e-12);
    let bad = Profile::Points(vec![point(0.5, -1.0), point(0.5, f64::NAN)]);
    for share in [0.0, 0.3, 0.5, 0.9] {
        assert!(bad.rate(share).abs() < 1e-12, "{share}");
    }
    assert_eq!(
        Catalog::built_in().emission("spray-12").unwrap().profile,
        Some(Profile::Form(ProfileForm::Triangular))
    );
}

#[test]
fn a_corner_without_a_head_is_found_where_it_is() {
    // Three of four quarter heads on a square of one throw: the fourth corner gets nothing from its neighbours.
    let side = Length::from_metres(THROW_M);
    let square = Polygon::rectangle(PlanPoint::default(), side, side);
    let corners = [(0.0, 0.0, 0.0), (THROW_M, 0.0, 90.0), (0.0, THROW_M, 270.0)];
    let heads: Vec<Head> = corners
        .into_iter()
        .map(|(x, y, from)| Head {
            from: Angle::from_degrees(from),
            sweep: Angle::from_degrees(90.0),
            ..head(x, y, Profile::ASSUMED)
        })
        .collect();
    let map = Coverage::of(&square, &heads).unwrap();
    let dry: Vec<_> = map
        .spots
        .iter()
        .filter(|spot| spot.kind == SpotKind::Dry)
        .collect();
    assert_eq!(dry.len(), 1, "{:?}", map.spots);
    assert_eq!(dry[0].place.key(), "place.north_east");
    assert!(map.rate_at(dry[0].at).unwrap() < map.mean * 0.5);
    assert!(
        map.off_share() < 0.01,
        "quarters throw inside: {}",
        map.off_share()
    );
    assert_eq!(map.rate_at(PlanPoint::new(-1.0, 0.0)), None);
}

/// The lawn of Cedarbrake Hollow: told in words, and seen in the picture, hatched, with its rate.
#[test]
fn the_dry_middle_of_cedarbrake_hollow_is_told_and_drawn() {
    let document = sample(CEDARBRAKE);
    let analysis = Analyzer::default().update(&document.design);
    let told: Vec<String> = analysis
        .findings
        .iter()
        .filter(|finding| finding.check == "coverage.uneven")
        .map(|finding| finding.message.sentence(UnitSystem::Us))
        .collect();
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(
        told[0].contains("B5") && told[0].contains("poor"),
        "{told:?}"
    );
    let bare = analysis.assumptions.iter().any(|one| one.key == "profile");
    assert!(bare, "its own rows say nothing of a profile");
    let options = ViewOptions {
        view: View::Coverage,
        case: SupplyCase::Low,
        units: UnitSystem::Us,
    };
    let drawing = drawing::build(&document.design, &document.review, &analysis, options);
    let lawn = "B5".parse().unwrap();
    let map = analysis.sprayed[&lawn].in_case(SupplyCase::Low).unwrap();
    let dry = map
        .spots
        .iter()
        .find(|spot| spot.kind == SpotKind::Dry)
        .unwrap();
    // The topmost area over the dry place is hatched as dry.
    let over = drawing
        .layers
        .iter()
        .filter(|layer| layer.kind == LayerKind::Planting)
        .flat_map(|layer| &layer.marks)
        .rfind(|mark| matches!(&mark.shape, Shape::Area(area) if area.contains(dry.at)))
        .unwrap();
    assert!(
        matches!(over.role, Role::Rate(band, _) if band.spot == Some(SpotKind::Dry)),
        "{:?}",
        over.role
    );
    // Wherever one looks, the band on top holds the rate of the place, but for cells that a line runs through.
    let (mut asked, mut wrong) = (0, 0);
    for x in 0..60 {
        for y in 0..60 {
            let at = PlanPoint::new(12.2 + f64::from(x) * 0.152, 3.06 + f64::from(y) * 0.172);
            let Some(rate) = map.rate_at(at) else {
                continue;
            };
            let top = drawing
                .marks()
                .filter(|mark| matches!(mark.role, Role::Rate(..)))
                .filter(|mark| matches!(&mark.shape, Shape::Area(area) if area.contains(at)))
                .last();
            let Some(Role::Rate(band, _)) = top.map(|mark| mark.role) else {
                panic!("nothing at {at:?}")
            };
            let slack = DepthRate::from_millimetres_per_hour(2.5);
            asked += 1;
            wrong += i32::from(rate < band.from - slack || rate > band.to + slack);
        }
    }
    assert!(asked > 3000 && wrong * 50 < asked, "{wrong} of {asked}");
}

/// Heads over an angle of land, in squares and triangles: on it, their arcs cut to its edge, and even.
#[test]
fn heads_fill_an_angle_of_land() {
    let corners = [
        (0.0, 0.0),
        (11.0, 0.0),
        (11.0, 4.0),
        (4.0, 4.0),
        (4.0, 9.0),
        (0.0, 9.0),
    ];
    let outline = Polygon(corners.map(|(x, y)| PlanPoint::new(x, y)).to_vec());
    // Turned the other way round it is the same land.
    let reversed = Polygon(outline.0.iter().rev().copied().collect());
    let catalog = Catalog::built_in();
    let part = catalog.emission("spray-12").unwrap();
    for pattern in [HeadPattern::Square, HeadPattern::Triangular] {
        let rule = HeadsRule {
            part: "spray-12".to_owned(),
            pattern,
            factor: 0.9,
        };
        let placed = heads(&outline, catalog, &rule);
        assert_eq!(placed.len(), heads(&reversed, catalog, &rule).len());
        // The inner corner needs three quarters of a circle, for which no row is made: said, not hidden.
        let odd: Vec<_> = placed.iter().filter(|head| !head.is_matched).collect();
        assert_eq!(odd.len(), 1, "{odd:?}");
        assert!((odd[0].sweep.degrees() - 270.0).abs() < 1e-9);
        let sprays: Vec<Head> = placed
            .iter()
            .map(|placed| Head {
                at: placed.at,
                throw: Length::from_feet(12.0),
                from: placed.from,
                sweep: placed.sweep,
                flow: catalog.emission(&placed.part).unwrap().flow,
                profile: part.profile.clone().unwrap(),
                also: Vec::new(),
            })
            .collect();
        let map = Coverage::of(&outline, &sprays).unwrap();
        assert!(map.low_quarter > 0.6, "{pattern:?} {}", map.low_quarter);
        assert!(
            map.spots.iter().all(|spot| spot.kind != SpotKind::Dry),
            "{pattern:?}"
        );
    }
    for factor in [0.0, -1.0, f64::NAN, 1e-9] {
        let rule = HeadsRule {
            part: "spray-12".to_owned(),
            pattern: HeadPattern::Square,
            factor,
        };
        assert!(heads(&outline, catalog, &rule).is_empty(), "{factor}");
    }
}
