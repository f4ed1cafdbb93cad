//! The smallest value of something over the answers of a system.
//!
//! Job: from one answer to another that no small change makes smaller. The value is a black box that may fail;
//! relations are straightened, so that ranges and one-sided relations are met exactly and not by feel. Each
//! iteration takes slopes of the value along the loose motions, asks [`model`] for the way, and goes it as far
//! as the value falls, each trial led back to an answer by its owner. Invariant: every place that is gone to is
//! an answer with a smaller value than the one before; the same owner and start give the same bits; trials are
//! counted and limited. Must not know: what is made small. Derivation: `docs/math/solver.md`.

mod model;
mod tangent;

use argmin::core::{Error, Executor, IterState, KV, Problem, Solver, State, TerminationReason};
use nalgebra::DMatrix;

use crate::quantity::tolerance;

use super::gradients::{add_multiple, dot};
use super::least_distance::{Limit, Limited, range_limit, shortest_way};
use super::{End, Kind, System, jacobian};
use model::Model;
use tangent::Tangent;

/// Looks at the value before a search gives up: a part with twelve loose numbers takes about 500.
const MOST_TRIALS: usize = 4000;

/// How far a motion is tried to both sides for the slope of the value, in the unknowns' unit (mm or degrees): the
/// rounding of a blank's area (1e-9 mm²) then leaves 1e-6 mm² for each mm, and curvature even less.
const SLOPE_STEP: f64 = 1e-3;

/// How far a first step goes, in the unknowns' unit: as far as covers of one family differ.
const FIRST_REACH: f64 = 100.0;

/// No unknown is searched beyond this, to both sides: no sheet is 100 m long.
const FARTHEST: f64 = 1e5;

/// How far the search looks around from the place that it ended at, in the unknowns' unit.
const LOOK_REACH: f64 = 1000.0;

/// Halvings of a look around until it lands on an answer: about 1 mm then.
const LOOK_HALVINGS: usize = 10;

/// Times the search goes on from a smaller value that it saw when it looked around.
const MOST_RESTARTS: usize = 4;

/// An answer belongs to a trial if it lies nearer to it than this share of its distance from here: else relations
/// are too curved for so long a step, and it may be on another branch of theirs.
const BELONGING: f64 = 0.25;

/// A step is taken if the value falls by at least this share of what its slope foresees.
const GAIN_WANTED: f64 = 1e-4;

/// A system whose answers are searched for the smallest value.
pub trait Ground {
    /// The answer of the system nearest to `unknowns` with its value; none where there is no answer, or it has no
    /// value.
    fn settle(&mut self, unknowns: &[f64]) -> Option<(Vec<f64>, f64)>;

    /// The value at `unknowns`, whether they are an answer or not; none where there is none.
    fn value(&mut self, unknowns: &[f64]) -> Option<f64>;

    /// The system as straight as it looks from an answer.
    fn straighten(&self, unknowns: &[f64]) -> Straightened;
}

/// A system to first order about one place.
pub struct Straightened {
    kinds: Vec<Kind>,
    residuals: Vec<f64>,
    slopes: DMatrix<f64>,
    /// Least and most value of each unknown.
    ranges: Vec<[f64; 2]>,
}

/// A system as straight as it looks from `unknowns`.
///
/// # Panics
/// If `unknowns` has not one value for each unknown.
pub fn straighten<P: System>(system: &P, unknowns: &[f64]) -> Straightened {
    let mut residuals = vec![0.0; system.relation_count()];
    system.residuals(unknowns, &mut residuals);
    Straightened {
        kinds: (0..residuals.len()).map(|relation| system.kind(relation)).collect(),
        residuals,
        slopes: jacobian(system, unknowns),
        ranges: (0..unknowns.len()).map(|unknown| system.bounds(unknown)).collect(),
    }
}

