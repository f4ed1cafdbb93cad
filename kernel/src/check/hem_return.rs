//! A hem whose return is too short slips off the tool, or springs open.
//!
//! What it does: measures each hem from the outside of its bend to its farthest edge.
//! Limit: `6 t` for a hem pressed flat. Source: forming guideline of a fabrication service, "hem return length
//! ≥ 6 t" (seen); another one asks `5 t` of any hem. `4 t` for an open hem: common practice, no source. A rolled
//! hem has no return.
//! Why it is bad: the die that closes the hem has too little to press on, and the edge waves.
//! Use instead: make the hem longer, or roll the edge.
//! Invariant: only a hem is bent through a half turn, and one with a gap of no more than that in which a closed
//! one is drawn is closed.

use crate::diag::Diagnostic;
use crate::fold::Bend;
use crate::history::feature::CLOSED_GAP_MM;
use crate::quantity::{maths, tolerance};

use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "return of a closed hem 6 thicknesses, of an open one 4",
    source: "forming guideline of a fabrication service (seen); open hem: common practice, no source",
    run,
};

const CODE: &str = "check::hem_return";

/// Least return of a hem of one kind.
struct Limit {
    in_thicknesses: f64,
    kind: &'static str,
    source: &'static str,
}

const CLOSED: Limit = Limit {
    in_thicknesses: 6.0,
    kind: "a hem pressed flat",
    source: "forming guideline of a fabrication service",
};

const OPEN: Limit =
    Limit { in_thicknesses: 4.0, kind: "an open hem", source: "common practice, no published source" };

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let thickness = subject.tree.thickness();
    let short = |bend: &Bend| {
        let hem = subject.tree.panel(bend.child);
        if bend.turn() < maths::PI - tolerance::PARALLEL || hem.region.is_empty() {
            return None;
        }
        let closed = 2.0 * bend.inside_radius() <= CLOSED_GAP_MM + tolerance::SNAP_MM;
        let limit = if closed { CLOSED } else { OPEN };
        let got = hem.region.bounding_box().max.y + bend.inside_radius() + thickness;
        let least = limit.in_thicknesses * thickness;
        (got < least - tolerance::SNAP_MM).then(|| {
            let message = format!(
                "hem `{}` is {got:.2} mm long over its bend, at least {least:.2} mm ({} t) is usual for {} ({})",
                hem.name, limit.in_thicknesses, limit.kind, limit.source
            );
            Diagnostic::warning(CODE, message, subject.tree.origin(hem.feature).clone())
                .hint(format!("make it at least {least:.2} mm long, or roll the edge"))
        })
    };
    subject.tree.bends().iter().filter_map(short).collect()
}
