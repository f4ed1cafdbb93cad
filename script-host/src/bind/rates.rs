//! `stock_sheet`, `rates`: what blanks are cut from, and what work costs.
//!
//! Invariant: each is said once; the kernel checks the numbers and prices nothing that is left out.

use kernel::history::{RatesSpec, SheetCharge, StockSheetSpec, StockSizeSpec};
use rhai::{Engine, Map, NativeCallContext};

use super::Word;
use super::part::Part;
use crate::fault::ScriptFault;
use crate::options::{Argument, Options};
use crate::session::{Bound, refuse};

pub(super) const WORDS: &[Word] = &[
    Word {
        name: "stock_sheet",
        call: "part.stock_sheet(#{ size | width + height, gap })",
        meaning: "The sheet that blanks are cut from, in mm: a usual `size` (\"small\", \"medium\", \"large\", \"super large\", \"4x8 ft\", \"5x10 ft\", \"4x10 ft\", \"3x8 ft\", \"6x12 ft\") or `width` and `height`; `gap` is the least distance between two blanks. Its rim is the `sheet_margin` of `shop`; the `grain` of `part` lies along its longer side.",
    },
    Word {
        name: "rates",
        call: "part.rates(#{ currency, material_per_kg, charge, cut_per_m | cut_speed + cutting_per_hour, per_pierce, per_bend, per_tool_change, per_bump, per_batch, batch_size })",
        meaning: "What work costs; what is left out is not charged. `charge` is \"rectangle\" around the blank, or \"sheet\" for its share of the stock sheet; `cut_speed` is in m/min; tool changes and `per_batch` are paid once for `batch_size` parts, 1 by default.",
    },
];

pub(super) fn register(engine: &mut Engine) {
    engine.register_fn(
        "stock_sheet",
        |context: NativeCallContext<'_>, part: &mut Part, options: Map| -> Bound<()> {
            let allowed = ["size", "width", "height", "gap"];
            let mut options = Options::new(&context, "stock_sheet", options, &allowed)?;
            options.not_both("size", "width")?;
            options.not_both("size", "height")?;
            let size = match options.get("size") {
                Some(name) => StockSizeSpec::Usual(name.text()?),
                None => {
                    StockSizeSpec::Mm([options.need("width")?.plain()?, options.need("height")?.plain()?])
                }
            };
            let spec = StockSheetSpec {
                size,
                gap: options.need("gap")?.plain()?,
                span: Some(part.session.span(&context)),
            };
            match part.session.with_draft(|draft| draft.stock_sheet.replace(spec)) {
                Some(_) => Err(refuse(&context, ScriptFault::StockSheetTwice)),
                None => Ok(()),
            }
        },
    );
    engine.register_fn(
        "rates",
        |context: NativeCallContext<'_>, part: &mut Part, options: Map| -> Bound<()> {
            let allowed = [
                "currency",
                "material_per_kg",
                "charge",
                "cut_per_m",
                "cut_speed",
                "cutting_per_hour",
                "per_pierce",
                "per_bend",
                "per_tool_change",
                "per_bump",
                "per_batch",
                "batch_size",
            ];
            let mut options = Options::new(&context, "rates", options, &allowed)?;
            let currency = options.need("currency")?.text()?;
            let charges = [("rectangle", SheetCharge::Rectangle), ("sheet", SheetCharge::Sheet)];
            let charge = options.word_or("charge", &charges, SheetCharge::Rectangle)?;
            // No batch of covers has more.
            let batch_size = options.get("batch_size").map(|size| size.count(1, 1_000_000)).transpose()?;
            let mut plain = |option| options.get(option).map(Argument::plain).transpose();
            let spec = RatesSpec {
                currency,
                material_per_kg: plain("material_per_kg")?,
                charge,
                cut_per_m: plain("cut_per_m")?,
                cut_speed: plain("cut_speed")?,
                cutting_per_hour: plain("cutting_per_hour")?,
                per_pierce: plain("per_pierce")?,
                per_bend: plain("per_bend")?,
                per_tool_change: plain("per_tool_change")?,
                per_bump: plain("per_bump")?,
                per_batch: plain("per_batch")?,
                batch_size,
                span: Some(part.session.span(&context)),
            };
            match part.session.with_draft(|draft| draft.rates.replace(spec)) {
                Some(_) => Err(refuse(&context, ScriptFault::RatesTwice)),
                None => Ok(()),
            }
        },
    );
}
