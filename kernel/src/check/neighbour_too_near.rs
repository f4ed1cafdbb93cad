//! The folded part comes too near to a neighbour, or reaches into it.
//!
//! What it does: compares the smallest distance to a neighbour with what is required of it. Limit: the clearance
//! that the neighbour asks for; where contact is allowed (bolted faces) the two may touch, but not reach into each
//! other by more than [`tolerance::COLLISION_MM`]. Source: none needed, the limit is asked for.
//! Why it is bad: what moves strikes the cover, and what stands is where metal has to be.
//! Use instead: a larger inside size, an opening, a bump over the neighbour, or another place for it.
//! Invariant: a pure rule over what was measured; it knows a neighbour by its name only.

use std::fmt::Write as _;

use crate::fold::FoldTree;
use crate::quantity::tolerance;
use crate::solid::Clearance;

use super::folded_into_itself::described;

/// Whether part and neighbour may touch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Contact {
    /// They are bolted together.
    Allowed,
    /// They have to keep apart.
    Forbidden,
}

/// What is required of the room around a neighbour.
#[derive(Clone, Copy, Debug)]
pub struct Required<'a> {
    /// Name of the neighbour.
    pub neighbour: &'a str,
    /// Smallest distance in mm that it asks for, zero or more.
    pub clearance_mm: f64,
    /// Whether the part may touch it.
    pub contact: Contact,
}

/// What is wrong between part and neighbour, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TooNear {
    /// What, where and by how much.
    pub message: String,
    /// What to do.
    pub hint: String,
}

/// The finding about one neighbour, if what was measured is less than what is required.
#[must_use]
pub fn too_near(tree: &FoldTree, required: Required<'_>, found: &Clearance) -> Option<TooNear> {
    let Required { neighbour, clearance_mm, contact } = required;
    let allowed = match contact {
        Contact::Forbidden => found.distance >= clearance_mm - tolerance::HELD_MM,
        // Either they touch, or they keep the distance.
        Contact::Allowed => {
            found.distance.abs() <= tolerance::COLLISION_MM
                || found.distance >= clearance_mm - tolerance::HELD_MM
        }
    };
    if allowed {
        return None;
    }
    let what = described(tree, found.zone);
    let p = found.on_part;
    let mut message = if found.distance < 0.0 {
        format!("{what} and neighbour `{neighbour}` need the same place, {:.2} mm deep", -found.distance)
    } else {
        format!("{what} comes within {:.2} mm of neighbour `{neighbour}`", found.distance)
    };
    let _ = write!(message, ", at ({:.2}, {:.2}, {:.2})", p.x, p.y, p.z);
    if clearance_mm > 0.0 {
        let _ = write!(message, "; {clearance_mm:.2} mm are required");
    }
    let way = found.direction;
    let missing = clearance_mm.max(0.0) - found.distance;
    let hint = format!(
        "move the neighbour by {missing:.2} mm along ({:.3}, {:.3}, {:.3}), or the metal as far the other way",
        way.x, way.y, way.z
    );
    Some(TooNear { message, hint })
}
