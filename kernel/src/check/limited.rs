//! One finding of a rule that holds a measured number against a limit.
//!
//! Job: the same form for all of them: got, limit, difference, whose limit it is, and where it was said.
//! Invariant: a number at its limit is right; numbers are compared within the snap tolerance. Must not know:
//! any rule.

use crate::diag::{Bound, Diagnostic, Measure, Origin, Severity};
use crate::quantity::tolerance;
use crate::stock::{Limit, ShopLimits, Whose};

use super::Subject;

/// A limit as a rule found it: its value in the unit of the measured number, and who says it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Least {
    /// The limit.
    pub(super) value: f64,
    /// How it comes about, for example `2 t`.
    pub(super) formula: String,
    /// Whose it is.
    pub(super) source: String,
    /// The limit of the shop behind it.
    pub(super) of: Option<Limit>,
}

/// `factor · unit` with what else belongs to it, or a floor if that is larger.
pub(super) fn in_thicknesses(subject: Subject<'_>, limit: Limit) -> Least {
    let factor = subject.limits.number(limit);
    Least {
        value: factor * subject.tree.thickness(),
        formula: format!("{} t", short(factor)),
        source: subject.limits.source(limit),
        of: Some(limit),
    }
}

impl Least {
    /// The same limit, or a fixed one in mm where that is larger.
    pub(super) fn or_floor(self, limits: &ShopLimits, floor: Limit) -> Self {
        let value = limits.number(floor);
        if value <= self.value {
            return self;
        }
        Self { value, formula: "thin sheet".to_owned(), source: limits.source(floor), of: Some(floor) }
    }

    /// Whether a measured number is under it.
    pub(super) fn is_above(&self, got: f64) -> bool {
        got < self.value - tolerance::SNAP_MM
    }

    /// Whether a measured number is over it.
    pub(super) fn is_below(&self, got: f64) -> bool {
        got > self.value + tolerance::SNAP_MM
    }
}

/// A measured number that breaks a limit.
pub(super) struct Broken<'a> {
    pub(super) code: &'static str,
    pub(super) severity: Severity,
    /// What was measured, up to and with the number.
    pub(super) what: String,
    pub(super) got: f64,
    pub(super) bound: Bound,
    pub(super) limit: &'a Least,
    pub(super) unit: &'static str,
    pub(super) places: usize,
    pub(super) origin: Origin,
}

impl Broken<'_> {
    /// The finding; the place where the family says the limit stands with it.
    pub(super) fn finding(self, subject: Subject<'_>) -> Diagnostic {
        let Self { code, severity, what, got, bound, limit, unit, places, origin } = self;
        let off = (got - limit.value).abs();
        let too = match bound {
            Bound::AtLeast => "too little",
            Bound::AtMost => "too much",
        };
        let with_unit = |value: f64| match unit {
            "°" => format!("{}°", figure(value)),
            unit => format!("{} {unit}", figure(value)),
        };
        let message = format!(
            "{what}, {} {} ({}; {}): {} {too}",
            bound.words(),
            with_unit(limit.value),
            limit.formula,
            limit.source,
            with_unit(off)
        );
        let mut origins = vec![origin];
        if let Some(of) = limit.of.filter(|of| subject.limits.whose(*of) == Whose::Family) {
            let said = subject.shop.iter().find(|spec| spec.name == of.info().name);
            origins.extend(said.map(crate::history::LimitSpec::origin));
        }
        let source = limit.source.clone();
        let measure = Some(Box::new(Measure { got, limit: limit.value, bound, unit, places, source }));
        Diagnostic { code, severity, message, origins, hints: Vec::new(), measure }
    }
}

/// Two decimals, or as many as it takes to see that a small number is not zero.
pub(super) fn figure(value: f64) -> String {
    /// Half of the last of two decimals.
    const SEEN: f64 = 0.005;
    if value.abs() >= SEEN || value == 0.0 { format!("{value:.2}") } else { format!("{value:.1e}") }
}

/// A factor without needless zeros.
pub(super) fn short(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// `one`, or `3 many`.
pub(super) fn counted(count: usize, one: &str, many: &str) -> String {
    if count == 1 { one.to_owned() } else { format!("{count} {many}") }
}

/// The first few names, and how many there are besides.
pub(super) fn few(names: &[String]) -> String {
    const SHOWN: usize = 3;
    let shown = names.iter().take(SHOWN).map(|n| format!("`{n}`")).collect::<Vec<_>>().join(", ");
    match names.len().saturating_sub(SHOWN) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}
