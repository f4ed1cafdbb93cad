//! The planner against all orders of random parts.

use std::collections::HashMap;

use kernel::brake::{Block, Choice, Dies, Outcome, Step, StepCosts, Trial, plan};
use kernel::regenerate::Part;
use kernel::stock::Tooling;

use super::generator;

/// All orders, one after the other, each with the cheapest choice for every step.
struct AllOrders<'a> {
    trial: Trial<'a>,
    known: HashMap<(u32, Choice), Result<Step, Block>>,
    orders: usize,
    best: Option<u32>,
}

/// Ways to have come to the end of a begun order: the last choice with its step and the least cost so far.
type Ends = Vec<(Choice, Step, u32)>;

impl AllOrders<'_> {
    fn go_on(&mut self, order: &mut Vec<usize>, ends: Option<&Ends>) {
        let count = self.trial.strokes().len();
        if order.len() == count {
            self.orders += 1;
            let least = ends.unwrap().iter().map(|(_, _, cost)| *cost).min();
            self.best = [self.best, least].into_iter().flatten().min();
            return;
        }
        for stroke in (0..count).filter(|s| !order.contains(s)).collect::<Vec<_>>() {
            let mask = order.iter().fold(0, |mask, s| mask | 1 << s);
            let mut next: Ends = Vec::new();
            for choice in self.trial.choices(stroke) {
                let trial = &mut self.trial;
                let step = *self.known.entry((mask, choice)).or_insert_with(|| trial.step(order, &choice));
                let Ok(step) = step else { continue };
                let price = |before| self.trial.price(before, &choice, &step);
                let cost = match ends {
                    None => Some(price(None)),
                    Some(ends) => ends.iter().map(|(c, s, cost)| cost + price(Some((c, s)))).min(),
                };
                next.extend(cost.map(|cost| (choice, step, cost)));
            }
            if !next.is_empty() {
                order.push(stroke);
                self.go_on(order, Some(&next));
                order.pop();
            }
        }
    }
}

fn all_orders(part: &Part, tooling: &Tooling, dies: Dies) -> (Option<u32>, usize) {
    let trial = Trial::new(&part.tree, &part.sheet, &part.limits, tooling, dies, StepCosts::default());
    let mut all = AllOrders { trial, known: HashMap::new(), orders: 0, best: None };
    all.go_on(&mut Vec::new(), None);
    (all.best, all.orders)
}

#[test]
fn three_hundred_random_parts_have_the_same_answer_from_all_orders() {
    let tooling = Tooling::default();
    let (mut parts, mut seed, mut impossible, mut one_order, mut largest) = (0, 0, 0, 0, 0);
    while parts < 300 {
        seed += 1;
        let Some(part) = generator::part(seed, 7) else { continue };
        parts += 1;
        largest = largest.max(part.tree.bends().len());
        let usual = all_orders(&part, &tooling, Dies::Usual);
        let (best, orders) = match usual {
            (None, _) => all_orders(&part, &tooling, Dies::Narrower),
            (Some(_), _) => usual,
        };
        one_order += usize::from(orders == 1);
        let dies = if usual.0.is_none() { Dies::Narrower } else { Dies::Usual };
        let mut trial =
            Trial::new(&part.tree, &part.sheet, &part.limits, &tooling, dies, StepCosts::default());
        let any = trial.any_order(1 << 7);
        assert_eq!(any.is_some(), best.is_some(), "seed {seed}");
        for (at, stroke) in any.iter().flatten().enumerate() {
            let done = &any.as_ref().unwrap()[..at];
            let mut choices = trial.choices(*stroke).into_iter();
            assert!(choices.any(|choice| trial.step(done, &choice).is_ok()), "seed {seed}: step {at}");
        }
        let plan = plan(&part.tree, &part.sheet, &part.limits, &tooling, &[], StepCosts::default());
        match (&plan.outcome, best) {
            (Outcome::Order { cost, bound, .. }, Some(best)) => {
                assert_eq!((*cost, *bound), (best, best), "seed {seed}");
            }
            (Outcome::Impossible { .. }, None) => impossible += 1,
            (outcome, best) => panic!("seed {seed}: {outcome:?} against {best:?}"),
        }
    }
    assert!(
        impossible >= 20 && one_order >= 1 && largest == 7,
        "{impossible} without order, {one_order} with one"
    );
}
