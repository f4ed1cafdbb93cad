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

/// The outline in space and chords are parted into sides no longer than this in mm, so that a chord may begin at any of
/// them.
const SIDE_MM: f64 = 5.0;

/// So many bodies are tried as the main one, those that are nearest to most of the outline; in a part that is cut off
/// one less.
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

/// What standing neighbours leave of an opening at one place, once for each choice of chords that leaves a gap narrower
/// than `limit` mm all along; each of them is true, and none may be. A surface of triangles may have a hollow, and closes
/// nothing.
pub(super) fn left_open(
    opening: &Opening,
    place: usize,
    neighbours: &[Neighbour],
    limit: f64,
) -> Vec<Vec<Stretch>> {
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
        return Vec::new();
    }
    let corners = opening.outline(place);
    let points = match &opening.figure {
        Figure::Flat { .. } => corners,
        Figure::Rim { .. } => parted(&corners),
    };
    let away = standing.iter().map(|(_, body)| distances(&points, body, limit)).collect();
    let ring: Vec<Side> = (0..points.len()).map(|point| Side { point, far: None }).collect();
    let bodies: Vec<usize> = (0..standing.len()).collect();
    let outline = Outline { points, bodies: standing, away, limit, chords: RefCell::default() };
    let mut choices = outline.choices(&ring, &bodies, MOST_TRIED);
    choices.retain(|stretches| widest(stretches) < limit);
    choices
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

/// The area in mm² that gaps leave open at most.
fn area(stretches: &[Stretch]) -> f64 {
    stretches.iter().map(|stretch| (stretch.side[1] - stretch.side[0]).length() * stretch.width).sum()
}

/// A closed line with more points on its long sides.
fn parted(corners: &[Vec3<f64>]) -> Vec<Vec3<f64>> {
    let next = corners.iter().cycle().skip(1);
    corners.iter().zip(next).flat_map(|(&start, &end)| divided(start, end)).collect()
}

