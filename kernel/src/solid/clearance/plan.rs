//! A plane figure of lines and arcs as triangles and what lies between them and the arcs.
//!
//! Where the figure lies inside an arc's circle, chords are drawn and the slices between chord and arc added.
//! Where it lies outside, tangents are drawn, which stay in the figure, and the corners between tangents and arc
//! added. So the pieces cover the figure exactly, however coarse they are, and slices and corners can be halved
//! without asking what is beside them. Derivation: `docs/math/clearance.md`.
//!
//! Invariant: pieces cover the figure, the whole of it and nothing else. Must not know: where it lies in space.

use crate::geom::{ArcTurn, Curve, Point2, Region, Segment, Vec2};
use crate::quantity::{maths, tolerance};
use crate::solid::triangles::{triangulate, untied};

/// A piece of a plane figure.
#[derive(Clone, Copy, Debug)]
pub(super) enum Plan {
    /// A triangle.
    Triangle([Point2; 3]),
    /// The slice between an arc and its chord.
    Slice(Arc),
    /// The corner between an arc and its tangents at both ends.
    Corner(Arc),
}

/// A piece of a circle of at most a sixth of a turn.
#[derive(Clone, Copy, Debug)]
pub(super) struct Arc {
    pub(super) centre: Point2,
    pub(super) radius: f64,
    /// Directions of its ends seen from the centre, counter-clockwise, in rad.
    pub(super) between: [f64; 2],
}

impl Arc {
    pub(super) fn half_angle(self) -> f64 {
        0.5 * (self.between[1] - self.between[0])
    }

    pub(super) fn middle_angle(self) -> f64 {
        0.5 * (self.between[0] + self.between[1])
    }

    fn at(self, angle: f64) -> Point2 {
        self.centre + Vec2::unit(angle) * self.radius
    }

    pub(super) fn ends(self) -> [Point2; 2] {
        self.between.map(|angle| self.at(angle))
    }

    pub(super) fn middle(self) -> Point2 {
        self.at(self.middle_angle())
    }

    /// Where the tangents at both ends meet.
    pub(super) fn tip(self) -> Point2 {
        self.centre + Vec2::unit(self.middle_angle()) * (self.radius / maths::cos(self.half_angle()))
    }

    /// How far the arc leaves its chord, in mm.
    pub(super) fn sagitta(self) -> f64 {
        let sin = maths::sin(0.5 * self.half_angle());
        2.0 * self.radius * sin * sin
    }

    /// How far the tip lies from the arc, in mm.
    pub(super) fn tip_height(self) -> f64 {
        self.sagitta() / maths::cos(self.half_angle())
    }

    pub(super) fn halves(self) -> [Self; 2] {
        let [from, to] = self.between;
        let middle = self.middle_angle();
        [Self { between: [from, middle], ..self }, Self { between: [middle, to], ..self }]
    }
}

impl Plan {
    /// Triangle that holds the piece.
    pub(super) fn around(self) -> [Point2; 3] {
        match self {
            Self::Triangle(corners) => corners,
            Self::Slice(arc) | Self::Corner(arc) => {
                let [from, to] = arc.ends();
                [from, arc.tip(), to]
            }
        }
    }

    /// Pieces that together are this one; a triangle is cut where it reaches farthest along y.
    pub(super) fn parts(self) -> Vec<Self> {
        match self {
            Self::Triangle([a, b, c]) => {
                let rise = |p: Point2, q: Point2| (q.y - p.y).abs();
                let [p, q, r] = if rise(a, b) >= rise(b, c) && rise(a, b) >= rise(c, a) {
                    [a, b, c]
                } else if rise(b, c) >= rise(c, a) {
                    [b, c, a]
                } else {
                    [c, a, b]
                };
                let middle = p.midpoint(q);
                vec![Self::Triangle([p, middle, r]), Self::Triangle([middle, q, r])]
            }
            Self::Slice(arc) => {
                let [one, other] = arc.halves();
                let [from, to] = arc.ends();
                vec![Self::Triangle([from, to, arc.middle()]), Self::Slice(one), Self::Slice(other)]
            }
            Self::Corner(arc) => {
                let [one, other] = arc.halves();
                vec![
                    Self::Triangle([one.tip(), arc.tip(), other.tip()]),
                    Self::Corner(one),
                    Self::Corner(other),
                ]
            }
        }
    }
}

