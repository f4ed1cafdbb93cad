//! Test strips of other sheet say little about this one.
//!
//! What it does: looks for a test strip of about the thickness of the sheet.
//! Limit: a tenth, which covers what sheet may be off its nominal thickness (EN 10131, from memory).
//! Why it is bad: K follows the radius over the thickness only roughly. In a fabrication shop's table of test
//! bends (`tests/reference/shop_bend_deductions.csv`, seen) K at `r = t` is 0.549 for 0.030 in sheet and 0.422
//! for 0.060 in sheet.
//! Use instead: bend a strip of the sheet that the part is made of.
//! Invariant: only sheet whose K is fitted to test strips has a finding, and one at most.

use crate::diag::Diagnostic;
use crate::stock::BendRule;

use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "some strip is as thick as the sheet within a tenth",
    source: "EN 10131, from memory, for what sheet may be off its nominal thickness",
    of: &[],
    run,
};

const CODE: &str = "check::strip_thickness";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let BendRule::TestStrips(fit) = &subject.sheet.bend_rule else { return Vec::new() };
    let thickness = subject.sheet.thickness;
    if fit.has_thickness(thickness) {
        return Vec::new();
    }
    let tested = fit.strips().iter().map(|fitted| fitted.strip.thickness.length().to_mm());
    let (least, most) = tested.fold((f64::INFINITY, 0.0), |(a, b), t| (t.min(a), t.max(b)));
    let range = if least < most { format!("{least:.3} to {most:.3} mm") } else { format!("{least:.3} mm") };
    let message = format!("no test strip is of {thickness} sheet or near it; tested are {range}");
    vec![
        Diagnostic::warning(CODE, message, subject.sheet_origin.clone())
            .hint("bend a strip of this sheet: at one radius over thickness K differs from sheet to sheet"),
    ]
}
