//! Exact boundary of the folded part: vertices, edges and faces that share each other.
//!
//! A face is a piece of a surface inside loops of edges; a loop runs counter-clockwise seen from outside the
//! metal. Lines, circles, planes, cylinders, cones and tori are exact; where a cut crosses a bend, the edge is
//! the cut's own line or arc rolled onto the cylinder ([`Curve3::Rolled`]), and the cut face runs along the
//! sheet's normal between two of them ([`Surface3::Rolled`]), both exact too. Invariant
//! ([`Brep::first_fault`]): every edge is used by two loops, once in each direction; loops are closed; the
//! ends of an edge lie on its curve and its curve on both faces. Must not know: any file format, chords.

use std::ops::Range;

use thiserror::Error;

use crate::fold::{Ring, StripMap};
use crate::geom::{Placement, Segment, Tag, Vec3};
use crate::ident::{BendId, EdgeId, VertexId};
use crate::quantity::{maths, tolerance};

use super::{Surface, Zone};

/// The boundary of one part.
#[derive(Clone, Debug, Default)]
pub struct Brep {
    pub(super) vertices: Vec<Vec3<f64>>,
    pub(super) edges: Vec<Edge>,
    pub(super) uses: Vec<Use>,
    /// Ranges of `uses`.
    pub(super) loops: Vec<Range<u32>>,
    pub(super) faces: Vec<Face>,
    /// Frames of the panels, by id.
    pub(super) frames: Vec<Placement<f64>>,
    /// How the strip of each bend lies, by id.
    pub(super) strips: Vec<StripMap>,
}

/// A piece of curve between two vertices.
#[derive(Clone, Debug)]
pub struct Edge {
    /// Where it starts and ends; never the same vertex.
    pub ends: [VertexId; 2],
    /// The curve, which runs from the first end to the second.
    pub curve: Curve3,
    /// What it lies over, if it belongs to a cut through a bend.
    pub over: Option<OverStrip>,
    /// Radius in mm by whose circle it is cut into chords, if not by its own: edges that face each other
    /// across a form have the same number of chords.
    pub(super) chord_radius: Option<f64>,
}

/// A piece of a bend's flat strip.
#[derive(Clone, Copy, Debug)]
pub struct OverStrip {
    /// The bend.
    pub bend: BendId,
    /// The line or arc in strip coordinates, run like the edge.
    pub piece: Segment,
}

/// The curve of an edge.
#[derive(Clone, Debug)]
pub enum Curve3 {
    /// A straight line.
    Line,
    /// An arc of a circle.
    Circle(CircleArc),
    /// A line or arc of the flat strip, rolled onto one of the bend's two cylinders.
    Rolled(RolledCurve),
}

/// An arc of a circle in space; it starts at the start of its edge and turns counter-clockwise about `axis`.
#[derive(Clone, Copy, Debug)]
pub struct CircleArc {
    /// Centre in mm.
    pub centre: Vec3<f64>,
    /// Unit vector about which the arc turns.
    pub axis: Vec3<f64>,
    /// Radius in mm, above zero.
    pub radius: f64,
    /// Angle in rad through which it turns, in `(0, 2π)`.
    pub sweep: f64,
}

/// A curve on a bend's cylinder.
#[derive(Clone, Debug)]
pub struct RolledCurve {
    /// The line or arc in strip coordinates (x along the bend, y across it), run like the edge.
    pub piece: Segment,
    /// Rolls the strip into space.
    pub map: StripMap,
    /// Depth along the sheet's normal in mm: 0 inner face, −thickness outer face.
    pub depth: f64,
}

impl RolledCurve {
    /// The point at share `t` of the piece, `0 ≤ t ≤ 1`.
    #[must_use]
    pub fn point(&self, t: f64) -> Vec3<f64> {
        let p = self.piece.point_at(t);
        self.map.point(p.x, p.y, self.depth)
    }
}

