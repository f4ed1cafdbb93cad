//! How far clearances spread in the shop: derivatives by hand, and 10,000 parts made at random whose clearances are
//! measured by parry3d or by formulas, which know nothing of nearest places.
//!
//! The bracket's wall stands on a bend of turn `a`, inside radius `r = 3`, `t = 2`, `K = 0.4`, so that it takes
//! `a (r + K t)` with `r + K t = 3.8`. With `s = p − g`, `e = p + g` and `g = (a (r + K t) − B) / 2`, a place of the
//! wall `w` behind its bend and `n` over its inner face lies at
//! `out = s + r sin a + (w − e) cos a − n sin a` outwards of `y = 5`, and at the height
//! `z = r (1 − cos a) + (w − e) sin a + n cos a`.

use kernel::dimension::{MaterialPoint, SheetNumbers, Skeleton, Spread, Stack};
use kernel::fold;
use kernel::geom::{Point2, Vec3};
use kernel::history::feature::{Bump, BumpSide, Feature, XFrom};
use kernel::history::{BoltEndSpec, BoltSpec, History, NeighbourEntry, NeighbourSpec, Shape, Stand};
use kernel::machine::Neighbour;
use kernel::quantity::maths;
use kernel::regenerate::Part;
use kernel::solid::{ClearanceSpread, Zone};
use parry3d_f64::math::{Pose, Vector};
use parry3d_f64::query;
use parry3d_f64::shape::ConvexPolyhedron;

use super::parts::{self, cutout, entry, n, panel};
use super::{assert_near, at, bracket_asked, made};

const DEG: f64 = maths::PI / 180.0;
const QUARTER: f64 = maths::FRAC_PI_2;
const T: f64 = 2.0;
const R: f64 = 3.0;
const K: f64 = 0.4;
/// Half of what a radian of turn makes a bend take more.
const HALF: f64 = 0.5 * (R + K * T);

fn neighbour(kind: NeighbourSpec, bolted: bool) -> NeighbourEntry {
    NeighbourEntry {
        name: "frame".to_owned(),
        kind,
        clearance: None,
        hazard: None,
        bolted,
        travel: None,
        turning: None,
        span: None,
    }
}

/// The bracket beside a neighbour, with this share of the tolerances of tests.
fn beside(kind: NeighbourSpec, bolted: bool, share: f64) -> History {
    let tolerances = Some(parts::tolerances(share));
    History { neighbours: vec![neighbour(kind, bolted)], tolerances, ..bracket_asked() }
}

/// A plate whose face looks at the wall from outside, this far from it, from x = 20 to 100 and from z = 10 to 40.
fn plate(off: f64) -> NeighbourSpec {
    let stand = Stand { at: [60.0, -off, 25.0], along: [0.0, 1.0, 0.0], across: Some([1.0, 0.0, 0.0]) };
    NeighbourSpec::Plate { stand, size: [80.0, 30.0], thickness: 6.0 }
}

/// A shaft of 6 mm along x, nearest to the bend half-way round.
fn shaft_at_bend() -> NeighbourSpec {
    NeighbourSpec::Shaft { from: [-50.0, -4.0, -6.0], to: [170.0, -4.0, -6.0], diameter: 6.0 }
}

/// A bolt whose head, 16 mm wide, lies inside of the wall.
fn bolt() -> NeighbourSpec {
    let stand = Stand { at: [60.0, 16.0, 20.0], along: [0.0, 0.0, 1.0], across: None };
    let end = BoltEndSpec::Length(30.0);
    NeighbourSpec::Bolt(BoltSpec { size: "M10".to_owned(), stand, end, washer: false, nut_at: None })
}

/// A shaft of 6 mm that comes nearest to the inside of the wall with the rim of one end.
fn leaning_shaft() -> NeighbourSpec {
    NeighbourSpec::Shaft { from: [20.0, 12.0, 20.0], to: [110.0, 30.0, 45.0], diameter: 6.0 }
}

/// The bracket with a hole of 20 mm in its wall, 25 mm high, and a shaft through it.
fn through_hole(offset: [f64; 2], diameter: f64, share: f64) -> History {
    let [x, z] = [60.0 + offset[0], 25.0 + offset[1]];
    let kind = NeighbourSpec::Shaft { from: [x, -60.0, z], to: [x, 60.0, z], diameter };
    let mut history = beside(kind, false, share);
    let hole = Shape::Circle { diameter: n(20.0) };
    // Places on a flange count from the outer mould line.
    history.features.push(entry("eye", Feature::Cutout(cutout("wall", hole, at(&[[60.0, 27.0]])))));
    history
}

