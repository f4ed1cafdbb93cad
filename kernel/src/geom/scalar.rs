//! The number type over which the fold skeleton is written: plain values, or values with derivatives.
//!
//! Invariant: an implementation gives the same value for the same input as `f64` does.

use std::ops::{Add, Div, Mul, Neg, Sub};

use crate::quantity::maths;

/// A real number that formulas can be written over: [`f64`] for values, [`super::Dual`] for values with
/// exact derivatives.
pub trait Scalar:
    Copy + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> + Div<Output = Self> + Neg<Output = Self>
{
    /// The constant with this value.
    fn constant(value: f64) -> Self;
    /// The value without derivatives.
    fn value(self) -> f64;
    /// Sine and cosine of an angle in rad.
    fn sin_cos(self) -> (Self, Self);
    /// Tangent of an angle in rad.
    fn tan(self) -> Self;
    /// Square root; the derivative at zero is taken as zero.
    fn sqrt(self) -> Self;
    /// Angle of the vector `(x, self)` in rad; the derivative at the origin is taken as zero.
    fn atan2(self, x: Self) -> Self;
    /// `self · factor`, cheaper than a product of two scalars.
    fn scaled(self, factor: f64) -> Self;
}

impl Scalar for f64 {
    fn constant(value: f64) -> Self {
        value
    }
    fn value(self) -> f64 {
        self
    }
    fn sin_cos(self) -> (Self, Self) {
        maths::sin_cos(self)
    }
    fn tan(self) -> Self {
        maths::tan(self)
    }
    fn sqrt(self) -> Self {
        Self::sqrt(self)
    }
    fn atan2(self, x: Self) -> Self {
        maths::atan2(self, x)
    }
    fn scaled(self, factor: f64) -> Self {
        self * factor
    }
}
