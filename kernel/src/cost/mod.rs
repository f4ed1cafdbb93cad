//! What a part needs, how many blanks a stock sheet gives, and what that costs at the user's rates.
//!
//! Job: an estimate, worked out when a report or summary is asked for. Invariant: nothing has a price that
//! nobody gave, and the lines of a price add up to it. Must not know: checks, tools, any output format.

mod fault;
mod lattice;
mod nesting;
mod price;
mod work;

use crate::blank::Blank;
use crate::diag::Diagnostic;
use crate::fold::FoldTree;
use crate::history::{History, SheetCharge};
use crate::stock::{Limit, Sheet, ShopLimits};

pub use fault::CostFault;
pub use nesting::{Nesting, Placed, Room, nest};
pub use price::{Price, PriceLine, Rates};
pub use work::{ToolChanges, Work};

/// What was said about sheet and rates, checked.
#[derive(Clone, Debug, PartialEq)]
pub struct Order {
    /// The stock sheet, if one was chosen.
    pub room: Option<Room>,
    /// What work costs, if it was said.
    pub rates: Option<Rates>,
}

/// What one part needs and costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    /// Quantities.
    pub work: Work,
    /// Blanks on the stock sheet, if one was chosen.
    pub nesting: Option<Nesting>,
    /// Price of one part, if there are rates; none where a share of a sheet is charged that the blank does not
    /// fit on.
    pub price: Option<Price>,
}

impl Order {
    /// Checks what a history says; the rim of the stock sheet is that of the shop, the grain that of the part's sheet.
    ///
    /// # Errors
    /// A finding for a sheet or a rate that cannot be.
    pub fn of(history: &History, sheet: &Sheet, limits: &ShopLimits) -> Result<Self, Vec<Diagnostic>> {
        let mut faults = Vec::new();
        let mut checked = Self { room: None, rates: None };
        if let Some(spec) = &history.stock_sheet {
            match Room::of(spec, limits.number(Limit::SheetMargin), sheet.grain) {
                Ok(room) => checked.room = Some(room),
                Err(fault) => faults.push(fault.diagnose(spec.origin())),
            }
        }
        if let Some(spec) = &history.rates {
            let rates = match spec.charge {
                SheetCharge::Sheet if history.stock_sheet.is_none() => Err(CostFault::NoStockSheet),
                SheetCharge::Sheet | SheetCharge::Rectangle => Rates::of(spec),
            };
            match rates {
                Ok(rates) => checked.rates = Some(rates),
                Err(fault) => faults.push(fault.diagnose(spec.origin())),
            }
        }
        if faults.is_empty() { Ok(checked) } else { Err(faults) }
    }

    /// What one part needs and costs; `planned` are the tool changes of its bend order, if there is one.
    #[must_use]
    pub fn estimate(
        &self,
        sheet: &Sheet,
        tree: &FoldTree,
        blank: &Blank,
        planned: Option<usize>,
    ) -> Estimate {
        let work = Work::of(sheet, tree, blank, planned);
        let nesting = self.room.as_ref().map(|room| {
            let outline = blank.region.outers().next().expect("a blank has one outer contour");
            nest(outline, work.area_mm2, room)
        });
        let price = self.rates.as_ref().and_then(|rates| Price::of(rates, &work, sheet, nesting.as_ref()));
        Estimate { work, nesting, price }
    }
}
