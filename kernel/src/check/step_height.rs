//! The two bends of a step are too near for a V die.
//!
//! What it does: measures between the bend lines of two parallel bends to opposite sides, in the blank.
//! Limit: `V/2 + t + r`, with the wider of their two dies and the larger radius. Source: common practice, no source.
//! Why it is bad: the bend that is made second has the first one in its die; a step this low needs an offset tool,
//! which makes both bends in one stroke, at the heights that the shop has tools for.
//! Use instead: a higher step, a flatter turn, or an offset tool.
//! Invariant: one finding for each panel between two such bends; hems do not count.

use crate::diag::{Bound, Diagnostic, Severity};
use crate::stock::Limit;

use super::limited::{Broken, By, Formula, Least};
use super::reach::both_sides;
use super::{Check, Subject, die};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "bend lines of a step are V/2 + t + r apart",
    source: "common practice, no source",
    of: &[Limit::StepHeight, Limit::VOpenings, Limit::VByThickness],
    run,
};

const CODE: &str = "check::step_height";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let (tree, limits, t) = (subject.tree, subject.limits, subject.tree.thickness());
    let mut findings = Vec::new();
    for bend in tree.bends().iter().filter(|bend| !die::is_hem(bend)) {
        // Seen from the nearer bend only, so that each web counts once.
        let [_, Some(web)] = both_sides(tree, bend) else { continue };
        let Some(far) = web.ends_in.map(|id| tree.bend(id)) else { continue };
        if far.side == bend.side || die::is_hem(far) {
            continue;
        }
        let got = 0.5 * bend.allowance() + web.depth + 0.5 * far.allowance();
        let v = die::narrowest(limits, t, bend).max(die::narrowest(limits, t, far));
        let (factor, radius) =
            (limits.number(Limit::StepHeight), bend.inside_radius().max(far.inside_radius()));
        let least = Least {
            value: factor * v + t + radius,
            formula: Formula::OfV(factor, "V + t + r", v, ""),
            by: By::Shop(Limit::StepHeight),
        };
        if least.is_above(got) {
            let panel = tree.panel(bend.child);
            let broken = Broken {
                code: CODE,
                severity: Severity::Warning,
                what: format!(
                    "the bend lines of the step before and behind `{}` are {got:.2} mm apart",
                    panel.name
                ),
                got,
                bound: Bound::AtLeast,
                limit: &least,
                unit: "mm",
                places: 1,
                origin: tree.origin(panel.feature).clone(),
            };
            findings.push(
                broken.finding(subject).hint(
                    "make the step higher or its turn flatter, or ask for an offset tool of this height",
                ),
            );
        }
    }
    findings
}
