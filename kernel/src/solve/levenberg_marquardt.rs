//! Levenberg–Marquardt iterations, run by argmin.
//!
//! Each iteration linearises the system and tries damped Gauss–Newton steps until one lowers the residuals
//! as foreseen; the gain ratio sets the next damping, which also falls with the square of the residuals, so
//! that convergence near an answer is quadratic. After a good step the same factorisation serves for chord
//! steps. Invariant: the sum of squared residuals never rises.

use argmin::core::{Error, Executor, IterState, KV, Problem, Solver, State, TerminationReason};

use crate::quantity::tolerance;

use super::linearised::{Linearised, add_multiple, damping, dot};
use super::weighted::{Point, Weighted};
use super::{Ending, System};

/// Linearisations before a solve gives up. Dimensions of parts need three to eight; the hardest classic
/// test systems from far starts need about 80.
const ITERATION_LIMIT: u64 = 200;

/// Damping at the start as a share of the largest diagonal entry: nearly a Gauss–Newton step, because start
/// values come from a drawing and are near. The method says 1e-3 to 1 for a bad start.
const FIRST_DAMPING: f64 = 1e-6;

/// A step is taken if the squares fall by at least this share of what the linearisation foresaw.
const GAIN_WANTED: f64 = 1e-3;

/// Rejected steps in one iteration at most; damping has then grown by 2^(30·31/2).
const REJECTION_LIMIT: usize = 30;

/// Where the iterations ended.
pub(super) struct Found {
    pub(super) point: Point,
    pub(super) ending: Ending,
    /// Linearisations made.
    pub(super) iterations: usize,
    /// The room for linearisations, to be used again.
    pub(super) linearised: Linearised,
}

/// Runs the iterations from `start`. `linearised` is room of the system's size; its content is not used.
pub(super) fn improve<P: System>(weighted: &Weighted<P>, start: Point, linearised: Linearised) -> Found {
    let solver = LevenbergMarquardt {
        trial: start.clone(),
        step: vec![0.0; start.unknowns.len()],
        slope: vec![0.0; start.unknowns.len()],
        linearised,
        damping_share: FIRST_DAMPING,
        growth: 2.0,
        first_square: start.square,
        iterations: 0,
        ending: Ending::IterationLimit,
    };
    let executor = Executor::new(weighted, solver)
        .ctrlc(false)
        .timer(false)
        .configure(|state: Iteration| state.param(start).max_iters(ITERATION_LIMIT));
    let mut result = executor.run().expect("no step of this solver returns an error");
    Found {
        point: result.state.take_param().expect("every iteration puts its point back"),
        ending: result.solver.ending,
        iterations: result.solver.iterations,
        linearised: result.solver.linearised,
    }
}

type Iteration = IterState<Point, (), (), (), (), f64>;

struct LevenbergMarquardt {
    linearised: Linearised,
    trial: Point,
    step: Vec<f64>,
    slope: Vec<f64>,
    /// Damping as a share of the largest diagonal entry while the residuals are as large as at the start.
    damping_share: f64,
    /// What the damping is multiplied by at the next rejection.
    growth: f64,
    first_square: f64,
    iterations: usize,
    ending: Ending,
}

impl<P: System> Solver<&Weighted<'_, P>, Iteration> for LevenbergMarquardt {
    fn name(&self) -> &str {
        "Levenberg–Marquardt"
    }

    fn init(
        &mut self,
        _: &mut Problem<&Weighted<P>>,
        state: Iteration,
    ) -> Result<(Iteration, Option<KV>), Error> {
        let point = state.get_param().expect("the start is the first point");
        let ended = if !point.square.is_finite() {
            Some(Ending::NotFinite)
        } else if point.is_polished() {
            Some(Ending::Held)
        } else {
            None
        };
        Ok((self.ended(state, ended), None))
    }

    fn next_iter(
        &mut self,
        problem: &mut Problem<&Weighted<P>>,
        mut state: Iteration,
    ) -> Result<(Iteration, Option<KV>), Error> {
        let weighted = problem.problem.expect("the executor holds the problem");
        let mut point = state.take_param().expect("every iteration puts its point back");
        let ended = self.iterate(weighted, &mut point);
        let square = point.square;
        Ok((self.ended(state.param(point).cost(square), ended), None))
    }
}

