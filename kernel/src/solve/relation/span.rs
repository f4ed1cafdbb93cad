//! Length between two points in the plane, whatever its direction.
//! Invariant: in mm, never negative before the target is taken off.

use crate::geom::{Flat, Scalar};

/// `|b − a| − target`, in mm.
///
/// Smooth wherever the points are apart. Where they meet it has a kink, and its derivative is taken as zero:
/// a solve cannot leave such a start by slope. For points that shall meet hold their coordinates equal.
pub fn span<S: Scalar>(a: Flat<S>, b: Flat<S>, target: S) -> S {
    (b - a).length() - target
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::tolerance;
    use crate::solve::{System, jacobian::central_difference::assert_agrees};

    /// Two free points and a free target.
    struct TwoPoints;

    impl System for TwoPoints {
        fn variable_count(&self) -> usize {
            5
        }
        fn relation_count(&self) -> usize {
            1
        }
        fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
            residuals[0] = span(Flat::new(u[0], u[1]), Flat::new(u[2], u[3]), u[4]);
        }
        fn tolerance(&self, _: usize) -> f64 {
            tolerance::HELD_MM
        }
    }

    #[test]
    fn span_is_the_length_between() {
        // The right-angled triangle of sides 3, 4, 5.
        assert_eq!(span(Flat::new(1.0, 2.0), Flat::new(-2.0, 6.0), 4.0), 1.0);
    }

    #[test]
    fn span_jacobian_matches_central_difference() {
        assert_agrees(&TwoPoints, &[1.0, 2.0, -30.0, 61.0, 70.0], 1e-8);
        assert_agrees(&TwoPoints, &[0.0, 0.0, 0.0, 0.5, 0.5], 1e-7);
    }
}
