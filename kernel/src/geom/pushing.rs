//! How near one figure can be pushed to another one along x.
//!
//! Invariant: the answer is in closed form for lines and arcs, no search; from it on, farther is always clear.
//! Must not know: what the figures are. Derivation: `docs/math/nesting.md`.

use crate::quantity::tolerance;

use super::{Curve, Point2, Segment, Vec2};

/// The least shift along x in mm from which on the moving outline keeps `gap` mm (above 0) from the fixed one,
/// however much farther it is shifted; none if they pass each other at any shift.
///
/// It is the largest of `p.x − q.x + √(gap² − (p.y − q.y)²)` over points `p` of the fixed outline and `q` of the
/// moving one whose heights differ by no more than the gap. A figure that could only be lifted into a pocket
/// stays in front of it. Where they pass each other at the gap less a rounding, they pass: nearer by the snap
/// tolerance counts as at the gap.
#[must_use]
pub fn clearing_shift(fixed: &[Segment], moving: &[Segment], gap: f64) -> Option<f64> {
    let mut fixed: Vec<Piece> = fixed.iter().map(Piece::new).collect();
    let mut moving: Vec<Piece> = moving.iter().map(Piece::new).collect();
    fixed.sort_by(|a, b| b.right.total_cmp(&a.right));
    moving.sort_by(|a, b| a.left.total_cmp(&b.left));
    let mut farthest = f64::NEG_INFINITY;
    for a in &fixed {
        for b in &moving {
            if a.right - b.left + gap <= farthest {
                break;
            }
            if b.low - a.high <= gap && a.low - b.high <= gap {
                for_contacts(a, b, gap, |shift| farthest = farthest.max(shift));
            }
        }
    }
    (farthest > f64::NEG_INFINITY).then_some(farthest)
}

/// A segment with its extents.
struct Piece {
    segment: Segment,
    left: f64,
    right: f64,
    low: f64,
    high: f64,
}

/// What can touch: a corner is a circle without radius.
#[derive(Clone, Copy)]
enum Part<'a> {
    Corner(Point2),
    Inside(&'a Segment),
}

impl Piece {
    fn new(segment: &Segment) -> Self {
        let bounds = segment.bounding_box();
        let (left, right) = (bounds.min.x, bounds.max.x);
        Self { segment: *segment, left, right, low: bounds.min.y, high: bounds.max.y }
    }

    fn parts(&self) -> [Part<'_>; 3] {
        // The end is the start of the next piece.
        [Part::Corner(self.segment.start), Part::Corner(self.segment.end), Part::Inside(&self.segment)]
    }
}

/// Every shift at which the two may touch at the gap: all are shifts of some pair of points, and the largest is
/// among them.
fn for_contacts(a: &Piece, b: &Piece, gap: f64, mut found: impl FnMut(f64)) {
    for first in a.parts() {
        for second in b.parts() {
            match (first, second) {
                (Part::Inside(line), Part::Inside(other)) if is_line(line) && is_line(other) => {}
                (Part::Inside(line), _) if is_line(line) => line_and_round(line, second, gap, &mut found),
                (_, Part::Inside(line)) if is_line(line) => round_and_line(first, line, gap, &mut found),
                (_, _) => two_rounds(first, second, gap, &mut found),
            }
        }
    }
}

fn is_line(segment: &Segment) -> bool {
    match segment.curve {
        Curve::Line => true,
        Curve::Arc { .. } => false,
    }
}

impl Part<'_> {
    /// Centre, and the radius to either side of it.
    fn circle(self) -> (Point2, [Option<f64>; 2]) {
        match self {
            Self::Corner(p) => (p, [Some(0.0), None]),
            Self::Inside(segment) => match segment.curve {
                Curve::Arc { centre, radius, .. } => (centre, [Some(radius), Some(-radius)]),
                Curve::Line => (segment.start, [None, None]),
            },
        }
    }

    fn has(self, p: Point2) -> bool {
        match self {
            Self::Corner(_) => true,
            Self::Inside(arc) => arc.spans(p),
        }
    }
}

