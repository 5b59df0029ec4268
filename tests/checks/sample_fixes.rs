//! What is offered against the findings of the samples does what it says, and only what a fix may do.

use std::collections::BTreeSet;

use acceptance::{CEDARBRAKE, LARKMEAD, SAMPLES, sample};
use aubergine_core::analysis::{Analysis, Analyzer, Fix, Progress, fixes};
use aubergine_core::edit;
use aubergine_core::finding::{Finding, Severity, Value};
use aubergine_core::ids::Kind;
use aubergine_core::model::{DeviceKind, Document, Plan, Planting, WaterKind, integrity};
use aubergine_core::units::{Flow, Length, UnitSystem};

/// Every fix with its finding, and the plan after it.
fn all_fixes(document: &Document) -> (Analysis, Vec<(Finding, Fix, Plan)>) {
    let mut analyzer = Analyzer::default();
    let now = analyzer.update(&document.design);
    let mut found = Vec::new();
    for finding in &now.findings {
        for fix in fixes(document, &mut analyzer, &now, finding) {
            let mut next_id = document.next_id.clone();
            let (plan, _) =
                edit::apply(&document.design, &mut next_id, &fix.edit).expect("it can be done");
            found.push((finding.clone(), fix, plan));
        }
    }
    (now, found)
}

fn stops(analysis: &Analysis) -> impl Iterator<Item = &Finding> {
    analysis
        .findings
        .iter()
        .filter(|finding| finding.severity == Severity::Stop)
}

#[test]
fn every_fix_gives_exactly_what_was_predicted_and_no_new_stop() {
    for name in SAMPLES {
        let document = sample(name);
        let (now, found) = all_fixes(&document);
        for (finding, fix, plan) in &found {
            let what = format!(
                "{name} {}: {}",
                finding.check,
                fix.message.sentence(UnitSystem::Us)
            );
            // Worked out from nothing, so that no kept answer of the preview plays a part.
            let then = Analyzer::default().update(plan);
            match &fix.progress {
                Progress::Gone => {
                    let same = then.findings.iter().find(|other| {
                        other.check == finding.check
                            && other
                                .subjects
                                .iter()
                                .all(|id| finding.subjects.contains(id))
                    });
                    assert!(same.is_none(), "{what}: still {same:?}");
                }
                Progress::Better(predicted) => {
                    assert!(then.findings.contains(predicted), "{what}: {predicted:?}");
                    let milder = predicted.severity > finding.severity;
                    let fewer = predicted.subjects.len() < finding.subjects.len();
                    let excess = |finding: &Finding| {
                        let (measured, limit) = (
                            finding.measured.as_ref()?.number()?,
                            finding.limit.as_ref()?.number()?,
                        );
                        Some((measured.0 - limit.0).abs())
                    };
                    let nearer = excess(finding)
                        .zip(excess(predicted))
                        .is_some_and(|(now, then)| then < now);
                    assert!(milder || fewer || nearer, "{what} is no better");
                }
                Progress::NoBetter => panic!("{what} is offered and does not help"),
            }
            let before: BTreeSet<(&str, Vec<_>)> = stops(&now)
                .map(|stop| (stop.check.as_str(), kept(stop, &document.design)))
                .collect();
            for stop in stops(&then) {
                assert!(
                    before.contains(&(stop.check.as_str(), kept(stop, &document.design)))
                        || before.iter().any(|(check, subjects)| *check == stop.check
                            && kept(stop, &document.design)
                                .iter()
                                .all(|id| subjects.contains(id))),
                    "{what}: new stop {stop:?}"
                );
            }
            assert!(
                then.count(Severity::Stop) <= now.count(Severity::Stop),
                "{what}"
            );
            assert_eq!(integrity::violations(&plan.objects), vec![], "{what}");
            // Whatever is told more than before is told with the fix.
            let without_notes = |analysis: &Analysis| {
                let all = analysis.findings.iter();
                all.filter(|one| one.severity != Severity::Note).count()
            };
            let told = fix.halves.len() + fix.brings.len();
            assert!(without_notes(&then) <= without_notes(&now) + told, "{what}");
            for brought in fix.halves.iter().chain(&fix.brings) {
                assert!(then.findings.contains(brought), "{what}: {brought:?}");
            }
        }
    }
}

#[test]
fn a_fix_names_the_pipes_it_changes_and_tells_what_it_brings() {
    let (_, found) = all_fixes(&sample(CEDARBRAKE));
    let of = |key: &str| {
        let all = found.iter().map(|(_, fix, _)| fix);
        all.filter(|fix| fix.message.key == key).collect::<Vec<_>>()
    };
    let larger: Vec<String> = of("fix.larger_pipes")
        .iter()
        .map(|fix| fix.message.sentence(UnitSystem::Us))
        .collect();
    assert_eq!(
        larger,
        [
            "Use larger pipe: PVC Sch 40 1 in in place of PVC Sch 40 3/4 in for P3",
            "Use larger pipe: PVC Sch 40 1 1/4 in in place of PVC Sch 40 3/4 in for P3",
        ]
    );
    // The assembly cuts the drinking-water line, and each half lies too near the reclaimed main.
    let protects = of("fix.protect_service");
    let halves: Vec<&str> = protects[0]
        .halves
        .iter()
        .map(|half| half.check.as_str())
        .collect();
    assert!(
        halves.len() == 1 && halves[0].starts_with("setback."),
        "{halves:?}"
    );
    assert_eq!(protects[0].brings, vec![]);
    let valve = of("fix.second_valve");
    assert_eq!(valve[0].brings[0].check, "hydraulics.velocity");
}

