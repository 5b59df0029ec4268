//! The rule books against the cases of `tests/cases/contact*.toml`, and every row of every book against at least one case.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use aubergine_core::catalog::crops::crops;
use aubergine_core::contact::{
    CropFacts, CrossingFacts, Geometry, Input, Lettering, MarkingFacts, Match, MeasuredDistance,
    OutletFacts, Output, Plant, Planting, Preparation, ServiceFacts, SignFacts, SignPost, assess,
};
use aubergine_core::finding::{Finding, Severity};
use aubergine_core::geometry::PlanPoint;
use aubergine_core::ids::{Id, Kind};
use aubergine_core::rulebook::{
    BackflowDevice, Limit, MarkedPart, Method, Place, Relief, SiteKind, Verdict, built_in,
    built_in_book,
};
use aubergine_core::units::{Area, Length, UnitSystem};

/// The tables of cases; a book's own cases may come in a file of their own.
const CASES: [&str; 3] = [
    include_str!("../cases/contact.toml"),
    include_str!("../cases/contact_states.toml"),
    include_str!("../cases/contact_guidelines.toml"),
];
const BED: Id = Id::new(Kind::Bed, 1);
const ZONE: Id = Id::new(Kind::Zone, 1);
const PIPE: Id = Id::new(Kind::Pipe, 1);
const OUTLET: Id = Id::new(Kind::Outlet, 1);
const ENTRY: Id = Id::new(Kind::Mark, 1);
const POND: Id = Id::new(Kind::Feature, 1);

#[derive(serde::Deserialize, Default)]
#[serde(default, deny_unknown_fields)]
pub(super) struct Cases {
    pub(super) plant: Vec<Case>,
    pub(super) place: Vec<Case>,
    pub(super) service: Vec<Case>,
    pub(super) outlet: Vec<Case>,
    pub(super) sign: Vec<Case>,
    pub(super) outlet_sign: Vec<Case>,
    pub(super) marking: Vec<Case>,
    pub(super) crossing: Vec<Case>,
}

/// One case; each kind uses the fields it needs.
#[derive(serde::Deserialize, Clone, Default)]
#[serde(default, deny_unknown_fields)]
pub(super) struct Case {
    pub(super) id: String,
    pub(super) text: String,
    pub(super) book: String,
    pub(super) water_class: String,
    pub(super) site: SiteKind,
    pub(super) trust: String,
    pub(super) source: String,
    pub(super) plant: String,
    pub(super) preparation: String,
    pub(super) method: Option<Method>,
    pub(super) verdict: Option<Verdict>,
    pub(super) rules: Vec<String>,
    pub(super) missing: Option<String>,
    pub(super) condition: Option<String>,
    pub(super) cautious: Option<bool>,
    pub(super) windfall: bool,
    pub(super) surfaces: Option<bool>,
    pub(super) jet_below_m: Option<f64>,
    pub(super) from: Option<Place>,
    pub(super) to: Option<Place>,
    pub(super) distance_ft: f64,
    pub(super) reach_ft: f64,
    pub(super) above_ft: Option<f64>,
    pub(super) run_ft: Option<f64>,
    pub(super) relief: Option<Relief>,
    pub(super) expected: String,
    pub(super) rule: String,
    pub(super) device: Option<BackflowDevice>,
    pub(super) traits: Vec<String>,
    pub(super) words: Vec<String>,
    pub(super) languages: Vec<String>,
    pub(super) signed: bool,
    pub(super) symbol: bool,
    pub(super) pond: bool,
    pub(super) width_in: Option<f64>,
    pub(super) height_in: Option<f64>,
    pub(super) part: Option<MarkedPart>,
    pub(super) marked: bool,
    pub(super) gap_ft: Option<f64>,
    pub(super) potable: Option<Place>,
}

