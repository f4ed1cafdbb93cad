//! What a piece of contour is: meaning of the [`Tag`]s on panels and strips.
//!
//! Invariant: one tag for each label of a tree, so that equal labels have equal tags.

use crate::geom::Tag;
use crate::history::{EdgeName, PanelName};
use crate::ident::{BendId, FeatureId};

/// What a piece of a zone's contour is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EdgeLabel {
    /// A cut edge with a lasting name.
    Edge(EdgeName),
    /// The line where a panel meets the start of a bend that hangs on it.
    CreaseStart(BendId),
    /// The line where a bend ends and its own panel begins.
    CreaseEnd(BendId),
    /// The cut end of a bend strip.
    StripEnd(BendId),
    /// The cut beside a bend that ends within its edge, or the ledge beside a corner.
    Relief(PanelName),
    /// The edge of an opening.
    Opening(FeatureId),
    /// A broken corner.
    CornerBreak(FeatureId),
}

impl EdgeLabel {
    /// Whether sheet goes on behind the piece, so that it is no edge of the part.
    #[must_use]
    pub fn is_crease(&self) -> bool {
        match self {
            Self::CreaseStart(_) | Self::CreaseEnd(_) => true,
            Self::Edge(_) | Self::StripEnd(_) | Self::Relief(_) | Self::Opening(_) | Self::CornerBreak(_) => {
                false
            }
        }
    }
}

/// The labels of a tree, indexed by tag.
#[derive(Clone, Debug, Default)]
pub struct Labels(Vec<EdgeLabel>);

impl Labels {
    /// The tag of a label; the label is added if it is new.
    pub(super) fn tag(&mut self, label: EdgeLabel) -> Tag {
        let index = self.0.iter().position(|l| *l == label).unwrap_or_else(|| {
            self.0.push(label);
            self.0.len() - 1
        });
        Tag(u32::try_from(index).expect("a part has fewer than 2^32 labels"))
    }

    /// The label of a tag.
    ///
    /// # Panics
    /// If the tag is of another tree.
    #[must_use]
    pub fn label(&self, tag: Tag) -> &EdgeLabel {
        &self.0[tag.0 as usize]
    }
}
