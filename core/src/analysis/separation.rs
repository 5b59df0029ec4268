//! Where reclaimed and drinking-water pipes cross or run side by side.
//!
//! A crossing brings the two runs to distance zero, so that the stretch around it is no run side by side: what lies
//! within √2 times a limit of the crossing, measured along the run, is left to the crossing (a crossing at 45° or more
//! leaves the limit within that length). What is nearer than the limit beyond it counts.

use crate::contact::{CrossingFacts, MeasuredDistance};
use crate::geometry::{Frame, Polyline};
use crate::ids::Id;
use crate::model::{Pipe, Plan, WaterKind};
use crate::rulebook::{Limit, Place};
use crate::units::{Area, Length};

/// Step along a run at which its distance to the other is taken; the ends of each stretch are then refined.
const STEP: Length = Length::from_metres(0.05);

/// Distances of all pairs of pipes that are nearer than the largest limit, crossings left out.
pub(super) fn side_by_side(
    plan: &Plan,
    reclaimed: Id,
    limits_of: impl Fn(Place) -> Vec<Limit>,
) -> Vec<MeasuredDistance> {
    let mut found = Vec::new();
    // What is far enough by less than the drawing is exact is asked about too.
    let uncertainty = plan.site.measured_within.unwrap_or_default();
    let asked = [Place::PotableMain, Place::PotableYardLine].map(|place| (place, limits_of(place)));
    for ((id, run), (other_id, other)) in pairs(plan, reclaimed) {
        let place = place_of(other);
        let Some((_, limits)) = asked.iter().find(|(known, _)| *known == place) else {
            continue;
        };
        // They stand in order.
        let Some(largest) = limits.last().map(|limit| limit.length() + uncertainty) else {
            continue;
        };
        let half_bores = half_outsides(plan, run, other);
        let frames = Frame::around(&run.vertices.0).zip(Frame::around(&other.vertices.0));
        if frames.is_none_or(|(own, other)| own.gap(other) - half_bores >= largest) {
            continue;
        }
        let crossings: Vec<Length> = run
            .vertices
            .crossings(&other.vertices)
            .iter()
            .map(|crossing| crossing.station)
            .collect();
        let nearest = nearest_beyond_crossings(&run.vertices, &other.vertices, &crossings, largest);
        let distance = (nearest - half_bores).max(Length::ZERO);
        if distance >= largest {
            continue;
        }
        let length_under = limits
            .iter()
            .map(|limit| {
                let reach = limit.length() + half_bores;
                (
                    *limit,
                    length_nearer(&run.vertices, &other.vertices, &crossings, reach),
                )
            })
            .collect();
        found.push(MeasuredDistance {
            from: Place::ReclaimedPipe,
            to: place,
            subjects: vec![id, other_id],
            distance,
            reach_into: Length::ZERO,
            overlap: Area::ZERO,
            length_under,
            above: run
                .depth
                .zip(other.depth)
                .map(|(deep, shallow)| deep - shallow),
            reliefs: Vec::new(),
        });
    }
    found
}

/// Every crossing of a reclaimed and a drinking-water pipe.
pub(super) fn crossings(plan: &Plan, reclaimed: Id) -> Vec<CrossingFacts> {
    /// A mark this near to a crossing belongs to it.
    const SAME_PLACE: Length = Length::from_metres(0.5);
    let mut found = Vec::new();
    for ((id, run), (other_id, other)) in pairs(plan, reclaimed) {
        for crossing in run.vertices.crossings(&other.vertices) {
            let mark = plan.objects.crossings.iter().find(|(_, mark)| {
                [mark.over, mark.under].contains(&id)
                    && [mark.over, mark.under].contains(&other_id)
                    && mark.at.distance(crossing.at) <= SAME_PLACE
            });
            let gap = mark.and_then(|(_, mark)| mark.vertical_gap);
            let is_potable_above = mark.is_some_and(|(_, mark)| mark.over == other_id);
            let from_depths = run
                .depth
                .zip(other.depth)
                .map(|(deep, shallow)| deep - shallow);
            found.push(CrossingFacts {
                subjects: [id, other_id]
                    .into_iter()
                    .chain(mark.map(|(mark, _)| *mark))
                    .collect(),
                at: crossing.at,
                potable: place_of(other),
                marked: mark.is_some(),
                vertical_gap: gap
                    .map(|gap| if is_potable_above { gap } else { -gap })
                    .or(from_depths),
            });
        }
    }
    found
}

type Run<'a> = (Id, &'a Pipe);

fn pairs(plan: &Plan, reclaimed: Id) -> impl Iterator<Item = (Run<'_>, Run<'_>)> {
    let of_water = move |water: Id| {
        let pipes = plan
            .objects
            .pipes
            .iter()
            .filter(move |(_, pipe)| pipe.water == water);
        pipes.map(|(id, pipe)| (*id, pipe.as_ref()))
    };
    let potable = plan
        .objects
        .waters
        .iter()
        .filter(|(_, water)| water.kind == WaterKind::Potable);
    let potable: Vec<Run<'_>> = potable.flat_map(|(id, _)| of_water(*id)).collect();
    of_water(reclaimed)
        .flat_map(move |run| potable.clone().into_iter().map(move |other| (run, other)))
}

