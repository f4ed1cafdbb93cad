//! What a report says of neighbours.
//!
//! Invariant: places are the base panel's coordinates, and extents hold all that a neighbour may move to.

use schemars::JsonSchema;
use serde::Serialize;

use crate::check;
use crate::exchange::Subject;
use crate::exchange::decimal::rounded;
use crate::fold::FoldTree;
use crate::geom::Vec3;
use crate::machine::{Contact, Neighbour};
use crate::solid::{Clearance, ClearanceSpread};

use super::{SpreadFigures, spread_figures};

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
    /// How near the folded part comes to it.
    nearest: NearestFigures,
}

/// How near the folded part comes to a neighbour.
#[derive(Serialize, JsonSchema)]
struct NearestFigures {
    /// Smallest distance in mm; zero where they touch; where they reach into each other, minus the length of the
    /// shortest way found that frees the neighbour.
    distance_mm: f64,
    /// `kept` or `touching` if that is as it should be, `too near` or `overlapping` if not.
    verdict: &'static str,
    /// The panel, bend or bump of the part that is nearest.
    zone: String,
    /// Name of the feature that it belongs to.
    feature: String,
    /// The place `[x, y, z]` in mm on the part; inside both where they overlap.
    on_part_mm: [f64; 3],
    /// The place on the neighbour.
    on_neighbour_mm: [f64; 3],
    /// Unit vector from the part to the neighbour; where they overlap, the way that frees the neighbour.
    direction: [f64; 3],
    /// How far that spreads in the shop, in mm: the distance of the place that comes nearest of all.
    spread: SpreadFigures,
    /// How near the part comes to it with everything at its limit at once, in mm; below zero if both then need the
    /// same place.
    least_mm: f64,
    /// Whether a surface of the neighbour has a border, so that it cannot be told whether the part lies inside it.
    open: bool,
}

pub(super) fn neighbour_figures(subject: &Subject<'_>) -> Vec<NeighbourFigures> {
    let measured = subject.clearances.iter().zip(subject.clearance_spreads);
    let all = subject.neighbours.iter().zip(measured);
    all.map(|(neighbour, (found, spread))| figures(subject.tree, neighbour, found, spread)).collect()
}

fn figures(
    tree: &FoldTree,
    neighbour: &Neighbour,
    found: &Clearance,
    spread: &ClearanceSpread,
) -> NeighbourFigures {
    let extent = neighbour.extent().expect("a mesh without triangles is refused when it is read");
    NeighbourFigures {
        name: neighbour.name.clone(),
        kind: neighbour.kind.word(),
        group: neighbour.group.clone(),
        clearance_mm: rounded(neighbour.clearance),
        bolted: neighbour.contact == Contact::Allowed,
        hazard: neighbour.is_hazard,
        bbox_mm: [extent.low, extent.high].map(coordinates),
        nearest: NearestFigures {
            distance_mm: rounded(found.distance),
            verdict: check::room(neighbour, found).words(),
            zone: found.zone.described(tree),
            feature: tree.origin(found.zone.feature(tree)).name.clone(),
            on_part_mm: coordinates(found.on_part),
            on_neighbour_mm: coordinates(found.on_neighbour),
            direction: coordinates(found.direction),
            spread: spread_figures(&spread.spread),
            least_mm: rounded(spread.least),
            open: found.is_open,
        },
    }
}

fn coordinates(v: Vec3<f64>) -> [f64; 3] {
    [v.x, v.y, v.z].map(rounded)
}
