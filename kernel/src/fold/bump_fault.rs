//! Why a bump cannot be formed, with names and numbers.
//!
//! Invariant: every variant has a code of its own that never changes its meaning, and says what to change.
//! Messages go on from "bump `name`". Lengths in mm, angles in degrees.

use thiserror::Error;

use crate::geom::Point2;
use crate::history::{EdgeName, PanelName};

/// A fault of one bump.
#[derive(Clone, Debug, PartialEq, Error)]
#[expect(missing_docs, reason = "the message of each fault says what its fields are")]
pub enum BumpFault {
    #[error("has a {what} of {got:.3} mm; it must be at least {least:.3} mm")]
    Size { what: &'static str, got: f64, least: f64 },
    #[error("has a draft of {got:.3}° from the panel's normal; it must be from 0° to below 90°")]
    Draft { got: f64 },
    #[error("is {height:.3} mm high; its two fillets need {needed:.3} mm at this draft")]
    TooLow { height: f64, needed: f64 },
    #[error(
        "has the concave corner `{corner}` with a radius of {radius:.3} mm; around the die's edge it needs {needed:.3} mm"
    )]
    ConcaveCorner { corner: String, radius: f64, needed: f64 },
    #[error("has no flat top left: wall and punch fillet take {taken:.3} mm from every side, {}", side_words(edge.as_deref()))]
    TopCloses { taken: f64, edge: Option<String> },
    #[error(
        "has a corner `{corner}` of its top that cannot be rounded with {radius:.3} mm: {}",
        room_words(*room)
    )]
    CornerRadius { corner: String, radius: f64, room: Option<(f64, f64)> },
    #[error("has a foot that meets itself at ({:.3}, {:.3}): the die's edge takes {reach:.3} mm on either side", at.x, at.y)]
    FootMeetsItself { at: Point2, reach: f64 },
    #[error("lies outside panel `{panel}`")]
    OffPanel { panel: PanelName },
    #[error("{} the bend of `{bend}`; its foot must stay {needed:.3} mm away", distance_words(*got))]
    NearBend { bend: PanelName, got: f64, needed: f64 },
    #[error("{} {edge}; its foot must stay {needed:.3} mm away", distance_words(*got))]
    NearEdge { edge: EdgeWords, got: f64, needed: f64 },
    #[error("{} an opening of `{opening}`; its foot must stay {needed:.3} mm away", distance_words(*got))]
    NearOpening { opening: String, got: f64, needed: f64 },
    #[error(
        "has an opening of `{opening}` in its wall: an opening lies on the flat top, {needed:.3} mm inside its outline{}",
        inside_words(*got)
    )]
    OpeningInWall { opening: String, got: Option<f64>, needed: f64 },
    #[error("{} bump `{other}`; their feet must stay {needed:.3} mm apart", distance_words(*got))]
    NearBump { other: String, got: f64, needed: f64 },
    #[error("is asked for {count} times, above the limit of {limit}")]
    TooMany { count: usize, limit: usize },
}

/// An edge of a panel, or what has no name of its own.
#[derive(Clone, Debug, PartialEq)]
pub enum EdgeWords {
    /// A named edge.
    Edge(EdgeName),
    /// A relief of a flange.
    Relief(PanelName),
    /// A corner broken by a feature.
    CornerBreak(String),
}

impl std::fmt::Display for EdgeWords {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Edge(edge) => write!(f, "edge `{edge}`"),
            Self::Relief(panel) => write!(f, "the relief of flange `{panel}`"),
            Self::CornerBreak(feature) => write!(f, "a corner broken by `{feature}`"),
        }
    }
}

fn distance_words(got: f64) -> String {
    if got > 0.0 { format!("lies {got:.3} mm from") } else { "reaches over".to_owned() }
}

fn inside_words(got: Option<f64>) -> String {
    got.map_or_else(String::new, |got| format!(", but it is {got:.3} mm inside"))
}

fn side_words(edge: Option<&str>) -> String {
    edge.map_or_else(
        || "more than the profile has".to_owned(),
        |edge| format!("which uses up edge `{edge}` of its profile"),
    )
}

fn room_words(room: Option<(f64, f64)>) -> String {
    room.map_or_else(
        || "no such arc touches both sides".to_owned(),
        |(needed, available)| {
            format!("that takes {needed:.3} mm of an edge of the top that has {available:.3} mm")
        },
    )
}

impl BumpFault {
    /// Code, and what to do about it.
    pub(super) fn code_and_hint(&self) -> (&'static str, Option<String>) {
        match self {
            Self::Size { .. } => ("fold::bump_size", None),
            Self::Draft { .. } => {
                ("fold::bump_draft", Some("0 is an upright wall, 45 one that leans half-way".into()))
            }
            Self::TooLow { .. } => (
                "fold::bump_too_low",
                Some("make the bump higher, its punch or die radius smaller, or its draft larger".into()),
            ),
            Self::ConcaveCorner { needed, .. } => (
                "fold::bump_concave_corner",
                Some(format!(
                    "round the corner of the profile with at least {needed:.3} mm, or choose a smaller die radius"
                )),
            ),
            Self::TopCloses { .. } => (
                "fold::bump_top_closes",
                Some("make the profile wider, or height, draft or punch radius smaller".into()),
            ),
            Self::CornerRadius { .. } => {
                ("fold::bump_corner_radius", Some("give a smaller `corner_radius`".into()))
            }
            Self::FootMeetsItself { .. } => (
                "fold::bump_foot_meets_itself",
                Some("make the gap in the profile wider, or the die radius smaller".into()),
            ),
            Self::OffPanel { .. } => {
                ("fold::bump_off_panel", Some("move the bump onto the flat of its panel".into()))
            }
            Self::NearBend { .. } => (
                "fold::bump_near_bend",
                Some("move the bump away from the bend, or make it or its die radius smaller".into()),
            ),
            Self::NearEdge { .. } => (
                "fold::bump_near_edge",
                Some("move the bump away from the edge, or make it or its die radius smaller".into()),
            ),
            Self::NearOpening { .. } => (
                "fold::bump_near_opening",
                Some("move one of them, or make the bump or its die radius smaller".into()),
            ),
            Self::OpeningInWall { .. } => (
                "fold::bump_opening_in_wall",
                Some("move the opening onto the flat top or off the bump, or make it smaller".into()),
            ),
            Self::NearBump { .. } => {
                ("fold::bump_near_bump", Some("move them apart, or make one bump of both".into()))
            }
            Self::TooMany { .. } => {
                ("fold::too_many_bumps", Some("check the numbers of rows and columns".into()))
            }
        }
    }
}
