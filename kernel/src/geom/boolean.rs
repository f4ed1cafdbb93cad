//! Union, intersection and difference of regions.
//!
//! Job: combine figures of lines and arcs without ever replacing an arc. Invariant: every segment of a result
//! is a part of a segment of an operand (same centre and radius, same tag, perhaps run backwards), joined at
//! vertices moved by no more than a few [`tolerance::SNAP_MM`]; its contours do not cross and touch each
//! other, if at all, in vertices. The same operands give the same bits.
//!
//! Method: all segments are cut at their meetings ([`super::arrangement`]); a ray from the middle of every
//! piece tells the winding of both sides of the boolean to its left and right; pieces that part inside from
//! outside are linked into loops by the sharpest turn. If pieces do not link, a ray is in doubt or the area
//! is impossible, the work is repeated in a turned frame with repeated cutting and a wider snap distance.

use thiserror::Error;

use crate::quantity::tolerance;

use super::arrangement::{Arrangement, Piece, Side, Working};
use super::linking::{Directed, link};
use super::monotone::count_on_ray;
use super::pairs::Strips;
use super::{Contour, Curve, Motion2, Point2, Region, Segment, Tag, Vec2};

/// Why a boolean gave no region. Practically never returned; it then names the last attempt's trouble.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum BooleanError {
    /// The pieces of the outline do not close at this vertex.
    #[error("the outline does not close at ({x_mm}, {y_mm})")]
    Open {
        /// Abscissa in mm.
        x_mm: f64,
        /// Ordinate in mm.
        y_mm: f64,
    },
    /// No ray could tell the sides of the piece at this point apart.
    #[error("inside and outside cannot be told apart at ({x_mm}, {y_mm})")]
    Doubtful {
        /// Abscissa in mm.
        x_mm: f64,
        /// Ordinate in mm.
        y_mm: f64,
    },
    /// The area is impossible for these operands.
    #[error("the area {got_mm2} mm² does not lie between {least_mm2} and {most_mm2} mm²")]
    ImpossibleArea {
        /// Area found in mm².
        got_mm2: f64,
        /// Least possible area in mm².
        least_mm2: f64,
        /// Largest possible area in mm².
        most_mm2: f64,
    },
}

/// Everything that lies in at least one of the regions.
///
/// # Errors
/// [`BooleanError`] if every attempt fails.
pub fn union(regions: &[Region]) -> Result<Region, BooleanError> {
    let all: Vec<&Region> = regions.iter().collect();
    let least = regions.iter().map(Region::area).fold(0.0, f64::max);
    let most = regions.iter().map(Region::area).sum();
    combine(Operation::Union, &all, &[], least, most)
}

/// What lies in both regions.
///
/// # Errors
/// [`BooleanError`] if every attempt fails.
pub fn intersection(a: &Region, b: &Region) -> Result<Region, BooleanError> {
    if !a.bounding_box().touches(b.bounding_box()) {
        return Ok(Region::default());
    }
    combine(Operation::Intersection, &[a], &[b], 0.0, a.area().min(b.area()))
}

/// What lies in `from` and in none of the regions of `cut`.
///
/// # Errors
/// [`BooleanError`] if every attempt fails.
pub fn difference(from: &Region, cut: &[Region]) -> Result<Region, BooleanError> {
    let reach = from.bounding_box().grown(tolerance::SNAP_MM);
    let cut: Vec<&Region> = cut.iter().filter(|c| reach.touches(c.bounding_box())).collect();
    let area = from.area();
    let least = area - cut.iter().map(|c| c.area()).sum::<f64>();
    combine(Operation::Difference, &[from], &cut, least.max(0.0), area)
}

/// The part of a region that lies to the left of the line through `through` along `direction` (any length
/// above zero). The edges made by the cut carry `tag`.
///
/// # Errors
/// [`BooleanError`] if every attempt fails.
pub fn clip_to_left(
    region: &Region,
    through: Point2,
    direction: Vec2,
    tag: Tag,
) -> Result<Region, BooleanError> {
    let bounds = region.bounding_box();
    if region.is_empty() {
        return Ok(Region::default());
    }
    let along = direction.normalized();
    let size = bounds.width() + bounds.height() + 1.0;
    let centre = bounds.min.midpoint(bounds.max);
    let foot = through + along * along.dot(centre - through);
    let offset = along.cross(centre - foot);
    if offset.abs() > size {
        return Ok(if offset > 0.0 { region.clone() } else { Region::default() });
    }
    let (back, ahead) = (foot - along * size, foot + along * size);
    let depth = along.right() * (2.0 * size);
    let corners = [back, back + depth, ahead + depth, ahead];
    let removed = Contour::polygon(&corners, tag).expect("the corners lie more than 1 mm apart");
    difference(region, &[Region::inside(removed)])
}

