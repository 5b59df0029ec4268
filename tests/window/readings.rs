//! What is read off a zone and along the way of the water, opened in the window, and how numbers come about.

use aubergine_core::analysis::readings::{flow_spreads, places, readings, way};
use aubergine_core::analysis::working::working;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::Id;
use aubergine_core::report::{working_title, working_words, zone_run_sentences};
use aubergine_core::units::display::percent;
use eframe::egui::Key;
use egui_kittest::kittest::Queryable;

use crate::driver::Driver;

fn id(text: &str) -> Id {
    text.parse().unwrap()
}

/// Selects an object, for a zone its valve.
fn select(driver: &mut Driver, wanted: &str) {
    // The read-offs of a zone stand with its valve.
    let zones = &driver.app().plan().objects.zones;
    let wanted = zones.get(&id(wanted)).map_or(id(wanted), |zone| zone.valve);
    for _ in 0..=driver.app().plan().objects.len() {
        if driver.app().selected_one() == Some(wanted) {
            driver.harness.get_by_label("Object").click();
            driver.harness.run();
            return;
        }
        driver.key(Key::PageDown);
    }
    panic!("{wanted} cannot be selected");
}

/// Whether something says these words, as label or value.
fn says(driver: &Driver, words: &str) -> bool {
    let nodes = driver.harness.query_all_by(|node| {
        node.value().as_deref() == Some(words) || node.label().as_deref() == Some(words)
    });
    nodes.count() > 0
}

fn click(driver: &mut Driver, label: &str) {
    driver.harness.get_by_label(label).click_accesskit();
    driver.harness.run();
}

#[test]
fn the_way_to_an_emitter_is_told_in_numbers_part_by_part() {
    let mut driver = Driver::on("cedarbrake-hollow");
    select(&mut driver, "L1");
    let app = driver.app();
    let units = app.plan().site.units;
    let place = places(app.analysis(), id("L1"), SupplyCase::Low)[0].clone();
    let found = way(app.plan(), app.analysis(), &place, SupplyCase::Low).unwrap();
    assert!(says(&driver, &format!("From the supply to {}", place.name)));
    // Every share that shows is a row of the table, with its percent of the pressure at rest.
    let bare = |kpa| units.pressure(kpa).split(' ').next().unwrap().to_owned();
    let mut rows = 0;
    for (index, share) in found.shares[0].iter().enumerate() {
        let lost = [0, 1, 2].map(|case| found.shares[case][index].lost);
        let [low, normal, high] = lost.map(bare);
        if [&low, &normal, &high].iter().all(|lost| *lost == "0.0") {
            continue;
        }
        let part = percent(share.lost / found.at_rest[0]);
        let words = format!(": L {low}, N {normal}, H {high}, Share {part}");
        let told = driver.harness.query_all_by(|node| {
            let said = node.value().or_else(|| node.label());
            said.is_some_and(|said| said.ends_with(&words))
        });
        assert!(told.count() > 0, "{words}");
        rows += 1;
    }
    assert!(rows > 3);
    // The picture of heads and the points behind it.
    click(&mut driver, "Head and ground");
    click(&mut driver, "The same in numbers");
    let last = found.points.last().unwrap();
    let [low, normal, high] = last.pressure.map(bare);
    let words = format!("L {low}, N {normal}, H {high}, Head L");
    let told = driver.harness.query_all_by(|node| {
        let said = node.value().or_else(|| node.label());
        said.is_some_and(|said| said.starts_with(&place.name) && said.contains(&words))
    });
    assert!(told.count() > 0, "{words}");
}

