//! What one part needs, in quantities.
//!
//! Invariant: only what is read off the blank and the fold tree; no prices.

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
    /// Sets of bending tools: one for each inside radius, and two for half turns, one to bend sharply and one to
    /// close (common practice, no source). The true number depends on the order of bending.
    pub tool_sets: usize,
    /// Formed bumps, one hit each.
    pub bumps: usize,
}

impl Work {
    /// Reads the quantities off a part.
    #[must_use]
    pub fn of(sheet: &Sheet, tree: &FoldTree, blank: &Blank) -> Self {
        let size = blank.bounding_box();
        let (area_mm2, rectangle_mm2) = (blank.region.area(), size.width() * size.height());
        let (half_turns, others): (Vec<&Bend>, Vec<&Bend>) =
            tree.bends().iter().partition(|b| is_half_turn(b));
        let mut radii: Vec<f64> = others.iter().map(|bend| bend.inside_radius()).collect();
        radii.sort_by(f64::total_cmp);
        radii.dedup_by(|b, a| *b - *a <= tolerance::SNAP_MM);
        Self {
            mass_kg: sheet.mass_of_area_kg(area_mm2),
            rectangle_kg: sheet.mass_of_area_kg(rectangle_mm2),
            area_mm2,
            rectangle_mm2,
            cut_length_mm: blank.cut_length(),
            pierces: blank.pierces(),
            bends: tree.bends().len(),
            strokes: others.len() + 2 * half_turns.len(),
            tool_sets: radii.len() + if half_turns.is_empty() { 0 } else { 2 },
            bumps: tree.forms().len(),
        }
    }

    /// Changes from one set of bending tools to the next; the first set belongs to setting up.
    #[must_use]
    pub fn tool_changes(&self) -> usize {
        self.tool_sets.saturating_sub(1)
    }
}

/// Only hems are bent through a half turn; a rolled edge goes farther.
fn is_half_turn(bend: &Bend) -> bool {
    (bend.turn() - maths::PI).abs() <= tolerance::PARALLEL
}
