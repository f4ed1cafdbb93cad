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
use super::{Ending, Explanation, Kind, Member, Solution, System, jacobian, solve};
use conflict::Which;

/// Explains a solution of [`solve`] from `start`.
///
/// Where relations conflict, the rest of the explanation is about the system without the last relation of each
/// conflict, or without all of theirs if others conflict then.
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
    // What is left when each conflict lost its last relation or, where more conflicts come to light then, all.
    let all = || Subset { system, relations: (0..system.relation_count()).collect(), open_ends: Vec::new() };
    let (mut rest, mut answer) = (all(), solution.unknowns.clone());
    for which in [Which::Last, Which::All] {
        if conflicts.is_empty() {
            break;
        }
        rest = all();
        for conflict in &conflicts {
            conflict::take_away(conflict, which, &mut rest.relations, &mut rest.open_ends);
        }
        let again = solve(&rest, start);
        answer = again.unknowns;
        if again.report.ending == Ending::Held {
            break;
        }
    }
    let answer = &answer;
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

#[cfg(test)]
mod tests {
    use super::super::tests::Straight;
    use super::super::{End, Motion, Redundant, Touched};
    use super::*;
    use crate::geom::Scalar;

    fn explained<P: System>(system: &P, start: &[f64]) -> Explanation {
        explain(system, start, &solve(system, start))
    }

    fn relations(numbers: &[usize]) -> Vec<Member> {
        numbers.iter().map(|&relation| Member::Relation(relation)).collect()
    }

    /// A rectangle with corners at (u0, u1) and (u2, u3) and a given width, and a number that nothing knows.
    #[test]
    fn loose_unknowns_come_with_their_motion() {
        let system = Straight::new(&[&[-1.0, 0.0, 1.0, 0.0, 0.0], &[0.0, 1.0, 0.0, -2.0, 0.0]], &[40.0, 0.0]);
        let loose = explained(&system, &[0.0, 0.0, 30.0, 20.0, 7.0]).loose;
        let near = |parts: &[(usize, f64)], want: &[(usize, f64)]| {
            parts.len() == want.len()
                && parts.iter().zip(want).all(|(p, w)| p.0 == w.0 && (p.1 - w.1).abs() < 1e-12)
        };
        // Both sides move alike; u1 moves twice as far as u3 and so is the looser of the two.
        assert_eq!(loose.iter().map(|motion| motion.unknown).collect::<Vec<_>>(), [0, 1, 4]);
        assert!(near(&loose[0].parts, &[(0, 1.0), (2, 1.0)]), "{loose:?}");
        assert!(near(&loose[1].parts, &[(1, 1.0), (3, 0.5)]), "{loose:?}");
        assert_eq!(loose[2], Motion { unknown: 4, parts: vec![(4, 1.0)] });
    }

    #[test]
    fn smallest_set_that_implies_is_found_among_redundant_relations_too() {
        // x, y, x + y, and x + y again times three: the last follows from the third alone.
        let system =
            Straight::new(&[&[1.0, 0.0], &[0.0, 1.0], &[1.0, 1.0], &[3.0, 3.0]], &[2.0, 5.0, 7.0, 21.0]);
        let redundant = explained(&system, &[0.0, 0.0]).redundant;
        let want = |relation, by: &[usize]| Redundant { relation, implied_by: by.to_vec() };
        assert_eq!(redundant, [want(2, &[0, 1]), want(3, &[2])]);
    }

    /// A point on a circle about the origin and on a line that touches it at (3, 4).
    struct Touching;

    impl System for Touching {
        fn variable_count(&self) -> usize {
            2
        }
        fn relation_count(&self) -> usize {
            2
        }
        fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
            residuals[0] = u[0] * u[0] + u[1] * u[1] - S::constant(25.0);
            residuals[1] = u[0].scaled(3.0) + u[1].scaled(4.0) - S::constant(25.0);
        }
        fn tolerance(&self, _: usize) -> f64 {
            tolerance::HELD_MM
        }
    }

    #[test]
    fn relations_that_only_touch_do_not_follow_from_each_other() {
        let solution = solve(&Touching, &[3.0, 4.0]);
        assert_eq!(solution.report.rank, 1);
        assert!(explain(&Touching, &[3.0, 4.0], &solution).redundant.is_empty());
    }

    #[test]
    fn two_conflicts_of_one_block_are_both_found_and_the_rest_is_explained() {
        // x = 1 and x = 2; x + y = 5; y + z = 3, z = 1 and y = 4.
        let system = Straight::new(
            &[
                &[1.0, 0.0, 0.0],
                &[1.0, 0.0, 0.0],
                &[0.0, 1.0, 1.0],
                &[0.0, 0.0, 1.0],
                &[0.0, 1.0, 0.0],
                &[1.0, 1.0, 0.0],
            ],
            &[1.0, 2.0, 3.0, 1.0, 4.0, 5.0],
        );
        let explanation = explained(&system, &[0.0; 3]);
        assert_eq!(explanation.conflicts, [relations(&[2, 3, 4]), relations(&[0, 1])]);
        // Only x + y = 5 is sure to hold then, so that two numbers are loose.
        assert_eq!(explanation.loose.len(), 2);
    }

    #[test]
    fn fixed_things_conflict_alone_and_have_no_effect() {
        let system = Straight::new(&[&[0.0, 0.0], &[1.0, 1.0], &[0.0, 0.0]], &[0.5, 3.0, 0.0]);
        let explanation = explained(&system, &[0.0, 0.0]);
        assert_eq!(explanation.conflicts, [relations(&[0])]);
        assert_eq!(explanation.without_effect, [0, 2]);
        assert_eq!(explanation.loose.len(), 1);
    }

    #[test]
    fn one_sided_relations_and_ranges_take_part_in_conflicts() {
        // x ≥ 5, y ≥ 6, x + y = 10; and x + y = 10 with x ≤ 4, y ≤ 5, z at an end that does no harm.
        let rows: [&[f64]; 3] = [&[1.0, 0.0], &[0.0, 1.0], &[1.0, 1.0]];
        let system = Straight::new(&rows, &[5.0, 6.0, 10.0]).at_least(0).at_least(1);
        assert_eq!(explained(&system, &[0.0, 0.0]).conflicts, [relations(&[0, 1, 2])]);
        let ranged = Straight::new(&[&[1.0, 1.0, 0.0], &[0.0, 1.0, 1.0]], &[10.0, 8.0])
            .range(0, 0.0, 4.0)
            .range(1, 0.0, 5.0)
            .range(2, 0.0, 9.0);
        let most = |unknown| Member::End(Touched { unknown, end: End::Most });
        assert_eq!(explained(&ranged, &[1.0; 3]).conflicts, [[Member::Relation(0), most(0), most(1)]]);
    }
}
