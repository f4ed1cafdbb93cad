//! The largest square of any orientation that passes through an opening.
//!
//! A square of half side s about p fits while no place of the outline is nearer than s in the larger of the two
//! coordinates along its sides. Cells of place and turn are split, the most promising first; from each better place
//! the square is grown until the outline holds it. Invariant: the square returned really passes; none passes that
//! is larger by more than [`tolerance::PASSING_SQUARE_SHARE`]. Derivation: `docs/math/guard-openings.md`. Must not
//! know: what the opening is in.

use std::collections::BinaryHeap;

use crate::quantity::{maths, tolerance};

use super::passing::{Cell, Clearing};
use super::raising::{Slope, raise_least};
use super::{Circle, Curve, Oblong, Point2, Region, Segment, Vec2};

/// Corners of a square as signs of its two axes.
const CORNERS: [(f64, f64); 4] = [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)];

/// The largest square that lies in a region of which `circle` is the largest circle.
#[must_use]
pub fn largest_square_in(region: &Region, circle: Circle) -> Oblong {
    let search = Search { clearing: Clearing::new(region), size: 2.0 * circle.radius };
    let bounds = region.bounding_box();
    // The circle holds a square of any turn, and no square is wider than the circle.
    let mut best = (circle.centre, 0.0, circle.radius / std::f64::consts::SQRT_2);
    let lines = search.clearing.pieces.iter().filter(|s| matches!(s.curve, Curve::Line));
    let longest = lines.max_by(|a, b| a.length().total_cmp(&b.length()));
    let turns = [0.0, 0.5 * maths::FRAC_PI_2].into_iter().chain(longest.map(|s| s.start_direction().angle()));
    for turn in turns {
        search.grow(circle.centre, turn, &mut best);
    }
    let half = 0.5 * bounds.width().min(bounds.height()).max(bounds.width().max(bounds.height()) / 16.0);
    let (mut queue, mut order) = (BinaryHeap::new(), 0);
    let enough = |best: f64| best * (1.0 + tolerance::PASSING_SQUARE_SHARE);
    // The piece that ruled out the cell before will mostly rule out its neighbours.
    let mut likely = 0;
    let mut add = |queue: &mut BinaryHeap<Cell<_>>,
                   best: &mut (Point2, f64, f64),
                   at: Point2,
                   half: f64,
                   turn: f64,
                   swing: f64| {
        let reach = half * std::f64::consts::SQRT_2;
        // Turning the square by a makes the larger coordinate of a place at most cos a + sin a times as large.
        let (sin, cos) = maths::sin_cos(swing);
        let least = (enough(best.2) - reach) / (sin + cos);
        let Some(fits) = search.half_side_above(at, turn, least, &mut likely) else { return };
        let bound = if search.clearing.is_inside(at) {
            if fits > best.2 {
                search.grow(at, turn, best);
            }
            (fits * (sin + cos) + reach).min(search.clearing.distance(at) + reach)
        } else {
            reach - search.clearing.distance(at)
        };
        if bound.min(circle.radius) > enough(best.2) {
            order += 1;
            queue.push(Cell { bound, order, cell: (at, half, turn, swing) });
        }
    };
    let swing = 0.25 * maths::FRAC_PI_2;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small positive number")]
    let count = |extent: f64| 0..(extent / (2.0 * half)).ceil().max(1.0) as u32;
    for i in count(bounds.width()) {
        for j in count(bounds.height()) {
            let at = bounds.min + Vec2::new(f64::from(2 * i + 1), f64::from(2 * j + 1)) * half;
            for turn in [swing, 3.0 * swing] {
                add(&mut queue, &mut best, at, half, turn, swing);
            }
        }
    }
    while let Some(Cell { bound, cell: (at, half, turn, swing), .. }) = queue.pop() {
        if bound <= enough(best.2) {
            break;
        }
        let quarter = 0.5 * half;
        for (x, y) in CORNERS {
            for side in [-0.5, 0.5] {
                let at = at + Vec2::new(x, y) * quarter;
                add(&mut queue, &mut best, at, quarter, turn + side * swing, 0.5 * swing);
            }
        }
    }
    let (middle, turn, half) = best;
    Oblong { middle, along: Vec2::unit(turn), length: 2.0 * half, width: 2.0 * half }
}

struct Search {
    clearing: Clearing,
    /// A length by which a turn is counted in mm.
    size: f64,
}

impl Search {
    /// Half the side of the largest square about a place at this turn; none if it is not above `least`. Pieces are
    /// looked at from `likely` on, which becomes the one that rules it out.
    fn half_side_above(&self, at: Point2, turn: f64, least: f64, likely: &mut usize) -> Option<f64> {
        let pieces = &self.clearing.pieces;
        let axis = Vec2::unit(turn);
        let mut half = f64::INFINITY;
        for index in (*likely..pieces.len()).chain(0..*likely) {
            touches(&pieces[index], at, axis, |touch| half = half.min(touch.half));
            if half <= least {
                *likely = index;
                return None;
            }
        }
        Some(half)
    }

    /// Grows the square from here, and keeps it if it is better.
    fn grow(&self, at: Point2, turn: f64, best: &mut (Point2, f64, f64)) {
        let start = [at.x, at.y, turn * self.size];
        let found = raise_least(start, self.size, |at, list| {
            let p = Point2::new(at[0], at[1]);
            let u = Vec2::unit(at[2] / self.size);
            for piece in &self.clearing.pieces {
                touches(piece, p, u, |touch| {
                    let by = [touch.by.x, touch.by.y, touch.turning / self.size];
                    list.push(Slope { value: touch.half, by });
                });
            }
            self.clearing.is_inside(p)
        });
        if let Some((at, half)) = found
            && half > best.2
        {
            *best = (Point2::new(at[0], at[1]), at[2] / self.size, half);
        }
    }
}

