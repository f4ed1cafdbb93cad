//! The pieces of a neighbour, ready to be asked how near they are.
//!
//! A prism is convex and stays one where it travels; a surface becomes its triangles, each with its travel.
//! Invariant: the bodies and the insides of closed surfaces are the pieces, the whole of them and nothing else.
//! Must not know: the part.

use crate::geom::{Box3, BoxTree, Convex, Hull, Point2, Vec3, unit};
use crate::machine::{Piece, Prism, Shape, Surface};
use crate::quantity::{maths, tolerance};

use super::cell::Ring;
use super::motion::Motion;

/// The pieces of a neighbour.
#[derive(Clone, Debug)]
pub struct Obstacle<'a> {
    pub(super) bodies: Vec<Body<'a>>,
    /// The middles of their boxes.
    pub(super) middles: Vec<Vec3<f64>>,
    pub(super) tree: BoxTree,
    /// Surfaces that close in a space.
    closed: Vec<&'a Surface>,
    is_open: bool,
}

/// A convex body of a neighbour.
#[expect(clippy::large_enum_variant, reason = "surfaces have thousands of facets, which are read in place")]
#[derive(Clone, Debug)]
pub(super) enum Body<'a> {
    Prism {
        prism: &'a Prism,
        travel: Vec3<f64>,
    },
    /// A triangle with its travel, which is no metal to be inside of.
    Facet {
        hull: Hull,
        normal: Vec3<f64>,
    },
}

/// A body moved rigidly.
#[derive(Clone, Copy)]
pub(super) struct Moved<'a, 'b, M> {
    pub(super) body: &'a Body<'b>,
    pub(super) by: M,
}

impl<M: Motion> Convex for Moved<'_, '_, M> {
    #[inline]
    fn farthest(&self, direction: Vec3<f64>) -> Vec3<f64> {
        self.by.point(self.body.farthest(self.by.direction_before(direction)))
    }
}

impl Convex for Body<'_> {
    #[inline]
    fn farthest(&self, direction: Vec3<f64>) -> Vec3<f64> {
        match self {
            Self::Prism { prism, travel } => {
                let start = prism.farthest(direction);
                if travel.dot(direction) > 0.0 { start + *travel } else { start }
            }
            Self::Facet { hull, .. } => hull.farthest(direction),
        }
    }
}

impl Body<'_> {
    /// Unit vectors square to its faces.
    pub(super) fn axes(&self) -> Vec<Vec3<f64>> {
        match self {
            Self::Prism { prism, travel } => {
                let mut found = prism_axes(prism);
                let length = travel.length();
                if length > 0.0 {
                    let along = travel.times(1.0 / length);
                    let across: Vec<Vec3<f64>> =
                        found.iter().filter_map(|axis| unit(axis.cross(along))).collect();
                    found.extend(across);
                    found.push(along);
                }
                found
            }
            Self::Facet { normal, .. } => vec![*normal],
        }
    }

    /// No place of a piece of a ring is nearer than this, in mm, or none is nearer than `limit` mm.
    ///
    /// With `o` the way from the ring's axis to a body's own, and `e` the direction from there to a place, body and place
    /// are `R - o · e` less the body's radius apart, square to the axis. What lies `m` beside the ring is
    /// `√(apart² + m²)` away, so that only what is within `√(limit² - apart²)` counts.
    pub(super) fn at_least_from(&self, ring: &Ring, limit: f64) -> f64 {
        const ROUNDS: usize = 3;
        let Self::Prism { prism, travel } = self else { return 0.0 };
        let mut apart = 0.0;
        for _ in 0..ROUNDS {
            let beside = (limit * limit - apart * apart).max(0.0).sqrt();
            let reach = reach_toward(prism, *travel, ring, [ring.along[0] - beside, ring.along[1] + beside]);
            let farther = (ring.radius - reach).clamp(0.0, limit);
            let is_last = farther - apart <= tolerance::SEPARATION_MM;
            apart = farther;
            if is_last {
                break;
            }
        }
        let along = |direction: Vec3<f64>| (self.farthest(direction) - ring.centre).dot(direction);
        let (low, high) = (-along(-ring.axis), along(ring.axis));
        let beside = (low - ring.along[1]).max(ring.along[0] - high).max(0.0);
        maths::hypot(apart, beside).min(limit)
    }

    /// Whether directions square to its edges and those of the metal may free it, too.
    pub(super) fn has_edges(&self) -> bool {
        match self {
            Self::Prism { .. } => true,
            Self::Facet { .. } => false,
        }
    }
}

