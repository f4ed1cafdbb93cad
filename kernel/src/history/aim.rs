//! What should come out as small as the dimensions let it.
//!
//! Invariant: one figure of the blank; how it is brought about is not said here.

use serde::{Deserialize, Serialize};

use crate::diag::{Origin, Span};

/// What the loose free numbers are for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Aim {
    /// The figure that shall be smallest.
    pub smallest: AimFigure,
    /// Where it was written.
    #[serde(skip)]
    pub span: Option<Span>,
}

/// A figure of the blank that can be made small.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AimFigure {
    /// Area of the blank in mm², openings taken off.
    BlankArea,
    /// Mass in kg.
    Mass,
    /// Length in mm of all cuts of the blank, outline and openings.
    CutLength,
}

impl AimFigure {
    /// Every figure.
    pub const ALL: [Self; 3] = [Self::BlankArea, Self::Mass, Self::CutLength];

    /// `blank area`, `mass` or `cut length`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::BlankArea => "blank area",
            Self::Mass => "mass",
            Self::CutLength => "cut length",
        }
    }

    /// `mm²`, `kg` or `mm`.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Self::BlankArea => "mm²",
            Self::Mass => "kg",
            Self::CutLength => "mm",
        }
    }
}

impl Aim {
    /// Name and place, for findings.
    #[must_use]
    pub fn origin(&self) -> Origin {
        Origin { name: format!("aim: {}", self.smallest.word()), span: self.span }
    }
}
