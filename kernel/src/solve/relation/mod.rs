//! Residuals of relations between points, directions, lines, circles and planes, over any scalar.
//!
//! Invariant: a residual is zero exactly where the relation is held, has the sign of "measured less asked",
//! and is in mm, or in rad for angles. Must not know: which panel or outline
//! a point, line or plane belongs to.

mod angle;
mod equal;
mod line_distance;
mod plane_distance;
mod plane_turn;
mod point_distance;
mod span;
mod symmetric;
mod touch;

pub use angle::{angle_about, angle_between};
pub use equal::equal;
pub use line_distance::line_distance;
pub use plane_distance::plane_distance;
pub use plane_turn::plane_turn;
pub use point_distance::point_distance;
pub use span::span;
pub use symmetric::symmetric;
pub use touch::{Touch, circle_touches_line, circles_touch, off_circle};
