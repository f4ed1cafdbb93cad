//! Numerical rank of a Jacobian: how many relations are independent at a point.
//!
//! Each gradient is scaled to length 1, so that neither weights nor units count. Householder reflections
//! with column pivoting then put the gradients in order, each time the one with the most that the earlier
//! ones do not span; the rank is how many have more than [`tolerance::RANK_SHARE`] left. Invariant: the
//! rank is at most the number of relations and of unknowns, and a zero gradient never counts.

use nalgebra::DMatrix;

use crate::quantity::tolerance;

use super::linearised::{add_multiple, dot};

/// The rank of `gradients`, one relation a column; entries must be finite.
pub(super) fn rank(gradients: &DMatrix<f64>) -> usize {
    let (unknowns, relations) = gradients.shape();
    let mut columns: Vec<Vec<f64>> = Vec::with_capacity(relations);
    for gradient in gradients.as_slice().chunks_exact(unknowns.max(1)) {
        let length = dot(gradient, gradient).sqrt();
        if length > 0.0 {
            columns.push(gradient.iter().map(|part| part / length).collect());
        }
    }
    // What each column has left below the rows already worked off, squared; and what that was when it was
    // last summed afresh, because taking parts away again and again leaves only rounding.
    let mut left = vec![1.0; columns.len()];
    let mut summed = left.clone();
    let limit = tolerance::RANK_SHARE * tolerance::RANK_SHARE;
    let steps = unknowns.min(columns.len());
    for row in 0..steps {
        let Some(pivot) = largest_from(&left, row) else { return row };
        columns.swap(row, pivot);
        left.swap(row, pivot);
        summed.swap(row, pivot);
        let (worked_off, rest) = columns.split_at_mut(row + 1);
        let mirror = &mut worked_off[row][row..];
        let square = dot(mirror, mirror);
        if square <= limit {
            return row;
        }
        // Reflection that turns the pivot column into one entry: `v = x ± |x| e`, sign without cancellation.
        mirror[0] += square.sqrt().copysign(mirror[0]);
        let mirror_square = dot(mirror, mirror);
        for (index, column) in rest.iter_mut().enumerate() {
            let column = &mut column[row..];
            let factor = -2.0 * dot(mirror, column) / mirror_square;
            add_multiple(column, factor, mirror);
            let known = row + 1 + index;
            left[known] -= column[0] * column[0];
            if left[known] <= tolerance::RANK_SHARE * summed[known] {
                left[known] = dot(&column[1..], &column[1..]);
                summed[known] = left[known];
            }
        }
    }
    steps
}

/// The index of the largest value from `first` on, the earlier one of equal ones.
fn largest_from(values: &[f64], first: usize) -> Option<usize> {
    (first..values.len()).reduce(|best, index| if values[index] > values[best] { index } else { best })
}
