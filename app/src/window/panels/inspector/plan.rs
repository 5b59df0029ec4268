//! Nothing selected: the plan as a whole, its zones, what was assumed, and the cautions.

use aubergine_core::edit::Edit;
use aubergine_core::geometry::{PlanPoint, Polygon};
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::model::{Hours, RuleChoice, Site};
use aubergine_core::report::{cautions, zone_summaries};
use aubergine_core::rulebook::{SiteKind, built_in, built_in_book};
use aubergine_core::text;
use aubergine_core::units::Length;
use eframe::egui::{self, CollapsingHeader, Grid, RichText, Ui};

use crate::window::action::Action;
use crate::window::app::App;
use crate::window::command::Command;
use crate::window::theme;
use crate::window::widgets;

pub(super) fn show(ui: &mut Ui, app: &App) {
    let plan = app.plan();
    let name = if plan.name.is_empty() {
        "New plan"
    } else {
        &plan.name
    };
    ui.label(RichText::new(name).font(theme::type_of(17.0, true)));
    widgets::hint(ui, "Click something on the plan to see and change it.");
    title(ui, app);
    rules(ui, app);
    super::premises::show(ui, app);
    zones(ui, app);
    super::sizing::show(ui, app, None);
    let assumptions = &app.analysis().assumptions;
    if !assumptions.is_empty() {
        widgets::group(ui, &format!("Assumed ({})", assumptions.len()));
        for assumption in assumptions {
            ui.add(egui::Label::new(assumption.message.sentence(app.view.units)).wrap());
        }
    }
    widgets::group(ui, "Before you rely on it");
    for caution in cautions() {
        ui.add(egui::Label::new(RichText::new(caution).size(13.0)).wrap());
    }
}

/// What stands over the sheets, and whether somebody looked for wells: a fact that only a person can state.
fn title(ui: &mut Ui, app: &App) {
    let plan = app.plan();
    let set = |label: &str, edit: Edit| {
        let label = label.to_owned();
        app.queue().push(Action::Edit { label, edit });
    };
    if let Some(name) = widgets::field(ui, "plan name", "Plan name", &plan.name) {
        set("Name the plan", Edit::Rename(name));
    }
    let site = |change: &dyn Fn(&mut Site)| {
        let mut site = plan.site.clone();
        change(&mut site);
        Edit::SetSite(Box::new(site))
    };
    if let Some(place) = widgets::field(ui, "place", "Place", &plan.site.place) {
        set(
            "Name the place",
            site(&|site| site.place.clone_from(&place)),
        );
    }
    let kinds: Vec<(SiteKind, &str)> = SiteKind::ALL
        .iter()
        .map(|kind| (*kind, text::get(kind.key())))
        .collect();
    let label = text::get("window.site_kind");
    if let Some(kind) = widgets::choice(ui, "site kind", label, plan.site.kind, &kinds) {
        set("State the kind of site", site(&|site| site.kind = kind));
    }
    plot(ui, app);
    let within = plan.site.measured_within;
    let shown = within.map_or_else(String::new, |within| app.view.units.length(within));
    let label = text::get("window.measured_within");
    if let Some(length) = super::length(ui, app, "measured within", label, &shown) {
        // A drawing without any error does not exist: zero takes the statement back.
        let stated = (length > Length::ZERO).then_some(length);
        let edit = site(&|site| site.measured_within = stated);
        set("State how exactly the yard was measured", edit);
    }
    if within.is_none() {
        widgets::hint(ui, text::get("window.measured_hint"));
    }
    hours(ui, app);
    let mut looked = plan.site.wells_surveyed;
    let words = "Wells were looked for, and those there are drawn";
    if ui.checkbox(&mut looked, words).changed() {
        let edit = site(&|site| site.wells_surveyed = looked);
        set("State that wells were looked for", edit);
    }
}

/// The hours at which may be watered.
fn hours(ui: &mut Ui, app: &App) {
    let site = &app.plan().site;
    let now = site.hours.as_ref();
    let shown = now.map_or_else(String::new, |now| format!("{}-{}", now.from, now.to));
    let read = |words: &str| {
        if words.trim().is_empty() {
            return Ok(None);
        }
        let unread = || text::fill("window.hours_unread", [("words", words.to_owned())]);
        Hours::read(words).map(Some).ok_or_else(unread)
    };
    let label = text::get("window.hours");
    if let Some(hours) = super::typed(ui, "hours", label, &shown, read) {
        let site = Site {
            hours,
            ..site.clone()
        };
        app.queue().push(Action::Edit {
            label: "State the watering hours".to_owned(),
            edit: Edit::SetSite(Box::new(site)),
        });
    }
}

