//! Least-squares solver of relations over real unknowns.
//!
//! Job: from start values to values at which every relation is held, with the count of freedoms left; or
//! to the best compromise, when relations conflict; and to say why. Invariant: the same system and start give
//! the same bits on every machine (no clock, no random numbers, sums in a fixed order), and a solution is
//! never worse than its start within the ranges. Must not know: bends, features, dimensions; it sees unknowns
//! and relations only. Method and references: `docs/math/solver.md`.
//!
//! From outside in: [`solve`] traces the pattern (`trace`, `pattern`), cuts it into blocks (`structure`) and
//! runs them side by side (`lockstep`). Each block descends (`descent`): damped steps
//! (`levenberg_marquardt`) on its linearisation (`linearised`), other starts (`attempts`), and the way back
//! to the nearest answer (`nearest`).

mod attempts;
mod descent;
mod envelope;
mod explain;
mod forks;
mod freedom;
mod gradients;
pub(crate) mod jacobian;
mod least_distance;
mod levenberg_marquardt;
mod linearised;
mod lockstep;
mod nearest;
mod normal;
mod one_sided;
mod ordering;
mod pattern;
mod rank;
pub mod relation;
mod response;
mod smallest;
mod span;
mod structure;
mod subset;
mod trace;
mod weighted;

use crate::geom::Scalar;
use crate::quantity::tolerance;

pub use explain::explain;
pub use forks::{Branch, Fork, forks};
pub use freedom::freedoms;
pub use jacobian::jacobian;
pub use response::response;
pub use smallest::{Conclusion, Ground, Smallest, Straightened, smallest, straighten};
pub use structure::{Block, Structure, structure};
pub use subset::solve_members;

use descent::Descent;
use levenberg_marquardt::Bench;
use linearised::Linearised;
use weighted::Weighted;

/// What a relation asks of its residual.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Kind {
    /// It shall be zero.
    #[default]
    Equal,
    /// It shall be zero or more.
    AtLeast,
}

/// A system of relations over real unknowns, written by its owner over any [`Scalar`].
///
/// Unknowns are moved as little as possible: the sum of the squares of `weight · change` is made smallest.
pub trait System {
    /// How many unknowns there are.
    fn variable_count(&self) -> usize;

    /// How many relations there are.
    fn relation_count(&self) -> usize;

    /// Writes one residual for each relation, zero where it is held exactly.
    ///
    /// `unknowns` has [`variable_count`](Self::variable_count) and `residuals`
    /// [`relation_count`](Self::relation_count) entries. `S` is `f64` for values or a dual number for
    /// derivatives. A residual that cannot be computed is NaN; the solver then tries a shorter step.
    fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]);

    /// Residual at or below which relation `relation` counts as held, in the unit of that residual (mm, or
    /// rad for angles). Must be positive. Relations are weighed by it where they conflict.
    fn tolerance(&self, relation: usize) -> f64;

    /// What relation `relation` asks for.
    fn kind(&self, _relation: usize) -> Kind {
        Kind::Equal
    }

    /// How unwilling unknown `unknown` is to move: positive and finite. Of two unknowns that can give way to
    /// one relation alike, one of weight 10 takes a hundredth of what one of weight 1 takes.
    fn weight(&self, _unknown: usize) -> f64 {
        1.0
    }

    /// Least and most value of unknown `unknown`; infinite where there is none. The first must not be above
    /// the second. No answer leaves them, not even a compromise.
    fn bounds(&self, _unknown: usize) -> [f64; 2] {
        [f64::NEG_INFINITY, f64::INFINITY]
    }
}

/// One end of the range of an unknown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum End {
    /// Its least value.
    Least,
    /// Its most value.
    Most,
}

impl End {
    /// Whether a value lies at this end of a range, within what counts as held.
    fn is_reached(self, [least, most]: [f64; 2], value: f64) -> bool {
        match self {
            Self::Least => value <= least + tolerance::HELD_MM,
            Self::Most => value >= most - tolerance::HELD_MM,
        }
    }
}

/// An unknown that lies at an end of its range.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Touched {
    /// Number of the unknown.
    pub unknown: usize,
    /// At which end it lies.
    pub end: End,
}

