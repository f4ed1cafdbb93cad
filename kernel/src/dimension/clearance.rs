//! The smallest distance to a neighbour, as the solver sees it: a point of a panel over a plane.
//!
//! Where the folded part comes nearest is known only once it is folded. About a part that is known, the distance
//! changes as that of the nearest point of the metal from the plane that touches the neighbour at its nearest point:
//! to first order nothing else counts, for both points are where a distance is smallest. So the solver is given one
//! such place for each panel, and whoever folds the part gives them anew until they agree with what was solved.
//! Derivation: `docs/math/clearance.md`.
//! Invariant: in the pose that it was found in, a place gives its distance. Must not know: how it is found.

use crate::geom::{Scalar, Vec3};
use crate::history::{DimensionKind, SheetFace};
use crate::ident::PanelId;

use super::Pose;

/// Where a panel comes nearest to a neighbour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NearestPlace {
    /// The panel; a bend counts as the panel behind it.
    pub panel: PanelId,
    /// The point in the panel's frame, in mm.
    pub at: [f64; 2],
    /// Its depth below the inner face as a share of the thickness; beyond 0 to 1 on bends and bumps.
    pub depth: f64,
    /// Where that point lay, in mm.
    pub from: Vec3<f64>,
    /// How far the neighbour was from there, in mm.
    pub distance: f64,
    /// Unit vector from the part to the neighbour.
    pub direction: Vec3<f64>,
}

/// A dimension that is a smallest distance to a neighbour, and the nearest place of each panel that counts.
#[derive(Clone, Debug, PartialEq)]
pub struct Nearest {
    /// What is measured.
    pub kind: DimensionKind,
    /// The places; none if there is no metal.
    pub places: Vec<NearestPlace>,
}

impl NearestPlace {
    /// The point of the metal in a pose, in mm.
    pub(super) fn point<S: Scalar>(&self, pose: &Pose<S>) -> Vec3<S> {
        let [x, y] = self.at.map(S::constant);
        let depth = pose.depth(SheetFace::Outer).scaled(self.depth);
        pose.panel(self.panel).placement.point(x, y, depth)
    }

    /// The distance in a pose, in mm.
    pub(super) fn distance<S: Scalar>(&self, pose: &Pose<S>) -> S {
        let lifted = |v: Vec3<f64>| Vec3::constant(v.x, v.y, v.z);
        let moved = self.point(pose) - lifted(self.from);
        S::constant(self.distance) - moved.dot(lifted(self.direction))
    }
}

/// The place that is nearest in a pose.
pub(super) fn nearest<'a, S: Scalar>(places: &'a [NearestPlace], pose: &Pose<S>) -> Option<&'a NearestPlace> {
    let by_distance =
        |a: &&NearestPlace, b: &&NearestPlace| a.distance(pose).value().total_cmp(&b.distance(pose).value());
    places.iter().min_by(by_distance)
}

impl Nearest {
    /// The smallest distance in a pose in mm, as the solver sees it; none without places.
    #[must_use]
    pub fn distance(&self, pose: &Pose<f64>) -> Option<f64> {
        nearest(&self.places, pose).map(|place| place.distance(pose))
    }
}
