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
mod history_fault;
pub mod history_json;
mod nest_svg;
pub mod order_json;
mod order_svg;
pub mod reader_words;
pub mod report;
mod step;
mod stl;
mod svg;

use crate::blank::Blank;
use crate::brake::{BendPlan, BendRow};
use crate::cost::Estimate;
use crate::diag::Diagnostic;
use crate::dimension::{Aimed, Remarks, Settled};
use crate::fold::{FoldTree, ToleranceStack};
use crate::guard::Judged;
use crate::history::History;
use crate::machine::Neighbour;
use crate::solid::{Brep, Clearance, ClearanceSpread, Measures, Mesh};
use crate::stock::{Sheet, ShopLimits, Tooling};

/// What writers may look at: one finished part.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'a> {
    /// What was asked for.
    pub history: &'a History,
    /// The sheet it is cut from.
    pub sheet: &'a Sheet,
    /// Free numbers and dimensions.
    pub settled: &'a Settled,
    /// What came of the aim, if there is one.
    pub aimed: Option<&'a Aimed>,
    /// Panels and bends.
    pub tree: &'a FoldTree,
    /// The flat figure.
    pub blank: &'a Blank,
    /// Bends in the order of bending.
    pub bend_table: &'a [BendRow],
    /// The order of bending, with a picture of each step.
    pub plan: &'a BendPlan,
    /// What it is folded with.
    pub tooling: &'a Tooling,
    /// Volume and surface of the folded part.
    pub measures: Measures,
    /// The exact boundary of the folded part.
    pub brep: &'a Brep,
    /// The folded part as triangles, in mm.
    pub mesh: &'a Mesh,
    /// Mass of the part in kg.
    pub mass_kg: f64,
    /// What the shop can make.
    pub limits: &'a ShopLimits,
    /// What the part lives with.
    pub neighbours: &'a [Neighbour],
    /// How near the folded part comes to each of them.
    pub clearances: &'a [Clearance],
    /// Openings held against hazards, if that was asked for.
    pub judged: Option<&'a Judged>,
    /// Findings of the checks.
    pub findings: &'a [Diagnostic],
    /// How far dimensions and gaps spread in the shop.
    pub stack: &'a ToleranceStack,
    /// How far the clearance to each neighbour spreads.
    pub clearance_spreads: &'a [ClearanceSpread],
    /// What the dimensions leave open, and which of them add nothing.
    pub remarks: &'a Remarks,
    /// What the part needs and costs.
    pub estimate: &'a Estimate,
    /// The line of the script for each span of the history, where whoever read the script has said it.
    pub lines: &'a [Option<usize>],
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

/// Blanks on the stock sheet; written only if one was chosen.
pub const NEST: Format = nest_svg::FORMAT;

/// Every format of every part, in the order in which files are listed.
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
