//! A tab or a neck of the outline is narrow.
//!
//! What it does: measures sheet between two stretches of the outline that face each other.
//! Limit: `2 t`, at least 3.2 mm (common practice, no source).
//! Why it is bad: it bends when the part is handled, burns when it is cut by laser, and breaks off at a bend.
//! Use instead: a wider tab, or notches that are farther apart.
//! Invariant: one finding for each pair of features, however many places. Webs beside openings have a rule of their own.

use crate::diag::Diagnostic;
use crate::geom::Between;
use crate::stock::Limit;

use super::edges::facing_edges;
use super::limited::in_thicknesses;
use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "a tab or neck of the outline is 2 thicknesses wide, at least 3.2 mm",
    source: "common practice, no source",
    of: &[Limit::TabWidth, Limit::TabWidthFloor],
    run,
};

const CODE: &str = "check::narrow_tab";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let limit = in_thicknesses(subject, Limit::TabWidth).or_floor(subject.limits, Limit::TabWidthFloor);
    facing_edges(subject, Between::Sheet, &limit, CODE, "make it wider, or set the notches farther apart")
}
