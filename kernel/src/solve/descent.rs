//! From the start of one block to its answer: iterations, other starts where they stall, and the way back to
//! the nearest answer.
//!
//! Like the iterations, it stops wherever it needs residuals or gradients. Invariant: the result is never
//! worse than the start, and depends on nothing outside the block.

use crate::quantity::tolerance;

use super::Ending;
use super::attempts::{self, ATTEMPT_LIMIT, Attempt, ROUGH_LIMIT};
use super::gradients::Gradients;
use super::levenberg_marquardt::{Bench, LevenbergMarquardt, Next};
use super::nearest::Nearest;
use super::pattern::Pattern;
use super::weighted::Point;

/// A block on its way.
pub(super) struct Descent {
    pub(super) bench: Bench,
    start: Vec<f64>,
    stage: Stage,
    attempts: usize,
    /// The best of the attempts that stalled, and how it ended.
    best: Option<(Point, Ending)>,
    /// The gradients at the start, if they were needed.
    first: Option<Gradients>,
    /// Whether relations bend so much between start and answer that another branch may lie there.
    pub(super) bent: bool,
    /// How it ended.
    pub(super) ending: Ending,
    /// How often it was linearised on the way to an answer.
    pub(super) linearisations: usize,
    /// Rank of the equal relations at the answer.
    pub(super) rank: usize,
    pub(super) next: Next,
}

enum Stage {
    Starting { damping_share: f64 },
    Improving(LevenbergMarquardt),
    CountingRank { last: bool },
    Nearing(Box<Nearest>),
}

impl Descent {
    /// Begins where the system starts, with its residuals there.
    pub(super) fn begin(bench: Bench, start: &[f64], residuals: &[f64]) -> Self {
        Self::begin_at(bench, start, start, residuals)
    }

    /// Begins at `from`, with the residuals there; the way back is the one to `start`.
    pub(super) fn begin_at(mut bench: Bench, start: &[f64], from: &[f64], residuals: &[f64]) -> Self {
        let own_start: Vec<f64> =
            bench.weighted.block.unknowns.iter().map(|&unknown| start[unknown]).collect();
        bench.weighted.take_unknowns(from, &mut bench.trial);
        bench.weighted.take_residuals(residuals, &mut bench.trial);
        let mut begun = Self {
            bench,
            start: own_start,
            stage: Stage::Starting { damping_share: attempts::first_damping() },
            attempts: 1,
            best: None,
            first: None,
            bent: false,
            ending: Ending::IterationLimit,
            linearisations: 0,
            rank: 0,
            next: Next::Evaluate,
        };
        begun.evaluated();
        begun
    }

    /// Whether the block has every unknown and every relation of the pattern, and room for every derivative.
    pub(super) fn knows_all(&self, pattern: &Pattern) -> bool {
        let block = &self.bench.weighted.block;
        self.bench.linearised.is_full()
            && block.unknowns.len() == pattern.unknown_count()
            && block.relations.len() == pattern.relation_count()
    }

    /// Goes on from fresh gradients at the point.
    pub(super) fn linearised(&mut self) {
        let next = match &mut self.stage {
            Stage::Starting { .. } => unreachable!("a start needs residuals only"),
            Stage::Improving(iterations) => {
                self.linearisations += 1;
                if self.linearisations == 1 {
                    self.first = Some(self.bench.gradients().clone());
                }
                iterations.linearised(&mut self.bench)
            }
            Stage::Nearing(nearest) => nearest.linearised(&mut self.bench),
            Stage::CountingRank { last } => {
                let last = *last;
                self.rank = 0;
                let finite = self.bench.square_of_gradients.is_finite();
                if finite {
                    let weighted = &self.bench.weighted;
                    let rank = self.bench.linearised.rank(|relation| !weighted.is_one_sided(relation));
                    self.rank = rank.count;
                    self.bent = self.has_bent(rank.least_share);
                }
                if !last && finite && self.ending == Ending::Held && self.rank < self.start.len() {
                    let (nearest, next) = Nearest::begin(&mut self.bench, self.start.clone());
                    self.stage = Stage::Nearing(Box::new(nearest));
                    next
                } else {
                    Next::Ended(self.ending)
                }
            }
        };
        self.go_on(next);
    }

