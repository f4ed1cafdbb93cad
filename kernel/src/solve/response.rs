//! How an answer moves when what its relations ask for changes.
//!
//! A change `c` of the residuals, by another target or another parameter, is undone by the smallest further
//! change of the unknowns, `−J⁺ c` with weights. One-sided relations and ends of ranges that push at the
//! answer stay tight; others that are tight may be left but not crossed. Invariant: to first order, relations
//! are held again, unless the change makes redundant ones contradict each other: then as well as can be.

use nalgebra::DMatrix;

use super::gradients::add_multiple;
use super::jacobian::{Part, Passes};
use super::least_distance::{Limit, Limited, least_distance, range_limit, shortest_way};
use super::linearised::{Linearised, damping};
use super::structure::blocks;
use super::trace::trace;
use super::weighted::{Point, Weighted};
use super::{End, System};

/// Times the step is corrected by what it leaves: normal equations give some seven digits at a time.
const CORRECTIONS: usize = 3;

/// The change of each unknown per parameter, from that of each residual.
///
/// `changes` has a row for each relation and a column for each parameter: `∂residual/∂parameter`, in the
/// residual's unit. The result has a row for each unknown. It is the derivative to the side of growing
/// parameters; where a limit is tight without pushing, the other side may differ: ask for the negative column.
/// `start` is that of the solve; it says which limits push.
///
/// # Panics
/// If `start`, `answer` or `changes` have not the system's size.
///
/// ```
/// use kernel::{geom::Scalar, quantity::tolerance, solve::{System, response}};
/// use nalgebra::DMatrix;
///
/// /// Two legs that together measure 10 mm, one of them ten times as unwilling to move.
/// struct Legs;
/// impl System for Legs {
///     fn variable_count(&self) -> usize { 2 }
///     fn relation_count(&self) -> usize { 1 }
///     fn residuals<S: Scalar>(&self, legs: &[S], residuals: &mut [S]) {
///         residuals[0] = legs[0] + legs[1] - S::constant(10.0);
///     }
///     fn tolerance(&self, _: usize) -> f64 { tolerance::HELD_MM }
///     fn weight(&self, leg: usize) -> f64 { if leg == 0 { 1.0 } else { 3.0 } }
/// }
/// // One mm more asked for makes the residual one less. It is shared 9 : 1.
/// let moved = response(&Legs, &[5.0, 5.0], &[5.0, 5.0], &DMatrix::from_element(1, 1, -1.0));
/// assert!((moved[(0, 0)] - 0.9).abs() < 1e-12 && (moved[(1, 0)] - 0.1).abs() < 1e-12);
/// ```
pub fn response<P: System>(
    system: &P,
    start: &[f64],
    answer: &[f64],
    changes: &DMatrix<f64>,
) -> DMatrix<f64> {
    assert_eq!(start.len(), system.variable_count(), "one start value for each unknown");
    assert_eq!(answer.len(), system.variable_count(), "one value for each unknown");
    assert_eq!(changes.nrows(), system.relation_count(), "one row for each relation");
    let (pattern, residuals) = trace(system, answer);
    let mut moves = DMatrix::zeros(answer.len(), changes.ncols());
    for block in blocks(&pattern) {
        let mut linearised = Linearised::new(&pattern, &block);
        Passes::default().gradients(system, answer, &mut [Part::new(&block, &mut linearised)]);
        let weighted = Weighted::new(system, block);
        linearised.gradients.scale(&weighted.weights, &weighted.units);
        let mut point = weighted.room();
        weighted.take_unknowns(answer, &mut point);
        weighted.take_residuals(&residuals, &mut point);
        let mut answering = Answering::new(weighted, linearised, point, start);
        for (parameter, column) in changes.column_iter().enumerate() {
            let weighted = &answering.weighted;
            let change: Vec<f64> = weighted
                .block
                .relations
                .iter()
                .zip(&weighted.weights)
                .map(|(&r, w)| -column[r] * w)
                .collect();
            let way = answering.way(&change);
            for (at, &unknown) in answering.weighted.block.unknowns.iter().enumerate() {
                moves[(unknown, parameter)] = way[at] * answering.weighted.unit(at);
            }
        }
    }
    moves
}

