//! The drawings of both samples: letters keep off each other in every view and at every size, small marks stay inside
//! their areas, and what rests on an assumption says so.

use acceptance::{CEDARBRAKE, SALTBUSH, SAMPLES, sample};
use aubergine_core::analysis::Analyzer;
use aubergine_core::drawing::hatch::{HatchStroke, RING_MM, strokes};
use aubergine_core::drawing::labels::{self, Frame, Output, Placed};
use aubergine_core::drawing::sheet::{SheetInput, single_sheet};
use aubergine_core::drawing::svg::{LABEL_PT, MM, SYMBOL_PT};
use aubergine_core::drawing::theme::{Theme, ink};
use aubergine_core::drawing::{Drawing, Footing, Role, Shape, View, ViewOptions, build, footing};
use aubergine_core::geometry::PlanPoint;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::model::{Document, WaterKind};

const PAPER: Output = Output {
    letters: LABEL_PT,
    mm: MM,
    symbol: SYMBOL_PT,
    seen: None,
};
const WINDOW: Output = Output {
    letters: 12.0,
    mm: 3.0,
    symbol: 22.0,
    seen: None,
};

fn drawn(document: &Document, view: View) -> Drawing {
    let analysis = Analyzer::default().update(&document.design);
    let options = ViewOptions {
        view,
        case: SupplyCase::Low,
        units: document.design.site.units,
    };
    build(&document.design, &document.review, &analysis, options)
}

/// The letters of a drawing whose plan is `wide` on the output.
fn placed(drawing: &Drawing, wide: f64, output: Output) -> Placed<'_> {
    let (low, high) = drawing.bounds().unwrap();
    let scale = wide / (high.x - low.x);
    let to_output = |point: PlanPoint| ((point.x - low.x) * scale, (high.y - point.y) * scale);
    labels::place(drawing, to_output, output)
}

#[test]
fn no_two_labels_of_the_samples_overlap_in_any_view_at_any_size() {
    for name in SAMPLES {
        let document = sample(name);
        for view in View::ALL {
            let drawing = drawn(&document, view);
            for (wide, output) in [
                (560.0, PAPER),
                (870.0, PAPER),
                (260.0, WINDOW),
                (520.0, WINDOW),
                (1400.0, WINDOW),
            ] {
                let placed = placed(&drawing, wide, output);
                assert!(placed.texts.len() > 5, "{name} {view:?} {wide}");
                let frames: Vec<Frame> = placed
                    .texts
                    .iter()
                    .map(|text| labels::frame_of(text, output.letters))
                    .collect();
                for (index, frame) in frames.iter().enumerate() {
                    let other = frames[..index]
                        .iter()
                        .position(|other| other.overlaps(frame));
                    let said = |index: usize| &placed.texts[index].text;
                    let pair = other.map(|other| (said(other), said(index)));
                    assert_eq!(pair, None, "{name} {view:?} {wide}");
                }
            }
        }
    }
}

#[test]
fn every_bed_and_device_of_the_samples_keeps_its_name_on_paper() {
    for name in SAMPLES {
        let document = sample(name);
        let drawing = drawn(&document, View::Water);
        // The garden of 128 beds has all its names on the largest sheet only.
        let wide = match name {
            CEDARBRAKE => 560.0,
            SALTBUSH => 1600.0,
            _ => 870.0,
        };
        let placed = placed(&drawing, wide, PAPER);
        let names = drawing
            .marks()
            .filter(|mark| mark.role == Role::Name && matches!(mark.shape, Shape::Text { .. }));
        for mark in names {
            let subject = mark.subject.unwrap();
            let is_placed = placed
                .texts
                .iter()
                .any(|text| text.mark.subject == Some(subject));
            assert!(is_placed, "{name}: {subject}");
        }
    }
}

