//! Where curved faces turn away from the eye.
//!
//! The normal is square to the direction of sight there. On cylinders and cones these places are straight lines, on
//! tori they have a closed form by the angle about the axis, on cuts across bends one by the place along the cut:
//! `docs/math/hidden-lines.md`. Invariant: every point lies on its surface exactly, within its face to the chord
//! tolerance. Where the face is hollow along the direction of sight, the line comes out of metal and is hidden.

use crate::fold::StripMap;
use crate::geom::{Curve, Placement, Segment, Vec2, Vec3};
use crate::quantity::{maths, tolerance};
use crate::solid::brep::{Face, Sense, Surface3};
use crate::solid::{Brep, EdgedMesh};

use super::LineKind;
use super::direction::Direction;
use super::strand::{Strand, Veil};

/// All silhouettes within faces, in the order of faces.
pub(super) fn silhouettes(brep: &Brep, mesh: &EdgedMesh, direction: Direction) -> Vec<Strand> {
    let mut found = Vec::new();
    for (index, face) in brep.faces().iter().enumerate() {
        let look = Look { brep, mesh, direction, face, index };
        match &face.surface {
            Surface3::Plane(_) => {}
            Surface3::Cylinder { frame, radius } => look.along_rules(*frame, *radius, 0.0, &mut found),
            Surface3::Cone { frame, radius, half_angle } => {
                look.along_rules(*frame, *radius, maths::tan(*half_angle), &mut found);
            }
            Surface3::Torus { frame, ring_radius, tube_radius } => {
                look.around_torus(*frame, [*ring_radius, *tube_radius], &mut found);
            }
            Surface3::Rolled { piece, map } => look.along_cut(piece, map, &mut found),
        }
    }
    found
}

/// A face and who looks at it.
#[derive(Clone, Copy)]
struct Look<'a> {
    brep: &'a Brep,
    mesh: &'a EdgedMesh,
    direction: Direction,
    face: &'a Face,
    index: usize,
}

