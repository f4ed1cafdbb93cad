//! Two points that mirror each other about a line.
//! Invariant: two residuals in mm, both zero exactly where the points mirror each other.

use crate::geom::{Flat, FlatLine, Scalar};

use super::line_distance;

/// How far the middle between `a` and `b` lies to the left of the mirror, and how far `b` lies beyond `a`
/// along it, both in mm.
///
/// With the unit direction `e` and a point `p` of the mirror: `e × ((a + b)/2 − p)` and `(b − a) · e`.
/// Smooth wherever the mirror has a direction; both points on the mirror mirror each other where they meet.
pub fn symmetric<S: Scalar>(a: Flat<S>, b: Flat<S>, mirror: FlatLine<S>) -> [S; 2] {
    let beside = line_distance(a.middle(b), mirror, S::constant(0.0));
    [beside, (b - a).dot(mirror.direction) / mirror.direction.length()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::tolerance;
    use crate::solve::{System, jacobian::central_difference::assert_agrees};

    /// Two free points and a free mirror.
    struct TwoPointsAndMirror;

    impl System for TwoPointsAndMirror {
        fn variable_count(&self) -> usize {
            8
        }
        fn relation_count(&self) -> usize {
            2
        }
        fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
            let at = |i: usize| Flat::new(u[i], u[i + 1]);
            let mirror = FlatLine { point: at(4), direction: at(6) };
            residuals.copy_from_slice(&symmetric(at(0), at(2), mirror));
        }
        fn tolerance(&self, _: usize) -> f64 {
            tolerance::HELD_MM
        }
    }

    #[test]
    fn mirrored_points_have_residuals_zero() {
        // About the line y = x + 1: (x, y) goes to (y − 1, x + 1).
        let mirror = FlatLine { point: Flat::new(0.0, 1.0), direction: Flat::new(7.0, 7.0) };
        for [beside, along] in [
            symmetric(Flat::new(5.0, 2.0), Flat::new(1.0, 6.0), mirror),
            symmetric(Flat::new(3.0, 4.0), Flat::new(3.0, 4.0), mirror),
        ] {
            assert!(beside.abs() < 1e-14 && along.abs() < 1e-14);
        }
        // One step along the mirror for b only: half a step along for the middle does not count.
        let [beside, along] = symmetric(Flat::new(5.0, 2.0), Flat::new(4.0, 9.0), mirror);
        assert!(beside.abs() < 1e-14 && (along - 3.0 * 2.0_f64.sqrt()).abs() < 1e-14);
    }

    #[test]
    fn symmetric_jacobian_matches_central_difference() {
        assert_agrees(&TwoPointsAndMirror, &[5.0, 2.0, 1.0, 6.5, 0.0, 1.0, 7.0, 6.0], 1e-8);
        assert_agrees(&TwoPointsAndMirror, &[3.0, 3.0, 3.0, 3.0, 9.0, -2.0, -1.0, 0.5], 1e-8);
    }
}
