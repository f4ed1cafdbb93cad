//! What neighbours that stand still leave of an opening.
//!
//! A convex body that stands before an opening leaves a gap along the outline, at each place as wide as the outline
//! is away from the body. Where several bodies stand there, the outline is parted by chords, each part closed by one of
//! them; along a chord the gap is as wide as both bodies together are away from it. Derivation:
//! `docs/math/guard-openings.md`. Invariant: a gap is never told narrower than it is. Must not know: hazards' harm,
//! tables.

use std::cell::RefCell;
use std::collections::BTreeMap;

use crate::geom::{Box3, Vec3};
use crate::machine::{Neighbour, Shape};
use crate::quantity::tolerance;

use super::Opening;
use super::near::{Around, Reach, bodies, extent, way};
use super::places::{Places, divided, halved};
use super::rim::CHORD_MM;

/// So many bodies are tried as the main one, those that are nearest to most of the outline; in a part that is cut off
/// one less.
const MOST_TRIED: usize = 5;

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
    let (mut whose, mut standing) = (Vec::new(), Vec::new());
    for (neighbour, candidate) in neighbours.iter().enumerate().filter(|(_, n)| !n.is_hazard) {
        for piece in &candidate.pieces {
            let still = piece.travel.length() <= 0.0;
            if let (Shape::Prism(_), true, Some(body)) = (&piece.shape, still, piece.hull())
                && around.distance_to(Box3::of_body(&body)) < limit
            {
                whose.push(neighbour);
                standing.push(body);
            }
        }
    }
    if standing.is_empty() {
        return Vec::new();
    }
    let Some((places, ring)) = Places::around(&opening.outline(place), standing, limit) else {
        return Vec::new();
    };
    let ring: Vec<Side> = ring.into_iter().map(|place| Side { place, far: None }).collect();
    let bodies: Vec<usize> = (0..whose.len()).collect();
    let outline = Outline { places, whose, chords: RefCell::default(), paths: RefCell::default() };
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

/// A side of a closed line from this place to that of the next side. A side that is a chord has another body on its
/// far side.
#[derive(Clone, Copy)]
struct Side {
    place: usize,
    far: Option<usize>,
}

/// A chord by its ends, and the bodies on both sides.
type Chord = ([usize; 2], [usize; 2]);

/// A part of a chord from end to end, and how wide the gap is along it at most, in mm.
type Part = ([Vec3<f64>; 2], f64);

/// Where a path of chords leads: its ends, the body on its far side, and those that may close what lies on the other.
type Path = ([usize; 2], usize, Vec<usize>);

/// An outline among bodies that stand still.
struct Outline<'a> {
    places: Places<'a>,
    /// For each body its neighbour.
    whose: Vec<usize>,
    /// What is open of chords, as far as it was asked.
    chords: RefCell<BTreeMap<Chord, Vec<Part>>>,
    /// Places on paths of chords between their ends, as far as they were asked.
    paths: RefCell<BTreeMap<Path, Vec<usize>>>,
}