/// A way in which a piece may hold a square.
struct Touch {
    half: f64,
    /// How half the side grows with the place.
    by: Vec2,
    /// How it grows with the turn, in mm per rad.
    turning: f64,
}

/// All ways in which a piece may hold the square about `p` with sides along `u`: its start on a side, a corner of
/// the square on it, an arc's outermost place on a side.
fn touches(piece: &Segment, p: Point2, u: Vec2, mut found: impl FnMut(Touch)) {
    let v = u.left();
    let out = piece.start - p;
    let (x, y) = (out.dot(u), out.dot(v));
    found(if x.abs() >= y.abs() {
        Touch { half: x.abs(), by: u * -x.signum(), turning: y * x.signum() }
    } else {
        Touch { half: y.abs(), by: v * -y.signum(), turning: -x * y.signum() }
    });
    let corner = |s: f64, n: Vec2, (a, b): (f64, f64)| {
        let (w, turned) = (u * a + v * b, v * a - u * b);
        let speed = n.dot(w);
        Touch { half: s, by: n * (-1.0 / speed), turning: -s * n.dot(turned) / speed }
    };
    match piece.curve {
        Curve::Line => {
            let n = piece.start_direction().left();
            for signs in CORNERS {
                let w = u * signs.0 + v * signs.1;
                let speed = n.dot(w);
                if speed.abs() <= tolerance::PARALLEL {
                    continue;
                }
                let s = n.dot(out) / speed;
                if s > 0.0 && piece.spans(p + w * s) {
                    found(corner(s, n, signs));
                }
            }
        }
        Curve::Arc { centre, radius, .. } => {
            let c = centre - p;
            for signs in CORNERS {
                let w = (u * signs.0 + v * signs.1) * std::f64::consts::FRAC_1_SQRT_2;
                let (ahead, aside) = (c.dot(w), w.cross(c));
                let room = radius * radius - aside * aside;
                if room <= 0.0 {
                    continue;
                }
                for along in [ahead - room.sqrt(), ahead + room.sqrt()] {
                    let place = p + w * along;
                    let n = (place - centre) * (1.0 / radius);
                    if along > 0.0 && n.dot(w).abs() > tolerance::PARALLEL && piece.spans(place) {
                        found(corner(along * std::f64::consts::FRAC_1_SQRT_2, n, signs));
                    }
                }
            }
            for (axis, turned, cross) in [(u, 1.0, c.dot(v)), (v, -1.0, c.dot(u))] {
                for sign in [-1.0, 1.0] {
                    let place = centre + axis * (sign * radius);
                    let reach = (place - p).dot(axis);
                    // Only where the outermost place lies on that side of the square it holds it.
                    if cross.abs() <= reach.abs() && piece.spans(place) {
                        let by = axis * -reach.signum();
                        found(Touch { half: reach.abs(), by, turning: turned * cross * reach.signum() });
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Contour, Motion2, Tag, largest_circle_in};

    #[track_caller]
    fn passes(points: &[[f64; 2]], side: f64) {
        let points: Vec<Point2> = points.iter().map(|p| Point2::new(p[0], p[1])).collect();
        let contour = Contour::polygon(&points, Tag(0)).unwrap();
        let motion = Motion2 { x_axis: Vec2::unit(0.7), origin: Point2::new(300.0, -80.0) };
        for contour in [contour.clone(), contour.reversed(), contour.moved(motion)] {
            let region = Region::inside(contour);
            let circle = largest_circle_in(&region).unwrap();
            let got = largest_square_in(&region, circle);
            assert!((got.length - side).abs() < 1e-6, "{} against {side}", got.length);
        }
    }

    #[test]
    fn squares_by_hand() {
        passes(&[[0.0, 0.0], [40.0, 0.0], [40.0, 10.0], [0.0, 10.0]], 10.0);
        // A square on its corner.
        passes(&[[7.0, 0.0], [0.0, 7.0], [-7.0, 0.0], [0.0, -7.0]], 7.0 * 2.0_f64.sqrt());
        // Right triangle 3, 4, 5: in the right angle 12/7, on the hypotenuse 60/37.
        passes(&[[0.0, 0.0], [4.0, 0.0], [0.0, 3.0]], 12.0 / 7.0);
        // Regular triangle of side 10: s = a / (1 + 2/√3).
        let root = 3.0_f64.sqrt();
        passes(&[[0.0, 0.0], [10.0, 0.0], [5.0, 5.0 * root]], 10.0 / (1.0 + 2.0 / root));
        // Regular hexagon of side 10: 10 (3 − √3).
        passes(
            &[
                [10.0, 0.0],
                [5.0, 5.0 * root],
                [-5.0, 5.0 * root],
                [-10.0, 0.0],
                [-5.0, -5.0 * root],
                [5.0, -5.0 * root],
            ],
            10.0 * (3.0 - root),
        );
    }

    #[test]
    fn a_circle_holds_a_square_on_its_corners() {
        let region = Region::inside(Contour::circle(Point2::new(3.0, 4.0), 5.0, Tag(0)).unwrap());
        let circle = largest_circle_in(&region).unwrap();
        let got = largest_square_in(&region, circle);
        assert!((got.length - 5.0 * 2.0_f64.sqrt()).abs() < 1e-9);
    }
}