/// A block at its answer.
struct Answering {
    weighted: Weighted,
    linearised: Linearised,
    point: Point,
    /// Limits that push.
    pushing: Vec<Limit>,
    /// Relations that are to be held exactly.
    counting: Vec<bool>,
    /// Whether there is anything to hold exactly.
    is_factored: bool,
}

impl Answering {
    fn new(weighted: Weighted, mut linearised: Linearised, point: Point, start: &[f64]) -> Self {
        let own_start: Vec<f64> = weighted.block.unknowns.iter().map(|&unknown| start[unknown]).collect();
        let mut aim = vec![0.0; own_start.len()];
        weighted.way(&point.unknowns, &own_start, &mut aim);
        let pushing = if weighted.is_sided() {
            least_distance(&weighted, &linearised.gradients, &point, &aim)
                .map_or(Vec::new(), |(_, tight)| tight)
        } else {
            Vec::new()
        };
        let counts =
            |relation| !weighted.is_one_sided(relation) || pushing.contains(&Limit::Relation(relation));
        let counting: Vec<bool> = (0..weighted.block.relations.len()).map(counts).collect();
        let moves = |unknown| !pushing.iter().any(|limit| limit.is_of_unknown(unknown));
        let moving: Vec<bool> = (0..own_start.len()).map(moves).collect();
        let largest = linearised.form_kept(&counting, &moving);
        let is_factored = linearised.factor(damping(0.0, largest));
        Self { weighted, linearised, point, pushing, counting, is_factored }
    }

    /// The smallest way that changes the residuals like this, in scaled unknowns.
    fn way(&mut self, change: &[f64]) -> Vec<f64> {
        let mut way = vec![0.0; self.point.unknowns.len()];
        let mut step = way.clone();
        let corrections = if self.is_factored { CORRECTIONS } else { 0 };
        for _ in 0..corrections {
            let left = |(relation, &change): (usize, &f64)| {
                if self.counting[relation] {
                    change - self.linearised.gradients.product(relation, &way)
                } else {
                    0.0
                }
            };
            let left: Vec<f64> = change.iter().enumerate().map(left).collect();
            self.linearised.step(&left, &mut step);
            add_multiple(&mut way, 1.0, &step);
        }
        self.within_limits(way, change)
    }