/// Contact along the common normal `v` of two circles: `p = c + r v`, `q = d + s v`, `q.y − p.y = gap v.y`.
fn two_rounds(a: Part<'_>, b: Part<'_>, gap: f64, found: &mut impl FnMut(f64)) {
    let ((c, radii), (d, others)) = (a.circle(), b.circle());
    for r in radii.into_iter().flatten() {
        for s in others.into_iter().flatten() {
            let (height, reach) = (d.y - c.y, r + gap - s);
            // No reach where the two circles are one with its gap: then the ends of the arcs count.
            if height.abs() < reach.abs() - tolerance::SNAP_MM {
                let up = height / reach;
                let v = Vec2::new((1.0 - up * up).sqrt(), up);
                let (p, q) = (c + v * r, d + v * s);
                if a.has(p) && b.has(q) {
                    found(p.x + gap * v.x - q.x);
                }
            }
        }
    }
}

/// The normal of a line towards +x; none for a level one, whose ends count instead: over 10 m they differ in height
/// by less than the snap tolerance.
fn normal(line: &Segment) -> Option<Vec2> {
    let n = (line.end - line.start).right().normalized();
    if n.x.abs() <= tolerance::PARALLEL { None } else { Some(if n.x > 0.0 { n } else { -n }) }
}

/// Where a line that is not level has this height, if it has.
fn at_height(line: &Segment, y: f64) -> Option<f64> {
    let share = (y - line.start.y) / (line.end.y - line.start.y);
    (0.0..=1.0).contains(&share).then(|| line.start.lerp(line.end, share).x)
}

fn line_and_round(line: &Segment, round: Part<'_>, gap: f64, found: &mut impl FnMut(f64)) {
    let Some(v) = normal(line) else { return };
    let (centre, radii) = round.circle();
    for s in radii.into_iter().flatten() {
        let q = centre + v * s;
        if let Some(x) = at_height(line, q.y - gap * v.y).filter(|_| round.has(q)) {
            found(x + gap * v.x - q.x);
        }
    }
}

