//! What neighbours that stand still leave of an opening.
//!
//! A convex body that stands before an opening leaves a gap along the outline, at each place as wide as the outline
//! is away from the body. Where several bodies stand there, the outline is parted by chords, each part closed by one of
//! them; along a chord the gap is as wide as both bodies together are away from it. Derivation:
//! `docs/math/guard-openings.md`. Invariant: a gap is never told narrower than it is. Must not know: hazards' harm,
//! tables.

use std::cell::RefCell;
use std::collections::BTreeMap;

use crate::geom::{Apart, Box3, Vec3, separation};
use crate::machine::{Neighbour, PieceHull, Shape};
use crate::quantity::tolerance;

use super::near::{Around, Reach, bodies, extent, way};
use super::rim::CHORD_MM;
use super::{Figure, Opening};

/// The outline in space is parted into sides no longer than this in mm, so that a chord may begin at any of them.
const SIDE_MM: f64 = 5.0;

/// Among so many bodies each is tried as the main one; of more, the one that is nearest to most of the outline.
const MOST_TRIED: usize = 5;

/// The place where a chord enters a body is found by so many halvings.
const HALVINGS: u32 = 16;

/// A side of the outline, or a chord across the opening, with the gap along it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stretch {
    /// Where it begins and ends.
    pub(super) side: [Vec3<f64>; 2],
    /// How wide the gap is along it at most, in mm.
    pub(super) width: f64,
    /// The neighbour beside it, by its place in the list.
    pub(super) neighbour: usize,
}

/// What standing neighbours leave of an opening at one place, if that is a gap that is narrower than `limit` mm all
/// along. A surface of triangles may have a hollow, and closes nothing.
pub(super) fn left_open(
    opening: &Opening,
    place: usize,
    neighbours: &[Neighbour],
    limit: f64,
) -> Option<Vec<Stretch>> {
    let around = extent(opening, place);
    let mut standing = Vec::new();
    for (neighbour, candidate) in neighbours.iter().enumerate().filter(|(_, n)| !n.is_hazard) {
        for piece in &candidate.pieces {
            let still = piece.travel.length() <= 0.0;
            if let (Shape::Prism(_), true, Some(body)) = (&piece.shape, still, piece.hull())
                && around.distance_to(Box3::of_body(&body)) < limit
            {
                standing.push((neighbour, body));
            }
        }
    }
    if standing.is_empty() {
        return None;
    }
    let corners = opening.outline(place);
    let points = match &opening.figure {
        Figure::Flat { .. } => corners,
        Figure::Rim { .. } => parted(&corners),
    };
    let away = standing.iter().map(|(_, body)| distances(&points, body, limit)).collect();
    let ring: Vec<Side> = (0..points.len()).map(|point| Side { point, far: None }).collect();
    let bodies: Vec<usize> = (0..standing.len()).collect();
    let outline = Outline { points, bodies: standing, away, chords: RefCell::default() };
    Some(outline.closed(&ring, &bodies)).filter(|stretches| widest(stretches) < limit)
}

/// The shortest straight way to a hazard from the gap along a stretch.
pub(super) fn reach_from(stretch: &Stretch, hazard: &Neighbour) -> Option<Reach> {
    let mut best: Option<Reach> = None;
    for body in bodies(hazard) {
        let limit = best.map_or(f64::INFINITY, |reach| reach.distance);
        if let Some(found) = way(&Around(&stretch.side), &body, limit)
            && found.distance < limit
        {
            best = Some(found);
        }
    }
    let mut reach = best?;
    reach.distance = (reach.distance - stretch.width - CHORD_MM).max(0.0);
    Some(reach)
}

/// The widest gap of all in mm.
pub(super) fn widest(stretches: &[Stretch]) -> f64 {
    stretches.iter().map(|stretch| stretch.width).fold(0.0, f64::max)
}

/// A closed line with more points on its long sides.
fn parted(corners: &[Vec3<f64>]) -> Vec<Vec3<f64>> {
    let mut points = Vec::new();
    for (index, &start) in corners.iter().enumerate() {
        let side = corners[(index + 1) % corners.len()] - start;
        let mut along = 0.0;
        while along < side.length() {
            points.push(start + side.times(along / side.length()));
            along += SIDE_MM;
        }
    }
    points
}

/// How far each point is away from a body in mm; without bound where it is not less than `limit`.
fn distances(points: &[Vec3<f64>], body: &PieceHull<'_>, limit: f64) -> Vec<f64> {
    let away = |p: &Vec3<f64>| match separation(&Around(&[*p]), body, Vec3::new(1.0, 0.0, 0.0), limit) {
        Apart::Beyond(_) => f64::INFINITY,
        Apart::By(apart) => apart.distance,
        Apart::Meet(_) => 0.0,
    };
    points.iter().map(away).collect()
}

/// A side of a closed line from this point to that of the next side. A side that is a chord has another body on its
/// far side.
#[derive(Clone, Copy)]
struct Side {
    point: usize,
    far: Option<usize>,
}

/// A chord by its ends, and the bodies on both sides.
type Chord = ([usize; 2], [usize; 2]);

/// An outline among bodies that stand still.
struct Outline<'a> {
    points: Vec<Vec3<f64>>,
    /// For each body its neighbour.
    bodies: Vec<(usize, PieceHull<'a>)>,
    /// For each body how far each point is away, in mm.
    away: Vec<Vec<f64>>,
    /// Where chords enter what both bodies have in common, as far as it was asked.
    chords: RefCell<BTreeMap<Chord, Option<[Vec3<f64>; 2]>>>,
}

