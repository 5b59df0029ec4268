//! Each sample plan is canonical, analyses without surprises, and shows the findings it is meant to show and no others;
//! its numbers are those estimated in the text it was drawn from, within 15 %.

use acceptance::{CEDARBRAKE, LARKMEAD, SAMPLES, near, sample, sample_bytes, sample_path};
use aubergine_core::agronomy::application_rate;
use aubergine_core::analysis::{Analysis, Analyzer};
use aubergine_core::file;
use aubergine_core::finding::{Finding, Severity, Value};
use aubergine_core::hydraulics::{FrictionLaw, Pipe, PipeFriction, SupplyCase, from_plan};
use aubergine_core::ids::Id;
use aubergine_core::layout::bed_outline;
use aubergine_core::model::Plan;
use aubergine_core::report::zone_summaries;
use aubergine_core::units::{Flow, Length, UnitSystem};

fn analysed(name: &str) -> (Plan, Analysis) {
    let plan = sample(name).design;
    let analysis = Analyzer::default().update(&plan);
    (plan, analysis)
}

/// Check names and subjects of the findings of a severity.
fn told(analysis: &Analysis, severity: Severity) -> Vec<(&str, String)> {
    let of = analysis
        .findings
        .iter()
        .filter(|finding| finding.severity == severity);
    of.map(|finding| (finding.check.as_str(), subjects(finding)))
        .collect()
}

fn subjects(finding: &Finding) -> String {
    let all: Vec<String> = finding.subjects.iter().map(ToString::to_string).collect();
    all.join(" ")
}

fn id(text: &str) -> Id {
    text.parse().unwrap()
}

/// `UPDATE_SAMPLES=1` writes the samples in canonical form instead, after a change of the format.
#[test]
fn the_samples_are_canonical() {
    for name in SAMPLES {
        let canonical = file::save(&sample(name));
        if std::env::var_os("UPDATE_SAMPLES").is_some() {
            std::fs::write(sample_path(name), &canonical).unwrap();
        }
        assert!(
            sample_bytes(name) == canonical,
            "{name} is not in canonical form"
        );
    }
}

#[test]
fn larkmead_close_is_clean() {
    let (_, analysis) = analysed(LARKMEAD);
    assert_eq!(told(&analysis, Severity::Stop), []);
    assert_eq!(told(&analysis, Severity::Fix), []);
    assert_eq!(told(&analysis, Severity::Check), []);
    let notes = told(&analysis, Severity::Note);
    assert_eq!(notes.len(), 2, "{notes:?}");
    assert!(notes[0].0.starts_with("contact.conditions"));
    assert_eq!(notes[1], ("drawing.flush", "Z1 Z2 Z3".to_owned()));
    let rinse = analysis.findings[0].message.sentence(UnitSystem::Us);
    assert!(
        rinse.contains("Wash what you harvest with drinking water"),
        "{rinse}"
    );
}

