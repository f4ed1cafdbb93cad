//! Outlines at a constant distance beside a contour.
//!
//! Every piece is moved sideways; where two neighbours then gape, an arc about their corner fills the gap,
//! and where they overlap they are cut off at their crossing. Invariant: every point of the result lies the
//! asked-for distance from the contour it came from, and the result neither crosses nor touches itself; a
//! distance for which one closed outline cannot do that is refused. Must not know: what the outline is for.

use thiserror::Error;

use crate::quantity::{maths, tolerance};

use super::intersect::carrier_crossings;
use super::{ArcTurn, Contour, ContourError, Curve, Point2, Segment, Tag, first_self_contact};

/// Why there is no such outline.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum OffsetError {
    /// A piece is used up by its neighbours.
    #[error("piece {piece} has no length left")]
    UsedUp {
        /// Index of the piece in the given contour.
        piece: usize,
    },
    /// The pieces on both sides of a corner do not meet any more.
    #[error("the outline does not close after piece {piece}")]
    Apart {
        /// Index of the piece in the given contour after which they should meet.
        piece: usize,
    },
    /// Nothing is left, or it is turned inside out.
    #[error("the outline closes up")]
    ClosesUp,
    /// Parts of the outline run into each other.
    #[error("the outline meets itself at ({}, {})", at.x, at.y)]
    MeetsItself {
        /// Where.
        at: Point2,
    },
    /// The pieces do not make a contour.
    #[error(transparent)]
    Contour(#[from] ContourError),
}

/// The outline `by` mm to the right of the contour's way of travel: outside a counter-clockwise contour for
/// `by > 0`, inside it for `by < 0`. Pieces keep their tags; arcs about corners carry `corner`.
///
/// Arcs that shrink to [`tolerance::LEAST_ROUND_MM`] or less are left out, and their neighbours prolonged or cut
/// until they meet: what was left of such an arc becomes a sharp corner.
///
/// # Errors
/// [`OffsetError`] if a straight piece is used up, or if the outline would close up or part in two.
pub fn offset(contour: &Contour, by: f64, corner: Tag) -> Result<Contour, OffsetError> {
    let originals = contour.segments();
    let moved: Vec<(usize, Segment)> =
        originals.iter().enumerate().filter_map(|(i, s)| Some((i, moved_sideways(*s, by)?))).collect();
    if moved.len() < 2 {
        return Err(OffsetError::ClosesUp);
    }
    // Where each piece that is left ends, and where the next one starts: one point, or the ends of an arc.
    let mut joints = Vec::with_capacity(moved.len());
    for (place, &(index, piece)) in moved.iter().enumerate() {
        let (next_index, next) = moved[(place + 1) % moved.len()];
        let neighbours = (index + 1) % originals.len() == next_index;
        joints.push(if neighbours {
            joint(&originals[index], &originals[next_index], piece, next, by, corner)
        } else {
            let gone = originals[(index + 1) % originals.len()];
            crossing(&piece, &next, gone.point_at(0.5)).map(|p| (p, None, p))
        });
    }
    let mut pieces = Vec::with_capacity(2 * moved.len());
    for (place, &(index, piece)) in moved.iter().enumerate() {
        let (before, here) = (joints[(place + moved.len() - 1) % moved.len()], joints[place]);
        let (_, _, start) = before.ok_or(OffsetError::Apart { piece: index })?;
        let (end, arc, _) = here.ok_or(OffsetError::Apart { piece: index })?;
        let cut = Segment { start, end, ..piece };
        if !runs_as_before(&cut, &piece) {
            return Err(OffsetError::UsedUp { piece: index });
        }
        pieces.push(cut);
        pieces.extend(arc);
    }
    let result = Contour::new(pieces)?;
    if result.signed_area() * contour.signed_area() <= 0.0 {
        return Err(OffsetError::ClosesUp);
    }
    match first_self_contact(&result) {
        Some(contact) => Err(OffsetError::MeetsItself { at: contact.point }),
        None => Ok(result),
    }
}

