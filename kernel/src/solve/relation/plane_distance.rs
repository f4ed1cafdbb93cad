//! Distance between two faces: from a point of the one to the plane of the other.
//! Invariant: smooth everywhere, in mm.

use crate::geom::{Plane3, Scalar, Vec3};

/// Signed distance of `anchor` from `plane`, less `target`, in mm: positive on the side to which the normal
/// points.
///
/// `(anchor − plane.point) · plane.normal − target`. Smooth everywhere. Between two face planes it means
/// their distance only where they are parallel; otherwise it is the distance at the anchor, and the owner
/// adds an angle relation or chooses the anchor.
#[inline(always)]
pub fn plane_distance<S: Scalar>(anchor: Vec3<S>, plane: Plane3<S>, target: S) -> S {
    plane.distance_to(anchor) - target
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::tolerance;
    use crate::solve::{System, jacobian::central_difference::assert_agrees};

    /// A plane through a free point, leaning by a free angle about x, and a free anchor and target.
    struct LeaningFace;

    impl System for LeaningFace {
        fn variable_count(&self) -> usize {
            8
        }
        fn relation_count(&self) -> usize {
            1
        }
        fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
            let (sin, cos) = u[6].sin_cos();
            let normal = Vec3::new(S::constant(0.0), -sin, cos);
            let plane = Plane3 { point: Vec3::new(u[0], u[1], u[2]), normal };
            residuals[0] = plane_distance(Vec3::new(u[3], u[4], u[5]), plane, u[7]);
        }
        fn tolerance(&self, _: usize) -> f64 {
            tolerance::HELD_MM
        }
    }

    #[test]
    fn plane_distance_is_positive_on_the_side_of_the_normal() {
        let plane = Plane3 { point: Vec3::new(5.0, 5.0, 2.0), normal: Vec3::new(0.0, 0.0, 1.0) };
        assert_eq!(plane_distance(Vec3::new(-8.0, 3.0, 42.0), plane, 39.0), 1.0);
        assert_eq!(plane_distance(Vec3::new(-8.0, 3.0, -38.0), plane, -39.0), -1.0);
    }

    #[test]
    fn plane_distance_relation_jacobian_matches_central_difference() {
        assert_agrees(&LeaningFace, &[4.0, -3.0, 12.0, 80.0, 25.0, 60.0, 0.7, 40.0], 1e-8);
        assert_agrees(&LeaningFace, &[0.0, 0.0, 0.0, 1.0, 1.0, 0.0, -1.6, 0.0], 1e-8);
    }
}
