//! Where two segments meet: nowhere, in points, or along a stretch.
//!
//! Invariant: every point given lies within the snap tolerance of both segments. Knows nothing of contours.

use crate::quantity::tolerance;

use super::{Curve, Point2, Segment};

/// How two segments meet, within [`tolerance::SNAP_MM`].
#[derive(Clone, Debug, PartialEq)]
pub enum Meeting {
    /// They have no point in common.
    Apart,
    /// They cross or touch in these points, at most four, in the order of travel of the first segment.
    Points(Vec<Point2>),
    /// They run along each other between these pairs of points, in the order of travel of the first segment.
    Overlap(Vec<(Point2, Point2)>),
}

/// How two segments meet, within [`tolerance::SNAP_MM`].
///
/// Candidates are the crossings of the carrying lines and circles and the ends that lie on the other
/// segment; where the middle of the stretch between two neighbouring candidates lies on both, the segments
/// overlap there.
#[must_use]
pub fn meet(a: &Segment, b: &Segment) -> Meeting {
    let snap = tolerance::SNAP_MM;
    if !a.bounding_box().grown(snap).touches(b.bounding_box()) {
        return Meeting::Apart;
    }
    let mut contacts: Vec<(f64, Point2)> = Vec::new();
    let mut add = |p: Point2| {
        if contacts.iter().all(|&(_, q)| q.distance(p) > snap) {
            contacts.push((a.share_at(p), p));
        }
    };
    [a.start, a.end].into_iter().filter(|&p| b.distance_to(p) <= snap).for_each(&mut add);
    [b.start, b.end].into_iter().filter(|&p| a.distance_to(p) <= snap).for_each(&mut add);
    for &p in carrier_crossings(a, b, snap).points() {
        if a.distance_to(p) <= snap && b.distance_to(p) <= snap {
            add(p);
        }
    }
    contacts.sort_by(|p, q| p.0.total_cmp(&q.0));
    let mut stretches: Vec<(Point2, Point2)> = Vec::new();
    for w in contacts.windows(2) {
        let ((from, p), (to, q)) = (w[0], w[1]);
        if b.distance_to(a.point_at(0.5 * (from + to))) > snap {
            continue;
        }
        match stretches.last_mut() {
            Some((_, end)) if *end == p => *end = q,
            Some(_) | None => stretches.push((p, q)),
        }
    }
    if !stretches.is_empty() {
        Meeting::Overlap(stretches)
    } else if contacts.is_empty() {
        Meeting::Apart
    } else {
        Meeting::Points(contacts.into_iter().map(|(_, p)| p).collect())
    }
}

/// Up to two points where carrying lines or circles cross.
#[derive(Clone, Copy, Debug)]
pub(super) struct Crossings {
    list: [Point2; 2],
    count: usize,
}

impl Crossings {
    const NONE: Self = Self { list: [Point2::ORIGIN; 2], count: 0 };

    fn one(p: Point2) -> Self {
        Self { list: [p, p], count: 1 }
    }

    fn two(p: Point2, q: Point2) -> Self {
        Self { list: [p, q], count: 2 }
    }

    /// The points found.
    pub(super) fn points(&self) -> &[Point2] {
        &self.list[..self.count]
    }
}

/// Where the endless line or full circle under one segment crosses that under the other. Curves that come
/// within `snap` mm of touching, from either side, give the one point between them; curves that coincide
/// within `snap` give none.
pub(super) fn carrier_crossings(a: &Segment, b: &Segment, snap: f64) -> Crossings {
    match (a.curve, b.curve) {
        (Curve::Line, Curve::Line) => line_line(a, b),
        (Curve::Line, Curve::Arc { centre, radius, .. }) => line_circle(a, centre, radius, snap),
        (Curve::Arc { centre, radius, .. }, Curve::Line) => line_circle(b, centre, radius, snap),
        (Curve::Arc { centre, radius, .. }, Curve::Arc { centre: other, radius: other_radius, .. }) => {
            circle_circle(centre, radius, other, other_radius, snap)
        }
    }
}

