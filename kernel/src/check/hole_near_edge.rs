//! An opening near an edge.
//!
//! What it does: measures from every closed opening of the blank to the outline of the blank.
//! Limit: `2 t`, at least 1.575 mm (0.062 in). Source: guideline sheet of a manufacturing service (seen); slots up
//! to `10 t` long alike: design guideline of an enclosure maker (seen).
//! Why it is bad: the rim bulges when it is punched, burns when it is cut by laser, and tears off in use.
//! Use instead: move the opening inwards, make it smaller, or cut a notch that is open to the edge.
//! Invariant: one finding for each feature that cuts openings.

use std::collections::BTreeMap;

use crate::diag::Diagnostic;
use crate::geom::narrow_webs;
use crate::stock::Limit;

use super::limited::{counted, in_thicknesses};
use super::openings::{Group, add, feature_of, middle, place};
use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "an opening keeps 2 thicknesses from an edge, at least 1.575 mm",
    source: "guideline sheet of a manufacturing service (seen)",
    of: &[Limit::HoleToEdge, Limit::HoleToEdgeFloor],
    run,
};

const CODE: &str = "check::hole_near_edge";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let limit = in_thicknesses(subject, Limit::HoleToEdge).or_floor(subject.limits, Limit::HoleToEdgeFloor);
    let contours = subject.blank.region.contours();
    let mut groups = BTreeMap::new();
    for web in narrow_webs(&subject.blank.region, limit.value) {
        let [outline, opening] = web.contours;
        if contours[outline].signed_area() > 0.0
            && limit.is_above(web.width)
            && let Some(feature) = feature_of(subject.tree, &contours[opening])
        {
            add(&mut groups, feature, web.width, middle(&contours[opening]));
        }
    }
    let finding = |(feature, group): (_, Group)| {
        let (openings, are) =
            if group.places == 1 { ("an opening", "is") } else { ("openings", "come as near as") };
        let origin = subject.tree.origin(feature).clone();
        let what = format!(
            "{} of `{}` at {} {are} {:.2} mm from an edge",
            counted(group.places, openings, openings),
            origin.name,
            place(group.at),
            group.got
        );
        group
            .under(CODE, &limit, what, origin)
            .finding(subject)
            .hint("move it inwards, make it smaller, or let it run over the edge")
    };
    groups.into_iter().map(finding).collect()
}
