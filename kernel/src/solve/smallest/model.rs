//! What is known of the curvature of the value, and the way that it makes best.
//!
//! The value is taken for `slope · d + ½ dᵀ B d`, with `B` learnt from how slopes changed (Broyden, Fletcher,
//! Goldfarb and Shanno; damped after Powell, so that it stays positive). With `B = L Lᵀ` and `y = Lᵀ d` the
//! smallest place within straight limits is the one nearest to `−L⁻¹ slope`: the same question that
//! `least_distance` answers. Sums run in a fixed order, as in `gradients`. Invariant: `B` is symmetric.

use super::super::gradients::{add_multiple, dot};
use super::super::least_distance::{Limit, Limited, shortest_way};

/// By how much less curvature is taken where none was met.
const REACH_GROWTH: f64 = 0.1;

/// Share of the curvature known before that one step leaves at least (Powell's 0.2).
const LEAST_CURVATURE: f64 = 0.2;

/// Steps farther than this on a straight value are of no use, in the unknowns' unit.
const MOST_REACH: f64 = 1e6;

/// The curvature as far as it is known.
pub(super) struct Model {
    /// Its rows.
    curvature: Vec<Vec<f64>>,
}

impl Model {
    /// The same curvature along every unknown.
    pub(super) fn new(unknowns: usize, curvature: f64) -> Self {
        let curvature = if curvature > 0.0 { curvature } else { 1.0 };
        let row = |own: usize| {
            let mut row = vec![0.0; unknowns];
            row[own] = curvature;
            row
        };
        Self { curvature: (0..unknowns).map(row).collect() }
    }

    /// The way that makes the value smallest within the limits, and those of them that push; none if no way keeps
    /// them.
    pub(super) fn way(
        &mut self,
        slope: &[f64],
        equal: &[Limited],
        limits: &[Limited],
    ) -> Option<(Vec<f64>, Vec<Limit>)> {
        let unknowns = slope.len();
        let trace: f64 = (0..unknowns).map(|at| self.curvature[at][at]).sum();
        // Ways are measured in about the unknowns' unit, as limits are.
        let mean = (trace / unknowns as f64).max(dot(slope, slope).sqrt() / MOST_REACH);
        let lower = self.lower(mean);
        let turned = |own: &Limited| Limited {
            limit: own.limit,
            gradient: forward(&lower, &own.gradient),
            change: own.change,
        };
        let aim: Vec<f64> = forward(&lower, slope).iter().map(|part| -part / mean).collect();
        let limits: Vec<Limited> = limits.iter().map(turned).collect();
        let (way, pushing) = shortest_way(&aim, equal.iter().map(turned).collect(), &limits)?;
        Some((backward(&lower, way), pushing))
    }

    /// The rows of the factor `L` of the curvature over `mean`; where rounding spoils it, `mean` alone is left.
    fn lower(&mut self, mean: f64) -> Vec<Vec<f64>> {
        let unknowns = self.curvature.len();
        let mut lower: Vec<Vec<f64>> = Vec::with_capacity(unknowns);
        for at in 0..unknowns {
            let mut row = vec![0.0; unknowns];
            for before in 0..at {
                let left = self.curvature[at][before] / mean - dot(&row[..before], &lower[before][..before]);
                row[before] = left / lower[before][before];
            }
            let left = self.curvature[at][at] / mean - dot(&row[..at], &row[..at]);
            if left.is_nan() || left <= 0.0 {
                *self = Self::new(unknowns, mean);
                return Self::new(unknowns, 1.0).curvature;
            }
            row[at] = left.sqrt();
            lower.push(row);
        }
        lower
    }

    /// Takes into account that the slope changed by `change` over a step.
    pub(super) fn learn(&mut self, step: &[f64], change: &[f64]) {
        let known: Vec<f64> = self.curvature.iter().map(|row| dot(row, step)).collect();
        let (before, now) = (dot(step, &known), dot(step, change));
        if before <= 0.0 {
            return;
        }
        let least = LEAST_CURVATURE * before;
        let share = if now < least { (before - least) / (before - now) } else { 1.0 };
        let mut taken: Vec<f64> = known.iter().map(|part| (1.0 - share) * part).collect();
        add_multiple(&mut taken, share, change);
        let along = dot(step, &taken);
        for (row, (own_taken, own_known)) in self.curvature.iter_mut().zip(taken.iter().zip(&known)) {
            add_multiple(row, own_taken / along, &taken);
            add_multiple(row, -own_known / before, &known);
        }
    }

    /// Takes the value to be less curved than was known.
    pub(super) fn reach_farther(&mut self) {
        self.curvature.iter_mut().flatten().for_each(|part| *part *= REACH_GROWTH);
    }
}

/// Solves `L x = vector`.
fn forward(lower: &[Vec<f64>], vector: &[f64]) -> Vec<f64> {
    let mut solved = vec![0.0; vector.len()];
    for (at, row) in lower.iter().enumerate() {
        solved[at] = (vector[at] - dot(&row[..at], &solved[..at])) / row[at];
    }
    solved
}

/// Solves `Lᵀ x = vector`.
fn backward(lower: &[Vec<f64>], mut vector: Vec<f64>) -> Vec<f64> {
    for (at, row) in lower.iter().enumerate().rev() {
        let (rest, own) = vector.split_at_mut(at);
        own[0] /= row[at];
        add_multiple(rest, -own[0], &row[..at]);
    }
    vector
}
