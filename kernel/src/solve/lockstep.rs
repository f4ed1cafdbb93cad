//! All blocks of a system at once, run by argmin.
//!
//! Every look at the system gives the residuals or gradients of all its relations, so blocks go on together:
//! each look serves all that wait for one. Each has its own damping, its own gain and its own end. Invariant:
//! what a block does is the same whatever other blocks there are.

use argmin::core::{Error, Executor, IterState, KV, Problem, Solver, State, TerminationReason};

use super::System;
use super::descent::Descent;
use super::jacobian::{Part, Passes};
use super::levenberg_marquardt::Next;

/// Blocks on their way, with room for looks at the system.
struct Lockstep {
    descents: Vec<Descent>,
    unknowns: Vec<f64>,
    residuals: Vec<f64>,
    passes: Passes,
}

type Iteration = IterState<(), (), (), (), (), f64>;

/// Runs all blocks to their ends and writes their answers among the unknowns and residuals.
pub(super) fn run<P: System>(
    system: &P,
    descents: Vec<Descent>,
    unknowns: &mut [f64],
    residuals: &mut [f64],
) -> Vec<Descent> {
    let lockstep = Lockstep {
        descents,
        unknowns: unknowns.to_vec(),
        residuals: vec![0.0; system.relation_count()],
        passes: Passes::default(),
    };
    let executor = Executor::new(system, lockstep).ctrlc(false).timer(false);
    let result = executor.run().expect("no step of this solver returns an error");
    let descents = result.solver.descents;
    for descent in &descents {
        descent.bench.weighted.put_unknowns(&descent.bench.point, unknowns);
        descent.bench.weighted.put_residuals(&descent.bench.point, residuals);
    }
    descents
}

impl<P: System> Solver<&P, Iteration> for Lockstep {
    fn name(&self) -> &str {
        "Levenberg–Marquardt"
    }

    fn init(&mut self, _: &mut Problem<&P>, state: Iteration) -> Result<(Iteration, Option<KV>), Error> {
        Ok((self.ended(state), None))
    }

    fn next_iter(
        &mut self,
        problem: &mut Problem<&P>,
        state: Iteration,
    ) -> Result<(Iteration, Option<KV>), Error> {
        let system = problem.problem.expect("the executor holds the problem");
        self.linearise(system);
        while self.evaluate(system) {}
        Ok((self.ended(state), None))
    }
}

impl Lockstep {
    fn ended(&self, state: Iteration) -> Iteration {
        let ended = |descent: &Descent| matches!(descent.next, Next::Ended(_));
        if self.descents.iter().all(ended) {
            state.terminate_with(TerminationReason::SolverConverged)
        } else {
            state
        }
    }

    /// Lets those go on that wait for gradients.
    fn linearise<P: System>(&mut self, system: &P) {
        let mut parts = Vec::new();
        for descent in waiting(&mut self.descents, Next::Linearise) {
            let bench = &mut descent.bench;
            bench.weighted.put_unknowns(&bench.point, &mut self.unknowns);
            parts.push(Part::new(&bench.weighted.block, &mut bench.linearised));
        }
        self.passes.gradients(system, &self.unknowns, &mut parts);
        for descent in waiting(&mut self.descents, Next::Linearise) {
            let bench = &mut descent.bench;
            bench.square_of_gradients =
                bench.linearised.gradients.scale(&bench.weighted.weights, &bench.weighted.units);
            descent.linearised();
        }
    }

    /// Lets those go on that wait for residuals; false if there is none.
    fn evaluate<P: System>(&mut self, system: &P) -> bool {
        let mut any = false;
        for descent in waiting(&mut self.descents, Next::Evaluate) {
            descent.bench.weighted.put_unknowns(&descent.bench.trial, &mut self.unknowns);
            any = true;
        }
        if !any {
            return false;
        }
        system.residuals(&self.unknowns, &mut self.residuals);
        for descent in waiting(&mut self.descents, Next::Evaluate) {
            let bench = &mut descent.bench;
            bench.weighted.take_residuals(&self.residuals, &mut bench.trial);
            descent.evaluated();
        }
        true
    }
}

/// The blocks that wait for this.
fn waiting(descents: &mut [Descent], what: Next) -> impl Iterator<Item = &mut Descent> {
    descents.iter_mut().filter(move |descent| descent.next == what)
}
