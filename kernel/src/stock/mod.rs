//! Sheet stock: what a cover is made of, and how it bends.
//!
//! Job: thickness, material, gauge numbers, the rule that gives the K-factor, the bend formulas with the
//! places lengths are measured from, the clearance holes, heads, washers and nuts of bolts, what a shop keeps to
//! and what it can make, and what it folds with: brake, punches, dies, force and springback.
//! Invariant: every number carries its unit in a type or a name,
//! every published number its source; a K-factor always comes from one [`BendRule`].
//! Must not know: features, panels, the blank, the solver.

mod bend;
mod bend_force;
mod bend_rule;
mod brake_tool;
mod clearance_hole;
mod fastener;
mod gauge;
mod k_factor;
mod least_radius;
mod material;
mod sheet;
mod shop;
mod shop_tolerance;
mod springback;
mod stock_sheet;
mod strip_fit;
mod student_t;
mod test_strip;
mod thickness;

use thiserror::Error;

use crate::quantity::Length;

pub use bend::{Bend, DeductionError, LengthDatum, datum_setback, datum_setback_as_at, neutral_arc};
pub use bend_force::{BendForce, LEAST_C, MOST_C, USUAL_C, air_bend_force, c_by_opening};
pub use bend_rule::{
    BendRule, BendRuleError, DeductionRow, DeductionTable, DeductionTableError, RatioRow, RatioTable,
    RatioTableError,
};
pub use brake_tool::{Die, PressBrake, Punch, Tooling, air_bend_radius_share};
pub use clearance_hole::{CLEARANCE_HOLES, ClearanceFit, ClearanceHole, UnknownBolt, clearance_hole};
pub use fastener::{
    Fastener, HEX_HEADS, HEX_NUTS, HexHead, HexNut, UnknownFastener, WASHERS, Washer, fastener,
};
pub use gauge::{GaugeError, GaugeSystem};
pub use k_factor::KFactor;
pub use least_radius::{LeastRadius, RollingSense, din_6935_radius, least_radius};
pub use material::{Band, MATERIALS, Material, Published, SourceStatus, UnknownMaterial, material};
pub use sheet::{Grain, Sheet};
pub use shop::{LIMITS, Limit, LimitError, LimitInfo, LimitValue, ShopLimits, Usual, Whose};
pub use shop_tolerance::{BEND_PLACE_MM, RADIUS_SHARE, TURN_DEG, laser_cut_limit, thickness_limit};
pub use springback::{
    SPRINGBACK_ROWS, SPRINGBACK_SOURCE, radius_ratio, springback_factor, springback_row, turn_under_load,
};
pub use stock_sheet::{StockSheet, USUAL_SHEETS, UnknownStockSheet};
pub use strip_fit::{FittedStrip, Outlier, Scatter, StripFit, StripFitError, TestedRatio};
pub use test_strip::{TestStrip, TestStripError};
pub use thickness::Thickness;

/// Why a number is not the property of a sheet that was asked for.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum StockError {
    /// A thickness of zero or less.
    #[error("a sheet thickness of {got} is not above zero")]
    ThicknessNotPositive {
        /// The length that was given.
        got: Length,
    },
    /// A K-factor outside `[0, 1]`, or not a number.
    #[error("a K-factor of {} is not between 0 (inner face) and 1 (outer face)", (got * 1e6).round() / 1e6)]
    KFactorOutOfRange {
        /// The number that was given.
        got: f64,
    },
}
