//! The measures of an opening as tables of guards see it. Invariant: lengths are above zero, a slot is at least as
//! long as wide (constructors see to it).

use crate::quantity::Length;

/// The shape of an opening with its measures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum OpeningShape {
    /// A circle.
    Round {
        /// Its diameter.
        diameter: Length,
    },
    /// A square.
    Square {
        /// Its side.
        side: Length,
    },
    /// A slot or an oblong window.
    Slot {
        /// Its narrow measure.
        width: Length,
        /// Its long measure, over its ends.
        length: Length,
    },
    /// Anything else, by the figures that contain it.
    Irregular(Containing),
}

/// The smallest circle, square and slot that contain an opening.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Containing {
    /// Diameter of the circle.
    pub circle: Length,
    /// Side of the square.
    pub square: Length,
    /// Width of the slot.
    pub slot_width: Length,
    /// Length of the slot.
    pub slot_length: Length,
}

impl OpeningShape {
    /// A slot, whichever of its measures is called first.
    #[must_use]
    pub fn slot(one: Length, other: Length) -> Self {
        let (width, length) = if one <= other { (one, other) } else { (other, one) };
        Self::Slot { width, length }
    }

    /// The smaller dimension: what rules that do not tell shapes apart call the width of an opening.
    #[must_use]
    pub fn narrow(&self) -> Length {
        match *self {
            Self::Round { diameter } => diameter,
            Self::Square { side } => side,
            Self::Slot { width, .. } => width,
            Self::Irregular(containing) => containing.slot_width,
        }
    }
}