#[derive(Clone, Copy)]
enum Operation {
    Union,
    Intersection,
    Difference,
}

impl Operation {
    fn holds(self, winding: [i32; 2]) -> bool {
        let [first, second] = winding.map(|w| w > 0);
        match self {
            Self::Union => first,
            Self::Intersection => first && second,
            Self::Difference => first && !second,
        }
    }
}

/// Turn of the frame in rad (none along a usual direction), snap distances and rounds of cutting of the
/// attempts, in order.
const ATTEMPTS: [(f64, f64, usize); 6] =
    [(0.0, 1.0, 1), (0.0, 1.0, 6), (0.4182, 1.0, 6), (0.4182, 3.0, 6), (1.1347, 6.0, 8), (2.0391, 12.0, 8)];

fn combine(
    operation: Operation,
    first: &[&Region],
    second: &[&Region],
    least: f64,
    most: f64,
) -> Result<Region, BooleanError> {
    let segments = |regions: &[&Region], side| {
        regions
            .iter()
            .flat_map(|r| r.contours())
            .flat_map(Contour::segments)
            .map(|&s| (s, side))
            .collect::<Vec<_>>()
    };
    let mut sources = segments(first, Side::First);
    sources.extend(segments(second, Side::Second));
    let length: f64 = sources.iter().map(|(s, _)| s.length()).sum();
    let mut outcome = Ok(Region::default());
    for (turn, snaps, rounds) in ATTEMPTS {
        let frame = if turn > 0.0 {
            Motion2 { x_axis: Vec2::unit(turn), origin: Point2::ORIGIN }
        } else {
            Motion2::IDENTITY
        };
        let working = Working { frame, snap: snaps * tolerance::SNAP_MM, rounds };
        outcome = attempt(operation, &sources, working).and_then(|region| {
            let got = region.area();
            let slack = 2.0 * working.snap * length
                + tolerance::DUST_AREA_MM2
                    * (1.0 + f64::from(u32::try_from(sources.len()).unwrap_or(u32::MAX)));
            if least - slack <= got && got <= most + slack {
                Ok(region)
            } else {
                Err(BooleanError::ImpossibleArea { got_mm2: got, least_mm2: least, most_mm2: most })
            }
        });
        if outcome.is_ok() {
            break;
        }
    }
    outcome
}

fn attempt(
    operation: Operation,
    sources: &[(Segment, Side)],
    working: Working,
) -> Result<Region, BooleanError> {
    let arrangement = Arrangement::new(sources, working);
    let kept = outline_of(operation, &arrangement, working.snap)?;
    let loops =
        link(&arrangement, &kept).map_err(|open| BooleanError::Open { x_mm: open.x, y_mm: open.y })?;
    let (mut outers, mut holes) = (Vec::new(), Vec::new());
    for pieces in loops {
        let segments = joined(&pieces, &arrangement, sources);
        // A loop of which fewer than two segments are left is dust as well.
        let Ok(contour) = Contour::new(segments) else { continue };
        let area = contour.signed_area();
        if area.abs() <= tolerance::DUST_AREA_MM2.max(working.snap * contour.length()) {
            continue;
        }
        if area > 0.0 {
            outers.push(contour);
        } else {
            holes.push(contour);
        }
    }
    outers.append(&mut holes);
    Ok(Region::from_oriented(outers))
}

/// The pieces that part inside from outside, run so that the inside lies to the left.
fn outline_of(
    operation: Operation,
    arrangement: &Arrangement,
    snap: f64,
) -> Result<Vec<Directed>, BooleanError> {
    let Arrangement { vertices, pieces, .. } = arrangement;
    let intervals: Vec<(f64, f64)> = pieces
        .iter()
        .map(|p| {
            let (a, b) = (vertices[p.from].y, vertices[p.to].y);
            (a.min(b), a.max(b))
        })
        .collect();
    let strips = Strips::new(&intervals);
    let mut kept = Vec::with_capacity(pieces.len());
    for (index, piece) in pieces.iter().enumerate() {
        let ahead = winding_ahead(index, arrangement, &strips, snap)?;
        let (from, to) = (vertices[piece.from], vertices[piece.to]);
        // The ray starts to the right of a rising piece, to the left of a falling one; on a level piece it
        // runs a hair above.
        let starts_left = to.y < from.y || (to.y == from.y && to.x > from.x);
        let sign = if starts_left { -1 } else { 1 };
        let beyond = [ahead[0] + sign * piece.net[0], ahead[1] + sign * piece.net[1]];
        let (left, right) = if starts_left { (ahead, beyond) } else { (beyond, ahead) };
        match (operation.holds(left), operation.holds(right)) {
            (true, false) => kept.push(Directed::Forward(index)),
            (false, true) => kept.push(Directed::Backward(index)),
            (true, true) | (false, false) => {}
        }
    }
    Ok(kept)
}

