//! The price of a part, line by line. Invariant: the steps add up to the price.

use crate::cost::{Price, PriceLine};

use super::{Explanation, Figure, Step};

/// By what name a price is explained.
pub(super) const NAME: &str = "cost";

pub(super) fn explain(price: &Price) -> Explanation {
    let (value, currency) = (price.total(), &price.currency);
    let step = |line: &PriceLine| {
        let quantity = format!("{:.4} {}", line.quantity, line.unit);
        let how = format!("{} at {} {currency}", quantity.trim_end(), line.rate);
        Step::new(line.what, line.amount(), "", how)
    };
    Explanation {
        heading: format!("cost: {value:.2} {currency} for one part"),
        origin: None,
        steps: price.lines.iter().map(step).collect(),
        total: Some(Figure { value, unit: "" }),
        sources: vec!["rates as the family gives them; quantities: docs/math/nesting.md".to_owned()],
    }
}
