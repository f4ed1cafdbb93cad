//! Sheets as they are bought: a name and two sides.
//!
//! Job: the usual formats. Invariant: both sides are above 0 and finite. Must not know: what is cut from them.

use thiserror::Error;

use crate::quantity::Length;

/// A sheet as it lies on the cutting machine.
#[derive(Clone, Debug, PartialEq)]
pub struct StockSheet {
    /// What the trade or the shop calls it; may be empty.
    pub name: String,
    /// Side along x, above 0.
    pub width: Length,
    /// Side along y, above 0.
    pub height: Length,
}

/// Names and sides in mm of metric formats that are on stock almost everywhere, which is what a shop has that says
/// nothing else. Source: common practice, no source.
pub(super) const METRIC_SHEETS: [(&str, [f64; 2]); 4] = [
    ("small", [1000.0, 2000.0]),
    ("medium", [1250.0, 2500.0]),
    ("large", [1500.0, 3000.0]),
    ("super large", [2000.0, 4000.0]),
];

/// Usual formats by name, with those in feet; 1 ft is 304.8 mm exactly. Source: common practice, no source.
pub const USUAL_SHEETS: &[(&str, [f64; 2])] = &[
    METRIC_SHEETS[0],
    METRIC_SHEETS[1],
    METRIC_SHEETS[2],
    METRIC_SHEETS[3],
    ("4x8 ft", [1219.2, 2438.4]),
    ("5x10 ft", [1524.0, 3048.0]),
    ("4x10 ft", [1219.2, 3048.0]),
    ("3x8 ft", [914.4, 2438.4]),
    ("6x12 ft", [1828.8, 3657.6]),
];

/// A format that is not in [`USUAL_SHEETS`].
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("there is no usual sheet `{asked}`")]
pub struct UnknownStockSheet {
    /// What was asked for.
    pub asked: String,
}

impl StockSheet {
    /// The usual format of this name, its longer side along x, as it lies on most machines.
    ///
    /// # Errors
    /// [`UnknownStockSheet`] if the name is not in [`USUAL_SHEETS`].
    pub fn usual(name: &str) -> Result<Self, UnknownStockSheet> {
        let found = USUAL_SHEETS.iter().find(|(known, _)| *known == name);
        let (name, [short, long]) = found.ok_or_else(|| UnknownStockSheet { asked: name.to_owned() })?;
        Ok(Self { name: (*name).to_owned(), width: Length::mm(*long), height: Length::mm(*short) })
    }

    /// Area in mm².
    #[must_use]
    pub fn area(&self) -> f64 {
        self.width.to_mm() * self.height.to_mm()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sheet_of_feet_is_exact() {
        let sheet = StockSheet::usual("4x8 ft").unwrap();
        assert_eq!((sheet.width, sheet.height), (Length::mm(8.0 * 304.8), Length::mm(4.0 * 304.8)));
        assert_eq!(StockSheet::usual("9x9 ft"), Err(UnknownStockSheet { asked: "9x9 ft".to_owned() }));
    }
}
