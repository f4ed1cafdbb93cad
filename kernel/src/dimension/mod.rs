//! From a history to numbers: names resolved, free numbers solved, failures explained.
//!
//! Job: build the fold [`Skeleton`] of a history (which panel hangs on which edge of which other one), pose
//! it for any values of the free numbers, lower the dimensions to relations of [`crate::solve`], and say in
//! the history's own names what did not hold. Invariant: the pose is one formula over
//! [`crate::geom::Scalar`], so that values and derivatives cannot disagree. Must not know: the shape of the
//! finished panels (corners, reliefs, openings) nor any output.

mod aim;
mod clearance;
mod developed;
mod equations;
mod explained;
mod fault;
mod flange_outline;
mod forked;
mod judged;
mod line_bend;
mod located;
mod made;
mod measure;
mod numbers;
mod parting;
mod pose;
mod reading;
mod relation;
mod response;
mod settle;
mod skeleton;
mod sketch_start;
mod spread;
mod tolerances;

pub use aim::{Aimed, Binding, BindingKind, Moved, aimed, straightened};
pub use clearance::{Nearest, NearestPlace};
pub use developed::BlankSize;
pub use explained::{AtBound, Implied, Loose, Open, Remarks};
pub use fault::{BoundTouched, DimensionFault, Hindrance};
pub use line_bend::{FlatFrame, LineNumbers, LinePose, LineSpec};
pub use made::{Deviation, Made, MaterialPoint, MetalPlace, PressedPoint, RolledPoint};
pub use measure::Way;
pub use pose::{BendPose, DrawnCorner, DrawnEdge, PanelPose, Pose, SheetNumbers};
pub use response::{Follow, follows};
pub use settle::{
    DimensionResult, DimensionState, Reasons, Settled, SketchResult, remarks, settle, settle_from,
};
pub(crate) use skeleton::FLANGE_ROLES;
pub use skeleton::{LinePart, Skeleton, SkeletonFault, SkeletonLine, SkeletonPanel, SkeletonSeam, Source};
pub use spread::{Approach, Closing, Contribution, MaterialPair, Spread, Stack};
pub use tolerances::{Limit, RadiusLimit, Tolerances};