/// The start of a line, and places along it.
fn divided(start: Vec3<f64>, end: Vec3<f64>) -> Vec<Vec3<f64>> {
    let side = end - start;
    let mut points = Vec::new();
    let mut along = 0.0;
    while along < side.length() {
        points.push(start + side.times(along / side.length()));
        along += SIDE_MM;
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

/// A part of a chord from end to end, and how wide the gap is along it at most, in mm.
type Part = ([Vec3<f64>; 2], f64);

/// An outline among bodies that stand still.
struct Outline<'a> {
    points: Vec<Vec3<f64>>,
    /// For each body its neighbour.
    bodies: Vec<(usize, PieceHull<'a>)>,
    /// For each body how far each point is away, in mm.
    away: Vec<Vec<f64>>,
    /// Gaps from this width on are without bound, in mm.
    limit: f64,
    /// What is open of chords, as far as it was asked.
    chords: RefCell<BTreeMap<Chord, Vec<Part>>>,
}

impl Outline<'_> {
    /// The gap all along a closed line, closed by these bodies, once for each main one that is tried: it closes what it
    /// is nearest to; each part beside that is cut off by a chord and left to the others, if they are nearer.
    fn choices(&self, ring: &[Side], bodies: &[usize], most: usize) -> Vec<Vec<Stretch>> {
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
        mains.truncate(most.max(1));
        let closed = |(main, _): (usize, f64)| {
            let others: Vec<usize> = bodies.iter().copied().filter(|&body| body != main).collect();
            self.closed_by(ring, &nearest, main, &others, most.saturating_sub(1))
        };
        mains.into_iter().map(closed).collect()
    }

    /// The choice that leaves the narrowest widest gap; of those alike in that, the least open area.
    fn closed(&self, ring: &[Side], bodies: &[usize], most: usize) -> Vec<Stretch> {
        let choices = self.choices(ring, bodies, most);
        let least = choices.iter().map(|choice| widest(choice)).fold(f64::INFINITY, f64::min);
        let alike = choices.into_iter().filter(|choice| widest(choice) <= least + tolerance::SNAP_MM);
        alike.min_by(|a, b| area(a).total_cmp(&area(b))).expect("some body is nearest")
    }

    /// The gap with the main body chosen.
    fn closed_by(
        &self,
        ring: &[Side],
        nearest: &[usize],
        main: usize,
        others: &[usize],
        most: usize,
    ) -> Vec<Stretch> {
        let count = ring.len();
        let first = nearest.iter().position(|&body| body == main).expect("main is nearest somewhere");
        let is_main = |i: usize| nearest[i % count] == main;
        // What the nearest of the others is away from a place.
        let other = |i: usize| {
            let near = others.iter().map(|&body| self.away[body][ring[i % count].point]);
            near.fold(f64::INFINITY, f64::min)
        };
        // The end of a chord among these places, the first of which is nearest to the part that is cut off: where both
        // bodies together are least away, the others closing what lies before.
        let end_of_chord = |places: &mut dyn Iterator<Item = usize>| {
            let (mut best, mut before) = ((f64::INFINITY, None), 0.0_f64);
            for i in places {
                before = before.max(other(i));
                let both = before.max(self.away[main][ring[i % count].point] + other(i));
                if best.1.is_none() || both < best.0 {
                    best = (both, Some(i));
                }
                if before >= best.0 {
                    break;
                }
            }
            best.1.expect("there are places")
        };
        let mut found = Vec::new();
        let mut at = first;
        while at < first + count {
            let Some(away) = (at + 1..first + count).find(|&i| !is_main(i)) else {
                found.extend((at..first + count).flat_map(|i| self.stretches(ring, i % count, main)));
                break;
            };
            let back = (away..first + count).find(|&i| is_main(i)).unwrap_or(first + count);
            let again = (back..first + count).find(|&i| !is_main(i)).unwrap_or(first + count + 1) - 1;
            let from = end_of_chord(&mut (at..away).rev());
            let to = end_of_chord(&mut (back..=again.max(back)));
            found.extend((at..from).flat_map(|i| self.stretches(ring, i % count, main)));
            let along: Vec<Stretch> =
                (from..to).flat_map(|i| self.stretches(ring, i % count, main)).collect();
            let chord = Side { point: ring[to % count].point, far: Some(main) };
            let cut_off: Vec<Side> = (from..to).map(|i| ring[i % count]).chain([chord]).collect();
            let by_others = self.closed(&cut_off, others, most);
            found.extend(if widest(&by_others) < widest(&along) { by_others } else { along });
            at = to;
        }
        found
    }

    /// The gap along a side that a body closes, part by part if it is a chord.
    fn stretches(&self, ring: &[Side], index: usize, body: usize) -> Vec<Stretch> {
        let (side, next) = (ring[index], ring[(index + 1) % ring.len()]);
        let ends = [side.point, next.point];
        let neighbour = self.bodies[body].0;
        let Some(far) = side.far else {
            let width = self.away[body][ends[0]].max(self.away[body][ends[1]]);
            return vec![Stretch { side: ends.map(|point| self.points[point]), width, neighbour }];
        };
        let mut chords = self.chords.borrow_mut();
        let parts = chords.entry((ends, [body, far])).or_insert_with(|| self.across(ends, [body, far]));
        parts.iter().map(|&(side, width)| Stretch { side, width, neighbour }).collect()
    }

    /// The open parts of a chord between two bodies with the gap along each. Where both bodies meet on the chord,
    /// nothing passes, and before that no more than is left up to there.
    fn across(&self, ends: [usize; 2], bodies: [usize; 2]) -> Vec<Part> {
        let [from, to] = ends.map(|point| self.points[point]);
        let mut points = divided(from, to);
        points.push(to);
        let both = |points: &[Vec3<f64>]| {
            let [one, other] = bodies.map(|body| distances(points, &self.bodies[body].1, self.limit));
            one.into_iter().zip(other).map(|(a, b)| a + b).collect::<Vec<f64>>()
        };
        let away = both(&points);
        let part = |side: [Vec3<f64>; 2], width: f64| (side, width);
        let is_in = |away: f64| away <= tolerance::SNAP_MM;
        let inside: Vec<usize> = (0..points.len()).filter(|&i| is_in(away[i])).collect();
        let (Some(&first), Some(&last)) = (inside.first(), inside.last()) else {
            return (1..points.len())
                .map(|i| part([points[i - 1], points[i]], away[i - 1].max(away[i])))
                .collect();
        };
        let entered = |mut out: Vec3<f64>, mut within: Vec3<f64>| {
            for _ in 0..HALVINGS {
                let middle = out + (within - out).times(0.5);
                if is_in(both(&[middle])[0]) { within = middle } else { out = middle }
            }
            within
        };
        let mut found = Vec::new();
        if first > 0 {
            let enters = entered(points[first - 1], points[first]);
            for i in 0..first {
                let next = if i + 1 < first { points[i + 1] } else { enters };
                let width = away[i].max(away[i + 1]).min((enters - points[i]).length());
                found.push(part([points[i], next], width));
            }
        }
        if last + 1 < points.len() {
            let leaves = entered(points[last + 1], points[last]);
            for i in last..points.len() - 1 {
                let start = if i > last { points[i] } else { leaves };
                let width = away[i].max(away[i + 1]).min((points[i + 1] - leaves).length());
                found.push(part([start, points[i + 1]], width));
            }
        }
        found
    }
}
