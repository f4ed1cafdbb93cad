//! Corners of a flange whose outline was drawn.
//!
//! The drawing has x along the edge that the flange stands on, from its left end, and y as the flange's
//! length is counted; in the flange's frame y counts from where the bend ends, a datum's setback further on.
//! The edges beside the base are cut off there: what lies before is the bend's.
//! Invariant: corner 0 is where the left edge comes out of the bend and corner 1 where the right one does,
//! both at y = 0 of the frame, whichever way round the outline was drawn.

use crate::geom::{Flat, FlatArc, Scalar};
use crate::history::{EdgeShape, Profile};
use crate::quantity::tolerance;

use super::pose::{CounterClockwise, DrawnCorner};

/// Drawn corners of a flange in its frame.
pub(super) struct FlangeCorners<S> {
    /// Counter-clockwise.
    pub(super) corners: Vec<DrawnCorner<S>>,
    /// Position among them at which drawn edge `i` starts.
    pub(super) edge_order: Vec<usize>,
}

/// Corners of an outline whose first edge is its base, with the bend's end at y = `level` of the drawing.
pub(super) fn drawn_corners<S: Scalar>(outline: &Profile, level: S, free: &[S]) -> FlangeCorners<S> {
    let CounterClockwise { mut corners, mut edge_order, reversed } = CounterClockwise::new(outline, free);
    let count = corners.len();
    let first = edge_order[0];
    corners.rotate_left(first);
    for position in &mut edge_order {
        *position = (*position + count - first) % count;
    }
    let flat = |position: usize| Flat::new(corners[position % count][0], corners[position % count][1]);
    let edge_at = |position: usize| {
        let edge = edge_order.iter().position(|&at| at == position);
        &outline.edges[edge.expect("every position has an edge")].shape
    };
    // Both edges run away from the base: the right one counter-clockwise, the left one against that.
    let right = Side { from: flat(1), to: flat(2), shape: edge_at(1), as_drawn: !reversed };
    let left = Side { from: flat(0), to: flat(count - 1), shape: edge_at(count - 1), as_drawn: reversed };
    let feet = [left.crosses(level, free), right.crosses(level, free)];
    for corner in &mut corners {
        corner[1] = corner[1] - level;
    }
    for (corner, foot) in corners.iter_mut().zip(feet) {
        *corner = [foot, S::constant(0.0)];
    }
    FlangeCorners { corners, edge_order }
}

/// An edge beside the base, run away from it.
struct Side<'a, S> {
    from: Flat<S>,
    to: Flat<S>,
    shape: &'a EdgeShape,
    /// Whether that is the way in which it was drawn.
    as_drawn: bool,
}

