//! Edges too short to be cut, which are left where a cut ends beside a corner.
//!
//! Job: let the neighbours of such an edge meet in one point. Invariant: creases keep their ends bit for bit,
//! edges that no cut has touched stay as they are, and metal is rather taken than left: what is added anywhere
//! is thinner than the snap tolerance, except beside a crease and at the tip of a needle.

use crate::geom::{Contour, Point2, Region, Segment};
use crate::quantity::tolerance;

use super::{EdgeLabel, Labels};

/// The region without edges below [`tolerance::LEAST_EDGE_MM`] that a cut has made.
pub(super) fn without_short_edges(region: &Region, labels: &Labels) -> Region {
    let has_short = |c: &Contour| c.segments().iter().any(is_short);
    if !region.contours().iter().any(has_short) {
        return region.clone();
    }
    let contours = region.contours().iter();
    Region::from_oriented(
        contours.map(|c| if has_short(c) { without(c, labels) } else { c.clone() }).collect(),
    )
}

fn is_short(piece: &Segment) -> bool {
    piece.start.distance(piece.end) < tolerance::LEAST_EDGE_MM && piece.length() < tolerance::LEAST_EDGE_MM
}

fn without(contour: &Contour, labels: &Labels) -> Contour {
    let is_crease = |piece: &Segment| labels.label(piece.tag).is_crease();
    let is_cut = |piece: &Segment| match labels.label(piece.tag) {
        EdgeLabel::CreaseStart(_) | EdgeLabel::CreaseEnd(_) | EdgeLabel::Opening(_) => true,
        EdgeLabel::Edge(_) | EdgeLabel::StripEnd(_) | EdgeLabel::Relief(_) | EdgeLabel::CornerBreak(_) => {
            false
        }
    };
    let mut pieces = contour.segments().to_vec();
    loop {
        let count = pieces.len();
        let around = |i: usize| [pieces[(i + count - 1) % count], pieces[i], pieces[(i + 1) % count]];
        let found = (0..count).find_map(|i| {
            let [before, short, after] = around(i);
            let cut = [before, short, after].iter().any(is_cut);
            if is_crease(&short) || !is_short(&short) || !cut {
                return None;
            }
            Some((i, meeting(before, short, after, [is_crease(&before), is_crease(&after)])?))
        });
        let Some((i, at)) = found else { break };
        let [before, _, after] = around(i);
        let mut rest = before.with_ends(before.start, at);
        rest.extend(after.with_ends(at, after.end));
        rest.extend((2..count - 1).map(|step| pieces[(i + step) % count]));
        if rest.len() < 3 {
            break;
        }
        pieces = rest;
    }
    Contour::new(pieces).unwrap_or_else(|_| contour.clone())
}

