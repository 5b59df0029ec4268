//! Facts that only a person can state: names, what the gauge showed, that wells were looked for.

use aubergine_core::ids::Id;
use aubergine_core::model::Document;
use eframe::egui::Key;
use egui_kittest::kittest::Queryable;

use crate::driver::Driver;

#[test]
fn a_new_plan_is_named_and_its_wells_are_answered_for() {
    let mut driver = Driver::with(Document::default(), None);
    driver.write("Plan name", "Quince Row");
    driver.write("Place", "Tarrow Springs");
    let wells = "Wells were looked for, and those there are drawn";
    driver.harness.get_by_label(wells).click();
    driver.harness.run();
    let plan = driver.app().plan();
    assert_eq!(
        (&*plan.name, &*plan.site.place),
        ("Quince Row", "Tarrow Springs")
    );
    assert!(plan.site.wells_surveyed);
}

#[test]
fn the_flow_of_a_test_is_typed() {
    let mut driver = Driver::on("larkmead-close");
    let supply: Id = "S1".parse().unwrap();
    while !driver.app().selection().contains(&supply) {
        driver.key(Key::PageDown);
    }
    driver.write("Flow then", "30 L/min");
    let flow = driver.app().plan().objects.supplies[&supply].test_flow;
    assert!((flow.litres_per_second() - 0.5).abs() < 1e-12);
    driver.write("Flow then", "some");
    let refused = "\"some\" is not a flow we can read. Try 8 gpm, 30 L/min or 0.5 L/s.";
    assert!(driver.harness.query_by_label(refused).is_some());
    let kept = driver.app().plan().objects.supplies[&supply].test_flow;
    assert_eq!(kept, flow);
}

#[test]
fn watering_hours_are_stated_and_taken_back() {
    let mut driver = Driver::on("larkmead-close");
    driver.write("Watering hours", "21:00 – 5:30");
    let hours = driver.app().plan().site.hours.clone().unwrap();
    assert_eq!((&*hours.from, &*hours.to), ("21:00", "05:30"));
    driver.write("Watering hours", "at night");
    let refused = "“at night” is no span of hours. Write it as 22:00-06:00.";
    assert!(driver.harness.query_by_label(refused).is_some());
    assert_eq!(driver.app().plan().site.hours.as_ref(), Some(&hours));
    driver.write("Watering hours", " ");
    assert_eq!(driver.app().plan().site.hours, None);
}
