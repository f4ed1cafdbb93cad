//! Curves of the part that a view may show, before anything is known of what hides them.
//!
//! Edges of the boundary run through the mesh's vertices. Invariant: a strand has two points at least and a length
//! in the view; edges at which one surface goes on are none, unless it turns away from the eye there.

use crate::geom::{Point2, Vec3};
use crate::ident::EdgeId;
use crate::quantity::{maths, tolerance};
use crate::solid::brep::{CircleArc, Curve3, Edge, FacePart};
use crate::solid::{Brep, EdgedMesh};

use super::LineKind;
use super::direction::Direction;
use super::silhouette::silhouettes;

/// A curve as seen.
#[derive(Clone, Debug)]
pub(super) struct Strand {
    /// To the right, up and away from the eye, in mm.
    pub(super) points: Vec<[f64; 3]>,
    pub(super) kind: LineKind,
    /// Faces on both sides.
    pub(super) faces: [usize; 2],
    /// The circle that it runs on, if it is seen from straight ahead.
    pub(super) round: Option<Round>,
    pub(super) veil: Veil,
}

/// What can hide a strand.
#[derive(Clone, Copy, Debug)]
pub(super) enum Veil {
    /// The line of sight comes out of the metal that the strand bounds.
    OwnMetal,
    /// Triangles before it by more than `behind` mm.
    Others { behind: f64 },
}

/// A circle seen from straight ahead.
#[derive(Clone, Copy, Debug)]
pub(super) struct Round {
    pub(super) centre: Point2,
    pub(super) radius: f64,
    /// Angle in rad at the strand's start.
    from: f64,
    /// Angle in rad through which it runs, positive counter-clockwise.
    turn: f64,
}

impl Strand {
    /// The place after so many chords, in the view.
    pub(super) fn at(&self, place: f64) -> Point2 {
        let chord = (place.floor() as usize).min(self.points.len() - 2);
        let share = place - chord as f64;
        let [a, b] = [self.points[chord], self.points[chord + 1]];
        Point2::new(a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))
    }

    /// Length in the view between two places, in mm.
    pub(super) fn length(&self, from: f64, to: f64) -> f64 {
        let mut length = 0.0;
        let mut at = self.at(from);
        let mut next = from.floor() + 1.0;
        while next < to {
            let p = self.at(next);
            length += at.distance(p);
            at = p;
            next += 1.0;
        }
        length + at.distance(self.at(to))
    }

    /// Angle in rad of a place on the strand's circle.
    pub(super) fn angle(&self, round: &Round, place: f64) -> f64 {
        let about = round.from + round.turn * place / (self.points.len() - 1) as f64;
        let out = self.at(place) - round.centre;
        let angle = maths::atan2(out.y, out.x);
        angle + maths::TAU * ((about - angle) / maths::TAU).round()
    }

    /// Whether the view shows more of it than a point.
    pub(super) fn is_seen_as_line(&self) -> bool {
        let [first, ..] = self.points[..] else { return false };
        self.points.iter().any(|p| maths::hypot(p[0] - first[0], p[1] - first[1]) > tolerance::SNAP_MM)
    }
}

/// All strands of a part: edges by number, then silhouettes by face.
pub(super) fn strands(brep: &Brep, mesh: &EdgedMesh, direction: Direction) -> Vec<Strand> {
    let mut beside: Vec<[Option<usize>; 2]> = vec![[None; 2]; brep.edges().len()];
    for (index, face) in brep.faces().iter().enumerate() {
        for used in brep.loops(face).flatten() {
            let [first, second] = &mut beside[used.edge.index()];
            *if first.is_none() { first } else { second } = Some(index);
        }
    }
    let mut strands = Vec::new();
    for (index, (edge, faces)) in brep.edges().iter().zip(beside).enumerate() {
        let [Some(a), Some(b)] = faces else { continue };
        let Some(kind) = kind(brep, edge, [a, b], direction) else { continue };
        strands.extend(strand(brep, mesh, EdgeId::new(index), direction, kind, [a, b]));
    }
    strands.extend(silhouettes(brep, mesh, direction).into_iter().filter(Strand::is_seen_as_line));
    strands
}

fn strand(
    brep: &Brep,
    mesh: &EdgedMesh,
    id: EdgeId,
    direction: Direction,
    kind: LineKind,
    faces: [usize; 2],
) -> Option<Strand> {
    let axes = direction.frame();
    let mut vertices = mesh.along(id).to_vec();
    vertices.dedup();
    let points: Vec<[f64; 3]> =
        vertices.iter().map(|&v| Direction::seen(axes, mesh.mesh.vertices[v as usize])).collect();
    let edge = &brep.edges()[id.index()];
    let round = match &edge.curve {
        Curve3::Circle(arc) => round(arc, brep.at(edge.ends[0]), direction),
        Curve3::Line | Curve3::Rolled(_) => None,
    };
    let strand = Strand { points, kind, faces, round, veil: Veil::Others { behind: tolerance::BEHIND_MM } };
    strand.is_seen_as_line().then_some(strand)
}

/// The circle of an arc, if it is seen from straight ahead.
fn round(arc: &CircleArc, start: Vec3<f64>, direction: Direction) -> Option<Round> {
    if arc.axis.cross(direction.towards()).length() > tolerance::SMOOTH_RAD {
        return None;
    }
    let axes = direction.frame();
    let [x, y, _] = Direction::seen(axes, arc.centre);
    let [out_x, out_y, _] = Direction::seen(axes, start - arc.centre);
    let turn = if arc.axis.dot(direction.towards()) < 0.0 { arc.sweep } else { -arc.sweep };
    let from = maths::atan2(out_y, out_x);
    Some(Round { centre: Point2::new(x, y), radius: arc.radius, from, turn })
}

/// What a line along an edge shows; none if one surface goes on there.
fn kind(brep: &Brep, edge: &Edge, faces: [usize; 2], direction: Direction) -> Option<LineKind> {
    let faces = faces.map(|index| &brep.faces()[index]);
    let middle = brep.point_on(edge, 0.5);
    let normals = faces.map(|face| face.outward_normal(middle));
    let [a, b] = normals;
    if a.dot(b) <= 0.0 || a.cross(b).length() > tolerance::DRAWN_SMOOTH_RAD {
        return Some(LineKind::Sharp);
    }
    // A curved face may look at the eye on one side of the edge only.
    let along = brep.point_on(edge, 0.5 + BESIDE) - brep.point_on(edge, 0.5 - BESIDE);
    let across = a.cross(along).times(1.0 / along.length());
    let curved = faces.map(|face| face.curvature_along(middle, across));
    let edge_on = |share: f64| {
        let normal = faces[0].outward_normal(brep.point_on(edge, share));
        normal.dot(direction.towards()).abs() < tolerance::EDGE_ON
    };
    let is_flat = curved.iter().all(|c| c.abs() < tolerance::SAME_CURVATURE_PER_MM);
    if !is_flat && edge_on(BESIDE) && edge_on(0.5) && edge_on(1.0 - BESIDE) {
        return Some(LineKind::Silhouette);
    }
    let is_cut = faces.iter().any(|face| matches!(face.part, FacePart::Cut { .. }));
    let goes_on = (curved[0] - curved[1]).abs() < tolerance::SAME_CURVATURE_PER_MM;
    (!is_cut && !goes_on).then_some(LineKind::Tangent)
}

/// Share of an edge near one of its places.
const BESIDE: f64 = 0.25;
