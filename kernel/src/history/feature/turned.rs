//! Another angle for a panel that is there already. Invariant: changes one turn; lengths and lines stay as
//! asked for, and held dimensions hold at the new angle.

use serde::{Deserialize, Serialize};

use crate::history::{Number, PanelName};

/// Gives the bend before a panel another turn: of a flange, of the panel behind a fold line, of an offset's
/// web (both its bends, so that the moved piece stays parallel) or of the piece behind it (its last bend).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Turned {
    /// The panel.
    pub panel: PanelName,
    /// The new turn in degrees, above 0 and below 180.
    pub turn: Number,
}