fn place_of(potable: &Pipe) -> Place {
    if potable.utility_main {
        Place::PotableMain
    } else {
        Place::PotableYardLine
    }
}

/// Distances are asked for outside to outside; the drawing has centre lines.
fn half_outsides(plan: &Plan, run: &Pipe, other: &Pipe) -> Length {
    let half = |pipe: &Pipe| {
        plan.catalog
            .pipe(&pipe.part)
            .map_or(Length::ZERO, |part| part.outside / 2.0)
    };
    half(run) + half(other)
}

fn is_explained(station: Length, crossings: &[Length], limit: Length) -> bool {
    crossings
        .iter()
        .any(|crossing| (station - *crossing).abs() <= limit * std::f64::consts::SQRT_2)
}

/// Stations along a run, its bends included.
fn stations(run: &Polyline) -> Vec<Length> {
    let mut stations = vec![Length::ZERO];
    let mut passed = Length::ZERO;
    for (a, b) in run.segments() {
        let length = a.distance(b);
        let mut within = STEP;
        while within < length {
            stations.push(passed + within);
            within += STEP;
        }
        passed += length;
        stations.push(passed);
    }
    stations
}

fn distance_at(run: &Polyline, other: &Polyline, station: Length) -> Length {
    let point = run.point_at(station).unwrap_or_default();
    other.nearest(point).1
}

fn nearest_beyond_crossings(
    run: &Polyline,
    other: &Polyline,
    crossings: &[Length],
    limit: Length,
) -> Length {
    let farthest = Length::from_metres(f64::INFINITY);
    let own = stations(run)
        .into_iter()
        .filter(|station| !is_explained(*station, crossings, limit))
        .map(|station| distance_at(run, other, station));
    // The nearest place may be a corner of the other run.
    let corners = other.0.iter().map(|corner| run.nearest(*corner));
    let corners = corners
        .filter(|(station, _)| !is_explained(*station, crossings, limit))
        .map(|(_, distance)| distance);
    own.chain(corners).fold(farthest, Length::min)
}

/// Length of the run that is nearer to the other than a limit and not explained by a crossing.
fn length_nearer(run: &Polyline, other: &Polyline, crossings: &[Length], limit: Length) -> Length {
    // A hair of slack, so that exactly the limit is not under it.
    const HAIR: Length = Length::from_metres(1e-9);
    let is_near = |station: Length| {
        !is_explained(station, crossings, limit) && distance_at(run, other, station) < limit - HAIR
    };
    let mut total = Length::ZERO;
    for pair in stations(run).windows(2) {
        let (from, to) = (pair[0], pair[1]);
        total += match (is_near(from), is_near(to)) {
            (true, true) => to - from,
            (false, false) => Length::ZERO,
            (true, false) => edge(from, to, is_near) - from,
            (false, true) => to - edge(to, from, is_near),
        };
    }
    total
}

/// The station between a near and a far one where it stops being near, to a tenth of a millimetre.
fn edge(near: Length, far: Length, is_near: impl Fn(Length) -> bool) -> Length {
    let (mut near, mut far) = (near, far);
    while (far - near).abs().metres() > crate::geometry::RESOLUTION_M {
        let middle = (near + far) / 2.0;
        if is_near(middle) {
            near = middle;
        } else {
            far = middle;
        }
    }
    (near + far) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::PlanPoint;

    fn line(points: &[(f64, f64)]) -> Polyline {
        Polyline(points.iter().map(|(x, y)| PlanPoint::new(*x, *y)).collect())
    }

    #[test]
    fn parallel_runs_count_in_full() {
        let (run, other) = (
            line(&[(0.0, 0.0), (10.0, 0.0)]),
            line(&[(0.0, 2.0), (10.0, 2.0)]),
        );
        let limit = Length::from_metres(3.0);
        assert!((nearest_beyond_crossings(&run, &other, &[], limit).metres() - 2.0).abs() < 1e-9);
        assert!((length_nearer(&run, &other, &[], limit).metres() - 10.0).abs() < 1e-9);
        assert_eq!(
            length_nearer(&run, &other, &[], Length::from_metres(2.0)),
            Length::ZERO
        );
    }

    #[test]
    fn a_square_crossing_is_no_run_side_by_side() {
        let (run, other) = (
            line(&[(-20.0, 0.0), (20.0, 0.0)]),
            line(&[(0.0, -20.0), (0.0, 20.0)]),
        );
        let crossings: Vec<Length> = run
            .crossings(&other)
            .iter()
            .map(|crossing| crossing.station)
            .collect();
        assert_eq!(
            length_nearer(&run, &other, &crossings, Length::from_metres(3.0)),
            Length::ZERO
        );
    }

    #[test]
    fn a_long_run_that_ends_in_a_crossing_still_counts() {
        let run = line(&[(0.0, 0.0), (20.0, 0.0)]);
        let other = line(&[(0.0, 1.0), (19.0, 1.0), (19.0, -1.0)]);
        let crossings: Vec<Length> = run
            .crossings(&other)
            .iter()
            .map(|crossing| crossing.station)
            .collect();
        let nearer = length_nearer(&run, &other, &crossings, Length::from_metres(3.0)).metres();
        assert!(
            (nearer - (19.0 - 3.0 * std::f64::consts::SQRT_2)).abs() < 1e-3,
            "{nearer}"
        );
    }
}
