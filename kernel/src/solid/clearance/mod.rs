//! How near the folded part comes to a neighbour, or how deep the two reach into each other.
//!
//! Job: the smallest distance of the true metal (arcs, bends and bumps are round) to a neighbour's pieces, where it
//! is, and which zone is there; where they overlap, the shortest way out. Derivation: `docs/math/clearance.md`.
//! Invariant: metal is solid and neighbours are too, so that what lies wholly inside the other is found; moving
//! both together changes nothing. Must not know: what is required, and what a neighbour is.

mod cell;
mod freeing;
mod metal;
mod motion;
mod nearest;
mod obstacle;
mod place;
mod plan;
mod spread;

pub use metal::Metal;
pub use obstacle::Obstacle;
pub use spread::{ClearanceSpread, clearance_spreads};

use crate::geom::Vec3;
use crate::machine::Neighbour;
use crate::quantity::tolerance;

use super::Zone;
use nearest::Nearest;

/// Where a part and a neighbour come nearest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clearance {
    /// Smallest distance in mm: zero where they touch; where they reach into each other, minus the length of the
    /// shortest way that frees the neighbour.
    pub distance: f64,
    /// The zone of the part.
    pub zone: Zone,
    /// The point of the part, in mm; where they overlap, a point inside both.
    pub on_part: Vec3<f64>,
    /// The point of the neighbour, in mm; where they overlap, the same point.
    pub on_neighbour: Vec3<f64>,
    /// Unit vector from the part to the neighbour. Where they overlap, the neighbour becomes free when it is moved
    /// along it.
    pub direction: Vec3<f64>,
    /// Whether a surface of the neighbour has a border, so that nobody can tell whether the part lies inside it.
    pub is_open: bool,
}

/// How near the metal comes to each of these neighbours, in their order.
///
/// # Panics
/// If a neighbour takes up no place.
#[must_use]
pub fn clearances(metal: &Metal<'_>, neighbours: &[Neighbour]) -> Vec<Clearance> {
    let to = |neighbour: &Neighbour| {
        clearance(metal, &Obstacle::new(&neighbour.pieces))
            .expect("a part has metal, and a mesh without triangles is refused when it is read")
    };
    neighbours.iter().map(to).collect()
}

/// How near metal and obstacle come; none if there is nothing of one of them.
#[must_use]
pub fn clearance(metal: &Metal<'_>, obstacle: &Obstacle<'_>) -> Option<Clearance> {
    let found = nearest::nearest(metal, obstacle)?;
    let is_open = obstacle.is_open();
    let (at, zone) = match found {
        Nearest::Apart(apart, zone) => {
            let [on_part, on_neighbour] = apart.points;
            if !obstacle.holds(on_part) {
                let (distance, direction) = (apart.distance, apart.normal);
                return Some(Clearance { distance, zone, on_part, on_neighbour, direction, is_open });
            }
            (on_part, zone)
        }
        Nearest::Meet(at, zone) => (at, zone),
    };
    let way = freeing::freeing(metal, obstacle, at);
    let distance = if way.length <= tolerance::CLEARANCE_MM { 0.0 } else { -way.length };
    Some(Clearance { distance, zone, on_part: at, on_neighbour: at, direction: way.direction, is_open })
}