impl Outline<'_> {
    /// The gap all along a closed line, closed by these bodies, once for each main one that is tried: it closes what it
    /// is nearest to; each part beside that is cut off by a chord and left to the others, if they are nearer.
    fn choices(&self, ring: &[Side], bodies: &[usize], most: usize) -> Vec<Vec<Stretch>> {
        let count = ring.len();
        let length =
            |i: usize| (self.places.at(ring[(i + 1) % count].place) - self.places.at(ring[i].place)).length();
        let nearest: Vec<usize> = ring.iter().map(|side| self.places.nearest(side.place, bodies)).collect();
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
            let near = others.iter().map(|&body| self.places.away(ring[i % count].place, body));
            near.fold(f64::INFINITY, f64::min)
        };
        // The end of a chord among these places, the first of which is nearest to the part that is cut off: where both
        // bodies together are least away, the others closing what lies before.
        let end_of_chord = |places: &mut dyn Iterator<Item = usize>| {
            let (mut best, mut before) = ((f64::INFINITY, None), 0.0_f64);
            for i in places {
                before = before.max(other(i));
                let both = before.max(self.places.away(ring[i % count].place, main) + other(i));
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
            // The place before `back` may be where the nearest body changes.
            let to = end_of_chord(&mut (back - 1..=again.max(back)));
            found.extend((at..from).flat_map(|i| self.stretches(ring, i % count, main)));
            let along: Vec<Stretch> =
                (from..to).flat_map(|i| self.stretches(ring, i % count, main)).collect();
            let end = ring[to % count].place;
            let path = self.path([end, ring[from % count].place], main, others);
            let chords = [end].into_iter().chain(path).map(|place| Side { place, far: Some(main) });
            let cut_off: Vec<Side> = (from..to).map(|i| ring[i % count]).chain(chords).collect();
            let by_others = self.closed(&cut_off, others, most);
            found.extend(if widest(&by_others) < widest(&along) { by_others } else { along });
            at = to;
        }
        found
    }

    /// The gap along a side that a body closes, part by part if it is a chord.
    fn stretches(&self, ring: &[Side], index: usize, body: usize) -> Vec<Stretch> {
        let (side, next) = (ring[index], ring[(index + 1) % ring.len()]);
        let ends = [side.place, next.place];
        let neighbour = self.whose[body];
        let Some(far) = side.far else {
            let [start, end] = ends.map(|place| self.places.away(place, body));
            let side = ends.map(|place| self.places.at(place));
            return vec![Stretch { side, width: start.max(end), neighbour }];
        };
        let mut chords = self.chords.borrow_mut();
        let parts = chords.entry((ends, [body, far])).or_insert_with(|| self.across(ends, [body, far]));
        parts.iter().map(|&(side, width)| Stretch { side, width, neighbour }).collect()
    }

    /// Places at which chords between two places bend, so that `main` closes what lies on one side of them and others
    /// what lies on the other. Where one of the others is nearest at one end and another one at the other, the chords
    /// lead over a place that all three have in common, or straight on over those where the nearest of the others
    /// changes: where there is less to open.
    fn path(&self, ends: [usize; 2], main: usize, others: &[usize]) -> Vec<usize> {
        let key = (ends, main, others.to_vec());
        if let Some(known) = self.paths.borrow().get(&key) {
            return known.clone();
        }
        let [one, other] = ends.map(|place| self.places.nearest(place, others));
        let path = if one == other {
            Vec::new()
        } else {
            let [from, to] = ends.map(|place| self.places.at(place));
            let away =
                |place: usize, body: usize| self.places.away(place, main) + self.places.away(place, body);
            let common = self.places.between([main, one, other], (from + to).times(0.5));
            let straight = self.places.changes(ends, others);
            let widest = straight.iter().map(|&place| away(place, self.places.nearest(place, others)));
            let is_less = away(common, one).max(away(common, other)) < widest.fold(0.0, f64::max);
            if is_less { vec![common] } else { straight }
        };
        self.paths.borrow_mut().insert(key, path.clone());
        path
    }

    /// The open parts of a chord between two bodies with the gap along each. Where both bodies meet on the chord,
    /// nothing passes, and before that no more than is left up to there.
    fn across(&self, ends: [usize; 2], bodies: [usize; 2]) -> Vec<Part> {
        let [from, to] = ends.map(|place| self.places.at(place));
        let mut points = divided(from, to);
        points.push(to);
        let both =
            |point: Vec3<f64>| bodies.map(|body| self.places.distance(point, body)).iter().sum::<f64>();
        let away: Vec<f64> = points.iter().map(|&point| both(point)).collect();
        let is_in = |away: f64| away <= tolerance::SNAP_MM;
        let inside: Vec<usize> = (0..points.len()).filter(|&i| is_in(away[i])).collect();
        let (Some(&first), Some(&last)) = (inside.first(), inside.last()) else {
            return (1..points.len())
                .map(|i| ([points[i - 1], points[i]], away[i - 1].max(away[i])))
                .collect();
        };
        let entered = |out: Vec3<f64>, within: Vec3<f64>| halved([within, out], |p| is_in(both(p)))[0];
        let mut found = Vec::new();
        if first > 0 {
            let enters = entered(points[first - 1], points[first]);
            for i in 0..first {
                let next = if i + 1 < first { points[i + 1] } else { enters };
                let width = away[i].max(away[i + 1]).min((enters - points[i]).length());
                found.push(([points[i], next], width));
            }
        }
        if last + 1 < points.len() {
            let leaves = entered(points[last + 1], points[last]);
            for i in last..points.len() - 1 {
                let start = if i > last { points[i] } else { leaves };
                let width = away[i].max(away[i + 1]).min((points[i + 1] - leaves).length());
                found.push(([start, points[i + 1]], width));
            }
        }
        found
    }
}
