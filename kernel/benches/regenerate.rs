//! From a history to a part: solve, fold, unfold, check; with all bytes; with thousands of holes; and with bumps that nearly meet.

#[allow(dead_code, reason = "benches and tests use different parts")]
mod parts;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use kernel::dimension::{BlankSize, SheetNumbers, Skeleton, settle};
use kernel::fold::{self, FoldFractions};
use kernel::history::feature::{Feature, Reach, Straight, StraightSide};
use kernel::history::{StockSheetSpec, StockSizeSpec};
use kernel::regenerate::regenerate;
use kernel::solid::Mesh;
use kernel::{blank, check, exchange, solid};

fn cover(criterion: &mut Criterion) {
    let history = parts::five_panel_cover();
    criterion.bench_function("five_panel_cover", |b| b.iter(|| regenerate(black_box(&history))));
    criterion.bench_function("five_panel_cover_all_bytes", |b| {
        b.iter(|| regenerate(black_box(&history)).map(|part| part.files(&history, &part.details(&history))));
    });
}

/// The smallest blank that three free numbers leave.
fn aim(criterion: &mut Criterion) {
    let history = parts::aimed_cover();
    criterion.bench_function("aimed_cover", |b| b.iter(|| regenerate(black_box(&history))));
}

/// How far dimensions and gaps spread.
fn spreads(criterion: &mut Criterion) {
    let history = parts::five_panel_cover();
    let Ok(part) = regenerate(&history) else { return };
    criterion.bench_function("five_panel_cover_tolerance_stack", |b| {
        b.iter(|| part.tolerance_stack(black_box(&history)));
    });
}

/// Blanks on a sheet: a cover whose corners are notched, and one with 5,000 holes, of which only the outline counts.
fn nests(criterion: &mut Criterion) {
    for (name, mut history) in [
        ("nest_five_panel_cover", parts::five_panel_cover()),
        ("nest_plate_with_5000_holes", parts::perforated_plate(100, 50)),
    ] {
        history.stock_sheet =
            Some(StockSheetSpec { size: StockSizeSpec::Usual("medium".to_owned()), gap: 5.0, span: None });
        let Ok(part) = regenerate(&history) else { continue };
        criterion.bench_function(name, |b| b.iter(|| part.estimate(black_box(&history))));
    }
}

/// The exact boundary and its file.
fn exact_solid(criterion: &mut Criterion) {
    let history = parts::five_panel_cover();
    let Ok(part) = regenerate(&history) else { return };
    let Some(step) = exchange::ALL.iter().find(|format| format.file_name == "folded.step") else { return };
    let folded = FoldFractions::all(&part.tree, 1.0);
    let stack = part.tolerance_stack(&history);
    let remarks = part.remarks(&history);
    let estimate = part.estimate(&history);
    let mesh = Mesh { vertices: Vec::new(), faces: Vec::new() };
    criterion.bench_function("five_panel_cover_solid_and_step", |b| {
        b.iter(|| {
            let brep = part.brep(black_box(&folded));
            (step.write)(&exchange::Subject {
                history: &history,
                sheet: &part.sheet,
                settled: &part.settled,
                aimed: part.aimed.as_ref(),
                tree: &part.tree,
                blank: &part.blank,
                bend_table: part.bend_table(),
                plan: part.bend_plan(),
                tooling: &part.bending().tooling,
                measures: part.measures,
                brep: &brep,
                mesh: &mesh,
                mass_kg: part.mass_kg(),
                limits: &part.limits,
                neighbours: &part.neighbours,
                clearances: &part.clearances,
                judged: part.judged.as_ref(),
                findings: &part.findings,
                stack: &stack,
                clearance_spreads: &[],
                remarks: &remarks,
                estimate: &estimate,
                lines: &[],
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

/// All checks of finished parts: a cover, and a plate with 5,856 holes.
fn checks(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("checks");
    for (name, history) in
        [("five_panel_cover", parts::five_panel_cover()), ("5856_holes", parts::perforated_plate(96, 61))]
    {
        let Ok(part) = regenerate(&history) else { return };
        let origin = history.sheet.origin();
        let subject = check::Subject {
            sheet: &part.sheet,
            sheet_origin: &origin,
            limits: &part.limits,
            shop: &history.shop,
            cut_from: None,
            tree: &part.tree,
            blank: &part.blank,
            described: &history.neighbours,
            neighbours: &part.neighbours,
            clearances: &part.clearances,
        };
        group.bench_function(name, |b| b.iter(|| check::run_all(black_box(subject))));
        for one in check::ALL {
            group
                .bench_function(format!("{name}/{}", one.code), |b| b.iter(|| (one.run)(black_box(subject))));
        }
    }
    group.finish();
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

criterion_group!(benches, cover, aim, spreads, nests, exact_solid, stages, holes, checks, bumps);
criterion_main!(benches);
