//! A notch of the outline is narrow.
//!
//! What it does: measures gaps between two stretches of the outline that face each other.
//! Limit: `t`, at least 1 mm (common practice, no source).
//! Why it is bad: a punch this thin breaks, and a laser burns its sides.
//! Use instead: a wider notch.
//! Invariant: one finding for each pair of features, however many places. Reliefs and the ends of bends have a rule of their own.

use crate::diag::Diagnostic;
use crate::geom::Between;
use crate::stock::Limit;

use super::edges::facing_edges;
use super::limited::in_thicknesses;
use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "a notch of the outline is 1 thickness wide, at least 1 mm",
    source: "common practice, no source",
    of: &[Limit::NotchWidth, Limit::NotchWidthFloor],
    run,
};

const CODE: &str = "check::narrow_notch";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let limit = in_thicknesses(subject, Limit::NotchWidth).or_floor(subject.limits, Limit::NotchWidthFloor);
    facing_edges(subject, Between::Gap, &limit, CODE, "make it wider, or leave it out")
}
