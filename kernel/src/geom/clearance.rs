//! Which openings keep clear of the outlines of a plate.
//!
//! Invariant: an opening that keeps clear can be cut without any boolean. Must not know: what an opening is
//! for.

use crate::quantity::tolerance;

use super::pairs::for_touching_pairs;
use super::{
    BoundingBox, Contour, Place, Region, RegionLocator, Segment, distance_between, place_in_contour,
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
}
