//! Single steps, for those who check orders: the same answers as the planner's, one at a time.
//!
//! Invariant: nothing is decided here. Must not know: which order is sought.

use crate::fold::FoldTree;
use crate::geom::Vec3;
use crate::ident::BendId;
use crate::stock::{Sheet, ShopLimits, Tooling};

use super::any_order::{AnyOrder, any_order};
use super::pairs::Dies;
use super::prices::{Prices, StepCosts};
use super::search::Wishes;
use super::steps::{Block, Choice, Step, Steps};
use super::sweep::Towards;
use super::wings::{Mask, Wing};

/// Tries single steps, for those who check orders: strokes that are done, then one more.
pub struct Trial<'a> {
    steps: Steps<'a>,
    prices: Prices,
}

impl<'a> Trial<'a> {
    /// A part on a brake.
    #[must_use]
    pub fn new(
        tree: &'a FoldTree,
        sheet: &Sheet,
        limits: &ShopLimits,
        tooling: &'a Tooling,
        dies: Dies,
        costs: StepCosts,
    ) -> Self {
        let steps = Steps::new(tree, sheet, limits, tooling, dies);
        let prices = Prices::new(&steps, costs);
        Self { steps, prices }
    }

    /// Bends of each stroke.
    #[must_use]
    pub fn strokes(&self) -> &[Vec<BendId>] {
        &self.steps.wings.strokes
    }

    /// Every way to make a stroke.
    #[must_use]
    pub fn choices(&self, stroke: usize) -> Vec<Choice> {
        self.steps.choices(stroke).to_vec()
    }

    /// Tries a stroke on a half-folded part.
    ///
    /// # Errors
    /// What is in the way.
    pub fn step(&mut self, done: &[usize], choice: &Choice) -> Result<Step, Block> {
        let done = done.iter().fold(0, |mask: Mask, stroke| mask | 1 << stroke);
        self.steps.step(done, choice)
    }

    /// Strokes in an order that works, if there is any; no more than `most` sets of strokes are looked at.
    #[must_use]
    pub fn any_order(&mut self, most: usize) -> Option<Vec<usize>> {
        let wishes = Wishes::none(self.steps.count());
        match any_order(&mut self.steps, &wishes, most) {
            AnyOrder::Found(strokes) => Some(strokes),
            AnyOrder::None(_) | AnyOrder::TooMany => None,
        }
    }

    /// What a step costs after another one.
    #[must_use]
    pub fn price(&self, before: Option<(&Choice, &Step)>, choice: &Choice, step: &Step) -> u32 {
        self.prices.of(before, choice, step)
    }

    /// Where the parent of the first bend of a stroke lies at the brake when the bend is turned by `2 · half` rad:
    /// a map from its frame `(x, y, n)` to `(along, back, up)` in mm, as origin and images of the axes.
    #[must_use]
    pub fn parent_at_brake(&self, choice: &Choice, half: f64) -> [Vec3<f64>; 4] {
        let towards = match choice.back {
            Wing::Parent => Towards::Back,
            Wing::Child => Towards::Front,
        };
        let lead = self.steps.wings.lead(choice.stroke);
        let pose = self.steps.wings.pose(choice.stroke, lead.parent, Wing::Parent, 0);
        let moment = self.steps.motion(choice).at(half);
        let place = |p: Vec3<f64>| {
            let at = moment.place(p.y, p.z, towards);
            Vec3::new(p.x, at.x, at.y)
        };
        let origin = place(pose.origin);
        let axis = |a: Vec3<f64>| place(pose.origin + a) - origin;
        [origin, axis(pose.axes[0]), axis(pose.axes[1]), axis(pose.axes[2])]
    }

    /// Height of the punch's tip when the bend is turned by `2 · half` rad, in mm.
    #[must_use]
    pub fn tip(&self, choice: &Choice, half: f64) -> f64 {
        self.steps.motion(choice).at(half).tip
    }

    /// Half of the turn asked for and of that under load, in rad.
    #[must_use]
    pub fn half_turns(&self, stroke: usize) -> [f64; 2] {
        self.steps.facts[stroke].half
    }

    /// Where the stroke begins and ends along the bend, in mm.
    #[must_use]
    pub fn span(&self, stroke: usize) -> [f64; 2] {
        self.steps.facts[stroke].span
    }
}
