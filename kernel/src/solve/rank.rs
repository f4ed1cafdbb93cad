//! Numerical rank of a Jacobian: how many relations are independent at a point.
//!
//! Each gradient is scaled to length 1, so that neither weights nor units count. Householder reflections
//! then work them off one after the other, each time the first one of those with the most that the earlier
//! ones do not span, give or take [`PIVOT_SHARE`]; the rank is how many have more than
//! [`tolerance::RANK_SHARE`] left. Invariant: the rank is at most the number of relations and of unknowns, and
//! a zero gradient never counts.

use crate::quantity::tolerance;

use super::gradients::{Gradients, add_multiple, dot, extent};

/// A gradient that has at least this share of the most that any has left may be worked off next. In a chain that
/// is nearly always the next one, and the reflection that works it off touches few unknowns.
const PIVOT_SHARE: f64 = 0.01;

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
    rank_of_columns(unknowns, &columns)
}

/// The rank of columns of `unknowns` entries each.
pub(super) fn rank_of_columns(unknowns: usize, columns: &[f64]) -> Rank {
    let mut rank = Rank { count: 0, least_share: 1.0 };
    if columns.is_empty() {
        return rank;
    }
    // The entries of one unknown stand side by side, because a reflection knows few unknowns and touches all
    // relations.
    let relations = columns.len() / unknowns;
    let mut entries = vec![0.0; columns.len()];
    // What each relation has left of the unknowns not yet worked off, squared; and what that was when it was last
    // summed afresh, because taking parts away again and again leaves only rounding.
    let mut left = vec![0.0; relations];
    // Past the last unknown that each relation knows: a relation of a chain knows none of the later ones.
    let mut ends = vec![0; relations];
    for (relation, column) in columns.chunks_exact(unknowns).enumerate() {
        let length = dot(column, column).sqrt();
        if length > 0.0 {
            (left[relation], ends[relation]) = (1.0, extent(column).end);
            let (places, unit) = (entries[relation..].iter_mut().step_by(relations), 1.0 / length);
            places.zip(&column[..ends[relation]]).for_each(|(entry, part)| *entry = part * unit);
        }
    }
    let mut summed = left.clone();
    let mut mirror = vec![0.0; unknowns];
    let mut along = vec![0.0; relations];
    let limit = tolerance::RANK_SHARE * tolerance::RANK_SHARE;
    for step in 0..unknowns.min(relations) {
        let pivot = step + next_pivot(&left[step..], limit);
        if pivot > step {
            entries.chunks_exact_mut(relations).for_each(|unknown| unknown.swap(step, pivot));
            left.swap(step, pivot);
            summed.swap(step, pivot);
            ends.swap(step, pivot);
        }
        let below = &mut entries[step * relations..];
        let end = ends[step].max(step + 1);
        let mirror = &mut mirror[step..end];
        mirror.iter_mut().zip(below[step..].iter().step_by(relations)).for_each(|(to, entry)| *to = *entry);
        let square = dot(mirror, mirror);
        if square <= limit {
            return rank;
        }
        rank = Rank { count: step + 1, least_share: rank.least_share.min(square.sqrt()) };
        // Reflection that turns the pivot's column into one entry: `v = x ± |x| e`, sign without cancellation.
        mirror[0] += square.sqrt().copysign(mirror[0]);
        let factor = -2.0 / dot(mirror, mirror);
        let along = &mut along[step + 1..];
        along.fill(0.0);
        for (part, unknown) in mirror.iter().zip(below.chunks_exact(relations)) {
            add_multiple(along, factor * part, &unknown[step + 1..]);
        }
        for (part, unknown) in mirror.iter().zip(below.chunks_exact_mut(relations)) {
            add_multiple(&mut unknown[step + 1..], *part, along);
        }
        for (relation, along) in (step + 1..).zip(&*along) {
            if *along == 0.0 {
                continue;
            }
            ends[relation] = ends[relation].max(end);
            left[relation] -= below[relation] * below[relation];
            if left[relation] <= tolerance::RANK_SHARE * summed[relation] {
                let rest = below[relation..].iter().step_by(relations).skip(1);
                left[relation] = rest.map(|part| part * part).sum();
                summed[relation] = left[relation];
            }
        }
    }
    rank
}

/// Which relation is worked off next, of those with this left: the first that has nearly the most, and the first with the
/// most where that is hardly above `limit`.
fn next_pivot(left: &[f64], limit: f64) -> usize {
    // None has more left than its length, which is 1.
    if left.first().is_some_and(|&first| first >= PIVOT_SHARE * PIVOT_SHARE) {
        return 0;
    }
    let most = left.iter().copied().fold(0.0, f64::max);
    let enough = PIVOT_SHARE * PIVOT_SHARE * most;
    let wanted = if enough > limit { enough } else { most };
    left.iter().position(|&square| square >= wanted).unwrap_or(0)
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
        rank_of_columns(unknowns, gradients).count
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
        let two = rank_of_columns(2, &[4.0, 0.0, 0.1 * cos, 0.1 * sin]);
        assert!(two.count == 2 && (two.least_share - 0.5).abs() < 1e-12, "{two:?}");
        // The second, with 0.005, has less than a hundredth of what the third has, at 45°, so that the third is next;
        // then the second has nothing left.
        let three = rank_of_columns(2, &[4.0, 0.0, 0.999975_f64.sqrt(), 0.005, 1.0, 1.0]);
        assert!(three.count == 2 && (three.least_share - 0.5_f64.sqrt()).abs() < 1e-12, "{three:?}");
        // The second of these has 0.5 of its own, which is more than a hundredth of 1, so that it is next.
        let ahead = rank_of_columns(3, &[1.0, 0.0, 0.0, cos, sin, 0.0, 0.0, 0.0, 1.0]);
        assert!(ahead.count == 3 && (ahead.least_share - 0.5).abs() < 1e-12, "{ahead:?}");
    }

    #[test]
    fn more_relations_than_unknowns_have_the_rank_of_the_unknowns() {
        assert_eq!(rank_of(2, &[1.0, 0.0, 1.0, 1.0, 0.0, 1.0, 2.0, 5.0]), 2);
    }
}
