//! How far the dimensions and gaps of a part spread in the shop.
//!
//! Invariant: entries are in the order of the part's dimensions and gaps. Must not know: how spreads are shown, what
//! the part is near to.

use crate::dimension::{Follow, Settled, SheetNumbers, Skeleton, Spread, Stack, Tolerances, follows};
use crate::history::History;
use crate::stock::Sheet;

use super::FoldTree;
use super::gap::{Gap, gaps};

/// How far a part may be off.
#[derive(Clone, Debug)]
pub struct ToleranceStack {
    /// By how much the shop may be off.
    pub tolerances: Tolerances,
    /// How far each dimension spreads.
    pub dimensions: Vec<Spread>,
    /// Which held dimensions each measured one follows.
    pub follows: Vec<Vec<Follow>>,
    /// Gaps, and how far each spreads.
    pub gaps: Vec<(Gap, Spread)>,
}

/// By how much the shop may be off in a folded part, whose blank has this length and width in mm.
#[must_use]
pub fn tolerances(history: &History, tree: &FoldTree, blank: [f64; 2]) -> Tolerances {
    Tolerances::of(history.tolerances.as_ref(), tree.thickness(), blank[0].max(blank[1]))
}

/// The stack of a settled and folded part; `stack` is the part ready to be off by these tolerances.
///
/// # Panics
/// If the part was made from another history.
#[must_use]
pub fn tolerance_stack(
    history: &History,
    skeleton: &Skeleton<'_>,
    sheet: &Sheet,
    settled: &Settled,
    tree: &FoldTree,
    tolerances: Tolerances,
    stack: &Stack<'_, '_>,
) -> ToleranceStack {
    let numbers = SheetNumbers::from(sheet);
    let gaps = gaps(tree, skeleton, &settled.free);
    let spreads = stack.smallest_distances(&gaps.iter().map(|gap| gap.pairs.as_slice()).collect::<Vec<_>>());
    ToleranceStack {
        tolerances,
        dimensions: stack.dimensions(),
        follows: follows(history, skeleton, numbers, settled, settled.blank),
        gaps: gaps.into_iter().zip(spreads).collect(),
    }
}