impl Outline<'_> {
    /// The gap all along a closed line, closed by these bodies: a main one closes what it is nearest to; each part beside
    /// that is cut off by a chord and left to the others, if they are nearer. The main one is that which leaves the
    /// least.
    fn closed(&self, ring: &[Side], bodies: &[usize]) -> Vec<Stretch> {
        let count = ring.len();
        let length =
            |i: usize| (self.points[ring[(i + 1) % count].point] - self.points[ring[i].point]).length();
        let near = |body: usize, side: &Side| self.away[body][side.point];
        let nearest_to = |side: &Side| {
            let nearest = bodies.iter().copied().min_by(|&a, &b| near(a, side).total_cmp(&near(b, side)));
            nearest.expect("there are bodies")
        };
        let nearest: Vec<usize> = ring.iter().map(nearest_to).collect();
        let share = |body: usize| (0..count).filter(|&i| nearest[i] == body).map(length).sum::<f64>();
        let mut mains: Vec<(usize, f64)> =
            bodies.iter().filter(|body| nearest.contains(body)).map(|&body| (body, share(body))).collect();
        mains.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        if mains.len() > MOST_TRIED {
            mains.truncate(1);
        }
        let tried = mains.into_iter().map(|(main, _)| {
            let others: Vec<usize> = bodies.iter().copied().filter(|&body| body != main).collect();
            self.closed_by(ring, &nearest, main, &others)
        });
        let least = tried.min_by(|a, b| widest(a).total_cmp(&widest(b)));
        least.expect("some body is nearest")
    }

    /// The same with the main body chosen.
    fn closed_by(&self, ring: &[Side], nearest: &[usize], main: usize, others: &[usize]) -> Vec<Stretch> {
        let count = ring.len();
        let first = nearest.iter().position(|&body| body == main).expect("main is nearest somewhere");
        let is_main = |i: usize| nearest[i % count] == main;
        // What main and the nearest of the others are away from a place together.
        let both = |i: usize| {
            let near = others.iter().map(|&body| self.away[body][ring[i % count].point]);
            self.away[main][ring[i % count].point] + near.fold(f64::INFINITY, f64::min)
        };
        let mut found = Vec::new();
        let mut at = first;
        while at < first + count {
            let Some(away) = (at + 1..first + count).find(|&i| !is_main(i)) else {
                found.extend((at..first + count).flat_map(|i| self.stretches(ring, i % count, main)));
                break;
            };
            let back = (away..first + count).find(|&i| is_main(i)).unwrap_or(first + count);
            // A chord is best where both bodies are near.
            let (mut from, mut to) = (away - 1, back);
            while from > at && both(from - 1) < both(from) {
                from -= 1;
            }
            while to < first + count && is_main(to + 1) && both(to + 1) < both(to) {
                to += 1;
            }
            found.extend((at..from).flat_map(|i| self.stretches(ring, i % count, main)));
            let along: Vec<Stretch> =
                (from..to).flat_map(|i| self.stretches(ring, i % count, main)).collect();
            let chord = Side { point: ring[to % count].point, far: Some(main) };
            let cut_off: Vec<Side> = (from..to).map(|i| ring[i % count]).chain([chord]).collect();
            let by_others = self.closed(&cut_off, others);
            found.extend(if widest(&by_others) < widest(&along) { by_others } else { along });
            at = to;
        }
        found
    }

    /// The gap along a side that a body closes. Where the bodies on both sides of a chord meet on it, only its two ends
    /// are open.
    fn stretches(&self, ring: &[Side], index: usize, body: usize) -> Vec<Stretch> {
        let (side, next) = (ring[index], ring[(index + 1) % ring.len()]);
        let ends = [side.point, next.point].map(|point| self.points[point]);
        let own = [side.point, next.point].map(|point| self.away[body][point]);
        let stretch =
            |side: [Vec3<f64>; 2], width: f64| Stretch { side, width, neighbour: self.bodies[body].0 };
        let Some(far) = side.far else { return vec![stretch(ends, own[0].max(own[1]))] };
        let beyond = [side.point, next.point].map(|point| self.away[far][point]);
        let both = [own[0] + beyond[0], own[1] + beyond[1]];
        let Some(open) = self.entered([side.point, next.point], [body, far]) else {
            return vec![stretch(ends, both[0].max(both[1]))];
        };
        let places = [[ends[0], open[0]], [ends[1], open[1]]];
        let parts = places.into_iter().zip(both);
        parts.map(|(part, both)| stretch(part, both.min((part[1] - part[0]).length()))).collect()
    }

    /// Where a chord enters what two bodies have in common, from both ends; none if its middle is not in both.
    fn entered(&self, chord: [usize; 2], bodies: [usize; 2]) -> Option<[Vec3<f64>; 2]> {
        *self.chords.borrow_mut().entry((chord, bodies)).or_insert_with(|| {
            let [from, to] = chord.map(|point| self.points[point]);
            let between = |share: f64| from + (to - from).times(share);
            let is_in = |share: f64| {
                let p = [between(share)];
                bodies.iter().all(|&body| distances(&p, &self.bodies[body].1, tolerance::SNAP_MM)[0] <= 0.0)
            };
            is_in(0.5).then(|| {
                [0.0, 1.0].map(|end| {
                    let (mut out, mut within) = (end, 0.5);
                    for _ in 0..HALVINGS {
                        let middle = 0.5 * (out + within);
                        if is_in(middle) { within = middle } else { out = middle }
                    }
                    between(within)
                })
            })
        })
    }
}
