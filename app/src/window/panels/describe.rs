//! Objects in words: for lists, headlines and assistive technology. One function, so that all of them say the same.

use aubergine_core::drawing::Symbol;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::{Id, Kind};
use aubergine_core::model::{BedUse, FeatureKind, Object, Plan, PortRef, WaterKind};
use aubergine_core::text;
use aubergine_core::units::Pressure;

use crate::window::app::App;

/// The lowest pressure of a port over the zones it takes part in, each running alone: what the drawing shows.
#[must_use]
pub fn pressure_at(app: &App, id: Id, port: &str, case: SupplyCase) -> Option<Pressure> {
    app.analysis()
        .lowest_pressure(&PortRef::new(id, port), case)
}

/// The port that stands for an object, and the word for it.
#[must_use]
pub const fn main_port(id: Id) -> (&'static str, &'static str) {
    match id.kind {
        Kind::Bed | Kind::Emission | Kind::Outlet => ("in", "inlet"),
        Kind::Device | Kind::Supply => ("out", "outlet"),
        Kind::Pipe => ("end", "end"),
        Kind::Line => ("start", "start"),
        _ => ("", ""),
    }
}

/// The pressure that stands for an object in the case shown.
#[must_use]
pub fn pressure_of(app: &App, id: Id) -> Option<Pressure> {
    pressure_at(app, id, main_port(id).0, app.view.case)
}

/// The name of a crop.
#[must_use]
pub fn crop_name<'a>(plan: &'a Plan, crop: &'a str) -> &'a str {
    plan.catalog
        .crop(crop)
        .map_or(crop, |row| row.name.as_str())
}

/// What sort of object it is.
#[must_use]
pub fn kind_word(plan: &Plan, id: Id) -> String {
    let symbol = match plan.objects.get(id) {
        Some(Object::Device(device)) => Symbol::Device(device.kind),
        Some(Object::Emission(emission)) => Symbol::Emission(emission.kind),
        Some(Object::Outlet(outlet)) => Symbol::Outlet(outlet.kind),
        Some(Object::Mark(mark)) => Symbol::Site(mark.kind),
        Some(Object::Sign(_)) => Symbol::Sign,
        Some(Object::Tree(_)) => Symbol::Tree,
        Some(Object::Crossing(_)) => Symbol::Crossing,
        Some(Object::Height(_)) => Symbol::Height,
        Some(Object::Supply(_)) => Symbol::PointOfConnection,
        Some(Object::Bed(bed)) => {
            return match bed.use_ {
                BedUse::Food => "Bed",
                BedUse::Lawn => "Lawn",
                BedUse::Ornamental => "Ornamental bed",
            }
            .to_owned();
        }
        Some(Object::Feature(feature)) => {
            return match feature.kind {
                FeatureKind::Building => "Building",
                FeatureKind::HardSurface => "Hard surface",
                FeatureKind::EatingArea => "Eating area",
                FeatureKind::PlayArea => "Play area",
                FeatureKind::PetArea => "Animal area",
                FeatureKind::Pool => "Pool",
                FeatureKind::WaterBody => "Open water",
                FeatureKind::NeighbourLand => "Neighbour's land",
                FeatureKind::Terrace => "Terrace",
            }
            .to_owned();
        }
        Some(Object::Pipe(_)) => return "Pipe run".to_owned(),
        Some(Object::Line(_)) => return "Emitter line".to_owned(),
        Some(Object::Box(_)) => return "Valve box".to_owned(),
        Some(Object::Water(_)) => return "Water".to_owned(),
        Some(Object::Zone(_)) => return "Zone".to_owned(),
        None if id.kind == Kind::Note => Symbol::Note,
        None => return String::new(),
    };
    symbol.name().to_owned()
}

/// The words of a water.
#[must_use]
pub const fn water_word(kind: WaterKind) -> &'static str {
    match kind {
        WaterKind::Reclaimed => "reclaimed water",
        WaterKind::Potable => "drinking water",
        WaterKind::OtherNonPotable => "other water, not for drinking",
    }
}

/// An object in one line: `Bed B3, strawberry, inlet 25.0 psi, allowed with conditions`.
#[must_use]
pub fn object(app: &App, id: Id) -> String {
    let plan = app.plan();
    let units = app.view.units;
    let mut parts = vec![format!("{} {id}", kind_word(plan, id))];
    if let Some(object) = plan.objects.get(id) {
        let label = &object.meta().label;
        if !label.is_empty() {
            parts.push(label.clone());
        }
        match &object {
            Object::Bed(bed) => {
                let crops = bed
                    .plantings
                    .iter()
                    .map(|planting| crop_name(plan, &planting.crop).to_lowercase());
                parts.extend(crops);
            }
            Object::Pipe(pipe) => {
                if let Some(row) = plan.catalog.pipe(&pipe.part) {
                    parts.push(row.name.clone());
                }
                parts.push(units.run(pipe.vertices.length()));
            }
            Object::Line(line) => parts.push(units.run(line.vertices.length())),
            _ => {}
        }
    }
    if let Some(pressure) = pressure_of(app, id) {
        parts.push(format!("{} {}", main_port(id).1, units.pressure(pressure)));
    }
    if let Some(verdict) = app.analysis().worst_verdict(id) {
        parts.push(text::get(verdict.key()).to_owned());
    }
    parts.join(", ")
}
