//! The smallest circle, square and slot that contain a figure of lines and arcs.
//!
//! For a rule that lets an irregular opening pass as the smallest circle, square or slot that contains it. Invariant:
//! every figure really contains the whole outline, arcs included; only outer contours count, holes change nothing.
//! Derivation: `docs/math/guard-openings.md`. Must not know: what the figure is.

use crate::quantity::maths;

use super::raising::{Slope, raise_least};
use super::{ArcTurn, Contour, Curve, Point2, Segment, Vec2};

/// A circle by centre and radius.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circle {
    /// Its centre.
    pub centre: Point2,
    /// Its radius in mm.
    pub radius: f64,
}

/// A rectangle of any orientation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Oblong {
    /// Its middle.
    pub middle: Point2,
    /// Unit vector along its length.
    pub along: Vec2,
    /// Its extent along that, in mm.
    pub length: f64,
    /// Its extent across, in mm.
    pub width: f64,
}

/// The smallest circle that contains a closed contour.
#[must_use]
pub fn smallest_circle_around(contour: &Contour) -> Circle {
    let bounds = contour.bounding_box();
    let size = bounds.width().max(bounds.height());
    let middle = bounds.min.midpoint(bounds.max);
    // The distance to the farthest place of a piece is convex, so that the one lowest place is found from anywhere.
    let found = raise_least([middle.x, middle.y, 0.0], 0.5 * size, |at, list| {
        let centre = Point2::new(at[0], at[1]);
        list.extend(contour.segments().iter().map(|piece| {
            let away = centre - farthest(piece, centre);
            let distance = away.length();
            let up = if distance > 0.0 { away * (-1.0 / distance) } else { Vec2::new(0.0, 0.0) };
            Slope { value: -distance, by: [up.x, up.y, 0.0] }
        }));
        true
    });
    let (at, value) = found.expect("a contour has pieces");
    Circle { centre: Point2::new(at[0], at[1]), radius: -value }
}

/// The place of a piece that is farthest from a point.
fn farthest(piece: &Segment, from: Point2) -> Point2 {
    let end = if from.distance(piece.start) >= from.distance(piece.end) { piece.start } else { piece.end };
    let Curve::Arc { centre, radius, .. } = piece.curve else { return end };
    let away = centre - from;
    let opposite = if away.length() > 0.0 { centre + away.normalized() * radius } else { end };
    if piece.spans(opposite) && from.distance(opposite) > from.distance(end) { opposite } else { end }
}

/// The narrowest slot that contains a closed contour: two parallel lines as near as can be, and across them as far
/// apart as must be.
#[must_use]
pub fn narrowest_slot_around(contour: &Contour) -> Oblong {
    let hull = Hull::new(contour);
    let narrowest = hull
        .directions()
        .into_iter()
        .min_by(|&a, &b| hull.width(a).total_cmp(&hull.width(b)))
        .expect("a hull has edges");
    hull.oblong(narrowest)
}

/// The smallest square that contains a closed contour, as wide as long.
#[must_use]
pub fn smallest_square_around(contour: &Contour) -> Oblong {
    let hull = Hull::new(contour);
    // Between two directions of this list the places that touch the four sides stay the same.
    let mut angles: Vec<f64> = hull
        .directions()
        .into_iter()
        .map(|u| {
            let angle = u.angle() + maths::TAU;
            angle - maths::FRAC_PI_2 * (angle / maths::FRAC_PI_2).floor()
        })
        .collect();
    angles.sort_by(f64::total_cmp);
    angles.push(angles[0] + maths::FRAC_PI_2);
    let side = |angle: f64| {
        let u = Vec2::unit(angle);
        hull.width(u).max(hull.width(u.left()))
    };
    let mut best = (f64::INFINITY, 0.0);
    let mut look = |angle: f64| {
        let got = side(angle);
        if got < best.0 {
            best = (got, angle);
        }
    };
    for pair in angles.windows(2) {
        look(pair[0]);
        // width(θ) = a · u(θ) + c along and b · u⊥(θ) + d across: equal where (a − b rotated) · u = d − c.
        let u = Vec2::unit(0.5 * (pair[0] + pair[1]));
        let (a, c) = hull.span(u);
        let (b, d) = hull.span(u.left());
        let back = b.right();
        let equal = a - back;
        let reach = equal.length();
        if reach > (d - c).abs() {
            let off = maths::acos((d - c) / reach);
            for angle in [equal.angle() + off, equal.angle() - off] {
                let turns = ((pair[0] - angle) / maths::TAU).ceil();
                let angle = angle + maths::TAU * turns;
                if angle < pair[1] {
                    look(angle);
                }
            }
        }
    }
    let u = Vec2::unit(best.1);
    Oblong { length: best.0, width: best.0, ..hull.oblong(u) }
}

/// What can touch a line that the figure rests on: corners of the hull of all joints, and arcs that bulge outwards.
struct Hull {
    corners: Vec<Point2>,
    arcs: Vec<(Segment, Point2, f64)>,
}

