//! Where the end of a flat sheet is cut so that a stated distance in space is left to another sheet.
//!
//! Every rule gives a straight line in the sheet's own plane. Two ends *meet* where both are cut parallel to
//! the line in which the faces that look at each other would meet, at the distance `d = gap / |n₁ + n₂|`
//! from it; ends in one plane meet along the line from which both bends are equally far. An end stops short
//! of, or flush with, a *face*; or it stops short of the *end* of another sheet, which may be cut where the
//! nearest point is on its face, its end or the edge between. In all of them the smallest distance between
//! the two flat sheets is exactly the gap, for any turns and any corner angle. Derivation and figures:
//! `docs/math/corner-seam.md`.
//!
//! Invariant: knows frames, a thickness and a gap; nothing of edges, reliefs or features. A cut runs across
//! the direction in which its end is moved, however slantwise.

use crate::geom::{Placement, Plane3, Point2, Vec2, Vec3};
use crate::quantity::{maths, tolerance};

/// Which end of a flange, seen from its inner face with the bend at the bottom.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum FlangeSide {
    /// At small x.
    Left,
    /// At large x.
    Right,
}

impl FlangeSide {
    /// The other end.
    pub(super) fn opposite(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }

    /// Position in pairs of left and right.
    pub(super) fn index(self) -> usize {
        match self {
            Self::Left => 0,
            Self::Right => 1,
        }
    }

    /// Sign of the outward direction along x.
    pub(super) fn sign(self) -> f64 {
        match self {
            Self::Left => -1.0,
            Self::Right => 1.0,
        }
    }
}

/// The straight end of a flange: `x(y) = foot + outward_lean · y`, outwards being away from the flange.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct EndLine {
    /// x where the bend ends (y = 0), in mm.
    pub(super) foot: f64,
    /// Growth of the outward distance with y.
    pub(super) outward_lean: f64,
}

impl EndLine {
    /// The line as a cut.
    pub(super) fn cut_line(self, side: FlangeSide) -> CutLine {
        let outward = match side {
            FlangeSide::Right => self.upwards(side).right(),
            FlangeSide::Left => self.upwards(side).left(),
        };
        CutLine { outward, offset: outward.x * self.foot }
    }

    /// Unit vector along the line, away from the bend.
    pub(super) fn upwards(self, side: FlangeSide) -> Vec2 {
        Vec2::new(side.sign() * self.outward_lean, 1.0).normalized()
    }
}

/// A straight cut in a sheet's own plane: the sheet stays where `outward · p ≤ offset`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct CutLine {
    /// Unit vector away from the sheet.
    pub(super) outward: Vec2,
    /// Distance of the line from the frame's origin along `outward`, in mm.
    pub(super) offset: f64,
}

impl CutLine {
    /// The cut as the left or right end of a flange, across which it runs.
    pub(super) fn end_line(self, side: FlangeSide) -> EndLine {
        EndLine {
            foot: self.offset / self.outward.x,
            outward_lean: -self.outward.y / (self.outward.x * side.sign()),
        }
    }

    /// Where two cuts cross; not finite if they are parallel.
    pub(super) fn crossing(self, other: Self) -> Point2 {
        let (a, b) = (self.outward, other.outward);
        let cross = a.cross(b);
        Point2::new(
            (self.offset * b.y - other.offset * a.y) / cross,
            (other.offset * a.x - self.offset * b.x) / cross,
        )
    }
}

/// A flat sheet and the direction of one of its ends.
#[derive(Clone, Copy, Debug)]
pub(super) struct SheetEnd {
    /// Frame of the sheet: metal at `−thickness ≤ n ≤ 0`.
    pub(super) frame: Placement<f64>,
    /// Unit vector in the frame, from the end into the sheet.
    pub(super) inward: Vec2,
    /// In mm.
    pub(super) thickness: f64,
}

/// Why a rule gives no cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum NoCut {
    /// The two sheets are parallel, their middles this many mm apart.
    Parallel { apart: f64 },
    /// The cut would run along the direction in which the end is moved.
    AlongTheEnd,
    /// The end can be moved on and on without coming as near as asked.
    OutOfReach,
    /// The other end does not run parallel to the sheet; off by this angle in rad.
    NotAlong { off: f64 },
}

impl SheetEnd {
    fn inward_in_space(&self) -> Vec3<f64> {
        self.frame.direction(self.inward.x, self.inward.y, 0.0)
    }

