//! Transcendental functions with the same result on every platform, backed by `libm`.
//!
//! Invariant: no other module of the project calls the standard library's versions, which differ
//! between platforms and would make the same script give different bytes (`clippy.toml` forbids them).

pub use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Sine of an angle in radians.
pub fn sin(x: f64) -> f64 {
    libm::sin(x)
}

/// Cosine of an angle in radians.
pub fn cos(x: f64) -> f64 {
    libm::cos(x)
}

/// Sine and cosine of an angle in radians.
pub fn sin_cos(x: f64) -> (f64, f64) {
    libm::sincos(x)
}

/// Tangent of an angle in radians.
pub fn tan(x: f64) -> f64 {
    libm::tan(x)
}

/// Arc sine in radians; the argument is clamped to `[-1, 1]`, so that rounding never gives NaN.
pub fn asin(x: f64) -> f64 {
    libm::asin(x.clamp(-1.0, 1.0))
}

/// Arc cosine in radians; the argument is clamped to `[-1, 1]`, so that rounding never gives NaN.
pub fn acos(x: f64) -> f64 {
    libm::acos(x.clamp(-1.0, 1.0))
}

/// Angle of the vector `(x, y)` in radians, in `(-π, π]`.
pub fn atan2(y: f64, x: f64) -> f64 {
    libm::atan2(y, x)
}

/// Length of the vector `(x, y)`.
pub fn hypot(x: f64, y: f64) -> f64 {
    libm::hypot(x, y)
}

/// Natural logarithm.
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}

/// Logarithm to base ten.
pub fn log10(x: f64) -> f64 {
    libm::log10(x)
}

/// Natural logarithm of `1 + x`, exact to the last digits for small `x` too.
pub fn ln_1p(x: f64) -> f64 {
    libm::log1p(x)
}

/// `base` raised to `exponent`.
pub fn pow(base: f64, exponent: f64) -> f64 {
    libm::pow(base, exponent)
}
