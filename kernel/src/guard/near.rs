//! How near a hazard lies behind an opening.
//!
//! A straight way is never longer than one around metal, so that the straight distance is the safe one; whether metal
//! stands in it is told. Invariant: a reach is never told longer than the way of a hand. Must not know: tables.

use crate::geom::{Apart, Box3, Contour, Convex, Curve, Placement, Point2, Vec2, Vec3, separation};
use crate::machine::{Disc, Neighbour, Piece, PieceHull, Prism, Shape};
use crate::quantity::tolerance;
use crate::solid::{Metal, Obstacle, clearance};

use super::rim::CHORD_MM;
use super::{Figure, Opening};

/// From an opening to a hazard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach {
    /// Length of the straight way in mm; zero where the hazard stands in the opening.
    pub distance: f64,
    /// Where it begins, in or beside the opening.
    pub from: Vec3<f64>,
    /// Where it ends, on the hazard.
    pub to: Vec3<f64>,
}

/// The hull of points.
pub(super) struct Around<'a>(pub(super) &'a [Vec3<f64>]);

impl Convex for Around<'_> {
    fn farthest(&self, direction: Vec3<f64>) -> Vec3<f64> {
        let mut best = self.0[0];
        for &p in &self.0[1..] {
            if p.dot(direction) > best.dot(direction) {
                best = p;
            }
        }
        best
    }
}

/// The hull of a flat outline with its arcs.
struct Outline<'a> {
    contour: &'a Contour,
    frame: Placement<f64>,
}

impl Convex for Outline<'_> {
    fn farthest(&self, direction: Vec3<f64>) -> Vec3<f64> {
        let flat = Vec2::new(direction.dot(self.frame.x), direction.dot(self.frame.y));
        let length = flat.length();
        let mut best = self.contour.segments()[0].start;
        let mut consider = |p: Point2| {
            if (p - best).dot(flat) > 0.0 {
                best = p;
            }
        };
        for segment in self.contour.segments() {
            consider(segment.start);
            if let (Curve::Arc { centre, .. }, true) = (segment.curve, length > 0.0) {
                let out = centre + flat * ((segment.start - centre).length() / length);
                if segment.spans(out) {
                    consider(out);
                }
            }
        }
        self.frame.lift(best, 0.0)
    }
}

/// The shadow of a body on a floor.
struct Shadow<'a, B> {
    body: &'a B,
    up: Vec3<f64>,
}

impl<B: Convex> Convex for Shadow<'_, B> {
    fn farthest(&self, direction: Vec3<f64>) -> Vec3<f64> {
        let flat = |v: Vec3<f64>| v - self.up.times(v.dot(self.up));
        flat(self.body.farthest(flat(direction)))
    }
}

pub(super) fn bodies(neighbour: &Neighbour) -> impl Iterator<Item = PieceHull<'_>> {
    neighbour.pieces.iter().filter_map(Piece::hull)
}

/// The way from one body to another that is no longer than `limit`, if there is one.
pub(super) fn way(one: &impl Convex, other: &impl Convex, limit: f64) -> Option<Reach> {
    match separation(one, other, Vec3::new(1.0, 0.0, 0.0), limit) {
        Apart::Beyond(_) => None,
        Apart::By(apart) => {
            Some(Reach { distance: apart.distance, from: apart.points[0], to: apart.points[1] })
        }
        Apart::Meet(at) => Some(Reach { distance: 0.0, from: at, to: at }),
    }
}

/// The shortest straight way from an opening, at one of these places of its figure, to a hazard; none if the hazard
/// has no corner.
pub(super) fn reach(opening: &Opening, places: &[usize], hazard: &Neighbour) -> Option<Reach> {
    let mut best: Option<Reach> = None;
    for body in bodies(hazard) {
        let around = Box3::of_body(&body);
        // The place whose box is nearest comes first, so that the others are seldom measured.
        let mut order: Vec<(f64, usize)> =
            places.iter().map(|&place| (extent(opening, place).distance_to(around), place)).collect();
        order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        for (at_least, place) in order {
            let limit = best.map_or(f64::INFINITY, |reach| reach.distance);
            if at_least > limit {
                break;
            }
            let found = match &opening.figure {
                Figure::Flat { contour, frames } => {
                    way(&Outline { contour, frame: frames[place] }, &body, limit)
                }
                Figure::Rim { points, .. } => way(&Around(points), &body, limit).map(|found| {
                    // Arcs bulge over their chords.
                    Reach { distance: (found.distance - CHORD_MM).max(0.0), ..found }
                }),
            };
            if let Some(found) = found
                && found.distance < limit
            {
                best = Some(found);
            }
        }
    }
    best
}

/// Whether metal stands in a way, apart from its very beginning at the edge of the opening.
pub(super) fn is_blocked(metal: &Metal<'_>, reach: &Reach) -> bool {
    let whole = reach.to - reach.from;
    let length = whole.length();
    /// So much of the way runs along the edge of the sheet, in mm.
    const AT_THE_EDGE_MM: f64 = 1.0;
    if length <= 2.0 * AT_THE_EDGE_MM {
        return false;
    }
    let unit = whole.times(1.0 / length);
    let start = reach.from + unit.times(AT_THE_EDGE_MM);
    let frame = Placement { origin: start, ..Placement::identity() };
    let discs = vec![Disc { centre: Point2::new(0.0, 0.0), radius: 0.0 }];
    let thread = Piece {
        shape: Shape::Prism(Prism { placement: frame, discs, reach: [0.0, 0.0] }),
        travel: reach.to - start,
    };
    clearance(metal, &Obstacle::new(&[thread])).is_some_and(|found| found.distance <= tolerance::CLEARANCE_MM)
}

/// The horizontal way from an opening to a hazard in mm, the lowest height of the opening, and the heights between
/// which the hazard stands, along `up`.
pub(super) fn over(opening: &Opening, hazard: &Neighbour, up: Vec3<f64>) -> Option<(f64, f64, [f64; 2])> {
    let outline = opening.outline(0);
    let around = Around(&outline);
    let barrier = around.farthest(-up).dot(up);
    let mut horizontal = f64::INFINITY;
    let mut heights = [f64::INFINITY, f64::NEG_INFINITY];
    for body in bodies(hazard) {
        let shadows = (Shadow { body: &around, up }, Shadow { body: &body, up });
        if let Some(found) = way(&shadows.0, &shadows.1, horizontal) {
            horizontal = horizontal.min(found.distance);
        }
        heights = [heights[0].min(body.farthest(-up).dot(up)), heights[1].max(body.farthest(up).dot(up))];
    }
    horizontal.is_finite().then_some((horizontal, barrier, heights))
}

/// The box around an opening at one place.
pub(super) fn extent(opening: &Opening, place: usize) -> Box3 {
    match &opening.figure {
        Figure::Flat { contour, frames } => Box3::of_flat(frames[place], contour.bounding_box()),
        Figure::Rim { points, .. } => Box3::of_points(points.iter().copied()).expect("an outline has points"),
    }
}
