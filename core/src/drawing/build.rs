//! From a plan and its results to marks: the site, its places, beds with verdicts, sprays, notes.

use super::footing::Footings;
use super::{
    Anchor, Drawing, Footing, Layer, LayerKind, Mark, Role, Shape, Symbol, View, ViewOptions,
};
use super::{coverage, fall, network};
use crate::analysis::Analysis;
use crate::geometry::{PlanPoint, PlanVector, Polygon, Polyline};
use crate::ids::{Id, Kind};
use crate::layout::bed_outline;
use crate::model::{Bed, BedUse, FeatureKind, Plan, Review};
use crate::text;
use crate::units::{Angle, Length};

/// The drawing of a plan in a view. Notes come from the review; everything else from the plan and its results.
#[must_use]
pub fn build(plan: &Plan, review: &Review, analysis: &Analysis, options: ViewOptions) -> Drawing {
    let mut layers = Layers::default();
    site(plan, &mut layers);
    fall::draw(plan, options, &mut layers);
    features(plan, options, &mut layers);
    let footings = Footings::of(plan, analysis);
    planting(plan, analysis, &footings, options, &mut layers);
    network::draw(plan, analysis, &footings, options, &mut layers);
    sprays(plan, analysis, &footings, options, &mut layers);
    site_marks(plan, options, &mut layers);
    notes(plan, review, &mut layers);
    layers.finish()
}

/// Marks by layer while the drawing is made.
#[derive(Default)]
pub(super) struct Layers(std::collections::BTreeMap<LayerKind, Vec<Mark>>);

impl Layers {
    pub(super) fn add(&mut self, layer: LayerKind, subject: Option<Id>, role: Role, shape: Shape) {
        self.0.entry(layer).or_default().push(Mark {
            shape,
            role,
            subject,
        });
    }

    pub(super) fn symbol(
        &mut self,
        layer: LayerKind,
        subject: Id,
        role: Role,
        symbol: Symbol,
        at: PlanPoint,
    ) {
        self.add(
            layer,
            Some(subject),
            role,
            Shape::Symbol {
                symbol,
                at,
                turn: Angle::ZERO,
            },
        );
    }

    pub(super) fn text(
        &mut self,
        subject: Option<Id>,
        role: Role,
        at: PlanPoint,
        anchor: Anchor,
        text: String,
    ) {
        self.add(
            LayerKind::Labels,
            subject,
            role,
            Shape::Text { at, text, anchor },
        );
    }

    /// The number of an object beside it, where there is room.
    pub(super) fn number(&mut self, id: Id, at: PlanPoint, anchor: Anchor) {
        self.text(Some(id), Role::Detail, at, anchor, id.to_string());
    }

    fn finish(self) -> Drawing {
        Drawing {
            layers: self
                .0
                .into_iter()
                .map(|(kind, marks)| Layer { kind, marks })
                .collect(),
        }
    }
}

/// What people call an object: its label, or its id.
pub(super) fn called(plan: &Plan, id: Id) -> String {
    let label = plan
        .objects
        .get(id)
        .map(|object| object.meta().label.clone())
        .unwrap_or_default();
    if label.is_empty() {
        id.to_string()
    } else {
        label
    }
}

fn site(plan: &Plan, layers: &mut Layers) {
    let outline = &plan.site.outline;
    if outline.0.len() >= 3 {
        layers.add(
            LayerKind::Site,
            None,
            Role::Ground,
            Shape::Area(outline.clone()),
        );
        layers.add(
            LayerKind::Site,
            None,
            Role::PropertyLine,
            Shape::Line(outline.boundary()),
        );
    }
}

fn features(plan: &Plan, options: ViewOptions, layers: &mut Layers) {
    for (id, feature) in &plan.objects.features {
        layers.add(
            LayerKind::Features,
            Some(*id),
            Role::Feature(feature.kind),
            Shape::Area(feature.outline.clone()),
        );
        let name = match feature.level {
            Some(level) if feature.kind == FeatureKind::Terrace => text::fill(
                "terrace.name",
                [
                    ("name", called(plan, *id)),
                    ("level", options.units.run(level)),
                ],
            ),
            _ => called(plan, *id),
        };
        layers.text(
            Some(*id),
            Role::Number,
            feature.outline.centre(),
            Anchor::Middle,
            name,
        );
    }
}

