//! Plane regions bounded by contours. Invariant: outer contours run counter-clockwise, holes clockwise;
//! no two contours cross; contours are stored in the order in which they were made.

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

    /// The region moved rigidly.
    #[must_use]
    pub fn moved(&self, motion: Motion2) -> Self {
        Self { contours: self.contours.iter().map(|c| c.moved(motion)).collect() }
    }
}
