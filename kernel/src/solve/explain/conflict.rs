//! Smallest sets of relations and ends of ranges that cannot hold together.
//!
//! At a least-squares compromise the residuals are at right angles to every gradient, so that a relation
//! outside of the conflict has a residual of zero: what is missed is the guess. Then each member is left out
//! in turn, and stays out if the others still conflict. Invariant: the set conflicts, and without any one
//! member it does not; both by solving.

use super::super::subset::{Subset, ends};
use super::super::{Block, Ending, Member, Solution, System, Touched, solve};
use super::is_missed;

/// Conflicts of a block that have no relation in common, as many as are needed to leave none.
pub(super) fn conflicts<P: System>(
    system: &P,
    start: &[f64],
    block: &Block,
    solution: &Solution,
) -> Vec<Vec<Member>> {
    let ends: Vec<Touched> = block.unknowns.iter().flat_map(|&unknown| ends(system, unknown)).collect();
    let mut relations = block.relations.clone();
    let mut open_ends = Vec::new();
    let mut found = Vec::new();
    let mut residuals = solution.residuals.clone();
    let mut touched = solution.report.touched.clone();
    loop {
        let holds = |members: &[Member]| holds(system, start, members, &ends);
        let all: Vec<Member> = members(&relations, &ends, &open_ends);
        let guessed = all.iter().copied().filter(|member| match member {
            Member::Relation(relation) => is_missed(system, *relation, residuals[*relation]),
            Member::End(end) => touched.contains(end),
        });
        let mut conflict: Vec<Member> = guessed.collect();
        if holds(&conflict) {
            conflict = all;
        }
        let mut at = 0;
        while at < conflict.len() {
            let mut without = conflict.clone();
            without.remove(at);
            if holds(&without) {
                at += 1;
            } else {
                conflict = without;
            }
        }
        if conflict.is_empty() {
            // No relation is left and still no answer: the start is not a number.
            return found;
        }
        take_away(&conflict, Which::All, &mut relations, &mut open_ends);
        found.push(conflict);
        let rest = Subset { system, relations: relations.clone(), open_ends: open_ends.clone() };
        let again = solve(&rest, start);
        if again.report.ending == Ending::Held || again.report.ending == Ending::NothingToSolve {
            return found;
        }
        for (&relation, residual) in relations.iter().zip(&again.residuals) {
            residuals[relation] = *residual;
        }
        touched = again.report.touched;
    }
}

/// Which relations of a conflict are taken away.
#[derive(Clone, Copy)]
pub(super) enum Which {
    Last,
    All,
}

/// Takes relations of a conflict away, or its ends of ranges if it has no relation.
pub(super) fn take_away(
    conflict: &[Member],
    which: Which,
    relations: &mut Vec<usize>,
    open_ends: &mut Vec<Touched>,
) {
    let mut own = Vec::new();
    let mut ends = Vec::new();
    for member in conflict {
        match member {
            Member::Relation(relation) => own.push(*relation),
            Member::End(end) => ends.push(*end),
        }
    }
    match (own.last(), which) {
        (None, _) => open_ends.extend(ends),
        (Some(last), Which::Last) => relations.retain(|relation| relation != last),
        (Some(_), Which::All) => relations.retain(|relation| !own.contains(relation)),
    }
}

fn members(relations: &[usize], ends: &[Touched], open_ends: &[Touched]) -> Vec<Member> {
    let closed = ends.iter().filter(|end| !open_ends.contains(end)).map(|&end| Member::End(end));
    relations.iter().map(|&relation| Member::Relation(relation)).chain(closed).collect()
}

/// Whether these members hold together; other ends of the block's ranges do not count.
fn holds<P: System>(system: &P, start: &[f64], members: &[Member], ends: &[Touched]) -> bool {
    let ending = solve(&Subset::of(system, members, ends), start).report.ending;
    ending == Ending::Held || ending == Ending::NothingToSolve
}
