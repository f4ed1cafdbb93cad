//! Closed contours of lines and arcs. Invariant: at least two pieces, every piece ends bit-equal where the
//! next one starts, no piece is a mere point. A contour may still cross itself; [`crate::geom`] has the
//! test for that.

use thiserror::Error;

use super::{ArcTurn, BoundingBox, Curve, Motion2, Point2, Segment, Tag, Vec2};

/// A closed contour of lines and arcs.
#[derive(Clone, Debug, PartialEq)]
pub struct Contour {
    segments: Vec<Segment>,
    /// Computed once: outer contours and holes are told apart by its sign again and again.
    signed_area: f64,
}

/// Why pieces are not a closed contour.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum ContourError {
    /// Fewer than two pieces enclose nothing.
    #[error("a closed contour needs at least two pieces, got {got}")]
    TooFewPieces {
        /// How many there were.
        got: usize,
    },
    /// The piece with this index does not end where the next one starts.
    #[error("piece {index} ends {gap_mm} mm away from the start of the next one")]
    Open {
        /// Index of the piece, from 0.
        index: usize,
        /// Distance in mm.
        gap_mm: f64,
    },
    /// The piece with this index has no length.
    #[error("piece {index} has no length")]
    NoLength {
        /// Index of the piece, from 0.
        index: usize,
    },
}

impl Contour {
    /// Checks that the pieces close.
    ///
    /// # Errors
    /// [`ContourError`] if there are fewer than two pieces, if one is a mere point, or if a joint is not
    /// bit-equal.
    pub fn new(segments: Vec<Segment>) -> Result<Self, ContourError> {
        if segments.len() < 2 {
            return Err(ContourError::TooFewPieces { got: segments.len() });
        }
        for (index, piece) in segments.iter().enumerate() {
            let next = segments[(index + 1) % segments.len()].start;
            if piece.end != next {
                return Err(ContourError::Open { index, gap_mm: piece.end.distance(next) });
            }
            if piece.is_point() {
                return Err(ContourError::NoLength { index });
            }
        }
        let about = segments[0].start;
        let signed_area = segments.iter().map(|s| s.area_about(about)).sum();
        Ok(Self { segments, signed_area })
    }

    /// A polygon through these points, every edge with the same tag.
    ///
    /// # Errors
    /// As [`Contour::new`].
    pub fn polygon(points: &[Point2], tag: Tag) -> Result<Self, ContourError> {
        let next = points.iter().cycle().skip(1);
        Self::new(points.iter().zip(next).map(|(&a, &b)| Segment::line(a, b, tag)).collect())
    }

    /// A counter-clockwise circle, as two half arcs that start at `centre + (radius, 0)`.
    ///
    /// # Errors
    /// [`ContourError::NoLength`] for a radius within the snap tolerance of zero.
    pub fn circle(centre: Point2, radius: f64, tag: Tag) -> Result<Self, ContourError> {
        let (east, west) = (centre + Vec2::new(radius, 0.0), centre - Vec2::new(radius, 0.0));
        // Not from the start points: their distance from the centre may differ in the last bit.
        let curve = Curve::Arc { centre, radius, turn: ArcTurn::Left };
        Self::new(vec![
            Segment { start: east, end: west, curve, tag },
            Segment { start: west, end: east, curve, tag },
        ])
    }

    /// The pieces in order of travel.
    #[must_use]
    pub fn segments(&self) -> &[Segment] {
        &self.segments
    }

    /// Enclosed area in mm²: positive when counter-clockwise.
    #[must_use]
    pub fn signed_area(&self) -> f64 {
        self.signed_area
    }

    /// Length of the outline in mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.segments.iter().map(|s| s.length()).sum()
    }

    /// The smallest axis-parallel box that holds the contour.
    #[must_use]
    pub fn bounding_box(&self) -> BoundingBox {
        self.segments.iter().fold(BoundingBox::EMPTY, |b, s| b.union(s.bounding_box()))
    }

    /// The contour run backwards.
    #[must_use]
    pub fn reversed(&self) -> Self {
        Self {
            segments: self.segments.iter().rev().map(|s| s.reversed()).collect(),
            signed_area: -self.signed_area,
        }
    }

    /// The contour moved rigidly.
    #[must_use]
    pub fn moved(&self, motion: Motion2) -> Self {
        Self {
            segments: self.segments.iter().map(|s| s.moved(motion)).collect(),
            signed_area: self.signed_area,
        }
    }

    /// The circle that the contour is, as centre and radius, if every piece is an arc of one circle.
    #[must_use]
    pub fn as_circle(&self) -> Option<(Point2, f64)> {
        let Curve::Arc { centre, radius, turn } = self.segments[0].curve else { return None };
        let one_circle = self.segments.iter().all(
            |s| matches!(s.curve, Curve::Arc { centre: c, radius: r, turn: t } if c == centre && r == radius && t == turn),
        );
        one_circle.then_some((centre, radius))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::maths;

    #[test]
    fn circle_area_and_length_by_hand() {
        let c = Contour::circle(Point2::new(100.0, -40.0), 3.0, Tag(0)).unwrap();
        assert!((c.signed_area() - 9.0 * maths::PI).abs() < 1e-12);
        assert!((c.length() - 6.0 * maths::PI).abs() < 1e-12);
        assert!((c.reversed().signed_area() + 9.0 * maths::PI).abs() < 1e-12);
        assert_eq!(c.as_circle(), Some((Point2::new(100.0, -40.0), 3.0)));
    }

    #[test]
    fn a_circle_is_one_whatever_its_radius_rounds_to() {
        for thousandth in 1..1000 {
            let (centre, radius) = (Point2::new(5.1, 4.3), 0.001 * f64::from(thousandth));
            let c = Contour::circle(centre, radius, Tag(0)).unwrap();
            assert_eq!(c.as_circle(), Some((centre, radius)));
        }
    }

    #[test]
    fn open_and_degenerate_contours_are_refused() {
        let p = [Point2::new(0.0, 0.0), Point2::new(1.0, 0.0), Point2::new(1.0, 1.0)];
        let open = vec![Segment::line(p[0], p[1], Tag(0)), Segment::line(p[1], p[2], Tag(0))];
        assert!(matches!(Contour::new(open), Err(ContourError::Open { index: 1, .. })));
        assert!(matches!(
            Contour::polygon(&[p[0], p[0], p[1]], Tag(0)),
            Err(ContourError::NoLength { index: 0 })
        ));
        assert!(matches!(Contour::polygon(&p[..1], Tag(0)), Err(ContourError::TooFewPieces { got: 1 })));
    }
}
