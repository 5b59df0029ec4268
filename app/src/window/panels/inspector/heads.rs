//! Filling a lawn with heads: the choice of head and pattern, what would be put down, and the button that does it.

use aubergine_core::agronomy::application_rate;
use aubergine_core::catalog::Catalog;
use aubergine_core::ids::Id;
use aubergine_core::layout::{HeadPattern, HeadsRule, bed_outline};
use aubergine_core::text;
use aubergine_core::units::Flow;
use eframe::egui::Ui;

use super::network::part_choice;
use crate::window::action::Action;
use crate::window::app::App;
use crate::window::command::Command;
use crate::window::tools::{Tool, placed};
use crate::window::widgets;

pub(super) fn show(ui: &mut Ui, app: &App, id: Id) {
    widgets::group(ui, "Heads");
    let rule = match &app.tool {
        Tool::Heads { area, rule } if *area == id => rule,
        _ => {
            if ui.button("Fill with heads").clicked() {
                let rule = HeadsRule {
                    part: "spray-12".to_owned(),
                    pattern: HeadPattern::default(),
                    factor: 1.0,
                };
                app.queue().push(Action::ShowHeads { area: id, rule });
            }
            return;
        }
    };
    let show = |rule: HeadsRule| app.queue().push(Action::ShowHeads { area: id, rule });
    let rows = Catalog::built_in().emissions.iter();
    let full = rows.filter(|(_, row)| !row.throw.is_empty() && row.arc.is_none());
    let rows: Vec<(String, String)> = full
        .map(|(key, row)| (key.clone(), row.name.clone()))
        .collect();
    if let Some(part) = part_choice(ui, "head part", "Head", &rule.part, &rows) {
        show(HeadsRule {
            part,
            ..rule.clone()
        });
    }
    let patterns = [
        (HeadPattern::Square, "squares"),
        (HeadPattern::Triangular, "triangles"),
    ];
    if let Some(pattern) = widgets::choice(ui, "head pattern", "Pattern", rule.pattern, &patterns) {
        show(HeadsRule {
            pattern,
            ..rule.clone()
        });
    }
    let factors = [
        (1.0, "one throw apart"),
        (0.9, "0.9 of the throw apart"),
        (0.8, "0.8 of the throw apart"),
        (0.6, "0.6 of the throw apart"),
    ];
    if let Some(factor) = widgets::choice(ui, "head factor", "They stand", rule.factor, &factors) {
        show(HeadsRule {
            factor,
            ..rule.clone()
        });
    }
    let plan = app.plan();
    let heads = placed(plan, id, rule);
    let flow: Flow = heads
        .iter()
        .filter_map(|head| plan.catalog.emission(&head.part))
        .map(|row| row.flow)
        .sum();
    let Some(bed) = plan.objects.beds.get(&id).filter(|_| !heads.is_empty()) else {
        widgets::problem(ui, text::get("window.no_heads"));
        return;
    };
    let units = app.view.units;
    let rate = units.rate(application_rate(flow, bed_outline(bed).area()));
    let told = text::fill(
        "window.heads",
        [
            ("count", heads.len().to_string()),
            ("flow", units.flow(flow)),
            ("rate", rate),
        ],
    );
    ui.label(told);
    let unmatched = heads.iter().filter(|head| !head.is_matched).count();
    if unmatched > 0 {
        let count = unmatched.to_string();
        widgets::problem(
            ui,
            &text::fill("window.heads_unmatched", [("count", count)]),
        );
    }
    if ui.button("Put the heads down (Enter)").clicked() {
        app.queue().push(Action::Run(Command::Finish));
    }
}
