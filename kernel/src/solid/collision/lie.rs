//! Where the sheet of a panel or a bend lies: between two planes, or between two cylinders.
//!
//! Invariant: what is true of a point's depth and of its place in the region's plane is exact; straight wires
//! keep within half of [`tolerance::COLLISION_MM`] of what they stand for. Must not know: the zone's region,
//! other zones.

use crate::fold::StripMap;
use crate::geom::{BoundingBox, Placement, Point2, Segment, Vec3, chords_for_arc};
use crate::quantity::{maths, tolerance};

use super::body::Wire;
use super::box3::{Box3, between};

/// How far wires may lie off the round faces and edges that they stand for, in mm.
pub(super) const CHORD_MM: f64 = 0.5 * tolerance::COLLISION_MM;

/// Where a zone's sheet lies.
#[derive(Clone, Copy, Debug)]
pub(super) enum Lie {
    /// Between two planes.
    Flat(Placement<f64>),
    /// Between two cylinders.
    Rolled(StripMap),
}

impl Lie {
    pub(super) fn frame(&self) -> Placement<f64> {
        match self {
            Self::Flat(frame) => *frame,
            Self::Rolled(map) => map.start(),
        }
    }

    /// The place in space of a point of the zone's region at `depth` mm along the normal.
    pub(super) fn lift(&self, p: Point2, depth: f64) -> Vec3<f64> {
        match self {
            Self::Flat(frame) => frame.lift(p, depth),
            Self::Rolled(map) => map.point(p.x, p.y, depth),
        }
    }

    /// Into how many wires a piece of the region's outline is cut.
    pub(super) fn wires(&self, piece: &Segment, thickness: f64) -> usize {
        let in_plane = piece.chord_count(CHORD_MM);
        match self {
            Self::Flat(_) => in_plane,
            Self::Rolled(map) => {
                let radius = map.radius(0.0).max(map.radius(-thickness));
                let size = piece.bounding_box();
                in_plane.max(chords_for_arc(radius, map.angle_at(size.height()), CHORD_MM))
            }
        }
    }

    /// The extent of a tube or plate in its own frame.
    pub(super) fn extent(&self, region: BoundingBox, thickness: f64) -> Box3 {
        match self {
            Self::Flat(_) => Box3 {
                low: Vec3::new(region.min.x, region.min.y, -thickness),
                high: Vec3::new(region.max.x, region.max.y, 0.0),
            },
            Self::Rolled(map) => {
                const STEPS: u32 = 8;
                let frame = map.start();
                let on_arc = |i: u32| map.allowance() * f64::from(i) / f64::from(STEPS);
                let points = (0..=STEPS).flat_map(|i| {
                    let at = |x: f64, depth: f64| frame.coordinates(map.point(x, on_arc(i), depth));
                    [at(region.min.x, 0.0), at(region.max.x, -thickness), at(region.min.x, -thickness)]
                });
                // Between two steps the outer face stands out over their chord.
                let radius = map.radius(0.0).max(map.radius(-thickness));
                let half = 0.5 * map.angle() / f64::from(STEPS);
                let out = radius * (1.0 - maths::cos(half));
                let bare = Box3::around(points);
                Box3 {
                    low: Vec3::new(bare.low.x, bare.low.y - out, bare.low.z - out),
                    high: Vec3::new(bare.high.x, bare.high.y + out, bare.high.z + out),
                }
            }
        }
    }

    /// The shares of a wire between which it runs within the sheet's thickness, deep enough; the region in the
    /// sheet's plane does not count yet.
    pub(super) fn stretches(&self, [p, q]: Wire, thickness: f64) -> Vec<[f64; 2]> {
        let (top, bottom) = (-tolerance::COLLISION_MM, tolerance::COLLISION_MM - thickness);
        match self {
            Self::Flat(frame) => {
                let [from, to] = [p, q].map(|v| (v - frame.origin).dot(frame.n));
                between(from, to, bottom, top).into_iter().collect()
            }
            Self::Rolled(map) => {
                const STEPS: u32 = 16;
                let (a, b) = (map.from_axis(p), map.from_axis(q));
                let radii = [map.radius(top), map.radius(bottom)];
                in_tube(a, b - a, radii[0].min(radii[1]), radii[0].max(radii[1]))
                    .into_iter()
                    .flat_map(|[from, to]| {
                        let share = move |i: u32| from + (to - from) * f64::from(i) / f64::from(STEPS);
                        (0..STEPS).map(move |i| [share(i), share(i + 1)])
                    })
                    .collect()
            }
        }
    }

    /// Where a point of space lies in the region's plane, and how deep between the faces.
    pub(super) fn unrolled(&self, p: Vec3<f64>, thickness: f64) -> (Point2, f64) {
        let (flat, depth) = match self {
            Self::Flat(frame) => {
                let local = frame.coordinates(p);
                (Point2::new(local.x, local.y), local.z)
            }
            Self::Rolled(map) => {
                let from_axis = map.from_axis(p);
                let radius = (from_axis.y * from_axis.y + from_axis.z * from_axis.z).sqrt();
                let faces = [map.radius(0.0), map.radius(-thickness)];
                let share = (radius - faces[0]) / (faces[1] - faces[0]);
                (map.unrolled(p), -thickness * share)
            }
        };
        (flat, (-depth).min(depth + thickness))
    }
}

/// The shares of a straight way (`start` to `start + way`, seen from an axis along x) between which it lies
/// farther than `inner` and nearer than `outer` to the axis.
fn in_tube(start: Vec3<f64>, way: Vec3<f64>, inner: f64, outer: f64) -> Vec<[f64; 2]> {
    let a = way.y * way.y + way.z * way.z;
    let b = start.y * way.y + start.z * way.z;
    let c = start.y * start.y + start.z * start.z;
    if a.sqrt() <= tolerance::SNAP_MM {
        let radius = c.sqrt();
        return if inner < radius && radius < outer { vec![[0.0, 1.0]] } else { Vec::new() };
    }
    // Nearer than a radius: a s² + 2 b s + c < radius².
    let nearer = |radius: f64| {
        let root = b * b - a * (c - radius * radius);
        (root > 0.0).then(|| [(-b - root.sqrt()) / a, (-b + root.sqrt()) / a])
    };
    let Some([first, last]) = nearer(outer) else { return Vec::new() };
    let parts = match nearer(inner.max(0.0)) {
        None => vec![[first, last]],
        Some([enter, leave]) => vec![[first, enter], [leave, last]],
    };
    parts.into_iter().map(|[f, l]| [f.max(0.0), l.min(1.0)]).filter(|[f, l]| f < l).collect()
}