fn spread_of(history: &History) -> (Part, ClearanceSpread) {
    let part = made(history);
    let spread = part.clearance_spreads(history).remove(0);
    (part, spread)
}

fn slope(spread: &Spread, name: &str) -> f64 {
    spread.contributions.iter().find(|c| c.name == name).map_or(0.0, |c| c.sensitivity)
}

/// Distances of round metal are exact to 1e-7 mm, and so places on it, where distances hardly change, to about
/// √(8 · 5 mm · 1e-7 mm) = 2e-3 mm, which is 4e-4 of a radius of 5 mm.
const SLANT: f64 = 5e-4;

#[track_caller]
fn assert_slopes(spread: &Spread, wanted: &[(&str, f64)]) {
    for &(name, wanted) in wanted {
        let got = slope(spread, name);
        assert!((got - wanted).abs() < SLANT * (1.0 + wanted.abs()), "{name}: {got} against {wanted}");
    }
    assert_eq!(spread.contributions.len(), wanted.len(), "{:?}", spread.contributions);
    let worst: f64 = spread.contributions.iter().map(|c| (c.sensitivity * c.limit).abs()).sum();
    assert_near(spread.worst, worst);
}

const NAMES: [&str; 4] =
    ["turn of bend `wall`", "place of bend `wall`", "inside radius of bend `wall`", "thickness"];

fn by([turn, place, radius, thickness]: [f64; 4]) -> Vec<(&'static str, f64)> {
    NAMES.into_iter().zip([turn * DEG, place, radius, thickness]).collect()
}

/// How the gap outside of the wall changes at this height.
fn outside_of_wall(z: f64) -> [f64; 4] {
    [z - R + HALF, -1.0, -(1.0 - 0.5 * QUARTER), -(1.0 - 0.5 * QUARTER * K)]
}

#[test]
fn plate_beside_a_wall_by_hand() {
    // The wall leans outwards at the upper end of the plate when it is bent too little.
    let (part, found) = spread_of(&beside(plate(5.0), false, 1.0));
    assert_near(part.clearances[0].distance, 5.0);
    assert_slopes(&found.spread, &by(outside_of_wall(40.0)));
    assert_near(found.least, 5.0 - found.spread.worst);
}

#[test]
fn plate_that_is_bolted_on_or_too_deep_spreads_as_one_that_is_apart() {
    for off in [0.0, -0.5] {
        let (part, found) = spread_of(&beside(plate(off), true, 1.0));
        assert_near(part.clearances[0].distance, off);
        assert_slopes(&found.spread, &by(outside_of_wall(40.0)));
        assert!((found.least - (off - found.spread.worst)).abs() < 1e-5, "{}", found.least);
    }
}

#[test]
fn shaft_at_a_bend_by_hand() {
    // The axis of the bend lies at y = 5 − s and z = r; with u from there to the shaft, d = |…| − (r + t) − 3.
    let (part, found) = spread_of(&beside(shaft_at_bend(), false, 1.0));
    assert_near(part.clearances[0].distance, 162.0_f64.sqrt() - 8.0);
    assert!(matches!(found.zone, Zone::Bend(_)));
    let u = -0.5_f64.sqrt();
    let wanted = [-u * HALF, u, -u * (0.5 * QUARTER + 1.0) - 1.0, -u * 0.5 * QUARTER * K - 1.0];
    assert_slopes(&found.spread, &by(wanted));
}

#[test]
fn shaft_amid_a_hole_comes_nearest_above_or_below_by_hand() {
    // At the outer rim, n = −t, the height changes by r + t − (r + K t)/2 for a turn.
    let (part, found) = spread_of(&through_hole([0.0, 0.0], 14.0, 1.0));
    assert_near(part.clearances[0].distance, 3.0);
    let rise = [R + T - HALF, -1.0, 1.0 - 0.5 * QUARTER, -0.5 * QUARTER * K];
    let sign = -slope(&found.spread, NAMES[1]).signum();
    assert_slopes(&found.spread, &by(rise.map(|slope| sign * slope)));
}

