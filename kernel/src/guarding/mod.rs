//! What the published tables say about openings in guards and about reaching over and around them.
//!
//! Job: from the measures of an opening to the distance that it must keep from a hazard, and from a distance at
//! hand to a verdict with its numbers, by the rule that the user chose. Invariant: every row says its source, the
//! edition and whether it was read or is remembered; a doubt goes to the safer side; nothing here is advice: local
//! code and licensed practice decide. Must not know: how openings are found or measured, panels, hazards' shapes.

mod iso_openings;
mod opening;
mod osha_openings;
mod reach_around;
mod reach_over;
mod source;
mod verdict;

pub use iso_openings::{LOWER_LIMBS, LowerLimbRow, UPPER_LIMBS, UpperLimbRow};
pub use opening::{Containing, OpeningShape};
pub use osha_openings::{BARRIERS, BarrierRow, Filling, POINT_OF_OPERATION, PointOfOperationRow};
pub use reach_around::{ArmSupport, reach_around};
pub use reach_over::{HIGH_RISK, LOW_RISK, ReachOver, ReachOverTable, Risk, reach_over};
pub use source::{Source, Status};
pub use verdict::{Demand, OpeningRule, Outcome, Required, Verdict, required, verdict};

/// Shown with every verdict.
pub const CAUTION: &str = "An aid only: tables are partly from memory and may be out of date; local code and a \
                           licensed professional decide, and the guard must be validated on the machine.";

/// Shown with every list of distances to hazards.
pub const STRAIGHT: &str = "Each distance is the straight distance, never longer than the free path of a hand: metal or \
                            neighbours in between would only make the path longer.";
