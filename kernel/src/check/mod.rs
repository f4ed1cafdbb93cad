//! Checks of the finished part: can it be made, is it safe. One rule a file, one line in [`ALL`].
//!
//! Job: say what a shop would say on seeing the drawing. Invariant: a check only reads, and gives the same
//! findings in the same order for the same part. Must not know: any output format.

mod alike;
mod brake_length;

mod bump_height;
mod bump_spacing;
mod bump_strain;
mod die;
mod edges;
mod folded_into_itself;
mod hem_near_bend;
mod hem_return;
mod hem_size;
mod hole_near_bend;
mod hole_near_edge;
mod holes_too_close;
mod inside_radius;
mod limited;
mod minimum_flange;
mod narrow_notch;
mod narrow_tab;
mod neighbour_too_near;
mod openings;
mod reach;
mod relief_size;
mod sharp_corner;
mod sheet_size;
mod small_hole;
mod step_height;
mod strip_outlier;
mod strip_thickness;

pub use neighbour_too_near::{Room, room};

use crate::blank::Blank;
use crate::diag::{Diagnostic, Origin};
use crate::fold::FoldTree;
use crate::history::{LimitSpec, NeighbourEntry};
use crate::machine::Neighbour;
use crate::solid::Clearance;
use crate::stock::{Limit, Sheet, ShopLimits, StockSheet};

/// What checks may look at.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'a> {
    /// The sheet the part is cut from.
    pub sheet: &'a Sheet,
    /// Where the sheet was asked for.
    pub sheet_origin: &'a Origin,
    /// What the shop can make.
    pub limits: &'a ShopLimits,
    /// The stock sheet that was chosen for the part, and where, if one was.
    pub cut_from: Option<(&'a StockSheet, &'a Origin)>,
    /// The limits that were said, with their places.
    pub shop: &'a [LimitSpec],
    /// Panels and bends.
    pub tree: &'a FoldTree,
    /// The flat figure.
    pub blank: &'a Blank,
    /// The neighbours as they were described.
    pub described: &'a [NeighbourEntry],
    /// What the part lives with.
    pub neighbours: &'a [Neighbour],
    /// How near the part comes to each of them.
    pub clearances: &'a [Clearance],
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
    /// The limits of the shop that it goes by; none if it goes by the sheet or by geometry.
    pub of: &'static [Limit],
    /// The rule.
    pub run: fn(Subject<'_>) -> Vec<Diagnostic>,
}

/// Every check, in the order in which its findings of one severity are listed.
pub const ALL: &[Check] = &[
    folded_into_itself::CHECK,
    neighbour_too_near::CHECK,
    sheet_size::CHECK,
    brake_length::CHECK,
    inside_radius::CHECK,
    minimum_flange::CHECK,
    step_height::CHECK,
    hem_return::CHECK,
    hem_size::CHECK,
    hem_near_bend::CHECK,
    hole_near_bend::CHECK,
    hole_near_edge::CHECK,
    holes_too_close::CHECK,
    small_hole::CHECK,
    narrow_tab::CHECK,
    narrow_notch::CHECK,
    relief_size::CHECK,
    bump_strain::CHECK,
    bump_height::CHECK,
    bump_spacing::CHECK,
    sharp_corner::CHECK,
    strip_outlier::CHECK,
    strip_thickness::CHECK,
];

/// Findings of all checks, in the order of [`ALL`].
#[must_use]
pub fn run_all(subject: Subject<'_>) -> Vec<Diagnostic> {
    ALL.iter().flat_map(|check| alike::together((check.run)(subject))).collect()
}
