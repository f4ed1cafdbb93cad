//! What a part needs and costs, as figures of the report.
//!
//! Invariant: as for the whole report.

use schemars::JsonSchema;
use serde::Serialize;

use crate::cost::{Nesting, Placed, Price, PriceLine, ToolChanges, Work};

use crate::exchange::decimal::rounded;

/// What one part needs.
#[derive(Serialize, JsonSchema)]
pub(super) struct WorkFigures {
    /// Mass of the blank in kg, openings taken off.
    mass_kg: f64,
    /// Mass in kg of the smallest rectangle around the blank along its axes.
    rectangle_kg: f64,
    /// Area of the blank in mm², openings taken off.
    area_mm2: f64,
    /// Area of that rectangle in mm².
    rectangle_mm2: f64,
    /// Length of all cuts in mm, outline and openings.
    cut_length_mm: f64,
    /// Number of closed cuts, each with one pierce.
    pierces: usize,
    /// Number of bends.
    bends: usize,
    /// Strokes of the press brake: one for each bend, two for a half turn (common practice).
    bending_strokes: usize,
    /// Changes of bending tools.
    tool_changes: usize,
    /// What they were counted by: `order`, those of the planned bend order; or `radii` where there is no order, one
    /// set for each inside radius and two for half turns, less the first (common practice).
    tool_changes_by: &'static str,
    /// Number of formed bumps.
    bumps: usize,
}

/// Blanks on the stock sheet.
#[derive(Serialize, JsonSchema)]
pub(super) struct NestingFigures {
    /// Name of the format; empty for one of the family's own.
    sheet: String,
    /// Side of the sheet along x in mm.
    width_mm: f64,
    /// Side of the sheet along y in mm.
    height_mm: f64,
    /// Strip along every edge that stays free, in mm.
    margin_mm: f64,
    /// Least distance between two blanks in mm.
    gap_mm: f64,
    /// What of the blank lies along the longer side of the sheet: `any`, `x` or `y`.
    grain: &'static str,
    /// How many blanks the sheet gives.
    count: usize,
    /// How many rectangles around the blank would lie there in straight rows.
    count_of_rectangles: usize,
    /// Area of the blanks in percent of the sheet.
    use_percent: f64,
    /// The blanks, row by row.
    blanks: Vec<PlacedFigures>,
}

/// One blank on the sheet: turned about the origin of its own coordinates, which then lies at `[x, y]` from the
/// sheet's lower left corner.
#[derive(Serialize, JsonSchema)]
struct PlacedFigures {
    /// Turn to the left in degrees.
    turn_deg: u16,
    /// Where the blank's origin lies, in mm.
    at_mm: [f64; 2],
}

/// Price of one part.
#[derive(Serialize, JsonSchema)]
pub(super) struct PriceFigures {
    /// What prices are counted in.
    currency: String,
    /// Sum of the lines.
    total: f64,
    /// What is paid for, in the order of making.
    lines: Vec<PriceLineFigures>,
}

/// One line of a price.
#[derive(Serialize, JsonSchema)]
struct PriceLineFigures {
    /// What is paid for.
    what: &'static str,
    /// How much of it one part needs, in `unit`.
    quantity: f64,
    /// `kg`, `m`, or empty for things that are counted.
    unit: &'static str,
    /// Price of one.
    rate: f64,
    /// Quantity times rate.
    amount: f64,
}

pub(super) fn work_figures(work: &Work) -> WorkFigures {
    WorkFigures {
        mass_kg: rounded(work.mass_kg),
        rectangle_kg: rounded(work.rectangle_kg),
        area_mm2: rounded(work.area_mm2),
        rectangle_mm2: rounded(work.rectangle_mm2),
        cut_length_mm: rounded(work.cut_length_mm),
        pierces: work.pierces,
        bends: work.bends,
        bending_strokes: work.strokes,
        tool_changes: work.tool_changes.count(),
        tool_changes_by: match work.tool_changes {
            ToolChanges::Planned(_) => "order",
            ToolChanges::ByRadii(_) => "radii",
        },
        bumps: work.bumps,
    }
}

pub(super) fn nesting_figures(nesting: &Nesting) -> NestingFigures {
    let room = &nesting.room;
    let placed = |placed: &Placed| PlacedFigures {
        turn_deg: 90 * u16::from(placed.quarter_turns),
        at_mm: [placed.motion.origin.x, placed.motion.origin.y].map(rounded),
    };
    NestingFigures {
        sheet: room.sheet.name.clone(),
        width_mm: rounded(room.sheet.width.to_mm()),
        height_mm: rounded(room.sheet.height.to_mm()),
        margin_mm: rounded(room.margin.to_mm()),
        gap_mm: rounded(room.gap.to_mm()),
        grain: room.grain.word(),
        count: nesting.placed.len(),
        count_of_rectangles: nesting.rectangles,
        use_percent: rounded(100.0 * nesting.share),
        blanks: nesting.placed.iter().map(placed).collect(),
    }
}

pub(super) fn price_figures(price: &Price) -> PriceFigures {
    let line = |line: &PriceLine| PriceLineFigures {
        what: line.what,
        quantity: rounded(line.quantity),
        unit: line.unit,
        rate: rounded(line.rate),
        amount: rounded(line.amount()),
    };
    PriceFigures {
        currency: price.currency.clone(),
        total: rounded(price.total()),
        lines: price.lines.iter().map(line).collect(),
    }
}