/// How often arcs are cut finer where tangents or chords meet another outline.
const MOST_FINER: u32 = 8;

/// The pieces of a region; none if contours touch each other.
pub(super) fn plans(region: &Region) -> Option<Vec<Plan>> {
    let mut chord = tolerance::CHORD_MM;
    for _ in 0..MOST_FINER {
        if let Some(found) = plans_with(region, chord) {
            return Some(found);
        }
        chord *= 0.25;
    }
    None
}

fn plans_with(region: &Region, chord: f64) -> Option<Vec<Plan>> {
    let mut found = Vec::new();
    let mut points: Vec<Point2> = Vec::new();
    let mut outline: Vec<[usize; 2]> = Vec::new();
    let mut apart: Vec<Point2> = Vec::new();
    for contour in region.contours() {
        let first = points.len();
        for piece in contour.segments() {
            points.push(piece.start);
            apart.push(piece.start);
            for (corner, plan) in round(piece, chord) {
                found.push(plan);
                if let Some(corner) = corner {
                    apart.push(untied(corner, points.len()));
                    points.push(corner);
                }
            }
        }
        let count = points.len() - first;
        outline.extend((0..count).map(|i| [first + i, first + (i + 1) % count]));
    }
    let triangles = triangulate(&apart, &outline, &[]).or_else(|| triangulate(&points, &outline, &[]))?;
    found.extend(triangles.into_iter().map(|t| Plan::Triangle(t.map(|index| points[index]))));
    Some(found)
}

/// Slices or corners along a piece of outline with the figure to its left, each with the corner of the polygon
/// that comes with it, if any.
fn round(piece: &Segment, chord: f64) -> Vec<(Option<Point2>, Plan)> {
    let Curve::Arc { centre, radius, turn } = piece.curve else { return Vec::new() };
    let count = piece.chord_count(chord).max(least_count(piece.sweep()));
    let from = (piece.start - centre).angle();
    #[expect(clippy::cast_precision_loss, reason = "a small number of chords")]
    let angle = |index: usize| from + piece.sweep() * (index as f64 / count as f64);
    (0..count)
        .map(|index| {
            let (a, b) = (angle(index), angle(index + 1));
            let arc = Arc { centre, radius, between: [a.min(b), a.max(b)] };
            match turn {
                ArcTurn::Left => {
                    let corner = (index > 0).then(|| arc.ends()[0]);
                    (corner, Plan::Slice(arc))
                }
                ArcTurn::Right => (Some(arc.tip()), Plan::Corner(arc)),
            }
        })
        .collect()
}

/// No piece is more than a twelfth of a turn.
fn least_count(sweep: f64) -> usize {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "at most twelve")]
    let count = (sweep.abs() / (maths::TAU / 12.0)).ceil() as usize;
    count.max(1)
}

