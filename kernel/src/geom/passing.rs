//! The largest circle and the longest bar of its width that pass through an opening.
//!
//! Cells of the plane are split, the most promising first, until none can hold a larger circle; from each better
//! place that is found the circle is grown until outlines hold it (a touching triple, or two that face each other).
//! Invariant: what is returned really passes: no outline reaches into it by more than rounding; no circle passes
//! that is larger by more than [`tolerance::PASSING_MM`]. Derivation: `docs/math/guard-openings.md`. Must not know:
//! what the opening is in.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use crate::quantity::tolerance;

use super::raising::{Slope, raise_least};
use super::{Circle, Contour, Curve, Oblong, Place, Point2, Region, RegionLocator, Segment, Vec2};

/// Cells are not split below this share of the figure; from there on the circle is grown instead.
const LEAST_CELL_SHARE: f64 = 1.0 / 32_768.0;

/// A cell with the most that it can hold.
pub(super) struct Cell<T> {
    pub(super) bound: f64,
    /// Ties are settled by the order in which cells were made.
    pub(super) order: usize,
    pub(super) cell: T,
}

impl<T> PartialEq for Cell<T> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl<T> Eq for Cell<T> {}

impl<T> PartialOrd for Cell<T> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<T> Ord for Cell<T> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.bound.total_cmp(&other.bound).then(other.order.cmp(&self.order))
    }
}

/// Distances to an outline from inside it.
pub(super) struct Clearing {
    pub(super) pieces: Vec<Segment>,
    inside: RegionLocator,
}

/// The nearest place of one piece.
#[derive(Clone, Copy)]
struct Touch {
    distance: f64,
    /// Unit vector away from it.
    away: Vec2,
    /// By how much the distance may grow beyond its tangent within a cell.
    bulge: f64,
}

impl Clearing {
    pub(super) fn new(region: &Region) -> Self {
        let pieces = region.contours().iter().flat_map(Contour::segments).copied().collect();
        Self { pieces, inside: RegionLocator::new(region) }
    }

    pub(super) fn is_inside(&self, p: Point2) -> bool {
        self.inside.place(p) == Place::Inside
    }

    /// Distance to the nearest piece, whichever side.
    pub(super) fn distance(&self, p: Point2) -> f64 {
        self.pieces.iter().map(|s| s.distance_to(p)).fold(f64::INFINITY, f64::min)
    }

    /// Grows a circle about a point inside until it is held.
    fn grown(&self, from: Point2, reach: f64) -> Option<Circle> {
        let (at, radius) = raise_least([from.x, from.y, 0.0], reach, |at, list| {
            let p = Point2::new(at[0], at[1]);
            list.extend(self.pieces.iter().filter_map(|piece| {
                let away = p - piece.nearest_to(p);
                let value = away.length();
                let n = away * (1.0 / value);
                (value > 0.0).then_some(Slope { value, by: [n.x, n.y, 0.0] })
            }));
            self.is_inside(p)
        })?;
        Some(Circle { centre: Point2::new(at[0], at[1]), radius })
    }

    /// The most that the distance can be within `reach` mm of a point inside: two pieces that face each other bound
    /// it by half of their sum.
    fn bound(&self, p: Point2, distance: f64, reach: f64) -> f64 {
        let near: Vec<Touch> =
            self.pieces.iter().filter_map(|piece| touch(piece, p, reach, distance + 2.0 * reach)).collect();
        let mut bound = distance + reach;
        let Some(first) = near.iter().min_by(|a, b| a.distance.total_cmp(&b.distance)) else { return bound };
        for other in &near {
            let level = 0.5 * (first.distance + first.bulge + other.distance + other.bulge);
            bound = bound.min(level + 0.5 * reach * (first.away + other.away).length());
        }
        bound
    }
}

/// How a piece bounds the distance within `reach` mm of `p`; none if it is farther than `most`.
fn touch(piece: &Segment, p: Point2, reach: f64, most: f64) -> Option<Touch> {
    let foot = piece.nearest_to(p);
    let distance = p.distance(foot);
    if distance > most || distance <= 0.0 {
        return None;
    }
    let to_ends = foot.distance(piece.start).min(foot.distance(piece.end));
    // While the foot stays on a line or on the hollow side of an arc, the tangent is never exceeded.
    let exact = match piece.curve {
        Curve::Line => to_ends > reach,
        Curve::Arc { centre, radius, .. } => {
            let out = p.distance(centre);
            out < radius && out > 2.0 * reach && to_ends > reach * radius / (out - reach)
        }
    };
    let bulge = if exact {
        0.0
    } else if distance > 2.0 * reach {
        0.5 * reach * reach / (distance - reach)
    } else {
        return None;
    };
    Some(Touch { distance, away: (p - foot) * (1.0 / distance), bulge })
}

