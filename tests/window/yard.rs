//! A yard is drawn from nothing: what stands in it, drinking water, corners that are dragged.

use aubergine::window::{Action, GROUPS, Stock};
use aubergine_core::geometry::PlanPoint;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::{Id, Kind};
use aubergine_core::layout::bed_outline;
use aubergine_core::model::{
    DeviceKind, Document, End, FeatureKind, MarkKind, PipeRole, PortRef, WaterKind,
};
use aubergine_core::units::Length;
use eframe::egui::{Key, Modifiers, vec2};
use egui_kittest::kittest::Queryable;

use crate::driver::{Driver, from_file, pressure};

fn at(driver: &Driver, x: f64, y: f64) -> eframe::egui::Pos2 {
    driver.place(PlanPoint::new(x, y))
}

/// Drags a thing of the strip onto a place of the plan.
fn drop(driver: &mut Driver, words: &str, x: f64, y: f64) {
    let from = driver
        .rect(&format!("{words}, drag onto the plan"))
        .center();
    let to = at(driver, x, y);
    driver.drag(from, to);
}

fn type_into(driver: &mut Driver, label: &str, words: &str) {
    driver.harness.get_by_label(label).focus();
    driver.harness.run();
    driver
        .harness
        .key_press_modifiers(Modifiers::COMMAND, Key::A);
    driver.harness.get_by_label(label).type_text(words);
    driver.key(Key::Enter);
}

#[test]
fn everything_of_the_strip_can_be_put_into_an_empty_plan() {
    let mut driver = Driver::with(Document::default(), None);
    for (_, group) in GROUPS {
        for stock in group {
            let before = driver.app().plan().objects.len();
            let queue = driver.app().queue();
            queue.push(Action::PutDownInTheMiddle(*stock));
            driver.harness.run();
            let after = driver.app().plan().objects.len();
            // An emitter line dropped on a bed fills it, a second water brings its supply along.
            assert!(after > before || *stock == Stock::EmitterLine, "{stock:?}");
        }
    }
    let (document, _) = from_file(driver.app().document());
    assert!(document.design.objects == driver.app().plan().objects);
}

#[test]
fn a_yard_grows_from_an_empty_plan() {
    let mut driver = Driver::with(Document::default(), None);
    type_into(&mut driver, "Plot width", "60 ft");
    type_into(&mut driver, "Depth", "40 ft");
    let plot = driver.app().plan().site.outline.area().square_metres();
    let wanted = Length::from_feet(60.0).metres() * Length::from_feet(40.0).metres();
    assert!((plot - wanted).abs() < 1e-6, "{plot}");
    driver.key(Key::F);

    drop(&mut driver, "Building", 9.0, 9.0);
    drop(&mut driver, "Entry", 3.0, 1.0);
    drop(&mut driver, "Sign", 3.5, 2.0);
    drop(&mut driver, "Well", 15.0, 3.0);
    drop(&mut driver, "Tree", 6.0, 3.0);
    let objects = &driver.app().plan().objects;
    let kind = |id: &Id| objects.features[id].kind;
    assert_eq!(
        objects.features.keys().map(kind).next(),
        Some(FeatureKind::Building)
    );
    let marks: Vec<_> = objects.marks.values().map(|mark| mark.kind).collect();
    assert_eq!(marks, [MarkKind::Entry, MarkKind::DomesticWell]);
    let (entry, _) = objects.marks.first_key_value().unwrap();
    let (sign, post) = objects.signs.first_key_value().unwrap();
    // A sign beside an entry stands at it.
    assert_eq!(post.entry, Some(*entry));
    assert_eq!(objects.trees.len(), 1);

    let sign = *sign;
    driver.app().queue().push(Action::Select {
        id: sign,
        add: false,
        show: false,
    });
    driver.harness.run();
    type_into(&mut driver, "Words", "RECYCLED WATER / DO NOT DRINK");
    type_into(&mut driver, "Languages", "en, es");
    let post = &driver.app().plan().objects.signs[&sign];
    assert_eq!(post.words, ["RECYCLED WATER", "DO NOT DRINK"]);
    assert_eq!(post.languages, ["en", "es"]);
}

#[test]
fn a_run_carries_the_water_it_begins_at() {
    let mut driver = Driver::with(Document::default(), None);
    drop(&mut driver, "Supply", 2.0, 5.0);
    drop(&mut driver, "Drinking water", 2.0, 2.0);
    let waters = &driver.app().plan().objects.waters;
    let kinds: Vec<_> = waters.values().map(|water| water.kind).collect();
    assert_eq!(kinds, [WaterKind::Reclaimed, WaterKind::Potable]);
    let potable = *waters.last_key_value().unwrap().0;

    // Drawn from the drinking-water supply, and a backflow device put into it.
    driver.key(Key::P);
    for (x, y) in [(2.0, 2.0), (8.0, 2.0)] {
        let to = at(&driver, x, y);
        driver.click(to);
    }
    driver.key(Key::Enter);
    let (id, run) = {
        let pipes = &driver.app().plan().objects.pipes;
        let (id, run) = pipes.first_key_value().unwrap();
        (*id, run.clone())
    };
    assert_eq!(run.water, potable);
    assert_eq!(run.role, PipeRole::Service);
    assert!(!run.purple);
    let supply = Id::new(Kind::Supply, 2);
    assert_eq!(run.start, End::At(PortRef::new(supply, "out")));
    drop(&mut driver, "Backflow device", 5.0, 2.0);
    let objects = &driver.app().plan().objects;
    let (_, device) = objects.devices.first_key_value().unwrap();
    assert_eq!(device.kind, DeviceKind::BackflowReducedPressure);
    assert_eq!(device.water, potable);
    let (device, _) = objects.devices.first_key_value().unwrap();
    assert_eq!(objects.pipes[&id].end, End::At(PortRef::new(*device, "in")));
}

#[test]
fn a_corner_reshapes_a_bed_and_its_lines_in_one_step() {
    let mut driver = Driver::on("larkmead-close");
    let before = driver.design();
    let bed = Id::new(Kind::Bed, 3);
    driver.click(driver.rect("Bed B3").center());
    let was = bed_outline(&driver.app().plan().objects.beds[&bed]);
    let emitters = driver.app().analysis().beds[&bed].rows.len();
    // The corner on the right, at the top.
    let corner = was
        .0
        .iter()
        .copied()
        .max_by(|a, b| (a.x + a.y).total_cmp(&(b.x + b.y)))
        .unwrap();
    let from = driver.place(corner);
    let to = from + vec2(driver.px(0.9144), 0.0);
    driver.drag(from, to);
    assert_eq!(driver.app().history().num_steps(), 1);
    assert_eq!(
        driver.app().history().undo_label(),
        Some("Move a corner of B3")
    );
    let now = bed_outline(&driver.app().plan().objects.beds[&bed]);
    let (_, right) = now.span(aubergine_core::geometry::PlanVector::new(1.0, 0.0));
    assert!((right - corner.x - 0.9144).abs() < 0.08, "{right}");
    assert!(now.area() > was.area());
    assert!(driver.app().analysis().beds[&bed].rows.len() > emitters);
    let (_, analysis) = from_file(driver.app().document());
    assert_eq!(
        pressure(&analysis, "B3.in", SupplyCase::Low),
        pressure(driver.app().analysis(), "B3.in", SupplyCase::Low)
    );
    driver.command(Key::Z);
    assert_eq!(driver.design(), before);
}
