//! Levenberg–Marquardt iterations of one block.
//!
//! Each iteration linearises the block and tries damped Gauss–Newton steps until one lowers the residuals
//! as foreseen; the gain ratio sets the next damping, which also falls with the square of the residuals, so
//! that convergence near an answer is quadratic. After a good step the same factorisation serves for chord
//! steps. The iterations stop wherever residuals or gradients are needed and go on when they are there, so
//! that all blocks of a system share each look at it. Invariant: the sum of squared residuals never rises.

use crate::quantity::tolerance;

use super::Ending;
use super::gradients::{Gradients, dot};
use super::linearised::{Linearised, damping};
use super::one_sided::SidedStep;
use super::weighted::{Point, Weighted};

/// Linearisations before a solve gives up. Dimensions of parts need three to eight; the hardest classic
/// test systems from far starts need about 80.
const ITERATION_LIMIT: usize = 200;

/// A step is taken if the squares fall by at least this share of what the linearisation foresaw.
const GAIN_WANTED: f64 = 1e-3;

/// Rejected steps in one iteration at most; damping has then grown by 2^(30·31/2).
const REJECTION_LIMIT: usize = 30;

/// Chord steps after one factorisation at most; each lowers the residuals tenfold, so 1 to rounding is 16.
const CHORD_LIMIT: usize = 16;

/// What iterations need to go on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Next {
    /// Gradients at the point.
    Linearise,
    /// Residuals at the trial.
    Evaluate,
    /// Nothing: they ended.
    Ended(Ending),
}

/// A block, its linearisation, and room for iterations.
pub(super) struct Bench {
    pub(super) weighted: Weighted,
    pub(super) linearised: Linearised,
    /// Sum of the squares of all entries of the gradients; not finite if one of them is not.
    pub(super) square_of_gradients: f64,
    /// Where the block is.
    pub(super) point: Point,
    /// Where it might go.
    pub(super) trial: Point,
    pub(super) step: Vec<f64>,
    pub(super) slope: Vec<f64>,
    /// The step where relations are one-sided or unknowns have ranges.
    pub(super) sided: Option<SidedStep>,
}

impl Bench {
    pub(super) fn new(weighted: Weighted, linearised: Linearised) -> Self {
        let (point, trial) = (weighted.room(), weighted.room());
        let unknowns = weighted.block.unknowns.len();
        let sided = weighted.is_sided().then(|| SidedStep::new(&weighted));
        let (step, slope) = (vec![0.0; unknowns], vec![0.0; unknowns]);
        Self { weighted, linearised, square_of_gradients: 0.0, point, trial, step, slope, sided }
    }

    pub(super) fn gradients(&self) -> &Gradients {
        &self.linearised.gradients
    }

    /// Puts the trial where the last factorisation sends `from`: a chord step.
    pub(super) fn propose_chord_step(&mut self) {
        match &mut self.sided {
            None => self.linearised.step(&self.point.residuals, &mut self.step),
            Some(sided) => sided.chord_step(&mut self.linearised, &self.point, &mut self.step),
        }
        self.weighted.advance(&self.point.unknowns, -1.0, &self.step, &mut self.trial.unknowns);
    }

    /// Takes a chord step that lowered the residuals tenfold or, once all are held, by half; false if it did
    /// not.
    pub(super) fn take_chord_step(&mut self) -> bool {
        let wanted = if self.point.is_held() { 0.25 } else { 0.01 };
        let fallen = self.trial.square <= wanted * self.point.square;
        if fallen {
            std::mem::swap(&mut self.point, &mut self.trial);
        }
        fallen
    }

    /// Whether another chord step may follow `taken` ones.
    pub(super) fn wants_chord_step(&self, taken: usize) -> bool {
        taken < CHORD_LIMIT && !self.point.is_polished()
    }
}

/// Where the iterations are.
pub(super) struct LevenbergMarquardt {
    /// Damping as a share of the largest diagonal entry while the residuals are as large as at the start.
    damping_share: f64,
    /// What the damping is multiplied by at the next rejection.
    growth: f64,
    first_square: f64,
    iterations: usize,
    doing: Doing,
    /// The square at the linearisation, and whether all relations were held there.
    square_before: f64,
    was_held: bool,
    /// The fall of the square that the step in trial has by the linearisation.
    foreseen: f64,
    largest_diagonal: f64,
}

/// What the trial is for.
enum Doing {
    Steps { rejected: usize },
    ChordSteps { taken: usize },
}

impl LevenbergMarquardt {
    /// Begins at the bench's point, with this damping.
    pub(super) fn begin(bench: &Bench, damping_share: f64) -> (Self, Next) {
        let begun = Self {
            damping_share,
            growth: 2.0,
            first_square: bench.point.square,
            iterations: 0,
            doing: Doing::Steps { rejected: 0 },
            square_before: 0.0,
            was_held: false,
            foreseen: 0.0,
            largest_diagonal: 0.0,
        };
        let next = if !bench.point.square.is_finite() {
            Next::Ended(Ending::NotFinite)
        } else if bench.point.is_polished() {
            Next::Ended(Ending::Held)
        } else {
            Next::Linearise
        };
        (begun, next)
    }