/// Subjects of a finding that were there before: a device put into a run gives its rear half a new name.
fn kept(finding: &Finding, before: &Plan) -> Vec<aubergine_core::ids::Id> {
    finding
        .subjects
        .iter()
        .copied()
        .filter(|id| before.objects.contains(*id))
        .collect()
}

#[test]
fn no_fix_changes_a_fact_or_feeds_drinking_water_into_the_system() {
    let plantings = |plan: &Plan| -> Vec<(String, Vec<Planting>)> {
        let objects = &plan.objects;
        let beds = objects
            .beds
            .iter()
            .map(|(id, bed)| (id.to_string(), bed.plantings.clone()));
        let trees = objects
            .trees
            .iter()
            .map(|(id, tree)| (id.to_string(), tree.planting.iter().cloned().collect()));
        beds.chain(trees).collect()
    };
    let potable_length = |plan: &Plan| -> f64 {
        let is_potable = |water| plan.objects.waters[water].kind == WaterKind::Potable;
        let runs = plan
            .objects
            .pipes
            .values()
            .filter(|pipe| is_potable(&pipe.water));
        runs.map(|pipe| pipe.vertices.length())
            .sum::<Length>()
            .metres()
    };
    let mut num_fixes = 0;
    for name in SAMPLES {
        let document = sample(name);
        let before = &document.design;
        for (finding, fix, after) in all_fixes(&document).1 {
            num_fixes += 1;
            let sentence = fix.message.sentence(UnitSystem::Us);
            let what = format!("{name} {}: {sentence}", finding.check);
            // Facts of the place, the water, the rules and the kitchen.
            assert!(
                after.site == before.site && after.rules == before.rules,
                "{what}"
            );
            assert!(after.objects.waters == before.objects.waters, "{what}");
            assert!(after.objects.supplies == before.objects.supplies, "{what}");
            assert!(
                after.objects.marks == before.objects.marks,
                "{what}: wells and entries"
            );
            assert!(after.objects.features == before.objects.features, "{what}");
            assert!(after.objects.heights == before.objects.heights, "{what}");
            assert_eq!(plantings(&after), plantings(before), "{what}");
            for (id, bed) in &before.objects.beds {
                let then = &after.objects.beds[id];
                assert!(
                    then.at == bed.at && then.outline == bed.outline && then.use_ == bed.use_,
                    "{what}"
                );
            }
            // Drinking water: nothing but a backflow assembly in its run, which stays as long as it was.
            assert!(
                (potable_length(&after) - potable_length(before)).abs() < 1e-9,
                "{what}"
            );
            for id in after.objects.differences(&before.objects) {
                let water = integrity::water_of(&after.objects, id)
                    .or_else(|| integrity::water_of(&before.objects, id));
                if water
                    .is_some_and(|water| before.objects.waters[&water].kind == WaterKind::Potable)
                {
                    let device = after.objects.devices.get(&id).map(|device| device.kind);
                    let is_backflow = matches!(
                        device,
                        Some(DeviceKind::BackflowReducedPressure | DeviceKind::AirGap)
                    );
                    assert!(is_backflow || id.kind == Kind::Pipe, "{what}: {id}");
                }
            }
            let text = sentence.to_lowercase();
            assert!(
                !["pump", "booster", "top up", "drinking water"]
                    .iter()
                    .any(|word| text.contains(word)),
                "{what}"
            );
            assert!(!sentence.contains('{') && !sentence.is_empty(), "{what}");
        }
    }
    assert!(num_fixes >= 10, "{num_fixes}");
}

/// Which findings of Cedarbrake have something that helps: whoever loses one notices.
#[test]
fn the_findings_of_the_samples_have_the_fixes_they_had() {
    assert!(all_fixes(&sample(LARKMEAD)).1.is_empty());
    let (_, found) = all_fixes(&sample(CEDARBRAKE));
    let checks: BTreeSet<&str> = found
        .iter()
        .map(|(finding, ..)| finding.check.as_str())
        .collect();
    let expected = BTreeSet::from([
        "backflow.us-tx.TX-BF",
        "contact.not_allowed.us-tx.TX-05",
        "hydraulics.demand",
        "hydraulics.line_too_long",
        "outlet",
        "setback.us-tx.B32",
        "crossing.unmarked",
        "drawing.mixed_zone",
        "drawing.no_filter",
        "hydraulics.low_pressure",
        "hydraulics.velocity",
        "signs",
    ]);
    assert_eq!(checks, expected);
}

