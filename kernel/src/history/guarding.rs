//! By which rule the openings of a cover are judged, as it was said, in saved form.
//!
//! Invariant: plain data; which rule is right for a machine is the user's to say. Must not know: openings, tables.

use serde::{Deserialize, Serialize};

use crate::diag::{Diagnostic, Origin, Span};
use crate::quantity::tolerance;

/// How openings are judged.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GuardingSpec {
    /// The rule.
    pub rule: GuardRule,
    /// How much harm the hazard can do, for reaching over an open side.
    #[serde(default)]
    pub risk: RiskSpec,
    /// Where the floor is; openings that an arm passes as a whole cannot be judged without it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub floor: Option<FloorSpec>,
    /// Where it was written.
    #[serde(skip)]
    pub span: Option<Span>,
}

/// A rule for openings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GuardRule {
    /// ISO 13857, arms of persons of 14 years and older.
    Iso13857Arms,
    /// ISO 13857, legs.
    Iso13857Legs,
    /// 29 CFR 1910.217, table O-10.
    #[serde(rename = "cfr_1910_217")]
    Cfr1910_217,
    /// 29 CFR 1910.219, table O-12, row of perforated metal.
    #[serde(rename = "cfr_1910_219")]
    Cfr1910_219,
}

/// How much harm a hazard can do.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RiskSpec {
    /// A little.
    Low,
    /// Much; what holds where nothing is said.
    #[default]
    High,
}

/// The floor on which people stand.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FloorSpec {
    /// Direction away from the floor, in the base panel's coordinates; of any length but zero.
    pub up: [f64; 3],
    /// How far the base panel's origin lies above the floor, in mm.
    pub below: f64,
}

impl GuardingSpec {
    /// What keeps it from being used.
    ///
    /// # Errors
    /// A finding if the direction away from the floor is none.
    pub fn checked(&self) -> Result<(), Diagnostic> {
        let Some(FloorSpec { up, .. }) = self.floor else { return Ok(()) };
        if up.iter().all(|v| v.is_finite()) && up.iter().any(|v| v.abs() > tolerance::PARALLEL) {
            return Ok(());
        }
        let [x, y, z] = up;
        let message = format!("`up` of `guarding` is [{x}, {y}, {z}], which is no direction");
        Err(Diagnostic::fault("history::no_up", message, self.origin())
            .hint("say which way is up in the part's coordinates, for example `up: [0, 0, 1]`"))
    }

    /// What findings about it point at.
    #[must_use]
    pub fn origin(&self) -> Origin {
        Origin { name: "guarding".to_owned(), span: self.span }
    }
}