/// The figures of the text: emitters, flows, pressures at the ends of the lines, rates, length of the main.
#[test]
fn larkmead_close_has_the_numbers_of_its_text() {
    let (plan, analysis) = analysed(LARKMEAD);
    let zones = zone_summaries(&plan, &analysis);
    for (zone, emitters, gpm) in [("Z1", 160, 1.07), ("Z2", 40, 0.35), ("Z3", 238, 1.59)] {
        let row = zones.iter().find(|row| row.id == id(zone)).unwrap();
        assert_eq!(row.num_emitters, emitters, "{zone}");
        near(row.rated.gallons_per_minute(), gpm, 0.02);
        for case in 0..3 {
            near(row.flow[case].gallons_per_minute(), gpm, 0.02);
            let end = row.last[case].unwrap().psi();
            assert!((24.0..=25.0 + 1e-9).contains(&end), "{zone}: {end}");
            assert!(row.first[case].unwrap() >= row.last[case].unwrap());
        }
    }
    // 32 emitters of the strip and 8 of the apples.
    let line_emitters = |bed: &str| analysis.beds[&id(bed)].num_emitters();
    assert_eq!(line_emitters("B5"), 32);
    assert_eq!(plan.objects.emissions.len(), 8);
    assert_eq!(["B1", "B2", "B3", "B4"].map(line_emitters), [40; 4]);
    // The text divides the flow of an area by the area; spacing times row spacing comes near it.
    for (bed, inches_per_hour) in [("B1", 0.64), ("B6", 0.45)] {
        let object = &plan.objects.beds[&id(bed)];
        let fill = object.fill.clone().unwrap();
        let part = plan.catalog.emission(&fill.line).unwrap();
        let emitters = line_emitters(bed);
        let flow: Flow = std::iter::repeat_n(part.flow, emitters).sum();
        let by_area = application_rate(flow, bed_outline(object).area());
        near(by_area.inches_per_hour(), inches_per_hour, 0.02);
        let spacing = fill.emitter_spacing.or(part.spacing).unwrap();
        let by_spacing = application_rate(part.flow, fill.row_spacing * spacing);
        near(by_spacing.inches_per_hour(), inches_per_hour, 0.05);
    }
    let main = plan
        .objects
        .pipes
        .values()
        .filter(|pipe| pipe.part == "pvc-sch40-1");
    let length: Length = main.map(|pipe| pipe.vertices.length()).sum();
    near(length.feet(), 80.0, 0.15);
    // "loss ≈ 0.1 psi" in the main: of no weight in any zone.
    for zone in analysis.zones.values() {
        for run in ["P1", "P2", "P3", "P11"].map(id) {
            if let Some(links) = zone.built.pipes.get(&run) {
                let loss = zone.loss(links, SupplyCase::Low).feet() / 2.31;
                assert!(loss.abs() < 0.2, "{run}: {loss} psi");
            }
        }
    }
}

/// One seeded violation: number, severity, check, subjects.
const SEEDED: [(&str, Severity, &str, &str); 15] = [
    (
        "V1",
        Severity::Stop,
        "contact.not_allowed.us-tx.TX-05",
        "B2 Z3",
    ),
    ("V2", Severity::Stop, "hydraulics.demand", "S1 Z1"),
    ("V3", Severity::Fix, "hydraulics.velocity", "P3 Z1"),
    (
        "V4",
        Severity::Fix,
        "hydraulics.low_pressure",
        "E1 E2 E3 E4 E5 E6 E7 E8 Z1",
    ),
    ("V5", Severity::Stop, "hydraulics.line_too_long", "L1 Z2"),
    ("V6", Severity::Fix, "drawing.mixed_zone", "E9 E10 L2 Z3"),
    ("V7", Severity::Stop, "setback.us-tx.B32", "E7"),
    ("V8", Severity::Stop, "setback.us-tx.B30", "P2 P20"),
    ("V9", Severity::Fix, "crossing.unmarked", "P2 P20"),
    ("V10", Severity::Stop, "outlet", "O1"),
    ("V11", Severity::Fix, "signs", "G1 M1 O1"),
    ("V12", Severity::Stop, "backflow.us-tx.TX-BF", "S2"),
    ("V13", Severity::Fix, "drawing.no_filter", "Z2 Z3"),
    ("V14", Severity::Check, "agronomy.intake", "B2 B5 B6"),
    ("V15", Severity::Check, "agronomy.salt", "B3 W1"),
];

#[test]
fn cedarbrake_hollow_shows_its_fifteen_seeded_violations_and_no_others() {
    let (_, analysis) = analysed(CEDARBRAKE);
    for severity in [Severity::Stop, Severity::Fix, Severity::Check] {
        let mut expected: Vec<(&str, String)> = SEEDED
            .iter()
            .filter(|seeded| seeded.1 == severity)
            .map(|(_, _, check, subjects)| (*check, (*subjects).to_owned()))
            .collect();
        expected.sort();
        assert_eq!(told(&analysis, severity), expected, "{severity:?}");
    }
    let count = |severity| analysis.count(severity);
    assert_eq!(
        [Severity::Stop, Severity::Fix, Severity::Check].map(count),
        [7, 6, 2]
    );
    let notes = told(&analysis, Severity::Note);
    assert_eq!(notes.len(), 4, "{notes:?}");
    assert!(
        notes[0].0.starts_with("contact.conditions")
            && notes[1].0.starts_with("contact.conditions")
    );
    // The lawn is as dry as its seeded heads make it: told as a note, so that the fifteen stay fifteen.
    assert_eq!(notes[2].0, "coverage.uneven");
    assert_eq!(notes[3], ("drawing.flush", "Z2 Z3".to_owned()));
}

