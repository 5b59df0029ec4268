//! Turning, moving or mirroring a plan changes no verdict, no finding of a rule and no gravity: the samples and the
//! drawn check cases, laid down elsewhere.

use std::collections::BTreeSet;
use std::sync::Arc;

use acceptance::{CEDARBRAKE, LARKMEAD, sample};
use aubergine_core::analysis::Analyzer;
use aubergine_core::geometry::{PlanPoint, Polygon};
use aubergine_core::model::Document;
use aubergine_core::units::Angle;
use proptest::prelude::*;

use super::contact_plans::drawn;
use super::contact_validation::cases;

/// A way to lay a plan down elsewhere: mirrored or not, turned, moved.
#[derive(Clone, Copy, Debug)]
struct Motion {
    mirrored: bool,
    turn_deg: f64,
    by: (f64, f64),
}

impl Motion {
    fn point(self, at: PlanPoint) -> PlanPoint {
        let x = if self.mirrored { -at.x } else { at.x };
        let (sin, cos) = self.turn_deg.to_radians().sin_cos();
        PlanPoint::new(
            x * cos - at.y * sin + self.by.0,
            x * sin + at.y * cos + self.by.1,
        )
    }

    fn outline(self, outline: &Polygon) -> Polygon {
        Polygon(outline.0.iter().map(|at| self.point(*at)).collect())
    }

    fn angle(self, from: Angle, sweep: Angle) -> Angle {
        let degrees = if self.mirrored {
            180.0 - from.degrees() - sweep.degrees()
        } else {
            from.degrees()
        };
        Angle::from_degrees((degrees + self.turn_deg).rem_euclid(360.0))
    }

    /// Every place of a plan, moved.
    fn of(self, document: &Document) -> Document {
        let mut moved = document.clone();
        let design = &mut moved.design;
        design.site.outline = self.outline(&design.site.outline);
        let objects = &mut design.objects;
        for bed in objects.beds.values_mut() {
            let bed = Arc::make_mut(bed);
            bed.at = self.point(bed.at);
            let turn = if self.mirrored {
                bed.outline = Polygon(
                    bed.outline
                        .0
                        .iter()
                        .map(|at| PlanPoint::new(-at.x, at.y))
                        .collect(),
                );
                -bed.turn.degrees()
            } else {
                bed.turn.degrees()
            };
            bed.turn = Angle::from_degrees(turn + self.turn_deg);
        }
        for emission in objects.emissions.values_mut() {
            let emission = Arc::make_mut(emission);
            emission.at = self.point(emission.at);
            emission.arc_from = self.angle(emission.arc_from, emission.arc_sweep);
        }
        for pipe in objects.pipes.values_mut() {
            for at in &mut Arc::make_mut(pipe).vertices.0 {
                *at = self.point(*at);
            }
        }
        for line in objects.lines.values_mut() {
            for at in &mut Arc::make_mut(line).vertices.0 {
                *at = self.point(*at);
            }
        }
        for feature in objects.features.values_mut() {
            let feature = Arc::make_mut(feature);
            feature.outline = self.outline(&feature.outline);
        }
        macro_rules! points {
            ($($table:ident),*) => { $(
                for object in objects.$table.values_mut() {
                    let object = Arc::make_mut(object);
                    object.at = self.point(object.at);
                }
            )* };
        }
        points!(
            devices, signs, heights, marks, outlets, supplies, trees, boxes, crossings
        );
        moved
    }
}

/// What the rules say of a plan: verdicts with their rows, and findings of place with what they are about.
fn said(document: &Document) -> (Vec<String>, BTreeSet<String>) {
    let analysis = Analyzer::default().update(&document.design);
    let rulings = analysis.contact.values().flat_map(|judged| &judged.rulings);
    let rulings = rulings.map(|ruling| {
        format!(
            "{} {} {:?} {:?} {}",
            ruling.subject,
            ruling.index,
            ruling.method,
            ruling.verdict,
            ruling.decided_by.citation.rule
        )
    });
    let findings = analysis.findings.iter();
    let of_rules = findings.filter(|finding| finding.citation.is_some());
    let findings = of_rules.map(|finding| {
        format!(
            "{} {:?} {:?}",
            finding.check, finding.severity, finding.subjects
        )
    });
    (rulings.collect(), findings.collect())
}

fn any_motion() -> impl Strategy<Value = Motion> {
    (any::<bool>(), 0.0..360.0, (-300.0..300.0, -300.0..300.0)).prop_map(
        |(mirrored, turn_deg, by)| Motion {
            mirrored,
            turn_deg,
            by,
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4))]

    #[test]
    fn turning_moving_or_mirroring_a_plan_changes_no_verdict(motion in any_motion()) {
        for name in [LARKMEAD, CEDARBRAKE] {
            let document = sample(name);
            prop_assert_eq!(said(&motion.of(&document)), said(&document));
        }
        let cases = cases();
        for (case, document, _) in drawn(&cases) {
            prop_assert_eq!(said(&motion.of(&document)), said(&document), "{}", case.id);
        }
    }
}
