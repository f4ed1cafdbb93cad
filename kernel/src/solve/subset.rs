//! Some relations of a system, with some ends of ranges taken away.
//!
//! Invariant: unknowns keep their numbers.

use crate::geom::Scalar;

use super::{End, Kind, Member, Solution, System, Touched, solve};

/// The relations of a system that count, renumbered in their order.
pub(super) struct Subset<'a, P> {
    pub(super) system: &'a P,
    pub(super) relations: Vec<usize>,
    /// Ends of ranges that do not count.
    pub(super) open_ends: Vec<Touched>,
}

impl<'a, P: System> Subset<'a, P> {
    /// These members alone; of `ends` those that are no members do not count.
    pub(super) fn of(system: &'a P, members: &[Member], ends: &[Touched]) -> Self {
        let mut relations = Vec::new();
        let mut open_ends = ends.to_vec();
        for member in members {
            match member {
                Member::Relation(relation) => relations.push(*relation),
                Member::End(end) => open_ends.retain(|open| open != end),
            }
        }
        Self { system, relations, open_ends }
    }
}

/// The ends of the range of an unknown.
pub(super) fn ends<P: System>(system: &P, unknown: usize) -> Vec<Touched> {
    let [least, most] = system.bounds(unknown);
    let ends = [(End::Least, least), (End::Most, most)];
    ends.into_iter().filter(|(_, at)| at.is_finite()).map(|(end, _)| Touched { unknown, end }).collect()
}

/// [`solve`] with these relations and ends of ranges alone, in the numbers of the whole system.
///
/// The residuals are those of the members' relations in their order.
///
/// # Panics
/// As [`solve`], or if a member is not of the system.
pub fn solve_members<P: System>(system: &P, members: &[Member], start: &[f64]) -> Solution {
    let ends: Vec<Touched> = (0..system.variable_count()).flat_map(|unknown| ends(system, unknown)).collect();
    solve(&Subset::of(system, members, &ends), start)
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
