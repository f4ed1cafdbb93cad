//! A hem near the next bend.
//!
//! What it does: measures from the outside of a hem to the inside of the bend that runs along it at the other end of
//! its panel.
//! Limit: `5 t` and both inside radii. Source: hem spacing note without author (seen).
//! Why it is bad: there is no room for the tools between hem and bend; whichever is made second opens the first.
//! Use instead: a longer panel, or a hem on another edge.
//! Invariant: one finding for each hem; only a bend that runs along the hem counts.

use crate::diag::{Bound, Diagnostic, Severity};
use crate::stock::Limit;

use super::limited::{Broken, By, Formula, Least};
use super::reach::both_sides;
use super::{Check, Subject, die};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "from the outside of a hem to the inside of the next bend 5 thicknesses and both inside radii",
    source: "hem spacing note without author (seen)",
    of: &[Limit::HemToBend],
    run,
};

const CODE: &str = "check::hem_near_bend";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let (tree, t) = (subject.tree, subject.tree.thickness());
    let mut findings = Vec::new();
    for hem in tree.bends().iter().filter(|bend| die::is_hem(bend)) {
        let [Some(panel), _] = both_sides(tree, hem) else { continue };
        let Some(bend) = panel.ends_in.map(|id| tree.bend(id)).filter(|bend| !die::is_hem(bend)) else {
            continue;
        };
        let got = panel.depth + hem.inside_radius() + t + bend.inside_radius();
        let factor = subject.limits.number(Limit::HemToBend);
        let least = Least {
            value: factor * t + bend.inside_radius() + hem.inside_radius(),
            formula: Formula::Times(factor, "t + both radii"),
            by: By::Shop(Limit::HemToBend),
        };
        if least.is_above(got) {
            let name = &tree.panel(hem.child).name;
            let broken = Broken {
                code: CODE,
                severity: Severity::Warning,
                what: format!(
                    "the outside of hem `{name}` is {got:.2} mm from the inside of the bend of `{}`",
                    tree.panel(bend.child).name
                ),
                got,
                bound: Bound::AtLeast,
                limit: &least,
                unit: "mm",
                places: 1,
                origin: tree.origin(tree.panel(hem.child).feature).clone(),
            };
            findings.push(broken.finding(subject).hint("make the panel between them longer"));
        }
    }
    findings
}
