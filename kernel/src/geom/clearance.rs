//! Which openings keep clear of the outlines of a plate, and of each other.
//!
//! Invariant: an opening that keeps clear can be cut without any boolean. Must not know: what an opening is
//! for.

use crate::quantity::tolerance;

use super::pairs::for_touching_pairs;
use super::{
    BoundingBox, Contour, Place, Region, RegionLocator, Segment, Tag, distance_between, place_in_contour,
};

/// For each opening, whether it lies wholly within the plate, at least `margin` mm (0 or more) away from all
/// its outlines, holes included; touching one counts as not clear.
#[must_use]
pub fn clear_of_outlines(plate: &Region, openings: &[Contour], margin: f64) -> Vec<bool> {
    let own = openings.len();
    let nearest = (margin - tolerance::SNAP_MM).max(tolerance::SNAP_MM);
    let pieces: Vec<&Segment> = plate.contours().iter().flat_map(Contour::segments).collect();
    let mut boxes: Vec<BoundingBox> = openings.iter().map(|o| o.bounding_box().grown(nearest)).collect();
    boxes.extend(pieces.iter().map(|s| s.bounding_box()));
    let mut clear = vec![true; own];
    for_touching_pairs(&boxes, |first, second| {
        if first < own && second >= own && clear[first] {
            let (opening, piece) = (&openings[first], pieces[second - own]);
            clear[first] = opening.segments().iter().all(|s| distance_between(s, piece) >= nearest)
                && place_in_contour(opening, piece.start) == Place::Outside;
        }
    });
    let locator = RegionLocator::new(plate);
    for (clear, opening) in clear.iter_mut().zip(openings) {
        *clear = *clear && locator.place(opening.segments()[0].start) == Place::Inside;
    }
    clear
}

/// Two contours of a region with little sheet between them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NarrowWeb {
    /// Indices of the two contours, the smaller first.
    pub contours: [usize; 2],
    /// Tags of the two pieces that are nearest, in the same order.
    pub tags: [Tag; 2],
    /// Distance in mm.
    pub width: f64,
}

