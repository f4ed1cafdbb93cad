//! The cheapest order of strokes that works.
//!
//! Job: best-first search (Hart, Nilsson and Raphael, 1968) over sets of strokes that are done, each with how the
//! brake is set and the sheet lies, since the price of a step hangs on that. Invariant: an order that is called cheapest is so among
//! all orders that [`Steps`] lets through; the bound never exceeds the price of any of them; and what is called
//! impossible was looked for everywhere. Must not know: geometry.

use std::cmp::Reverse;
use std::collections::{BTreeMap, VecDeque};

use super::any_order::{AnyOrder, any_order};
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
    /// There is none: from every set of strokes that can be reached, no way leads to the end; or no way leads to any set
    /// from which the part can be finished.
    Impossible {
        /// How many sets of strokes can be reached, or how many the part can be finished from.
        reached: usize,
        /// Whether it was looked for back from the finished part.
        backwards: bool,
        /// Those of them with the most strokes done; backwards, what is in the way of each last stroke that leads to the
        /// one with the fewest.
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

fn number(count: usize) -> u32 {
    u32::try_from(count).expect("a search has a few million states")
}

/// Number of a set of strokes that are done and can be reached.
type Stage = u32;

/// One step that can be made at a stage.
#[derive(Clone, Copy)]
struct Move {
    stroke: u16,
    /// Its place among the choices of the stroke.
    choice: u16,
    /// How the brake is set and the sheet lies for it.
    sig: Sig,
    /// What it costs whatever was before.
    own: u32,
    /// What is left after it costs at least this.
    left: u32,
    /// The stage that it leads to.
    stage: Stage,
    /// Number of that stage with this setting.
    state: u32,
}

/// A way to a state.
#[derive(Clone, Copy)]
struct Node {
    cost: u32,
    /// The node before, counted from 1; none is 0.
    before: u32,
    /// Number of the last move.
    last: u32,
}

/// Nodes that wait to be looked at, the lowest bound first, of alike ones the one with most done, then the older one.
#[derive(Default)]
struct Waiting {
    /// By bound and by how many strokes are left; none is empty.
    queues: BTreeMap<(u32, u32), VecDeque<u32>>,
}

impl Waiting {
    fn push(&mut self, (bound, left, node): Reached) {
        self.queues.entry((bound, left)).or_default().push_back(node);
    }

    /// The next node, and the bound of orders over it.
    fn pop(&mut self) -> Option<(u32, u32)> {
        let mut first = self.queues.first_entry()?;
        let (bound, _) = *first.key();
        let node = first.get_mut().pop_front().expect("no queue is empty");
        if first.get().is_empty() {
            first.remove();
        }
        Some((bound, node))
    }
}

/// Bound of a node, how many strokes it leaves, and its number.
type Reached = (u32, u32, u32);

/// How many states a search may look at before it takes the best order that a narrow one found.
pub(super) const MOST_STATES: usize = 4_000_000;

/// How many zones a search may look at beside tools and each other before it stops likewise.
const MOST_LOOKS: usize = 3_000_000;

/// How many states a search looks at before a narrow one tells it which costs are too high.
const FEW_STATES: usize = 30_000;

/// Up to so many strokes every order is looked at; with more it is first asked whether there is any.
const FEW_STROKES: usize = 8;

/// How many stages are looked at for any order.
const MOST_STAGES: usize = 100_000;

/// How many dead ends are told.
const MOST_DEAD_ENDS: usize = 3;

struct Search<'s, 'a> {
    steps: &'s mut Steps<'a>,
    prices: &'s Prices,
    wishes: &'s Wishes,
    /// Strokes that are done at each stage, and the stage with these.
    stages: Vec<Mask>,
    stage_of: Memo<Stage>,
    /// Where the moves of a stage begin and end, once they are known.
    known: Vec<Option<[u32; 2]>>,
    moves: Vec<Move>,
    state_of: Memo<u32>,
    costs: Costs,
    nodes: Vec<Node>,
}

/// What it costs at least to come to somewhere, over all ways that were looked at.
#[derive(Default)]
struct Costs {
    /// By state.
    best: Vec<u32>,
    /// By stage, with the setting.
    cheapest: Vec<(u32, Sig)>,
}

impl Costs {
    /// Makes room for so many states and stages.
    fn grow(&mut self, states: usize, stages: usize) {
        self.best.resize(states, u32::MAX);
        self.cheapest.resize(stages, (u32::MAX, Sig(0)));
    }
}

/// The cheapest order that works and grants the wishes, looking at no more than `most` states.
pub(super) fn search(steps: &mut Steps<'_>, prices: &Prices, wishes: &Wishes, most: usize) -> Outcome {
    let mut search = Search {
        steps,
        prices,
        wishes,
        stages: Vec::new(),
        stage_of: Memo::default(),
        known: Vec::new(),
        moves: Vec::new(),
        state_of: Memo::default(),
        costs: Costs::default(),
        nodes: Vec::new(),
    };
    search.stage(0);
    search.best_first(most)
}

/// An order with its cost.
type Order = (Vec<Planned>, u32);

impl Search<'_, '_> {
    /// The stage with these strokes done; the blank is stage 0.
    fn stage(&mut self, done: Mask) -> Stage {
        *self.stage_of.entry((0, done)).or_insert_with(|| {
            self.stages.push(done);
            self.known.push(None);
            number(self.stages.len() - 1)
        })
    }

    fn best_first(&mut self, most: usize) -> Outcome {
        let all = self.steps.all();
        if all == 0 {
            return Outcome::Order { steps: Vec::new(), cost: 0, bound: 0 };
        }
        let mut any = None;
        if self.steps.count() > FEW_STROKES {
            match any_order(self.steps, self.wishes, MOST_STAGES) {
                AnyOrder::Found(strokes) => any = Some(strokes),
                AnyOrder::None(sets) => return self.impossible_backwards(&sets),
                AnyOrder::TooMany => {}
            }
        }
        let mut queue = Waiting::default();
        let mut found: Option<Order> = None;
        let mut was_narrow = false;
        self.go_on(None, u32::MAX, |reached| queue.push(reached));
        while let Some((bound, index)) = queue.pop() {
            let node = self.nodes[index as usize];
            let last = self.moves[node.last as usize];
            let most_wanted = found.as_ref().map_or(u32::MAX, |(_, cost)| *cost);
            if bound >= most_wanted {
                break;
            }
            if self.costs.best[last.state as usize] < node.cost || self.is_dominated(&last, node.cost) {
                continue;
            }
            if self.stages[last.stage as usize] == all {
                return Outcome::Order { steps: self.way(index), cost: node.cost, bound: node.cost };
            }
            if self.nodes.len() > FEW_STATES && !was_narrow {
                was_narrow = true;
                found = self.narrow(None);
                if let (None, Some(strokes)) = (&found, &any) {
                    found = self.narrow(Some(strokes));
                }
            }
            if self.nodes.len() > most || self.steps.looks() > MOST_LOOKS {
                let states = self.nodes.len();
                return found.map_or(Outcome::GivenUp { states }, |(steps, cost)| Outcome::Order {
                    steps,
                    cost,
                    bound,
                });
            }
            self.go_on(Some(index), most_wanted, |reached| queue.push(reached));
        }
        match found {
            Some((steps, cost)) => Outcome::Order { steps, cost, bound: cost },
            None => self.impossible(),
        }
    }

    /// Every state one step on that was not reached at less and may lead to an order that costs less than `most`.
    fn go_on(&mut self, before: Option<u32>, most: u32, mut wait: impl FnMut(Reached)) {
        let node = before.map(|index| self.nodes[index as usize]);
        let last = node.map(|node| self.moves[node.last as usize]);
        let (stage, spent) = (last.map_or(0, |last| last.stage), node.map_or(0, |node| node.cost));
        let [from, to] = self.moves(stage);
        let left = (self.steps.all() & !self.stages[stage as usize]).count_ones() - 1;
        for at in from..to {
            let next = self.moves[at as usize];
            let cost = spent + self.price(last.as_ref(), &next);
            let bound = cost + next.left;
            if bound >= most || self.costs.best[next.state as usize] <= cost {
                continue;
            }
            self.costs.best[next.state as usize] = cost;
            if self.is_dominated(&next, cost) {
                continue;
            }
            let cheapest = &mut self.costs.cheapest[next.stage as usize];
            if cost < cheapest.0 {
                *cheapest = (cost, next.sig);
            }
            self.nodes.push(Node { cost, before: before.map_or(0, |before| before + 1), last: at });
            wait((bound, left, number(self.nodes.len() - 1)));
        }
    }

    /// Whether the cheapest state with the same strokes done may be set as this one is for no more than this one has
    /// cost: changes obey the triangle inequality, so that nothing that follows is cheaper from here than from there.
    fn is_dominated(&self, last: &Move, cost: u32) -> bool {
        let (least, from) = self.costs.cheapest[last.stage as usize];
        least <= cost && from != last.sig && least + self.prices.change(from, last.sig) <= cost
    }

    /// What can be made at a stage, as a range of `moves`.
    fn moves(&mut self, stage: Stage) -> [u32; 2] {
        if let Some(known) = self.known[stage as usize] {
            return known;
        }
        let done = self.stages[stage as usize];
        let from = number(self.moves.len());
        let place = done.count_ones() as usize;
        let mut found = Vec::new();
        for stroke in bits(self.steps.all() & !done) {
            found.clear();
            self.steps.steps(done, stroke, &mut found);
            let now = done | 1 << stroke;
            for (index, step) in &found {
                let chosen = self.steps.choices(stroke)[*index];
                if !self.wishes.allow(&chosen, place) {
                    continue;
                }
                let (sig, own) = (self.prices.sig(&chosen, step), self.prices.own(step));
                let stage = self.stage(now);
                let states = number(self.state_of.len());
                let state = *self.state_of.entry((sig.0, now)).or_insert(states);
                let left = self.prices.bound(self.steps.all() & !now, stroke, sig);
                let short = |i: usize| u16::try_from(i).expect("a part has few strokes, each few choices");
                let (stroke, choice) = (short(stroke), short(*index));
                self.moves.push(Move { stroke, choice, sig, own, left, stage, state });
            }
        }
        self.costs.grow(self.state_of.len(), self.stages.len());
        let range = [from, number(self.moves.len())];
        self.known[stage as usize] = Some(range);
        range
    }

    fn way(&mut self, end: u32) -> Vec<Planned> {
        let mut way = Vec::new();
        let mut at = end + 1;
        while at > 0 {
            let node = self.nodes[at as usize - 1];
            let last = self.moves[node.last as usize];
            let choice = self.steps.choices(last.stroke.into())[usize::from(last.choice)];
            let step = self.steps.step(self.stages[last.stage as usize] & !(1 << last.stroke), &choice);
            let step = step.expect("the search went over steps that can be made");
            let before = if node.before == 0 { 0 } else { self.nodes[node.before as usize - 1].cost };
            way.push(Planned { choice, step, cost: node.cost - before });
            at = node.before;
        }
        way.reverse();
        way
    }

    /// The best order among the most promising states of each size, with its cost; where strokes are given, in their
    /// order. The states that were looked at before stay as they are.
    fn narrow(&mut self, strokes: Option<&[usize]>) -> Option<Order> {
        const WIDTH: usize = 1000;
        /// Of as many states with the same strokes done, those that are set otherwise promise little.
        const ALIKE: u32 = 2;
        let (kept, nodes) = (std::mem::take(&mut self.costs), self.nodes.len());
        self.costs.grow(self.state_of.len(), self.stages.len());
        let mut level: Vec<Option<u32>> = vec![None];
        for place in 0..self.steps.count() {
            let mut next: Vec<Reached> = Vec::new();
            // Along strokes that are known to work there is little to look at.
            if strokes.is_none() && self.steps.looks() > MOST_LOOKS {
                level = Vec::new();
            }
            for before in level {
                self.go_on(before, u32::MAX, |reached| next.push(reached));
            }
            if let Some(strokes) = strokes {
                let last = |node: u32| self.moves[self.nodes[node as usize].last as usize];
                next.retain(|(_, _, node)| usize::from(last(*node).stroke) == strokes[place]);
            }
            next.sort_unstable();
            let mut seen: Memo<u32> = Memo::default();
            next.retain(|(_, _, node)| {
                let last = self.moves[self.nodes[*node as usize].last as usize];
                let count = seen.entry((last.stage, 0)).or_insert(0);
                *count += 1;
                *count <= ALIKE
            });
            next.truncate(WIDTH);
            level = next.into_iter().map(|(_, _, node)| Some(node)).collect();
        }
        let found =
            level.first().copied().flatten().map(|end| (self.way(end), self.nodes[end as usize].cost));
        self.costs = kept;
        self.costs.grow(self.state_of.len(), self.stages.len());
        self.nodes.truncate(nodes);
        found
    }

    /// What a move costs after another one, or as the first one.
    fn price(&self, last: Option<&Move>, next: &Move) -> u32 {
        let set_up = || self.prices.set_up(next.sig);
        next.own + last.map_or_else(set_up, |last| self.prices.change(last.sig, next.sig))
    }

    /// Everything that can be reached was looked at.
    fn impossible(&mut self) -> Outcome {
        let mut reached = self.stages.clone();
        reached.sort_unstable_by_key(|mask| (Reverse(mask.count_ones()), *mask));
        let deepest = reached.first().map_or(0, |mask| mask.count_ones());
        let ends = reached.iter().filter(|mask| mask.count_ones() == deepest).take(MOST_DEAD_ENDS);
        let all = self.steps.all();
        let dead_ends = ends.map(|done| self.dead_end(*done, all & !done)).collect();
        Outcome::Impossible { reached: reached.len(), backwards: false, dead_ends }
    }

    /// Every set of strokes from which the part can be finished was looked at.
    fn impossible_backwards(&mut self, sets: &[Mask]) -> Outcome {
        let first = sets.iter().copied().min_by_key(|set| (set.count_ones(), *set)).unwrap_or(0);
        let dead_ends = bits(first).map(|last| self.dead_end(first & !(1 << last), 1 << last)).collect();
        Outcome::Impossible { reached: sets.len(), backwards: true, dead_ends }
    }

    /// What is in the way of these strokes with the strokes `done`.
    fn dead_end(&mut self, done: Mask, strokes: Mask) -> DeadEnd {
        let mut blocks = Vec::new();
        for stroke in bits(strokes) {
            for choice in self.steps.choices(stroke).to_vec() {
                if self.wishes.allow(&choice, done.count_ones() as usize) {
                    blocks.extend(self.steps.step(done, &choice).err().map(|block| (choice, block)));
                }
            }
        }
        DeadEnd { done: bits(done).collect(), blocks }
    }
}
