//! Systems with known answers: solved by hand, planted, or certified by a published test set.

use proptest::prelude::*;

use super::jacobian::central_difference::assert_agrees;
use super::*;
use crate::geom::{Placement, Vec3};
use crate::quantity::maths;

fn k<S: Scalar>(value: f64) -> S {
    S::constant(value)
}

/// Defines a system by its residuals over `$u`, with one tolerance for all relations.
macro_rules! system {
    ($name:ident, $unknowns:literal, $tolerance:expr, |$u:ident| $residuals:expr) => {
        struct $name;
        impl System for $name {
            fn variable_count(&self) -> usize {
                $unknowns
            }
            fn relation_count(&self) -> usize {
                let mut count = 0;
                self.each::<f64>(&[1.0; $unknowns], |_| count += 1);
                count
            }
            fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]) {
                let mut entries = residuals.iter_mut();
                self.each(unknowns, |residual| *entries.next().unwrap() = residual);
            }
            fn tolerance(&self, _: usize) -> f64 {
                $tolerance
            }
        }
        impl $name {
            fn each<S: Scalar>(&self, $u: &[S], take: impl FnMut(S)) {
                $residuals.into_iter().for_each(take);
            }
        }
    };
}

#[track_caller]
fn assert_near(got: &[f64], want: &[f64], within: f64) {
    assert_eq!(got.len(), want.len());
    for (g, w) in got.iter().zip(want) {
        assert!((g - w).abs() <= within, "{got:?} against {want:?}");
    }
}

#[track_caller]
fn assert_held<P: System>(system: &P, start: &[f64], answer: &[f64], within: f64) -> SolveReport {
    let solution = solve(system, start);
    assert_eq!(solution.report.ending, Ending::Held, "{solution:?}");
    assert_near(&solution.unknowns, answer, within);
    solution.report
}

/// Sum of squared residuals, as published test sets state it.
fn square(residuals: &[f64]) -> f64 {
    residuals.iter().map(|r| r * r).sum()
}

system!(TwoLines, 2, 1e-9, |u| [u[0].scaled(2.0) + u[1] - k(5.0), u[0] - u[1].scaled(3.0) - k(-8.0)]);

#[test]
fn two_lines_meet_where_worked_by_hand() {
    // 2x + y = 5 and x − 3y = −8: from the second x = 3y − 8, so 7y = 21.
    let report = assert_held(&TwoLines, &[0.0, 0.0], &[1.0, 3.0], 1e-14);
    assert_eq!((report.rank, report.degrees_of_freedom), (2, 0));
}

/// An arm of two links, 300 mm and 200 mm, whose end shall be at a point.
struct Arm {
    end: [f64; 2],
}

impl System for Arm {
    fn variable_count(&self) -> usize {
        2
    }
    fn relation_count(&self) -> usize {
        2
    }
    fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
        let ((s1, c1), (s2, c2)) = (u[0].sin_cos(), (u[0] + u[1]).sin_cos());
        residuals[0] = c1.scaled(300.0) + c2.scaled(200.0) - k(self.end[0]);
        residuals[1] = s1.scaled(300.0) + s2.scaled(200.0) - k(self.end[1]);
    }
    fn tolerance(&self, _: usize) -> f64 {
        tolerance::HELD_MM
    }
}

/// Law of cosines: the elbow's turn, and from it the shoulder's, for an elbow turned to the positive side.
fn arm_in_closed_form([x, y]: [f64; 2]) -> [f64; 2] {
    let elbow = maths::acos((x * x + y * y - 300.0 * 300.0 - 200.0 * 200.0) / (2.0 * 300.0 * 200.0));
    let (sin, cos) = maths::sin_cos(elbow);
    [maths::atan2(y, x) - maths::atan2(200.0 * sin, 300.0 + 200.0 * cos), elbow]
}

#[test]
fn two_link_arm_reaches_its_point_as_the_law_of_cosines_says() {
    for end in [[350.0, 150.0], [120.0, 260.0], [-200.0, 310.0]] {
        let answer = arm_in_closed_form(end);
        assert_held(&Arm { end }, &[answer[0] + 0.3, answer[1] - 0.25], &answer, 1e-13);
    }
}

#[test]
fn stretched_arm_leaves_its_singular_start() {
    // Straight out along x, the end can move only along y to first order: no slope towards the point.
    let end = [400.0, 0.0];
    let [shoulder, elbow] = arm_in_closed_form(end);
    let solution = solve(&Arm { end }, &[0.0, 0.0]);
    assert_eq!(solution.report.ending, Ending::Held);
    // Both elbows are as near to the start.
    let side = solution.unknowns[1].signum();
    assert_near(&solution.unknowns, &[side * shoulder, side * elbow], 1e-12);
}

#[test]
fn arm_that_is_too_short_stretches_towards_its_point() {
    // 500 mm of arm for a distance of 600 mm: the compromise is the straight arm, 100 mm short.
    let solution = solve(&Arm { end: [0.0, 600.0] }, &[1.0, 0.4]);
    assert_eq!(solution.report.ending, Ending::Stalled);
    assert!((solution.report.largest_residual - 100.0).abs() < 1e-9, "{solution:?}");
    assert_near(&solution.unknowns, &[maths::FRAC_PI_2, 0.0], 1e-6);
}

system!(Redundant, 2, 1e-9, |u| [
    u[0] + u[1] - k(10.0),
    u[0] - u[1] - k(4.0),
    u[0].scaled(2.0) + u[1] - k(17.0)
]);

#[test]
fn redundant_relations_that_agree_are_held() {
    let report = assert_held(&Redundant, &[100.0, -50.0], &[7.0, 3.0], 1e-12);
    assert_eq!((report.rank, report.degrees_of_freedom), (2, 0));
}

system!(Repeated, 3, 1e-9, |u| [
    u[0] + u[1] - k(10.0),
    (u[0] + u[1]).scaled(3.0) - k(30.0),
    u[0] + u[1] - k(10.0)
]);

#[test]
fn a_repeated_relation_neither_moves_more_nor_counts_twice() {
    // More relations than unknowns that they know: the nearest answer is found to its share of the way.
    let report = assert_held(&Repeated, &[0.0, 0.0, 7.0], &[5.0, 5.0, 7.0], 0.1 * tolerance::NEAREST_SHARE);
    assert_eq!((report.rank, report.degrees_of_freedom), (1, 2));
}

