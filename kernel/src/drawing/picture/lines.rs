//! Which edges of the mesh are drawn as lines, and how heavy.
//!
//! Invariant: an edge between two triangles of one smooth surface is drawn only where a zone ends or where
//! the surface turns away from the eye; an edge that only turned-away triangles share is never drawn.

use crate::geom::{Vec3, unit};
use crate::quantity::{maths, tolerance};
use crate::solid::{Face, Mesh, Surface, Zone};

/// Two triangles of one surface that meet at less than this are pieces of one curve, in rad: chords of a 2 mm
/// hole at the usual chord tolerance meet at 36 degrees, the flattest chamfer of the trade at 45.
const SMOOTH_RAD: f64 = 40.0 * maths::PI / 180.0;

/// What a line shows, lightest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum LineKind {
    /// A panel runs smoothly into a bend.
    Tangent,
    /// Two surfaces meet at an angle, both in view.
    Sharp,
    /// Behind it the part turns away from the eye.
    Outline,
}

/// An edge to be drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Line {
    /// Indices of its two vertices.
    pub(super) ends: [u32; 2],
    pub(super) kind: LineKind,
}

/// What is known of each triangle of a mesh: its direction and on which side of it the eye lies.
pub(super) struct Facing {
    /// Normals with a length of twice the area in mm².
    pub(super) weighted: Vec<Vec3<f64>>,
    /// Unit normals; zero for a triangle without area.
    pub(super) normals: Vec<Vec3<f64>>,
    /// Whether the eye is on the outside.
    pub(super) seen: Vec<bool>,
}

impl Facing {
    pub(super) fn of(mesh: &Mesh, towards: Vec3<f64>) -> Self {
        let weighted: Vec<_> = mesh.triangles().map(|[a, b, c]| (b - a).cross(c - a)).collect();
        let normals: Vec<_> = weighted
            .iter()
            .map(|&w| {
                let length = w.length();
                if length > 0.0 && length.is_finite() {
                    w.times(1.0 / length)
                } else {
                    Vec3::new(0.0, 0.0, 0.0)
                }
            })
            .collect();
        let seen = normals.iter().map(|n| n.dot(towards) < -tolerance::PARALLEL).collect();
        Self { weighted, normals, seen }
    }
}

/// The lines of a mesh, in the order of their vertices.
pub(super) fn lines(mesh: &Mesh, facing: &Facing) -> Vec<Line> {
    let mut sides: Vec<([u32; 2], usize)> = Vec::with_capacity(3 * mesh.faces.len());
    for (index, face) in mesh.faces.iter().enumerate() {
        let [a, b, c] = face.corners;
        sides.extend([[a, b], [b, c], [c, a]].map(|[p, q]| ([p.min(q), p.max(q)], index)));
    }
    sides.sort_unstable();
    sides
        .chunk_by(|a, b| a.0 == b.0)
        .filter_map(|shared| {
            let kind = match shared {
                [(_, a), (_, b)] => kind_between([*a, *b], mesh, facing),
                // A rim or several sheets meeting: no surface of a closed mesh, but drawn rather than lost.
                open => open.iter().any(|(_, f)| facing.seen[*f]).then_some(LineKind::Outline),
            };
            kind.map(|kind| Line { ends: shared[0].0, kind })
        })
        .collect()
}

fn kind_between(faces: [usize; 2], mesh: &Mesh, facing: &Facing) -> Option<LineKind> {
    let [a, b] = faces.map(|f| mesh.faces[f]);
    match faces.map(|f| facing.seen[f]) {
        [false, false] => None,
        [true, false] | [false, true] => Some(LineKind::Outline),
        [true, true] if !is_smooth([a, b], faces.map(|f| facing.normals[f])) => Some(LineKind::Sharp),
        [true, true] => (a.zone != b.zone && a.surface != Surface::Cut).then_some(LineKind::Tangent),
    }
}

/// Whether two triangles belong to one smooth surface.
fn is_smooth([a, b]: [Face; 2], [normal_a, normal_b]: [Vec3<f64>; 2]) -> bool {
    a.surface == b.surface && normal_a.dot(normal_b) > maths::cos(SMOOTH_RAD)
}

/// Directions in which light sees the surface at the three corners of each triangle: the mean over the smooth
/// surface around each corner, weighted by area, so that chords of a bend are shaded as a cylinder. Where a
/// bend meets a panel the panel's direction holds: it is exact there, and the panel stays flat.
pub(super) fn smooth_normals(mesh: &Mesh, facing: &Facing) -> Vec<[Vec3<f64>; 3]> {
    let mut around: Vec<(u32, usize)> = mesh
        .faces
        .iter()
        .enumerate()
        .flat_map(|(index, face)| face.corners.map(|corner| (corner, index)))
        .collect();
    around.sort_unstable();
    let faces_at = |vertex: u32| {
        let first = around.partition_point(|(v, _)| *v < vertex);
        around[first..].iter().take_while(move |(v, _)| *v == vertex).map(|(_, f)| *f)
    };
    let none = Vec3::new(0.0, 0.0, 0.0);
    let smooth = |index: usize, vertex: u32| {
        let (mut of_panels, mut of_bends) = (none, none);
        for f in faces_at(vertex) {
            let face = mesh.faces[f];
            if is_smooth([mesh.faces[index], face], [index, f].map(|i| facing.normals[i])) {
                match face.zone {
                    Zone::Panel(_) => of_panels = of_panels + facing.weighted[f],
                    Zone::Bend(_) | Zone::Form(_) => of_bends = of_bends + facing.weighted[f],
                }
            }
        }
        unit(of_panels).or(unit(of_bends)).unwrap_or(facing.normals[index])
    };
    mesh.faces.iter().enumerate().map(|(index, face)| face.corners.map(|c| smooth(index, c))).collect()
}
