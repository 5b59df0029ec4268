//! What a designer reads off a zone and is told about its chain, on plans made from the samples: shares that sum, read-offs
//! against their own definitions, each finding with a fix whose numbers are those after applying it.

use std::sync::Arc;

use acceptance::{CEDARBRAKE, LARKMEAD, sample};
use aubergine_core::analysis::readings::{Eater, RegulatorState};
use aubergine_core::analysis::{Analysis, Analyzer, Fix, Progress, fixes, readings};
use aubergine_core::catalog::{Catalog, DevicePart, EmissionLaw, FlowPoint, LossPoint};
use aubergine_core::edit;
use aubergine_core::finding::Severity;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::Id;
use aubergine_core::model::{Device, DeviceKind, Document, Placement, PortRef};
use aubergine_core::units::{Flow, Length, Pressure, Temperature};

fn id(text: &str) -> Id {
    text.parse().unwrap()
}

fn analysed(document: &Document) -> Analysis {
    Analyzer::default().update(&document.design)
}

fn device(document: &mut Document, name: &str, change: impl FnOnce(&mut Device)) {
    let table = &mut document.design.objects.devices;
    change(Arc::make_mut(table.get_mut(&id(name)).expect("a device")));
}

/// The finding of a check, and what helps against it; each fix is applied and worked out anew from nothing.
#[track_caller]
fn told_with_fix(document: &Document, check: &str, severity: Severity) -> Vec<Fix> {
    let mut analyzer = Analyzer::default();
    let now = analyzer.update(&document.design);
    let finding = now
        .findings
        .iter()
        .find(|finding| finding.check == check)
        .unwrap_or_else(|| {
            let told: Vec<&str> = now.findings.iter().map(|f| f.check.as_str()).collect();
            panic!("{check} is not told: {told:?}")
        });
    assert_eq!(finding.severity, severity, "{check}");
    let found = fixes(document, &mut analyzer, &now, finding);
    assert!(!found.is_empty(), "nothing helps against {check}");
    for fix in &found {
        let mut next_id = document.next_id.clone();
        let (plan, _) = edit::apply(&document.design, &mut next_id, &fix.edit).expect("an edit");
        let then = Analyzer::default().update(&plan);
        match &fix.progress {
            Progress::Gone => assert!(then.finding(&finding.id()).is_none(), "{check}"),
            Progress::Better(predicted) => assert!(then.findings.contains(predicted), "{check}"),
            Progress::NoBetter => panic!("{check}: offered and no better"),
        }
        assert!(
            then.count(Severity::Stop) <= now.count(Severity::Stop),
            "{check}"
        );
    }
    found
}

#[test]
fn the_shares_of_the_pressure_sum_to_what_is_lost() {
    for name in [LARKMEAD, CEDARBRAKE] {
        let document = sample(name);
        let analysis = analysed(&document);
        for zone in analysis.zones.keys() {
            let read = readings(&document.design, &analysis, *zone).unwrap();
            let losses = read.shares.expect("a way");
            let sum: Pressure = losses.shares.iter().map(|share| share.lost).sum();
            let lost = losses.at_rest - losses.arrives;
            assert!((sum - lost).abs().kilopascals() < 1e-6, "{name} {zone}");
            assert!(
                losses
                    .shares
                    .iter()
                    .any(|share| matches!(share.eater, Eater::Supply(_)))
            );
            assert!(losses.shares.iter().all(|share| share.lost.is_finite()));
        }
    }
}

#[test]
fn what_is_read_off_agrees_with_its_definition() {
    let document = sample(LARKMEAD);
    let analysis = analysed(&document);
    let read = readings(&document.design, &analysis, id("Z2")).unwrap();
    // Compensating throughout: the flows are equal, what varies is manufacture alone.
    let even = read.even[0].as_ref().unwrap();
    assert!(even.hydraulic.flow_variation < 1e-9);
    assert!(
        (even.emission - (1.0 - 1.27 * 0.05)).abs() < 1e-6,
        "{}",
        even.emission
    );
    assert!((even.statistical - 0.95).abs() < 1e-6);
    for regulator in &read.regulators {
        assert_eq!(regulator.state, [RegulatorState::Holding; 3]);
        for outlet in regulator.outlet {
            assert!((outlet.psi() - 25.0).abs() < 1e-3);
        }
    }
    let flush = read.flush.expect("ends");
    assert!(flush.at_once >= 1 && flush.at_once <= flush.ends.len());
    assert!(flush.worst.velocity.feet_per_second() >= 1.0);
    for surge in &read.surges {
        let water = 998.2;
        let by_hand = water * surge.speed.metres_per_second() * surge.velocity.metres_per_second();
        assert!((surge.sudden.pascals() / by_hand - 1.0).abs() < 1e-4);
        assert!(surge.closing < surge.sudden);
    }
    assert!(!read.longest.is_empty() && !read.rates.is_empty());
}

