//! A word where the part lies on another branch of answers than the one that its start values lead to.
//!
//! Invariant: nothing is said of a part whose start values lead to it. Must not know: how a branch is followed.

use crate::diag::{Diagnostic, Origin};
use crate::history::History;
use crate::quantity::tolerance;
use crate::solve::{self, Branch, Fork, Solution};

use super::equations::Equations;
use super::explained::Namer;

/// More names would be read by nobody.
const MOST_NAMES: usize = 3;

/// One warning for each fork that lies between the start values and an answer.
pub(super) fn warnings(
    history: &History,
    equations: &Equations<'_, '_>,
    start: &[f64],
    solution: &Solution,
) -> Vec<Diagnostic> {
    let forks = solve::forks(equations, start, solution);
    forks.iter().map(|fork| warning(history, equations, start, &solution.unknowns, fork)).collect()
}

fn warning(
    history: &History,
    equations: &Equations<'_, '_>,
    start: &[f64],
    taken: &[f64],
    fork: &Fork,
) -> Diagnostic {
    let namer = Namer::new(history, equations, taken);
    let mut rows: Vec<usize> = Vec::new();
    for &row in &fork.relations {
        // Rows of one relation are one thing.
        if !rows.iter().any(|&known| namer.rows[known].words == namer.rows[row].words) {
            rows.push(row);
        }
    }
    let origins: Vec<Origin> = rows.iter().map(|&row| namer.rows[row].origin.clone()).collect();
    rows.truncate(MOST_NAMES);
    let off = |unknown: usize| (fork.followed[unknown] - taken[unknown]).abs();
    let mut moved: Vec<usize> =
        fork.unknowns.iter().copied().filter(|&unknown| off(unknown) > tolerance::BRANCH).collect();
    // A declared number says more than a coordinate of a sketch.
    let is_coordinate = |unknown: usize| history.free_numbers[unknown].sketch.is_some();
    moved.sort_by(|&a, &b| {
        is_coordinate(a).cmp(&is_coordinate(b)).then(off(b).total_cmp(&off(a))).then(a.cmp(&b))
    });
    moved.truncate(MOST_NAMES);
    let number = |unknown: usize| &history.free_numbers[unknown].name;
    let three = |verb: &str| {
        let told = |&unknown: &usize| {
            let (from, to, is) = (start[unknown], fork.followed[unknown], taken[unknown]);
            format!("`{}` starts at {from:.3}, {verb} {to:.3} and is {is:.3} in the part", number(unknown))
        };
        moved.iter().map(told).collect::<Vec<_>>().join("; ")
    };
    let message = match fork.branch {
        Branch::Ends { share } if share < tolerance::BRANCH_STEP => format!(
            "the start values lie just where answers for {} part, and do not say which is meant: {}",
            list(rows.iter().map(|&row| namer.rows[row].words.clone())),
            three("stays at")
        ),
        Branch::Ends { .. } => format!(
            "from the start values, {}: there two answers meet and end; {}",
            list(rows.iter().map(|&row| reached(equations, &namer, row, &fork.followed))),
            three("comes to")
        ),
        Branch::LeadsElsewhere => format!(
            "the start values lead to another answer for {}: {}",
            list(rows.iter().map(|&row| namer.rows[row].words.clone())),
            three("leads to")
        ),
    };
    let first = moved.first().map_or("the free numbers", |&unknown| number(unknown));
    let origin = origins.first().cloned().unwrap_or(Origin { name: first.to_owned(), span: None });
    let mut warning = Diagnostic::warning("dimension::beyond_a_fork", message, origin);
    warning.origins.extend(origins.into_iter().skip(1).take(MOST_NAMES - 1));
    warning.hint(format!(
        "start `{first}` near the answer that is meant, or leave only that one by `min`, `max` or one more dimension"
    ))
}

/// How far something asked for comes with these free numbers.
fn reached(equations: &Equations<'_, '_>, namer: &Namer<'_, '_>, row: usize, free: &[f64]) -> String {
    let asked = &namer.rows[row];
    let got = match equations.held.get(row) {
        Some(held) => equations.measured(held.measure, free) / held.measure.unit(),
        None => asked.value.map_or(0.0, |(_, value, _)| value) + equations.off(row, free),
    };
    match asked.value {
        Some((_, value, unit)) => {
            let text = format!("{} can be followed to {got:.3} {unit}", asked.words);
            format!("{} of {}", text.trim_end(), format!("{value:.3} {unit}").trim_end())
        }
        None => format!("{} can be followed until it is {got:.3} off", asked.words),
    }
}

fn list(words: impl Iterator<Item = String>) -> String {
    words.collect::<Vec<_>>().join(" and ")
}
