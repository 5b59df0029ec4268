//! Moving, adding, cancelling, undoing.

use std::collections::BTreeMap;
use std::sync::Arc;

use aubergine_core::analysis::Analysis;
use aubergine_core::file;
use aubergine_core::geometry::PlanPoint;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::{Id, Kind};
use aubergine_core::layout::{bed_outline, port_place};
use aubergine_core::model::{End, Pipe, Plan, PortRef};
use eframe::egui::{Key, Modifiers, vec2};
use egui_kittest::kittest::Queryable;

use crate::driver::{Driver, from_file, pressure};

const B3: Id = Id::new(Kind::Bed, 3);
const P9: Id = Id::new(Kind::Pipe, 9);
const THREE_FEET_M: f64 = 0.9144;

#[test]
fn a_bed_moves_with_its_lines_and_its_pipe_in_one_step() {
    for name in ["larkmead-close", "cedarbrake-hollow"] {
        move_bed_three_feet(name);
    }
}

/// Drags bed B3 three feet to the right, looks at what follows, and takes it back.
fn move_bed_three_feet(name: &str) {
    let mut driver = Driver::on(name);
    let before = driver.design();
    let bed_before = driver.app().plan().objects.beds[&B3].at;
    let plan_before = driver.app().plan().clone();
    let before_analysis = driver.app().analysis().clone();
    let from = driver.rect("Bed B3").center();
    let to = from + vec2(driver.px(THREE_FEET_M), 0.0);
    driver.drag(from, to);

    let app = driver.app();
    assert_eq!(app.history().num_steps(), 1);
    assert_eq!(app.history().undo_label(), Some("Move B3"));
    let moved = app.plan().objects.beds[&B3].at;
    assert!(
        (moved.x - bed_before.x - THREE_FEET_M).abs() < 1e-9,
        "{name}: {moved:?}"
    );
    assert!((moved.y - bed_before.y).abs() < 1e-9);
    // What lies in it follows: its emitters, the part of a line drawn by hand, the end of the run that feeds it.
    let by = moved - bed_before;
    let carried = match app.analysis().beds.get(&B3) {
        Some(layout) => {
            let old = &before_analysis.beds[&B3];
            assert!((layout.inlet.x - old.inlet.x - by.x).abs() < 1e-9);
            let objects = &app.plan().objects;
            let joined = PortRef::new(B3, "in");
            let port = port_place(objects, &app.plan().catalog, &joined).unwrap();
            let feeding = |run: &&Arc<Pipe>| run.end == End::At(joined.clone());
            let run = objects.pipes.values().find(feeding).unwrap();
            assert!(run.vertices.0.last().unwrap().distance(port).metres() < 1e-9);
            layout.rows.len()
        }
        None => {
            let bed = bed_outline(&plan_before.objects.beds[&B3]);
            let lines = app.plan().objects.lines.iter();
            let serving = lines.filter(|(_, line)| line.serves.contains(&B3));
            serving
                .map(|(id, line)| {
                    let old = &plan_before.objects.lines[id].vertices.0;
                    let corners = line.vertices.0.iter().zip(old);
                    corners
                        .filter(|(new, old)| {
                            let is_inside = bed.distance_to_point(**old).metres() < 1e-3;
                            let expected = if is_inside { **old + by } else { **old };
                            assert!(new.distance(expected).metres() < 1e-9, "{name} {id}");
                            is_inside
                        })
                        .count()
                })
                .sum()
        }
    };
    assert!(carried >= 4, "{name}: {carried} lines or corners follow");

    // What the screen says is what the saved file says, to the last digit shown.
    let (document, analysis) = from_file(app.document());
    let pressures = |design: &Plan, now: &Analysis| -> BTreeMap<Id, String> {
        let objects = &design.objects;
        let beds = objects.beds.keys().map(|id| (*id, "in", "inlet"));
        let lines = objects.lines.keys().map(|id| (*id, "start", "start"));
        let pipes = objects.pipes.keys().map(|id| (*id, "end", "end"));
        let places = beds.chain(lines).chain(pipes);
        places
            .filter_map(|(id, port, word)| {
                let found = pressure(now, &format!("{id}.{port}"), SupplyCase::Low)?;
                Some((id, format!("{word} {}", design.site.units.pressure(found))))
            })
            .collect()
    };
    let expected = pressures(&document.design, &analysis);
    assert!(expected.len() >= 6, "{name}: {expected:?}");
    for (id, words) in &expected {
        let shown = driver.words_of(*id);
        assert!(shown.contains(words), "{shown}, expected {words}");
    }

    driver.command(Key::Z);
    assert_eq!(driver.design(), before);
    assert_eq!(driver.app().history().num_steps(), 0);
    driver
        .harness
        .key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    driver.harness.run();
    assert_eq!(driver.app().plan().objects.beds[&B3].at, moved);
}

