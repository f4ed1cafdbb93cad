//! What steps cost, and what is left costs at least.
//!
//! Job: prices of changes between one setting of the brake and the next. Invariant: the bound never exceeds the price of any
//! order. Must not know: geometry, which steps can be made.
//!
//! Bound on what is left: changes of tools, and the greater of two sums. Either each kind of setting that is still
//! needed and not set costs one change (sides, directions of bend lines, gauge places that have none in common), or
//! each stroke that is left costs at least what the cheapest change to it does. Tools are changed for each kind that
//! has none in common, or once where those that are set do not suit all strokes that are left.

use crate::geom::Vec2;
use crate::history::feature::FoldSide;
use crate::quantity::{maths, tolerance};

use super::search::bits;
use super::steps::{Choice, Step, Steps, ToolPair};
use super::wings::{Mask, Wing};

/// What steps cost, in seconds of the folder's time (common practice, no source): only their relations matter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StepCosts {
    /// To turn the sheet over.
    pub flip: u32,
    /// To turn the sheet on the table.
    pub rotation: u32,
    /// To change the tools.
    pub tools: u32,
    /// To move the gauge.
    pub gauge: u32,
    /// To bend to a marked line, without gauge.
    pub marked_line: u32,
    /// To bend where zones rub while overbent.
    pub rub: u32,
    /// To set up a punch, for each one that stands before it in the shop's list.
    pub later_punch: u32,
}

impl Default for StepCosts {
    fn default() -> Self {
        Self { flip: 8, rotation: 5, tools: 120, gauge: 3, marked_line: 30, rub: 10, later_punch: 1 }
    }
}

/// How the brake is set and the sheet lies: steps with the same one cost the same to go on from.
///
/// Bits from below: side, direction of the back (10), tools (10), and place of the gauge (11, 0 is none).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Sig(pub(super) u32);

impl Sig {
    fn side(self) -> u32 {
        self.0 & 1
    }

    fn heading(self) -> usize {
        (self.0 >> 1 & 0x3FF) as usize
    }

    fn tools(self) -> u32 {
        self.0 >> 11 & 0x3FF
    }

    fn gauge(self) -> u32 {
        self.0 >> 21
    }
}

/// Price and bounds of steps.
pub(super) struct Prices {
    costs: StepCosts,
    side: Vec<FoldSide>,
    /// Which direction in the blank the back has when the parent's or the child's wing of a stroke lies there.
    heading: Vec<[usize; 2]>,
    /// Whether the sheet is turned on the table between two of these directions, also where it is turned over.
    rotates: Vec<Vec<[bool; 2]>>,
    tools: Vec<ToolPair>,
    /// Places of the gauge in mm, rising.
    places: Vec<f64>,
    /// Strokes with a number for each class, by kind: sides, directions, tools, gauge places.
    classes: [Vec<usize>; 4],
    /// The least price of any change to a stroke from another one, but for the tools.
    least: Vec<u32>,
    /// The strokes that each pair of tools suits.
    suited: Vec<Mask>,
}

