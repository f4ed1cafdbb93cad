//! A symmetric matrix of which each row is kept from its first entry to the diagonal, and its Cholesky factor.
//!
//! Rows are put in an order that keeps them short. Nothing before the first entry of a row ever fills in, so
//! that matrix and factor have one shape. Invariant: sums run in the order of the rows.

use super::gradients::dot;
use super::ordering::Bundles;

/// A symmetric matrix made of products within bundles, with its factor.
pub(super) struct Envelope {
    /// Row of each node.
    place: Vec<usize>,
    /// Where each row begins in the entries, and where the last one ends.
    starts: Vec<usize>,
    matrix: Vec<f64>,
    factor: Vec<f64>,
    /// Products that make the matrix, bundle after bundle.
    products: Vec<Product>,
    right: Vec<f64>,
}

/// A product of two values that adds to an entry.
struct Product {
    a: usize,
    b: usize,
    entry: usize,
}

impl Envelope {
    /// The matrix `Σ v vᵀ` over bundles of nodes, of values that stand one bundle after the other; with
    /// `turned` the values stand the other way round, one node after the other.
    pub(super) fn new(bundles: &Bundles, turned: bool) -> Self {
        let place = bundles.narrow_order();
        let size = place.len();
        let mut first: Vec<usize> = (0..size).collect();
        for bundle in &bundles.bundles {
            if let Some(least) = bundle.iter().map(|&node| place[node]).min() {
                bundle.iter().for_each(|&node| first[place[node]] = first[place[node]].min(least));
            }
        }
        let mut starts = vec![0];
        for (row, first) in first.iter().enumerate() {
            starts.push(starts[row] + row + 1 - first);
        }
        let mut products = Vec::new();
        // Where the next value of a bundle or, turned, of a node stands.
        let mut next_of_node = vec![0; size];
        if turned {
            let mut counts = vec![0; size];
            bundles.bundles.iter().flatten().for_each(|&node| counts[node] += 1);
            for node in 1..size {
                next_of_node[node] = next_of_node[node - 1] + counts[node - 1];
            }
        }
        let mut next = 0;
        let mut values = Vec::new();
        for bundle in &bundles.bundles {
            values.clear();
            for &node in bundle {
                let at = if turned { &mut next_of_node[node] } else { &mut next };
                values.push((place[node], *at));
                *at += 1;
            }
            for (i, &(row_a, a)) in values.iter().enumerate() {
                for &(row_b, b) in &values[..=i] {
                    let (row, column) = (row_a.max(row_b), row_a.min(row_b));
                    products.push(Product { a, b, entry: starts[row + 1] - 1 - (row - column) });
                }
            }
        }
        let entries = starts[size];
        Self {
            place,
            starts,
            matrix: vec![0.0; entries],
            factor: vec![0.0; entries],
            products,
            right: vec![0.0; size],
        }
    }

    /// Forms the matrix and returns its largest diagonal entry.
    pub(super) fn form(&mut self, values: &[f64]) -> f64 {
        self.matrix.fill(0.0);
        for product in &self.products {
            self.matrix[product.entry] += values[product.a] * values[product.b];
        }
        self.starts[1..].iter().map(|end| self.matrix[end - 1]).fold(0.0, f64::max)
    }

    /// Factors the matrix with `damping` added to its diagonal; false if it is not positive definite.
    pub(super) fn factor(&mut self, damping: f64) -> bool {
        self.factor.copy_from_slice(&self.matrix);
        for row in 0..self.place.len() {
            let (start, end) = (self.starts[row], self.starts[row + 1]);
            let (done, current) = self.factor.split_at_mut(start);
            let current = &mut current[..end - start];
            let last = current.len() - 1;
            let first = row - last;
            for column in first..row {
                let (other_start, other_end) = (self.starts[column], self.starts[column + 1]);
                let other = &done[other_start..other_end];
                let other_first = column + 1 - other.len();
                let from = first.max(other_first);
                let sum =
                    dot(&current[from - first..column - first], &other[from - other_first..other.len() - 1]);
                current[column - first] = (current[column - first] - sum) / other[other.len() - 1];
            }
            let pivot = current[last] + damping - dot(&current[..last], &current[..last]);
            if pivot <= 0.0 || !pivot.is_finite() {
                return false;
            }
            current[last] = pivot.sqrt();
        }
        true
    }

