//! What the window asks and tells beside the drawing: the drinking-water side, the margin by a guideline, the letter to the
//! supplier, the rings of the contact view.

use aubergine_core::analysis::setbacks;
use aubergine_core::file;
use aubergine_core::model::Premise;
use eframe::egui::Key;
use egui_kittest::kittest::{NodeT, Queryable};

use crate::driver::{Driver, sample};

/// Brings something of a panel into view and clicks it.
fn click(driver: &mut Driver, label: &str) {
    driver.harness.get_by_label(label).scroll_to_me();
    driver.harness.run();
    driver.harness.get_by_label(label).click();
    driver.harness.run();
}

fn has_finding(driver: &Driver, check: &str) -> bool {
    let findings = &driver.app().analysis().findings;
    findings.iter().any(|finding| finding.check == check)
}

#[test]
fn the_questions_about_drinking_water_are_answered_and_opened_again() {
    let mut driver = Driver::on("larkmead-close");
    let before = driver.design();
    assert!(!has_finding(&driver, "premises.open"));
    click(&mut driver, "Drinking-water side (0 open)");
    click(
        &mut driver,
        "Is there a fire line or a house with sprinklers? not known",
    );
    let answers = &driver.app().plan().site.premises;
    assert_eq!(answers.get(Premise::FireLine), None);
    assert!(has_finding(&driver, "premises.open"));
    driver.harness.get_by_label("Drinking-water side (1 open)");
    driver.command(Key::Z);
    assert_eq!(driver.design(), before);
    assert!(!has_finding(&driver, "premises.open"));
}

#[test]
fn the_margin_of_a_bed_sums_what_the_guideline_credits_and_changes_nothing() {
    let mut driver = Driver::on("larkmead-close");
    let before = driver.design();
    driver.click(driver.rect("Bed B2").center());
    click(&mut driver, "Margin by a guideline");
    let model = "A model, not a measurement";
    assert!(driver.harness.query_all_by_label_contains(model).count() > 0);
    let lacking = |driver: &Driver| {
        let told = driver.harness.query_all_by_label_contains("asked for: ");
        let told: Vec<String> = told
            .filter_map(|node| node.accesskit_node().value())
            .collect();
        let [told] = &told[..] else {
            panic!("{told:?}");
        };
        told.clone()
    };
    let bare = lacking(&driver);
    assert!(bare.ends_with("lacking."), "{bare}");
    driver.write("Against viruses, log", "7");
    let treated = lacking(&driver);
    assert!(treated.ends_with("over."), "{treated}");
    // What is no number of logs is told, and not summed.
    driver.write("Against viruses, log", "-3");
    let told = driver.harness.query_all_by_label_contains("asked for: ");
    assert_eq!(told.count(), 0);
    assert_eq!(driver.design(), before);
}

#[test]
fn the_letter_is_written_to_a_typed_path() {
    let name = format!("aubergine-window-letter-{}.txt", std::process::id());
    let path = std::env::temp_dir().join(name);
    let mut driver = Driver::on("quince-row");
    driver.harness.get_by_label("File").click();
    driver.harness.run();
    driver
        .harness
        .get_by_label_contains("Letter to the supplier…")
        .click();
    driver.harness.run();
    driver.write("Path to write to", path.to_str().unwrap());
    let words = std::fs::read_to_string(&path).unwrap();
    std::fs::remove_file(&path).unwrap();
    assert!(words.contains("Please answer in writing"), "{words}");
    assert!(!has_dialog(&driver));
}

fn has_dialog(driver: &Driver) -> bool {
    let fields = driver.harness.query_all_by_label("Path to write to");
    fields.count() > 0
}

#[test]
fn the_rings_of_the_contact_view_have_a_key_and_follow_the_plan() {
    let key = "A rule keeps wetted ground out of this ring";
    let mut driver = Driver::on("cedarbrake-hollow");
    driver.harness.key_press(Key::Num4);
    driver.harness.run();
    assert!(driver.harness.query_by_label(key).is_none());
    let mut document = sample("cedarbrake-hollow");
    let text = String::from_utf8(file::save(&document)).unwrap();
    let well = r#""marks": {"M9": {"kind": "domestic_well", "at_m": [15.0, 20.0]},"#;
    let text = text.replacen(r#""marks": {"#, well, 1);
    let text = text.replacen(r#""us-tx""#, r#""us-nc""#, 1);
    document = file::load(text.as_bytes()).unwrap();
    let mut driver = Driver::with(document, None);
    driver.harness.key_press(Key::Num4);
    driver.harness.run();
    assert_eq!(setbacks(driver.app().plan()).len(), 1);
    driver.harness.get_by_label(key);
}