/// The surface of a face.
#[derive(Clone, Debug)]
pub enum Surface3 {
    /// The plane through the origin of a frame, square to its `n`.
    Plane(Placement<f64>),
    /// The points at a distance from the axis along a frame's `n`.
    Cylinder {
        /// Axis along `n` through the origin; angles count from `x`.
        frame: Placement<f64>,
        /// Radius in mm, above zero.
        radius: f64,
    },
    /// A cone about the axis along a frame's `n`.
    Cone {
        /// Axis along `n`, towards which the radius grows; angles count from `x`.
        frame: Placement<f64>,
        /// Radius in mm at the frame's origin, above zero.
        radius: f64,
        /// Angle in rad between axis and surface.
        half_angle: f64,
    },
    /// A torus about the axis along a frame's `n`. Where the tube is thicker than the ring, only the sheet
    /// that is farther from the axis is meant.
    Torus {
        /// Axis along `n` through the centre; angles count from `x`.
        frame: Placement<f64>,
        /// Radius in mm of the circle on which the tube's centre runs, above zero.
        ring_radius: f64,
        /// Radius in mm of the tube, above zero.
        tube_radius: f64,
    },
    /// The lines along the sheet's normal through a cut that crosses a bend.
    Rolled {
        /// The cut in strip coordinates, run with the metal to its left.
        piece: Segment,
        /// Rolls the strip into space.
        map: StripMap,
    },
}

/// Whether a thing is used as it runs or looks, or the other way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sense {
    /// As it is.
    Same,
    /// The other way.
    Reversed,
}

impl Sense {
    /// The other sense.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Same => Self::Reversed,
            Self::Reversed => Self::Same,
        }
    }
}

/// An edge as a loop runs along it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Use {
    /// The edge.
    pub edge: EdgeId,
    /// Which way the loop runs.
    pub sense: Sense,
}

impl Use {
    /// The same edge run the other way.
    #[must_use]
    pub fn reversed(self) -> Self {
        Self { edge: self.edge, sense: self.sense.other() }
    }
}

/// A face.
#[derive(Clone, Debug)]
pub struct Face {
    /// The surface it is a piece of.
    pub surface: Surface3,
    /// Whether the surface's own normal points out of the metal. That of a plane is its frame's `n`; that of
    /// a cylinder or cone points away from the axis, that of a torus away from the middle of its tube; that of
    /// a rolled cut always points out.
    pub outward: Sense,
    /// The zone it belongs to.
    pub zone: Zone,
    /// What it is of the zone.
    pub part: FacePart,
    /// Ranges of the loops: the outer one first.
    pub(super) loops: Range<u32>,
}

/// What a face is of its zone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FacePart {
    /// The inner face of the sheet.
    Inner,
    /// The outer face of the sheet.
    Outer,
    /// A face of a cut. Its loop has first the edges on the outer face, then one up, then those on the inner
    /// face, then one down.
    Cut {
        /// The piece of contour it stands on.
        tag: Tag,
        /// How many edges it has on the outer face.
        lower: u32,
    },
    /// A face of a form. Its loop runs down the cross-section, along the piece, up again and back; on the
    /// outer face of the sheet the other way.
    Form {
        /// The face of the sheet.
        side: Surface,
        /// Which part of the cross-section.
        ring: Ring,
    },
}

impl FacePart {
    /// The surface of the sheet it belongs to.
    #[must_use]
    pub fn surface(self) -> Surface {
        match self {
            Self::Inner => Surface::Inner,
            Self::Outer => Surface::Outer,
            Self::Cut { .. } => Surface::Cut,
            Self::Form { side, .. } => side,
        }
    }
}

/// How many faces of each kind of surface a part has.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct FaceCounts {
    /// Planes.
    pub planes: usize,
    /// Cylinders.
    pub cylinders: usize,
    /// Cones.
    pub cones: usize,
    /// Tori.
    pub tori: usize,
    /// Cuts that cross a bend at a slant or in an arc.
    pub rolled: usize,
}

impl FaceCounts {
    /// All faces.
    #[must_use]
    pub fn total(self) -> usize {
        self.planes + self.cylinders + self.cones + self.tori + self.rolled
    }
}

