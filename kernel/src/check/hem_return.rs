//! A hem whose return is too short slips off the tool, or springs open.
//!
//! What it does: measures each hem from the outside of its bend to its farthest edge.
//! Limit: `6 t` for a hem pressed flat. Source: forming guideline of a fabrication service, "hem return length
//! ≥ 6 t" (seen); another one asks `5 t` of any hem. `4 t` for an open hem: common practice, no source. A rolled
//! hem has no return.
//! Why it is bad: the die that closes the hem has too little to press on, and the edge waves: a fault.
//! Use instead: make the hem longer, or roll the edge.
//! Invariant: only a hem is bent through a half turn, and one with a gap of no more than that in which a closed
//! one is drawn is closed.

use crate::diag::{Bound, Diagnostic, Severity};
use crate::fold::Bend;
use crate::history::feature::CLOSED_GAP_MM;
use crate::quantity::tolerance;
use crate::stock::Limit;

use super::limited::{Broken, in_thicknesses};
use super::{Check, Subject, die};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "return of a closed hem 6 thicknesses, of an open one 4",
    source: "forming guideline of a fabrication service (seen); open hem: common practice, no source",
    of: &[Limit::ClosedHem, Limit::OpenHem],
    run,
};

const CODE: &str = "check::hem_return";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let thickness = subject.tree.thickness();
    let short = |bend: &Bend| {
        let hem = subject.tree.panel(bend.child);
        if !die::is_hem(bend) || hem.region.is_empty() {
            return None;
        }
        let closed = 2.0 * bend.inside_radius() <= CLOSED_GAP_MM + tolerance::SNAP_MM;
        let (limit, kind) =
            if closed { (Limit::ClosedHem, "pressed flat") } else { (Limit::OpenHem, "open") };
        let limit = in_thicknesses(subject, limit);
        let got = hem.region.bounding_box().max.y + bend.inside_radius() + thickness;
        if !limit.is_above(got) {
            return None;
        }
        let broken = Broken {
            code: CODE,
            severity: Severity::Fault,
            what: format!("hem `{}`, {kind}, is {got:.2} mm long over its bend", hem.name),
            got,
            bound: Bound::AtLeast,
            limit: &limit,
            unit: "mm",
            places: 1,
            origin: subject.tree.origin(hem.feature).clone(),
        };
        Some(broken.finding(subject).hint("make it longer, or roll the edge"))
    };
    subject.tree.bends().iter().filter_map(short).collect()
}
