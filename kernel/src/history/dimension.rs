//! Dimensions: measures of the part that must hold, or that are only reported.
//!
//! Invariant: a dimension names panels, edges and places; it never holds geometry. A measure made of others
//! is made of two in one unit.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::{EdgeName, NeighbourThing, Number, PanelName};
use crate::diag::{Origin, Span};

/// One dimension of a history.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DimensionEntry {
    /// Name in reports and messages.
    pub name: String,
    /// What is measured.
    pub kind: DimensionKind,
    /// Whether it must hold.
    pub target: Target,
    /// The panel that keeps its place while this dimension is brought to hold: free numbers that move it keep
    /// their start values.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stays: Option<PanelName>,
    /// Where it was written.
    #[serde(skip)]
    pub span: Option<Span>,
}

/// What a dimension measures.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum DimensionKind {
    /// Clear distance in mm between two parallel panels: between the two faces that look at each other.
    Inside {
        /// One panel.
        a: PanelName,
        /// The other panel.
        b: PanelName,
    },
    /// Overall distance in mm over two parallel panels: between the two faces that look away.
    Outside {
        /// One panel.
        a: PanelName,
        /// The other panel.
        b: PanelName,
    },
    /// Smallest distance in mm between two things that are parallel: of a panel counts the face that looks at
    /// the other thing, of an edge the arris nearer to it.
    Clear {
        /// One thing.
        a: Thing,
        /// The other thing.
        b: Thing,
    },
    /// Largest distance in mm between two things that are parallel: of a panel counts the face that looks
    /// away from the other thing, of an edge the arris farther from it.
    Overall {
        /// One thing.
        a: Thing,
        /// The other thing.
        b: Thing,
    },
    /// How far in mm the middle between two things is off a third, all parallel.
    OffCentre {
        /// One thing.
        a: Thing,
        /// The other thing.
        b: Thing,
        /// What they should be alike on both sides of.
        about: Thing,
    },
    /// Smallest distance in mm of the folded metal, or of one panel with the bend that it hangs on and its bumps, to
    /// a neighbour; where they need the same place, minus the length of the way that frees the neighbour.
    ClearOf {
        /// The neighbour's name.
        neighbour: String,
        /// The panel; the whole part if left out.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        panel: Option<PanelName>,
    },
    /// Distance in mm between two parallel edges of one panel, as drawn.
    PanelWidth {
        /// One edge.
        a: EdgeName,
        /// The other edge, of the same panel.
        b: EdgeName,
    },
    /// Angle in degrees between the inner faces' normals of two panels, 0 to 180: for a flange and the
    /// panel it stands on, the turn of the bend between them.
    Angle {
        /// One panel.
        a: PanelName,
        /// The other panel.
        b: PanelName,
    },
    /// Extent in mm of the flat blank along the base panel's x.
    BlankLength,
    /// Extent in mm of the flat blank along the base panel's y.
    BlankWidth,
    /// The first measure less the second one, in the unit of both.
    Difference(Box<[DimensionKind; 2]>),
    /// The first measure over the second one, without unit.
    Ratio(Box<[DimensionKind; 2]>),
}

/// What a distance is measured to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Thing {
    /// A panel, by the face that the measure asks for.
    Panel(PanelName),
    /// One face of a panel.
    Face {
        /// The panel.
        panel: PanelName,
        /// Which of its faces.
        face: SheetFace,
    },
    /// A straight edge of a panel, by the arris that the measure asks for.
    Edge(EdgeName),
    /// A point in the base panel's coordinates, in mm; z counts from its inner face.
    Point([Number; 3]),
    /// A straight axis in the base panel's coordinates.
    Axis {
        /// A point of it, in mm.
        through: [Number; 3],
        /// Its direction.
        along: [f64; 3],
    },
    /// A plane in the base panel's coordinates.
    Plane {
        /// A point of it, in mm.
        through: [Number; 3],
        /// Its normal.
        normal: [f64; 3],
    },
    /// An axis, plane or point of a neighbour.
    Neighbour(NeighbourThing),
}

