//! Which unknowns each relation is computed from, found by running the residuals over numbers that remember.
//!
//! A traced number carries its value and the set of unknowns that went into it, so that one pass gives the
//! residuals and their pattern. Invariant: values are bit for bit those of `f64`. A branch on a value shows
//! the pattern of the way that was taken; the solver traces again where it ends.

use std::ops::{Add, Div, Mul, Neg, Sub};

use crate::geom::Scalar;

use super::System;
use super::pattern::{Pattern, WORD};

/// A value and which of 64 · `W` unknowns it is computed from.
#[derive(Clone, Copy)]
struct Traced<const W: usize> {
    value: f64,
    from: [u64; W],
}

impl<const W: usize> Traced<W> {
    fn of(self, value: f64) -> Self {
        Self { value, from: self.from }
    }

    fn of_both(self, other: Self, value: f64) -> Self {
        Self { value, from: std::array::from_fn(|i| self.from[i] | other.from[i]) }
    }
}

impl<const W: usize> Add for Traced<W> {
    type Output = Self;
    fn add(self, b: Self) -> Self {
        self.of_both(b, self.value + b.value)
    }
}

impl<const W: usize> Sub for Traced<W> {
    type Output = Self;
    fn sub(self, b: Self) -> Self {
        self.of_both(b, self.value - b.value)
    }
}

impl<const W: usize> Mul for Traced<W> {
    type Output = Self;
    fn mul(self, b: Self) -> Self {
        self.of_both(b, self.value * b.value)
    }
}

impl<const W: usize> Div for Traced<W> {
    type Output = Self;
    fn div(self, b: Self) -> Self {
        self.of_both(b, self.value / b.value)
    }
}

impl<const W: usize> Neg for Traced<W> {
    type Output = Self;
    fn neg(self) -> Self {
        self.of(-self.value)
    }
}

impl<const W: usize> Scalar for Traced<W> {
    fn constant(value: f64) -> Self {
        Self { value, from: [0; W] }
    }
    fn value(self) -> f64 {
        self.value
    }
    fn sin_cos(self) -> (Self, Self) {
        let (sin, cos) = Scalar::sin_cos(self.value);
        (self.of(sin), self.of(cos))
    }
    fn tan(self) -> Self {
        self.of(Scalar::tan(self.value))
    }
    fn sqrt(self) -> Self {
        self.of(Scalar::sqrt(self.value))
    }
    fn atan2(self, x: Self) -> Self {
        self.of_both(x, Scalar::atan2(self.value, x.value))
    }
    fn scaled(self, factor: f64) -> Self {
        self.of(self.value * factor)
    }
}

/// The pattern of a system at `unknowns`, and its residuals there.
pub(super) fn trace<P: System>(system: &P, unknowns: &[f64]) -> (Pattern, Vec<f64>) {
    let mut pattern = Pattern::empty(system.relation_count(), unknowns.len());
    let mut residuals = vec![0.0; system.relation_count()];
    if unknowns.len() <= WORD {
        pass::<1, P>(system, unknowns, 0, &mut pattern, &mut residuals);
    } else {
        for first in (0..unknowns.len()).step_by(4 * WORD) {
            pass::<4, P>(system, unknowns, first, &mut pattern, &mut residuals);
        }
    }
    (pattern, residuals)
}

/// Traces the unknowns from `first` on, as many as a number can remember.
fn pass<const W: usize, P: System>(
    system: &P,
    unknowns: &[f64],
    first: usize,
    pattern: &mut Pattern,
    residuals: &mut [f64],
) {
    let mut traced: Vec<Traced<W>> = unknowns.iter().map(|&value| Traced::constant(value)).collect();
    for (index, number) in traced[first..].iter_mut().take(W * WORD).enumerate() {
        number.from[index / WORD] = 1 << (index % WORD);
    }
    let mut results = vec![Traced::constant(0.0); residuals.len()];
    system.residuals(&traced, &mut results);
    for (relation, (result, residual)) in results.iter().zip(residuals).enumerate() {
        *residual = result.value;
        pattern.set_words(relation, first / WORD, &result.from);
    }
}