/// What is measured, against the estimate of the text where it gives one. Estimates were made by another law and partly
/// at rated instead of solved flow, hence 15 %; where the text has a tolerance of its own, that one counts.
#[test]
fn cedarbrake_hollow_measures_what_its_text_estimates() {
    const ESTIMATE: f64 = 0.15;
    let (plan, analysis) = analysed(CEDARBRAKE);
    let finding = |number: &str| {
        let (_, _, check, _) = SEEDED.iter().find(|seeded| seeded.0 == number).unwrap();
        analysis
            .findings
            .iter()
            .find(|finding| finding.check == *check)
            .unwrap()
    };
    let measured = |number: &str| finding(number).measured.clone().unwrap();
    let limit = |number: &str| finding(number).limit.clone().unwrap();
    let sentence = |number: &str| finding(number).message.sentence(UnitSystem::Us);

    let Value::Area(overlap) = measured("V1") else {
        panic!("V1")
    };
    assert!((overlap.square_feet() - 31.0).abs() <= 2.0, "{overlap:?}");

    let (Value::Flow(asked), Value::Flow(may)) = (measured("V2"), limit("V2")) else {
        panic!("V2")
    };
    near(asked.gallons_per_minute(), 15.2, 1e-3);
    near(may.gallons_per_minute(), 10.0, 1e-3);

    let (Value::Velocity(fast), Value::Velocity(most)) = (measured("V3"), limit("V3")) else {
        panic!("V3")
    };
    near(fast.metres_per_second() / 0.3048, 9.1, ESTIMATE);
    near(most.metres_per_second() / 0.3048, 5.0, 1e-9);

    // V4: the loss of the 70 ft of ¾" at full flow, by the law of the program; the head gets less than it needs.
    let run = &plan.objects.pipes[&id("P3")];
    let part = plan.catalog.pipe(&run.part).unwrap();
    near(run.vertices.length().feet(), 70.0, 0.02);
    near(part.bore().inches(), 0.824, 1e-3);
    let pipe = Pipe::plain(Length::from_feet(70.0), part.bore(), part.roughness);
    let water = from_plan::water_of_plan(&plan);
    let friction = PipeFriction::new(&pipe, water, FrictionLaw::Fitted).unwrap();
    let lost = friction.at(Flow::from_gallons_per_minute(15.2)).loss;
    near(water.pressure_of(lost).psi(), 11.7, ESTIMATE);
    let (Value::Pressure(got), Value::Pressure(needed)) = (measured("V4"), limit("V4")) else {
        panic!("V4")
    };
    near(needed.psi(), 20.0, 1e-4);
    assert!(got < needed, "{got:?} {needed:?}");
    assert!(
        sentence("V4").contains("Most is lost in P3"),
        "{}",
        sentence("V4")
    );

    let (Value::Pressure(lost), Value::Pressure(available)) = (measured("V5"), limit("V5")) else {
        panic!("V5")
    };
    near(lost.psi(), 29.0, ESTIMATE);
    near(available.psi(), 25.0, 0.01);
    let line = &plan.objects.lines[&id("L1")];
    near(line.vertices.length().feet(), 340.0, 0.01);
    assert_eq!(analysis.zones[&id("Z2")].built.emitters.len(), 340);

    assert!(
        sentence("V6").contains("E9 and E10") && sentence("V6").contains("L2"),
        "{}",
        sentence("V6")
    );

    let (Value::Length(over) | Value::Distance(over)) = measured("V7") else {
        panic!("V7")
    };
    near(over.feet(), 10.0, ESTIMATE);

    let metres = |value: Value| Length::from_metres(value.number().unwrap().0);
    let (nearest, least) = (metres(measured("V8")), metres(limit("V8")));
    near(nearest.feet(), 4.17, ESTIMATE);
    near(least.feet(), 9.0, 1e-9);
    let run = finding("V8")
        .message
        .values
        .iter()
        .find_map(|(_, value)| match value {
            Value::Length(length) if *length > least => Some(*length),
            _ => None,
        });
    assert!(run.unwrap().feet() >= 18.0, "{run:?}");

    // V10: what is wrong with the outlet is in the sentence; V11: both signs and the missing language.
    for word in ["locked", "hose", "labelled"] {
        assert!(sentence("V10").contains(word), "{}", sentence("V10"));
    }
    for word in ["none at M1", "G1 lacks Spanish"] {
        assert!(sentence("V11").contains(word), "{}", sentence("V11"));
    }

    let (Value::Rate(rate), Value::Rate(intake)) = (measured("V14"), limit("V14")) else {
        panic!("V14")
    };
    near(rate.millimetres_per_hour() / 25.4, 1.6, ESTIMATE);
    near(intake.millimetres_per_hour() / 25.4, 0.20, 1e-9);

    let Value::Salinity(salinity) = measured("V15") else {
        panic!("V15")
    };
    near(salinity.decisiemens_per_metre(), 1.9, 1e-9);
    assert!(
        sentence("V15").starts_with("Sensitive to salt: bush (snap) bean and strawberry."),
        "{}",
        sentence("V15")
    );
}

