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
    if unknowns == 0 {
        return 0;
    }
    let mut columns = gradients.as_slice().to_vec();
    // What each column has left below the rows already worked off, squared; and what that was when it was
    // last summed afresh, because taking parts away again and again leaves only rounding.
    let mut left = vec![0.0; relations];
    for (column, square) in columns.chunks_exact_mut(unknowns).zip(&mut left) {
        let length = dot(column, column).sqrt();
        if length > 0.0 {
            column.iter_mut().for_each(|part| *part /= length);
            *square = 1.0;
        }
    }
    let mut summed = left.clone();
    let limit = tolerance::RANK_SHARE * tolerance::RANK_SHARE;
    let steps = unknowns.min(relations);
    for row in 0..steps {
        let pivot = largest_from(&left, row);
        let (worked_off, rest) = columns.split_at_mut((row + 1) * unknowns);
        let column = &mut worked_off[row * unknowns..];
        if pivot > row {
            column.swap_with_slice(&mut rest[(pivot - row - 1) * unknowns..(pivot - row) * unknowns]);
            left.swap(row, pivot);
            summed.swap(row, pivot);
        }
        let mirror = &mut column[row..];
        let square = dot(mirror, mirror);
        if square <= limit {
            return row;
        }
        // Reflection that turns the pivot column into one entry: `v = x ± |x| e`, sign without cancellation.
        mirror[0] += square.sqrt().copysign(mirror[0]);
        let factor = -2.0 / dot(mirror, mirror);
        for (index, column) in rest.chunks_exact_mut(unknowns).enumerate() {
            let column = &mut column[row..];
            add_multiple(column, factor * dot(mirror, column), mirror);
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
fn largest_from(values: &[f64], first: usize) -> usize {
    (first..values.len()).fold(first, |best, index| if values[index] > values[best] { index } else { best })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rank_of(unknowns: usize, gradients: &[f64]) -> usize {
        rank(&DMatrix::from_column_slice(unknowns, gradients.len() / unknowns, gradients))
    }

    #[test]
    fn gradients_of_zero_never_count() {
        assert_eq!(rank_of(2, &[0.0, 0.0]), 0);
        assert_eq!(rank_of(2, &[0.0, 0.0, 0.0, 3.0, 0.0, 0.0]), 1);
        assert_eq!(rank(&DMatrix::zeros(0, 3)), 0);
        assert_eq!(rank(&DMatrix::zeros(3, 0)), 0);
    }

    #[test]
    fn length_of_a_gradient_does_not_count() {
        assert_eq!(rank_of(2, &[1e-9, 0.0, 1e9, 1e9]), 2);
        assert_eq!(rank_of(2, &[1e-9, 1e-9, 1e9, 1e9]), 1);
    }

    #[test]
    fn nearly_parallel_gradients_count_twice_above_the_rank_share_only() {
        for (angle, rank) in [(4.0, 2), (0.25, 1)] {
            assert_eq!(rank_of(2, &[1.0, 0.0, 1.0, angle * tolerance::RANK_SHARE]), rank);
        }
    }

    #[test]
    fn magic_square_of_four_has_rank_three() {
        // Dürer's square: its alternating sums of columns vanish. Known result, from memory.
        let square = [16.0, 5.0, 9.0, 4.0, 3.0, 10.0, 6.0, 15.0, 2.0, 11.0, 7.0, 14.0, 13.0, 8.0, 12.0, 1.0];
        assert_eq!(rank_of(4, &square), 3);
    }

    #[test]
    fn more_relations_than_unknowns_have_the_rank_of_the_unknowns() {
        assert_eq!(rank_of(2, &[1.0, 0.0, 1.0, 1.0, 0.0, 1.0, 2.0, 5.0]), 2);
    }
}