/// One length that shall have two values, with a tolerance for each.
struct TwoWidths {
    tolerances: [f64; 2],
}

impl System for TwoWidths {
    fn variable_count(&self) -> usize {
        1
    }
    fn relation_count(&self) -> usize {
        2
    }
    fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
        residuals[0] = u[0] - k(10.0);
        residuals[1] = u[0] - k(12.0);
    }
    fn tolerance(&self, relation: usize) -> f64 {
        self.tolerances[relation]
    }
}

#[test]
fn conflicting_widths_stall_at_their_mean() {
    let solution = solve(&TwoWidths { tolerances: [1e-6, 1e-6] }, &[3.0]);
    assert_eq!(solution.report.ending, Ending::Stalled);
    assert_near(&solution.unknowns, &[11.0], 1e-12);
    assert_near(&solution.residuals, &[1.0, -1.0], 1e-12);
    assert!((solution.report.largest_residual - 1.0).abs() < 1e-12);
    assert_eq!(solution.report.rank, 1);
}

#[test]
fn conflicting_widths_are_weighed_by_their_tolerances() {
    // (x − 10)² + (x − 12)²/4 is smallest at (10 + 3) / 1.25.
    let solution = solve(&TwoWidths { tolerances: [1e-6, 2e-6] }, &[3.0]);
    assert_eq!(solution.report.ending, Ending::Stalled);
    assert_near(&solution.unknowns, &[10.4], 1e-12);
}

system!(FarCircles, 2, 1e-6, |u| {
    let from = |x: f64| ((u[0] - k(x)) * (u[0] - k(x)) + u[1] * u[1]).sqrt() - k(1.0);
    [from(0.0), from(4.0)]
});

#[test]
fn circles_that_do_not_meet_stall_halfway_between() {
    let solution = solve(&FarCircles, &[1.5, 0.5]);
    assert_eq!(solution.report.ending, Ending::Stalled);
    // A least square is flat: its place is found to the root of rounding only.
    assert_near(&solution.unknowns, &[2.0, 0.0], 1e-7);
    assert_near(&[square(&solution.residuals)], &[2.0], 1e-14);
}

system!(Sum, 2, 1e-6, |u| [u[0] + u[1] - k(10.0)]);

#[test]
fn freedom_is_shared_so_that_unknowns_move_least() {
    let report = assert_held(&Sum, &[0.0, 0.0], &[5.0, 5.0], 1e-11);
    assert_eq!((report.rank, report.degrees_of_freedom), (1, 1));
    assert_held(&Sum, &[4.0, 2.0], &[6.0, 4.0], 1e-11);
}

system!(Parabola, 2, 1e-6, |u| [u[1] - (u[0] * u[0]).scaled(0.1)]);

#[test]
fn curved_relation_is_met_at_its_nearest_point() {
    // The normal of y = x²/10 at (3, 0.9) is (−0.6, 1): from two normals away, that is the nearest point.
    // A chain of shortest steps alone ends 0.4 beside it.
    let report = assert_held(&Parabola, &[3.0 - 1.2, 0.9 + 2.0], &[3.0, 0.9], 1e-6);
    assert!(report.largest_residual < 1e-10, "{report:?}");
}

system!(Square, 1, 1e-9, |u| [u[0] * u[0] - k(4.0)]);

#[test]
fn start_without_any_slope_is_left() {
    assert_held(&Square, &[0.0], &[2.0], 1e-12);
}

system!(NoRoot, 1, 1e-9, |u| [u[0] * u[0] + k(4.0)]);

#[test]
fn start_without_slope_at_the_compromise_itself_stays() {
    let solution = solve(&NoRoot, &[0.0]);
    assert_eq!(solution.report.ending, Ending::Stalled);
    assert_eq!(solution.unknowns, [0.0]);
    assert_eq!(solution.report.rank, 0);
}

system!(Root, 1, 1e-9, |u| [u[0].sqrt() - k(0.1)]);

#[test]
fn step_to_where_residuals_are_not_numbers_is_shortened() {
    // The first full step goes from 4 to −3.6, where the root is not a number.
    assert_held(&Root, &[4.0], &[0.01], 1e-12);
}

system!(Reciprocal, 1, 1e-9, |u| [k::<S>(1.0) / u[0] - k(2.0)]);

#[test]
fn start_that_is_not_finite_is_reported_and_kept() {
    let solution = solve(&Reciprocal, &[0.0]);
    assert_eq!(solution.report.ending, Ending::NotFinite);
    assert_eq!(solution.unknowns, [0.0]);
    assert_eq!((solution.report.rank, solution.report.iterations), (0, 0));
    assert_eq!(solve(&Reciprocal, &[f64::NAN]).report.ending, Ending::NotFinite);
}

system!(Untouched, 2, 1e-6, |u| {
    let _ = u;
    Vec::<S>::new()
});

#[test]
fn without_relations_there_is_nothing_to_solve() {
    let solution = solve(&Untouched, &[3.0, 4.0]);
    assert_eq!(solution.report.ending, Ending::NothingToSolve);
    assert_eq!(solution.unknowns, [3.0, 4.0]);
    assert_eq!((solution.report.degrees_of_freedom, solution.report.largest_residual), (2, 0.0));
}

/// A dimension between fixed things, `residual` off.
struct Fixed {
    residual: f64,
}

impl System for Fixed {
    fn variable_count(&self) -> usize {
        0
    }
    fn relation_count(&self) -> usize {
        1
    }
    fn residuals<S: Scalar>(&self, _: &[S], residuals: &mut [S]) {
        residuals[0] = k(self.residual);
    }
    fn tolerance(&self, _: usize) -> f64 {
        tolerance::HELD_MM
    }
}

#[test]
fn relation_without_unknowns_is_held_or_conflicts() {
    for (residual, ending) in [(0.0, Ending::Held), (1e-7, Ending::Held), (0.5, Ending::Stalled)] {
        let report = solve(&Fixed { residual }, &[]).report;
        assert_eq!((report.ending, report.rank, report.degrees_of_freedom), (ending, 0, 0));
        assert_eq!(report.largest_residual, residual);
    }
}

// Freedoms.

system!(ParallelHere, 2, 1e-6, |u| [
    u[0] * u[0] + u[1] * u[1] - k(25.0),
    u[0].scaled(3.0) + u[1].scaled(4.0) - k(25.0)
]);

