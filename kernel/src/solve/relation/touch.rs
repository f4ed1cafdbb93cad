//! Circles that touch a line or each other without a common corner.
//! Invariant: in mm; which of the answers is meant is a constant of the owner.

use crate::geom::{Flat, FlatCircle, FlatLine, Scalar};

use super::{line_distance, span};

/// How two circles touch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Touch {
    /// From outside, side by side.
    Outside,
    /// The second one lies within the first.
    Within,
    /// The first one lies within the second.
    Around,
}

/// How far the circle is from touching the line, in mm: distance of its centre on the given side of the
/// line, less its radius.
///
/// `side · (distance to the left) − radius` with `side` 1 where the centre lies to the left and −1 to the
/// right. Negative where the line cuts the circle. Smooth; degenerate where the line has no direction.
///
/// Not for an arc that ends on the line: its distance can only fall to zero and not through it, so that its
/// slope vanishes at the answer. Hold the directions at the common corner instead.
pub fn circle_touches_line<S: Scalar>(circle: FlatCircle<S>, line: FlatLine<S>, side: f64) -> S {
    line_distance(circle.centre, line, S::constant(0.0)).scaled(side) - circle.radius
}

/// How far two circles are from touching, in mm: the distance of their centres less the sum of the radii, or
/// less the difference where one lies within the other.
///
/// Smooth but where the centres meet: concentric circles have no direction in which to move apart.
pub fn circles_touch<S: Scalar>(a: FlatCircle<S>, b: FlatCircle<S>, touch: Touch) -> S {
    let reach = match touch {
        Touch::Outside => a.radius + b.radius,
        Touch::Within => a.radius - b.radius,
        Touch::Around => b.radius - a.radius,
    };
    span(a.centre, b.centre, reach)
}

/// How far a point is off a circle, in mm, positive outside: `|point − centre| − radius`.
///
/// Smooth but at the centre, where the derivative is taken as zero.
pub fn off_circle<S: Scalar>(point: Flat<S>, circle: FlatCircle<S>) -> S {
    span(circle.centre, point, circle.radius)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::tolerance;
    use crate::solve::{System, jacobian::central_difference::assert_agrees};

    /// Two free circles and a free line, each touching in each way.
    struct CirclesAndLine;

    impl System for CirclesAndLine {
        fn variable_count(&self) -> usize {
            10
        }
        fn relation_count(&self) -> usize {
            6
        }
        fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
            let circle = |i: usize| FlatCircle { centre: Flat::new(u[i], u[i + 1]), radius: u[i + 2] };
            let (a, b) = (circle(0), circle(3));
            let line = FlatLine { point: Flat::new(u[6], u[7]), direction: Flat::new(u[8], u[9]) };
            residuals[0] = circle_touches_line(a, line, 1.0);
            residuals[1] = circle_touches_line(b, line, -1.0);
            residuals[2] = circles_touch(a, b, Touch::Outside);
            residuals[3] = circles_touch(a, b, Touch::Within);
            residuals[4] = circles_touch(a, b, Touch::Around);
            residuals[5] = off_circle(a.centre, b);
        }
        fn tolerance(&self, _: usize) -> f64 {
            tolerance::HELD_MM
        }
    }

    #[test]
    fn touching_figures_have_residual_zero() {
        let circle = |x, y, radius| FlatCircle { centre: Flat::new(x, y), radius };
        // Centres (0, 0) and (6, 8) are 10 apart.
        let big = circle(0.0, 0.0, 12.0);
        assert_eq!(circles_touch(big, circle(6.0, 8.0, 2.0), Touch::Within), 0.0);
        assert_eq!(circles_touch(circle(6.0, 8.0, 2.0), big, Touch::Around), 0.0);
        assert_eq!(circles_touch(circle(0.0, 0.0, 7.0), circle(6.0, 8.0, 3.0), Touch::Outside), 0.0);
        // The line 3x + 4y = 60 is 12 from the origin, which lies to its left when it is run towards −x.
        let line = FlatLine { point: Flat::new(20.0, 0.0), direction: Flat::new(-4.0, 3.0) };
        assert_eq!(circle_touches_line(big, line, 1.0), 0.0);
        assert_eq!(off_circle(Flat::new(7.2, 9.6), big), 0.0);
    }

    #[test]
    fn touch_jacobian_matches_central_difference() {
        let unknowns = [1.0, 2.0, 12.0, 20.0, -9.0, 5.0, 3.0, 4.0, 17.0, 6.0];
        assert_agrees(&CirclesAndLine, &unknowns, 1e-8);
        let unknowns = [-40.0, 8.0, 25.0, -38.0, 3.0, 14.0, 0.0, -4.0, -1.0, 0.2];
        assert_agrees(&CirclesAndLine, &unknowns, 1e-7);
    }
}
