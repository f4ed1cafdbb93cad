//! What the press brake needs: a bend order that works, and the bend table.
//!
//! Job: plan the order of bending against tools and brake (`plan`), and give one row a bend with everything that is
//! set at the machine. Invariant: rows are in the order in which they are to be bent, and `order` counts from 1;
//! bends that are made in one stroke share a number. Without an order no row has a number, and rows are in the order
//! of the fold tree. Must not know: any output format.
//!
//! `cell` cuts zones into convex cells, `wings` says where they lie beside a bend, `sweep` moves them, `steps` tries
//! one stroke, `search` finds the cheapest order, `plan` says so: `docs/math/bend-order.md`.

mod any_order;
mod bodies;
mod cell;
mod gauge;
mod memo;
mod pairs;
mod picture;
mod plan;
mod prices;
mod search;
mod settled;
mod steps;
mod sweep;
mod trial;
mod wings;

use crate::blank::Blank;
use crate::fold::FoldTree;
use crate::geom::Point2;
use crate::history::PanelName;
use crate::history::feature::FoldSide;
use crate::ident::BendId;
use crate::quantity::{Angle, Length, Radius};
use crate::stock::{Bend, KFactor, LengthDatum, Thickness};

pub use gauge::Gauge;
pub use pairs::Dies;
pub use picture::{Drawn, Outline, Progress, StepPicture};
pub use plan::{BendPlan, PlanStep, Setting, described, plan};
pub use prices::StepCosts;
pub use search::{DeadEnd, Outcome, Planned};
pub use settled::{SettledBend, settle};
pub use steps::{Block, Choice, Step, ToolPair};
pub use sweep::{Tool, Towards};
pub use trial::Trial;
pub use wings::Wing;

/// One row of the bend table.
#[derive(Clone, Debug, PartialEq)]
pub struct BendRow {
    /// Place in the order of bending, from 1; none if there is no order.
    pub order: Option<usize>,
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
    /// How it is set up at the brake; none if there is no order.
    pub setting: Option<Setting>,
}

impl BendRow {
    /// What stands at the bend in a drawing: its place in the order, or its name if there is no order.
    #[must_use]
    pub fn mark(&self) -> String {
        self.order.map_or_else(|| self.name.to_string(), |order| order.to_string())
    }
}

/// The bend table in the order of a plan, or of the fold tree if there is no order.
#[must_use]
pub fn bend_table(tree: &FoldTree, blank: &Blank, plan: &BendPlan) -> Vec<BendRow> {
    let mut rows: Vec<BendRow> = tree
        .bends()
        .iter()
        .zip(&blank.bend_lines)
        .map(|(bend, line)| BendRow {
            order: plan.place(bend.id),
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
            setting: plan.setting(bend.id).cloned(),
        })
        .collect();
    rows.sort_by_key(|row| (row.order, row.bend));
    rows
}

/// Two setbacks of outside lengths less the allowance.
fn deduction(bend: &Bend, thickness: Thickness) -> Length {
    let setback = LengthDatum::Outside.setback(bend.turn, bend.inside_radius, thickness);
    setback * 2.0 - bend.allowance(thickness)
}