    /// Goes on from fresh gradients at the point.
    pub(super) fn linearised(&mut self, bench: &mut Bench) -> Next {
        self.was_held = bench.point.is_held();
        self.square_before = bench.point.square;
        self.iterations += 1;
        if !bench.square_of_gradients.is_finite() {
            return self.ended(Ending::NotFinite);
        }
        bench.linearised.gradients.combine(bench.point.missed(), &mut bench.slope);
        if is_flat(bench) {
            return self.ended(Ending::Stalled);
        }
        self.largest_diagonal = bench.linearised.form_normal();
        self.doing = Doing::Steps { rejected: 0 };
        self.propose(bench)
    }

    /// Goes on from fresh residuals at the trial.
    pub(super) fn evaluated(&mut self, bench: &mut Bench) -> Next {
        match self.doing {
            Doing::Steps { rejected } => {
                let gain = (bench.point.square - bench.trial.square) / self.foreseen;
                // A trial that is not a number has no gain, and the comparison is false.
                if gain >= GAIN_WANTED {
                    std::mem::swap(&mut bench.point, &mut bench.trial);
                    let surplus = 2.0 * gain - 1.0;
                    self.damping_share *= (1.0 - surplus * surplus * surplus).max(1.0 / 3.0);
                    self.growth = 2.0;
                    let converging = bench.point.square <= 0.01 * self.square_before;
                    self.chord_step_or_close(bench, 0, converging || bench.point.is_held())
                } else {
                    self.more_damping();
                    self.doing = Doing::Steps { rejected: rejected + 1 };
                    self.propose(bench)
                }
            }
            Doing::ChordSteps { taken } => {
                let fallen = bench.take_chord_step();
                self.chord_step_or_close(bench, taken + usize::from(fallen), fallen)
            }
        }
    }

    fn ended(&self, ending: Ending) -> Next {
        Next::Ended(if self.was_held { Ending::Held } else { ending })
    }

    fn more_damping(&mut self) {
        self.damping_share *= self.growth;
        self.growth *= 2.0;
    }

    /// Puts the next step into the trial, with more and more damping if there is none.
    fn propose(&mut self, bench: &mut Bench) -> Next {
        let Doing::Steps { mut rejected } = self.doing else { unreachable!("chord steps need no damping") };
        let length = bench.weighted.squared_length(&bench.point.unknowns);
        let smallest_step = tolerance::STEP_SHARE * length.sqrt();
        while rejected < REJECTION_LIMIT {
            let share = self.damping_share * (bench.point.square / self.first_square);
            let damping = damping(share, self.largest_diagonal);
            // A step may be lost in rounding for want of damping, too: where relations conflict and are as many
            // as unknowns or fewer, what they miss weighs so much that nothing else is left of it.
            if let Some(foreseen) = step(bench, damping)
                && dot(&bench.step, &bench.step) > smallest_step * smallest_step
            {
                self.foreseen = foreseen;
                self.doing = Doing::Steps { rejected };
                bench.weighted.advance(&bench.point.unknowns, -1.0, &bench.step, &mut bench.trial.unknowns);
                return Next::Evaluate;
            }
            self.more_damping();
            rejected += 1;
        }
        self.ended(Ending::Stalled)
    }

    fn chord_step_or_close(&mut self, bench: &mut Bench, taken: usize, more: bool) -> Next {
        if more && bench.wants_chord_step(taken) {
            self.doing = Doing::ChordSteps { taken };
            bench.propose_chord_step();
            return Next::Evaluate;
        }
        // A held point is linearised again until it is refined: once if chord steps helped too little, and as
        // long as it helps where relations only touch at the answer, so that residuals fall slowly.
        let is_held = bench.point.is_held();
        let refined = bench.point.is_within(tolerance::REFINED_SHARE);
        let fallen = if refined { 0.25 } else { 0.9 } * self.square_before;
        let slow = self.was_held && bench.point.square > fallen;
        if is_held && (slow || refined && taken > 0 || bench.point.is_polished()) {
            Next::Ended(Ending::Held)
        } else if self.iterations >= ITERATION_LIMIT {
            Next::Ended(if is_held { Ending::Held } else { Ending::IterationLimit })
        } else {
            Next::Linearise
        }
    }
}

/// Puts the damped step from the point into the bench, and returns the fall of the squares that it foresees;
/// `None` if rounding does not let it be found.
fn step(bench: &mut Bench, damping: f64) -> Option<f64> {
    match &mut bench.sided {
        None => {
            if !bench.linearised.factor(damping) {
                return None;
            }
            bench.linearised.step(&bench.point.residuals, &mut bench.step);
            Some(dot(&bench.step, &bench.slope) + damping * dot(&bench.step, &bench.step))
        }
        Some(sided) => {
            sided.step(&bench.weighted, &mut bench.linearised, &bench.point, damping, &mut bench.step)
        }
    }
}

/// Whether no unknown can lower the residuals: their slope is zero, but for rounding, or leads out of its
/// range.
fn is_flat(bench: &mut Bench) -> bool {
    let rounding = tolerance::STALL_COSINE * bench.point.square.sqrt();
    // No column is longer than all of them together, and this is settled nearly always.
    let steep = rounding * bench.square_of_gradients.sqrt();
    if bench.sided.is_none() && bench.slope.iter().any(|slope| slope.abs() > steep) {
        return false;
    }
    bench.linearised.gradients.column_squares(&mut bench.step);
    let mut columns = bench.slope.iter().zip(&bench.step).enumerate();
    columns.all(|(unknown, (slope, square))| {
        slope.abs() <= rounding * square.sqrt()
            || bench.sided.is_some()
                && bench.weighted.leads_out(unknown, bench.point.unknowns[unknown], -slope)
    })
}
