//! Some relations of a system, with some ends of ranges taken away.
//!
//! Invariant: unknowns keep their numbers.

use crate::geom::Scalar;

use super::{End, Kind, System, Touched};

/// The relations of a system that count, renumbered in their order.
pub(super) struct Subset<'a, P> {
    pub(super) system: &'a P,
    pub(super) relations: Vec<usize>,
    /// Ends of ranges that do not count.
    pub(super) open_ends: Vec<Touched>,
}

impl<P: System> System for Subset<'_, P> {
    fn variable_count(&self) -> usize {
        self.system.variable_count()
    }
    fn relation_count(&self) -> usize {
        self.relations.len()
    }
    fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]) {
        let mut all = vec![S::constant(0.0); self.system.relation_count()];
        self.system.residuals(unknowns, &mut all);
        for (residual, &relation) in residuals.iter_mut().zip(&self.relations) {
            *residual = all[relation];
        }
    }
    fn tolerance(&self, relation: usize) -> f64 {
        self.system.tolerance(self.relations[relation])
    }
    fn kind(&self, relation: usize) -> Kind {
        self.system.kind(self.relations[relation])
    }
    fn weight(&self, unknown: usize) -> f64 {
        self.system.weight(unknown)
    }
    fn bounds(&self, unknown: usize) -> [f64; 2] {
        let [least, most] = self.system.bounds(unknown);
        let is_open = |end| self.open_ends.contains(&Touched { unknown, end });
        [
            if is_open(End::Least) { f64::NEG_INFINITY } else { least },
            if is_open(End::Most) { f64::INFINITY } else { most },
        ]
    }
}
