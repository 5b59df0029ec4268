//! Every object by name: the drawing as a list, for the keyboard and for assistive technology.

use aubergine_core::ids::Kind;
use eframe::egui::{self, Button, TextEdit, Ui, UiBuilder};

use crate::window::action::Action;
use crate::window::app::App;
use crate::window::widgets;

const GROUPS: [(&str, &[Kind]); 6] = [
    ("Planted", &[Kind::Bed, Kind::Tree]),
    (
        "Supply and devices",
        &[Kind::Supply, Kind::Device, Kind::Box],
    ),
    ("Runs and lines", &[Kind::Pipe, Kind::Line]),
    ("Emitters and outlets", &[Kind::Emission, Kind::Outlet]),
    ("Zones and waters", &[Kind::Zone, Kind::Water]),
    (
        "Site",
        &[
            Kind::Feature,
            Kind::Mark,
            Kind::Sign,
            Kind::Crossing,
            Kind::Height,
        ],
    ),
];

pub(super) fn show(ui: &mut Ui, app: &App) {
    let salt = egui::Id::unique("filter of the list");
    let mut filter: String = ui.data(|data| data.get_temp(salt)).unwrap_or_default();
    let field = TextEdit::singleline(&mut filter)
        .hint_text("Find: B3, strawberry, valve…")
        .desired_width(f32::INFINITY);
    if ui.add(field).accessible_name("Find an object").changed() {
        ui.data_mut(|data| data.insert_temp(salt, filter.clone()));
    }
    let wanted = filter.trim().to_lowercase();
    super::verdicts::of_all(ui, app, &wanted);
    let ids = app.plan().objects.ids();
    let mut is_any = false;
    for (head, kinds) in GROUPS {
        let rows: Vec<_> = ids
            .iter()
            .filter(|id| kinds.contains(&id.kind))
            .map(|id| (*id, app.words(*id).to_owned()))
            .filter(|(_, words)| wanted.is_empty() || words.to_lowercase().contains(&wanted))
            .collect();
        if rows.is_empty() {
            continue;
        }
        is_any = true;
        widgets::group(ui, head);
        for (id, words) in rows {
            // The name of a row is that of its object: a row that comes before it takes nothing away from it.
            let scope =
                UiBuilder::new().scope_id(egui::Id::unique(("row of the list", id.to_string())));
            ui.scope_builder(scope, |ui| {
                let is_on = app.selection().contains(&id);
                let button = Button::selectable(is_on, words.as_str())
                    .wrap()
                    .min_size(egui::vec2(ui.available_width(), 24.0));
                if ui.add(button).clicked() {
                    let add = ui.input(|input| input.modifiers.shift);
                    app.queue().push(Action::Select {
                        id,
                        add,
                        show: true,
                    });
                }
            });
        }
    }
    if !is_any {
        widgets::hint(
            ui,
            if wanted.is_empty() {
                "Nothing is drawn yet."
            } else {
                "Nothing of that name is in the plan."
            },
        );
    }
}
