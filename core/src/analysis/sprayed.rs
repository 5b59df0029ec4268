//! How the water of sprays falls on each planted area they are there for, in every supply case, and what is told of it.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::memo::Memo;
use super::zones::ZoneAnalysis;
use crate::catalog::Profile;
use crate::coverage::{Coverage, Evenness, Head, SpotKind};
use crate::finding::{Finding, Message, Severity, Value};
use crate::geometry::Polygon;
use crate::hydraulics::SupplyCase;
use crate::ids::Id;
use crate::layout::bed_outline;
use crate::model::{BedUse, Emission, Plan, State};
use crate::units::Velocity;
use crate::wetting;

/// Sprays over one area. Heads of several zones are summed as if they ran equally long: no timetable is known here.
#[derive(Clone, Debug)]
pub struct SprayedArea {
    /// The heads that are there for it.
    pub heads: Vec<Id>,
    /// The zones of these heads.
    pub zones: BTreeSet<Id>,
    /// The map in each case, in the order of [`SupplyCase::ALL`]; `None` where no water falls.
    pub cases: [Arc<Option<Coverage>>; 3],
}

impl SprayedArea {
    /// The map of a case.
    #[must_use]
    pub fn in_case(&self, case: SupplyCase) -> Option<&Coverage> {
        case.of(&self.cases).as_ref().as_ref()
    }

    /// The case in which water falls least evenly, with its map.
    #[must_use]
    pub fn worst(&self) -> Option<(SupplyCase, &Coverage)> {
        SupplyCase::ALL
            .into_iter()
            .filter_map(|case| Some((case, self.in_case(case)?)))
            .min_by(|a, b| a.1.low_quarter.total_cmp(&b.1.low_quarter))
    }
}

/// What is known of a map, by area and case.
pub(super) type Maps = Memo<(Id, SupplyCase), (Polygon, Vec<Head>), Option<Coverage>>;

/// Every area that a spray is there for.
pub(super) fn areas(
    plan: &Plan,
    zones: &BTreeMap<Id, ZoneAnalysis>,
    maps: &mut Maps,
) -> BTreeMap<Id, SprayedArea> {
    let sprays: Vec<(Id, &Emission)> = plan
        .objects
        .emissions
        .iter()
        .filter(|(_, head)| head.kind.sprays() && head.meta.state != State::ToRemove)
        .map(|(id, head)| (*id, head.as_ref()))
        .collect();
    let mut found = BTreeMap::new();
    for (area, bed) in &plan.objects.beds {
        let serving: Vec<(Id, &Emission)> = sprays
            .iter()
            .copied()
            .filter(|(_, head)| head.serves.contains(area))
            .collect();
        if serving.is_empty() {
            continue;
        }
        let outline = bed_outline(bed);
        let cases = SupplyCase::ALL.map(|case| {
            let heads = serving
                .iter()
                .filter_map(|(id, head)| spread(plan, zones, (*id, head), *area, case))
                .collect();
            maps.get(
                &(*area, case),
                (outline.clone(), heads),
                |(outline, heads)| Coverage::of(outline, heads),
            )
        });
        let heads: Vec<Id> = serving.iter().map(|(id, _)| *id).collect();
        let zones = zones
            .iter()
            .filter(|(_, zone)| heads.iter().any(|head| zone.members.contains(head)))
            .map(|(id, _)| *id)
            .collect();
        found.insert(
            *area,
            SprayedArea {
                heads,
                zones,
                cases,
            },
        );
    }
    maps.keep(|(area, _)| found.contains_key(area));
    found
}

/// A head at the pressure it gets in a case; at its rated one while it hangs on no zone.
fn spread(
    plan: &Plan,
    zones: &BTreeMap<Id, ZoneAnalysis>,
    (id, head): (Id, &Emission),
    area: Id,
    case: SupplyCase,
) -> Option<Head> {
    let part = plan.catalog.emission(&head.part)?;
    let solved = zones
        .values()
        .find(|zone| zone.members.contains(&id))
        .and_then(|zone| zone.emitters(case).find(|found| found.point.owner == id));
    let (pressure, flow) =
        solved.map_or((part.at, part.flow), |found| (found.pressure, found.flow));
    let wetted = wetting::wetted(head, part, pressure, Velocity::ZERO)?;
    let others = head.serves.iter().filter(|other| **other != area);
    Some(Head {
        at: head.at,
        throw: wetted.throw,
        from: head.arc_from,
        sweep: head.arc_sweep,
        flow,
        profile: part.profile.clone().unwrap_or(Profile::ASSUMED),
        also: others
            .filter_map(|other| Some(bed_outline(plan.objects.beds.get(other)?)))
            .collect(),
    })
}

/// Sprays in use whose row says nothing of their profile.
pub(super) fn without_profile(plan: &Plan) -> Vec<Id> {
    let is_bare = |head: &Emission| {
        let part = plan.catalog.emission(&head.part);
        head.kind.sprays() && part.is_some_and(|part| part.profile.is_none())
    };
    let heads = plan.objects.emissions.iter();
    heads
        .filter(|(_, head)| is_bare(head))
        .map(|(id, _)| *id)
        .collect()
}

/// Lawns on which water falls poorly, or that have a dry spot. A note: grass suffers, nobody is harmed, and the bands are of
/// practice.
pub(super) fn findings(plan: &Plan, sprayed: &BTreeMap<Id, SprayedArea>) -> Vec<Finding> {
    let lawns = sprayed.iter().filter(|(id, _)| {
        let bed = plan.objects.beds.get(*id);
        bed.is_some_and(|bed| bed.use_ == BedUse::Lawn)
    });
    lawns.filter_map(|(id, area)| uneven(*id, area)).collect()
}

fn uneven(id: Id, area: &SprayedArea) -> Option<Finding> {
    let (case, map) = area.worst()?;
    let class = Evenness::of(map.low_quarter);
    let largest = map.spots.iter().find(|spot| spot.kind == SpotKind::Dry);
    if class != Evenness::Poor && largest.is_none() {
        return None;
    }
    let mut values = vec![
        ("area", Value::Ids(vec![id])),
        ("low_quarter", Value::Share(map.low_quarter)),
        ("word", Value::Key(class.key().to_owned())),
        ("mean", Value::Rate(map.mean)),
        ("case", Value::Text(case.word().to_owned())),
    ];
    let mut key = "coverage.uneven";
    if let Some(spot) = largest {
        key = "coverage.dry";
        values.extend([
            ("size", Value::Area(spot.area)),
            ("place", Value::Key(spot.place.key().to_owned())),
            ("rate", Value::Rate(spot.rate)),
        ]);
    }
    Some(Finding {
        measured: Some(Value::Share(map.low_quarter)),
        limit: Some(Value::Share(Evenness::FAIR_FROM)),
        ..Finding::new(
            "coverage.uneven",
            Severity::Note,
            std::iter::once(id)
                .chain(area.heads.iter().copied())
                .collect(),
            Message::new(key, values),
        )
    })
}
