//! Openings of a part, told apart from other contours.
//!
//! Job: which contours are openings and of which feature; groups of findings about many of them. Invariant: one
//! group for each feature, or pair of a feature and something else. Must not know: any limit.

use std::collections::BTreeMap;

use crate::diag::{Bound, Origin, Severity};
use crate::fold::{EdgeLabel, FoldTree};
use crate::geom::{Contour, Point2};
use crate::ident::FeatureId;

use super::limited::{Broken, Least};

/// The feature that cut a contour; none for an outline that is only notched.
pub(super) fn feature_of(tree: &FoldTree, contour: &Contour) -> Option<FeatureId> {
    if contour.signed_area() > 0.0 {
        return None;
    }
    contour.segments().iter().find_map(|piece| match tree.label(piece) {
        EdgeLabel::Opening(feature) => Some(*feature),
        EdgeLabel::Edge(_)
        | EdgeLabel::CreaseStart(_)
        | EdgeLabel::CreaseEnd(_)
        | EdgeLabel::StripEnd(_)
        | EdgeLabel::Relief(_)
        | EdgeLabel::CornerBreak(_) => None,
    })
}

/// Middle of the box of a contour.
pub(super) fn middle(contour: &Contour) -> Point2 {
    let bounds = contour.bounding_box();
    bounds.min.midpoint(bounds.max)
}

/// Places alike: how many, the worst of them, and where the worst is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Group {
    pub(super) places: usize,
    pub(super) got: f64,
    pub(super) at: Point2,
}

impl Group {
    /// Its worst place, a distance in mm, is under a limit: a warning.
    pub(super) fn under<'l>(
        &self,
        code: &'static str,
        limit: &'l Least,
        what: String,
        origin: Origin,
    ) -> Broken<'l> {
        let Self { got, places, .. } = *self;
        let (severity, bound) = (Severity::Warning, Bound::AtLeast);
        Broken { code, severity, what, got, bound, limit, unit: "mm", places, origin }
    }
}

/// Adds a place with its measured number to its group; the least number is the worst, the first of equal ones stays.
pub(super) fn add<K: Ord>(groups: &mut BTreeMap<K, Group>, key: K, got: f64, at: Point2) {
    groups
        .entry(key)
        .and_modify(|group| {
            group.places += 1;
            if got < group.got {
                (group.got, group.at) = (got, at);
            }
        })
        .or_insert(Group { places: 1, got, at });
}

/// A place of the blank, as shown.
pub(super) fn place(at: Point2) -> String {
    format!("({:.1}, {:.1}) of the blank", at.x, at.y)
}
