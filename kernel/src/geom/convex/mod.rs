//! Distances between convex bodies.
//!
//! A body is known by its farthest point along any direction. Invariant: a distance that is given is that of two
//! points of the bodies, and no points of them are nearer by more than
//! [`tolerance::SEPARATION_MM`](crate::quantity::tolerance::SEPARATION_MM) or what rounding allows. Must not know:
//! what the bodies are.

mod hull;
mod separation;
mod simplex;

pub use hull::{Hull, RolledTriangle, RoundSide};
pub use separation::{Apart, Separation, separation};

use super::Vec3;

/// A convex body.
pub trait Convex {
    /// The point of the body that lies farthest along a direction, which need not have unit length. Of several
    /// alike it is one of them.
    fn farthest(&self, direction: Vec3<f64>) -> Vec3<f64>;
}