/// Why a boundary does not enclose a body.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum BrepFault {
    /// An edge is not used exactly once in each direction.
    #[error("edge {} is used {forward} times as it runs and {backward} times against", edge.number())]
    Uses {
        /// The edge.
        edge: EdgeId,
        /// Uses as it runs.
        forward: usize,
        /// Uses against.
        backward: usize,
    },
    /// A loop does not come back to where it started.
    #[error("a loop of face {face} has a gap after edge {}", edge.number())]
    Open {
        /// Index of the face.
        face: usize,
        /// The edge before the gap.
        edge: EdgeId,
    },
    /// A face has no outer loop.
    #[error("face {face} has no loop")]
    NoLoop {
        /// Index of the face.
        face: usize,
    },
    /// An edge leaves a curve or surface on which it should lie.
    #[error("edge {} lies {distance_mm} mm away from its curve or from a face beside it", edge.number())]
    Off {
        /// The edge.
        edge: EdgeId,
        /// How far, in mm.
        distance_mm: f64,
    },
}

impl Brep {
    /// Positions of the vertices in mm, by id.
    #[must_use]
    pub fn vertices(&self) -> &[Vec3<f64>] {
        &self.vertices
    }

    /// Edges by id.
    #[must_use]
    pub fn edges(&self) -> &[Edge] {
        &self.edges
    }

    /// Faces, in the order of zones.
    #[must_use]
    pub fn faces(&self) -> &[Face] {
        &self.faces
    }

    /// The loops of a face, the outer one first.
    pub fn loops(&self, face: &Face) -> impl Iterator<Item = &[Use]> {
        self.loops[face.loops.start as usize..face.loops.end as usize]
            .iter()
            .map(|uses| &self.uses[uses.start as usize..uses.end as usize])
    }

    /// Position of a vertex in mm.
    #[must_use]
    pub fn at(&self, vertex: VertexId) -> Vec3<f64> {
        self.vertices[vertex.index()]
    }

    /// Where a loop comes from and goes to along an edge.
    #[must_use]
    pub fn ends(&self, used: Use) -> [VertexId; 2] {
        let [from, to] = self.edges[used.edge.index()].ends;
        match used.sense {
            Sense::Same => [from, to],
            Sense::Reversed => [to, from],
        }
    }

    /// How many faces lie on each kind of surface.
    #[must_use]
    pub fn face_counts(&self) -> FaceCounts {
        let mut counts = FaceCounts::default();
        for face in &self.faces {
            match face.surface {
                Surface3::Plane(_) => counts.planes += 1,
                Surface3::Cylinder { .. } => counts.cylinders += 1,
                Surface3::Cone { .. } => counts.cones += 1,
                Surface3::Torus { .. } => counts.tori += 1,
                Surface3::Rolled { .. } => counts.rolled += 1,
            }
        }
        counts
    }

    /// How often the part is pierced, by the formula of Euler and Poincaré for one closed body:
    /// `V − E + F − R = 2 − 2 G` with `R` loops that are not the outer one of their face. For a sheet that is
    /// nowhere joined to itself `G` is the number of holes of the blank. None if the numbers fit no body.
    #[must_use]
    pub fn handles(&self) -> Option<usize> {
        let inner_loops = self.loops.len().checked_sub(self.faces.len())?;
        let plus = self.vertices.len() + self.faces.len();
        let minus = self.edges.len() + inner_loops;
        let twice = (minus + 2).checked_sub(plus)?;
        (twice % 2 == 0).then_some(twice / 2)
    }

    /// The first thing that is amiss with the boundary.
    #[must_use]
    pub fn first_fault(&self) -> Option<BrepFault> {
        let mut uses = vec![[0_usize; 2]; self.edges.len()];
        for (index, face) in self.faces.iter().enumerate() {
            if face.loops.is_empty() {
                return Some(BrepFault::NoLoop { face: index });
            }
            for run in self.loops(face) {
                let Some(&last) = run.last() else { return Some(BrepFault::NoLoop { face: index }) };
                let mut before = last;
                for &used in run {
                    uses[used.edge.index()][usize::from(used.sense == Sense::Reversed)] += 1;
                    if self.ends(before)[1] != self.ends(used)[0] {
                        return Some(BrepFault::Open { face: index, edge: before.edge });
                    }
                    let distance_mm = self.distance_from(face, &self.edges[used.edge.index()]);
                    if distance_mm > tolerance::SNAP_MM {
                        return Some(BrepFault::Off { edge: used.edge, distance_mm });
                    }
                    before = used;
                }
            }
        }
        uses.iter().enumerate().find(|(_, used)| **used != [1, 1]).map(|(index, &[forward, backward])| {
            BrepFault::Uses { edge: EdgeId::new(index), forward, backward }
        })
    }

