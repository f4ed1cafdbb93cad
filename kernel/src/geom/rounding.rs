//! Rounded and chamfered corners of contours.
//!
//! Invariant: a rounding is an arc tangent to both neighbours, whose curves are kept and only shortened. Must
//! not know: which corners of a part are to be broken.

use thiserror::Error;

use crate::quantity::tolerance;

use super::intersect::carrier_crossings;
use super::{ArcTurn, Contour, ContourError, Curve, Point2, Segment, Tag};

/// The segment before or after a corner.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Neighbour {
    /// The segment that ends in the corner.
    Before,
    /// The segment that starts in the corner.
    After,
}

/// Why a corner cannot be rounded or chamfered.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum RoundingError {
    /// There are not so many corners.
    #[error("there is no corner {index}: the contour has {count}")]
    NoSuchCorner {
        /// The index asked for.
        index: usize,
        /// How many corners the contour has.
        count: usize,
    },
    /// The segments run into each other smoothly, or straight back on themselves.
    #[error("the outline does not turn at corner {index}")]
    NoTurn {
        /// Index of the corner.
        index: usize,
    },
    /// The rounding radius or the setback is not above the snap tolerance.
    #[error("{got_mm} mm is too small for a corner break")]
    TooSmall {
        /// Radius or setback asked for, in mm.
        got_mm: f64,
    },
    /// A neighbour is too short.
    #[error("corner {index} needs {needed_mm} mm of the neighbouring edge, which has {available_mm} mm")]
    NeighbourTooShort {
        /// Index of the corner.
        index: usize,
        /// Which neighbour.
        neighbour: Neighbour,
        /// Length that the corner break takes, in mm along the neighbour.
        needed_mm: f64,
        /// Length of the neighbour in mm.
        available_mm: f64,
    },
    /// No arc of this radius is tangent to both neighbours.
    #[error("no arc of radius {radius_mm} mm fits into corner {index}")]
    NoTangentArc {
        /// Index of the corner.
        index: usize,
        /// Radius asked for, in mm.
        radius_mm: f64,
    },
    /// What is left is no contour.
    #[error(transparent)]
    Contour(#[from] ContourError),
}

/// Rounds the corner at the end of segment `index` with an arc of `radius` mm (above the snap tolerance) that
/// carries `tag`. A neighbour that is used up to its end disappears.
///
/// # Errors
/// [`RoundingError`], with the length needed and the length there is if the corner is too tight.
pub fn round_corner(
    contour: &Contour,
    index: usize,
    radius: f64,
    tag: Tag,
) -> Result<Contour, RoundingError> {
    let (before, after) = neighbours(contour, index)?;
    check_size(radius)?;
    let (arriving, leaving) = (before.end_direction(), after.start_direction());
    let bend = arriving.cross(leaving);
    if bend.abs() <= tolerance::PARALLEL {
        return Err(RoundingError::NoTurn { index });
    }
    let turn = if bend > 0.0 { ArcTurn::Left } else { ArcTurn::Right };
    let too_large = RoundingError::NoTangentArc { index, radius_mm: radius };
    let shifted = |s| shifted(s, turn.sign() * radius).ok_or(too_large);
    let centres = carrier_crossings(&shifted(before)?, &shifted(after)?, 0.0);
    let best = centres
        .points()
        .iter()
        .filter_map(|&centre| {
            let (from, to) = (tangent_point(before, centre), tangent_point(after, centre));
            let cut_before = length_before_end(before, from)?;
            let cut_after = length_before_end(after.reversed(), to)?;
            Some((cut_before, cut_after, from, to, centre))
        })
        .min_by(|a, b| (a.0 + a.1).total_cmp(&(b.0 + b.1)));
    let Some((cut_before, cut_after, from, to, centre)) = best else { return Err(too_large) };
    let arc = |from, to| Segment { start: from, end: to, curve: Curve::Arc { centre, radius, turn }, tag };
    replaced(contour, index, (cut_before, from), (cut_after, to), arc)
}

/// Cuts the corner at the end of segment `index` off with a straight line that carries `tag` and starts and
/// ends `setback` mm away from it, measured along both neighbours. A neighbour that is used up to its end
/// disappears.
///
/// # Errors
/// [`RoundingError`], with the length needed and the length there is if a neighbour is too short.
pub fn chamfer_corner(
    contour: &Contour,
    index: usize,
    setback: f64,
    tag: Tag,
) -> Result<Contour, RoundingError> {
    let (before, after) = neighbours(contour, index)?;
    check_size(setback)?;
    if before.end_direction().cross(after.start_direction()).abs() <= tolerance::PARALLEL {
        return Err(RoundingError::NoTurn { index });
    }
    let from = before.reversed().point_at(setback / before.length());
    let to = after.point_at(setback / after.length());
    let line = |from, to| Segment::line(from, to, tag);
    replaced(contour, index, (setback, from), (setback, to), line)
}

fn neighbours(contour: &Contour, index: usize) -> Result<(Segment, Segment), RoundingError> {
    let segments = contour.segments();
    let count = segments.len();
    let before = segments.get(index).ok_or(RoundingError::NoSuchCorner { index, count })?;
    Ok((*before, segments[(index + 1) % count]))
}

