//! Steps where relations are one-sided or unknowns have ranges.
//!
//! The step makes `|what J h leaves missing|² + damping |h|²` smallest within the ranges, where a one-sided
//! relation with something to spare misses nothing. Which relations count and which unknowns stay at an end
//! is not known before: both are guessed, the step is found, and what contradicts the guess is changed, all
//! at once. With enough damping each unknown decides for itself, so that this comes to an end; where it does
//! not, there is no step and damping grows. Invariant: the step keeps the ranges.

use crate::quantity::tolerance;

use super::gradients::add_multiple;
use super::linearised::Linearised;
use super::weighted::{Point, Weighted};

/// Times the guess is changed. Few are needed; guesses that go round in a circle come from too little damping.
const CHANGE_LIMIT: usize = 40;

/// Which relations and unknowns took part in the last step, and room to find it.
pub(super) struct SidedStep {
    /// Relations that count.
    pub(super) counting: Vec<bool>,
    /// Unknowns that may move.
    pub(super) moving: Vec<bool>,
    change: Vec<f64>,
    left: Vec<f64>,
    short: Vec<f64>,
    /// The moves of unknowns that go to an end of their range.
    to_ends: Vec<f64>,
    slope: Vec<f64>,
}

impl SidedStep {
    pub(super) fn new(weighted: &Weighted) -> Self {
        let (relations, unknowns) = (weighted.block.relations.len(), weighted.block.unknowns.len());
        Self {
            counting: vec![true; relations],
            moving: vec![true; unknowns],
            change: vec![0.0; relations],
            left: vec![0.0; relations],
            short: vec![0.0; relations],
            to_ends: vec![0.0; unknowns],
            slope: vec![0.0; unknowns],
        }
    }

    /// Writes the step (which is subtracted from the unknowns) and returns the fall of the squares that it
    /// foresees; `None` if no guess stands.
    pub(super) fn step(
        &mut self,
        weighted: &Weighted,
        linearised: &mut Linearised,
        point: &Point,
        damping: f64,
        step: &mut [f64],
    ) -> Option<f64> {
        self.guess(weighted, linearised, point);
        for _ in 0..CHANGE_LIMIT {
            linearised.form_kept(&self.counting, &self.moving);
            if !linearised.factor(damping) {
                return None;
            }
            for (relation, change) in self.change.iter_mut().enumerate() {
                let counts = self.counting[relation];
                *change = if counts {
                    point.residuals[relation] - linearised.gradients.product(relation, &self.to_ends)
                } else {
                    0.0
                };
            }
            linearised.step(&self.change, step);
            add_multiple(step, 1.0, &self.to_ends);
            for (relation, left) in self.left.iter_mut().enumerate() {
                *left = point.residuals[relation] - linearised.gradients.product(relation, step);
            }
            if !self.correct(weighted, linearised, point, damping, step) {
                let square = weighted.missed(&self.left, &mut self.short);
                return Some(point.square - square);
            }
        }
        None
    }

    /// Writes the step of the last factorisation from `point`, with what took part in it.
    pub(super) fn chord_step(&mut self, linearised: &mut Linearised, point: &Point, step: &mut [f64]) {
        for ((change, &residual), &counts) in self.change.iter_mut().zip(&point.residuals).zip(&self.counting)
        {
            *change = if counts { residual } else { 0.0 };
        }
        linearised.step(&self.change, step);
    }

    /// What misses something counts; what the slope pushes out of its range stays.
    fn guess(&mut self, weighted: &Weighted, linearised: &Linearised, point: &Point) {
        linearised.gradients.combine(point.missed(), &mut self.slope);
        for (relation, counts) in self.counting.iter_mut().enumerate() {
            *counts = !weighted.is_one_sided(relation) || point.residuals[relation] < 0.0;
        }
        self.to_ends.fill(0.0);
        for (unknown, moves) in self.moving.iter_mut().enumerate() {
            *moves = !weighted.leads_out(unknown, point.unknowns[unknown], -self.slope[unknown]);
        }
    }

    /// Changes what the step contradicts; false if that is nothing.
    fn correct(
        &mut self,
        weighted: &Weighted,
        linearised: &Linearised,
        point: &Point,
        damping: f64,
        step: &[f64],
    ) -> bool {
        let mut changed = false;
        for (relation, counts) in self.counting.iter_mut().enumerate() {
            if !weighted.is_one_sided(relation) {
                continue;
            }
            let left = self.left[relation];
            let contradicts =
                if *counts { left > tolerance::POLISHED_SHARE } else { left < -tolerance::POLISHED_SHARE };
            if contradicts {
                *counts = !*counts;
                changed = true;
            }
        }
        weighted.missed(&self.left, &mut self.short);
        linearised.gradients.combine(&self.short, &mut self.slope);
        for (unknown, moves) in self.moving.iter_mut().enumerate() {
            let unit = weighted.unit(unknown);
            let [least, most] = weighted.range(unknown).map(|end| (point.unknowns[unknown] - end) / unit);
            if *moves {
                // The step is subtracted: it may be from `most` (negative) to `least` (positive).
                let end = if step[unknown] > least {
                    least
                } else if step[unknown] < most {
                    most
                } else {
                    continue;
                };
                *moves = false;
                self.to_ends[unknown] = end;
                changed = true;
            } else if least > most {
                // Half the slope of the squares by the step; where it falls inwards, the unknown may move.
                let slope = damping * step[unknown] - self.slope[unknown];
                let at_least = step[unknown] >= least;
                let inwards = if at_least { slope > 0.0 } else { slope < 0.0 };
                if inwards {
                    *moves = true;
                    self.to_ends[unknown] = 0.0;
                    changed = true;
                }
            }
        }
        changed
    }
}
