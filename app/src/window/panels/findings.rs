//! Findings, gravest first. The open one shows its rule and what would help, the predicted change before the deed.

use aubergine_core::analysis::settled::{
    Standing, can_be_settled, num_settled, standing, standing_in_words,
};
use aubergine_core::analysis::{Fix, Progress};
use aubergine_core::finding::{Finding, Severity};
use aubergine_core::report::{brought, ruled};
use aubergine_core::text;
use eframe::egui::{self, RichText, Sense, Stroke, Ui, UiBuilder};

use crate::window::action::Action;
use crate::window::app::App;
use crate::window::theme;
use crate::window::widgets;

pub(super) fn show(ui: &mut Ui, app: &App) {
    let analysis = app.analysis();
    let review = &app.document().review;
    let missing = missing(app);
    for key in &missing {
        ui.add(
            egui::Label::new(RichText::new(text::get(key)).font(theme::type_of(13.5, true))).wrap(),
        );
    }
    widgets::aged_rules(ui, app.plan());
    if analysis.findings.is_empty() {
        if missing.is_empty() {
            ui.label(text::get("window.none_found"));
        }
        return;
    }
    let mut last: Option<Severity> = None;
    for finding in &analysis.findings {
        if last != Some(finding.severity) {
            last = Some(finding.severity);
            let meaning = match finding.severity {
                Severity::Stop => {
                    "a rule or our cautious reading of one forbids it, or it cannot work"
                }
                Severity::Fix => "it will not work well, or a marking duty is open",
                Severity::Check => "a person has to decide",
                Severity::Note => "to know",
            };
            ui.add_space(8.0);
            ui.horizontal(|ui| {
                let mut words = finding.severity.counted(analysis.count(finding.severity));
                let of_this = |it: &&Finding| it.severity == finding.severity;
                let settled = num_settled(review, analysis.findings.iter().filter(of_this));
                if settled > 0 {
                    let told = text::fill("settle.count", [("count", settled.to_string())]);
                    words = format!("{words} · {told}");
                }
                ui.label(RichText::new(words).font(theme::type_of(13.0, true)));
                widgets::hint(ui, meaning);
            });
        }
        card(ui, app, finding);
    }
}

/// What has to be there before the absence of findings says anything.
pub(in crate::window) fn missing(app: &App) -> Vec<&'static str> {
    let plan = app.plan();
    let objects = &plan.objects;
    let is_bare = objects.beds.is_empty() && objects.trees.is_empty();
    [
        (plan.rules.in_force.is_empty(), "window.missing_rules"),
        (objects.supplies.is_empty(), "window.missing_supply"),
        (is_bare, "window.missing_planting"),
    ]
    .into_iter()
    .filter_map(|(is_missing, key)| is_missing.then_some(key))
    .collect()
}

