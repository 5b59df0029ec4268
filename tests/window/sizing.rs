//! Pipe sizes through the window: asked for, read, applied, taken back.

use aubergine_core::analysis::Analyzer;
use aubergine_core::analysis::sizing::size;
use aubergine_core::report::sizing_words;
use eframe::egui::Key;
use egui_kittest::kittest::Queryable;

use crate::driver::Driver;

#[test]
fn sizes_are_shown_before_they_are_applied_and_undo_brings_every_byte_back() {
    let mut driver = Driver::on("larkmead-close");
    let before = driver.design();
    let document = driver.app().document().clone();
    let mut analyzer = Analyzer::default();
    let now = analyzer.update(&document.design);
    let expected = size(&document, &mut analyzer, &now, None).unwrap();
    let words = sizing_words(&document.design, &expected, document.design.site.units);

    driver
        .harness
        .get_by_label("Size all pipes")
        .click_accesskit();
    driver.harness.run();
    assert_eq!(driver.design(), before, "asking changes nothing");
    let shown = |driver: &Driver, words: &str| {
        let nodes = driver.harness.query_all_by(|node| {
            node.value().as_deref() == Some(words) || node.label().as_deref() == Some(words)
        });
        nodes.count()
    };
    assert!(!words.changes.is_empty());
    let changes = words.changes.iter();
    for line in changes.chain(&words.bounds).chain([&words.cost]) {
        assert!(shown(&driver, line) > 0, "{line}");
    }
    assert!(shown(&driver, words.price_note) > 0);

    driver
        .harness
        .get_by_label("Apply these sizes")
        .click_accesskit();
    driver.harness.run();
    assert_eq!(driver.app().history().num_steps(), 1);
    let plan = &driver.app().document().design;
    for run in &expected.runs {
        assert_eq!(plan.objects.pipes[&run.id].part, run.new);
    }
    assert_eq!(driver.app().analysis().findings, expected.then.findings);
    assert_eq!(
        shown(&driver, "Apply these sizes"),
        0,
        "they are for the plan as it was"
    );
    driver.command(Key::Z);
    assert_eq!(driver.design(), before);
}

#[test]
fn a_valve_offers_the_sizes_of_its_zone_and_the_menu_those_of_all() {
    let mut driver = Driver::on("cedarbrake-hollow");
    let before = driver.design();
    driver.harness.get_by_label_contains("Z2").click_accesskit();
    driver.harness.run();
    driver
        .harness
        .get_by_label("Size the pipes of Z2")
        .click_accesskit();
    driver.harness.run();
    // A zone without sizes says why, and offers nothing.
    let told = driver.harness.query_all_by(|node| {
        let words = node.value().or_else(|| node.label());
        words.is_some_and(|words| words.contains("There is no run to size"))
    });
    assert!(told.count() > 0);

    driver.harness.get_by_label("Check").click_accesskit();
    driver.harness.run();
    driver
        .harness
        .get_by(|node| {
            node.label()
                .is_some_and(|label| label.starts_with("Size pipes"))
        })
        .click_accesskit();
    driver.harness.run();
    assert!(driver.app().selection().is_empty());
    let told = driver.harness.query_all_by(|node| {
        let words = node.value().or_else(|| node.label());
        words.is_some_and(|words| words.contains("below what is needed behind it"))
    });
    assert!(told.count() > 0);
    assert_eq!(driver.design(), before);
}
