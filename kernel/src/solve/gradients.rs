//! The gradients of a block's relations, all entries or only those of the pattern, and sums over them.
//!
//! Sums run in a fixed order here and not in a library's matrix product, because that one picks its
//! instructions, and with them its rounding, by machine. Invariant: the entries of a gradient stand in the
//! order of the unknowns.

use std::ops::Range;

/// One gradient for each relation.
#[derive(Clone)]
pub(super) struct Gradients {
    unknowns: usize,
    relations: usize,
    /// The entries of each gradient, one gradient after the other.
    pub(super) values: Vec<f64>,
    /// Which entries these are; all of them if there is none.
    sparse: Option<Places>,
}

/// The places of the entries of sparse gradients.
#[derive(Clone)]
struct Places {
    /// Where each gradient begins, and where the last one ends.
    starts: Vec<usize>,
    /// The unknown of each entry.
    unknowns: Vec<usize>,
}

impl Gradients {
    /// Gradients of zero with room for every entry.
    pub(super) fn full(unknowns: usize, relations: usize) -> Self {
        Self { unknowns, relations, values: vec![0.0; unknowns * relations], sparse: None }
    }

    /// Gradients of zero with room for the entries of these rows.
    pub(super) fn sparse(unknowns: usize, rows: &[Vec<usize>]) -> Self {
        let mut starts = vec![0];
        starts.extend(rows.iter().scan(0, |end, row| {
            *end += row.len();
            Some(*end)
        }));
        let places = Places { starts, unknowns: rows.concat() };
        let values = vec![0.0; places.unknowns.len()];
        Self { unknowns, relations: rows.len(), values, sparse: Some(places) }
    }

    pub(super) fn unknown_count(&self) -> usize {
        self.unknowns
    }

    pub(super) fn relation_count(&self) -> usize {
        self.relations
    }

    fn range(&self, relation: usize) -> Range<usize> {
        match &self.sparse {
            None => relation * self.unknowns..(relation + 1) * self.unknowns,
            Some(places) => places.starts[relation]..places.starts[relation + 1],
        }
    }

    /// The entries of the gradient of `relation` that have room.
    pub(super) fn row(&self, relation: usize) -> &[f64] {
        &self.values[self.range(relation)]
    }

    pub(super) fn row_mut(&mut self, relation: usize) -> &mut [f64] {
        let range = self.range(relation);
        &mut self.values[range]
    }

    /// The unknowns of the entries of `relation`; `None` if it has all.
    pub(super) fn places(&self, relation: usize) -> Option<&[usize]> {
        self.sparse.as_ref().map(|places| &places.unknowns[self.range(relation)])
    }

    /// The unknowns of the entries of sparse `relation`, with the entries.
    pub(super) fn places_and_row_mut(&mut self, relation: usize) -> (&[usize], &mut [f64]) {
        let range = self.range(relation);
        let places = self.sparse.as_ref().map_or(&[][..], |places| &places.unknowns[range.clone()]);
        (places, &mut self.values[range])
    }

    /// The gradient of `relation` with all its entries.
    pub(super) fn full_row(&self, relation: usize) -> Vec<f64> {
        let mut full = vec![0.0; self.unknowns];
        self.add_row(relation, 1.0, &mut full);
        full
    }

    /// Multiplies the entries of each relation by its weight and those of each unknown by its unit (no units
    /// stand for ones). Returns the sum of the squares of all entries, which is not finite if one of them is
    /// not.
    pub(super) fn scale(&mut self, weights: &[f64], units: &[f64]) -> f64 {
        if self.sparse.is_none() {
            for (row, weight) in self.values.chunks_exact_mut(self.unknowns.max(1)).zip(weights) {
                row.iter_mut().for_each(|part| *part *= weight);
                row.iter_mut().zip(units).for_each(|(part, unit)| *part *= unit);
            }
        } else {
            for (relation, weight) in weights.iter().enumerate() {
                let (places, row) = self.places_and_row_mut(relation);
                row.iter_mut().for_each(|part| *part *= weight);
                if !units.is_empty() {
                    row.iter_mut().zip(places).for_each(|(part, &unknown)| *part *= units[unknown]);
                }
            }
        }
        dot(&self.values, &self.values)
    }

