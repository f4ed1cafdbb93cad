//! The blank is larger than every sheet.
//!
//! What it does: holds the blank's extent, with a rim on every side, against the stock sheet that was chosen for the
//! part, else against all sheets of the shop, lying along their sides either way round; where the grain is said, with
//! it along the length of the sheet only.
//! Limit: trade formats of 1000 x 2000 to 2000 x 4000 mm and a rim of 10 mm (common practice, no source).
//! Why it is bad: it cannot be cut in one piece: a fault.
//! Use instead: a smaller part, a part in two pieces, or the shop's own sheets.
//! Invariant: one finding at most; a blank is not laid aslant.

use crate::diag::{Bound, Diagnostic, Severity};
use crate::quantity::tolerance;
use crate::stock::{Grain, Limit};

use super::limited::{Broken, By, Formula, Least, short};
use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "the blank with a rim of 10 mm fits on a sheet in stock, up to 2000 x 4000 mm",
    source: "trade formats: common practice, no source",
    of: &[Limit::Sheets, Limit::SheetMargin],
    run,
};

const CODE: &str = "check::sheet_size";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let rim = subject.limits.number(Limit::SheetMargin);
    let bounds = subject.blank.bounding_box();
    let size = [bounds.width() + 2.0 * rim, bounds.height() + 2.0 * rim];
    // Sides of the blank that may lie along the length of a sheet.
    let ways: &[usize] = match subject.sheet.grain {
        Grain::Any => &[0, 1],
        Grain::AlongX => &[0],
        Grain::AlongY => &[1],
    };
    let chosen = subject.cut_from.map(|(sheet, _)| {
        let [one, other] = [sheet.width.to_mm(), sheet.height.to_mm()];
        [one.min(other), one.max(other)]
    });
    let in_stock = subject.limits.pairs(Limit::Sheets);
    let sheets = chosen.as_ref().map_or(in_stock, std::slice::from_ref);
    // By how much a blank is too large for a sheet, and the side that is: its size and that of the sheet.
    let over = |&[width, length]: &[f64; 2], along: usize| {
        let (long, wide) = (size[along] - length, size[1 - along] - width);
        if long >= wide { (long, size[along], length) } else { (wide, size[1 - along], width) }
    };
    let all = sheets.iter().flat_map(|sheet| ways.iter().map(move |&along| (sheet, over(sheet, along))));
    let Some((sheet, (over, got, limit))) = all.min_by(|a, b| a.1.0.total_cmp(&b.1.0)) else {
        return Vec::new();
    };
    if over <= tolerance::SNAP_MM {
        return Vec::new();
    }
    let rim_words = if rim > 0.0 { format!(" with its rim of {} mm", short(rim)) } else { String::new() };
    let by = if chosen.is_some() {
        By::Chosen("the stock sheet that was chosen")
    } else {
        By::Shop(Limit::Sheets)
    };
    let least = Least { value: limit, formula: Formula::Sheet(*sheet), by };
    let which =
        if chosen.is_some() { "does not fit on the stock sheet" } else { "fits on no sheet in stock" };
    let broken = Broken {
        code: CODE,
        severity: Severity::Fault,
        what: format!(
            "the blank of {:.2} x {:.2} mm {which}: one side{rim_words} is {got:.2} mm",
            bounds.width(),
            bounds.height()
        ),
        got,
        bound: Bound::AtMost,
        limit: &least,
        unit: "mm",
        places: 1,
        origin: subject.sheet_origin.clone(),
    };
    let mut found = broken.finding(subject);
    let hint = match subject.cut_from {
        Some((_, said)) => {
            found.origins.push(said.clone());
            "make the part smaller or of two pieces, or choose a larger `stock_sheet`"
        }
        None => "make the part smaller or of two pieces, or say which `sheets` the shop has",
    };
    vec![found.hint(hint)]
}