/// The longest run by solving against the closed form, where that holds: turbulent flow in half-inch tubing.
#[test]
fn longest_runs_agree_with_the_closed_form() {
    let document = sample(CEDARBRAKE);
    let analysis = analysed(&document);
    let read = readings(&document.design, &analysis, id("Z2")).unwrap();
    let run = &read.longest[0];
    let closed = run.closed_form.expect("a power law");
    let share = run.num as f64 / closed;
    println!(
        "{} emitters solved, {closed:.1} by the closed form",
        run.num
    );
    assert!((share - 1.0).abs() < 0.05, "{} {closed}", run.num);
}

#[test]
fn filters_are_dirty_in_the_low_case_only() {
    let mut document = sample(LARKMEAD);
    let built_in = Catalog::built_in().devices["filter-120-3/4"].clone();
    assert!(built_in.dirt.is_some());
    document
        .design
        .catalog
        .devices
        .insert("filter-120-3/4".to_owned(), built_in);
    let analysis = analysed(&document);
    let zone = &analysis.zones[&id("Z3")];
    let link = zone.built.devices[&id("D4")];
    let loss = |case: SupplyCase| zone.solution(case).losses[link].metres();
    assert!(loss(SupplyCase::Low) > 5.0 * loss(SupplyCase::Normal));
    assert!((loss(SupplyCase::High) - loss(SupplyCase::Normal)).abs() < 1e-6);
}

#[test]
fn a_regulator_falls_off_with_its_flow() {
    let mut document = sample(LARKMEAD);
    let mut part = (*Catalog::built_in().devices["regulator-25-low-3/4"]).clone();
    part.fall_off = Some(100.0);
    let devices = &mut document.design.catalog.devices;
    devices.insert("regulator-25-low-3/4".to_owned(), Arc::new(part));
    let analysis = analysed(&document);
    let zone = &analysis.zones[&id("Z3")];
    let flow = zone.flow(SupplyCase::Normal).litres_per_second();
    let outlet = zone
        .pressure_at(&PortRef::new(id("D5"), "out"), SupplyCase::Normal)
        .unwrap();
    assert!(
        (outlet.kilopascals() - (172.3689 - 100.0 * flow)).abs() < 1e-3,
        "{outlet:?}"
    );
}

/// A valve and an emitter through points that lie on their own laws lose and give the same.
#[test]
fn curves_of_points_give_the_numbers_of_the_laws_they_lie_on() {
    let before = analysed(&sample(CEDARBRAKE));
    let mut document = sample(CEDARBRAKE);
    let catalog = &mut document.design.catalog;
    let mut valve = DevicePart::clone(&catalog.devices["zone-valve-3/4"]);
    valve.points = (0..24)
        .map(|i| {
            let lps = 0.03 * f64::from(i);
            LossPoint {
                flow: Flow::from_litres_per_second(lps),
                loss: Pressure::from_kilopascals(valve.loss * lps * lps),
                extra: Default::default(),
            }
        })
        .collect();
    catalog
        .devices
        .insert("zone-valve-3/4".to_owned(), Arc::new(valve));
    let mut line = (*catalog.emissions["line-0.52-0.90-12"]).clone();
    line.law = EmissionLaw::Points;
    line.points = (0..60)
        .map(|i| {
            let kpa = 4.0 * f64::from(i);
            FlowPoint {
                pressure: Pressure::from_kilopascals(kpa),
                flow: line.flow * (kpa / line.at.kilopascals()).sqrt(),
                extra: Default::default(),
            }
        })
        .collect();
    catalog
        .emissions
        .insert("line-0.52-0.90-12".to_owned(), Arc::new(line));
    let after = analysed(&document);
    for zone in ["Z2", "Z3"].map(id) {
        for case in SupplyCase::ALL {
            assert!(
                after.zones[&zone].solution(case).convergence.converged,
                "{zone} {case:?}"
            );
            let (a, b) = (
                before.zones[&zone].flow(case),
                after.zones[&zone].flow(case),
            );
            assert!((a / b - 1.0).abs() < 2e-3, "{zone} {a:?} {b:?}");
        }
    }
}