/// How far a prism and its travel reach at most from the axis of a ring toward the ring's places, in mm, between two
/// heights along the axis or anywhere.
fn reach_toward(prism: &Prism, travel: Vec3<f64>, ring: &Ring, [low, high]: [f64; 2]) -> f64 {
    let ends = |centre: Point2| {
        let [low, high] = prism.reach.map(|height| prism.placement.lift(centre, height) - ring.centre);
        [low, high, low + travel, high + travel]
    };
    if let [disc] = prism.discs[..] {
        let lower = disc.radius * prism.placement.n.cross(ring.axis).length();
        let ends = ends(disc.centre);
        let pairs = (0..4).flat_map(|i| (0..i).map(move |j| [ends[i], ends[j]]));
        let held = pairs.filter_map(|pair| between(pair, ring.axis, [low - lower, high + lower])).flatten();
        return held.map(|o| ring.farthest_toward(o)).fold(f64::NEG_INFINITY, f64::max) + disc.radius;
    }
    let reaches = prism.discs.iter().flat_map(|disc| {
        let most = ends(disc.centre).map(|o| ring.farthest_toward(o));
        most.map(|most| most + disc.radius)
    });
    reaches.fold(f64::NEG_INFINITY, f64::max)
}

/// The ends of what a straight line has between two heights along an axis; none if it has nothing there.
fn between([from, to]: [Vec3<f64>; 2], axis: Vec3<f64>, [low, high]: [f64; 2]) -> Option<[Vec3<f64>; 2]> {
    let [start, end] = [from, to].map(|p| p.dot(axis));
    if start.max(end) < low || start.min(end) > high {
        return None;
    }
    let at = |height: f64| {
        let share = (height.clamp(low, high) - start) / (end - start);
        // A line square to the axis is within as a whole.
        if share.is_finite() { from + (to - from).times(share) } else { from }
    };
    Some([at(start), if start == end { to } else { at(end) }])
}

/// Along a prism, and square to the lines that touch two of its discs.
fn prism_axes(prism: &Prism) -> Vec<Vec3<f64>> {
    let frame = prism.placement;
    let mut found = vec![frame.n, frame.x, frame.y];
    for (index, one) in prism.discs.iter().enumerate() {
        for other in &prism.discs[index + 1..] {
            let way = other.centre - one.centre;
            let length = way.length();
            let sine = (one.radius - other.radius) / length;
            if length <= 0.0 || sine.abs() >= 1.0 {
                continue;
            }
            let cosine = (1.0 - sine * sine).sqrt();
            let along = way * (1.0 / length);
            for side in [along.left(), along.right()] {
                let normal = along * sine + side * cosine;
                found.push(frame.direction(normal.x, normal.y, 0.0));
            }
        }
    }
    found
}

impl<'a> Obstacle<'a> {
    /// What a neighbour's pieces are made of.
    #[must_use]
    pub fn new(pieces: &'a [Piece]) -> Self {
        let mut bodies = Vec::new();
        let mut closed = Vec::new();
        let mut is_open = false;
        for piece in pieces {
            let travel = piece.travel;
            match &piece.shape {
                Shape::Prism(prism) => bodies.push(Body::Prism { prism, travel }),
                Shape::Surface(surface) => {
                    bodies.extend(surface.corners().map(|corners| facet(corners, travel)));
                    if surface.is_closed() {
                        closed.push(surface);
                    } else {
                        is_open |= !surface.triangles.is_empty();
                    }
                }
            }
        }
        let boxes: Vec<Box3> = bodies.iter().map(Box3::of_body).collect();
        let middles = boxes.iter().map(|b| b.middle()).collect();
        Self { tree: BoxTree::new(&boxes), bodies, middles, closed, is_open }
    }

    /// A mere point.
    pub(super) fn of_point(at: Vec3<f64>) -> Self {
        let bodies = vec![facet([at; 3], Vec3::new(0.0, 0.0, 0.0))];
        let tree = BoxTree::new(&[Box3 { low: at, high: at }]);
        Self { tree, bodies, middles: vec![at], closed: Vec::new(), is_open: false }
    }

    /// Whether one of its surfaces has a border, so that nobody can tell what is inside.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.is_open
    }

    /// The box around it; none for an obstacle of nothing.
    #[must_use]
    pub fn extent(&self) -> Option<Box3> {
        self.tree.root().map(|root| self.tree.branch(root).0)
    }

    /// Whether a point that meets none of its bodies lies inside a closed surface. What travels along with the
    /// surface stays inside, so that it is enough to ask at the start of its travel.
    pub(super) fn holds(&self, p: Vec3<f64>) -> bool {
        self.closed.iter().any(|surface| winding(surface, p).abs() > 0.5)
    }
}

fn facet<'a>(corners: [Vec3<f64>; 3], travel: Vec3<f64>) -> Body<'a> {
    let [a, b, c] = corners;
    let normal = unit((b - a).cross(c - a)).unwrap_or(Vec3::new(0.0, 0.0, 1.0));
    let hull = if travel.length() > 0.0 {
        let moved = corners.map(|p| p + travel);
        Hull::new(&[a, b, c, moved[0], moved[1], moved[2]])
    } else {
        Hull::new(&corners)
    };
    Body::Facet { hull, normal }
}

