//! A terrace is put down, its level typed, and the pressures of what lies on it follow.

use std::sync::Arc;

use aubergine::window::{Action, Stock};
use aubergine_core::geometry::Polygon;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::{Id, Kind};
use aubergine_core::layout::bed_outline;
use aubergine_core::model::{FeatureKind, Object};
use aubergine_core::units::Length;
use eframe::egui::Key;
use egui_kittest::kittest::Queryable;

use crate::driver::{Driver, pressure};

#[test]
fn a_terrace_lifts_the_bed_that_lies_on_it() {
    let mut driver = Driver::on("larkmead-close");
    let before = driver.design();
    driver
        .app()
        .queue()
        .push(Action::PutDownInTheMiddle(Stock::Area(
            FeatureKind::Terrace,
        )));
    driver.harness.run();
    let (id, terrace) = {
        let features = &driver.app().plan().objects.features;
        let (id, terrace) = features.last_key_value().unwrap();
        (*id, Arc::clone(terrace))
    };
    assert_eq!(terrace.kind, FeatureKind::Terrace);
    // Level with the ground until somebody tells its level: nothing changes by it.
    assert_eq!(terrace.level, Some(Length::ZERO));
    assert_eq!(driver.app().selected_one(), Some(id));

    // Under a bed of its own.
    let bed = Id::new(Kind::Bed, 4);
    let under: Polygon = bed_outline(&driver.app().plan().objects.beds[&bed]);
    let mut moved = (*terrace).clone();
    moved.outline = under;
    driver.app().queue().push(Action::Edit {
        label: "Move it".to_owned(),
        edit: aubergine_core::edit::Edit::Put {
            id,
            object: Object::Feature(Arc::new(moved)),
        },
    });
    driver.harness.run();
    let at = |driver: &Driver| {
        let found = pressure(driver.app().analysis(), "B4.in", SupplyCase::Low);
        found.unwrap().kilopascals()
    };
    let level = at(&driver);
    let field = driver.harness.get_by_label("Level");
    field.focus();
    driver.harness.run();
    driver
        .harness
        .key_press_modifiers(eframe::egui::Modifiers::COMMAND, Key::A);
    driver.harness.get_by_label("Level").type_text("2 ft");
    driver.harness.key_press(Key::Enter);
    driver.harness.run();
    let told = driver.app().plan().objects.features[&id].level;
    assert_eq!(told, Some(Length::from_feet(2.0)));
    // 2 ft of water.
    let less = level - at(&driver);
    assert!((less - 0.6096 * 9.789).abs() < 0.01, "{less}");
    for _ in 0..3 {
        driver.command(Key::Z);
    }
    assert_eq!(driver.design(), before);
}