    /// Goes on from fresh residuals at the trial.
    pub(super) fn evaluated(&mut self) {
        let next = match &mut self.stage {
            Stage::Starting { damping_share } => {
                std::mem::swap(&mut self.bench.point, &mut self.bench.trial);
                let (iterations, next) = LevenbergMarquardt::begin(&self.bench, *damping_share);
                self.stage = Stage::Improving(iterations);
                next
            }
            Stage::Improving(iterations) => iterations.evaluated(&mut self.bench),
            Stage::Nearing(nearest) => nearest.evaluated(&mut self.bench),
            Stage::CountingRank { .. } => unreachable!("the rank needs gradients only"),
        };
        self.go_on(next);
    }

    fn go_on(&mut self, next: Next) {
        self.next = match (next, &self.stage) {
            (Next::Ended(ending), Stage::Improving(_)) => self.attempt_ended(ending),
            (Next::Ended(_), Stage::Nearing(nearest)) if nearest.moved => {
                self.stage = Stage::CountingRank { last: true };
                Next::Linearise
            }
            (next, _) => next,
        };
    }

    /// Whether the gradients, scaled to length 1, have changed since the start by so much of what the least
    /// independent one has of its own that they may have turned singular on the way.
    fn has_bent(&self, least_share: f64) -> bool {
        if self.attempts > 1 {
            return true;
        }
        let Some(first) = &self.first else { return false };
        let change = self.bench.gradients().change_since(first);
        // Limits that are tight may leave less than the equal relations have.
        let is_tight = self.bench.weighted.has_tight(&self.bench.point);
        let allowed = if is_tight { 0.0 } else { least_share };
        let allowed = (tolerance::STRAIGHT_SHARE * allowed).max(tolerance::RANK_SHARE);
        change > allowed || change.is_nan()
    }

    /// Keeps the answer, or tries from elsewhere.
    fn attempt_ended(&mut self, ending: Ending) -> Next {
        let refined = self.bench.point.is_within(tolerance::REFINED_SHARE);
        let again = match ending {
            Ending::Held => !refined,
            Ending::NothingToSolve => false,
            Ending::Stalled | Ending::IterationLimit => true,
            // A start that is not finite is the caller's to mend.
            Ending::NotFinite => self.attempts > 1,
        };
        if !again {
            self.ending = ending;
            self.stage = Stage::CountingRank { last: false };
            return Next::Linearise;
        }
        let better = match &self.best {
            None => true,
            Some((_, Ending::Held)) => false,
            // Of compromises, only the one below the first one is of the same shape.
            Some((best, _)) => {
                ending == Ending::Held
                    || self.attempts == 2 && self.bench.point.square.sqrt() < best.square.sqrt() - 1.0
            }
        };
        if better {
            self.best = Some((self.bench.point.clone(), ending));
        }
        let (best, best_ending) = self.best.as_ref().expect("set above");
        let limit = if *best_ending == Ending::Held { ROUGH_LIMIT } else { ATTEMPT_LIMIT };
        if self.attempts >= limit {
            self.ending = *best_ending;
            self.bench.point.clone_from(best);
            self.stage = Stage::CountingRank { last: false };
            return Next::Linearise;
        }
        let Attempt { unknowns, damping_share } = attempts::again(self.attempts, &self.start, &best.unknowns);
        self.attempts += 1;
        self.bench.trial.unknowns.copy_from_slice(&unknowns);
        self.bench.weighted.keep_in_range(&mut self.bench.trial.unknowns);
        self.stage = Stage::Starting { damping_share };
        Next::Evaluate
    }
}
