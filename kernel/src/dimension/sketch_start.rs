//! Where a solve starts: sketches brought to their own relations first.
//!
//! A sketch is drawn roughly; which corners lie behind a line and which faces look at each other must be
//! judged on what it means, not on how it was drawn. Relations of a sketch need no skeleton, so each sketch is
//! solved alone before anything is judged. Invariant: only coordinates of sketches move; declared free numbers
//! stay at their start values, and a sketch whose relations do not hold alone stays as drawn.

use crate::geom::Scalar;
use crate::history::{History, Profile};
use crate::ident::VarId;
use crate::solve::{self, Ending, System};

use super::numbers::profile_numbers;
use super::relation::{self, Drawn, Sketched};

/// Start values of the free numbers, indexed by [`VarId`], with every sketch at an answer of its relations.
///
/// What is wrong with a relation is said when the whole part is settled.
pub(super) fn start_values(history: &History) -> Vec<f64> {
    let drawn = history.start_values();
    let mut start = drawn.clone();
    for (id, entry) in history.features_with_ids() {
        let drawable = |profile: &&Profile| profile.corners.len() == profile.edges.len();
        let Some(profile) = entry.feature.profile().filter(drawable) else { continue };
        let moved = coordinates(history, profile);
        if moved.is_empty() {
            continue;
        }
        // Which of two answers is meant is read off the drawing.
        let Ok(Some(sketched)) = relation::resolve(id, entry, &drawn) else { continue };
        let alone = Alone::new(&sketched, &moved, &start);
        let from: Vec<f64> = moved.iter().map(|number| start[number.index()]).collect();
        let solution = solve::solve(&alone, &from);
        if solution.report.ending == Ending::Held {
            for (number, value) in moved.iter().zip(solution.unknowns) {
                start[number.index()] = value;
            }
        }
    }
    start
}

/// The coordinates of sketches that an outline is made of.
fn coordinates(history: &History, profile: &Profile) -> Vec<VarId> {
    let mut used: Vec<VarId> =
        profile_numbers(profile).iter().flat_map(|(_, number)| number.free_ids()).collect();
    used.sort_unstable();
    used.dedup();
    used.retain(|number| history.free_numbers[number.index()].sketch.is_some());
    used
}

/// The relations of one sketch over its own coordinates.
struct Alone<'a, 'h> {
    sketched: &'a Sketched<'h>,
    /// Its coordinates, in order.
    moved: &'a [VarId],
    /// Values of all free numbers.
    rest: &'a [f64],
    /// One for each equation.
    tolerances: Vec<f64>,
}

impl<'a, 'h> Alone<'a, 'h> {
    fn new(sketched: &'a Sketched<'h>, moved: &'a [VarId], rest: &'a [f64]) -> Self {
        let rows = |relation: &relation::Resolved| vec![relation.tolerance(); relation.rows()];
        let tolerances = sketched.relations.iter().flat_map(rows).collect();
        Self { sketched, moved, rest, tolerances }
    }
}

impl System for Alone<'_, '_> {
    fn variable_count(&self) -> usize {
        self.moved.len()
    }

    fn relation_count(&self) -> usize {
        self.tolerances.len()
    }

    fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]) {
        let mut free: Vec<S> = self.rest.iter().map(|&value| S::constant(value)).collect();
        for (number, value) in self.moved.iter().zip(unknowns) {
            free[number.index()] = *value;
        }
        let drawn = Drawn::new(self.sketched.profile, &free);
        let mut rest = residuals;
        for relation in &self.sketched.relations {
            let rows;
            (rows, rest) = rest.split_at_mut(relation.rows());
            relation.residuals(&drawn, rows);
        }
    }

    fn tolerance(&self, relation: usize) -> f64 {
        self.tolerances[relation]
    }
}
