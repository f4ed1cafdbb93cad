//! The cheapest order of strokes that works.
//!
//! Job: best-first search (Hart, Nilsson and Raphael, 1968) over sets of strokes that are done, each with how the
//! brake is set and the sheet lies, since the price of a step hangs on that. Invariant: an order that is called cheapest is so among
//! all orders that [`Steps`] lets through; the bound never exceeds the price of any of them; and what is called
//! impossible was looked for everywhere. Must not know: geometry.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::memo::Memo;
use super::prices::{Prices, Sig};
use super::steps::{Block, Choice, Step, Steps};
use super::wings::{Mask, Wing};

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

/// Places of the bits that are set.
pub(super) fn bits(mut mask: Mask) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let place = mask.trailing_zeros();
        mask &= mask.checked_sub(1)?;
        Some(place as usize)
    })
}

/// One step that can be made with what is done.
#[derive(Clone, Copy)]
struct Move {
    stroke: u16,
    /// Its place among the choices of the stroke.
    choice: u16,
    /// How the brake is set and the sheet lies for it.
    sig: Sig,
    /// What it costs whatever was before.
    own: u32,
}

/// One state in the search.
#[derive(Clone, Copy)]
struct Node {
    done: Mask,
    cost: u32,
    /// The node before, counted from 1; none is 0.
    before: u32,
    last: Move,
}

/// What waits to be looked at, the lowest bound first, of alike ones the one with most done, then the older one.
type Waiting = Reverse<(u32, u32, u32)>;

/// How many states a search may look at before it takes the best order that a narrow one found.
pub(super) const MOST_STATES: usize = 4_000_000;

/// How many states a search looks at before a narrow one tells it which costs are too high.
const FEW_STATES: usize = 30_000;

/// How many dead ends are told.
const MOST_DEAD_ENDS: usize = 3;

struct Search<'s, 'a> {
    steps: &'s mut Steps<'a>,
    prices: &'s Prices,
    wishes: &'s Wishes,
    /// Where the moves with a set of strokes done begin and end.
    known: Memo<[u32; 2]>,
    moves: Vec<Move>,
    /// The least cost at which a state was reached.
    best: Memo<u32>,
    /// The cheapest state with a set of strokes done: its cost and setting.
    cheapest: Memo<(u32, Sig)>,
    nodes: Vec<Node>,
}

/// The cheapest order that works and grants the wishes, looking at no more than `most` states.
pub(super) fn search(steps: &mut Steps<'_>, prices: &Prices, wishes: &Wishes, most: usize) -> Outcome {
    let mut search = Search {
        steps,
        prices,
        wishes,
        known: Memo::default(),
        moves: Vec::new(),
        best: Memo::default(),
        cheapest: Memo::default(),
        nodes: Vec::new(),
    };
    search.best_first(most)
}

impl Search<'_, '_> {
    fn all(&self) -> Mask {
        let count = self.steps.count();
        if count == 0 { 0 } else { Mask::MAX >> (Mask::BITS as usize - count) }
    }

    fn best_first(&mut self, most: usize) -> Outcome {
        let all = self.all();
        if all == 0 {
            return Outcome::Order { steps: Vec::new(), cost: 0, bound: 0 };
        }
        let mut queue: BinaryHeap<Waiting> = BinaryHeap::new();
        let mut found: Option<(Vec<Planned>, u32)> = None;
        let mut was_narrow = false;
        self.go_on(None, u32::MAX, |waiting| queue.push(Reverse(waiting)));
        while let Some(Reverse((bound, _, index))) = queue.pop() {
            let node = self.nodes[index as usize];
            let most_wanted = found.as_ref().map_or(u32::MAX, |(_, cost)| *cost);
            if bound >= most_wanted {
                break;
            }
            if self.best.get(&(node.last.sig.0, node.done)).is_some_and(|known| *known < node.cost)
                || self.is_dominated(node.done, node.last.sig, node.cost)
            {
                continue;
            }
            if node.done == all {
                return Outcome::Order { steps: self.way(index), cost: node.cost, bound: node.cost };
            }
            if self.nodes.len() > FEW_STATES && !was_narrow {
                was_narrow = true;
                found = self.narrow();
            }
            if self.nodes.len() > most {
                let states = self.nodes.len();
                return found.map_or(Outcome::GivenUp { states }, |(steps, cost)| Outcome::Order {
                    steps,
                    cost,
                    bound,
                });
            }
            self.go_on(Some(index), most_wanted, |waiting| queue.push(Reverse(waiting)));
        }
        match found {
            Some((steps, cost)) => Outcome::Order { steps, cost, bound: cost },
            None => self.impossible(),
        }
    }

