//! In which directions unknowns can still move.
//!
//! Invariant: there are as many motions as degrees of freedom, each breaks no relation to first order, and the
//! unknown that stands for a motion does not move in the others.

use nalgebra::{Cholesky, DMatrix};

use crate::quantity::tolerance;

use super::super::span::{Span, is_spanned};
use super::super::structure::blocks;
use super::super::trace::trace;
use super::super::{Motion, System, is_fixed, jacobian};

/// The motions of a system of equal relations at its answer, by the unknowns that stand for them.
pub(super) fn motions<P: System>(system: &P, answer: &[f64]) -> Vec<Motion> {
    // What has one value only does not move: it counts as held by a relation of its own.
    let is_fixed = |unknown: usize| is_fixed(system, unknown);
    let slopes = jacobian(system, answer);
    let (pattern, _) = trace(system, answer);
    let mut motions = Vec::new();
    let mut in_block = vec![false; answer.len()];
    for block in blocks(&pattern) {
        block.unknowns.iter().for_each(|&unknown| in_block[unknown] = true);
        let mut span = Span::default();
        for &relation in &block.relations {
            let gradient: Vec<f64> = block.unknowns.iter().map(|&u| slopes[(relation, u)]).collect();
            let (rest, parts) = span.split(&gradient);
            if !is_spanned(&rest, &gradient) {
                span.push(rest, parts);
            }
        }
        for at in (0..block.unknowns.len()).filter(|&at| is_fixed(block.unknowns[at])) {
            let mut gradient = vec![0.0; block.unknowns.len()];
            gradient[at] = 1.0;
            let (rest, parts) = span.split(&gradient);
            if !is_spanned(&rest, &gradient) {
                span.push(rest, parts);
            }
        }
        motions.extend(motions_beside(&span, block.unknowns.len(), &block.unknowns));
    }
    let alone = in_block.iter().enumerate().filter(|(unknown, known)| !**known && !is_fixed(*unknown));
    motions.extend(alone.map(|(unknown, _)| Motion { unknown, parts: vec![(unknown, 1.0)] }));
    motions.sort_by_key(|motion| motion.unknown);
    motions
}

/// The motions at right angles to what gradients span: the reduced echelon form of that space, with the
/// loosest unknowns standing for the motions.
fn motions_beside(span: &Span, count: usize, unknowns: &[usize]) -> Vec<Motion> {
    // What is left of a move of each unknown when the gradients are taken out of it.
    let mut left = DMatrix::<f64>::identity(count, count);
    for vector in &span.vectors {
        for j in 0..count {
            for i in 0..count {
                left[(i, j)] -= vector[i] * vector[j];
            }
        }
    }
    let mut deflated = left.clone();
    let mut chosen = Vec::new();
    for _ in span.vectors.len()..count {
        let loosest = (0..count).map(|i| deflated[(i, i)]).fold(0.0, f64::max);
        // Of those equally loose but for rounding, the first one.
        let is_loosest = |i: &usize| deflated[(*i, *i)] >= loosest * (1.0 - tolerance::RANK_SHARE);
        let pick = (0..count).find(is_loosest).expect("one of them is the loosest");
        let column = deflated.column(pick) / loosest;
        for j in 0..count {
            let share = deflated[(pick, j)];
            for i in 0..count {
                deflated[(i, j)] -= column[i] * share;
            }
        }
        chosen.push(pick);
    }
    chosen.sort_unstable();
    let moves = left.select_columns(&chosen);
    let Some(square) = Cholesky::new(moves.select_rows(&chosen)) else { return Vec::new() };
    let reduced = moves * square.inverse();
    let motion = |(at, &own): (usize, &usize)| {
        let column = reduced.column(at);
        let part = |(i, &value): (usize, &f64)| {
            let value = if i == own { 1.0 } else { value };
            let stands = chosen.contains(&i) && i != own;
            (!stands && value.abs() > tolerance::MOTION_SHARE).then_some((unknowns[i], value))
        };
        Motion { unknown: unknowns[own], parts: column.iter().enumerate().filter_map(part).collect() }
    };
    chosen.iter().enumerate().map(motion).collect()
}
