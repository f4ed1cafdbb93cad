//! Places on the outline of an opening and on chords across it, each with its distances from bodies that stand still.
//!
//! Job: find places where a chord may begin or bend. Invariant: distances are those of the place itself, none is told
//! smaller than it is. Must not know: which body closes what.

use std::cell::RefCell;

use crate::geom::{Apart, Vec3, separation};
use crate::machine::PieceHull;
use crate::quantity::tolerance;

use super::near::Around;

/// Sides of the outline and chords are parted into pieces no longer than this in mm, so that a chord may begin at any
/// of them.
const SIDE_MM: f64 = 5.0;

/// A place that several bodies have in common is looked for in so many rounds; blocks that meet at right angles take
/// one or two.
const MOST_ROUNDS: usize = 16;

/// A place with how far it is away from each body in mm; without bound where it is not less than the limit.
struct Place {
    at: Vec3<f64>,
    away: Vec<f64>,
}

/// Places by number, among bodies by number.
pub(super) struct Places<'a> {
    bodies: Vec<PieceHull<'a>>,
    /// Distances from this on are without bound, in mm.
    limit: f64,
    known: RefCell<Vec<Place>>,
}

impl<'a> Places<'a> {
    /// Places around an outline with these corners, long sides parted, and those where the nearest body changes; with
    /// the numbers of those on the outline in their order. None if no body is near to some of them.
    pub(super) fn around(
        corners: &[Vec3<f64>],
        bodies: Vec<PieceHull<'a>>,
        limit: f64,
    ) -> Option<(Self, Vec<usize>)> {
        let all: Vec<usize> = (0..bodies.len()).collect();
        let places = Self { bodies, limit, known: RefCell::default() };
        let next = corners.iter().cycle().skip(1);
        for point in corners.iter().zip(next).flat_map(|(&start, &end)| divided(start, end)) {
            let number = places.add(point);
            if !all.iter().any(|&body| places.away(number, body) < limit) {
                return None;
            }
        }
        let count = places.known.borrow().len();
        let mut outline = Vec::new();
        for number in 0..count {
            outline.push(number);
            outline.extend(places.changes([number, (number + 1) % count], &all));
        }
        Some((places, outline))
    }

    /// Where a place is.
    pub(super) fn at(&self, number: usize) -> Vec3<f64> {
        self.known.borrow()[number].at
    }

    /// How far a place is away from a body in mm.
    pub(super) fn away(&self, number: usize, body: usize) -> f64 {
        self.known.borrow()[number].away[body]
    }

    /// How far any point is away from a body in mm.
    pub(super) fn distance(&self, point: Vec3<f64>, body: usize) -> f64 {
        match separation(&Around(&[point]), &self.bodies[body], Vec3::new(1.0, 0.0, 0.0), self.limit) {
            Apart::Beyond(_) => f64::INFINITY,
            Apart::By(apart) => apart.distance,
            Apart::Meet(_) => 0.0,
        }
    }

    /// The body that is nearest to a place; of those that are alike the first.
    pub(super) fn nearest(&self, number: usize, bodies: &[usize]) -> usize {
        nearest(bodies, |body| self.away(number, body))
    }

    /// Places between two others where the nearest of these bodies changes, each within the snap tolerance before its
    /// change.
    pub(super) fn changes(&self, ends: [usize; 2], bodies: &[usize]) -> Vec<usize> {
        let last = self.nearest(ends[1], bodies);
        let mut at = self.at(ends[0]);
        let mut body = self.nearest(ends[0], bodies);
        let mut found = Vec::new();
        while body != last {
            let mut next = last;
            let [before, after] = halved([at, self.at(ends[1])], |middle| {
                let there = nearest(bodies, |body| self.distance(middle, body));
                if there != body {
                    next = there;
                }
                there == body
            });
            found.push(self.add(before));
            (at, body) = (after, next);
        }
        found
    }

    /// A place that three bodies have in common, or that lies between them, near to a point.
    pub(super) fn between(&self, bodies: [usize; 3], near: Vec3<f64>) -> usize {
        let mut feet = [near; 3];
        for _ in 0..MOST_ROUNDS {
            let before = feet[2];
            let mut point = before;
            for (foot, body) in feet.iter_mut().zip(bodies) {
                point = self.foot(point, body);
                *foot = point;
            }
            if (point - before).length() <= tolerance::SNAP_MM {
                break;
            }
        }
        self.add(feet[1] + (feet[2] - feet[1]).times(0.5))
    }

    /// The nearest point of a body.
    fn foot(&self, point: Vec3<f64>, body: usize) -> Vec3<f64> {
        let found =
            separation(&Around(&[point]), &self.bodies[body], Vec3::new(1.0, 0.0, 0.0), f64::INFINITY);
        match found {
            Apart::By(apart) => apart.points[1],
            Apart::Meet(_) | Apart::Beyond(_) => point,
        }
    }

    fn add(&self, at: Vec3<f64>) -> usize {
        let away = (0..self.bodies.len()).map(|body| self.distance(at, body)).collect();
        let mut known = self.known.borrow_mut();
        known.push(Place { at, away });
        known.len() - 1
    }
}

/// The start of a line, and places along it.
pub(super) fn divided(start: Vec3<f64>, end: Vec3<f64>) -> Vec<Vec3<f64>> {
    let side = end - start;
    let mut points = Vec::new();
    let mut along = 0.0;
    while along < side.length() {
        points.push(start + side.times(along / side.length()));
        along += SIDE_MM;
    }
    points
}

/// The ends of a line moved together to within the snap tolerance, so that what holds at the first still holds there.
pub(super) fn halved(
    [mut holds, mut fails]: [Vec3<f64>; 2],
    mut is: impl FnMut(Vec3<f64>) -> bool,
) -> [Vec3<f64>; 2] {
    while (fails - holds).length() > tolerance::SNAP_MM {
        let middle = holds + (fails - holds).times(0.5);
        if is(middle) { holds = middle } else { fails = middle }
    }
    [holds, fails]
}

fn nearest(bodies: &[usize], away: impl Fn(usize) -> f64) -> usize {
    let least = bodies.iter().map(|&body| away(body)).fold(f64::INFINITY, f64::min);
    let alike = |&&body: &&usize| away(body) <= least + tolerance::SNAP_MM;
    *bodies.iter().find(alike).expect("there are bodies")
}