/// How often a closed surface goes round a point that is not on it: the solid angles of its triangles (van Oosterom
/// and Strackee, "The solid angle of a plane triangle", IEEE Transactions on Biomedical Engineering 30, 1983) over
/// the whole.
fn winding(surface: &Surface, p: Vec3<f64>) -> f64 {
    let half_angles = surface.corners().map(|corners| {
        let [a, b, c] = corners.map(|corner| corner - p);
        let [la, lb, lc] = [a.length(), b.length(), c.length()];
        let below = la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb;
        maths::atan2(a.dot(b.cross(c)), below)
    });
    half_angles.sum::<f64>() / maths::TAU
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tetrahedron() -> Surface {
        let at = |x: f64, y: f64, z: f64| Vec3::new(x, y, z);
        Surface {
            vertices: vec![at(0.0, 0.0, 0.0), at(10.0, 0.0, 0.0), at(0.0, 10.0, 0.0), at(0.0, 0.0, 10.0)],
            triangles: vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]],
        }
    }

    #[test]
    fn surface_goes_once_round_what_is_inside() {
        let surface = tetrahedron();
        assert!((winding(&surface, Vec3::new(1.0, 2.0, 3.0)) - 1.0).abs() < 1e-12);
        assert!(winding(&surface, Vec3::new(4.0, 4.0, 4.0)).abs() < 1e-12);
    }

    #[test]
    fn surface_with_a_hole_is_open_and_one_with_doubled_corners_is_not() {
        let mut surface = tetrahedron();
        assert!(surface.is_closed());
        let apart = Surface {
            vertices: surface.corners().flatten().collect(),
            triangles: (0..4).map(|i| [3 * i, 3 * i + 1, 3 * i + 2]).collect(),
        };
        assert!(apart.is_closed());
        surface.triangles.pop();
        assert!(!surface.is_closed());
    }

    #[test]
    fn chain_around_two_wheels_has_sides_that_touch_both() {
        use crate::geom::Placement;
        use crate::machine::Disc;
        let wheel = |x, radius| Disc { centre: Point2::new(x, 0.0), radius };
        let chain = Prism {
            placement: Placement::identity(),
            discs: vec![wheel(0.0, 50.0), wheel(100.0, 20.0)],
            reach: [0.0, 8.0],
        };
        let sides = prism_axes(&chain);
        // Farthest points along the normals of the straight sides are those of either wheel: 50 = 30 + 20.
        for side in &sides[3..] {
            assert!((side.x - 0.3).abs() < 1e-15 && (side.length() - 1.0).abs() < 1e-15, "{side:?}");
        }
        assert_eq!(sides.len(), 5);
    }

    #[test]
    fn bound_about_a_ring_is_below_every_place_and_near_the_nearest() {
        use crate::geom::Placement;
        let at = |x: f64, y: f64, z: f64| Vec3::new(x, y, z);
        for step in 0..60 {
            let share = |by: f64| (f64::from(step) * by).fract();
            let [shift, tilt, turn] = [0.8 * share(0.618), 0.02 * share(0.414), maths::TAU * share(0.732)];
            let out = |angle: f64| at(maths::cos(angle), maths::sin(angle), 0.0);
            let ends = [turn, turn + 0.5].map(out);
            let ring = Ring {
                centre: at(0.0, 0.0, 0.0),
                axis: at(0.0, 0.0, 1.0),
                radius: 12.0,
                along: [0.0, 2.0],
                ends,
            };
            // A shaft of radius 9 through the ring, beside its axis and aslant.
            let n = at(maths::sin(tilt), 0.0, maths::cos(tilt));
            let x = at(maths::cos(tilt), 0.0, -maths::sin(tilt));
            let placement = Placement { origin: at(0.0, shift, 0.0), x, y: at(0.0, 1.0, 0.0), n };
            let shaft = Prism::cylinder(placement, 9.0, [-50.0, 50.0]);
            let body = Body::Prism { prism: &shaft, travel: at(0.0, 0.0, 0.0) };
            let mut nearest = f64::INFINITY;
            for i in 0..=200 {
                for z in [0.0, 1.0, 2.0] {
                    let place = out(turn + 0.5 * f64::from(i) / 200.0).times(12.0) + at(0.0, 0.0, z);
                    let way = place - placement.origin;
                    nearest = nearest.min((way - n.times(way.dot(n))).length() - 9.0);
                }
            }
            let bound = body.at_least_from(&ring, 100.0);
            let limited = body.at_least_from(&ring, nearest + 1e-6);
            assert!(
                bound <= nearest + 1e-9 && limited <= nearest + 1e-6,
                "{step}: {bound} {limited} {nearest}"
            );
            // A round that is off leaves heights of √(2 d off), and more by the slant of the shaft's end, along which
            // the shaft comes nearer by its slant. What is beside a direction adds its square over twice the way.
            let nearer_along = |height: f64| tilt * (height + 9.0 * tilt);
            let narrowed = |off: f64| nearer_along((2.0 * nearest * off).sqrt());
            let off = narrowed(narrowed(nearer_along(nearest))) + shift * shift / (2.0 * (12.0 - shift));
            assert!(limited > nearest - off - 1e-5, "{step}: {limited} {nearest} {off}");
        }
    }
}
