//! A system with each residual measured in its own tolerance, so that mm and rad can be added.
//!
//! Invariant: a relation is held exactly when its weighted residual is at most 1 without sign.

use crate::quantity::tolerance;

use super::System;

/// A system whose residuals are divided by their tolerances.
pub(super) struct Weighted<'a, P> {
    pub(super) system: &'a P,
    weights: Vec<f64>,
}

/// Unknowns with their weighted residuals.
#[derive(Clone)]
pub(super) struct Point {
    pub(super) unknowns: Vec<f64>,
    pub(super) residuals: Vec<f64>,
    /// Sum of the squared residuals.
    pub(super) square: f64,
}

impl Point {
    /// Whether every relation is within its tolerance.
    pub(super) fn is_held(&self) -> bool {
        self.is_within(1.0)
    }

    /// Whether every relation is held to rounding, so that a further step has nothing to gain.
    pub(super) fn is_polished(&self) -> bool {
        self.is_within(tolerance::POLISHED_SHARE)
    }

    fn is_within(&self, share: f64) -> bool {
        self.residuals.iter().all(|residual| residual.abs() <= share)
    }
}

impl<'a, P: System> Weighted<'a, P> {
    pub(super) fn new(system: &'a P) -> Self {
        let weights = (0..system.relation_count()).map(|relation| 1.0 / system.tolerance(relation)).collect();
        Self { system, weights }
    }

    /// One factor for each relation: the reciprocal of its tolerance.
    pub(super) fn weights(&self) -> &[f64] {
        &self.weights
    }

    /// The point with these unknowns.
    pub(super) fn at(&self, unknowns: Vec<f64>) -> Point {
        let mut point = Point { unknowns, residuals: vec![0.0; self.weights.len()], square: 0.0 };
        self.evaluate(&mut point);
        point
    }

    /// Brings the residuals of a point up to date with its unknowns.
    pub(super) fn evaluate(&self, point: &mut Point) {
        self.system.residuals(&point.unknowns, &mut point.residuals);
        point.square = 0.0;
        for (residual, weight) in point.residuals.iter_mut().zip(&self.weights) {
            *residual *= weight;
            point.square += *residual * *residual;
        }
    }
}
