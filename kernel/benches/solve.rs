//! Whole solves and Jacobians on a chain of panels, as a cover's dimensions are: each panel turns about the
//! crease before it and shifts along itself, and each relation measures something at the end of a panel.

#[allow(dead_code, reason = "tests and benches use different parts")]
mod parts;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use kernel::dimension::{BlankSize, SheetNumbers, Skeleton, settle};
use kernel::geom::{Placement, Plane3, Scalar, Vec3};
use kernel::quantity::tolerance;
use kernel::solve::{Ending, System, jacobian, relation, solve};
use std::hint::black_box;

/// `panels` panels in a chain, each with a turn in degrees and a length in mm. Two relations a panel: its
/// far crease lies at a distance from the base, and its normal leans as asked.
struct Chain {
    panels: usize,
    targets: Vec<f64>,
}

impl Chain {
    /// The unknowns of the finished shape: a wide curl of panels of about 40 mm.
    fn answer(panels: usize) -> Vec<f64> {
        (0..panels)
            .flat_map(|i| [180.0 / panels as f64 + (i % 3) as f64, 40.0 + (i % 5) as f64 * 3.0])
            .collect()
    }

    /// A chain whose targets are the measures of the finished shape.
    fn new(unknowns: usize) -> Self {
        let panels = unknowns / 2;
        let mut chain = Self { panels, targets: vec![0.0; unknowns] };
        let mut measures = vec![0.0; unknowns];
        chain.residuals(&Self::answer(panels), &mut measures);
        chain.targets = measures;
        chain
    }

    /// Start values 5 to 10 % off the answer, to both sides.
    fn start(&self) -> Vec<f64> {
        let shares = [0.05, -0.08, 0.1, -0.06, 0.07, -0.1, 0.09];
        Self::answer(self.panels).iter().zip(shares.iter().cycle()).map(|(v, s)| v * (1.0 + s)).collect()
    }
}

impl System for Chain {
    fn variable_count(&self) -> usize {
        2 * self.panels
    }

    fn relation_count(&self) -> usize {
        2 * self.panels
    }

    fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]) {
        let base = Plane3 { point: Vec3::constant(0.0, 0.0, 0.0), normal: Vec3::constant(0.0, 0.6, 0.8) };
        let zero = S::constant(0.0);
        let mut at = Placement::<S>::identity();
        for panel in 0..self.panels {
            let (turn, length) =
                (unknowns[2 * panel].scaled(std::f64::consts::PI / 180.0), unknowns[2 * panel + 1]);
            let (sin, cos) = turn.sin_cos();
            at = Placement {
                origin: at.origin,
                x: at.x,
                y: at.y.times(cos) + at.n.times(sin),
                n: at.n.times(cos) - at.y.times(sin),
            };
            at.origin = at.point(zero, length, zero);
            let target = |i: usize| S::constant(self.targets[2 * panel + i]);
            residuals[2 * panel] = relation::plane_distance(at.origin, base, target(0));
            residuals[2 * panel + 1] =
                relation::angle_about(base.normal, at.n, Vec3::constant(1.0, 0.0, 0.0), target(1));
        }
    }

    fn tolerance(&self, relation: usize) -> f64 {
        if relation.is_multiple_of(2) { tolerance::HELD_MM } else { tolerance::HELD_RAD }
    }
}

/// The same chain, but each panel is measured from the second one before it, as dimensions between near
/// panels are: every relation knows at most four unknowns, and yet all hang together.
struct Neighbours {
    chain: Chain,
}

impl Neighbours {
    fn new(unknowns: usize) -> Self {
        let panels = unknowns / 2;
        let mut new = Self { chain: Chain { panels, targets: vec![0.0; unknowns] } };
        let mut measures = vec![0.0; unknowns];
        new.residuals(&Chain::answer(panels), &mut measures);
        new.chain.targets = measures;
        new
    }
}

impl System for Neighbours {
    fn variable_count(&self) -> usize {
        self.chain.variable_count()
    }

    fn relation_count(&self) -> usize {
        self.chain.relation_count()
    }

    fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]) {
        let base = Plane3 { point: Vec3::constant(0.0, 0.0, 0.0), normal: Vec3::constant(0.0, 0.6, 0.8) };
        let zero = S::constant(0.0);
        for panel in 0..self.chain.panels {
            let mut at = Placement::<S>::identity();
            for own in panel.saturating_sub(1)..=panel {
                let turn = unknowns[2 * own].scaled(std::f64::consts::PI / 180.0);
                let (sin, cos) = turn.sin_cos();
                at = Placement {
                    origin: at.origin,
                    x: at.x,
                    y: at.y.times(cos) + at.n.times(sin),
                    n: at.n.times(cos) - at.y.times(sin),
                };
                at.origin = at.point(zero, unknowns[2 * own + 1], zero);
            }
            let target = |i: usize| S::constant(self.chain.targets[2 * panel + i]);
            residuals[2 * panel] = relation::plane_distance(at.origin, base, target(0));
            residuals[2 * panel + 1] =
                relation::angle_about(base.normal, at.n, Vec3::constant(1.0, 0.0, 0.0), target(1));
        }
    }

    fn tolerance(&self, relation: usize) -> f64 {
        self.chain.tolerance(relation)
    }
}

/// Systems in which relations know their neighbours only.
fn neighbours(c: &mut Criterion) {
    let mut group = c.benchmark_group("solve");
    for unknowns in [30, 100, 300, 1000] {
        let system = Neighbours::new(unknowns);
        let start = system.chain.start();
        let report = solve(&system, &start).report;
        assert_eq!((report.ending, report.rank), (Ending::Held, unknowns));
        group.bench_function(format!("neighbours_{unknowns}x{unknowns}"), |b| {
            b.iter(|| solve(&system, black_box(&start)));
        });
    }
    group.finish();
}

fn chain(c: &mut Criterion) {
    let mut group = c.benchmark_group("solve");
    for unknowns in [10, 30, 100] {
        let chain = Chain::new(unknowns);
        let start = chain.start();
        let report = solve(&chain, &start).report;
        assert_eq!((report.ending, report.rank), (Ending::Held, unknowns));
        group.bench_function(format!("chain_{unknowns}x{unknowns}"), |b| {
            b.iter(|| solve(&chain, black_box(&start)));
        });
        group.bench_with_input(BenchmarkId::new("jacobian", unknowns), &start, |b, start| {
            b.iter(|| jacobian(&chain, black_box(start)));
        });
    }
    group.finish();
}

/// Outlines with relations: 40 corners are 80 free numbers.
fn sketch(c: &mut Criterion) {
    let mut group = c.benchmark_group("solve");
    for teeth in [2, 10] {
        let history = parts::sketched_comb(teeth);
        let sheet = history.sheet.resolve().expect("the comb has a sheet");
        let sheet = SheetNumbers::from(&sheet);
        let skeleton = Skeleton::new(&history, sheet).expect("the comb has a skeleton");
        let settled =
            settle(&history, &skeleton, sheet, BlankSize::default()).expect("the comb can be settled");
        assert_eq!(settled.sketches[0].left_free, 0);
        group.bench_function(format!("sketch_of_{}_corners", 4 * teeth), |b| {
            b.iter(|| settle(black_box(&history), &skeleton, sheet, BlankSize::default()));
        });
    }
    group.finish();
}

criterion_group!(benches, chain, neighbours, sketch);
criterion_main!(benches);