#[test]
fn relations_that_turn_parallel_at_the_answer_count_once() {
    // The line touches the circle at (3, 4). Along it residuals grow with the square of the way, so that
    // the tolerance of 1e-6 is met from 1e-3 on.
    let solution = solve(&ParallelHere, &[3.0, 4.0]);
    assert_eq!(solution.report.ending, Ending::Held);
    assert_eq!((solution.report.rank, solution.report.degrees_of_freedom), (1, 1));
    let crossing = solve(&TwoLines, &[0.0, 0.0]);
    assert_eq!(crossing.report.rank, 2);
}

system!(Scales, 3, 1e-6, |u| [u[0].scaled(1e7) - u[1].scaled(1e7), u[1].scaled(1e-5) - u[2].scaled(2e-5)]);

#[test]
fn units_of_relations_do_not_change_the_rank() {
    assert_eq!(solve(&Scales, &[1.0, 1.0, 0.5]).report.rank, 2);
}

// Test systems of Moré, Garbow and Hillstrom, "Testing unconstrained optimization software", ACM TOMS 7
// (1981); numbers in the comments are theirs. Formulas, starts and certified sums: from memory.
// Their digits are cut off, not rounded, so sums are compared to one unit of the last digit.

system!(Rosenbrock, 2, 1e-9, |u| [(u[1] - u[0] * u[0]).scaled(10.0), k::<S>(1.0) - u[0]]);

#[test]
fn more_garbow_hillstrom_1_rosenbrock() {
    for far in [1.0, 10.0, 100.0] {
        assert_held(&Rosenbrock, &[-1.2 * far, far], &[1.0, 1.0], 1e-12);
    }
}

system!(FreudensteinRoth, 2, 1e-9, |u| [
    k::<S>(-13.0) + u[0] + ((k::<S>(5.0) - u[1]) * u[1] - k(2.0)) * u[1],
    k::<S>(-29.0) + u[0] + ((u[1] + k(1.0)) * u[1] - k(14.0)) * u[1],
]);

#[test]
fn more_garbow_hillstrom_2_freudenstein_roth() {
    // From the standard start a local minimum, 48.9842 at (11.41…, −0.8968…); the root is (5, 4).
    let solution = solve(&FreudensteinRoth, &[0.5, -2.0]);
    assert_eq!(solution.report.ending, Ending::Stalled);
    assert_near(&[square(&solution.residuals)], &[48.9842], 1e-4);
    assert_near(&solution.unknowns, &[11.413, -0.8968], 5e-4);
    assert_held(&FreudensteinRoth, &[6.0, 5.0], &[5.0, 4.0], 1e-12);
}

system!(BrownBadlyScaled, 2, 1e-9, |u| [u[0] - k(1e6), u[1] - k(2e-6), u[0] * u[1] - k(2.0)]);

#[test]
fn more_garbow_hillstrom_4_brown_badly_scaled() {
    assert_held(&BrownBadlyScaled, &[1.0, 1.0], &[1e6, 2e-6], 1e-9);
}

system!(Beale, 2, 1e-9, |u| [
    k::<S>(1.5) - u[0] * (k::<S>(1.0) - u[1]),
    k::<S>(2.25) - u[0] * (k::<S>(1.0) - u[1] * u[1]),
    k::<S>(2.625) - u[0] * (k::<S>(1.0) - u[1] * u[1] * u[1]),
]);

#[test]
fn more_garbow_hillstrom_5_beale() {
    assert_held(&Beale, &[1.0, 1.0], &[3.0, 0.5], 1e-12);
}

system!(HelicalValley, 3, 1e-9, |u| [
    (u[2] - u[1].atan2(u[0]).scaled(10.0 / maths::TAU)).scaled(10.0),
    ((u[0] * u[0] + u[1] * u[1]).sqrt() - k(1.0)).scaled(10.0),
    u[2],
]);

#[test]
fn more_garbow_hillstrom_7_helical_valley() {
    assert_held(&HelicalValley, &[-1.0, 0.0, 0.0], &[1.0, 0.0, 0.0], 1e-12);
}

system!(Bard, 3, 1e-9, |u| {
    let y = [0.14, 0.18, 0.22, 0.25, 0.29, 0.32, 0.35, 0.39, 0.37, 0.58, 0.73, 0.96, 1.34, 2.10, 4.39];
    y.into_iter().enumerate().map(|(i, y)| {
        let up = (i + 1) as f64;
        let down = 16.0 - up;
        k::<S>(y) - u[0] - k::<S>(up) / (u[1].scaled(down) + u[2].scaled(up.min(down)))
    })
});

#[test]
fn more_garbow_hillstrom_8_bard() {
    let solution = solve(&Bard, &[1.0, 1.0, 1.0]);
    assert_eq!(solution.report.ending, Ending::Stalled);
    assert_near(&[square(&solution.residuals)], &[8.21487e-3], 1e-8);
    assert_eq!(solution.report.rank, 3);
}

system!(PowellSingular, 4, 1e-9, |u| [
    u[0] + u[1].scaled(10.0),
    (u[2] - u[3]).scaled(maths::pow(5.0, 0.5)),
    (u[1] - u[2].scaled(2.0)) * (u[1] - u[2].scaled(2.0)),
    ((u[0] - u[3]) * (u[0] - u[3])).scaled(maths::pow(10.0, 0.5)),
]);

#[test]
fn more_garbow_hillstrom_13_powell_singular() {
    // The Jacobian has rank 2 at the root, so that unknowns are only as good as the root of the tolerance.
    assert_held(&PowellSingular, &[3.0, -1.0, 0.0, 1.0], &[0.0; 4], 1e-4);
}

system!(Wood, 4, 1e-9, |u| [
    (u[1] - u[0] * u[0]).scaled(10.0),
    k::<S>(1.0) - u[0],
    (u[3] - u[2] * u[2]).scaled(maths::pow(90.0, 0.5)),
    k::<S>(1.0) - u[2],
    (u[1] + u[3] - k(2.0)).scaled(maths::pow(10.0, 0.5)),
    (u[1] - u[3]).scaled(maths::pow(10.0, -0.5)),
]);

#[test]
fn more_garbow_hillstrom_14_wood() {
    assert_held(&Wood, &[-3.0, -1.0, -3.0, -1.0], &[1.0; 4], 1e-12);
}