/// A face of the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SheetFace {
    /// The one that looks along the panel's normal.
    Inner,
    /// The other one.
    Outer,
}

impl SheetFace {
    /// `inner` or `outer`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Inner => "inner",
            Self::Outer => "outer",
        }
    }
}

/// Whether a dimension must hold.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Target {
    /// The solver moves free numbers until the measure has this value.
    Held(Number),
    /// The solver moves free numbers until the measure has this value or a larger one.
    AtLeast(Number),
    /// The solver moves free numbers until the measure has this value or a smaller one.
    AtMost(Number),
    /// Only reported.
    Measured,
}

impl Target {
    /// What is asked for, if something is.
    #[must_use]
    pub fn number(&self) -> Option<&Number> {
        match self {
            Self::Held(number) | Self::AtLeast(number) | Self::AtMost(number) => Some(number),
            Self::Measured => None,
        }
    }
}

impl DimensionEntry {
    /// Name and place, for findings.
    #[must_use]
    pub fn origin(&self) -> Origin {
        Origin { name: self.name.clone(), span: self.span }
    }

    /// Every number in it: what is asked for, and places that it is measured to.
    pub fn numbers(&self) -> impl Iterator<Item = &Number> {
        self.target.number().into_iter().chain(self.kind.numbers())
    }
}

impl DimensionKind {
    /// Names of the two things it measures between; the whole blank is measured between its ends.
    #[must_use]
    pub fn between(&self) -> (String, String) {
        match self {
            Self::Inside { a, b } | Self::Outside { a, b } | Self::Angle { a, b } => {
                (a.to_string(), b.to_string())
            }
            Self::PanelWidth { a, b } => (a.to_string(), b.to_string()),
            Self::Clear { a, b } | Self::Overall { a, b } | Self::OffCentre { a, b, .. } => {
                (a.to_string(), b.to_string())
            }
            Self::ClearOf { neighbour, panel } => {
                (panel.as_ref().map_or_else(|| "the part".to_owned(), ToString::to_string), neighbour.clone())
            }
            Self::BlankLength | Self::BlankWidth => ("one end".to_owned(), "the other end".to_owned()),
            Self::Difference(two) | Self::Ratio(two) => (two[0].to_string(), two[1].to_string()),
        }
    }

