//! Relations that follow from others.
//!
//! The gradient of a relation that follows is a sum of the gradients of those that it follows from. The
//! converse is false where relations only touch, so each set is tried: solved for from beside the answer, it
//! must hold the relation along. Invariant: the gradients of a set are independent, so that none of it can be
//! spared.

use crate::quantity::tolerance;

use super::super::gradients::dot;
use super::super::span::{Span, is_spanned};
use super::super::structure::blocks;
use super::super::subset::Subset;
use super::super::trace::trace;
use super::super::{Ending, Redundant, System, jacobian, solve};
use super::beside;

/// A relation whose gradient is a sum of others: `gradient = Σ factor · gradient of other`.
#[derive(Clone)]
struct Sum {
    relation: usize,
    parts: Vec<(usize, f64)>,
}

/// Redundant relations of a subset of equal ones at its answer, with their numbers in the whole system.
pub(super) fn redundant<P: System>(subset: &Subset<'_, P>, answer: &[f64]) -> Vec<Redundant> {
    let slopes = jacobian(subset, answer);
    let (pattern, _) = trace(subset, answer);
    let mut redundant = Vec::new();
    for block in blocks(&pattern) {
        let sums = sums(&block.relations, |relation| {
            let gradient: Vec<f64> = block.unknowns.iter().map(|&u| slopes[(relation, u)]).collect();
            let length = dot(&gradient, &gradient).sqrt();
            gradient.iter().map(|part| part / length).collect()
        });
        for sum in &sums {
            let shortest = shortest(sum, &sums);
            let number = |relation: usize| subset.relations[relation];
            let mut implied_by: Vec<usize> = shortest.iter().map(|&(other, _)| number(other)).collect();
            implied_by.sort_unstable();
            let relation = number(sum.relation);
            if implies(subset.system, &implied_by, relation, answer) {
                redundant.push(Redundant { relation, implied_by });
            }
        }
    }
    redundant.sort_by_key(|redundant| redundant.relation);
    redundant
}

/// The gradients that those before them span, as sums of independent ones.
fn sums(relations: &[usize], gradient: impl Fn(usize) -> Vec<f64>) -> Vec<Sum> {
    let mut span = Span::default();
    let mut independent = Vec::new();
    let mut sums = Vec::new();
    for &relation in relations {
        let gradient = gradient(relation);
        let (rest, parts) = span.split(&gradient);
        if !is_spanned(&rest, &gradient) {
            span.push(rest, parts);
            independent.push(relation);
            continue;
        }
        let factors = span.factors(parts);
        let parts = independent.iter().copied().zip(factors);
        sums.push(Sum { relation, parts: counted(parts) });
    }
    sums
}

/// The parts that are not rounding.
fn counted(parts: impl Iterator<Item = (usize, f64)>) -> Vec<(usize, f64)> {
    parts.filter(|(_, factor)| factor.abs() > tolerance::PART_SHARE).collect()
}

/// The shortest sum that is found by putting earlier redundant relations in place of what they are sums of.
fn shortest(sum: &Sum, all: &[Sum]) -> Vec<(usize, f64)> {
    let mut best = sum.parts.clone();
    loop {
        let mut shorter: Option<Vec<(usize, f64)>> = None;
        // Earlier ones only: of two that follow from each other, one has to come first.
        for other in all.iter().filter(|other| other.relation < sum.relation) {
            // One that is in already would be put in place of itself.
            if best.iter().any(|(relation, _)| *relation == other.relation) {
                continue;
            }
            for &(replaced, own) in &best {
                let Some(&(_, factor)) = other.parts.iter().find(|(part, _)| *part == replaced) else {
                    continue;
                };
                let share = own / factor;
                let candidate = put_in(&best, other, share);
                if candidate.len() < shorter.as_ref().map_or(best.len(), Vec::len) {
                    shorter = Some(candidate);
                }
            }
        }
        match shorter {
            Some(parts) => best = parts,
            None => return best,
        }
    }
}

/// `parts + share · (other − what it is the sum of)`.
fn put_in(parts: &[(usize, f64)], other: &Sum, share: f64) -> Vec<(usize, f64)> {
    let mut all = parts.to_vec();
    for &(relation, factor) in &other.parts {
        match all.iter_mut().find(|(own, _)| *own == relation) {
            Some((_, own)) => *own -= share * factor,
            None => all.push((relation, -share * factor)),
        }
    }
    all.push((other.relation, share));
    counted(all.into_iter())
}

/// Whether relations that hold elsewhere hold this one along.
fn implies<P: System>(system: &P, by: &[usize], relation: usize, answer: &[f64]) -> bool {
    let set = Subset { system, relations: by.to_vec(), open_ends: Vec::new() };
    let elsewhere = solve(&set, &beside(answer));
    if elsewhere.report.ending != Ending::Held {
        return false;
    }
    let mut residuals = vec![0.0; system.relation_count()];
    system.residuals(&elsewhere.unknowns, &mut residuals);
    residuals[relation].abs() <= system.tolerance(relation)
}
