//! Distance of two points along a direction: the width of a panel, the reach of a flange.
//! Invariant: signed, in mm, smooth everywhere.

use crate::geom::{Scalar, Vec3};

/// How far `to` lies beyond `from` along the unit vector `direction`, less `target`, in mm.
///
/// `(to − from) · direction − target`. Signed and smooth everywhere, also where the points meet, which the
/// length of `to − from` is not. If `direction` is not of length 1 the measure is scaled by its length.
pub fn point_distance<S: Scalar>(from: Vec3<S>, to: Vec3<S>, direction: Vec3<S>, target: S) -> S {
    (to - from).dot(direction) - target
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::tolerance;
    use crate::solve::{System, jacobian::central_difference::assert_agrees};

    /// Two free points, measured along a direction in the plane `z = 0` at a free angle, and a free target.
    struct TwoCorners;

    impl System for TwoCorners {
        fn variable_count(&self) -> usize {
            8
        }
        fn relation_count(&self) -> usize {
            1
        }
        fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
            let (sin, cos) = u[6].sin_cos();
            let direction = Vec3::new(cos, sin, S::constant(0.0));
            let (from, to) = (Vec3::new(u[0], u[1], u[2]), Vec3::new(u[3], u[4], u[5]));
            residuals[0] = point_distance(from, to, direction, u[7]);
        }
        fn tolerance(&self, _: usize) -> f64 {
            tolerance::HELD_MM
        }
    }

    #[test]
    fn point_distance_counts_only_along_the_direction() {
        let (from, to) = (Vec3::new(10.0, 5.0, 0.0), Vec3::new(110.0, 70.0, -8.0));
        assert_eq!(point_distance(from, to, Vec3::new(1.0, 0.0, 0.0), 98.0), 2.0);
        assert_eq!(point_distance(to, from, Vec3::new(1.0, 0.0, 0.0), 98.0), -198.0);
    }

    #[test]
    fn point_distance_relation_jacobian_matches_central_difference() {
        assert_agrees(&TwoCorners, &[4.0, -3.0, 12.0, 80.0, 25.0, 60.0, 0.7, 40.0], 1e-8);
        assert_agrees(&TwoCorners, &[4.0, -3.0, 12.0, 4.0, -3.0, 12.0, 2.0, 0.0], 1e-8);
    }
}
