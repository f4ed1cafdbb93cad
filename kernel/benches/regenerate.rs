//! From a history to a part: solve, fold, unfold, check; with all bytes; with thousands of holes; and with bumps that nearly meet.

#[allow(dead_code, reason = "benches and tests use different parts")]
mod parts;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use kernel::dimension::{BlankSize, SheetNumbers, Skeleton, settle};
use kernel::fold::{self, FoldFractions};
use kernel::history::feature::{Feature, Reach, Straight, StraightSide};
use kernel::regenerate::regenerate;
use kernel::solid::Mesh;
use kernel::{blank, exchange, solid};

fn cover(criterion: &mut Criterion) {
    let history = parts::five_panel_cover();
    criterion.bench_function("five_panel_cover", |b| b.iter(|| regenerate(black_box(&history))));
    criterion.bench_function("five_panel_cover_all_bytes", |b| {
        b.iter(|| regenerate(black_box(&history)).map(|part| part.files(&history)));
    });
}

/// How far dimensions and gaps spread.
fn spreads(criterion: &mut Criterion) {
    let history = parts::five_panel_cover();
    let Ok(part) = regenerate(&history) else { return };
    criterion.bench_function("five_panel_cover_tolerance_stack", |b| {
        b.iter(|| part.tolerance_stack(black_box(&history)));
    });
}

/// The exact boundary and its file.
fn exact_solid(criterion: &mut Criterion) {
    let history = parts::five_panel_cover();
    let Ok(part) = regenerate(&history) else { return };
    let Some(step) = exchange::ALL.iter().find(|format| format.file_name == "folded.step") else { return };
    let folded = FoldFractions::all(&part.tree, 1.0);
    let stack = part.tolerance_stack(&history);
    let remarks = part.remarks(&history);
    let mesh = Mesh { vertices: Vec::new(), faces: Vec::new() };
    criterion.bench_function("five_panel_cover_solid_and_step", |b| {
        b.iter(|| {
            let brep = part.brep(black_box(&folded));
            (step.write)(&exchange::Subject {
                history: &history,
                sheet: &part.sheet,
                settled: &part.settled,
                tree: &part.tree,
                blank: &part.blank,
                bend_table: part.bend_table(),
                plan: part.bend_plan(),
                shop: &part.bending().shop,
                measures: part.measures,
                brep: &brep,
                mesh: &mesh,
                mass_kg: part.mass_kg(),
                findings: &part.findings,
                stack: &stack,
                remarks: &remarks,
            })
        });
    });
}

fn stages(criterion: &mut Criterion) {
    let history = parts::five_panel_cover();
    let Ok(sheet) = history.sheet.resolve() else { return };
    let numbers = SheetNumbers::from(&sheet);
    let Ok(skeleton) = Skeleton::new(&history, numbers) else { return };
    let Ok(settled) = settle(&history, &skeleton, numbers, BlankSize::default()) else { return };
    let Ok(tree) = fold::build(&history, &skeleton, &settled.pose, &settled.free, &sheet) else { return };
    let mut group = criterion.benchmark_group("five_panel_cover_stages");
    group.bench_function("skeleton", |b| b.iter(|| Skeleton::new(black_box(&history), numbers).map(|_| ())));
    group.bench_function("settle", |b| {
        b.iter(|| settle(&history, black_box(&skeleton), numbers, BlankSize::default()));
    });
    group.bench_function("fold", |b| {
        b.iter(|| fold::build(&history, &skeleton, black_box(&settled.pose), &settled.free, &sheet));
    });
    group.bench_function("unfold", |b| b.iter(|| blank::unfold(black_box(&tree))));
    let folded = FoldFractions::all(&tree, 1.0);
    group.bench_function("brep", |b| b.iter(|| solid::brep(black_box(&tree), &folded)));
    for chord in [1e-1, 1e-2, 1e-3] {
        group.bench_function(format!("mesh_chord_{chord}_mm"), |b| {
            b.iter(|| solid::mesh(&tree, &solid::brep(black_box(&tree), &folded), chord));
        });
    }
    group.finish();
}

fn holes(criterion: &mut Criterion) {
    let history = parts::perforated_plate(100, 50);
    criterion.bench_function("blank_with_5000_holes", |b| b.iter(|| regenerate(black_box(&history))));
    let mut slanting = parts::perforated_plate(50, 40);
    for entry in &mut slanting.features {
        if let Feature::Cutout(cutout) = &mut entry.feature {
            let along = [0.3, 0.1, 1.0].map(parts::n);
            cutout.reach = Reach::Straight(Straight { along, side: StraightSide::Both, panels: None });
        }
    }
    criterion.bench_function("cut_2000_slanting_holes", |b| b.iter(|| regenerate(black_box(&slanting))));
}

/// Bumps that nearly meet are slow to look at: nothing is passed over, and nothing is found.
fn bumps(criterion: &mut Criterion) {
    let history = parts::bumped_channel();
    let Ok(part) = regenerate(&history) else { return };
    let folded = FoldFractions::all(&part.tree, 1.0);
    let mut group = criterion.benchmark_group("bumped_channel");
    group.bench_function("regenerate", |b| b.iter(|| regenerate(black_box(&history))));
    group.bench_function("collisions", |b| b.iter(|| solid::collisions(black_box(&part.tree), &folded)));
    group.finish();
}

criterion_group!(benches, cover, spreads, exact_solid, stages, holes, bumps);
criterion_main!(benches);