    /// Sets to zero the gradients of relations and the entries of unknowns that do not take part.
    pub(super) fn keep(&mut self, relations: &[bool], unknowns: &[bool]) {
        for (relation, &kept) in relations.iter().enumerate() {
            let range = self.range(relation);
            let values = &mut self.values[range.clone()];
            if !kept {
                values.fill(0.0);
                continue;
            }
            let takes_part = |at: usize| match &self.sparse {
                None => unknowns[at],
                Some(places) => unknowns[places.unknowns[range.start + at]],
            };
            values
                .iter_mut()
                .enumerate()
                .filter(|(at, _)| !takes_part(*at))
                .for_each(|(_, part)| *part = 0.0);
        }
    }

    /// `sum += factor · gradient of relation`.
    pub(super) fn add_row(&self, relation: usize, factor: f64, sum: &mut [f64]) {
        let row = self.row(relation);
        match self.places(relation) {
            None => add_multiple(sum, factor, row),
            Some(places) => {
                for (&unknown, part) in places.iter().zip(row) {
                    sum[unknown] += factor * part;
                }
            }
        }
    }

    /// Writes the sum of the gradients, each taken `factors` times.
    pub(super) fn combine(&self, factors: &[f64], sum: &mut [f64]) {
        sum.fill(0.0);
        if self.sparse.is_none() {
            for (gradient, &factor) in self.values.chunks_exact(self.unknowns.max(1)).zip(factors) {
                add_multiple(sum, factor, gradient);
            }
        } else {
            for (relation, &factor) in factors.iter().enumerate() {
                self.add_row(relation, factor, sum);
            }
        }
    }

    /// The product of the gradient of `relation` with a vector.
    pub(super) fn product(&self, relation: usize, vector: &[f64]) -> f64 {
        let row = self.row(relation);
        match self.places(relation) {
            None => dot(row, vector),
            Some(places) => places.iter().zip(row).map(|(&unknown, part)| part * vector[unknown]).sum(),
        }
    }

    /// By how much the gradients differ from earlier ones of the same relations, each as a share of its length:
    /// the root of the sum of the squares. Zero where both are; not finite where a gradient has vanished.
    pub(super) fn change_since(&self, earlier: &Self) -> f64 {
        let square = |relation| {
            let (then, now) = (earlier.row(relation), self.row(relation));
            let square: f64 = then.iter().zip(now).map(|(then, now)| (now - then) * (now - then)).sum();
            if square > 0.0 { square / dot(now, now) } else { 0.0 }
        };
        (0..self.relations).map(square).sum::<f64>().sqrt()
    }

    /// Writes the sum of the squares of each unknown's entries.
    pub(super) fn column_squares(&self, squares: &mut [f64]) {
        squares.fill(0.0);
        for relation in 0..self.relations {
            let row = self.row(relation);
            match self.places(relation) {
                None => squares.iter_mut().zip(row).for_each(|(square, part)| *square += part * part),
                Some(places) => {
                    places.iter().zip(row).for_each(|(&unknown, part)| squares[unknown] += part * part);
                }
            }
        }
    }
}

/// `sum += factor · addend`, entry by entry.
pub(super) fn add_multiple(sum: &mut [f64], factor: f64, addend: &[f64]) {
    for (entry, part) in sum.iter_mut().zip(addend) {
        *entry += factor * part;
    }
}

/// From the first to past the last entry that is not zero.
pub(super) fn extent(gradient: &[f64]) -> Range<usize> {
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
pub(super) fn dot_four(a: [&[f64]; 4], b: &[f64]) -> [f64; 4] {
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
