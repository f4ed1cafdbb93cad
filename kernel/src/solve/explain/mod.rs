//! What can be said about an answer beyond that it holds, or about why there is none.
//!
//! Much dearer than a solve, so that it is asked for apart. Invariant: a conflict is proven by solving without
//! each of its members, a redundant relation by solving for what implies it; neither rests on a pattern or a
//! gradient alone. Must not know: what a relation or an unknown stands for.

mod conflict;
mod loose;
mod redundant;

use crate::quantity::tolerance;

use super::pattern::Pattern;
use super::structure::blocks;
use super::subset::Subset;
use super::trace::trace;
use super::{Explanation, Kind, Member, Solution, System, jacobian, solve};

/// Explains a solution of [`solve`] from `start`.
///
/// Where relations conflict, the rest of the explanation is about the system without the last relation (or
/// range, if there is none) of each conflict.
///
/// # Panics
/// If `start` or the solution have not one value for each unknown.
pub fn explain<P: System>(system: &P, start: &[f64], solution: &Solution) -> Explanation {
    assert_eq!(start.len(), system.variable_count(), "one start value for each unknown");
    let (pattern, _) = trace(system, &solution.unknowns);
    let mut conflicts = Vec::new();
    for relation in (0..system.relation_count()).filter(|&relation| pattern.is_row_empty(relation)) {
        if is_missed(system, relation, solution.residuals[relation]) {
            conflicts.push(vec![Member::Relation(relation)]);
        }
    }
    for block in blocks(&pattern) {
        let missed = |&relation: &usize| is_missed(system, relation, solution.residuals[relation]);
        if block.relations.iter().any(missed) {
            conflicts.extend(conflict::conflicts(system, start, &block, solution));
        }
    }
    // What is left when each conflict lost its last member.
    let mut rest =
        Subset { system, relations: (0..system.relation_count()).collect(), open_ends: Vec::new() };
    for conflict in &conflicts {
        conflict::without_last(conflict, &mut rest.relations, &mut rest.open_ends);
    }
    let again = (!conflicts.is_empty()).then(|| solve(&rest, start));
    let answer = again.as_ref().map_or(&solution.unknowns, |again| &again.unknowns);
    let without_effect = without_effect(system, &pattern, answer);
    rest.relations
        .retain(|relation| !without_effect.contains(relation) && system.kind(*relation) == Kind::Equal);
    Explanation {
        loose: loose::motions(&rest, answer),
        redundant: redundant::redundant(&rest, answer),
        conflicts,
        without_effect,
    }
}

/// Whether a relation with this residual is not held.
fn is_missed<P: System>(system: &P, relation: usize, residual: f64) -> bool {
    let off = match system.kind(relation) {
        Kind::Equal => residual.abs(),
        Kind::AtLeast => -residual,
    };
    off > system.tolerance(relation) || off.is_nan()
}

/// Relations that no unknown has an influence on, at the answer or beside it.
fn without_effect<P: System>(system: &P, pattern: &Pattern, answer: &[f64]) -> Vec<usize> {
    let slopes = [jacobian(system, answer), jacobian(system, &beside(answer))];
    let is_flat = |&relation: &usize| {
        pattern.is_row_empty(relation)
            || slopes
                .iter()
                .all(|at| at.row(relation).iter().all(|slope| slope.abs() <= tolerance::RANK_SHARE))
    };
    (0..system.relation_count()).filter(is_flat).collect()
}

/// A point beside another, each unknown a little and in its own way.
fn beside(unknowns: &[f64]) -> Vec<f64> {
    let nudged = unknowns.iter().enumerate().map(|(index, &value)| {
        let share = tolerance::NUDGE_SHARE * (1.0 - 2.0 * ((index * 5 + 2) % 7) as f64 / 6.0);
        value + share * (1.0 + value.abs())
    });
    nudged.collect()
}
