//! What the pattern alone says: independent blocks, and the parts of a system that have too few relations,
//! as many as unknowns, or too many.
//!
//! Each relation is matched with an unknown that it knows, as many pairs as can be. From a relation without
//! partner every relation is reached that shares its trouble (over-full part), from an unknown without
//! partner every unknown that may move (loose part): the coarse decomposition of Dulmage and Mendelsohn.
//! Invariant: a structural statement holds whatever the numbers are; the rank at the answer may be lower.

use super::System;
use super::pattern::Pattern;
use super::trace::trace;

/// Unknowns and relations that depend on nothing else.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Block {
    /// Numbers of its unknowns, in order.
    pub unknowns: Vec<usize>,
    /// Numbers of its relations, in order.
    pub relations: Vec<usize>,
}

/// What can be said of a system before any number is looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Structure {
    /// Independent blocks, by their first unknown.
    pub blocks: Vec<Block>,
    /// Unknowns with the relations that know them and cannot determine them all: whatever the numbers, some
    /// of these can move.
    pub loose: Block,
    /// Unknowns with as many relations, of which each can determine one.
    pub determined: Block,
    /// Relations that are more than their unknowns: whatever the numbers, they are redundant or conflict.
    pub over_full: Block,
    /// Largest number of relations that can each determine an unknown of their own. No rank is above it.
    pub structural_rank: usize,
}

/// The structure of a system, from its pattern at `unknowns`. Relations that know no unknown are over-full,
/// unknowns that no relation knows are loose.
///
/// # Panics
/// If `unknowns` has not one value for each unknown.
pub fn structure<P: System>(system: &P, unknowns: &[f64]) -> Structure {
    assert_eq!(unknowns.len(), system.variable_count(), "one value for each unknown");
    let (pattern, _) = trace(system, unknowns);
    decompose(&pattern)
}

/// The independent blocks of a pattern, by their first unknown. What knows nothing is in none.
pub(super) fn blocks(pattern: &Pattern) -> Vec<Block> {
    let (relations, unknowns) = (pattern.relation_count(), pattern.unknown_count());
    if pattern.has_full_row() {
        let relations = (0..relations).filter(|&relation| !pattern.is_row_empty(relation)).collect();
        return vec![Block { unknowns: (0..unknowns).collect(), relations }];
    }
    // Each unknown leads to an earlier one of its block; the first one leads to itself.
    let mut leads: Vec<usize> = (0..unknowns).collect();
    let mut known = vec![false; unknowns];
    for relation in 0..relations {
        let mut row = pattern.row(relation);
        let Some(first) = row.next() else { continue };
        known[first] = true;
        let mut root = root_of(&mut leads, first);
        for unknown in row {
            known[unknown] = true;
            let other = root_of(&mut leads, unknown);
            let (low, high) = (root.min(other), root.max(other));
            leads[high] = low;
            root = low;
        }
    }
    let mut number = vec![usize::MAX; unknowns];
    let mut blocks: Vec<Block> = Vec::new();
    for unknown in (0..unknowns).filter(|&unknown| known[unknown]) {
        let root = root_of(&mut leads, unknown);
        if root == unknown {
            number[unknown] = blocks.len();
            blocks.push(Block::default());
        }
        number[unknown] = number[root];
        blocks[number[root]].unknowns.push(unknown);
    }
    for relation in 0..relations {
        if let Some(first) = pattern.row(relation).next() {
            blocks[number[first]].relations.push(relation);
        }
    }
    blocks
}

fn root_of(leads: &mut [usize], mut unknown: usize) -> usize {
    while leads[unknown] != unknown {
        leads[unknown] = leads[leads[unknown]];
        unknown = leads[unknown];
    }
    unknown
}

fn decompose(pattern: &Pattern) -> Structure {
    let (relations, unknowns) = (pattern.relation_count(), pattern.unknown_count());
    let rows: Vec<Vec<usize>> = (0..relations).map(|relation| pattern.row(relation).collect()).collect();
    let mut columns = vec![Vec::new(); unknowns];
    for (relation, row) in rows.iter().enumerate() {
        row.iter().for_each(|&unknown| columns[unknown].push(relation));
    }
    let (partner_of_relation, partner_of_unknown) = matching(&rows, unknowns);
    // From relations without partner over any unknown to its partner, and the other way round.
    let over = reached(&rows, &partner_of_relation, &partner_of_unknown);
    let under = reached(&columns, &partner_of_unknown, &partner_of_relation);
    let part = |relation_is: &dyn Fn(usize) -> bool, unknown_is: &dyn Fn(usize) -> bool| Block {
        unknowns: (0..unknowns).filter(|&unknown| unknown_is(unknown)).collect(),
        relations: (0..relations).filter(|&relation| relation_is(relation)).collect(),
    };
    Structure {
        blocks: blocks(pattern),
        loose: part(&|r| under.others[r], &|u| under.own[u]),
        determined: part(&|r| !under.others[r] && !over.own[r], &|u| !under.own[u] && !over.others[u]),
        over_full: part(&|r| over.own[r], &|u| over.others[u]),
        structural_rank: partner_of_relation.iter().flatten().count(),
    }
}

