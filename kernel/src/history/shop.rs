//! Limits of the shop that were said, in saved form.
//!
//! Invariant: plain data, each limit with whoever said it; [`shop_limits`] is the only way to a [`ShopLimits`],
//! and checks everything.

use serde::{Deserialize, Serialize};

use crate::diag::{Diagnostic, Origin, Span};
use crate::stock::{LIMITS, Limit, LimitError, LimitValue, ShopLimits, Whose};

/// One limit that is not the default.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LimitSpec {
    /// Its name, for example `hole_to_bend`.
    pub name: String,
    /// Its value.
    pub value: ShopValue,
    /// Name of the shop file or tools file that says it, without folders; none if the family does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// Whether that file is a tools file.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub of_tools: bool,
    /// Where the family says it.
    #[serde(skip)]
    pub span: Option<Span>,
}

/// A value of a limit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum ShopValue {
    /// A number.
    Number(f64),
    /// Numbers, rising.
    Numbers(Vec<f64>),
    /// Pairs of numbers.
    Pairs(Vec<[f64; 2]>),
}

impl LimitSpec {
    /// What findings about the limit name.
    #[must_use]
    pub fn origin(&self) -> Origin {
        Origin { name: "shop".to_owned(), span: self.span }
    }

    /// Sets the limit.
    ///
    /// # Errors
    /// A finding if there is no such limit, or if the value is none of it.
    pub fn apply(&self, limits: &mut ShopLimits) -> Result<(), Diagnostic> {
        let Some(limit) = Limit::named(&self.name) else {
            let known: Vec<&str> = LIMITS.iter().map(|info| info.name).collect();
            let message = format!("a shop has no limit `{}`", self.name);
            return Err(Diagnostic::fault("stock::unknown_limit", message, self.origin())
                .hint_nearest(&self.name, &known)
                .hint(format!("limits are {}", known.join(", "))));
        };
        let value = match &self.value {
            ShopValue::Number(number) => LimitValue::Number(*number),
            ShopValue::Numbers(list) => LimitValue::Numbers(list.clone()),
            ShopValue::Pairs(list) => LimitValue::Pairs(list.clone()),
        };
        let of_file = if self.of_tools { Whose::Tools } else { Whose::File };
        let whose = self.file.clone().map_or(Whose::Family, of_file);
        limits.set(limit, value, whose).map_err(|error| {
            let code = match error {
                LimitError::Kind { .. } => "stock::limit_of_another_kind",
                LimitError::Range { .. } => "stock::limit_out_of_range",
                LimitError::NotRising { .. } => "stock::limit_not_rising",
            };
            Diagnostic::fault(code, error.to_string(), self.origin())
                .hint(format!("it is: {}", limit.info().meaning))
        })
    }
}

/// The limits of the shop that was described.
///
/// # Errors
/// A finding for each limit that cannot be.
pub fn shop_limits(said: &[LimitSpec]) -> Result<ShopLimits, Vec<Diagnostic>> {
    let mut limits = ShopLimits::default();
    let faults: Vec<Diagnostic> = said.iter().filter_map(|spec| spec.apply(&mut limits).err()).collect();
    if faults.is_empty() { Ok(limits) } else { Err(faults) }
}
