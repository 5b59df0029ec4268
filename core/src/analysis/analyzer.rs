//! The order of the analyses, and what each is fed with.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::memo::Memo;
use super::readings::{self, OpenedEnd};
use super::zones::{SprayReach, ZoneAnalysis, spray_reach};
use super::{
    Analysis, agronomic_checks, assumptions, backflow_checks, bed_checks, chain_checks,
    contact_input, drawing_checks, hours_checks, hydraulic_checks, line_checks, newer_rules,
    sprayed, strength,
};
use crate::catalog::EmissionPart;
use crate::contact;
use crate::finding::Finding;
use crate::hydraulics::{
    Network, OperatingSet, Prepared, Solution, SupplyCase, Tolerance, from_plan, solve,
};
use crate::ids::Id;
use crate::layout::{self, BedLayout, Ground};
use crate::model::Joints;
use crate::model::{Bed, Plan, WaterKind};
use crate::takeoff;

/// Works plans out, and keeps what did not change since the last one.
#[derive(Debug, Default)]
pub struct Analyzer {
    layouts: Memo<Id, (Arc<Bed>, Option<EmissionPart>), BedLayout>,
    solves: Memo<(OperatingSet, SupplyCase), Network, Solution>,
    openings: Memo<Id, Network, Solution>,
    coverages: sprayed::Maps,
    kept: contact_input::Kept,
    contacts: Memo<Id, contact::Input, contact::Output>,
    under_newer: newer_rules::Judgements,
}

/// How often each analysis had to be worked out since the start.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Recomputed {
    /// Fills of beds.
    pub layouts: usize,
    /// Solves, one an operating set and supply case.
    pub solves: usize,
    /// Judgements of contact, one a water.
    pub contacts: usize,
}

impl Analyzer {
    /// How often each analysis had to be worked out since the start.
    #[must_use]
    pub fn recomputed(&self) -> Recomputed {
        Recomputed {
            layouts: self.layouts.recomputed(),
            solves: self.solves.recomputed(),
            contacts: self.contacts.recomputed(),
        }
    }

    /// Everything about a plan. The same plan gives the same answer, whatever was asked before.
    pub fn update(&mut self, plan: &Plan) -> Analysis {
        let beds = self.lay_out(plan);
        let ground = Ground::of(&plan.objects);
        let joints = Joints::of(&plan.objects);
        let zones = self.solve_zones(plan, &ground, &joints, &beds);
        let sprays = spray_reaches(plan, &zones);
        let sprayed = sprayed::areas(plan, &zones, &mut self.coverages);
        let contact = self.contact(plan, &zones, &sprays);
        let parts = Arc::new(takeoff::count(plan, &beds));
        let mut findings: Vec<Finding> = hydraulic_checks::all(plan, &zones);
        findings.extend(drawing_checks::all(plan, &zones, &parts));
        findings.extend(bed_checks::all(plan));
        findings.extend(chain_checks::all(plan, &zones));
        let judged = contact.values().flat_map(|judged| &judged.findings);
        let mut judged = judged.map(|finding| finding.check.as_str());
        let is_service_told = judged.any(|check| check.starts_with("backflow"));
        findings.extend(backflow_checks::all(plan, &zones, &sprays, is_service_told));
        findings.extend(hours_checks::all(plan));
        findings.extend(line_checks::all(plan, &zones));
        findings.extend(strength::all(plan, &zones));
        findings.extend(agronomic_checks::all(plan, &zones));
        findings.extend(sprayed::findings(plan, &sprayed));
        findings.extend(newer_rules::all(
            plan,
            &zones,
            &sprays,
            &contact,
            &mut self.under_newer,
        ));
        findings.extend(
            contact
                .values()
                .flat_map(|judged| judged.findings.iter().cloned()),
        );
        findings.sort_by(|a, b| {
            let key = |finding: &Finding| {
                (
                    finding.severity,
                    finding.check.clone(),
                    finding.subjects.clone(),
                )
            };
            key(a).cmp(&key(b))
        });
        let assumptions = assumptions::all(plan, &sprays, &ground);
        Analysis {
            beds,
            zones,
            sprays,
            sprayed,
            contact,
            parts,
            findings,
            assumptions,
        }
    }

