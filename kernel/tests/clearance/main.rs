//! How near a folded part comes to its neighbours: against formulas, planted overlaps, meshes, and laws.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise, in its helping functions too")]

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../../benches/parts.rs"]
mod parts;
#[path = "../random/mod.rs"]
mod random;

mod formulas;
mod held;
mod laws;
mod overlaps;
mod required;
mod spreads;

use kernel::fold::FoldFractions;
use kernel::geom::{Placement, Point2, Vec3};
use kernel::history::feature::{Feature, Pattern};
use kernel::history::{History, Profile, Shape};
use kernel::machine::{self, Disc, Piece, Prism};
use kernel::regenerate::{Part, regenerate};
use kernel::solid::{Clearance, Metal, Obstacle, clearance};
use parts::{base, cutout, entry, flange, history, n};

/// A plate of 120 x 80 whose outer edge at the front carries a wall 50 mm high, with a hole of 20 mm diameter about
/// (60, 50); sheet 2 mm, bends of 3 mm inside radius.
///
/// Metal of the plate lies at −2 ≤ z ≤ 0, of the wall at 0 ≤ y ≤ 2 up to z = 48. The axis of the bend runs along x
/// through y = 5, z = 3.
fn bracket() -> Part {
    made(&bracket_asked())
}

fn bracket_asked() -> History {
    let hole = Shape::Circle { diameter: n(20.0) };
    history(
        2.0,
        3.0,
        0.4,
        vec![
            base("plate", Profile::rectangle(&n(120.0), &n(80.0))),
            entry("wall", Feature::Flange(flange(&["plate/front"], 90.0, 50.0))),
            entry("hole", Feature::Cutout(cutout("plate", hole, at(&[[60.0, 50.0]])))),
        ],
    )
}

fn at(places: &[[f64; 2]]) -> Pattern {
    Pattern::At(places.iter().map(|place| place.map(n)).collect())
}

fn made(history: &History) -> Part {
    regenerate(history).unwrap()
}

fn v(x: f64, y: f64, z: f64) -> Vec3<f64> {
    Vec3::new(x, y, z)
}

/// A placement with its origin there and its normal along a direction.
fn along(origin: Vec3<f64>, direction: Vec3<f64>) -> Placement<f64> {
    let n = direction.times(1.0 / direction.length());
    let helper = if n.x.abs() < 0.6 { v(1.0, 0.0, 0.0) } else { v(0.0, 1.0, 0.0) };
    let x = helper.cross(n);
    let x = x.times(1.0 / x.length());
    Placement { origin, x, y: n.cross(x), n }
}

/// A round bar about the line through a point, 400 mm to either side.
fn bar(through: Vec3<f64>, direction: Vec3<f64>, radius: f64) -> Piece {
    still(Prism::cylinder(along(through, direction), radius, [-400.0, 400.0]))
}

fn still(prism: Prism) -> Piece {
    Piece::still(machine::Shape::Prism(prism))
}

/// A mere point.
fn point(p: Vec3<f64>) -> Piece {
    let placement = Placement { origin: p, ..Placement::identity() };
    let discs = vec![Disc { centre: Point2::new(0.0, 0.0), radius: 0.0 }];
    still(Prism { placement, discs, reach: [0.0, 0.0] })
}

/// The box between two corners.
fn cuboid(low: Vec3<f64>, high: Vec3<f64>) -> Piece {
    let middle = (low + high).times(0.5);
    let size = high - low;
    let placement = Placement { origin: v(middle.x, middle.y, 0.0), ..Placement::identity() };
    still(Prism::cuboid(placement, [size.x, size.y], [low.z, high.z]))
}

fn measured(part: &Part, pieces: &[Piece]) -> Clearance {
    let metal = Metal::new(&part.tree, &FoldFractions::all(&part.tree, 1.0)).unwrap();
    clearance(&metal, &Obstacle::new(pieces)).unwrap()
}

#[track_caller]
fn assert_near(got: f64, wanted: f64) {
    assert!((got - wanted).abs() < 1e-6, "{got} against {wanted}");
}
