//! Corners of beds and other areas: a rectangle stays one when a corner is dragged, other outlines change at that corner
//! alone.

use std::sync::Arc;

use aubergine_core::edit::Edit;
use aubergine_core::geometry::{PlanPoint, Polygon};
use aubergine_core::ids::{Id, Kind};
use aubergine_core::layout::{bed_outline, into_bed};
use aubergine_core::model::{Object, Plan};

use super::Pointer;
use super::land::tidy;
use super::select::{Grip, Handle};

/// The corners of a bed or another area; nothing for what has none.
pub(super) fn handles(plan: &Plan, id: Id) -> Vec<Handle> {
    let outline = match id.kind {
        Kind::Bed => plan.objects.beds.get(&id).map(|bed| bed_outline(bed)),
        Kind::Feature => plan
            .objects
            .features
            .get(&id)
            .map(|feature| feature.outline.clone()),
        _ => None,
    };
    let corners = outline.unwrap_or_default().0.into_iter().enumerate();
    corners
        .map(|(index, at)| Handle {
            id,
            index,
            at,
            grip: Grip::Corner,
        })
        .collect()
}

/// The edit that puts a corner where the pointer is; `None` where the outline would cross itself or vanish.
pub(super) fn edit(plan: &Plan, handle: &Handle, pointer: &Pointer) -> Option<Edit> {
    let at = tidy(pointer, pointer.at);
    let object = match handle.id.kind {
        Kind::Bed => {
            let mut bed = plan.objects.beds.get(&handle.id)?.clone();
            let at = into_bed(&bed, at);
            let changed = Arc::make_mut(&mut bed);
            changed.outline = with_corner(&changed.outline, handle.index, at, pointer.free)?;
            Object::Bed(bed)
        }
        _ => {
            let mut feature = plan.objects.features.get(&handle.id)?.clone();
            let changed = Arc::make_mut(&mut feature);
            changed.outline = with_corner(&changed.outline, handle.index, at, pointer.free)?;
            Object::Feature(feature)
        }
    };
    Some(Edit::Put {
        id: handle.id,
        object,
    })
}

/// An outline with one corner elsewhere. The neighbours of a corner of an upright rectangle go along, unless it is free.
fn with_corner(outline: &Polygon, index: usize, at: PlanPoint, free: bool) -> Option<Polygon> {
    let count = outline.0.len();
    let mut changed = outline.clone();
    *changed.0.get_mut(index)? = at;
    if !free && is_upright_rectangle(outline) {
        let (before, next) = ((index + count - 1) % count, (index + 1) % count);
        // Whether the side to the next corner is level tells which neighbour keeps which coordinate.
        let (level, upright) = if is_same(outline.0[index].y, outline.0[next].y) {
            (next, before)
        } else {
            (before, next)
        };
        changed.0[level].y = at.y;
        changed.0[upright].x = at.x;
    }
    changed.is_simple().then_some(changed)
}

fn is_upright_rectangle(outline: &Polygon) -> bool {
    let level = |(a, b): &(PlanPoint, PlanPoint)| is_same(a.y, b.y);
    let upright = |(a, b): &(PlanPoint, PlanPoint)| is_same(a.x, b.x);
    let sides: Vec<_> = outline.sides().collect();
    match sides.as_slice() {
        [a, b, c, d] => {
            (level(a) && upright(b) && level(c) && upright(d))
                || (upright(a) && level(b) && upright(c) && level(d))
        }
        _ => false,
    }
}

/// The same to a thousandth of a millimetre.
fn is_same(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-6
}

#[cfg(test)]
mod tests {
    use aubergine_core::units::Length;

    use super::*;

    fn rectangle() -> Polygon {
        let side = Length::from_metres;
        Polygon::rectangle(PlanPoint::new(1.0, 1.0), side(2.0), side(1.0))
    }

    #[test]
    fn a_rectangle_stays_one_and_its_far_corner_stays() {
        for index in 0..4 {
            let outline = rectangle();
            let far = outline.0[(index + 2) % 4];
            let to = PlanPoint::new(
                outline.0[index].x + 0.25 * (outline.0[index].x - far.x),
                outline.0[index].y + 0.5 * (outline.0[index].y - far.y),
            );
            let found = with_corner(&outline, index, to, false).unwrap();
            assert!(is_upright_rectangle(&found));
            assert_eq!(found.0[(index + 2) % 4], far);
            assert!((found.area().square_metres() - 2.5 * 1.5).abs() < 1e-9);
        }
    }

    #[test]
    fn a_free_corner_moves_alone_and_never_across_a_side() {
        let outline = rectangle();
        let found = with_corner(&outline, 2, PlanPoint::new(4.0, 4.0), true).unwrap();
        assert_eq!(found.0[1], outline.0[1]);
        assert_eq!(found.0[3], outline.0[3]);
        assert_eq!(
            with_corner(&outline, 2, PlanPoint::new(2.0, -1.0), true),
            None
        );
        assert_eq!(with_corner(&outline, 2, outline.0[1], false), None);
    }
}