impl LevenbergMarquardt {
    fn ended(&mut self, state: Iteration, ended: Option<Ending>) -> Iteration {
        match ended {
            Some(ending) => {
                self.ending = ending;
                state.terminate_with(TerminationReason::SolverConverged)
            }
            None => state,
        }
    }

    /// One linearisation and the steps from it; `None` if there is more to do.
    fn iterate<P: System>(&mut self, weighted: &Weighted<P>, point: &mut Point) -> Option<Ending> {
        let was_held = point.is_held();
        let otherwise = |ending| if was_held { Ending::Held } else { ending };
        self.iterations += 1;
        if !self.linearised.linearise(weighted, &point.unknowns) {
            return Some(otherwise(Ending::NotFinite));
        }
        self.linearised.slope(&point.residuals, &mut self.slope);
        if self.is_flat(point) {
            return Some(otherwise(Ending::Stalled));
        }
        let square_before = point.square;
        let largest = self.linearised.form_normal();
        if !self.step_down(weighted, point, largest) {
            return Some(otherwise(Ending::Stalled));
        }
        let converging = point.square <= 0.01 * square_before;
        let refined = if converging || point.is_held() {
            self.linearised.chord_steps(weighted, point, &mut self.trial, &mut self.step)
        } else {
            0
        };
        // A held point that no chord step could better gets one more linearisation, and no second one.
        let done = point.is_held() && (was_held || refined > 0 || point.is_polished());
        done.then_some(Ending::Held)
    }

    /// Whether no unknown can lower the residuals: their slope is zero, but for rounding.
    fn is_flat(&mut self, point: &Point) -> bool {
        let rounding = tolerance::STALL_COSINE * point.square.sqrt();
        let columns = &mut self.step;
        columns.fill(0.0);
        for gradient in self.linearised.gradient_of_each() {
            for (square, part) in columns.iter_mut().zip(gradient) {
                *square += part * part;
            }
        }
        self.slope.iter().zip(columns).all(|(slope, square)| slope.abs() <= rounding * square.sqrt())
    }

    /// Takes the first step that lowers the residuals well enough, with more and more damping; false if
    /// there is none.
    fn step_down<P: System>(&mut self, weighted: &Weighted<P>, point: &mut Point, largest: f64) -> bool {
        let smallest_step = tolerance::STEP_SHARE * dot(&point.unknowns, &point.unknowns).sqrt();
        for _ in 0..REJECTION_LIMIT {
            let damping = damping(self.damping_share * (point.square / self.first_square), largest);
            if self.linearised.factor(damping) {
                self.linearised.step(&point.residuals, &mut self.step);
                let squared_length = dot(&self.step, &self.step);
                if squared_length <= smallest_step * smallest_step {
                    return false;
                }
                self.trial.unknowns.copy_from_slice(&point.unknowns);
                add_multiple(&mut self.trial.unknowns, -1.0, &self.step);
                weighted.evaluate(&mut self.trial);
                let foreseen = dot(&self.step, &self.slope) + damping * squared_length;
                let gain = (point.square - self.trial.square) / foreseen;
                // A trial that is not a number has no gain, and the comparison is false.
                if gain >= GAIN_WANTED {
                    std::mem::swap(point, &mut self.trial);
                    let surplus = 2.0 * gain - 1.0;
                    self.damping_share *= (1.0 - surplus * surplus * surplus).max(1.0 / 3.0);
                    self.growth = 2.0;
                    return true;
                }
            }
            self.damping_share *= self.growth;
            self.growth *= 2.0;
        }
        false
    }
}
