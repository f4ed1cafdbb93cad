//! Files for the shop and for other programs, as bytes.
//!
//! Job: write one finished part in every format of [`ALL`]. Invariant: a writer only reads, knows no other
//! writer, and gives the same bytes for the same part on every machine: no date, no clock, no hash order.
//! Must not know: how a part is regenerated, drawings, the file system.

mod bends_csv;
mod decimal;
mod dxf;
mod glb;
mod half_turns;
pub mod history_json;
pub mod order_json;
mod order_svg;
pub mod report;
mod step;
mod stl;
mod svg;

use crate::blank::Blank;
use crate::brake::{BendPlan, BendRow};
use crate::diag::Diagnostic;
use crate::dimension::{Remarks, Settled};
use crate::fold::{FoldTree, ToleranceStack};
use crate::history::History;
use crate::solid::{Brep, Measures, Mesh};
use crate::stock::{BrakeShop, Sheet};

/// What writers may look at: one finished part.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'a> {
    /// What was asked for.
    pub history: &'a History,
    /// The sheet it is cut from.
    pub sheet: &'a Sheet,
    /// Free numbers and dimensions.
    pub settled: &'a Settled,
    /// Panels and bends.
    pub tree: &'a FoldTree,
    /// The flat figure.
    pub blank: &'a Blank,
    /// Bends in the order of bending.
    pub bend_table: &'a [BendRow],
    /// The order of bending, with a picture of each step.
    pub plan: &'a BendPlan,
    /// What it is folded with.
    pub shop: &'a BrakeShop,
    /// Volume and surface of the folded part.
    pub measures: Measures,
    /// The exact boundary of the folded part.
    pub brep: &'a Brep,
    /// The folded part as triangles, in mm.
    pub mesh: &'a Mesh,
    /// Mass of the part in kg.
    pub mass_kg: f64,
    /// Findings of the checks.
    pub findings: &'a [Diagnostic],
    /// How far dimensions and gaps spread in the shop.
    pub stack: &'a ToleranceStack,
    /// What the dimensions leave open, and which of them add nothing.
    pub remarks: &'a Remarks,
}

/// A file format: its usual file name, what it is for, and its writer.
#[derive(Clone, Copy, Debug)]
pub struct Format {
    /// Name of the file in the part's folder.
    pub file_name: &'static str,
    /// One line for help texts.
    pub what: &'static str,
    /// The bytes of the file.
    pub write: fn(&Subject<'_>) -> Vec<u8>,
}

/// Every format, in the order in which files are listed.
pub const ALL: &[Format] = &[
    dxf::FORMAT,
    svg::FORMAT,
    step::FORMAT,
    stl::FORMAT,
    glb::FORMAT,
    bends_csv::FORMAT,
    order_svg::FORMAT,
    order_json::FORMAT,
    report::FORMAT,
    history_json::FORMAT,
];
