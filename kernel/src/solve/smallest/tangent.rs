//! The motions that straightened relations leave.
//!
//! Invariant: motions are of length 1, square to each other and to the gradients of what is held.

use super::super::gradients::{add_multiple, dot};
use super::super::least_distance::{Limit, Limited};
use super::super::span::{Span, is_spanned};
use super::Straightened;

/// What is held about one place, and the motions that are left.
pub(super) struct Tangent {
    span: Span,
    /// How many vectors of the span are of what is held; the rest are motions.
    held: usize,
}

impl Tangent {
    pub(super) fn new(straightened: &Straightened) -> Self {
        let unknowns = straightened.ranges.len();
        let mut span = Span::default();
        let (equal, _) = straightened.limits(&vec![0.0; unknowns]);
        for Limited { gradient, .. } in &equal {
            add(&mut span, gradient);
        }
        let held = span.vectors.len();
        for unknown in 0..unknowns {
            let mut alone = vec![0.0; unknowns];
            alone[unknown] = 1.0;
            add(&mut span, &alone);
        }
        Self { span, held }
    }

    pub(super) fn is_empty(&self) -> bool {
        self.motions().is_empty()
    }

    pub(super) fn motions(&self) -> &[Vec<f64>] {
        &self.span.vectors[self.held..]
    }

    /// What is held together with those of the limits that push.
    pub(super) fn along(&self, limits: &[Limited], pushing: &[Limit]) -> Along {
        let mut span = Span::default();
        for vector in &self.span.vectors[..self.held] {
            add(&mut span, vector);
        }
        for Limited { gradient, .. } in limits.iter().filter(|own| pushing.contains(&own.limit)) {
            add(&mut span, gradient);
        }
        Along { span }
    }
}

/// Gradients that nothing moves along.
pub(super) struct Along {
    span: Span,
}

impl Along {
    /// What of a vector is square to all of the gradients.
    pub(super) fn part(&self, vector: &[f64]) -> Vec<f64> {
        let mut part = vector.to_vec();
        for own in &self.span.vectors {
            let along = dot(own, &part);
            add_multiple(&mut part, -along, own);
        }
        part
    }
}

/// Adds a gradient to what is spanned, unless it is already.
fn add(span: &mut Span, gradient: &[f64]) {
    let (rest, parts) = span.split(gradient);
    if !is_spanned(&rest, gradient) {
        span.push(rest, parts);
    }
}
