//! What a report says of neighbours.
//!
//! Invariant: places are the base panel's coordinates, and extents hold all that a neighbour may move to.

use schemars::JsonSchema;
use serde::Serialize;

use crate::exchange::decimal::rounded;
use crate::machine::{Contact, Neighbour};

/// Something that the part lives with.
#[derive(Serialize, JsonSchema)]
pub(super) struct NeighbourFigures {
    /// Its name.
    name: String,
    /// `bolt`, `shaft`, `plate`, `block`, `drive loop` or `mesh`.
    kind: &'static str,
    /// The group it belongs to; null if it stands by itself.
    group: Option<String>,
    /// Least distance in mm that the part keeps to it.
    clearance_mm: f64,
    /// Whether the part is bolted to it or rests on it, and so may touch it.
    bolted: bool,
    /// Whether it hurts who reaches it.
    hazard: bool,
    /// Lower and upper corner `[x, y, z]` in mm of the smallest box along the base panel's axes around all places that
    /// it may move to.
    bbox_mm: [[f64; 3]; 2],
}

pub(super) fn neighbour_figures(neighbour: &Neighbour) -> NeighbourFigures {
    let extent = neighbour.extent().expect("a mesh without triangles is refused when it is read");
    NeighbourFigures {
        name: neighbour.name.clone(),
        kind: neighbour.kind.word(),
        group: neighbour.group.clone(),
        clearance_mm: rounded(neighbour.clearance),
        bolted: neighbour.contact == Contact::Allowed,
        hazard: neighbour.is_hazard,
        bbox_mm: extent.map(|corner| [corner.x, corner.y, corner.z].map(rounded)),
    }
}