#[test]
fn bumps_move_with_the_thickness_where_their_faces_do() {
    for (side, top, thickness) in [(BumpSide::In, 10.0, 0.0), (BumpSide::Out, -12.0, -1.0)] {
        let off: f64 = if top > 0.0 { 4.0 } else { -4.0 };
        let axis = top + off + 3.0 * off.signum();
        let kind = NeighbourSpec::Shaft { from: [60.0, 30.0, axis], to: [60.0, 70.0, axis], diameter: 6.0 };
        let mut history = beside(kind, false, 1.0);
        history.features.truncate(2);
        let bump = Bump {
            panel: panel("plate"),
            profile: Shape::Circle { diameter: n(40.0) },
            pattern: at(&[[60.0, 50.0]]),
            x_from: XFrom::Left,
            height: n(10.0),
            side,
            draft: n(20.0),
            punch_radius: None,
            die_radius: None,
            corner_radius: None,
        };
        history.features.push(entry("boss", Feature::Bump(bump)));
        let (part, found) = spread_of(&history);
        assert_near(part.clearances[0].distance, 4.0);
        assert!(matches!(found.zone, Zone::Form(_)));
        assert!((slope(&found.spread, "thickness") - thickness).abs() < 1e-9, "{:?}", found.spread);
        assert_near(found.spread.worst, 0.1 * thickness.abs());
    }
}

/// Numbers between −1 and 1, evenly spread, the same on every machine (a 64-bit linear congruential generator
/// with the multiplier and increment of Knuth's MMIX, from memory; its high bits).
struct Even(u64);

impl Even {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let high = u32::try_from(self.0 >> 32).unwrap();
        2.0 * f64::from(high) / f64::from(u32::MAX) - 1.0
    }
}

fn hull(points: &[Vec3<f64>]) -> ConvexPolyhedron {
    let points: Vec<Vector> = points.iter().map(|p| Vector::new(p.x, p.y, p.z)).collect();
    ConvexPolyhedron::from_convex_hull(&points).unwrap()
}

/// Pieces of a neighbour as hulls of what is farthest along many directions.
fn hulls(neighbour: &Neighbour) -> Vec<ConvexPolyhedron> {
    let directions = |n: Vec3<f64>, x: Vec3<f64>, y: Vec3<f64>| {
        (0..720).flat_map(move |i| {
            let (sin, cos) = maths::sin_cos(f64::from(i) * 0.5 * DEG + 1e-4);
            let round = x.times(cos) + y.times(sin);
            [round + n.times(1e-3), round - n.times(1e-3)]
        })
    };
    let piece = |piece: &kernel::machine::Piece| match &piece.shape {
        kernel::machine::Shape::Prism(prism) => {
            let frame = prism.placement;
            hull(&directions(frame.n, frame.x, frame.y).map(|d| prism.farthest(d)).collect::<Vec<_>>())
        }
        kernel::machine::Shape::Surface(_) => panic!("there are no meshes here"),
    };
    neighbour.pieces.iter().map(piece).collect()
}

/// Clearances of 10,000 parts as made; `measure` tells it for a part whose deviations are these.
fn sampled(
    history: &History,
    mut measure: impl FnMut(&Part, &Stack<'_, '_>, &[f64]) -> f64,
) -> (f64, ClearanceSpread, Vec<f64>) {
    let (part, found) = spread_of(history);
    let sheet = SheetNumbers::from(&part.sheet);
    let skeleton = Skeleton::new(history, sheet).unwrap();
    let size = part.blank.bounding_box();
    let tolerances = fold::tolerances(history, &part.tree, [size.width(), size.height()]);
    let stack = Stack::new(history, &skeleton, sheet, &part.settled, part.settled.blank, &tolerances);
    let mut even = Even(20_261_128);
    let mut values = Vec::new();
    for _ in 0..10_000 {
        let off: Vec<f64> = stack.limits().iter().map(|limit| limit * even.next()).collect();
        values.push(measure(&part, &stack, &off));
    }
    // The deviations that the spread says are worst come last.
    let sign = |deviation| {
        let found = found.spread.contributions.iter().find(|c| c.deviation == deviation);
        found.map_or(0.0, |c| -c.sensitivity.signum() * c.limit)
    };
    let off: Vec<f64> = stack.made().deviations().iter().map(|&deviation| sign(deviation)).collect();
    values.push(measure(&part, &stack, &off));
    (part.clearances[0].distance, found, values)
}

fn panel_as_made(part: &Part, stack: &Stack<'_, '_>, off: &[f64], outline: &[Point2]) -> Vec<Vec3<f64>> {
    let panel = part.tree.panels().iter().find(|p| p.name.as_str() == "wall").unwrap().id;
    let pose = stack.made().pose(off);
    outline
        .iter()
        .flat_map(|&at| [0.0, 1.0].map(|depth| MaterialPoint { panel, at, depth, cuts: Vec::new() }))
        .map(|point| stack.made().point(&pose, off, &point))
        .collect()
}

