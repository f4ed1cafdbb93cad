//! Validated quantities: checked once where they are made, trusted everywhere after.
//!
//! Invariant: a [`Turn`] lies in `(0°, 360°)`; a [`Radius`] is never negative.

use thiserror::Error;

use super::{Angle, Length, maths};

/// Why a number is not the quantity that was asked for.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum QuantityError {
    /// NaN or infinite.
    #[error("the number is not finite")]
    NotFinite,
    /// A turn outside `(0°, 360°)`.
    #[error("a turn of {:.4}° is not above 0° and below 360°", got.to_deg())]
    TurnOutOfRange {
        /// The angle that was given.
        got: Angle,
    },
    /// A radius below zero.
    #[error("a radius of {got} is negative")]
    RadiusNegative {
        /// The length that was given.
        got: Length,
    },
}

/// The angle through which the sheet is turned at a bend, `0° < turn < 360°`; `0°` would be flat sheet,
/// more than `180°` is a rolled hem.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Turn(Angle);

impl Turn {
    /// Checks the angle.
    ///
    /// # Errors
    /// [`QuantityError::TurnOutOfRange`] outside `(0°, 360°)`.
    pub fn new(angle: Angle) -> Result<Self, QuantityError> {
        let rad = angle.to_rad();
        if 0.0 < rad && rad < maths::TAU {
            Ok(Self(angle))
        } else {
            Err(QuantityError::TurnOutOfRange { got: angle })
        }
    }

    /// The angle, in `(0, 2π)` rad.
    #[must_use]
    pub fn angle(self) -> Angle {
        self.0
    }
}

/// A radius of a bend or an arc, `≥ 0`; zero is a sharp corner.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Radius(Length);

impl Radius {
    /// Checks the length.
    ///
    /// # Errors
    /// [`QuantityError::RadiusNegative`] below zero.
    pub fn new(length: Length) -> Result<Self, QuantityError> {
        if length.to_mm() >= 0.0 {
            Ok(Self(length))
        } else {
            Err(QuantityError::RadiusNegative { got: length })
        }
    }

    /// The radius as a length, `≥ 0`.
    #[must_use]
    pub fn length(self) -> Length {
        self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turn_excludes_zero_and_the_full_turn() {
        assert!(Turn::new(Angle::deg(0.0)).is_err());
        assert!(Turn::new(Angle::deg(-90.0)).is_err());
        assert!(Turn::new(Angle::deg(1e-6)).is_ok());
        assert!(Turn::new(Angle::deg(180.0)).is_ok());
        assert!(Turn::new(Angle::deg(359.999)).is_ok());
        assert!(Turn::new(Angle::deg(360.0)).is_err());
    }

    #[test]
    fn radius_excludes_negative_numbers_only() {
        assert!(Radius::new(Length::ZERO).is_ok());
        assert_eq!(
            Radius::new(Length::mm(-0.1)),
            Err(QuantityError::RadiusNegative { got: Length::mm(-0.1) })
        );
    }
}
