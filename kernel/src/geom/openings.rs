//! Many openings cut into a plate at once.
//!
//! Invariant: an opening that is clear of everything becomes a clockwise contour as it is, without any boolean;
//! only those that touch each other or the outline go through one. Must not know: what an opening is for.

use thiserror::Error;

use crate::quantity::tolerance;

use super::boolean::{BooleanError, difference, intersection, union};
use super::containment::{Nesting, Place, RegionLocator, nesting, place_in_contour};
use super::intersect::{Meeting, meet};
use super::pairs::for_touching_pairs;
use super::{BoundingBox, Contour, Region, Segment};

/// How an opening lies in the plate into which it is to be cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OpeningPlace {
    /// Wholly within the material.
    Inside,
    /// It crosses or touches an outline (or goes around a hole) and removes material.
    Notch,
    /// It removes nothing.
    Outside,
}

/// Why openings cannot be cut.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum OpeningError {
    /// The opening with this index removes no material.
    #[error("opening {index} lies outside the material")]
    Outside {
        /// Index of the opening, from 0.
        index: usize,
    },
    /// The boolean of those openings that touch something failed.
    #[error(transparent)]
    Boolean(#[from] BooleanError),
}

/// The plate without the openings (simple contours, either way round).
///
/// Openings that overlap or touch each other are merged; one that crosses an outline notches it. Contours of
/// clear openings are kept as they are, clockwise, in the order given, after all others.
///
/// # Errors
/// [`OpeningError::Outside`] names the first opening that removes nothing from the plate.
pub fn cut_openings(plate: &Region, openings: &[Contour]) -> Result<Region, OpeningError> {
    let survey = survey(plate, openings)?;
    if let Some(index) = survey.places.iter().position(|&p| p == OpeningPlace::Outside) {
        return Err(OpeningError::Outside { index });
    }
    let busy: Vec<Region> = openings
        .iter()
        .zip(&survey.clear)
        .filter(|&(_, &clear)| clear == Clear::No)
        .map(|(opening, _)| Region::inside(opening.clone()))
        .collect();
    let mut contours = if busy.is_empty() {
        plate.contours().to_vec()
    } else {
        let (affected, untouched) = parted(plate, &busy);
        let busy = merged(busy)?;
        let mut contours = difference(&affected, &busy)?.contours().to_vec();
        contours.extend(untouched);
        contours
    };
    contours.extend(openings.iter().zip(&survey.clear).filter(|&(_, &clear)| clear == Clear::Yes).map(
        |(opening, _)| {
            if opening.signed_area() > 0.0 { opening.reversed() } else { opening.clone() }
        },
    ));
    Ok(Region::from_oriented(contours))
}

/// Up to this many openings are cut in one go; the work of one boolean grows with the cube of what overlaps.
const AT_ONCE: usize = 16;

/// The openings as fewer regions that cover the same: neighbours in the list are united, pair by pair.
fn merged(mut openings: Vec<Region>) -> Result<Vec<Region>, BooleanError> {
    while openings.len() > AT_ONCE {
        openings = openings
            .chunks(2)
            .map(|pair| if pair.len() == 2 { union(pair) } else { Ok(pair[0].clone()) })
            .collect::<Result<_, _>>()?;
    }
    Ok(openings)
}

/// How each opening lies in the plate, taken alone.
///
/// # Errors
/// [`BooleanError`] if it cannot be found out whether an opening on an outline removes anything.
pub fn opening_places(plate: &Region, openings: &[Contour]) -> Result<Vec<OpeningPlace>, BooleanError> {
    Ok(survey(plate, openings)?.places)
}

/// Whether an opening is clear of every other opening and of every outline.
#[derive(Clone, Copy, PartialEq)]
enum Clear {
    Yes,
    No,
}

struct Survey {
    places: Vec<OpeningPlace>,
    clear: Vec<Clear>,
}

