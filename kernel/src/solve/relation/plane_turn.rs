//! Angle between two directions in the plane: parallel, perpendicular, tangent at a corner, any angle.
//! Invariant: in rad; lengths of the directions do not count.

use crate::geom::{Flat, Scalar};

use super::angle::beyond;

/// The turn to the left that takes `from` to `to`, less `target`, in rad, in `[−π, π]`.
///
/// `atan2(from × to, from · to) − target`, less the whole turns in it. An angle and not a sine times a
/// length, because a sine times a length is also zero where the length is, and a solver would shorten an
/// edge instead of turning it. Smooth for every turn and target; the value jumps only half a turn away from
/// the target. Degenerate where a direction has no length: the turn is then 0 and its derivative is taken as
/// zero.
pub fn plane_turn<S: Scalar>(from: Flat<S>, to: Flat<S>, target: S) -> S {
    beyond(from.cross(to).atan2(from.dot(to)), target)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::maths::{FRAC_PI_2, PI};
    use crate::quantity::tolerance;
    use crate::solve::{System, jacobian::central_difference::assert_agrees};

    /// Two free edges, and a free target.
    struct TwoEdges;

    impl System for TwoEdges {
        fn variable_count(&self) -> usize {
            9
        }
        fn relation_count(&self) -> usize {
            1
        }
        fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
            let edge = |i: usize| Flat::new(u[i + 2], u[i + 3]) - Flat::new(u[i], u[i + 1]);
            residuals[0] = plane_turn(edge(0), edge(4), u[8]);
        }
        fn tolerance(&self, _: usize) -> f64 {
            tolerance::HELD_RAD
        }
    }

    #[test]
    fn plane_turn_is_positive_to_the_left() {
        let (x, y) = (Flat::new(40.0, 0.0), Flat::new(0.0, 3.0));
        assert_eq!(plane_turn(x, y, 0.0), FRAC_PI_2);
        assert_eq!(plane_turn(y, x, 0.0), -FRAC_PI_2);
        assert_eq!(plane_turn(x, -x, PI), 0.0);
        assert!(plane_turn(x, Flat::new(-1.0, -1e-9), PI).abs() < 1e-8);
    }

    #[test]
    fn plane_turn_jacobian_matches_central_difference() {
        assert_agrees(&TwoEdges, &[0.0, 0.0, 80.0, 5.0, 80.0, 5.0, 70.0, 90.0, 1.5], 1e-8);
        // Parallel, opposite, and a short edge.
        assert_agrees(&TwoEdges, &[0.0, 0.0, 8.0, 6.0, 3.0, -7.0, 7.0, -4.0, 0.0], 1e-8);
        assert_agrees(&TwoEdges, &[0.0, 0.0, 8.0, 6.0, 3.0, -7.0, -1.0, -10.0, PI], 1e-8);
    }
}
