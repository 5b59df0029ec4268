//! Findings, gravest first. The open one shows its rule and what would help, the predicted change before the deed.

use aubergine_core::analysis::Progress;
use aubergine_core::finding::{Finding, Severity};
use aubergine_core::report::cited;
use eframe::egui::{self, Frame, Margin, RichText, Sense, Stroke, Ui, UiBuilder};

use crate::window::action::Action;
use crate::window::app::App;
use crate::window::theme;
use crate::window::widgets;

pub(super) fn show(ui: &mut Ui, app: &App) {
    let analysis = app.analysis();
    if analysis.findings.is_empty() {
        ui.label("No findings for the rules and limits checked. That is not an approval: the supplier and the authorities decide.");
        return;
    }
    let mut last: Option<Severity> = None;
    for finding in &analysis.findings {
        if last != Some(finding.severity) {
            last = Some(finding.severity);
            let meaning = match finding.severity {
                Severity::Stop => "a rule forbids it, or it cannot work",
                Severity::Fix => "it will not work well, or a marking duty is open",
                Severity::Check => "a person has to decide",
                Severity::Note => "to know",
            };
            ui.add_space(8.0);
            ui.horizontal(|ui| {
                let words = format!(
                    "{} {}",
                    analysis.count(finding.severity),
                    finding.severity.word()
                );
                ui.label(RichText::new(words).font(theme::type_of(13.0, true)));
                widgets::hint(ui, meaning);
            });
        }
        card(ui, app, finding);
    }
}

fn card(ui: &mut Ui, app: &App, finding: &Finding) {
    let id = finding.id();
    let is_open = app.view.open_finding.as_ref() == Some(&id);
    let palette = theme::current(ui);
    let sentence = finding.message.sentence(app.view.units);
    let edge = if is_open {
        theme::token(palette, "accent")
    } else {
        theme::token(palette, "rule")
    };
    Frame::NONE
        .fill(theme::token(palette, "raised"))
        .stroke(Stroke::new(1.0, edge))
        .corner_radius(3)
        .inner_margin(Margin::symmetric(10, 8))
        .show(ui, |ui| {
            ui.set_width(ui.available_width());
            let builder = UiBuilder::new()
                .scope_id(egui::Id::unique(("finding", &id)))
                .sense(Sense::click());
            let head = ui.scope_builder(builder, |ui| {
                ui.set_width(ui.available_width());
                ui.horizontal_top(|ui| {
                    widgets::severity_mark(ui, finding.severity);
                    ui.vertical(|ui| {
                        ui.spacing_mut().item_spacing.y = 2.0;
                        let subjects: Vec<String> =
                            finding.subjects.iter().map(ToString::to_string).collect();
                        let colour = widgets::severity_colour(palette, finding.severity);
                        let words =
                            format!("{}  {}", finding.severity.word(), shortened(&subjects));
                        ui.label(
                            RichText::new(words)
                                .font(theme::type_of(13.0, true))
                                .color(colour),
                        );
                        ui.add(egui::Label::new(&sentence).wrap().selectable(false));
                    });
                });
            });
            let name = format!("{}: {sentence}", finding.severity.word());
            head.response.widget_info(|| {
                egui::WidgetInfo::selected(egui::Role::Button, true, is_open, &name)
            });
            let response = head
                .response
                .on_hover_cursor(egui::CursorIcon::PointingHand);
            if response.clicked() {
                app.queue().push(Action::OpenFinding(id.clone()));
            }
            // Opened by a key or from elsewhere: brought into sight, once.
            let seen = egui::Id::unique("finding in sight");
            if is_open && ui.data(|data| data.get_temp::<String>(seen)).as_ref() != Some(&id) {
                response.scroll_to_me(Some(egui::Align::TOP));
                ui.data_mut(|data| data.insert_temp(seen, id.clone()));
            }
            if is_open {
                open(ui, app, finding, &id);
            }
        });
}

fn shortened(subjects: &[String]) -> String {
    const MOST: usize = 8;
    if subjects.len() <= MOST {
        return subjects.join(", ");
    }
    format!(
        "{} and {} more",
        subjects[..MOST].join(", "),
        subjects.len() - MOST
    )
}

fn open(ui: &mut Ui, app: &App, finding: &Finding, id: &str) {
    if let Some(citation) = &finding.citation {
        ui.add_space(4.0);
        widgets::hint(ui, format!("Rule: {}", cited(citation)));
        if !citation.ask.is_empty() {
            widgets::hint(ui, format!("Ask {}.", citation.ask));
        }
    }
    ui.add_space(6.0);
    ui.label(RichText::new("What would help").font(theme::type_of(13.0, true)));
    let fixes = app
        .help
        .as_ref()
        .filter(|help| help.finding == id)
        .map(|help| help.fixes.as_slice());
    match fixes {
        None | Some([]) => {
            widgets::hint(
                ui,
                "No change of the drawing settles this. It needs a fact, or a person's decision.",
            );
        }
        Some(fixes) => {
            for (index, fix) in fixes.iter().enumerate() {
                let units = app.view.units;
                let what = fix.message.sentence(units);
                let then = match &fix.progress {
                    Progress::Gone => "Then this finding is gone.".to_owned(),
                    Progress::Better(then) => format!(
                        "Then: {} {}",
                        then.severity.word(),
                        then.message.sentence(units)
                    ),
                    Progress::NoBetter => "No better.".to_owned(),
                };
                ui.scope_builder(
                    UiBuilder::new().scope_id(egui::Id::unique(("help", id, index))),
                    |ui| {
                        ui.add(egui::Label::new(RichText::new(then).size(13.0)).wrap());
                        ui.horizontal(|ui| {
                            let width = ui.available_width() - 74.0;
                            ui.allocate_ui(egui::vec2(width, 22.0), |ui| {
                                ui.set_width(width);
                                ui.add(
                                    egui::Label::new(
                                        RichText::new(&what).font(theme::type_of(13.5, true)),
                                    )
                                    .wrap(),
                                );
                            });
                            if ui
                                .button("Apply")
                                .accessible_name(format!("Apply: {what}"))
                                .clicked()
                            {
                                app.queue().push(Action::Edit {
                                    label: what.clone(),
                                    edit: fix.edit.clone(),
                                });
                            }
                        });
                    },
                );
                ui.add_space(4.0);
            }
        }
    }
}
