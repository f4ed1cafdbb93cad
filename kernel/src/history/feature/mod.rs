//! Features: what is done to the sheet, one file each.
//!
//! Invariant: a feature is plain data with mm and degrees; what it does is the business of later stages.

mod base_panel;
mod bump;
mod corner_break;
mod cutout;
mod flange;
mod hem;
mod line_bend;
mod seam;
mod turned;

use serde::{Deserialize, Serialize};

use crate::diag::Span;
use crate::history::{Profile, Shape};

pub use base_panel::BasePanel;
pub use bump::{Bump, BumpChange, BumpOver, BumpSide};
pub use corner_break::{BreakShape, CornerBreak, CornerName, Corners};
pub use cutout::{Cutout, Facing, FillArea, Pattern, Reach, Spacing, Straight, StraightSide, XFrom};
pub use flange::{CornerRelief, Flange, FlangeEnd, FoldSide, HeldFace, LengthFrom, NotchSize, Relief};
pub use hem::{CLOSED_GAP_MM, Hem, HemForm, HemSpec, PRESSED_FLAT_K};
pub use line_bend::{DrawnLine, FoldLine, KeptSize, LineMarks, Offset, StepFaces};
pub use seam::{Neighbour, Seam, SheetFace};
pub use turned::Turned;

/// A named feature of a history.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FeatureEntry {
    /// Name, unique in the history; panels and edges are named after it.
    pub name: String,
    /// What it does.
    pub feature: Feature,
    /// Where it was written.
    #[serde(skip)]
    pub span: Option<Span>,
}

/// What a feature does.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Feature {
    /// The first panel.
    BasePanel(BasePanel),
    /// Panels bent up or down from edges.
    Flange(Flange),
    /// How ends of flanges are cut where they come near to each other.
    Seam(Seam),
    /// Edges bent back on themselves.
    Hem(Hem),
    /// A bend along a drawn line.
    FoldLine(FoldLine),
    /// A step along a drawn line.
    Offset(Offset),
    /// Another angle for a panel.
    Turned(Turned),
    /// Openings in a panel or across bends.
    Cutout(Cutout),
    /// Rounded or chamfered corners.
    CornerBreak(CornerBreak),
    /// Raised forms pressed into one panel.
    Bump(Bump),
    /// Raised forms over the heads of bolts.
    BumpOver(BumpOver),
    /// Another profile or height of bumps that were made before.
    BumpChange(BumpChange),
}

impl Feature {
    /// The outline that was drawn for it, if it has one.
    #[must_use]
    pub fn profile(&self) -> Option<&Profile> {
        match self {
            Self::BasePanel(base) => Some(&base.outline),
            Self::Flange(flange) => flange.outline.as_ref(),
            Self::Cutout(cutout) => cutout.shape.profile(),
            Self::Bump(bump) => bump.profile.profile(),
            Self::BumpChange(change) => change.profile.as_ref().and_then(Shape::profile),
            Self::Hem(_)
            | Self::BumpOver(_)
            | Self::FoldLine(_)
            | Self::Offset(_)
            | Self::Turned(_)
            | Self::Seam(_)
            | Self::CornerBreak(_) => None,
        }
    }
}
