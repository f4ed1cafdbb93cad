//! The history of a part: sheet, parameters, free numbers, features, dimensions, aim, neighbours, tolerances
//! and limits of the shop, as plain data.
//!
//! Job: say what was asked for, in the order in which it was asked; it is saved and loaded as JSON
//! (`docs/history-format.md`) and regenerates the same part without the script that wrote it.
//! Lengths are in mm and angles in degrees, as the engineer wrote them.
//! Invariant: a history is never written after its script ends; it may still be wrong, and every later
//! stage says so with the feature's name. Must not know: how anything is solved or drawn.

mod aim;
mod bend_order;
mod dimension;
pub mod feature;
mod guarding;
mod name;
mod neighbour;
mod number;
mod profile;
mod rates;
mod relation;
mod sheet;
mod shop;
mod sketch;
mod test_strips;
mod tolerance;

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::diag::{Origin, Span};
use crate::ident::FeatureId;

pub use aim::{Aim, AimFigure};
pub use bend_order::{GaugeSide, SettledBendSpec};
pub use dimension::{DimensionEntry, DimensionKind, SheetFace, Target, Thing};
pub use feature::{Feature, FeatureEntry};
pub use guarding::{FloorSpec, GuardRule, GuardingSpec, RiskSpec};
pub use name::{EdgeName, NameError, PanelName, check_plain_name};
pub use neighbour::{
    BoltEndSpec, BoltSpec, MeshSpec, MeshUnit, NeighbourAxis, NeighbourDatums, NeighbourEntry,
    NeighbourFault, NeighbourGroup, NeighbourSpec, NeighbourThing, Stand, ThingKind, Turning, WheelSpec,
};
pub use number::Number;
pub use profile::{EdgeShape, Profile, ProfileEdge, Shape};
pub use rates::{RatesSpec, SheetCharge, StockSheetSpec, StockSizeSpec};
pub use relation::{Element, ProfileRelation, RelationEntry};
pub use sheet::{BendRuleSpec, GrainSpec, SheetFault, SheetSpec, ThicknessSpec};
pub use shop::{LimitSpec, ShopValue, shop_limits};
pub use sketch::SketchFault;
pub use test_strips::{TestStripSpec, TestStripsSpec};
pub use tolerance::ToleranceSpec;

/// Version of the saved form; raised when an older reader would misread a newer file.
pub const FORMAT_VERSION: u32 = 1;

/// Everything that was asked for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct History {
    /// [`FORMAT_VERSION`] of the writer.
    pub format: u32,
    /// Name of the family, for example `chain_guard`.
    pub family: String,
    /// One line that says what the part is; may be empty.
    pub title: String,
    /// Parameters with the values used.
    pub parameters: Vec<Parameter>,
    /// Material, thickness, inside radius, bend rule.
    pub sheet: SheetSpec,
    /// Numbers that the solver may choose.
    pub free_numbers: Vec<FreeNumber>,
    /// Features in the order in which they were asked for.
    pub features: Vec<FeatureEntry>,
    /// Dimensions that must hold, or that are only measured.
    pub dimensions: Vec<DimensionEntry>,
    /// What the free numbers that dimensions leave loose are for; none if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub aim: Option<Aim>,
    /// What the cover lives with.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub neighbours: Vec<NeighbourEntry>,
    /// Neighbours that stand together.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub neighbour_groups: Vec<NeighbourGroup>,
    /// By which rule openings are held against hazards; they are not if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub guarding: Option<GuardingSpec>,
    /// By how much the shop may be off; the defaults if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerances: Option<ToleranceSpec>,
    /// What is settled about the order of bending; all of it is planned if left out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub bend_order: Vec<SettledBendSpec>,
    /// Limits of the shop that are not the defaults.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub shop: Vec<LimitSpec>,
    /// The sheet that blanks are cut from; nothing is nested if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stock_sheet: Option<StockSheetSpec>,
    /// What work costs; nothing is priced if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rates: Option<RatesSpec>,
}

