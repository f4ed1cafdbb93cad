//! What is settled about the order of bending, in saved form.
//!
//! Invariant: plain data; what is left out is planned in the stage that uses it.

use serde::{Deserialize, Serialize};

use super::PanelName;
use crate::diag::{Origin, Span};

/// The side of a bend that lies against the back gauge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GaugeSide {
    /// The flange behind the bend.
    Flange,
    /// The side of the base panel.
    Parent,
}

/// What is settled about one bend.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SettledBendSpec {
    /// The panel behind the bend.
    pub panel: PanelName,
    /// Its step in the order, from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<u32>,
    /// What lies against the back gauge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge_at: Option<GaugeSide>,
    /// Name of the punch.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub punch: Option<String>,
    /// Where it was written.
    #[serde(skip)]
    pub span: Option<Span>,
}

impl SettledBendSpec {
    /// Name and place, for findings.
    #[must_use]
    pub fn origin(&self) -> Origin {
        Origin { name: self.panel.to_string(), span: self.span }
    }
}