fn card(ui: &mut Ui, app: &App, finding: &Finding) {
    let id = finding.id();
    let is_open = app.view.open_finding.as_ref() == Some(&id);
    let palette = theme::current(ui);
    let sentence = finding.message.sentence(app.view.units);
    let review = &app.document().review;
    let edge = if is_open { "accent" } else { "rule" };
    widgets::card(ui, edge, |ui| {
        let builder = UiBuilder::new()
            .scope_id(egui::Id::unique(("finding", &id)))
            .sense(Sense::click());
        let head = ui.scope_builder(builder, |ui| {
            ui.set_width(ui.available_width());
            ui.horizontal_top(|ui| {
                widgets::severity_mark(ui, finding.severity);
                let width = ui.available_width() - CHEVRON_WIDTH;
                ui.vertical(|ui| {
                    ui.set_width(width);
                    ui.spacing_mut().item_spacing.y = 2.0;
                    let subjects: Vec<String> =
                        finding.subjects.iter().map(ToString::to_string).collect();
                    let colour = widgets::severity_colour(palette, finding.severity);
                    let words = format!("{}  {}", finding.severity.word(), shortened(&subjects));
                    let head = RichText::new(words)
                        .font(theme::type_of(13.0, true))
                        .color(colour);
                    ui.add(egui::Label::new(head).selectable(false));
                    ui.add(egui::Label::new(&sentence).wrap().selectable(false));
                    if let Some(words) = standing_in_words(review, finding) {
                        widgets::hint(ui, words);
                    }
                });
                chevron(ui, is_open);
            });
        });
        let name = format!("{}: {sentence}", finding.severity.word());
        head.response
            .widget_info(|| egui::WidgetInfo::selected(egui::Role::Button, true, is_open, &name));
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

const CHEVRON_WIDTH: f32 = 24.0;

/// Says that a card opens, or closes, when it is clicked.
fn chevron(ui: &mut Ui, is_open: bool) {
    let (rect, _) = ui.allocate_exact_size(egui::vec2(12.0, 18.0), Sense::hover());
    let (at, ink) = (rect.center(), theme::token(theme::current(ui), "ink2"));
    let corners = if is_open {
        [(-4.0, -2.0), (0.0, 2.5), (4.0, -2.0)]
    } else {
        [(-2.0, -4.0), (2.5, 0.0), (-2.0, 4.0)]
    };
    let points = corners.map(|(x, y)| at + egui::vec2(x, y)).to_vec();
    ui.painter()
        .add(egui::Shape::line(points, Stroke::new(1.8, ink)));
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
        widgets::hint(ui, ruled(citation));
        // Most sentences about rules end with it.
        let is_told = finding
            .message
            .sentence(app.view.units)
            .contains(&citation.ask);
        if !is_told {
            widgets::hint(ui, format!("Ask {}.", citation.ask));
        }
    }
    ui.add_space(6.0);
    let fixes = app
        .help
        .as_ref()
        .filter(|help| help.finding == id)
        .map_or(&[][..], |help| help.fixes.as_slice());
    let head = match fixes.len() {
        0 => text::get("window.help_none").to_owned(),
        count => text::fill("window.help_count", [("count", count.to_string())]),
    };
    ui.label(RichText::new(head).font(theme::type_of(13.0, true)));
    if fixes.is_empty() {
        widgets::hint(ui, text::get("window.help_no_change"));
    }
    for (index, fix) in fixes.iter().enumerate() {
        let scope = UiBuilder::new().scope_id(egui::Id::unique(("help", id, index)));
        ui.scope_builder(scope, |ui| change(ui, app, fix));
        ui.add_space(4.0);
    }
    decision(ui, app, finding, id);
}

/// A person may answer for a Check or a Fix as it stands, and take that back.
fn decision(ui: &mut Ui, app: &App, finding: &Finding, id: &str) {
    if !can_be_settled(finding.severity) {
        return;
    }
    let standing = standing(&app.document().review, finding);
    ui.add_space(4.0);
    ui.horizontal(|ui| {
        let settle = text::get("window.settle");
        if matches!(standing, Standing::Open | Standing::Reopened(_)) {
            let name = format!("{settle} {}", finding.message.sentence(app.view.units));
            if ui.button(settle).accessible_name(name).clicked() {
                app.queue().push(Action::AskToSettle(id.to_owned()));
            }
        }
        if matches!(standing, Standing::Settled(_) | Standing::Reopened(_))
            && ui.button(text::get("window.unsettle")).clicked()
        {
            app.queue().push(Action::Unsettle(id.to_owned()));
        }
    });
}

/// One change, what would then be, and the button that makes it.
fn change(ui: &mut Ui, app: &App, fix: &Fix) {
    let units = app.view.units;
    let what = fix.message.sentence(units);
    let then = match &fix.progress {
        Progress::Gone => text::get("window.then_gone").to_owned(),
        Progress::Better(then) => {
            let words = format!("{} {}", then.severity.word(), then.message.sentence(units));
            text::fill("window.then_better", [("then", words)])
        }
        Progress::NoBetter => text::get("window.then_no_better").to_owned(),
    };
    ui.horizontal(|ui| {
        let width = ui.available_width() - 74.0;
        ui.allocate_ui(egui::vec2(width, 22.0), |ui| {
            ui.set_width(width);
            let words = RichText::new(&what).font(theme::type_of(13.5, true));
            ui.add(egui::Label::new(words).wrap());
        });
        if ui
            .button("Apply")
            .accessible_name(format!("Apply: {what}"))
            .clicked()
        {
            app.queue().push(Action::Help {
                what,
                edit: fix.edit.clone(),
            });
        }
    });
    ui.add(egui::Label::new(RichText::new(then).size(13.0)).wrap());
    if let Some(brought) = brought(fix, units) {
        let words = text::fill("window.then_brings", [("brought", brought)]);
        ui.add(egui::Label::new(RichText::new(words).size(13.0)).wrap());
    }
}