/// Every pair of contours of a region that are nearer to each other than `limit` mm, with their least distance, in
/// the order of their indices.
///
/// Contours are looked at whole if they are holes, and piece by piece if they are outlines: the box of an outline
/// holds every hole.
#[must_use]
pub fn narrow_webs(region: &Region, limit: f64) -> Vec<NarrowWeb> {
    let contours = region.contours();
    let mut boxes = Vec::with_capacity(contours.len());
    let mut owners: Vec<(usize, Option<&Segment>)> = Vec::with_capacity(contours.len());
    for (index, contour) in contours.iter().enumerate() {
        if contour.signed_area() > 0.0 {
            for piece in contour.segments() {
                boxes.push(piece.bounding_box().grown(0.5 * limit));
                owners.push((index, Some(piece)));
            }
        } else {
            boxes.push(contour.bounding_box().grown(0.5 * limit));
            owners.push((index, None));
        }
    }
    let mut found: Vec<NarrowWeb> = Vec::new();
    for_touching_pairs(&boxes, |i, j| {
        // Outlines stand in front of holes or between them: the order by contour is that of the list.
        let ((first, a), (second, b)) = (owners[i], owners[j]);
        if first == second {
            return;
        }
        let circles = |index: usize| contours[index].as_circle();
        if let (None, None, Some((p, r)), Some((q, s))) = (a, b, circles(first), circles(second)) {
            let width = p.distance(q) - r - s;
            if width < limit {
                let tags = [first, second].map(|index| contours[index].segments()[0].tag);
                found.push(NarrowWeb { contours: [first, second], tags, width: width.max(0.0) });
            }
            return;
        }
        let pieces = |index: usize, one: Option<&Segment>| match one {
            Some(piece) => vec![*piece],
            None => contours[index].segments().to_vec(),
        };
        let mut nearest: Option<NarrowWeb> = None;
        for x in &pieces(first, a) {
            let near = x.bounding_box().grown(limit);
            for y in pieces(second, b).iter().filter(|y| near.touches(y.bounding_box())) {
                let width = distance_between(x, y);
                if width < nearest.map_or(limit, |n| n.width) {
                    nearest = Some(NarrowWeb { contours: [first, second], tags: [x.tag, y.tag], width });
                }
            }
        }
        found.extend(nearest);
    });
    found.sort_by(|a, b| a.contours.cmp(&b.contours).then(a.width.total_cmp(&b.width)));
    found.dedup_by_key(|web| web.contours);
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Point2, Tag};

    #[test]
    fn an_opening_is_clear_up_to_the_margin() {
        let at = |x: f64, y: f64, r: f64| Contour::circle(Point2::new(x, y), r, Tag(0)).unwrap();
        let corners = [(0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (0.0, 50.0)].map(|(x, y)| Point2::new(x, y));
        let plate = Region::from_oriented(vec![
            Contour::polygon(&corners, Tag(0)).unwrap(),
            at(50.0, 25.0, 5.0).reversed(),
        ]);
        // Edge to edge: 4, 3.9, 4 beside the hole, 3.9 beside it, around it, in it, outside, across an edge.
        let openings = [
            at(6.0, 25.0, 2.0),
            at(5.9, 25.0, 2.0),
            at(50.0, 36.0, 2.0),
            at(50.0, 35.9, 2.0),
            at(50.0, 25.0, 8.0),
            at(50.0, 25.0, 1.0),
            at(120.0, 25.0, 1.0),
            at(100.0, 25.0, 3.0),
        ];
        let clear = clear_of_outlines(&plate, &openings, 4.0);
        assert_eq!(clear, [true, false, true, false, false, false, false, false]);
        // Touching is not clear, even without a margin.
        assert_eq!(
            clear_of_outlines(&plate, &[at(2.0, 25.0, 2.0), at(2.001, 25.0, 2.0)], 0.0),
            [false, true]
        );
    }

    #[test]
    fn narrow_webs_are_found_up_to_the_limit() {
        let at = |x: f64, y: f64, r: f64| Contour::circle(Point2::new(x, y), r, Tag(1)).unwrap().reversed();
        let corners = [(0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (0.0, 50.0)].map(|(x, y)| Point2::new(x, y));
        let square = [(60.0, 20.0), (60.0, 30.0), (70.0, 30.0), (70.0, 20.0)].map(|(x, y)| Point2::new(x, y));
        let plate = Region::from_oriented(vec![
            Contour::polygon(&corners, Tag(0)).unwrap(),
            at(20.0, 10.0, 5.0),
            at(33.0, 10.0, 5.0),
            Contour::polygon(&square, Tag(2)).unwrap(),
            at(98.0, 48.0, 1.0),
            at(56.0, 25.0, 1.0),
        ]);
        // Between the circles 13 − 10 = 3, to the front edge 10 − 5 = 5, to right and back edge 1, to the square 3.
        let webs = |limit| narrow_webs(&plate, limit);
        assert_eq!(webs(1.0), []);
        let pairs = |limit| webs(limit).iter().map(|w| (w.contours, w.tags.map(|t| t.0))).collect::<Vec<_>>();
        assert_eq!(pairs(1.0 + 1e-9), [([0, 4], [0, 1])]);
        assert_eq!(pairs(3.0), [([0, 4], [0, 1])]);
        assert_eq!(pairs(3.0 + 1e-9), [([0, 4], [0, 1]), ([1, 2], [1, 1]), ([3, 5], [2, 1])]);
        let all = webs(5.1);
        assert_eq!(all.len(), 5);
        assert!(
            all.iter().zip([5.0, 5.0, 1.0, 3.0, 3.0]).all(|(web, width)| (web.width - width).abs() < 1e-12)
        );
    }
}
