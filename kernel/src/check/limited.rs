//! One finding of a rule that holds a measured number against a limit.
//!
//! Job: the same form for all of them: got, limit, difference, whose limit it is, and where it was said.
//! Invariant: a number at its limit is right; numbers are compared within the snap tolerance. Must not know:
//! any rule.

use std::fmt;

use crate::diag::{Bound, Diagnostic, Measure, Origin, Severity};
use crate::quantity::tolerance;
use crate::stock::{Limit, ShopLimits, SourceStatus, Whose};

use super::Subject;

/// A limit as a rule found it: its value in the unit of the measured number, how it comes about, and whose it is.
/// Words are made of it only once it is broken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Least {
    pub(super) value: f64,
    pub(super) formula: Formula,
    pub(super) by: By,
}

/// How a limit comes about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Formula {
    /// In these words.
    Words(&'static str),
    /// A factor and of what, as in `2 t + r`.
    Times(f64, &'static str),
    /// The same of a V opening of so many mm, and what else there is to say of the V.
    OfV(f64, &'static str, f64, &'static str),
    /// The sheet of these sides in mm.
    Sheet([f64; 2]),
    /// What any source says of a material.
    AnySource(&'static str),
}

/// Whose a limit is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum By {
    /// A limit of the shop.
    Shop(Limit),
    /// What the family chose for this part.
    Chosen(&'static str),
    /// A published one.
    Published(&'static str, SourceStatus),
}

impl fmt::Display for Formula {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Words(words) => f.write_str(words),
            Self::Times(factor, of) => write!(f, "{} {of}", short(factor)),
            Self::OfV(factor, of, v, more) => write!(f, "{} {of}, V {} mm{more}", short(factor), short(v)),
            Self::Sheet([width, length]) => {
                write!(f, "sheet of {} x {} mm, the one it comes nearest to", short(width), short(length))
            }
            Self::AnySource(material) => write!(f, "least of any source for {material}"),
        }
    }
}

/// `factor · unit` with what else belongs to it, or a floor if that is larger.
pub(super) fn in_thicknesses(subject: Subject<'_>, limit: Limit) -> Least {
    let factor = subject.limits.number(limit);
    Least {
        value: factor * subject.tree.thickness(),
        formula: Formula::Times(factor, "t"),
        by: By::Shop(limit),
    }
}

impl Least {
    /// The same limit, or a fixed one in mm where that is larger.
    pub(super) fn or_floor(self, limits: &ShopLimits, floor: Limit) -> Self {
        let value = limits.number(floor);
        if value <= self.value {
            return self;
        }
        Self { value, formula: Formula::Words("thin sheet"), by: By::Shop(floor) }
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
        let source = match limit.by {
            By::Shop(of) => subject.limits.source(of),
            By::Chosen(what) => what.to_owned(),
            By::Published(source, status) => format!("{source} ({})", status.text()),
        };
        let too = match bound {
            Bound::AtLeast => "too little",
            Bound::AtMost => "too much",
        };
        let with_unit = |value: f64| match unit {
            "°" => format!("{}°", figure(value)),
            unit => format!("{} {unit}", figure(value)),
        };
        let message = format!(
            "{what}, {} {} ({}; {source}): {} {too}",
            bound.words(),
            with_unit(limit.value),
            limit.formula,
            with_unit(off)
        );
        let mut origins = vec![origin];
        if let By::Shop(of) = limit.by
            && subject.limits.whose(of) == Whose::Family
        {
            let said = subject.shop.iter().find(|spec| spec.name == of.info().name);
            origins.extend(said.map(crate::history::LimitSpec::origin));
        }
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