#[test]
fn numbers_and_places_change_in_the_same_frame() {
    let mut driver = Driver::on("cedarbrake-hollow");
    let bed = driver
        .app()
        .plan()
        .objects
        .beds
        .keys()
        .next()
        .copied()
        .unwrap();
    let from = driver.rect(&format!("Bed {bed}")).center();
    driver.press(from);
    for step in 1..=5u8 {
        let to = from + vec2(f32::from(step) * 23.0, f32::from(step) * -11.0);
        driver.harness.event(eframe::egui::Event::PointerMoved(to));
        driver.harness.step();
        driver.harness.step();
        let (_, fresh) = from_file(driver.app().document());
        for case in SupplyCase::ALL {
            for zone in fresh.zones.keys() {
                let port = format!("{}.out", fresh.zones[zone].valve);
                assert_eq!(
                    pressure(&fresh, &port, case),
                    pressure(driver.app().analysis(), &port, case)
                );
            }
        }
    }
}

#[test]
fn escape_puts_back_what_was_dragged() {
    let mut driver = Driver::on("larkmead-close");
    let before = driver.design();
    let from = driver.rect("Bed B3").center();
    driver.press(from);
    driver.move_to(from, from + vec2(140.0, -60.0));
    assert_ne!(driver.design(), before);
    driver.key(Key::Escape);
    assert_eq!(driver.design(), before);
    driver.move_to(from + vec2(140.0, -60.0), from + vec2(200.0, 0.0));
    driver.release(from + vec2(200.0, 0.0));
    assert_eq!(driver.design(), before);
    assert_eq!(driver.app().history().num_steps(), 0);
}

#[test]
fn a_bed_is_dragged_from_the_strip_and_filled() {
    let mut driver = Driver::on("larkmead-close");
    let place = driver.place(PlanPoint::new(2.6, 7.2));
    let strip = driver.rect("Bed, drag onto the plan").center();
    driver.drag(strip, place);
    let new = Id::new(Kind::Bed, 7);
    assert!(driver.app().plan().objects.beds.contains_key(&new));
    assert_eq!(driver.app().history().num_steps(), 1);
    assert_eq!(driver.app().selected_one(), Some(new));

    let lines = driver.rect("Emitter line, drag onto the plan").center();
    driver.drag(lines, place);
    assert!(driver.app().plan().objects.beds[&new].fill.is_some());
    assert_eq!(
        driver.app().history().undo_label(),
        Some("Fill B7 with emitter lines")
    );
}

#[test]
fn a_device_from_the_strip_goes_into_the_run_beneath() {
    let mut driver = Driver::on("larkmead-close");
    let place = driver.place(PlanPoint::new(8.0, 4.81584));
    let strip = driver.rect("Isolation valve, drag onto the plan").center();
    driver.drag(strip, place);
    let app = driver.app();
    assert_eq!(
        app.history().undo_label(),
        Some("Insert isolation valve into P2")
    );
    let valve = Id::new(Kind::Device, 13);
    let front = &app.plan().objects.pipes[&Id::new(Kind::Pipe, 2)];
    assert_eq!(front.end, End::At(PortRef::new(valve, "in")));
    // The other zones keep their water.
    let port = "D6.out";
    assert!(
        pressure(app.analysis(), port, SupplyCase::Low)
            .is_some_and(|pressure| pressure.psi() > 30.0)
    );
}

#[test]
fn the_end_of_a_run_is_taken_off_and_joined_again() {
    let mut driver = Driver::on("larkmead-close");
    let before = driver.design();
    let end = *driver.app().plan().objects.pipes[&P9]
        .vertices
        .0
        .last()
        .unwrap();
    // Selected by a click at its middle, beside its ends.
    let start = driver.app().plan().objects.pipes[&P9].vertices.0[0];
    let middle = driver.place(PlanPoint::new(start.x, f64::midpoint(start.y, end.y)));
    driver.click(middle);
    assert_eq!(driver.app().selected_one(), Some(P9));
    let (from, away) = (driver.place(end), driver.place(PlanPoint::new(7.1, 2.4)));
    driver.drag(from, away);
    assert_eq!(driver.app().plan().objects.pipes[&P9].end, End::Open);
    assert!(pressure(driver.app().analysis(), "B3.in", SupplyCase::Low).is_none());
    driver.drag(away, from);
    assert_eq!(
        driver.app().plan().objects.pipes[&P9].end,
        End::At(PortRef::new(B3, "in"))
    );
    assert_eq!(driver.design(), before);
    assert_eq!(driver.app().history().num_steps(), 2);
}

