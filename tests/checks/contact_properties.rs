//! What must hold of the contact rules whatever the plan: no fact hidden to advantage, no zone made laxer by adding to
//! it, limits met exactly, memory never plain, and no word that claims too much.

use std::sync::Arc;

use aubergine_core::catalog::crops::crops;
use aubergine_core::contact::{
    CropFacts, Geometry, Input, Lettering, MeasuredDistance, OutletFacts, Plant, Planting,
    Preparation, ReachedBed, Ruling, assess,
};
use aubergine_core::finding::{Basis, Finding, Severity};
use aubergine_core::ids::{Id, Kind};
use aubergine_core::rulebook::{
    BUILT_IN_TEXTS, GENERIC, Layer, Limit, Method, Place, Rulebook, SiteKind, Verdict, built_in,
    built_in_book, limits,
};
use aubergine_core::units::{Area, Length, UnitSystem};
use proptest::prelude::*;

const ZONE: Id = Id::new(Kind::Zone, 1);

fn bed(number: u32) -> Id {
    Id::new(Kind::Bed, number)
}

fn book(id: &str) -> Arc<Rulebook> {
    Arc::new(built_in_book(id).unwrap().clone())
}

fn planting(subject: Id, crop: &str, preparation: Preparation, method: Method) -> Planting {
    Planting {
        subject,
        index: 0,
        zone: Some(ZONE),
        plant: Plant::Food(CropFacts::from_catalog(&crops()[crop])),
        preparation,
        method,
        geometry: Geometry::default(),
        overlap: None,
    }
}

fn input(books: Vec<Arc<Rulebook>>, water_class: &str, plantings: Vec<Planting>) -> Input {
    Input {
        books,
        water_class: water_class.to_owned(),
        plantings,
        ..Input::default()
    }
}

fn any_site() -> impl Strategy<Value = SiteKind> {
    prop::sample::select(SiteKind::ALL)
}

fn any_preparation() -> impl Strategy<Value = Preparation> {
    prop::sample::select(vec![
        Preparation::Raw,
        Preparation::SkinRemoved,
        Preparation::Cooked,
        Preparation::Pasteurised,
    ])
}

fn any_planting() -> impl Strategy<Value = Planting> {
    let names: Vec<&'static String> = crops().keys().collect();
    (
        prop::sample::select(names),
        any_preparation(),
        prop::sample::select(Method::ALL),
        any::<[bool; 4]>(),
        (-0.5..1.0, 0.0..0.4),
    )
        .prop_map(
            |(crop, preparation, method, flags, (jet, depth))| Planting {
                geometry: Geometry {
                    surfaces: Some(flags[0]),
                    jet_below: Some(Length::from_metres(jet)),
                    edible_on_ridge: Some(flags[1]),
                    flood_depth: Some(Length::from_metres(depth)),
                    hand_at_base: Some(flags[2]),
                    windfall: flags[3],
                },
                ..planting(bed(1), crop, preparation, method)
            },
        )
}

fn any_books_and_class() -> impl Strategy<Value = (Arc<Rulebook>, String)> {
    let pairs: Vec<(Arc<Rulebook>, String)> = built_in()
        .iter()
        .flat_map(|book| {
            let shared = Arc::new(book.clone());
            let classes = book.water_classes.iter().map(|class| class.id.clone());
            classes
                .chain(["unknown".to_owned()])
                .map(move |class| (Arc::clone(&shared), class))
                .collect::<Vec<_>>()
        })
        .collect();
    prop::sample::select(pairs)
}

