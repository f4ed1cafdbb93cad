//! A bump is higher than is usual with one stroke.
//!
//! What it does: compares the height of every bump with the thickness of its sheet.
//! Limit: `3 t`, for drawn domes and bumps pressed with one hit into unannealed low-carbon steel. Source:
//! common practice, no source.
//! Why it is bad: higher forms take several strokes, drawing in between, or tear.
//! Use instead: less height, several steps, or the advice of whoever makes the tool.
//! Invariant: one finding for each bump.

use crate::diag::Diagnostic;
use crate::quantity::tolerance;

use super::{Check, Subject};

pub(super) const CHECK: Check =
    Check { code: CODE, limit: "height of a bump 3 thicknesses", source: "common practice, no source", run };

const CODE: &str = "check::bump_height";

/// Greatest usual height, in thicknesses.
const LIMIT_IN_THICKNESSES: f64 = 3.0;

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let limit = LIMIT_IN_THICKNESSES * subject.tree.thickness();
    let higher = subject.tree.forms().iter().filter(|form| form.section.height > limit + tolerance::SNAP_MM);
    higher
        .map(|form| {
            let message = format!(
                "bump `{}` is {:.2} mm high, at most {limit:.2} mm is usual with one stroke",
                form.name, form.section.height
            );
            Diagnostic::warning(CODE, message, subject.tree.origin(form.feature).clone())
                .hint("make it lower, or ask the toolmaker for several strokes")
        })
        .collect()
}
