//! How far groups of unknowns are still free.
//!
//! Invariant: freedoms of groups that no relation ties together add up to the degrees of freedom.

use crate::quantity::tolerance;

use super::rank::rank_of_columns;
use super::{System, jacobian};

/// In how many directions each group of unknowns could still move at `unknowns` without breaking a relation,
/// the other groups moving along as they must.
///
/// `groups` has the number of its group for each unknown. A group's freedom is its count of unknowns less
/// what it adds to the rank of the Jacobian: `n − (rank J − rank of J without its columns)`. Where no
/// relation ties two groups together, the freedoms add up to the degrees of freedom; where one does, a
/// motion of both counts in both.
///
/// # Panics
/// If `unknowns` or `groups` has not one value for each unknown.
pub fn freedoms<P: System>(system: &P, unknowns: &[f64], groups: &[usize]) -> Vec<usize> {
    assert_eq!(groups.len(), unknowns.len(), "one group for each unknown");
    let jacobian = jacobian(system, unknowns);
    let lengths: Vec<f64> = jacobian.row_iter().map(|row| row.norm()).collect();
    let rank_of = |columns: &[usize]| {
        let mut gradients = Vec::with_capacity(columns.len() * jacobian.nrows());
        for (row, length) in lengths.iter().enumerate() {
            for &column in columns {
                // What cancels but for rounding would count as a relation of its own without the rest.
                let slope = jacobian[(row, column)];
                gradients.push(if slope.abs() > tolerance::RANK_SHARE * length { slope } else { 0.0 });
            }
        }
        rank_of_columns(columns.len(), gradients).count
    };
    let all: Vec<usize> = (0..unknowns.len()).collect();
    let whole = rank_of(&all);
    let count = groups.iter().max().map_or(1, |last| last + 1);
    (0..count)
        .map(|group| {
            let rest: Vec<usize> = all.iter().copied().filter(|&unknown| groups[unknown] != group).collect();
            unknowns.len() - rest.len() + rank_of(&rest) - whole
        })
        .collect()
}
