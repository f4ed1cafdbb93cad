//! From an answer to the answer nearest to the start, when relations leave freedom.
//!
//! Levenberg–Marquardt steps are each the shortest, but on curved relations a chain of shortest steps does
//! not end at the nearest answer. Here the way back to the start is split into a part along the held
//! relations, which is taken, and a part across them, which is not; then the relations are held again.
//! Invariant: the result is held and not farther from the start than what came in.

use crate::quantity::tolerance;

use super::System;
use super::linearised::{Linearised, add_multiple, damping, dot};
use super::weighted::{Point, Weighted};

/// Times the way back is taken at most. Each shrinks it by the curvature of the relations times the
/// distance from the start, about tenfold for dimensions of parts.
const ROUND_LIMIT: usize = 40;

/// Times a way back is halved before the point is left where it is.
const HALVING_LIMIT: usize = 6;

/// Moves the held `point` along the relations as near to `start` as they allow. `linearised` is taken at
/// `point`.
pub(super) fn draw_towards<P: System>(
    weighted: &Weighted<P>,
    start: &[f64],
    point: &mut Point,
    linearised: &mut Linearised,
) {
    let mut candidate = point.clone();
    let mut trial = point.clone();
    let mut step = vec![0.0; start.len()];
    for _ in 0..ROUND_LIMIT {
        let largest = linearised.form_normal();
        if !linearised.factor(damping(0.0, largest)) {
            return;
        }
        let mut way: Vec<f64> = start.iter().zip(&point.unknowns).map(|(from, to)| from - to).collect();
        let distance = dot(&way, &way);
        let across: Vec<f64> = linearised.gradient_of_each().map(|gradient| dot(gradient, &way)).collect();
        linearised.step(&across, &mut step);
        add_multiple(&mut way, -1.0, &step);
        let negligible = tolerance::NEAREST_SHARE * tolerance::NEAREST_SHARE * distance;
        if dot(&way, &way) <= negligible {
            return;
        }
        let mut share = 1.0;
        let nearer = (0..HALVING_LIMIT).any(|_| {
            candidate.unknowns.copy_from_slice(&point.unknowns);
            add_multiple(&mut candidate.unknowns, share, &way);
            weighted.evaluate(&mut candidate);
            linearised.chord_steps(weighted, &mut candidate, &mut trial, &mut step);
            share *= 0.5;
            candidate.is_held() && squared_distance(&candidate.unknowns, start) < distance
        });
        if !nearer {
            return;
        }
        std::mem::swap(point, &mut candidate);
        if !linearised.linearise(weighted, &point.unknowns) {
            return;
        }
    }
}

fn squared_distance(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| (x - y) * (x - y)).sum()
}
