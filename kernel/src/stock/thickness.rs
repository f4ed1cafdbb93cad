//! Sheet thickness. Invariant: above zero.

use std::fmt;

use crate::quantity::Length;

use super::StockError;

/// The nominal thickness of a sheet, `> 0`.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Thickness(Length);

impl Thickness {
    /// Checks the length.
    ///
    /// # Errors
    /// [`StockError::ThicknessNotPositive`] at zero and below.
    pub fn new(length: Length) -> Result<Self, StockError> {
        if 0.0 < length.to_mm() {
            Ok(Self(length))
        } else {
            Err(StockError::ThicknessNotPositive { got: length })
        }
    }

    /// The thickness as a length, `> 0`.
    #[must_use]
    pub fn length(self) -> Length {
        self.0
    }
}

impl fmt::Display for Thickness {
    /// As its length: `1.500 mm`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thickness_excludes_zero_and_below() {
        let zero = Length::ZERO;
        assert_eq!(Thickness::new(zero), Err(StockError::ThicknessNotPositive { got: zero }));
        assert!(Thickness::new(Length::mm(-1.0)).is_err());
        assert_eq!(Thickness::new(Length::mm(0.5)).unwrap().to_string(), "0.500 mm");
    }
}
