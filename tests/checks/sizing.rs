//! Pipe sizes at least cost: nothing cheaper keeps the limits, and what is predicted is what comes about.

use std::sync::Arc;

use acceptance::{CEDARBRAKE, LARKMEAD, SAMPLES, run, sample, sample_path};
use aubergine_core::analysis::sizing::{
    Bound, FASTEST, MOST_VARIATION, NO_MATTER, NoSizes, Sizing, size,
};
use aubergine_core::analysis::{Analysis, Analyzer, readings};
use aubergine_core::catalog::EmissionPartKind;
use aubergine_core::edit::{self, History};
use aubergine_core::file;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::Id;
use aubergine_core::model::{Document, Object, Pipe, Plan, State, Supply};
use aubergine_core::units::Pressure;

fn sized(document: &Document, zone: Option<Id>) -> Result<Sizing, NoSizes> {
    let mut analyzer = Analyzer::default();
    let now = analyzer.update(&document.design);
    size(document, &mut analyzer, &now, zone)
}

fn zones(document: &Document) -> Vec<Option<Id>> {
    let zones = document.design.objects.zones.keys();
    zones.map(|id| Some(*id)).chain([None]).collect()
}

#[test]
fn the_numbers_foretold_are_those_after_applying_and_undo_brings_every_byte_back() {
    let mut num_changed = 0;
    for name in SAMPLES {
        let document = sample(name);
        for zone in zones(&document) {
            let Ok(sizing) = sized(&document, zone) else {
                continue;
            };
            let Some(edit) = &sizing.edit else { continue };
            num_changed += 1;
            assert!(sizing.cost_after < sizing.cost_before, "{name} {zone:?}");
            let mut history = History::new(document.clone());
            history.apply("sizes", edit).unwrap();
            // Worked out from nothing, so that no kept answer plays a part.
            let then = Analyzer::default().update(&history.document().design);
            assert_eq!(then.findings, sizing.then.findings, "{name} {zone:?}");
            for (id, zone) in &then.zones {
                assert_eq!(
                    zone.solutions, sizing.then.zones[id].solutions,
                    "{name} {id}"
                );
            }
            for run in &sizing.runs {
                assert_eq!(
                    history.document().design.objects.pipes[&run.id].part,
                    run.new
                );
            }
            history.undo();
            assert_eq!(
                file::save(history.document()),
                file::save(&document),
                "{name}"
            );
        }
    }
    assert!(num_changed >= 3, "{num_changed}");
}

/// Whether a plan keeps every limit for a zone, judged apart from the program's own proof.
fn keeps_limits(plan: &Plan, now: &Analysis, then: &Analysis, zone: Id) -> bool {
    let of = &then.zones[&zone];
    let slow = SupplyCase::ALL.iter().all(|case| {
        let mut behind = of
            .built
            .pipes
            .iter()
            .filter(|(id, _)| of.members.contains(id));
        behind.all(|(_, links)| of.fastest(links, *case).1 <= FASTEST)
    });
    let fed = SupplyCase::ALL.iter().all(|case| {
        of.emitters(*case).all(|emitter| {
            emitter.pressure >= plan.catalog.emission(&emitter.point.part).unwrap().minimum
        })
    });
    let variation = |analysis: &Analysis| {
        let even = readings(plan, analysis, zone).unwrap().even;
        even[0].as_ref().unwrap().hydraulic.flow_variation
    };
    let stops = |analysis: &Analysis| -> Vec<String> {
        let stops = analysis
            .findings
            .iter()
            .filter(|finding| finding.severity == aubergine_core::finding::Severity::Stop);
        stops.map(aubergine_core::finding::Finding::id).collect()
    };
    let known = stops(now);
    slow && fed
        && then.parts.mismatches.len() <= now.parts.mismatches.len()
        && variation(then) <= MOST_VARIATION.max(variation(now) + NO_MATTER)
        && stops(then).iter().all(|stop| known.contains(stop))
}

/// The least cost of all combinations of the sizes up to 1-1/4 in, each worked out in full.
fn cheapest_of_all(document: &Document, zone: Id, runs: &[Id]) -> Option<f64> {
    const SIZES: [&str; 4] = ["1/2", "3/4", "1", "1-1/4"];
    let mut analyzer = Analyzer::default();
    let now = analyzer.update(&document.design);
    let mut best: Option<f64> = None;
    for combination in 0..SIZES.len().pow(u32::try_from(runs.len()).unwrap()) {
        let mut plan = document.design.clone();
        let (mut rest, mut cost) = (combination, 0.0);
        for id in runs {
            let key = format!("pvc-sch40-{}", SIZES[rest % SIZES.len()]);
            rest /= SIZES.len();
            let pipe = &document.design.objects.pipes[id];
            cost += plan.catalog.pipe_price(&key).unwrap() * pipe.vertices.length().metres();
            let changed = Pipe {
                part: key,
                ..(**pipe).clone()
            };
            plan.objects.put(*id, Object::Pipe(Arc::new(changed)));
        }
        if best.is_some_and(|best| cost >= best) {
            continue;
        }
        let then = analyzer.update(&plan);
        if keeps_limits(&plan, &now, &then, zone) {
            best = Some(cost);
        }
    }
    best
}

/// The sample with a supply of another pressure at its lowest, and sprays that take a multiple, so that sizes matter.
fn with_low(document: &Document, psi: f64, thirsty: f64) -> Document {
    let mut changed = document.clone();
    for row in changed.design.catalog.emissions.values_mut() {
        if row.kind != EmissionPartKind::EmitterLine {
            let flow = row.flow * thirsty;
            Arc::make_mut(row).flow = flow;
        }
    }
    let ids: Vec<Id> = changed.design.objects.supplies.keys().copied().collect();
    for id in ids {
        let supply = Supply {
            low: Some(Pressure::from_psi(psi)),
            ..(*changed.design.objects.supplies[&id]).clone()
        };
        changed
            .design
            .objects
            .put(id, Object::Supply(Arc::new(supply)));
    }
    changed
}

