//! Contours cut so that no arc turns through more than a half circle.
//!
//! Formats that give an arc by its two ends and one more number lose accuracy as the ends come together:
//! an arc that is nearly a full circle has almost no chord to measure its radius by. Invariant: the pieces
//! follow the contour exactly, in order, joints bit-equal, and each turns through at most 180°.

use crate::geom::{Contour, Curve, Segment};
use crate::quantity::{maths, tolerance};

/// The pieces of a contour; arcs of more than a half circle come as two halves.
pub(super) fn pieces(contour: &Contour) -> Vec<Segment> {
    contour.segments().iter().flat_map(|piece| halves(*piece)).collect()
}

fn halves(piece: Segment) -> Vec<Segment> {
    let Curve::Arc { .. } = piece.curve else { return vec![piece] };
    if piece.sweep().abs() <= maths::PI + tolerance::PARALLEL {
        return vec![piece];
    }
    let middle = piece.point_at(0.5);
    vec![Segment { end: middle, ..piece }, Segment { start: middle, ..piece }]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{ArcTurn, Point2, Tag, Vec2};

    #[test]
    fn an_arc_of_300_degrees_is_halved_and_a_half_circle_is_not() {
        let centre = Point2::new(5.0, -2.0);
        let at = |deg: f64| centre + Vec2::unit(deg * (maths::PI / 180.0)) * 4.0;
        let long = Segment::arc(at(0.0), at(300.0), centre, ArcTurn::Left, Tag(7));
        let [first, second] = halves(long)[..] else { panic!("two pieces") };
        assert!((first.sweep() - 150.0 * (maths::PI / 180.0)).abs() < 1e-12);
        assert!((second.sweep() - first.sweep()).abs() < 1e-12);
        assert_eq!((first.start, first.end, second.end), (long.start, second.start, long.end));
        assert_eq!(second.tag, Tag(7));
        let half = Segment::arc(at(0.0), at(180.0), centre, ArcTurn::Right, Tag(0));
        assert_eq!(halves(half), vec![half]);
    }
}