fn ruling(input: &Input) -> Ruling {
    assess(input).rulings[0].clone()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn hiding_a_fact_never_gives_an_allowance_that_the_facts_did_not_give(
        (book, class) in any_books_and_class(),
        site in any_site(),
        planting in any_planting(),
        hidden in 0_u8..7,
    ) {
        let mut known = input(vec![book], &class, vec![planting]);
        known.site = site;
        let mut less = known.clone();
        let planting = &mut less.plantings[0];
        match hidden {
            0 => less.water_class = "unknown".to_owned(),
            1 => planting.preparation = Preparation::Unknown,
            2 => planting.geometry.surfaces = None,
            3 => planting.geometry.jet_below = None,
            4 => planting.geometry.edible_on_ridge = None,
            5 => planting.geometry.flood_depth = None,
            _ => planting.geometry.hand_at_base = None,
        }
        let (known, less) = (ruling(&known), ruling(&less));
        if less.verdict.allows() {
            prop_assert_eq!(known.verdict, less.verdict);
            prop_assert_eq!(known.decided_by.citation, less.decided_by.citation);
        }
    }

    #[test]
    fn adding_a_planting_never_makes_the_worst_of_a_zone_laxer(
        (book, class) in any_books_and_class(),
        site in any_site(),
        plantings in prop::collection::vec(any_planting(), 1..4),
    ) {
        let mut whole = input(vec![book], &class, plantings);
        whole.site = site;
        let mut fewer = whole.clone();
        fewer.plantings.pop();
        prop_assert!(assess(&whole).worst_of_zone(ZONE) >= assess(&fewer).worst_of_zone(ZONE));
    }

    #[test]
    fn what_is_known_from_memory_is_never_plainly_allowed(
        (book, class) in any_books_and_class(),
        site in any_site(),
        planting in any_planting(),
        is_remembered in any::<bool>(),
    ) {
        let mut lax = Rulebook::clone(&book);
        for rule in &mut lax.rules {
            rule.verdict = Verdict::NoConflict;
            rule.origin.interpretation = !is_remembered;
            if is_remembered {
                rule.origin.basis = Basis::Memory;
            }
        }
        let mut told = input(vec![Arc::new(lax)], &class, vec![planting]);
        told.site = site;
        let ruling = ruling(&told);
        prop_assert_ne!(ruling.verdict, Verdict::NoConflict);
        if ruling.verdict == Verdict::Conditions && is_remembered {
            prop_assert!(ruling.conditions.contains(&"condition.confirm_memory".to_owned()));
        }
    }
}

fn distance(from: Place, to: Place, distance: Length) -> MeasuredDistance {
    MeasuredDistance {
        from,
        to,
        subjects: vec![bed(1)],
        distance,
        reach_into: Length::ZERO,
        overlap: Area::ZERO,
        length_under: Vec::new(),
        above: Some(Length::from_feet(100.0)),
        reliefs: Vec::new(),
    }
}

#[test]
fn a_limit_is_met_exactly_at_its_value_and_missed_a_millimetre_below() {
    let mut num_rows = 0;
    for book in built_in() {
        for row in book.distances.iter().filter(|row| row.minimum.value > 0.0) {
            let site = row.when.sites.first().copied().unwrap_or_default();
            let class = match row.when.classes.first() {
                Some(class) => class.clone(),
                None => book.water_classes[0].id.clone(),
            };
            let count = |length: Length| {
                let mut told = input(vec![Arc::new(book.clone())], &class, Vec::new());
                told.site = site;
                let to = row.to.first().or(row.ask_to.first()).unwrap();
                told.distances = vec![distance(row.from[0], *to, length)];
                let findings = assess(&told).findings;
                let of_row = format!("setback.{}.{}", book.id, row.id);
                findings
                    .iter()
                    .filter(|finding| finding.check == of_row)
                    .count()
            };
            let exact = row.minimum.length();
            assert_eq!(count(exact), 0, "{}", row.id);
            assert_eq!(
                count(exact - Length::from_millimetres(0.1)),
                0,
                "{}",
                row.id
            );
            assert_eq!(
                count(exact - Length::from_millimetres(1.0)),
                1,
                "{}",
                row.id
            );
            num_rows += 1;
        }
    }
    assert!(num_rows >= 10);
    assert_eq!(
        limits(
            &[built_in_book("us-tx").unwrap()],
            SiteKind::ResidenceIndividual,
            Place::ReclaimedPipe,
            Place::PotableYardLine
        ),
        [Limit::feet(9.0)]
    );
}