impl Look<'_> {
    /// The loops of the face by two numbers of each of the mesh's vertices on them, of which those that are angles go
    /// on from vertex to vertex.
    fn loops(&self, angles: [bool; 2], place: impl Fn(Vec3<f64>) -> [f64; 2]) -> Vec<Vec<[f64; 2]>> {
        let mut loops = Vec::new();
        let mut before: Option<[f64; 2]> = None;
        for run in self.brep.loops(self.face) {
            let mut places = Vec::new();
            for used in run {
                let along = self.mesh.along(used.edge);
                let mut add = |vertex: u32| {
                    let mut at = place(self.mesh.mesh.vertices[vertex as usize]);
                    if let Some(before) = before {
                        for axis in (0..2).filter(|&axis| angles[axis]) {
                            at[axis] += maths::TAU * ((before[axis] - at[axis]) / maths::TAU).round();
                        }
                    }
                    before = Some(at);
                    places.push(at);
                };
                let count = along.len() - 1;
                match used.sense {
                    Sense::Same => along[..count].iter().for_each(|&v| add(v)),
                    Sense::Reversed => along[1..].iter().rev().for_each(|&v| add(v)),
                }
            }
            loops.push(places);
        }
        loops
    }

    /// Straight lines of a cylinder or cone whose radius grows by `slope` along the axis.
    fn along_rules(&self, frame: Placement<f64>, radius: f64, slope: f64, found: &mut Vec<Strand>) {
        let [x, y, z] = local(frame, self.direction.towards());
        let across = maths::hypot(x, y);
        // The normal is square to the direction where `across · cos(angle − middle) = slope · z`.
        if across < tolerance::EDGE_ON || (slope * z).abs() >= across {
            return;
        }
        let (middle, beside) = (maths::atan2(y, x), maths::acos(slope * z / across));
        let loops = self.loops([true, false], |p| {
            let at = frame.coordinates(p);
            [maths::atan2(at.y, at.x), at.z]
        });
        let [low, high] = range(&loops, 0);
        let veil = match self.face.outward {
            Sense::Same => Veil::Others { behind: tolerance::BEHIND_MM },
            Sense::Reversed => Veil::OwnMetal,
        };
        for angle in [middle - beside, middle + beside] {
            for angle in turns_within(angle, low, high) {
                let (sin, cos) = maths::sin_cos(angle);
                let point = |z: f64| {
                    let r = radius + slope * z;
                    frame.point(r * cos, r * sin, z)
                };
                for pair in heights_inside(&loops, angle).chunks_exact(2) {
                    found.push(self.strand(vec![point(pair[0]), point(pair[1])], veil));
                }
            }
        }
    }

    fn around_torus(&self, frame: Placement<f64>, [ring, tube]: [f64; 2], found: &mut Vec<Strand>) {
        let [x, y, z] = local(frame, self.direction.towards());
        let loops = self.loops([true, true], |p| {
            let at = frame.coordinates(p);
            [maths::atan2(at.y, at.x), maths::atan2(at.z, maths::hypot(at.x, at.y) - ring)]
        });
        let (around, about) = (range(&loops, 0), range(&loops, 1));
        let point = |u: f64, v: f64| {
            let ((sin_u, cos_u), (sin_v, cos_v)) = (maths::sin_cos(u), maths::sin_cos(v));
            let out = ring + tube * cos_v;
            frame.point(out * cos_u, out * sin_u, tube * sin_v)
        };
        // The normal is square to the direction where `cos v (x cos u + y sin u) + z sin v = 0`.
        if z.abs() < tolerance::EDGE_ON {
            // Seen from the side: rings at the top and bottom of the tube, which end faces, and the tube's own circle.
            let middle = maths::atan2(y, x);
            for u in [middle - 0.5 * maths::PI, middle + 0.5 * maths::PI] {
                for u in turns_within(u, around[0], around[1]) {
                    self.trace(about, |v| Some(point(u, v)), found);
                }
            }
            return;
        }
        for side in [0.0, maths::PI] {
            let at = |u: f64| {
                let (sin, cos) = maths::sin_cos(u);
                let v = maths::atan2(-(x * cos + y * sin), z) + side;
                turns_within(v, about[0], about[1]).next().map(|v| point(u, v))
            };
            self.trace(around, at, found);
        }
    }

    /// On a cut across a bend, the normal is square to the direction at one radius for each place along the cut.
    fn along_cut(&self, piece: &Segment, map: &StripMap, found: &mut Vec<Strand>) {
        let towards = self.direction.towards();
        let depths: Vec<f64> = self
            .brep
            .loops(self.face)
            .flatten()
            .map(|&used| map.coordinates(self.brep.at(self.brep.ends(used)[0]))[2])
            .collect();
        let low = depths.iter().copied().fold(f64::INFINITY, f64::min);
        let high = depths.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let along_bend = map.start().x.dot(towards);
        if along_bend.abs() < tolerance::EDGE_ON {
            // Seen square to the bend: the straight lines through where the cut turns back along it.
            for p in piece.turning_points_along_x() {
                let ends = [low, high].map(|depth| map.point(p.x, p.y, depth));
                self.trace([0.0, 1.0], |t| Some(ends[0] + (ends[1] - ends[0]).times(t)), found);
            }
            return;
        }
        let per_mm = map.angle() / map.allowance();
        let at = |t: f64| {
            let p = piece.point_at(t);
            let way = direction_at(piece, t);
            let radius = way.x * map.heading(p.y).dot(towards) / (way.y * per_mm * along_bend);
            let depth = (map.radius(0.0) - radius) * map.sign();
            (low <= depth && depth <= high).then(|| map.point(p.x, p.y, depth))
        };
        self.trace([0.0, 1.0], at, found);
    }

    fn strand(&self, points: Vec<Vec3<f64>>, veil: Veil) -> Strand {
        let axes = self.direction.frame();
        Strand {
            points: points.into_iter().map(|p| Direction::seen(axes, p)).collect(),
            kind: LineKind::Silhouette,
            faces: [self.index; 2],
            round: None,
            veil,
        }
    }

    /// Follows a curve where it is, in chords, and parts it where the face turns from bulging to hollow.
    fn trace(&self, [low, high]: [f64; 2], at: impl Fn(f64) -> Option<Vec3<f64>>, found: &mut Vec<Strand>) {
        let place = |i: usize| low + (high - low) * i as f64 / STEPS as f64;
        let mut points: Vec<Vec3<f64>> = at(low).into_iter().collect();
        for step in 0..STEPS {
            let (from, to) = (place(step), place(step + 1));
            match (at(from), at(to)) {
                (None, None) => {}
                (Some(a), Some(b)) => self.refine(&at, [(from, a), (to, b)], HALVINGS, &mut points),
                (Some(a), None) => {
                    let (end, b) = border(&at, (from, a), to);
                    self.refine(&at, [(from, a), (end, b)], HALVINGS, &mut points);
                    self.parted(&std::mem::take(&mut points), found);
                }
                (None, Some(b)) => {
                    let (start, a) = border(&at, (to, b), from);
                    points = vec![a];
                    self.refine(&at, [(start, a), (to, b)], HALVINGS, &mut points);
                }
            }
        }
        self.parted(&points, found);
    }

    /// Adds the points after the first up to the last, as many as chords need.
    fn refine(
        &self,
        at: &impl Fn(f64) -> Option<Vec3<f64>>,
        [(from, a), (to, b)]: [(f64, Vec3<f64>); 2],
        halvings: u32,
        points: &mut Vec<Vec3<f64>>,
    ) {
        let middle = 0.5 * (from + to);
        if let (Some(p), true) = (at(middle), halvings > 0) {
            let way = b - a;
            let off = (p - a).cross(way).length();
            let near = (p - a).dot(way) >= 0.0 && (p - b).dot(way) <= 0.0;
            if off > self.mesh.chord_tolerance() * way.length() || !near {
                self.refine(at, [(from, a), (middle, p)], halvings - 1, points);
                self.refine(at, [(middle, p), (to, b)], halvings - 1, points);
                return;
            }
        }
        points.push(b);
    }

    fn parted(&self, points: &[Vec3<f64>], found: &mut Vec<Strand>) {
        let towards = self.direction.towards();
        let curved: Vec<f64> = points
            .windows(2)
            .map(|pair| self.face.curvature_along((pair[0] + pair[1]).times(0.5), towards))
            .collect();
        let mut first = 0;
        for same in curved.chunk_by(|a, b| (*a > 0.0) == (*b > 0.0)) {
            let last = first + same.len();
            let least = same.iter().copied().fold(f64::INFINITY, f64::min);
            let veil = if least > 0.0 {
                // Chords of the face itself lie before it by no more than this.
                let behind = (4.0 * self.mesh.chord_tolerance() / least.max(FLATTEST_PER_MM)).sqrt();
                Veil::Others { behind }
            } else {
                Veil::OwnMetal
            };
            found.push(self.strand(points[first..=last].to_vec(), veil));
            first = last;
        }
    }
}

