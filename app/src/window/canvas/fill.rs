//! Filling outlines that are not convex: ears are cut off one by one.

use eframe::egui::{Color32, Mesh, Pos2, Shape, Stroke};

fn cross(a: Pos2, b: Pos2, c: Pos2) -> f32 {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

fn is_convex(points: &[Pos2]) -> bool {
    let count = points.len();
    let turns = (0..count).map(|index| {
        cross(
            points[index],
            points[(index + 1) % count],
            points[(index + 2) % count],
        )
    });
    let (mut left, mut right) = (false, false);
    for turn in turns {
        left |= turn > 0.01;
        right |= turn < -0.01;
    }
    !(left && right)
}

/// A filled outline.
pub(super) fn area(points: &[Pos2], colour: Color32) -> Shape {
    if points.len() < 3 {
        return Shape::Noop;
    }
    if is_convex(points) {
        return Shape::convex_polygon(points.to_vec(), colour, Stroke::NONE);
    }
    let mut mesh = Mesh::default();
    for point in points {
        mesh.colored_vertex(*point, colour);
    }
    for [a, b, c] in ears(points) {
        mesh.add_triangle(a, b, c);
    }
    Shape::mesh(mesh)
}

/// Triangles that cover a simple outline.
fn ears(points: &[Pos2]) -> Vec<[u32; 3]> {
    let twice_area: f32 = (0..points.len())
        .map(|index| {
            let (a, b) = (points[index], points[(index + 1) % points.len()]);
            a.x * b.y - b.x * a.y
        })
        .sum();
    let mut left: Vec<u32> = (0..u32::try_from(points.len()).unwrap_or(0)).collect();
    if twice_area < 0.0 {
        left.reverse();
    }
    let at = |index: u32| points[index as usize];
    let mut triangles = Vec::new();
    while left.len() > 3 {
        let count = left.len();
        let ear = (0..count).find(|middle| {
            let (a, b, c) = (
                left[(middle + count - 1) % count],
                left[*middle],
                left[(middle + 1) % count],
            );
            let is_out = cross(at(a), at(b), at(c)) > 0.0;
            is_out
                && !left.iter().any(|other| {
                    ![a, b, c].contains(other)
                        && cross(at(a), at(b), at(*other)) >= 0.0
                        && cross(at(b), at(c), at(*other)) >= 0.0
                        && cross(at(c), at(a), at(*other)) >= 0.0
                })
        });
        // An outline that crosses itself has no ear left: what is covered so far is shown.
        let Some(ear) = ear else { return triangles };
        triangles.push([
            left[(ear + count - 1) % count],
            left[ear],
            left[(ear + 1) % count],
        ]);
        left.remove(ear);
    }
    if let [a, b, c] = left[..] {
        triangles.push([a, b, c]);
    }
    triangles
}

#[cfg(test)]
mod tests {
    use super::*;
    use eframe::egui::pos2;

    #[test]
    fn an_angle_is_covered_without_its_notch() {
        let outline = [
            pos2(0.0, 0.0),
            pos2(4.0, 0.0),
            pos2(4.0, 1.0),
            pos2(1.0, 1.0),
            pos2(1.0, 4.0),
            pos2(0.0, 4.0),
        ];
        let covered: f32 = ears(&outline)
            .iter()
            .map(|[a, b, c]| {
                cross(
                    outline[*a as usize],
                    outline[*b as usize],
                    outline[*c as usize],
                )
                .abs()
                    / 2.0
            })
            .sum();
        assert!((covered - 7.0).abs() < 1e-4, "{covered}");
    }
}
