//! Neighbours as they were described: what the cover lives with, in saved form.
//!
//! Coordinates are those of the base panel, or of the group that a neighbour belongs to; its numbers are plain, since
//! the machine is there before the cover. Invariant: plain data; [`History::neighbours`](super::History::neighbours)
//! is the only way to a [`machine::Neighbour`](crate::machine::Neighbour), and checks everything.

mod fault;
mod resolve;

use serde::{Deserialize, Serialize};

use crate::diag::{Origin, Span};
use crate::machine::DatumKind;

pub use fault::NeighbourFault;
pub use resolve::NeighbourDatums;

/// One neighbour.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NeighbourEntry {
    /// Its name, by which dimensions and features refer to it.
    pub name: String,
    /// What it is, with its sizes and its place.
    pub kind: NeighbourSpec,
    /// Least distance in mm that the cover keeps to it; that of its group, or 0, if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clearance: Option<f64>,
    /// Whether it hurts who reaches it; as its group says, or not, if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hazard: Option<bool>,
    /// Whether the cover is bolted to it or rests on it, and so may touch it.
    #[serde(default, skip_serializing_if = "is_false")]
    pub bolted: bool,
    /// How far it slides from where it stands, in mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub travel: Option<[f64; 3]>,
    /// What it turns about, if it turns.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turning: Option<Turning>,
    /// Where it was written.
    #[serde(skip)]
    pub span: Option<Span>,
}

/// Neighbours that stand together.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NeighbourGroup {
    /// Its name.
    pub name: String,
    /// Names of its neighbours, whose coordinates are those of the group.
    pub members: Vec<String>,
    /// Where the group's origin lies and where its z and x point.
    pub stand: Stand,
    /// Clearance in mm of members that have none of their own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clearance: Option<f64>,
    /// Whether members are hazards that do not say it themselves.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hazard: Option<bool>,
    /// Where it was written.
    #[serde(skip)]
    pub span: Option<Span>,
}

/// How something stands.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stand {
    /// Where its origin lies, in mm.
    pub at: [f64; 3],
    /// Where its z points.
    pub along: [f64; 3],
    /// Where its x points, as near as can be square to `along`; level, with y upwards, if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub across: Option<[f64; 3]>,
}

/// What a neighbour is, with sizes in mm.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum NeighbourSpec {
    /// A hexagon bolt.
    Bolt(BoltSpec),
    /// A round bar from one point to another.
    Shaft {
        /// Where its axis begins.
        from: [f64; 3],
        /// Where its axis ends.
        to: [f64; 3],
        /// Its diameter.
        diameter: f64,
    },
    /// A plate behind its face.
    Plate {
        /// The middle of its face, and where the face looks.
        stand: Stand,
        /// Sizes along its x and y.
        size: [f64; 2],
        /// How far it reaches behind the face.
        thickness: f64,
    },
    /// A cuboid.
    Block {
        /// The middle of its bottom, and where its top is from there.
        stand: Stand,
        /// Sizes along its x, y and z.
        size: [f64; 3],
    },
    /// A chain or belt around wheels, with all that it encloses.
    DriveLoop {
        /// The wheels, two at least, whose middles lie in a plane square to their axes.
        wheels: Vec<WheelSpec>,
        /// Direction of the wheels' axes.
        along: [f64; 3],
        /// Width of chain or belt, half of it on each side of that plane.
        width: f64,
        /// How far chain or belt stands out beyond the pitch circles.
        height: f64,
    },
    /// A shape read from a file.
    Mesh(MeshSpec),
}

/// A hexagon bolt with ISO 4017 head, ISO 7089 washer and ISO 4032 nut.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BoltSpec {
    /// Thread size, for example `M10`.
    pub size: String,
    /// Where its head, or the washer under it, bears, and where its shank runs from there.
    pub stand: Stand,
    /// Where its shank ends.
    pub end: BoltEndSpec,
    /// Whether there is a washer under its head.
    #[serde(default, skip_serializing_if = "is_false")]
    pub washer: bool,
    /// How far behind the bearing face of its head a nut bears, if there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nut_at: Option<f64>,
}

