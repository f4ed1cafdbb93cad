//! Normal matrices and their factors, with all entries or within an envelope.
//!
//! Invariant: the same gradients and damping give the same factor, bit for bit.

use nalgebra::{Cholesky, DMatrix, DVectorViewMut, Dyn};

use super::envelope::Envelope;
use super::gradients::{Gradients, add_multiple, dot, dot_four, extent};
use super::ordering::Bundles;

/// Which normal matrix is the smaller one: that of the unknowns, `JᵀJ`, or that of the relations, `JJᵀ`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    Unknowns,
    Relations,
}

/// A symmetric matrix that can be factored with something added to its diagonal.
pub(super) enum Normal {
    Full { matrix: DMatrix<f64>, factor: Option<Cholesky<f64, Dyn>> },
    Sparse(Envelope),
}

impl Normal {
    pub(super) fn full(size: usize) -> Self {
        Self::Full { matrix: DMatrix::zeros(size, size), factor: None }
    }

    /// The normal matrix of sparse gradients whose entries are those of `rows`.
    pub(super) fn sparse(side: Side, rows: &Bundles) -> Self {
        Self::Sparse(match side {
            Side::Unknowns => Envelope::new(rows, false),
            Side::Relations => Envelope::new(&rows.turned(), true),
        })
    }

    /// Forms the normal matrix of `gradients` and returns its largest diagonal entry.
    pub(super) fn form(&mut self, gradients: &Gradients, side: Side) -> f64 {
        match self {
            Self::Full { matrix, .. } => {
                match side {
                    Side::Relations => form_of_relations(gradients, matrix),
                    Side::Unknowns => form_of_unknowns(gradients, matrix),
                }
                (0..matrix.nrows()).map(|i| matrix[(i, i)]).fold(0.0, f64::max)
            }
            Self::Sparse(envelope) => envelope.form(&gradients.values),
        }
    }

    /// Factors the matrix with `damping` added to its diagonal; false if it is not positive definite.
    pub(super) fn factor(&mut self, damping: f64) -> bool {
        match self {
            Self::Full { matrix, factor } => {
                let mut damped = factor.take().map_or_else(|| matrix.clone(), Cholesky::unpack_dirty);
                damped.copy_from(matrix);
                for i in 0..damped.nrows() {
                    damped[(i, i)] += damping;
                }
                *factor = Cholesky::new(damped);
                factor.is_some()
            }
            Self::Sparse(envelope) => envelope.factor(damping),
        }
    }

    /// Turns a right side into the solution.
    ///
    /// # Panics
    /// If the last [`factor`](Self::factor) did not succeed.
    pub(super) fn solve(&mut self, right: &mut [f64]) {
        match self {
            Self::Full { factor, .. } => {
                let factor = factor.as_ref().expect("a solution is asked for only after a factorisation");
                let size = right.len();
                factor.solve_mut(&mut DVectorViewMut::from_slice(right, size));
            }
            Self::Sparse(envelope) => envelope.solve(right),
        }
    }
}

/// Lower triangle of `JJᵀ`.
fn form_of_relations(gradients: &Gradients, matrix: &mut DMatrix<f64>) {
    let size = matrix.nrows();
    // A relation knows only the unknowns before it in its chain, so that most products are short.
    for (j, products) in matrix.as_mut_slice().chunks_exact_mut(size.max(1)).enumerate() {
        let gradient = gradients.row(j);
        let part = extent(gradient);
        let b = &gradient[part.clone()];
        let products = &mut products[j..];
        let (fours, rest) = products.as_chunks_mut::<4>();
        let mut i = j;
        // Four at a time, because their sums can then run beside each other.
        for four in fours {
            *four = dot_four([0, 1, 2, 3].map(|more| &gradients.row(i + more)[part.clone()]), b);
            i += 4;
        }
        for product in rest {
            *product = dot(&gradients.row(i)[part.clone()], b);
            i += 1;
        }
    }
}

/// Lower triangle of `JᵀJ`.
fn form_of_unknowns(gradients: &Gradients, matrix: &mut DMatrix<f64>) {
    let size = matrix.nrows();
    matrix.fill(0.0);
    let normal = matrix.as_mut_slice();
    for relation in 0..gradients.relation_count() {
        let gradient = gradients.row(relation);
        for j in 0..size {
            let column = &mut normal[j * size + j..(j + 1) * size];
            add_multiple(column, gradient[j], &gradient[j..]);
        }
    }
}