// Chains of panels.

/// Panel after panel: each turns about x by an angle and shifts along itself by a length; the far end and
/// the normal of each are measured.
struct Chain {
    targets: Vec<f64>,
}

impl Chain {
    fn unknowns() -> Vec<f64> {
        (0..15).flat_map(|i| [0.1 + 0.02 * f64::from(i % 4), 35.0 + 4.0 * f64::from(i % 5)]).collect()
    }

    /// The chain whose dimensions are those of [`unknowns`](Self::unknowns).
    fn measured() -> Self {
        let mut targets = vec![0.0; 30];
        Self { targets: vec![0.0; 30] }.residuals(&Self::unknowns(), &mut targets);
        Self { targets }
    }
}

impl System for Chain {
    fn variable_count(&self) -> usize {
        30
    }
    fn relation_count(&self) -> usize {
        30
    }
    fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
        let zero = S::constant(0.0);
        let mut at = Placement::<S>::identity();
        for (panel, measured) in residuals.chunks_exact_mut(2).enumerate() {
            let (sin, cos) = u[2 * panel].sin_cos();
            (at.y, at.n) = (at.direction(zero, cos, sin), at.n.times(cos) - at.y.times(sin));
            at.origin = at.point(zero, u[2 * panel + 1], zero);
            let across = Vec3::constant(0.0, 0.6, 0.8);
            measured[0] = at.origin.dot(across) - k(self.targets[2 * panel]);
            let axis = Vec3::constant(1.0, 0.0, 0.0);
            measured[1] = relation::angle_about(across, at.n, axis, k(self.targets[2 * panel + 1]));
        }
    }
    fn tolerance(&self, relation: usize) -> f64 {
        if relation.is_multiple_of(2) { tolerance::HELD_MM } else { tolerance::HELD_RAD }
    }
}

fn start_beside(answer: &[f64]) -> Vec<f64> {
    let shares = [0.05, -0.08, 0.1, -0.06, 0.07, -0.1, 0.09];
    answer.iter().zip(shares.iter().cycle()).map(|(value, share)| value * (1.0 + share)).collect()
}

#[test]
fn jacobian_of_a_chain_of_thirty_matches_central_differences() {
    assert_agrees(&Chain::measured(), &start_beside(&Chain::unknowns()), 1e-7);
}

#[test]
fn chain_of_thirty_is_solved_to_rounding_in_few_iterations() {
    let answer = Chain::unknowns();
    let report = assert_held(&Chain::measured(), &start_beside(&answer), &answer, 1e-10);
    assert_eq!((report.rank, report.degrees_of_freedom), (30, 0));
    assert!(report.largest_residual < 1e-10, "{report:?}");
    assert!(report.iterations <= 5, "{report:?}");
}

#[test]
fn same_start_gives_the_same_bits() {
    let start = start_beside(&Chain::unknowns());
    let bits =
        || -> Vec<u64> { solve(&Chain::measured(), &start).unknowns.iter().map(|v| v.to_bits()).collect() };
    assert_eq!(bits(), bits());
}

#[test]
fn solving_from_the_answer_returns_the_answer() {
    let first = solve(&Chain::measured(), &start_beside(&Chain::unknowns()));
    let second = solve(&Chain::measured(), &first.unknowns);
    assert_eq!(first.unknowns, second.unknowns);
    assert_eq!(second.report.iterations, 0);
}

/// `relations × unknowns` factors: relation `i` is `Σ factor (x + bow sin x)` less its value at the root.
#[derive(Debug)]
struct Bowed {
    factors: Vec<Vec<f64>>,
    bow: f64,
    root: Vec<f64>,
}

impl System for Bowed {
    fn variable_count(&self) -> usize {
        self.root.len()
    }
    fn relation_count(&self) -> usize {
        self.factors.len()
    }
    fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
        for (factors, residual) in self.factors.iter().zip(residuals) {
            *residual = k(0.0);
            for ((&x, &root), &factor) in u.iter().zip(&self.root).zip(factors) {
                let at_root = root + self.bow * maths::sin(root);
                *residual = *residual + (x + x.sin_cos().0.scaled(self.bow) - k(at_root)).scaled(factor);
            }
        }
    }
    fn tolerance(&self, _: usize) -> f64 {
        1e-8
    }
}

/// A square system with a heavy diagonal, its root, and a start up to 1 beside it.
fn bowed() -> impl Strategy<Value = (Bowed, Vec<f64>)> {
    (1_usize..24).prop_flat_map(|n| {
        let factors = prop::collection::vec(prop::collection::vec(-1.0..1.0, n), n);
        let root = prop::collection::vec(-5.0..5.0, n);
        let aside = prop::collection::vec(-1.0..1.0, n);
        (factors, 0.0..0.6, root, aside).prop_map(move |(mut factors, bow, root, aside)| {
            for (i, row) in factors.iter_mut().enumerate() {
                row[i] = (n as f64 + 1.0).copysign(row[i]);
            }
            let start = root.iter().zip(&aside).map(|(r, a)| r + a).collect();
            (Bowed { factors, bow, root }, start)
        })
    })
}

/// A matrix of known rank as a system: the product of random factors `relations × rank × unknowns`.
fn of_rank() -> impl Strategy<Value = (Bowed, usize)> {
    (1_usize..6, 0_usize..6, 0_usize..6).prop_flat_map(|(rank, more_rows, more_columns)| {
        let (rows, columns) = (rank + more_rows, rank + more_columns);
        let left = prop::collection::vec(prop::collection::vec(-1.0..1.0, rank), rows);
        let right = prop::collection::vec(prop::collection::vec(-1.0..1.0, columns), rank);
        (left, right).prop_map(move |(mut left, mut right)| {
            for i in 0..rank {
                left[i][i] = 6.0;
                right[i][i] = 6.0;
            }
            let product = |row: &Vec<f64>| -> Vec<f64> {
                (0..columns).map(|c| row.iter().zip(&right).map(|(l, r)| l * r[c]).sum()).collect()
            };
            (Bowed { factors: left.iter().map(product).collect(), bow: 0.0, root: vec![1.0; columns] }, rank)
        })
    })
}

