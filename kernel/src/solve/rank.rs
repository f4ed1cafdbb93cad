//! Numerical rank of a Jacobian: how many relations are independent at a point.
//!
//! Each gradient is scaled to length 1, so that neither weights nor units count. Householder reflections
//! with column pivoting then put the gradients in order, each time the one with the most that the earlier
//! ones do not span; the rank is how many have more than [`tolerance::RANK_SHARE`] left. Invariant: the
//! rank is at most the number of relations and of unknowns, and a zero gradient never counts.

use crate::quantity::tolerance;

use super::gradients::{Gradients, add_multiple, dot, extent};

/// How many gradients are independent, and by how much.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Rank {
    pub(super) count: usize,
    /// What the least independent one of those that count has of its own, as a share of its length: about the
    /// smallest singular value of the gradients scaled to length 1. It is 1 if none counts.
    pub(super) least_share: f64,
}

/// The rank of the gradients of the relations that count, from full gradients; entries must be finite.
pub(super) fn rank(gradients: &Gradients, counts: impl Fn(usize) -> bool) -> Rank {
    let unknowns = gradients.unknown_count();
    let mut columns = Vec::with_capacity(gradients.values.len());
    for relation in (0..gradients.relation_count()).filter(|&relation| counts(relation)) {
        columns.extend_from_slice(gradients.row(relation));
    }
    rank_of_columns(unknowns, columns)
}

/// The rank of columns of `unknowns` entries each.
pub(super) fn rank_of_columns(unknowns: usize, mut columns: Vec<f64>) -> Rank {
    let mut rank = Rank { count: 0, least_share: 1.0 };
    if unknowns == 0 {
        return rank;
    }
    let relations = columns.len() / unknowns;
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
            return rank;
        }
        rank = Rank { count: row + 1, least_share: rank.least_share.min(square.sqrt()) };
        // Reflection that turns the pivot column into one entry: `v = x ± |x| e`, sign without cancellation.
        mirror[0] += square.sqrt().copysign(mirror[0]);
        let factor = -2.0 / dot(mirror, mirror);
        // A relation of a chain knows none of the later unknowns.
        let mirror = &mirror[..extent(mirror).end];
        for (index, column) in rest.chunks_exact_mut(unknowns).enumerate() {
            let column = &mut column[row..];
            let known_to_mirror = &mut column[..mirror.len()];
            add_multiple(known_to_mirror, factor * dot(mirror, known_to_mirror), mirror);
            let known = row + 1 + index;
            left[known] -= column[0] * column[0];
            if left[known] <= tolerance::RANK_SHARE * summed[known] {
                left[known] = dot(&column[1..], &column[1..]);
                summed[known] = left[known];
            }
        }
    }
    rank
}

/// The index of the largest value from `first` on, the earlier one of equal ones.
fn largest_from(values: &[f64], first: usize) -> usize {
    (first..values.len()).fold(first, |best, index| if values[index] > values[best] { index } else { best })
}

/// The rank of sparse gradients, with the unknowns put in this order; entries must be finite.
///
/// Each gradient is turned into the triangle of the earlier ones by plane rotations, one leading entry after
/// the other (George and Heath), and counts if something is left of it. Without pivoting, so that gradients
/// stay short; one that is nearly but not quite spanned by the earlier ones is judged a little more harshly.
pub(super) fn sparse_rank(gradients: &Gradients, place: &[usize], counts: impl Fn(usize) -> bool) -> Rank {
    // Rows of the triangle: each begins with its diagonal entry.
    let mut triangle: Vec<Vec<f64>> = vec![Vec::new(); place.len()];
    let mut count = 0;
    let mut row = vec![0.0; place.len()];
    for relation in (0..gradients.relation_count()).filter(|&relation| counts(relation)) {
        let values = gradients.row(relation);
        let length = dot(values, values).sqrt();
        let places = gradients.places(relation).unwrap_or_default();
        if length == 0.0 {
            continue;
        }
        row.fill(0.0);
        let (mut first, mut end) = (place.len(), 0);
        for (&unknown, value) in places.iter().zip(values) {
            let at = place[unknown];
            row[at] = value / length;
            (first, end) = (first.min(at), end.max(at + 1));
        }
        let mut at = first;
        while at < end {
            let leading = row[at];
            if leading.abs() <= tolerance::RANK_SHARE {
                at += 1;
                continue;
            }
            let upper = &mut triangle[at];
            if upper.is_empty() {
                upper.extend_from_slice(&row[at..end]);
                count += 1;
                break;
            }
            if upper.len() < end - at {
                upper.resize(end - at, 0.0);
            }
            end = end.max(at + upper.len());
            let radius = (upper[0] * upper[0] + leading * leading).sqrt();
            let (cos, sin) = (upper[0] / radius, leading / radius);
            for (above, below) in upper.iter_mut().zip(&mut row[at..end]) {
                (*above, *below) = (cos * *above + sin * *below, cos * *below - sin * *above);
            }
            at += 1;
        }
    }
    let diagonal = triangle.iter().filter_map(|upper| upper.first());
    Rank { count, least_share: diagonal.fold(1.0, |least, entry| least.min(entry.abs())) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::maths;

    fn rank_of(unknowns: usize, gradients: &[f64]) -> usize {
        rank_of_columns(unknowns, gradients.to_vec()).count
    }

    #[test]
    fn gradients_of_zero_never_count() {
        assert_eq!(rank_of(2, &[0.0, 0.0]), 0);
        assert_eq!(rank_of(2, &[0.0, 0.0, 0.0, 3.0, 0.0, 0.0]), 1);
        assert_eq!(rank_of(0, &[]), 0);
        assert_eq!(rank_of(3, &[]), 0);
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
    fn least_share_is_what_the_last_gradient_has_of_its_own() {
        // At 30° to the first one, the second has sin 30° = 0.5 of its own, whatever the lengths.
        let (sin, cos) = maths::sin_cos(maths::PI / 6.0);
        let two = rank_of_columns(2, vec![4.0, 0.0, 0.1 * cos, 0.1 * sin]);
        assert!(two.count == 2 && (two.least_share - 0.5).abs() < 1e-12, "{two:?}");
        // Next is always the one with the most of its own: the third, at 45°; then the second has nothing left.
        let three = rank_of_columns(2, vec![4.0, 0.0, cos, sin, 1.0, 1.0]);
        assert!(three.count == 2 && (three.least_share - 0.5_f64.sqrt()).abs() < 1e-12, "{three:?}");
    }

    #[test]
    fn more_relations_than_unknowns_have_the_rank_of_the_unknowns() {
        assert_eq!(rank_of(2, &[1.0, 0.0, 1.0, 1.0, 0.0, 1.0, 2.0, 5.0]), 2);
    }
}
