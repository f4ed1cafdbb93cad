//! A bump is higher than is usual with one stroke.
//!
//! What it does: compares the height of every bump with the thickness of its sheet.
//! Limit: `3 t`, for drawn domes and bumps pressed with one hit into unannealed low-carbon steel. Source:
//! common practice, no source.
//! Why it is bad: higher forms take several strokes, drawing in between, or tear.
//! Use instead: less height, several steps, or the advice of whoever makes the tool.
//! Invariant: one finding for each bump.

use crate::diag::{Bound, Diagnostic, Severity};
use crate::fold::Form;
use crate::stock::Limit;

use super::limited::{Broken, in_thicknesses};
use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "height of a bump 3 thicknesses",
    source: "common practice, no source",
    of: &[Limit::BumpHeight],
    run,
};

const CODE: &str = "check::bump_height";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let limit = in_thicknesses(subject, Limit::BumpHeight);
    let finding = |form: &Form| {
        let height = form.section.height;
        let broken = Broken {
            code: CODE,
            severity: Severity::Warning,
            what: format!("bump `{}` is {height:.2} mm high", form.name),
            got: height,
            bound: Bound::AtMost,
            limit: &limit,
            unit: "mm",
            places: 1,
            origin: subject.tree.origin(form.feature).clone(),
        };
        broken.finding(subject).hint("make it lower, or ask the toolmaker for several strokes")
    };
    let higher = subject.tree.forms().iter().filter(|form| limit.is_below(form.section.height));
    higher.map(finding).collect()
}
