//! Pieces that only rise or only fall, and the ray that counts them.
//!
//! Job: cut arcs at the points where they run level or upright, and tell on which side of such a piece a
//! point lies, without a single angle. Invariant: consecutive pieces share their ends bit-equal, so that the
//! rays count closed contours without gaps.

use super::{ArcTurn, Curve, Point2, Segment, Vec2};

/// Calls `visit` for the pieces of a segment between the outermost points of its circle, in order of travel.
/// A line is one piece; an arc gives at most five, none longer than a quarter circle.
pub(crate) fn for_monotone_pieces(segment: Segment, mut visit: impl FnMut(Segment)) {
    let Curve::Arc { centre, radius, turn } = segment.curve else {
        visit(segment);
        return;
    };
    let (first, last) = match turn {
        ArcTurn::Left => (segment.start, segment.end),
        ArcTurn::Right => (segment.end, segment.start),
    };
    let from = quarters(first - centre);
    let to = quarters(last - centre);
    let to = if to > from { to } else { to + 4.0 };
    let outermost = |quarter: u8| match quarter % 4 {
        0 => centre + Vec2::new(radius, 0.0),
        1 => centre + Vec2::new(0.0, radius),
        2 => centre - Vec2::new(radius, 0.0),
        _ => centre - Vec2::new(0.0, radius),
    };
    let inner = (1..8u8).filter(|&quarter| from < f64::from(quarter) && f64::from(quarter) < to);
    let mut start = segment.start;
    let mut next = |end: Point2| {
        visit(Segment { start, end, ..segment });
        start = end;
    };
    match turn {
        ArcTurn::Left => inner.for_each(|quarter| next(outermost(quarter))),
        ArcTurn::Right => inner.rev().for_each(|quarter| next(outermost(quarter))),
    }
    next(segment.end);
}

/// Rises with the angle from the x axis, one for every quarter turn, in `[0, 4)`; whole exactly on the axes.
fn quarters(v: Vec2) -> f64 {
    let (x, y) = (v.x.abs(), v.y.abs());
    let sum = x + y;
    if v.x > 0.0 && v.y >= 0.0 {
        y / sum
    } else if v.x <= 0.0 && v.y > 0.0 {
        1.0 + x / sum
    } else if v.x < 0.0 {
        2.0 + y / sum
    } else {
        3.0 + x / sum
    }
}

/// The x at which a piece of [`for_monotone_pieces`] has the height `y`, or that of its end nearest to it.
pub(crate) fn x_at_height(piece: Segment, y: f64) -> f64 {
    let (low, high) =
        if piece.start.y <= piece.end.y { (piece.start, piece.end) } else { (piece.end, piece.start) };
    if y <= low.y {
        return low.x;
    }
    if y >= high.y {
        return high.x;
    }
    match piece.curve {
        Curve::Line => low.x + (high.x - low.x) * ((y - low.y) / (high.y - low.y)),
        Curve::Arc { centre, radius, .. } => {
            let rise = y - centre.y;
            let run = ((radius - rise) * (radius + rise)).max(0.0).sqrt();
            if low.x + high.x >= 2.0 * centre.x { centre.x + run } else { centre.x - run }
        }
    }
}

/// How a level ray to the right meets a piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct RayCount {
    /// `+1` if the piece crosses the ray upwards, `-1` downwards, 0 if it does not.
    pub(super) crossing: i32,
    /// How far the start of the ray lies from the piece in mm; infinite where that cannot matter.
    pub(super) clearance: f64,
}

/// Counts a piece of [`for_monotone_pieces`] against the ray from `p` to the right. The piece holds its lower
/// end and not its upper one, so the ray is in truth a hair above `p`.
pub(super) fn count_on_ray(p: Point2, start: Point2, end: Point2, curve: Curve) -> RayCount {
    let rises = end.y > start.y;
    let (low, high) = if rises { (start.y, end.y) } else { (end.y, start.y) };
    let none = RayCount { crossing: 0, clearance: f64::INFINITY };
    if !(low <= p.y && p.y < high) || p.x > start.x.max(end.x) {
        return none;
    }
    let sign = if rises { 1 } else { -1 };
    if p.x < start.x.min(end.x) {
        return RayCount { crossing: sign, clearance: f64::INFINITY };
    }
    // Positive where the piece lies to the right of `p`.
    let ahead = match curve {
        Curve::Line => {
            let along = end - start;
            f64::from(sign) * along.cross(p - start) / along.length()
        }
        Curve::Arc { centre, radius, turn } => {
            let inward = radius - centre.distance(p);
            let right_half = (turn == ArcTurn::Left) == rises;
            if right_half { inward } else { -inward }
        }
    };
    RayCount { crossing: if ahead > 0.0 { sign } else { 0 }, clearance: ahead.abs() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Tag;

    fn pieces(segment: Segment) -> Vec<Segment> {
        let mut list = Vec::new();
        for_monotone_pieces(segment, |piece| list.push(piece));
        list
    }

    #[test]
    fn arcs_are_cut_at_their_outermost_points_only() {
        let (east, north) = (Point2::new(2.0, 0.0), Point2::new(0.0, 2.0));
        let quarter = Segment::arc(east, north, Point2::ORIGIN, ArcTurn::Left, Tag(0));
        assert_eq!(pieces(quarter), vec![quarter]);
        let rest = Segment::arc(east, north, Point2::ORIGIN, ArcTurn::Right, Tag(0));
        assert_eq!(
            pieces(rest).iter().map(|p| p.start).collect::<Vec<_>>(),
            vec![east, Point2::new(0.0, -2.0), Point2::new(-2.0, 0.0)]
        );
        let skew = Point2::new(1.2, 1.6);
        let nearly_full = Segment::arc(skew, Point2::new(1.6, 1.2), Point2::ORIGIN, ArcTurn::Left, Tag(0));
        assert_eq!(pieces(nearly_full).len(), 5);
        let back: Vec<_> = pieces(nearly_full.reversed()).iter().map(|p| p.reversed()).rev().collect();
        assert_eq!(back, pieces(nearly_full));
    }

    #[test]
    fn rays_through_vertices_count_once() {
        // A diamond with a vertex exactly on the ray.
        let corners =
            [Point2::new(1.0, 0.0), Point2::new(0.0, 1.0), Point2::new(-1.0, 0.0), Point2::new(0.0, -1.0)];
        let winding = |p: Point2| -> i32 {
            (0..4).map(|i| count_on_ray(p, corners[i], corners[(i + 1) % 4], Curve::Line).crossing).sum()
        };
        assert_eq!(winding(Point2::ORIGIN), 1);
        assert_eq!(winding(Point2::new(-2.0, 0.0)), 0);
        assert_eq!(winding(Point2::new(-2.0, 1.0)), 0);
        assert_eq!(winding(Point2::new(-2.0, -1.0)), 0);
    }
}
