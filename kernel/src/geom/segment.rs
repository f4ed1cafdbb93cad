//! Directed pieces of contours: straight lines and circular arcs.
//!
//! Invariant: an arc turns through more than 0 and less than a full circle, and its ends lie on its circle
//! within the snap tolerance. Every piece carries a [`Tag`] that survives splitting and reversing, so that
//! an edge can be found again after a cut.

use crate::quantity::{maths, tolerance};

use super::{BoundingBox, Motion2, Point2, Vec2};

/// Says which named edge a piece of contour came from; the owner of the contour gives it its meaning.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Tag(pub u32);

/// The way an arc runs from its start to its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ArcTurn {
    /// Counter-clockwise: the centre lies to the left.
    Left,
    /// Clockwise: the centre lies to the right.
    Right,
}

impl ArcTurn {
    /// The other way.
    #[must_use]
    pub fn reversed(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }

    /// `+1` for left, `-1` for right.
    #[must_use]
    pub fn sign(self) -> f64 {
        match self {
            Self::Left => 1.0,
            Self::Right => -1.0,
        }
    }
}

/// The curve on which a segment runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Curve {
    /// A straight line.
    Line,
    /// A circular arc.
    Arc {
        /// Centre of the circle.
        centre: Point2,
        /// Radius in mm, above zero.
        radius: f64,
        /// Which way the arc runs.
        turn: ArcTurn,
    },
}

/// A directed line or arc.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    /// Where it starts.
    pub start: Point2,
    /// Where it ends.
    pub end: Point2,
    /// The curve between.
    pub curve: Curve,
    /// The named edge it belongs to.
    pub tag: Tag,
}

impl Segment {
    /// A straight line.
    #[must_use]
    pub fn line(start: Point2, end: Point2, tag: Tag) -> Self {
        Self { start, end, curve: Curve::Line, tag }
    }

    /// An arc about a centre; the radius is taken from the start point.
    #[must_use]
    pub fn arc(start: Point2, end: Point2, centre: Point2, turn: ArcTurn, tag: Tag) -> Self {
        Self { start, end, curve: Curve::Arc { centre, radius: centre.distance(start), turn }, tag }
    }

    /// The arc through a point on the way; none if the three points lie on one line.
    #[must_use]
    pub fn arc_through(start: Point2, via: Point2, end: Point2, tag: Tag) -> Option<Self> {
        let (a, b) = (via - start, end - start);
        let cross = a.cross(b);
        if cross.abs() <= tolerance::PARALLEL * a.length() * b.length() {
            return None;
        }
        // Centre of the circle through three points, relative to the first.
        let (aa, bb) = (a.dot(a), b.dot(b));
        let centre = Point2::new(
            start.x + (b.y * aa - a.y * bb) / (2.0 * cross),
            start.y + (a.x * bb - b.x * aa) / (2.0 * cross),
        );
        let turn = if cross > 0.0 { ArcTurn::Left } else { ArcTurn::Right };
        Some(Self::arc(start, end, centre, turn, tag))
    }

    /// The same piece run backwards.
    #[must_use]
    pub fn reversed(self) -> Self {
        let curve = match self.curve {
            Curve::Line => Curve::Line,
            Curve::Arc { centre, radius, turn } => Curve::Arc { centre, radius, turn: turn.reversed() },
        };
        Self { start: self.end, end: self.start, curve, tag: self.tag }
    }

    /// The piece moved rigidly.
    #[must_use]
    pub fn moved(self, motion: Motion2) -> Self {
        let curve = match self.curve {
            Curve::Line => Curve::Line,
            Curve::Arc { centre, radius, turn } => Curve::Arc { centre: motion.point(centre), radius, turn },
        };
        Self { start: motion.point(self.start), end: motion.point(self.end), curve, tag: self.tag }
    }

    /// The piece with its ends set elsewhere, a little way off: one piece, or two where an arc turns through
    /// more than a half circle.
    ///
    /// An arc turns through the same angle as before, so that no place of it moves by much more than the ends
    /// do; only its radius and its centre give way.
    #[must_use]
    pub fn with_ends(self, start: Point2, end: Point2) -> Vec<Self> {
        if (start, end) == (self.start, self.end) {
            return vec![self];
        }
        let Curve::Arc { centre, radius, turn } = self.curve else {
            return vec![Self { start, end, ..self }];
        };
        if self.sweep().abs() > maths::PI + tolerance::SMOOTH_RAD {
            // Its ends lie so near to each other that they do not tell where the circle is.
            let middle = self.point_at(0.5);
            let halves = [(self.start, middle, start, middle), (middle, self.end, middle, end)];
            let half = |(a, b, start, end)| Self { start: a, end: b, ..self }.with_ends(start, end);
            return halves.into_iter().flat_map(half).collect();
        }
        // The turn and stretch that take the old chord to the new one take the centre along.
        let (old, new) = (self.end - self.start, end - start);
        let (cos, sin) = (old.dot(new) / old.dot(old), old.cross(new) / old.dot(old));
        let arm = centre - self.start;
        let centre = start + arm * cos + arm.left() * sin;
        let radius = radius * maths::hypot(cos, sin);
        vec![Self { start, end, curve: Curve::Arc { centre, radius, turn }, ..self }]
    }

