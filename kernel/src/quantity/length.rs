//! Lengths. Invariant: always finite; stored in millimetres.

use std::fmt;
use std::ops::{Add, Div, Mul, Neg, Sub};

use super::QuantityError;

/// A signed length, stored in millimetres, always finite.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Length(f64);

/// Millimetres in one inch, exact by definition (international yard and pound agreement, 1959).
const MM_PER_INCH: f64 = 25.4;

impl Length {
    /// Zero length.
    pub const ZERO: Self = Self(0.0);

    /// A length in millimetres.
    ///
    /// # Panics
    /// If the number is not finite: such a number is a mistake of the caller. Numbers from outside go
    /// through [`Length::try_mm`].
    #[must_use]
    pub fn mm(value: f64) -> Self {
        assert!(value.is_finite(), "a length must be finite, got {value}");
        Self(value)
    }

    /// A length in millimetres from an unchecked number.
    ///
    /// # Errors
    /// [`QuantityError::NotFinite`] for NaN and infinities.
    pub fn try_mm(value: f64) -> Result<Self, QuantityError> {
        if value.is_finite() { Ok(Self(value)) } else { Err(QuantityError::NotFinite) }
    }

    /// A length in inches (25.4 mm each, exact).
    ///
    /// # Panics
    /// If the number is not finite.
    #[must_use]
    pub fn inch(value: f64) -> Self {
        Self::mm(value * MM_PER_INCH)
    }

    /// The number of millimetres.
    #[must_use]
    pub fn to_mm(self) -> f64 {
        self.0
    }

    /// The number of inches.
    #[must_use]
    pub fn to_inch(self) -> f64 {
        self.0 / MM_PER_INCH
    }

    /// Whether `self` differs from `other` by at most `tolerance`.
    #[must_use]
    pub fn is_within(self, other: Self, tolerance: Self) -> bool {
        (self.0 - other.0).abs() <= tolerance.0
    }
}

impl Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::mm(self.0 + other.0)
    }
}

impl Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::mm(self.0 - other.0)
    }
}

impl Neg for Length {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Mul<f64> for Length {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::mm(self.0 * factor)
    }
}

impl Div for Length {
    type Output = f64;
    fn div(self, other: Self) -> f64 {
        self.0 / other.0
    }
}

impl fmt::Display for Length {
    /// Millimetres with three decimals, or as many as the formatter asks for: `12.500 mm`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.*} mm", f.precision().unwrap_or(3), self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inch_is_25_4_millimetres() {
        // Source: international yard and pound agreement of 1959 (exact).
        assert!(Length::inch(10.0).is_within(Length::mm(254.0), Length::mm(1e-12)));
    }

    #[test]
    fn nan_is_refused_where_it_is_born() {
        assert_eq!(Length::try_mm(f64::NAN), Err(QuantityError::NotFinite));
        assert_eq!(Length::try_mm(f64::INFINITY), Err(QuantityError::NotFinite));
    }
}
