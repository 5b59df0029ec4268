//! Filling a lawn with heads: shown first, put down by one key, taken back by one step, and seen in the coverage view.

use aubergine_core::coverage::Evenness;
use aubergine_core::geometry::{PlanPoint, Polygon};
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::{Id, Kind};
use aubergine_core::layout::bed_outline;
use aubergine_core::units::Length;
use eframe::egui::Key;
use egui_kittest::kittest::Queryable;
use std::sync::Arc;

use crate::driver::{Driver, sample};

const LAWN: Id = Id::new(Kind::Bed, 6);

#[test]
fn a_lawn_is_filled_with_heads_by_one_key() {
    let mut document = sample("larkmead-close");
    let lawn = Arc::make_mut(document.design.objects.beds.get_mut(&LAWN).unwrap());
    // Without lines the lawn is free for heads; two throws by three.
    lawn.fill = None;
    let throw = Length::from_feet(12.0);
    lawn.outline = Polygon::rectangle(PlanPoint::default(), throw * 3.0, throw * 2.0);
    document.design.objects.pipes.retain(|_, pipe| {
        let ends = [&pipe.start, &pipe.end];
        !ends
            .iter()
            .any(|end| format!("{end:?}").contains("Bed, number: 6"))
    });
    let mut driver = Driver::with(document, None);
    let before = driver.design();
    let num_heads = driver.app().plan().objects.emissions.len();
    let middle = driver.rect("Lawn B6").center();
    driver.click(middle);
    driver.harness.get_by_label("Fill with heads").click();
    driver.harness.run();
    // 4 corners, 6 along the edges, 2 inside; shown, and nothing changed yet.
    driver.harness.get_by_label_contains("12 heads");
    assert_eq!(driver.design(), before);
    driver.key(Key::Escape);
    assert_eq!(driver.design(), before);
    driver.harness.get_by_label("Fill with heads").click();
    driver.harness.run();
    driver.key(Key::Enter);

    let app = driver.app();
    assert_eq!(app.history().undo_label(), Some("Fill B6 with heads"));
    let objects = &app.plan().objects;
    assert_eq!(objects.emissions.len(), num_heads + 12);
    let outline = bed_outline(&objects.beds[&LAWN]);
    let heads: Vec<_> = objects
        .emissions
        .values()
        .filter(|head| head.serves == [LAWN])
        .collect();
    assert_eq!(heads.len(), 12);
    // Flow in proportion to the arc, and no sector over the edge.
    for head in &heads {
        let part = app.plan().catalog.emission(&head.part).unwrap();
        let full = part.flow * (360.0 / head.arc_sweep.degrees());
        assert!((full.gallons_per_minute() - 1.9).abs() < 1e-4, "{head:?}");
        let sector = Polygon::sector(head.at, throw, head.arc_from, head.arc_sweep);
        let over = sector.outside(&outline) / sector.area();
        assert!(over < 0.01, "{over} {head:?}");
    }
    let map = app.analysis().sprayed[&LAWN]
        .in_case(SupplyCase::Low)
        .unwrap();
    assert_eq!(
        Evenness::of(map.low_quarter),
        Evenness::Good,
        "{}",
        map.low_quarter
    );
    assert!(
        map.off_share() < 0.01 && map.spots.is_empty(),
        "{:?}",
        map.spots
    );

    driver.key(Key::Num5);
    driver
        .harness
        .get_by_label_contains("Water of sprays on the ground");
    driver.command(Key::Z);
    assert_eq!(driver.design(), before);
}