    /// Signed angle through which the piece turns, in rad: 0 for a line, in `(0, 2π)` for an arc to the
    /// left, in `(-2π, 0)` for one to the right.
    #[must_use]
    pub fn sweep(self) -> f64 {
        match self.curve {
            Curve::Line => 0.0,
            Curve::Arc { centre, turn, .. } => {
                let (a, b) = (self.start - centre, self.end - centre);
                let angle = maths::atan2(a.cross(b), a.dot(b)) * turn.sign();
                let positive = if angle > 0.0 { angle } else { angle + maths::TAU };
                positive * turn.sign()
            }
        }
    }

    /// Length in mm.
    #[must_use]
    pub fn length(self) -> f64 {
        match self.curve {
            Curve::Line => self.start.distance(self.end),
            Curve::Arc { radius, .. } => radius * self.sweep().abs(),
        }
    }

    /// The point at share `t` of the length, `0 ≤ t ≤ 1`; the ends are returned bit-equal.
    #[must_use]
    pub fn point_at(self, t: f64) -> Point2 {
        if t <= 0.0 {
            return self.start;
        }
        if t >= 1.0 {
            return self.end;
        }
        match self.curve {
            Curve::Line => self.start.lerp(self.end, t),
            Curve::Arc { centre, radius, .. } => {
                let angle = (self.start - centre).angle() + self.sweep() * t;
                centre + Vec2::unit(angle) * radius
            }
        }
    }

    /// The share of the length, `0 ≤ t ≤ 1`, at which [`Segment::point_at`] comes nearest to `p`, a point on
    /// the piece; points within the snap tolerance of an end give exactly 0 or 1.
    #[must_use]
    pub fn share_at(self, p: Point2) -> f64 {
        if self.start.distance(p) <= tolerance::SNAP_MM {
            return 0.0;
        }
        if self.end.distance(p) <= tolerance::SNAP_MM {
            return 1.0;
        }
        let share = match self.curve {
            Curve::Line => {
                let along = self.end - self.start;
                (p - self.start).dot(along) / along.dot(along)
            }
            Curve::Arc { .. } => Self { end: p, ..self }.sweep() / self.sweep(),
        };
        share.clamp(0.0, 1.0)
    }

    /// Unit direction of travel at the start.
    #[must_use]
    pub fn start_direction(self) -> Vec2 {
        self.direction_from(self.start)
    }

    /// Unit direction of travel at the end.
    #[must_use]
    pub fn end_direction(self) -> Vec2 {
        self.direction_from(self.end)
    }

    pub(super) fn direction_from(self, at: Point2) -> Vec2 {
        match self.curve {
            Curve::Line => (self.end - self.start).normalized(),
            Curve::Arc { centre, turn, .. } => ((at - centre).left() * turn.sign()).normalized(),
        }
    }

    /// Signed curvature in 1/mm: positive to the left.
    #[must_use]
    pub fn curvature(self) -> f64 {
        match self.curve {
            Curve::Line => 0.0,
            Curve::Arc { radius, turn, .. } => turn.sign() / radius,
        }
    }

    /// Contribution to the signed area of a closed contour, `½ ∮ (x dy − y dx)`, in mm², taken about
    /// `about` to keep the figures small.
    #[must_use]
    pub fn area_about(self, about: Point2) -> f64 {
        let chord = 0.5 * (self.start - about).cross(self.end - about);
        match self.curve {
            Curve::Line => chord,
            Curve::Arc { radius, .. } => {
                let sweep = self.sweep();
                chord + 0.5 * radius * radius * (sweep - maths::sin(sweep))
            }
        }
    }

    /// Where an arc is farthest to the left or to the right, in order of travel, if that is not one of its
    /// ends; none for a line.
    #[must_use]
    pub fn turning_points_along_x(self) -> Vec<Point2> {
        let Curve::Arc { centre, radius, .. } = self.curve else { return Vec::new() };
        let mut found: Vec<Point2> = [-radius, radius]
            .map(|x| centre + Vec2::new(x, 0.0))
            .into_iter()
            .filter(|&p| {
                self.spans(p)
                    && self.start.distance(p) > tolerance::SNAP_MM
                    && self.end.distance(p) > tolerance::SNAP_MM
            })
            .collect();
        found.sort_by(|&a, &b| self.share_at(a).total_cmp(&self.share_at(b)));
        found
    }