impl<S: Scalar> Side<'_, S> {
    /// The x at which it first reaches y = `level`, prolonged if it must be. An edge that never does stays
    /// where it leaves the base; the stage that draws the panel refuses it.
    fn crosses(&self, level: S, free: &[S]) -> S {
        let (from, to) = (self.from, self.to);
        if *self.shape == EdgeShape::Line {
            let rise = to.y - from.y;
            if rise.value().abs() <= tolerance::SNAP_MM {
                return from.x;
            }
            return from.x + (level - from.y) * (to.x - from.x) / rise;
        }
        let arc = if self.as_drawn {
            self.shape.arc(from, to, free)
        } else {
            let FlatArc { start, end, half_turn } = self.shape.arc(to, from, free);
            FlatArc { start: end, end: start, half_turn: -half_turn }
        };
        let (centre, radius, above) = (arc.centre(), arc.signed_radius(), level - arc.centre().y);
        let square = radius * radius - above * above;
        if square.value() > 0.0 {
            // On the way up it lies right of its centre if it turns to the left, and left of it otherwise.
            centre.x + square.sqrt().scaled(radius.value().signum())
        } else {
            from.x
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Dual;
    use crate::history::{Number, ProfileEdge};
    use crate::ident::VarId;

    fn edges(shapes: Vec<EdgeShape>) -> Vec<ProfileEdge> {
        let named = shapes.into_iter().enumerate();
        named.map(|(i, shape)| ProfileEdge { name: format!("e{i}"), shape }).collect()
    }

    fn n(value: f64) -> Number {
        Number::constant(value)
    }

    #[track_caller]
    fn assert_near(got: &[[f64; 2]], wanted: &[[f64; 2]]) {
        let near = |(a, b): (&f64, &f64)| (a - b).abs() < 1e-12;
        let all = got.len() == wanted.len() && got.as_flattened().iter().zip(wanted.as_flattened()).all(near);
        assert!(all, "{got:?} against {wanted:?}");
    }

    #[test]
    fn sides_are_cut_off_where_the_bend_ends_whichever_way_round_they_were_drawn() {
        // A trapezoid of height 20, its sides leaning inwards by 10: 4 mm up they have come in by 2 mm. The
        // same outline the other way round begins at the base's right end.
        let at = [[10.0, 0.0], [90.0, 0.0], [80.0, 20.0], [20.0, 20.0]];
        let lines = || edges(vec![EdgeShape::Line; 4]);
        let there = Profile::new(at.iter().map(|p| p.map(n)).collect(), lines());
        let back = [at[1], at[0], at[3], at[2]];
        let back = Profile::new(back.iter().map(|p| p.map(n)).collect(), lines());
        let wanted = vec![[12.0, 0.0], [88.0, 0.0], [80.0, 16.0], [20.0, 16.0]];
        let made = drawn_corners(&there, 4.0, &[]);
        assert_eq!((made.corners, made.edge_order), (wanted.clone(), vec![0, 1, 2, 3]));
        let made = drawn_corners(&back, 4.0, &[]);
        assert_eq!((made.corners, made.edge_order), (wanted, vec![0, 3, 2, 1]));
    }

    #[test]
    fn a_round_flange_is_cut_off_on_its_circle() {
        // A half circle of radius 25 about (40, 0) is cut at y = 7, 24 mm beside its centre: 7² + 24² = 25².
        let corners = || vec![[n(15.0), n(0.0)], [n(65.0), n(0.0)]];
        let half = Profile::new(corners(), edges(vec![EdgeShape::Line, EdgeShape::Arc(n(25.0))]));
        assert_near(&drawn_corners(&half, 7.0, &[]).corners, &[[16.0, 0.0], [64.0, 0.0]]);
        // The other way round the arc turns to the right.
        let mut round = corners();
        round.reverse();
        let half = Profile::new(round, edges(vec![EdgeShape::Line, EdgeShape::Arc(n(-25.0))]));
        assert_near(&drawn_corners(&half, 7.0, &[]).corners, &[[16.0, 0.0], [64.0, 0.0]]);
    }

    #[test]
    fn feet_have_the_derivative_of_their_differences() {
        // The left side is an arc through a free point, the right one leans as a free corner says.
        let [a, b] = [0, 1].map(|i| Number::free(VarId::new(i)));
        let corners = vec![[n(0.0), n(0.0)], [n(60.0), n(0.0)], [a.clone(), n(30.0)], [n(10.0), n(30.0)]];
        let shapes =
            vec![EdgeShape::Line, EdgeShape::Line, EdgeShape::Line, EdgeShape::ArcThrough([b, n(15.0)])];
        let outline = Profile::new(corners, edges(shapes));
        let at = [52.0, 3.0];
        let dual = [Dual::<2>::variable(at[0], 0), Dual::variable(at[1], 1)];
        let made = drawn_corners(&outline, Dual::constant(4.0), &dual);
        let h = 1e-5;
        for (foot, x) in made.corners.iter().take(2).enumerate() {
            for which in 0..2 {
                let moved = |by: f64| {
                    let mut free = at;
                    free[which] += by;
                    drawn_corners(&outline, 4.0, &free).corners[foot][0]
                };
                let slope = (moved(h) - moved(-h)) / (2.0 * h);
                assert!((x[0].parts[which] - slope).abs() < 1e-8, "foot {foot} by number {which}");
            }
        }
    }
}