fn wall_outline(part: &Part) -> Vec<Point2> {
    let panel = part.tree.panels().iter().find(|p| p.name.as_str() == "wall").unwrap();
    panel.region.contours()[0].segments().iter().map(|piece| piece.start).collect()
}

/// How far from the wall as made a neighbour is, after parry3d.
fn from_wall(part: &Part, stack: &Stack<'_, '_>, off: &[f64], pieces: &[ConvexPolyhedron]) -> f64 {
    let wall = hull(&panel_as_made(part, stack, off, &wall_outline(part)));
    let here = Pose::identity();
    let apart = pieces.iter().map(|piece| query::distance(&here, &wall, &here, piece).unwrap().distance);
    apart.fold(f64::INFINITY, f64::min)
}

/// How far a shaft along y through (x, z) is from a hole of the wall as made.
fn from_hole(part: &Part, stack: &Stack<'_, '_>, off: &[f64], [x, z, radius]: [f64; 3]) -> f64 {
    let rim: Vec<Point2> = (0..720)
        .map(|i| maths::sin_cos(f64::from(i) * 0.5 * DEG))
        .map(|(sin, cos)| Point2::new(60.0 + 10.0 * cos, 22.0 + 10.0 * sin))
        .collect();
    let from_axis = |p: Vec3<f64>| maths::hypot(p.x - x, p.z - z);
    panel_as_made(part, stack, off, &rim).into_iter().map(from_axis).fold(f64::INFINITY, f64::min) - radius
}

/// How far the bend as made is from the shaft there, by the formula above.
fn from_bend(_: &Part, stack: &Stack<'_, '_>, off: &[f64]) -> f64 {
    let named = |name: &str| {
        let mut all = stack.made().deviations().iter().zip(off);
        *all.find(|(d, _)| stack.made().name(**d) == name).unwrap().1
    };
    let [turn, place, radius, thickness] = NAMES.map(named);
    let (a, r, t) = (QUARTER + turn * DEG, R + radius, T + thickness);
    let start = place - 0.5 * (a * (r + K * t) - QUARTER * (R + K * T));
    maths::hypot(5.0 - start + 4.0, r + 6.0) - (r + t) - 3.0
}

fn standard_deviation(values: &[f64]) -> f64 {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    (values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / (count - 1.0)).sqrt()
}

/// Whether there is one nearest place, or several that take turns.
#[derive(Clone, Copy, PartialEq)]
enum Places {
    One,
    Several,
}

fn check(name: &str, places: Places, (drawn, found, mut values): (f64, ClearanceSpread, Vec<f64>)) {
    let worst = found.spread.worst;
    // A share of 0.02 leaves the second order to far less than a hundredth.
    let beyond = 0.01 * worst;
    let reached = values.pop().unwrap();
    assert!((reached - found.least).abs() < beyond, "{name}: {reached} against {}", found.least);
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let most = values.iter().copied().fold(0.0, f64::max);
    assert!(least >= found.least - beyond, "{name}: {least} below {}", found.least);
    assert!(most <= drawn + worst + beyond, "{name}: {most}");
    // Not much more than is reached at random: the largest contributions are few.
    assert!(least < drawn - 0.5 * worst, "{name}: {least} of {drawn} and {worst}");
    if places == Places::One {
        // As in `tolerance_stack.rs`: evenly spread numbers, 10,000 of them.
        let got = standard_deviation(&values) * 3.0_f64.sqrt();
        assert!((got / found.spread.likely - 1.0).abs() < 0.03, "{name}: {got}, {}", found.spread.likely);
    }
}

#[test]
fn ten_thousand_parts_come_as_near_as_the_spreads_say() {
    let share = 0.02;
    for (name, kind, places) in [
        ("plate", plate(5.0), Places::Several),
        ("bolt", bolt(), Places::Several),
        ("leaning shaft", leaning_shaft(), Places::One),
    ] {
        let history = beside(kind, false, share);
        let pieces = hulls(&made(&history).neighbours[0]);
        check(name, places, sampled(&history, |part, stack, off| from_wall(part, stack, off, &pieces)));
    }
    for (offset, places) in [([0.0, 0.0], Places::Several), ([0.3, 0.4], Places::One)] {
        let history = through_hole(offset, 14.0, share);
        let shaft = [60.0 + offset[0], 25.0 + offset[1], 7.0];
        let made = sampled(&history, |part, stack, off| from_hole(part, stack, off, shaft));
        check("hole", places, made);
    }
    check("bend", Places::One, sampled(&beside(shaft_at_bend(), false, share), from_bend));
}
