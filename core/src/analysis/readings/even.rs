//! How evenly a zone gives water, with the published bands.

use crate::analysis::ZoneAnalysis;
use crate::hydraulics::SupplyCase;
use crate::hydraulics::uniformity::{
    Class, Manufacture, Uniformity, emission_class, flow_variation_class, statistical_class,
};
use crate::model::Plan;
use crate::units::Flow;

/// How even the outlets are, each flow taken over its own rating, because devices of different ratings share a zone.
#[derive(Clone, PartialEq, Debug)]
pub struct EvenReading {
    /// The measures without manufacture.
    pub hydraulic: Uniformity,
    /// Design emission uniformity with the variation of manufacture, one emitter to a plant.
    pub emission: f64,
    /// Statistical uniformity with the variation of manufacture.
    pub statistical: f64,
    /// The largest coefficient of variation among the products.
    pub manufacture: f64,
    /// Band of the flow variation.
    pub variation_class: Class,
    /// Band of the emission uniformity.
    pub emission_class: Class,
    /// Band of the statistical uniformity.
    pub statistical_class: Class,
}

pub(in crate::analysis) fn of(
    plan: &Plan,
    zone: &ZoneAnalysis,
    case: SupplyCase,
) -> Option<EvenReading> {
    let mut manufacture = 0.0_f64;
    let shares: Option<Vec<Flow>> = zone
        .emitters(case)
        .map(|emitter| {
            let part = plan.catalog.emission(&emitter.point.part)?;
            manufacture = manufacture.max(part.variation);
            Some(Flow::from_litres_per_second(emitter.flow / part.flow))
        })
        .collect();
    let hydraulic = Uniformity::of(&shares?)?;
    let made = Manufacture {
        variation: manufacture,
        emitters_per_plant: 1.0,
    };
    let emission = hydraulic.emission(Some(made)).share;
    let statistical = hydraulic.statistical_with(made);
    Some(EvenReading {
        hydraulic,
        emission,
        statistical,
        manufacture,
        variation_class: flow_variation_class(hydraulic.flow_variation),
        emission_class: emission_class(emission),
        statistical_class: statistical_class(statistical),
    })
}
