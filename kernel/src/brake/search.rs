//! The cheapest order of strokes that works.
//!
//! Job: best-first search (Hart, Nilsson and Raphael, 1968) over sets of strokes that are done, each with the last
//! choice, since the price of a step hangs on the one before. Invariant: an order that is called cheapest is so among
//! all orders that [`Steps`] lets through; the bound never exceeds the price of any of them; and what is called
//! impossible was looked for everywhere. Must not know: geometry.
//!
//! Bound on what is left: the greater of two sums. Either each kind of setting that is still needed and not set
//! costs one change (sides, directions of bend lines, tools, gauge places that have none in common), or each stroke
//! that is left costs at least what the cheapest step to it does.

use std::cmp::{Ordering, Reverse};
use std::collections::{BinaryHeap, HashMap};

use crate::geom::Vec2;
use crate::history::feature::FoldSide;
use crate::quantity::{maths, tolerance};

use super::steps::{Block, Choice, Step, Steps};
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
}

impl Default for StepCosts {
    fn default() -> Self {
        Self { flip: 8, rotation: 5, tools: 120, gauge: 3, marked_line: 30, rub: 10 }
    }
}

/// What the engineer has settled about strokes, by stroke.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Wishes {
    /// Place in the order, from 0.
    pub(super) place: Vec<Option<usize>>,
    /// The wing at the gauge.
    pub(super) back: Vec<Option<Wing>>,
    /// The punch, by its place in the shop's list.
    pub(super) punch: Vec<Option<usize>>,
}

impl Wishes {
    pub(super) fn none(strokes: usize) -> Self {
        Self { place: vec![None; strokes], back: vec![None; strokes], punch: vec![None; strokes] }
    }

    /// Whether a choice may be the one at `place`.
    pub(super) fn allow(&self, choice: &Choice, place: usize) -> bool {
        let s = choice.stroke;
        let fits = |wish: Option<usize>, got: usize| wish.is_none_or(|w| w == got);
        let free = self.place[s].is_some() || !self.place.contains(&Some(place));
        fits(self.place[s], place)
            && free
            && self.back[s].is_none_or(|b| b == choice.back)
            && fits(self.punch[s], choice.tools.punch)
    }
}

/// One step of an order.
#[derive(Clone, Debug, PartialEq)]
pub struct Planned {
    /// The choice.
    pub choice: Choice,
    /// How it is made.
    pub step: Step,
    /// What it costs after the one before it.
    pub cost: u32,
}

/// What keeps every order from being finished, at one set of strokes that can be reached.
#[derive(Clone, Debug, PartialEq)]
pub struct DeadEnd {
    /// Strokes that are done.
    pub done: Vec<usize>,
    /// What is in the way of each choice that is left.
    pub blocks: Vec<(Choice, Block)>,
}

/// What the search has found.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// An order; no order costs less than `bound`, which is its cost if it is proven to be cheapest.
    Order {
        /// Its steps.
        steps: Vec<Planned>,
        /// Their cost.
        cost: u32,
        /// No order costs less.
        bound: u32,
    },
    /// There is none: from every set of strokes that can be reached, no way leads to the end.
    Impossible {
        /// How many sets of strokes can be reached.
        reached: usize,
        /// Those of them with the most strokes done.
        dead_ends: Vec<DeadEnd>,
    },
    /// None was found, and not everything was looked at.
    GivenUp {
        /// How many states were looked at.
        states: usize,
    },
}

/// Price and bounds of steps, without geometry.
pub(super) struct Prices {
    costs: StepCosts,
    side: Vec<FoldSide>,
    /// Direction of the back in the blank when the parent's wing lies there.
    heading: Vec<f64>,
    /// Strokes with a number for each class, by kind: sides, directions, tools, gauge places.
    classes: [Vec<usize>; 4],
    change: [u32; 4],
    /// The least price of any step to a stroke from another one.
    least: Vec<u32>,
}