    /// The point at share `t` of an edge, `0 < t < 1`.
    #[must_use]
    pub fn point_on(&self, edge: &Edge, t: f64) -> Vec3<f64> {
        let [from, to] = edge.ends.map(|v| self.at(v));
        match &edge.curve {
            Curve3::Line => from + (to - from).times(t),
            Curve3::Circle(arc) => arc.point(from, t),
            Curve3::Rolled(curve) => curve.point(t),
        }
    }

    /// How far an edge's ends lie from its curve, or points of its curve from a face, in mm at most.
    fn distance_from(&self, face: &Face, edge: &Edge) -> f64 {
        let [from, to] = edge.ends.map(|v| self.at(v));
        let end = match &edge.curve {
            Curve3::Line => to,
            Curve3::Circle(arc) => arc.point(from, 1.0),
            Curve3::Rolled(curve) => {
                let off = (curve.point(0.0) - from).length();
                if off > tolerance::SNAP_MM {
                    return off;
                }
                curve.point(1.0)
            }
        };
        let shares = [0.0, 0.3, 0.7];
        shares
            .iter()
            .map(|&t| face.surface.distance_to(self.point_on(edge, t)))
            .fold((end - to).length(), f64::max)
    }
}

impl CircleArc {
    /// The point at share `t` of the way from `start`, the arc's first point.
    #[must_use]
    pub fn point(&self, start: Vec3<f64>, t: f64) -> Vec3<f64> {
        let out = start - self.centre;
        let (sin, cos) = maths::sin_cos(self.sweep * t);
        self.centre + out.times(cos) + self.axis.cross(out).times(sin)
    }
}

impl Surface3 {
    /// Distance of a point near the surface from it, in mm; for a rolled cut measured in the flat strip.
    pub(super) fn distance_to(&self, p: Vec3<f64>) -> f64 {
        match self {
            Self::Plane(frame) => (p - frame.origin).dot(frame.n).abs(),
            Self::Cylinder { frame, radius } => {
                let out = p - frame.origin;
                ((out - frame.n.times(out.dot(frame.n))).length() - radius).abs()
            }
            Self::Cone { frame, radius, half_angle } => {
                let local = frame.coordinates(p);
                let (sin, cos) = maths::sin_cos(*half_angle);
                ((maths::hypot(local.x, local.y) - radius) * cos - local.z * sin).abs()
            }
            Self::Torus { frame, ring_radius, tube_radius } => {
                let local = frame.coordinates(p);
                let out = maths::hypot(local.x, local.y) - ring_radius;
                (maths::hypot(out, local.z) - tube_radius).abs()
            }
            Self::Rolled { piece, map } => {
                let at = map.unrolled(p);
                let from_axis = p - map.axis_point(at.x);
                if map.angle() > 0.0 && from_axis.length() <= tolerance::SNAP_MM {
                    // The axis of a bend without radius lies under every y.
                    let bounds = piece.bounding_box();
                    return (bounds.min.x - at.x).max(at.x - bounds.max.x).max(0.0);
                }
                piece.distance_to(at)
            }
        }
    }
}

/// Adding faces, for the sewing only.
impl Brep {
    pub(super) fn add_loop(&mut self, uses: impl Iterator<Item = Use>) {
        let from = self.uses.len();
        self.uses.extend(uses);
        self.loops.push(range(from, self.uses.len()));
    }

    /// Adds a face of the loops from `first_loop` on.
    pub(super) fn add_face(
        &mut self,
        surface: Surface3,
        outward: Sense,
        zone: Zone,
        part: FacePart,
        first_loop: usize,
    ) {
        let loops = range(first_loop, self.loops.len());
        self.faces.push(Face { surface, outward, zone, part, loops });
    }
}

fn range(from: usize, to: usize) -> Range<u32> {
    let short = |n: usize| u32::try_from(n).expect("a boundary has fewer than 2^32 edges");
    short(from)..short(to)
}
