//! Where something from the strip would land: what it becomes there, what it is joined to, and the words for it.

use aubergine_core::edit::Edit;
use aubergine_core::geometry::{PlanPoint, Polygon, Polyline};
use aubergine_core::ids::{Id, Kind};
use aubergine_core::layout::bed_outline;
use aubergine_core::model::{
    Bed, DeviceKind, Document, End, FeatureKind, Meta, Object, Plan, WaterKind, Zone,
};
use aubergine_core::units::Length;

use super::snap::{Seek, Snap, join, water_here};
use super::starts;
use super::stock::Stock;
use super::{CATCH_PX, Pointer};

/// What is seen before it is let go.
#[derive(Clone, PartialEq, Debug)]
pub enum Ghost {
    /// An outline.
    Area(Polygon),
    /// A chain.
    Line(Polyline),
    /// The symbol of the thing.
    Symbol(PlanPoint),
}

/// Where something would land.
#[derive(Clone, PartialEq, Debug)]
pub struct Landing {
    /// The change, if it can be made there.
    pub edit: Option<Edit>,
    /// Name of the step.
    pub label: String,
    /// What is seen.
    pub ghost: Ghost,
    /// Why it lands there, at the pointer.
    pub word: String,
}

/// Works out where something from the strip lands.
#[must_use]
pub fn land(document: &Document, stock: Stock, pointer: &Pointer) -> Option<Landing> {
    let plan = &document.design;
    let of_yard = match stock {
        Stock::Supply => supply(document, WaterKind::Reclaimed, pointer),
        Stock::DrinkingWater => supply(document, WaterKind::Potable, pointer),
        Stock::Bed => bed(plan, pointer),
        Stock::Area(kind) => area(plan, kind, pointer),
        Stock::Tree => point(stock, pointer, |at| {
            Object::Tree(starts::shared(starts::tree(at)))
        }),
        Stock::Mark(kind) => point(stock, pointer, |at| {
            Object::Mark(starts::shared(starts::mark(kind, at)))
        }),
        Stock::Sign => point(stock, pointer, |at| {
            Object::Sign(starts::shared(starts::sign(plan, at)))
        }),
        Stock::Height => point(stock, pointer, |at| {
            Object::Height(starts::shared(starts::height(plan, at)))
        }),
        _ => return of_water(document, stock, pointer),
    };
    Some(of_yard)
}

/// What carries water, which must be there first.
fn of_water(document: &Document, stock: Stock, pointer: &Pointer) -> Option<Landing> {
    let plan = &document.design;
    let Some(water) = starts::water_of_new(plan) else {
        return Some(refused(
            pointer.at,
            "The plan has no water yet: add a supply first.".to_owned(),
        ));
    };
    match stock {
        Stock::Run => Some(run(
            plan,
            water_here(plan, pointer).unwrap_or(water),
            pointer,
        )),
        Stock::EmitterLine => Some(emitter_line(plan, water, pointer)),
        Stock::SprayHead | Stock::Emitter | Stock::HoseOutlet => {
            Some(outlet(plan, stock, water, pointer))
        }
        Stock::Device(kind) => device(document, kind, water, pointer),
        _ => None,
    }
}

/// A supply of the plan's water of a kind; the water comes with it where there is none.
fn supply(document: &Document, kind: WaterKind, pointer: &Pointer) -> Landing {
    let plan = &document.design;
    let at = tidy(pointer, pointer.at);
    let mut waters = plan.objects.waters.iter();
    let known = waters
        .find(|(_, water)| water.kind == kind)
        .map(|(id, _)| *id);
    let water = known.unwrap_or_else(|| document.next_id.clone().take(Kind::Water));
    let mut edits = Vec::new();
    if known.is_none() {
        edits.push(Edit::Add(Object::Water(starts::shared(starts::water(
            kind,
        )))));
    }
    edits.push(Edit::Add(Object::Supply(starts::shared(starts::supply(
        water, at,
    )))));
    let (label, word) = match kind {
        WaterKind::Potable => (
            "Add a drinking-water supply",
            "where the drinking water comes in, its pressure assumed",
        ),
        _ => ("Add a supply", "point of connection, its pressure assumed"),
    };
    Landing {
        label: label.to_owned(),
        ghost: Ghost::Symbol(at),
        word: word.to_owned(),
        edit: Some(Edit::All(edits)),
    }
}

fn refused(at: PlanPoint, word: String) -> Landing {
    Landing {
        edit: None,
        label: String::new(),
        ghost: Ghost::Symbol(at),
        word,
    }
}

/// A place on the grid that suits the scale, unless Ctrl is held.
pub(super) fn tidy(pointer: &Pointer, at: PlanPoint) -> PlanPoint {
    if pointer.free {
        return at;
    }
    let step = super::select::step(pointer.units, pointer.m_per_px).metres();
    PlanPoint::new((at.x / step).round() * step, (at.y / step).round() * step)
}