/// One crossing: it is told once as unmarked and is not counted among the parallel stretches as well.
#[test]
fn the_crossing_of_cedarbrake_hollow_is_told_once() {
    let (plan, _) = analysed(CEDARBRAKE);
    let pipe = |name: &str| &plan.objects.pipes[&id(name)].vertices;
    assert_eq!(pipe("P2").crossings(pipe("P20")).len(), 1);
    // Without the parallel stretch, the crossing alone is no violation of the distance.
    let mut moved = sample(CEDARBRAKE).design;
    let run = std::sync::Arc::make_mut(moved.objects.pipes.get_mut(&id("P20")).unwrap());
    // A drinking-water run from the east, at right angles to the main.
    let south = run.vertices.0.last().copied().unwrap();
    let far = aubergine_core::geometry::PlanPoint::new(south.x, south.y + 12.0);
    run.vertices.0 = vec![far, south];
    let analysis = Analyzer::default().update(&moved);
    let of = |check: &str| {
        analysis
            .findings
            .iter()
            .filter(|finding| finding.check == check)
            .count()
    };
    assert_eq!(of("crossing.unmarked"), 1);
    assert_eq!(
        of("setback.us-tx.B30"),
        0,
        "{:?}",
        told(&analysis, Severity::Stop)
    );
}

/// Where the book for the place asks for no signs, that the default would is said and not left out.
#[test]
fn a_sign_that_is_no_longer_asked_for_leaves_a_word() {
    let mut plan = sample(LARKMEAD).design;
    assert_eq!(plan.rules.in_force, ["us-ca"]);
    plan.objects.signs = Default::default();
    let told = |plan: &Plan| -> Vec<(String, Severity)> {
        let found = Analyzer::default().update(plan).findings;
        let signs = found.iter().filter(|one| one.check.starts_with("signs"));
        signs.map(|one| (one.check.clone(), one.severity)).collect()
    };
    assert_eq!(
        told(&plan),
        [("signs.not_asked".to_owned(), Severity::Note)]
    );
    plan.rules.in_force.clear();
    assert_eq!(told(&plan), [("signs".to_owned(), Severity::Fix)]);
    // A further book takes nothing away from the default while that is in force itself.
    plan.rules.in_force = vec!["generic".to_owned(), "us-ca".to_owned()];
    assert_eq!(told(&plan), [("signs".to_owned(), Severity::Fix)]);
}
