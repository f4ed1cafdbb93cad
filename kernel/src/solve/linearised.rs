//! A system linearised at one point: its gradients, and steps from them by normal equations.
//!
//! The step `h` to a change `c` of the residuals makes `|J h − c|² + damping |h|²` smallest. It is found by
//! Cholesky on the smaller side: `(JᵀJ + damping) h = Jᵀc`, or `(JJᵀ + damping) y = c` with `h = Jᵀy`; both
//! give the same step, which lies in the span of the gradients, so that as damping goes to zero it is the
//! shortest of all best steps. Sums run in a fixed order here and not in a library's matrix product,
//! because that one picks its instructions, and with them its rounding, by machine.
//! Invariant: the same system at the same point gives the same steps, bit for bit.

use std::ops::Range;

use nalgebra::{Cholesky, DMatrix, DVectorViewMut, Dyn};

use crate::quantity::tolerance;

use super::System;
use super::jacobian::Passes;
use super::weighted::{Point, Weighted};

/// Chord steps after one factorisation at most; each lowers the residuals tenfold, so 1 to rounding is 16.
const CHORD_LIMIT: usize = 16;

/// The linearisation and room for steps from it.
pub(super) struct Linearised {
    /// Column `i` is the gradient of weighted relation `i`.
    gradients: DMatrix<f64>,
    /// Lower triangle of the normal matrix without damping.
    normal: DMatrix<f64>,
    factor: Option<Cholesky<f64, Dyn>>,
    side: Side,
    passes: Passes,
    right: Vec<f64>,
    extents: Vec<Range<usize>>,
}

/// Which normal matrix is the smaller one.
#[derive(Clone, Copy)]
enum Side {
    Unknowns,
    Relations,
}

impl Linearised {
    /// Room for a system of this size, with all gradients zero.
    pub(super) fn new(unknowns: usize, relations: usize) -> Self {
        let (side, size) =
            if relations <= unknowns { (Side::Relations, relations) } else { (Side::Unknowns, unknowns) };
        Self {
            gradients: DMatrix::zeros(unknowns, relations),
            normal: DMatrix::zeros(size, size),
            factor: None,
            side,
            passes: Passes::default(),
            right: vec![0.0; size],
            extents: Vec::with_capacity(relations),
        }
    }

    /// Column `i` is the gradient of weighted relation `i`.
    pub(super) fn gradients(&self) -> &DMatrix<f64> {
        &self.gradients
    }

    /// The gradient of each weighted relation.
    pub(super) fn gradient_of_each(&self) -> impl Iterator<Item = &[f64]> {
        self.gradients.as_slice().chunks_exact(self.gradients.nrows().max(1))
    }

    /// Takes the gradients at `unknowns`; false if one of them is not finite.
    pub(super) fn linearise<P: System>(&mut self, weighted: &Weighted<P>, unknowns: &[f64]) -> bool {
        self.passes.gradients(weighted.system, unknowns, &mut self.gradients);
        let columns = self.gradients.as_mut_slice().chunks_exact_mut(unknowns.len().max(1));
        let mut sum = 0.0;
        for (gradient, weight) in columns.zip(weighted.weights()) {
            for part in gradient {
                *part *= weight;
                sum += *part * 0.0;
            }
        }
        // Zero times infinity or NaN is NaN, and zero times anything else is zero.
        sum == 0.0
    }

    /// Forms the normal matrix of the gradients and returns its largest diagonal entry.
    pub(super) fn form_normal(&mut self) -> f64 {
        let size = self.normal.nrows();
        let unknowns = self.gradients.nrows();
        let gradients = self.gradients.as_slice();
        match self.side {
            Side::Relations => {
                let normal = self.normal.as_mut_slice();
                // A relation knows only the unknowns before it in its chain, so that most products are short.
                self.extents.clear();
                self.extents.extend(gradients.chunks_exact(unknowns.max(1)).map(extent));
                let column = |i: usize, part: &Range<usize>| &gradients[i * unknowns..][part.clone()];
                for j in 0..size {
                    let part = &self.extents[j];
                    let b = column(j, part);
                    let products = &mut normal[j * size + j..(j + 1) * size];
                    let (fours, rest) = products.as_chunks_mut::<4>();
                    let mut i = j;
                    // Four at a time, because their sums can then run beside each other.
                    for four in fours {
                        *four = dot_four([0, 1, 2, 3].map(|more| column(i + more, part)), b);
                        i += 4;
                    }
                    for product in rest {
                        *product = dot(column(i, part), b);
                        i += 1;
                    }
                }
            }
            Side::Unknowns => {
                self.normal.fill(0.0);
                let normal = self.normal.as_mut_slice();
                for gradient in gradients.chunks_exact(size.max(1)) {
                    for j in 0..size {
                        let column = &mut normal[j * size + j..(j + 1) * size];
                        add_multiple(column, gradient[j], &gradient[j..]);
                    }
                }
            }
        }
        (0..size).map(|i| self.normal[(i, i)]).fold(0.0, f64::max)
    }

