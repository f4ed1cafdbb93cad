//! Where a number comes from: formula, values, sources and the places where they were asked for.
//!
//! Job: take a number of the finished part apart into the steps that make it up, for whoever doubts it.
//! Invariant: the steps of a sum add up to its value; nothing is computed here that the part does not have
//! already. Must not know: scripts, terminals.

mod bend;
mod blank;
mod chain;
mod cost;
mod dimension;
mod finding;
mod neighbour;

use thiserror::Error;

use crate::blank::Blank;
use crate::brake::BendRow;
use crate::cost::Estimate;
use crate::diag::{Diagnostic, Origin};
use crate::dimension::{Aimed, Settled};
use crate::fold::FoldTree;
use crate::history::History;
use crate::machine::Neighbour;
use crate::solid::{Clearance, ClearanceSpread};
use crate::stock::Sheet;

/// What can be explained: one finished part.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'a> {
    /// What was asked for.
    pub history: &'a History,
    /// The sheet it is cut from.
    pub sheet: &'a Sheet,
    /// Free numbers and dimensions.
    pub settled: &'a Settled,
    /// What came of the aim, if there is one.
    pub aimed: Option<&'a Aimed>,
    /// Panels and bends.
    pub tree: &'a FoldTree,
    /// The flat figure.
    pub blank: &'a Blank,
    /// Bends in the order of bending.
    pub bend_table: &'a [BendRow],
    /// What the part lives with.
    pub neighbours: &'a [Neighbour],
    /// How near the folded part comes to each of them.
    pub clearances: &'a [Clearance],
    /// How far that spreads in the shop; may be empty where no neighbour is explained.
    pub clearance_spreads: &'a [ClearanceSpread],
    /// Findings of the part and of its bend order.
    pub findings: &'a [Diagnostic],
    /// What the part needs and costs.
    pub estimate: &'a Estimate,
}

/// Where a number comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Explanation {
    /// What is explained, with its value.
    pub heading: String,
    /// Where it was asked for.
    pub origin: Option<Origin>,
    /// What leads to it, in order.
    pub steps: Vec<Step>,
    /// Whether the steps add up to the value.
    pub total: Option<Figure>,
    /// Where formulas and limits come from, one source a line.
    pub sources: Vec<String>,
}

/// A number with its unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// The number, in `unit`.
    pub value: f64,
    /// For example `mm`; may be empty.
    pub unit: &'static str,
}

/// One step on the way to a number.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// What it is.
    pub what: String,
    /// Its value.
    pub figure: Figure,
    /// The formula with its values, or where the value comes from; may be empty.
    pub how: String,
    /// Where it was asked for.
    pub origin: Option<Origin>,
}

/// There is no number of this name.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("`{name}` is no dimension, bend, free number, neighbour, size or finding of this part")]
pub struct UnknownNumber {
    /// The name asked for.
    pub name: String,
    /// Names that can be explained.
    pub known: Vec<String>,
}

impl UnknownNumber {
    /// The finding for whoever asked.
    #[must_use]
    pub fn diagnose(&self) -> Diagnostic {
        Diagnostic::fault("explain::unknown_number", self.to_string(), None)
            .hint_nearest(&self.name, &self.known)
            .hint(format!("it has {}", self.known.join(", ")))
    }
}

/// Explains every number called `name`: a dimension or free number, a bend by the panel behind it, the clearance to a
/// neighbour by its name, `blank length`, `blank width`, `mass`, `cost` where there are rates, or a finding by its
/// code. Where several have the name, each is explained, in this order: dimension, bend, free number, clearance, size,
/// cost; findings only where there is none else.
///
/// # Errors
/// [`UnknownNumber`] with the names that there are.
pub fn explain(subject: Subject<'_>, name: &str) -> Result<Vec<Explanation>, UnknownNumber> {
    let mut known: Vec<String> = Vec::new();
    let mut explained = Vec::new();
    for (index, entry) in subject.history.dimensions.iter().enumerate() {
        if entry.name == name {
            explained.push(dimension::explain(subject, index));
        }
        known.push(entry.name.clone());
    }
    for row in subject.bend_table {
        if row.name.as_str() == name {
            explained.push(bend::explain(subject, row));
        }
        known.push(row.name.to_string());
    }
    for (index, free) in subject.history.free_numbers.iter().enumerate() {
        if free.name == name {
            explained.push(dimension::explain_free(subject, index));
        }
        if free.sketch.is_none() {
            known.push(free.name.clone());
        }
    }
    known.extend(subject.neighbours.iter().map(|neighbour| neighbour.name.clone()));
    let measured = subject.clearances.iter().zip(subject.clearance_spreads);
    for (found, (clearance, spread)) in subject.neighbours.iter().zip(measured) {
        if found.name == name {
            explained.push(neighbour::explain(subject, found, clearance, spread));
        }
    }
    for (size, of_size) in blank::ALL {
        if *size == name {
            explained.push(of_size(subject));
        }
        known.push((*size).to_owned());
    }
    if let Some(price) = &subject.estimate.price {
        if name == cost::NAME {
            explained.push(cost::explain(price));
        }
        known.push(cost::NAME.to_owned());
    }
    if explained.is_empty() {
        explained.extend(finding::explain(subject, name));
    }
    if !explained.is_empty() {
        return Ok(explained);
    }
    let mut codes: Vec<&str> = subject.findings.iter().map(|finding| finding.code).collect();
    codes.dedup();
    known.extend(codes.into_iter().map(str::to_owned));
    Err(UnknownNumber { name: name.to_owned(), known })
}

impl Step {
    fn new(what: impl Into<String>, value: f64, unit: &'static str, how: impl Into<String>) -> Self {
        Self { what: what.into(), figure: Figure { value, unit }, how: how.into(), origin: None }
    }

    fn at(mut self, origin: &Origin) -> Self {
        self.origin = Some(origin.clone());
        self
    }
}