impl Case {
    fn input(&self) -> Input {
        let book = built_in_book(&self.book).unwrap();
        // A guideline has classes of its own, beside that of the binding book.
        let (class, by_book) = if book.binding {
            (self.water_class.clone(), BTreeMap::new())
        } else {
            let own = (self.book.clone(), self.water_class.clone());
            ("unknown".to_owned(), BTreeMap::from([own]))
        };
        Input {
            books: vec![Arc::new(book.clone())],
            water_class: class,
            class_by_book: by_book,
            site: self.site,
            ..Input::default()
        }
    }

    fn counts_as_validation(&self) -> bool {
        assert!(
            !self.source.is_empty() && !self.text.is_empty(),
            "{}",
            self.id
        );
        self.trust.starts_with("READ")
    }

    fn planting(&self) -> Planting {
        let (plant, usual) = match self.plant.as_str() {
            "turf" => (Plant::Turf, Preparation::Unknown),
            "ornamental" => (Plant::Ornamental, Preparation::Unknown),
            crop => {
                let crop = crops().get(crop).unwrap_or_else(|| panic!("{crop}"));
                (
                    Plant::Food(CropFacts::from_catalog(crop)),
                    crop.preparation.into(),
                )
            }
        };
        Planting {
            subject: BED,
            index: 0,
            zone: Some(ZONE),
            plant,
            preparation: match self.preparation.as_str() {
                "raw" => Preparation::Raw,
                "cooked" => Preparation::Cooked,
                "skin_removed" => Preparation::SkinRemoved,
                "pasteurised" => Preparation::Pasteurised,
                "usual" => usual,
                "unknown" => Preparation::Unknown,
                other => panic!("{other}"),
            },
            method: self.method.unwrap(),
            geometry: Geometry {
                windfall: self.windfall,
                surfaces: self.surfaces,
                jet_below: self.jet_below_m.map(Length::from_metres),
                ..Geometry::default()
            },
            overlap: None,
        }
    }

    fn lettering(&self) -> Lettering {
        Lettering {
            words: self.words.clone(),
            languages: self.languages.clone(),
            symbol: self.symbol,
        }
    }

    fn outlet(&self) -> OutletFacts {
        let has = |name: &str| self.traits.iter().any(|known| known == name);
        OutletFacts {
            subject: OUTLET,
            reclaimed: true,
            locked: has("locked"),
            special_tool: has("special_tool"),
            hose_thread: has("hose_thread"),
            above_ground: has("above_ground"),
            in_box: has("in_box"),
            joint: has("joint"),
            purple: has("purple"),
            lettering: self.lettering(),
            reaches: Vec::new(),
        }
    }
}

pub(super) fn cases() -> Cases {
    let mut all = Cases::default();
    for text in CASES {
        let read: Cases = toml::from_str(text)
            .map_err(|error| error.to_string())
            .unwrap();
        all.plant.extend(read.plant);
        all.place.extend(read.place);
        all.service.extend(read.service);
        all.outlet.extend(read.outlet);
        all.sign.extend(read.sign);
        all.outlet_sign.extend(read.outlet_sign);
        all.marking.extend(read.marking);
        all.crossing.extend(read.crossing);
    }
    all
}

/// The findings of a check, and the row each cites.
fn compare(case: &Case, findings: &[&Finding], hit: &mut BTreeSet<(String, String)>) {
    let worst = findings.iter().map(|finding| finding.severity).min();
    let expected = match case.expected.as_str() {
        "pass" => None,
        "stop" => Some(Severity::Stop),
        "fix" => Some(Severity::Fix),
        "check" => Some(Severity::Check),
        other => panic!("{}: {other}", case.id),
    };
    assert_eq!(worst, expected, "{} {}: {findings:#?}", case.id, case.text);
    let cited: Vec<&str> = findings
        .iter()
        .filter_map(|finding| finding.citation.as_ref())
        .map(|citation| citation.rule.as_str())
        .collect();
    if expected.is_some() && !case.rule.is_empty() {
        assert!(
            cited.contains(&case.rule.as_str()),
            "{}: {cited:?}",
            case.id
        );
        hit.insert((case.book.clone(), case.rule.clone()));
    }
    for finding in findings {
        let sentence = finding.message.sentence(UnitSystem::Us);
        assert!(!sentence.contains('{'), "{}: {sentence}", case.id);
    }
}