fn survey(plate: &Region, openings: &[Contour]) -> Result<Survey, BooleanError> {
    let own = openings.len();
    // The plate's contours piece by piece: the box of an outline would hold every opening.
    let pieces: Vec<&Segment> = plate.contours().iter().flat_map(Contour::segments).collect();
    let mut boxes: Vec<BoundingBox> =
        openings.iter().map(|o| o.bounding_box().grown(tolerance::SNAP_MM)).collect();
    boxes.extend(pieces.iter().map(|s| s.bounding_box()));
    let mut clear = vec![Clear::Yes; own];
    let mut on_outline = vec![false; own];
    for_touching_pairs(&boxes, |first, second| {
        if second < own {
            let known = clear[first] == Clear::No && clear[second] == Clear::No;
            if !known && nesting(&openings[first], &openings[second]) != Nesting::Apart {
                clear[first] = Clear::No;
                clear[second] = Clear::No;
            }
        } else if first < own && !on_outline[first] && concerns(&openings[first], pieces[second - own]) {
            clear[first] = Clear::No;
            on_outline[first] = true;
        }
    });
    let locator = RegionLocator::new(plate);
    let mut places = Vec::with_capacity(own);
    for (opening, on_outline) in openings.iter().zip(on_outline) {
        places.push(if on_outline {
            let opening = Region::inside(opening.clone());
            let (affected, _) = parted(plate, std::slice::from_ref(&opening));
            if intersection(&affected, &opening)?.is_empty() {
                OpeningPlace::Outside
            } else {
                OpeningPlace::Notch
            }
        } else if locator.place(opening.segments()[0].start) == Place::Inside {
            OpeningPlace::Inside
        } else {
            OpeningPlace::Outside
        });
    }
    Ok(Survey { places, clear })
}

/// Whether an opening meets or encloses a piece of an outline.
fn concerns(opening: &Contour, piece: &Segment) -> bool {
    opening.segments().iter().any(|s| meet(s, piece) != Meeting::Apart)
        || place_in_contour(opening, piece.start) == Place::Inside
}