#[test]
fn every_reclaimed_run_of_the_samples_is_told_without_colour() {
    for name in SAMPLES {
        for view in View::ALL {
            let document = sample(name);
            let drawing = drawn(&document, view);
            let placed = placed(&drawing, 870.0, PAPER);
            let objects = &document.design.objects;
            let is_reclaimed = |water| objects.waters[water].kind == WaterKind::Reclaimed;
            let runs = objects.pipes.values();
            let runs = runs.filter(|run| is_reclaimed(&run.water)).count();
            for id in objects.pipes.keys() {
                let coded = drawing.marks().any(|mark| {
                    mark.subject == Some(*id) && matches!(mark.role, Role::RunCode(..))
                });
                assert!(coded, "{name} {view:?}: {id}");
            }
            let codes = placed.texts.iter().filter(|text| text.text == "RW").count();
            assert!(
                codes >= runs.min(5) && placed.ticks.len() > codes,
                "{name} {view:?} {codes}"
            );
        }
    }
}

#[test]
fn small_marks_of_the_samples_stay_inside_their_areas() {
    for name in SAMPLES {
        let drawing = drawn(&sample(name), View::Plain);
        for mark in drawing.marks() {
            let (Shape::Area(area), Role::Planted(..)) = (&mark.shape, mark.role) else {
                continue;
            };
            let (pattern, _, rows) = ink(mark.role, Theme::Light).hatch.unwrap();
            for metres_per_mm in [0.02, 0.06, 0.12] {
                let found = strokes(area, pattern, rows, metres_per_mm);
                assert!(!found.is_empty(), "{name} {:?}", mark.subject);
                for stroke in found {
                    let is_inside = match stroke {
                        HatchStroke::Line(from, to) => area.contains(from) && area.contains(to),
                        HatchStroke::Dot(at) => area.contains(at),
                        HatchStroke::Ring(at) => {
                            let edge = area.boundary().nearest(at).1.metres();
                            area.contains(at) && edge >= RING_MM * metres_per_mm
                        }
                    };
                    assert!(is_inside, "{name} {:?} {stroke:?}", mark.subject);
                }
            }
        }
    }
}

/// The same plan, nobody named who read the supply or stated the class of its water.
fn unstated(mut document: Document) -> Document {
    let objects = &mut document.design.objects;
    for supply in objects.supplies.values_mut() {
        std::sync::Arc::make_mut(supply).read_by.clear();
    }
    for water in objects.waters.values_mut() {
        std::sync::Arc::make_mut(water).class_stated_by.clear();
    }
    document
}

fn is_assumed(role: Role) -> bool {
    matches!(
        role,
        Role::PipePressure(_, _, _, Footing::Assumed)
            | Role::EmitterLinePressure(_, Footing::Assumed)
            | Role::Wetted(Footing::Assumed)
            | Role::Verdict(_, Footing::Assumed)
    )
}

#[test]
fn results_on_an_assumed_supply_or_class_are_dashed_and_say_so_everywhere() {
    for name in SAMPLES {
        for view in [View::Pressure, View::Contact] {
            let stated = drawn(&sample(name), view);
            assert_eq!(footing::told(&stated), None, "{name}");
            assert!(!stated.marks().any(|mark| is_assumed(mark.role)));

            let document = unstated(sample(name));
            let drawing = drawn(&document, view);
            let told = footing::told(&drawing).unwrap();
            let dashed = drawing.marks().filter(|mark| is_assumed(mark.role));
            for mark in dashed {
                let pen = ink(mark.role, Theme::Light).pen.unwrap();
                assert!(!pen.dash_mm.is_empty());
            }
            let analysis = Analyzer::default().update(&document.design);
            let sheet = single_sheet(&SheetInput {
                plan: &document.design,
                analysis: &analysis,
                drawing: &drawing,
                options: ViewOptions {
                    view,
                    case: SupplyCase::Low,
                    units: document.design.site.units,
                },
                theme: Theme::Light,
                date: "2027-05-14",
            })
            .unwrap();
            let beginning: String = told.chars().take(30).collect();
            assert!(sheet.svg.contains(&beginning), "{name} {view:?}: {told}");
            let in_legend = sheet
                .legend
                .iter()
                .filter(|entry| entry.words.contains("assumed"));
            assert!(in_legend.count() >= 1, "{name} {view:?}");
            // The word stands on the drawing as well, by a run or by a bed.
            let drawn = sheet.svg.split("class=\"furniture\"").next().unwrap();
            let letters = drawn.split("class=\"letters\"").nth(1).unwrap();
            assert!(letters.contains("assumed"), "{name} {view:?}");
        }
    }
}
