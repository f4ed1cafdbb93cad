//! Seams: how the end of a flange is cut where it comes near to another panel.
//!
//! Invariant: names edges and panels and says what is wanted; where the cut runs is the business of the fold
//! stage (`docs/math/corner-seam.md`). What it says replaces the inset and taper of the edges that it cuts.

use serde::{Deserialize, Serialize};

use crate::history::{EdgeName, Number, PanelName};

/// One seam. The edges that it cuts are the `left`, `right` or `tip` of flanges; gaps are the smallest
/// distance in space between the flat sheets, in mm.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Seam {
    /// Both flanges are cut, so that the inner edges of the two lie a gap apart.
    Meet {
        /// One edge.
        a: EdgeName,
        /// The other edge.
        b: EdgeName,
        /// What is left between them.
        gap: Number,
    },
    /// One flange runs past the other, which stops short of it.
    Lap {
        /// Edge of the flange that runs past.
        cover: EdgeName,
        /// Edge of the flange that stops.
        under: EdgeName,
        /// What is left between them.
        gap: Number,
        /// How far the covering flange runs past the line in which the two inner faces meet, in mm along its
        /// own face; none to end flush with the outer face of the covered one.
        overlap: Option<Number>,
    },
    /// An edge is lengthened or shortened until it is a gap from its neighbour.
    Close {
        /// The edge.
        edge: EdgeName,
        /// What it comes near to.
        to: Neighbour,
        /// What is left between them.
        gap: Number,
    },
    /// An end is cut so that it touches the plane of a face from one side.
    Flush {
        /// The edge.
        edge: EdgeName,
        /// The panel with the face.
        panel: PanelName,
        /// Which face of that panel.
        face: SheetFace,
    },
}

/// What an edge is closed to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Neighbour {
    /// The face of this panel that looks at the edge.
    Panel(PanelName),
    /// The end of another panel.
    Edge(EdgeName),
}

/// A face of the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SheetFace {
    /// The face that a bend up has on its inside.
    Inner,
    /// The other one.
    Outer,
}

impl Seam {
    /// The edges that it cuts.
    #[must_use]
    pub fn cut_edges(&self) -> Vec<&EdgeName> {
        match self {
            Self::Meet { a, b, .. } => vec![a, b],
            Self::Lap { cover, under, .. } => vec![cover, under],
            Self::Close { edge, .. } | Self::Flush { edge, .. } => vec![edge],
        }
    }

    /// The gap, if one is asked for.
    #[must_use]
    pub fn gap(&self) -> Option<&Number> {
        match self {
            Self::Meet { gap, .. } | Self::Lap { gap, .. } | Self::Close { gap, .. } => Some(gap),
            Self::Flush { .. } => None,
        }
    }

    /// The overlap, if one is asked for.
    #[must_use]
    pub fn overlap(&self) -> Option<&Number> {
        match self {
            Self::Lap { overlap, .. } => overlap.as_ref(),
            Self::Meet { .. } | Self::Close { .. } | Self::Flush { .. } => None,
        }
    }
}
