//! What a straight cut takes of one zone: the places where a line of sight through the opening meets the
//! sheet, at whatever depth.
//!
//! At a fixed y the two faces of the sheet are seen as two level lines, and the sheet's normal as a direction
//! from one to the other. The opening clipped to the band between them and looked at along that direction
//! gives the stretches of x that go. Their ends have names; between the y at which the names change they run
//! on smooth curves, for which arcs stand. Derivation: `docs/math/straight-cut.md`. Invariant: what is taken
//! holds all such places, and others by at most [`tolerance::STRAIGHT_CUT_MM`]; on the lines that the caller
//! names the curves' places are exact, so that two zones there agree.

use crate::geom::{
    BooleanError, Contour, Curve, Point2, Region, Segment, Tag, Vec2, arcs_on_right, for_monotone_pieces,
    union, x_at_height,
};
use crate::quantity::tolerance;

use super::sight::ZoneSight;

/// The outline of an opening as one zone sees it, in pieces that only rise or only fall.
pub(super) struct Opening {
    pieces: Vec<Segment>,
}

/// What an end of a stretch is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum End {
    /// The stretch goes on beyond the low or the high end of the zone's x.
    Rim(usize),
    /// Where the middle of the sheet passes that of the drawn panel.
    Level,
    /// A corner of the opening, somewhere between the faces.
    Corner(usize),
    /// A piece of the opening's outline, at a face.
    Crossing { piece: usize, face: usize },
    /// Where an arc of the outline runs along the sheet's normal.
    Tangent(usize),
}

/// A stretch of x that goes: from where to where.
type Stretch = [End; 2];

/// A line along x of the sheet: where its faces are seen.
#[derive(Clone, Copy)]
struct Faces {
    u: [f64; 2],
    v: [f64; 2],
}

impl Opening {
    /// An opening given in the plane of the drawn panel; none if the zone is not seen near it.
    pub(super) fn new(outline: &Contour, zone: &ZoneSight) -> Option<Self> {
        let outline = outline.moved(zone.upright);
        if !outline.bounding_box().touches(zone.reach()) {
            return None;
        }
        let mut pieces = Vec::new();
        for segment in outline.segments() {
            for_monotone_pieces(*segment, |piece| pieces.push(piece));
        }
        Some(Self { pieces })
    }

    /// The contours of what is taken of the zone, in the zone's coordinates. `exact` are lines of the zone,
    /// each a point and a direction, on which contours have vertices. A loose piece within falls out.
    ///
    /// # Errors
    /// [`BooleanError`] if the parts cannot be joined.
    pub(super) fn taken(
        &self,
        zone: &ZoneSight,
        exact: &[(Point2, Vec2)],
        tag: Tag,
    ) -> Result<Vec<Contour>, BooleanError> {
        let back = zone.to_zone.inverse();
        let exact: Vec<(Point2, Vec2)> =
            exact.iter().map(|&(point, along)| (back.point(point), back.vector(along))).collect();
        let view = View { zone, opening: self, exact: &exact, tag };
        let parts: Vec<Region> = view.parts()?.into_iter().map(Region::inside).collect();
        let taken = match parts.as_slice() {
            [] => return Ok(Vec::new()),
            [only] => only.clone(),
            _ => union(&parts)?,
        };
        Ok(taken.outers().map(|outer| outer.moved(zone.to_zone)).collect())
    }

    fn corner(&self, index: usize) -> Point2 {
        self.pieces[index].start
    }

    /// Lower and upper corner of a piece.
    fn corners(&self, piece: usize) -> [usize; 2] {
        let next = (piece + 1) % self.pieces.len();
        if self.corner(piece).y <= self.corner(next).y { [piece, next] } else { [next, piece] }
    }

    /// Where a piece has the height `v`, or its end that is nearest to it.
    fn u_at(&self, piece: usize, v: f64) -> f64 {
        x_at_height(self.pieces[piece], v)
    }

    /// The point of an arc, prolonged, at which it is farthest along u when looked at along the sheet's normal;
    /// none for a line, and where the normal is seen level.
    fn tangent_point(&self, piece: usize, faces: Faces) -> Option<Point2> {
        let Curve::Arc { centre, radius, .. } = self.pieces[piece].curve else { return None };
        let [low, high] = self.corners(piece).map(|corner| self.corner(corner));
        let normal = Vec2::new(faces.u[1] - faces.u[0], faces.v[1] - faces.v[0]);
        if faces.is_thin() {
            return None;
        }
        let across = if normal.y > 0.0 { normal.right() } else { normal.left() };
        let outward = if low.x + high.x >= 2.0 * centre.x { across } else { -across };
        Some(centre + outward.normalized() * radius)
    }
}