fn bed(plan: &Plan, pointer: &Pointer) -> Landing {
    let mut bed = starts::bed(plan, pointer.at);
    bed.at = tidy(pointer, bed.at);
    Landing {
        label: "Add a bed".to_owned(),
        ghost: Ghost::Area(bed_outline(&bed)),
        word: "bed".to_owned(),
        edit: Some(Edit::Add(Object::Bed(starts::shared(bed)))),
    }
}

fn area(plan: &Plan, kind: FeatureKind, pointer: &Pointer) -> Landing {
    let area = starts::area(plan, kind, tidy(pointer, pointer.at));
    let name = Stock::Area(kind).word().to_lowercase();
    Landing {
        label: format!("Add {name}"),
        ghost: Ghost::Area(area.outline.clone()),
        word: match kind {
            FeatureKind::Terrace => {
                "terrace, level with the ground here until you tell its level".to_owned()
            }
            _ => name,
        },
        edit: Some(Edit::Add(Object::Feature(starts::shared(area)))),
    }
}

/// Something that stands at a point and is joined to nothing.
fn point(stock: Stock, pointer: &Pointer, start: impl FnOnce(PlanPoint) -> Object) -> Landing {
    let at = tidy(pointer, pointer.at);
    let name = stock.word().to_lowercase();
    Landing {
        label: format!("Add {name}"),
        ghost: Ghost::Symbol(at),
        word: name,
        edit: Some(Edit::Add(start(at))),
    }
}

fn run(plan: &Plan, water: Id, pointer: &Pointer) -> Landing {
    let half = Length::from_feet(3.0).metres();
    let at = tidy(pointer, pointer.at);
    let mut points = vec![
        PlanPoint::new(at.x - half, at.y),
        PlanPoint::new(at.x + half, at.y),
    ];
    let mut edits = Vec::new();
    let mut words = Vec::new();
    let mut ends = [End::Open, End::Open];
    let mut draft = plan.clone();
    for (index, end) in ends.iter_mut().enumerate() {
        let seek = Seek {
            near: points[index],
            ..Seek::under(&draft, water, pointer, None)
        };
        let caught = seek.end().filter(|_| !pointer.free);
        let Some(caught) = caught else { continue };
        words.push(caught.word.clone());
        if caught.is_refused {
            continue;
        }
        if let Some((joint, tap)) = join(&draft, &caught) {
            points[index] = caught.at;
            *end = joint;
            if let Some(Edit::Put { id, object }) = &tap {
                draft.objects.put(*id, object.clone());
            }
            edits.extend(tap);
        }
    }
    let mut pipe = starts::run(plan, water, points.clone());
    let [start, end] = ends;
    pipe.start = start;
    pipe.end = end;
    edits.push(Edit::Add(Object::Pipe(starts::shared(pipe))));
    Landing {
        label: "Add a pipe run".to_owned(),
        ghost: Ghost::Line(Polyline(points)),
        word: if words.is_empty() {
            "pipe run, both ends open".to_owned()
        } else {
            words.join(", ")
        },
        edit: Some(Edit::All(edits)),
    }
}

fn bed_at(plan: &Plan, at: PlanPoint) -> Option<(Id, &Bed)> {
    let beds = plan.objects.beds.iter();
    // The topmost one, which is drawn last.
    beds.rev()
        .find(|(_, bed)| bed_outline(bed).contains(at))
        .map(|(id, bed)| (*id, bed.as_ref()))
}

fn emitter_line(plan: &Plan, water: Id, pointer: &Pointer) -> Landing {
    match bed_at(plan, pointer.at) {
        Some((id, bed)) if bed.fill.is_none() => {
            let mut filled = bed.clone();
            filled.fill = Some(starts::fill(plan, water));
            Landing {
                label: format!("Fill {id} with emitter lines"),
                ghost: Ghost::Area(bed_outline(bed)),
                word: format!("fills {id} along its longer side"),
                edit: Some(Edit::Put {
                    id,
                    object: Object::Bed(starts::shared(filled)),
                }),
            }
        }
        Some((id, bed)) => {
            let (from, to) = along(bed, pointer.at);
            let line = starts::emitter_line(plan, water, vec![from, to], vec![id]);
            Landing {
                label: format!("Add an emitter line in {id}"),
                ghost: Ghost::Line(line.vertices.clone()),
                word: format!("one more line in {id}, along its longer side"),
                edit: Some(Edit::Add(Object::Line(starts::shared(line)))),
            }
        }
        None => {
            let half = Length::from_feet(5.0).metres();
            let at = tidy(pointer, pointer.at);
            let ends = vec![
                PlanPoint::new(at.x - half, at.y),
                PlanPoint::new(at.x + half, at.y),
            ];
            let line = starts::emitter_line(plan, water, ends, Vec::new());
            Landing {
                label: "Add an emitter line".to_owned(),
                ghost: Ghost::Line(line.vertices.clone()),
                word: "emitter line, on no bed".to_owned(),
                edit: Some(Edit::Add(Object::Line(starts::shared(line)))),
            }
        }
    }
}