proptest! {
    #[test]
    fn planted_root_of_a_smooth_system_is_found((system, start) in bowed()) {
        let solution = solve(&system, &start);
        prop_assert_eq!(solution.report.ending, Ending::Held);
        prop_assert_eq!(solution.report.rank, start.len());
        for (got, want) in solution.unknowns.iter().zip(&system.root) {
            prop_assert!((got - want).abs() < 1e-9, "{} against {}", got, want);
        }
    }

    #[test]
    fn product_of_known_rank_is_counted_right((system, rank) in of_rank()) {
        let start = vec![0.0; system.root.len()];
        let solution = solve(&system, &start);
        prop_assert_eq!(solution.report.ending, Ending::Held);
        prop_assert_eq!(solution.report.rank, rank);
        prop_assert_eq!(solution.report.degrees_of_freedom, start.len() - rank);
    }

    /// With fewer relations than unknowns, what is moved is a sum of the gradients at the answer (the
    /// condition of Lagrange for the nearest answer), so nothing of it lies along the held relations.
    #[test]
    fn freedom_is_not_used((system, start) in bowed()) {
        let relations = start.len().div_ceil(2);
        for (bow, within) in [(0.0, 1e-12), (system.bow, 1e-6)] {
            let system = Bowed { factors: system.factors[..relations].to_vec(), bow, root: system.root.clone() };
            let solution = solve(&system, &start);
            prop_assert_eq!(solution.report.ending, Ending::Held);
            prop_assert!(solution.report.largest_residual < 1e-10);
            let moved = solution.unknowns.iter().zip(&start).map(|(to, from)| to - from).collect();
            let moved = nalgebra::DVector::<f64>::from_vec(moved);
            // An orthonormal base of the gradients, from a library and not from the solver.
            let base = jacobian(&system, &solution.unknowns).transpose().qr().q();
            let along = &moved - &base * (base.transpose() * &moved);
            prop_assert!(along.norm() < within * (1.0 + moved.norm()), "{} of {}", along.norm(), moved.norm());
        }
    }

    /// However the system and start are chosen, the squares never rise.
    #[test]
    fn solution_is_never_worse_than_its_start((system, start) in bowed(), far in 1.0..50.0) {
        let start: Vec<f64> = start.iter().map(|value| value * far).collect();
        let system = Bowed { bow: system.bow * 4.0, ..system };
        let mut before = vec![0.0; start.len()];
        system.residuals(&start, &mut before);
        let solution = solve(&system, &start);
        prop_assert!(square(&solution.residuals) <= square(&before) * (1.0 + 1e-12));
    }
}

// Weights, ranges and one-sided relations.

/// Relations `row · x − right`, with all that a system can say.
#[derive(Clone, Debug)]
pub(super) struct Straight {
    pub(super) rows: Vec<Vec<f64>>,
    pub(super) rights: Vec<f64>,
    pub(super) kinds: Vec<Kind>,
    pub(super) weights: Vec<f64>,
    pub(super) ranges: Vec<[f64; 2]>,
}

const FREE: [f64; 2] = [f64::NEG_INFINITY, f64::INFINITY];

impl Straight {
    /// Equal relations of unknowns without weights and ranges.
    pub(super) fn new(rows: &[&[f64]], rights: &[f64]) -> Self {
        let unknowns = rows[0].len();
        Self {
            rows: rows.iter().map(|row| row.to_vec()).collect(),
            rights: rights.to_vec(),
            kinds: vec![Kind::Equal; rows.len()],
            weights: vec![1.0; unknowns],
            ranges: vec![FREE; unknowns],
        }
    }

    pub(super) fn at_least(mut self, relation: usize) -> Self {
        self.kinds[relation] = Kind::AtLeast;
        self
    }

    pub(super) fn range(mut self, unknown: usize, least: f64, most: f64) -> Self {
        self.ranges[unknown] = [least, most];
        self
    }
}

impl System for Straight {
    fn variable_count(&self) -> usize {
        self.weights.len()
    }
    fn relation_count(&self) -> usize {
        self.rows.len()
    }
    fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
        for ((row, &right), residual) in self.rows.iter().zip(&self.rights).zip(residuals) {
            let parts = row.iter().zip(u).filter(|(factor, _)| **factor != 0.0);
            *residual = parts.fold(k(-right), |sum, (&factor, &x)| sum + x.scaled(factor));
        }
    }
    fn tolerance(&self, _: usize) -> f64 {
        1e-6
    }
    fn kind(&self, relation: usize) -> Kind {
        self.kinds[relation]
    }
    fn weight(&self, unknown: usize) -> f64 {
        self.weights[unknown]
    }
    fn bounds(&self, unknown: usize) -> [f64; 2] {
        self.ranges[unknown]
    }
}

fn at_least(unknown: usize) -> Touched {
    Touched { unknown, end: End::Least }
}

fn at_most(unknown: usize) -> Touched {
    Touched { unknown, end: End::Most }
}

#[test]
fn unwilling_unknown_takes_the_share_of_its_squared_weight() {
    // (Δ₀)² + 9 (Δ₁)² under Δ₀ + Δ₁ = 10 is smallest where Δ₀ = 9 Δ₁.
    let system = Straight { weights: vec![1.0, 3.0], ..Straight::new(&[&[1.0, 1.0]], &[10.0]) };
    assert_held(&system, &[0.0, 0.0], &[9.0, 1.0], 1e-11);
    assert_held(&system, &[2.0, 3.0], &[6.5, 3.5], 1e-11);
}

#[test]
fn weights_do_not_matter_where_nothing_is_free() {
    let system =
        Straight { weights: vec![1e-3, 50.0], ..Straight::new(&[&[2.0, 1.0], &[1.0, -3.0]], &[5.0, -8.0]) };
    assert_held(&system, &[0.0, 0.0], &[1.0, 3.0], 1e-12);
}

#[test]
fn one_sided_relation_moves_only_what_falls_short_and_only_to_its_limit() {
    let system = Straight::new(&[&[1.0, 0.0]], &[5.0]).at_least(0);
    let enough = solve(&system, &[7.3, 1.0]);
    assert_eq!((enough.report.ending, &enough.unknowns[..]), (Ending::Held, &[7.3, 1.0][..]));
    assert_eq!((enough.report.tight, enough.report.largest_residual), (vec![], 0.0));
    let short = solve(&system, &[3.0, 1.0]);
    assert_eq!(short.report.ending, Ending::Held);
    assert_near(&short.unknowns, &[5.0, 1.0], 1e-11);
    assert_eq!((short.report.tight, short.report.rank, short.report.degrees_of_freedom), (vec![0], 0, 2));
}