/// The piece moved to its right; `None` for an arc that shrinks to nothing.
fn moved_sideways(piece: Segment, by: f64) -> Option<Segment> {
    match piece.curve {
        Curve::Line => {
            let side = piece.start_direction().right() * by;
            Some(Segment { start: piece.start + side, end: piece.end + side, ..piece })
        }
        Curve::Arc { centre, radius, turn } => {
            let radius = radius + turn.sign() * by;
            let on = |p: Point2| centre + (p - centre).normalized() * radius;
            (radius > tolerance::LEAST_ROUND_MM).then(|| Segment {
                start: on(piece.start),
                end: on(piece.end),
                curve: Curve::Arc { centre, radius, turn },
                tag: piece.tag,
            })
        }
    }
}

type Joint = (Point2, Option<Segment>, Point2);

/// How two neighbours of the contour meet once they are moved.
fn joint(
    before: &Segment,
    after: &Segment,
    moved_before: Segment,
    moved_after: Segment,
    by: f64,
    corner: Tag,
) -> Option<Joint> {
    let (arriving, leaving) = (before.end_direction(), after.start_direction());
    let turn = maths::atan2(arriving.cross(leaving), arriving.dot(leaving));
    if turn.abs() <= tolerance::SMOOTH_RAD {
        return Some((moved_before.end, None, moved_before.end));
    }
    if turn * by > 0.0 {
        let turn = if turn > 0.0 { ArcTurn::Left } else { ArcTurn::Right };
        let curve = Curve::Arc { centre: before.end, radius: by.abs(), turn };
        let (start, end) = (moved_before.end, moved_after.start);
        return Some((start, Some(Segment { start, end, curve, tag: corner }), end));
    }
    crossing(&moved_before, &moved_after, before.end).map(|p| (p, None, p))
}

/// The crossing of the carrying curves that lies nearest to a point.
fn crossing(a: &Segment, b: &Segment, near: Point2) -> Option<Point2> {
    let crossings = carrier_crossings(a, b, 0.0);
    crossings.points().iter().copied().min_by(|p, q| p.distance(near).total_cmp(&q.distance(near)))
}