    /// The face that looks into `direction`, with its normal that way. None if the direction runs along it.
    fn face_towards(&self, direction: Vec3<f64>) -> Option<Plane3<f64>> {
        let side = direction.dot(self.frame.n);
        if side.abs() <= tolerance::PARALLEL {
            return None;
        }
        Some(self.face(if side > 0.0 { 0.0 } else { -self.thickness }, side))
    }

    /// The face at this depth, with its normal to this side.
    fn face(&self, depth: f64, side: f64) -> Plane3<f64> {
        let normal = if side > 0.0 { self.frame.n } else { -self.frame.n };
        Plane3 { point: self.frame.point(0.0, 0.0, depth), normal }
    }

    /// The inner or outer face of a sheet, with its normal to where this end's sheet lies.
    pub(super) fn face_of(&self, other: Placement<f64>, depth: f64) -> Result<Plane3<f64>, NoCut> {
        let seen = SheetEnd { frame: other, ..*self };
        let side = self.inward_in_space().dot(other.n);
        if side.abs() <= tolerance::PARALLEL {
            return Err(self.no_line_with(other));
        }
        Ok(seen.face(depth, side))
    }

    /// The face of another sheet that looks at this end's sheet.
    pub(super) fn face_seen(&self, other: Placement<f64>) -> Result<Plane3<f64>, NoCut> {
        let seen = SheetEnd { frame: other, ..*self };
        seen.face_towards(self.inward_in_space()).ok_or_else(|| self.no_line_with(other))
    }

    fn no_line_with(&self, other: Placement<f64>) -> NoCut {
        if self.frame.n.cross(other.n).length() <= tolerance::PARALLEL {
            return NoCut::Parallel { apart: self.apart_from(other) };
        }
        NoCut::AlongTheEnd
    }

    /// Distance of the middle of a parallel sheet from that of this one.
    fn apart_from(&self, other: Placement<f64>) -> f64 {
        let middle = |frame: Placement<f64>| frame.point(0.0, 0.0, -0.5 * self.thickness);
        (middle(other) - middle(self.frame)).dot(self.frame.n).abs()
    }

    /// Distance from a plane as a function of the place in this sheet: `slope · p + rise · n + at_origin`.
    fn distance(&self, plane: Plane3<f64>) -> (Vec2, f64, f64) {
        let along = |axis: Vec3<f64>| axis.dot(plane.normal);
        (
            Vec2::new(along(self.frame.x), along(self.frame.y)),
            along(self.frame.n),
            plane.distance_to(self.frame.origin),
        )
    }
}

/// Two sheets whose faces meet in a line: the faces that look at each other.
struct Wedge {
    own_face: Plane3<f64>,
    other_face: Plane3<f64>,
}

impl Wedge {
    fn between(own: &SheetEnd, other: &SheetEnd) -> Result<Self, NoCut> {
        if own.frame.n.cross(other.frame.n).length() <= tolerance::PARALLEL {
            return Err(own.no_line_with(other.frame));
        }
        Ok(Self { own_face: other.face_seen(own.frame)?, other_face: own.face_seen(other.frame)? })
    }

    /// The cut of `own` parallel to the line, at this distance from it in its face, inwards.
    fn cut(&self, own: &SheetEnd, inwards: f64) -> CutLine {
        let (slope, rise, at_origin) = own.distance(self.other_face);
        let depth = (self.own_face.point - own.frame.origin).dot(own.frame.n);
        let steep = slope.length();
        CutLine { outward: slope * (-1.0 / steep), offset: (at_origin + rise * depth) / steep - inwards }
    }
}

/// The cut of `own` where it meets `other`, a gap left between the two.
///
/// # Errors
/// [`NoCut::Parallel`] for parallel sheets that are not in one plane, or whose bends are parallel in it;
/// [`NoCut::AlongTheEnd`] if the end cannot be moved there.
pub(super) fn meet(own: &SheetEnd, other: &SheetEnd, gap: f64) -> Result<CutLine, NoCut> {
    match Wedge::between(own, other) {
        Ok(wedge) => {
            let apart = (wedge.own_face.normal + wedge.other_face.normal).length();
            Ok(wedge.cut(own, gap / apart))
        }
        Err(NoCut::Parallel { .. }) => meet_in_plane(own, other, gap),
        Err(other) => Err(other),
    }
}

