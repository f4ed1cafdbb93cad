//! How far the dimensions and gaps of a part spread in the shop.
//!
//! Invariant: entries are in the order of the part's dimensions and gaps. Must not know: how spreads are shown.

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

/// The stack of a settled and folded part, whose blank has this length and width in mm.
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
    blank: [f64; 2],
) -> ToleranceStack {
    let numbers = SheetNumbers::from(sheet);
    let tolerances = Tolerances::of(history.tolerances.as_ref(), tree.thickness(), blank[0].max(blank[1]));
    let stack = Stack::new(history, skeleton, numbers, settled, settled.blank, &tolerances);
    let gaps = gaps(tree, skeleton, &settled.free);
    let spreads = stack.smallest_distances(&gaps.iter().map(|gap| gap.pairs.as_slice()).collect::<Vec<_>>());
    ToleranceStack {
        tolerances,
        dimensions: stack.dimensions(),
        follows: follows(history, skeleton, numbers, settled, settled.blank),
        gaps: gaps.into_iter().zip(spreads).collect(),
    }
}
