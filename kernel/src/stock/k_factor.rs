//! The K-factor. Invariant: between 0 and 1.

use super::StockError;

/// Where the neutral fibre lies in a bend: its distance from the inner face as a share of the thickness,
/// `0 ≤ K ≤ 1`; 0 is the inner face, ½ the middle, 1 the outer face.
///
/// Mechanics alone would give at most ½: the neutral fibre starts in the middle and moves inwards. Yet K is
/// also the one number that takes up everything else a shop measures in a test bend (a radius that springs
/// open, a thinner sheet, rounding), and shop-tested tables imply values up to 0.66 (see
/// `tests/reference/shop_bend_deductions.csv`). So anything inside the metal is allowed.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct KFactor(f64);

impl KFactor {
    /// Checks the number.
    ///
    /// # Errors
    /// [`StockError::KFactorOutOfRange`] outside `[0, 1]` and for NaN.
    pub fn new(value: f64) -> Result<Self, StockError> {
        if (0.0..=1.0).contains(&value) {
            Ok(Self(value))
        } else {
            Err(StockError::KFactorOutOfRange { got: value })
        }
    }

    /// The number, in `[0, 1]`.
    #[must_use]
    pub fn value(self) -> f64 {
        self.0
    }

    /// The allowed value nearest to a rule's result.
    pub(super) fn nearest(value: f64) -> Self {
        Self(value.clamp(0.0, 1.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn k_factor_lies_inside_the_metal() {
        assert!(KFactor::new(0.0).is_ok());
        assert!(KFactor::new(1.0).is_ok());
        assert_eq!(KFactor::new(-0.01), Err(StockError::KFactorOutOfRange { got: -0.01 }));
        assert_eq!(KFactor::new(1.01), Err(StockError::KFactorOutOfRange { got: 1.01 }));
        assert!(KFactor::new(f64::NAN).is_err());
    }
}