/// Where the neighbours of a short edge are to meet; none if both of them are creases.
fn meeting(before: Segment, short: Segment, after: Segment, creases: [bool; 2]) -> Option<Point2> {
    match creases {
        [true, true] => return None,
        [true, false] => return Some(short.start),
        [false, true] => return Some(short.end),
        [false, false] => {}
    }
    // The metal lies to the left: an end that is moved to the left of its piece takes some, one that is moved
    // to the right adds some.
    let (along, ahead, edge) = (before.end_direction(), after.start_direction(), short.end - short.start);
    let (added_by_end, added_by_start) = (-along.cross(edge), -edge.cross(ahead));
    if added_by_end.min(added_by_start) > tolerance::SNAP_MM {
        // Both turn to the right: prolonged, they meet beyond the edge.
        let beyond = short.start + along * (edge.cross(ahead) / along.cross(ahead));
        let is_near = |p: Point2| p.distance(beyond) <= tolerance::LEAST_EDGE_MM;
        if is_near(short.start) && is_near(short.end) {
            return Some(beyond);
        }
    }
    Some(if added_by_end <= added_by_start { short.end } else { short.start })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{ArcTurn, Tag, Vec2};
    use crate::ident::{BendId, FeatureId};

    const SHORT: f64 = 1e-5;

    fn labels() -> (Labels, Tag, Tag, Tag) {
        let mut labels = Labels::default();
        let edge = labels.tag(EdgeLabel::StripEnd(BendId::new(0)));
        let cut = labels.tag(EdgeLabel::Opening(FeatureId::new(1)));
        let crease = labels.tag(EdgeLabel::CreaseStart(BendId::new(0)));
        (labels, edge, cut, crease)
    }

    fn polygon(corners: &[([f64; 2], Tag)]) -> Region {
        let point = |i: usize| {
            let [x, y] = corners[i % corners.len()].0;
            Point2::new(x, y)
        };
        let piece = |i: usize| Segment::line(point(i), point(i + 1), corners[i].1);
        Region::from_oriented(vec![Contour::new((0..corners.len()).map(piece).collect()).unwrap()])
    }

    #[test]
    fn a_chamfer_too_short_goes_from_a_corner_that_sticks_out() {
        let (labels, edge, cut, _) = labels();
        let region = polygon(&[
            ([0.0, 0.0], edge),
            ([10.0, 0.0], edge),
            ([10.0, 5.0 - SHORT], cut),
            ([10.0 - SHORT, 5.0], cut),
            ([0.0, 5.0], edge),
        ]);
        let left = without_short_edges(&region, &labels);
        assert_eq!(left.contours()[0].segments().len(), 4);
        assert!(left.area() < region.area() && region.area() - left.area() < 10.0 * SHORT);
    }

    #[test]
    fn a_chamfer_too_short_becomes_a_sharp_corner_of_an_opening() {
        let (labels, edge, cut, _) = labels();
        // A notch from the right whose inner corner at (5, 2) is chamfered.
        let region = polygon(&[
            ([0.0, 0.0], edge),
            ([10.0, 0.0], edge),
            ([10.0, 2.0], cut),
            ([5.0 + SHORT, 2.0], cut),
            ([5.0, 2.0 + SHORT], cut),
            ([5.0, 6.0], cut),
            ([0.0, 6.0], edge),
        ]);
        let left = without_short_edges(&region, &labels);
        assert_eq!(left.contours()[0].segments().len(), 6);
        let corner = Point2::new(5.0, 2.0);
        assert!(left.contours()[0].segments().iter().any(|s| s.start.distance(corner) < 1e-12));
    }

    #[test]
    fn creases_keep_their_ends_and_what_no_cut_has_touched_stays() {
        let (labels, edge, cut, crease) = labels();
        let drawn = polygon(&[
            ([0.0, 0.0], edge),
            ([10.0, 0.0], edge),
            ([10.0, SHORT], edge),
            ([10.0, 6.0], edge),
            ([0.0, 6.0], edge),
        ]);
        assert_eq!(without_short_edges(&drawn, &labels), drawn);
        let at_crease = polygon(&[
            ([0.0, 0.0], crease),
            ([10.0, 0.0], cut),
            ([10.0 + SHORT, SHORT], cut),
            ([9.0, 6.0], edge),
            ([0.0, 6.0], edge),
        ]);
        let left = without_short_edges(&at_crease, &labels);
        let ends: Vec<Point2> = left.contours()[0].segments().iter().map(|s| s.start).collect();
        assert!(ends.len() == 4 && ends.contains(&Point2::new(10.0, 0.0)));
    }

    #[test]
    fn an_arc_follows_its_end() {
        let (labels, edge, cut, _) = labels();
        let (a, b) = (Point2::new(10.0, 0.0), Point2::new(10.0, SHORT));
        let (c, centre) = (Point2::new(5.0, 5.0 + SHORT), Point2::new(5.0, SHORT));
        let pieces = vec![
            Segment::line(Point2::ORIGIN, a, edge),
            Segment::line(a, b, cut),
            Segment::arc(b, c, centre, ArcTurn::Left, cut),
            Segment::line(c, Point2::new(0.0, 5.0), cut),
            Segment::line(Point2::new(0.0, 5.0), Point2::ORIGIN, edge),
        ];
        let region = Region::from_oriented(vec![Contour::new(pieces).unwrap()]);
        let left = without_short_edges(&region, &labels);
        let arc = left.contours()[0].segments().iter().find(|s| s.curvature() != 0.0).unwrap();
        assert!((arc.length() - 0.5 * crate::quantity::maths::PI * 5.0).abs() < 4.0 * SHORT);
        assert!(arc.start_direction().dot(Vec2::new(0.0, 1.0)) > 0.999);
    }
}
