//! Pieces as triangles, for pictures.
//!
//! Invariant: corners are exact, and round outlines have chords of a few degrees. Must not know: who looks at them.

use crate::geom::Vec3;
use crate::quantity::maths;

use super::{Piece, Prism, Shape, Surface};

/// Directions in which the outline of a prism is looked for: chords of 5 degrees.
const DIRECTIONS: u32 = 72;

impl Piece {
    /// Its surface where its travel starts, and where it ends if it has one.
    #[must_use]
    pub fn faceted(&self) -> Vec<Surface> {
        let surface = match &self.shape {
            Shape::Prism(prism) => faceted(prism),
            Shape::Surface(surface) => surface.clone(),
        };
        if self.travel.length() <= 0.0 {
            return vec![surface];
        }
        let moved = surface.vertices.iter().map(|v| *v + self.travel).collect();
        let end = Surface { vertices: moved, triangles: surface.triangles.clone() };
        vec![surface, end]
    }
}

fn faceted(prism: &Prism) -> Surface {
    let flat = Prism { reach: [0.0, 0.0], ..prism.clone() };
    let mut rim: Vec<Vec3<f64>> = Vec::new();
    for step in 0..DIRECTIONS {
        let (sin, cos) = maths::sin_cos(2.0 * maths::PI * f64::from(step) / f64::from(DIRECTIONS));
        let corner = flat.farthest(prism.placement.direction(cos, sin, 0.0));
        // A corner is the farthest point in many directions.
        let is_new = |other: Option<&Vec3<f64>>| {
            other.is_none_or(|other| (*other - corner).length() > crate::quantity::tolerance::SNAP_MM)
        };
        if is_new(rim.last()) && is_new(rim.first()) {
            rim.push(corner);
        }
    }
    let count = u32::try_from(rim.len()).expect("a rim has a corner for each direction at most");
    let up = prism.placement.n;
    let level = |height: f64| rim.iter().map(move |corner| *corner + up.times(height));
    let vertices = level(prism.reach[0]).chain(level(prism.reach[1])).collect();
    let mut triangles = Vec::new();
    for i in 0..count {
        let next = (i + 1) % count;
        triangles.extend([[i, next, count + next], [i, count + next, count + i]]);
    }
    for i in 1..count.saturating_sub(1) {
        triangles.extend([[0, i + 1, i], [count, count + i, count + i + 1]]);
    }
    Surface { vertices, triangles }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Placement;

    #[test]
    fn cuboid_becomes_twelve_triangles_around_its_volume() {
        let piece = Piece::still(Shape::Prism(Prism::cuboid(Placement::identity(), [4.0, 3.0], [0.0, 2.0])));
        let [surface] = piece.faceted().try_into().unwrap();
        assert_eq!((surface.triangles.len(), surface.open_edges()), (12, 0));
        assert!((surface.volume() - 24.0).abs() < 1e-12);
    }

    #[test]
    fn cylinder_is_closed_and_a_little_less_than_round() {
        let piece = Piece::still(Shape::Prism(Prism::cylinder(Placement::identity(), 10.0, [-1.0, 4.0])));
        let [surface] = piece.faceted().try_into().unwrap();
        assert_eq!(surface.open_edges(), 0);
        let share = surface.volume() / (5.0 * 100.0 * maths::PI);
        // A regular polygon of 72 corners fills sin(5 deg) / (5 deg in rad) of its circle.
        let five = maths::PI / 36.0;
        assert!((share - maths::sin(five) / five).abs() < 1e-12, "{share}");
    }
}
