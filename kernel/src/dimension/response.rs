//! How measured dimensions follow what is asked of the held ones.
//!
//! A little more asked of a held dimension moves the free numbers by the smallest change that holds it and all
//! others: `Δx = W⁻¹ (J W⁻¹)⁺ Δr`, with the Jacobian `J` of what holds at the answer and the weights `W`. Free
//! numbers that must stay, or are at a bound, do not move; one-sided dimensions count where they are at their
//! limit.
//! Invariant: only first order; at an answer that is not the only one the solver may take another way.

use std::collections::BTreeSet;

use nalgebra::DMatrix;

use crate::geom::{Dual, Scalar};
use crate::history::{History, Target};
use crate::quantity::tolerance;
use crate::solve::{Kind, System, jacobian};

use super::developed::BlankSize;
use super::equations::Equations;
use super::measure::{Measure, Resolver, Scene};
use super::pose::SheetNumbers;
use super::settle::{equations, measures};
use super::{Settled, Skeleton};

/// How a measured dimension follows a held one.
#[derive(Clone, Debug, PartialEq)]
pub struct Follow {
    /// Name of the held dimension.
    pub dimension: String,
    /// By how much the measure moves for each unit that is asked more of it.
    pub by: f64,
}

/// For each dimension which held ones it follows; empty for those that are held themselves.
///
/// # Panics
/// If the part was settled from another history.
#[must_use]
pub fn follows(
    history: &History,
    skeleton: &Skeleton<'_>,
    sheet: SheetNumbers<'_>,
    settled: &Settled,
    blank: BlankSize,
) -> Vec<Vec<Follow>> {
    const SETTLED: &str = "the part was settled with the same history";
    let mut follows = vec![Vec::new(); history.dimensions.len()];
    let is_measured = |index: &usize| history.dimensions[*index].target == Target::Measured;
    let measured: Vec<usize> = (0..history.dimensions.len()).filter(is_measured).collect();
    if measured.is_empty() || measured.len() == history.dimensions.len() {
        return follows;
    }
    let free = settled.free.as_slice();
    let resolver = Resolver { skeleton, pose: &settled.pose, free, sheet };
    let measures = measures(history, &resolver).expect(SETTLED);
    let equations = equations(history, skeleton, sheet, blank, &measures).expect(SETTLED);
    let slopes = jacobian(&equations, free);
    let gradients = jacobian(&Measured { equations: &equations, measures: &measures, of: &measured }, free);
    let rows = binding_rows(&equations, free);
    let by_target = slopes_by_target(&equations, free);
    for (row, &dimension) in measured.iter().enumerate() {
        let gradient: Vec<f64> = gradients.row(row).iter().copied().collect();
        let (rows, columns) = tied_to(&gradient, &slopes, &rows, &movable(&equations, free));
        if rows.is_empty() {
            continue;
        }
        let weight = |column: usize| 1.0 / equations.weight(columns[column]);
        let scaled =
            DMatrix::from_fn(rows.len(), columns.len(), |r, c| slopes[(rows[r], columns[c])] * weight(c));
        let gradient = DMatrix::from_fn(1, columns.len(), |_, c| gradient[columns[c]] * weight(c));
        let Ok(inverse) = scaled.clone().pseudo_inverse(tolerance::RANK_SHARE * scaled.norm()) else {
            continue;
        };
        let response = gradient * inverse;
        let unit = measures[dimension].unit();
        follows[dimension] = rows
            .iter()
            .enumerate()
            .filter_map(|(at, &row)| {
                let held = equations.held.get(row)?;
                let by = -response[(0, at)] * by_target[row] / unit;
                let dimension = history.dimensions[held.id.index()].name.clone();
                (by.abs() > tolerance::HELD_MM).then_some(Follow { dimension, by })
            })
            .collect();
    }
    follows
}

/// Rows whose residual has to stay zero.
fn binding_rows(equations: &Equations<'_, '_>, free: &[f64]) -> Vec<usize> {
    let mut residuals = vec![0.0; equations.relation_count()];
    equations.residuals(free, &mut residuals);
    let binds = |row: &usize| match equations.kind(*row) {
        Kind::Equal => true,
        Kind::AtLeast => residuals[*row] <= equations.tolerance(*row),
    };
    (0..residuals.len()).filter(binds).collect()
}

/// Whether each free number can move both ways.
fn movable(equations: &Equations<'_, '_>, free: &[f64]) -> Vec<bool> {
    let within = |(number, &value): (usize, &f64)| {
        let [least, most] = equations.bounds(number);
        least + tolerance::HELD_MM < value && value < most - tolerance::HELD_MM
    };
    free.iter().enumerate().map(within).collect()
}

/// How the residual of each held dimension moves with what is asked, in the solver's unit for one of the
/// engineer's.
fn slopes_by_target(equations: &Equations<'_, '_>, free: &[f64]) -> Vec<f64> {
    let free: Vec<Dual<1>> = free.iter().map(|&value| Dual::constant(value)).collect();
    let pose = equations.skeleton.pose(equations.sheet, &free);
    let measures = equations.held.iter().map(|held| held.measure);
    let scene = Scene::new(equations.skeleton, &pose, equations.sheet, &free, equations.blank, measures);
    let slope = |held: &super::equations::Held<'_, '_>| {
        let asked = Dual::variable(held.target.evaluate(&free).value, 0).scaled(held.measure.unit());
        held.off(held.measure.residual(&scene, asked).parts[0])
    };
    equations.held.iter().map(slope).collect()
}

/// The rows and the movable columns that a gradient is tied to, directly or by others.
fn tied_to(
    gradient: &[f64],
    slopes: &DMatrix<f64>,
    binding: &[usize],
    movable: &[bool],
) -> (Vec<usize>, Vec<usize>) {
    let counts = |slope: f64| slope.abs() > tolerance::RANK_SHARE;
    let mut columns: BTreeSet<usize> = BTreeSet::new();
    let mut rows: BTreeSet<usize> = BTreeSet::new();
    let mut next: Vec<usize> = (0..gradient.len()).filter(|&c| movable[c] && counts(gradient[c])).collect();
    while let Some(column) = next.pop() {
        if !columns.insert(column) {
            continue;
        }
        for &row in binding.iter().filter(|&&row| counts(slopes[(row, column)])) {
            if rows.insert(row) {
                next.extend((0..movable.len()).filter(|&c| movable[c] && counts(slopes[(row, c)])));
            }
        }
    }
    (rows.into_iter().collect(), columns.into_iter().collect())
}

/// Measured dimensions as functions of the free numbers, in the solver's units.
struct Measured<'s, 'a, 'h> {
    equations: &'s Equations<'a, 'h>,
    measures: &'s [Measure<'h>],
    of: &'s [usize],
}

impl System for Measured<'_, '_, '_> {
    fn variable_count(&self) -> usize {
        self.equations.variable_count()
    }

    fn relation_count(&self) -> usize {
        self.of.len()
    }

    fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]) {
        let Equations { skeleton, sheet, blank, .. } = *self.equations;
        let pose = skeleton.pose(sheet, unknowns);
        let measures = || self.of.iter().map(|&dimension| &self.measures[dimension]);
        let scene = Scene::new(skeleton, &pose, sheet, unknowns, blank, measures());
        for (measure, residual) in measures().zip(residuals) {
            *residual = measure.value(&scene);
        }
    }

    fn tolerance(&self, relation: usize) -> f64 {
        self.measures[self.of[relation]].tolerance()
    }
}
