//! Whether answers lie on the branch of their start, against a continuation of its own in fine steps.

use kernel::solve::{Branch, Ending, System, forks, jacobian, solve};
use nalgebra::DVector;

use super::generator::Built;
use super::random;

/// Where the branch of a start leads, found without the kernel's own way of following it.
#[derive(Clone, Debug, PartialEq)]
enum Led {
    /// All the way, to here.
    To(Vec<f64>),
    /// Only through this share of the way.
    Until(f64),
}

/// Follows `r(x) = (1 − s) r(x₀)` in steps of equal length of `x` and not of `s`, each held by pseudo-inverse.
fn led(system: &Built, start: &[f64]) -> Led {
    let residuals = |x: &DVector<f64>| {
        let mut r = vec![0.0; system.relation_count()];
        system.residuals(x.as_slice(), &mut r);
        DVector::from_vec(r)
    };
    let first = residuals(&DVector::from_column_slice(start));
    let mut x = DVector::from_column_slice(start);
    let (mut share, mut step) = (0.0, 1e-3);
    let inverse = |x: &DVector<f64>| jacobian(system, x.as_slice()).svd(true, true);
    while share < 1.0 {
        let to = f64::min(1.0, share + step);
        let mut next = x.clone();
        let mut moves = Vec::new();
        for _ in 0..6 {
            let svd = inverse(&next);
            let limit = 1e-9 * svd.singular_values.max();
            let off = residuals(&next) - &first * (1.0 - to);
            let Ok(way) = svd.solve(&off, limit) else { return Led::Until(share) };
            moves.push(way.norm());
            next -= way;
        }
        // Newton's method in its quadratic reach: the second way is a hundredth of the first one.
        let quadratic = moves[1] <= 1e-2 * moves[0] || moves[0] < 1e-9;
        let ended = moves[5] <= 1e-9 * (1.0 + x.norm());
        if quadratic && ended {
            (x, share, step) = (next, to, f64::min(1e-3, step * 2.0));
        } else {
            step *= 0.5;
            if step < 1e-9 {
                return Led::Until(share);
            }
        }
    }
    Led::To(x.as_slice().to_vec())
}

/// Of systems whose relations are independent; others leave open what is followed.
#[test]
fn answers_on_another_branch_are_told_and_hardly_any_others() {
    let (mut followed, mut told, mut alarms, mut missed) = (0, 0, Vec::new(), Vec::new());
    for number in 0..1_000 {
        let (system, start) = random(number);
        let solution = solve(&system, &start);
        let report = &solution.report;
        if report.ending != Ending::Held || report.rank < system.relation_count() {
            continue;
        }
        let said = forks(&system, &start, &solution);
        followed += 1;
        told += usize::from(!said.is_empty());
        match led(&system, &start) {
            Led::Until(_) if said.is_empty() => missed.push(number),
            Led::Until(_) => {}
            Led::To(end) => {
                let apart = |(a, b): (&f64, &f64)| (a - b).abs() > 1e-3;
                let elsewhere = end.iter().zip(&solution.unknowns).any(apart);
                // With freedom left, the way ends beside the answer that is nearest to the start.
                if !said.is_empty()
                    && (!elsewhere || said.iter().any(|fork| fork.branch != Branch::LeadsElsewhere))
                {
                    alarms.push(number);
                }
                if said.is_empty() && elsewhere && report.degrees_of_freedom == 0 {
                    missed.push(number);
                }
            }
        }
    }
    assert!(followed > 300 && told > 15, "{told} of {followed}");
    assert!(alarms.is_empty() && missed.len() <= 2, "alarms {alarms:?}, missed {missed:?}");
}