impl Prices {
    pub(super) fn new(steps: &Steps<'_>, costs: StepCosts) -> Self {
        let tree = steps.wings.tree;
        let motions = tree.flat_motions();
        let count = steps.count();
        let lead = |s| steps.wings.lead(s);
        let mut headings: Vec<f64> = Vec::new();
        let mut number = |angle: f64| {
            let known = headings.iter().position(|h| same_heading(*h, angle, maths::TAU));
            known.unwrap_or_else(|| {
                headings.push(angle);
                headings.len() - 1
            })
        };
        let heading: Vec<[usize; 2]> = (0..count)
            .map(|s| {
                let outward: Vec2 = motions[lead(s).parent.index()].vector(lead(s).outward);
                let back = (-outward).angle();
                [back, back + maths::PI].map(&mut number)
            })
            .collect();
        let side: Vec<FoldSide> = (0..count).map(|s| lead(s).side).collect();
        let mut tools: Vec<ToolPair> =
            (0..count).flat_map(|s| steps.facts[s].pairs.iter().copied()).collect();
        tools.sort_unstable();
        tools.dedup();
        let places = places((0..count).flat_map(|s| steps.gauge_distances(s)).collect());
        let placed: Vec<Vec<usize>> =
            (0..count).map(|s| steps.gauge_distances(s).map(|at| place(&places, at)).collect()).collect();
        let all = |same: &dyn Fn(usize, usize) -> bool| classes(count, same);
        let by_line = all(&|a, b| same_heading(headings[heading[a][0]], headings[heading[b][0]], maths::PI));
        let by_tools = all(&|a, b| steps.facts[a].pairs.iter().any(|p| steps.facts[b].pairs.contains(p)));
        // A stroke that may go to a marked line needs no gauge of its own.
        let meets = |a: usize, b: usize| placed[a].iter().any(|at| placed[b].contains(at));
        let by_gauge = all(&meets);
        let by_side = side.iter().map(|s| usize::from(*s == FoldSide::Down)).collect();
        let mut prices = Self {
            costs,
            classes: [by_side, by_line, by_tools, by_gauge],
            least: vec![0; count],
            suited: tools
                .iter()
                .map(|pair| {
                    let fits = (0..count).filter(|s| steps.facts[*s].pairs.contains(pair));
                    fits.fold(0, |suited: Mask, stroke| suited | 1 << stroke)
                })
                .collect(),
            side,
            rotates: rotates(&headings),
            heading,
            tools,
            places,
        };
        prices.least = (0..count)
            .map(|to| {
                let from = (0..count).filter(|f| *f != to);
                let price = |changes: bool, cost: u32| if changes { cost } else { 0 };
                let floor = |from: usize| {
                    let apart = |kind: usize| prices.classes[kind][from] != prices.classes[kind][to];
                    price(apart(0), costs.flip)
                        + price(apart(1), costs.rotation)
                        + price(!meets(from, to), costs.gauge.min(costs.marked_line))
                };
                from.map(floor).min().unwrap_or(0)
            })
            .collect();
        prices
    }

    /// How the brake is set and the sheet lies for a step.
    pub(super) fn sig(&self, choice: &Choice, step: &Step) -> Sig {
        let few = |i: usize| u32::try_from(i).expect("a part has few strokes");
        let heading = self.heading[choice.stroke][usize::from(choice.back == Wing::Child)];
        let tools = self.tools.iter().position(|known| *known == choice.tools).unwrap_or(0);
        let gauge = step.gauge.map_or(0, |gauge| 1 + place(&self.places, gauge.distance));
        let side = u32::from(self.side[choice.stroke] == FoldSide::Down);
        Sig(side | few(heading) << 1 | few(tools) << 11 | few(gauge) << 21)
    }

    /// What a step costs whatever was before.
    pub(super) fn own(&self, step: &Step) -> u32 {
        step.gauge.map_or(self.costs.marked_line, |_| 0) + step.rubs.map_or(0, |_| self.costs.rub)
    }

    /// What it costs to set up a punch, which is nothing for the shop's first one.
    pub(super) fn set_up(&self, to: Sig) -> u32 {
        let punch = self.tools.get(to.tools() as usize).map_or(0, |pair| pair.punch);
        self.costs.later_punch * u32::try_from(punch).expect("a shop has few punches")
    }

    /// What it costs to go from one setting to another.
    pub(super) fn change(&self, from: Sig, to: Sig) -> u32 {
        let c = &self.costs;
        let flips = from.side() != to.side();
        let rotates = self.rotates[from.heading()][to.heading()][usize::from(flips)];
        let moves = to.gauge() != 0 && from.gauge() != to.gauge();
        let price = |changes: bool, cost: u32| if changes { cost } else { 0 };
        price(flips, c.flip)
            + price(rotates, c.rotation)
            + price(from.tools() != to.tools(), c.tools + self.set_up(to))
            + price(moves, c.gauge)
    }