    fn lay_out(&mut self, plan: &Plan) -> BTreeMap<Id, Arc<BedLayout>> {
        let filled = plan
            .objects
            .beds
            .iter()
            .filter(|(_, bed)| bed.fill.is_some());
        let mut beds = BTreeMap::new();
        for (id, bed) in filled {
            let line = bed
                .fill
                .as_ref()
                .and_then(|rule| plan.catalog.emission(&rule.line))
                .cloned();
            let laid = self
                .layouts
                .get(id, (Arc::clone(bed), line), |(bed, line)| {
                    match (&bed.fill, line) {
                        (Some(rule), Some(line)) => layout::fill(bed, rule, line),
                        _ => BedLayout::default(),
                    }
                });
            beds.insert(*id, laid);
        }
        self.layouts.keep(|id| beds.contains_key(id));
        beds
    }

    fn solve_zones(
        &mut self,
        plan: &Plan,
        ground: &Ground,
        joints: &Joints,
        beds: &BTreeMap<Id, Arc<BedLayout>>,
    ) -> BTreeMap<Id, ZoneAnalysis> {
        let sets = OperatingSet::each_alone(&plan.objects);
        let mut zones = BTreeMap::new();
        for set in &sets {
            let Some((id, zone)) = set
                .zones
                .first()
                .and_then(|id| Some((*id, plan.objects.zones.get(id)?)))
            else {
                continue;
            };
            let built = from_plan::network(plan, ground, joints, beds, set);
            // The cases differ in numbers only: what is ordered for one serves the others.
            let mut prepared: Option<Prepared> = None;
            let solutions = SupplyCase::ALL.map(|case| {
                let network = built.in_case(plan, case);
                self.solves.get(&(set.clone(), case), network, |network| {
                    let ready = match &mut prepared {
                        Some(known) => known.update(network),
                        unknown => unknown.insert(Prepared::new(network)),
                    };
                    ready.solve(&Tolerance::FINAL, None)
                })
            });
            let members = joints.behind(zone.valve);
            let mut analysed = ZoneAnalysis {
                valve: zone.valve,
                members,
                built,
                solutions,
                opened: None,
            };
            analysed.opened = readings::opened(plan, &analysed).and_then(|(end, network)| {
                let solution = self.openings.get(&id, network, solve);
                OpenedEnd::read(end, &solution)
            });
            zones.insert(id, analysed);
        }
        let asked: BTreeSet<&OperatingSet> = sets.iter().collect();
        self.solves.keep(|(set, _)| asked.contains(set));
        self.openings.keep(|id| zones.contains_key(id));
        zones
    }

    /// What the rules say of each water that nobody drinks, by solved zones and what their sprays wet.
    pub fn contact(
        &mut self,
        plan: &Plan,
        zones: &BTreeMap<Id, ZoneAnalysis>,
        sprays: &BTreeMap<Id, SprayReach>,
    ) -> BTreeMap<Id, Arc<contact::Output>> {
        let judged = plan
            .objects
            .waters
            .iter()
            .filter(|(_, water)| water.kind != WaterKind::Potable);
        let outputs: BTreeMap<Id, Arc<contact::Output>> = judged
            .map(|(id, _)| {
                let input = contact_input::of_water(plan, *id, zones, sprays, &mut self.kept);
                (*id, self.contacts.get(id, input, contact::assess))
            })
            .collect();
        self.contacts.keep(|id| outputs.contains_key(id));
        self.kept.keep(plan);
        outputs
    }
}

fn spray_reaches(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> BTreeMap<Id, SprayReach> {
    let sprays = plan
        .objects
        .emissions
        .iter()
        .filter(|(_, emission)| emission.kind.sprays());
    sprays
        .filter_map(|(id, emission)| Some((*id, spray_reach(plan, *id, emission, zones)?)))
        .collect()
}
