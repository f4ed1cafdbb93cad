//! Dimensions: measures of the folded part that must hold, or that are only reported.
//!
//! Invariant: a dimension names panels and edges; it never holds geometry.

use serde::{Deserialize, Serialize};

use super::{EdgeName, Number, PanelName};
use crate::diag::{Origin, Span};

/// One dimension of a history.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DimensionEntry {
    /// Name in reports and messages.
    pub name: String,
    /// What is measured.
    pub kind: DimensionKind,
    /// Whether it must hold.
    pub target: Target,
    /// Where it was written.
    #[serde(skip)]
    pub span: Option<Span>,
}

/// What a dimension measures.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum DimensionKind {
    /// Clear distance in mm between two parallel panels: between the two faces that look at each other.
    Inside {
        /// One panel.
        a: PanelName,
        /// The other panel.
        b: PanelName,
    },
    /// Overall distance in mm over two parallel panels: between the two faces that look away.
    Outside {
        /// One panel.
        a: PanelName,
        /// The other panel.
        b: PanelName,
    },
    /// Distance in mm between two parallel edges of one panel, as drawn.
    PanelWidth {
        /// One edge.
        a: EdgeName,
        /// The other edge, of the same panel.
        b: EdgeName,
    },
    /// Angle in degrees between the inner faces' normals of two panels, 0 to 180: for a flange and the
    /// panel it stands on, the turn of the bend between them.
    Angle {
        /// One panel.
        a: PanelName,
        /// The other panel.
        b: PanelName,
    },
}

/// Whether a dimension must hold.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Target {
    /// The solver moves free numbers until the measure has this value.
    Held(Number),
    /// Only reported.
    Measured,
}

impl DimensionEntry {
    /// Name and place, for findings.
    #[must_use]
    pub fn origin(&self) -> Origin {
        Origin { name: self.name.clone(), span: self.span }
    }
}

impl DimensionKind {
    /// Names of the two things it measures between.
    #[must_use]
    pub fn between(&self) -> (String, String) {
        match self {
            Self::Inside { a, b } | Self::Outside { a, b } | Self::Angle { a, b } => {
                (a.to_string(), b.to_string())
            }
            Self::PanelWidth { a, b } => (a.to_string(), b.to_string()),
        }
    }

    /// Word for reports: `inside`, `outside`, `panel width`, `angle`.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Inside { .. } => "inside",
            Self::Outside { .. } => "outside",
            Self::PanelWidth { .. } => "panel width",
            Self::Angle { .. } => "angle",
        }
    }

    /// Unit of the measure: `mm` or `deg`.
    #[must_use]
    pub fn unit(&self) -> &'static str {
        match self {
            Self::Inside { .. } | Self::Outside { .. } | Self::PanelWidth { .. } => "mm",
            Self::Angle { .. } => "deg",
        }
    }
}