/// The largest circle that lies in a region; none in an empty one.
#[must_use]
pub fn largest_circle_in(region: &Region) -> Option<Circle> {
    if let [contour] = region.contours()
        && let Some((centre, radius)) = contour.as_circle()
    {
        return Some(Circle { centre, radius });
    }
    let clearing = Clearing::new(region);
    let bounds = region.bounding_box();
    let (width, height) = (bounds.width(), bounds.height());
    let size = width.max(height);
    let half = 0.5 * width.min(height).max(size / 64.0);
    let mut best: Option<Circle> = None;
    let mut queue = BinaryHeap::new();
    let mut order = 0;
    let mut add = |queue: &mut BinaryHeap<Cell<_>>, best: &mut Option<Circle>, at: Point2, half: f64| {
        let reach = half * std::f64::consts::SQRT_2;
        let distance = clearing.distance(at);
        let inside = clearing.is_inside(at);
        let known = |best: &Option<Circle>| best.map_or(0.0, |b| b.radius);
        if inside && distance > known(best) {
            let grown = clearing.grown(at, size).filter(|circle| circle.radius >= distance);
            *best = grown.or(Some(Circle { centre: at, radius: distance }));
        }
        let bound = if inside { clearing.bound(at, distance, reach) } else { reach - distance };
        if bound > known(best) + tolerance::PASSING_MM && half > LEAST_CELL_SHARE * size {
            order += 1;
            queue.push(Cell { bound, order, cell: (at, half) });
        }
    };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small positive number")]
    let count = |extent: f64| 0..(extent / (2.0 * half)).ceil().max(1.0) as u32;
    for i in count(width) {
        for j in count(height) {
            let corner = bounds.min + Vec2::new(f64::from(2 * i + 1), f64::from(2 * j + 1)) * half;
            add(&mut queue, &mut best, corner, half);
        }
    }
    while let Some(Cell { bound, cell: (at, half), .. }) = queue.pop() {
        if best.is_some_and(|best| bound <= best.radius + tolerance::PASSING_MM) {
            break;
        }
        let quarter = 0.5 * half;
        for (x, y) in [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)] {
            add(&mut queue, &mut best, at + Vec2::new(x, y) * quarter, quarter);
        }
    }
    best
}

/// The longest bar with round ends and the width of `circle` that lies in a region and covers `circle`: where the
/// outline holds the circle between two parallel lines it is longer than wide.
#[must_use]
pub fn longest_bar_of(region: &Region, circle: Circle) -> Oblong {
    let pieces: Vec<Segment> = region.contours().iter().flat_map(Contour::segments).copied().collect();
    let radius = circle.radius;
    let held = |piece: &&Segment| piece.distance_to(circle.centre) <= radius + tolerance::SNAP_MM;
    let lines = pieces.iter().filter(held).filter(|s| matches!(s.curve, Curve::Line));
    let directions = lines.map(|s| s.start_direction());
    let ways = directions.chain([Vec2::new(1.0, 0.0)]).map(|along| {
        let free = |u: Vec2| {
            let hits = pieces.iter().map(|s| way_to(s, circle.centre, u, radius - tolerance::SNAP_MM));
            hits.fold(f64::INFINITY, f64::min)
        };
        (along, free(along), free(-along))
    });
    let (along, ahead, behind) =
        ways.max_by(|a, b| (a.1 + a.2).total_cmp(&(b.1 + b.2))).expect("one direction is always tried");
    let (ahead, behind) =
        (if ahead.is_finite() { ahead } else { 0.0 }, if behind.is_finite() { behind } else { 0.0 });
    Oblong {
        middle: circle.centre + along * (0.5 * (ahead - behind)),
        along,
        length: ahead + behind + 2.0 * radius,
        width: 2.0 * radius,
    }
}

