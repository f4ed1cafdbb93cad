//! Booleans of regions on named parts: what drives the cost is the number of pieces that meet, and whether
//! openings are clear of each other.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use kernel::geom::{Contour, Point2, Region, Tag, cut_openings, difference, union};

fn at(x: f64, y: f64) -> Point2 {
    Point2::new(x, y)
}

fn plate(x: f64, y: f64, width: f64, height: f64) -> Region {
    let corners = [at(x, y), at(x + width, y), at(x + width, y + height), at(x, y + height)];
    Region::inside(Contour::polygon(&corners, Tag(1)).expect("the corners are apart"))
}

fn circle(x: f64, y: f64, radius: f64) -> Contour {
    Contour::circle(at(x, y), radius, Tag(2)).expect("the radius is above zero")
}

fn bench_region(c: &mut Criterion) {
    let overlapping = [plate(0.0, 0.0, 300.0, 200.0), plate(150.0, 80.0, 300.0, 200.0)];
    c.bench_function("two_plates_overlap", |b| b.iter(|| union(black_box(&overlapping))));

    let base = plate(0.0, 0.0, 400.0, 300.0);
    let holes: Vec<Region> = (0..12)
        .map(|i| {
            Region::inside(circle(50.0 + 100.0 * f64::from(i % 4), 50.0 + 100.0 * f64::from(i / 4), 6.0))
        })
        .collect();
    c.bench_function("plate_minus_12_holes", |b| b.iter(|| difference(black_box(&base), black_box(&holes))));

    let panels = [
        plate(0.0, 0.0, 400.0, 300.0),
        plate(0.0, -4.5, 400.0, 4.5),
        plate(0.0, -84.5, 400.0, 80.0),
        plate(400.0, 0.0, 4.5, 300.0),
        plate(404.5, 0.0, 80.0, 300.0),
        plate(0.0, 300.0, 400.0, 4.5),
        plate(0.0, 304.5, 400.0, 80.0),
        plate(-4.5, 0.0, 4.5, 300.0),
        plate(-84.5, 0.0, 80.0, 300.0),
    ];
    c.bench_function("union_of_shared_edge_panels", |b| b.iter(|| union(black_box(&panels))));

    let perforated = plate(0.0, 0.0, 1010.0, 510.0);
    let openings: Vec<Contour> = (0..5000)
        .map(|i| circle(10.0 + 10.0 * f64::from(i % 100), 10.0 + 10.0 * f64::from(i / 100), 3.0))
        .collect();
    c.bench_function("plate_with_5000_holes", |b| {
        b.iter(|| cut_openings(black_box(&perforated), black_box(&openings)));
    });
}

criterion_group!(region, bench_region);
criterion_main!(region);
