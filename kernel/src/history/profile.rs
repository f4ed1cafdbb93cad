//! Closed outlines of lines and arcs whose corners may depend on free numbers.
//!
//! Invariant: as many corners as edges; edge `i` runs from corner `i` to the next one, the last one back to
//! corner 0. Whether the outline closes properly and does not cross itself shows only with numbers put in.

use serde::{Deserialize, Serialize};

use crate::geom::{Flat, FlatArc, Scalar};
use crate::stock::ClearanceFit;

use super::{Number, RelationEntry};

/// A closed outline.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Profile {
    /// Corners `[x, y]` in mm.
    pub corners: Vec<[Number; 2]>,
    /// Edges; the one with index `i` leaves corner `i`.
    pub edges: Vec<ProfileEdge>,
    /// What must hold between edges and corners; solved together with the part's dimensions.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub relations: Vec<RelationEntry>,
}

/// An edge of a profile.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ProfileEdge {
    /// Role by which the edge is found again.
    pub name: String,
    /// Line or arc.
    pub shape: EdgeShape,
}

/// How an edge runs between its corners.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EdgeShape {
    /// Straight.
    Line,
    /// The arc of at most a half circle with this radius in mm; positive turns to the left on the way from
    /// corner to corner, negative to the right.
    Arc(Number),
    /// The arc through this point `[x, y]` in mm.
    ArcThrough([Number; 2]),
    /// The arc whose middle stands this many mm beside the straight line between its ends: positive to the
    /// right on the way from corner to corner, so that it turns to the left. May be more than a half circle.
    ArcRise(Number),
}

/// The outline of an opening.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Shape {
    /// A circle about the origin.
    Circle {
        /// Diameter in mm.
        diameter: Number,
    },
    /// A slot with round ends, centred on the origin.
    Slot {
        /// Length over both round ends in mm.
        length: Number,
        /// Width in mm, smaller than the length.
        width: Number,
        /// Direction of the length in degrees from the panel's x.
        direction: Number,
    },
    /// The clearance hole of a bolt after ISO 273, about the origin.
    BoltHole {
        /// Thread size, for example `M6`.
        bolt: String,
        /// How much room is left to the bolt.
        #[serde(with = "SavedFit")]
        fit: ClearanceFit,
    },
    /// A slot with round ends, as wide as the clearance hole of a bolt, centred on the origin.
    BoltSlot {
        /// Thread size, for example `M6`.
        bolt: String,
        /// How much room is left to the bolt across the slot.
        #[serde(with = "SavedFit")]
        fit: ClearanceFit,
        /// Length over both round ends in mm.
        length: Number,
        /// Direction of the length in degrees from the panel's x.
        direction: Number,
    },
    /// Any closed outline, in its own coordinates.
    Outline(Profile),
}

/// How a fit is saved.
#[derive(Serialize, Deserialize)]
#[serde(remote = "ClearanceFit", rename_all = "snake_case")]
enum SavedFit {
    Fine,
    Medium,
    Coarse,
}

impl EdgeShape {
    /// The edge between its corners for these values of the free numbers; a straight one turns through
    /// nothing. NaN if a radius is too small for the corners.
    #[must_use]
    pub fn arc<S: Scalar>(&self, start: Flat<S>, end: Flat<S>, free: &[S]) -> FlatArc<S> {
        match self {
            Self::Line => FlatArc { start, end, half_turn: S::constant(0.0) },
            Self::Arc(radius) => FlatArc::of_radius(start, end, radius.evaluate(free)),
            Self::ArcThrough([x, y]) => {
                FlatArc::through(start, Flat::new(x.evaluate(free), y.evaluate(free)), end)
            }
            Self::ArcRise(rise) => FlatArc::of_rise(start, end, rise.evaluate(free)),
        }
    }
}

impl Shape {
    /// The thread size and the fit, if the opening is made for a bolt.
    #[must_use]
    pub fn bolt(&self) -> Option<(&str, ClearanceFit)> {
        match self {
            Self::BoltHole { bolt, fit } | Self::BoltSlot { bolt, fit, .. } => Some((bolt, *fit)),
            Self::Circle { .. } | Self::Slot { .. } | Self::Outline(_) => None,
        }
    }

    /// The outline, if it is one that was drawn.
    #[must_use]
    pub fn profile(&self) -> Option<&Profile> {
        match self {
            Self::Outline(profile) => Some(profile),
            Self::Circle { .. } | Self::Slot { .. } | Self::BoltHole { .. } | Self::BoltSlot { .. } => None,
        }
    }
}

impl Profile {
    /// An outline without relations.
    #[must_use]
    pub fn new(corners: Vec<[Number; 2]>, edges: Vec<ProfileEdge>) -> Self {
        Self { corners, edges, relations: Vec::new() }
    }

    /// A rectangle with one corner at the origin; edges `front` (y = 0), `right`, `back`, `left`.
    #[must_use]
    pub fn rectangle(length: &Number, width: &Number) -> Self {
        let zero = Number::constant(0.0);
        let corners = vec![
            [zero.clone(), zero.clone()],
            [length.clone(), zero.clone()],
            [length.clone(), width.clone()],
            [zero, width.clone()],
        ];
        let edges = ["front", "right", "back", "left"]
            .map(|name| ProfileEdge { name: name.to_owned(), shape: EdgeShape::Line })
            .to_vec();
        Self::new(corners, edges)
    }
}
