//! Whether there is any order at all.
//!
//! Job: depth first over the sets of strokes that can be done, whatever they cost. Invariant: an order that is told can
//! be made; where none is told, every set that can be reached was looked at. Must not know: costs, geometry.

use super::memo::Memo;
use super::search::{Wishes, bits};
use super::steps::Steps;
use super::wings::Mask;

/// What came of looking for any order.
pub(super) enum AnyOrder {
    /// Strokes in an order that works.
    Found(Vec<usize>),
    /// No way leads to the end; the sets of strokes that can be done, the blank with them.
    None(Vec<Mask>),
    /// There are more sets than were to be looked at.
    TooMany,
}

/// Looks for an order that grants the wishes, over no more than `most` sets of strokes.
pub(super) fn any_order(steps: &mut Steps<'_>, wishes: &Wishes, most: usize) -> AnyOrder {
    let all = steps.all();
    let mut seen: Memo<()> = Memo::default();
    seen.insert((0, 0), ());
    let (mut way, mut done): (Vec<usize>, Mask) = (Vec::new(), 0);
    // What is still to be tried at each place of the way.
    let mut ahead = vec![open(steps, wishes, done)];
    while let Some(left) = ahead.last_mut() {
        // Strokes far from the base first: they are rarely reached any more when those before them are done.
        let Some(stroke) = left.checked_ilog2().map(|bit| bit as usize) else {
            ahead.pop();
            done &= way.pop().map_or(0, |stroke| !(1 << stroke));
            continue;
        };
        *left &= !(1 << stroke);
        if seen.insert((0, done | 1 << stroke), ()).is_some() {
            continue;
        }
        way.push(stroke);
        done |= 1 << stroke;
        if done == all {
            return AnyOrder::Found(way);
        }
        if seen.len() > most {
            return AnyOrder::TooMany;
        }
        ahead.push(open(steps, wishes, done));
    }
    AnyOrder::None(seen.into_keys().map(|(_, done)| done).collect())
}

/// The strokes that can be made with the strokes `done`.
fn open(steps: &mut Steps<'_>, wishes: &Wishes, done: Mask) -> Mask {
    let place = done.count_ones() as usize;
    let left = bits(steps.all() & !done);
    left.filter(|&stroke| steps.can(done, stroke, |choice| wishes.allow(choice, place)))
        .fold(0, |open, stroke| open | 1 << stroke)
}