#[test]
fn what_stops_at_the_end_of_its_range_is_made_up_for_by_the_others() {
    let system = Straight::new(&[&[1.0, 1.0]], &[10.0]).range(0, -1.0, 3.0);
    let solution = solve(&system, &[0.0, 0.0]);
    assert_near(&solution.unknowns, &[3.0, 7.0], 1e-11);
    assert_eq!(solution.unknowns[0], 3.0);
    assert_eq!((solution.report.ending, solution.report.touched), (Ending::Held, vec![at_most(0)]));
}

#[test]
fn unknown_that_starts_at_an_end_may_leave_it() {
    let system = Straight::new(&[&[1.0, 1.0]], &[4.0]).range(0, 0.0, 10.0);
    let solution = solve(&system, &[0.0, 0.0]);
    assert_near(&solution.unknowns, &[2.0, 2.0], 1e-11);
    assert!(solution.report.touched.is_empty());
}

#[test]
fn start_outside_of_a_range_comes_in_and_no_farther() {
    let system = Straight::new(&[&[0.0, 1.0]], &[4.0]).range(0, 2.0, 10.0);
    let solution = solve(&system, &[-5.0, 0.0]);
    assert_near(&solution.unknowns, &[2.0, 4.0], 1e-11);
    assert_eq!(solution.report.touched, [at_least(0)]);
}

#[test]
fn unknown_with_a_range_of_one_value_is_fixed() {
    let system = Straight::new(&[&[1.0, 1.0]], &[10.0]).range(0, 2.5, 2.5);
    let solution = solve(&system, &[2.5, 0.0]);
    assert_eq!(solution.unknowns[0], 2.5);
    assert_near(&solution.unknowns, &[2.5, 7.5], 1e-11);
    // It is no freedom, with a relation and without one; nor is it one of a group.
    assert_eq!((solution.report.rank, solution.report.degrees_of_freedom), (1, 0));
    assert_eq!(freedoms(&system, &solution.unknowns, &[0, 1]), [0, 0]);
    let alone = Straight::new(&[&[0.0, 0.0, 1.0]], &[10.0]).range(0, 2.5, 2.5);
    let solution = solve(&alone, &[2.5, 0.0, 0.0]);
    assert_eq!(solution.report.degrees_of_freedom, 1);
    assert_eq!(freedoms(&alone, &solution.unknowns, &[0, 1, 1]), [0, 1]);
}

#[test]
fn one_sided_relations_take_no_freedom_of_a_group_away() {
    let system = Straight::new(&[&[1.0, 0.0]], &[5.0]).at_least(0);
    let solution = solve(&system, &[3.0, 1.0]);
    assert_eq!(solution.report.degrees_of_freedom, 2);
    assert_eq!(freedoms(&system, &solution.unknowns, &[0, 1]), [1, 1]);
}

#[test]
fn range_that_an_equal_relation_leaves_is_kept_in_the_compromise() {
    let system = Straight::new(&[&[1.0]], &[100.0]).range(0, 0.0, 50.0);
    let solution = solve(&system, &[10.0]);
    assert_eq!((solution.report.ending, &solution.unknowns[..]), (Ending::Stalled, &[50.0][..]));
    let conflicts = explain(&system, &[10.0], &solution).conflicts;
    assert_eq!(conflicts, [[Member::Relation(0), Member::End(at_most(0))]]);
}

#[test]
fn limit_that_a_first_step_runs_into_is_let_go_again() {
    // Without the equal relation x would rest at its limit 4; with it, nothing but the nearest point counts.
    let system = Straight::new(&[&[1.0, -1.0], &[1.0, 0.0]], &[6.0, 4.0]).at_least(1);
    let solution = solve(&system, &[0.0, 0.0]);
    // The nearest point of x − y = 6 to (0, 0) is (3, −3); with x ≥ 4 it is (4, −2).
    assert_near(&solution.unknowns, &[4.0, -2.0], 1e-10);
    let solution = solve(&system, &[2.0, -1.0]);
    // From (2, −1) it is (3.5, −2.5), and from (3, 0) it is (4.5, −1.5), which has enough.
    assert_near(&solution.unknowns, &[4.0, -2.0], 1e-10);
    let solution = solve(&system, &[3.0, 0.0]);
    assert_near(&solution.unknowns, &[4.5, -1.5], 1e-10);
    assert!(solution.report.tight.is_empty());
}

/// A point at least 5 from the origin, on a line through (0, 1).
struct KeepsAway;

impl System for KeepsAway {
    fn variable_count(&self) -> usize {
        2
    }
    fn relation_count(&self) -> usize {
        2
    }
    fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
        residuals[0] = (u[0] * u[0] + u[1] * u[1]).sqrt() - k(5.0);
        residuals[1] = u[1] - u[0].scaled(0.5) - k(1.0);
    }
    fn tolerance(&self, _: usize) -> f64 {
        tolerance::HELD_MM
    }
    fn kind(&self, relation: usize) -> Kind {
        [Kind::AtLeast, Kind::Equal][relation]
    }
}

#[test]
fn point_on_a_line_is_pushed_out_of_a_circle_to_the_side_on_which_it_is() {
    // x² + (x/2 + 1)² = 25: 1.25 x² + x − 24 = 0, x = (−1 ± 11) / 2.5.
    for (start, x) in [([1.0, 2.0], 4.0), ([-2.0, 1.0], -4.8)] {
        let solution = solve(&KeepsAway, &start);
        // The nearest answer is found to its share of the way.
        assert_near(&solution.unknowns, &[x, 0.5 * x + 1.0], 10.0 * tolerance::NEAREST_SHARE);
        assert_eq!(solution.report.tight, [0]);
    }
    let outside = solve(&KeepsAway, &[10.0, 6.0]);
    assert_near(&outside.unknowns, &[10.0, 6.0], 1e-12);
}

