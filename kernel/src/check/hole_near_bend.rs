//! An opening near a bend is pulled out of shape.
//!
//! What it does: measures from every opening, closed or a notch in an edge, to the bends of its panel.
//! Limit: `2 t` from the line where the bend starts or ends. Source: fabrication guide "hole edge to start
//! of the bend radius: distance ≥ 2.0 t" (seen); other guides ask `2.5 t + r` or `3 t + r` from the bend.
//! An opening that is longer beside the bend than `10 t`, and not round, keeps `4 t` (common practice, no source:
//! `4 t + r` from the bend); up to `10 t` slots are like holes (design guideline of an enclosure maker, seen).
//! An opening that crosses the bend is left alone: it was cut on the blank or through the part on purpose.
//! Why it is bad: the punch stretches the sheet beside the bend, and a round hole comes out oval.
//! Use instead: move the opening away, make the flange longer, or cut it after bending.
//! Invariant: one finding for each cutout, bend and kind, however many openings are too near.

use std::collections::BTreeMap;

use crate::diag::{Bound, Diagnostic, Severity};
use crate::fold::{EdgeLabel, Panel};
use crate::geom::{BoundingBox, Motion2, Segment, distance_between};
use crate::ident::{BendId, FeatureId};
use crate::quantity::tolerance;
use crate::stock::Limit;

use super::limited::{Broken, Least, counted, in_thicknesses};
use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "an opening keeps 2 thicknesses from the line where a bend starts or ends, one longer than 10 keeps 4",
    source: "fabrication guide, hole edge to start of the bend radius (seen); long ones: common practice, no source",
    of: &[Limit::HoleToBend, Limit::SlotToBend],
    run,
};

const CODE: &str = "check::hole_near_bend";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let limits = [Limit::HoleToBend, Limit::SlotToBend].map(|limit| in_thicknesses(subject, limit));
    let mut findings = Vec::new();
    for panel in subject.tree.panels() {
        for (bend, crease) in creases(subject, panel) {
            let bend = &subject.tree.panel(subject.tree.bend(bend).child).name;
            for ((feature, kind), (count, least)) in openings_within(subject, panel, crease, &limits) {
                let (one, many) = match kind {
                    Kind::Hole => ("an opening", "openings"),
                    Kind::Slot => ("a long opening", "long openings"),
                };
                let broken = Broken {
                    code: CODE,
                    severity: Severity::Warning,
                    what: format!(
                        "{} in panel `{}` {} {least:.2} mm from the bend of `{bend}`",
                        counted(count, one, many),
                        panel.name,
                        if count == 1 { "is" } else { "come as near as" }
                    ),
                    got: least,
                    bound: Bound::AtLeast,
                    limit: &limits[kind as usize],
                    unit: "mm",
                    places: count,
                    origin: subject.tree.origin(feature).clone(),
                };
                let hint = "move the opening away from the bend, or cut it after bending";
                findings.push(broken.finding(subject).hint(hint));
            }
        }
    }
    findings
}

/// What an opening is to a bend.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Hole,
    Slot,
}

/// How long an opening beside a bend may be before it counts as a slot, in thicknesses.
const SLOT_IN_THICKNESSES: f64 = 10.0;

/// Of each cutout and kind, how many of its openings are nearer to a crease than their limit, and the least
/// distance.
fn openings_within(
    subject: Subject<'_>,
    panel: &Panel,
    crease: &Segment,
    limits: &[Least; 2],
) -> BTreeMap<(FeatureId, Kind), (usize, f64)> {
    let near = crease.bounding_box().grown(limits[0].value.max(limits[1].value));
    let along = Motion2 { x_axis: crease.start_direction(), origin: crease.start }.inverse();
    let mut found: BTreeMap<(FeatureId, Kind), (usize, f64)> = BTreeMap::new();
    for contour in panel.region.contours().iter().filter(|c| near.touches(c.bounding_box())) {
        // Notches of one cutout in one contour count as one opening.
        let mut in_contour: BTreeMap<FeatureId, (f64, BoundingBox)> = BTreeMap::new();
        for piece in contour.segments() {
            if let EdgeLabel::Opening(feature) = subject.tree.label(piece) {
                let (least, extent) =
                    in_contour.entry(*feature).or_insert((f64::INFINITY, BoundingBox::EMPTY));
                *least = least.min(distance_between(piece, crease));
                *extent = extent.union(piece.moved(along).bounding_box());
            }
        }
        let round = contour.as_circle().is_some();
        for (feature, (distance, extent)) in in_contour {
            let long = SLOT_IN_THICKNESSES * subject.tree.thickness() + tolerance::SNAP_MM;
            let kind = if !round && extent.width() > long { Kind::Slot } else { Kind::Hole };
            let crosses = distance <= tolerance::SNAP_MM;
            if !crosses && limits[kind as usize].is_above(distance) {
                let (count, least) = found.entry((feature, kind)).or_insert((0, f64::INFINITY));
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