    /// Factors the normal matrix with `damping` added to its diagonal; false if it is not positive definite.
    pub(super) fn factor(&mut self, damping: f64) -> bool {
        let mut damped = self.normal.clone();
        for i in 0..damped.nrows() {
            damped[(i, i)] += damping;
        }
        self.factor = Cholesky::new(damped);
        self.factor.is_some()
    }

    /// Writes the step that changes the linearised residuals by `change`, as well as it can be done.
    ///
    /// # Panics
    /// If the last [`factor`](Self::factor) did not succeed.
    pub(super) fn step(&mut self, change: &[f64], step: &mut [f64]) {
        let factor = self.factor.as_ref().expect("a step is asked for only after a factorisation");
        match self.side {
            Side::Relations => {
                self.right.copy_from_slice(change);
                factor.solve_mut(&mut DVectorViewMut::from_slice(&mut self.right, change.len()));
                combine(&self.gradients, &self.right, step);
            }
            Side::Unknowns => {
                combine(&self.gradients, change, step);
                let size = step.len();
                factor.solve_mut(&mut DVectorViewMut::from_slice(step, size));
            }
        }
    }

    /// Writes the gradient of half the square of `residuals`: `Jᵀ residuals`.
    pub(super) fn slope(&self, residuals: &[f64], slope: &mut [f64]) {
        combine(&self.gradients, residuals, slope);
    }

    /// Goes on from `point` with steps of the present factorisation (chord steps), which cost one look at the
    /// residuals each, while these fall tenfold or, once all are held, by half. Returns how many were good.
    pub(super) fn chord_steps<P: System>(
        &mut self,
        weighted: &Weighted<P>,
        point: &mut Point,
        trial: &mut Point,
        step: &mut [f64],
    ) -> usize {
        for taken in 0..CHORD_LIMIT {
            if point.is_polished() {
                return taken;
            }
            self.step(&point.residuals, step);
            trial.unknowns.copy_from_slice(&point.unknowns);
            add_multiple(&mut trial.unknowns, -1.0, step);
            weighted.evaluate(trial);
            let wanted = if point.is_held() { 0.25 } else { 0.01 };
            let fallen = trial.square <= wanted * point.square;
            if !fallen {
                return taken;
            }
            std::mem::swap(point, trial);
        }
        CHORD_LIMIT
    }
}

/// Damping that belongs to a share of the largest diagonal entry, never below what rounding asks for.
pub(super) fn damping(share: f64, largest_diagonal: f64) -> f64 {
    share.max(tolerance::DAMPING_FLOOR) * largest_diagonal
}

/// Sum of the columns of `gradients`, each taken `factors` times.
fn combine(gradients: &DMatrix<f64>, factors: &[f64], sum: &mut [f64]) {
    sum.fill(0.0);
    for (gradient, &factor) in gradients.as_slice().chunks_exact(sum.len().max(1)).zip(factors) {
        add_multiple(sum, factor, gradient);
    }
}

/// `sum += factor · addend`, entry by entry.
pub(super) fn add_multiple(sum: &mut [f64], factor: f64, addend: &[f64]) {
    for (entry, part) in sum.iter_mut().zip(addend) {
        *entry += factor * part;
    }
}

/// From the first to past the last entry that is not zero.
fn extent(gradient: &[f64]) -> Range<usize> {
    let first = gradient.iter().position(|&part| part != 0.0).unwrap_or(gradient.len());
    let end = gradient.iter().rposition(|&part| part != 0.0).map_or(first, |last| last + 1);
    first..end
}

/// Scalar product, summed in four interleaved parts in a fixed order.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let ((fours_a, rest_a), (fours_b, rest_b)) = (a.as_chunks::<4>(), b.as_chunks::<4>());
    let mut sums = [0.0; 4];
    for (x, y) in fours_a.iter().zip(fours_b) {
        for lane in 0..4 {
            sums[lane] += x[lane] * y[lane];
        }
    }
    let rest: f64 = rest_a.iter().zip(rest_b).map(|(x, y)| x * y).sum();
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + rest
}

/// Scalar products of four vectors with `b`, each summed in two interleaved parts in a fixed order.
fn dot_four(a: [&[f64]; 4], b: &[f64]) -> [f64; 4] {
    let (pairs, last) = b.as_chunks::<2>();
    let [(a0, last0), (a1, last1), (a2, last2), (a3, last3)] = a.map(|vector| vector.as_chunks::<2>());
    let mut sums = [[0.0; 2]; 4];
    for ((((b, a0), a1), a2), a3) in pairs.iter().zip(a0).zip(a1).zip(a2).zip(a3) {
        for (sum, a) in sums.iter_mut().zip([a0, a1, a2, a3]) {
            sum[0] += a[0] * b[0];
            sum[1] += a[1] * b[1];
        }
    }
    let mut whole = sums.map(|[even, odd]| even + odd);
    for (sum, a) in whole.iter_mut().zip([last0, last1, last2, last3]) {
        for (x, y) in a.iter().zip(last) {
            *sum += x * y;
        }
    }
    whole
}
