//! Openings of covers: thousands of equal holes, and the rim of a box.

#[allow(dead_code, reason = "tests and benches use different parts")]
mod parts;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use kernel::guard::openings;
use kernel::regenerate::regenerate;

fn bench_guard(c: &mut Criterion) {
    let screen = regenerate(&parts::perforated_plate(100, 50)).expect("the plate can be made").tree;
    c.bench_function("openings_of_5000_holes", |b| b.iter(|| openings(black_box(&screen))));
    let cover = regenerate(&parts::five_panel_cover()).expect("the cover can be made").tree;
    c.bench_function("openings_of_five_panel_cover", |b| b.iter(|| openings(black_box(&cover))));
}

criterion_group!(benches, bench_guard);
criterion_main!(benches);