/// How far a disc of `radius` runs from `from` along `u` until it touches a piece; infinite if it never does, 0 if
/// it does at once and runs on into it.
fn way_to(piece: &Segment, from: Point2, u: Vec2, radius: f64) -> f64 {
    let to_circle = |centre: Point2, reach: f64, far: bool| -> Option<f64> {
        let out = centre - from;
        let (ahead, aside) = (out.dot(u), u.cross(out));
        let room = reach * reach - aside * aside;
        let half = if room > 0.0 { room.sqrt() } else { return None };
        let at = if far { ahead + half } else { ahead - half };
        (at >= 0.0).then_some(at)
    };
    let ends = [piece.start, piece.end].into_iter().filter_map(|p| to_circle(p, radius, false));
    let middle: Vec<f64> = match piece.curve {
        Curve::Line => {
            let n = piece.start_direction().left();
            let n = if n.dot(u) > 0.0 { -n } else { n };
            let speed = -n.dot(u);
            let gap = (from - piece.start).dot(n) - radius;
            let at = gap / speed;
            Vec::from_iter((speed > tolerance::PARALLEL && at >= 0.0).then_some(at))
        }
        Curve::Arc { centre, radius: own, .. } => {
            let outside = to_circle(centre, own + radius, false);
            let inside = if own > radius { to_circle(centre, own - radius, true) } else { None };
            outside.into_iter().chain(inside).collect()
        }
    };
    let touches = middle.into_iter().filter(|&at| piece.spans(from + u * at));
    ends.chain(touches).fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{ArcTurn, Motion2, Tag};

    fn polygon(points: &[[f64; 2]]) -> Contour {
        let points: Vec<Point2> = points.iter().map(|p| Point2::new(p[0], p[1])).collect();
        Contour::polygon(&points, Tag(0)).unwrap()
    }

    /// Radius and bar of a contour in several positions, run both ways.
    #[track_caller]
    fn passes(contour: &Contour, radius: f64, bar: f64) {
        let motion = Motion2 { x_axis: Vec2::unit(0.7), origin: Point2::new(300.0, -80.0) };
        for contour in [contour.clone(), contour.reversed(), contour.moved(motion)] {
            let region = Region::inside(contour);
            let circle = largest_circle_in(&region).unwrap();
            assert!((circle.radius - radius).abs() < 1e-9, "{} against {radius}", circle.radius);
            let clearing = Clearing::new(&region);
            assert!(clearing.is_inside(circle.centre));
            assert!(clearing.distance(circle.centre) >= circle.radius - 1e-12);
            let got = longest_bar_of(&region, circle);
            assert!((got.length - bar).abs() < 1e-4, "bar {} against {bar}", got.length);
        }
    }

    #[test]
    fn circles_and_bars_by_hand() {
        passes(&polygon(&[[0.0, 0.0], [40.0, 0.0], [40.0, 10.0], [0.0, 10.0]]), 5.0, 40.0);
        // Right triangle 3, 4, 5.
        passes(&polygon(&[[0.0, 0.0], [4.0, 0.0], [0.0, 3.0]]), 1.0, 2.0);
        // An ell of two bars 10 wide: in the inner corner the circle rests on both outer sides and on the corner:
        // r √2 + r = 10 √2.
        let root = 2.0_f64.sqrt();
        let r = 10.0 * root / (1.0 + root);
        passes(
            &polygon(&[[0.0, 0.0], [50.0, 0.0], [50.0, 10.0], [10.0, 10.0], [10.0, 50.0], [0.0, 50.0]]),
            r,
            2.0 * r,
        );
        // A taper from 10 to 4 over 60: the circle lies at the wide end, on the two slopes of 3/60 and the end.
        let slope = 3.0 / 60.0_f64;
        let lean = (1.0 + slope * slope).sqrt();
        // 5 − slope · r = r · lean at the distance r from the end.
        let r = 5.0 / (lean + slope);
        passes(&polygon(&[[0.0, -5.0], [60.0, -2.0], [60.0, 2.0], [0.0, 5.0]]), r, 2.0 * r);
    }

    #[test]
    fn arcs_hold_circles() {
        let p = Point2::new;
        // A lens of two arcs of radius 10 whose centres are 12 apart: 2 · 10 − 12 = 8 wide.
        let high = p(0.0, 8.0);
        let low = p(0.0, -8.0);
        let lens = Contour::new(vec![
            Segment::arc(low, high, p(-6.0, 0.0), ArcTurn::Left, Tag(0)),
            Segment::arc(high, low, p(6.0, 0.0), ArcTurn::Left, Tag(0)),
        ])
        .unwrap();
        passes(&lens, 4.0, 8.0);
        // A bent slot: quarter ring between radii 20 and 26 about the origin.
        let ring = Contour::new(vec![
            Segment::line(p(20.0, 0.0), p(26.0, 0.0), Tag(0)),
            Segment::arc(p(26.0, 0.0), p(0.0, 26.0), Point2::ORIGIN, ArcTurn::Left, Tag(0)),
            Segment::line(p(0.0, 26.0), p(0.0, 20.0), Tag(0)),
            Segment::arc(p(0.0, 20.0), p(20.0, 0.0), Point2::ORIGIN, ArcTurn::Right, Tag(0)),
        ])
        .unwrap();
        let region = Region::inside(ring);
        assert!((largest_circle_in(&region).unwrap().radius - 3.0).abs() < 1e-9);
    }

    #[test]
    fn a_hole_in_the_opening_is_in_the_way() {
        // A disc of radius 20 with a disc of radius 5 about the same centre: between them 15.
        let region = Region::from_oriented(vec![
            Contour::circle(Point2::ORIGIN, 20.0, Tag(0)).unwrap(),
            Contour::circle(Point2::ORIGIN, 5.0, Tag(0)).unwrap().reversed(),
        ]);
        assert!((largest_circle_in(&region).unwrap().radius - 7.5).abs() < 1e-9);
    }
}
