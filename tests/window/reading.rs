//! What the tree of the window says, and that every panel comes to rest.

use aubergine::window::TABLE;
use aubergine_core::file;
use aubergine_core::finding::Severity;
use aubergine_core::model::Document;
use aubergine_core::report::check_json;
use aubergine_core::units::Pressure;
use eframe::egui::Key;
use eframe::egui::accesskit::Role;
use egui_kittest::kittest::{NodeT, Queryable};

use crate::driver::{Driver, checked_of_saved};

#[test]
fn no_two_commands_share_keys() {
    for (index, one) in TABLE.iter().enumerate() {
        let clash = TABLE[index + 1..]
            .iter()
            .find(|other| one.keys.is_some() && other.keys == one.keys);
        assert!(clash.is_none(), "{one:?} and {clash:?}");
        if let Some(keys) = one.keys {
            assert!(Key::from_name(keys.key).is_some(), "{keys:?} is no key");
        }
    }
}

#[test]
fn every_panel_and_view_comes_to_rest() {
    for name in ["larkmead-close", "cedarbrake-hollow"] {
        let mut driver = Driver::on(name);
        for tab in ["Findings", "List", "Review", "Object"] {
            driver
                .harness
                .get_by(|node| {
                    node.label()
                        .is_some_and(|label| label.starts_with(tab) && label != "Review pin")
                        && format!("{:?}", node.role()) == "Button"
                })
                .click();
            driver.harness.run();
        }
        for key in [Key::Num1, Key::Num2, Key::Num4, Key::Num7, Key::C, Key::F1] {
            driver.key(key);
        }
        driver.key(Key::Escape);
        // Every object in turn: each inspector is shown once.
        for _ in 0..driver.app().plan().objects.len() {
            driver.key(Key::PageDown);
        }
        driver.key(Key::F11);
        driver.key(Key::Escape);
    }
}

#[test]
fn the_legend_folds_away_from_what_it_covers() {
    let mut driver = Driver::on("larkmead-close");
    let told = "Lines that cross are not joined.";
    assert!(driver.harness.query_by_label(told).is_some());
    driver.key(Key::L);
    assert!(driver.harness.query_by_label(told).is_none());
    driver.harness.get_by_label("Show the legend").click();
    driver.harness.run();
    assert!(driver.harness.query_by_label(told).is_some());
}

#[test]
fn findings_are_read_opened_and_helped() {
    let mut driver = Driver::on("cedarbrake-hollow");
    let stops = driver.app().analysis().count(Severity::Stop);
    assert!(stops > 0);
    let at_first = driver.app().analysis().clone();
    let counts = |severity| at_first.count(severity);
    let before = at_first.findings.len();
    for _ in 0..before {
        driver.key(Key::F8);
        let apply = driver
            .harness
            .query_all_by(|node| {
                node.label()
                    .is_some_and(|label| label.starts_with("Apply: "))
            })
            .next();
        if let Some(apply) = apply {
            apply.click_accesskit();
            driver.harness.run();
            assert_eq!(driver.app().history().num_steps(), 1);
            let (_, after) = crate::driver::from_file(driver.app().document());
            assert!(after.count(Severity::Stop) <= stops);
            // How the counts changed is told.
            let told = driver.harness.get_by_label_contains("Applied: ");
            let told = told.value().unwrap();
            for severity in [Severity::Stop, Severity::Fix, Severity::Check] {
                let (was, is) = (counts(severity), after.count(severity));
                let change = format!("{} {was} → {is}", severity.word());
                assert_eq!(told.contains(&change), was != is, "{told}: {change}");
            }
            return;
        }
    }
    panic!("nothing would help against any finding");
}

#[test]
fn the_list_says_what_the_drawing_says() {
    let mut driver = Driver::on("larkmead-close");
    driver.harness.get_by_label("List").click();
    driver.harness.run();
    let words: Vec<String> = driver
        .harness
        .query_all_by_label_contains("Bed B3,")
        .filter_map(|node| node.accesskit_node().label())
        .collect();
    assert_eq!(words.len(), 2, "{words:?}");
    assert_eq!(words[0], words[1]);
    assert!(
        words[0].starts_with("Bed B3, strawberry, inlet 25.0 psi"),
        "{}",
        words[0]
    );
}

