//! An opening near a bend is pulled out of shape.
//!
//! What it does: measures from every opening to the start of every bend of its panel.
//! Limit: `2 t` from the line where the bend starts. Source: fabrication guide "hole edge to start of the
//! bend radius: distance ≥ 2.0 t" (seen); other guides ask `2.5 t + r` or `3 t + r` from the bend.
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

pub(super) const CHECK: Check = Check { code: CODE, run };

const CODE: &str = "check::hole_near_bend";

/// Smallest distance from an opening to the start of a bend, in thicknesses.
const LIMIT_IN_THICKNESSES: f64 = 2.0;

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let limit = LIMIT_IN_THICKNESSES * subject.tree.thickness();
    let mut findings = Vec::new();
    for panel in subject.tree.panels() {
        for (bend, crease) in creases(subject, panel) {
            let near = crease.bounding_box().grown(limit);
            // Of each cutout, how many of its openings are too near, and the least distance.
            let mut too_near: BTreeMap<FeatureId, (usize, f64)> = BTreeMap::new();
            for hole in panel.region.holes().filter(|hole| near.touches(hole.bounding_box())) {
                let distance =
                    hole.segments().iter().map(|s| distance_between(s, crease)).fold(f64::INFINITY, f64::min);
                let EdgeLabel::Opening(feature) = subject.tree.label(&hole.segments()[0]) else { continue };
                if distance < limit - tolerance::SNAP_MM {
                    let (count, least) = too_near.entry(*feature).or_insert((0, f64::INFINITY));
                    *count += 1;
                    *least = least.min(distance);
                }
            }
            let name = &subject.tree.panel(subject.tree.bend(bend).child).name;
            for (feature, (count, least)) in too_near {
                let what = if count == 1 {
                    "an opening is".to_owned()
                } else {
                    format!("{count} openings are as near as")
                };
                let message = format!(
                    "in panel `{}` {what} {least:.2} mm from the bend of `{name}`, at least {limit:.2} mm is usual",
                    panel.name,
                );
                findings.push(
                    Diagnostic::warning(CODE, message, subject.history.origin(feature))
                        .hint("move the opening away from the bend, or cut it after bending"),
                );
            }
        }
    }
    findings
}

/// The lines of a panel where bends start or end, with their bends.
fn creases<'a>(subject: Subject<'a>, panel: &'a Panel) -> impl Iterator<Item = (BendId, &'a Segment)> {
    let pieces = panel.region.contours().iter().flat_map(|c| c.segments());
    pieces.filter_map(move |s| match subject.tree.label(s) {
        EdgeLabel::CreaseStart(bend) | EdgeLabel::CreaseEnd(bend) => Some((*bend, s)),
        EdgeLabel::Edge(_)
        | EdgeLabel::StripEnd(_)
        | EdgeLabel::Relief(_)
        | EdgeLabel::Opening(_)
        | EdgeLabel::CornerBreak(_) => None,
    })
}
