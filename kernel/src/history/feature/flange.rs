//! Flanges: panels bent from straight edges. Invariant: one panel for each edge named, in that order.

use serde::{Deserialize, Serialize};

use crate::history::{EdgeName, Number, Profile};
use crate::stock::LengthDatum;

/// A flange on one or several edges.
///
/// Seen from the inner face with the bend at the bottom, the flange's x runs to the right along the bend, from
/// the left end of the edge that it stands on, and its y away from it, counted as its length is; its edges are
/// `left`, `tip` and `right`, unless it has an outline of its own.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Flange {
    /// The edges to bend from; each makes one panel.
    pub edges: Vec<EdgeName>,
    /// Angle through which the sheet is turned, in degrees, above 0 and below 180.
    pub turn: Number,
    /// Towards the inner face or away from it.
    pub side: FoldSide,
    /// Length in mm, measured as `length_from` says; the constant 0 with an outline.
    pub length: Number,
    /// From where the length, or the outline's y, is measured.
    pub length_from: LengthFrom,
    /// What stays at the drawn edge.
    pub holds: HeldFace,
    /// The end on the left; all zero with an outline.
    pub left: FlangeEnd,
    /// The end on the right; all zero with an outline.
    pub right: FlangeEnd,
    /// Its shape, if it is drawn: in the flange's x and y, the first edge along y = 0. What of it lies beyond
    /// the end of the bend is flat, exactly as drawn; the bend is as wide as the outline is where it ends. No
    /// neighbour and no seam trims it, and its edges have the names of the drawing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outline: Option<Profile>,
    /// Inside radius in mm; the sheet's if none.
    pub inside_radius: Option<Number>,
    /// What is done beside a bend that ends within its edge.
    pub relief: Relief,
    /// What is done where its bend meets a neighbour's at a corner; none to follow the neighbour, and to tear
    /// if neither says anything.
    pub corner_relief: Option<CornerRelief>,
    /// Distance in mm that is left to a neighbouring flange at a common corner.
    pub corner_gap: Number,
}

impl Flange {
    /// Length, insets and tapers, none of which a drawn outline leaves anything to say.
    #[must_use]
    pub fn sizes(&self) -> [(&'static str, &Number); 5] {
        [
            ("length", &self.length),
            ("inset on the left", &self.left.inset),
            ("inset on the right", &self.right.inset),
            ("taper on the left", &self.left.taper),
            ("taper on the right", &self.right.taper),
        ]
    }
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

impl LengthFrom {
    /// The datum of the bend formulas.
    #[must_use]
    pub fn datum(self) -> LengthDatum {
        match self {
            Self::Outside => LengthDatum::Outside,
            Self::Inside => LengthDatum::Inside,
            Self::Tangent => LengthDatum::Tangent,
        }
    }
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

/// What is done beside a bend that ends within its edge.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Relief {
    /// A notch with two square corners.
    Square(NotchSize),
    /// A notch that ends in a half circle as wide as itself.
    Round(NotchSize),
    /// The sheet is parted along a line that runs to the start of the bend.
    Tear,
    /// No notch: the stretch of edge beside the bend is moved back to the line where the bend starts.
    None,
}

/// Size of a notch beside a bend.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NotchSize {
    /// Width along the edge in mm; a rule by thickness if none.
    pub width: Option<Number>,
    /// Depth beyond the line where the bend starts in mm; a rule by thickness and radius if none.
    pub depth: Option<Number>,
}

/// What is done where two bends meet at a corner. Sizes are in mm along each bend from their common corner; a
/// rule by thickness and radius if none.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CornerRelief {
    /// The panel loses a square (a rhombus at an oblique corner), and both bends stop there.
    Square(Option<Number>),
    /// The panel loses a circle about the common corner of the bends, and both bends stop there.
    Round(Option<Number>),
    /// Nothing is cut: the bends meet in a point, where the sheet tears when it is bent.
    Tear,
    /// Nothing is cut: both bends stop short of the common corner, and the panel keeps it.
    None(Option<Number>),
}

impl Relief {
    /// A square notch with sizes by rule: what is cut unless something else is asked for.
    #[must_use]
    pub fn by_rule() -> Self {
        Self::Square(NotchSize { width: None, depth: None })
    }

    /// Sizes of the notch, if there is one.
    #[must_use]
    pub fn notch(&self) -> Option<&NotchSize> {
        match self {
            Self::Square(size) | Self::Round(size) => Some(size),
            Self::Tear | Self::None => None,
        }
    }
}

impl CornerRelief {
    /// The size given by hand.
    #[must_use]
    pub fn size(&self) -> Option<&Number> {
        match self {
            Self::Square(size) | Self::Round(size) | Self::None(size) => size.as_ref(),
            Self::Tear => None,
        }
    }
}