    /// The smallest axis-parallel box that holds the piece.
    #[must_use]
    pub fn bounding_box(self) -> BoundingBox {
        let ends = BoundingBox::EMPTY.with(self.start).with(self.end);
        match self.curve {
            Curve::Line => ends,
            Curve::Arc { centre, radius, .. } => {
                let quadrants = [
                    Vec2::new(radius, 0.0),
                    Vec2::new(0.0, radius),
                    Vec2::new(-radius, 0.0),
                    Vec2::new(0.0, -radius),
                ];
                quadrants
                    .into_iter()
                    .map(|q| centre + q)
                    .filter(|&p| self.spans(p))
                    .fold(ends, BoundingBox::with)
            }
        }
    }

    /// The place of the piece that is nearest to a point; the end if all are equally near.
    #[must_use]
    pub fn nearest_to(&self, p: Point2) -> Point2 {
        let end = if p.distance(self.start) <= p.distance(self.end) { self.start } else { self.end };
        if !self.spans(p) {
            return end;
        }
        match self.curve {
            Curve::Line => {
                let along = (self.end - self.start).normalized();
                self.start + along * (p - self.start).dot(along)
            }
            Curve::Arc { centre, radius, .. } => {
                let out = p - centre;
                if out.length() > 0.0 { centre + out.normalized() * radius } else { end }
            }
        }
    }

    /// Whether the direction from the centre to `p` lies within an arc's sweep (`p` need not be on the
    /// circle). For a line, whether the foot of `p` lies between the ends.
    #[must_use]
    pub fn spans(self, p: Point2) -> bool {
        match self.curve {
            Curve::Line => {
                let along = self.end - self.start;
                let t = (p - self.start).dot(along);
                0.0 <= t && t <= along.dot(along)
            }
            Curve::Arc { centre, turn, .. } => {
                let (from, to) = match turn {
                    ArcTurn::Left => (self.start - centre, self.end - centre),
                    ArcTurn::Right => (self.end - centre, self.start - centre),
                };
                let direction = p - centre;
                let across = from.cross(to);
                if across > 0.0 || (across == 0.0 && from.dot(to) < 0.0) {
                    from.cross(direction) >= 0.0 && direction.cross(to) >= 0.0
                } else {
                    !(to.cross(direction) > 0.0 && direction.cross(from) > 0.0)
                }
            }
        }
    }

    /// Smallest distance from a point to the piece, in mm.
    #[must_use]
    pub fn distance_to(self, p: Point2) -> f64 {
        let ends = self.start.distance(p).min(self.end.distance(p));
        if !self.spans(p) {
            return ends;
        }
        match self.curve {
            Curve::Line => {
                let along = (self.end - self.start).normalized();
                along.cross(p - self.start).abs()
            }
            Curve::Arc { centre, radius, .. } => (centre.distance(p) - radius).abs(),
        }
    }

    /// Number of equal chords that keep within `chord_tolerance` mm of the piece; 1 for a line.
    #[must_use]
    pub fn chord_count(self, chord_tolerance: f64) -> usize {
        match self.curve {
            Curve::Line => 1,
            Curve::Arc { radius, .. } => chords_for_arc(radius, self.sweep().abs(), chord_tolerance),
        }
    }

    /// Whether the piece is a single point within the snap tolerance.
    #[must_use]
    pub fn is_point(self) -> bool {
        self.length() <= tolerance::SNAP_MM
    }
}

