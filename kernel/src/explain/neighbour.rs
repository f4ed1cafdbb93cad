//! A clearance to a neighbour: how near the part comes to it, and what moves that in the shop.
//! Invariant: the steps add up to the worst case.

use crate::check;
use crate::geom::place_in_words;
use crate::history::NeighbourEntry;
use crate::machine::Neighbour;
use crate::solid::{Clearance, ClearanceSpread};

use super::{Explanation, Figure, Step, Subject};

pub(super) fn explain(
    subject: Subject<'_>,
    neighbour: &Neighbour,
    found: &Clearance,
    spread: &ClearanceSpread,
) -> Explanation {
    let at = |zone: crate::solid::Zone| zone.described(subject.tree);
    let mut heading = format!(
        "clearance to `{}` is {:.3} mm at {} {}, {} ({:.3} mm are required); in the shop at least {:.3} mm",
        neighbour.name,
        found.distance,
        at(found.zone),
        place_in_words(found.on_part, 1),
        check::room(neighbour, found).words(),
        neighbour.clearance,
        spread.least
    );
    if spread.zone != found.zone {
        heading.push_str(&format!(", at {}", at(spread.zone)));
    }
    let steps = spread.spread.contributions.iter().map(|c| {
        let how = format!("{:.4} mm for each mm or degree, off by {:.3}", c.sensitivity, c.limit);
        Step::new(c.name.clone(), (c.sensitivity * c.limit).abs(), "mm", how)
    });
    let described = subject.history.neighbours.iter().find(|entry| entry.name == neighbour.name);
    Explanation {
        heading,
        origin: described.map(NeighbourEntry::origin),
        steps: steps.collect(),
        total: Some(Figure { value: spread.spread.worst, unit: "mm" }),
        sources: vec!["how far a part spreads in the shop: docs/math/tolerance-stack.md".to_owned()],
    }
}
