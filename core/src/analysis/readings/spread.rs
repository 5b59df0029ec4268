//! How the flows of a zone's emission devices spread: counted in steps of the reader's scale, one picture a product.

use std::collections::BTreeMap;

use crate::analysis::ZoneAnalysis;
use crate::hydraulics::SupplyCase;
use crate::hydraulics::uniformity::Uniformity;
use crate::model::Plan;
use crate::units::{Flow, Pressure, UnitSystem};

/// At most so many heaps, so that the picture stays one.
const MOST_HEAPS: f64 = 12.0;

/// The flows of one product in one case.
#[derive(Clone, PartialEq, Debug)]
pub struct FlowSpread {
    /// Row of the emission catalog.
    pub part: String,
    /// How many devices.
    pub num: usize,
    /// Counts, from the least flow on, without gaps; each flow is in one of them.
    pub heaps: Vec<Heap>,
    /// Mean flow.
    pub mean: Flow,
    /// Mean of the lowest quarter.
    pub low_quarter: Flow,
    /// Least and largest flow.
    pub range: (Flow, Flow),
    /// What the part is rated at.
    pub rated: Flow,
    /// What it gives at the ends of its working range of pressure.
    pub working: (Flow, Flow),
}

/// The devices whose flow lies from `from` up to, but not at, `to`.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Heap {
    /// Least flow of the heap.
    pub from: Flow,
    /// Where the next heap begins.
    pub to: Flow,
    /// How many.
    pub count: usize,
}

/// The spread of each product of a zone, the most numerous first. Steps are 1, 2 or 5 times a power of ten of the unit
/// that the reader sees, and never finer than what is shown.
#[must_use]
pub fn flow_spreads(
    plan: &Plan,
    zone: &ZoneAnalysis,
    case: SupplyCase,
    units: UnitSystem,
) -> Vec<FlowSpread> {
    let mut flows: BTreeMap<&str, Vec<Flow>> = BTreeMap::new();
    let mut laws = BTreeMap::new();
    for (emitter, outlet) in zone.emitters(case).zip(&zone.built.network.outlets) {
        let part = emitter.point.part.as_str();
        flows.entry(part).or_default().push(emitter.flow);
        laws.entry(part).or_insert(&outlet.law);
    }
    let mut found: Vec<FlowSpread> = flows
        .into_iter()
        .filter_map(|(key, flows)| {
            let part = plan.catalog.emission(key)?;
            let law = laws.get(key)?;
            let even = Uniformity::of(&flows)?;
            let at = |pressure: Pressure| law.flow_at(pressure, zone.built.network.water);
            Some(FlowSpread {
                part: key.to_owned(),
                num: flows.len(),
                heaps: heaps(&flows, (even.least, even.largest), units),
                mean: even.mean,
                low_quarter: even.mean * even.low_quarter,
                range: (even.least, even.largest),
                rated: part.flow,
                working: (at(part.minimum), at(part.maximum)),
            })
        })
        .collect();
    found.sort_by(|a, b| b.num.cmp(&a.num).then(a.part.cmp(&b.part)));
    found
}

fn heaps(flows: &[Flow], (least, largest): (Flow, Flow), units: UnitSystem) -> Vec<Heap> {
    let (unit, finest) = match units {
        UnitSystem::Us => (Flow::from_gallons_per_hour(1.0), 0.01),
        UnitSystem::Metric => (Flow::from_litres_per_hour(1.0), 0.1),
    };
    let spread = (largest - least) / unit;
    let wanted = (spread / (MOST_HEAPS - 1.0)).max(finest);
    // A hair is taken off so that a step that is exactly fine enough is not passed over.
    let power = 10f64.powf((wanted * 0.999_999).log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|step| step * power)
        .find(|step| *step >= wanted * 0.999_999)
        .unwrap_or(wanted);
    // Heaps stand around the steps, so that a flow that is shown as 0.40 is counted at 0.40.
    let place = |flow: Flow| (flow / unit / step).round();
    let first = place(least);
    let mut found: Vec<Heap> = Vec::new();
    let mut at = first;
    while at <= place(largest) {
        found.push(Heap {
            from: unit * ((at - 0.5) * step),
            to: unit * ((at + 0.5) * step),
            count: flows
                .iter()
                .filter(|flow| (place(**flow) - at).abs() < 0.5)
                .count(),
        });
        at += 1.0;
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn counts(gallons_per_hour: &[f64]) -> Vec<(String, usize)> {
        let flows: Vec<Flow> = gallons_per_hour
            .iter()
            .copied()
            .map(Flow::from_gallons_per_hour)
            .collect();
        let even = Uniformity::of(&flows).unwrap();
        heaps(&flows, (even.least, even.largest), UnitSystem::Us)
            .iter()
            .map(|heap| {
                let middle = (heap.from + heap.to) / 2.0;
                (UnitSystem::Us.emitter_flow(middle), heap.count)
            })
            .collect()
    }

    #[test]
    fn equal_flows_are_one_heap_at_what_is_shown() {
        assert_eq!(counts(&[0.4; 9]), [("0.40 gph".to_owned(), 9)]);
    }

    #[test]
    fn every_flow_is_counted_once_in_few_heaps() {
        let flows: Vec<f64> = (0..50).map(|i| 0.3 + 0.013 * f64::from(i)).collect();
        let found = counts(&flows);
        assert!(found.len() <= 13, "{found:?}");
        assert_eq!(found.iter().map(|(_, count)| count).sum::<usize>(), 50);
        let wide = counts(&[0.5, 1.0, 30.0]);
        assert_eq!(wide.first().unwrap().1, 2);
        assert_eq!(wide.last(), Some(&("0.50 gpm".to_owned(), 1)));
    }
}