/// What is offered against the zones of a plan that ask for more than their supply may give, with the plan after it.
fn offered_for_demand(document: &Document) -> Vec<(Fix, Plan)> {
    let (_, found) = all_fixes(document);
    let of = found.into_iter();
    of.filter(|(finding, ..)| finding.check == "hydraulics.demand")
        .map(|(_, fix, plan)| (fix, plan))
        .collect()
}

/// The flow that a fix tells under a name, and what a zone asks for after it: the same.
#[track_caller]
fn asks(fix: &Fix, name: &str, plan: &Plan, zone: &str) -> Flow {
    let mut values = fix.message.values.iter();
    let told = values.find_map(|(key, value)| match value {
        Value::Flow(flow) if *key == name => Some(*flow),
        _ => None,
    });
    let then = Analyzer::default().update(plan);
    let asked = then.zones[&zone.parse().unwrap()].rated_flow(plan);
    assert!(
        (told.unwrap() / asked - 1.0).abs() < 1e-9,
        "{told:?} {asked:?}"
    );
    let unlike = then
        .findings
        .iter()
        .find(|finding| finding.check == "drawing.unlike_ends");
    assert_eq!(unlike, None);
    asked
}

/// Too many heads on one valve: a second valve on the main takes four of the eight.
#[test]
fn a_zone_above_its_supply_gets_a_second_valve_for_half_of_it() {
    let document = sample(CEDARBRAKE);
    let before = Analyzer::default().update(&document.design);
    let offered = offered_for_demand(&document);
    // Heads of less flow would throw farther: a new Stop, so they are not offered here.
    let [(fix, plan)] = &offered[..] else {
        panic!("{offered:?}")
    };
    assert_eq!(fix.message.key, "fix.second_valve");
    assert_eq!(fix.progress, Progress::Gone);
    let (moved, rest) = (asks(fix, "flow", plan, "Z4"), asks(fix, "rest", plan, "Z1"));
    let all = before.zones[&"Z1".parse().unwrap()].rated_flow(&document.design);
    assert!((moved / all - 0.5).abs() < 1e-9 && (rest / all - 0.5).abs() < 1e-9);
    let then = Analyzer::default().update(plan);
    assert_eq!(then.zones.len(), before.zones.len() + 1);
}

/// Beds in a row on one lateral are cut in two; where even half is too much, as many go over as the supply can give.
#[test]
fn beds_go_over_to_the_second_valve_as_far_as_the_supply_allows() {
    for (limit_gpm, moved_beds, is_gone) in [(0.8, 2.0, true), (0.3, 1.0, false)] {
        let mut document = sample(LARKMEAD);
        let objects = &mut document.design.objects;
        let supply = objects.supplies.get_mut(&"S1".parse().unwrap()).unwrap();
        let limit = Flow::from_gallons_per_minute(limit_gpm);
        std::sync::Arc::make_mut(supply).limit = Some(limit);
        let offered = offered_for_demand(&document);
        // Of the zones that ask for more, Z1 has the four beds.
        let (fix, plan) = offered
            .iter()
            .find(|(fix, _)| fix.message.sentence(UnitSystem::Us).contains("left for Z1"))
            .unwrap();
        assert_eq!(fix.progress == Progress::Gone, is_gone);
        let moved = asks(fix, "flow", plan, "Z4");
        let rest = asks(fix, "rest", plan, "Z1");
        let all = moved + rest;
        assert!(
            (moved / all - moved_beds / 4.0).abs() < 1e-9,
            "{moved:?} {rest:?}"
        );
        assert!(moved <= limit);
    }
}

/// A lawn of emitter lines cannot be cut; lines of the next smaller flow help.
#[test]
fn emitters_of_less_flow_bring_a_zone_under_its_limit() {
    let mut document = sample(LARKMEAD);
    let objects = &mut document.design.objects;
    let supply = objects.supplies.get_mut(&"S1".parse().unwrap()).unwrap();
    std::sync::Arc::make_mut(supply).limit = Some(Flow::from_gallons_per_minute(2.5));
    let lawn = objects.beds.get_mut(&"B6".parse().unwrap()).unwrap();
    let fill = std::sync::Arc::make_mut(lawn).fill.as_mut().unwrap();
    "line-17-pc-0.90-12".clone_into(&mut fill.line);
    let offered = offered_for_demand(&document);
    let [(fix, plan)] = &offered[..] else {
        panic!("{offered:?}")
    };
    assert_eq!(fix.message.key, "fix.less_flow");
    assert_eq!(fix.progress, Progress::Gone);
    // 238 emitters of 0.60 gph.
    let asked = asks(fix, "flow", plan, "Z3").gallons_per_minute();
    assert!((asked - 238.0 * 0.6 / 60.0).abs() < 1e-3, "{asked}");
}