    /// Word for reports, for example `inside` or `panel width`.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Inside { .. } => "inside",
            Self::Outside { .. } => "outside",
            Self::Clear { .. } => "clear",
            Self::Overall { .. } => "overall",
            Self::OffCentre { .. } => "off centre",
            Self::ClearOf { .. } => "clear of",
            Self::PanelWidth { .. } => "panel width",
            Self::Angle { .. } => "angle",
            Self::BlankLength => "blank length",
            Self::BlankWidth => "blank width",
            Self::Difference(_) => "difference",
            Self::Ratio(_) => "ratio",
        }
    }

    /// Unit of the measure: `mm`, `deg`, or nothing for a ratio.
    #[must_use]
    pub fn unit(&self) -> &'static str {
        match self {
            Self::Inside { .. }
            | Self::Outside { .. }
            | Self::Clear { .. }
            | Self::Overall { .. }
            | Self::OffCentre { .. }
            | Self::ClearOf { .. }
            | Self::PanelWidth { .. }
            | Self::BlankLength
            | Self::BlankWidth => "mm",
            Self::Angle { .. } => "deg",
            Self::Difference(two) => two[0].unit(),
            Self::Ratio(_) => "",
        }
    }

    /// Whether it is a size of the flat blank, or made of one.
    #[must_use]
    pub fn is_of_blank(&self) -> bool {
        match self {
            Self::BlankLength | Self::BlankWidth => true,
            Self::Difference(two) | Self::Ratio(two) => two.iter().any(Self::is_of_blank),
            Self::Inside { .. }
            | Self::Outside { .. }
            | Self::Clear { .. }
            | Self::Overall { .. }
            | Self::OffCentre { .. }
            | Self::ClearOf { .. }
            | Self::PanelWidth { .. }
            | Self::Angle { .. } => false,
        }
    }

    /// Whether it can only be known from a finished part, or is made of something that can: a size of the blank, or
    /// the smallest distance to a neighbour.
    #[must_use]
    pub fn is_of_finished_part(&self) -> bool {
        self.is_of_blank() || !self.clearances().is_empty()
    }

    /// The smallest distances to neighbours that it is made of.
    #[must_use]
    pub fn clearances(&self) -> Vec<&Self> {
        match self {
            Self::ClearOf { .. } => vec![self],
            Self::Difference(two) | Self::Ratio(two) => two.iter().flat_map(Self::clearances).collect(),
            Self::Inside { .. }
            | Self::Outside { .. }
            | Self::Clear { .. }
            | Self::Overall { .. }
            | Self::OffCentre { .. }
            | Self::PanelWidth { .. }
            | Self::Angle { .. }
            | Self::BlankLength
            | Self::BlankWidth => Vec::new(),
        }
    }

    /// The most measures that one dimension may be made of.
    pub const MOST_MEASURES: usize = 8;

    /// How many measures it is made of; one that is not made of others counts once.
    #[must_use]
    pub fn measure_count(&self) -> usize {
        match self {
            Self::Difference(two) | Self::Ratio(two) => two.iter().map(Self::measure_count).sum(),
            Self::Inside { .. }
            | Self::Outside { .. }
            | Self::Clear { .. }
            | Self::Overall { .. }
            | Self::OffCentre { .. }
            | Self::ClearOf { .. }
            | Self::PanelWidth { .. }
            | Self::Angle { .. }
            | Self::BlankLength
            | Self::BlankWidth => 1,
        }
    }

    fn numbers(&self) -> Vec<&Number> {
        match self {
            Self::Clear { a, b } | Self::Overall { a, b } => a.numbers().chain(b.numbers()).collect(),
            Self::OffCentre { a, b, about } => {
                a.numbers().chain(b.numbers()).chain(about.numbers()).collect()
            }
            Self::Difference(two) | Self::Ratio(two) => two.iter().flat_map(Self::numbers).collect(),
            Self::Inside { .. }
            | Self::Outside { .. }
            | Self::ClearOf { .. }
            | Self::PanelWidth { .. }
            | Self::Angle { .. }
            | Self::BlankLength
            | Self::BlankWidth => Vec::new(),
        }
    }
}

impl Thing {
    fn numbers(&self) -> impl Iterator<Item = &Number> {
        let place: &[Number] = match self {
            Self::Panel(_) | Self::Face { .. } | Self::Edge(_) | Self::Neighbour(_) => &[],
            Self::Point(place) | Self::Axis { through: place, .. } | Self::Plane { through: place, .. } => {
                place
            }
        };
        place.iter()
    }
}

/// As in `inside of `cheek.left` and `cheek.right``.
impl fmt::Display for DimensionKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BlankLength | Self::BlankWidth => write!(f, "{}", self.word()),
            Self::ClearOf { neighbour, panel } => match panel {
                Some(panel) => write!(f, "clear of {neighbour} at {panel}"),
                None => write!(f, "clear of {neighbour}"),
            },
            Self::Inside { .. }
            | Self::Outside { .. }
            | Self::Clear { .. }
            | Self::Overall { .. }
            | Self::OffCentre { .. }
            | Self::PanelWidth { .. }
            | Self::Angle { .. }
            | Self::Difference(_)
            | Self::Ratio(_) => {
                let (a, b) = self.between();
                write!(f, "{} of {a} and {b}", self.word())
            }
        }
    }
}

impl fmt::Display for Thing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Panel(panel) => write!(f, "{panel}"),
            Self::Face { panel, face } => write!(f, "{} face of {panel}", face.word()),
            Self::Edge(edge) => write!(f, "{edge}"),
            Self::Point(_) => write!(f, "a point"),
            Self::Axis { .. } => write!(f, "an axis"),
            Self::Plane { .. } => write!(f, "a plane"),
            Self::Neighbour(thing) => write!(f, "{thing}"),
        }
    }
}
