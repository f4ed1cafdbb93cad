//! What a list of gradients spans, one added after the other (Gram and Schmidt, with each gradient split twice).
//!
//! Invariant: the base is orthonormal to rounding, and gradient `k` is a sum of its first `k + 1` vectors.

use crate::quantity::tolerance;

use super::gradients::{add_multiple, dot};

/// Gradients with an orthonormal base of what they span.
#[derive(Default)]
pub(super) struct Span {
    /// The base.
    pub(super) vectors: Vec<Vec<f64>>,
    /// Column `k` has the parts of gradient `k` along the first `k + 1` vectors.
    triangle: Vec<Vec<f64>>,
}

impl Span {
    /// What of a gradient is not spanned yet, and its parts along the vectors.
    pub(super) fn split(&self, gradient: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let mut rest = gradient.to_vec();
        let mut parts = vec![0.0; self.vectors.len()];
        // Twice, because once leaves rounding along the vectors.
        for _ in 0..2 {
            for (part, vector) in parts.iter_mut().zip(&self.vectors) {
                let along = dot(vector, &rest);
                *part += along;
                add_multiple(&mut rest, -along, vector);
            }
        }
        (rest, parts)
    }

    /// The factors of the gradients that sum up to what has these parts along the vectors.
    pub(super) fn factors(&self, mut parts: Vec<f64>) -> Vec<f64> {
        for k in (0..parts.len()).rev() {
            parts[k] /= self.triangle[k][k];
            for i in 0..k {
                parts[i] -= self.triangle[k][i] * parts[k];
            }
        }
        parts
    }

    /// Adds a gradient, as it was split.
    pub(super) fn push(&mut self, mut rest: Vec<f64>, mut parts: Vec<f64>) {
        let length = dot(&rest, &rest).sqrt();
        rest.iter_mut().for_each(|part| *part /= length);
        parts.push(length);
        self.vectors.push(rest);
        self.triangle.push(parts);
    }

    /// Forgets all but the first `count` gradients.
    pub(super) fn truncate(&mut self, count: usize) {
        self.vectors.truncate(count);
        self.triangle.truncate(count);
    }
}

/// Whether so little is left of a gradient that it counts as spanned.
pub(super) fn is_spanned(rest: &[f64], gradient: &[f64]) -> bool {
    dot(rest, rest) <= tolerance::RANK_SHARE * tolerance::RANK_SHARE * dot(gradient, gradient)
}