    /// Every state one step on that was not reached at less and may lead to an order that costs less than `most`: its
    /// bound, how many strokes it leaves, and its node.
    fn go_on(&mut self, before: Option<u32>, most: u32, mut wait: impl FnMut((u32, u32, u32))) {
        let node = before.map(|index| self.nodes[index as usize]);
        let done = node.map_or(0, |node| node.done);
        let [from, to] = self.moves(done);
        for at in from..to {
            let next = self.moves[at as usize];
            let change =
                node.map_or(self.prices.set_up(next.sig), |node| self.prices.change(node.last.sig, next.sig));
            let cost = node.map_or(0, |node| node.cost) + next.own + change;
            // Of most moves the change of tools alone is too dear.
            if cost >= most {
                continue;
            }
            let now = done | 1 << next.stroke;
            let known = self.best.entry((next.sig.0, now)).or_insert(u32::MAX);
            if *known <= cost {
                continue;
            }
            *known = cost;
            let left = self.all() & !now;
            let bound = cost + self.prices.bound(left, next.stroke.into(), next.sig);
            if bound >= most || self.is_dominated(now, next.sig, cost) {
                continue;
            }
            let cheapest = self.cheapest.entry((0, now)).or_insert((u32::MAX, next.sig));
            if cost < cheapest.0 {
                *cheapest = (cost, next.sig);
            }
            let index = u32::try_from(self.nodes.len()).expect("a search has a few million states");
            let before = before.map_or(0, |before| before + 1);
            self.nodes.push(Node { done: now, cost, before, last: next });
            wait((bound, left.count_ones(), index));
        }
    }

    /// Whether the cheapest state with the same strokes done may be set as this one is for no more than this one has
    /// cost: changes obey the triangle inequality, so that nothing that follows is cheaper from here than from there.
    fn is_dominated(&self, done: Mask, sig: Sig, cost: u32) -> bool {
        self.cheapest.get(&(0, done)).is_some_and(|(least, from)| {
            *from != sig && least.saturating_add(self.prices.change(*from, sig)) <= cost
        })
    }

    /// What can be made with what is done, as a range of `moves`.
    fn moves(&mut self, done: Mask) -> [u32; 2] {
        if let Some(known) = self.known.get(&(0, done)) {
            return *known;
        }
        let count = |moves: &Vec<Move>| u32::try_from(moves.len()).expect("a search has few moves");
        let from = count(&self.moves);
        let place = done.count_ones() as usize;
        let mut found = Vec::new();
        for stroke in bits(self.all() & !done) {
            found.clear();
            self.steps.steps(done, stroke, &mut found);
            for (choice, step) in &found {
                let chosen = &self.steps.choices(stroke)[*choice];
                if self.wishes.allow(chosen, place) {
                    let (sig, own) = (self.prices.sig(chosen, step), self.prices.own(step));
                    let short =
                        |i: usize| u16::try_from(i).expect("a part has few strokes, each few choices");
                    self.moves.push(Move { stroke: short(stroke), choice: short(*choice), sig, own });
                }
            }
        }
        let range = [from, count(&self.moves)];
        self.known.insert((0, done), range);
        range
    }

    fn way(&mut self, end: u32) -> Vec<Planned> {
        let mut way = Vec::new();
        let mut at = end + 1;
        while at > 0 {
            let node = self.nodes[at as usize - 1];
            let choice = self.steps.choices(node.last.stroke.into())[usize::from(node.last.choice)];
            let step = self.steps.step(node.done & !(1 << node.last.stroke), &choice);
            let step = step.expect("the search went over steps that can be made");
            let before = if node.before == 0 { 0 } else { self.nodes[node.before as usize - 1].cost };
            way.push(Planned { choice, step, cost: node.cost - before });
            at = node.before;
        }
        way.reverse();
        way
    }

    /// The best order among the most promising states of each size, with its cost. The states that were looked at
    /// before stay as they are.
    fn narrow(&mut self) -> Option<(Vec<Planned>, u32)> {
        const WIDTH: usize = 1000;
        /// Of as many states with the same strokes done, those that are set otherwise promise little.
        const ALIKE: u32 = 2;
        let kept = (std::mem::take(&mut self.best), std::mem::take(&mut self.cheapest), self.nodes.len());
        let mut level: Vec<Option<u32>> = vec![None];
        for _ in 0..self.steps.count() {
            let mut next: Vec<(u32, u32, u32)> = Vec::new();
            for before in level {
                self.go_on(before, u32::MAX, |waiting| next.push(waiting));
            }
            next.sort_unstable();
            let mut seen: Memo<u32> = Memo::default();
            next.retain(|(_, _, node)| {
                let count = seen.entry((0, self.nodes[*node as usize].done)).or_insert(0);
                *count += 1;
                *count <= ALIKE
            });
            next.truncate(WIDTH);
            level = next.into_iter().map(|(_, _, node)| Some(node)).collect();
        }
        let found =
            level.first().copied().flatten().map(|end| (self.way(end), self.nodes[end as usize].cost));
        (self.best, self.cheapest) = (kept.0, kept.1);
        self.nodes.truncate(kept.2);
        found
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
                for i in 0..self.steps.choices(stroke).len() {
                    let choice = self.steps.choices(stroke)[i];
                    if self.wishes.allow(&choice, done.count_ones() as usize) {
                        blocks.extend(self.steps.step(done, &choice).err().map(|block| (choice, block)));
                    }
                }
            }
            DeadEnd { done: bits(done).collect(), blocks }
        });
        let dead_ends = dead_ends.collect();
        Outcome::Impossible { reached: reached.len(), dead_ends }
    }
}
