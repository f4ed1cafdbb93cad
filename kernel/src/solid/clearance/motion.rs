//! Ways in which an obstacle is moved to see how near it would be.
//!
//! Invariant: a motion is rigid. Must not know: what is moved.

use crate::geom::{Box3, Placement, Vec3};

use super::cell::Ring;

/// A rigid motion.
pub(super) trait Motion: Copy {
    /// Where a point goes.
    fn point(self, p: Vec3<f64>) -> Vec3<f64>;
    /// Where a point was.
    fn point_before(self, p: Vec3<f64>) -> Vec3<f64>;
    /// The direction that a direction was.
    fn direction_before(self, direction: Vec3<f64>) -> Vec3<f64>;
    /// A box that holds what was in a box.
    fn extent(self, of: Box3) -> Box3;

    /// The piece of a ring that goes to a piece of a ring.
    fn ring_before(self, ring: &Ring) -> Ring {
        Ring {
            centre: self.point_before(ring.centre),
            axis: self.direction_before(ring.axis),
            ends: ring.ends.map(|end| self.direction_before(end)),
            ..*ring
        }
    }
}

/// A straight way.
impl Motion for Vec3<f64> {
    #[inline]
    fn point(self, p: Vec3<f64>) -> Vec3<f64> {
        p + self
    }

    fn point_before(self, p: Vec3<f64>) -> Vec3<f64> {
        p - self
    }

    #[inline]
    fn direction_before(self, direction: Vec3<f64>) -> Vec3<f64> {
        direction
    }

    fn extent(self, of: Box3) -> Box3 {
        of.moved(self)
    }
}

/// What a placement does to coordinates.
impl Motion for Placement<f64> {
    #[inline]
    fn point(self, p: Vec3<f64>) -> Vec3<f64> {
        Self::point(self, p.x, p.y, p.z)
    }

    fn point_before(self, p: Vec3<f64>) -> Vec3<f64> {
        self.coordinates(p)
    }

    #[inline]
    fn direction_before(self, direction: Vec3<f64>) -> Vec3<f64> {
        Vec3::new(direction.dot(self.x), direction.dot(self.y), direction.dot(self.n))
    }

    fn extent(self, of: Box3) -> Box3 {
        let middle = Motion::point(self, of.middle());
        let half = (of.high - of.low).times(0.5);
        let along = |x: f64, y: f64, n: f64| half.x * x.abs() + half.y * y.abs() + half.z * n.abs();
        let reach = Vec3::new(
            along(self.x.x, self.y.x, self.n.x),
            along(self.x.y, self.y.y, self.n.y),
            along(self.x.z, self.y.z, self.n.z),
        );
        Box3 { low: middle - reach, high: middle + reach }
    }
}
