//! All results for one plan: layouts, solved zones, wetted areas, verdicts, parts, findings, assumptions.
//!
//! The analyses below never import each other; what one needs of another is a field of its input, filled here.

mod agronomic_checks;
mod analyzer;
mod assumptions;
mod backflow_checks;
mod bed_checks;
mod chain_checks;
mod contact_input;
mod drawing_checks;
mod effect;
pub mod evidence;
mod fixes;
mod hours_checks;
mod hydraulic_checks;
mod line_checks;
mod line_length;
mod memo;
mod newer_rules;
pub mod readings;
mod separation;
pub mod settled;
pub mod sizing;
mod sprayed;
mod strength;
pub mod working;
mod zones;

use std::collections::BTreeMap;
use std::sync::Arc;

pub use analyzer::{Analyzer, Recomputed};
pub use assumptions::Assumption;
pub use contact_input::{Setback, class_in_words, crop_matrix, setbacks};
pub use effect::{Effect, Progress, preview};
pub use fixes::{Fix, fixes, fixes_for_all};
pub use readings::{ZoneReadings, readings};
pub use sprayed::SprayedArea;
pub use zones::{EmitterResult, SprayReach, ZoneAnalysis};

use crate::contact;
use crate::finding::{Finding, Severity};
use crate::hydraulics::SupplyCase;
use crate::ids::Id;
use crate::layout::BedLayout;
use crate::model::PortRef;
use crate::rulebook::Verdict;
use crate::takeoff::PartsList;
use crate::units::Pressure;

/// Everything that is known about one plan.
#[derive(Clone, Debug)]
pub struct Analysis {
    /// Laid-out fills, by bed.
    pub beds: BTreeMap<Id, Arc<BedLayout>>,
    /// Zones, each running alone.
    pub zones: BTreeMap<Id, ZoneAnalysis>,
    /// What sprays wet, by head.
    pub sprays: BTreeMap<Id, SprayReach>,
    /// How the water of sprays falls, by planted area.
    pub sprayed: BTreeMap<Id, SprayedArea>,
    /// Verdicts, one a reclaimed or other non-potable water, by water.
    pub contact: BTreeMap<Id, Arc<contact::Output>>,
    /// Parts.
    pub parts: Arc<PartsList>,
    /// Findings, gravest first, then by check and subjects.
    pub findings: Vec<Finding>,
    /// What was assumed for want of a fact.
    pub assumptions: Vec<Assumption>,
}

impl Analysis {
    /// How many findings of a severity there are.
    #[must_use]
    pub fn count(&self, severity: Severity) -> usize {
        self.findings
            .iter()
            .filter(|finding| finding.severity == severity)
            .count()
    }

    /// The finding of that name.
    #[must_use]
    pub fn finding(&self, id: &str) -> Option<&Finding> {
        self.findings.iter().find(|finding| finding.id() == id)
    }

    /// The zone that waters an object.
    #[must_use]
    pub fn zone_of(&self, id: Id) -> Option<Id> {
        self.zones
            .iter()
            .find(|(_, zone)| zone.members.contains(&id))
            .map(|(zone, _)| *zone)
    }

    /// The strictest verdict on a planted area or plant.
    #[must_use]
    pub fn worst_verdict(&self, id: Id) -> Option<Verdict> {
        let rulings = self.contact.values().flat_map(|judged| &judged.rulings);
        rulings
            .filter(|ruling| ruling.subject == id)
            .map(|ruling| ruling.verdict)
            .max()
    }

    /// The zone in which most water runs through a run, each zone running alone.
    #[must_use]
    pub fn busiest(&self, run: Id, case: SupplyCase) -> Option<Id> {
        let flows = self.zones.iter().filter_map(|(zone, found)| {
            let (flow, _) = found.fastest(found.built.pipes.get(&run)?, case);
            Some((*zone, flow))
        });
        flows
            .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))
            .map(|(zone, _)| zone)
    }

    /// The lowest pressure of a port over the zones that it takes part in: each zone runs alone.
    #[must_use]
    pub fn lowest_pressure(&self, port: &PortRef, case: SupplyCase) -> Option<Pressure> {
        let zones = self.zones.values();
        zones
            .filter_map(|zone| zone.pressure_at(port, case))
            .reduce(Pressure::min)
    }
}
