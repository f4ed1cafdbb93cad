//! A bend longer than the press brake.
//!
//! What it does: measures every bend from end to end.
//! Limit: 3000 mm (common practice, no source: a usual length of a press brake).
//! Why it is bad: it cannot be bent in one stroke: a fault.
//! Use instead: a shorter part, a part in two pieces, or a shop with a longer brake.
//! Invariant: one finding, about the longest bend and how many others are too long.

use crate::diag::{Bound, Diagnostic, Severity};
use crate::stock::Limit;

use super::limited::{Broken, By, Formula, Least, few};
use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "a bend is 3000 mm long at most",
    source: "common practice, no source",
    of: &[Limit::BrakeLength],
    run,
};

const CODE: &str = "check::brake_length";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let tree = subject.tree;
    let limit = Least {
        value: subject.limits.number(Limit::BrakeLength),
        formula: Formula::Words("length of the press brake"),
        by: By::Shop(Limit::BrakeLength),
    };
    let long: Vec<_> = tree.bends().iter().filter(|bend| limit.is_below(bend.length())).collect();
    let Some(longest) = long.iter().max_by(|a, b| a.length().total_cmp(&b.length())) else {
        return Vec::new();
    };
    let names: Vec<String> = long.iter().map(|bend| tree.panel(bend.child).name.to_string()).collect();
    let got = longest.length();
    let broken = Broken {
        code: CODE,
        severity: Severity::Fault,
        what: format!(
            "{} of {} {} {got:.2} mm long",
            if long.len() == 1 { "the bend" } else { "bends" },
            few(&names),
            if long.len() == 1 { "is" } else { "are up to" }
        ),
        got,
        bound: Bound::AtMost,
        limit: &limit,
        unit: "mm",
        places: long.len(),
        origin: tree.origin(tree.panel(longest.child).feature).clone(),
    };
    vec![
        broken
            .finding(subject)
            .hint("make the part shorter or of two pieces, or say the shop's `brake_length`"),
    ]
}
