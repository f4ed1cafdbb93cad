//! An opening near a bend is pulled out of shape.
//!
//! What it does: measures from every opening to the start of every bend of its panel.
//! Limit: `2 t` from the line where the bend starts. Source: fabrication guide "hole edge to start of the
//! bend radius: distance ≥ 2.0 t" (seen); other guides ask `2.5 t + r` or `3 t + r` from the bend.
//! Why it is bad: the punch stretches the sheet beside the bend, and a round hole comes out oval.
//! Use instead: move the opening away, make the flange longer, or cut it after bending.

use std::collections::BTreeMap;

use crate::diag::Diagnostic;
use crate::fold::EdgeLabel;
use crate::geom::distance_between;
use crate::ident::FeatureId;
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
        let creases: Vec<_> = panel
            .region
            .contours()
            .iter()
            .flat_map(|c| c.segments())
            .filter_map(|s| match subject.tree.label(s) {
                EdgeLabel::CreaseStart(bend) | EdgeLabel::CreaseEnd(bend) => Some((*bend, s)),
                EdgeLabel::Edge(_)
                | EdgeLabel::StripEnd(_)
                | EdgeLabel::Relief(_)
                | EdgeLabel::Opening(_)
                | EdgeLabel::CornerBreak(_) => None,
            })
            .collect();
        for (bend, crease) in creases {
            let near = crease.bounding_box().grown(limit);
            // Nearest opening and number of openings too near, for each feature that cut them.
            let mut too_near: BTreeMap<FeatureId, (f64, usize)> = BTreeMap::new();
            for hole in panel.region.holes().filter(|hole| near.touches(hole.bounding_box())) {
                let pieces = hole.segments();
                let distance =
                    pieces.iter().map(|s| distance_between(s, crease)).fold(f64::INFINITY, f64::min);
                if let (EdgeLabel::Opening(feature), true) =
                    (subject.tree.label(&pieces[0]), distance < limit - tolerance::SNAP_MM)
                {
                    let (least, count) = too_near.entry(*feature).or_insert((f64::INFINITY, 0));
                    (*least, *count) = (least.min(distance), *count + 1);
                }
            }
            let bend = &subject.tree.panel(subject.tree.bend(bend).child).name;
            for (feature, (least, count)) in too_near {
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
