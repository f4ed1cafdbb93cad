//! A closed triangle mesh and what can be read off it.
//!
//! Invariant: every edge of a mesh belongs to exactly two triangles, run in opposite directions.

use thiserror::Error;

use crate::fold::FoldTree;
use crate::geom::Vec3;
use crate::history::PanelName;
use crate::ident::{BendId, EdgeId, FeatureId, FormId, PanelId};

/// A closed triangle mesh in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Mesh {
    /// Positions in mm.
    pub vertices: Vec<Vec3<f64>>,
    /// Triangles, counter-clockwise seen from outside.
    pub faces: Vec<Face>,
}

/// A mesh that knows where the edges of the boundary run in it.
#[derive(Clone, Debug)]
pub struct EdgedMesh {
    /// The mesh.
    pub mesh: Mesh,
    /// Vertices along the edges, edge by edge, both ends included.
    pub(super) vertices: Vec<u32>,
    /// Where each edge's vertices end in that list.
    pub(super) ends: Vec<usize>,
    pub(super) chord_tolerance: f64,
}

impl EdgedMesh {
    /// The mesh's vertices along an edge, from its start to its end. Two that follow each other are the same where
    /// the edge is shorter than a mesh tells apart.
    #[must_use]
    pub fn along(&self, edge: EdgeId) -> &[u32] {
        let from = edge.index().checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.vertices[from..self.ends[edge.index()]]
    }

    /// Largest distance between true curves and their chords, in mm.
    #[must_use]
    pub fn chord_tolerance(&self) -> f64 {
        self.chord_tolerance
    }
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
    /// A form.
    Form(FormId),
}

impl Zone {
    /// What a person calls it, as in ``panel `face` ``.
    #[must_use]
    pub fn described(self, tree: &FoldTree) -> String {
        match self {
            Self::Panel(panel) => format!("panel `{}`", tree.panel(panel).name),
            Self::Bend(bend) => format!("the bend of `{}`", tree.panel(tree.bend(bend).child).name),
            Self::Form(form) => {
                let form = &tree.forms()[form.index()];
                format!("bump `{}` of `{}`", form.name, tree.panel(form.panel).name)
            }
        }
    }

    /// The feature that it belongs to, a bend to that of the panel behind it.
    #[must_use]
    pub fn feature(self, tree: &FoldTree) -> FeatureId {
        match self {
            Self::Panel(panel) => tree.panel(panel).feature,
            Self::Bend(bend) => tree.panel(tree.bend(bend).child).feature,
            Self::Form(form) => tree.forms()[form.index()].feature,
        }
    }
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