impl Prices {
    pub(super) fn new(steps: &Steps<'_>, costs: StepCosts) -> Self {
        let tree = steps.wings.tree;
        let motions = tree.flat_motions();
        let count = steps.count();
        let lead = |s| steps.wings.lead(s);
        let heading: Vec<f64> = (0..count)
            .map(|s| {
                let outward: Vec2 = motions[lead(s).parent.index()].vector(lead(s).outward);
                (-outward).angle()
            })
            .collect();
        let side: Vec<FoldSide> = (0..count).map(|s| lead(s).side).collect();
        let all = |same: &dyn Fn(usize, usize) -> bool| classes(count, same);
        let by_line = all(&|a, b| same_heading(heading[a], heading[b], maths::PI));
        let by_tools = all(&|a, b| steps.facts[a].pairs.iter().any(|p| steps.facts[b].pairs.contains(p)));
        let meets = |a: usize, b: usize| {
            // A stroke that may go to a marked line needs no gauge of its own.
            let near = |x: f64| steps.gauge_distances(b).any(|y| (x - y).abs() <= 2.0 * tolerance::GAUGE_MM);
            steps.gauge_distances(a).any(near)
        };
        let by_gauge = all(&meets);
        let by_side = side.iter().map(|s| usize::from(*s == FoldSide::Down)).collect();
        let mut prices = Self {
            costs,
            heading,
            classes: [by_side, by_line, by_tools, by_gauge],
            change: [costs.flip, costs.rotation, costs.tools, costs.gauge.min(costs.marked_line)],
            least: vec![0; count],
            side,
        };
        prices.least = (0..count)
            .map(|to| {
                let from = (0..count).filter(|f| *f != to);
                let floor = |from: usize| {
                    let apart = |kind: usize| prices.classes[kind][from] != prices.classes[kind][to];
                    let kinds = (0..3).filter(|k| apart(*k)).map(|k| prices.change[k]).sum::<u32>();
                    kinds + if meets(from, to) { 0 } else { prices.change[3] }
                };
                from.map(floor).min().unwrap_or(0)
            })
            .collect();
        prices
    }

    /// What a step costs after another one; gauge places in mm.
    pub(super) fn of(&self, before: Option<(&Choice, &Step)>, choice: &Choice, step: &Step) -> u32 {
        let c = &self.costs;
        let own = step.gauge.map_or(c.marked_line, |_| 0) + step.rubs.map_or(0, |_| c.rub);
        let Some((last, done)) = before else { return own };
        let flips = self.side[last.stroke] != self.side[choice.stroke];
        let turn = if flips { maths::PI } else { maths::TAU };
        let rotates = !same_heading(self.heading(last), self.heading(choice), turn);
        let moves = match (done.gauge, step.gauge) {
            (Some(a), Some(b)) => (a.distance - b.distance).abs() > tolerance::GAUGE_MM,
            (None, Some(_)) => true,
            (Some(_) | None, None) => false,
        };
        let price = |changes: bool, cost: u32| if changes { cost } else { 0 };
        own + price(flips, c.flip)
            + price(rotates, c.rotation)
            + price(last.tools != choice.tools, c.tools)
            + price(moves, c.gauge)
    }

    fn heading(&self, choice: &Choice) -> f64 {
        match choice.back {
            Wing::Parent => self.heading[choice.stroke],
            Wing::Child => self.heading[choice.stroke] + maths::PI,
        }
    }