#[test]
fn no_combination_of_sizes_that_keeps_the_limits_costs_less() {
    let zone: Id = "Z3".parse().unwrap();
    let (mut num_sized, mut num_refused, mut costs) = (0, 0, Vec::new());
    let thirsts = (0..12).map(|step| 3.0 + 0.5 * f64::from(step));
    for (psi, thirsty) in thirsts.flat_map(|thirst| [(38.0, thirst), (70.0, thirst)]) {
        let document = with_low(&sample(CEDARBRAKE), psi, thirsty);
        let found = sized(&document, Some(zone));
        let runs: Vec<Id> = ["P7", "P8", "P9"].map(|id| id.parse().unwrap()).to_vec();
        match (&found, cheapest_of_all(&document, zone, &runs)) {
            (Ok(sizing), Some(best)) => {
                let told: Vec<Id> = sizing.runs.iter().map(|run| run.id).collect();
                assert_eq!(told, runs);
                assert!(
                    (sizing.cost_after - best).abs() < 1e-9,
                    "{psi} {thirsty}: {:?} {best}",
                    sizing.runs
                );
                let sum: f64 = sizing.runs.iter().map(|run| run.cost_after).sum();
                assert!((sum - best).abs() < 1e-9);
                costs.push(sizing.cost_after);
                num_sized += 1;
            }
            (Err(_), None) => num_refused += 1,
            (found, best) => panic!(
                "{psi} {thirsty}: {:?}, tried out {best:?}",
                found.as_ref().err()
            ),
        }
    }
    costs.sort_by(f64::total_cmp);
    costs.dedup();
    println!("{num_sized} sized, {num_refused} refused, {costs:?}");
    assert!(
        num_sized >= 3 && num_refused >= 1 && costs.len() >= 2,
        "{costs:?}"
    );
}

#[test]
fn what_is_there_already_keeps_its_size() {
    let mut document = sample(LARKMEAD);
    let id: Id = "P2".parse().unwrap();
    let mut pipe = (*document.design.objects.pipes[&id]).clone();
    pipe.meta.state = State::Existing;
    document
        .design
        .objects
        .put(id, Object::Pipe(Arc::new(pipe)));
    let sizing = sized(&document, None).unwrap();
    assert!(sizing.runs.iter().all(|run| run.id != id));
}

#[test]
fn the_price_of_the_plans_own_rows_decides() {
    let mut document = sample(LARKMEAD);
    let key = "pvc-sch40-1/2";
    let mut row = document.design.catalog.pipe(key).unwrap().clone();
    row.price = Some(1000.0);
    document
        .design
        .catalog
        .pipes
        .insert(key.to_owned(), Arc::new(row));
    let sizing = sized(&document, None).unwrap();
    assert!(sizing.runs.iter().all(|run| run.new != key));
}

#[test]
fn a_change_that_breaks_nothing_tells_what_binds() {
    let sizing = sized(&sample(LARKMEAD), None).unwrap();
    let worst = sizing.bounds.iter().find_map(|bound| match bound {
        Bound::Pressure {
            pressure, least, ..
        } => Some((*pressure, *least)),
        Bound::Velocity { .. } => None,
    });
    let (pressure, least) = worst.unwrap();
    let lowest = sizing
        .then
        .zones
        .values()
        .flat_map(|zone| zone.emitters(SupplyCase::Low));
    let lowest = lowest
        .map(|emitter| emitter.pressure)
        .reduce(Pressure::min)
        .unwrap();
    assert_eq!((pressure, least < pressure), (lowest, true));
}

#[test]
fn the_command_line_sizes_writes_and_refuses() {
    let folder = std::env::temp_dir().join(format!("aubergine-size-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let to = folder.join("sized.json");
    let (clean, faulty) = (sample_path(LARKMEAD), sample_path(CEDARBRAKE));
    let written = run([
        "size".as_ref(),
        clean.as_os_str(),
        "-o".as_ref(),
        to.as_os_str(),
    ]);
    assert_eq!(written.code, 0, "{}", written.text());
    assert!(
        written.text().contains("Relative cost"),
        "{}",
        written.text()
    );
    let document = file::load(&std::fs::read(&to).unwrap()).unwrap();
    let expected = sized(&sample(LARKMEAD), None).unwrap();
    let mut next_id = sample(LARKMEAD).next_id;
    let design = sample(LARKMEAD).design;
    let (plan, _) = edit::apply(&design, &mut next_id, expected.edit.as_ref().unwrap()).unwrap();
    assert_eq!(document.design.objects, plan.objects);
    std::fs::remove_dir_all(folder).unwrap();

    let json = run(["size".as_ref(), clean.as_os_str(), "--json".as_ref()]);
    let value: serde_json::Value = serde_json::from_str(&json.text()).unwrap();
    let cost = value["cost_after"].as_f64().unwrap();
    assert!((cost - expected.cost_after).abs() < 1e-9);

    let none = run(["size".as_ref(), faulty.as_os_str()]);
    assert_eq!(none.code, 1, "{}", none.text());
    let unknown = run([
        "size".as_ref(),
        clean.as_os_str(),
        "--zone".as_ref(),
        "Z99".as_ref(),
    ]);
    assert_eq!(unknown.code, 2);
}
