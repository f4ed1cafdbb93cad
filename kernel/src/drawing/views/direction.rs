//! From where a view is taken.
//!
//! Invariant: a direction is a unit vector, and so are the axes of its view. Space's z points up in a view, y where
//! one looks along z. First- and third-angle layouts have the same views; they only lay them at other places.

use crate::geom::{Vec3, unit};
use crate::quantity::tolerance;

/// A direction of sight, from the eye to the part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Direction {
    towards: Vec3<f64>,
}

impl Direction {
    /// From the front: x to the right, z up.
    pub const FRONT: Self = Self::along(0.0, 1.0, 0.0);
    /// From behind: x to the left, z up.
    pub const BACK: Self = Self::along(0.0, -1.0, 0.0);
    /// From above: x to the right, y up.
    pub const TOP: Self = Self::along(0.0, 0.0, -1.0);
    /// From below: x to the right, y down.
    pub const BOTTOM: Self = Self::along(0.0, 0.0, 1.0);
    /// From the left: y to the left, z up.
    pub const LEFT: Self = Self::along(1.0, 0.0, 0.0);
    /// From the right: y to the right, z up.
    pub const RIGHT: Self = Self::along(-1.0, 0.0, 0.0);
    /// From the front, right and above, the three axes equally foreshortened.
    pub const ISOMETRIC: Self = Self::along(-THIRD, THIRD, -THIRD);

    const fn along(x: f64, y: f64, z: f64) -> Self {
        Self { towards: Vec3 { x, y, z } }
    }

    /// The direction of a vector of any length; none if it has none.
    #[must_use]
    pub fn new(towards: Vec3<f64>) -> Option<Self> {
        unit(towards).map(|towards| Self { towards })
    }

    /// The unit vector from the eye to the part.
    #[must_use]
    pub fn towards(self) -> Vec3<f64> {
        self.towards
    }

    /// From the other side.
    #[must_use]
    pub fn opposite(self) -> Self {
        Self { towards: -self.towards }
    }

    /// Unit vectors to the right and up in the view.
    #[must_use]
    pub fn axes(self) -> [Vec3<f64>; 2] {
        let right = self.towards.cross(Vec3::new(0.0, 0.0, 1.0));
        let length = right.length();
        let right =
            if length > tolerance::PARALLEL { right.times(1.0 / length) } else { Vec3::new(1.0, 0.0, 0.0) };
        [right, right.cross(self.towards)]
    }

    /// A point as seen: to the right, up and away from the eye, in mm.
    pub(super) fn seen(axes: [Vec3<f64>; 3], p: Vec3<f64>) -> [f64; 3] {
        axes.map(|axis| p.dot(axis))
    }

    /// Right, up and away from the eye.
    pub(super) fn frame(self) -> [Vec3<f64>; 3] {
        let [right, up] = self.axes();
        [right, up, self.towards]
    }
}

/// One over the root of three.
const THIRD: f64 = 0.577_350_269_189_625_8;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn named_views_have_their_axes() {
        let v = |x: f64, y: f64, z: f64| Vec3::new(x, y, z);
        let (x, y, z) = (v(1.0, 0.0, 0.0), v(0.0, 1.0, 0.0), v(0.0, 0.0, 1.0));
        for (direction, axes) in [
            (Direction::FRONT, [x, z]),
            (Direction::BACK, [-x, z]),
            (Direction::TOP, [x, y]),
            (Direction::BOTTOM, [x, -y]),
            (Direction::LEFT, [-y, z]),
            (Direction::RIGHT, [y, z]),
        ] {
            let found = direction.axes();
            assert!((0..2).all(|i| (found[i] - axes[i]).length() < 1e-15), "{direction:?}");
        }
    }

    #[test]
    fn isometric_foreshortens_all_axes_by_the_root_of_two_thirds() {
        let [right, up] = Direction::ISOMETRIC.axes();
        for (x, y, z) in [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)] {
            let axis = Vec3::new(x, y, z);
            let [across, upwards] = [right, up].map(|side| axis.dot(side));
            let seen = across * across + upwards * upwards;
            assert!((seen - 2.0 / 3.0).abs() < 1e-15);
        }
        assert_eq!(Direction::new(Vec3::new(0.0, 0.0, 0.0)), None);
    }
}
