//! The solver on thousands of random systems whose answers are known.

#![allow(clippy::unwrap_used, reason = "a check stops at the first surprise, in its helping functions too")]

mod branches;
mod generator;

use generator::{Built, Dice, Planted, built, planted};
use kernel::solve::{Ending, Member, Redundant, Solution, System, explain, solve};

/// Off by up to this share of each value, to both sides.
const OFF: f64 = 0.3;

fn random(number: u64) -> (Built, Vec<f64>) {
    let mut dice = Dice::new(number);
    let system = built(&mut dice);
    let start = system.start(OFF, &mut dice);
    (system, start)
}

/// Whether no small step lowers the weighted residuals of a refused solution, to first order: its slope by
/// central differences of the square, which the solver never looks at.
fn is_stationary(system: &Built, solution: &Solution) -> bool {
    let square = |unknowns: &[f64]| {
        let mut residuals = vec![0.0; system.relation_count()];
        system.residuals(unknowns, &mut residuals);
        let shares = residuals.iter().enumerate().map(|(i, r)| r / system.tolerance(i));
        shares.map(|share| share * share).sum::<f64>()
    };
    let here = square(&solution.unknowns);
    (0..solution.unknowns.len()).all(|unknown| {
        let step = 1e-6 * (1.0 + solution.unknowns[unknown].abs());
        let at = |side: f64| {
            let mut moved = solution.unknowns.clone();
            moved[unknown] += side * step;
            square(&moved)
        };
        // The lowest place of the parabola through three points lies within a tenth of a step.
        let (slope, bow) = (at(1.0) - at(-1.0), at(1.0) + at(-1.0) - 2.0 * here);
        slope.abs() <= 0.1 * bow.abs() + 1e-9 * here
    })
}

#[test]
fn ten_thousand_systems_built_from_an_answer_are_solved_from_starts_30_percent_off() {
    let mut refused = Vec::new();
    for number in 0..10_000 {
        let (system, start) = random(number);
        let solution = solve(&system, &start);
        if solution.report.ending == Ending::Held {
            let mut residuals = vec![0.0; system.relation_count()];
            system.residuals(&solution.unknowns, &mut residuals);
            let worst = residuals.iter().fold(0.0_f64, |worst, r| worst.max(r.abs()));
            assert!(worst < 1e-9, "system {number}: {worst:e} off: {solution:?}");
        } else {
            assert_eq!(solution.report.ending, Ending::Stalled, "system {number}");
            assert!(is_stationary(&system, &solution), "system {number} is refused where a way leads down");
            refused.push(number);
        }
    }
    assert_eq!(refused, Vec::<u64>::new(), "a refusal would have a true reason, but there is none today");
}

#[test]
fn two_thousand_planted_conflicts_and_redundant_sets_are_found_exactly() {
    for number in 0..2_000 {
        let mut dice = Dice::new(1_000_000 + number);
        let (system, planted) = planted(&mut dice);
        let start = system.start(0.1, &mut dice);
        let solution = solve(&system, &start);
        let explanation = explain(&system, &start, &solution);
        let (held, conflicts, redundant) = match &planted {
            Planted::Conflict(set) => {
                let members: Vec<Member> = set.iter().map(|&relation| Member::Relation(relation)).collect();
                (false, vec![members], Vec::new())
            }
            Planted::Redundant(set) => {
                let (&relation, others) = set.split_last().unwrap();
                (true, Vec::new(), vec![Redundant { relation, implied_by: others.to_vec() }])
            }
        };
        // Some conflicts send their compromise far away, where it is still on its way after all iterations.
        assert_eq!(solution.report.ending == Ending::Held, held, "system {number}: {planted:?}");
        if solution.report.ending == Ending::Stalled {
            assert!(is_stationary(&system, &solution), "system {number} is refused where a way leads down");
            assert!(!is_stationary(&system, &Solution { unknowns: start, ..solution }), "system {number}");
        }
        assert_eq!(explanation.conflicts, conflicts, "system {number}: {system:?}");
        assert_eq!(explanation.redundant, redundant, "system {number}: {system:?}");
        assert!(explanation.without_effect.is_empty(), "system {number}: {planted:?}");
    }
}