#[test]
fn two_waters_are_not_joined_and_the_reason_is_said() {
    let mut driver = Driver::on("larkmead-close");
    driver.click(driver.place(PlanPoint::new(5.6388, 1.1)));
    assert_eq!(driver.app().selected_one(), Some(P9));
    let end = *driver.app().plan().objects.pipes[&P9]
        .vertices
        .0
        .last()
        .unwrap();
    // The capped end of the drinking water run is taken; its side is near.
    let (from, house) = (driver.place(end), driver.place(PlanPoint::new(0.53, 11.43)));
    driver.drag(from, house);
    let said = driver
        .harness
        .query_by_label_contains("carry different waters")
        .is_some();
    assert!(said, "{:?}", driver.app().plan().objects.pipes[&P9].end);
    let water = driver.app().plan().objects.pipes[&P9].water;
    assert_eq!(water, Id::new(Kind::Water, 1));
    assert!(
        !matches!(&driver.app().plan().objects.pipes[&P9].end, End::At(port) if port.object.kind == Kind::Pipe)
    );
}

#[test]
fn arrow_keys_move_what_is_selected() {
    let mut driver = Driver::on("larkmead-close");
    let at = driver.rect("Bed B3").center();
    driver.click(at);
    let before = driver.app().plan().objects.beds[&B3].at;
    driver.key(Key::ArrowRight);
    driver.key(Key::ArrowRight);
    let after = driver.app().plan().objects.beds[&B3].at;
    assert!(
        (after.x - before.x - 2.0 * 0.0254).abs() < 1e-9,
        "{before:?} {after:?}"
    );
    assert_eq!(driver.app().history().num_steps(), 2);
    driver.key(Key::Delete);
    assert!(!driver.app().plan().objects.beds.contains_key(&B3));
}

#[test]
fn nothing_happens_while_nothing_is_done() {
    let mut driver = Driver::on("larkmead-close");
    let (revision, drawn) = (
        driver.app().history().revision(),
        driver.app().times_drawn(),
    );
    let bytes = file::save(driver.app().document());
    driver.harness.run_steps(60);
    assert_eq!(driver.app().history().revision(), revision);
    assert_eq!(driver.app().times_drawn(), drawn);
    assert_eq!(file::save(driver.app().document()), bytes);
    assert!(driver.app().queue().take().is_empty());
    // And no frame is asked for.
    assert_eq!(driver.harness.run(), 1);
}

#[test]
fn an_empty_yard_gets_a_supply_a_bed_and_water() {
    use aubergine::window::{Action, Command};
    let mut driver = Driver::with(aubergine_core::model::Document::default(), None);
    let place = driver.place(PlanPoint::new(1.0, 9.0));
    let from = driver.rect("Supply, drag onto the plan").center();
    driver.drag(from, place);
    let supply = Id::new(Kind::Supply, 1);
    let at = driver.app().plan().objects.supplies[&supply].at;
    assert!(
        driver
            .app()
            .plan()
            .objects
            .waters
            .contains_key(&Id::new(Kind::Water, 1))
    );
    // A run from the supply, point by point, to a bed that is filled.
    let bed = driver.place(PlanPoint::new(6.0, 4.0));
    driver.drag(driver.rect("Bed, drag onto the plan").center(), bed);
    driver.drag(
        driver.rect("Emitter line, drag onto the plan").center(),
        bed,
    );
    let objects = &driver.app().plan().objects;
    let inlet = port_place(
        objects,
        &driver.app().plan().catalog,
        &"B1.in".parse().unwrap(),
    )
    .unwrap();
    driver.app().queue().push(Action::Run(Command::RunTool));
    driver.harness.run();
    driver.click(driver.place(at));
    driver.click(driver.place(PlanPoint::new(at.x, inlet.y)));
    driver.click(driver.place(inlet));
    let run = &driver.app().plan().objects.pipes[&Id::new(Kind::Pipe, 1)];
    assert_eq!(run.start, End::At("S1.out".parse().unwrap()));
    assert_eq!(run.end, End::At("B1.in".parse().unwrap()));
    // A zone valve in the run opens a zone, and the bed has pressure.
    driver.key(Key::Escape);
    driver.key(Key::Escape);
    let middle = driver.place(PlanPoint::new(at.x, f64::midpoint(at.y, inlet.y)));
    driver.drag(
        driver.rect("Zone valve, drag onto the plan").center(),
        middle,
    );
    assert_eq!(driver.app().plan().objects.zones.len(), 1);
    let found = pressure(driver.app().analysis(), "B1.in", SupplyCase::Low).unwrap();
    assert!(found.psi() > 20.0, "{found:?}");
}