fn check_plant(case: &Case, hit: &mut BTreeSet<(String, String)>) {
    let mut input = case.input();
    input.plantings = vec![case.planting()];
    let Output { rulings, findings } = assess(&input);
    let ruling = &rulings[0];
    if !built_in_book(&case.book).unwrap().binding {
        check_advice(case, &ruling.advisory, hit);
        return;
    }
    let all: Vec<_> = std::iter::once(&ruling.decided_by)
        .chain(&ruling.also)
        .collect();
    assert_eq!(
        Some(ruling.verdict),
        case.verdict,
        "{} {}: {all:#?}",
        case.id,
        case.text
    );
    let ids: Vec<&str> = all.iter().map(|row| row.citation.rule.as_str()).collect();
    for rule in &case.rules {
        assert!(
            ids.contains(&rule.as_str()),
            "{}: {rule} not in {ids:?}",
            case.id
        );
    }
    if ruling.missing.is_empty() {
        // The row that decides is among those the case names.
        let decides = &ruling.decided_by.citation.rule;
        assert!(
            case.rules.contains(decides),
            "{}: decided by {decides}",
            case.id
        );
    }
    let missing: Vec<&str> = ruling.missing.iter().map(|fact| fact.key()).collect();
    let expected: Vec<String> = case
        .missing
        .iter()
        .map(|fact| format!("fact.{fact}"))
        .collect();
    assert_eq!(missing, expected, "{}", case.id);
    if let Some(condition) = &case.condition {
        assert!(
            ruling.conditions.contains(condition),
            "{}: {:?}",
            case.id,
            ruling.conditions
        );
    }
    if let Some(cautious) = case.cautious {
        assert_eq!(ruling.cautious_reading, cautious, "{}", case.id);
    }
    for finding in &findings {
        let sentence = finding.message.sentence(UnitSystem::Us);
        assert!(!sentence.contains('{'), "{}: {sentence}", case.id);
    }
    for row in all {
        hit.insert((row.citation.book.clone(), row.citation.rule.clone()));
    }
}

/// Advice is told row by row, the strictest word being what it comes to.
fn check_advice(case: &Case, advice: &[Match], hit: &mut BTreeSet<(String, String)>) {
    let strictest = advice.iter().map(|row| row.verdict).max();
    assert_eq!(
        strictest, case.verdict,
        "{} {}: {advice:#?}",
        case.id, case.text
    );
    let ids: BTreeSet<&str> = advice
        .iter()
        .map(|row| row.citation.rule.as_str())
        .collect();
    let named: BTreeSet<&str> = case.rules.iter().map(String::as_str).collect();
    assert_eq!(ids, named, "{}", case.id);
    for row in advice {
        hit.insert((row.citation.book.clone(), row.citation.rule.clone()));
    }
}

fn check_place(case: &Case, hit: &mut BTreeSet<(String, String)>) {
    let mut input = case.input();
    input.distances = vec![MeasuredDistance {
        from: case.from.unwrap(),
        to: case.to.unwrap(),
        subjects: vec![PIPE],
        distance: Length::from_feet(case.distance_ft),
        reach_into: Length::from_feet(case.reach_ft),
        overlap: Area::ZERO,
        length_under: case
            .run_ft
            .map(|run| (Limit::feet(9.0), Length::from_feet(run)))
            .into_iter()
            .collect(),
        above: case.above_ft.map(Length::from_feet),
        reliefs: case.relief.into_iter().collect(),
    }];
    compare_output(case, &input, "setback.", hit);
}

fn compare_output(case: &Case, input: &Input, check: &str, hit: &mut BTreeSet<(String, String)>) {
    let output = assess(input);
    let findings: Vec<&Finding> = output
        .findings
        .iter()
        .filter(|finding| finding.check.starts_with(check))
        .collect();
    compare(case, &findings, hit);
}

