//! Watertight triangle mesh of the part at any stage of folding.
//!
//! Panels are triangulated with all contour pieces as fixed edges (constrained Delaunay); bend strips are
//! ladders over lines of equal angle. Invariant: every edge of the mesh belongs to exactly two triangles,
//! run in opposite directions; a chord leaves its curve by at most the chord tolerance.

use spade::{ConstrainedDelaunayTriangulation, Triangulation};
use thiserror::Error;

use crate::fold::{Bend, FoldFractions, FoldTree, Panel, StripMap};
use crate::geom::{Placement, Point2, Vec3, chords_for_arc};
use crate::history::PanelName;
use crate::ident::{BendId, PanelId};
use crate::quantity::tolerance;

/// A closed triangle mesh in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Mesh {
    /// Positions in mm.
    pub vertices: Vec<Vec3<f64>>,
    /// Triangles, counter-clockwise seen from outside.
    pub faces: Vec<Face>,
}

/// A triangle of a mesh.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Face {
    /// Indices of its vertices.
    pub corners: [u32; 3],
    /// The zone it belongs to.
    pub zone: Zone,
    /// Which surface of the zone.
    pub surface: Surface,
}

/// A zone of the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Zone {
    /// A flat panel.
    Panel(PanelId),
    /// A bend.
    Bend(BendId),
}

/// A surface of a zone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Surface {
    /// The inner face of the sheet (n = 0).
    Inner,
    /// The outer face (n = −t).
    Outer,
    /// A cut edge.
    Cut,
}

/// Why a part cannot be meshed.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum MeshFault {
    /// The contours of a panel touch each other, so that no triangulation keeps them apart.
    #[error(
        "openings of panel `{panel}` touch each other, or its outline, in one point: the web there has no width"
    )]
    ContoursTouch {
        /// The panel.
        panel: PanelName,
    },
}

impl Mesh {
    /// Enclosed volume in mm³ by the divergence theorem.
    #[must_use]
    pub fn volume(&self) -> f64 {
        let about = self.vertices.first().copied().unwrap_or(Vec3::new(0.0, 0.0, 0.0));
        let sixfold: f64 =
            self.triangles().map(|[a, b, c]| (a - about).dot((b - about).cross(c - about))).sum();
        sixfold / 6.0
    }

    /// Area of all triangles in mm².
    #[must_use]
    pub fn surface(&self) -> f64 {
        self.triangles().map(|[a, b, c]| 0.5 * (b - a).cross(c - a).length()).sum()
    }

    /// Corners of the triangles.
    pub fn triangles(&self) -> impl Iterator<Item = [Vec3<f64>; 3]> {
        self.faces.iter().map(|f| f.corners.map(|i| self.vertices[i as usize]))
    }

    /// Lower and upper corner of the smallest axis-parallel box; none for an empty mesh.
    #[must_use]
    pub fn bounding_box(&self) -> Option<[Vec3<f64>; 2]> {
        let first = *self.vertices.first()?;
        Some(self.vertices.iter().fold([first, first], |[lo, hi], v| {
            [
                Vec3::new(lo.x.min(v.x), lo.y.min(v.y), lo.z.min(v.z)),
                Vec3::new(hi.x.max(v.x), hi.y.max(v.y), hi.z.max(v.z)),
            ]
        }))
    }
}

/// Meshes the part at these fold fractions, chords within `chord_tolerance` mm of true curves.
///
/// # Errors
/// [`MeshFault`] if a panel's contours touch each other.
pub fn mesh(tree: &FoldTree, fractions: &FoldFractions, chord_tolerance: f64) -> Result<Mesh, MeshFault> {
    let frames = tree.placements(fractions);
    let mesh = Mesh { vertices: Vec::new(), faces: Vec::new() };
    let mut builder = Builder { tree, mesh, shared: vec![Vec::new(); tree.panels().len()] };
    for bend in tree.bends() {
        let map = tree.strip_map(bend, &frames, fractions);
        builder.strip(bend, &frames, map, chord_tolerance);
    }
    for panel in tree.panels() {
        builder.panel(panel, frames[panel.id.index()], chord_tolerance)?;
    }
    Ok(builder.mesh)
}

