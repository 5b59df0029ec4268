//! A person answers for a finding: the decision is kept, printed, taken back, and opens again when the facts change.

use aubergine_core::finding::Severity;
use aubergine_core::model::Document;
use aubergine_core::report::{check_json, check_text, client_report, plain_text};
use aubergine_core::units::Salinity;
use eframe::egui::Key;
use eframe::egui::accesskit::Role;
use egui_kittest::Node;
use egui_kittest::kittest::{NodeT, Queryable};

use crate::driver::{Driver, checked_of_saved};

/// Opens the first finding of a gravity.
fn open_first(driver: &mut Driver, severity: Severity) -> String {
    let findings = driver.app().analysis().findings.clone();
    let found = findings.iter().find(|it| it.severity == severity).unwrap();
    driver.key(Key::F8);
    if findings[0].id() != found.id() {
        let units = driver.app().plan().site.units;
        let name = format!("{}: {}", severity.word(), found.message.sentence(units));
        driver.harness.get_by_label(&name).click_accesskit();
        driver.harness.run();
    }
    found.id()
}

/// The label stands beside its field; the field itself takes text.
fn type_into(driver: &mut Driver, label: &str, words: &str) {
    field(driver, label).focus();
    driver.harness.run();
    field(driver, label).type_text(words);
    driver.harness.run();
}

fn field<'a>(driver: &'a Driver, label: &'a str) -> Node<'a> {
    let found = driver.harness.query_all_by_label(label);
    let is_field = |role: Role| matches!(role, Role::TextInput | Role::MultilineTextInput);
    let mut found = found.filter(|node| is_field(node.accesskit_node().role()));
    found.next().unwrap()
}

/// The whole of what is told about a saved plan: JSON, text, paper.
fn told(document: &Document) -> (serde_json::Value, String, String) {
    checked_of_saved(document, |checked| {
        let json = serde_json::from_slice(&check_json(checked)).unwrap();
        let paper = plain_text(&client_report(checked));
        (json, check_text(checked), paper)
    })
}

#[test]
fn a_check_is_settled_kept_printed_and_taken_back() {
    let mut driver = Driver::on("cedarbrake-hollow");
    let id = open_first(&mut driver, Severity::Check);
    driver.harness.get_by_label_contains("Settle… ").click();
    driver.harness.run();
    let verb = driver.harness.get_by_label("Settle it");
    assert!(
        verb.accesskit_node().is_disabled(),
        "no reason, no name yet"
    );
    type_into(
        &mut driver,
        "Why it may stay",
        "The owner asked the provider.",
    );
    type_into(&mut driver, "Who decides", "R. Alder");
    driver.harness.get_by_label("Settle it").click();
    driver.harness.run();
    let document = driver.app().document().clone();
    assert_eq!(document.review.settled.len(), 1);
    assert_eq!(
        driver.app().history().num_steps(),
        0,
        "no step of the design"
    );
    driver.harness.get_by_label_contains("1 settled");

    let (json, text, paper) = told(&document);
    let rows = json["findings"].as_array().unwrap();
    let row = rows.iter().find(|row| row["id"] == id.as_str()).unwrap();
    assert_eq!(row["settled"]["stands"], true);
    assert_eq!(row["settled"]["name"], "R. Alder");
    for words in [text, paper] {
        assert!(words.contains("Settled by R. Alder on 20"), "{words}");
        assert!(words.contains("The owner asked the provider."));
        assert!(words.contains("1 settled"));
    }

    driver
        .harness
        .get_by_label("Take the decision back")
        .click();
    driver.harness.run();
    assert!(driver.app().document().review.settled.is_empty());
}

#[test]
fn a_stop_offers_no_decision_and_a_forged_one_counts_for_nothing() {
    let mut driver = Driver::on("cedarbrake-hollow");
    let id = open_first(&mut driver, Severity::Stop);
    assert!(driver.harness.query_by_label_contains("Settle… ").is_none());
    let mut document = driver.app().document().clone();
    let finding = driver.app().analysis().findings.clone();
    let finding = finding.iter().find(|it| it.id() == id).unwrap();
    document.review.settled.insert(
        id.clone(),
        aubergine_core::model::Settlement {
            reason: "because".to_owned(),
            name: "nobody".to_owned(),
            on: "2027-01-01".to_owned(),
            facts: finding.facts(),
            ..Default::default()
        },
    );
    let (json, text, _) = told(&document);
    let rows = json["findings"].as_array().unwrap();
    let row = rows.iter().find(|row| row["id"] == id.as_str()).unwrap();
    assert_eq!(row["settled"]["stands"], false);
    assert!(text.contains("Open again") && !text.contains("1 settled"));
}

#[test]
fn what_was_settled_opens_again_when_the_plan_changes_what_it_says() {
    let driver = Driver::on("cedarbrake-hollow");
    let mut document = driver.app().document().clone();
    let analysis = driver.app().analysis().clone();
    let salt = analysis
        .findings
        .iter()
        .find(|it| it.check == "agronomy.salt")
        .unwrap();
    let settle = aubergine_core::analysis::settled::settle;
    let settled = settle(salt, "The beans go elsewhere", "R. Alder", "", "2027-03-15").unwrap();
    document.review.settled.insert(salt.id(), settled);
    let stands = |document: &Document| {
        let (json, ..) = told(document);
        let rows = json["findings"].as_array().unwrap().clone();
        let row = rows.into_iter().find(|row| row["id"] == salt.id().as_str());
        row.map(|row| row["settled"]["stands"] == true)
    };
    assert_eq!(stands(&document), Some(true));
    // A saltier report of the same water.
    for water in document.design.objects.waters.values_mut() {
        let mut changed = (**water).clone();
        changed.report.salinity = changed
            .report
            .salinity
            .map(|_| Salinity::from_decisiemens_per_metre(2.4));
        *water = changed.into();
    }
    assert_eq!(stands(&document), Some(false));
}
