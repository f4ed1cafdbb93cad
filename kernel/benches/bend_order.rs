//! Bend orders of 8, 12 and 16 bends.

#[allow(dead_code, reason = "benches and tests use different parts")]
mod parts;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use kernel::brake::{StepCosts, plan};
use kernel::history::feature::{Feature, FoldSide};
use kernel::history::{FeatureEntry, Profile};
use kernel::regenerate::regenerate;
use kernel::stock::Tooling;
use parts::{base, entry, flange, history, n};

/// A box whose four walls carry brims outwards, and these lips and edges, up to the number of bends.
fn box_with_returns(bends: usize) -> Vec<FeatureEntry> {
    let mut features = vec![base("base", Profile::rectangle(&n(300.0), &n(200.0)))];
    let sides = ["front", "right", "back", "left"];
    let lengths = [60.0, 30.0, 15.0, 9.0];
    for index in 0..bends {
        let (level, side) = (index / sides.len(), sides[index % sides.len()]);
        let edge = if level == 0 { format!("base/{side}") } else { format!("{side}{}/tip", level - 1) };
        let mut made = flange(&[&edge], 90.0, lengths[level]);
        made.side = if level == 0 || level == 3 { FoldSide::Up } else { FoldSide::Down };
        features.push(entry(&format!("{side}{level}"), Feature::Flange(made)));
    }
    features
}

fn orders(criterion: &mut Criterion) {
    let tooling = Tooling::default();
    for bends in [4, 8, 12, 16] {
        let part = match regenerate(&history(1.5, 1.5, 0.44, box_with_returns(bends))) {
            Ok(part) => part,
            Err(faults) => panic!("{faults:?}"),
        };
        let order = || plan(&part.tree, &part.sheet, &part.limits, &tooling, &[], StepCosts::default());
        criterion.bench_function(&format!("bend_order_{bends}"), |b| b.iter(|| black_box(order())));
    }
}

criterion_group!(benches, orders);
criterion_main!(benches);