/// A vertex of the sheet: its mesh vertices on the inner and on the outer face.
type VertexPair = [u32; 2];

struct Builder<'a> {
    tree: &'a FoldTree,
    mesh: Mesh,
    /// For each panel, the vertices that it shares with bends, by their place in the panel.
    shared: Vec<Vec<(Point2, VertexPair)>>,
}

impl Builder<'_> {
    fn vertex(&mut self, p: Vec3<f64>) -> u32 {
        self.mesh.vertices.push(p);
        u32::try_from(self.mesh.vertices.len() - 1).expect("a mesh has fewer than 2^32 vertices")
    }

    fn pair(&mut self, mut at_depth: impl FnMut(f64) -> Vec3<f64>) -> VertexPair {
        [0.0, -self.tree.thickness()].map(|depth| self.vertex(at_depth(depth)))
    }

    /// The pair at a place of a panel where a bend begins or ends.
    fn shared_pair(&mut self, panel: PanelId, frame: Placement<f64>, at: Point2) -> VertexPair {
        let made = self.shared[panel.index()].iter().find(|(p, _)| *p == at).map(|(_, pair)| *pair);
        made.unwrap_or_else(|| {
            let pair = self.pair(|depth| frame.lift(at, depth));
            self.shared[panel.index()].push((at, pair));
            pair
        })
    }

    fn face(&mut self, corners: [u32; 3], zone: Zone, surface: Surface) {
        self.mesh.faces.push(Face { corners, zone, surface });
    }

    fn quad(&mut self, [a, b, c, d]: [u32; 4], zone: Zone, surface: Surface) {
        self.face([a, b, c], zone, surface);
        self.face([a, c, d], zone, surface);
    }

    /// A bend strip: rungs at equal angles from its start to its end.
    fn strip(&mut self, bend: &Bend, frames: &[Placement<f64>], map: StripMap, chord_tolerance: f64) {
        let outer_radius = bend.inside_radius() + self.tree.thickness();
        let steps = chords_for_arc(outer_radius, bend.turn(), chord_tolerance);
        let crease = bend.start[0];
        let (parent, child) = (frames[bend.parent.index()], frames[bend.child.index()]);
        let rungs: Vec<[VertexPair; 2]> = (0..=steps)
            .map(|step| {
                #[expect(clippy::cast_precision_loss, reason = "a small number of steps")]
                let across = bend.allowance() * step as f64 / steps as f64;
                [(crease.from, crease.from_point), (crease.to, crease.to_point)].map(|(x, at_start)| {
                    if step == 0 {
                        self.shared_pair(bend.parent, parent, at_start)
                    } else if step == steps {
                        self.shared_pair(bend.child, child, Point2::new(x, 0.0))
                    } else {
                        self.pair(|depth| map.point(x, across, depth))
                    }
                })
            })
            .collect();
        let zone = Zone::Bend(bend.id);
        for pair in rungs.windows(2) {
            let [[left, right], [far_left, far_right]] = [pair[0], pair[1]];
            self.quad([left[0], right[0], far_right[0], far_left[0]], zone, Surface::Inner);
            self.quad([right[1], left[1], far_left[1], far_right[1]], zone, Surface::Outer);
            self.quad([right[0], right[1], far_right[1], far_right[0]], zone, Surface::Cut);
            self.quad([left[1], left[0], far_left[0], far_left[1]], zone, Surface::Cut);
        }
    }

    fn panel(&mut self, panel: &Panel, frame: Placement<f64>, chord_tolerance: f64) -> Result<(), MeshFault> {
        let shared = self.shared[panel.id.index()].clone();
        let mut flat: Vec<Point2> = Vec::new();
        let mut apart: Vec<Point2> = Vec::new();
        let mut lifted: Vec<[u32; 2]> = Vec::new();
        let mut edges: Vec<(usize, usize, bool)> = Vec::new();
        for contour in panel.region.contours() {
            let first = flat.len();
            for piece in contour.segments() {
                let chords = piece.chord_count(chord_tolerance);
                for i in 0..chords {
                    #[expect(clippy::cast_precision_loss, reason = "a small number of chords")]
                    let p = piece.point_at(i as f64 / chords as f64);
                    let pair = shared.iter().find(|(q, _)| *q == p).map(|(_, pair)| *pair);
                    let pair = pair.unwrap_or_else(|| self.pair(|depth| frame.lift(p, depth)));
                    edges.push((flat.len(), flat.len() + 1, self.tree.label(piece).is_crease()));
                    apart.push(if i == 0 { p } else { untied(p, flat.len()) });
                    flat.push(p);
                    lifted.push(pair);
                }
            }
            if let Some(last) = edges.last_mut() {
                last.1 = first;
            }
        }
        let zone = Zone::Panel(panel.id);
        for [a, b, c] in triangulate(&apart, &edges)
            .or_else(|| triangulate(&flat, &edges))
            .ok_or_else(|| MeshFault::ContoursTouch { panel: panel.name.clone() })?
        {
            self.face([lifted[a][0], lifted[b][0], lifted[c][0]], zone, Surface::Inner);
            self.face([lifted[a][1], lifted[c][1], lifted[b][1]], zone, Surface::Outer);
        }
        for &(a, b, crease) in &edges {
            if !crease {
                self.quad([lifted[a][1], lifted[b][1], lifted[b][0], lifted[a][0]], zone, Surface::Cut);
            }
        }
        Ok(())
    }
}

