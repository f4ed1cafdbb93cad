//! From an answer to the answer nearest to the start, when relations leave freedom.
//!
//! Levenberg–Marquardt steps are each the shortest, but on curved relations a chain of shortest steps does
//! not end at the nearest answer. Here the way back to the start is split into a part along the held
//! relations, which is taken, and a part across them, which is not; then the relations are held again.
//! Where relations are one-sided or unknowns have ranges, the way is the one that ends nearest to the start
//! without crossing them. Invariant: the result is held and not farther from the start than what came in.

use crate::quantity::tolerance;

use super::Ending;
use super::gradients::{add_multiple, dot};
use super::least_distance::{Limit, least_distance};
use super::levenberg_marquardt::{Bench, Next};
use super::linearised::damping;
use super::weighted::Point;

/// Times the way back is taken at most. Each shrinks it by the curvature of the relations times the
/// distance from the start, about tenfold for dimensions of parts.
const ROUND_LIMIT: usize = 40;

/// Times a way back is halved before the point is left where it is.
const HALVING_LIMIT: usize = 6;

/// The way back of a block.
pub(super) struct Nearest {
    /// Where to.
    start: Vec<f64>,
    /// The way along the relations, scaled.
    way: Vec<f64>,
    /// The held point to better.
    held: Point,
    squared_distance: f64,
    rounds: usize,
    share: f64,
    halvings: usize,
    /// Chord steps taken from the candidate; `None` before it is known.
    chord_steps: Option<usize>,
    /// Whether the point was bettered.
    pub(super) moved: bool,
}

impl Nearest {
    /// Begins at the bench's held point, where it is linearised. Ends with [`Ending::Held`].
    pub(super) fn begin(bench: &mut Bench, start: Vec<f64>) -> (Self, Next) {
        let mut begun = Self {
            way: vec![0.0; start.len()],
            start,
            held: bench.point.clone(),
            squared_distance: 0.0,
            rounds: 0,
            share: 1.0,
            halvings: 0,
            chord_steps: None,
            moved: false,
        };
        let next = begun.linearised(bench);
        (begun, next)
    }

    /// Goes on from fresh gradients at the point.
    pub(super) fn linearised(&mut self, bench: &mut Bench) -> Next {
        let finite = bench.square_of_gradients.is_finite();
        if !finite || self.rounds == ROUND_LIMIT || !self.find_way(bench) {
            return self.ended(bench);
        }
        self.rounds += 1;
        self.share = 1.0;
        self.halvings = 0;
        self.propose(bench)
    }

    /// Goes on from fresh residuals at the trial.
    pub(super) fn evaluated(&mut self, bench: &mut Bench) -> Next {
        let (taken, more) = match self.chord_steps {
            None => {
                std::mem::swap(&mut bench.point, &mut bench.trial);
                (0, true)
            }
            Some(taken) => {
                let fallen = bench.take_chord_step();
                (taken + usize::from(fallen), fallen)
            }
        };
        if more && bench.wants_chord_step(taken) {
            self.chord_steps = Some(taken);
            bench.propose_chord_step();
            return Next::Evaluate;
        }
        let refined =
            bench.point.is_within(tolerance::REFINED_SHARE) || bench.point.square <= self.held.square;
        if bench.point.is_held()
            && refined
            && self.distance(bench, &bench.point.unknowns) < self.squared_distance
        {
            self.held.clone_from(&bench.point);
            self.moved = true;
            return Next::Linearise;
        }
        self.share *= 0.5;
        self.halvings += 1;
        if self.halvings == HALVING_LIMIT { self.ended(bench) } else { self.propose(bench) }
    }

    fn ended(&self, bench: &mut Bench) -> Next {
        bench.point.clone_from(&self.held);
        Next::Ended(Ending::Held)
    }

    fn distance(&self, bench: &Bench, unknowns: &[f64]) -> f64 {
        let mut way = vec![0.0; unknowns.len()];
        bench.weighted.way(&self.start, unknowns, &mut way);
        way.iter().map(|part| part * part).sum()
    }

    /// Finds the way along the relations and factors for the chord steps after it; false if there is none
    /// worth going.
    fn find_way(&mut self, bench: &mut Bench) -> bool {
        bench.weighted.way(&bench.point.unknowns, &self.start, &mut self.way);
        self.squared_distance = dot(&self.way, &self.way);
        let found = if bench.sided.is_some() { self.sided_way(bench) } else { self.free_way(bench) };
        let negligible = tolerance::NEAREST_SHARE * tolerance::NEAREST_SHARE * self.squared_distance;
        found && dot(&self.way, &self.way) > negligible
    }

    fn free_way(&mut self, bench: &mut Bench) -> bool {
        let largest = bench.linearised.form_normal();
        if !bench.linearised.factor(damping(0.0, largest)) {
            return false;
        }
        let relations = 0..bench.weighted.block.relations.len();
        let across: Vec<f64> = relations.map(|i| bench.gradients().product(i, &self.way)).collect();
        bench.linearised.step(&across, &mut bench.step);
        add_multiple(&mut self.way, -1.0, &bench.step);
        true
    }

    fn sided_way(&mut self, bench: &mut Bench) -> bool {
        let Some((way, tight)) = least_distance(&bench.weighted, bench.gradients(), &bench.point, &self.way)
        else {
            return false;
        };
        self.way = way;
        let sided = bench.sided.as_mut().expect("asked for only where there are sides");
        for (relation, counts) in sided.counting.iter_mut().enumerate() {
            *counts = !bench.weighted.is_one_sided(relation) || tight.contains(&Limit::Relation(relation));
        }
        for (unknown, moves) in sided.moving.iter_mut().enumerate() {
            *moves = !tight.iter().any(|limit| limit.is_of_unknown(unknown));
        }
        let largest = bench.linearised.form_kept(&sided.counting, &sided.moving);
        bench.linearised.factor(damping(0.0, largest))
    }

    fn propose(&mut self, bench: &mut Bench) -> Next {
        bench.weighted.advance(&self.held.unknowns, self.share, &self.way, &mut bench.trial.unknowns);
        self.chord_steps = None;
        Next::Evaluate
    }
}