/// A parameter of the family and the value used.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Parameter {
    /// Name by which it is set.
    pub name: String,
    /// The value used.
    pub value: ParameterValue,
    /// What the value was before anyone set it.
    pub default: ParameterValue,
    /// What values are allowed.
    pub range: ParameterRange,
    /// Unit in the engineer's words, for example `mm`; may be empty.
    pub unit: String,
    /// What it means, in a sentence.
    pub meaning: String,
}

/// A number or a word.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum ParameterValue {
    /// A number.
    Number(f64),
    /// A word out of a list of choices.
    Word(String),
}

/// What values a parameter may take.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum ParameterRange {
    /// Numbers from `min` to `max`, both included; `whole` numbers only if said so.
    Numbers {
        /// Smallest value.
        min: f64,
        /// Largest value.
        max: f64,
        /// Whether only whole numbers are allowed.
        whole: bool,
    },
    /// One of these numbers.
    Choices(Vec<f64>),
    /// One of these words.
    Words(Vec<String>),
}

impl ParameterRange {
    /// Whether a parameter of this range may have the value.
    #[must_use]
    pub fn allows(&self, value: &ParameterValue) -> bool {
        match (self, value) {
            (Self::Numbers { min, max, whole }, ParameterValue::Number(n)) => {
                *min <= *n && *n <= *max && (!whole || n.fract() == 0.0)
            }
            (Self::Choices(choices), ParameterValue::Number(n)) => choices.contains(n),
            (Self::Words(words), ParameterValue::Word(word)) => words.contains(word),
            (Self::Numbers { .. } | Self::Choices(_), ParameterValue::Word(_))
            | (Self::Words(_), ParameterValue::Number(_)) => false,
        }
    }
}

/// `120 to 400`, `whole numbers 1 to 12`, `1, 1.5, 2`, `"left", "right"`.
impl fmt::Display for ParameterRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Numbers { min, max, whole } => {
                write!(f, "{}{min} to {max}", if *whole { "whole numbers " } else { "" })
            }
            Self::Choices(numbers) => {
                f.write_str(&numbers.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "))
            }
            Self::Words(words) => {
                f.write_str(&words.iter().map(|w| format!("\"{w}\"")).collect::<Vec<_>>().join(", "))
            }
        }
    }
}

/// `120`, `"left"`.
impl fmt::Display for ParameterValue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(n) => write!(f, "{n}"),
            Self::Word(w) => write!(f, "\"{w}\""),
        }
    }
}

/// A number that the solver may choose, with the value from which it starts.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FreeNumber {
    /// Name in reports.
    pub name: String,
    /// Start value, in the unit of the place where the number is used (mm or degrees).
    pub start: f64,
    /// The sketch that it is a coordinate of, if it was not declared by itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sketch: Option<String>,
    /// The least value it may take; none if there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub min: Option<f64>,
    /// The largest value it may take; none if there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max: Option<f64>,
    /// How unwilling it is to move, against others: of two that could give way alike, one with twice the weight
    /// moves a quarter as far. One where it is left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weight: Option<f64>,
    /// Where it was declared.
    #[serde(skip)]
    pub span: Option<Span>,
}

impl FreeNumber {
    /// A number declared by itself, without bounds.
    #[must_use]
    pub fn new(name: &str, start: f64) -> Self {
        let name = name.to_owned();
        Self { name, start, sketch: None, min: None, max: None, weight: None, span: None }
    }
}

impl History {
    /// The feature with this id.
    ///
    /// # Panics
    /// If the id is of another history.
    #[must_use]
    pub fn feature(&self, id: FeatureId) -> &FeatureEntry {
        &self.features[id.index()]
    }

    /// Name and place of a feature, for findings.
    #[must_use]
    pub fn origin(&self, id: FeatureId) -> Origin {
        let entry = self.feature(id);
        Origin { name: entry.name.clone(), span: entry.span }
    }

    /// Ids and features in order.
    pub fn features_with_ids(&self) -> impl Iterator<Item = (FeatureId, &FeatureEntry)> {
        self.features.iter().enumerate().map(|(i, f)| (FeatureId::new(i), f))
    }

    /// Start values of the free numbers, indexed by [`VarId`](crate::ident::VarId).
    #[must_use]
    pub fn start_values(&self) -> Vec<f64> {
        self.free_numbers.iter().map(|f| f.start).collect()
    }
}
