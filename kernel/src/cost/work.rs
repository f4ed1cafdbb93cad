//! What one part needs, in quantities.
//!
//! Invariant: only what is read off the blank and the fold tree, and the tool changes that were handed in; no prices.

use crate::blank::Blank;
use crate::fold::{Bend, FoldTree};
use crate::quantity::{maths, tolerance};
use crate::stock::Sheet;

/// What one part needs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Work {
    /// Mass of the blank in kg, openings taken off.
    pub mass_kg: f64,
    /// Mass in kg of the smallest rectangle around the blank along its axes.
    pub rectangle_kg: f64,
    /// Area of the blank in mm², openings taken off.
    pub area_mm2: f64,
    /// Area of that rectangle in mm².
    pub rectangle_mm2: f64,
    /// Length of all cuts in mm, arcs exact.
    pub cut_length_mm: f64,
    /// Closed cuts, one pierce each; a relief is part of the outline.
    pub pierces: usize,
    /// Bends.
    pub bends: usize,
    /// Strokes of the press brake: one a bend, two for a half turn, which is bent sharply and then closed
    /// (common practice, no source).
    pub strokes: usize,
    /// Changes from one set of bending tools to the next; the first set belongs to setting up.
    pub tool_changes: ToolChanges,
    /// Formed bumps, one hit each.
    pub bumps: usize,
}

/// How often bending tools are changed, and how that is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ToolChanges {
    /// In the bend order that was planned.
    Planned(usize),
    /// There is no order: one set of tools for each inside radius, and two for half turns, one to bend sharply and
    /// one to close (common practice, no source), less the first.
    ByRadii(usize),
}

impl ToolChanges {
    /// How many.
    #[must_use]
    pub fn count(self) -> usize {
        match self {
            Self::Planned(count) | Self::ByRadii(count) => count,
        }
    }
}

impl Work {
    /// Reads the quantities off a part; `planned` are the tool changes of its bend order, if there is one.
    #[must_use]
    pub fn of(sheet: &Sheet, tree: &FoldTree, blank: &Blank, planned: Option<usize>) -> Self {
        let size = blank.bounding_box();
        let (area_mm2, rectangle_mm2) = (blank.region.area(), size.width() * size.height());
        let (half_turns, others): (Vec<&Bend>, Vec<&Bend>) =
            tree.bends().iter().partition(|b| is_half_turn(b));
        let mut radii: Vec<f64> = others.iter().map(|bend| bend.inside_radius()).collect();
        radii.sort_by(f64::total_cmp);
        radii.dedup_by(|b, a| *b - *a <= tolerance::SNAP_MM);
        let sets = radii.len() + if half_turns.is_empty() { 0 } else { 2 };
        Self {
            mass_kg: sheet.mass_of_area_kg(area_mm2),
            rectangle_kg: sheet.mass_of_area_kg(rectangle_mm2),
            area_mm2,
            rectangle_mm2,
            cut_length_mm: blank.cut_length(),
            pierces: blank.pierces(),
            bends: tree.bends().len(),
            strokes: others.len() + 2 * half_turns.len(),
            tool_changes: planned.map_or(ToolChanges::ByRadii(sets.saturating_sub(1)), ToolChanges::Planned),
            bumps: tree.forms().len(),
        }
    }
}

/// Only hems are bent through a half turn; a rolled edge goes farther.
fn is_half_turn(bend: &Bend) -> bool {
    (bend.turn() - maths::PI).abs() <= tolerance::PARALLEL
}