    /// No way to do the strokes `left` after a stroke costs less.
    fn bound(&self, left: Mask, last: usize) -> u32 {
        let mut kinds = 0;
        for (classes, change) in self.classes.iter().zip(self.change) {
            let set: Mask = 1 << classes[last];
            let needed = bits(left).fold(set, |seen, stroke| seen | 1 << classes[stroke]);
            kinds += change * (needed.count_ones() - 1);
        }
        kinds.max(bits(left).map(|stroke| self.least[stroke]).sum())
    }
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

/// Places of the bits that are set.
pub(super) fn bits(mask: Mask) -> impl Iterator<Item = usize> + Clone {
    (0..Mask::BITS as usize).filter(move |i| mask >> i & 1 == 1)
}

/// One state in the search.
struct Node {
    done: Mask,
    choice: Choice,
    step: Step,
    cost: u32,
    before: Option<usize>,
}

/// What waits to be looked at, the lowest bound first, of alike ones the one with most done.
#[derive(PartialEq, Eq)]
struct Waiting {
    bound: u32,
    done: u32,
    node: usize,
}

impl Ord for Waiting {
    fn cmp(&self, other: &Self) -> Ordering {
        let key = |w: &Self| (Reverse(w.bound), w.done, Reverse(w.node));
        key(self).cmp(&key(other))
    }
}

impl PartialOrd for Waiting {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// How many states a search may look at before it takes the best order that a narrow one finds.
pub(super) const MOST_STATES: usize = 400_000;

/// How many dead ends are told.
const MOST_DEAD_ENDS: usize = 3;

type Key = (Mask, Choice);

struct Search<'s, 'a> {
    steps: &'s mut Steps<'a>,
    prices: &'s Prices,
    wishes: &'s Wishes,
    choices: Vec<Vec<Choice>>,
    known: HashMap<Key, Result<Step, Block>>,
    nodes: Vec<Node>,
}

/// The cheapest order that works and grants the wishes, looking at no more than `most` states.
pub(super) fn search(steps: &mut Steps<'_>, prices: &Prices, wishes: &Wishes, most: usize) -> Outcome {
    let choices = (0..steps.count()).map(|stroke| steps.choices(stroke)).collect();
    let mut search = Search { steps, prices, wishes, choices, known: HashMap::new(), nodes: Vec::new() };
    search.best_first(most)
}

impl Search<'_, '_> {
    fn all(&self) -> Mask {
        let count = self.choices.len();
        if count == 0 { 0 } else { Mask::MAX >> (Mask::BITS as usize - count) }
    }

    fn best_first(&mut self, most: usize) -> Outcome {
        let all = self.all();
        let mut queue: BinaryHeap<Waiting> = BinaryHeap::new();
        let mut best: HashMap<Key, u32> = HashMap::new();
        if all == 0 {
            return Outcome::Order { steps: Vec::new(), cost: 0, bound: 0 };
        }
        for node in self.after(None) {
            self.wait(node, &mut best, &mut queue);
        }
        while let Some(next) = queue.pop() {
            let (done, choice, cost) = {
                let node = &self.nodes[next.node];
                (node.done, node.choice, node.cost)
            };
            if best.get(&(done, choice)).is_some_and(|known| *known < cost) {
                continue;
            }
            if done == all {
                return Outcome::Order { steps: self.way(next.node), cost, bound: cost };
            }
            if self.nodes.len() > most {
                return self.narrow(next.bound);
            }
            for node in self.after(Some(next.node)) {
                self.wait(node, &mut best, &mut queue);
            }
        }
        self.impossible()
    }

    fn wait(&mut self, node: Node, best: &mut HashMap<Key, u32>, queue: &mut BinaryHeap<Waiting>) {
        let key = (node.done, node.choice);
        if best.get(&key).is_some_and(|known| *known <= node.cost) {
            return;
        }
        best.insert(key, node.cost);
        let left = self.all() & !node.done;
        let bound = node.cost + self.prices.bound(left, node.choice.stroke);
        queue.push(Waiting { bound, done: node.done.count_ones(), node: self.nodes.len() });
        self.nodes.push(node);
    }

