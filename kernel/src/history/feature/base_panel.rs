//! The base panel: the first flat zone, from which all others are bent. Invariant: exactly one a history,
//! and the first feature.

use serde::{Deserialize, Serialize};

use crate::history::Profile;

/// A flat panel of any closed outline. Its inner face looks along +z of the part.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BasePanel {
    /// The outline, with an edge name for each side.
    pub outline: Profile,
}