fn check_size(got_mm: f64) -> Result<(), RoundingError> {
    if got_mm > tolerance::SNAP_MM { Ok(()) } else { Err(RoundingError::TooSmall { got_mm }) }
}

/// The carrying line or circle moved by `by` mm to the left of the way of travel; `None` if the circle
/// shrinks to nothing or beyond.
fn shifted(segment: Segment, by: f64) -> Option<Segment> {
    match segment.curve {
        Curve::Line => {
            let side = segment.start_direction().left() * by;
            Some(Segment { start: segment.start + side, end: segment.end + side, ..segment })
        }
        Curve::Arc { centre, radius, turn } => {
            let radius = radius - turn.sign() * by;
            (radius > tolerance::SNAP_MM)
                .then_some(Segment { curve: Curve::Arc { centre, radius, turn }, ..segment })
        }
    }
}

/// Where a circle about `centre` touches the line or circle that carries the segment.
fn tangent_point(segment: Segment, centre: Point2) -> Point2 {
    match segment.curve {
        Curve::Line => {
            let along = segment.start_direction();
            segment.start + along * along.dot(centre - segment.start)
        }
        Curve::Arc { centre: own, radius, .. } => own + (centre - own).normalized() * radius,
    }
}

/// Length in mm from a point on the carrying curve to the end of a segment; `None` if it lies beyond the end.
fn length_before_end(segment: Segment, p: Point2) -> Option<f64> {
    let length = match segment.curve {
        Curve::Line => segment.end_direction().dot(segment.end - p),
        Curve::Arc { .. } => Segment { start: p, ..segment }.length(),
    };
    (length > 0.0).then_some(length)
}