/// The box that the region is, if it is one along the axes: from where to where along x and y.
pub(super) fn as_box(region: &Region) -> Option<[[f64; 2]; 2]> {
    let [only] = region.contours() else { return None };
    let bounds = only.bounding_box();
    let same = |a: f64, b: f64| (a - b).abs() <= tolerance::CHANGE_MM;
    let on_side = |piece: &Segment| {
        let (p, q) = (piece.start, piece.end);
        let on = |x: fn(Point2) -> f64, at: f64| same(x(p), at) && same(x(q), at);
        piece.curve == Curve::Line
            && (on(|p| p.x, bounds.min.x)
                || on(|p| p.x, bounds.max.x)
                || on(|p| p.y, bounds.min.y)
                || on(|p| p.y, bounds.max.y))
    };
    only.segments()
        .iter()
        .all(on_side)
        .then_some([[bounds.min.x, bounds.max.x], [bounds.min.y, bounds.max.y]])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Contour, Tag};

    fn area(plan: Plan) -> f64 {
        let triangle = |[a, b, c]: [Point2; 3]| 0.5 * (b - a).cross(c - a).abs();
        match plan {
            Plan::Triangle(corners) => triangle(corners),
            Plan::Slice(arc) => {
                let angle = 2.0 * arc.half_angle();
                0.5 * arc.radius * arc.radius * (angle - maths::sin(angle))
            }
            // The kite between centre, ends and tip less the sector.
            Plan::Corner(arc) => arc.radius * arc.radius * (maths::tan(arc.half_angle()) - arc.half_angle()),
        }
    }

    /// A plate 60 x 40 with round corners and a hole.
    fn plate() -> Region {
        let at = |x: f64, y: f64| Point2::new(x, y);
        let line = |a: Point2, b: Point2| Segment::line(a, b, Tag(0));
        let arc = |a: Point2, b: Point2, c: Point2| Segment::arc(a, b, c, ArcTurn::Left, Tag(0));
        let outline = vec![
            line(at(8.0, 0.0), at(60.0, 0.0)),
            line(at(60.0, 0.0), at(60.0, 30.0)),
            arc(at(60.0, 30.0), at(50.0, 40.0), at(50.0, 30.0)),
            line(at(50.0, 40.0), at(0.0, 40.0)),
            line(at(0.0, 40.0), at(0.0, 8.0)),
            arc(at(0.0, 8.0), at(8.0, 0.0), at(8.0, 8.0)),
        ];
        let hole = Contour::circle(at(20.0, 20.0), 6.0, Tag(1)).unwrap().reversed();
        Region::from_oriented(vec![Contour::new(outline).unwrap(), hole])
    }

    #[test]
    fn pieces_add_up_to_the_region_however_often_they_are_parted() {
        let region = plate();
        let mut pieces = plans(&region).unwrap();
        for _ in 0..3 {
            let total: f64 = pieces.iter().map(|&plan| area(plan)).sum();
            assert!((total - region.area()).abs() < 1e-9, "{total} {}", region.area());
            pieces = pieces.into_iter().flat_map(Plan::parts).collect();
        }
    }

    #[test]
    fn a_narrow_web_is_cut_finer() {
        // Holes of 10 mm radius with 0.02 mm between: less than tangents of coarse pieces stand out.
        let at = |x: f64| Contour::circle(Point2::new(x, 20.0), 10.0, Tag(1)).unwrap().reversed();
        let corners = [(0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0)].map(|(x, y)| Point2::new(x, y));
        let outline = Contour::polygon(&corners, Tag(0)).unwrap();
        let region = Region::from_oriented(vec![outline, at(15.0), at(35.02)]);
        let total: f64 = plans(&region).unwrap().into_iter().map(area).sum();
        assert!((total - region.area()).abs() < 1e-9);
    }

    #[test]
    fn only_boxes_along_the_axes_are_boxes() {
        let of = |corners: &[(f64, f64)]| {
            let corners: Vec<Point2> = corners.iter().map(|&(x, y)| Point2::new(x, y)).collect();
            as_box(&Region::inside(Contour::polygon(&corners, Tag(0)).unwrap()))
        };
        assert_eq!(
            of(&[(1.0, 0.0), (9.0, 0.0), (9.0, 4.0), (5.0, 4.0), (1.0, 4.0)]),
            Some([[1.0, 9.0], [0.0, 4.0]])
        );
        assert_eq!(of(&[(1.0, 0.0), (9.0, 0.0), (8.0, 4.0), (1.0, 4.0)]), None);
    }
}
