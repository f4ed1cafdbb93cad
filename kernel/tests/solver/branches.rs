//! Whether answers lie on the branch of their start, against a continuation of its own in fine steps.

use kernel::solve::{Branch, Ending, Solution, System, forks, jacobian};
use nalgebra::DVector;

use super::generator::Built;

/// Where the branch of a start leads, found without the kernel's own way of following it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Led {
    /// All the way, to here.
    To(Vec<f64>),
    /// Only through this share of the way.
    Until(f64),
}

/// Follows `r(x) = (1 − s) r(x₀)` in steps of equal length of `x` and not of `s`, each held by pseudo-inverse.
pub(crate) fn led(system: &Built, start: &[f64]) -> Led {
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

#[test]
fn hunt() {
    let count: u64 = std::env::var("HUNT").map_or(300, |n| n.parse().unwrap());
    let from: u64 = std::env::var("FROM").map_or(0, |n| n.parse().unwrap());
    let (
        mut bent,
        mut said_ends,
        mut said_else,
        mut truly_off,
        mut false_alarms,
        mut missed,
        mut end_mismatch,
    ) = (0, 0, 0, 0, vec![], vec![], vec![]);
    let mut held = 0;
    let only: Vec<u64> = std::env::var("ONLY").map_or(vec![], |n| n.split(',').map(|n| n.parse().unwrap()).collect());
    for number in if only.is_empty() { (from..from + count).collect() } else { only } {
        let (system, start) = super::random(number);
        let solution: Solution = kernel::solve::solve(&system, &start);
        if solution.report.ending != Ending::Held {
            continue;
        }
        let full = solution.report.rank == system.relation_count();
        if std::env::var("FULL").is_ok() != full {
            continue;
        }
        held += 1;
        bent += usize::from(solution.report.bent);
        let said = forks(&system, &start, &solution);
        said.iter().for_each(|fork| match fork.branch {
            Branch::Ends { .. } => said_ends += 1,
            Branch::LeadsElsewhere => said_else += 1,
        });
        if std::env::var("ONLY").is_ok() { println!("{number}: solution {solution:?} truth {:?}", led(&system, &start)); }
        if std::env::var("SHOW").is_ok() && !said.is_empty() {
            for r in &system.relations {
                println!("  {r:?}");
            }
            for f in &said {
                println!(
                    "{number} {:?} dof {} rank {} iterations {} rels {:?}",
                    f.branch,
                    solution.report.degrees_of_freedom,
                    solution.report.rank,
                    solution.report.iterations,
                    f.relations
                );
                for &u in &f.unknowns {
                    println!(
                        "   {u}: start {:.3} followed {:.3} solution {:.3} built {:.3}",
                        start[u], f.followed[u], solution.unknowns[u], system.answer[u]
                    );
                }
            }
        }
        let truth = led(&system, &start);
        let is_determined = solution.report.degrees_of_freedom == 0;
        match &truth {
            Led::To(x) => {
                // Without freedom the branch leads to one point.
                let off = x.iter().zip(&solution.unknowns).any(|(a, b)| (a - b).abs() > 1e-3);
                truly_off += usize::from(off && is_determined);
                if !off && !said.is_empty() {
                    false_alarms.push((number, said[0].branch));
                }
                if off && is_determined && said.is_empty() {
                    missed.push((number, truth.clone()));
                }
                if off && is_determined && said.iter().any(|f| f.branch != Branch::LeadsElsewhere) {
                    end_mismatch.push(number);
                }
            }
            Led::Until(share) => {
                truly_off += 1;
                if said.is_empty() {
                    missed.push((number, truth.clone()));
                }
                if said.iter().all(|f| match f.branch {
                    Branch::Ends { share: s } => (s - share).abs() > 1e-4,
                    Branch::LeadsElsewhere => true,
                }) {
                    end_mismatch.push(number);
                }
            }
        }
    }
    println!("{held} held, {bent} bent, ends {said_ends}, elsewhere {said_else}, truly off {truly_off}");
    println!("false {} {:?}", false_alarms.len(), &false_alarms[..false_alarms.len().min(20)]);
    println!("missed {}", missed.len());
    for m in missed.iter().take(20) {
        println!(
            "   {} {}",
            m.0,
            match &m.1 {
                Led::To(_) => "to".into(),
                Led::Until(s) => format!("until {s}"),
            }
        );
    }
    println!("mismatch {} {:?}", end_mismatch.len(), &end_mismatch[..end_mismatch.len().min(20)]);
}