/// A point of an arc, moved by at most [`tolerance::UNTIE_MM`], for choosing triangles only.
///
/// The points of one circle tie every test of a Delaunay triangulation, and ties are settled in exact
/// arithmetic, which took two thirds of a mesh's time. Points of straight pieces stay, so that points of one
/// line remain on it.
fn untied(p: Point2, index: usize) -> Point2 {
    // Multiples of the golden ratio modulo one are spread evenly and never repeat.
    const GOLDEN_RATIO: f64 = 0.618_033_988_749_895;
    #[expect(clippy::cast_precision_loss, reason = "meshes have far fewer than 2^53 points")]
    let share = (index as f64 * GOLDEN_RATIO).fract() - 0.5;
    Point2::new(p.x + tolerance::UNTIE_MM * share, p.y - tolerance::UNTIE_MM * share)
}

/// Triangles (counter-clockwise) of the area to the left of the given edges. None if two points coincide or
/// two edges cross, so that no triangulation has all of them.
fn triangulate(points: &[Point2], edges: &[(usize, usize, bool)]) -> Option<Vec<[usize; 3]>> {
    let vertices = points.iter().map(|p| spade::Point2::new(p.x, p.y)).collect();
    let constraints = edges.iter().map(|&(a, b, _)| [a, b]).collect();
    let mut refused = false;
    let net = ConstrainedDelaunayTriangulation::<spade::Point2<f64>>::try_bulk_load_cdt(
        vertices,
        constraints,
        |_| {
            refused = true;
        },
    )
    .ok()?;
    if refused || net.num_vertices() != points.len() {
        return None;
    }
    Some(inside_faces(&net, edges))
}

/// Faces reached from the left side of a contour edge without crossing another one.
fn inside_faces(
    net: &ConstrainedDelaunayTriangulation<spade::Point2<f64>>,
    edges: &[(usize, usize, bool)],
) -> Vec<[usize; 3]> {
    use spade::handles::FixedVertexHandle;
    let mut inside = vec![false; net.num_all_faces()];
    let mut pending = Vec::new();
    for &(a, b, _) in edges {
        let (a, b) = (FixedVertexHandle::from_index(a), FixedVertexHandle::from_index(b));
        if let Some(face) = net.get_edge_from_neighbors(a, b).and_then(|e| e.face().as_inner()) {
            pending.push(face.fix());
        }
    }
    while let Some(face) = pending.pop() {
        if std::mem::replace(&mut inside[face.index()], true) {
            continue;
        }
        for edge in net.face(face).adjacent_edges() {
            if let (false, Some(next)) = (edge.is_constraint_edge(), edge.rev().face().as_inner()) {
                pending.push(next.fix());
            }
        }
    }
    net.inner_faces()
        .filter(|f| inside[f.fix().index()])
        .map(|f| f.vertices().map(|v| v.fix().index()))
        .collect()
}