/// Pairs of a relation with an unknown that it knows, as many as there can be.
///
/// Each relation looks for an unknown along ways that alternate between pairs and other knowledge (augmenting
/// paths). Without recursion, since a chain of a thousand has ways that long.
fn matching(rows: &[Vec<usize>], unknowns: usize) -> (Vec<Option<usize>>, Vec<Option<usize>>) {
    let mut of_relation = vec![None; rows.len()];
    let mut of_unknown: Vec<Option<usize>> = vec![None; unknowns];
    let mut seen_for = vec![usize::MAX; unknowns];
    for start in 0..rows.len() {
        // The way so far: relations with the place in their row that is looked at next.
        let mut way = vec![(start, 0)];
        while let Some(&mut (relation, ref mut next)) = way.last_mut() {
            let Some(&unknown) = rows[relation].get(*next) else {
                way.pop();
                continue;
            };
            *next += 1;
            if seen_for[unknown] == start {
                continue;
            }
            seen_for[unknown] = start;
            match of_unknown[unknown] {
                Some(taken_by) => way.push((taken_by, 0)),
                None => {
                    for &(relation, next) in &way {
                        let unknown = rows[relation][next - 1];
                        of_relation[relation] = Some(unknown);
                        of_unknown[unknown] = Some(relation);
                    }
                    break;
                }
            }
        }
    }
    (of_relation, of_unknown)
}

/// What is reached from those of one side that have no partner.
struct Reached {
    own: Vec<bool>,
    others: Vec<bool>,
}

fn reached(knows: &[Vec<usize>], partner: &[Option<usize>], partner_of_other: &[Option<usize>]) -> Reached {
    let mut reached = Reached { own: vec![false; knows.len()], others: vec![false; partner_of_other.len()] };
    let mut left: Vec<usize> = (0..knows.len()).filter(|&own| partner[own].is_none()).collect();
    left.iter().for_each(|&own| reached.own[own] = true);
    while let Some(own) = left.pop() {
        for &other in &knows[own] {
            if std::mem::replace(&mut reached.others[other], true) {
                continue;
            }
            if let Some(next) = partner_of_other[other]
                && !std::mem::replace(&mut reached.own[next], true)
            {
                left.push(next);
            }
        }
    }
    reached
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pattern(unknowns: usize, rows: &[&[usize]]) -> Pattern {
        let mut pattern = Pattern::empty(rows.len(), unknowns);
        for (relation, row) in rows.iter().enumerate() {
            pattern.set_words(relation, 0, &[row.iter().map(|unknown| 1_u64 << unknown).sum()]);
        }
        pattern
    }

    fn block(unknowns: &[usize], relations: &[usize]) -> Block {
        Block { unknowns: unknowns.to_vec(), relations: relations.to_vec() }
    }

    #[test]
    fn blocks_are_what_hangs_together_over_any_number_of_steps() {
        let pattern = pattern(7, &[&[4, 5], &[0], &[], &[5, 1], &[6, 0], &[2]]);
        let want = [block(&[0, 6], &[1, 4]), block(&[1, 4, 5], &[0, 3]), block(&[2], &[5])];
        assert_eq!(blocks(&pattern), want);
    }

    #[test]
    fn coarse_parts_of_a_pattern_worked_by_hand() {
        // Unknown 0 has three relations, unknowns 1 and 2 have two, unknowns 3, 4 and 5 share one.
        let pattern = pattern(6, &[&[0], &[1, 2], &[0], &[3, 4, 5], &[0], &[2, 0]]);
        let structure = decompose(&pattern);
        assert_eq!(structure.over_full, block(&[0], &[0, 2, 4]));
        assert_eq!(structure.determined, block(&[1, 2], &[1, 5]));
        assert_eq!(structure.loose, block(&[3, 4, 5], &[3]));
        assert_eq!(structure.structural_rank, 4);
    }

    #[test]
    fn matching_gives_way_along_a_long_chain() {
        // Each relation first takes the lower of two unknowns; the last one makes all others move up.
        let rows: Vec<Vec<usize>> = (0..2000).map(|i| vec![i, i + 1]).chain([vec![0]]).collect();
        let (of_relation, of_unknown) = matching(&rows, 2001);
        assert!(of_relation.iter().all(Option::is_some));
        for (relation, unknown) in of_relation.iter().enumerate() {
            assert_eq!(of_unknown[unknown.unwrap()], Some(relation));
            assert!(rows[relation].contains(&unknown.unwrap()));
        }
    }

    #[test]
    fn without_relations_everything_is_loose_and_without_unknowns_over_full() {
        assert_eq!(decompose(&pattern(2, &[])).loose, block(&[0, 1], &[]));
        assert_eq!(decompose(&pattern(0, &[])).structural_rank, 0);
        assert_eq!(decompose(&pattern(1, &[&[], &[0]])).over_full, block(&[], &[0]));
    }
}