#[test]
fn no_book_leaves_a_wetted_place_of_people_untold() {
    let places = [
        Place::EatingArea,
        Place::FoodPlace,
        Place::DrinkingFountain,
        Place::PlayArea,
        Place::PetArea,
        Place::Pool,
        Place::Neighbour,
    ];
    for book in built_in() {
        let classes = book.water_classes.iter().map(|class| class.id.as_str());
        for class in classes.chain(["unknown"]) {
            for (to, site) in places
                .iter()
                .flat_map(|to| SiteKind::ALL.iter().map(|site| (*to, *site)))
            {
                let mut told = input(vec![Arc::new(book.clone())], class, Vec::new());
                told.site = site;
                told.distances = [Place::SprayEdge, Place::WettedEdge]
                    .map(|from| MeasuredDistance {
                        reach_into: Length::from_feet(3.0),
                        ..distance(from, to, Length::ZERO)
                    })
                    .to_vec();
                let findings = assess(&told).findings;
                let of_place = findings
                    .iter()
                    .filter(|it| it.check.starts_with("setback."))
                    .collect::<Vec<_>>();
                assert!(!of_place.is_empty(), "{} {class} {to:?} {site:?}", book.id);
                let advised = of_place
                    .iter()
                    .filter(|it| it.check.starts_with("setback.generic."));
                let is_beside_a_rule = book.id != GENERIC && book.binding && class != "unknown";
                for finding in advised.filter(|_| is_beside_a_rule) {
                    assert_eq!(finding.severity, Severity::Check, "{}", book.id);
                    assert_eq!(of_place.len(), 1, "advice beside a rule: {of_place:?}");
                }
            }
        }
    }
}

#[test]
fn no_text_claims_more_than_the_rules_say() {
    let texts = [
        include_str!("../../core/data/text/contact.toml"),
        include_str!("../../core/data/text/rules_us.toml"),
        include_str!("../../core/data/catalog/crops.toml"),
    ];
    for text in texts.into_iter().chain(BUILT_IN_TEXTS) {
        for (line, words) in text.lines().enumerate() {
            for claim in ["safe", "approved", "compliant", "certified"] {
                let words = words.to_lowercase();
                assert!(!words.contains(claim), "line {}: {words}", line + 1);
            }
        }
    }
}

#[test]
fn advice_stands_beside_the_verdict_and_never_changes_the_word() {
    let mut advice = built_in_book("generic").unwrap().clone();
    advice.id = "advice".to_owned();
    advice.layer = Layer::Extension;
    advice.binding = false;
    for rule in &mut advice.rules {
        rule.when.classes.clear();
        rule.verdict = Verdict::Prohibit;
    }
    let books = vec![book("us-tx"), Arc::new(advice)];
    let with = |method| {
        let plantings = vec![planting(
            bed(1),
            "tomato_staked_pruned",
            Preparation::Raw,
            method,
        )];
        assess(&input(books.clone(), "type-i", plantings))
    };
    let drip = with(Method::SurfaceDrip);
    assert_eq!(drip.rulings[0].verdict, Verdict::Conditions);
    assert!(!drip.rulings[0].advisory.is_empty());
    let advised = drip
        .findings
        .iter()
        .filter(|finding| finding.check.starts_with("contact.advice"));
    assert!(advised.clone().count() >= 1);
    assert!(
        advised
            .clone()
            .all(|finding| finding.severity == Severity::Check)
    );
    let spray = with(Method::Spray);
    assert_eq!(spray.rulings[0].verdict, Verdict::Prohibit);
    assert_eq!(spray.rulings[0].decided_by.citation.book, "us-tx");
}

#[test]
fn a_local_overlay_is_silent_where_it_has_no_row_and_the_strictest_layer_is_named() {
    let mut overlay = built_in_book("us-tx").unwrap().clone();
    overlay.id = "town".to_owned();
    overlay.layer = Layer::Local;
    overlay.overlay = true;
    overlay.rules.retain(|rule| rule.id == "TX-01");
    overlay.rules[0].id = "TOWN-1".to_owned();
    overlay.rules[0].verdict = Verdict::Prohibit;
    overlay.uncovered.clear();
    let books = vec![book("us-tx"), Arc::new(overlay)];
    let food = planting(
        bed(1),
        "tomato_staked_pruned",
        Preparation::Raw,
        Method::SurfaceDrip,
    );
    let lawn = Planting {
        subject: bed(2),
        plant: Plant::Turf,
        ..food.clone()
    };
    let output = assess(&input(books, "type-i", vec![food, lawn]));
    assert_eq!(output.rulings[0].verdict, Verdict::Conditions);
    assert_eq!(output.rulings[1].verdict, Verdict::Prohibit);
    assert_eq!(output.rulings[1].decided_by.citation.book, "town");
    let kept: Vec<&str> = output.rulings[1]
        .also
        .iter()
        .map(|row| row.citation.rule.as_str())
        .collect();
    assert_eq!(kept, ["TX-01"]);
}

