//! What an answer leaves open, what follows from what, and why there is none.
//!
//! All is read off the Jacobian at the answer, brought to reduced echelon form, but conflicts, which are found by
//! leaving out one relation after the other and solving again.
//! Invariant: every set is minimal: no member of it can be left out.

use nalgebra::DMatrix;

use crate::geom::Scalar;
use crate::quantity::tolerance;

use super::{Ending, Explanation, Member, Motion, Redundant, Solution, System, jacobian, solve};

/// Explains a solution found from `start`.
pub fn explain<P: System>(system: &P, start: &[f64], solution: &Solution) -> Explanation {
    let slopes = jacobian(system, &solution.unknowns);
    let without_effect = without_effect(&slopes);
    match solution.report.ending {
        Ending::Held => Explanation {
            loose: loose(&slopes),
            redundant: redundant(&slopes),
            conflicts: Vec::new(),
            without_effect,
        },
        Ending::NothingToSolve => Explanation { loose: loose(&slopes), ..Explanation::default() },
        Ending::Stalled | Ending::IterationLimit => {
            Explanation { conflicts: vec![conflict(system, start)], without_effect, ..Explanation::default() }
        }
        Ending::NotFinite => Explanation::default(),
    }
}

fn without_effect(slopes: &DMatrix<f64>) -> Vec<usize> {
    let flat = |row: &usize| slopes.row(*row).iter().all(|slope| slope.abs() <= tolerance::RANK_SHARE);
    (0..slopes.nrows()).filter(flat).collect()
}

/// Rows scaled to length 1 and brought to reduced echelon form by columns, largest pivot first; gives the pivots
/// `(row, column)`.
fn eliminated(matrix: &mut DMatrix<f64>) -> Vec<(usize, usize)> {
    for mut row in matrix.row_iter_mut() {
        let length = row.norm();
        if length > tolerance::RANK_SHARE {
            row /= length;
        }
    }
    let (rows, columns) = matrix.shape();
    let mut pivots: Vec<(usize, usize)> = Vec::new();
    for row in 0..rows {
        let largest = (0..columns).fold((0, 0.0), |best, column| {
            let size = matrix[(row, column)].abs();
            if size > best.1 { (column, size) } else { best }
        });
        let (column, size) = largest;
        if size <= tolerance::RANK_SHARE {
            matrix.row_mut(row).fill(0.0);
            continue;
        }
        let pivot = matrix[(row, column)];
        matrix.row_mut(row).scale_mut(1.0 / pivot);
        for other in 0..rows {
            let factor = matrix[(other, column)];
            if other != row && factor != 0.0 {
                for c in 0..columns {
                    let part = factor * matrix[(row, c)];
                    matrix[(other, c)] -= part;
                }
            }
        }
        pivots.push((row, column));
    }
    pivots
}

fn loose(slopes: &DMatrix<f64>) -> Vec<Motion> {
    let mut matrix = slopes.clone();
    let pivots = eliminated(&mut matrix);
    let bound: Vec<usize> = pivots.iter().map(|&(_, column)| column).collect();
    (0..slopes.ncols())
        .filter(|column| !bound.contains(column))
        .map(|unknown| {
            let mut parts: Vec<(usize, f64)> = vec![(unknown, 1.0)];
            for &(row, column) in &pivots {
                let slope = -matrix[(row, unknown)];
                if slope.abs() > tolerance::RANK_SHARE {
                    parts.push((column, slope));
                }
            }
            parts.sort_by_key(|part| part.0);
            Motion { unknown, parts }
        })
        .collect()
}

fn redundant(slopes: &DMatrix<f64>) -> Vec<Redundant> {
    let rows = slopes.nrows();
    let mut found = Vec::new();
    let mut independent: Vec<usize> = Vec::new();
    for row in 0..rows {
        // Columns are the gradients of those before it and its own: its combination is read off its column.
        let all: Vec<usize> = independent.iter().copied().chain([row]).collect();
        let gradient = |index: usize| slopes.row(index).transpose().normalize();
        if slopes.row(row).norm() <= tolerance::RANK_SHARE {
            continue;
        }
        let mut matrix = DMatrix::zeros(slopes.ncols(), all.len());
        for (column, &index) in all.iter().enumerate() {
            matrix.set_column(column, &gradient(index));
        }
        let last = matrix.column(all.len() - 1).into_owned();
        let others = matrix.columns(0, all.len() - 1).into_owned();
        if others.ncols() == 0 {
            independent.push(row);
            continue;
        }
        let shares = others.clone().svd(true, true).solve(&last, tolerance::RANK_SHARE).unwrap_or_default();
        if (&others * &shares - &last).norm() > tolerance::RANK_SHARE.sqrt() {
            independent.push(row);
        } else {
            let by = independent
                .iter()
                .zip(shares.iter())
                .filter(|(_, share)| share.abs() > tolerance::RANK_SHARE.sqrt());
            found.push(Redundant { relation: row, implied_by: by.map(|(index, _)| *index).collect() });
        }
    }
    found
}

/// Some of the relations of a system.
struct Part<'a, P> {
    system: &'a P,
    rows: Vec<usize>,
}

impl<P: System> System for Part<'_, P> {
    fn variable_count(&self) -> usize {
        self.system.variable_count()
    }
    fn relation_count(&self) -> usize {
        self.rows.len()
    }
    fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]) {
        let mut all = vec![S::constant(0.0); self.system.relation_count()];
        self.system.residuals(unknowns, &mut all);
        for (residual, &row) in residuals.iter_mut().zip(&self.rows) {
            *residual = all[row];
        }
    }
    fn tolerance(&self, relation: usize) -> f64 {
        self.system.tolerance(self.rows[relation])
    }
}

fn conflict<P: System>(system: &P, start: &[f64]) -> Vec<Member> {
    let mut rows: Vec<usize> = (0..system.relation_count()).collect();
    for row in 0..system.relation_count() {
        let without: Vec<usize> = rows.iter().copied().filter(|&r| r != row).collect();
        let part = Part { system, rows: without };
        if !matches!(solve(&part, start).report.ending, Ending::Held | Ending::NothingToSolve) {
            rows = part.rows;
        }
    }
    rows.into_iter().map(Member::Relation).collect()
}
