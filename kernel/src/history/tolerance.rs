//! Tolerances that were asked for, in saved form.
//!
//! Invariant: plain data; what is left out has its default in the stage that uses it.

use serde::{Deserialize, Serialize};

use crate::diag::{Origin, Span};

/// By how much the shop may be off, each to both sides.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ToleranceSpec {
    /// Turn of every bend, in degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<f64>,
    /// Inside radius of every bend, in mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub radius: Option<f64>,
    /// Thickness of the sheet, in mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thickness: Option<f64>,
    /// Place of every bend line in the blank, in mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bend_place: Option<f64>,
    /// Place of every cut edge, in mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cut: Option<f64>,
    /// Where they were written.
    #[serde(skip)]
    pub span: Option<Span>,
}

impl ToleranceSpec {
    /// Name and place, for findings.
    #[must_use]
    pub fn origin(&self) -> Origin {
        Origin { name: "tolerances".to_owned(), span: self.span }
    }

    /// Those that are given, with their names.
    pub fn given(&self) -> impl Iterator<Item = (&'static str, f64)> {
        let Self { turn, radius, thickness, bend_place, cut, span: _ } = *self;
        let all = [
            ("turn", turn),
            ("radius", radius),
            ("thickness", thickness),
            ("bend_place", bend_place),
            ("cut", cut),
        ];
        all.into_iter().filter_map(|(name, value)| Some((name, value?)))
    }
}