/// How a search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Conclusion {
    /// No small change of the unknowns makes the value smaller.
    Smallest,
    /// The relations leave no motion.
    NothingLoose,
    /// No motion that is left changes the value.
    WithoutEffect,
    /// The value was still falling when the trials ran out.
    TrialLimit,
}

/// The end of a search.
#[derive(Clone, Debug, PartialEq)]
pub struct Smallest {
    /// The answer.
    pub unknowns: Vec<f64>,
    /// Its value, never larger than at the start.
    pub value: f64,
    /// How it was come to.
    pub conclusion: Conclusion,
    /// How often the value was asked for.
    pub trials: usize,
    /// How often of these there was no answer or no value.
    pub failed: usize,
    /// Ways, of length 1, on which the value would fall further if there were answers with a value.
    pub walls: Vec<Vec<f64>>,
    /// Whether it was seen that there are other low places, so that this may not be the lowest one.
    pub one_of_several: bool,
}

/// Searches the answers around `start`, itself one of value `value`, for the smallest value.
///
/// Never fails: [`Conclusion`] says what the end is worth.
pub fn smallest<G: Ground>(ground: &mut G, start: &[f64], value: f64) -> Smallest {
    let search = Search {
        here: start.to_vec(),
        value,
        slope: None,
        model: None,
        trials: 0,
        failed: 0,
        walls: Vec::new(),
        pushing_walls: Vec::new(),
        restarts: 0,
        stuck: false,
        one_of_several: false,
        ended: None,
    };
    let executor = Executor::new(ground, search).ctrlc(false).timer(false);
    let Search { here, value, trials, failed, walls, pushing_walls, one_of_several, ended, .. } =
        executor.run().expect("no step of this solver returns an error").solver;
    Smallest {
        unknowns: here,
        value,
        conclusion: ended.expect("the iterations go on until they end"),
        trials,
        failed,
        walls: pushing_walls.into_iter().map(|at| walls[at].way.clone()).collect(),
        one_of_several,
    }
}

/// A search on its way.
struct Search {
    here: Vec<f64>,
    value: f64,
    /// The slope of the value along the loose motions, once it is known.
    slope: Option<Vec<f64>>,
    /// What is known of the value's curvature; none before the first step.
    model: Option<Model>,
    trials: usize,
    failed: usize,
    walls: Vec<Wall>,
    /// Those that pushed at the last step.
    pushing_walls: Vec<usize>,
    restarts: usize,
    /// Whether the value did not fall on the last step.
    stuck: bool,
    one_of_several: bool,
    ended: Option<Conclusion>,
}

/// Something that the search could not go beyond, because there is no answer or no value there.
struct Wall {
    /// The way beyond it, of length 1.
    way: Vec<f64>,
    at: f64,
}

type Iteration = IterState<(), (), (), (), (), f64>;

impl<G: Ground> Solver<&mut G, Iteration> for Search {
    fn name(&self) -> &str {
        "projected quasi-Newton search"
    }

    fn next_iter(
        &mut self,
        problem: &mut Problem<&mut G>,
        state: Iteration,
    ) -> Result<(Iteration, Option<KV>), Error> {
        let ground = problem.problem.as_mut().expect("the executor holds the problem");
        self.ended = self.iterate(*ground);
        let state = match self.ended {
            Some(_) => state.terminate_with(TerminationReason::SolverConverged),
            None => state,
        };
        Ok((state, None))
    }
}

/// A place with all that a step from it rests on.
struct Place {
    tangent: Tangent,
    slope: Vec<f64>,
    /// What is held.
    equal: Vec<Limited>,
    /// What may not be crossed.
    limits: Vec<Limited>,
    /// Limits that keep the best way from going on.
    pushing: Vec<Limit>,
}

/// What a trial came to.
enum Seen {
    Answer(Vec<f64>, f64),
    /// An answer that does not belong to the trial.
    Elsewhere,
    Nothing,
}

/// What going a step came to.
enum Gone {
    Lower,
    /// The value does not fall on it.
    NotLower,
    /// There is nothing on it, however near.
    Nowhere,
}

