//! Formed bumps: local raised forms pressed into one panel. Invariant: one profile, set at every place of one
//! pattern; a change refers to the bump by the name of its feature, so that the bump keeps its name.

use serde::{Deserialize, Serialize};

use crate::history::{Number, PanelName, Shape};

use super::{Pattern, XFrom};

/// Raised forms of one profile in one panel, for example to clear the heads of bolts.
///
/// The wall stands on the profile: the profile is the line in which the prolonged wall meets the prolonged
/// panel, on the face that is raised: the inner face for [`BumpSide::In`], the outer one for
/// [`BumpSide::Out`]. Coordinates are the panel's drawn ones, as for a [`Cutout`](super::Cutout).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bump {
    /// The panel.
    pub panel: PanelName,
    /// The closed outline on which the wall stands.
    pub profile: Shape,
    /// Where the profile's origin is set.
    pub pattern: Pattern,
    /// From where x counts on a flange.
    pub x_from: XFrom,
    /// Distance of the flat top from the panel in mm, above 0, between faces of the same side.
    pub height: Number,
    /// To which side the form rises.
    pub side: BumpSide,
    /// Angle of the wall from the panel's normal in degrees, from 0 (upright) to below 90.
    pub draft: Number,
    /// Radius of the punch's edge in mm: of the hollow side where wall and top meet. None for one sheet
    /// thickness.
    pub punch_radius: Option<Number>,
    /// Radius of the die's edge in mm: of the raised side where panel and wall meet. None for one sheet
    /// thickness.
    pub die_radius: Option<Number>,
    /// Radius in mm given in plan to corners that the flat top would have. None for the punch radius and
    /// two sheet thicknesses.
    pub corner_radius: Option<Number>,
}

/// To which side a form rises.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BumpSide {
    /// Towards the inner face, along the panel's normal.
    In,
    /// Away from it.
    Out,
}

impl BumpSide {
    /// `in` or `out`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::In => "in",
            Self::Out => "out",
        }
    }
}

/// Another profile or height of the bumps of an earlier feature; the last change wins.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BumpChange {
    /// Name of the feature that made the bumps.
    pub bump: String,
    /// The new outline, or None to keep the old one.
    pub profile: Option<Shape>,
    /// The new height in mm, or None to keep the old one.
    pub height: Option<Number>,
}

/// A bump over the heads of bolts, as high and as wide as they need once all numbers are settled.
///
/// It stands on the axis of each bolt, to whose side its head points, and leaves the clearance between the hollow face
/// and every head with its washer, and more where its fillets need more height; the highest and the widest head decide
/// for all.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BumpOver {
    /// The panel, which is square to the bolts.
    pub panel: PanelName,
    /// Names of the bolts, one at least.
    pub bolts: Vec<String>,
    /// Distance in mm from the heads to the hollow face, 0 or more.
    pub clearance: Number,
    /// Angle of the wall from the panel's normal in degrees, from 0 (upright) to below 90.
    pub draft: Number,
    /// As for [`Bump`].
    pub punch_radius: Option<Number>,
    /// As for [`Bump`].
    pub die_radius: Option<Number>,
}