/// Sheets in one plane: the cut lies half a gap from the line from which both bends (y = 0 of each) are
/// equally far.
fn meet_in_plane(own: &SheetEnd, other: &SheetEnd, gap: f64) -> Result<CutLine, NoCut> {
    let apart = own.apart_from(other.frame);
    let other_y = |direction: Vec3<f64>| direction.dot(other.frame.y);
    // How much farther a point lies from the own bend than from the other one: slope · p + at_origin.
    let slope = Vec2::new(-other_y(own.frame.x), 1.0 - other_y(own.frame.y));
    let at_origin = -other_y(own.frame.origin - other.frame.origin);
    let steep = slope.length();
    if apart > tolerance::SNAP_MM || steep <= tolerance::PARALLEL {
        return Err(NoCut::Parallel { apart });
    }
    let own_side = slope.dot(own.inward) / steep;
    let other_side = own.frame.direction(slope.x, slope.y, 0.0).dot(other.inward_in_space()) / steep;
    if own_side.abs() <= tolerance::PARALLEL || own_side * other_side >= 0.0 {
        return Err(NoCut::AlongTheEnd);
    }
    let sign = own_side.signum();
    Ok(CutLine { outward: slope * (-sign / steep), offset: sign * at_origin / steep - 0.5 * gap })
}

/// The cut of an end that runs `overlap` mm past the line in which its face meets that of `other`.
///
/// # Errors
/// As [`meet`], and [`NoCut::Parallel`] for sheets in one plane, too.
pub(super) fn past(own: &SheetEnd, other: &SheetEnd, overlap: f64) -> Result<CutLine, NoCut> {
    Ok(Wedge::between(own, other)?.cut(own, -overlap))
}

/// The cut of an end that runs past `other` until it is flush with that one's face on the far side.
///
/// # Errors
/// As [`past`].
pub(super) fn past_until_flush(own: &SheetEnd, other: &SheetEnd) -> Result<CutLine, NoCut> {
    let near = Wedge::between(own, other)?.other_face;
    let far = Plane3 { point: near.point - near.normal.times(other.thickness), normal: near.normal };
    short_of_face(own, far, 0.0)
}

/// The cut of an end whose sheet, through all its thickness, stays at least `gap` on the normal's side of a
/// plane, and touches that distance.
///
/// # Errors
/// [`NoCut::Parallel`] if the plane is parallel to the sheet.
pub(super) fn short_of_face(own: &SheetEnd, face: Plane3<f64>, gap: f64) -> Result<CutLine, NoCut> {
    let (slope, rise, at_origin) = own.distance(face);
    let steep = slope.length();
    if steep <= tolerance::PARALLEL {
        return Err(NoCut::Parallel { apart: at_origin.abs() });
    }
    let nearest = at_origin + (-rise * own.thickness).min(0.0);
    Ok(CutLine { outward: slope * (-1.0 / steep), offset: (nearest - gap) / steep })
}

/// The cut of an end that stops `gap` short of the end of another sheet.
///
/// # Errors
/// [`NoCut::NotAlong`] if that end does not run parallel to the own sheet, [`NoCut::OutOfReach`] if the two
/// pass each other farther apart.
pub(super) fn short_of_end(
    own: &SheetEnd,
    other: Placement<f64>,
    end: CutLine,
    gap: f64,
) -> Result<CutLine, NoCut> {
    let along = end.outward.left();
    let along = other.direction(along.x, along.y, 0.0);
    let off = along.dot(own.frame.n);
    if off.abs() > tolerance::PARALLEL {
        return Err(NoCut::NotAlong { off: maths::asin(off.abs().min(1.0)) });
    }
    let across = Vec2::new(along.dot(own.frame.x), along.dot(own.frame.y)).left().normalized();
    let side = across.dot(own.inward);
    if side.abs() <= tolerance::PARALLEL {
        return Err(NoCut::AlongTheEnd);
    }
    let inward = across * side.signum();
    // Section at right angles to the other end: x into the other sheet from its end, y along its normal.
    let corner = other.point(end.outward.x * end.offset, end.outward.y * end.offset, 0.0);
    let into = -other.direction(end.outward.x, end.outward.y, 0.0);
    let flat = |v: Vec3<f64>| Vec2::new(v.dot(into), v.dot(other.n));
    let section = Section {
        origin: flat(own.frame.origin - corner),
        inward: flat(own.frame.direction(inward.x, inward.y, 0.0)),
        down: flat(-own.frame.n),
        thickness: own.thickness,
    };
    let from = section.nearest_end(gap).ok_or(NoCut::OutOfReach)?;
    Ok(CutLine { outward: -inward, offset: -from })
}

/// Section through two sheets at right angles to the end of the other one, which fills `x ≥ 0`,
/// `−thickness ≤ y ≤ 0`. The own sheet's points are `origin + s · inward + m · down`, `0 ≤ m ≤ thickness`.
struct Section {
    origin: Vec2,
    inward: Vec2,
    down: Vec2,
    thickness: f64,
}

