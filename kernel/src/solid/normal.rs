//! Which way the faces of the exact boundary look, and how they are bent.
//!
//! Invariant: normals are unit vectors that point out of the metal; they vary smoothly over a face. Must not know:
//! who looks.

use crate::geom::{Curve, Point2, Segment, Vec2, Vec3, unit};
use crate::quantity::{maths, tolerance};

use super::brep::{Face, Sense, Surface3};

impl Face {
    /// The normal at a point of the face, out of the metal. At the rare places where the surface has none (the axis
    /// of a bend without radius) it is zero.
    #[must_use]
    pub fn outward_normal(&self, p: Vec3<f64>) -> Vec3<f64> {
        let normal = self.surface.normal(p).unwrap_or(Vec3::new(0.0, 0.0, 0.0));
        match self.outward {
            Sense::Same => normal,
            Sense::Reversed => -normal,
        }
    }

    /// Curvature in 1/mm of the face at a point along a unit vector that touches it there: positive where the metal
    /// bulges, so that the way leads out into the open both ways.
    #[must_use]
    pub fn curvature_along(&self, p: Vec3<f64>, direction: Vec3<f64>) -> f64 {
        let way = direction.times(tolerance::LOOK_BESIDE_MM);
        let change = self.outward_normal(p + way) - self.outward_normal(p - way);
        0.5 * change.dot(direction) / tolerance::LOOK_BESIDE_MM
    }
}

impl Surface3 {
    /// The surface's own normal at a point near it.
    fn normal(&self, p: Vec3<f64>) -> Option<Vec3<f64>> {
        match self {
            Self::Plane(frame) => Some(frame.n),
            Self::Cylinder { frame, .. } => {
                let out = p - frame.origin;
                unit(out - frame.n.times(out.dot(frame.n)))
            }
            Self::Cone { frame, half_angle, .. } => {
                let out = p - frame.origin;
                let (sin, cos) = maths::sin_cos(*half_angle);
                unit(out - frame.n.times(out.dot(frame.n))).map(|out| out.times(cos) - frame.n.times(sin))
            }
            Self::Torus { frame, ring_radius, .. } => {
                let out = p - frame.origin;
                let ring = unit(out - frame.n.times(out.dot(frame.n)))?.times(*ring_radius);
                unit(out - ring)
            }
            Self::Rolled { piece, map } => {
                let at = map.unrolled(p);
                let [_, _, depth] = map.coordinates(p);
                let along = direction_at(piece, at);
                let across = along.y * map.radius(depth) * map.angle() / map.allowance();
                let along = map.start().x.times(along.x) + map.heading(at.y).times(across);
                // The metal lies to the left of the piece, seen from the inner face.
                unit(along.cross(map.normal(at.y)))
            }
        }
    }
}

/// Unit vector along a piece near one of its points.
fn direction_at(piece: &Segment, p: Point2) -> Vec2 {
    match piece.curve {
        Curve::Line => piece.start_direction(),
        Curve::Arc { centre, turn, .. } => (p - centre).normalized().left() * turn.sign(),
    }
}
