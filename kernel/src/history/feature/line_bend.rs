//! Bends along a line drawn on a panel: fold line and offset.
//!
//! What lies to the left of the line, on the way from its first point to its second, is moved; on a flange
//! the piece with the bend it hangs on stays. The moved piece becomes a panel named after the feature; what
//! stood on its edges travels along.
//! Invariant: one line a feature, straight across the panel.

use serde::{Deserialize, Serialize};

use super::FoldSide;
use crate::history::{Number, PanelName};

/// A panel bent along a drawn line. The sheet keeps its drawn flat size.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FoldLine {
    /// The panel.
    pub panel: PanelName,
    /// The line.
    pub line: DrawnLine,
    /// What of the bend lies on the line.
    pub marks: LineMarks,
    /// Angle through which the moved piece is turned, in degrees, above 0 and below 180.
    pub turn: Number,
    /// Towards the inner face or away from it.
    pub side: FoldSide,
    /// Inside radius in mm; the sheet's if none.
    pub inside_radius: Option<Number>,
}

/// A step: two bends of opposite sense with a web between them, so that the moved piece lies parallel to the
/// panel. The web is a panel named `<feature>.web`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Offset {
    /// The panel.
    pub panel: PanelName,
    /// The line.
    pub line: DrawnLine,
    /// What of the stepped zone lies on the line.
    pub marks: LineMarks,
    /// Height of the step in mm, measured as `between` says.
    pub height: Number,
    /// Between which faces the height is measured.
    pub between: StepFaces,
    /// Turn of both bends in degrees, above 0 and below 180. A step too small for a web at this turn gets
    /// the turn at which the two bends follow each other directly.
    pub turn: Number,
    /// Towards the inner face or away from it.
    pub side: FoldSide,
    /// Inside radius of both bends in mm; the sheet's if none.
    pub inside_radius: Option<Number>,
    /// What size of the panel stays as drawn.
    pub keeps: KeptSize,
}

/// A straight line on a panel, in the panel's drawn coordinates.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum DrawnLine {
    /// Through two points `[x, y]` in mm; what lies to the left moves.
    Through([Number; 2], [Number; 2]),
    /// Parallel to a straight edge of the panel, inwards of it; the edge's side moves.
    Beside {
        /// Role of the edge.
        edge: String,
        /// Distance from the edge in mm.
        distance: Number,
    },
}

/// What of the bent zone lies on the drawn line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LineMarks {
    /// Where the first bend starts.
    Start,
    /// The middle of the zone.
    Middle,
    /// Where the last bend ends.
    End,
}

/// Between which faces the height of a step is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StepFaces {
    /// From inner face to inner face, which is the same as from outer to outer.
    Same,
    /// Clear height: between the two faces that look at each other. One thickness less than `Same`.
    Facing,
    /// Overall height: between the two faces that look away. One thickness more than `Same`.
    Away,
}

/// What size stays as drawn when a panel gets a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum KeptSize {
    /// The size of the stepped panel seen along its normal; the blank grows.
    Folded,
    /// The size of the blank; the stepped panel becomes shorter.
    Blank,
}
