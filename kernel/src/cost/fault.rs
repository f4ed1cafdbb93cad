//! Why a stock sheet or a rate cannot be.
//!
//! Invariant: each variant has a code that never changes its meaning, and values for its message.

use thiserror::Error;

use crate::diag::{Diagnostic, Origin};
use crate::stock::{USUAL_SHEETS, UnknownStockSheet};

/// Why a stock sheet or a rate cannot be.
#[derive(Clone, Debug, PartialEq, Error)]
#[expect(missing_docs, reason = "the message of each fault says what its fields are")]
pub enum CostFault {
    #[error(transparent)]
    UnknownStockSheet(#[from] UnknownStockSheet),
    #[error("the {what} of the stock sheet is {got} mm; it must be {wanted}")]
    StockSheet { what: &'static str, got: f64, wanted: &'static str },
    #[error("margins of {margin} mm leave nothing of a stock sheet of {} x {} mm", sides[0], sides[1])]
    NothingLeft { margin: f64, sides: [f64; 2] },
    #[error("the rate `{rate}` is {got}; it must be {wanted}")]
    Rate { rate: &'static str, got: f64, wanted: &'static str },
    #[error("the price of cutting is said {}", if *twice { "twice" } else { "by half" })]
    CutRate { twice: bool },
    #[error("the share of a stock sheet is charged, and no stock sheet is chosen")]
    NoStockSheet,
}

impl CostFault {
    /// The finding for whoever said it.
    #[must_use]
    pub fn diagnose(&self, origin: Origin) -> Diagnostic {
        let (code, hint) = match self {
            Self::UnknownStockSheet(_) => {
                let known: Vec<String> = USUAL_SHEETS.iter().map(|(name, _)| format!("`{name}`")).collect();
                (
                    "cost::unknown_stock_sheet",
                    format!("known are {}; give any other by `width` and `height`", known.join(", ")),
                )
            }
            Self::StockSheet { .. } => ("cost::stock_sheet", "lengths are in mm".to_owned()),
            Self::NothingLeft { .. } => (
                "cost::nothing_left",
                "the margin runs along every edge; it is the `sheet_margin` of `shop`".to_owned(),
            ),
            Self::Rate { .. } => ("cost::rate", "leave out what is not charged".to_owned()),
            Self::CutRate { .. } => {
                ("cost::cut_rate", "give `cut_per_m`, or `cut_speed` and `cutting_per_hour`".to_owned())
            }
            Self::NoStockSheet => (
                "cost::no_stock_sheet",
                "choose one with `stock_sheet`, or charge by `\"rectangle\"`".to_owned(),
            ),
        };
        Diagnostic::fault(code, self.to_string(), origin).hint(hint)
    }
}
