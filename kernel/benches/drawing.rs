//! Views with hidden lines: a cover from four sides, and a plate with thousands of holes.
//!
//! The mesh that decides what is hidden is made once for all views, and measured beside them.

#[allow(dead_code, reason = "benches and tests use different parts")]
mod parts;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use kernel::drawing::views::{Direction, project};
use kernel::fold::FoldFractions;
use kernel::history::History;
use kernel::quantity::tolerance;
use kernel::regenerate::regenerate;
use kernel::solid;

fn views(criterion: &mut Criterion, name: &str, history: &History, directions: &[(&str, &[Direction])]) {
    let Ok(part) = regenerate(history) else { return };
    let folded = FoldFractions::all(&part.tree, 1.0);
    let brep = part.brep(&folded);
    let meshed = || solid::edged_mesh(&part.tree, &brep, tolerance::DRAWN_CHORD_MM);
    let Ok(mesh) = meshed() else { return };
    let mut group = criterion.benchmark_group(name);
    group.bench_function("mesh", |b| b.iter(|| black_box(meshed())));
    for (view, directions) in directions {
        group.bench_function(*view, |b| {
            b.iter(|| {
                directions.iter().map(|d| project(black_box(&brep), &mesh, *d).lines.len()).sum::<usize>()
            });
        });
    }
    group.finish();
}

fn drawing(criterion: &mut Criterion) {
    let four = [Direction::FRONT, Direction::TOP, Direction::RIGHT, Direction::ISOMETRIC];
    views(criterion, "views_five_panel_cover", &parts::five_panel_cover(), &[("four", &four)]);
    let holes = parts::perforated_plate(100, 50);
    let of_holes: [(&str, &[Direction]); 3] =
        [("top", &four[1..2]), ("front", &four[..1]), ("isometric", &four[3..])];
    views(criterion, "views_5000_holes", &holes, &of_holes);
}

criterion_group!(benches, drawing);
criterion_main!(benches);
