//! An opening too small for its sheet.
//!
//! What it does: measures every closed opening: its diameter, or the smaller side of its box along the blank's axes,
//! or along its own first straight side.
//! Limit: `1 t`, at least 0.787 mm (0.031 in). Source: guideline sheet of a manufacturing service, holes and slots
//! (seen); hard metal `2 t` (another guide, seen); laser `0.5 t` (common practice, no source).
//! Why it is bad: a thin punch breaks, and a laser leaves a hole that is not round.
//! Use instead: a larger opening, a drilled hole, or the limit of the laser in the limits of the shop.
//! Invariant: one finding for each feature that cuts openings.

use std::collections::BTreeMap;

use crate::diag::Diagnostic;
use crate::geom::{Contour, Curve, Motion2, Point2};
use crate::stock::Limit;

use super::limited::{counted, in_thicknesses};
use super::openings::{Group, add, feature_of, middle, place};
use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "an opening is 1 thickness wide, at least 0.787 mm",
    source: "guideline sheet of a manufacturing service (seen)",
    of: &[Limit::HoleWidth, Limit::HoleWidthFloor],
    run,
};

const CODE: &str = "check::small_hole";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let limit = in_thicknesses(subject, Limit::HoleWidth).or_floor(subject.limits, Limit::HoleWidthFloor);
    let mut groups = BTreeMap::new();
    for contour in subject.blank.region.holes() {
        let width = width_of(contour, limit.value);
        if limit.is_above(width)
            && let Some(feature) = feature_of(subject.tree, contour)
        {
            add(&mut groups, feature, width, middle(contour));
        }
    }
    let finding = |(feature, group): (_, Group)| {
        let origin = subject.tree.origin(feature).clone();
        let (openings, are) = if group.places == 1 { ("an opening", "is") } else { ("openings", "are") };
        let what = format!(
            "{} of `{}` {are} {:.2} mm wide, the first at {}",
            counted(group.places, openings, openings),
            origin.name,
            group.got,
            place(group.at)
        );
        group.under(CODE, &limit, what, origin).finding(subject).hint("make it larger, or have it drilled")
    };
    groups.into_iter().map(finding).collect()
}

/// Least width of an opening; one that is plainly wider than `enough` may come out as any such width.
fn width_of(contour: &Contour, enough: f64) -> f64 {
    if let Some((_, radius)) = contour.as_circle() {
        return 2.0 * radius;
    }
    let bounds = contour.bounding_box();
    let upright = bounds.width().min(bounds.height());
    let side = contour.segments().iter().find(|piece| piece.curve == Curve::Line);
    match side {
        Some(side) if upright > enough => {
            let turned = Motion2 { x_axis: side.start_direction(), origin: Point2::ORIGIN }.inverse();
            let bounds = contour.moved(turned).bounding_box();
            upright.min(bounds.width().min(bounds.height()))
        }
        Some(_) | None => upright,
    }
}