/// How a solve ended, and what happened to the unknowns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// Every residual is within its tolerance. Among the answers near the start, the unknowns are at the one
    /// that moves them least.
    Held,
    /// No direction lowers the residuals any more and some are left, and other starts around the given one
    /// lead to no answer either: relations conflict, or an answer is out of reach. The unknowns are at a
    /// least-squares compromise, residuals weighed by their tolerances.
    Stalled,
    /// The residuals were still falling when the iterations ran out. The unknowns are the best ones found.
    IterationLimit,
    /// A residual at the start is not a number, or a derivative at the best point found. The unknowns are at
    /// that point.
    NotFinite,
    /// There are no relations. The unknowns are the start values.
    NothingToSolve,
}

impl Ending {
    /// The worse one of two: of blocks solved apart, the worst says what the whole answer is worth.
    fn or_worse(self, other: Self) -> Self {
        let badness = |ending| match ending {
            Self::NothingToSolve => 0,
            Self::Held => 1,
            Self::Stalled => 2,
            Self::IterationLimit => 3,
            Self::NotFinite => 4,
        };
        if badness(other) > badness(self) { other } else { self }
    }
}

/// What a solve did.
#[derive(Clone, Debug, PartialEq)]
pub struct SolveReport {
    /// How it ended.
    pub ending: Ending,
    /// How often the block that took longest was linearised on the way, all attempts together.
    pub iterations: usize,
    /// The residual that is largest against its tolerance, in its own unit (mm or rad), without sign; zero
    /// without relations.
    pub largest_residual: f64,
    /// How many relations are independent at the answer; zero if derivatives there are not finite.
    pub rank: usize,
    /// Unknowns that can move less the rank of their derivatives: how many directions the unknowns can still move in without breaking a relation.
    /// One-sided relations and ranges take none away, because there is always a way back from them; an unknown
    /// with one value only does not move and is not counted.
    pub degrees_of_freedom: usize,
    /// One-sided relations whose residual is zero within tolerance, in order.
    pub tight: Vec<usize>,
    /// Unknowns at an end of their range, in order.
    pub touched: Vec<Touched>,
    /// Whether the relations bend so much between start and answer that another answer may be nearer along the
    /// way; [`forks`] looks. Never without an answer.
    pub bent: bool,
}

/// What can be said about an answer beyond that it holds, or about why there is none.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Explanation {
    /// One motion for each degree of freedom.
    pub loose: Vec<Motion>,
    /// Relations that follow from others, in order.
    pub redundant: Vec<Redundant>,
    /// Sets of members that cannot hold together, although they can without any one of them. No relation is in
    /// two of them; without all of their relations everything else holds.
    pub conflicts: Vec<Vec<Member>>,
    /// Relations that no unknown has an influence on, in order.
    pub without_effect: Vec<usize>,
}

/// A direction in which unknowns can move without breaking a relation, to first order.
#[derive(Clone, Debug, PartialEq)]
pub struct Motion {
    /// The unknown that stands for it. It moves by 1 here and not at all in the other motions.
    pub unknown: usize,
    /// Every unknown that moves, in order, with how far it does, in its unit.
    pub parts: Vec<(usize, f64)>,
}

/// A relation that follows from others.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Redundant {
    /// Number of the relation, the last one of those that follow from each other.
    pub relation: usize,
    /// From which it follows, in order; it does not from fewer of these.
    pub implied_by: Vec<usize>,
}

/// What can be part of a conflict.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Member {
    /// The relation with this number.
    Relation(usize),
    /// An end of the range of an unknown.
    End(Touched),
}

/// The unknowns at the end of a solve.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// One value for each unknown.
    pub unknowns: Vec<f64>,
    /// One residual for each relation at these unknowns, in its own unit.
    pub residuals: Vec<f64>,
    /// How the solve ended.
    pub report: SolveReport,
}

