//! Opening and saving where no file dialog exists, and the guard before anything is lost.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use aubergine_core::file;
use eframe::egui::accesskit::Role;
use eframe::egui::{DroppedFile, Key};
use egui_kittest::kittest::Queryable;

use crate::driver::{Driver, sample};

fn folder(name: &str) -> PathBuf {
    let folder =
        std::env::temp_dir().join(format!("aubergine-window-{name}-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

fn type_path(driver: &mut Driver, label: &str, path: &Path) {
    driver.type_into(label, &path.display().to_string());
}

#[test]
fn a_typed_path_saves_and_opens_the_same_plan() {
    let folder = folder("typed");
    let path = folder.join("mine.json");
    let mut driver = Driver::on("larkmead-close");
    driver.click(driver.rect("Bed B3").center());
    driver.key(Key::ArrowRight);
    driver.command(Key::S);
    type_path(&mut driver, "Path to write to", &path);
    driver.key(Key::Enter);
    assert_eq!(
        std::fs::read(&path).unwrap(),
        file::save(driver.app().document())
    );

    driver.command(Key::O);
    type_path(&mut driver, "Path of the plan file", &path);
    driver.key(Key::Enter);
    assert_eq!(driver.app().history().num_steps(), 0);
    assert_eq!(
        file::save(driver.app().document()),
        std::fs::read(&path).unwrap()
    );
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn a_damaged_file_is_told_and_left_alone() {
    let folder = folder("damaged");
    let path = folder.join("damaged.json");
    std::fs::write(&path, b"{ \"format\": ").unwrap();
    let mut driver = Driver::with(sample("larkmead-close"), None);
    let before = driver.design();
    driver.command(Key::O);
    type_path(&mut driver, "Path of the plan file", &path);
    driver.key(Key::Enter);
    assert!(
        driver
            .harness
            .query_all_by_label_contains("Line 1, column")
            .next()
            .is_some()
    );
    assert_eq!(driver.design(), before);
    driver.key(Key::Escape);
    driver.command(Key::S);
    type_path(&mut driver, "Path to write to", &path);
    driver.key(Key::Enter);
    assert!(
        driver
            .harness
            .query_all_by_label_contains("was not overwritten")
            .next()
            .is_some()
    );
    assert_eq!(std::fs::read(&path).unwrap(), b"{ \"format\": ");
    std::fs::remove_dir_all(folder).unwrap();
}

/// A file as the desktop hands it over.
#[derive(Debug)]
struct Dropped(PathBuf);

impl DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        std::fs::read(&self.0).map_err(|error| error.to_string())
    }
}

fn drop_file(driver: &mut Driver, path: &Path) {
    let file = Arc::new(Dropped(path.to_path_buf()));
    driver.harness.input_mut().dropped_files.push(file);
    driver.harness.run();
}

#[test]
fn a_dropped_file_opens_and_a_broken_one_changes_nothing() {
    let folder = folder("dropped");
    let (good, broken) = (folder.join("good.json"), folder.join("broken.json"));
    let other = sample("cedarbrake-hollow");
    std::fs::write(&good, file::save(&other)).unwrap();
    std::fs::write(&broken, "{ \"format\": ").unwrap();

    let mut driver = Driver::on("larkmead-close");
    let before = driver.design();
    drop_file(&mut driver, &broken);
    assert_eq!(driver.design(), before);
    let told = driver.harness.query_all_by_label_contains("broken.json");
    assert!(told.count() > 0, "the window says nothing about the file");

    drop_file(&mut driver, &good);
    assert_eq!(driver.app().document().design, other.design);

    // With changes that are not saved, it asks first.
    driver.click(driver.rect("Bed B3").center());
    driver.key(Key::ArrowRight);
    let changed = driver.design();
    drop_file(&mut driver, &good);
    assert_eq!(driver.design(), changed);
    driver.harness.get_by_label("Go on without saving").click();
    driver.harness.run();
    assert_eq!(driver.app().document().design, other.design);
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn nothing_is_lost_without_a_question() {
    let mut driver = Driver::on("larkmead-close");
    driver.click(driver.rect("Bed B3").center());
    driver.key(Key::ArrowRight);
    let changed = driver.design();
    driver.command(Key::N);
    assert!(
        driver
            .harness
            .query_by_label_contains("changes that are not saved")
            .is_some()
    );
    driver.harness.get_by_label("Stay here").click();
    driver.harness.run();
    assert_eq!(driver.design(), changed);
    driver.command(Key::N);
    driver.harness.get_by_label("Go on without saving").click();
    driver.harness.run();
    assert!(driver.app().plan().objects.is_empty());
    // Undo back to the saved state is clean: no question then.
    let mut driver = Driver::on("larkmead-close");
    driver.click(driver.rect("Bed B3").center());
    driver.key(Key::ArrowRight);
    driver.command(Key::Z);
    driver.command(Key::N);
    assert!(driver.app().plan().objects.is_empty());
}

fn says(driver: &Driver, words: &str) -> usize {
    driver.harness.query_all_by_label_contains(words).count()
}

#[test]
fn a_typed_path_that_leads_nowhere_is_told_once() {
    let mut driver = Driver::on("larkmead-close");
    driver.command(Key::P);
    let field = driver
        .harness
        .get_by_role_and_label(Role::TextInput, "Path to write to");
    assert!(
        field
            .value()
            .is_some_and(|path| path.ends_with("larkmead-close.pdf"))
    );
    type_path(
        &mut driver,
        "Path to write to",
        "/no/such/folder/a.pdf".as_ref(),
    );
    driver.key(Key::Enter);
    assert_eq!(says(&driver, "no folder /no/such/folder"), 1);
    type_path(&mut driver, "Path to write to", "/tmp/summary".as_ref());
    driver.key(Key::Enter);
    assert_eq!(says(&driver, "The name has no ending"), 1);
    assert_eq!(says(&driver, ".svg the drawing"), 1);
    // What the dialog complained of goes with it.
    driver.key(Key::Escape);
    assert_eq!(says(&driver, "The name has no ending"), 0);
}

#[test]
fn the_careful_choice_is_the_one_that_enter_makes() {
    let folder = folder("careful");
    let path = folder.join("mine.json");
    let mut driver = Driver::with(sample("larkmead-close"), Some(path.clone()));
    driver.click(driver.rect("Bed B3").center());
    driver.key(Key::ArrowRight);
    let changed = driver.app().document().clone();
    driver.command(Key::N);
    assert!(driver.harness.get_by_label("Save").is_focused());
    driver.key(Key::Enter);
    assert_eq!(std::fs::read(&path).unwrap(), file::save(&changed));
    assert!(driver.app().plan().objects.is_empty());
    assert_eq!(says(&driver, "new plan, not saved"), 1);
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn both_samples_are_opened_by_name_at_low_supply() {
    let mut driver = Driver::on("larkmead-close");
    assert_eq!(says(&driver, "sample, unchanged"), 1);
    driver.key(Key::C);
    assert_eq!(says(&driver, "normal supply  ·"), 1);
    driver.harness.get_by_label("File").click();
    driver.harness.run();
    driver
        .harness
        .get_by_label_contains("Open sample Cedarbrake Hollow")
        .click();
    driver.harness.run();
    assert_eq!(driver.app().plan().name, "Cedarbrake Hollow");
    assert_eq!(says(&driver, "low supply  ·"), 1);
}

#[test]
fn local_rules_are_added_from_a_typed_path_and_a_mistake_names_its_line() {
    let folder = folder("rules");
    let town =
        std::fs::read_to_string(acceptance::root().join("sample-plans/example-town.toml")).unwrap();
    let path = folder.join("town.toml");
    std::fs::write(&path, town.replace("\"prohibit\"", "\"never\"")).unwrap();
    let mut driver = Driver::on("cedarbrake-hollow");
    let before = driver.app().plan().rules.in_force.clone();
    // Nothing is selected: the plan's own panel offers it.
    let offer = "Add local rules…";
    driver.harness.get_by_label(offer).scroll_to_me();
    driver.harness.run();
    driver.harness.get_by_label(offer).click();
    driver.harness.run();
    type_path(&mut driver, "Path of the rules file", &path);
    driver.key(Key::Enter);
    let line = 1 + town
        .lines()
        .position(|line| line.contains("prohibit"))
        .unwrap();
    let told = format!("line {line}, row TOWN-1");
    let told = driver.harness.query_all_by_label_contains(&told);
    assert!(told.count() > 0);
    assert_eq!(driver.app().plan().rules.in_force, before);

    std::fs::write(&path, &town).unwrap();
    type_path(&mut driver, "Path of the rules file", &path);
    driver.key(Key::Enter);
    let rules = &driver.app().plan().rules;
    assert_eq!(
        rules.in_force.last().map(String::as_str),
        Some("example-town")
    );
    assert_eq!(rules.books["example-town"].origin, "town.toml");
    driver.harness.get_by_label_contains("Added and in force");
    driver.command(Key::Z);
    assert_eq!(driver.app().plan().rules.in_force, before);
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn another_file_is_replaced_only_when_that_was_said() {
    let folder = folder("replaced");
    let path = folder.join("other.json");
    let other = file::save(&sample("cedarbrake-hollow"));
    std::fs::write(&path, &other).unwrap();
    let mut driver = Driver::on("larkmead-close");
    driver.click(driver.rect("Bed B3").center());
    driver.key(Key::ArrowRight);
    driver.command(Key::S);
    type_path(&mut driver, "Path to write to", &path);
    driver.key(Key::Enter);
    assert_eq!(std::fs::read(&path).unwrap(), other);
    assert!(
        driver
            .harness
            .query_all_by_label_contains("is there already")
            .count()
            > 0
    );
    type_path(&mut driver, "Path to write to", &path);
    driver.key(Key::Enter);
    let saved = file::save(driver.app().document());
    assert_eq!(std::fs::read(&path).unwrap(), saved);
    // Its own file is written without a word.
    driver.key(Key::ArrowRight);
    driver.command(Key::S);
    assert_ne!(std::fs::read(&path).unwrap(), saved);
    std::fs::remove_dir_all(folder).unwrap();
}