impl Hull {
    fn new(contour: &Contour) -> Self {
        let ccw = contour.signed_area() >= 0.0;
        let corners = hull_of(contour.segments().iter().map(|s| s.start).collect());
        let outward = if ccw { ArcTurn::Left } else { ArcTurn::Right };
        let arcs = contour.segments().iter().filter_map(|piece| match piece.curve {
            Curve::Arc { centre, radius, turn } if turn == outward => Some((*piece, centre, radius)),
            Curve::Arc { .. } | Curve::Line => None,
        });
        Self { corners, arcs: arcs.collect() }
    }

    /// How far the figure reaches in a direction, as a point and what is added to its reach.
    fn support(&self, u: Vec2) -> (Vec2, f64) {
        let from_origin = |p: Point2| p - Point2::ORIGIN;
        let corners = self.corners.iter().map(|&p| (from_origin(p), 0.0));
        let arcs = self.arcs.iter().filter(|(piece, centre, radius)| piece.spans(*centre + u * *radius));
        let arcs = arcs.map(|(_, centre, radius)| (from_origin(*centre), *radius));
        let reach = |&(p, more): &(Vec2, f64)| p.dot(u) + more;
        corners.chain(arcs).max_by(|a, b| reach(a).total_cmp(&reach(b))).expect("a hull has corners")
    }

    /// Extent along `u` as `a · u + c` with the places that touch now.
    fn span(&self, u: Vec2) -> (Vec2, f64) {
        let ((p, more), (q, less)) = (self.support(u), self.support(-u));
        (p - q, more + less)
    }

    /// Extent across the direction `u` from the figure, in mm.
    fn width(&self, u: Vec2) -> f64 {
        let (a, c) = self.span(u);
        a.dot(u) + c
    }

    /// The rectangle around the figure with its width along `across`, middle and length with it.
    fn oblong(&self, across: Vec2) -> Oblong {
        let reach = |u: Vec2| {
            let (p, more) = self.support(u);
            p.dot(u) + more
        };
        let along = across.right();
        let (low, high) = (-reach(-along), reach(along));
        let (left, right) = (-reach(-across), reach(across));
        let middle = Point2::ORIGIN + along * (0.5 * (low + high)) + across * (0.5 * (left + right));
        Oblong { middle, along, length: high - low, width: right - left }
    }

    /// Unit vectors across which an extent may be least: where another place begins to touch, and where two arcs, or
    /// an arc and a corner, face each other.
    fn directions(&self) -> Vec<Vec2> {
        let mut found = Vec::new();
        let next = self.corners.iter().cycle().skip(1);
        for (&a, &b) in self.corners.iter().zip(next) {
            let edge = b - a;
            if edge.length() > 0.0 {
                found.push(edge.right().normalized());
            }
        }
        let discs = self.arcs.iter().map(|&(_, centre, radius)| (centre, radius));
        for (i, (centre, radius)) in discs.clone().enumerate() {
            let piece = &self.arcs[i].0;
            found.extend([piece.start, piece.end].map(|p| (p - centre).normalized()));
            let others = discs.clone().skip(i + 1).chain(self.corners.iter().map(|&p| (p, 0.0)));
            for (other, less) in others {
                let apart = other - centre;
                let distance = apart.length();
                if distance == 0.0 {
                    continue;
                }
                // They face each other, also where one lies within the circle of the other.
                let u = apart * (1.0 / distance);
                found.push(u);
                if distance <= (radius - less).abs() {
                    continue;
                }
                // One line touches both: u · apart = radius − less.
                let cos = (radius - less) / distance;
                let sin = (1.0 - cos * cos).max(0.0).sqrt();
                found.extend([u * cos + u.left() * sin, u * cos - u.left() * sin]);
            }
        }
        if found.is_empty() {
            found.push(Vec2::new(1.0, 0.0));
        }
        found
    }
}

