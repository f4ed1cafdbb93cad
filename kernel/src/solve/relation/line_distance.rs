//! Distance of a point from a straight line in the plane: a distance to an edge, or a point on it.
//! Invariant: signed, in mm, smooth wherever the line has a direction.

use crate::geom::{Flat, FlatLine, Scalar};

/// How far `point` lies to the left of `line`, less `target`, in mm.
///
/// `direction × (point − line.point) / |direction| − target`. Signed, so that it passes smoothly through a
/// point on the line; the owner turns the sign to the side on which the point was drawn. Degenerate where
/// the direction has no length: the value is then not finite.
pub fn line_distance<S: Scalar>(point: Flat<S>, line: FlatLine<S>, target: S) -> S {
    line.direction.cross(point - line.point) / line.direction.length() - target
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::tolerance;
    use crate::solve::{System, jacobian::central_difference::assert_agrees};

    /// A free line, a free point and a free target.
    struct PointAndEdge;

    impl System for PointAndEdge {
        fn variable_count(&self) -> usize {
            7
        }
        fn relation_count(&self) -> usize {
            1
        }
        fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
            let start = Flat::new(u[0], u[1]);
            let line = FlatLine { point: start, direction: Flat::new(u[2], u[3]) - start };
            residuals[0] = line_distance(Flat::new(u[4], u[5]), line, u[6]);
        }
        fn tolerance(&self, _: usize) -> f64 {
            tolerance::HELD_MM
        }
    }

    #[test]
    fn line_distance_is_positive_to_the_left() {
        // The line through (1, 1) along (3, 4): the foot of (1 − 4, 1 + 3) is 5 to its left.
        let line = FlatLine { point: Flat::new(1.0, 1.0), direction: Flat::new(3.0, 4.0) };
        assert_eq!(line_distance(Flat::new(-3.0, 4.0), line, 0.0), 5.0);
        assert_eq!(line_distance(Flat::new(5.0, -2.0), line, -4.0), -1.0);
        assert_eq!(line_distance(Flat::new(7.0, 9.0), line, 0.0), 0.0);
    }

    #[test]
    fn line_distance_jacobian_matches_central_difference() {
        assert_agrees(&PointAndEdge, &[0.0, 0.0, 80.0, 15.0, 30.0, 44.0, 40.0], 1e-8);
        assert_agrees(&PointAndEdge, &[5.0, 2.0, -3.0, -9.0, 1.0, -3.5, 0.0], 1e-8);
    }
}