impl Section {
    /// The largest `s` at which some depth `m` of the own sheet is at the distance `gap` from the other one:
    /// where the own sheet has to end. None if it never comes that near.
    ///
    /// The points at the distance `gap` form a line beside each face, a line before the end, and an arc about
    /// each edge. The largest `s` on them is reached on one face of the own sheet, or between the two where
    /// an arc is farthest out.
    fn nearest_end(&self, gap: f64) -> Option<f64> {
        if self.inward.y.abs() <= tolerance::PARALLEL && self.inward.x > 0.0 {
            // Into the other sheet for ever.
            return None;
        }
        let slack = tolerance::SNAP_MM;
        let edges = [0.0, -self.thickness];
        let mut found: Vec<f64> = Vec::new();
        for m in edges.map(f64::abs) {
            let start = self.origin + self.down * m;
            let at = |s: f64| start + self.inward * s;
            for y in [gap, -self.thickness - gap] {
                let s = (y - start.y) / self.inward.y;
                let crosses = self.inward.y.abs() > tolerance::PARALLEL;
                found.extend(Some(s).filter(|&s| crosses && at(s).x >= -slack));
            }
            let s = (-gap - start.x) / self.inward.x;
            let crosses = self.inward.x.abs() > tolerance::PARALLEL;
            let before_end = |y: f64| -self.thickness - slack <= y && y <= slack;
            found.extend(Some(s).filter(|&s| crosses && before_end(at(s).y)));
            for (edge, outside) in edges.into_iter().zip([1.0, -1.0]) {
                let to_start = start - Vec2::new(0.0, edge);
                let middle = -to_start.dot(self.inward);
                let square = gap * gap - to_start.dot(to_start) + middle * middle;
                let s = middle + square.sqrt();
                let on_arc = |p: Vec2| p.x <= slack && (p.y - edge) * outside >= -slack;
                found.extend(Some(s).filter(|&s| s.is_finite() && on_arc(at(s))));
            }
        }
        for (edge, outside) in edges.into_iter().zip([1.0, -1.0]) {
            let to_edge = Vec2::new(0.0, edge) - self.origin;
            let m = to_edge.dot(self.down);
            let on_arc = self.inward.x <= 0.0 && self.inward.y * outside >= 0.0;
            if on_arc && 0.0 <= m && m <= self.thickness {
                found.push(to_edge.dot(self.inward) + gap);
            }
        }
        found.into_iter().max_by(f64::total_cmp)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::maths;

    /// A wall on the far side of a square corner at the origin: `front` runs along x at y = 0 with its
    /// inner face towards +y, `right` along y at x = 0 with its inner face towards −x; both lean outwards
    /// by `lean` from upright.
    fn walls(lean: f64) -> (Placement<f64>, Placement<f64>) {
        let (sin, cos) = maths::sin_cos(lean);
        // Seen from inside, the front wall's x runs towards −x of the part.
        let front = Placement {
            origin: Vec3::new(0.0, 0.0, 0.0),
            x: Vec3::new(-1.0, 0.0, 0.0),
            y: Vec3::new(0.0, -sin, cos),
            n: Vec3::new(0.0, cos, sin),
        };
        let right = Placement {
            origin: Vec3::new(0.0, 0.0, 0.0),
            x: Vec3::new(0.0, -1.0, 0.0),
            y: Vec3::new(sin, 0.0, cos),
            n: Vec3::new(-cos, 0.0, sin),
        };
        (front, right)
    }

    fn distance_between_ends(front: Placement<f64>, right: Placement<f64>, a: EndLine, b: EndLine) -> f64 {
        // Points of both end lines at many heights; the smallest distance between the sampled lines.
        let mut least = f64::INFINITY;
        for i in 0..=200 {
            let y = f64::from(i) * 0.5;
            let p = front.point(a.foot - a.outward_lean * y, y, 0.0);
            for j in 0..=200 {
                let z = f64::from(j) * 0.5;
                let q = right.point(b.foot + b.outward_lean * z, z, 0.0);
                least = least.min((p - q).length());
            }
        }
        least
    }

    fn end(frame: Placement<f64>, x: f64) -> SheetEnd {
        SheetEnd { frame, inward: Vec2::new(x, 0.0), thickness: 2.0 }
    }

    /// Seen from inside, the left end of the wall `front` and the right end of `right` meet.
    fn ends(lean: f64) -> (SheetEnd, SheetEnd) {
        let (front, right) = walls(lean);
        (end(front, 1.0), end(right, -1.0))
    }

    #[test]
    fn upright_walls_stop_a_gap_over_root_two_short() {
        let (front, right) = ends(0.0);
        let line = meet(&front, &right, 1.0).unwrap().end_line(FlangeSide::Left);
        assert!((line.foot - 1.0 / 2.0_f64.sqrt()).abs() < 1e-12, "{line:?}");
        assert!(line.outward_lean.abs() < 1e-12);
    }

    #[test]
    fn leaning_walls_keep_the_gap_in_space() {
        for degrees in [-25.0, 10.0, 40.0, 60.0, 80.0] {
            let (front, right) = ends(degrees * maths::PI / 180.0);
            let a = meet(&front, &right, 1.0).unwrap().end_line(FlangeSide::Left);
            let b = meet(&right, &front, 1.0).unwrap().end_line(FlangeSide::Right);
            let got = distance_between_ends(front.frame, right.frame, a, b);
            assert!((got - 1.0).abs() < 1e-9, "lean {degrees}: {got}");
        }
    }

    #[test]
    fn an_upright_cover_ends_flush_and_the_covered_wall_stops_a_gap_short() {
        // Faces meet in the z axis; thickness 2, gap 1. The front wall runs past to x = +2, where the outer
        // face of the right wall lies; that one stops at y = 1.
        let (front, right) = ends(0.0);
        let cover = past_until_flush(&front, &right).unwrap();
        assert!((cover.end_line(FlangeSide::Left).foot + 2.0).abs() < 1e-12, "{cover:?}");
        let under = short_of_end(&right, front.frame, cover, 1.0).unwrap();
        assert!((under.end_line(FlangeSide::Right).foot + 1.0).abs() < 1e-12, "{under:?}");
        // A cover that ends 3 mm before the line is passed beside its edge: 1 mm from (−3, 0) along y = 0
        // there is no metal of the right wall, whose near face is x = 0.
        let short = past(&front, &right, -3.0).unwrap();
        assert_eq!(short_of_end(&right, front.frame, short, 1.0), Err(NoCut::OutOfReach));
        // With 5 mm it would come nearest √(5² − 3²) = 4 mm along the wall.
        let under = short_of_end(&right, front.frame, short, 5.0).unwrap();
        assert!((under.end_line(FlangeSide::Right).foot + 4.0).abs() < 1e-12, "{under:?}");
    }

    #[test]
    fn ends_in_one_plane_meet_where_both_bends_are_equally_far() {
        // Bends along x and y axes, sheets in the first quadrant: the line y = x, half a gap to each side.
        let flat = |x: Vec3<f64>, y: Vec3<f64>| Placement {
            origin: Vec3::new(0.0, 0.0, 0.0),
            x,
            y,
            n: Vec3::new(0.0, 0.0, 1.0),
        };
        let (x, y) = (Vec3::new(1.0, 0.0, 0.0), Vec3::new(0.0, 1.0, 0.0));
        let (a, b) = (end(flat(x, y), 1.0), end(flat(-y, x), -1.0));
        let root = 2.0_f64.sqrt();
        let line = meet(&a, &b, 1.0).unwrap();
        assert!((line.offset + 0.5).abs() < 1e-12, "{line:?}");
        assert!((line.outward - Vec2::new(-1.0 / root, 1.0 / root)).length() < 1e-12, "{line:?}");
        assert_eq!(meet(&a, &end(flat(-x, -y), 1.0), 1.0), Err(NoCut::AlongTheEnd));
        let raised = Placement { origin: Vec3::new(0.0, 0.0, 0.5), ..b.frame };
        assert_eq!(meet(&a, &end(raised, -1.0), 1.0), Err(NoCut::Parallel { apart: 0.5 }));
        // An end along y = 0 of a sheet 5 mm higher, 3 mm of air between: 4 mm short of it the distance is 5,
        // and none comes within 2.9.
        let high = Placement { origin: Vec3::new(0.0, 0.0, 5.0 + 1e-13), ..flat(x, y) };
        let high = Placement { n: Vec3::new(1e-17, 1e-17, 1.0), ..high };
        let edge = CutLine { outward: Vec2::new(1.0, 0.0), offset: 0.0 };
        let from_right = end(flat(x, y), 1.0);
        let line = short_of_end(&from_right, high, edge, 5.0).unwrap();
        assert!((line.offset + 4.0).abs() < 1e-9, "{line:?}");
        assert_eq!(short_of_end(&from_right, high, edge, 2.9), Err(NoCut::OutOfReach));
    }
}