/// The windings of both sides next to a piece, on the side where a level ray to the right leaves it.
fn winding_ahead(
    index: usize,
    arrangement: &Arrangement,
    strips: &Strips,
    snap: f64,
) -> Result<[i32; 2], BooleanError> {
    /// Share of the snap distance below which rounding may put a point on the wrong side of a piece.
    const DOUBT: f64 = 1e-3;
    let Arrangement { vertices, pieces, .. } = arrangement;
    let piece = &pieces[index];
    let (from, to) = (vertices[piece.from], vertices[piece.to]);
    for share in [0.5, 0.381, 0.737, 0.119, 0.913] {
        let p = ray_start(from, to, piece, share);
        let (mut winding, mut clearance) = ([0; 2], f64::INFINITY);
        for &other in strips.at(p.y) {
            let other = other as usize;
            if other == index {
                continue;
            }
            let Piece { from, to, curve, net, .. } = pieces[other];
            let count = count_on_ray(p, vertices[from], vertices[to], curve);
            winding[0] += count.crossing * net[0];
            winding[1] += count.crossing * net[1];
            clearance = clearance.min(count.clearance);
        }
        if clearance > DOUBT * snap {
            return Ok(winding);
        }
    }
    let p = ray_start(from, to, piece, 0.5);
    Err(BooleanError::Doubtful { x_mm: p.x, y_mm: p.y })
}

/// A point on a piece at about the given share, surely at a height that the piece crosses.
fn ray_start(from: Point2, to: Point2, piece: &Piece, share: f64) -> Point2 {
    let on_chord = from.lerp(to, share);
    let p = match piece.curve {
        Curve::Line => on_chord,
        Curve::Arc { centre, radius, .. } => centre + (on_chord - centre).normalized() * radius,
    };
    let (low, high) = (from.y.min(to.y), from.y.max(to.y));
    let x = p.x.clamp(from.x.min(to.x), from.x.max(to.x));
    let y = if low <= p.y && p.y < high { p.y } else { on_chord.y };
    Point2::new(x, if low <= y && y < high { y } else { low })
}

/// The segments of a loop; neighbours that were cut from one segment are one again, and those that shrank to
/// nothing are left out.
fn joined(pieces: &[Directed], arrangement: &Arrangement, sources: &[(Segment, Side)]) -> Vec<Segment> {
    let belongs = |d: Directed| (arrangement.pieces[d.index()].source, matches!(d, Directed::Forward(_)));
    let count = pieces.len();
    let first =
        (0..count).find(|&i| belongs(pieces[i]) != belongs(pieces[(i + count - 1) % count])).unwrap_or(0);
    // Each segment with the length of the chords of its pieces.
    let mut segments: Vec<(Segment, f64)> = Vec::with_capacity(count);
    let mut last = None;
    for step in 0..count {
        let directed = pieces[(first + step) % count];
        let start = arrangement.home[directed.start(arrangement)];
        let end = arrangement.home[directed.end(arrangement)];
        let owner = belongs(directed);
        if let (true, Some((segment, chords))) = (last == Some(owner), segments.last_mut()) {
            segment.end = end;
            *chords += start.distance(end);
        } else {
            let source = sources[owner.0].0;
            let along = if owner.1 { source } else { source.reversed() };
            segments.push((Segment { start, end, ..along }, start.distance(end)));
        }
        last = Some(owner);
    }
    without_points(segments)
}

/// Closes the gap over segments that are mere points. Vertices stand farther apart than the snap distance,
/// but an arc between two of them may be a trifle shorter when measured on its own circle, or even run
/// backwards there by as much, which reads as a full turn that its pieces do not have.
fn without_points(mut segments: Vec<(Segment, f64)>) -> Vec<Segment> {
    let is_point = |&(segment, chords): &(Segment, f64)| segment.is_point() || chords < 0.5 * segment.length();
    while let Some(index) = segments.iter().position(is_point) {
        let (point, _) = segments.remove(index);
        let Some(last) = segments.len().checked_sub(1) else { break };
        let before = index.checked_sub(1).unwrap_or(last);
        segments[before].0.end = point.end;
    }
    segments.into_iter().map(|(segment, _)| segment).collect()
}