/// The contour with a piece from `from` to `to` in place of the corner; each comes with the length it takes
/// from its neighbour.
fn replaced(
    contour: &Contour,
    index: usize,
    (cut_before, from): (f64, Point2),
    (cut_after, to): (f64, Point2),
    piece: impl Fn(Point2, Point2) -> Segment,
) -> Result<Contour, RoundingError> {
    let segments = contour.segments();
    let next = (index + 1) % segments.len();
    let (before, after) = (segments[index], segments[next]);
    let used_up = |neighbour, needed_mm: f64, segment: Segment| {
        let available_mm = segment.length();
        if needed_mm > available_mm + tolerance::SNAP_MM {
            return Err(RoundingError::NeighbourTooShort { index, neighbour, needed_mm, available_mm });
        }
        Ok(needed_mm >= available_mm - tolerance::SNAP_MM)
    };
    let before_goes = used_up(Neighbour::Before, cut_before, before)?;
    let after_goes = used_up(Neighbour::After, cut_after, after)?;
    let from = if before_goes { before.start } else { from };
    let to = if after_goes { after.end } else { to };
    let mut result = Vec::with_capacity(segments.len() + 1);
    for (place, &segment) in segments.iter().enumerate() {
        let mut kept = segment;
        if place == next {
            kept.start = to;
        }
        if place == index {
            kept.end = from;
        }
        let gone = (place == index && before_goes) || (place == next && after_goes);
        if !gone {
            result.push(kept);
        }
        if place == index {
            result.push(piece(from, to));
        }
    }
    Ok(Contour::new(result)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::first_self_contact;
    use crate::quantity::maths;

    fn p(x: f64, y: f64) -> Point2 {
        Point2::new(x, y)
    }

    fn rectangle() -> Contour {
        Contour::polygon(&[p(0.0, 0.0), p(40.0, 0.0), p(40.0, 30.0), p(0.0, 30.0)], Tag(1)).unwrap()
    }

    /// Every joint of the piece with tag 9 is smooth, and the piece keeps its radius.
    fn assert_smooth(contour: &Contour, radius: f64) {
        let segments = contour.segments();
        let at = segments.iter().position(|s| s.tag == Tag(9)).unwrap();
        let (before, arc) = (segments[(at + segments.len() - 1) % segments.len()], segments[at]);
        let after = segments[(at + 1) % segments.len()];
        assert!((arc.curvature().abs() - 1.0 / radius).abs() < 1e-12);
        assert!(before.end_direction().dot(arc.start_direction()) > 1.0 - 1e-12);
        assert!(arc.end_direction().dot(after.start_direction()) > 1.0 - 1e-12);
        assert_eq!(first_self_contact(contour), None);
    }

    #[test]
    fn right_angle_rounding_by_hand() {
        let round = round_corner(&rectangle(), 0, 5.0, Tag(9)).unwrap();
        assert_smooth(&round, 5.0);
        // A square of side r loses r² − πr²/4.
        assert!((round.signed_area() - (1200.0 - 25.0 + 6.25 * maths::PI)).abs() < 1e-10);
        assert!(round.segments()[1].start.distance(p(35.0, 0.0)) < 1e-12);
        let last = round_corner(&rectangle(), 3, 5.0, Tag(9)).unwrap();
        assert_smooth(&last, 5.0);
        assert!((last.signed_area() - round.signed_area()).abs() < 1e-10);
        let backwards = round_corner(&rectangle().reversed(), 1, 5.0, Tag(9)).unwrap();
        assert_smooth(&backwards, 5.0);
        assert!((backwards.signed_area() + round.signed_area()).abs() < 1e-10);
    }

    #[test]
    fn concave_corner_gains_material() {
        let corners = [p(0.0, 0.0), p(40.0, 0.0), p(40.0, 10.0), p(10.0, 10.0), p(10.0, 30.0), p(0.0, 30.0)];
        let angle = Contour::polygon(&corners, Tag(1)).unwrap();
        let round = round_corner(&angle, 2, 4.0, Tag(9)).unwrap();
        assert_smooth(&round, 4.0);
        assert!((round.signed_area() - angle.signed_area() - (16.0 - 4.0 * maths::PI)).abs() < 1e-10);
    }

    #[test]
    fn corners_between_lines_and_arcs() {
        // A half disc of radius 10 on its diameter; rounding radius 2 inside: the centre lies 2 above the
        // diameter and 8 from the disc's centre, so at x = ±√60.
        let half = Contour::new(vec![
            Segment::line(p(-10.0, 0.0), p(10.0, 0.0), Tag(1)),
            Segment::arc(p(10.0, 0.0), p(-10.0, 0.0), Point2::ORIGIN, ArcTurn::Left, Tag(2)),
        ])
        .unwrap();
        let round = round_corner(&half, 0, 2.0, Tag(9)).unwrap();
        assert_smooth(&round, 2.0);
        assert!(round.segments()[1].start.distance(p(60.0_f64.sqrt(), 0.0)) < 1e-12);
        assert_smooth(&round_corner(&half, 1, 2.0, Tag(9)).unwrap(), 2.0);
        // A lens of two arcs of radius 5 about (±3, 0), rounded at its upper tip (0, 4) with radius 1: the
        // centre lies 4 from both, at (0, √7).
        let (low, tip) = (p(0.0, -4.0), p(0.0, 4.0));
        let lens = Contour::new(vec![
            Segment::arc(low, tip, p(-3.0, 0.0), ArcTurn::Left, Tag(1)),
            Segment::arc(tip, low, p(3.0, 0.0), ArcTurn::Left, Tag(2)),
        ])
        .unwrap();
        let round = round_corner(&lens, 0, 1.0, Tag(9)).unwrap();
        assert_smooth(&round, 1.0);
        assert!(round.bounding_box().max.distance(p(2.0, 7.0_f64.sqrt() + 1.0)) < 1e-12);
    }

    #[test]
    fn a_corner_that_is_too_tight_names_both_lengths() {
        assert_eq!(
            round_corner(&rectangle(), 0, 31.0, Tag(9)),
            Err(RoundingError::NeighbourTooShort {
                index: 0,
                neighbour: Neighbour::After,
                needed_mm: 31.0,
                available_mm: 30.0
            })
        );
        assert!(matches!(
            chamfer_corner(&rectangle(), 0, 45.0, Tag(9)),
            Err(RoundingError::NeighbourTooShort { neighbour: Neighbour::Before, .. })
        ));
        assert_eq!(
            round_corner(&rectangle(), 4, 1.0, Tag(9)),
            Err(RoundingError::NoSuchCorner { index: 4, count: 4 })
        );
        assert_eq!(round_corner(&rectangle(), 0, 0.0, Tag(9)), Err(RoundingError::TooSmall { got_mm: 0.0 }));
        let circle = Contour::circle(Point2::ORIGIN, 5.0, Tag(0)).unwrap();
        assert_eq!(round_corner(&circle, 0, 1.0, Tag(9)), Err(RoundingError::NoTurn { index: 0 }));
        // No arc of radius 11 fits into a half disc of radius 10.
        let half = Contour::new(vec![
            Segment::line(p(-10.0, 0.0), p(10.0, 0.0), Tag(1)),
            Segment::arc(p(10.0, 0.0), p(-10.0, 0.0), Point2::ORIGIN, ArcTurn::Left, Tag(2)),
        ])
        .unwrap();
        assert_eq!(
            round_corner(&half, 0, 11.0, Tag(9)),
            Err(RoundingError::NoTangentArc { index: 0, radius_mm: 11.0 })
        );
    }

    #[test]
    fn an_edge_that_is_used_up_disappears() {
        let round = round_corner(&rectangle(), 0, 30.0, Tag(9)).unwrap();
        assert_eq!(round.segments().len(), 4);
        assert!((round.signed_area() - (1200.0 - 900.0 + 225.0 * maths::PI)).abs() < 1e-9);
    }

    #[test]
    fn chamfer_by_hand() {
        let cut = chamfer_corner(&rectangle(), 2, 6.0, Tag(9)).unwrap();
        assert!((cut.signed_area() - (1200.0 - 18.0)).abs() < 1e-10);
        let line = cut.segments()[3];
        assert_eq!(line.tag, Tag(9));
        assert!(line.start.distance(p(6.0, 30.0)) < 1e-12 && line.end.distance(p(0.0, 24.0)) < 1e-12);
    }
}
