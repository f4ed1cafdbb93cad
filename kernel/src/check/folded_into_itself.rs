//! The folded part needs one place twice.
//!
//! What it does: looks for panels, bends and bumps of the folded part that reach into each other. Limit:
//! [`tolerance::COLLISION_MM`](crate::quantity::tolerance::COLLISION_MM); zones that only touch are right.
//! Source: none needed, two pieces of metal cannot be in one place.
//! Why it is bad: the last bend cannot be closed, or forces another one open, or flattens the bump.
//! Use instead: a shorter flange, another turn, a taper or an inset, a lower bump, or a cut where the other one
//! passes.
//! Invariant: one finding for each pair of panels, a bend counting as the panel behind it, and all bumps of one
//! feature counting as one; a fault, since the part cannot be what was asked for.

use crate::diag::Diagnostic;
use crate::fold::{FoldFractions, FoldTree};
use crate::geom::place_in_words;
use crate::ident::{FeatureId, PanelId};
use crate::solid::{Collision, Zone, collisions};

use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "zones of the folded part reach into each other by no more than 0.01 mm",
    source: "none needed: two pieces of metal cannot be in one place",
    of: &[],
    run,
};

const CODE: &str = "check::folded_into_itself";

/// Whatever a zone belongs to and can be changed; later features after earlier ones.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Owner {
    Panel(PanelId),
    Bumps(FeatureId),
}

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let tree = subject.tree;
    let mut deepest: Vec<([Owner; 2], Collision)> = Vec::new();
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

fn finding(tree: &FoldTree, [first, second]: [Owner; 2], found: &Collision) -> Diagnostic {
    let [a, b] = found.zones.map(|zone| zone.described(tree));
    let message = format!(
        "{a} and {b} of the folded part reach into each other at {}, at least {:.2} mm deep",
        place_in_words(found.at, 2),
        found.depth
    );
    let origin = |owner| {
        tree.origin(match owner {
            Owner::Panel(panel) => tree.panel(panel).feature,
            Owner::Bumps(feature) => feature,
        })
    };
    // The later one is more likely the one to change.
    let mut finding = Diagnostic::fault(CODE, message, origin(second).clone());
    finding.origins.push(origin(first).clone());
    finding.hint(match second {
        Owner::Panel(_) => {
            "make one of them shorter or narrower, turn it less, or cut the other one away there"
        }
        Owner::Bumps(_) => "make the bump lower or smaller, move it, or cut the other one away there",
    })
}

fn owner(tree: &FoldTree, zone: Zone) -> Owner {
    match zone {
        Zone::Panel(panel) => Owner::Panel(panel),
        Zone::Bend(bend) => Owner::Panel(tree.bend(bend).child),
        Zone::Form(form) => Owner::Bumps(tree.forms()[form.index()].feature),
    }
}
