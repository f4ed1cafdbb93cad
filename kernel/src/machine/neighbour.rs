//! One neighbour: its pieces, what is asked of the distance to it, and its axes, planes and points.
//!
//! Invariant: pieces and datums lie in the base panel's coordinates. Must not know: how it was described.

use crate::geom::{Box3, Placement, Vec3};

use super::turning::swept;
use super::{Form, Piece};

/// Something that the cover lives with.
#[derive(Clone, Debug, PartialEq)]
pub struct Neighbour {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: NeighbourKind,
    /// The group it belongs to.
    pub group: Option<String>,
    /// The space it takes up, wherever it moves to.
    pub pieces: Vec<Piece>,
    /// Least distance in mm that the cover keeps to it.
    pub clearance: f64,
    /// Whether the cover may touch it.
    pub contact: Contact,
    /// Whether it hurts who reaches it.
    pub is_hazard: bool,
    /// Its axes, planes and points where it stands at the start of its travel.
    pub datums: Vec<Named>,
}

/// What a neighbour is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NeighbourKind {
    /// A hexagon bolt with what belongs to it.
    Bolt,
    /// A round bar.
    Shaft,
    /// A flat plate.
    Plate,
    /// A cuboid.
    Block,
    /// A chain or belt around wheels.
    DriveLoop,
    /// A shape read from a file.
    Mesh,
}

/// Whether the cover may touch a neighbour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Contact {
    /// It keeps its clearance everywhere.
    Forbidden,
    /// It is bolted to it, or rests on it: faces may touch, but not run into each other.
    Allowed,
}

/// A datum with its name; names are told apart within a kind of datum.
#[derive(Clone, Debug, PartialEq)]
pub struct Named {
    /// Its name, for example `seat`.
    pub name: String,
    /// The thing itself.
    pub datum: Datum,
}

/// A thing that features and dimensions refer to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Datum {
    /// A straight axis: a point of it, and its unit direction.
    Axis(Vec3<f64>, Vec3<f64>),
    /// A plane: a point of it, and its unit normal, which points out of the neighbour.
    Plane(Vec3<f64>, Vec3<f64>),
    /// A point.
    Point(Vec3<f64>),
}

/// Which kind of datum.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DatumKind {
    /// An axis.
    Axis,
    /// A plane.
    Plane,
    /// A point.
    Point,
}

/// How a neighbour moves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// The axis that it turns about, a point and a unit direction, if it turns.
    pub turning: Option<[Vec3<f64>; 2]>,
    /// How far it slides, in mm.
    pub travel: Vec3<f64>,
}

/// The space that a form takes up which stands at `placement` and moves like this.
#[must_use]
pub fn pieces(form: &Form, placement: Placement<f64>, motion: Motion) -> Vec<Piece> {
    let shapes = form.shapes().into_iter().map(|shape| shape.placed(placement));
    let swept = shapes.map(|shape| match motion.turning {
        Some(axis) => swept(&shape, axis).unwrap_or(shape),
        None => shape,
    });
    swept.map(|shape| Piece { shape, travel: motion.travel }).collect()
}

impl NeighbourKind {
    /// As in `a drive loop`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Bolt => "bolt",
            Self::Shaft => "shaft",
            Self::Plate => "plate",
            Self::Block => "block",
            Self::DriveLoop => "drive loop",
            Self::Mesh => "mesh",
        }
    }
}

impl DatumKind {
    /// `axis`, `plane` or `point`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Axis => "axis",
            Self::Plane => "plane",
            Self::Point => "point",
        }
    }
}

impl Datum {
    /// What it is.
    #[must_use]
    pub fn kind(self) -> DatumKind {
        match self {
            Self::Axis(..) => DatumKind::Axis,
            Self::Plane(..) => DatumKind::Plane,
            Self::Point(_) => DatumKind::Point,
        }
    }

    /// The same in the coordinates in which the own ones lie at `placement`.
    #[must_use]
    pub fn placed(self, placement: Placement<f64>) -> Self {
        let point = |p: Vec3<f64>| placement.point(p.x, p.y, p.z);
        let direction = |d: Vec3<f64>| placement.direction(d.x, d.y, d.z);
        match self {
            Self::Axis(through, along) => Self::Axis(point(through), direction(along)),
            Self::Plane(through, normal) => Self::Plane(point(through), direction(normal)),
            Self::Point(at) => Self::Point(point(at)),
        }
    }

    /// The plane `off` mm out of the neighbour; anything else as it is.
    #[must_use]
    pub fn moved_out(self, off: f64) -> Self {
        match self {
            Self::Plane(through, normal) => Self::Plane(through + normal.times(off), normal),
            Self::Axis(..) | Self::Point(_) => self,
        }
    }
}

impl Neighbour {
    /// The box around the space it takes up; none for a mesh without triangles.
    #[must_use]
    pub fn extent(&self) -> Option<Box3> {
        self.pieces.iter().filter_map(Piece::extent).reduce(Box3::union)
    }

    /// The datum with this name.
    #[must_use]
    pub fn datum(&self, kind: DatumKind, name: &str) -> Option<Datum> {
        let found = self.datums.iter().find(|named| named.datum.kind() == kind && named.name == name);
        found.map(|named| named.datum)
    }
}
