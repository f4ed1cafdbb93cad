//! Quantities times rates.
//!
//! Invariant: a line is a quantity times a rate that was given; the price is the sum of its lines.

use crate::history::{RatesSpec, SheetCharge};
use crate::stock::Sheet;

use super::{CostFault, Nesting, ToolChanges, Work};

/// What work costs, checked: every price is a number of 0 or more, in `currency`.
#[derive(Clone, Debug, PartialEq)]
pub struct Rates {
    /// What prices are called.
    pub currency: String,
    /// Of one kg of sheet.
    material_per_kg: Option<f64>,
    charge: SheetCharge,
    cut_per_m: Option<f64>,
    per_pierce: Option<f64>,
    per_bend: Option<f64>,
    per_tool_change: Option<f64>,
    per_bump: Option<f64>,
    per_batch: Option<f64>,
    batch_size: u32,
}

/// Price of one part.
#[derive(Clone, Debug, PartialEq)]
pub struct Price {
    /// What it is counted in.
    pub currency: String,
    /// Its lines, in the order of making.
    pub lines: Vec<PriceLine>,
}

/// One line of a price.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PriceLine {
    /// What is paid for.
    pub what: &'static str,
    /// How much of it one part needs, in `unit`.
    pub quantity: f64,
    /// For example `kg`; empty for things that are counted.
    pub unit: &'static str,
    /// Price of one.
    pub rate: f64,
}

/// Minutes in an hour.
const MINUTES: f64 = 60.0;
/// Millimetres in a metre.
const MM_PER_M: f64 = 1000.0;

impl Rates {
    /// Checks rates.
    ///
    /// # Errors
    /// [`CostFault::Rate`] for a price below 0 or a speed of 0, [`CostFault::CutRate`] if the price of cutting is
    /// said twice or by half.
    pub fn of(spec: &RatesSpec) -> Result<Self, CostFault> {
        if let Some((rate, got)) = spec.given().find(|(_, value)| !(value.is_finite() && *value >= 0.0)) {
            return Err(CostFault::Rate { rate, got, wanted: "a number of 0 or more" });
        }
        if spec.batch_size == Some(0) {
            return Err(CostFault::Rate { rate: "batch_size", got: 0.0, wanted: "1 or more" });
        }
        let cut_per_m = match (spec.cut_per_m, spec.cut_speed, spec.cutting_per_hour) {
            (per_m, None, None) => per_m,
            (None, Some(speed), Some(per_hour)) => {
                if speed == 0.0 {
                    return Err(CostFault::Rate { rate: "cut_speed", got: speed, wanted: "above 0" });
                }
                Some(per_hour / MINUTES / speed)
            }
            (None, Some(_), None) | (None, None, Some(_)) => return Err(CostFault::CutRate { twice: false }),
            (Some(_), Some(_), _) | (Some(_), None, Some(_)) => {
                return Err(CostFault::CutRate { twice: true });
            }
        };
        Ok(Self {
            currency: spec.currency.clone(),
            material_per_kg: spec.material_per_kg,
            charge: spec.charge,
            cut_per_m,
            per_pierce: spec.per_pierce,
            per_bend: spec.per_bend,
            per_tool_change: spec.per_tool_change,
            per_bump: spec.per_bump,
            per_batch: spec.per_batch,
            batch_size: spec.batch_size.unwrap_or(1),
        })
    }
}

impl PriceLine {
    /// Quantity times rate.
    #[must_use]
    pub fn amount(&self) -> f64 {
        self.quantity * self.rate
    }
}

impl Price {
    /// The price of a part at these rates; none if the share of a sheet is charged that no blank fits on.
    #[must_use]
    pub fn of(rates: &Rates, work: &Work, sheet: &Sheet, nesting: Option<&Nesting>) -> Option<Self> {
        let (material, kg) = match rates.charge {
            SheetCharge::Rectangle => ("sheet, rectangle around the blank", work.rectangle_kg),
            SheetCharge::Sheet => {
                let nesting = nesting.filter(|nesting| !nesting.placed.is_empty())?;
                let share = nesting.room.sheet.area() / count(nesting.placed.len());
                ("sheet, share of the stock sheet", sheet.mass_of_area_kg(share))
            }
        };
        let changes = match work.tool_changes {
            ToolChanges::Planned(_) => "tool changes",
            ToolChanges::ByRadii(_) => "tool changes by inside radii",
        };
        let share_of_batch = 1.0 / f64::from(rates.batch_size);
        let lines = [
            (material, kg, "kg", rates.material_per_kg),
            ("cut", work.cut_length_mm / MM_PER_M, "m", rates.cut_per_m),
            ("pierces", count(work.pierces), "", rates.per_pierce),
            ("bending strokes", count(work.strokes), "", rates.per_bend),
            (changes, count(work.tool_changes.count()) * share_of_batch, "", rates.per_tool_change),
            ("bumps", count(work.bumps), "", rates.per_bump),
            ("setting up", share_of_batch, "", rates.per_batch),
        ];
        let lines = lines.into_iter().filter_map(|(what, quantity, unit, rate)| {
            rate.map(|rate| PriceLine { what, quantity, unit, rate })
        });
        Some(Self { currency: rates.currency.clone(), lines: lines.collect() })
    }

    /// The sum of the lines.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.lines.iter().map(PriceLine::amount).sum()
    }
}

#[expect(clippy::cast_precision_loss, reason = "counts are far below 2^53")]
fn count(number: usize) -> f64 {
    number as f64
}