fn round_and_line(round: Part<'_>, line: &Segment, gap: f64, found: &mut impl FnMut(f64)) {
    let Some(v) = normal(line) else { return };
    let (centre, radii) = round.circle();
    for r in radii.into_iter().flatten() {
        let p = centre + v * r;
        if let Some(x) = at_height(line, p.y + gap * v.y).filter(|_| round.has(p)) {
            found(p.x + gap * v.x - x);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Contour, Motion2, Tag, distance_between};
    use crate::quantity::maths;
    use proptest::prelude::*;

    fn p(x: f64, y: f64) -> Point2 {
        Point2::new(x, y)
    }

    fn polygon(points: &[(f64, f64)]) -> Contour {
        let points: Vec<Point2> = points.iter().map(|&(x, y)| p(x, y)).collect();
        Contour::polygon(&points, Tag(0)).unwrap()
    }

    #[track_caller]
    fn assert_shift(fixed: &Contour, moving: &Contour, gap: f64, by_hand: f64) {
        let got = clearing_shift(fixed.segments(), moving.segments(), gap).unwrap();
        assert!((got - by_hand).abs() < 1e-12, "{got} against {by_hand}");
    }

    #[test]
    fn shifts_by_hand() {
        let square = polygon(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]);
        assert_shift(&square, &square, 2.0, 12.0);
        let disc = Contour::circle(p(0.0, 0.0), 5.0, Tag(0)).unwrap();
        assert_shift(&disc, &disc, 1.0, 11.0);
        // Centres (6, 8): 11 = 5 + 5 + 1 apart, 8 of it in height.
        let raised = Contour::circle(p(0.0, 8.0), 5.0, Tag(0)).unwrap();
        assert_shift(&disc, &raised, 1.0, (121.0_f64 - 64.0).sqrt());
        // A right triangle and itself turned: hypotenuses side by side, 1 mm apart along the normal (1, 1)/√2.
        let triangle = polygon(&[(0.0, 0.0), (10.0, 0.0), (0.0, 10.0)]);
        let turned = polygon(&[(10.0, 10.0), (0.0, 10.0), (10.0, 0.0)]);
        assert_shift(&triangle, &turned, 1.0, 2.0_f64.sqrt());
        assert_shift(&turned, &triangle, 1.0, 11.0);
        // An ell takes the turned ell into its corner: bars of 3.
        let ell = polygon(&[(0.0, 0.0), (10.0, 0.0), (10.0, 3.0), (3.0, 3.0), (3.0, 10.0), (0.0, 10.0)]);
        let back = polygon(&[(10.0, 10.0), (0.0, 10.0), (0.0, 7.0), (7.0, 7.0), (7.0, 0.0), (10.0, 0.0)]);
        assert_shift(&ell, &back, 1.0, 4.0);
        // Corner beside corner: 3 up and 4 along are 5.
        let above = polygon(&[(0.0, 13.0), (5.0, 13.0), (5.0, 20.0), (0.0, 20.0)]);
        assert_shift(&square, &above, 5.0, 14.0);
        // They pass each other.
        assert_eq!(clearing_shift(square.segments(), above.segments(), 3.0), None);
        assert_shift(&square, &above, 3.000_001, 10.0 + (3.000_001_f64 * 3.000_001 - 9.0).sqrt());
    }

    #[test]
    fn a_disc_rests_in_a_round_hollow() {
        // A half round hollow of radius 6 open to the right, centre (10, 10); a disc of 2 with a gap of 1 touches
        // its bottom: centre 6 − 2 − 1 left of the hollow's.
        let hollow = Contour::new(vec![
            Segment::line(p(0.0, 0.0), p(10.0, 0.0), Tag(0)),
            Segment::line(p(10.0, 0.0), p(10.0, 4.0), Tag(0)),
            Segment::arc(p(10.0, 4.0), p(10.0, 16.0), p(10.0, 10.0), crate::geom::ArcTurn::Right, Tag(0)),
            Segment::line(p(10.0, 16.0), p(10.0, 20.0), Tag(0)),
            Segment::line(p(10.0, 20.0), p(0.0, 20.0), Tag(0)),
            Segment::line(p(0.0, 20.0), p(0.0, 0.0), Tag(0)),
        ])
        .unwrap();
        let disc = Contour::circle(p(0.0, 10.0), 2.0, Tag(0)).unwrap();
        assert_shift(&hollow, &disc, 1.0, 7.0);
    }

    fn nearest(a: &Contour, b: &Contour) -> f64 {
        let pairs = a.segments().iter().flat_map(|s| b.segments().iter().map(move |t| (s, t)));
        pairs.map(|(s, t)| distance_between(s, t)).fold(f64::INFINITY, f64::min)
    }

    fn shifted(contour: &Contour, x: f64) -> Contour {
        contour.moved(Motion2 { origin: p(x, 0.0), ..Motion2::IDENTITY })
    }

    /// A star of corners and, between every second pair of them, an arc.
    fn figure(radii: &[f64], bulge: f64, turn: f64) -> Contour {
        let count = radii.len();
        #[expect(clippy::cast_precision_loss, reason = "a handful of corners")]
        let corner = |i: usize| {
            let i = i % count;
            Point2::ORIGIN + Vec2::unit(turn + maths::TAU * i as f64 / count as f64) * radii[i]
        };
        let piece = |i: usize| {
            let (a, b) = (corner(i), corner(i + 1));
            let via = a.midpoint(b) + (b - a).right() * bulge;
            let arc = if i.is_multiple_of(2) { Segment::arc_through(a, via, b, Tag(0)) } else { None };
            arc.unwrap_or_else(|| Segment::line(a, b, Tag(0)))
        };
        Contour::new((0..count).map(piece).collect()).unwrap()
    }

    proptest! {
        #[test]
        fn pushed_figures_are_a_gap_apart_and_clear_from_there_on(
            radii in proptest::collection::vec(prop_oneof![Just(20.0), 8.0..40.0_f64], 3..9),
            others in proptest::collection::vec(prop_oneof![Just(20.0), 8.0..40.0_f64], 3..9),
            bulge in prop_oneof![Just(0.0), -0.2..0.3_f64],
            turn in prop_oneof![Just(0.0), 0.0..6.0_f64],
            height in -60.0..60.0_f64,
            gap in prop_oneof![Just(0.05), 0.1..9.0_f64],
            farther in proptest::collection::vec(0.0..60.0_f64, 5),
        ) {
            let fixed = figure(&radii, bulge, 0.0);
            let moving = figure(&others, bulge, turn)
                .moved(Motion2 { origin: p(0.0, height), ..Motion2::IDENTITY });
            if let Some(shift) = clearing_shift(fixed.segments(), moving.segments(), gap) {
                let there = nearest(&fixed, &shifted(&moving, shift));
                prop_assert!((there - gap).abs() < tolerance::SNAP_MM, "{} apart, asked {}", there, gap);
                for more in farther {
                    prop_assert!(nearest(&fixed, &shifted(&moving, shift + more)) > gap - tolerance::SNAP_MM);
                }
            } else {
                let [a, b] = [&fixed, &moving].map(Contour::bounding_box);
                prop_assert!(a.max.y + gap <= b.min.y + 1e-9 || b.max.y + gap <= a.min.y + 1e-9);
            }
        }
    }
}