/// Corners of the convex hull of points, counter-clockwise.
fn hull_of(mut points: Vec<Point2>) -> Vec<Point2> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    points.dedup();
    let chain = |points: &mut dyn Iterator<Item = Point2>| {
        let mut kept: Vec<Point2> = Vec::new();
        for p in points {
            while let [.., a, b] = kept[..]
                && (b - a).cross(p - b) <= 0.0
            {
                kept.pop();
            }
            kept.push(p);
        }
        kept.pop();
        kept
    };
    if points.len() < 3 {
        return points;
    }
    let mut lower = chain(&mut points.iter().copied());
    lower.extend(chain(&mut points.iter().rev().copied()));
    lower
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Motion2, Tag};

    fn polygon(points: &[[f64; 2]]) -> Contour {
        let points: Vec<Point2> = points.iter().map(|p| Point2::new(p[0], p[1])).collect();
        Contour::polygon(&points, Tag(0)).unwrap()
    }

    fn slot(length: f64, width: f64) -> Contour {
        let (h, r) = (0.5 * (length - width), 0.5 * width);
        let p = Point2::new;
        let arc = |a, b, c| Segment::arc(a, b, c, ArcTurn::Left, Tag(0));
        Contour::new(vec![
            Segment::line(p(-h, -r), p(h, -r), Tag(0)),
            arc(p(h, -r), p(h, r), p(h, 0.0)),
            Segment::line(p(h, r), p(-h, r), Tag(0)),
            arc(p(-h, r), p(-h, -r), p(-h, 0.0)),
        ])
        .unwrap()
    }

    #[track_caller]
    fn near(got: f64, wanted: f64) {
        assert!((got - wanted).abs() < 1e-9, "{got} against {wanted}");
    }

    #[test]
    fn figures_around_by_hand() {
        let motion = Motion2 { x_axis: Vec2::unit(0.7), origin: Point2::new(300.0, -80.0) };
        for (contour, circle, square, width, length) in [
            // Rectangle 30 by 40: diagonal 50.
            (polygon(&[[0.0, 0.0], [40.0, 0.0], [40.0, 30.0], [0.0, 30.0]]), 50.0, 40.0, 30.0, 40.0),
            // Long rectangle: the square stands on its corner, (10 + 100)/√2.
            (
                polygon(&[[0.0, 0.0], [100.0, 0.0], [100.0, 10.0], [0.0, 10.0]]),
                10_100.0_f64.sqrt(),
                110.0 / 2.0_f64.sqrt(),
                10.0,
                100.0,
            ),
            // Right triangle 3, 4, 5: the hypotenuse is a diameter; width is the height on it, 2.4; the square has the
            // right angle in a corner and is turned by a with tan a = 1/4, so that 4 cos a = 3 cos a + 4 sin a.
            (polygon(&[[0.0, 0.0], [4.0, 0.0], [0.0, 3.0]]), 5.0, 16.0 / 17.0_f64.sqrt(), 2.4, 5.0),
            (Contour::circle(Point2::new(3.0, 4.0), 7.0, Tag(0)).unwrap(), 14.0, 14.0, 14.0, 14.0),
            // Slot 60 over its ends, 10 wide: along a diagonal the square is (60 − 10)/√2 + 10.
            (slot(60.0, 10.0), 60.0, 50.0 / 2.0_f64.sqrt() + 10.0, 10.0, 60.0),
        ] {
            for contour in [contour.clone(), contour.reversed(), contour.moved(motion)] {
                near(2.0 * smallest_circle_around(&contour).radius, circle);
                let around = smallest_square_around(&contour);
                near(around.length, square);
                let oblong = narrowest_slot_around(&contour);
                near(oblong.width, width);
                near(oblong.length, length);
            }
        }
    }

    #[test]
    fn corner_within_the_circle_of_a_flat_arc_faces_it() {
        // An arc of radius 100 about (80, 0) between (0, -60) and (0, 60), which lies 20 beyond its chord, and a corner
        // at (5, 0): across them 5 + 20, and turned by a bit 100 − 75 cos a is more.
        let at = Point2::new;
        let contour = Contour::new(vec![
            Segment::line(at(0.0, -60.0), at(5.0, 0.0), Tag(0)),
            Segment::line(at(5.0, 0.0), at(0.0, 60.0), Tag(0)),
            Segment::arc(at(0.0, 60.0), at(0.0, -60.0), at(80.0, 0.0), ArcTurn::Left, Tag(0)),
        ])
        .unwrap();
        near(narrowest_slot_around(&contour).width, 25.0);
        near(narrowest_slot_around(&contour).length, 120.0);
    }

    #[test]
    fn two_discs_of_unequal_size_have_the_circle_over_both_ends() {
        // Outer arcs of radius 3 about (0, 0) and 1 about (10, 0), joined by their tangents: from −3 to 11.
        let cos = 2.0 / 10.0;
        let sin = (1.0_f64 - cos * cos).sqrt();
        let at = |x: f64, r: f64, s: f64| Point2::new(x + r * cos, s * r * sin);
        let contour = Contour::new(vec![
            Segment::line(at(0.0, 3.0, -1.0), at(10.0, 1.0, -1.0), Tag(0)),
            Segment::arc(
                at(10.0, 1.0, -1.0),
                at(10.0, 1.0, 1.0),
                Point2::new(10.0, 0.0),
                ArcTurn::Left,
                Tag(0),
            ),
            Segment::line(at(10.0, 1.0, 1.0), at(0.0, 3.0, 1.0), Tag(0)),
            Segment::arc(at(0.0, 3.0, 1.0), at(0.0, 3.0, -1.0), Point2::ORIGIN, ArcTurn::Left, Tag(0)),
        ])
        .unwrap();
        near(smallest_circle_around(&contour).radius, 7.0);
        near(narrowest_slot_around(&contour).width, 6.0);
    }
}