#[test]
fn a_curve_that_falls_is_refused_by_its_point() {
    let mut document = sample(LARKMEAD);
    let mut part = (*Catalog::built_in().devices["zone-valve-1"]).clone();
    part.points = [(0.1, 5.0), (0.3, 4.0)]
        .map(|(lps, kpa)| LossPoint {
            flow: Flow::from_litres_per_second(lps),
            loss: Pressure::from_kilopascals(kpa),
            extra: Default::default(),
        })
        .to_vec();
    let devices = &mut document.design.catalog.devices;
    devices.insert("zone-valve-1".to_owned(), Arc::new(part));
    let analysis = analysed(&document);
    let told: Vec<String> = analysis
        .findings
        .iter()
        .filter(|finding| finding.check == "drawing.bad_curve")
        .map(|finding| finding.message.sentence(Default::default()))
        .collect();
    assert_eq!(told.len(), 3, "{told:?}");
    assert!(told[0].contains("falls at point 2"), "{told:?}");
}

#[test]
fn a_regulator_before_the_filter_is_told_and_swapped() {
    let mut document = sample(LARKMEAD);
    let (filter, regulator) = {
        let devices = &document.design.objects.devices;
        (devices[&id("D4")].clone(), devices[&id("D5")].clone())
    };
    device(&mut document, "D4", |d| {
        (d.kind, d.part) = (regulator.kind, regulator.part.clone());
    });
    device(&mut document, "D5", |d| {
        (d.kind, d.part) = (filter.kind, filter.part.clone());
    });
    let found = told_with_fix(&document, "order.regulator_before_filter", Severity::Fix);
    assert_eq!(found[0].progress, Progress::Gone);
}

#[test]
fn a_valve_behind_an_atmospheric_breaker_is_told() {
    let mut document = sample(LARKMEAD);
    device(&mut document, "D2", |d| {
        d.kind = DeviceKind::BackflowAtmosphericVacuumBreaker;
        d.part = "backflow-avb-3/4".to_owned();
    });
    told_with_fix(&document, "order.shut_off_after_breaker", Severity::Stop);
}

#[test]
fn thin_tubing_before_a_regulator_is_told() {
    let mut document = sample(LARKMEAD);
    let pipe = document.design.objects.pipes.get_mut(&id("P3")).unwrap();
    Arc::make_mut(pipe).part = "tubing-0.600".to_owned();
    told_with_fix(&document, "order.tubing_before_regulator", Severity::Fix);
}

#[test]
fn buried_lines_with_a_high_point_want_air() {
    let mut document = sample(LARKMEAD);
    tilt(&mut document, 2.0);
    told_with_fix(&document, "order.no_air", Severity::Fix);
}

/// The ground of Larkmead, rising evenly to the north by so much over its depth.
fn tilt(document: &mut Document, rise_m: f64) {
    let heights = sample(CEDARBRAKE).design.objects.heights;
    for (name, height) in heights {
        let mut height = (*height).clone();
        height.level = Length::from_metres(if height.at.y > 1.0 { rise_m * 2.5 } else { 0.0 });
        document
            .design
            .objects
            .heights
            .insert(name, Arc::new(height));
    }
}

#[test]
fn lines_without_compensation_on_a_slope_are_told() {
    let mut document = sample(CEDARBRAKE);
    for height in document.design.objects.heights.values_mut() {
        let height = Arc::make_mut(height);
        height.level = height.level * 20.0;
    }
    told_with_fix(&document, "hydraulics.uneven_ground", Severity::Fix);
}

