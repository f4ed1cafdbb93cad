//! The smallest box about the exact boundary.
//!
//! What reaches farthest along a direction is a vertex, a place of an edge where its curve runs square to the
//! direction, or a place within a face whose normal is the direction. Only tori have the last but on whole
//! lines of the face, which end on edges: planes, cylinders, cones and cuts through bends are made of straight
//! lines along which the normal is the same, or which go on to higher places. Invariant: the mesh's box lies
//! within this one and approaches it as chords get shorter. Derivation: `docs/math/solid.md`.

use crate::geom::{Placement, Vec3};
use crate::quantity::{maths, tolerance};

use super::brep::{Brep, CircleArc, Curve3, Face, RolledCurve, Surface3};
use super::spline::derivatives;

impl Brep {
    /// Lower and upper corner in mm of the smallest axis-parallel box; none for an empty boundary.
    #[must_use]
    pub fn bounding_box(&self) -> Option<[Vec3<f64>; 2]> {
        let first = *self.vertices().first()?;
        let mut bounds = Bounds([first, first]);
        self.vertices().iter().for_each(|&p| bounds.add(p));
        for edge in self.edges() {
            let [start, _] = edge.ends.map(|v| self.at(v));
            match &edge.curve {
                Curve3::Line => {}
                Curve3::Circle(arc) => outermost_of_arc(arc, start).for_each(|p| bounds.add(p)),
                Curve3::Rolled(curve) => outermost_of_rolled(curve, |p| bounds.add(p)),
            }
        }
        for face in self.faces() {
            if let Surface3::Torus { frame, ring_radius, tube_radius } = &face.surface {
                let places = outermost_of_torus(frame, *ring_radius, *tube_radius);
                let torus = TorusFace::new(self, face, *frame, *ring_radius);
                // Where the tube is thicker than the ring, some of them lie on the sheet that is not meant.
                let on_sheet = |p: &Vec3<f64>| face.surface.distance_to(*p) <= tolerance::SNAP_MM;
                places.filter(on_sheet).filter(|&p| torus.holds(p)).for_each(|p| bounds.add(p));
            }
        }
        Some(bounds.0)
    }
}

struct Bounds([Vec3<f64>; 2]);

impl Bounds {
    fn add(&mut self, p: Vec3<f64>) {
        let [lo, hi] = self.0;
        self.0 = [
            Vec3::new(lo.x.min(p.x), lo.y.min(p.y), lo.z.min(p.z)),
            Vec3::new(hi.x.max(p.x), hi.y.max(p.y), hi.z.max(p.z)),
        ];
    }
}

const AXES: [Vec3<f64>; 3] =
    [Vec3 { x: 1.0, y: 0.0, z: 0.0 }, Vec3 { x: 0.0, y: 1.0, z: 0.0 }, Vec3 { x: 0.0, y: 0.0, z: 1.0 }];

/// Where an arc runs square to an axis: along the axis as its plane sees it, from the centre.
fn outermost_of_arc(arc: &CircleArc, start: Vec3<f64>) -> impl Iterator<Item = Vec3<f64>> {
    let out = (start - arc.centre).times(1.0 / arc.radius);
    let ahead = arc.axis.cross(out);
    AXES.into_iter().flat_map(move |axis| {
        let (x, y) = (out.dot(axis), ahead.dot(axis));
        [1.0, -1.0].into_iter().filter_map(move |sign| {
            let angle = maths::atan2(sign * y, sign * x);
            let angle = if angle < 0.0 { angle + maths::TAU } else { angle };
            (angle < arc.sweep).then(|| arc.point(start, angle / arc.sweep))
        })
    })
}

/// Places at which a rolled curve is looked at for turning back along an axis. Its direction is a sinusoid over
/// at most a turn of the bend and of its own arc, so that it turns back a few times only.
const LOOKS: u32 = 64;

