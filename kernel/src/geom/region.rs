//! Plane regions bounded by contours. Invariant: outer contours run counter-clockwise, holes clockwise;
//! no two contours cross; contours are stored in the order in which they were made.

use super::monotone::{for_monotone_pieces, x_at_height};
use super::{BoundingBox, Contour, Motion2};

/// A plane figure: any number of disjoint areas, each with any number of holes. May be empty.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Region {
    contours: Vec<Contour>,
}

impl Region {
    /// The region inside one contour, whichever way it runs.
    #[must_use]
    pub fn inside(contour: Contour) -> Self {
        let contour = if contour.signed_area() < 0.0 { contour.reversed() } else { contour };
        Self { contours: vec![contour] }
    }

    /// A region from contours that already keep the invariant of this module.
    #[must_use]
    pub fn from_oriented(contours: Vec<Contour>) -> Self {
        Self { contours }
    }

    /// All contours, outer ones and holes.
    #[must_use]
    pub fn contours(&self) -> &[Contour] {
        &self.contours
    }

    /// The counter-clockwise contours.
    pub fn outers(&self) -> impl Iterator<Item = &Contour> {
        self.contours.iter().filter(|c| c.signed_area() > 0.0)
    }

    /// The clockwise contours.
    pub fn holes(&self) -> impl Iterator<Item = &Contour> {
        self.contours.iter().filter(|c| c.signed_area() < 0.0)
    }

    /// Whether there is nothing in it.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.contours.is_empty()
    }

    /// Area in mm²: outer areas less holes.
    #[must_use]
    pub fn area(&self) -> f64 {
        self.contours.iter().map(Contour::signed_area).sum()
    }

    /// Length of all contours in mm.
    #[must_use]
    pub fn boundary_length(&self) -> f64 {
        self.contours.iter().map(Contour::length).sum()
    }

    /// The smallest axis-parallel box that holds the region.
    #[must_use]
    pub fn bounding_box(&self) -> BoundingBox {
        self.contours.iter().fold(BoundingBox::EMPTY, |b, c| b.union(c.bounding_box()))
    }

    /// From where to where the level line at `y` runs within the region, from left to right, in mm. A line
    /// that runs along an edge is taken to run just above it.
    #[must_use]
    pub fn level_spans(&self, y: f64) -> Vec<[f64; 2]> {
        let mut places = Vec::new();
        for segment in self.contours.iter().flat_map(Contour::segments) {
            for_monotone_pieces(*segment, |piece| {
                let (low, high) = (piece.start.y.min(piece.end.y), piece.start.y.max(piece.end.y));
                if low <= y && y < high {
                    places.push(x_at_height(piece, y));
                }
            });
        }
        places.sort_by(f64::total_cmp);
        places.chunks_exact(2).map(|pair| [pair[0], pair[1]]).collect()
    }

    /// The region moved rigidly.
    #[must_use]
    pub fn moved(&self, motion: Motion2) -> Self {
        Self { contours: self.contours.iter().map(|c| c.moved(motion)).collect() }
    }
}