fn planting(
    plan: &Plan,
    analysis: &Analysis,
    footings: &Footings,
    options: ViewOptions,
    layers: &mut Layers,
) {
    for (id, bed) in &plan.objects.beds {
        let outline = bed_outline(bed);
        layers.add(
            LayerKind::Planting,
            Some(*id),
            Role::Planted(bed.use_, rows_of(*id, analysis, &outline)),
            Shape::Area(outline.clone()),
        );
        let verdict = analysis
            .worst_verdict(*id)
            .filter(|_| options.view == View::Contact);
        let footing = footings.of_verdict(analysis, *id);
        if let Some(verdict) = verdict {
            layers.add(
                LayerKind::Contact,
                Some(*id),
                Role::Verdict(verdict, footing),
                Shape::Area(outline.clone()),
            );
            let centre = outline.centre();
            let at = PlanPoint::new(centre.x, f64::midpoint(centre.y, top_of(&outline)));
            layers.symbol(
                LayerKind::Devices,
                *id,
                Role::Verdict(verdict, footing),
                Symbol::Verdict(verdict),
                at,
            );
        }
        let mut name = id.to_string();
        if verdict.is_some() && footing == Footing::Assumed {
            // A space that does not break: where only the first word has room, this one stays with it.
            name = text::fill("assumed.name", [("name", name)]);
        }
        if !bed.meta.label.is_empty() {
            name = format!("{name} {}", bed.meta.label);
        }
        layers.text(
            Some(*id),
            Role::Name,
            outline.centre(),
            Anchor::Middle,
            name,
        );
        let crops = crops(plan, bed);
        let below = match verdict {
            Some(verdict) => text::get(verdict.key()).to_owned(),
            None => crops,
        };
        let has_rates = options.view == View::Coverage && analysis.sprayed.contains_key(id);
        if !below.is_empty() && !has_rates {
            layers.text(
                Some(*id),
                Role::Number,
                outline.centre(),
                Anchor::Below,
                below,
            );
        }
    }
    coverage::draw(plan, analysis, footings, options, layers);
    for (id, tree) in &plan.objects.trees {
        if let Some(canopy) = tree.canopy {
            let crown = crown(tree.at, canopy / 2.0);
            layers.add(
                LayerKind::Planting,
                Some(*id),
                Role::Canopy,
                Shape::Area(crown),
            );
        }
        layers.symbol(
            LayerKind::Devices,
            *id,
            Role::SiteMark,
            Symbol::Tree,
            tree.at,
        );
        let mut name = id.to_string();
        if let Some(verdict) = analysis
            .worst_verdict(*id)
            .filter(|_| options.view == View::Contact)
        {
            let footing = footings.of_verdict(analysis, *id);
            layers.symbol(
                LayerKind::Devices,
                *id,
                Role::Verdict(verdict, footing),
                Symbol::Verdict(verdict),
                tree.at,
            );
            if footing == Footing::Assumed {
                name = text::fill("assumed.name", [("name", name)]);
            }
        }
        layers.text(Some(*id), Role::Name, tree.at, Anchor::Right, name);
    }
}

/// Which way the rows of a planted area run: as its lines are laid, or along its longest side.
fn rows_of(id: Id, analysis: &Analysis, outline: &Polygon) -> Angle {
    let laid = analysis.beds.get(&id).and_then(|laid| laid.rows.first());
    let along = laid.map(|row| row.end - row.start).or_else(|| {
        let sides = outline.sides().map(|(a, b)| b - a);
        sides.max_by(|a, b| a.norm().total_cmp(&b.norm()))
    });
    along.map_or(Angle::ZERO, |along| {
        // Whole degrees: furrows are no drawing of the rows, and goldens stay the same everywhere.
        Angle::from_degrees(
            Angle::from_radians(along.y.atan2(along.x))
                .degrees()
                .round(),
        )
    })
}

/// The crown of a tree: nine lobes, so that no round bed looks like it.
fn crown(at: PlanPoint, radius: Length) -> Polygon {
    const LOBES: u32 = 9;
    const POINTS: u32 = 12 * LOBES;
    let point = |index: u32| {
        let turn = f64::from(index) / f64::from(POINTS) * std::f64::consts::TAU;
        let lobe = (turn * f64::from(LOBES) / 2.0).sin().abs();
        let reach = radius.metres() * (0.88 + 0.12 * lobe);
        at + PlanVector::new(turn.cos(), turn.sin()) * reach
    };
    Polygon((0..POINTS).map(point).collect())
}

fn top_of(outline: &Polygon) -> f64 {
    outline
        .0
        .iter()
        .map(|point| point.y)
        .fold(f64::NEG_INFINITY, f64::max)
}

/// Names of the crops, as short as they can be told.
fn crops(plan: &Plan, bed: &Bed) -> String {
    match bed.use_ {
        BedUse::Food => {
            let names = bed.plantings.iter().map(|planting| {
                let name = plan
                    .catalog
                    .crop(&planting.crop)
                    .map_or(planting.crop.as_str(), |crop| crop.name.as_str());
                name.split([' ', '(', '/'])
                    .next()
                    .unwrap_or(name)
                    .to_owned()
            });
            names.collect::<Vec<_>>().join(", ")
        }
        BedUse::Lawn => text::get("area.lawn").to_owned(),
        BedUse::Ornamental => text::get("area.ornamental").to_owned(),
    }
}

