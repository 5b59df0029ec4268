//! From a bed's fill rule to its header, rows and emitters, on the ground.
//!
//! Rows lie centred across the bed, at most one spacing apart and never nearer to the edge than the inset; emitters lie
//! centred in each stretch of a row that is inside the outline. A row that leaves the outline and enters it again goes on
//! as one line without emitters outside.

use super::ports::{along_across, onto_ground};
use crate::catalog::EmissionPart;
use crate::geometry::{PlanPoint, Polyline};
use crate::model::{Bed, Fill, HeaderSide, Pattern};
use crate::units::Length;

/// A filled bed.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct BedLayout {
    /// The header that is fed, from its fed end on; a single point for a single row.
    pub header: Polyline,
    /// The second header of a fill with headers on both sides.
    pub second_header: Option<Polyline>,
    /// Rows in order along the header.
    pub rows: Vec<Row>,
    /// Place of the port `in`.
    pub inlet: PlanPoint,
}

/// One row of a fill.
#[derive(Clone, PartialEq, Debug)]
pub struct Row {
    /// Where it leaves the header: distance along the header from its fed end.
    pub takeoff: Length,
    /// Its first point, on the header.
    pub start: PlanPoint,
    /// Its last point.
    pub end: PlanPoint,
    /// Distances of its emitters from the start.
    pub emitters: Vec<Length>,
}

impl Row {
    /// Its length.
    #[must_use]
    pub fn length(&self) -> Length {
        self.start.distance(self.end)
    }

    /// Where its emitters are.
    pub fn emitter_places(&self) -> impl Iterator<Item = PlanPoint> + '_ {
        let length = self.length();
        self.emitters
            .iter()
            .map(move |station| self.start.lerp(self.end, *station / length))
    }
}

impl BedLayout {
    /// How many emitters there are.
    #[must_use]
    pub fn num_emitters(&self) -> usize {
        self.rows.iter().map(|row| row.emitters.len()).sum()
    }

    /// The length of all rows.
    #[must_use]
    pub fn line_length(&self) -> Length {
        self.rows.iter().map(Row::length).sum()
    }

    /// The length of the headers.
    #[must_use]
    pub fn header_length(&self) -> Length {
        self.header.length()
            + self
                .second_header
                .as_ref()
                .map_or(Length::ZERO, Polyline::length)
    }
}

/// Lays out the fill of a bed; empty when the outline encloses nothing or the spacing is not positive.
#[must_use]
pub fn fill(bed: &Bed, rule: &Fill, line: &EmissionPart) -> BedLayout {
    let spacing = rule
        .emitter_spacing
        .or(line.spacing)
        .unwrap_or(rule.row_spacing);
    let rows = rows_in_bed(bed, rule, spacing);
    let Some(first) = rows.first() else {
        return BedLayout {
            inlet: bed.at,
            ..BedLayout::default()
        };
    };
    // The header is a straight line across the rows, so that the outermost row decides where it lies.
    let header_at = rows
        .iter()
        .map(|row| row.from)
        .fold(f64::INFINITY, f64::min);
    let second_at = rows
        .iter()
        .map(|row| row.to)
        .fold(f64::NEG_INFINITY, f64::max);
    let (along, across) = along_across(bed, rule.pattern == Pattern::RowsAlong);
    let place = |row: &RowInBed, station: f64| {
        onto_ground(
            bed,
            PlanPoint::new(0.0, 0.0) + along * station + across * row.offset,
        )
    };
    let (near, far) = if rule.header_side == HeaderSide::Last {
        (second_at, header_at)
    } else {
        (header_at, second_at)
    };
    let direction = if near <= far { 1.0 } else { -1.0 };
    let mut ordered: Vec<&RowInBed> = rows.iter().collect();
    if rule.feed_from_far_end {
        ordered.reverse();
    }
    let fed_offset = ordered.first().map_or(first.offset, |row| row.offset);
    let laid: Vec<Row> = ordered
        .iter()
        .map(|row| {
            let last = match rule.header_side {
                HeaderSide::First => row.to,
                HeaderSide::Last => row.from,
                HeaderSide::Both => far,
            };
            let mut emitters: Vec<Length> = row
                .emitters
                .iter()
                .map(|station| Length::from_metres((station - near) * direction))
                .collect();
            emitters.sort_by(Length::total_cmp);
            Row {
                takeoff: Length::from_metres((row.offset - fed_offset).abs()),
                start: place(row, near),
                end: place(row, last),
                emitters,
            }
        })
        .collect();
    let header = Polyline(laid.iter().map(|row| row.start).collect());
    let second_header = (rule.header_side == HeaderSide::Both)
        .then(|| Polyline(laid.iter().map(|row| row.end).collect()));
    let inlet = header.0.first().copied().unwrap_or(bed.at);
    BedLayout {
        header,
        second_header,
        rows: laid,
        inlet,
    }
}

