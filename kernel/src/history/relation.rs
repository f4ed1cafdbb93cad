//! Relations within an outline: what its edges and corners have to do with each other.
//!
//! Invariant: a relation names edges of its own outline only; whether they exist, and whether the relation
//! fits what is named, shows when it is resolved.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::Number;
use crate::diag::Span;

/// One relation of an outline.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct RelationEntry {
    /// What must hold.
    pub relation: ProfileRelation,
    /// Where it was written.
    #[serde(skip)]
    pub span: Option<Span>,
}

/// What a relation is about.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Element {
    /// An edge, by its name; a straight one stands for its whole line, an arc for its whole circle.
    Edge(String),
    /// The corner where two edges meet, in either order. In an outline of two edges, which has two such
    /// corners, the first one named is the edge that ends there.
    Corner([String; 2]),
    /// The centre of an arc.
    Centre(String),
    /// The point `[x, y]` in mm.
    Place([Number; 2]),
    /// The line y = 0, run along x.
    XAxis,
    /// The line x = 0, run along y.
    YAxis,
}

/// A relation. Points are corners, centres and places; lines are straight edges and axes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum ProfileRelation {
    /// Two lines have one direction.
    Parallel {
        /// One line.
        a: Element,
        /// The other line.
        b: Element,
    },
    /// Two lines stand at a right angle.
    Perpendicular {
        /// One line.
        a: Element,
        /// The other line.
        b: Element,
    },
    /// A straight edge runs along x.
    Horizontal {
        /// The edge.
        edge: String,
    },
    /// A straight edge runs along y.
    Vertical {
        /// The edge.
        edge: String,
    },
    /// An arc runs smoothly into a neighbouring edge, or its circle touches another edge's line or circle.
    Tangent {
        /// One edge.
        a: Element,
        /// The other edge.
        b: Element,
    },
    /// Two straight edges have one length, or two arcs one radius.
    Equal {
        /// One edge.
        a: String,
        /// The other edge.
        b: String,
    },
    /// A point lies on another one or on an edge, or two lines lie in one.
    Coincident {
        /// A point, or a line.
        a: Element,
        /// A point or an edge, or a line.
        b: Element,
    },
    /// Two points, or two edges of one kind, mirror each other.
    Symmetric {
        /// One of the two.
        a: Element,
        /// The other one.
        b: Element,
        /// The line of the mirror.
        about: Element,
    },
    /// Two points, a point and a line, or two lines that become parallel, are a distance apart.
    Distance {
        /// A point or a line.
        a: Element,
        /// A point or a line.
        b: Element,
        /// Distance in mm.
        value: Number,
    },
    /// A straight edge has a length.
    Length {
        /// The edge.
        edge: String,
        /// Length in mm.
        value: Number,
    },
    /// Two lines stand at an angle, as seen from where they meet.
    Angle {
        /// One line.
        a: Element,
        /// The other line.
        b: Element,
        /// Angle in degrees, 0 to 180.
        value: Number,
    },
    /// An arc has a radius.
    Radius {
        /// The arc.
        edge: String,
        /// Radius in mm.
        value: Number,
    },
}