/// The property line by its width and depth. Where none is drawn yet, the first typed side makes a square of it.
fn plot(ui: &mut Ui, app: &App) {
    let site = &app.plan().site;
    let outline = if site.outline.0.is_empty() {
        let side = super::length(ui, app, "plot", "Plot width", "");
        side.filter(|side| *side > Length::ZERO)
            .map(|side| Polygon::rectangle(PlanPoint::new(0.0, 0.0), side, side))
    } else {
        widgets::fact(ui, "Plot", &app.view.units.area(site.outline.area()));
        super::outline_size(ui, app, &site.outline)
    };
    if let Some(outline) = outline {
        let site = Site {
            outline,
            ..site.clone()
        };
        app.queue().push(Action::Edit {
            label: "Set the property line".to_owned(),
            edit: Edit::SetSite(Box::new(site)),
        });
    }
}

fn zones(ui: &mut Ui, app: &App) {
    let zones = zone_summaries(app.plan(), app.analysis());
    widgets::group(ui, &format!("Zones at {} supply", app.view.case.word()));
    if zones.is_empty() {
        widgets::hint(ui, "No zone yet: a zone valve opens one.");
        return;
    }
    let units = app.view.units;
    let case = match app.view.case {
        SupplyCase::Low => 0,
        SupplyCase::Normal => 1,
        SupplyCase::High => 2,
    };
    Grid::new("zones")
        .num_columns(4)
        .spacing([10.0, 4.0])
        .show(ui, |ui| {
            for head in ["Zone", "Takes", "First", "Last emitter"] {
                ui.label(
                    RichText::new(head)
                        .size(12.0)
                        .color(theme::token(theme::current(ui), "ink2")),
                );
            }
            ui.end_row();
            for zone in zones {
                let words = if zone.label.is_empty() {
                    zone.id.to_string()
                } else {
                    format!("{} {}", zone.id, zone.label)
                };

                if ui.link(words).on_hover_text("Show this zone").clicked() {
                    app.queue().push(Action::Select {
                        id: zone.id,
                        add: false,
                        show: false,
                    });
                }
                if !zone.is_fed {
                    ui.label(text::get("window.no_water"));
                    ui.end_row();
                    continue;
                }
                ui.label(units.flow(zone.flow[case]));
                let shown = |pressure: Option<aubergine_core::units::Pressure>| {
                    pressure.map_or_else(|| "—".to_owned(), |pressure| units.pressure(pressure))
                };
                ui.label(shown(zone.first[case]));
                ui.label(shown(zone.last[case]));
                ui.end_row();
            }
        });
}

/// Which books are in force. Choosing them is stating a fact of the place.
fn rules(ui: &mut Ui, app: &App) {
    widgets::group(ui, "Rules in force");
    let now = &app.plan().rules;
    let is_on = |id: &str| now.in_force.iter().any(|known| known == id);
    let (on, off): (Vec<_>, Vec<_>) = books(now).into_iter().partition(|book| is_on(book.id));
    for book in &on {
        book_box(ui, app, book, true);
    }
    if !off.is_empty() {
        let count = [("count", off.len().to_string())];
        CollapsingHeader::new(text::fill("window.other_books", count))
            .id_salt(("other books", on.is_empty()))
            .default_open(on.is_empty())
            .show(ui, |ui| {
                for book in &off {
                    book_box(ui, app, book, false);
                }
            });
    }
    widgets::aged_rules(ui, app.plan());
    if ui.button(Command::AddRules.entry().label).clicked() {
        app.queue().push(Action::Run(Command::AddRules));
    }
}

/// A book that may be in force, as the panel names it.
struct Offered<'a> {
    id: &'a str,
    words: String,
    place: &'a str,
}

/// The books that come with the program, then those the plan carries besides.
fn books(rules: &RuleChoice) -> Vec<Offered<'_>> {
    let own = built_in().iter().map(|own| {
        // The plan's text of a book is the one that judges.
        let carried = rules.books.get(&own.id);
        let book = carried.map_or(own, |carried| carried.book.as_ref());
        let key = if book.binding {
            "window.book"
        } else {
            "window.book_advises"
        };
        let title = ("title", book.title.clone());
        Offered {
            id: &own.id,
            words: text::fill(key, [title, ("as_of", book.as_of.clone())]),
            place: &book.jurisdiction,
        }
    });
    let carried = rules.books.iter();
    let local = carried.filter(|(id, _)| built_in_book(id).is_none());
    own.chain(local.map(|(id, carried)| Offered {
        id,
        words: format!("{} (from {})", carried.book.title, carried.origin),
        place: &carried.book.jurisdiction,
    }))
    .collect()
}

fn book_box(ui: &mut Ui, app: &App, book: &Offered<'_>, is_on: bool) {
    let mut ticked = is_on;
    if ui.checkbox(&mut ticked, &book.words).changed() {
        let mut rules = app.plan().rules.clone();
        rules.in_force.retain(|known| known != book.id);
        if ticked {
            rules.in_force.push(book.id.to_owned());
        }
        app.queue().push(Action::Edit {
            label: format!("Choose the rules: {}", book.place),
            edit: Edit::SetRules(Box::new(rules)),
        });
    }
}
