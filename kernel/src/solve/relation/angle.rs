//! Angle between two directions: with a sign about an axis, or without one.
//! Invariant: in rad; lengths of the directions do not count.

use crate::geom::{Scalar, Vec3};
use crate::quantity::maths::{PI, TAU};

/// The turn about the unit vector `axis` that takes `from` to `to`, less `target`, in rad, in `[−π, π]`.
///
/// `atan2(s, c) − target`, less the whole turns in it, with `s = (from × to) · axis` and
/// `c = from · to − (from · axis)(to · axis)`, that is, both directions seen along the axis. Their lengths
/// do not count. Smooth for every turn and target, 0 and ±π too, because whole turns are constants: the
/// value jumps only half a turn away from the target. Degenerate where a direction is parallel to the axis:
/// the measured turn is then 0 or ±π and its derivative is taken as zero.
#[inline(always)]
pub fn angle_about<S: Scalar>(from: Vec3<S>, to: Vec3<S>, axis: Vec3<S>, target: S) -> S {
    let sine = from.cross(to).dot(axis);
    let cosine = from.dot(to) - from.dot(axis) * to.dot(axis);
    beyond(sine.atan2(cosine), target)
}

/// `measured − target` without the whole turns in it, in rad.
pub(super) fn beyond<S: Scalar>(measured: S, target: S) -> S {
    let beyond = measured - target;
    if beyond.value().abs() <= PI {
        return beyond;
    }
    beyond - S::constant((beyond.value() / TAU).round() * TAU)
}

/// The angle between `a` and `b` in `[0, π]`, less `target` in `[0, π]`, in rad.
///
/// `atan2(|a × b|, a · b)`, good to rounding at every angle, lengths do not count. Not differentiable where
/// the directions are parallel or opposite: the derivative there is taken as zero, so that a solve cannot
/// leave such a start by slope, and a target of 0 or π is a kink and not a root that the residual passes
/// through. Where the directions share an axis, as the panels beside a bend do, use [`angle_about`].
pub fn angle_between<S: Scalar>(a: Vec3<S>, b: Vec3<S>, target: S) -> S {
    a.cross(b).length().atan2(a.dot(b)) - target
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::maths::FRAC_PI_2;
    use crate::quantity::tolerance;
    use crate::solve::{System, jacobian::central_difference::assert_agrees};

    fn direction<S: Scalar>(turn: S, lean: S) -> Vec3<S> {
        let ((sin, cos), (up, along)) = (turn.sin_cos(), lean.sin_cos());
        Vec3::new(cos * along, sin * along, up)
    }

    /// Two directions by turn about z and lean out of the plane `z = 0`, and a free target.
    struct TwoDirections;

    impl System for TwoDirections {
        fn variable_count(&self) -> usize {
            5
        }
        fn relation_count(&self) -> usize {
            2
        }
        fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
            let (a, b) = (direction(u[0], u[1]), direction(u[2], u[3]));
            residuals[0] = angle_about(a, b, Vec3::constant(0.0, 0.0, 1.0), u[4]);
            residuals[1] = angle_between(a, b, u[4]);
        }
        fn tolerance(&self, _: usize) -> f64 {
            tolerance::HELD_RAD
        }
    }

    /// Only the turn about the axis, which is smooth where the directions are parallel.
    struct Turn;

    impl System for Turn {
        fn variable_count(&self) -> usize {
            2
        }
        fn relation_count(&self) -> usize {
            1
        }
        fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
            let zero = S::constant(0.0);
            let axis = Vec3::constant(0.0, 0.0, 1.0);
            residuals[0] = angle_about(Vec3::constant(1.0, 0.0, 0.0), direction(u[0], zero), axis, u[1]);
        }
        fn tolerance(&self, _: usize) -> f64 {
            tolerance::HELD_RAD
        }
    }

    #[test]
    fn angle_about_has_the_sign_of_the_turn() {
        let (x, y) = (Vec3::new(1.0, 0.0, 0.0), Vec3::new(0.0, 3.0, 0.0));
        let z = Vec3::new(0.0, 0.0, 1.0);
        assert_eq!(angle_about(x, y, z, 0.0), FRAC_PI_2);
        assert_eq!(angle_about(y, x, z, 0.0), -FRAC_PI_2);
        assert_eq!(angle_between(x, y, 0.0), FRAC_PI_2);
        assert_eq!(angle_between(x, -x, 0.0), PI);
    }

    #[test]
    fn angle_about_does_not_jump_near_a_target_of_half_a_turn() {
        let (x, z) = (Vec3::new(1.0, 0.0, 0.0), Vec3::new(0.0, 0.0, 1.0));
        for (past, target) in [(-1e-3, PI), (1e-3, PI), (-1e-3, -PI), (1e-3, -PI), (0.2, 3.0 * PI)] {
            let residual = angle_about(x, direction(PI + past, 0.0), z, target);
            assert!((residual - past).abs() < 1e-12, "{residual} against {past}");
        }
    }

    #[test]
    fn angle_about_ignores_what_lies_along_the_axis() {
        let z = Vec3::new(0.0, 0.0, 1.0);
        let residual = angle_about(direction(0.2, 0.9), direction(0.5, -0.4), z, 0.0);
        assert!((residual - 0.3).abs() < 1e-14);
    }

    #[test]
    fn angle_relation_jacobian_matches_central_difference() {
        for unknowns in [[0.3, 0.1, 1.4, -0.2, 0.8], [-2.0, 0.0, 1.1, 0.0, 3.1], [0.1, 0.9, 0.2, 0.85, 0.0]] {
            assert_agrees(&TwoDirections, &unknowns, 1e-7);
        }
    }

    #[test]
    fn angle_about_jacobian_matches_central_difference_at_parallel_and_opposite() {
        for unknowns in [[0.0, 0.0], [PI, PI], [PI, -PI], [-PI, PI], [0.0, 1.0]] {
            assert_agrees(&Turn, &unknowns, 1e-8);
        }
    }

    #[test]
    fn angle_between_keeps_its_digits_near_parallel() {
        let residual = angle_between(Vec3::new(1.0, 0.0, 0.0), direction(1e-9, 0.0), 1e-9);
        assert!(residual.abs() < 1e-18);
    }
}
