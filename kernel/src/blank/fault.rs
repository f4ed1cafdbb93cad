//! Why a fold tree has no blank. Invariant: every variant has a code that never changes its meaning.

use thiserror::Error;

use crate::diag::{Diagnostic, Origin};
use crate::geom::Point2;

/// A fault of the blank stage. Positions in mm in the blank.
#[derive(Clone, Debug, PartialEq, Error)]
#[expect(missing_docs, reason = "the message of each fault says what its fields are")]
pub enum BlankFault {
    #[error("`{a}` and `{b}` need the same piece of sheet: their flat shapes meet at ({:.3}, {:.3}) of the blank", at.x, at.y)]
    Overlap { a: String, b: String, at: Point2 },
    #[error("the blank's outline does not close near ({:.3}, {:.3})", at.x, at.y)]
    NotClosed { at: Point2 },
    #[error("the blank has {count} outer outlines, one of them near ({:.3}, {:.3}); a blank is one piece of sheet", at.x, at.y)]
    SeveralOutlines { count: usize, at: Point2 },
}

impl BlankFault {
    /// The finding for whoever wrote the history.
    #[must_use]
    pub fn diagnose(&self, origin: Origin) -> Diagnostic {
        let (code, hint) = match self {
            Self::Overlap { .. } => (
                "blank::overlap",
                "make one of them shorter or narrower (`inset`, `taper`), or make it a part of its own",
            ),
            Self::NotClosed { .. } => {
                ("blank::not_closed", "please report this: the history is enough to repeat it")
            }
            Self::SeveralOutlines { .. } => (
                "blank::several_outlines",
                "make the cut that parts it smaller, or leave one joint of a ring of panels open",
            ),
        };
        Diagnostic::fault(code, self.to_string(), origin).hint(hint)
    }
}