/// The plate as far as these openings may concern it, and the holes that lie clear of them all.
fn parted(plate: &Region, openings: &[Region]) -> (Region, Vec<Contour>) {
    let reach: Vec<BoundingBox> =
        openings.iter().map(|o| o.bounding_box().grown(tolerance::SNAP_MM)).collect();
    let (untouched, affected): (Vec<Contour>, Vec<Contour>) =
        plate.contours().iter().cloned().partition(|c| {
            let bounds = c.bounding_box();
            c.signed_area() < 0.0 && !reach.iter().any(|r| r.touches(bounds))
        });
    (Region::from_oriented(affected), untouched)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Point2, Tag};
    use crate::quantity::maths;

    fn p(x: f64, y: f64) -> Point2 {
        Point2::new(x, y)
    }

    fn plate() -> Region {
        let corners = [p(0.0, 0.0), p(100.0, 0.0), p(100.0, 50.0), p(0.0, 50.0)];
        Region::inside(Contour::polygon(&corners, Tag(0)).unwrap())
    }

    fn hole(x: f64, y: f64, r: f64) -> Contour {
        Contour::circle(p(x, y), r, Tag(7)).unwrap()
    }

    #[test]
    fn clear_openings_are_kept_bit_for_bit() {
        let openings = [hole(20.0, 20.0, 3.0), hole(40.0, 20.0, 5.0).reversed()];
        let cut = cut_openings(&plate(), &openings).unwrap();
        assert_eq!(cut.contours()[1], openings[0].reversed());
        assert_eq!(cut.contours()[2], openings[1]);
        assert!((cut.area() - (5000.0 - 34.0 * maths::PI)).abs() < 1e-9);
    }

    #[test]
    fn close_neighbours_on_a_staggered_grid_stay_circles() {
        // Boxes overlap, circles are 0.2 mm apart.
        let openings = [hole(20.0, 20.0, 3.0), hole(20.0 + 6.2 * 0.8, 20.0 + 6.2 * 0.6, 3.0)];
        let cut = cut_openings(&plate(), &openings).unwrap();
        assert_eq!(cut.contours().iter().filter_map(Contour::as_circle).count(), 2);
    }

    #[test]
    fn openings_that_cross_are_merged() {
        // Two circles of radius 5 with centres 6 apart: union = 2·25π − lens, lens = 50·acos(0.6) − 6·4.
        let openings = [hole(30.0, 20.0, 5.0), hole(36.0, 20.0, 5.0), hole(70.0, 20.0, 5.0)];
        let cut = cut_openings(&plate(), &openings).unwrap();
        let lens = 50.0 * maths::acos(0.6) - 24.0;
        assert_eq!(cut.holes().count(), 2);
        assert!((cut.area() - (5000.0 - 75.0 * maths::PI + lens)).abs() < 1e-8);
    }

    #[test]
    fn an_opening_within_another_changes_nothing() {
        let openings = [hole(30.0, 20.0, 5.0), hole(31.0, 20.0, 2.0)];
        let cut = cut_openings(&plate(), &openings).unwrap();
        assert_eq!(cut.holes().count(), 1);
        assert!((cut.area() - (5000.0 - 25.0 * maths::PI)).abs() < 1e-9);
    }

    #[test]
    fn an_opening_over_the_edge_notches_it() {
        let openings = [hole(50.0, 0.0, 4.0), hole(20.0, 20.0, 4.0)];
        let places = opening_places(&plate(), &openings).unwrap();
        assert_eq!(places, [OpeningPlace::Notch, OpeningPlace::Inside]);
        let cut = cut_openings(&plate(), &openings).unwrap();
        assert_eq!((cut.outers().count(), cut.holes().count()), (1, 1));
        assert!((cut.area() - (5000.0 - 24.0 * maths::PI)).abs() < 1e-9);
    }

    #[test]
    fn an_opening_around_an_old_hole_swallows_it() {
        let old = cut_openings(&plate(), &[hole(20.0, 20.0, 3.0), hole(80.0, 20.0, 3.0)]).unwrap();
        let cut = cut_openings(&old, &[hole(21.0, 20.0, 6.0)]).unwrap();
        assert_eq!(cut.holes().count(), 2);
        assert!((cut.area() - (5000.0 - 45.0 * maths::PI)).abs() < 1e-9);
    }

    #[test]
    fn an_opening_that_removes_nothing_is_named() {
        let inside = hole(20.0, 20.0, 3.0);
        for outside in [hole(130.0, 20.0, 3.0), hole(103.0, 20.0, 3.0), hole(-4.0, -4.0, 3.0)] {
            let outcome = cut_openings(&plate(), &[inside.clone(), outside]);
            assert_eq!(outcome, Err(OpeningError::Outside { index: 1 }));
        }
        let old = cut_openings(&plate(), &[hole(50.0, 20.0, 9.0)]).unwrap();
        let in_hole = cut_openings(&old, &[inside, hole(52.0, 20.0, 3.0)]);
        assert_eq!(in_hole, Err(OpeningError::Outside { index: 1 }));
    }

    #[test]
    fn a_hole_that_touches_the_outline_opens_no_gap() {
        let cut = cut_openings(&plate(), &[hole(50.0, 4.0, 4.0)]).unwrap();
        assert_eq!((cut.outers().count(), cut.holes().count()), (1, 1));
        assert!((cut.area() - (5000.0 - 16.0 * maths::PI)).abs() < 1e-6);
    }

    #[test]
    fn hundreds_of_overlapping_openings_are_cut_as_one() {
        // Circles of radius 10 at a pitch of 9 cover every point of the square of their centres.
        let sheet = [p(0.0, 0.0), p(300.0, 0.0), p(300.0, 300.0), p(0.0, 300.0)];
        let sheet = Region::inside(Contour::polygon(&sheet, Tag(0)).unwrap());
        let at = |i: u32| 50.0 + 9.0 * f64::from(i);
        let openings: Vec<Contour> =
            (0..20).flat_map(|i| (0..20).map(move |j| hole(at(i), at(j), 10.0))).collect();
        let cut = cut_openings(&sheet, &openings).unwrap();
        let side = 19.0 * 9.0;
        // Outside the square of centres: over each of 4 · 19 pitches the integral of √(10² − x²) from −4.5 to
        // 4.5, and a quarter disc at each corner.
        let half = maths::asin(0.45);
        let strip = 100.0 * half + 45.0 * maths::cos(half);
        let corner = 100.0 * maths::PI / 4.0;
        let removed = side * side + 4.0 * 19.0 * strip + 4.0 * corner;
        let left = sheet.area() - removed;
        assert!((cut.area() - left).abs() < 1e-6, "{} against {left}", cut.area());
    }
}
