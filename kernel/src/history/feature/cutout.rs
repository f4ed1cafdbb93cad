//! Openings: in one panel, on the blank across bends, or straight through the folded part.
//!
//! Invariant: one shape, set at every place of one pattern that is drawn on one panel.

use serde::{Deserialize, Serialize};

use crate::history::{NeighbourAxis, Number, PanelName, Shape};

/// Openings of one shape, drawn on one panel.
///
/// Coordinates are the panel's drawn ones: for the base panel those of its outline; for a flange, x from
/// the left end or the middle of the drawn edge and y from where its length is measured.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cutout {
    /// The panel.
    pub panel: PanelName,
    /// The outline of one opening.
    pub shape: Shape,
    /// Where the shape's origin is set.
    pub pattern: Pattern,
    /// From where x counts on a flange.
    pub x_from: XFrom,
    /// How far the cut goes.
    #[serde(default, skip_serializing_if = "Reach::is_panel")]
    pub reach: Reach,
}

/// How far a cut goes.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reach {
    /// The panel only; bends must not be touched.
    #[default]
    Panel,
    /// The shape is laid on the flat blank and cuts what it meets: the panel, bends, other panels.
    Blank,
    /// Straight through the folded part.
    Straight(Straight),
}

/// A cut straight through the folded part: the opening clears on both faces of every sheet it meets.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Straight {
    /// Its direction, of any length and either sense: along the x and the y of the panel's own axes and
    /// along its normal, towards the inner face.
    pub along: [Number; 3],
    /// On which side of the panel it cuts.
    pub side: StraightSide,
    /// The panels that are cut, with the bends between two of them; none for the whole part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub panels: Option<Vec<PanelName>>,
}

/// On which side of the panel it is drawn on a straight cut goes on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StraightSide {
    /// On both.
    #[default]
    Both,
    /// From the middle of the panel's sheet towards its inner face and beyond.
    Inner,
    /// From the middle of the panel's sheet towards its outer face and beyond.
    Outer,
}

impl Reach {
    fn is_panel(&self) -> bool {
        *self == Self::Panel
    }
}

/// From where x counts on a flange.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum XFrom {
    /// The left end of the drawn edge.
    Left,
    /// The middle of the drawn edge.
    Middle,
}

/// Where openings are set, in the panel's drawn coordinates in mm.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Pattern {
    /// At each of these points `[x, y]`.
    At(Vec<[Number; 2]>),
    /// Where each of these axes of neighbours meets the panel, which it is square to, once all numbers are settled.
    OnAxes(Vec<NeighbourAxis>),
    /// In rows and columns.
    Grid {
        /// The first place, at the lower left.
        from: [Number; 2],
        /// Places along x.
        columns: u32,
        /// Places along y.
        rows: u32,
        /// Distance between columns.
        column_pitch: Number,
        /// Distance between rows.
        row_pitch: Number,
        /// Whether every second row is shifted by half a column pitch and has one place less.
        staggered: bool,
    },
    /// Along a straight line.
    Row {
        /// Where the line begins.
        from: [Number; 2],
        /// Where it ends.
        to: [Number; 2],
        /// How the places are spread.
        spacing: Spacing,
    },
    /// Evenly on a circle or a part of it.
    Ring {
        /// Centre.
        centre: [Number; 2],
        /// Diameter of the circle in mm.
        diameter: Number,
        /// Number of places.
        count: u32,
        /// Direction of the first place in degrees from x.
        first: Number,
        /// Angle in degrees from the first to the last place, counter-clockwise, -360 to 360; the last one
        /// stops short of the first where it goes once around.
        span: Number,
        /// Where the shape's x points.
        facing: Facing,
    },
    /// Wherever openings fit.
    Fill {
        /// What is filled.
        area: FillArea,
        /// Distance between columns in mm.
        column_pitch: Number,
        /// Distance between rows in mm.
        row_pitch: Number,
        /// Whether every second row is shifted by half a column pitch.
        staggered: bool,
        /// Distance in mm that openings keep to edges, bends and earlier openings of the panel.
        margin: Number,
    },
}

/// How the places of a row are spread.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Spacing {
    /// So many, evenly, the first and the last one at the ends of the line.
    Count(u32),
    /// As many as there is room for.
    Pitch {
        /// Distance from one place to the next in mm.
        pitch: Number,
        /// Smallest distance in mm from both ends of the line to the nearest place.
        ends: Number,
    },
}

/// Where the x of a shape points that is set on a ring.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Facing {
    /// Along the panel's x.
    Fixed,
    /// Away from the ring's centre.
    Outward,
    /// Along the ring, counter-clockwise.
    Along,
}

/// What a fill fills.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum FillArea {
    /// The whole panel.
    Panel,
    /// A rectangle along the panel's axes.
    Rectangle {
        /// One corner.
        from: [Number; 2],
        /// The opposite corner.
        to: [Number; 2],
    },
}