/// Where the shank of a bolt ends.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum BoltEndSpec {
    /// This many mm from under the head.
    Length(f64),
    /// This many mm beyond its nut.
    BeyondNut(f64),
}

/// A wheel of a drive loop.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WheelSpec {
    /// Its middle, in mm.
    pub centre: [f64; 3],
    /// Radius of its pitch circle in mm.
    pub radius: f64,
}

/// A shape read from a file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeshSpec {
    /// Path of the file as it was written, in relation to the script.
    pub file: String,
    /// Unit of its numbers; none for glTF, whose unit is the metre.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<MeshUnit>,
    /// Where the file's origin lies and where its z and x point.
    pub stand: Stand,
    /// What the file's content was, as [`fingerprint`](crate::machine::fingerprint) says it; empty if not known.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub fingerprint: String,
}

/// Unit of a file's numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum MeshUnit {
    /// Millimetres.
    #[serde(rename = "mm")]
    Millimetre,
    /// Centimetres.
    #[serde(rename = "cm")]
    Centimetre,
    /// Metres.
    #[serde(rename = "m")]
    Metre,
    /// Inches of 25.4 mm.
    #[serde(rename = "inch")]
    Inch,
}

/// What a neighbour turns about.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Turning {
    /// Its own axis.
    Own,
    /// An axis in the same coordinates as the neighbour.
    About {
        /// A point of it, in mm.
        through: [f64; 3],
        /// Its direction.
        along: [f64; 3],
    },
    /// An axis of a neighbour.
    Axis(NeighbourAxis),
}

/// An axis of a neighbour.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NeighbourAxis {
    /// The neighbour's name.
    pub of: String,
    /// The axis' name.
    pub axis: String,
}

/// An axis, plane or point of a neighbour.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub struct NeighbourThing {
    /// The neighbour's name.
    pub of: String,
    /// Which kind of thing.
    pub kind: ThingKind,
    /// Its name.
    pub name: String,
    /// How far out of the neighbour a plane is moved, in mm.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub off: f64,
}

/// Axis, plane or point.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ThingKind {
    /// An axis.
    Axis,
    /// A plane.
    Plane,
    /// A point.
    Point,
}

impl ThingKind {
    /// The kind of datum.
    #[must_use]
    pub fn datum(self) -> DatumKind {
        match self {
            Self::Axis => DatumKind::Axis,
            Self::Plane => DatumKind::Plane,
            Self::Point => DatumKind::Point,
        }
    }
}

impl MeshUnit {
    /// Every unit.
    pub const ALL: [Self; 4] = [Self::Millimetre, Self::Centimetre, Self::Metre, Self::Inch];

    /// `mm`, `cm`, `m` or `inch`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Centimetre => "cm",
            Self::Metre => "m",
            Self::Inch => "inch",
        }
    }

    /// Its length in mm.
    #[must_use]
    pub fn in_mm(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::Centimetre => 10.0,
            Self::Metre => 1000.0,
            Self::Inch => 25.4,
        }
    }
}

impl NeighbourEntry {
    /// Name and place, for findings.
    #[must_use]
    pub fn origin(&self) -> Origin {
        Origin { name: self.name.clone(), span: self.span }
    }
}

impl NeighbourGroup {
    /// Name and place, for findings.
    #[must_use]
    pub fn origin(&self) -> Origin {
        Origin { name: self.name.clone(), span: self.span }
    }
}

/// As in `plane seat of b1`, with what is needed to tell it from others.
impl std::fmt::Display for NeighbourThing {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { of, kind, name, off } = self;
        if *off != 0.0 {
            write!(f, "{off} mm off ")?;
        }
        let kind = kind.datum().word();
        if name == kind { write!(f, "{kind} of {of}") } else { write!(f, "{kind} {name} of {of}") }
    }
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
fn is_false(value: &bool) -> bool {
    !value
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
fn is_zero(value: &f64) -> bool {
    *value == 0.0
}
