//! What work costs and which sheet the blank is cut from, as they were said, in saved form.
//!
//! Invariant: plain data; nothing has a price that nobody gave. Must not know: what they make of a part.

use serde::{Deserialize, Serialize};

use crate::diag::{Origin, Span};

/// The sheet that blanks are cut from; its rim is that of the shop, its grain that of the part.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StockSheetSpec {
    /// Its format.
    pub size: StockSizeSpec,
    /// Least distance between two blanks, in mm.
    pub gap: f64,
    /// Where it was written.
    #[serde(skip)]
    pub span: Option<Span>,
}

/// Format of a stock sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StockSizeSpec {
    /// A usual format by its name.
    Usual(String),
    /// Width and height in mm.
    Mm([f64; 2]),
}

/// What work costs, in one currency. What is left out is not charged.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RatesSpec {
    /// What prices are called, for example `EUR`.
    pub currency: String,
    /// Of one kg of sheet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub material_per_kg: Option<f64>,
    /// How much sheet is charged.
    #[serde(default)]
    pub charge: SheetCharge,
    /// Of one metre of cut.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cut_per_m: Option<f64>,
    /// Metres that are cut in a minute, in place of `cut_per_m`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cut_speed: Option<f64>,
    /// Of one hour of cutting, with `cut_speed`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cutting_per_hour: Option<f64>,
    /// Of one pierce.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub per_pierce: Option<f64>,
    /// Of one stroke of the press brake.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub per_bend: Option<f64>,
    /// Of one change of bending tools, once a batch.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub per_tool_change: Option<f64>,
    /// Of pressing one bump.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub per_bump: Option<f64>,
    /// Of setting up, once a batch.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub per_batch: Option<f64>,
    /// Parts in a batch; 1 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub batch_size: Option<u32>,
    /// Where they were written.
    #[serde(skip)]
    pub span: Option<Span>,
}

/// How much sheet is charged for one blank.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SheetCharge {
    /// The smallest rectangle around it.
    #[default]
    Rectangle,
    /// The stock sheet divided by the blanks that it gives.
    Sheet,
}

impl StockSheetSpec {
    /// Name and place, for findings.
    #[must_use]
    pub fn origin(&self) -> Origin {
        Origin { name: "stock sheet".to_owned(), span: self.span }
    }
}

impl RatesSpec {
    /// Name and place, for findings.
    #[must_use]
    pub fn origin(&self) -> Origin {
        Origin { name: "rates".to_owned(), span: self.span }
    }

    /// Prices and speeds that are given, with their names.
    pub fn given(&self) -> impl Iterator<Item = (&'static str, f64)> {
        let all = [
            ("material_per_kg", self.material_per_kg),
            ("cut_per_m", self.cut_per_m),
            ("cut_speed", self.cut_speed),
            ("cutting_per_hour", self.cutting_per_hour),
            ("per_pierce", self.per_pierce),
            ("per_bend", self.per_bend),
            ("per_tool_change", self.per_tool_change),
            ("per_bump", self.per_bump),
            ("per_batch", self.per_batch),
        ];
        all.into_iter().filter_map(|(name, value)| Some((name, value?)))
    }
}
