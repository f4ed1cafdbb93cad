//! Numbers of features: a constant plus multiples of free numbers.
//!
//! Invariant: at most one term for each free number, in the order of their ids, none with factor zero.
//! Saved as a plain JSON number when it has no terms, otherwise as
//! `{"constant": 20.0, "terms": [[0, 0.5]]}` where `[0, 0.5]` is half of free number 0.

use serde::{Deserialize, Serialize};

use crate::geom::Scalar;
use crate::ident::VarId;

/// `constant + Σ factor · free number`, in mm or degrees.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(from = "Saved", into = "Saved")]
pub struct Number {
    constant: f64,
    terms: Vec<(VarId, f64)>,
}

impl Number {
    /// A number that nothing can change.
    #[must_use]
    pub fn constant(value: f64) -> Self {
        Self { constant: value, terms: Vec::new() }
    }

    /// A free number itself.
    #[must_use]
    pub fn free(id: VarId) -> Self {
        Self { constant: 0.0, terms: vec![(id, 1.0)] }
    }

    /// The value when the free numbers have these values (indexed by [`VarId`]).
    pub fn evaluate<S: Scalar>(&self, free: &[S]) -> S {
        self.terms
            .iter()
            .fold(S::constant(self.constant), |sum, &(id, factor)| sum + free[id.index()].scaled(factor))
    }

    /// The value if no free number is part of it.
    #[must_use]
    pub fn as_constant(&self) -> Option<f64> {
        self.terms.is_empty().then_some(self.constant)
    }

    /// The largest index of a free number in it.
    #[must_use]
    pub fn highest_free(&self) -> Option<VarId> {
        self.terms.last().map(|&(id, _)| id)
    }

    /// The free numbers in it, in order.
    pub fn free_ids(&self) -> impl Iterator<Item = VarId> + '_ {
        self.terms.iter().map(|&(id, _)| id)
    }

    /// Whether the constant and all factors are finite.
    #[must_use]
    pub fn is_finite(&self) -> bool {
        self.constant.is_finite() && self.terms.iter().all(|(_, f)| f.is_finite())
    }

    /// The sum of two numbers.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        let mut terms = self.terms.clone();
        terms.extend_from_slice(&other.terms);
        Self { constant: self.constant + other.constant, terms }.tidied()
    }

    /// The number multiplied by a constant.
    #[must_use]
    pub fn times(&self, factor: f64) -> Self {
        let terms = self.terms.iter().map(|&(id, f)| (id, f * factor)).collect();
        Self { constant: self.constant * factor, terms }.tidied()
    }

    fn tidied(mut self) -> Self {
        self.terms.sort_by_key(|&(id, _)| id);
        self.terms.dedup_by(|next, kept| {
            let same = next.0 == kept.0;
            if same {
                kept.1 += next.1;
            }
            same
        });
        self.terms.retain(|&(_, f)| f != 0.0);
        self
    }
}

impl From<f64> for Number {
    fn from(value: f64) -> Self {
        Self::constant(value)
    }
}

#[derive(Serialize, Deserialize)]
#[serde(untagged)]
enum Saved {
    Plain(f64),
    Terms { constant: f64, terms: Vec<(u32, f64)> },
}

impl From<Saved> for Number {
    fn from(saved: Saved) -> Self {
        match saved {
            Saved::Plain(value) => Self::constant(value),
            Saved::Terms { constant, terms } => {
                let terms = terms.into_iter().map(|(i, f)| (VarId::new(i as usize), f)).collect();
                Self { constant, terms }.tidied()
            }
        }
    }
}

impl From<Number> for Saved {
    fn from(number: Number) -> Self {
        if number.terms.is_empty() {
            Self::Plain(number.constant)
        } else {
            let terms = number.terms.iter().map(|&(id, f)| (id.number(), f)).collect();
            Self::Terms { constant: number.constant, terms }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn terms_are_collected_and_cancelled() {
        let (a, b) = (Number::free(VarId::new(0)), Number::free(VarId::new(1)));
        let sum = b.times(2.0).plus(&a).plus(&Number::constant(3.0)).plus(&a.times(-1.0));
        assert_eq!(sum, b.times(2.0).plus(&Number::constant(3.0)));
        assert_eq!(sum.evaluate(&[100.0, 5.0]), 13.0);
    }

    #[test]
    fn saved_form_is_a_plain_number_or_terms() {
        let half = Number::free(VarId::new(0)).times(0.5).plus(&Number::constant(20.0));
        let text = serde_json::to_string(&half).unwrap();
        assert_eq!(text, r#"{"constant":20.0,"terms":[[0,0.5]]}"#);
        assert_eq!(serde_json::from_str::<Number>(&text).unwrap(), half);
        assert_eq!(serde_json::to_string(&Number::constant(7.5)).unwrap(), "7.5");
        assert!(serde_json::from_str::<Number>(r#"{"constant":0.0,"terms":[[5000000000,1.0]]}"#).is_err());
    }
}