impl Search {
    fn iterate<G: Ground>(&mut self, ground: &mut G) -> Option<Conclusion> {
        if self.trials >= MOST_TRIALS {
            return Some(Conclusion::TrialLimit);
        }
        let straightened = ground.straighten(&self.here);
        let tangent = Tangent::new(&straightened);
        if tangent.is_empty() {
            return Some(Conclusion::NothingLoose);
        }
        let slope = match self.slope.take() {
            Some(slope) => slope,
            None => self.slope(ground, &tangent),
        };
        let (equal, limits) = self.limits(&straightened);
        let steepness = dot(&slope, &slope).sqrt();
        let model = self.model.get_or_insert_with(|| Model::new(slope.len(), steepness / FIRST_REACH));
        // The place is an answer itself, so that only rounding can make the straightened limits miss each other.
        let (way, pushing) =
            model.way(&slope, &equal, &limits).unwrap_or((vec![0.0; slope.len()], Vec::new()));
        self.pushing_walls = pushing.iter().filter_map(|&limit| straightened.wall(limit)).collect();
        let from = Place { tangent, slope, equal, limits, pushing };
        let foreseen = -dot(&from.slope, &way);
        let is_there = dot(&way, &way).sqrt() <= tolerance::SNAP_MM;
        if is_there || foreseen <= tolerance::FALL_SHARE * self.value.abs() {
            return self.conclude(ground, &from);
        }
        let before = self.here.clone();
        match self.go(ground, &way, foreseen) {
            Gone::Lower => {
                self.stuck = false;
                self.learn(ground, &from, &before);
            }
            Gone::Nowhere => self.build_walls(ground, &way),
            Gone::NotLower if !self.stuck => {
                // What the model knew of the curvature may be of another place.
                self.stuck = true;
                self.model = None;
            }
            Gone::NotLower => return self.conclude(ground, &from),
        }
        None
    }

    /// The slope of the value along the loose motions.
    fn slope<G: Ground>(&mut self, ground: &mut G, tangent: &Tangent) -> Vec<f64> {
        let mut slope = vec![0.0; self.here.len()];
        for motion in tangent.motions() {
            let [more, less] = [1.0, -1.0].map(|side| {
                let mut beside = self.here.clone();
                add_multiple(&mut beside, side * SLOPE_STEP, motion);
                self.trials += 1;
                let value = ground.value(&beside);
                self.failed += usize::from(value.is_none());
                value
            });
            let along = match (more, less) {
                (Some(more), Some(less)) => (more - less) / (2.0 * SLOPE_STEP),
                (Some(more), None) => (more - self.value) / SLOPE_STEP,
                (None, Some(less)) => (self.value - less) / SLOPE_STEP,
                (None, None) => 0.0,
            };
            add_multiple(&mut slope, along, motion);
        }
        slope
    }

    /// Relations that are held, and what a way may not cross: one-sided relations, ranges and walls.
    fn limits(&self, straightened: &Straightened) -> (Vec<Limited>, Vec<Limited>) {
        let (equal, mut limits) = straightened.limits(&self.here);
        for (index, wall) in self.walls.iter().enumerate() {
            limits.push(Limited {
                limit: Limit::Relation(straightened.kinds.len() + index),
                gradient: wall.way.iter().map(|part| -part).collect(),
                change: dot(&wall.way, &self.here) - wall.at,
            });
        }
        (equal, limits)
    }

    /// The answer at this share of the way.
    fn look<G: Ground>(&mut self, ground: &mut G, way: &[f64], share: f64) -> Seen {
        let mut trial = self.here.clone();
        add_multiple(&mut trial, share, way);
        self.trials += 1;
        let is_far = trial.iter().any(|value| value.is_nan() || value.abs() > FARTHEST);
        let found = if is_far { None } else { ground.settle(&trial) };
        let Some((there, value)) = found else {
            self.failed += 1;
            return Seen::Nothing;
        };
        add_multiple(&mut trial, -1.0, &there);
        let limit = BELONGING * share * dot(way, way).sqrt() + tolerance::SNAP_MM;
        if dot(&trial, &trial).sqrt() <= limit { Seen::Answer(there, value) } else { Seen::Elsewhere }
    }

