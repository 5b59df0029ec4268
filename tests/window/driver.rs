//! A window that tests drive as a person would.

use std::path::PathBuf;

use aubergine::window::{App, Dialogs, Window, prepare};
use aubergine_core::analysis::{Analysis, Analyzer};
use aubergine_core::file;
use aubergine_core::geometry::PlanPoint;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::Id;
use aubergine_core::model::{Document, PortRef};
use aubergine_core::report::{Checked, Shown};
use aubergine_core::units::Pressure;
use eframe::egui::accesskit::Role;
use eframe::egui::{self, Event, Key, Modifiers, PointerButton, Pos2, Rect, Vec2, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};

/// The sample of a name.
pub fn sample(name: &str) -> Document {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("../sample-plans")
        .join(format!("{name}.json"));
    file::load(&std::fs::read(path).unwrap()).unwrap()
}

/// The window of a test, made in its first frame.
pub struct Driven {
    app: Option<App>,
    window: Option<Window>,
}

/// A window and the hand that drives it.
pub struct Driver {
    pub harness: Harness<'static, Driven>,
}

impl Driver {
    /// A window on the sample of a name.
    pub fn on(name: &str) -> Self {
        Self::with(sample(name), None)
    }

    /// A window on a document.
    pub fn with(document: Document, path: Option<PathBuf>) -> Self {
        let state = Driven {
            app: Some(App::new(document, path, Dialogs::none())),
            window: None,
        };
        let mut harness = Harness::builder()
            .with_size(Vec2::new(1440.0, 900.0))
            .with_max_steps(24)
            .with_context_setup(prepare)
            .build_ui_state(
                |ui: &mut egui::Ui, state: &mut Driven| {
                    let app = &mut state.app;
                    let window = state
                        .window
                        .get_or_insert_with(|| Window::new(ui.ctx(), app.take().unwrap()));
                    window.frame(ui);
                },
                state,
            );
        harness.run();
        Self { harness }
    }

    pub fn app(&self) -> &App {
        &self.harness.state().window.as_ref().unwrap().app
    }

    /// The design in the bytes of its file.
    pub fn design(&self) -> Vec<u8> {
        let only_design = Document {
            design: self.app().document().design.clone(),
            ..Document::default()
        };
        file::save(&only_design)
    }

    /// A length of the plan in pixels.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "screen places are single precision"
    )]
    pub fn px(&self, metres: f64) -> f32 {
        (metres * self.app().camera().px_per_m) as f32
    }

    /// Where a node of the tree is.
    pub fn rect(&self, label: &str) -> Rect {
        self.harness.get_by_label_contains(label).rect()
    }

    /// Where a plan point is.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "screen places are single precision"
    )]
    pub fn place(&self, point: PlanPoint) -> Pos2 {
        let canvas = self.rect("Drawing of");
        let (x, y) = self.app().camera().to_canvas(point);
        canvas.center() + vec2(x as f32, y as f32)
    }

    pub fn press(&mut self, at: Pos2) {
        self.harness.event(Event::PointerMoved(at));
        self.harness.step();
        self.button(at, true);
    }

    pub fn release(&mut self, at: Pos2) {
        self.button(at, false);
        self.harness.run();
    }

    fn button(&mut self, at: Pos2, pressed: bool) {
        self.harness.event(Event::PointerButton {
            pos: at,
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        });
        self.harness.step();
    }

    /// Moves the pointer in steps.
    pub fn move_to(&mut self, from: Pos2, to: Pos2) {
        for step in 1..=6u8 {
            let share = f32::from(step) / 6.0;
            self.harness
                .event(Event::PointerMoved(from + (to - from) * share));
            self.harness.step();
        }
        self.harness.step();
    }

    pub fn drag(&mut self, from: Pos2, to: Pos2) {
        self.press(from);
        self.move_to(from, to);
        self.release(to);
    }

    pub fn click(&mut self, at: Pos2) {
        self.press(at);
        self.release(at);
    }

    pub fn key(&mut self, key: Key) {
        self.harness.key_press(key);
        self.harness.run();
    }

    pub fn command(&mut self, key: Key) {
        self.harness.key_press_modifiers(Modifiers::COMMAND, key);
        self.harness.run();
    }

    /// Brings a text field into view and puts words in place of what it holds.
    pub fn type_into(&mut self, label: &str, words: &str) {
        let role = Role::TextInput;
        let field = self.harness.get_by_role_and_label(role, label);
        field.scroll_to_me();
        field.focus();
        self.harness.run();
        self.command(Key::A);
        let field = self.harness.get_by_role_and_label(role, label);
        field.type_text(words);
        self.harness.run();
    }

    /// The same, and Enter.
    pub fn write(&mut self, label: &str, words: &str) {
        self.type_into(label, words);
        self.key(Key::Enter);
    }

    /// What the drawing says of an object: `Bed B3, strawberry, inlet 25.0 psi`.
    pub fn words_of(&self, id: Id) -> String {
        let end = format!(" {id}");
        let names = |label: &str| {
            label
                .split(',')
                .next()
                .is_some_and(|name| name.ends_with(&end) && !name.contains(':'))
        };
        self.first_label(names)
            .unwrap_or_else(|| panic!("nothing is named {id}"))
    }

    fn first_label(&self, wanted: impl Fn(&str) -> bool) -> Option<String> {
        self.harness
            .query_all_by(|node| node.label().is_some_and(|label| wanted(&label)))
            .find_map(|node| node.accesskit_node().label())
    }
}

/// Everything about the plan that a file would hold, worked out from its bytes by a fresh analyzer.
pub fn from_file(document: &Document) -> (Document, Analysis) {
    let again = file::load(&file::save(document)).unwrap();
    let analysis = Analyzer::default().update(&again.design);
    (again, analysis)
}

/// What reports are made of, for a plan as it was saved: the low case, units of its place, a day in spring.
pub fn checked_of_saved<T>(document: &Document, tell: impl FnOnce(&Checked) -> T) -> T {
    let (saved, analysis) = from_file(document);
    tell(&Checked {
        plan: &saved.design,
        review: &saved.review,
        analysis: &analysis,
        fixes: &[],
        shown: Shown::Case(SupplyCase::Low),
        units: saved.design.site.units,
        date: "2027-03-15",
    })
}

/// The lowest pressure of a port over the zones.
pub fn pressure(analysis: &Analysis, port: &str, case: SupplyCase) -> Option<Pressure> {
    let port: PortRef = port.parse().unwrap();
    analysis
        .zones
        .values()
        .filter_map(|zone| zone.pressure_at(&port, case))
        .reduce(Pressure::min)
}