/// A row in bed coordinates, stations along the rows and offset across them.
struct RowInBed {
    offset: f64,
    from: f64,
    to: f64,
    emitters: Vec<f64>,
}

fn rows_in_bed(bed: &Bed, rule: &Fill, spacing: Length) -> Vec<RowInBed> {
    let (along, across) = along_across(bed, rule.pattern == Pattern::RowsAlong);
    let (low, high) = bed.outline.span(across);
    let inset = rule.inset.max(Length::ZERO).metres();
    let mut rows = Vec::new();
    for offset in centred(low, high, inset, rule.row_spacing.metres()) {
        let origin = PlanPoint::default() + across * offset;
        let chords = bed.outline.chords(origin, along);
        let mut emitters = Vec::new();
        for (from, to) in &chords {
            emitters.extend(centred(from.metres(), to.metres(), inset, spacing.metres()));
        }
        if let (Some((from, _)), Some((_, to)), false) =
            (chords.first(), chords.last(), emitters.is_empty())
        {
            // Headers and end plugs lie half the inset inside the edge.
            rows.push(RowInBed {
                offset,
                from: from.metres() + inset / 2.0,
                to: to.metres() - inset / 2.0,
                emitters,
            });
        }
    }
    rows
}

/// Places between two limits, at least `inset` from both, `spacing` apart and centred. One in the middle if there is no
/// room for two; none if there is no room for one.
fn centred(low: f64, high: f64, inset: f64, spacing: f64) -> Vec<f64> {
    // A whole number of spacings must not lose its last place to rounding.
    const SLACK: f64 = 1e-9;
    let room = high - low - 2.0 * inset;
    if !(spacing > 0.0 && room >= -SLACK && room.is_finite()) {
        return Vec::new();
    }
    let gaps = (room / spacing + SLACK).floor().max(0.0);
    let first = f64::midpoint(low, high) - gaps * spacing / 2.0;
    let mut places = Vec::new();
    let mut index = 0.0;
    while index <= gaps && places.len() < super::MOST_EMITTERS_OF_A_LINE {
        places.push(first + index * spacing);
        index += 1.0;
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::Catalog;
    use crate::geometry::Polygon;
    use crate::ids::{Id, Kind};
    use crate::units::Angle;

    fn rule(pattern: Pattern) -> Fill {
        Fill {
            water: Id::new(Kind::Water, 1),
            pattern,
            line: "line-17-pc-0.40-12".to_owned(),
            header: "tubing-0.600".to_owned(),
            header_side: HeaderSide::First,
            feed_from_far_end: false,
            row_spacing: Length::from_inches(12.0),
            emitter_spacing: None,
            inset: Length::from_inches(6.0),
            placement: crate::model::Placement::OnSoil,
            flush_ends: false,
            purple: false,
            extra: Default::default(),
        }
    }

    fn bed(width_ft: f64, length_ft: f64) -> Bed {
        Bed {
            use_: crate::model::BedUse::Food,
            at: PlanPoint::new(1.0, 2.0),
            turn: Angle::ZERO,
            outline: Polygon::rectangle(
                PlanPoint::default(),
                Length::from_feet(width_ft),
                Length::from_feet(length_ft),
            ),
            plantings: vec![],
            fill: None,
            intake: None,
            meta: Default::default(),
        }
    }

    fn line() -> &'static EmissionPart {
        Catalog::built_in().emission("line-17-pc-0.40-12").unwrap()
    }

    #[test]
    fn a_bed_of_4_by_10_feet_takes_4_rows_of_10() {
        let layout = fill(&bed(4.0, 10.0), &rule(Pattern::RowsAlong), line());
        assert_eq!((layout.rows.len(), layout.num_emitters()), (4, 40));
        assert!((layout.header_length().feet() - 3.0).abs() < 1e-9);
    }

    #[test]
    fn rows_across_are_many_and_short() {
        let layout = fill(&bed(4.0, 10.0), &rule(Pattern::RowsAcross), line());
        assert_eq!((layout.rows.len(), layout.num_emitters()), (10, 40));
        assert!((layout.header_length().feet() - 9.0).abs() < 1e-9);
    }

    #[test]
    fn a_turned_bed_keeps_its_lengths() {
        let straight = fill(&bed(4.0, 10.0), &rule(Pattern::RowsAlong), line());
        let turned = fill(
            &Bed {
                turn: Angle::from_degrees(37.0),
                ..bed(4.0, 10.0)
            },
            &rule(Pattern::RowsAlong),
            line(),
        );
        assert!(
            (straight.line_length() - turned.line_length())
                .abs()
                .metres()
                < 1e-9
        );
    }

    #[test]
    fn emitters_lie_inside_the_bed_whatever_side_the_header_is_on() {
        for side in [HeaderSide::First, HeaderSide::Last, HeaderSide::Both] {
            let bed = bed(4.0, 10.0);
            let layout = fill(
                &bed,
                &Fill {
                    header_side: side,
                    ..rule(Pattern::RowsAlong)
                },
                line(),
            );
            let outline = super::super::bed_outline(&bed);
            assert_eq!(layout.num_emitters(), 40);
            for place in layout.rows.iter().flat_map(Row::emitter_places) {
                assert!(outline.contains(place), "{side:?} {place:?}");
            }
        }
    }

    #[test]
    fn a_notch_interrupts_emitters_and_not_the_row() {
        let corners = [
            (0.0, 0.0),
            (6.0, 0.0),
            (6.0, 2.0),
            (4.0, 2.0),
            (4.0, 1.0),
            (2.0, 1.0),
            (2.0, 2.0),
            (0.0, 2.0),
        ];
        let notched = Bed {
            outline: Polygon(corners.map(|(x, y)| PlanPoint::new(x, y)).to_vec()),
            ..bed(1.0, 1.0)
        };
        let layout = fill(
            &notched,
            &Fill {
                row_spacing: Length::from_metres(1.0),
                ..rule(Pattern::RowsAlong)
            },
            line(),
        );
        assert_eq!(layout.rows.len(), 2);
        assert!(layout.rows[1].emitters.len() < layout.rows[0].emitters.len());
        assert!(
            (layout.rows[0].length() - layout.rows[1].length())
                .abs()
                .metres()
                < 1e-9
        );
    }

    #[test]
    fn nothing_fits_into_nothing() {
        assert_eq!(
            fill(&bed(0.0, 0.0), &rule(Pattern::RowsAlong), line())
                .rows
                .len(),
            0
        );
        let dense = Fill {
            row_spacing: Length::ZERO,
            ..rule(Pattern::RowsAlong)
        };
        assert_eq!(fill(&bed(4.0, 10.0), &dense, line()).rows.len(), 0);
    }
}
