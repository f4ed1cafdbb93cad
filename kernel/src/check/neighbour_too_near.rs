//! The folded part comes too near to a neighbour, or reaches into it.
//!
//! What it does: compares the smallest distance to a neighbour with what is required of it. Limit: the clearance
//! that the neighbour asks for; where contact is allowed (bolted faces) the two may touch, but not reach into each
//! other by more than [`tolerance::COLLISION_MM`]. Source: none needed, the limit is asked for.
//! Why it is bad: what moves strikes the cover, and what stands is where metal has to be.
//! Use instead: a larger inside size, an opening, a bump over the neighbour, or another place for it.
//! Invariant: one finding for each neighbour, which is the rule's own verdict and nobody else's; a fault, since the
//! cover cannot be put there.

use std::fmt::Write as _;

use crate::diag::{Bound, Diagnostic, Measure};
use crate::fold::FoldTree;
use crate::geom::place_in_words;
use crate::machine::{Contact, Neighbour};
use crate::quantity::tolerance;
use crate::solid::Clearance;

use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "the clearance that each neighbour asks for; those bolted on may touch, but not reach into the part by \
        more than 0.01 mm",
    source: "none needed: each neighbour says it",
    of: &[],
    run,
};

const CODE: &str = "check::neighbour_too_near";

/// How part and neighbour get on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Room {
    /// The part keeps the clearance.
    Kept,
    /// They touch, as bolted things may.
    Touching,
    /// They are nearer than they should be.
    TooNear,
    /// They need the same place.
    Overlapping,
}

impl Room {
    /// `kept`, `touching`, `too near` or `overlapping`.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Kept => "kept",
            Self::Touching => "touching",
            Self::TooNear => "too near",
            Self::Overlapping => "overlapping",
        }
    }
}

/// What is measured, held against what is required.
#[must_use]
pub fn room(neighbour: &Neighbour, found: &Clearance) -> Room {
    let may_touch = neighbour.contact == Contact::Allowed;
    if may_touch && found.distance.abs() <= tolerance::COLLISION_MM {
        Room::Touching
    } else if found.distance >= neighbour.clearance - tolerance::HELD_MM {
        Room::Kept
    } else if found.distance < 0.0 {
        Room::Overlapping
    } else {
        Room::TooNear
    }
}

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let all = subject.neighbours.iter().zip(subject.clearances);
    let wrong = all.filter(|(neighbour, found)| match room(neighbour, found) {
        Room::Kept | Room::Touching => false,
        Room::TooNear | Room::Overlapping => true,
    });
    wrong.map(|(neighbour, found)| finding(subject, neighbour, found)).collect()
}

fn finding(subject: Subject<'_>, neighbour: &Neighbour, found: &Clearance) -> Diagnostic {
    let required = neighbour.clearance;
    let feature = subject.tree.origin(found.zone.feature(subject.tree)).clone();
    let described = subject.described.iter().find(|entry| entry.name == neighbour.name);
    let mut origins: Vec<_> = described.map(crate::history::NeighbourEntry::origin).into_iter().collect();
    origins.push(feature);
    // Adding zero makes -0 the same as 0.
    let [x, y, z] = [found.direction.x, found.direction.y, found.direction.z]
        .map(|share| (share * 1000.0).round() / 1000.0 + 0.0);
    let missing = required - found.distance;
    let hint = format!(
        "move the neighbour by {missing:.2} mm along ({x:.3}, {y:.3}, {z:.3}), or the metal as far the other way"
    );
    let source = format!("asked for by `{}`", neighbour.name);
    let measure = Measure {
        got: found.distance,
        limit: required,
        bound: Bound::AtLeast,
        unit: "mm",
        places: 1,
        source,
    };
    let mut finding = Diagnostic::fault(CODE, message(subject.tree, neighbour, found), None).hint(hint);
    finding.origins = origins;
    finding.measure = Some(Box::new(measure));
    finding
}

fn message(tree: &FoldTree, neighbour: &Neighbour, found: &Clearance) -> String {
    let (name, required) = (&neighbour.name, neighbour.clearance);
    let what = found.zone.described(tree);
    let mut message = if found.distance < 0.0 {
        format!("{what} and neighbour `{name}` need the same place, {:.2} mm deep", -found.distance)
    } else {
        format!("{what} comes within {:.2} mm of neighbour `{name}`", found.distance)
    };
    let _ = write!(message, ", at {}", place_in_words(found.on_part, 2));
    if required > 0.0 {
        let _ = write!(message, "; {required:.2} mm are required");
    }
    if neighbour.contact == Contact::Allowed {
        message.push_str("; they may touch");
    }
    message
}
