//! One block of a system, with each residual measured in its own tolerance and each unknown in how unwilling
//! it is to move, so that mm and rad can be added.
//!
//! Invariants: a relation is held exactly when what it misses is at most 1 without sign; no point leaves the
//! ranges of its unknowns.

use crate::quantity::tolerance;

use super::structure::Block;
use super::{End, Kind, System};

/// What a block needs to know of its system.
pub(super) struct Weighted {
    pub(super) block: Block,
    /// One factor for each relation: the reciprocal of its tolerance.
    pub(super) weights: Vec<f64>,
    /// One factor for each unknown: the reciprocal of its weight. Empty if all are 1.
    pub(super) units: Vec<f64>,
    /// Which relations are one-sided. Empty if none is.
    one_sided: Vec<bool>,
    /// Least and most value of each unknown. Empty if there are no ends.
    ranges: Vec<[f64; 2]>,
}

/// Unknowns of a block with their weighted residuals.
#[derive(Clone)]
pub(super) struct Point {
    pub(super) unknowns: Vec<f64>,
    pub(super) residuals: Vec<f64>,
    /// Residuals without what one-sided relations have to spare. Empty if none is one-sided.
    short: Vec<f64>,
    /// Sum of the squares of what is missed.
    pub(super) square: f64,
}

impl Point {
    /// What each relation is off: its residual, or zero for a one-sided one with something to spare.
    pub(super) fn missed(&self) -> &[f64] {
        if self.short.is_empty() { &self.residuals } else { &self.short }
    }

    /// Whether every relation is within its tolerance.
    pub(super) fn is_held(&self) -> bool {
        self.is_within(1.0)
    }

    /// Whether every relation is held to rounding, so that a further step has nothing to gain.
    pub(super) fn is_polished(&self) -> bool {
        self.is_within(tolerance::POLISHED_SHARE)
    }

    /// Whether every relation is within this share of its tolerance.
    pub(super) fn is_within(&self, share: f64) -> bool {
        self.missed().iter().all(|missed| missed.abs() <= share)
    }
}

impl Weighted {
    pub(super) fn new<P: System>(system: &P, block: Block) -> Self {
        let weights = block.relations.iter().map(|&relation| 1.0 / system.tolerance(relation)).collect();
        let units = || block.unknowns.iter().map(|&unknown| 1.0 / system.weight(unknown));
        let is_one_sided = || {
            block.relations.iter().map(|&relation| match system.kind(relation) {
                Kind::Equal => false,
                Kind::AtLeast => true,
            })
        };
        let ranges = || block.unknowns.iter().map(|&unknown| system.bounds(unknown));
        let weighed = units().any(|unit| unit.to_bits() != 1.0_f64.to_bits());
        let ranged = ranges().flatten().any(f64::is_finite);
        let units = if weighed { units().collect() } else { Vec::new() };
        let one_sided = if is_one_sided().any(|one| one) { is_one_sided().collect() } else { Vec::new() };
        let ranges = if ranged { ranges().collect() } else { Vec::new() };
        Self { block, weights, units, one_sided, ranges }
    }

    /// Whether a relation is one-sided or an unknown has a range.
    pub(super) fn is_sided(&self) -> bool {
        !self.one_sided.is_empty() || !self.ranges.is_empty()
    }

    /// Whether relation `relation` of the block is one-sided.
    pub(super) fn is_one_sided(&self, relation: usize) -> bool {
        self.one_sided.get(relation).is_some_and(|&one_sided| one_sided)
    }

    /// The range of unknown `unknown` of the block.
    pub(super) fn range(&self, unknown: usize) -> [f64; 2] {
        self.ranges.get(unknown).copied().unwrap_or([f64::NEG_INFINITY, f64::INFINITY])
    }

    /// Whether a move of unknown `unknown` of the block from `value` to the side of `direction` leaves its
    /// range at once.
    pub(super) fn leads_out(&self, unknown: usize, value: f64, direction: f64) -> bool {
        let [least, most] = self.range(unknown);
        value <= least && direction < 0.0 || value >= most && direction > 0.0
    }

    /// Whether a value of unknown `unknown` of the block counts as being at an end of its range.
    pub(super) fn is_at(&self, unknown: usize, end: End, value: f64) -> bool {
        end.is_reached(self.range(unknown), value)
    }

