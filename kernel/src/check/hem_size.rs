//! A hem is too narrow to be made as it is drawn.
//!
//! What it does: measures the gap of open hems and the outside radius of rolled ones.
//! Limits: gap `t`, inside diameter of a hem; forming guideline of a fabrication service (seen). Outside radius of
//! a roll `2 t`; sheet metal design guidelines, curls (seen), read here as the outside radius, for an opening as wide
//! as the sheet is thick.
//! Why it is bad: what lies between the two is no stable shape: the hem closes, or springs open.
//! Use instead: a closed hem, a wider gap, or a larger roll.
//! Invariant: one finding for each hem; closed ones have no gap.

use crate::diag::{Bound, Diagnostic, Severity};
use crate::fold::Bend;
use crate::history::feature::CLOSED_GAP_MM;
use crate::quantity::tolerance;
use crate::stock::Limit;

use super::limited::{Broken, in_thicknesses};
use super::{Check, Subject, die};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "gap of an open hem 1 thickness, outside radius of a rolled one 2",
    source: "forming guideline of a fabrication service (seen); sheet metal design guidelines, curls (seen)",
    of: &[Limit::HemGap, Limit::CurlRadius],
    run,
};

const CODE: &str = "check::hem_size";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let tree = subject.tree;
    let too_small = |bend: &Bend| {
        let hem = tree.panel(bend.child);
        let gap = 2.0 * bend.inside_radius();
        let (got, limit, what) = if hem.region.is_empty() {
            let outside = bend.inside_radius() + tree.thickness();
            let limit = in_thicknesses(subject, Limit::CurlRadius);
            (outside, limit, format!("rolled hem `{}` has an outside radius of {outside:.2} mm", hem.name))
        } else if gap <= CLOSED_GAP_MM + tolerance::SNAP_MM {
            return None;
        } else {
            let limit = in_thicknesses(subject, Limit::HemGap);
            (gap, limit, format!("open hem `{}` has a gap of {gap:.2} mm", hem.name))
        };
        let broken = Broken {
            code: CODE,
            severity: Severity::Warning,
            what,
            got,
            bound: Bound::AtLeast,
            limit: &limit,
            unit: "mm",
            places: 1,
            origin: tree.origin(hem.feature).clone(),
        };
        limit.is_above(got).then(|| broken.finding(subject).hint("make it wider, or close the hem"))
    };
    tree.bends().iter().filter(|bend| die::is_hem(bend)).filter_map(too_small).collect()
}
