//! Fills of two beds with every pattern and header side, counted by hand.
//!
//! Both beds keep 6 in from the edge; emitters are 12 in apart. Headers and the far ends of rows lie half of that, 3 in,
//! inside the edge. The garden bed is 4 ft × 10 ft with rows 12 in apart, the strip 16 ft × 3 ft with rows 18 in apart.

use acceptance::{LARKMEAD, sample};
use aubergine_core::geometry::{PlanPoint, Polygon};
use aubergine_core::ids::Id;
use aubergine_core::layout::{BedLayout, Row, bed_outline, fill};
use aubergine_core::model::{Bed, Fill, HeaderSide, Pattern};
use aubergine_core::units::{Angle, Length};

/// The bed at the origin, filled; lengths in feet.
fn filled(
    id: &str,
    pattern: Pattern,
    header_side: HeaderSide,
    far: bool,
    turn_deg: f64,
) -> (Bed, BedLayout) {
    let plan = sample(LARKMEAD).design;
    let bed = &plan.objects.beds[&id.parse::<Id>().unwrap()];
    let rule = Fill {
        pattern,
        header_side,
        feed_from_far_end: far,
        ..bed.fill.clone().unwrap()
    };
    let bed = Bed {
        at: PlanPoint::new(0.0, 0.0),
        turn: Angle::from_degrees(turn_deg),
        ..(**bed).clone()
    };
    let line = plan.catalog.emission(&rule.line).unwrap();
    let layout = fill(&bed, &rule, line);
    (bed, layout)
}

fn feet(point: PlanPoint) -> (f64, f64) {
    let round = |metres: f64| (Length::from_metres(metres).feet() * 1e6).round() / 1e6;
    (round(point.x), round(point.y))
}

fn is(found: Length, feet: f64) -> bool {
    (found.feet() - feet).abs() < 1e-9
}

struct Expected {
    bed: &'static str,
    pattern: Pattern,
    rows: usize,
    emitters_of_a_row: usize,
    header_ft: f64,
    row_ft: f64,
}

/// Rooms for rows and emitters are the sides less 6 in at both ends; n spacings take n + 1.
const COUNTS: [Expected; 4] = [
    // 3 ft across / 12 in → 4 rows; 9 ft along / 12 in → 10 emitters; header over 3 spacings; rows 10 ft less 2 × 3 in.
    Expected {
        bed: "B1",
        pattern: Pattern::RowsAlong,
        rows: 4,
        emitters_of_a_row: 10,
        header_ft: 3.0,
        row_ft: 9.5,
    },
    // 9 ft / 12 in → 10 rows; 3 ft / 12 in → 4 emitters; 9 spacings of header; 4 ft less 2 × 3 in.
    Expected {
        bed: "B1",
        pattern: Pattern::RowsAcross,
        rows: 10,
        emitters_of_a_row: 4,
        header_ft: 9.0,
        row_ft: 3.5,
    },
    // 2 ft / 18 in → 1 spacing, 2 rows; 15 ft / 12 in → 16 emitters; header 1.5 ft; 16 ft less 2 × 3 in.
    Expected {
        bed: "B5",
        pattern: Pattern::RowsAlong,
        rows: 2,
        emitters_of_a_row: 16,
        header_ft: 1.5,
        row_ft: 15.5,
    },
    // 15 ft / 18 in → 10 spacings, 11 rows; 2 ft / 12 in → 3 emitters; header 15 ft; 3 ft less 2 × 3 in.
    Expected {
        bed: "B5",
        pattern: Pattern::RowsAcross,
        rows: 11,
        emitters_of_a_row: 3,
        header_ft: 15.0,
        row_ft: 2.5,
    },
];