    /// Every state one step on.
    fn after(&mut self, before: Option<usize>) -> Vec<Node> {
        let (done, last, cost) = match before {
            None => (0, None, 0),
            Some(index) => {
                let node = &self.nodes[index];
                (node.done, Some((node.choice, node.step)), node.cost)
            }
        };
        let mut found = Vec::new();
        for stroke in bits(self.all() & !done) {
            for i in 0..self.choices[stroke].len() {
                let choice = self.choices[stroke][i];
                if !self.wishes.allow(&choice, done.count_ones() as usize) {
                    continue;
                }
                if let Ok(step) = self.step(done, choice) {
                    let before_this = last.as_ref().map(|(c, s)| (c, s));
                    let cost = cost + self.prices.of(before_this, &choice, &step);
                    found.push(Node { done: done | 1 << stroke, choice, step, cost, before });
                }
            }
        }
        found
    }

    fn step(&mut self, done: Mask, choice: Choice) -> Result<Step, Block> {
        if let Some(known) = self.known.get(&(done, choice)) {
            return *known;
        }
        let found = self.steps.step(done, &choice);
        self.known.insert((done, choice), found);
        found
    }

    fn way(&self, end: usize) -> Vec<Planned> {
        let mut way = Vec::new();
        let mut at = Some(end);
        while let Some(index) = at {
            let node = &self.nodes[index];
            let before = node.before.map_or(0, |b| self.nodes[b].cost);
            way.push(Planned { choice: node.choice, step: node.step, cost: node.cost - before });
            at = node.before;
        }
        way.reverse();
        way
    }

    /// The best order among the most promising states of each size; `bound` is what no order can be cheaper than.
    fn narrow(&mut self, bound: u32) -> Outcome {
        const WIDTH: usize = 200;
        let all = self.all();
        let states = self.nodes.len();
        let mut level: Vec<Option<usize>> = vec![None];
        for _ in 0..self.choices.len() {
            let mut next: Vec<(u32, usize)> = Vec::new();
            let mut best: HashMap<Key, u32> = HashMap::new();
            for before in level {
                for node in self.after(before) {
                    let key = (node.done, node.choice);
                    if best.get(&key).is_some_and(|known| *known <= node.cost) {
                        continue;
                    }
                    best.insert(key, node.cost);
                    let left = self.prices.bound(all & !node.done, node.choice.stroke);
                    next.push((node.cost + left, self.nodes.len()));
                    self.nodes.push(node);
                }
            }
            next.sort_unstable();
            next.truncate(WIDTH);
            level = next.into_iter().map(|(_, node)| Some(node)).collect();
        }
        match level.first() {
            Some(Some(end)) => {
                let cost = self.nodes[*end].cost;
                Outcome::Order { steps: self.way(*end), cost, bound: bound.min(cost) }
            }
            Some(None) | None => Outcome::GivenUp { states },
        }
    }

    /// Everything that can be reached was looked at.
    fn impossible(&mut self) -> Outcome {
        let all = self.all();
        let mut reached: Vec<Mask> = self.nodes.iter().map(|n| n.done).chain([0]).collect();
        reached.sort_unstable_by_key(|mask| (Reverse(mask.count_ones()), *mask));
        reached.dedup();
        let deepest = reached.first().map_or(0, |mask| mask.count_ones());
        let ends: Vec<Mask> =
            reached.iter().copied().filter(|m| m.count_ones() == deepest).take(MOST_DEAD_ENDS).collect();
        let dead_ends = ends.into_iter().map(|done| {
            let mut blocks = Vec::new();
            for stroke in bits(all & !done) {
                for i in 0..self.choices[stroke].len() {
                    let choice = self.choices[stroke][i];
                    if self.wishes.allow(&choice, done.count_ones() as usize) {
                        blocks.extend(self.step(done, choice).err().map(|block| (choice, block)));
                    }
                }
            }
            DeadEnd { done: bits(done).collect(), blocks }
        });
        let dead_ends = dead_ends.collect();
        Outcome::Impossible { reached: reached.len(), dead_ends }
    }
}
