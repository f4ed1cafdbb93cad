//! Profiles with numbers put in: drawn outlines as closed contours.
//!
//! Invariant: the contour runs counter-clockwise and does not cross itself; its pieces are in the order of
//! travel, each with the index of the profile's edge it came from.

use crate::geom::{ArcTurn, Contour, Curve, Point2, Segment, Tag, first_self_contact};
use crate::history::{EdgeShape, Profile};
use crate::quantity::tolerance;

use super::FoldFault;

/// The pieces of an outline, counter-clockwise, with the index of the edge that each one came from.
pub(super) fn outline_pieces(
    name: &str,
    profile: &Profile,
    free: &[f64],
) -> Result<Vec<(usize, Segment)>, FoldFault> {
    let count = profile.corners.len();
    let corners: Vec<Point2> =
        profile.corners.iter().map(|[x, y]| Point2::new(x.evaluate(free), y.evaluate(free))).collect();
    let mut pieces = Vec::with_capacity(count);
    for (index, edge) in profile.edges.iter().enumerate() {
        let (start, end) = (corners[index], corners[(index + 1) % count]);
        let at_edge = || (name.to_owned(), edge.name.clone());
        if start.distance(end) <= tolerance::SNAP_MM {
            let (outline, edge) = at_edge();
            return Err(FoldFault::EdgeWithoutLength { outline, edge });
        }
        let piece = match &edge.shape {
            EdgeShape::Line => Segment::line(start, end, Tag::default()),
            EdgeShape::Arc(radius) => {
                let radius = radius.evaluate(free);
                arc_by_radius(start, end, radius).ok_or_else(|| {
                    let (outline, edge) = at_edge();
                    FoldFault::ArcTooSmall { outline, edge, radius, needed: 0.5 * start.distance(end) }
                })?
            }
            EdgeShape::ArcThrough([x, y]) => {
                let via = Point2::new(x.evaluate(free), y.evaluate(free));
                Segment::arc_through(start, via, end, Tag::default()).ok_or_else(|| {
                    let (outline, edge) = at_edge();
                    FoldFault::ArcThroughLine { outline, edge }
                })?
            }
            EdgeShape::ArcRise(rise) => arc_by_rise(start, end, rise.evaluate(free)).ok_or_else(|| {
                let (outline, edge) = at_edge();
                FoldFault::ArcThroughLine { outline, edge }
            })?,
        };
        pieces.push((index, piece));
    }
    let contour = Contour::new(pieces.iter().map(|(_, s)| *s).collect())
        .map_err(|problem| FoldFault::OutlineOpen { outline: name.to_owned(), problem })?;
    if let Some(contact) = first_self_contact(&contour) {
        let edge = |i: usize| profile.edges[i].name.clone();
        return Err(FoldFault::OutlineCrosses {
            outline: name.to_owned(),
            a: edge(contact.first),
            b: edge(contact.second),
            at: contact.point,
        });
    }
    if contour.signed_area() < 0.0 {
        pieces = pieces.into_iter().rev().map(|(index, piece)| (index, piece.reversed())).collect();
    }
    Ok(pieces)
}

/// The arc of at most a half circle; positive radius turns left. None if the radius is too small.
fn arc_by_radius(start: Point2, end: Point2, radius: f64) -> Option<Segment> {
    let half_chord = 0.5 * start.distance(end);
    // A half circle asked for with a rounded radius is still a half circle.
    let room = radius * radius - half_chord * half_chord;
    if radius.abs() < half_chord - tolerance::SNAP_MM {
        return None;
    }
    let towards_centre = (end - start).normalized().left() * (room.max(0.0).sqrt() * radius.signum());
    let centre = start.midpoint(end) + towards_centre;
    let turn = if radius > 0.0 { ArcTurn::Left } else { ArcTurn::Right };
    Some(Segment::arc(start, end, centre, turn, Tag::default()))
}

/// The arc whose middle stands `rise` to the right of its chord. None if that is no more than rounding.
fn arc_by_rise(start: Point2, end: Point2, rise: f64) -> Option<Segment> {
    let middle = start.midpoint(end) + (end - start).normalized().left() * -rise;
    if rise.abs() <= tolerance::SNAP_MM {
        None
    } else {
        Segment::arc_through(start, middle, end, Tag::default())
    }
}

/// Where a line (point and direction) meets the curve of a piece, prolonged, nearest to `near`.
pub(super) fn meet_line(
    point: Point2,
    direction: crate::geom::Vec2,
    piece: &Segment,
    near: Point2,
) -> Option<Point2> {
    match piece.curve {
        Curve::Line => {
            let other = (piece.end - piece.start).normalized();
            let cross = direction.cross(other);
            if cross.abs() <= tolerance::PARALLEL {
                return None;
            }
            Some(point + direction * ((piece.start - point).cross(other) / cross))
        }
        Curve::Arc { centre, radius, .. } => {
            let along = (centre - point).dot(direction);
            let foot = point + direction * along;
            let off = foot.distance(centre);
            if off > radius {
                return None;
            }
            let half = direction * (radius * radius - off * off).max(0.0).sqrt();
            let (p, q) = (foot - half, foot + half);
            Some(if p.distance(near) <= q.distance(near) { p } else { q })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::maths;

    #[test]
    fn arc_by_radius_turns_to_the_side_of_its_sign() {
        let (a, b) = (Point2::new(0.0, 0.0), Point2::new(10.0, 0.0));
        assert!((arc_by_radius(a, b, 5.0).unwrap().sweep() - maths::PI).abs() < 1e-12);
        let shallow = arc_by_radius(a, b, -10.0).unwrap();
        assert!((shallow.sweep() + maths::PI / 3.0).abs() < 1e-12);
        assert!(arc_by_radius(a, b, 4.9).is_none());
    }

    #[test]
    fn arc_by_rise_turns_to_the_side_of_its_sign_and_past_a_half_circle() {
        let (a, b) = (Point2::new(0.0, 0.0), Point2::new(6.0, 0.0));
        // Rise 1 over a chord of 6: radius (3² + 1) / 2 = 5; rise 9 is the rest of that circle.
        let turn = 2.0 * maths::asin(0.6);
        assert!((arc_by_rise(a, b, 1.0).unwrap().sweep() - turn).abs() < 1e-12);
        assert!((arc_by_rise(a, b, -9.0).unwrap().sweep() + maths::TAU - turn).abs() < 1e-12);
        assert!(arc_by_rise(a, b, 1e-8).is_none());
    }
}