#[test]
fn a_row_that_comes_before_keeps_the_focus_where_it_was() {
    let mut driver = Driver::on("larkmead-close");
    driver.harness.get_by_label("List").click();
    driver.harness.run();
    let is_row = |label: &str, node: &egui_kittest::Node<'_>| {
        node.accesskit_node()
            .label()
            .is_some_and(|words| words.starts_with(label))
            && format!("{:?}", node.accesskit_node().role()) == "Button"
    };
    let row = driver
        .harness
        .query_all_by_label_contains("Espalier apple")
        .find(|node| is_row("Tree T2", node))
        .unwrap();
    row.focus();
    driver.harness.run();
    // A new bed stands before the trees in the list.
    let queue = driver.app().queue();
    queue.push(aubergine::window::Action::PutDownInTheMiddle(
        aubergine::window::Stock::Bed,
    ));
    queue.push(aubergine::window::Action::Tab(
        aubergine::window::SideTab::Objects,
    ));
    driver.harness.run();
    assert_eq!(driver.app().plan().objects.beds.len(), 7);
    let row = driver
        .harness
        .query_all_by_label_contains("Espalier apple")
        .find(|node| is_row("Tree T2", node))
        .unwrap();
    assert!(row.is_focused());
}

#[test]
fn a_note_is_pinned_and_undo_leaves_it() {
    let mut driver = Driver::on("larkmead-close");
    driver.click(driver.rect("Bed B3").center());
    driver.key(Key::N);
    driver
        .harness
        .get_by_label("What the pin says")
        .type_text("Is the strawberry bed mulched?");
    driver.harness.run();
    driver.harness.get_by_label("Who sets the pin").focus();
    driver.harness.run();
    driver
        .harness
        .get_by_label("Who sets the pin")
        .type_text("R. Almeida");
    driver.harness.run();
    driver.harness.get_by_label("Set the pin").click();
    driver.harness.run();
    driver.command(Key::Z);
    let again = file::load(&file::save(driver.app().document())).unwrap();
    let thread = again.review.threads.values().next().unwrap();
    assert_eq!(thread.text, "Is the strawberry bed mulched?");
    assert_eq!(thread.author, "R. Almeida");
    assert_eq!(thread.object, Some("B3".parse().unwrap()));
    assert!(driver.harness.query_by_label_contains("mulched").is_some());
}

/// The pressures that the labels of the tree tell, against the check of the file the window would save.
#[test]
fn fifty_labels_say_what_the_check_of_the_saved_file_says() {
    let mut num_compared = 0;
    for (name, moved) in [
        ("larkmead-close", "Bed B3"),
        ("cedarbrake-hollow", "Bed B1"),
    ] {
        let mut driver = Driver::on(name);
        let from = driver.rect(moved).center();
        driver.drag(from, from + eframe::egui::vec2(driver.px(0.9144), 0.0));
        let units = driver.app().plan().site.units;
        let json = checked_of_saved(driver.app().document(), check_json);
        let checked: serde_json::Value = serde_json::from_slice(&json).unwrap();
        let lowest = |port: &str| {
            let nodes = checked["nodes"].as_array().unwrap();
            let of_port = nodes.iter().filter(|node| node["id"] == port);
            of_port
                .map(|node| node["pressure_kpa"].as_f64().unwrap())
                .reduce(f64::min)
        };
        let labels: Vec<String> = driver
            .harness
            .get_all_by(|node| node.label().is_some_and(|label| label.contains(" psi")))
            .filter_map(|node| node.accesskit_node().label())
            .collect();
        for label in labels {
            let ports = [
                ("inlet ", "in"),
                ("outlet ", "out"),
                ("end ", "end"),
                ("start ", "start"),
            ];
            let id = label
                .split(',')
                .next()
                .and_then(|head| head.rsplit(' ').next())
                .filter(|id| id.parse::<aubergine_core::ids::Id>().is_ok());
            let (Some(id), Some((word, port))) = (
                id,
                ports
                    .iter()
                    .find(|(word, _)| label.contains(&format!(", {word}"))),
            ) else {
                continue;
            };
            let expected = lowest(&format!("{id}.{port}")).unwrap();
            let shown = units.pressure(Pressure::from_kilopascals(expected));
            assert!(
                label.contains(&format!("{word}{shown}")),
                "{label}: {shown}"
            );
            num_compared += 1;
        }
    }
    assert!(num_compared >= 50, "only {num_compared} labels");
}