/// The chord through a point along the longer side of a bed, short of its edges.
fn along(bed: &Bed, through: PlanPoint) -> (PlanPoint, PlanPoint) {
    let outline = bed_outline(bed);
    let longest = outline
        .sides()
        .max_by(|a, b| a.0.distance(a.1).total_cmp(&b.0.distance(b.1)));
    let Some((from, to)) = longest else {
        return (through, through);
    };
    let length = from.distance(to).metres().max(1e-9);
    let direction = aubergine_core::geometry::PlanVector::new(
        (to.x - from.x) / length,
        (to.y - from.y) / length,
    );
    let short = Length::from_inches(6.0).metres();
    let chords = outline.chords(through, direction);
    let here = chords
        .iter()
        .find(|(low, high)| low.metres() <= 0.0 && high.metres() >= 0.0);
    let (low, high) = here.map_or((-1.0, 1.0), |(low, high)| {
        (low.metres() + short, high.metres() - short)
    });
    (through + direction * low, through + direction * high)
}

fn outlet(plan: &Plan, stock: Stock, water: Id, pointer: &Pointer) -> Landing {
    let at = tidy(pointer, pointer.at);
    let caught = Seek::under(plan, water, pointer, None)
        .inlet()
        .filter(|_| !pointer.free);
    let (at, inlet, tap, word) = match caught {
        Some(Snap {
            is_refused: true,
            word,
            ..
        }) => (at, End::Open, None, word),
        Some(caught) => match join(plan, &caught) {
            Some((end, tap)) => (caught.at, end, tap, caught.word),
            None => (at, End::Open, None, String::new()),
        },
        None => (
            at,
            End::Open,
            None,
            format!("{}, not joined yet", stock.word().to_lowercase()),
        ),
    };
    let object = match stock {
        Stock::HoseOutlet => Object::Outlet(starts::shared(starts::outlet(water, at, inlet))),
        _ => {
            let serves = match bed_at(plan, at) {
                Some((bed, _)) => vec![bed],
                None => Vec::new(),
            };
            Object::Emission(starts::shared(starts::emission(
                stock, water, at, inlet, serves,
            )))
        }
    };
    Landing {
        label: format!("Add {}", stock.word().to_lowercase()),
        ghost: Ghost::Symbol(at),
        word,
        edit: Some(Edit::All(
            tap.into_iter().chain([Edit::Add(object)]).collect(),
        )),
    }
}

fn device(document: &Document, kind: DeviceKind, water: Id, pointer: &Pointer) -> Option<Landing> {
    let plan = &document.design;
    let part = Stock::part(kind);
    let runs = plan.objects.pipes.iter();
    let nearest = runs
        .map(|(id, pipe)| (*id, pipe, pipe.vertices.nearest(pointer.at)))
        .min_by(|a, b| a.2.1.total_cmp(&b.2.1))
        .filter(|(_, pipe, (station, distance))| {
            *distance <= pointer.px(CATCH_PX)
                && *station > Length::ZERO
                && *station < pipe.vertices.length()
        })
        .filter(|_| !pointer.free);
    let name = Stock::Device(kind).word().to_lowercase();
    // The name the device will get, so that its zone can come with it in the same step.
    let zone = |edit: Edit| {
        if kind != DeviceKind::ZoneValve {
            return edit;
        }
        let valve = document.next_id.clone().take(Kind::Device);
        let zone = Zone {
            valve,
            meta: Meta::default(),
        };
        Edit::All(vec![edit, Edit::Add(Object::Zone(starts::shared(zone)))])
    };
    Some(match nearest {
        Some((id, pipe, (station, _))) => {
            let at = pipe.vertices.point_at(station)?;
            let placed =
                starts::device(plan, kind, fitting(plan, part, &pipe.part), pipe.water, at);
            Landing {
                label: format!("Insert {name} into {id}"),
                ghost: Ghost::Symbol(at),
                word: format!("into {id}"),
                edit: Some(zone(Edit::InsertDevice {
                    pipe: id,
                    station,
                    device: starts::shared(placed),
                })),
            }
        }
        None => {
            let at = tidy(pointer, pointer.at);
            let placed = starts::device(plan, kind, part, water, at);
            Landing {
                label: format!("Add {name}"),
                ghost: Ghost::Symbol(at),
                word: format!("{name}, not joined yet"),
                edit: Some(zone(Edit::Add(Object::Device(starts::shared(placed))))),
            }
        }
    })
}

/// The catalog row of the same device in the run's size, where there is one.
fn fitting<'a>(plan: &Plan, part: &'a str, run: &'a str) -> &'a str {
    const ONE_INCH: [(&str, &str); 5] = [
        ("isolation-valve-3/4", "isolation-valve-1"),
        ("zone-valve-3/4", "zone-valve-1"),
        ("filter-120-3/4", "filter-120-1"),
        ("backflow-rp-3/4", "backflow-rp-1"),
        ("meter-3/4", "meter-1"),
    ];
    let is_one_inch = run.ends_with("-1");
    ONE_INCH
        .iter()
        .find(|(small, _)| *small == part && is_one_inch)
        .map(|(_, large)| *large)
        .filter(|large| plan.catalog.device(large).is_some())
        .unwrap_or(part)
}