#[test]
fn an_end_that_runs_too_slowly_is_told() {
    let mut document = sample(CEDARBRAKE);
    // Without the drinking-water run that a straight feeder would come too near to.
    document.design.objects.pipes.remove(&id("P20"));
    document.design.objects.supplies.remove(&id("S2"));
    document.design.objects.outlets.remove(&id("O2"));
    // Half as long again: what flows in is gone before its end.
    let line = document.design.objects.lines.get_mut(&id("L1")).unwrap();
    let line = Arc::make_mut(line);
    for vertex in &mut line.vertices.0 {
        vertex.x = 2.7432 + (vertex.x - 2.7432) * 1.5;
        vertex.y = 20.1168 + (vertex.y - 20.1168) * 1.5;
    }
    told_with_fix(&document, "hydraulics.flush_velocity", Severity::Fix);
}

#[test]
fn parts_over_their_rating_are_told_weakest_first() {
    let mut document = sample(LARKMEAD);
    let supply = document.design.objects.supplies.get_mut(&id("S1")).unwrap();
    Arc::make_mut(supply).high = Some(Pressure::from_psi(160.0));
    let found = told_with_fix(&document, "strength.rating", Severity::Stop);
    assert!(!found.is_empty());
    // Warm water takes from the rating of rigid pipe.
    let mut document = sample(CEDARBRAKE);
    document.design.site.water_temperature = Some(Temperature::from_celsius(55.0));
    let analysis = analysed(&document);
    let strength = analysis
        .findings
        .iter()
        .find(|finding| finding.check == "strength.rating")
        .expect("SDR 21 at 131 °F keeps 31 % of 200 psi");
    assert!(strength.subjects.contains(&id("P2")));
}

#[test]
fn a_regulator_below_its_least_flow_is_told_and_another_size_helps() {
    let mut document = sample(LARKMEAD);
    device(&mut document, "D11", |d| {
        d.part = "regulator-25-3/4".to_owned();
    });
    device(&mut document, "D11", |d| d.set = None);
    let analysis = analysed(&document);
    let zone = readings(&document.design, &analysis, id("Z2")).unwrap();
    if analysis.zones[&id("Z2")]
        .flow(SupplyCase::Low)
        .gallons_per_minute()
        < 2.0
    {
        assert_eq!(zone.regulators[0].state[0], RegulatorState::TooLittleFlow);
    }
    told_with_fix(&document, "hydraulics.flow_too_small", Severity::Fix);
}

#[test]
fn too_much_pressure_is_held_down_by_a_regulator() {
    let mut document = sample(LARKMEAD);
    for name in ["D5", "D8", "D11"] {
        device(&mut document, name, |d| {
            d.kind = DeviceKind::IsolationValve;
            d.part = "isolation-valve-3/4".to_owned();
        });
    }
    let check = if analysed(&document)
        .findings
        .iter()
        .any(|finding| finding.check == "hydraulics.high_pressure")
    {
        "hydraulics.high_pressure"
    } else {
        "hydraulics.static_pressure"
    };
    let severity = if check == "hydraulics.high_pressure" {
        Severity::Fix
    } else {
        Severity::Check
    };
    told_with_fix(&document, check, severity);
}

#[test]
fn the_drip_of_a_mixed_zone_gets_a_valve_of_its_own() {
    let found = told_with_fix(&sample(CEDARBRAKE), "drawing.mixed_zone", Severity::Fix);
    assert_eq!(found[0].progress, Progress::Gone);
}

/// Buried lines on flat ground have no high point, and a line under mulch draws no soil.
#[test]
fn no_air_is_asked_for_where_none_is_needed() {
    let flat = analysed(&sample(LARKMEAD));
    assert!(
        flat.findings
            .iter()
            .all(|finding| finding.check != "order.no_air")
    );
    let mut document = sample(LARKMEAD);
    tilt(&mut document, 2.0);
    let bed = document.design.objects.beds.get_mut(&id("B6")).unwrap();
    Arc::make_mut(bed).fill.as_mut().unwrap().placement = Placement::UnderMulch;
    let tilted = analysed(&document);
    assert!(
        tilted
            .findings
            .iter()
            .all(|finding| finding.check != "order.no_air")
    );
}
