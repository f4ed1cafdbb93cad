//! Residuals of relations between points, directions and planes in space, over any scalar.
//!
//! Invariant: a residual is zero exactly where the relation is held, has the sign of "measured less asked",
//! and is in mm, or in rad for angles. Must not know: which panel a point or plane belongs to.

mod angle;
mod equal;
mod plane_distance;
mod point_distance;

pub use angle::{angle_about, angle_between};
pub use equal::equal;
pub use plane_distance::plane_distance;
pub use point_distance::point_distance;
