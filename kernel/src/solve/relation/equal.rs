//! Two measures are the same, whatever they are. Invariant: linear, in the unit of both.

use crate::geom::Scalar;

/// `a − b`, in the unit of both (mm or rad). Linear; there is no degenerate case.
pub fn equal<S: Scalar>(a: S, b: S) -> S {
    a - b
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::tolerance;
    use crate::solve::{System, jacobian::central_difference::assert_agrees};

    struct LegAndTwiceLeg;

    impl System for LegAndTwiceLeg {
        fn variable_count(&self) -> usize {
            2
        }
        fn relation_count(&self) -> usize {
            1
        }
        fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]) {
            residuals[0] = equal(unknowns[0], unknowns[1].scaled(2.0));
        }
        fn tolerance(&self, _: usize) -> f64 {
            tolerance::HELD_MM
        }
    }

    #[test]
    fn equal_relation_is_first_less_second() {
        assert_eq!(equal(30.0, 28.5), 1.5);
    }

    #[test]
    fn equal_relation_jacobian_matches_central_difference() {
        assert_agrees(&LegAndTwiceLeg, &[30.0, 14.0], 1e-9);
    }
}