/// Whether a piece with new ends still has length and runs the way it ran.
fn runs_as_before(cut: &Segment, before: &Segment) -> bool {
    if cut.is_point() {
        return false;
    }
    match cut.curve {
        Curve::Line => (cut.end - cut.start).dot(before.end - before.start) > 0.0,
        // Run backwards, an arc goes round the other way: nearly a whole turn more than it had.
        Curve::Arc { .. } => {
            let (now, then) = (cut.sweep().abs(), before.sweep().abs());
            now - then < 0.5 * (maths::TAU - then)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Place, Vec2, place_in_contour, round_corner};
    use proptest::prelude::*;

    fn p(x: f64, y: f64) -> Point2 {
        Point2::new(x, y)
    }

    fn rectangle(length: f64, width: f64) -> Contour {
        Contour::polygon(&[p(0.0, 0.0), p(length, 0.0), p(length, width), p(0.0, width)], Tag(1)).unwrap()
    }

    /// 40 x 30 with a notch of 15 x 10 in its upper right corner.
    fn angle() -> Contour {
        let corners = [p(0.0, 0.0), p(40.0, 0.0), p(40.0, 20.0), p(25.0, 20.0), p(25.0, 30.0), p(0.0, 30.0)];
        Contour::polygon(&corners, Tag(1)).unwrap()
    }

    #[test]
    fn outward_offset_of_a_rectangle_by_hand() {
        // Steiner: A + P d + π d² outside (common geometry).
        let out = offset(&rectangle(40.0, 30.0), 5.0, Tag(9)).unwrap();
        assert!((out.signed_area() - (1200.0 + 140.0 * 5.0 + 25.0 * maths::PI)).abs() < 1e-9);
        assert_eq!(out.segments().iter().filter(|s| s.tag == Tag(9)).count(), 4);
        let inside = offset(&rectangle(40.0, 30.0), -5.0, Tag(9)).unwrap();
        assert!((inside.signed_area() - 30.0 * 20.0).abs() < 1e-9);
        assert_eq!(inside.segments().len(), 4);
    }

    #[test]
    fn a_concave_corner_is_cut_outside_and_rounded_inside() {
        let out = offset(&angle(), 4.0, Tag(9)).unwrap();
        assert_eq!(out.segments().len(), 11);
        let inside = offset(&angle(), -4.0, Tag(9)).unwrap();
        let arc = inside.segments().iter().find(|s| s.tag == Tag(9)).unwrap();
        assert!((arc.sweep() + maths::FRAC_PI_2).abs() < 1e-12, "{arc:?}");
        // The notch grows to 15 x 10, but in the square of 4 before its corner only by a quarter disc.
        let expected = 32.0 * 22.0 - 15.0 * 10.0 + (16.0 - 4.0 * maths::PI);
        assert!((inside.signed_area() - expected).abs() < 1e-9, "{}", inside.signed_area());
    }

    #[test]
    fn an_arc_that_shrinks_to_nothing_leaves_a_corner() {
        let mut round = rectangle(40.0, 30.0);
        for corner in [0, 2, 4, 6] {
            round = round_corner(&round, corner, 3.0, Tag(2)).unwrap();
        }
        assert_eq!(round.segments().len(), 8);
        let inside = offset(&round, -5.0, Tag(9)).unwrap();
        assert_eq!(inside.segments().len(), 4);
        assert!((inside.signed_area() - 600.0).abs() < 1e-9);
        let kept = offset(&round, -2.0, Tag(9)).unwrap();
        assert_eq!(kept.segments().len(), 8);
        assert!((kept.signed_area() - (36.0 * 26.0 - (4.0 - maths::PI))).abs() < 1e-9);
    }

    #[test]
    fn circles_stay_circles() {
        let circle = Contour::circle(p(3.0, 4.0), 10.0, Tag(1)).unwrap();
        assert_eq!(offset(&circle, 2.5, Tag(9)).unwrap().as_circle(), Some((p(3.0, 4.0), 12.5)));
        assert_eq!(offset(&circle, -2.5, Tag(9)).unwrap().as_circle(), Some((p(3.0, 4.0), 7.5)));
        assert_eq!(offset(&circle, -10.0, Tag(9)), Err(OffsetError::ClosesUp));
        let hole = circle.reversed();
        assert_eq!(offset(&hole, 2.5, Tag(9)).unwrap().as_circle(), Some((p(3.0, 4.0), 7.5)));
    }

    #[test]
    fn offsets_that_close_or_part_are_refused() {
        assert!(offset(&rectangle(40.0, 30.0), -15.0, Tag(9)).is_err());
        assert!(offset(&rectangle(40.0, 30.0), -16.0, Tag(9)).is_err());
        // Two rooms joined by a neck 4 mm wide.
        let dumbbell = [
            p(0.0, 0.0),
            p(20.0, 0.0),
            p(20.0, 8.0),
            p(30.0, 8.0),
            p(30.0, 0.0),
            p(50.0, 0.0),
            p(50.0, 20.0),
            p(30.0, 20.0),
            p(30.0, 12.0),
            p(20.0, 12.0),
            p(20.0, 20.0),
            p(0.0, 20.0),
        ];
        let dumbbell = Contour::polygon(&dumbbell, Tag(1)).unwrap();
        assert!(offset(&dumbbell, -1.5, Tag(9)).is_ok());
        assert!(matches!(offset(&dumbbell, -2.5, Tag(9)), Err(OffsetError::MeetsItself { .. })));
        // The gap between the rooms is 10 mm wide.
        assert!(offset(&dumbbell, 4.5, Tag(9)).is_ok());
        assert!(offset(&dumbbell, 5.5, Tag(9)).is_err());
        // A chamfer of 2 mm is used up: its neighbours meet 1 + √2/2 further in for each.
        let chamfered = [p(0.0, 0.0), p(20.0, 0.0), p(20.0, 18.0), p(18.0, 20.0), p(0.0, 20.0)];
        let chamfered = Contour::polygon(&chamfered, Tag(1)).unwrap();
        assert!(offset(&chamfered, -3.0, Tag(9)).is_ok());
        assert_eq!(offset(&chamfered, -4.0, Tag(9)), Err(OffsetError::UsedUp { piece: 2 }));
    }

    /// A polygon with corners on spokes about the origin, some of them rounded.
    fn outline() -> impl Strategy<Value = Contour> {
        (3_usize..9).prop_flat_map(|count| {
            let spoke = (20.0..60.0_f64, -0.3..0.3_f64, prop::option::of(0.5..8.0_f64));
            prop::collection::vec(spoke, count).prop_map(|spokes| {
                #[expect(clippy::cast_precision_loss)]
                let step = maths::TAU / spokes.len() as f64;
                #[expect(clippy::cast_precision_loss)]
                let corners: Vec<Point2> = spokes
                    .iter()
                    .enumerate()
                    .map(|(i, (r, shift, _))| Point2::ORIGIN + Vec2::unit((i as f64 + shift) * step) * *r)
                    .collect();
                let mut contour = Contour::polygon(&corners, Tag(1)).unwrap();
                // From the last one, so that the indices before stay what they are.
                for (i, (_, _, radius)) in spokes.iter().enumerate().rev() {
                    let corner = (i + corners.len() - 1) % corners.len();
                    if let Some(radius) = radius.filter(|_| i > 0) {
                        contour = round_corner(&contour, corner, radius, Tag(2)).unwrap_or(contour);
                    }
                }
                contour
            })
        })
    }

    proptest! {
        #[test]
        fn every_point_of_an_offset_lies_its_distance_away(
            contour in outline(),
            by in prop_oneof![0.01..12.0_f64, -12.0..-0.01_f64],
        ) {
            prop_assume!(first_self_contact(&contour).is_none() && contour.signed_area() > 0.0);
            // A sharp corner in place of the last thousandths of an arc stands out by as much.
            prop_assume!(!contour.segments().iter().any(|s| match s.curve {
                Curve::Line => false,
                Curve::Arc { radius, turn, .. } => {
                    (0.0..=tolerance::LEAST_ROUND_MM).contains(&(radius + turn.sign() * by))
                }
            }));
            if let Ok(beside) = offset(&contour, by, Tag(9)) {
                for piece in beside.segments() {
                    for share in [0.0, 0.13, 0.5, 0.77, 1.0] {
                        let q = piece.point_at(share);
                        let distance =
                            contour.segments().iter().map(|s| s.distance_to(q)).fold(f64::INFINITY, f64::min);
                        prop_assert!((distance - by.abs()).abs() < 1e-8, "{distance} for {by}");
                        let side = if by > 0.0 { Place::Outside } else { Place::Inside };
                        prop_assert_eq!(place_in_contour(&contour, q), side);
                    }
                }
            }
        }

        #[test]
        fn small_offsets_of_large_outlines_exist_and_obey_steiner(contour in outline(), by in 0.01..0.05_f64) {
            prop_assume!(first_self_contact(&contour).is_none() && contour.signed_area() > 0.0);
            let all_left = (0..contour.segments().len()).all(|i| {
                let next = contour.segments()[(i + 1) % contour.segments().len()];
                contour.segments()[i].end_direction().cross(next.start_direction()) > -1e-12
            });
            let beside = offset(&contour, by, Tag(9));
            prop_assert!(beside.is_ok(), "{beside:?}");
            if all_left {
                let steiner = contour.signed_area() + by * contour.length() + maths::PI * by * by;
                prop_assert!((beside.unwrap().signed_area() - steiner).abs() < 1e-7);
            }
        }
    }
}
