//! Hems: edges bent back on themselves, for stiffness and so that nobody is cut.
//!
//! Invariant: a hem is a flange with numbers that follow from its form; the drawn edge is the outermost line
//! of its bend, so that the drawn size is the size over the hem.

use serde::{Deserialize, Serialize};

use super::{Flange, FlangeEnd, FoldSide, HeldFace, LengthFrom, Relief};
use crate::history::{EdgeName, Number};

/// A hem on one or several edges.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(from = "HemSpec", into = "HemSpec")]
pub struct Hem {
    form: HemForm,
    flange: Flange,
}

/// A hem as it is saved.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HemSpec {
    /// The edges; each makes one panel.
    pub edges: Vec<EdgeName>,
    /// How far it is closed.
    pub form: HemForm,
    /// Towards the inner face or away from it.
    pub side: FoldSide,
    /// The end on the left.
    pub left: FlangeEnd,
    /// The end on the right.
    pub right: FlangeEnd,
}

/// How far a hem is closed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum HemForm {
    /// Pressed flat. It is drawn [`CLOSED_GAP_MM`] open, so that the solid is one body with an inside.
    Closed {
        /// Length in mm over the bend.
        length: Number,
        /// Place of the neutral fibre as a share of the thickness; [`PRESSED_FLAT_K`] if left out. Rules for
        /// bends made in a die do not hold for an edge that is pressed flat.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        k_factor: Option<f64>,
    },
    /// Turned through 180° with a gap.
    Open {
        /// Length in mm over the bend.
        length: Number,
        /// Distance in mm between the two facing faces.
        gap: Number,
    },
    /// Rolled, without a flat behind the bend.
    Rolled {
        /// Inside diameter in mm.
        diameter: Number,
        /// Turn in degrees, from 180 to where the roll meets its own panel.
        turn: Number,
    },
}

/// How far open a closed hem is drawn, in mm (common practice, no source: a pressed hem springs back by about
/// a tenth of a millimetre).
pub const CLOSED_GAP_MM: f64 = 0.1;

/// Neutral fibre of an edge pressed flat: in the middle of the sheet, so that a hem takes about 0.4 t less than
/// its two outside lengths (common practice, no source). DIN 6935 ends at turns of 165°.
pub const PRESSED_FLAT_K: f64 = 0.5;

impl HemForm {
    /// Place of the neutral fibre where the form says it, whatever the sheet's bend rule.
    #[must_use]
    pub fn k_factor(&self) -> Option<f64> {
        match self {
            Self::Closed { k_factor, .. } => Some(k_factor.unwrap_or(PRESSED_FLAT_K)),
            Self::Open { .. } | Self::Rolled { .. } => None,
        }
    }
}

impl Hem {
    /// How far it is closed.
    #[must_use]
    pub fn form(&self) -> &HemForm {
        &self.form
    }

    /// The flange that it is.
    #[must_use]
    pub fn flange(&self) -> &Flange {
        &self.flange
    }
}

impl From<HemSpec> for Hem {
    fn from(spec: HemSpec) -> Self {
        let half_turn = Number::constant(180.0);
        let (turn, length, length_from, radius) = match &spec.form {
            HemForm::Closed { length, .. } => {
                (half_turn, length.clone(), LengthFrom::Outside, Number::constant(0.5 * CLOSED_GAP_MM))
            }
            HemForm::Open { length, gap } => (half_turn, length.clone(), LengthFrom::Outside, gap.times(0.5)),
            HemForm::Rolled { diameter, turn } => {
                (turn.clone(), Number::constant(0.0), LengthFrom::Tangent, diameter.times(0.5))
            }
        };
        let flange = Flange {
            edges: spec.edges,
            turn,
            side: spec.side,
            length,
            length_from,
            holds: HeldFace::Outer,
            left: spec.left,
            right: spec.right,
            outline: None,
            inside_radius: Some(radius),
            relief: Relief::by_rule(),
            corner_relief: None,
            corner_gap: Number::constant(HEM_CORNER_GAP_MM),
        };
        Self { form: spec.form, flange }
    }
}

/// Distance in mm between neighbouring hems at a corner (common practice, no source).
const HEM_CORNER_GAP_MM: f64 = 1.0;

impl From<Hem> for HemSpec {
    fn from(hem: Hem) -> Self {
        let Flange { edges, side, left, right, .. } = hem.flange;
        Self { edges, form: hem.form, side, left, right }
    }
}
