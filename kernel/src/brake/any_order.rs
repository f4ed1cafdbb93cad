//! Whether there is any order at all.
//!
//! Job: depth first, back from the finished part, over the sets of strokes from which it can be finished, whatever that
//! costs. Looking back is quick, because little is possible on a part that is nearly finished, and almost everything on
//! the blank. Invariant: an order that is told can be made; where none is told, every set from which the part can be
//! finished was looked at. Must not know: costs, geometry.

use super::memo::Memo;
use super::search::Wishes;
use super::steps::Steps;
use super::wings::Mask;

/// What came of looking for any order.
pub(super) enum AnyOrder {
    /// Strokes in an order that works.
    Found(Vec<usize>),
    /// There is none; the sets of strokes from which the part can be finished, the finished part with them.
    None(Vec<Mask>),
    /// There are more sets than were to be looked at.
    TooMany,
}

/// Looks for an order that grants the wishes, over no more than `most` sets of strokes.
pub(super) fn any_order(steps: &mut Steps<'_>, wishes: &Wishes, most: usize) -> AnyOrder {
    let mut done = steps.all();
    let mut seen: Memo<()> = Memo::default();
    seen.insert((0, done), ());
    let mut way: Vec<usize> = Vec::new();
    // What is still to be tried as the last stroke before each place of the way.
    let mut tried = vec![done];
    while let Some(left) = tried.last_mut() {
        // Strokes near the base first: those that stand far out were mostly made before them.
        let stroke = left.trailing_zeros() as usize;
        if *left == 0 {
            tried.pop();
            done |= way.pop().map_or(0, |stroke| 1 << stroke);
            continue;
        }
        *left &= !(1 << stroke);
        let before = done & !(1 << stroke);
        let place = before.count_ones() as usize;
        let can = |steps: &mut Steps<'_>| steps.can(before, stroke, |choice| wishes.allow(choice, place));
        if seen.contains_key(&(0, before)) || !can(steps) {
            continue;
        }
        seen.insert((0, before), ());
        way.push(stroke);
        if before == 0 {
            way.reverse();
            return AnyOrder::Found(way);
        }
        if seen.len() > most {
            return AnyOrder::TooMany;
        }
        done = before;
        tried.push(before);
    }
    AnyOrder::None(seen.into_keys().map(|(_, done)| done).collect())
}
