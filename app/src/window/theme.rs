//! From the token file to the look of the widgets, in light and dark, and the type family.

use std::sync::Arc;

use aubergine_core::drawing::font;
use aubergine_core::drawing::theme::{Colour, Theme};
use eframe::egui::{
    self, Color32, Context, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Margin,
    Stroke, Style, TextStyle, Vec2, Visuals, style::WidgetVisuals,
};

use super::state::ThemeChoice;

/// The bold face.
#[must_use]
pub fn bold() -> FontFamily {
    FontFamily::Name("bold".into())
}

/// Type of a size in a face.
#[must_use]
pub fn type_of(size: f32, is_bold: bool) -> FontId {
    FontId::new(
        size,
        if is_bold {
            bold()
        } else {
            FontFamily::Proportional
        },
    )
}

/// A colour of the drawing as one of the window.
#[must_use]
pub const fn colour(colour: Colour) -> Color32 {
    Color32::from_rgb(colour.r, colour.g, colour.b)
}

/// A token in the theme in use.
#[must_use]
pub fn token(theme: Theme, name: &str) -> Color32 {
    colour(theme.token(name))
}

/// The theme in use.
#[must_use]
pub fn current(ui: &egui::Ui) -> Theme {
    if ui.visuals().dark_mode {
        Theme::Dark
    } else {
        Theme::Light
    }
}

/// Fonts and both looks.
pub fn install(context: &Context) {
    let mut fonts = FontDefinitions::default();
    let faces = [("B612", font::REGULAR), ("B612 Bold", font::BOLD)];
    for (name, bytes) in faces {
        fonts
            .font_data
            .insert(name.to_owned(), Arc::new(FontData::from_static(bytes)));
    }
    let fallback = fonts
        .families
        .get(&FontFamily::Proportional)
        .cloned()
        .unwrap_or_default();
    let with = |first: &[&str]| -> Vec<String> {
        first
            .iter()
            .map(|name| (*name).to_owned())
            .chain(fallback.iter().cloned())
            .collect()
    };
    fonts
        .families
        .insert(FontFamily::Proportional, with(&["B612"]));
    fonts.families.insert(bold(), with(&["B612 Bold", "B612"]));
    context.set_fonts(fonts);
    for (theme, of_window) in [
        (Theme::Light, egui::Theme::Light),
        (Theme::Dark, egui::Theme::Dark),
    ] {
        context.set_style_of(of_window, style(theme));
    }
    context.options_mut(|options| {
        // Ctrl and plus belong to the drawing.
        options.zoom_with_keyboard = false;
        // A desktop that names no preference gets paper.
        options.fallback_theme = egui::Theme::Light;
        options.input_options.max_click_dist = 4.0;
    });
}

/// Light, dark, or as the desktop has it.
pub fn choose(context: &Context, choice: ThemeChoice) {
    context.set_theme(match choice {
        ThemeChoice::System => egui::ThemePreference::System,
        ThemeChoice::Light => egui::ThemePreference::Light,
        ThemeChoice::Dark => egui::ThemePreference::Dark,
    });
}

fn style(theme: Theme) -> Style {
    let mut style = Style::default();
    let face = |size: f32| FontId::new(size, FontFamily::Proportional);
    style.text_styles = [
        (TextStyle::Small, face(12.0)),
        (TextStyle::Body, face(14.0)),
        (TextStyle::Button, face(14.0)),
        (TextStyle::Monospace, face(14.0)),
        (TextStyle::Heading, FontId::new(16.0, bold())),
    ]
    .into();
    style.spacing.item_spacing = Vec2::new(8.0, 6.0);
    style.spacing.button_padding = Vec2::new(8.0, 4.0);
    style.spacing.interact_size = Vec2::new(28.0, 26.0);
    style.spacing.window_margin = Margin::same(16);
    style.spacing.menu_margin = Margin::same(6);
    style.spacing.combo_width = 80.0;
    style.spacing.scroll = egui::style::ScrollStyle::thin();
    style.animation_time = 0.0;
    style.visuals = visuals(theme);
    style
}

fn visuals(theme: Theme) -> Visuals {
    let get = |name: &str| token(theme, name);
    let mut visuals = match theme {
        Theme::Light => Visuals::light(),
        Theme::Dark => Visuals::dark(),
    };
    let ink = get("ink");
    let rule = Stroke::new(1.0, get("rule"));
    let corner = CornerRadius::same(3);
    let widget = |fill: Color32, weak: Color32, edge: Stroke, text: Color32| WidgetVisuals {
        bg_fill: fill,
        weak_bg_fill: weak,
        bg_stroke: edge,
        corner_radius: corner,
        fg_stroke: Stroke::new(1.0, text),
        expansion: 0.0,
    };
    let field = Stroke::new(1.0, get("field"));
    let accent = get("accent");
    visuals.widgets.noninteractive = widget(get("panel"), get("panel"), rule, ink);
    visuals.widgets.inactive = widget(get("raised"), get("raised"), field, ink);
    visuals.widgets.hovered = widget(get("raised"), get("raised"), Stroke::new(1.0, accent), ink);
    visuals.widgets.active = widget(get("raised"), get("raised"), Stroke::new(2.0, ink), ink);
    visuals.widgets.open = widget(get("raised"), get("raised"), Stroke::new(1.0, accent), ink);
    visuals.selection.bg_fill = accent;
    visuals.selection.stroke = Stroke::new(1.0, get("onAccent"));
    visuals.override_text_color = None;
    visuals.weak_text_color = Some(get("ink3"));
    visuals.hyperlink_color = accent;
    visuals.panel_fill = get("panel");
    visuals.window_fill = get("panel");
    visuals.window_stroke = Stroke::new(1.0, get("field"));
    visuals.window_corner_radius = corner;
    visuals.menu_corner_radius = corner;
    visuals.window_shadow = egui::Shadow::NONE;
    visuals.popup_shadow = egui::Shadow::NONE;
    visuals.extreme_bg_color = get("raised");
    visuals.faint_bg_color = get("canvas");
    visuals.code_bg_color = get("canvas");
    visuals.warn_fg_color = get("conditions");
    visuals.error_fg_color = get("notAllowed");
    visuals.indent_has_left_vline = false;
    visuals
}