/// Moves the unknowns from `start` until every relation is held, as little as possible.
///
/// Levenberg–Marquardt with exact derivatives, each independent block of relations for itself. Of several
/// answers, the start decides: the one downhill from it, and there the nearest one. Never fails: [`Ending`]
/// says what the answer is worth.
///
/// # Panics
/// If `start` has not one value for each unknown.
///
/// ```
/// use kernel::{geom::Scalar, quantity::tolerance, solve::{Ending, System, solve}};
///
/// /// Two legs that together measure 10 mm.
/// struct Legs;
/// impl System for Legs {
///     fn variable_count(&self) -> usize { 2 }
///     fn relation_count(&self) -> usize { 1 }
///     fn residuals<S: Scalar>(&self, legs: &[S], residuals: &mut [S]) {
///         residuals[0] = legs[0] + legs[1] - S::constant(10.0);
///     }
///     fn tolerance(&self, _: usize) -> f64 { tolerance::HELD_MM }
/// }
/// let solution = solve(&Legs, &[0.0, 0.0]);
/// assert_eq!(solution.report.ending, Ending::Held);
/// assert_eq!(solution.report.degrees_of_freedom, 1);
/// assert!((solution.unknowns[0] - 5.0).abs() < tolerance::HELD_MM);
/// ```
pub fn solve<P: System>(system: &P, start: &[f64]) -> Solution {
    assert_eq!(start.len(), system.variable_count(), "one start value for each unknown");
    let inside: Vec<f64> = (0..start.len()).map(|unknown| within(system, unknown, start[unknown])).collect();
    let (mut pattern, start_residuals) = trace::trace(system, &inside);
    loop {
        let mut descents = Vec::new();
        for block in structure::blocks(&pattern) {
            let linearised = Linearised::new(&pattern, &block);
            let bench = Bench::new(Weighted::new(system, block), linearised);
            descents.push(Descent::begin(bench, start, &start_residuals));
        }
        let (mut unknowns, mut residuals) = (inside.clone(), start_residuals.clone());
        let descents = lockstep::run(system, descents, &mut unknowns, &mut residuals);
        // Relations with branches may know more where the solve ended than where it began.
        let knows_all = matches!(&descents[..], [only] if only.knows_all(&pattern));
        if knows_all || !pattern.join(&trace::trace(system, &unknowns).0) {
            return solution(system, unknowns, residuals, &descents);
        }
    }
}

/// Whether an unknown has one value only.
fn is_fixed<P: System>(system: &P, unknown: usize) -> bool {
    let [least, most] = system.bounds(unknown);
    least >= most
}

fn within<P: System>(system: &P, unknown: usize, value: f64) -> f64 {
    let [least, most] = system.bounds(unknown);
    if value < least {
        least
    } else if value > most {
        most
    } else {
        value
    }
}

fn solution<P: System>(
    system: &P,
    unknowns: Vec<f64>,
    residuals: Vec<f64>,
    descents: &[Descent],
) -> Solution {
    let rank = descents.iter().map(|descent| descent.rank).sum();
    let mut worst = (0.0, 0.0);
    let mut missed = false;
    let mut tight = Vec::new();
    for (relation, &residual) in residuals.iter().enumerate() {
        let (off, one_sided) = match system.kind(relation) {
            Kind::Equal => (residual.abs(), false),
            Kind::AtLeast => (f64::max(0.0, -residual), true),
        };
        let share = off / system.tolerance(relation);
        if share > worst.0 || share.is_nan() {
            worst = (share, off);
        }
        missed |= share > 1.0;
        if one_sided && residual.abs() <= system.tolerance(relation) {
            tight.push(relation);
        }
    }
    let mut ending = if residuals.is_empty() { Ending::NothingToSolve } else { Ending::Held };
    for descent in descents {
        ending = ending.or_worse(descent.ending);
    }
    if missed {
        // A relation without any unknown is in no block.
        ending = ending.or_worse(Ending::Stalled);
    }
    // Where nothing is kept in place the rank is known already.
    let is_fixed = |unknown| is_fixed(system, unknown);
    let degrees_of_freedom = if (0..unknowns.len()).any(is_fixed) {
        freedom::degrees_of_freedom(system, &unknowns)
    } else {
        unknowns.len() - rank
    };
    let report = SolveReport {
        ending,
        iterations: descents.iter().map(|descent| descent.linearisations).max().unwrap_or(0),
        largest_residual: worst.1,
        rank,
        degrees_of_freedom,
        tight,
        touched: touched(system, &unknowns),
        bent: ending == Ending::Held && descents.iter().any(|descent| descent.bent),
    };
    Solution { unknowns, residuals, report }
}

fn touched<P: System>(system: &P, unknowns: &[f64]) -> Vec<Touched> {
    let at_ends = |(unknown, &value): (usize, &f64)| {
        let range = system.bounds(unknown);
        let reached = [End::Least, End::Most].into_iter().filter(move |end| end.is_reached(range, value));
        reached.map(move |end| Touched { unknown, end })
    };
    unknowns.iter().enumerate().flat_map(at_ends).collect()
}

#[cfg(test)]
mod tests;