fn line_line(a: &Segment, b: &Segment) -> Crossings {
    let (along, other) = (a.end - a.start, b.end - b.start);
    let denominator = along.cross(other);
    if denominator == 0.0 {
        return Crossings::NONE;
    }
    let share = (b.start - a.start).cross(other) / denominator;
    Crossings::one(a.start + along * share)
}

fn line_circle(line: &Segment, centre: Point2, radius: f64, snap: f64) -> Crossings {
    let along = (line.end - line.start).normalized();
    let to_centre = centre - line.start;
    let foot = line.start + along * along.dot(to_centre);
    let height = along.cross(to_centre);
    let gap = height.abs() - radius;
    if gap > snap {
        return Crossings::NONE;
    }
    if gap >= -snap {
        let outermost = centre - along.left() * (radius * height.signum());
        return Crossings::one(foot.midpoint(outermost));
    }
    let half_chord = ((radius - height) * (radius + height)).sqrt();
    Crossings::two(foot - along * half_chord, foot + along * half_chord)
}

fn circle_circle(c1: Point2, r1: f64, c2: Point2, r2: f64, snap: f64) -> Crossings {
    // Seen from the larger circle, rounding of its radius would move the points along the smaller one.
    if r1 > r2 {
        return circle_circle(c2, r2, c1, r1, snap);
    }
    let between = c2 - c1;
    let distance = between.length();
    let step = r1 - r2;
    let same = distance + step.abs() <= snap;
    if same || distance > r1 + r2 + snap || distance < step.abs() - snap || distance == 0.0 {
        return Crossings::NONE;
    }
    let u = between * (1.0 / distance);
    if distance >= r1 + r2 - snap {
        return Crossings::one((c1 + u * r1).midpoint(c2 - u * r2));
    }
    if distance <= step.abs() + snap {
        let side = u * step.signum();
        return Crossings::one((c1 + side * r1).midpoint(c2 + side * r2));
    }
    let foot = 0.5 * (distance + step * (r1 + r2) / distance);
    let half_chord = ((r1 - foot) * (r1 + foot)).max(0.0).sqrt();
    let middle = c1 + u * foot;
    Crossings::two(middle - u.left() * half_chord, middle + u.left() * half_chord)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{ArcTurn, Tag};

    fn p(x: f64, y: f64) -> Point2 {
        Point2::new(x, y)
    }

    fn line(a: Point2, b: Point2) -> Segment {
        Segment::line(a, b, Tag(0))
    }

    fn arc(a: Point2, b: Point2, centre: Point2) -> Segment {
        Segment::arc(a, b, centre, ArcTurn::Left, Tag(0))
    }

    fn points(meeting: Meeting) -> Vec<Point2> {
        match meeting {
            Meeting::Points(list) => list,
            Meeting::Apart | Meeting::Overlap(_) => panic!("expected points, got {meeting:?}"),
        }
    }

    fn near(got: &[Point2], want: &[Point2]) -> bool {
        got.len() == want.len() && got.iter().zip(want).all(|(g, w)| g.distance(*w) < 1e-12)
    }

    #[test]
    fn lines_cross_touch_and_miss() {
        let diagonal = line(p(0.0, 0.0), p(4.0, 4.0));
        assert!(near(&points(meet(&diagonal, &line(p(0.0, 2.0), p(4.0, 2.0)))), &[p(2.0, 2.0)]));
        assert!(near(&points(meet(&diagonal, &line(p(4.0, 4.0), p(9.0, 0.0)))), &[p(4.0, 4.0)]));
        assert!(near(&points(meet(&diagonal, &line(p(2.0, 2.0), p(9.0, 0.0)))), &[p(2.0, 2.0)]));
        assert_eq!(meet(&diagonal, &line(p(4.1, 4.0), p(9.0, 0.0))), Meeting::Apart);
        assert_eq!(meet(&diagonal, &line(p(0.0, 1e-6), p(4.0, 4.0 + 1e-6))), Meeting::Apart);
    }

    #[test]
    fn collinear_lines_overlap_in_their_common_stretch() {
        let long = line(p(0.0, 0.0), p(10.0, 0.0));
        let shifted = line(p(14.0, 5e-8), p(4.0, -5e-8));
        assert_eq!(meet(&long, &shifted), Meeting::Overlap(vec![(p(4.0, -5e-8), p(10.0, 0.0))]));
        assert_eq!(meet(&long, &line(p(10.0, 0.0), p(12.0, 0.0))), Meeting::Points(vec![p(10.0, 0.0)]));
        assert_eq!(meet(&long, &line(p(10.5, 0.0), p(12.0, 0.0))), Meeting::Apart);
    }

    #[test]
    fn line_and_arc_by_hand() {
        // Upper half of the circle of radius 5: the chord at height 3 cuts it at x = ±4.
        let half = arc(p(5.0, 0.0), p(-5.0, 0.0), Point2::ORIGIN);
        let chord = line(p(-9.0, 3.0), p(9.0, 3.0));
        assert!(near(&points(meet(&chord, &half)), &[p(-4.0, 3.0), p(4.0, 3.0)]));
        assert!(near(&points(meet(&half, &chord)), &[p(4.0, 3.0), p(-4.0, 3.0)]));
        let tangent = line(p(-9.0, 5.0), p(9.0, 5.0));
        assert!(near(&points(meet(&tangent, &half)), &[p(0.0, 5.0)]));
        assert_eq!(meet(&line(p(-9.0, -3.0), p(9.0, -3.0)), &half), Meeting::Apart);
        assert_eq!(meet(&line(p(-1.0, 1.0), p(1.0, 1.0)), &half), Meeting::Apart);
    }

    #[test]
    fn arcs_by_hand() {
        // Circles of radius 5 about (0, 0) and (8, 0) cross at (4, ±3).
        let first = arc(p(0.0, -5.0), p(0.0, 5.0), Point2::ORIGIN);
        let second = arc(p(8.0, 5.0), p(8.0, -5.0), p(8.0, 0.0));
        assert!(near(&points(meet(&first, &second)), &[p(4.0, -3.0), p(4.0, 3.0)]));
        let touching = arc(p(10.0, 5.0), p(10.0, -5.0), p(10.0, 0.0));
        assert!(near(&points(meet(&first, &touching)), &[p(5.0, 0.0)]));
        let inside = arc(p(2.0, -3.0), p(2.0, 3.0), p(2.0, 0.0));
        assert!(near(&points(meet(&first, &inside)), &[p(5.0, 0.0)]));
        let within = arc(p(1.0, -3.0), p(1.0, 3.0), p(1.0, 0.0));
        assert_eq!(meet(&first, &within), Meeting::Apart);
    }

    #[test]
    fn an_arc_that_is_almost_a_line_crosses_a_small_one_on_it() {
        // The line y = 3 but for 1e-6 mm, and the circle of radius 5.
        let radius = 1e7 / 3.0;
        let (large, small) = (p(0.7, 3.0 - radius), Point2::ORIGIN);
        for crossings in
            [circle_circle(small, 5.0, large, radius, 1e-7), circle_circle(large, radius, small, 5.0, 1e-7)]
        {
            for &at in crossings.points() {
                assert!((at.distance(small) - 5.0).abs() < 1e-9 && (at.x.abs() - 4.0).abs() < 1e-5, "{at:?}");
                assert!((at.distance(large) - radius).abs() < 1e-8);
            }
            assert_eq!(crossings.points().len(), 2);
        }
    }

    #[test]
    fn arcs_of_one_circle_overlap_at_both_ends() {
        let right = arc(p(3.0, -4.0), p(3.0, 4.0), Point2::ORIGIN);
        let left = arc(p(4.0, 3.0), p(4.0, -3.0), Point2::ORIGIN);
        assert_eq!(
            meet(&right, &left),
            Meeting::Overlap(vec![(p(3.0, -4.0), p(4.0, -3.0)), (p(4.0, 3.0), p(3.0, 4.0))])
        );
    }
}
