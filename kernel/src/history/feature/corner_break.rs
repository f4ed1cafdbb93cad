//! Corners that are rounded or chamfered. Invariant: acts on convex corners of flat panels only.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::history::{Number, PanelName};

/// A break of outer corners.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CornerBreak {
    /// Which corners.
    pub corners: Corners,
    /// Round or chamfer, with its size.
    pub shape: BreakShape,
}

/// Which corners are broken.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Corners {
    /// Every corner that the outline turns outwards at between drawn edges and openings, on every panel that
    /// was there before; corners at bends, beside reliefs and at earlier breaks stay.
    AllOuter,
    /// The same without these ones.
    AllOuterBut(Vec<CornerName>),
    /// These ones.
    Named(Vec<CornerName>),
}

/// The corners of a panel at which two sides meet; there may be several.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CornerName {
    /// The panel.
    pub panel: PanelName,
    /// The two sides, in either order: a drawn edge by its role, the edge of an opening by the feature that
    /// cut it, the side of a relief by the panel whose bend it ends.
    pub between: [String; 2],
}

/// How a corner is broken.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BreakShape {
    /// An arc of this radius in mm, tangent to both edges.
    Round(Number),
    /// A straight cut this many mm from the corner along both edges.
    Chamfer(Number),
}

impl CornerName {
    /// Whether both mean the same corners.
    #[must_use]
    pub fn is_alike(&self, other: &Self) -> bool {
        let ([a, b], [c, d]) = (&self.between, &other.between);
        self.panel == other.panel && ((a == c && b == d) || (a == d && b == c))
    }
}

impl fmt::Display for CornerName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}+{}", self.panel, self.between[0], self.between[1])
    }
}