/// Number of equal chords that keep within `chord_tolerance` mm of an arc of `radius` mm through `sweep`
/// rad: the sagitta of a chord over the angle `a` is `radius · (1 − cos(a/2))`. At least one chord for
/// every 30°, so that coarse tolerances still show a curve, but none shorter than an edge may be.
#[must_use]
pub fn chords_for_arc(radius: f64, sweep: f64, chord_tolerance: f64) -> usize {
    let coarsest = maths::PI / 6.0;
    let by_sagitta = 2.0 * maths::acos(1.0 - (chord_tolerance / radius).min(1.0));
    let step = if by_sagitta > 0.0 { by_sagitta.min(coarsest) } else { coarsest };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small positive number")]
    let count = (sweep / step - tolerance::CHORD_SHARE).ceil() as usize;
    // A round as small as an edge may be is not shown as one.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a positive number")]
    let most = (radius * sweep / tolerance::LEAST_EDGE_MM) as usize;
    count.min(most).max(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quarter() -> Segment {
        Segment::arc(Point2::new(2.0, 0.0), Point2::new(0.0, 2.0), Point2::ORIGIN, ArcTurn::Left, Tag(0))
    }

    #[test]
    fn arc_through_three_points_finds_the_circle() {
        let arc = {
            let (start, via, end) = (Point2::new(5.0, 0.0), Point2::new(3.0, 4.0), Point2::new(-5.0, 0.0));
            Segment::arc_through(start, via, end, Tag::default()).unwrap()
        };
        assert!(
            matches!(arc.curve, Curve::Arc { centre, turn: ArcTurn::Left, .. } if centre.distance(Point2::ORIGIN) < 1e-12)
        );
        assert!((arc.sweep() - maths::PI).abs() < 1e-12);
    }

    #[test]
    fn quarter_circle_by_hand() {
        let arc = quarter();
        assert!((arc.sweep() - maths::FRAC_PI_2).abs() < 1e-15);
        assert!((arc.length() - maths::PI).abs() < 1e-15);
        // Quarter disc about its centre: πr²/4.
        assert!((arc.area_about(Point2::ORIGIN) - maths::PI).abs() < 1e-14);
        assert!(arc.point_at(0.5).distance(Point2::new(2.0_f64.sqrt(), 2.0_f64.sqrt())) < 1e-15);
        assert_eq!(arc.reversed().sweep(), -arc.sweep());
    }

    #[test]
    fn an_arc_whose_ends_move_runs_through_them_and_stays_where_it_is() {
        let off = 1e-4;
        let start = Point2::new(2.0, 0.0);
        for sweep in [0.01, 1.0, 3.0, maths::PI, 4.0, 6.2] {
            for turn in [ArcTurn::Left, ArcTurn::Right] {
                let end = Point2::ORIGIN + Vec2::unit(turn.sign() * sweep) * 2.0;
                let arc = Segment::arc(start, end, Point2::ORIGIN, turn, Tag(3));
                for direction in 0..8 {
                    let shift = Vec2::unit(f64::from(direction)) * off;
                    let moved = arc.with_ends(start + shift, end - shift);
                    assert_eq!(moved.len(), if sweep > maths::PI { 2 } else { 1 });
                    assert_eq!((moved[0].start, moved[moved.len() - 1].end), (start + shift, end - shift));
                    for piece in &moved {
                        let Curve::Arc { centre, radius, .. } = piece.curve else { panic!("still an arc") };
                        assert!((centre.distance(piece.start) - radius).abs() < 1e-12);
                        assert!((centre.distance(piece.end) - radius).abs() < 1e-12);
                        for share in 0..=10 {
                            let off_circle =
                                piece.point_at(0.1 * f64::from(share)).distance(Point2::ORIGIN) - 2.0;
                            assert!(off_circle.abs() < 2.0 * off, "{sweep} {off_circle}");
                        }
                    }
                    let length: f64 = moved.iter().map(|piece| piece.length()).sum();
                    assert!((length - arc.length()).abs() < 8.0 * off);
                }
            }
        }
    }

    #[test]
    fn three_quarter_arc_reaches_its_quadrant_points() {
        let arc = quarter().reversed();
        let long = Segment::arc(arc.start, arc.end, Point2::ORIGIN, ArcTurn::Left, Tag(0));
        assert!((long.sweep() - 1.5 * maths::PI).abs() < 1e-14);
        let b = long.bounding_box();
        assert!(b.min.distance(Point2::new(-2.0, -2.0)) < 1e-12);
        assert!(b.max.distance(Point2::new(2.0, 2.0)) < 1e-12);
    }

    #[test]
    fn share_at_undoes_point_at() {
        let line = Segment::line(Point2::new(1.0, 2.0), Point2::new(-3.0, 5.0), Tag(0));
        let back = Segment::arc(quarter().end, quarter().start, Point2::ORIGIN, ArcTurn::Left, Tag(0));
        for piece in [line, quarter(), quarter().reversed(), back, back.reversed()] {
            for t in [0.0, 0.125, 0.5, 0.9, 1.0] {
                assert!((piece.share_at(piece.point_at(t)) - t).abs() < 1e-15);
            }
        }
    }

    #[test]
    fn chord_count_keeps_the_sagitta() {
        let n = chords_for_arc(10.0, maths::PI, 0.01);
        let sagitta = |n: f64| 10.0 * (1.0 - maths::cos(maths::PI / n / 2.0));
        #[expect(clippy::cast_precision_loss)]
        let n = n as f64;
        assert!(sagitta(n) <= 0.01 && sagitta(n - 1.0) > 0.01);
    }
}
