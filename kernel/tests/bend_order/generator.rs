//! Random trees of flanges that like to be in each other's way. Invariant: the same seed gives the same part.

use kernel::history::feature::{Feature, FoldSide};
use kernel::history::{FeatureEntry, Profile};
use kernel::regenerate::{Part, regenerate};

use super::parts::{base, entry, flange, history, n};

/// Numbers after Knuth's linear congruential generator (MMIX).
pub(super) struct Dice(u64);

impl Dice {
    pub(super) fn new(seed: u64) -> Self {
        let mut dice = Self(seed);
        dice.below(2);
        dice
    }

    pub(super) fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % count as u64) as usize
    }

    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.below(1001) as f64 / 1000.0
    }
}

/// A part with at most `most` flanges, if the features can be built.
pub(super) fn part(seed: u64, most: usize) -> Option<Part> {
    let mut dice = Dice::new(seed);
    let size = [dice.between(30.0, 160.0), dice.between(30.0, 160.0)];
    let mut features: Vec<FeatureEntry> = vec![base("base", Profile::rectangle(&n(size[0]), &n(size[1])))];
    let mut edges: Vec<String> = ["front", "right", "back", "left"].map(|e| format!("base/{e}")).to_vec();
    let count = 2 + dice.below(most - 1);
    for index in 0..count {
        let edge = edges.swap_remove(dice.below(edges.len()));
        let turn = [90.0, 90.0, 90.0, 60.0, 110.0, 135.0][dice.below(6)];
        let length = dice.between(12.0, 70.0);
        let mut made = flange(&[&edge], turn, length);
        made.side = if dice.below(4) == 0 { FoldSide::Down } else { FoldSide::Up };
        if !edge.starts_with("base") {
            made.left.inset = n(dice.between(0.0, 3.0));
        }
        let name = format!("f{index}");
        edges.push(format!("{name}/tip"));
        features.push(entry(&name, Feature::Flange(made)));
    }
    regenerate(&history(1.5, 2.0, 0.44, features)).ok()
}