    /// Goes the way as far as the value falls by enough; where there is nothing farther on, up to there.
    fn go<G: Ground>(&mut self, ground: &mut G, way: &[f64], foreseen: f64) -> Gone {
        let length = dot(way, way).sqrt();
        let is_far = |share: f64| share * length > tolerance::SNAP_MM;
        let (mut share, mut nothing_at, mut seen) = (1.0, None, false);
        let mut found = None;
        while is_far(share) && self.trials < MOST_TRIALS {
            match self.look(ground, way, share) {
                Seen::Nothing => {
                    nothing_at = Some(share);
                    share *= 0.5;
                }
                Seen::Elsewhere => {
                    seen = true;
                    share *= 0.5;
                }
                Seen::Answer(there, value) if value <= self.value - GAIN_WANTED * share * foreseen => {
                    found = Some((there, value));
                    break;
                }
                Seen::Answer(_, value) => {
                    seen = true;
                    // Where the parabola through value, slope and this value is smallest.
                    let curve = value - self.value + share * foreseen;
                    let lowest = 0.5 * foreseen * share * share / curve;
                    share = lowest.clamp(0.1 * share, 0.5 * share);
                }
            }
        }
        let Some((mut there, mut value)) = found else {
            return if seen { Gone::NotLower } else { Gone::Nowhere };
        };
        while let Some(nothing) = nothing_at.filter(|&nothing| is_far(nothing - share)) {
            let middle = 0.5 * (share + nothing);
            match self.look(ground, way, middle) {
                Seen::Nothing => nothing_at = Some(middle),
                Seen::Answer(farther, lower) if lower < value => {
                    (there, value, share) = (farther, lower, middle);
                }
                Seen::Answer(..) | Seen::Elsewhere => break,
            }
        }
        (self.here, self.value) = (there, value);
        Gone::Lower
    }

    /// Takes into the model how the slope changed since `before`.
    fn learn<G: Ground>(&mut self, ground: &mut G, from: &Place, before: &[f64]) {
        let straightened = ground.straighten(&self.here);
        let tangent = Tangent::new(&straightened);
        let slope = self.slope(ground, &tangent);
        let mut step = self.here.clone();
        add_multiple(&mut step, -1.0, before);
        let foreseen = -dot(&from.slope, &step);
        // Only what moves along the limits that pushed says something of the curvature that counts there.
        let along_before = from.tangent.along(&from.limits, &from.pushing);
        let along = tangent.along(&self.limits(&straightened).1, &from.pushing);
        let mut change = along.part(&slope);
        add_multiple(&mut change, -1.0, &along.part(&along_before.part(&from.slope)));
        let moved = along.part(&step);
        let curvature = dot(&moved, &change);
        let model = self.model.as_mut().expect("a step was made by it");
        if curvature > tolerance::BENT_SHARE * foreseen.abs() {
            model.learn(&moved, &change);
        } else {
            model.reach_farther();
        }
        self.slope = Some(slope);
    }

    /// Stands a wall at each unknown that cannot go on by itself; if each can, one across the way.
    fn build_walls<G: Ground>(&mut self, ground: &mut G, way: &[f64]) {
        let largest = way.iter().fold(0.0, |most: f64, part| most.max(part.abs()));
        let mut blocked = Vec::new();
        for (unknown, &part) in way.iter().enumerate() {
            if part.abs() <= tolerance::MOTION_SHARE * largest {
                continue;
            }
            let mut alone = vec![0.0; way.len()];
            alone[unknown] = part.signum();
            if matches!(self.look(ground, &alone, SLOPE_STEP), Seen::Nothing) {
                blocked.push(alone);
            }
        }
        if blocked.is_empty() {
            let length = dot(way, way).sqrt();
            blocked.push(way.iter().map(|part| part / length).collect());
        }
        for way in blocked {
            let at = dot(&way, &self.here);
            self.walls.push(Wall { way, at });
        }
    }

