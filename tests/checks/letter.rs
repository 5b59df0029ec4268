//! The letter to the supplier: kept as it reads, and asking what the plan leaves open.

use std::sync::Arc;

use acceptance::{DATE, SAMPLES, run, sample, sample_path};
use aubergine_core::analysis::Analyzer;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::model::{Document, WaterKind};
use aubergine_core::report::{Checked, NothingToAsk, Shown, plain_text, supplier_letter};
use aubergine_core::rulebook::{UNKNOWN_CLASS, built_in_book};
use aubergine_core::text;
use aubergine_core::units::UnitSystem;

fn letter(document: &Document) -> Result<String, NothingToAsk> {
    let analysis = Analyzer::default().update(&document.design);
    let letter = supplier_letter(&Checked {
        plan: &document.design,
        review: &document.review,
        analysis: &analysis,
        fixes: &[],
        shown: Shown::Case(SupplyCase::Low),
        units: UnitSystem::Us,
        date: DATE,
    })?;
    Ok(plain_text(&letter))
}

#[test]
fn letters_read_as_kept() {
    for name in SAMPLES {
        let path = sample_path(name);
        let told = run([
            "letter",
            path.to_str().unwrap(),
            "--output",
            "-",
            "--units",
            "us",
            "--date",
            DATE,
        ])
        .text();
        let mut settings = insta::Settings::clone_current();
        settings.set_snapshot_path("../golden");
        settings.set_prepend_module_to_snapshot(false);
        settings.set_omit_expression(true);
        let stem = name.trim_end_matches(".json");
        settings.bind(|| insta::assert_snapshot!(format!("{stem}.letter"), told));
    }
}

#[test]
fn an_unknown_class_is_asked_for_in_the_words_of_the_rules() {
    let mut document = sample(SAMPLES[0]);
    for water in document.design.objects.waters.values_mut() {
        Arc::make_mut(water).class = UNKNOWN_CLASS.to_owned();
    }
    let told = letter(&document).unwrap();
    let book = document.design.rules.books_in_force().next().unwrap();
    for class in &book.water_classes {
        assert!(told.contains(&class.label), "{}: {told}", class.label);
    }
    // What hangs on the class is asked, crop by crop, with the rule.
    assert!(told.contains(text::get("letter.readings_intro")), "{told}");
    assert!(told.contains("Is this water allowed for "), "{told}");
}

/// A rule that is our reading of a text forbids in its own words, and the letter asks whether it is read so.
#[test]
fn a_cautious_reading_is_put_as_a_question_with_the_text_it_is_taken_from() {
    let mut document = sample("larkmead-close.json");
    let plan = &mut document.design;
    plan.rules.in_force = vec!["us-fl".to_owned()];
    plan.rules.books.clear();
    let book = built_in_book("us-fl").unwrap();
    for water in plan.objects.waters.values_mut() {
        if water.kind != WaterKind::Potable {
            Arc::make_mut(water)
                .class
                .clone_from(&book.water_classes[0].id);
        }
    }
    let told = letter(&document).unwrap();
    let row = told
        .lines()
        .position(|line| line.contains("carrot in B2 by "))
        .expect("the carrot is asked for");
    let asked: Vec<&str> = told.lines().skip(row).take(3).collect();
    assert!(
        asked[0].contains("Our cautious reading, not the text"),
        "{asked:?}"
    );
    assert_eq!(asked[1].trim(), text::get("rule.fl_08"));
    assert!(asked[2].contains("30 TAC 210.24(c)(1)(C)"), "{asked:?}");
}

#[test]
fn without_reclaimed_water_there_is_nobody_to_ask() {
    let mut document = sample(SAMPLES[0]);
    for water in document.design.objects.waters.values_mut() {
        Arc::make_mut(water).kind = WaterKind::Potable;
    }
    assert_eq!(letter(&document), Err(NothingToAsk));
}
