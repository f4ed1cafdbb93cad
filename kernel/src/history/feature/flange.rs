//! Flanges: panels bent from straight edges. Invariant: one panel for each edge named, in that order.

use serde::{Deserialize, Serialize};

use crate::history::{EdgeName, Number};

/// A flange on one or several edges.
///
/// Seen from the inner face with the bend at the bottom, the flange's x runs to the right along the bend
/// and its y away from it; its edges are `left`, `tip` and `right`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Flange {
    /// The edges to bend from; each makes one panel.
    pub edges: Vec<EdgeName>,
    /// Angle through which the sheet is turned, in degrees, above 0 and below 180.
    pub turn: Number,
    /// Towards the inner face or away from it.
    pub side: FoldSide,
    /// Length in mm, measured as `length_from` says.
    pub length: Number,
    /// From where the length is measured.
    pub length_from: LengthFrom,
    /// What stays at the drawn edge.
    pub holds: HeldFace,
    /// The end on the left.
    pub left: FlangeEnd,
    /// The end on the right.
    pub right: FlangeEnd,
    /// Inside radius in mm; the sheet's if none.
    pub inside_radius: Option<Number>,
    /// Shape and size of the cut beside a bend that ends within its edge.
    pub relief: Relief,
    /// Distance in mm that is left to a neighbouring flange at a common corner.
    pub corner_gap: Number,
}

/// One end of a flange.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FlangeEnd {
    /// Distance in mm by which the flange stops short of the drawn edge's end.
    pub inset: Number,
    /// Angle in degrees by which the side leans inwards; negative leans outwards. At a corner shared with a
    /// neighbouring flange the side leans inwards as far as the neighbour needs, if that is more.
    pub taper: Number,
}

/// Which way a flange is bent.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FoldSide {
    /// Towards the inner face.
    Up,
    /// Away from the inner face.
    Down,
}

impl FoldSide {
    /// `+1` for up, `-1` for down.
    #[must_use]
    pub fn sign(self) -> f64 {
        match self {
            Self::Up => 1.0,
            Self::Down => -1.0,
        }
    }

    /// The other side.
    #[must_use]
    pub fn opposite(self) -> Self {
        match self {
            Self::Up => Self::Down,
            Self::Down => Self::Up,
        }
    }

    /// `up` or `down`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Up => "up",
            Self::Down => "down",
        }
    }
}

/// From where a flange's length is measured. Outside and inside mean the bend's outside and inside.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LengthFrom {
    /// The outer corner, or the outermost line of the bend when the turn is above 90°.
    Outside,
    /// The inner corner, or the innermost line of the bend when the turn is above 90°.
    Inside,
    /// The line where the bend ends and the flat begins.
    Tangent,
}

/// What stays at the drawn edge when a flange is bent from it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HeldFace {
    /// The outer corner of the bend: the drawn size is the outside size.
    Outer,
    /// The inner corner of the bend: the drawn size is the inside size.
    Inner,
    /// The line where the bend starts: the drawn size is the flat size.
    BendStart,
}

/// The cut beside a bend that ends within its edge.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Relief {
    /// Square or round bottom.
    pub shape: ReliefShape,
    /// Width along the edge in mm; a rule by thickness if none.
    pub width: Option<Number>,
    /// Depth beyond the line where the bend starts in mm; a rule by thickness and radius if none.
    pub depth: Option<Number>,
}

/// How a relief ends in the panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReliefShape {
    /// With two square corners.
    Square,
    /// With a half circle as wide as the relief.
    Round,
}
