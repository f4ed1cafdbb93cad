//! Views of folded parts: lines counted by hand, and laws on random parts.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise, in its helping functions too")]

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../../benches/parts.rs"]
mod parts;
#[path = "../random/mod.rs"]
mod random;

mod by_hand;
mod laws;

use kernel::drawing::views::{Direction, Line, Path, Projection, project};
use kernel::fold::FoldFractions;
use kernel::geom::{Point2, Vec2, Vec3};
use kernel::quantity::tolerance;
use kernel::regenerate::Part;
use kernel::solid::{self, Brep, EdgedMesh};

/// A part ready to be looked at.
struct Body {
    brep: Brep,
    mesh: EdgedMesh,
}

impl Body {
    /// None if contours touch.
    fn of(part: &Part) -> Option<Self> {
        let brep = part.brep(&FoldFractions::all(&part.tree, 1.0));
        let mesh = solid::edged_mesh(&part.tree, &brep, tolerance::DRAWN_CHORD_MM).ok()?;
        Some(Self { brep, mesh })
    }

    fn seen(&self, direction: Direction) -> Projection {
        project(&self.brep, &self.mesh, direction)
    }
}

/// Points of a line about `step` mm apart, the ends included.
fn points_along(line: &Line, step: f64) -> Vec<Point2> {
    let count = (line.path.length() / step).ceil().max(1.0) as usize;
    let share = |i: usize| i as f64 / count as f64;
    match &line.path {
        Path::Segment([a, b]) => (0..=count).map(|i| a.lerp(*b, share(i))).collect(),
        Path::Arc(arc) => (0..=count)
            .map(|i| arc.centre + Vec2::unit(arc.from + arc.sweep * share(i)) * arc.radius)
            .collect(),
        Path::Chords(points) => {
            let mut found = vec![points[0]];
            for pair in points.windows(2) {
                let count = (pair[0].distance(pair[1]) / step).ceil().max(1.0) as usize;
                found.extend((1..=count).map(|i| pair[0].lerp(pair[1], i as f64 / count as f64)));
            }
            found
        }
    }
}

/// Distance of a point from a line in mm.
fn distance(line: &Line, p: Point2) -> f64 {
    match &line.path {
        Path::Segment([a, b]) => from_segment(*a, *b, p),
        Path::Chords(points) => {
            points.windows(2).map(|pair| from_segment(pair[0], pair[1], p)).fold(f64::INFINITY, f64::min)
        }
        Path::Arc(arc) => {
            let out = p - arc.centre;
            let angle = (out.angle() - arc.from).rem_euclid(std::f64::consts::TAU);
            let end = |angle: f64| arc.centre + Vec2::unit(angle) * arc.radius;
            let to_ends = [arc.from, arc.from + arc.sweep].map(|a| end(a).distance(p));
            let to_ends = to_ends[0].min(to_ends[1]);
            if angle <= arc.sweep { (out.length() - arc.radius).abs().min(to_ends) } else { to_ends }
        }
    }
}

fn from_segment(a: Point2, b: Point2, p: Point2) -> f64 {
    let way = b - a;
    let share = (p - a).dot(way) / way.dot(way).max(f64::MIN_POSITIVE);
    a.lerp(b, share.clamp(0.0, 1.0)).distance(p)
}

fn v(x: f64, y: f64, z: f64) -> Vec3<f64> {
    Vec3::new(x, y, z)
}
