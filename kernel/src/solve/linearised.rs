//! A block linearised at one point: its gradients, and steps from them by normal equations.
//!
//! The step `h` to a change `c` of the residuals makes `|J h − c|² + damping |h|²` smallest. It is found by
//! Cholesky on the smaller side: `(JᵀJ + damping) h = Jᵀc`, or `(JJᵀ + damping) y = c` with `h = Jᵀy`; both
//! give the same step, which lies in the span of the gradients, so that as damping goes to zero it is the
//! shortest of all best steps. Invariant: the same block at the same point gives the same steps, bit for bit.

use crate::quantity::tolerance;

use super::gradients::Gradients;
use super::normal::{Normal, Side};
use super::ordering::Bundles;
use super::pattern::Pattern;
use super::rank::{self, Rank};
use super::structure::Block;

/// Up to this many unknowns a block keeps all entries of its gradients: order, colours and envelope would
/// cost more than they save.
const FULL_LIMIT: usize = 64;

/// A block with more unknowns is sparse if its gradients have at most this share of entries.
const SPARSE_SHARE: f64 = 0.25;

/// The linearisation and room for steps from it.
pub(super) struct Linearised {
    /// Gradients of the weighted relations by scaled unknowns.
    pub(super) gradients: Gradients,
    /// The gradients that take part, if not all do.
    kept: Option<Gradients>,
    normal: Normal,
    side: Side,
    right: Vec<f64>,
    /// The lane of each unknown when derivatives are taken. Unknowns of one relation have different ones.
    pub(super) colours: Colours,
    /// The unknowns of each relation, if the gradients are sparse.
    rows: Option<Bundles>,
}

/// The lanes of the unknowns of a block.
pub(super) enum Colours {
    /// Each has its own.
    Own,
    /// These, below `count`.
    Shared { colour: Vec<usize>, count: usize },
}

impl Linearised {
    /// Room for a block of a system with this pattern.
    pub(super) fn new(pattern: &Pattern, block: &Block) -> Self {
        let (unknowns, relations) = (block.unknowns.len(), block.relations.len());
        let (side, size) =
            if relations <= unknowns { (Side::Relations, relations) } else { (Side::Unknowns, unknowns) };
        let right = vec![0.0; size];
        if let Some(rows) = sparse_rows(pattern, block) {
            let gradients = Gradients::sparse(unknowns, &rows);
            let rows = Bundles::new(rows, unknowns);
            let colour = rows.colours();
            let count = colour.iter().max().map_or(0, |last| last + 1);
            let colours = Colours::Shared { colour, count };
            let normal = Normal::sparse(side, &rows);
            Self { gradients, kept: None, normal, side, right, colours, rows: Some(rows) }
        } else {
            let gradients = Gradients::full(unknowns, relations);
            let normal = Normal::full(size);
            Self { gradients, kept: None, normal, side, right, colours: Colours::Own, rows: None }
        }
    }

    /// Whether every entry of the gradients has room.
    pub(super) fn is_full(&self) -> bool {
        self.rows.is_none()
    }

    /// Forms the normal matrix of all gradients and returns its largest diagonal entry.
    pub(super) fn form_normal(&mut self) -> f64 {
        self.kept = None;
        self.normal.form(&self.gradients, self.side)
    }

    /// Forms the normal matrix of the relations and unknowns that take part; others count as not there, and
    /// their unknowns do not move. Returns its largest diagonal entry.
    pub(super) fn form_kept(&mut self, relations: &[bool], unknowns: &[bool]) -> f64 {
        let kept = self.kept.insert(self.gradients.clone());
        kept.keep(relations, unknowns);
        self.normal.form(kept, self.side)
    }

    /// Factors the normal matrix with `damping` added to its diagonal; false if it is not positive definite.
    pub(super) fn factor(&mut self, damping: f64) -> bool {
        self.normal.factor(damping)
    }

    /// Writes the step that changes the linearised residuals by `change`, as well as it can be done.
    ///
    /// # Panics
    /// If the last [`factor`](Self::factor) did not succeed.
    pub(super) fn step(&mut self, change: &[f64], step: &mut [f64]) {
        let gradients = self.kept.as_ref().unwrap_or(&self.gradients);
        match self.side {
            Side::Relations => {
                self.right.copy_from_slice(change);
                self.normal.solve(&mut self.right);
                gradients.combine(&self.right, step);
            }
            Side::Unknowns => {
                gradients.combine(change, step);
                self.normal.solve(step);
            }
        }
    }

    /// How many of the relations for which `counts` are independent, and by how much.
    pub(super) fn rank(&self, counts: impl Fn(usize) -> bool) -> Rank {
        match &self.rows {
            None => rank::rank(&self.gradients, counts),
            Some(rows) => rank::sparse_rank(&self.gradients, &rows.narrow_order(), counts),
        }
    }
}

/// Damping that belongs to a share of the largest diagonal entry, never below what rounding asks for.
pub(super) fn damping(share: f64, largest_diagonal: f64) -> f64 {
    share.max(tolerance::DAMPING_FLOOR) * largest_diagonal
}

/// The places of each relation's unknowns in the block, if it is large and knows few of them at a time.
fn sparse_rows(pattern: &Pattern, block: &Block) -> Option<Vec<Vec<usize>>> {
    let unknowns = block.unknowns.len();
    if unknowns <= FULL_LIMIT {
        return None;
    }
    let mut place = vec![0; pattern.unknown_count()];
    block.unknowns.iter().enumerate().for_each(|(at, &unknown)| place[unknown] = at);
    let row = |&relation: &usize| pattern.row(relation).map(|unknown| place[unknown]).collect::<Vec<_>>();
    let rows: Vec<Vec<usize>> = block.relations.iter().map(row).collect();
    let entries: usize = rows.iter().map(Vec::len).sum();
    (entries as f64 <= SPARSE_SHARE * (unknowns * rows.len()) as f64).then_some(rows)
}