#[test]
fn the_flows_of_a_zone_are_told_with_their_marks() {
    let mut driver = Driver::on("cedarbrake-hollow");
    let before = driver.design();
    select(&mut driver, "Z1");
    click(&mut driver, "Emitter flows");
    let app = driver.app();
    let units = app.plan().site.units;
    let zone = &app.analysis().zones[&id("Z1")];
    let spreads = flow_spreads(app.plan(), zone, SupplyCase::Low, units);
    let spread = &spreads[0];
    for (name, flow) in [
        ("Mean", spread.mean),
        ("Low quarter", spread.low_quarter),
        ("Rated", spread.rated),
    ] {
        let words = format!("{name}: {}", units.emitter_flow(flow));
        assert!(says(&driver, &words), "{words}");
    }
    click(&mut driver, "The same in numbers");
    for heap in &spread.heaps {
        let middle = units.emitter_flow((heap.from + heap.to) / 2.0);
        let words = format!(
            "{}: Devices {}",
            middle.trim_end_matches(" gph"),
            heap.count
        );
        assert!(says(&driver, &words), "{words}");
    }
    assert_eq!(driver.design(), before, "looking changes nothing");
}

#[test]
fn a_zone_tells_its_read_offs_and_how_each_comes_about() {
    for name in ["larkmead-close", "cedarbrake-hollow"] {
        let mut driver = Driver::on(name);
        select(&mut driver, "Z1");
        let app = driver.app();
        let units = app.plan().site.units;
        let read = readings(app.plan(), app.analysis(), id("Z1")).unwrap();
        for sentence in zone_run_sentences(app.plan(), &read, units) {
            assert!(says(&driver, &sentence), "{sentence}");
        }
        let shares = read
            .even
            .each_ref()
            .map(|even| even.as_ref().unwrap().emission);
        let number = |share: f64| percent(share).replace(" %", "");
        let words = format!(
            "Emission uniformity, %: L {}, N {}, H {}",
            number(shares[0]),
            number(shares[1]),
            number(shares[2])
        );
        assert!(says(&driver, &words), "{words}");

        let expected = working(app.plan(), app.analysis(), "Z1", SupplyCase::Low).unwrap();
        click(&mut driver, "How this comes about: Emission uniformity, %");
        assert!(says(&driver, &working_title(&expected)));
        let words = working_words(&expected, units);
        let step = words
            .iter()
            .find(|step| step.what == "Emission uniformity")
            .unwrap();
        assert!(says(&driver, &format!("{}: {}", step.what, step.result)));
        assert!(says(&driver, step.formula));
        driver.key(Key::Escape);
        assert!(!says(&driver, step.formula), "Escape closes it");
        // Each of the others opens too, and every sign in it can be drawn.
        for label in [
            "Takes, gpm",
            "Left at supply, psi",
            "Low quarter, %",
            "Statistical, %",
            "Christiansen, %",
            "Flow variation, %",
            "Surge",
        ] {
            click(&mut driver, &format!("How this comes about: {label}"));
            assert!(says(&driver, &working_title(&expected)), "{label}");
            driver.key(Key::Escape);
        }
    }
}

#[test]
fn a_run_tells_how_its_loss_comes_about_in_the_units_and_case_shown() {
    let mut driver = Driver::on("cedarbrake-hollow");
    select(&mut driver, "P4");
    driver.key(Key::C);
    let case = SupplyCase::Normal;
    let app = driver.app();
    let expected = working(app.plan(), app.analysis(), "P4", case).unwrap();
    let words = working_words(&expected, app.plan().site.units);
    let shown = words[0].result.split(" (").next().unwrap();
    let loss = shown.strip_prefix("Δp = ").unwrap();
    assert!(says(&driver, &format!("Lost in it: {loss}")), "{loss}");
    click(&mut driver, "How this comes about: Lost in it");
    assert!(says(&driver, &working_title(&expected)));
    let of_loss = words.iter().filter(|step| step.number == words[0].number);
    for step in of_loss {
        assert!(says(&driver, &format!("{}: {}", step.what, step.result)));
        for input in &step.inputs {
            let is_said = driver.harness.query_all_by(|node| {
                let said = node.value().or_else(|| node.label());
                said.is_some_and(|said| said.trim() == input)
            });
            assert!(is_said.count() > 0, "{input}");
        }
    }
}