#[test]
fn what_is_missing_is_said_before_nothing_is_found() {
    let mut driver = Driver::with(Document::default(), None);
    driver.harness.get_by_label("Findings 0").click();
    driver.harness.run();
    let says =
        |driver: &Driver, words: &str| driver.harness.query_by_label_contains(words).is_some();
    assert!(says(&driver, "Choose the rules first"));
    assert!(says(&driver, "Draw a supply first"));
    assert!(!says(&driver, "No findings for the rules"));
    assert!(says(&driver, "no rules chosen: generic default"));
}

#[test]
fn every_verdict_stands_in_the_list_and_at_the_head_of_its_bed() {
    let mut driver = Driver::on("larkmead-close");
    driver.harness.get_by_label("List").click();
    driver.harness.run();
    let row = "strawberry in B3, by emitter line on the soil: allowed with conditions";
    driver.harness.get_by_label(row).click();
    driver.harness.run();
    assert_eq!(driver.app().selected_one(), Some("B3".parse().unwrap()));
    driver.harness.get_by_label("Object").click();
    driver.harness.run();
    let words = "strawberry, by emitter line on the soil: allowed with conditions";
    let head = driver.harness.get_by_label(words).rect();
    let fields = driver.rect("From left");
    assert!(head.max.y < fields.min.y);
}

#[test]
fn the_list_of_words_has_every_row() {
    let mut driver = Driver::on("larkmead-close");
    driver
        .harness
        .key_press_modifiers(eframe::egui::Modifiers::SHIFT, Key::F1);
    driver.harness.run();
    for word in ["POC", "L, N, H", "dS/m"] {
        assert!(driver.harness.query_by_label(word).is_some(), "{word}");
    }
}

/// The card behind a verdict names what on the drawing brings it about and what would change it.
#[test]
fn a_verdict_tells_what_is_behind_it_and_leads_there() {
    let mut driver = Driver::on("cedarbrake-hollow");
    driver.click(driver.rect("Bed B2").center());
    let says = |driver: &Driver, words: &str| {
        driver
            .harness
            .query_all_by_label_contains(words)
            .next()
            .is_some()
    };
    // The gravest is open.
    assert!(says(&driver, "What would change it"));
    assert!(says(
        &driver,
        "By emitter line under mulch: allowed with conditions"
    ));
    let why = "why: lettuce (leaf), by spray: not allowed";
    driver.harness.get_by_label(why).click();
    driver.harness.run();
    assert!(!says(&driver, "What would change it"));
    driver.harness.get_by_label(why).click();
    driver.harness.run();
    driver.harness.get_by_label_contains("E9 throws").click();
    driver.harness.run();
    assert_eq!(driver.app().selected_one(), Some("E9".parse().unwrap()));
}

#[test]
fn every_crop_under_every_method_is_found_by_a_key_and_a_name() {
    let mut driver = Driver::on("cedarbrake-hollow");
    driver.key(Key::M);
    let cell = "lettuce (leaf), by emitter line under mulch: allowed with conditions";
    driver.harness.get_by_label(cell).click();
    driver.harness.run();
    assert!(
        driver
            .harness
            .query_by_label_contains("Rule TX-04")
            .is_some()
    );
    // A crop that the plan does not have is found by its name.
    assert!(
        driver
            .harness
            .query_by_label_contains("kale, by spray")
            .is_none()
    );
    driver
        .harness
        .get_by_role_and_label(Role::TextInput, "Find a crop")
        .focus();
    driver.harness.run();
    driver
        .harness
        .event(eframe::egui::Event::Text("kale".to_owned()));
    driver.harness.run();
    assert!(
        driver
            .harness
            .query_by_label_contains("kale, by spray")
            .is_some()
    );
    let lettuce = "lettuce (leaf), by furrows";
    assert!(driver.harness.query_by_label_contains(lettuce).is_none());
}

#[test]
fn the_kind_of_site_is_a_fact_that_can_be_stated() {
    use aubergine_core::rulebook::SiteKind;
    let mut driver = Driver::on("cedarbrake-hollow");
    driver
        .harness
        .get_by_label("Kind of site: home of one household")
        .click();
    driver.harness.run();
    driver.harness.get_by_label("community garden").click();
    driver.harness.run();
    assert_eq!(driver.app().plan().site.kind, SiteKind::CommunityGarden);
}