/// Straight systems with limits of every kind, points that keep all of them, and a start.
fn limited() -> impl Strategy<Value = (Straight, Vec<Vec<f64>>, Vec<f64>)> {
    (2_usize..7, 0_usize..6).prop_flat_map(|(n, one_sided)| {
        let points = prop::collection::vec(prop::collection::vec(-9.0..9.0, n), 4);
        let rows = prop::collection::vec(prop::collection::vec(-1.0..1.0, n), one_sided);
        let weights = prop::collection::vec(0.3..3.0, n);
        let ranged = prop::collection::vec(any::<bool>(), n);
        let start = prop::collection::vec(-20.0..20.0, n);
        (points, rows, weights, ranged, start).prop_map(move |(mut points, rows, weights, ranged, start)| {
            // All points have one sum of their unknowns: that is the equal relation.
            let sum: f64 = points[0].iter().sum();
            for point in &mut points {
                let own: f64 = point[..n - 1].iter().sum();
                point[n - 1] = sum - own;
            }
            let least = |row: &[f64]| {
                let at = |point: &Vec<f64>| row.iter().zip(point).map(|(a, x)| a * x).sum::<f64>();
                points.iter().map(at).fold(f64::INFINITY, f64::min)
            };
            let mut system = Straight::new(&[&vec![1.0; n]], &[sum]);
            for row in rows {
                system.rights.push(least(&row));
                system.rows.push(row);
                system.kinds.push(Kind::AtLeast);
            }
            for unknown in (0..n).filter(|&unknown| ranged[unknown]) {
                let values = || points.iter().map(|point| point[unknown]);
                let range = [values().fold(f64::INFINITY, f64::min), values().fold(-f64::INFINITY, f64::max)];
                system.ranges[unknown] = range;
            }
            (Straight { weights, ..system }, points, start)
        })
    })
}

proptest! {
    /// The nearest point of a convex set is the one from which no other point lies towards the start.
    #[test]
    fn answer_within_limits_is_the_one_nearest_to_the_start((system, points, start) in limited()) {
        let solution = solve(&system, &start);
        prop_assert_eq!(solution.report.ending, Ending::Held);
        let answer = &solution.unknowns;
        for (value, [least, most]) in answer.iter().zip(&system.ranges) {
            prop_assert!(least <= value && value <= most);
        }
        for (residual, kind) in solution.residuals.iter().zip(&system.kinds) {
            prop_assert!(residual.abs() < 1e-9 || *kind == Kind::AtLeast && *residual > 0.0);
        }
        // Between planted points lie more of them; each limit is tight at one.
        for a in &points {
            for b in &points {
                let towards = |i: usize| {
                    let weight = system.weights[i] * system.weights[i];
                    weight * (answer[i] - start[i]) * (0.5 * (a[i] + b[i]) - answer[i])
                };
                let product: f64 = (0..start.len()).map(towards).sum();
                prop_assert!(product >= -1e-6, "{}", product);
            }
        }
        // What is moved is a sum of gradients of what is tight, each pushing, but for what the equal relation
        // (all factors 1) takes.
        let beside_equal = |vector: &[f64]| {
            let mean = vector.iter().sum::<f64>() / vector.len() as f64;
            vector.iter().map(|v| v - mean).collect::<Vec<f64>>()
        };
        let pushed: Vec<f64> = (0..start.len())
            .map(|i| system.weights[i] * system.weights[i] * (answer[i] - start[i]))
            .collect();
        let mut pushing: Vec<Vec<f64>> =
            solution.report.tight.iter().map(|&relation| system.rows[relation].clone()).collect();
        for touched in &solution.report.touched {
            let mut row = vec![0.0; start.len()];
            row[touched.unknown] = if touched.end == End::Least { 1.0 } else { -1.0 };
            pushing.push(row);
        }
        pushing.iter_mut().for_each(|vector| *vector = beside_equal(vector));
        let left = left_of_cone(&pushing, &beside_equal(&pushed));
        prop_assert!(left < 1e-6, "{} of the move is no push: {:?}", left, solution);
    }
}

/// What of a vector no sum of these with factors of zero or more makes up: projected gradients, slow but
/// sure, and nothing like the solver.
fn left_of_cone(vectors: &[Vec<f64>], wanted: &[f64]) -> f64 {
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let mut factors = vec![0.0; vectors.len()];
    let mut left = wanted.to_vec();
    for _ in 0..200_000 {
        if dot(&left, &left).sqrt() < 1e-7 {
            break;
        }
        for (factor, vector) in factors.iter_mut().zip(vectors) {
            let change = f64::max(-*factor, dot(vector, &left) / dot(vector, vector));
            *factor += change;
            left.iter_mut().zip(vector).for_each(|(l, v)| *l -= change * v);
        }
    }
    dot(&left, &left).sqrt()
}

// Blocks.

/// Two systems side by side that know nothing of each other, their unknowns and relations in turn.
struct Both<A, B>(A, B);

impl<A: System, B: System> Both<A, B> {
    /// Of two lists taken in turn, whose an entry is and which.
    fn own(index: usize, a: usize, b: usize) -> (bool, usize) {
        let pairs = 2 * a.min(b);
        if index < pairs { (index.is_multiple_of(2), index / 2) } else { (a > b, index - pairs / 2) }
    }
    fn unknown(&self, index: usize) -> (bool, usize) {
        Self::own(index, self.0.variable_count(), self.1.variable_count())
    }
    fn relation(&self, index: usize) -> (bool, usize) {
        Self::own(index, self.0.relation_count(), self.1.relation_count())
    }
    fn mixed(&self, a: &[f64], b: &[f64]) -> Vec<f64> {
        let entry = |index| match self.unknown(index) {
            (true, own) => a[own],
            (false, own) => b[own],
        };
        (0..a.len() + b.len()).map(entry).collect()
    }
}

impl<A: System, B: System> System for Both<A, B> {
    fn variable_count(&self) -> usize {
        self.0.variable_count() + self.1.variable_count()
    }
    fn relation_count(&self) -> usize {
        self.0.relation_count() + self.1.relation_count()
    }
    fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
        let of = |first| {
            (0..u.len()).filter(move |&i| self.unknown(i).0 == first).map(|i| u[i]).collect::<Vec<S>>()
        };
        let mut a = vec![k(0.0); self.0.relation_count()];
        let mut b = vec![k(0.0); self.1.relation_count()];
        self.0.residuals(&of(true), &mut a);
        self.1.residuals(&of(false), &mut b);
        for (index, residual) in residuals.iter_mut().enumerate() {
            let (first, own) = self.relation(index);
            *residual = if first { a[own] } else { b[own] };
        }
    }
    fn tolerance(&self, relation: usize) -> f64 {
        let (first, own) = self.relation(relation);
        if first { self.0.tolerance(own) } else { self.1.tolerance(own) }
    }
}