fn sprays(
    plan: &Plan,
    analysis: &Analysis,
    footings: &Footings,
    options: ViewOptions,
    layers: &mut Layers,
) {
    for (id, reach) in &analysis.sprays {
        let emission = plan.objects.emissions.get(id);
        let footing = emission.map_or(Footing::Stated, |emission| {
            footings.of_pressure(emission.water)
        });
        let still = reach.largest.still().boundary();
        layers.add(
            LayerKind::Contact,
            Some(*id),
            Role::Wetted(footing),
            Shape::Line(still),
        );
        if options.view == View::Contact {
            for area in reach.largest.areas() {
                layers.add(
                    LayerKind::Contact,
                    Some(*id),
                    Role::Wetted(footing),
                    Shape::Line(area.boundary()),
                );
            }
        }
    }
}

fn site_marks(plan: &Plan, options: ViewOptions, layers: &mut Layers) {
    let objects = &plan.objects;
    for (id, mark) in &objects.marks {
        layers.symbol(
            LayerKind::Devices,
            *id,
            Role::SiteMark,
            Symbol::Site(mark.kind),
            mark.at,
        );
        layers.text(
            Some(*id),
            Role::Number,
            mark.at,
            Anchor::Right,
            called(plan, *id),
        );
    }
    for (id, sign) in &objects.signs {
        layers.symbol(
            LayerKind::Devices,
            *id,
            Role::SiteMark,
            Symbol::Sign,
            sign.at,
        );
        layers.number(*id, sign.at, Anchor::Right);
    }
    for (id, height) in &objects.heights {
        layers.symbol(
            LayerKind::Devices,
            *id,
            Role::SiteMark,
            Symbol::Height,
            height.at,
        );
        let level = options.units.run(height.level);
        layers.text(Some(*id), Role::Detail, height.at, Anchor::Right, level);
    }
    for (id, crossing) in &objects.crossings {
        layers.symbol(
            LayerKind::Devices,
            *id,
            Role::SiteMark,
            Symbol::Crossing,
            crossing.at,
        );
        layers.number(*id, crossing.at, Anchor::Right);
    }
}

fn notes(plan: &Plan, review: &Review, layers: &mut Layers) {
    for (id, thread) in &review.threads {
        let at = thread
            .object
            .and_then(|object| place_of(plan, object))
            .or(thread.at);
        let Some(at) = at else { continue };
        let role = if thread.status == "closed" {
            Role::NoteClosed
        } else {
            Role::NoteOpen
        };
        layers.symbol(LayerKind::Notes, *id, role, Symbol::Note, at);
        let number = id.number.to_string();
        layers.add(
            LayerKind::Notes,
            Some(*id),
            Role::Name,
            Shape::Text {
                at,
                text: number,
                anchor: Anchor::Middle,
            },
        );
    }
}

/// The outline or chain of an object; `None` of what stands at a place.
#[must_use]
pub fn shape_of(plan: &Plan, id: Id) -> Option<Shape> {
    let objects = &plan.objects;
    Some(match id.kind {
        Kind::Bed => Shape::Area(bed_outline(objects.beds.get(&id)?)),
        Kind::Feature => Shape::Area(objects.features.get(&id)?.outline.clone()),
        Kind::Pipe => Shape::Line(objects.pipes.get(&id)?.vertices.clone()),
        Kind::Line => Shape::Line(objects.lines.get(&id)?.vertices.clone()),
        _ => return None,
    })
}

/// A place to hang something on an object.
#[must_use]
pub fn place_of(plan: &Plan, id: Id) -> Option<PlanPoint> {
    use crate::model::Object;
    let middle = |line: &Polyline| line.point_at(line.length() / 2.0);
    Some(match plan.objects.get(id)? {
        Object::Bed(bed) => bed_outline(&bed).centre(),
        Object::Feature(feature) => feature.outline.centre(),
        Object::Pipe(pipe) => middle(&pipe.vertices)?,
        Object::Line(line) => middle(&line.vertices)?,
        Object::Device(device) => device.at,
        Object::Emission(emission) => emission.at,
        Object::Outlet(outlet) => outlet.at,
        Object::Supply(supply) => supply.at,
        Object::Tree(tree) => tree.at,
        Object::Mark(mark) => mark.at,
        Object::Sign(sign) => sign.at,
        Object::Height(height) => height.at,
        Object::Crossing(crossing) => crossing.at,
        Object::Box(valve_box) => valve_box.at,
        Object::Zone(zone) => return place_of(plan, zone.valve),
        Object::Water(_) => return None,
    })
}
