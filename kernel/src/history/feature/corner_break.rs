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
    /// Every convex corner between two free edges, on every panel that was there before.
    AllOuter,
    /// These ones.
    Named(Vec<CornerName>),
}

/// A corner of a panel, by the two edges that meet there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CornerName {
    /// The panel.
    pub panel: PanelName,
    /// Roles of the two edges, in either order.
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

impl fmt::Display for CornerName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}+{}", self.panel, self.between[0], self.between[1])
    }
}
