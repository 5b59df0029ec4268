//! Labels in crowds: nothing covers anything, the same places every time, and the grid keeps the number of comparisons low.

use super::*;
use crate::drawing::{Layer, LayerKind};
use crate::geometry::Polyline;
use crate::model::DeviceKind;
use crate::units::Angle;

const OUTPUT: Output = Output {
    letters: 12.0,
    mm: 3.0,
    symbol: 22.0,
    seen: None,
};

fn device(number: u32, at: PlanPoint) -> [Mark; 2] {
    let id = Id::new(Kind::Device, number);
    [
        Mark {
            shape: Shape::Symbol {
                symbol: Symbol::Device(DeviceKind::ZoneValve),
                at,
                turn: Angle::ZERO,
            },
            role: Role::Device(WaterKind::Reclaimed),
            subject: Some(id),
        },
        Mark {
            shape: Shape::Text {
                at,
                text: format!("ZV D{number}"),
                anchor: Anchor::Right,
            },
            role: Role::Name,
            subject: Some(id),
        },
    ]
}

fn drawing(marks: Vec<Mark>) -> Drawing {
    Drawing {
        layers: vec![Layer {
            kind: LayerKind::Devices,
            marks,
        }],
    }
}

fn to_output(point: PlanPoint) -> (f64, f64) {
    (point.x, -point.y)
}

#[test]
fn a_thousand_devices_and_runs_in_a_heap_leave_no_two_labels_on_each_other() {
    let mut marks = Vec::new();
    for number in 1..=1000_u32 {
        // A spread without order: multiples of two irrational numbers.
        let share = |factor: f64| (f64::from(number) * factor).rem_euclid(1.0);
        let at = PlanPoint::new(share(0.618_034) * 1400.0, share(0.414_214) * 900.0);
        marks.extend(device(number, at));
        marks.push(Mark {
            shape: Shape::Line(Polyline(vec![at, PlanPoint::new(at.x + 90.0, at.y)])),
            role: Role::RunCode(WaterKind::Reclaimed, PipeRole::Main, Footing::Stated),
            subject: Some(Id::new(Kind::Pipe, number)),
        });
    }
    let drawing = drawing(marks);
    let placed = place(&drawing, to_output, OUTPUT);
    assert_eq!(placed, place(&drawing, to_output, OUTPUT));
    assert!(placed.texts.len() > 300, "{}", placed.texts.len());
    let frames: Vec<Frame> = placed
        .texts
        .iter()
        .map(|text| frame_of(text, OUTPUT.letters))
        .collect();
    let extent = extent_of(Symbol::Device(DeviceKind::ZoneValve));
    for (index, frame) in frames.iter().enumerate() {
        let text = &placed.texts[index].text;
        assert!(
            !frames[..index].iter().any(|other| other.overlaps(frame)),
            "{text}"
        );
        for mark in drawing.marks() {
            if let Shape::Symbol { at, .. } = mark.shape {
                let symbol = at_place(&extent, to_output(at), OUTPUT.symbol);
                assert!(!symbol.overlaps(frame), "{text}");
            }
        }
        let is_on = |tick: &Tick| Frame::around(tick.ends.into_iter()).overlaps(frame);
        assert!(!placed.ticks.iter().any(is_on), "{text}");
    }
}

#[test]
fn a_label_alone_stands_to_the_right_and_off_a_line_that_leaves_there() {
    let origin = PlanPoint::new(0.0, 0.0);
    let alone = drawing(device(1, origin).to_vec());
    let placed = place(&alone, to_output, OUTPUT);
    assert!(placed.texts[0].x > 0.0 && (placed.texts[0].y - 4.5).abs() < 1.0);
    let mut marks = device(1, origin).to_vec();
    marks.push(Mark {
        shape: Shape::Line(Polyline(vec![origin, PlanPoint::new(200.0, 0.0)])),
        role: Role::Pipe(WaterKind::Reclaimed, PipeRole::Main),
        subject: None,
    });
    let crossed = drawing(marks);
    let placed = place(&crossed, to_output, OUTPUT);
    let frame = frame_of(&placed.texts[0], OUTPUT.letters);
    assert!(!frame.holds((frame.right.max(1.0) - 0.5, 0.0)) || frame.right < 0.0);
}

#[test]
fn a_name_that_is_wider_than_its_area_goes_outside_it_whole() {
    let id = Id::new(Kind::Bed, 4);
    let outline = [(0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0)];
    let marks = vec![
        Mark {
            shape: Shape::Area(Polygon(outline.map(|(x, y)| PlanPoint::new(x, y)).to_vec())),
            role: Role::Canopy,
            subject: Some(id),
        },
        Mark {
            shape: Shape::Text {
                at: PlanPoint::new(15.0, 15.0),
                text: "B4 Herb spiral".to_owned(),
                anchor: Anchor::Middle,
            },
            role: Role::Name,
            subject: Some(id),
        },
    ];
    let drawing = drawing(marks);
    let placed = place(&drawing, to_output, OUTPUT);
    assert_eq!(placed.texts[0].text, "B4 Herb spiral");
    let frame = frame_of(&placed.texts[0], OUTPUT.letters);
    assert!(frame.bottom <= -30.0 || frame.top >= 0.0);
}
