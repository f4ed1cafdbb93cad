//! Checks of the finished part: can it be made, is it safe. One rule a file, one line in [`ALL`].
//!
//! Job: say what a shop would say on seeing the drawing. Invariant: a check only reads, and gives the same
//! findings in the same order for the same part. Must not know: any output format.

mod bump_height;
mod bump_strain;
mod folded_into_itself;
mod hem_return;
mod hole_near_bend;
mod neighbour_too_near;
mod strip_outlier;
mod strip_thickness;

pub use neighbour_too_near::{Contact, Required, TooNear, too_near};

use crate::blank::Blank;
use crate::diag::{Diagnostic, Origin};
use crate::fold::FoldTree;
use crate::stock::Sheet;

/// What checks may look at.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'a> {
    /// The sheet the part is cut from.
    pub sheet: &'a Sheet,
    /// Where the sheet was asked for.
    pub sheet_origin: &'a Origin,
    /// Panels and bends.
    pub tree: &'a FoldTree,
    /// The flat figure.
    pub blank: &'a Blank,
}

/// A check: its code, its limit with the source, and the rule that finds faults.
#[derive(Clone, Copy, Debug)]
pub struct Check {
    /// `check::snake_case`, as in its findings.
    pub code: &'static str,
    /// The limit in a few words.
    pub limit: &'static str,
    /// Where the limit comes from.
    pub source: &'static str,
    /// The rule.
    pub run: fn(Subject<'_>) -> Vec<Diagnostic>,
}

/// Every check, in the order in which findings are listed.
pub const ALL: &[Check] = &[
    folded_into_itself::CHECK,
    hole_near_bend::CHECK,
    hem_return::CHECK,
    bump_strain::CHECK,
    bump_height::CHECK,
    strip_outlier::CHECK,
    strip_thickness::CHECK,
];

/// Findings of all checks.
#[must_use]
pub fn run_all(subject: Subject<'_>) -> Vec<Diagnostic> {
    ALL.iter().flat_map(|check| (check.run)(subject)).collect()
}