    /// Looks around once no small step leads lower: goes on from a lower place, or ends.
    fn conclude<G: Ground>(&mut self, ground: &mut G, from: &Place) -> Option<Conclusion> {
        let slack = tolerance::BENT_SHARE * self.value.abs();
        let mut changes = dot(&from.slope, &from.slope).sqrt() * FIRST_REACH > slack;
        let mut lowest: Option<(Vec<f64>, f64)> = None;
        for (there, value) in self.look_around(ground, from) {
            let mut gone = there.clone();
            add_multiple(&mut gone, -1.0, &self.here);
            self.one_of_several |= value < self.value + dot(&from.slope, &gone) - slack;
            changes |= (value - self.value).abs() > slack;
            let best = lowest.as_ref().map_or(self.value - slack, |(_, value)| *value);
            if value < best {
                lowest = Some((there, value));
            }
        }
        match lowest {
            Some((there, value)) if self.restarts < MOST_RESTARTS => {
                (self.here, self.value) = (there, value);
                self.restarts += 1;
                (self.model, self.slope, self.stuck) = (None, None, false);
                None
            }
            Some(_) | None if changes => Some(Conclusion::Smallest),
            Some(_) | None => Some(Conclusion::WithoutEffect),
        }
    }

    /// The farthest answers along each loose motion, both ways.
    fn look_around<G: Ground>(&mut self, ground: &mut G, from: &Place) -> Vec<(Vec<f64>, f64)> {
        let mut seen = Vec::new();
        for motion in from.tangent.motions() {
            for side in [LOOK_REACH, -LOOK_REACH] {
                let aim: Vec<f64> = motion.iter().map(|part| side * part).collect();
                let Some((way, _)) = shortest_way(&aim, from.equal.clone(), &from.limits) else { continue };
                if dot(&way, &way).sqrt() <= SLOPE_STEP {
                    continue;
                }
                let mut share = 1.0;
                for _ in 0..LOOK_HALVINGS {
                    if let Seen::Answer(there, value) = self.look(ground, &way, share) {
                        seen.push((there, value));
                        break;
                    }
                    share *= 0.5;
                }
            }
        }
        seen
    }
}

impl Straightened {
    /// The number of a wall among the limits.
    fn wall(&self, limit: Limit) -> Option<usize> {
        match limit {
            Limit::Relation(relation) => relation.checked_sub(self.kinds.len()),
            Limit::Range(..) => None,
        }
    }

    fn gradient(&self, relation: usize) -> Vec<f64> {
        self.slopes.row(relation).iter().copied().collect()
    }

    /// What is held, and what may not be crossed, of the relations and ranges.
    fn limits(&self, unknowns: &[f64]) -> (Vec<Limited>, Vec<Limited>) {
        let (mut equal, mut limits) = (Vec::new(), Vec::new());
        for (relation, (kind, residual)) in self.kinds.iter().zip(&self.residuals).enumerate() {
            let limited = Limited {
                limit: Limit::Relation(relation),
                gradient: self.gradient(relation),
                change: -residual,
            };
            match kind {
                Kind::Equal => equal.push(limited),
                Kind::AtLeast => limits.push(limited),
            }
        }
        for (unknown, (&value, [least, most])) in unknowns.iter().zip(&self.ranges).enumerate() {
            let count = unknowns.len();
            if least >= most {
                equal.extend(range_limit(count, unknown, End::Least, 0.0));
            } else {
                limits.extend(range_limit(count, unknown, End::Least, least - value));
                limits.extend(range_limit(count, unknown, End::Most, value - most));
            }
        }
        (equal, limits)
    }
}

#[cfg(test)]
mod tests;
