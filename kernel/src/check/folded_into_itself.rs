//! The folded part needs one place twice.
//!
//! What it does: looks for panels and bends of the folded part that reach into each other. Limit:
//! [`tolerance::COLLISION_MM`](crate::quantity::tolerance::COLLISION_MM); zones that only touch are right.
//! Source: none needed, two pieces of metal cannot be in one place.
//! Why it is bad: the last bend cannot be closed, or forces another one open.
//! Use instead: a shorter flange, another turn, a taper or an inset, or a cut where the other one passes.
//! Invariant: one finding for each pair of panels, a bend counting as the panel behind it; a fault, since the
//! part cannot be what was asked for.

use crate::diag::Diagnostic;
use crate::fold::{FoldFractions, FoldTree};
use crate::ident::PanelId;
use crate::solid::{Collision, FoldedZone, collisions};

use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "zones of the folded part reach into each other by no more than 0.01 mm",
    source: "none needed: two pieces of metal cannot be in one place",
    run,
};

const CODE: &str = "check::folded_into_itself";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let tree = subject.tree;
    let mut deepest: Vec<([PanelId; 2], Collision)> = Vec::new();
    for found in collisions(tree, &FoldFractions::all(tree, 1.0)) {
        let mut pair = found.zones.map(|zone| owner(tree, zone));
        pair.sort_unstable();
        match deepest.iter_mut().find(|(known, _)| *known == pair) {
            Some((_, known)) if known.depth < found.depth => *known = found,
            Some(_) => {}
            None => deepest.push((pair, found)),
        }
    }
    deepest.iter().map(|(pair, found)| finding(tree, *pair, found)).collect()
}

fn finding(tree: &FoldTree, [first, second]: [PanelId; 2], found: &Collision) -> Diagnostic {
    let [a, b] = found.zones.map(|zone| described(tree, zone));
    let at = found.at;
    let message = format!(
        "{a} and {b} of the folded part reach into each other at ({:.2}, {:.2}, {:.2}), at least {:.2} mm deep",
        at.x, at.y, at.z, found.depth
    );
    // The later one is more likely the one to change.
    let mut finding = Diagnostic::fault(CODE, message, tree.origin(tree.panel(second).feature).clone());
    finding.origins.push(tree.origin(tree.panel(first).feature).clone());
    finding.hint("make one of them shorter or narrower, turn it less, or cut the other one away there")
}

fn owner(tree: &FoldTree, zone: FoldedZone) -> PanelId {
    match zone {
        FoldedZone::Panel(panel) => panel,
        FoldedZone::Bend(bend) => tree.bend(bend).child,
    }
}

fn described(tree: &FoldTree, zone: FoldedZone) -> String {
    let name = &tree.panel(owner(tree, zone)).name;
    match zone {
        FoldedZone::Panel(_) => format!("panel `{name}`"),
        FoldedZone::Bend(_) => format!("the bend of `{name}`"),
    }
}
