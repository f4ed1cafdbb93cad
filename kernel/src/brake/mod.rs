//! What the press brake needs: the bend table.
//!
//! Job: one row a bend with everything that is set at the machine. Invariant: rows are in the order in
//! which they are to be bent, and `order` counts from 1. Must not know: any output format.

use crate::blank::Blank;
use crate::fold::FoldTree;
use crate::geom::Point2;
use crate::history::PanelName;
use crate::history::feature::FoldSide;
use crate::ident::BendId;
use crate::quantity::{Angle, Length, Radius};
use crate::stock::{Bend, KFactor, LengthDatum, Thickness};

/// One row of the bend table.
#[derive(Clone, Debug, PartialEq)]
pub struct BendRow {
    /// Place in the order of bending, from 1.
    pub order: usize,
    /// The bend.
    pub bend: BendId,
    /// Its name, that of the panel behind it.
    pub name: PanelName,
    /// Angle through which the sheet is turned.
    pub turn: Angle,
    /// Towards the inner face or away from it.
    pub side: FoldSide,
    /// Radius of the inside of the bend.
    pub inside_radius: Radius,
    /// Length along the bend.
    pub length: Length,
    /// Width that the bend takes in the blank.
    pub allowance: Length,
    /// What two outside lengths lose in the blank: `a + b − flat`. Lengths run to the outer mould line up to
    /// 90° and to the tangent of the outer face above, as flanges are measured.
    pub deduction: Length,
    /// Place of the neutral fibre.
    pub k_factor: KFactor,
    /// Centre line of the bend in the blank, in mm.
    pub blank_line: [Point2; 2],
}

/// The bend table in the order in which the features were asked for: a workable start, not a proven order.
#[must_use]
pub fn bend_table(tree: &FoldTree, blank: &Blank) -> Vec<BendRow> {
    tree.bends()
        .iter()
        .zip(&blank.bend_lines)
        .enumerate()
        .map(|(index, (bend, line))| BendRow {
            order: index + 1,
            bend: bend.id,
            name: line.name.clone(),
            turn: bend.formula.turn.angle(),
            side: bend.side,
            inside_radius: bend.formula.inside_radius,
            length: Length::mm(bend.length()),
            allowance: Length::mm(bend.allowance()),
            deduction: deduction(&bend.formula, tree.sheet_thickness()),
            k_factor: bend.formula.k_factor,
            blank_line: line.centre,
        })
        .collect()
}

/// Two setbacks of outside lengths less the allowance.
fn deduction(bend: &Bend, thickness: Thickness) -> Length {
    let setback = LengthDatum::Outside.setback(bend.turn, bend.inside_radius, thickness);
    setback * 2.0 - bend.allowance(thickness)
}
