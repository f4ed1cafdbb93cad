//! How far groups of unknowns are still free.
//!
//! Invariant: freedoms of groups that no relation ties together add up to the degrees of freedom.

use crate::quantity::tolerance;

use super::gradients::dot;
use super::rank::rank_of_columns;
use super::{Kind, System, is_fixed, jacobian};

/// In how many directions each group of unknowns could still move at `unknowns` without breaking a relation,
/// the other groups moving along as they must.
///
/// `groups` has the number of its group for each unknown. A group's freedom is its count of unknowns that can
/// move less what it adds to the rank of the Jacobian: `n − (rank J − rank of J without its columns)`.
/// One-sided relations take no freedom away, and an unknown with one value only has none. Where no
/// relation ties two groups together, the freedoms add up to the degrees of freedom; where one does, a
/// motion of both counts in both.
///
/// # Panics
/// If `unknowns` or `groups` has not one value for each unknown.
pub fn freedoms<P: System>(system: &P, unknowns: &[f64], groups: &[usize]) -> Vec<usize> {
    assert_eq!(groups.len(), unknowns.len(), "one group for each unknown");
    let slopes = Slopes::new(system, unknowns);
    let whole = slopes.rank_of(&slopes.movable);
    let count = groups.iter().max().map_or(1, |last| last + 1);
    (0..count)
        .map(|group| {
            let others = slopes.movable.iter().copied().filter(|&unknown| groups[unknown] != group);
            let rest: Vec<usize> = others.collect();
            slopes.movable.len() - rest.len() + slopes.rank_of(&rest) - whole
        })
        .collect()
}

/// In how many directions unknowns can still move at `unknowns`; as many as can move if derivatives are not
/// finite.
pub(super) fn degrees_of_freedom<P: System>(system: &P, unknowns: &[f64]) -> usize {
    let slopes = Slopes::new(system, unknowns);
    slopes.movable.len() - slopes.rank_of(&slopes.movable)
}

/// Derivatives of the relations that must be zero, by the unknowns that can move.
struct Slopes {
    rows: Vec<Vec<f64>>,
    movable: Vec<usize>,
}

impl Slopes {
    fn new<P: System>(system: &P, unknowns: &[f64]) -> Self {
        let jacobian = jacobian(system, unknowns);
        let equal = (0..system.relation_count()).filter(|&row| system.kind(row) == Kind::Equal);
        let rows = equal.map(|row| jacobian.row(row).iter().copied().collect()).collect();
        let movable = (0..unknowns.len()).filter(|&unknown| !is_fixed(system, unknown)).collect();
        Self { rows, movable }
    }

    fn rank_of(&self, columns: &[usize]) -> usize {
        let mut gradients = Vec::with_capacity(columns.len() * self.rows.len());
        for row in &self.rows {
            let length = dot(row, row).sqrt();
            if !length.is_finite() {
                return 0;
            }
            // What cancels but for rounding would count as a relation of its own without the rest.
            let own = |&column: &usize| {
                let slope = row[column];
                if slope.abs() > tolerance::RANK_SHARE * length { slope } else { 0.0 }
            };
            gradients.extend(columns.iter().map(own));
        }
        rank_of_columns(columns.len(), &gradients).count
    }
}