    /// Whether a one-sided relation or an end of a range is tight at a point.
    pub(super) fn has_tight(&self, point: &Point) -> bool {
        let mut one_sided = self.one_sided.iter().zip(&point.residuals);
        let mut ends = self.ranges.iter().zip(&point.unknowns);
        one_sided.any(|(&one_sided, &residual)| one_sided && residual <= 1.0)
            || ends.any(|(&range, &at)| End::Least.is_reached(range, at) || End::Most.is_reached(range, at))
    }

    /// How far unknown `unknown` of the block moves where the scaled one moves by 1.
    pub(super) fn unit(&self, unknown: usize) -> f64 {
        self.units.get(unknown).copied().unwrap_or(1.0)
    }

    /// Room for a point of this block.
    pub(super) fn room(&self) -> Point {
        let relations = self.block.relations.len();
        let short = if self.one_sided.is_empty() { Vec::new() } else { vec![0.0; relations] };
        let unknowns = vec![0.0; self.block.unknowns.len()];
        Point { unknowns, residuals: vec![0.0; relations], short, square: 0.0 }
    }

    /// Takes the residuals of this block out of those of the system.
    pub(super) fn take_residuals(&self, all: &[f64], point: &mut Point) {
        point.square = 0.0;
        for ((residual, &relation), weight) in
            point.residuals.iter_mut().zip(&self.block.relations).zip(&self.weights)
        {
            *residual = all[relation] * weight;
            point.square += *residual * *residual;
        }
        if !self.one_sided.is_empty() {
            point.square = self.missed(&point.residuals, &mut point.short);
        }
    }

    /// Writes what relations with these residuals miss, and returns the sum of the squares.
    pub(super) fn missed(&self, residuals: &[f64], short: &mut [f64]) -> f64 {
        let mut square = 0.0;
        for (relation, (short, &residual)) in short.iter_mut().zip(residuals).enumerate() {
            *short = if self.is_one_sided(relation) && residual > 0.0 { 0.0 } else { residual };
            square += *short * *short;
        }
        square
    }

    /// Takes the unknowns of this block out of those of the system, within their ranges.
    pub(super) fn take_unknowns(&self, all: &[f64], point: &mut Point) {
        for (to, &unknown) in point.unknowns.iter_mut().zip(&self.block.unknowns) {
            *to = all[unknown];
        }
        self.keep_in_range(&mut point.unknowns);
    }

    /// Puts the unknowns of this block among those of the system.
    pub(super) fn put_unknowns(&self, point: &Point, all: &mut [f64]) {
        for (&from, &unknown) in point.unknowns.iter().zip(&self.block.unknowns) {
            all[unknown] = from;
        }
    }

    /// Puts the residuals of this block among those of the system.
    pub(super) fn put_residuals(&self, point: &Point, all: &mut [f64]) {
        for ((from, &relation), weight) in
            point.residuals.iter().zip(&self.block.relations).zip(&self.weights)
        {
            all[relation] = from / weight;
        }
    }

    /// Writes `from + factor · step` within the ranges, the step being one of scaled unknowns.
    pub(super) fn advance(&self, from: &[f64], factor: f64, step: &[f64], to: &mut [f64]) {
        if self.units.is_empty() {
            for ((to, from), part) in to.iter_mut().zip(from).zip(step) {
                *to = from + factor * part;
            }
        } else {
            for (((to, from), part), unit) in to.iter_mut().zip(from).zip(step).zip(&self.units) {
                *to = from + factor * part * unit;
            }
        }
        self.keep_in_range(to);
    }

    /// Brings unknowns outside of their ranges to the nearest end.
    pub(super) fn keep_in_range(&self, unknowns: &mut [f64]) {
        for (unknown, [least, most]) in unknowns.iter_mut().zip(&self.ranges) {
            // A value that is not a number stays one, and is found to be so.
            if *unknown < *least {
                *unknown = *least;
            } else if *unknown > *most {
                *unknown = *most;
            }
        }
    }

    /// Writes the way from one point to another in scaled unknowns.
    pub(super) fn way(&self, from: &[f64], to: &[f64], way: &mut [f64]) {
        for ((way, from), to) in way.iter_mut().zip(from).zip(to) {
            *way = to - from;
        }
        for (way, unit) in way.iter_mut().zip(&self.units) {
            *way /= unit;
        }
    }

    /// Squared length of the unknowns, scaled.
    pub(super) fn squared_length(&self, unknowns: &[f64]) -> f64 {
        if self.units.is_empty() {
            super::gradients::dot(unknowns, unknowns)
        } else {
            unknowns.iter().zip(&self.units).map(|(value, unit)| (value / unit) * (value / unit)).sum()
        }
    }
}