#[test]
fn every_case_is_judged_as_its_source_says_and_every_row_speaks() {
    let cases = cases();
    let mut hit = BTreeSet::new();
    for case in &cases.plant {
        check_plant(case, &mut hit);
    }
    for case in &cases.place {
        check_place(case, &mut hit);
    }
    for case in &cases.service {
        let mut input = case.input();
        input.service = Some(ServiceFacts {
            subjects: vec![Id::new(Kind::Supply, 2)],
            device: case.device.unwrap(),
        });
        compare_output(case, &input, "backflow.", &mut hit);
    }
    for case in &cases.outlet {
        let mut input = case.input();
        input.outlets = vec![case.outlet()];
        compare_output(case, &input, "outlet", &mut hit);
    }
    for case in cases.sign.iter().chain(&cases.outlet_sign) {
        let mut input = case.input();
        let is_entry = cases.sign.iter().any(|known| known.id == case.id);
        let place = if case.pond { POND } else { ENTRY };
        if case.pond {
            input.signs.ponds = vec![POND];
        } else if is_entry {
            input.marking = vec![marking(MarkedPart::Pipe, true)];
            input.signs.entries = vec![ENTRY];
        } else {
            input.outlets = vec![case.outlet()];
            let far = SignPost {
                subject: Id::new(Kind::Sign, 9),
                near: Some(ENTRY),
                lettering: Lettering::default(),
                width: None,
                height: None,
            };
            input.signs = SignFacts {
                signs: vec![far],
                ..SignFacts::default()
            };
        }
        if case.signed {
            input.signs.signs = vec![SignPost {
                subject: Id::new(Kind::Sign, 1),
                near: Some(place),
                lettering: case.lettering(),
                width: case.width_in.map(Length::from_inches),
                height: case.height_in.map(Length::from_inches),
            }];
        }
        compare_output(case, &input, "signs", &mut hit);
    }
    for case in &cases.marking {
        let mut input = case.input();
        input.marking = vec![marking(case.part.unwrap(), false)];
        compare_output(case, &input, "marking.", &mut hit);
    }
    for case in &cases.crossing {
        let mut input = case.input();
        input.crossings = vec![CrossingFacts {
            subjects: vec![PIPE],
            at: PlanPoint::new(0.0, 0.0),
            potable: case.potable.unwrap(),
            marked: case.marked,
            vertical_gap: case.gap_ft.map(Length::from_feet),
        }];
        let check = if case.marked { "setback." } else { "crossing." };
        compare_output(case, &input, check, &mut hit);
    }
    let silent: Vec<String> = built_in()
        .iter()
        .flat_map(|book| {
            book.origins()
                .map(|(row, _)| (book.id.clone(), row.to_owned()))
        })
        .filter(|row| !hit.contains(row))
        .map(|(book, row)| format!("{book} {row}"))
        .collect();
    assert!(silent.is_empty(), "rows that no case hits: {silent:?}");

    let all: Vec<&Case> = [
        &cases.plant,
        &cases.place,
        &cases.service,
        &cases.outlet,
        &cases.sign,
        &cases.outlet_sign,
        &cases.marking,
        &cases.crossing,
    ]
    .into_iter()
    .flatten()
    .collect();
    let ids: BTreeSet<&str> = all.iter().map(|case| case.id.as_str()).collect();
    assert_eq!(ids.len(), all.len(), "a case id stands twice");
    let num_read = all
        .iter()
        .filter(|case| case.counts_as_validation())
        .count();
    println!(
        "contact cases: {num_read} validated against a text that was read, {} from memory or without a source",
        all.len() - num_read
    );
    assert!(num_read >= 30, "{num_read}");
}

fn marking(part: MarkedPart, purple: bool) -> MarkingFacts {
    MarkingFacts {
        subject: PIPE,
        part,
        purple,
    }
}