impl ProfileRelation {
    /// Word for messages: `parallel`, `distance`.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Parallel { .. } => "parallel",
            Self::Perpendicular { .. } => "perpendicular",
            Self::Horizontal { .. } => "horizontal",
            Self::Vertical { .. } => "vertical",
            Self::Tangent { .. } => "tangent",
            Self::Equal { .. } => "equal",
            Self::Coincident { .. } => "coincident",
            Self::Symmetric { .. } => "symmetric",
            Self::Distance { .. } => "distance",
            Self::Length { .. } => "length",
            Self::Angle { .. } => "angle",
            Self::Radius { .. } => "radius",
        }
    }

    /// What it can be about, for messages.
    #[must_use]
    pub fn takes(&self) -> &'static str {
        match self {
            Self::Horizontal { .. } | Self::Vertical { .. } | Self::Length { .. } => "a straight edge",
            Self::Tangent { .. } => "an arc, and another edge or an axis",
            Self::Equal { .. } => "two straight edges or two arcs",
            Self::Coincident { .. } => "a point, and another point or an edge; or two straight edges",
            Self::Symmetric { .. } => {
                "two points or two edges of one kind, and a straight edge or an axis to mirror about"
            }
            Self::Distance { .. } => "points and straight edges",
            Self::Radius { .. } => "an arc",
            Self::Parallel { .. } | Self::Perpendicular { .. } | Self::Angle { .. } => {
                "two straight edges, or one and an axis"
            }
        }
    }

    /// The value that is asked for, if the relation has one.
    #[must_use]
    pub fn value(&self) -> Option<&Number> {
        match self {
            Self::Distance { value, .. }
            | Self::Length { value, .. }
            | Self::Angle { value, .. }
            | Self::Radius { value, .. } => Some(value),
            Self::Parallel { .. }
            | Self::Perpendicular { .. }
            | Self::Horizontal { .. }
            | Self::Vertical { .. }
            | Self::Tangent { .. }
            | Self::Equal { .. }
            | Self::Coincident { .. }
            | Self::Symmetric { .. } => None,
        }
    }

    /// What it is about, in the order in which it was written; edges named alone are elements too.
    #[must_use]
    pub fn elements(&self) -> Vec<Element> {
        match self {
            Self::Parallel { a, b }
            | Self::Perpendicular { a, b }
            | Self::Tangent { a, b }
            | Self::Coincident { a, b }
            | Self::Distance { a, b, .. }
            | Self::Angle { a, b, .. } => vec![a.clone(), b.clone()],
            Self::Symmetric { a, b, about } => vec![a.clone(), b.clone(), about.clone()],
            Self::Equal { a, b } => vec![Element::Edge(a.clone()), Element::Edge(b.clone())],
            Self::Horizontal { edge }
            | Self::Vertical { edge }
            | Self::Length { edge, .. }
            | Self::Radius { edge, .. } => vec![Element::Edge(edge.clone())],
        }
    }

    /// Every number in it.
    #[must_use]
    pub fn numbers(&self) -> Vec<Number> {
        let places = self.elements().into_iter().flat_map(|element| match element {
            Element::Place(place) => place.to_vec(),
            Element::Edge(_) | Element::Corner(_) | Element::Centre(_) | Element::XAxis | Element::YAxis => {
                Vec::new()
            }
        });
        places.chain(self.value().cloned()).collect()
    }
}

impl fmt::Display for Element {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Edge(edge) => write!(f, "`{edge}`"),
            Self::Corner([a, b]) => write!(f, "corner `{a}`+`{b}`"),
            Self::Centre(edge) => write!(f, "the centre of `{edge}`"),
            Self::Place([x, y]) => match (x.as_constant(), y.as_constant()) {
                (Some(x), Some(y)) => write!(f, "({x}, {y})"),
                _ => f.write_str("a place"),
            },
            Self::XAxis => f.write_str("the x axis"),
            Self::YAxis => f.write_str("the y axis"),
        }
    }
}

/// `` `left` parallel to `right` ``, `` distance of `left` and `right` ``.
impl fmt::Display for ProfileRelation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Parallel { a, b } => write!(f, "{a} parallel to {b}"),
            Self::Perpendicular { a, b } => write!(f, "{a} perpendicular to {b}"),
            Self::Horizontal { edge } => write!(f, "`{edge}` horizontal"),
            Self::Vertical { edge } => write!(f, "`{edge}` vertical"),
            Self::Tangent { a, b } => write!(f, "{a} tangent to {b}"),
            Self::Equal { a, b } => write!(f, "`{a}` equal to `{b}`"),
            Self::Coincident { a, b } => write!(f, "{a} on {b}"),
            Self::Symmetric { a, b, about } => write!(f, "{a} and {b} symmetric about {about}"),
            Self::Distance { a, b, .. } => write!(f, "distance of {a} and {b}"),
            Self::Length { edge, .. } => write!(f, "length of `{edge}`"),
            Self::Angle { a, b, .. } => write!(f, "angle between {a} and {b}"),
            Self::Radius { edge, .. } => write!(f, "radius of `{edge}`"),
        }
    }
}