    /// Turns a right side into the solution with the last factor.
    pub(super) fn solve(&mut self, right: &mut [f64]) {
        for (node, &row) in self.place.iter().enumerate() {
            self.right[row] = right[node];
        }
        let size = self.place.len();
        for row in 0..size {
            let factors = &self.factor[self.starts[row]..self.starts[row + 1]];
            let (diagonal, before) = factors.split_last().expect("a row has its diagonal entry");
            let first = row - before.len();
            self.right[row] = (self.right[row] - dot(before, &self.right[first..row])) / diagonal;
        }
        for row in (0..size).rev() {
            let factors = &self.factor[self.starts[row]..self.starts[row + 1]];
            let (diagonal, before) = factors.split_last().expect("a row has its diagonal entry");
            let first = row - before.len();
            let value = self.right[row] / diagonal;
            self.right[row] = value;
            for (right, factor) in self.right[first..row].iter_mut().zip(before) {
                *right -= factor * value;
            }
        }
        for (node, &row) in self.place.iter().enumerate() {
            right[node] = self.right[row];
        }
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::{DMatrix, DVector};
    use proptest::prelude::*;

    use super::super::gradients::Gradients;
    use super::super::rank::sparse_rank;
    use super::*;

    /// Sparse rows with values, some of them sums of others: the rank is lower than the count then.
    fn sparse() -> impl Strategy<Value = (Vec<Vec<usize>>, Vec<f64>, usize)> {
        (2_usize..12).prop_flat_map(|unknowns| {
            let row = prop::collection::btree_set(0..unknowns, 1..4);
            let rows = prop::collection::vec(row, 1..16);
            let values = prop::collection::vec(0.3..2.0, 16 * 4);
            (rows, values).prop_map(move |(rows, values)| {
                let mut rows: Vec<Vec<usize>> =
                    rows.into_iter().map(|row| row.into_iter().collect()).collect();
                // A row twice.
                rows.push(rows[0].clone());
                (rows, values, unknowns)
            })
        })
    }

    fn full(rows: &[Vec<usize>], gradients: &Gradients, unknowns: usize) -> DMatrix<f64> {
        DMatrix::from_fn(rows.len(), unknowns, |i, j| gradients.full_row(i)[j])
    }

    proptest! {
        /// Both normal matrices, their solutions and the rank are those of the full matrix, by a library.
        #[test]
        fn sparse_matrices_are_the_full_ones((rows, values, unknowns) in sparse()) {
            let mut gradients = Gradients::sparse(unknowns, &rows);
            let count = gradients.values.len();
            gradients.values.copy_from_slice(&values[..count]);
            let last = rows.len() - 1;
            let repeated: Vec<f64> = gradients.row(0).iter().map(|v| -3.0 * v).collect();
            gradients.row_mut(last).copy_from_slice(&repeated);
            let full = full(&rows, &gradients, unknowns);
            let bundles = Bundles::new(rows, unknowns);
            for turned in [false, true] {
                let (mut envelope, normal) = if turned {
                    (Envelope::new(&bundles.turned(), true), &full * full.transpose())
                } else {
                    (Envelope::new(&bundles, false), full.transpose() * &full)
                };
                let largest = envelope.form(&gradients.values);
                prop_assert!((largest - normal.diagonal().max()).abs() < 1e-12);
                prop_assert!(envelope.factor(0.5));
                let right = DVector::from_fn(normal.nrows(), |i, _| (i as f64 * 1.7).fract() - 0.4);
                let mut solution = right.clone();
                envelope.solve(solution.as_mut_slice());
                let damped = &normal + DMatrix::identity(normal.nrows(), normal.nrows()) * 0.5;
                prop_assert!((damped * solution - right).norm() < 1e-12);
            }
            let place = bundles.narrow_order();
            let scaled = DMatrix::from_rows(
                &full.row_iter().map(|row| row.normalize()).collect::<Vec<_>>(),
            );
            let singular = scaled.singular_values();
            // Between what is surely zero and what is surely not, either count is right.
            let surely = singular.iter().filter(|&&value| value > 1e-7).count();
            let perhaps = singular.iter().filter(|&&value| value > 1e-11).count();
            let rank = sparse_rank(&gradients, &place, |_| true).count;
            prop_assert!((surely..=perhaps).contains(&rank), "{} of {}", rank, singular);
        }
    }
}