impl Faces {
    /// Whether the band between the faces has no height to speak of.
    fn is_thin(self) -> bool {
        (self.v[1] - self.v[0]).abs() <= tolerance::PARALLEL * (self.u[1] - self.u[0]).abs()
    }

    /// Where a point between the faces lies on the line along x, as it is seen.
    fn along(self, p: Point2) -> f64 {
        let share =
            if self.is_thin() { 0.0 } else { ((p.y - self.v[0]) / (self.v[1] - self.v[0])).clamp(0.0, 1.0) };
        p.x - (self.u[0] + (self.u[1] - self.u[0]) * share)
    }
}

/// One zone and one opening.
struct View<'a> {
    zone: &'a ZoneSight,
    opening: &'a Opening,
    exact: &'a [(Point2, Vec2)],
    tag: Tag,
}

/// A range of y over which the same stretches go.
struct Range {
    y: [f64; 2],
    stretches: Vec<Stretch>,
}

/// Lines at which a range is looked at, evenly between two y at which something may change.
const LOOKS: usize = 8;

impl View<'_> {
    fn faces(&self, y: f64) -> Faces {
        Faces { u: self.zone.u.map(|track| track.at(y)), v: self.zone.v.map(|track| track.at(y)) }
    }

    /// The x of an end.
    fn x(&self, end: End, y: f64) -> f64 {
        let faces = self.faces(y);
        let seen = match end {
            End::Rim(index) => return self.zone.x[index],
            End::Level => {
                let (height, per_x) = self.zone.height.expect("only a one-sided cut ends at a height");
                return -height.at(y) / per_x;
            }
            End::Corner(corner) => faces.along(self.opening.corner(corner)),
            End::Crossing { piece, face } => self.opening.u_at(piece, faces.v[face]) - faces.u[face],
            End::Tangent(piece) => {
                let [low, high] = self.opening.corners(piece).map(|corner| self.opening.corner(corner).y);
                match self.opening.tangent_point(piece, faces) {
                    Some(p) if (low..=high).contains(&p.y) => faces.along(p),
                    Some(p) => {
                        let v = p.y.clamp(low, high);
                        faces.along(Point2::new(self.opening.u_at(piece, v), v))
                    }
                    None => faces.along(self.opening.corner(piece)),
                }
            }
        };
        seen / self.zone.scale
    }

    /// The stretches of x that go at this y, from low to high x.
    fn stretches(&self, y: f64) -> Vec<Stretch> {
        let faces = self.faces(y);
        let mut found: Vec<[(f64, End); 2]> = Vec::new();
        for piece in 0..self.opening.pieces.len() {
            found.extend(self.stretch_of_piece(piece, faces));
        }
        for face in [0, 1] {
            found.extend(self.stretches_of_face(face, faces));
        }
        found.sort_by(|[a, _], [b, _]| a.0.total_cmp(&b.0));
        let mut joined: Vec<[(f64, End); 2]> = Vec::new();
        for stretch in found {
            match joined.last_mut() {
                Some([_, high]) if stretch[0].0 <= high.0 => {
                    if stretch[1].0 > high.0 {
                        *high = stretch[1];
                    }
                }
                _ => joined.push(stretch),
            }
        }
        joined.into_iter().filter_map(|stretch| self.within_zone(stretch, y)).collect()
    }

    /// What one piece of the outline covers between the faces.
    fn stretch_of_piece(&self, piece: usize, faces: Faces) -> Option<[(f64, End); 2]> {
        let order = if faces.v[0] <= faces.v[1] { [0, 1] } else { [1, 0] };
        let band = order.map(|face| faces.v[face]);
        let corners = self.opening.corners(piece);
        let [low, high] = corners.map(|corner| self.opening.corner(corner).y);
        if band[1] < low || high < band[0] {
            return None;
        }
        let crossing = |face: usize| {
            let end = End::Crossing { piece, face };
            (self.opening.u_at(piece, faces.v[face]) - faces.u[face], end)
        };
        let corner = |index: usize| (faces.along(self.opening.corner(index)), End::Corner(index));
        let bottom = if band[0] <= low { corner(corners[0]) } else { crossing(order[0]) };
        let top = if high <= band[1] { corner(corners[1]) } else { crossing(order[1]) };
        let tangent = self
            .opening
            .tangent_point(piece, faces)
            .filter(|p| low.max(band[0]) < p.y && p.y < high.min(band[1]))
            .map(|p| (faces.along(p), End::Tangent(piece)));
        let mut ends = if bottom.0 <= top.0 { [bottom, top] } else { [top, bottom] };
        if let Some(tangent) = tangent {
            if tangent.0 < ends[0].0 {
                ends[0] = tangent;
            } else if tangent.0 > ends[1].0 {
                ends[1] = tangent;
            }
        }
        Some(ends)
    }

    /// What of one face lies within the opening.
    fn stretches_of_face(&self, face: usize, faces: Faces) -> Vec<[(f64, End); 2]> {
        let v = faces.v[face];
        let mut ends: Vec<(f64, End)> = (0..self.opening.pieces.len())
            .filter(|&piece| {
                let [low, high] = self.opening.corners(piece).map(|corner| self.opening.corner(corner).y);
                low <= v && v < high
            })
            .map(|piece| (self.opening.u_at(piece, v) - faces.u[face], End::Crossing { piece, face }))
            .collect();
        ends.sort_by(|a, b| a.0.total_cmp(&b.0));
        ends.chunks_exact(2).map(|pair| [pair[0], pair[1]]).collect()
    }

    /// The part of a stretch that lies within the zone's reach and on the side that is cut.
    fn within_zone(&self, [low, high]: [(f64, End); 2], y: f64) -> Option<Stretch> {
        let (scale, rims) = (self.zone.scale, self.zone.x);
        if high.0 < rims[0] * scale || rims[1] * scale < low.0 {
            return None;
        }
        let mut from = (rims[0], End::Rim(0));
        if low.0 > rims[0] * scale {
            from = (low.0 / scale, low.1);
        }
        let mut to = (rims[1], End::Rim(1));
        if high.0 < rims[1] * scale {
            to = (high.0 / scale, high.1);
        }
        if let Some((height, per_x)) = self.zone.height {
            let height = height.at(y);
            if per_x.abs() <= tolerance::PARALLEL {
                if height < 0.0 {
                    return None;
                }
            } else {
                let level = (-height / per_x, End::Level);
                if per_x > 0.0 && from.0 < level.0 {
                    from = level;
                }
                if per_x < 0.0 && level.0 < to.0 {
                    to = level;
                }
            }
        }
        (from.0 <= to.0).then_some([from.1, to.1])
    }

    /// Ranges of y over which the ends of the stretches keep their names.
    fn ranges(&self) -> Vec<Range> {
        let [first, last] = self.zone.y;
        let marks = self.marks();
        let mut changes = vec![first];
        let mut before: Option<Vec<Stretch>> = None;
        for pair in marks.windows(2) {
            let looks: [(f64, Vec<Stretch>); LOOKS + 1] = std::array::from_fn(|look| {
                #[expect(clippy::cast_precision_loss, reason = "a handful of lines")]
                let share = (look as f64 / LOOKS as f64)
                    .clamp(tolerance::BESIDE_SHARE, 1.0 - tolerance::BESIDE_SHARE);
                let y = pair[0] + (pair[1] - pair[0]) * share;
                (y, self.stretches(y))
            });
            // Between the lines beside a mark rounding decides on names: a change there lies on the mark.
            if before.is_some_and(|stretches| stretches != looks[0].1) {
                changes.push(pair[0]);
            }
            for pair in looks.windows(2) {
                self.find_changes(&pair[0], &pair[1], &mut changes);
            }
            before = Some(looks[LOOKS].1.clone());
        }
        // A change that is found beside a mark lies there exactly.
        for change in &mut changes[1..] {
            let near = |mark: &&f64| (**mark - *change).abs() <= tolerance::CHANGES_APART_MM;
            *change = marks.iter().find(near).copied().unwrap_or(*change);
        }
        changes.retain(|&y| y <= last - tolerance::CHANGES_APART_MM);
        changes.push(last);
        changes.dedup_by(|b, a| *b - *a <= tolerance::CHANGES_APART_MM);
        changes
            .windows(2)
            .map(|y| Range { y: [y[0], y[1]], stretches: self.stretches(0.5 * (y[0] + y[1])) })
            .collect()
    }

    /// The y at which a face passes a corner, or both faces are seen at one height; the zone's ends.
    fn marks(&self) -> Vec<f64> {
        let [first, last] = self.zone.y;
        let mut marks: Vec<f64> = self.zone.between.places(0.0);
        for piece in &self.opening.pieces {
            marks.extend(self.zone.v.iter().flat_map(|track| track.places(piece.start.y)));
        }
        marks.retain(|&y| first < y && y < last);
        marks.extend([first, last]);
        marks.sort_by(f64::total_cmp);
        marks.dedup_by(|b, a| *b - *a <= tolerance::CHANGES_APART_MM);
        marks
    }

    /// Adds every y between two lines at which the stretches change.
    fn find_changes(&self, from: &(f64, Vec<Stretch>), to: &(f64, Vec<Stretch>), changes: &mut Vec<f64>) {
        if from.1 == to.1 {
            return;
        }
        let y = 0.5 * (from.0 + to.0);
        if to.0 - from.0 <= tolerance::CHANGE_MM || y <= from.0 || to.0 <= y {
            changes.push(y);
            return;
        }
        let middle = (y, self.stretches(y));
        self.find_changes(from, &middle, changes);
        self.find_changes(&middle, to, changes);
    }

    /// Contours that together cover what is taken.
    fn parts(&self) -> Result<Vec<Contour>, BooleanError> {
        let ranges = self.ranges();
        let stretches = ranges.iter().flat_map(|range| range.stretches.iter().map(|s| (range.y, *s)));
        stretches.filter_map(|(y, stretch)| self.part(y, stretch).transpose()).collect()
    }

    /// What one stretch takes over a range of y; none if it has no width.
    fn part(&self, [low, high]: [f64; 2], [left, right]: Stretch) -> Result<Option<Contour>, BooleanError> {
        let width = |y: f64| self.x(right, y) - self.x(left, y);
        if width(0.5 * (low + high)) <= tolerance::SNAP_MM {
            return Ok(None);
        }
        // Where both sides run into each other they do so in one point.
        let ends = [low, high].map(|y| {
            let (a, b) = (self.x(left, y), self.x(right, y));
            if b - a <= tolerance::CHANGES_APART_MM {
                let middle = Point2::new(0.5 * (a + b), y);
                [middle, middle]
            } else {
                [Point2::new(a, y), Point2::new(b, y)]
            }
        });
        let [[left_low, right_low], [left_high, right_high]] = ends;
        let mut pieces = Vec::new();
        let level = |from: Point2, to: Point2, pieces: &mut Vec<Segment>| {
            if from != to {
                pieces.push(Segment::line(from, to, self.tag));
            }
        };
        level(left_low, right_low, &mut pieces);
        pieces.extend(self.side(right, [low, high], [right_low, right_high]));
        level(right_high, left_high, &mut pieces);
        pieces.extend(self.side(left, [high, low], [left_high, left_low]));
        let unclosed = |_| BooleanError::Open { x_mm: left_low.x, y_mm: left_low.y };
        Contour::new(pieces).map(Some).map_err(unclosed)
    }

    /// The curve of one end from one y to another, whose points are given.
    fn side(&self, end: End, [from, to]: [f64; 2], ends: [Point2; 2]) -> Vec<Segment> {
        // Ends of arcs seen level have no slope over y; over this share of the way they are smooth.
        let curve = |share: f64| {
            let y = from + (to - from) * share * share * (3.0 - 2.0 * share);
            Point2::new(self.x(end, y), y)
        };
        let mut stops = Vec::new();
        for &(point, along) in self.exact {
            let off = |share: f64| along.cross(curve(share) - point) >= 0.0;
            #[expect(clippy::cast_precision_loss, reason = "a handful of places")]
            let shares: Vec<f64> = (0..=CREASE_LOOKS).map(|i| i as f64 / CREASE_LOOKS as f64).collect();
            for pair in shares.windows(2).filter(|pair| off(pair[0]) != off(pair[1])) {
                let [mut low, mut high] = [pair[0], pair[1]];
                let before = off(low);
                for _ in 0..f64::MANTISSA_DIGITS {
                    let middle = 0.5 * (low + high);
                    *if off(middle) == before { &mut low } else { &mut high } = middle;
                }
                stops.push(low);
            }
        }
        stops.sort_by(f64::total_cmp);
        // A curve that ends on a crease needs no vertex there, and two creases that it meets at once need one.
        let [first, last] = ends;
        let mut before = first;
        stops.retain(|&share| {
            let at = curve(share);
            let apart = [before, last].iter().all(|p| p.distance(at) > tolerance::SNAP_MM);
            if apart {
                before = at;
            }
            apart
        });
        arcs_on_right(&curve, ends, &stops, tolerance::STRAIGHT_CUT_MM, self.tag)
    }
}

/// Places between which a curve is looked at for crossing a crease.
const CREASE_LOOKS: usize = 24;
