//! Whether contours cross or touch themselves, and how near they come to each other.
//!
//! Invariant: contact means nearer than the snap tolerance; answers do not depend on the order of a sweep.
//! Must not know: regions.

use crate::quantity::tolerance;

use super::intersect::{Meeting, meet};
use super::pairs::for_touching_pairs;
use super::{BoundingBox, Contour, Curve, Point2, Segment};

/// Two segments of one contour that meet where they should not.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SelfContact {
    /// Index of the first segment.
    pub first: usize,
    /// Index of the second segment, larger than the first.
    pub second: usize,
    /// A point on both.
    pub point: Point2,
}

/// Where two contours are nearest to each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Approach {
    /// Index of the segment of the first contour.
    pub first: usize,
    /// Index of the segment of the second contour.
    pub second: usize,
    /// Distance between the two segments in mm; 0 where they meet.
    pub distance_mm: f64,
}

/// The first pair of segments (smallest first index, then smallest second) that cross or touch, other than at
/// the joint of two neighbours; `None` for a simple contour.
///
/// A joint from which the contour runs straight back on itself counts as contact.
#[must_use]
pub fn first_self_contact(contour: &Contour) -> Option<SelfContact> {
    let segments = contour.segments();
    let mut contact: Option<SelfContact> = None;
    for_touching_pairs(&boxes_of(contour, tolerance::SNAP_MM), |first, second| {
        if contact.is_some_and(|c| (c.first, c.second) <= (first, second)) {
            return;
        }
        if let Some(point) = contact_of(segments, first, second) {
            contact = Some(SelfContact { first, second, point });
        }
    });
    contact
}

/// The nearest pair of segments of two contours if they come nearer than `limit` mm. Of equally near pairs
/// the one with the smallest indices.
#[must_use]
pub fn nearer_than(a: &Contour, b: &Contour, limit: f64) -> Option<Approach> {
    if !a.bounding_box().grown(limit).touches(b.bounding_box()) {
        return None;
    }
    let own = a.segments().len();
    let mut boxes = boxes_of(a, limit);
    boxes.extend(boxes_of(b, 0.0));
    let mut nearest: Option<Approach> = None;
    for_touching_pairs(&boxes, |i, j| {
        if i >= own || j < own {
            return;
        }
        let (first, second) = (i, j - own);
        let distance_mm = distance_between(&a.segments()[first], &b.segments()[second]);
        let better = |n: Approach| (distance_mm, first, second) < (n.distance_mm, n.first, n.second);
        if distance_mm < limit && nearest.is_none_or(better) {
            nearest = Some(Approach { first, second, distance_mm });
        }
    });
    nearest
}

/// Smallest distance between two segments in mm; 0 where they meet within the snap tolerance.
#[must_use]
pub fn distance_between(a: &Segment, b: &Segment) -> f64 {
    if meet(a, b) != Meeting::Apart {
        return 0.0;
    }
    let ends = [a.distance_to(b.start), a.distance_to(b.end), b.distance_to(a.start), b.distance_to(a.end)];
    // Away from ends, the nearest points lie on the common normal: through the centre of each arc.
    let normals = [normal_points(a, b), normal_points(b, a)];
    let across = normals
        .into_iter()
        .zip([b, a])
        .flat_map(|(list, other)| list.into_iter().flatten().map(move |p| other.distance_to(p)));
    ends.into_iter().chain(across).fold(f64::INFINITY, f64::min)
}

/// The points of an arc on the normals that it may have in common with the other segment.
fn normal_points(arc: &Segment, other: &Segment) -> [Option<Point2>; 2] {
    let Curve::Arc { centre, radius, .. } = arc.curve else { return [None; 2] };
    let along = match other.curve {
        Curve::Line => (other.end - other.start).left(),
        Curve::Arc { centre: other_centre, .. } => other_centre - centre,
    };
    let u = along.normalized() * radius;
    [centre + u, centre - u].map(|p| arc.spans(p).then_some(p))
}

fn boxes_of(contour: &Contour, margin: f64) -> Vec<BoundingBox> {
    contour.segments().iter().map(|s| s.bounding_box().grown(margin)).collect()
}

