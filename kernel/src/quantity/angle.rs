//! Angles. Invariant: always finite; stored in radians.

use std::fmt;

use super::{QuantityError, maths};

/// A signed angle, stored in radians, always finite.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Angle(f64);

impl Angle {
    /// An angle in degrees.
    ///
    /// # Panics
    /// If the number is not finite. Numbers from outside go through [`Angle::try_deg`].
    #[must_use]
    pub fn deg(value: f64) -> Self {
        Self::rad(value * (maths::PI / 180.0))
    }

    /// An angle in degrees from an unchecked number.
    ///
    /// # Errors
    /// [`QuantityError::NotFinite`] for NaN and infinities.
    pub fn try_deg(value: f64) -> Result<Self, QuantityError> {
        if value.is_finite() { Ok(Self::deg(value)) } else { Err(QuantityError::NotFinite) }
    }

    /// An angle in radians.
    ///
    /// # Panics
    /// If the number is not finite.
    #[must_use]
    pub fn rad(value: f64) -> Self {
        assert!(value.is_finite(), "an angle must be finite, got {value}");
        Self(value)
    }

    /// The number of degrees.
    #[must_use]
    pub fn to_deg(self) -> f64 {
        self.0 * (180.0 / maths::PI)
    }

    /// The number of radians.
    #[must_use]
    pub fn to_rad(self) -> f64 {
        self.0
    }
}

impl fmt::Display for Angle {
    /// Degrees with two decimals, or as many as the formatter asks for: `90.00°`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.*}°", f.precision().unwrap_or(2), self.to_deg())
    }
}