#[test]
fn findings_are_grouped_by_bed_zone_and_row_and_notes_by_their_conditions() {
    let raw = |number, crop, method| planting(bed(number), crop, Preparation::Raw, method);
    let mut plantings = vec![
        raw(1, "lettuce_leaf", Method::Spray),
        raw(1, "tomato_staked_pruned", Method::Spray),
        raw(2, "tomato_staked_pruned", Method::SurfaceDrip),
        raw(3, "sweet_pepper", Method::SurfaceDrip),
    ];
    plantings[1].index = 1;
    plantings[0].overlap = Some(Area::from_square_feet(31.0));
    let output = assess(&input(vec![book("us-tx")], "type-i", plantings));
    let on_plants: Vec<_> = output
        .findings
        .iter()
        .filter(|finding| finding.check.starts_with("contact."))
        .map(|finding| (finding.severity, finding.subjects.clone()))
        .collect();
    assert_eq!(
        on_plants,
        [
            (Severity::Stop, vec![bed(1), ZONE]),
            (Severity::Note, vec![bed(2), bed(3)]),
        ]
    );
    let stop = &output.findings[0];
    assert!(stop.measured.is_some());
    let sentence = stop.message.sentence(UnitSystem::Us);
    assert!(
        sentence.contains("Lettuce (leaf) and tomato (staked, pruned) in B1"),
        "{sentence}"
    );
    let note = output
        .findings
        .last()
        .unwrap()
        .message
        .sentence(UnitSystem::Us);
    assert!(note.contains("drinking water"), "{note}");
    // A plan with plants and no sign at any entry has one finding for all its signs.
    assert_eq!(
        output
            .findings
            .iter()
            .filter(|finding| finding.check == "signs")
            .count(),
        1
    );
}

#[test]
fn an_outlet_has_one_finding_and_hose_reach_is_part_of_it() {
    let outlet = OutletFacts {
        subject: Id::new(Kind::Outlet, 1),
        reclaimed: true,
        locked: false,
        special_tool: false,
        hose_thread: true,
        above_ground: true,
        in_box: false,
        joint: false,
        purple: true,
        lettering: Lettering::default(),
        reaches: vec![ReachedBed {
            bed: bed(7),
            crops: vec!["strawberry".to_owned()],
        }],
    };
    let told = |id: &str, class: &str| {
        let mut told = input(vec![book(id)], class, Vec::new());
        told.outlets = vec![outlet.clone()];
        let findings = assess(&told).findings;
        let outlets: Vec<_> = findings
            .iter()
            .filter(|finding| finding.check == "outlet")
            .map(|finding| (finding.severity, finding.message.sentence(UnitSystem::Us)))
            .collect();
        assert_eq!(outlets.len(), 1);
        outlets[0].clone()
    };
    let (severity, sentence) = told("us-tx", "type-i");
    assert_eq!(severity, Severity::Stop);
    assert!(sentence.contains("B7 (strawberry)"), "{sentence}");
    // No row of California speaks of outlets at a home: only the hose reach is left.
    let (severity, sentence) = told("us-ca", "tertiary");
    assert_eq!(severity, Severity::Check);
    assert!(sentence.contains("B7 (strawberry)"), "{sentence}");
}

#[test]
fn a_finding_is_named_once() {
    let plantings = crops()
        .keys()
        .zip(1..)
        .map(|(crop, number)| {
            planting(
                bed(number),
                crop,
                Preparation::Unknown,
                Method::SubsurfaceDrip,
            )
        })
        .collect();
    let output = assess(&input(vec![book("us-tx")], "unknown", plantings));
    let mut ids: Vec<String> = output.findings.iter().map(Finding::id).collect();
    let num_ids = ids.len();
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), num_ids);
    assert_eq!(output.rulings.len(), crops().len());
}