#[test]
fn space_and_a_drag_move_the_sheet_and_nothing_else() {
    let mut driver = Driver::on("larkmead-close");
    let before = driver.app().camera().centre;
    let from = driver.rect("Bed B3").center();
    driver.harness.key_down(Key::Space);
    driver.harness.step();
    driver.drag(from, from + vec2(80.0, 0.0));
    driver.harness.key_up(Key::Space);
    driver.harness.run();
    let after = driver.app().camera().centre;
    assert!(after.x < before.x - 0.5, "{before:?} {after:?}");
    assert_eq!(driver.app().history().num_steps(), 0);
}

#[test]
fn a_crop_is_found_by_its_name_and_no_shortcut_fires_meanwhile() {
    let mut driver = Driver::on("larkmead-close");
    driver.click(driver.rect("Bed B3").center());
    let before = driver.design();
    driver.harness.get_by_label("Add a crop").click();
    driver.harness.run();
    driver.key(Key::Delete);
    driver.key(Key::ArrowDown);
    driver.key(Key::ArrowUp);
    driver.key(Key::C);
    assert_eq!(driver.design(), before);
    assert!(
        driver
            .harness
            .query_by_label_contains("low supply  ·")
            .is_some()
    );
    // The field has the keyboard, and a click into it leaves the list open.
    let field = driver.rect("Find a crop").center();
    driver.click(field);
    assert!(driver.harness.get_by_label("Find a crop").is_focused());
    driver
        .harness
        .event(eframe::egui::Event::Text("carrot".to_owned()));
    driver.harness.run();
    driver.key(Key::Enter);
    let plantings = &driver.app().plan().objects.beds[&B3].plantings;
    assert_eq!(
        plantings.last().map(|last| last.crop.as_str()),
        Some("carrot")
    );
    assert_eq!(driver.app().history().num_steps(), 1);
    assert!(driver.harness.query_by_label("Find a crop").is_none());
    // With the list closed the keys are shortcuts again.
    driver.key(Key::Delete);
    assert!(!driver.app().plan().objects.beds.contains_key(&B3));
}

#[test]
fn a_run_let_go_in_a_bed_joins_its_inlet_and_one_near_a_free_end_goes_on_from_there() {
    use aubergine::window::{Action, Command};
    let mut driver = Driver::with(aubergine_core::model::Document::default(), None);
    let supply = driver.place(PlanPoint::new(1.0, 9.0));
    driver.drag(driver.rect("Supply, drag onto the plan").center(), supply);
    let bed = driver.place(PlanPoint::new(8.0, 5.0));
    driver.drag(driver.rect("Bed, drag onto the plan").center(), bed);
    driver.drag(
        driver.rect("Emitter line, drag onto the plan").center(),
        bed,
    );
    let draw = |driver: &mut Driver, points: &[PlanPoint]| {
        driver.app().queue().push(Action::Run(Command::RunTool));
        driver.harness.run();
        for point in points {
            driver.click(driver.place(*point));
        }
        driver.key(Key::Enter);
        driver.key(Key::Escape);
        driver.key(Key::Escape);
    };
    let from = PlanPoint::new(1.0, 9.0);
    draw(&mut driver, &[from, PlanPoint::new(4.0, 9.0)]);
    let open = &driver.app().plan().objects.pipes[&Id::new(Kind::Pipe, 1)];
    assert_eq!(open.end, End::Open);
    // Twenty pixels short of the free end of the first run, then the middle of the bed.
    let short = 20.0 / driver.app().camera().px_per_m;
    // This one is pulled in one stroke.
    let on_it = driver.place(PlanPoint::new(4.0 - short, 9.0));
    let in_bed = driver.place(PlanPoint::new(8.0, 5.0));
    driver.app().queue().push(Action::Run(Command::RunTool));
    driver.harness.run();
    driver.drag(on_it, in_bed);
    let second = &driver.app().plan().objects.pipes[&Id::new(Kind::Pipe, 2)];
    assert_eq!(second.start, End::At("P1.end".parse().unwrap()));
    assert_eq!(second.end, End::At("B1.in".parse().unwrap()));
    assert!(
        driver.app().plan().objects.pipes[&Id::new(Kind::Pipe, 1)]
            .taps
            .is_empty()
    );
}
