//! Which tools suit a bend, and how long they are made up.
//!
//! Invariant: tools of a pair leave the turn under load open, and fit into the brake. Must not know: the part around
//! the bend.

use crate::quantity::tolerance;
use crate::stock::{Die, Punch, Tooling};

use super::steps::ToolPair;

/// Dies whose angles differ by less are of one kind, in degrees.
const BLUNT_DEG: f64 = 10.0;

/// Which dies are tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dies {
    /// For each bend the one that suits the sheet, or the widest over which the shorter flange lies; punches and dies
    /// that the force is too great for only where no others are there.
    Usual,
    /// These and all narrower ones that are not too narrow for the sheet, which leave more room and need more force,
    /// and tools that the force is too great for.
    Narrower,
}

/// What a bend wants of its tools.
pub(super) struct Wanted<'w> {
    /// Turn under load in degrees.
    pub(super) turn_deg: f64,
    /// Opening that suits sheet and radius, in mm.
    pub(super) rule: f64,
    /// Whether a die of an opening is on hand.
    pub(super) on_hand: &'w dyn Fn(f64) -> bool,
    /// Whether the shorter flange lies over an opening that is not too narrow for the sheet.
    pub(super) lies: &'w dyn Fn(f64) -> bool,
    /// How far the punch goes down with a die of an opening, from on top of two sheets, in mm.
    pub(super) way_down: &'w dyn Fn(f64) -> f64,
    /// The greatest force over an opening that is to be expected, in kN for each metre; 0 where nothing is known.
    pub(super) load: &'w dyn Fn(f64) -> f64,
}

/// Tools for a bend: the widest die on hand up to the opening by rule over which the shorter flange lies, with those
/// punches whose angle suits, in the order of the shop's list.
pub(super) fn pairs(tooling: &Tooling, wanted: &Wanted<'_>, dies: Dies) -> Vec<ToolPair> {
    let open = 180.0 - wanted.turn_deg;
    let suits = |die: &Die| (wanted.on_hand)(die.opening) && die.angle_deg <= open + tolerance::PERCENT;
    let widest_angle = tooling.dies.iter().filter(|d| suits(d)).map(|d| d.angle_deg).fold(0.0, f64::max);
    // Among those whose V fits the turn, blunt ones before sharp ones.
    let blunt = |die: &Die| die.angle_deg >= widest_angle - BLUNT_DEG;
    let fitting: Vec<usize> =
        (0..tooling.dies.len()).filter(|&i| suits(&tooling.dies[i]) && blunt(&tooling.dies[i])).collect();
    let by_rule =
        fitting.iter().copied().find(|&i| tooling.dies[i].opening >= wanted.rule - tolerance::SNAP_MM);
    let Some(by_rule) = by_rule.or(fitting.last().copied()) else { return Vec::new() };
    let opening = |i: usize| tooling.dies[i].opening;
    let widest =
        fitting.iter().copied().filter(|&i| opening(i) <= opening(by_rule) && (wanted.lies)(opening(i)));
    let widest = widest.map(opening).reduce(f64::max).unwrap_or(opening(by_rule));
    // Of alike ones the first in the shop's list that stands the force.
    let mut alike = fitting.iter().copied().filter(|&i| opening(i) == widest);
    let first = alike.clone().next().unwrap_or(by_rule);
    let stands = |most_kn_per_m: f64, die: usize| (wanted.load)(opening(die)) <= most_kn_per_m;
    let usual = alike.find(|&i| stands(tooling.dies[i].most_kn_per_m, i)).unwrap_or(first);
    let narrower =
        fitting.iter().copied().rev().filter(|&i| opening(i) < widest && (wanted.lies)(opening(i)));
    let tried: Vec<usize> = match dies {
        Dies::Usual => vec![usual],
        Dies::Narrower => std::iter::once(usual).chain(narrower).collect(),
    };
    let fits = |punch: &Punch, die: usize| {
        let height = punch.height + tooling.dies[die].height + (wanted.way_down)(opening(die));
        punch.angle_deg <= open + tolerance::PERCENT && height <= tooling.brake.daylight
    };
    let all = tried.into_iter().flat_map(|die| {
        let punches = (0..tooling.punches.len()).filter(move |&i| fits(&tooling.punches[i], die));
        punches.map(move |punch| ToolPair { punch, die })
    });
    let all: Vec<ToolPair> = all.collect();
    let is_stout = |pair: &ToolPair| stands(tooling.punches[pair.punch].most_kn_per_m, pair.die);
    match dies {
        Dies::Usual if all.iter().any(is_stout) => all.into_iter().filter(is_stout).collect(),
        Dies::Usual | Dies::Narrower => all,
    }
}

/// Which lengths in whole mm the segments add up to.
pub(super) fn lengths(tooling: &Tooling) -> Vec<bool> {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "segments are a few metres long"
    )]
    let whole = |length: f64| length.round().max(0.0) as usize;
    let most: usize = tooling.segments.iter().map(|segment| whole(*segment)).sum();
    let mut known = vec![false; most + 1];
    known[0] = true;
    for segment in &tooling.segments {
        let segment = whole(*segment);
        for length in (segment..=most).rev() {
            known[length] |= known[length - segment];
        }
    }
    known
}

/// The shortest length of tools that covers the bend, or else the longest one that is nearly as long. For a bend
/// longer than all segments together it is the bend's own: whether the brake is as long is for the checks to say.
pub(super) fn made_up(lengths: &[bool], bend: f64, needed: f64, clear: f64) -> Option<f64> {
    #[expect(clippy::cast_precision_loss, reason = "lengths of a few metres")]
    let long = |i: usize| i as f64;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a length above zero")]
    let from = |length: f64| (length.floor().max(0.0) as usize).min(lengths.len());
    let all = |from: usize| (from..lengths.len()).filter(|i| lengths[*i]).map(long);
    let longest = long(lengths.iter().rposition(|known| *known).unwrap_or(0));
    if longest < needed {
        return (bend <= clear).then_some(bend);
    }
    let covering = all(from(bend)).find(|l| bend <= *l).filter(|l| *l <= clear);
    covering.or_else(|| all(from(needed)).take_while(|l| *l <= clear).filter(|l| needed <= *l).last())
}
