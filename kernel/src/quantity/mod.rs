//! Physical quantities and the validated types made of them.
//!
//! Job: give lengths, angles and their kin types of their own, so that a degree is never taken for a
//! radian nor a radius for a thickness. Invariant: a quantity is always finite; a validated type always
//! lies in its stated range. Knows nothing of geometry or sheet metal.

mod angle;
mod length;
pub mod maths;
pub mod tolerance;
mod validated;

pub use angle::Angle;
pub use length::Length;
pub use validated::{QuantityError, Radius, Turn};