/// Where a rolled curve runs square to an axis.
fn outermost_of_rolled(curve: &RolledCurve, mut visit: impl FnMut(Vec3<f64>)) {
    let velocity = |t: f64| derivatives(&curve.piece, &curve.map, curve.depth, t)[1];
    let shares: Vec<f64> = (0..=LOOKS).map(|i| f64::from(i) / f64::from(LOOKS)).collect();
    let velocities: Vec<Vec3<f64>> = shares.iter().map(|&t| velocity(t)).collect();
    for axis in AXES {
        for (ends, pair) in shares.windows(2).zip(velocities.windows(2)) {
            let rises = pair[0].dot(axis) > 0.0;
            if rises == (pair[1].dot(axis) > 0.0) {
                continue;
            }
            let (mut low, mut high) = (ends[0], ends[1]);
            for _ in 0..f64::MANTISSA_DIGITS {
                let middle = 0.5 * (low + high);
                *if (velocity(middle).dot(axis) > 0.0) == rises { &mut low } else { &mut high } = middle;
            }
            visit(curve.point(low));
        }
    }
}

/// Where a torus's normal runs along an axis. Where a whole ring does, its ends lie on edges.
fn outermost_of_torus(
    frame: &Placement<f64>,
    ring_radius: f64,
    tube_radius: f64,
) -> impl Iterator<Item = Vec3<f64>> {
    AXES.into_iter()
        .filter_map(move |axis| {
            let across = axis - frame.n.times(axis.dot(frame.n));
            let length = across.length();
            (length > 0.0).then(|| (axis, across.times(1.0 / length)))
        })
        .flat_map(move |(axis, out)| {
            let signs = [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)];
            signs.map(|(ring, tube)| {
                frame.origin + out.times(ring * ring_radius) + axis.times(tube * tube_radius)
            })
        })
}

/// A face on a torus, which four edges along its lines of equal angle bound.
struct TorusFace {
    frame: Placement<f64>,
    ring_radius: f64,
    /// The middle of the face.
    middle: [f64; 2],
    /// How far its angles go from there.
    reach: [f64; 2],
}

impl TorusFace {
    fn new(brep: &Brep, face: &Face, frame: Placement<f64>, ring_radius: f64) -> Self {
        let mut torus = Self { frame, ring_radius, middle: [0.0; 2], reach: [0.0; 2] };
        let corners: Vec<[f64; 2]> =
            brep.loops(face).flatten().map(|&used| torus.angles(brep.at(brep.ends(used)[0]))).collect();
        // Angles about the axis count from opposite the middle of the face; those of the tube are less than
        // half a turn apart.
        let about = |index: usize| corners.iter().map(move |angles| angles[index]);
        let first = corners.first().map_or(0.0, |angles| angles[1]);
        let around: Vec<f64> =
            about(0).map(|angle| if angle < 0.0 { angle + maths::TAU } else { angle }).collect();
        let tube: Vec<f64> = about(1).map(|angle| first + turned_to_zero(angle - first)).collect();
        for (index, angles) in [around, tube].into_iter().enumerate() {
            let low = angles.iter().copied().fold(f64::INFINITY, f64::min);
            let high = angles.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            (torus.middle[index], torus.reach[index]) = (0.5 * (low + high), 0.5 * (high - low));
        }
        torus
    }

    /// Angles about the axis and about the tube.
    fn angles(&self, p: Vec3<f64>) -> [f64; 2] {
        let local = self.frame.coordinates(p);
        let out = maths::hypot(local.x, local.y) - self.ring_radius;
        [maths::atan2(local.y, local.x), maths::atan2(local.z, out)]
    }

    /// Whether a point of the torus lies on the face.
    fn holds(&self, p: Vec3<f64>) -> bool {
        let angles = self.angles(p);
        (0..2).all(|i| turned_to_zero(angles[i] - self.middle[i]).abs() <= self.reach[i])
    }
}

/// The same direction as an angle from −π to π.
fn turned_to_zero(angle: f64) -> f64 {
    angle - maths::TAU * (angle / maths::TAU).round()
}
