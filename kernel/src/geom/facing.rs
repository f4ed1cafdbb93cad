//! Stretches of one outline that face each other: across sheet they are the sides of a tab, across a gap those of a
//! notch.
//!
//! Invariant: a width is the distance of two places at which the line between them leaves both pieces within
//! 25° of their normals; pieces that share an end do not face each other. Must not know: any limit.

use super::pairs::for_touching_pairs;
use super::{Contour, Curve, Point2, Segment, Tag};
use crate::quantity::tolerance;

/// Pieces face each other if the line across is within 25° of square to both: tapered sides do, edges on the two sides
/// of a broken corner do not.
const FACING_COS: f64 = 0.906_307_787_036_65;

/// What lies between two stretches of an outline.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Between {
    /// Sheet: a tab, a tongue, a neck.
    Sheet,
    /// Nothing: a notch or a slot that is open to the edge.
    Gap,
}

/// Two pieces of one outline that face each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Facing {
    /// What lies between them.
    pub between: Between,
    /// Tags of the two, in the order of the outline.
    pub tags: [Tag; 2],
    /// Least distance at which they face each other, in mm.
    pub width: f64,
    /// The middle between the two places.
    pub at: Point2,
}

/// All pairs of pieces of an outline that face each other nearer than `limit` mm, in the order of the outline.
#[must_use]
pub fn facing(outline: &Contour, limit: f64) -> Vec<Facing> {
    let pieces = outline.segments();
    let boxes: Vec<_> = pieces.iter().map(|piece| piece.bounding_box().grown(0.5 * limit)).collect();
    let mut found: Vec<([usize; 2], Facing)> = Vec::new();
    for_touching_pairs(&boxes, |first, second| {
        let (i, j) = (first.min(second), first.max(second));
        let are_neighbours = j == i + 1 || (i == 0 && j + 1 == pieces.len());
        if !are_neighbours && let Some(facing) = between(&pieces[i], &pieces[j], limit) {
            found.push(([i, j], facing));
        }
    });
    found.sort_by_key(|(pair, _)| *pair);
    found.into_iter().map(|(_, facing)| facing).collect()
}

fn between(a: &Segment, b: &Segment, limit: f64) -> Option<Facing> {
    let mut best: Option<Facing> = None;
    for (p, q) in candidates(a, b) {
        let width = p.distance(q);
        if width <= tolerance::SNAP_MM || width >= best.map_or(limit, |facing| facing.width) {
            continue;
        }
        let across = (q - p) * (1.0 / width);
        // Sheet lies to the left of an outline.
        let (out, back) = (across.dot(a.direction_from(p).left()), -across.dot(b.direction_from(q).left()));
        let between = if out.min(back) >= FACING_COS {
            Between::Sheet
        } else if out.max(back) <= -FACING_COS {
            Between::Gap
        } else {
            continue;
        };
        best = Some(Facing { between, tags: [a.tag, b.tag], width, at: p.midpoint(q) });
    }
    best
}

/// Pairs of places, one on each piece, among which the nearest are: ends with what is nearest to them, and where the
/// line between the pieces runs through a centre.
fn candidates(a: &Segment, b: &Segment) -> Vec<(Point2, Point2)> {
    let mut found: Vec<(Point2, Point2)> = [a.start, a.end].map(|p| (p, b.nearest_to(p))).to_vec();
    found.extend([b.start, b.end].map(|q| (a.nearest_to(q), q)));
    for centre in [a, b].into_iter().filter_map(centre_of) {
        // The far side of one arc from the other's centre counts too: what is nearest to what is nearest.
        let (p, q) = (a.nearest_to(centre), b.nearest_to(centre));
        found.extend([(p, q), (p, b.nearest_to(p)), (a.nearest_to(q), q)]);
    }
    found
}

fn centre_of(piece: &Segment) -> Option<Point2> {
    match piece.curve {
        Curve::Line => None,
        Curve::Arc { centre, .. } => Some(centre),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn polygon(points: &[(f64, f64)]) -> Contour {
        let points: Vec<Point2> = points.iter().map(|&(x, y)| Point2::new(x, y)).collect();
        Contour::polygon(&points, Tag(0)).unwrap()
    }

    #[test]
    fn a_notch_and_the_tab_beside_it_are_as_wide_as_drawn() {
        // A notch from x = 40 to 43 and a tongue from there to x = 48, in a plate of 100 x 60.
        let outline = polygon(&[
            (0.0, 0.0),
            (100.0, 0.0),
            (100.0, 60.0),
            (60.0, 60.0),
            (60.0, 30.0),
            (48.0, 30.0),
            (48.0, 60.0),
            (43.0, 60.0),
            (43.0, 20.0),
            (40.0, 20.0),
            (40.0, 60.0),
            (0.0, 60.0),
        ]);
        let found: Vec<(Between, f64)> = facing(&outline, 6.0).iter().map(|f| (f.between, f.width)).collect();
        assert_eq!(found, [(Between::Sheet, 5.0), (Between::Gap, 3.0)]);
    }

    #[test]
    fn a_neck_between_two_round_notches_is_measured_between_the_circles() {
        // Half circles of radius 8 into both long sides of a plate 20 high: 4 mm are left between them.
        let line = |from: (f64, f64), to: (f64, f64)| {
            Segment::line(Point2::new(from.0, from.1), Point2::new(to.0, to.1), Tag(0))
        };
        let arc = |from: (f64, f64), to: (f64, f64), through: (f64, f64)| {
            Segment::arc_through(
                Point2::new(from.0, from.1),
                Point2::new(through.0, through.1),
                Point2::new(to.0, to.1),
                Tag(0),
            )
            .unwrap()
        };
        let outline = Contour::new(vec![
            line((0.0, 0.0), (42.0, 0.0)),
            arc((42.0, 0.0), (58.0, 0.0), (50.0, 8.0)),
            line((58.0, 0.0), (100.0, 0.0)),
            line((100.0, 0.0), (100.0, 20.0)),
            line((100.0, 20.0), (58.0, 20.0)),
            arc((58.0, 20.0), (42.0, 20.0), (50.0, 12.0)),
            line((42.0, 20.0), (0.0, 20.0)),
            line((0.0, 20.0), (0.0, 0.0)),
        ])
        .unwrap();
        let found = facing(&outline, 5.0);
        assert_eq!(found.len(), 1);
        assert!(found[0].between == Between::Sheet && (found[0].width - 4.0).abs() < 1e-9, "{found:?}");
        assert!(found[0].at.distance(Point2::new(50.0, 10.0)) < 1e-9);
    }

    #[test]
    fn the_two_sides_of_a_broken_corner_do_not_face_each_other() {
        let outline = polygon(&[(0.0, 0.0), (30.0, 0.0), (30.0, 19.0), (29.0, 20.0), (0.0, 20.0)]);
        assert_eq!(facing(&outline, 5.0), []);
    }
}