#[test]
fn rows_emitters_and_headers_are_those_counted_by_hand() {
    for expected in &COUNTS {
        for side in [HeaderSide::First, HeaderSide::Last, HeaderSide::Both] {
            for far in [false, true] {
                let (bed, layout) = filled(expected.bed, expected.pattern, side, far, 0.0);
                let what = format!("{} {:?} {side:?} {far}", expected.bed, expected.pattern);
                assert_eq!(layout.rows.len(), expected.rows, "{what}");
                for row in &layout.rows {
                    assert_eq!(row.emitters.len(), expected.emitters_of_a_row, "{what}");
                    assert!(
                        is(row.length(), expected.row_ft),
                        "{what}: {:?}",
                        row.length()
                    );
                    // The first emitter lies 6 in from the edge, 3 in from the header.
                    assert!(is(row.emitters[0], 0.25), "{what}: {:?}", row.emitters);
                    assert!(
                        row.emitters
                            .windows(2)
                            .all(|pair| is(pair[1] - pair[0], 1.0)),
                        "{what}"
                    );
                }
                let headers = if side == HeaderSide::Both { 2.0 } else { 1.0 };
                assert!(
                    is(layout.header_length(), headers * expected.header_ft),
                    "{what}"
                );
                assert_eq!(
                    layout.second_header.is_some(),
                    side == HeaderSide::Both,
                    "{what}"
                );
                // It is fed where its first row leaves it, and the rows leave it in order.
                assert_eq!(layout.inlet, layout.rows[0].start, "{what}");
                assert_eq!(layout.rows[0].takeoff, Length::ZERO, "{what}");
                let takeoffs: Vec<Length> = layout.rows.iter().map(|row| row.takeoff).collect();
                assert!(takeoffs.is_sorted_by(|a, b| a < b), "{what}");
                let outline = bed_outline(&bed);
                let inside = |row: &Row| row.emitter_places().all(|place| outline.contains(place));
                assert!(layout.rows.iter().all(inside), "{what}");
            }
        }
    }
}

/// Where the fed end of the header lies, in feet, for each side and feed: (pattern, side, far end) → place.
#[test]
fn the_header_lies_on_the_side_asked_for_and_is_fed_at_the_end_asked_for() {
    use HeaderSide::{Both, First, Last};
    use Pattern::{RowsAcross, RowsAlong};
    // B1, 4 ft wide and 10 ft long: rows along run up the sheet, at x = 0.5, 1.5, 2.5, 3.5.
    for (pattern, side, far, inlet) in [
        (RowsAlong, First, false, (0.5, 0.25)),
        (RowsAlong, First, true, (3.5, 0.25)),
        (RowsAlong, Last, false, (0.5, 9.75)),
        (RowsAlong, Last, true, (3.5, 9.75)),
        (RowsAlong, Both, false, (0.5, 0.25)),
        (RowsAcross, First, false, (0.25, 0.5)),
        (RowsAcross, First, true, (0.25, 9.5)),
        (RowsAcross, Last, false, (3.75, 0.5)),
        (RowsAcross, Both, true, (0.25, 9.5)),
    ] {
        let (_, layout) = filled("B1", pattern, side, far, 0.0);
        assert_eq!(feet(layout.inlet), inlet, "{pattern:?} {side:?} {far}");
    }
}

/// A bed turned by a right angle: what was up the sheet runs to the left of it.
#[test]
fn a_turned_bed_takes_its_lines_along() {
    let (_, layout) = filled("B1", Pattern::RowsAlong, HeaderSide::First, false, 90.0);
    assert_eq!(feet(layout.inlet), (-0.25, 0.5));
    assert_eq!(feet(layout.rows[3].end), (-9.75, 3.5));
    assert_eq!(layout.num_emitters(), 40);
    let first = layout.rows[0].emitter_places().next().unwrap();
    assert_eq!(feet(first), (-0.5, 0.5));
}

/// A wide bed whose cross lines are fed by one header: 28 lines of 11 emitters.
#[test]
fn a_bed_of_28_lines_has_11_emitters_on_each() {
    let plan = sample(LARKMEAD).design;
    let bed = &plan.objects.beds[&"B1".parse::<Id>().unwrap()];
    // 6 in from the edge all round: 27 spacings of a foot between the lines, 10 along each.
    let (wide, high) = (Length::from_feet(28.0), Length::from_feet(11.0));
    let bed = Bed {
        outline: Polygon::rectangle(PlanPoint::default(), wide, high),
        ..(**bed).clone()
    };
    let rule = Fill {
        pattern: Pattern::RowsAcross,
        ..bed.fill.clone().unwrap()
    };
    let layout = fill(&bed, &rule, plan.catalog.emission(&rule.line).unwrap());
    assert_eq!(layout.rows.len(), 28);
    assert!(layout.rows.iter().all(|row| row.emitters.len() == 11));
    assert_eq!(layout.num_emitters(), 308);
}
