//! The dense bed: its 28 lines of 11 emitters counted, its numbers by hand, and the one thing it has to say.

use acceptance::{QUINCE, near, sample};
use aubergine_core::agronomy::application_rate;
use aubergine_core::analysis::{Analysis, Analyzer};
use aubergine_core::finding::Severity;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::Id;
use aubergine_core::layout::{bed_outline, fill};
use aubergine_core::model::Plan;
use aubergine_core::report::zone_summaries;

fn analysed() -> (Plan, Analysis) {
    let plan = sample(QUINCE).design;
    let analysis = Analyzer::default().update(&plan);
    (plan, analysis)
}

fn id(text: &str) -> Id {
    text.parse().unwrap()
}

/// 14 ft less twice 3 in, every 6 in, are 28 lines; 5 ft 6 in less twice 3 in, every 6 in, are 11 emitters.
#[test]
fn the_bed_has_28_lines_of_11_emitters() {
    let (plan, analysis) = analysed();
    let bed = &plan.objects.beds[&id("B1")];
    let rule = bed.fill.clone().unwrap();
    let layout = fill(bed, &rule, plan.catalog.emission(&rule.line).unwrap());
    let rows: Vec<usize> = layout.rows.iter().map(|row| row.emitters.len()).collect();
    assert_eq!(rows, [11; 28]);
    assert_eq!(analysis.beds[&id("B1")].num_emitters(), 308);
    assert_eq!(analysis.zones[&id("Z1")].built.emitters.len(), 308);
}

/// 308 × 0.50 gal/h at 15 psi are 2.57 gpm, and √(25/15) as much behind the regulator; over 77 ft² that is 4.1 in/h.
#[test]
fn its_numbers_are_those_counted_by_hand() {
    let (plan, analysis) = analysed();
    let zones = zone_summaries(&plan, &analysis);
    assert_eq!(zones.len(), 1);
    let rated = 308.0 * 0.50 / 60.0;
    near(zones[0].rated.gallons_per_minute(), rated, 1e-3);
    let most = rated * (25.0_f64 / 15.0).sqrt();
    for (i, case) in SupplyCase::ALL.into_iter().enumerate() {
        let flow = zones[0].flow[i];
        assert!(flow.gallons_per_minute() < most, "{flow:?}");
        near(flow.gallons_per_minute(), most, 0.02);
        let area = bed_outline(&plan.objects.beds[&id("B1")]).area();
        near(area.square_feet(), 77.0, 1e-3);
        let depth = application_rate(analysis.zones[&id("Z1")].flow(case), area);
        near(
            depth.inches_per_hour(),
            most * 60.0 * 231.0 / (77.0 * 144.0),
            0.02,
        );
        // The lines are short: a whole bed of thin lines is fed within a psi.
        let (first, last) = (zones[0].first[i].unwrap(), zones[0].last[i].unwrap());
        assert!(first.psi() - last.psi() < 1.0, "{first:?} {last:?}");
    }
}

/// Only the default book asks: nothing stops the plan.
#[test]
fn it_has_one_question_and_no_trouble() {
    let (_, analysis) = analysed();
    let told: Vec<(Severity, &str)> = analysis
        .findings
        .iter()
        .map(|finding| (finding.severity, finding.check.as_str()))
        .collect();
    assert_eq!(told.len(), 1, "{told:?}");
    assert_eq!(told[0].0, Severity::Check);
    assert!(told[0].1.starts_with("contact."), "{told:?}");
}
