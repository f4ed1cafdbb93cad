//! An opening near a bend is pulled out of shape.
//!
//! What it does: measures from every opening, closed or a notch in an edge, to the bends of its panel.
//! Limit: `2 t` from the line where the bend starts or ends. Source: fabrication guide "hole edge to start
//! of the bend radius: distance ≥ 2.0 t" (seen); other guides ask `2.5 t + r` or `3 t + r` from the bend.
//! An opening that crosses the bend is left alone: it was cut on the blank or through the part on purpose.
//! Why it is bad: the punch stretches the sheet beside the bend, and a round hole comes out oval.
//! Use instead: move the opening away, make the flange longer, or cut it after bending.
//! Invariant: one finding for each cutout and bend, however many openings are too near.

use std::collections::BTreeMap;

use crate::diag::Diagnostic;
use crate::fold::{EdgeLabel, Panel};
use crate::geom::{Segment, distance_between};
use crate::ident::{BendId, FeatureId};
use crate::quantity::tolerance;

use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "an opening keeps 2 thicknesses from the line where a bend starts or ends",
    source: "fabrication guide, hole edge to start of the bend radius (seen)",
    run,
};

const CODE: &str = "check::hole_near_bend";

/// Smallest distance from an opening to the start of a bend, in thicknesses.
const LIMIT_IN_THICKNESSES: f64 = 2.0;

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let limit = LIMIT_IN_THICKNESSES * subject.tree.thickness();
    let mut findings = Vec::new();
    for panel in subject.tree.panels() {
        for (bend, crease) in creases(subject, panel) {
            let bend = &subject.tree.panel(subject.tree.bend(bend).child).name;
            for (feature, (count, least)) in openings_within(subject, panel, crease, limit) {
                let (openings, are) = if count == 1 {
                    ("an opening".to_owned(), "is")
                } else {
                    (format!("{count} openings"), "come as near as")
                };
                let message = format!(
                    "{openings} in panel `{}` {are} {least:.2} mm from the bend of `{bend}`, at least {limit:.2} mm is usual",
                    panel.name
                );
                findings.push(
                    Diagnostic::warning(CODE, message, subject.tree.origin(feature).clone())
                        .hint("move the opening away from the bend, or cut it after bending"),
                );
            }
        }
    }
    findings
}

/// Of each cutout, how many of its openings lie within `limit` mm of a crease, and the least distance.
fn openings_within(
    subject: Subject<'_>,
    panel: &Panel,
    crease: &Segment,
    limit: f64,
) -> BTreeMap<FeatureId, (usize, f64)> {
    let near = crease.bounding_box().grown(limit);
    let mut found: BTreeMap<FeatureId, (usize, f64)> = BTreeMap::new();
    for contour in panel.region.contours().iter().filter(|c| near.touches(c.bounding_box())) {
        // Notches of one cutout in one contour count as one opening.
        let mut in_contour: BTreeMap<FeatureId, f64> = BTreeMap::new();
        for piece in contour.segments() {
            if let EdgeLabel::Opening(feature) = subject.tree.label(piece) {
                let least = in_contour.entry(*feature).or_insert(f64::INFINITY);
                *least = least.min(distance_between(piece, crease));
            }
        }
        for (feature, distance) in in_contour {
            let crosses = distance <= tolerance::SNAP_MM;
            if !crosses && distance < limit - tolerance::SNAP_MM {
                let (count, least) = found.entry(feature).or_insert((0, f64::INFINITY));
                (*count, *least) = (*count + 1, least.min(distance));
            }
        }
    }
    found
}

fn creases<'a>(subject: Subject<'a>, panel: &'a Panel) -> impl Iterator<Item = (BendId, &'a Segment)> {
    let pieces = panel.region.contours().iter().flat_map(|c| c.segments());
    pieces.filter_map(move |piece| match subject.tree.label(piece) {
        EdgeLabel::CreaseStart(bend) | EdgeLabel::CreaseEnd(bend) => Some((*bend, piece)),
        EdgeLabel::Edge(_)
        | EdgeLabel::StripEnd(_)
        | EdgeLabel::Relief(_)
        | EdgeLabel::Opening(_)
        | EdgeLabel::CornerBreak(_) => None,
    })
}