/// Steps in which a curve is looked for.
const STEPS: usize = 24;

/// How often a step is halved at most.
const HALVINGS: u32 = 8;

/// A face that is flatter than this, in 1/mm, counts as bent so much.
const FLATTEST_PER_MM: f64 = 0.02;

/// The last place at which there is a point, from one that has to one that has not.
fn border(
    at: &impl Fn(f64) -> Option<Vec3<f64>>,
    (mut inside, mut point): (f64, Vec3<f64>),
    mut outside: f64,
) -> (f64, Vec3<f64>) {
    for _ in 0..f64::MANTISSA_DIGITS {
        let middle = 0.5 * (inside + outside);
        match at(middle) {
            Some(p) => (inside, point) = (middle, p),
            None => outside = middle,
        }
    }
    (inside, point)
}

/// A direction by its parts along the axes of a frame.
fn local(frame: Placement<f64>, direction: Vec3<f64>) -> [f64; 3] {
    [frame.x, frame.y, frame.n].map(|axis| direction.dot(axis))
}

/// The angles within a range that differ from one by whole turns.
fn turns_within(angle: f64, low: f64, high: f64) -> impl Iterator<Item = f64> {
    let first = angle + maths::TAU * ((low - angle) / maths::TAU).ceil();
    std::iter::successors(Some(first), |angle| Some(angle + maths::TAU)).take_while(move |&a| a <= high)
}

fn range(loops: &[Vec<[f64; 2]>], axis: usize) -> [f64; 2] {
    let all = || loops.iter().flatten().map(|p| p[axis]);
    [all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max)]
}

/// Where the upright line at `x` enters and leaves the figure inside loops, in order.
fn heights_inside(loops: &[Vec<[f64; 2]>], x: f64) -> Vec<f64> {
    let mut heights = Vec::new();
    for run in loops {
        for (index, a) in run.iter().enumerate() {
            let b = run[(index + 1) % run.len()];
            if (a[0] < x) != (b[0] < x) {
                heights.push(a[1] + (b[1] - a[1]) * (x - a[0]) / (b[0] - a[0]));
            }
        }
    }
    heights.sort_by(f64::total_cmp);
    heights
}

/// Unit vector along a piece at a share of it.
fn direction_at(piece: &Segment, t: f64) -> Vec2 {
    match piece.curve {
        Curve::Line => piece.start_direction(),
        Curve::Arc { centre, turn, .. } => (piece.point_at(t) - centre).normalized().left() * turn.sign(),
    }
}