#[test]
fn what_a_block_does_never_depends_on_another() {
    let start = start_beside(&Chain::unknowns());
    let alone = solve(&Chain::measured(), &start).unknowns;
    // A neighbour that stalls, one that needs forty iterations, one that starts from nowhere.
    let widths = || TwoWidths { tolerances: [1e-6, 1e-6] };
    let both = Both(Chain::measured(), widths());
    let solution = solve(&both, &both.mixed(&start, &[3.0]));
    assert_eq!(solution.unknowns, both.mixed(&alone, &solve(&widths(), &[3.0]).unknowns));
    assert_eq!(solution.report.ending, Ending::Stalled);
    let both = Both(Chain::measured(), Rosenbrock);
    let solution = solve(&both, &both.mixed(&start, &[-120.0, 100.0]));
    assert_eq!(solution.report.ending, Ending::Held);
    assert_eq!(solution.unknowns, both.mixed(&alone, &solve(&Rosenbrock, &[-120.0, 100.0]).unknowns));
    let both = Both(Chain::measured(), Reciprocal);
    let solution = solve(&both, &both.mixed(&start, &[0.0]));
    assert_eq!(solution.report.ending, Ending::NotFinite);
    assert_eq!(solution.unknowns, both.mixed(&alone, &[0.0]));
}

system!(Branches, 2, 1e-9, |u| [
    u[0] - k(2.0),
    if u[0].value() > 1.0 { u[1] - k(3.0) } else { u[0] - k(9.0) }
]);

#[test]
fn relation_that_knows_more_where_the_solve_ends_is_solved_with_that() {
    assert_held(&Branches, &[0.0, 0.0], &[2.0, 3.0], 1e-12);
}

/// Many points in a row: each has a distance from the next one and from the one after that.
struct Truss {
    points: usize,
}

impl Truss {
    fn answer(&self) -> Vec<f64> {
        (0..self.points)
            .flat_map(|i| {
                [20.0 * i as f64 + 3.0 * ((i * 7) % 5) as f64, 15.0 * (i % 2) as f64 + ((i * 3) % 4) as f64]
            })
            .collect()
    }
    fn pairs(&self) -> impl Iterator<Item = (usize, usize)> {
        let points = self.points;
        (1..points).flat_map(move |i| [(i - 1, i), (i, i + 2)]).filter(move |pair| pair.1 < points)
    }
}

impl System for Truss {
    fn variable_count(&self) -> usize {
        2 * self.points
    }
    fn relation_count(&self) -> usize {
        self.pairs().count() + 4
    }
    fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
        let answer = self.answer();
        let mut residuals = residuals.iter_mut();
        // The first and the third point are fixed.
        for fixed in [0, 1, 4, 5] {
            *residuals.next().unwrap() = u[fixed] - k(answer[fixed]);
        }
        for ((a, b), residual) in self.pairs().zip(residuals) {
            let length = |v: &[S]| {
                let (x, y) = (v[2 * b] - v[2 * a], v[2 * b + 1] - v[2 * a + 1]);
                (x * x + y * y).sqrt()
            };
            let fixed: Vec<S> = answer.iter().map(|&v| k(v)).collect();
            *residual = length(u) - length(&fixed);
        }
    }
    fn tolerance(&self, _: usize) -> f64 {
        tolerance::HELD_MM
    }
}

#[test]
fn long_truss_is_solved_by_sparse_matrices() {
    let truss = Truss { points: 60 };
    let answer = truss.answer();
    let start: Vec<f64> =
        answer.iter().enumerate().map(|(i, v)| v + 0.5 * ((i * 5) % 7) as f64 - 1.5).collect();
    let solution = solve(&truss, &start);
    assert_eq!(solution.report.ending, Ending::Held);
    assert!(solution.report.largest_residual < 1e-10);
    // Each distance fixes one number; the library's singular values count the same rank.
    let singular = jacobian(&truss, &solution.unknowns).singular_values();
    assert_eq!(solution.report.rank, singular.iter().filter(|&&value| value > 1e-6).count());
    assert_eq!(solution.report.degrees_of_freedom, truss.variable_count() - solution.report.rank);
}

#[test]
fn derivatives_taken_together_by_colour_are_those_taken_one_by_one() {
    let truss = Truss { points: 60 };
    let at = truss.answer();
    let (pattern, _) = trace::trace(&truss, &at);
    let block = structure::blocks(&pattern).remove(0);
    let mut linearised = Linearised::new(&pattern, &block);
    assert!(!linearised.is_full());
    let lanes = match &linearised.colours {
        linearised::Colours::Own => at.len(),
        linearised::Colours::Shared { count, .. } => *count,
    };
    assert!(lanes < 20, "{lanes} lanes for relations of four unknowns");
    jacobian::Passes::default().gradients(&truss, &at, &mut [jacobian::Part::new(&block, &mut linearised)]);
    let full = jacobian(&truss, &at);
    for relation in 0..truss.relation_count() {
        let row: Vec<f64> = full.row(relation).iter().copied().collect();
        assert_eq!(linearised.gradients.full_row(relation), row);
    }
    assert_agrees(&truss, &at, 1e-7);
}

#[test]
fn trace_gives_the_residuals_bit_for_bit_and_what_they_depend_on() {
    let chain = Chain::measured();
    let at = start_beside(&Chain::unknowns());
    let (pattern, traced) = trace::trace(&chain, &at);
    let mut residuals = vec![0.0; 30];
    chain.residuals(&at, &mut residuals);
    assert_eq!(traced, residuals);
    for panel in 0..15 {
        // The end of a panel knows all turns and lengths up to its own, its normal the turns.
        assert_eq!(pattern.row(2 * panel).collect::<Vec<_>>(), (0..2 * panel + 2).collect::<Vec<_>>());
        let turns = pattern.row(2 * panel + 1).filter(|unknown| unknown.is_multiple_of(2));
        assert_eq!(turns.count(), panel + 1);
    }
    // More unknowns than one pass remembers.
    let truss = Truss { points: 200 };
    let (pattern, _) = trace::trace(&truss, &truss.answer());
    for ((a, b), relation) in truss.pairs().zip(4..) {
        assert_eq!(pattern.row(relation).collect::<Vec<_>>(), [2 * a, 2 * a + 1, 2 * b, 2 * b + 1]);
    }
}