/// A point where two segments of a contour meet other than at a common joint.
fn contact_of(segments: &[Segment], first: usize, second: usize) -> Option<Point2> {
    let (a, b) = (&segments[first], &segments[second]);
    let follows = second == first + 1;
    let precedes = (second + 1) % segments.len() == first;
    let at_joint = |p: Point2| {
        let snap = tolerance::SNAP_MM;
        (follows && p.distance(a.end) <= snap) || (precedes && p.distance(a.start) <= snap)
    };
    let is_end = |p: Point2| [a.start, a.end, b.start, b.end].contains(&p);
    match meet(a, b) {
        Meeting::Apart => None,
        Meeting::Points(points) => points.into_iter().find(|&p| !at_joint(p)),
        // Near a joint even a cusp stays within the snap tolerance for a while: a stretch from a joint counts
        // only if it goes on to where one of the two ends.
        Meeting::Overlap(stretches) => stretches.into_iter().find_map(|(p, q)| {
            let (from_joint, to_joint) = (at_joint(p), at_joint(q));
            match (from_joint, to_joint) {
                (true, false) => is_end(q).then_some(q),
                (false, true) => is_end(p).then_some(p),
                (true, true) | (false, false) => Some(p),
            }
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{ArcTurn, Tag, Vec2};
    use crate::quantity::maths;

    fn p(x: f64, y: f64) -> Point2 {
        Point2::new(x, y)
    }

    fn polygon(points: &[Point2]) -> Contour {
        Contour::polygon(points, Tag(0)).unwrap()
    }

    #[test]
    fn a_bow_tie_crosses_itself_in_its_middle() {
        let bow = polygon(&[p(0.0, 0.0), p(4.0, 2.0), p(4.0, 0.0), p(0.0, 2.0)]);
        let contact = first_self_contact(&bow).unwrap();
        assert_eq!((contact.first, contact.second), (0, 2));
        assert!(contact.point.distance(p(2.0, 1.0)) < 1e-12);
    }

    #[test]
    fn a_vertex_on_an_edge_touches() {
        let touching = polygon(&[p(0.0, 0.0), p(4.0, 0.0), p(4.0, 3.0), p(2.0, 0.0), p(0.0, 3.0)]);
        let contact = first_self_contact(&touching).unwrap();
        assert_eq!((contact.first, contact.second, contact.point), (0, 2, p(2.0, 0.0)));
        let clear = polygon(&[p(0.0, 0.0), p(4.0, 0.0), p(4.0, 3.0), p(2.0, 1e-6), p(0.0, 3.0)]);
        assert_eq!(first_self_contact(&clear), None);
    }

    #[test]
    fn a_spike_that_runs_back_on_itself_touches() {
        let spike = polygon(&[p(0.0, 0.0), p(9.0, 0.0), p(4.0, 0.0), p(4.0, 3.0)]);
        assert_eq!(first_self_contact(&spike).map(|c| (c.first, c.second)), Some((0, 1)));
    }

    #[test]
    fn smooth_joints_do_not_touch() {
        let circle = Contour::circle(p(3.0, 4.0), 1000.0, Tag(0)).unwrap();
        assert_eq!(first_self_contact(&circle), None);
        // A slot turned by an odd angle: its lines run into its arcs as tangents.
        let u = Vec2::unit(0.3);
        let side = u.left() * 400.0;
        let (a, b) = (p(1.0, 2.0), p(1.0, 2.0) + u * 700.0);
        let slot = Contour::new(vec![
            Segment::line(a - side, b - side, Tag(0)),
            Segment::arc(b - side, b + side, b, ArcTurn::Left, Tag(0)),
            Segment::line(b + side, a + side, Tag(0)),
            Segment::arc(a + side, a - side, a, ArcTurn::Left, Tag(0)),
        ])
        .unwrap();
        assert_eq!(first_self_contact(&slot), None);
    }

    #[test]
    fn a_cusp_does_not_touch() {
        // Between a circle of radius 2.5 and a line that misses its tangent by 5e-8 mm.
        let (tip, end) = (p(0.0, -5e-8), p(2.5, 2.5));
        let cusp = Contour::new(vec![
            Segment::line(p(3.0, 0.0), tip, Tag(0)),
            Segment::arc(tip, end, p(0.0, 2.5), ArcTurn::Left, Tag(0)),
            Segment::line(end, p(3.0, 0.0), Tag(0)),
        ])
        .unwrap();
        assert_eq!(first_self_contact(&cusp), None);
    }

    #[test]
    fn distances_by_hand() {
        let line = |a, b| Segment::line(a, b, Tag(0));
        let upper = Segment::arc(p(2.0, 0.0), p(-2.0, 0.0), Point2::ORIGIN, ArcTurn::Left, Tag(0));
        assert!((distance_between(&line(p(-9.0, 5.0), p(9.0, 5.0)), &upper) - 3.0).abs() < 1e-12);
        assert!((distance_between(&line(p(-9.0, -1.0), p(9.0, -1.0)), &upper) - 1.0).abs() < 1e-12);
        let far = Segment::arc(p(6.0, -1.0), p(6.0, 1.0), p(6.0, 0.0), ArcTurn::Right, Tag(0));
        // Centres 6 mm apart, radii 2 and 1: 3 mm along the line of centres.
        assert!((distance_between(&far, &upper) - 3.0).abs() < 1e-12);
        // A small arc inside a big one, centres 1 mm apart: 5 − 1 − 2.
        let big = Segment::arc(p(0.0, -5.0), p(0.0, 5.0), Point2::ORIGIN, ArcTurn::Left, Tag(0));
        let small = Segment::arc(p(1.0, -2.0), p(1.0, 2.0), p(1.0, 0.0), ArcTurn::Left, Tag(0));
        assert!((distance_between(&big, &small) - 2.0).abs() < 1e-12);
        assert_eq!(distance_between(&upper, &line(p(0.0, 0.0), p(0.0, 9.0))), 0.0);
    }

    #[test]
    fn the_nearest_pair_of_two_contours() {
        let plate = polygon(&[p(0.0, 0.0), p(10.0, 0.0), p(10.0, 10.0), p(0.0, 10.0)]);
        let hole = Contour::circle(p(7.0, 5.0), 2.0, Tag(0)).unwrap();
        assert_eq!(nearer_than(&plate, &hole, 0.9), None);
        let near = nearer_than(&plate, &hole, 1.5).unwrap();
        assert_eq!((near.first, near.second), (1, 0));
        assert!((near.distance_mm - 1.0).abs() < 1e-12);
    }

    #[test]
    fn ten_thousand_segments_with_one_crossing() {
        // A star-shaped outline; one tooth is long enough to cross its neighbour.
        let n = 10_000_u32;
        let point = |i: u32| {
            let radius = if i.is_multiple_of(2) { 1000.0 } else { 990.0 };
            Point2::ORIGIN + Vec2::unit(maths::TAU * f64::from(i) / f64::from(n)) * radius
        };
        let mut points: Vec<Point2> = (0..n).map(point).collect();
        assert_eq!(first_self_contact(&polygon(&points)), None);
        points[6001] = point(6003).lerp(point(6004), 0.5).lerp(point(6005), 0.4);
        let contact = first_self_contact(&polygon(&points)).unwrap();
        assert!((5999..6004).contains(&contact.first) && contact.second <= 6005);
    }
}
