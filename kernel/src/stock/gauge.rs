//! Gauge numbers: four trade tables that turn a number into a thickness in inches.
//!
//! Job: the published tables. Invariant: a higher number is a thinner sheet, and the same number is a
//! different thickness in each system, so a gauge always comes with its system.
//! Must not know: materials; a gauge system is not tied to one alloy.

use thiserror::Error;

use crate::quantity::Length;

use super::Thickness;

/// Whose table a gauge number belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GaugeSystem {
    /// Manufacturers' standard gauge for uncoated sheet steel, 7 to 30: weight of 15 U.S.C. 206 in lb/ft²
    /// divided by 41.82 lb/ft² per inch.
    SheetSteel,
    /// Galvanised sheet, 8 to 30, thickness with its coating: the same with 2.5 oz/ft² more.
    Galvanised,
    /// US standard gauge, 7 to 30, used for stainless sheet: weight divided by 40 lb/ft² per inch.
    Stainless,
    /// American wire gauge, 7 to 30, used for aluminium and brass: `0.005 · 92^((36 − n) / 39)` inch.
    AluminiumAndBrass,
}

/// Why there is no thickness for a gauge number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum GaugeError {
    /// The table has no such row.
    #[error("there is no {number} gauge for {}; the table runs from {least} to {most}", system.name())]
    OutOfRange {
        /// The table that was asked.
        system: GaugeSystem,
        /// The number that was asked for.
        number: u32,
        /// The lowest number of the table, its thickest sheet.
        least: u32,
        /// The highest number of the table, its thinnest sheet.
        most: u32,
    },
}

/// Inches for 7 to 30 gauge. Source: supplier gauge chart, inch column (seen), equal to the law.
const SHEET_STEEL: [f64; 24] = [
    0.1793, 0.1644, 0.1495, 0.1345, 0.1196, 0.1046, 0.0897, 0.0747, 0.0673, 0.0598, 0.0538, 0.0478, 0.0418,
    0.0359, 0.0329, 0.0299, 0.0269, 0.0239, 0.0209, 0.0179, 0.0164, 0.0149, 0.0135, 0.0120,
];

/// Inches for 8 to 30 gauge. Source: supplier gauge chart (seen); the chart lacks 8 and misprints 11, 24
/// and 27, which are given by the law here (from memory).
const GALVANISED: [f64; 23] = [
    0.1681, 0.1532, 0.1382, 0.1233, 0.1084, 0.0934, 0.0785, 0.0710, 0.0635, 0.0575, 0.0516, 0.0456, 0.0396,
    0.0366, 0.0336, 0.0306, 0.0276, 0.0247, 0.0217, 0.0202, 0.0187, 0.0172, 0.0157,
];

/// Inches for 7 to 30 gauge. Source: 15 U.S.C. 206 (seen; 28 and 29 from memory).
const STAINLESS: [f64; 24] = [
    0.1875, 0.171875, 0.15625, 0.140625, 0.125, 0.109375, 0.09375, 0.078125, 0.0703125, 0.0625, 0.05625,
    0.05, 0.04375, 0.0375, 0.034375, 0.03125, 0.028125, 0.025, 0.021875, 0.01875, 0.0171875, 0.015625,
    0.0140625, 0.0125,
];

/// Inches for 7 to 30 gauge. Source: supplier gauge chart (seen); the chart misprints 21, which is given by
/// the law here (from memory).
const ALUMINIUM_AND_BRASS: [f64; 24] = [
    0.1443, 0.1285, 0.1144, 0.1019, 0.0907, 0.0808, 0.0720, 0.0641, 0.0571, 0.0508, 0.0453, 0.0403, 0.0359,
    0.0320, 0.0285, 0.0253, 0.0226, 0.0201, 0.0179, 0.0159, 0.0142, 0.0126, 0.0113, 0.0100,
];

impl GaugeSystem {
    /// Every system.
    pub const ALL: [Self; 4] = [Self::SheetSteel, Self::Galvanised, Self::Stainless, Self::AluminiumAndBrass];

    /// What the system is used for: `sheet steel`, `galvanised steel`, `stainless steel`,
    /// `aluminium and brass`.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::SheetSteel => "sheet steel",
            Self::Galvanised => "galvanised steel",
            Self::Stainless => "stainless steel",
            Self::AluminiumAndBrass => "aluminium and brass",
        }
    }

    /// The thickness of a gauge number as published in inches (25.4 mm each).
    ///
    /// # Errors
    /// [`GaugeError::OutOfRange`] with the range of the table.
    pub fn thickness(self, number: u32) -> Result<Thickness, GaugeError> {
        let (least, inches) = self.table();
        let most = least + inches.len() as u32 - 1;
        if number < least || most < number {
            return Err(GaugeError::OutOfRange { system: self, number, least, most });
        }
        let inch = inches[(number - least) as usize];
        Ok(Thickness::new(Length::inch(inch)).expect("every published gauge is above zero"))
    }

    /// Lowest gauge number and the inches from there on.
    fn table(self) -> (u32, &'static [f64]) {
        match self {
            Self::SheetSteel => (7, &SHEET_STEEL),
            Self::Galvanised => (8, &GALVANISED),
            Self::Stainless => (7, &STAINLESS),
            Self::AluminiumAndBrass => (7, &ALUMINIUM_AND_BRASS),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sixteen_gauge_differs_in_every_system() {
        // Source: the four published tables, 16 gauge: 0.0598, 0.0635, 0.0625 and 0.0508 in.
        let mm = GaugeSystem::ALL.map(|system| system.thickness(16).unwrap().length().to_mm());
        for (got, wanted) in mm.into_iter().zip([1.51892, 1.6129, 1.5875, 1.29032]) {
            assert!((got - wanted).abs() < 1e-9, "{got} against {wanted}");
        }
    }

    #[test]
    fn a_higher_number_is_a_thinner_sheet() {
        for system in GaugeSystem::ALL {
            let (least, inches) = system.table();
            assert!(inches.windows(2).all(|pair| pair[0] > pair[1]), "{system:?}");
            assert_eq!(least as usize + inches.len() - 1, 30, "{system:?}");
        }
    }

    #[test]
    fn missing_gauge_names_the_range() {
        assert_eq!(
            GaugeSystem::Galvanised.thickness(7).unwrap_err().to_string(),
            "there is no 7 gauge for galvanised steel; the table runs from 8 to 30"
        );
        assert!(GaugeSystem::SheetSteel.thickness(7).is_ok());
        assert!(GaugeSystem::SheetSteel.thickness(31).is_err());
    }
}
