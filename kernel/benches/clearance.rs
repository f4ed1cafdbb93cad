//! How near a folded part comes to many neighbours: 2,000 triangles against 200 of them.

#[allow(dead_code, reason = "benches and tests use different parts")]
mod parts;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use kernel::fold::FoldFractions;
use kernel::geom::{Placement, Point2, Vec3};
use kernel::history::feature::{Feature, Pattern};
use kernel::history::{History, Shape};
use kernel::machine::{self, Disc, Piece, Prism};
use kernel::quantity::{maths, tolerance};
use kernel::regenerate::regenerate;
use kernel::solid::{Metal, Obstacle, clearance};

/// The cover with so many round holes that its mesh has 2,000 triangles.
fn perforated_cover() -> History {
    let mut history = parts::five_panel_cover();
    for entry in &mut history.features {
        if let Feature::Cutout(cutout) = &mut entry.feature {
            cutout.shape = Shape::Circle { diameter: parts::n(9.0) };
            cutout.pattern = Pattern::Grid {
                from: [parts::n(40.0), parts::n(50.0)],
                columns: 7,
                rows: 3,
                column_pitch: parts::n(38.0),
                row_pitch: parts::n(40.0),
                staggered: false,
            };
        }
    }
    history
}

/// Shafts, hexagon heads and boxes in and around the cover, every third one in a slanting place.
fn neighbours() -> Vec<Vec<Piece>> {
    let share = |i: u32, step: f64| (f64::from(i) * step).fract();
    (0..200)
        .map(|i| {
            let origin = Vec3::new(
                20.0 + 280.0 * share(i, 0.618),
                15.0 + 160.0 * share(i, 0.414),
                6.0 + 120.0 * share(i, 0.732),
            );
            let slant = if i % 3 == 0 { 0.4 } else { 0.0 };
            let (sin, cos) = maths::sin_cos(slant);
            let placement = Placement {
                origin,
                x: Vec3::new(cos, 0.0, -sin),
                y: Vec3::new(0.0, 1.0, 0.0),
                n: Vec3::new(sin, 0.0, cos),
            };
            let prism = match i % 4 {
                0 => Prism::cylinder(placement, 3.0, [0.0, 12.0]),
                1 => Prism::cuboid(placement, [10.0, 6.0], [0.0, 5.0]),
                _ => {
                    let discs = (0..6).map(|corner| {
                        let (sin, cos) = maths::sin_cos(maths::TAU * f64::from(corner) / 6.0);
                        Disc { centre: Point2::new(7.5 * cos, 7.5 * sin), radius: 0.0 }
                    });
                    Prism { placement, discs: discs.collect(), reach: [0.0, 5.3] }
                }
            };
            vec![Piece::still(machine::Shape::Prism(prism))]
        })
        .collect()
}

fn clearances(criterion: &mut Criterion) {
    let Ok(part) = regenerate(&perforated_cover()) else { return };
    let folded = FoldFractions::all(&part.tree, 1.0);
    let triangles = part.mesh(&folded, tolerance::CHORD_MM).map_or(0, |mesh| mesh.faces.len());
    let neighbours = neighbours();
    let measure = |metal: &Metal<'_>| {
        let found = neighbours.iter().filter_map(|pieces| clearance(metal, &Obstacle::new(pieces)));
        found.map(|found| found.distance).sum::<f64>()
    };
    let Ok(metal) = Metal::new(&part.tree, &folded) else { return };
    let meeting = neighbours
        .iter()
        .filter_map(|pieces| clearance(&metal, &Obstacle::new(pieces)))
        .filter(|found| found.distance <= 0.0)
        .count();
    let mut group =
        criterion.benchmark_group(format!("{triangles}_triangles_200_neighbours_{meeting}_meeting"));
    group.bench_function("pieces_of_metal", |b| b.iter(|| Metal::new(black_box(&part.tree), &folded)));
    group.bench_function("distances", |b| b.iter(|| measure(black_box(&metal))));
    group.finish();
    // All places of the rim are as near to a shaft in the middle of its hole.
    let middle = Placement { origin: Vec3::new(40.0, 50.0, 0.0), ..Placement::identity() };
    let shaft = Prism::cylinder(middle, 2.0, [-50.0, 50.0]);
    let pieces = [Piece::still(machine::Shape::Prism(shaft))];
    criterion.bench_function("shaft_in_the_middle_of_its_hole", |b| {
        b.iter(|| clearance(black_box(&metal), &Obstacle::new(&pieces)));
    });
    // A bar right through two walls and along the bend between floor and wall.
    let along = Placement {
        origin: Vec3::new(150.0, 4.0, 1.0),
        x: Vec3::new(0.0, 1.0, 0.0),
        y: Vec3::new(0.0, 0.0, 1.0),
        n: Vec3::new(1.0, 0.0, 0.0),
    };
    let pieces = [Piece::still(machine::Shape::Prism(Prism::cylinder(along, 3.0, [-400.0, 400.0])))];
    criterion.bench_function("bar_that_bites_a_bend", |b| {
        b.iter(|| clearance(black_box(&metal), &Obstacle::new(&pieces)));
    });
}

criterion_group!(benches, clearances);
criterion_main!(benches);