    /// What a step costs after another one.
    pub(super) fn of(&self, before: Option<(&Choice, &Step)>, choice: &Choice, step: &Step) -> u32 {
        let sig = self.sig(choice, step);
        let change = before.map_or(self.set_up(sig), |(last, done)| self.change(self.sig(last, done), sig));
        self.own(step) + change
    }

    /// No way to do the strokes `left` after a stroke with this setting costs less.
    pub(super) fn bound(&self, left: Mask, last: usize, set: Sig) -> u32 {
        let changes = |classes: &[usize]| {
            let needed =
                bits(left).fold(1 << classes[last], |seen: Mask, stroke| seen | 1 << classes[stroke]);
            needed.count_ones() - 1
        };
        let [by_side, by_line, by_tools, by_gauge] = &self.classes;
        let c = &self.costs;
        let kinds = c.flip * changes(by_side)
            + c.rotation * changes(by_line)
            + c.gauge.min(c.marked_line) * changes(by_gauge);
        let strokes: u32 = bits(left).map(|stroke| self.least[stroke]).sum();
        let is_suited = left & !self.suited[set.tools() as usize] == 0;
        c.tools * changes(by_tools).max(u32::from(!is_suited)) + kinds.max(strokes)
    }
}

/// Places that are apart by more than the gauge can tell, of all that are wanted.
fn places(mut wanted: Vec<f64>) -> Vec<f64> {
    wanted.sort_unstable_by(f64::total_cmp);
    let mut places: Vec<f64> = Vec::new();
    for at in wanted {
        if places.last().is_none_or(|last| at - last > tolerance::GAUGE_MM) {
            places.push(at);
        }
    }
    places
}

/// The number of the place that a wanted one belongs to.
fn place(places: &[f64], at: f64) -> usize {
    places.partition_point(|known| *known <= at).saturating_sub(1)
}

/// Between which directions the sheet is turned on the table: if it stays on its side, and if it is turned over.
fn rotates(headings: &[f64]) -> Vec<Vec<[bool; 2]>> {
    let between = |from: f64, to: f64| {
        [from != to && !same_heading(from, to, maths::TAU), from != to && !same_heading(from, to, maths::PI)]
    };
    headings.iter().map(|from| headings.iter().map(|to| between(*from, *to)).collect()).collect()
}

fn same_heading(a: f64, b: f64, period: f64) -> bool {
    let off = (a - b).rem_euclid(period);
    off.min(period - off) <= tolerance::HEADING_RAD
}

/// Numbers of classes: things that are alike, directly or over others, have one number.
fn classes(count: usize, alike: &dyn Fn(usize, usize) -> bool) -> Vec<usize> {
    let mut class: Vec<usize> = (0..count).collect();
    for a in 0..count {
        for b in a + 1..count {
            if class[a] != class[b] && alike(a, b) {
                let (keep, drop) = (class[a].min(class[b]), class[a].max(class[b]));
                class.iter_mut().filter(|c| **c == drop).for_each(|c| *c = keep);
            }
        }
    }
    class
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The search leaves out what the cheapest state may be set as for no more; that needs this law.
    #[test]
    fn no_way_round_over_another_setting_is_cheaper() {
        let turns = [0.0, 0.3, 0.5 * maths::PI, maths::PI, 0.3 + maths::PI, 1.5 * maths::PI];
        let prices = Prices {
            costs: StepCosts::default(),
            side: Vec::new(),
            rotates: rotates(&turns),
            heading: Vec::new(),
            tools: Vec::new(),
            places: Vec::new(),
            classes: [const { Vec::new() }; 4],
            least: Vec::new(),
            suited: Vec::new(),
        };
        let mut all = Vec::new();
        for side in 0..2 {
            for heading in 0..6 {
                for tools in 0..2 {
                    for gauge in 0..3 {
                        all.push(Sig(side | heading << 1 | tools << 11 | gauge << 21));
                    }
                }
            }
        }
        for a in &all {
            for b in &all {
                for c in &all {
                    let round = prices.change(*a, *b) + prices.change(*b, *c);
                    assert!(prices.change(*a, *c) <= round, "{a:?} {b:?} {c:?}");
                }
            }
        }
    }
}