    /// The way, led along limits that it would cross.
    fn within_limits(&self, way: Vec<f64>, change: &[f64]) -> Vec<f64> {
        let gradients = &self.linearised.gradients;
        let unknowns = self.point.unknowns.len();
        let (mut equal, mut limits) = (Vec::new(), Vec::new());
        for (relation, &counts) in self.counting.iter().enumerate() {
            let (limit, gradient) = (Limit::Relation(relation), gradients.full_row(relation));
            if counts {
                let change = gradients.product(relation, &way);
                equal.push(Limited { limit, gradient, change });
            } else if self.point.residuals[relation] <= 1.0 {
                limits.push(Limited { limit, gradient, change: change[relation] });
            }
        }
        for unknown in 0..unknowns {
            for end in [End::Least, End::Most] {
                if self.pushing.contains(&Limit::Range(unknown, end)) {
                    equal.extend(range_limit(unknowns, unknown, end, 0.0));
                } else if self.weighted.is_at(unknown, end, self.point.unknowns[unknown]) {
                    limits.extend(range_limit(unknowns, unknown, end, 0.0));
                }
            }
        }
        if limits.is_empty() {
            return way;
        }
        let aim = vec![0.0; unknowns];
        shortest_way(&aim, equal, &limits).map_or(way, |(led, _)| led)
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::Straight;
    use super::super::{jacobian, solve};
    use super::*;

    fn one(changes: &[f64]) -> DMatrix<f64> {
        DMatrix::from_column_slice(changes.len(), 1, changes)
    }

    #[test]
    fn determined_answer_moves_as_another_solve_does() {
        let system = |right: f64| Straight::new(&[&[2.0, 1.0], &[1.0, -3.0]], &[right, -8.0]);
        let answer = solve(&system(5.0), &[0.0, 0.0]).unknowns;
        // One more asked for is one less measured beyond it.
        let moved = response(&system(5.0), &[0.0, 0.0], &answer, &one(&[-1.0, 0.0]));
        let again = solve(&system(6.0), &[0.0, 0.0]).unknowns;
        assert!((moved[(0, 0)] - (again[0] - answer[0])).abs() < 1e-12);
        assert!((moved[(1, 0)] - (again[1] - answer[1])).abs() < 1e-12);
    }

    #[test]
    fn redundant_relations_share_a_change_that_they_disagree_on() {
        let system = Straight::new(&[&[1.0], &[1.0]], &[5.0, 5.0]);
        let moved = response(&system, &[0.0], &[5.0], &one(&[-1.0, 0.0]));
        assert!((moved[(0, 0)] - 0.5).abs() < 1e-12);
    }

    #[test]
    fn limit_that_pushes_is_followed_and_one_that_does_not_is_kept() {
        // x ≥ 5 from 3: it pushes, and x follows it both ways.
        let pushed = Straight::new(&[&[1.0, 0.0]], &[5.0]).at_least(0);
        for change in [-1.0, 1.0] {
            let moved = response(&pushed, &[3.0, 0.0], &[5.0, 0.0], &one(&[change]));
            assert!((moved[(0, 0)] + change).abs() < 1e-12);
        }
        // From 5 it is only touched: x moves when it must.
        let must = response(&pushed, &[5.0, 0.0], &[5.0, 0.0], &one(&[-1.0]));
        assert!((must[(0, 0)] - 1.0).abs() < 1e-12);
        assert_eq!(response(&pushed, &[5.0, 0.0], &[5.0, 0.0], &one(&[1.0]))[(0, 0)], 0.0);
    }

    #[test]
    fn unknown_at_the_end_of_its_range_moves_inwards_only() {
        // x + y = 10 from (5, 5), x at its most value without being pushed there.
        let system = Straight::new(&[&[1.0, 1.0]], &[10.0]).range(0, 0.0, 5.0);
        let start = [5.0, 5.0];
        let more = response(&system, &start, &start, &one(&[-1.0]));
        assert!((more[(0, 0)]).abs() < 1e-12 && (more[(1, 0)] - 1.0).abs() < 1e-12);
        let less = response(&system, &start, &start, &one(&[1.0]));
        assert!((less[(0, 0)] + 0.5).abs() < 1e-12 && (less[(1, 0)] + 0.5).abs() < 1e-12);
        // From (9, 1) it was pushed to that end, and stays.
        let kept = response(&system, &[9.0, 1.0], &start, &one(&[1.0]));
        assert!((kept[(0, 0)]).abs() < 1e-12 && (kept[(1, 0)] + 1.0).abs() < 1e-12);
    }

    #[test]
    fn response_undoes_the_change_and_is_the_shortest_that_does() {
        let rows: [&[f64]; 2] = [&[1.0, 2.0, -1.0, 0.5], &[0.0, 1.0, 3.0, -2.0]];
        let system = Straight { weights: vec![1.0, 2.0, 0.5, 1.0], ..Straight::new(&rows, &[4.0, -1.0]) };
        let answer = solve(&system, &[0.0; 4]).unknowns;
        let changes = DMatrix::from_row_slice(2, 2, &[1.0, 0.0, 0.3, -2.0]);
        let moved = response(&system, &[0.0; 4], &answer, &changes);
        let slopes = jacobian(&system, &answer);
        assert!((&slopes * &moved + &changes).norm() < 1e-12);
        // Weighted moves are sums of gradients: at right angles to whatever changes no relation.
        let weights = DMatrix::from_diagonal(&nalgebra::DVector::from_vec(system.weights.clone()));
        let scaled = &weights * &moved;
        let gradients = (slopes * weights.try_inverse().unwrap()).transpose();
        let base = gradients.qr().q();
        assert!((&scaled - &base * (base.transpose() * &scaled)).norm() < 1e-12);
    }
}
