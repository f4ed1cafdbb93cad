//! Where a point lies with respect to contours and regions, and how two contours are nested.
//!
//! Invariant: points within the snap tolerance of an outline are on it. Must not know: booleans.

use crate::quantity::tolerance;

use super::crossing::nearer_than;
use super::monotone::{count_on_ray, for_monotone_pieces};
use super::pairs::Strips;
use super::{Contour, Point2, Region, Segment};

/// Where a point lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// Inside, farther than the snap tolerance from any outline.
    Inside,
    /// On an outline, within the snap tolerance.
    OnBoundary,
    /// Outside, or in a hole.
    Outside,
}

/// How one contour lies to another one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Nesting {
    /// The first lies inside the second, clear of it.
    Inside,
    /// The first goes around the second, clear of it.
    Around,
    /// Neither encloses anything of the other.
    Apart,
    /// They cross or touch within the snap tolerance.
    InContact,
}

/// Where a point lies to a contour; for one that crosses itself, inside is where its winding is not zero.
#[must_use]
pub fn place_in_contour(contour: &Contour, p: Point2) -> Place {
    let mut winding = 0;
    let mut on_boundary = false;
    for &segment in contour.segments() {
        on_boundary |= touches(&segment, p);
        for_monotone_pieces(segment, |piece| {
            winding += count_on_ray(p, piece.start, piece.end, piece.curve).crossing;
        });
    }
    place(winding, on_boundary)
}

/// Where a point lies to a region. For many points use a [`RegionLocator`].
#[must_use]
pub fn place_in_region(region: &Region, p: Point2) -> Place {
    RegionLocator::new(region).place(p)
}

/// How `first` lies to `second`, whichever way they run; both are simple contours.
#[must_use]
pub fn nesting(first: &Contour, second: &Contour) -> Nesting {
    if nearer_than(first, second, tolerance::SNAP_MM).is_some() {
        return Nesting::InContact;
    }
    let encloses = |outer: &Contour, inner: &Contour| {
        let around = outer.bounding_box();
        let p = inner.segments()[0].start;
        around.touches(inner.bounding_box()) && place_in_contour(outer, p) == Place::Inside
    };
    if encloses(second, first) {
        Nesting::Inside
    } else if encloses(first, second) {
        Nesting::Around
    } else {
        Nesting::Apart
    }
}

/// Finds the place of many points in one region, looking only at the pieces at the height of each.
pub struct RegionLocator {
    pieces: Vec<Segment>,
    strips: Strips,
}

impl RegionLocator {
    /// Sorts the outline of a region by height.
    #[must_use]
    pub fn new(region: &Region) -> Self {
        let mut pieces = Vec::new();
        for &segment in region.contours().iter().flat_map(Contour::segments) {
            for_monotone_pieces(segment, |piece| pieces.push(piece));
        }
        let snap = tolerance::SNAP_MM;
        let intervals: Vec<(f64, f64)> =
            pieces.iter().map(|s| (s.start.y.min(s.end.y) - snap, s.start.y.max(s.end.y) + snap)).collect();
        Self { strips: Strips::new(&intervals), pieces }
    }

    /// Where a point lies.
    #[must_use]
    pub fn place(&self, p: Point2) -> Place {
        let mut winding = 0;
        let mut on_boundary = false;
        for &index in self.strips.at(p.y) {
            let piece = &self.pieces[index as usize];
            on_boundary |= touches(piece, p);
            winding += count_on_ray(p, piece.start, piece.end, piece.curve).crossing;
        }
        place(winding, on_boundary)
    }
}

fn place(winding: i32, on_boundary: bool) -> Place {
    match (on_boundary, winding) {
        (true, _) => Place::OnBoundary,
        (false, 0) => Place::Outside,
        (false, _) => Place::Inside,
    }
}

fn touches(segment: &Segment, p: Point2) -> bool {
    let near = segment.bounding_box().grown(tolerance::SNAP_MM);
    near.min.x <= p.x
        && p.x <= near.max.x
        && near.min.y <= p.y
        && p.y <= near.max.y
        && segment.distance_to(p) <= tolerance::SNAP_MM
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Tag, Vec2};
    use crate::quantity::maths;

    fn ring() -> Region {
        let circle = |r| Contour::circle(Point2::new(1.0, 2.0), r, Tag(0)).unwrap();
        Region::from_oriented(vec![circle(5.0), circle(2.0).reversed()])
    }

    #[test]
    fn points_around_a_ring_at_every_degree() {
        let locator = RegionLocator::new(&ring());
        for degree in 0..360 {
            let u = Vec2::unit(f64::from(degree) * maths::PI / 180.0);
            let place = |radius: f64| locator.place(Point2::new(1.0, 2.0) + u * radius);
            assert_eq!(place(0.0), Place::Outside);
            assert_eq!(place(2.0), Place::OnBoundary);
            assert_eq!(place(2.0 + 1e-6), Place::Inside);
            assert_eq!(place(5.0 - 1e-6), Place::Inside);
            assert_eq!(place(5.0 + 5e-8), Place::OnBoundary);
            assert_eq!(place(5.0 + 1e-6), Place::Outside);
        }
        assert_eq!(place_in_region(&ring(), Point2::new(1.0, 5.0)), Place::Inside);
        assert_eq!(place_in_region(&Region::default(), Point2::ORIGIN), Place::Outside);
    }

    #[test]
    fn rays_that_run_along_edges_and_through_corners() {
        // A comb whose teeth end at the heights that are asked for.
        let xy =
            [(0, 0), (6, 0), (6, 2), (5, 2), (5, 1), (4, 1), (4, 2), (2, 2), (2, 1), (1, 1), (1, 2), (0, 2)];
        let points = xy.map(|(x, y)| Point2::new(f64::from(x), f64::from(y)));
        let comb = Contour::polygon(&points, Tag(0)).unwrap();
        let place = |x, y| place_in_contour(&comb, Point2::new(x, y));
        assert_eq!(place(0.5, 1.0), Place::Inside);
        assert_eq!(place(1.5, 1.0), Place::OnBoundary);
        assert_eq!(place(3.0, 1.0), Place::Inside);
        assert_eq!(place(-1.0, 1.0), Place::Outside);
        assert_eq!(place(-1.0, 0.0), Place::Outside);
        assert_eq!(place(-1.0, 2.0), Place::Outside);
        assert_eq!(place(1.5, 1.5), Place::Outside);
    }

    #[test]
    fn nesting_of_two_contours() {
        let circle = |x, r| Contour::circle(Point2::new(x, 0.0), r, Tag(0)).unwrap();
        assert_eq!(nesting(&circle(0.0, 1.0), &circle(0.5, 3.0)), Nesting::Inside);
        assert_eq!(nesting(&circle(0.5, 3.0), &circle(0.0, 1.0)), Nesting::Around);
        assert_eq!(nesting(&circle(0.0, 1.0), &circle(2.5, 1.0)), Nesting::Apart);
        assert_eq!(nesting(&circle(0.0, 1.0), &circle(2.0, 1.0)), Nesting::InContact);
        assert_eq!(nesting(&circle(0.0, 1.0), &circle(1.5, 1.0).reversed()), Nesting::InContact);
        assert_eq!(nesting(&circle(0.0, 1.0), &circle(0.0, 1.0)), Nesting::InContact);
    }
}
