//! How two neighbouring flanges meet at a common corner: their inner edges a gap apart.
//!
//! The planes of the two faces on the insides of the bends cut each other in a line. In each flange the end
//! is cut parallel to that line at the distance `d = gap / |u₁ − u₂|`, where `u₁` and `u₂` are the unit
//! vectors in the two faces at right angles to the line, into the flanges. The two inner edges are then
//! exactly `gap` apart, for any turns and any corner angle, and the metal lies outside of the wedge between
//! the faces, so that no other points are nearer. Derivation and figure: `docs/math/corner-seam.md`.
//!
//! Invariant: knows frames and a gap; nothing of edges or reliefs.

use crate::geom::{Placement, Vec3};
use crate::history::feature::FoldSide;
use crate::quantity::tolerance;

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

/// The face on the inside of the bend: `n = 0` upwards, `n = −t` downwards.
pub(super) fn inner_face_depth(side: FoldSide, thickness: f64) -> f64 {
    match side {
        FoldSide::Up => 0.0,
        FoldSide::Down => -thickness,
    }
}

/// The end of flange `own` at its `end`, where it meets flange `other`; both are bent to the same side.
/// None if the faces are parallel, or if they meet in a line along the bend, so that no seam is needed.
pub(super) fn seam(
    own: Placement<f64>,
    other: Placement<f64>,
    end: FlangeSide,
    depth: f64,
    gap: f64,
) -> Option<EndLine> {
    let face_point = other.point(0.0, 0.0, depth);
    // Signed distance to the other face of the point (x, y) of the own face is a x + b y + c.
    let (a, b) = (own.x.dot(other.n), own.y.dot(other.n));
    let c = (own.point(0.0, 0.0, depth) - face_point).dot(other.n);
    let steep = (a * a + b * b).sqrt();
    if steep <= tolerance::PARALLEL || a.abs() <= tolerance::PARALLEL * steep {
        return None;
    }
    // In-plane normal of the line, pointing into the flange: against the outward x.
    let inward = -(a.signum() * end.sign()) / steep;
    let own_in = own.direction(a * inward, b * inward, 0.0);
    // The other flange's in-plane normal of the same line points from the line towards its own body, which
    // is where the own face's side of metal is not: the mirror image about the wedge's bisector.
    let line = own.n.cross(other.n);
    let other_in = into_other(other, line, own, own_in);
    let apart = (own_in - other_in).length();
    let set_back = if apart > tolerance::PARALLEL { gap / apart } else { 0.0 };
    // a x + b y + c = ∓ steep · set_back, on the inward side.
    let target = inward.signum() * steep * set_back;
    Some(EndLine { foot: (target - c) / a, outward_lean: -(b / a) * end.sign() })
}

/// Unit vector in the other flange's face at right angles to the line, on the same side of the own face as
/// the own flange is of the other face.
fn into_other(other: Placement<f64>, line: Vec3<f64>, own: Placement<f64>, own_in: Vec3<f64>) -> Vec3<f64> {
    let along = line.times(1.0 / line.length());
    let candidate = other.n.cross(along);
    let same_side = candidate.dot(own.n).signum() == own_in.dot(other.n).signum();
    if same_side { candidate } else { -candidate }
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

    #[test]
    fn upright_walls_stop_a_gap_over_root_two_short() {
        let (front, right) = walls(0.0);
        // Seen from inside, the right end of the wall `right` and the left end of `front` meet.
        let end = seam(front, right, FlangeSide::Left, 0.0, 1.0).unwrap();
        assert!((end.foot - 1.0 / 2.0_f64.sqrt()).abs() < 1e-12, "{end:?}");
        assert!(end.outward_lean.abs() < 1e-12);
    }

    #[test]
    fn leaning_walls_keep_the_gap_in_space() {
        for degrees in [-25.0, 10.0, 40.0, 60.0, 80.0] {
            let (front, right) = walls(degrees * maths::PI / 180.0);
            let a = seam(front, right, FlangeSide::Left, 0.0, 1.0).unwrap();
            let b = seam(right, front, FlangeSide::Right, 0.0, 1.0).unwrap();
            let got = distance_between_ends(front, right, a, b);
            assert!((got - 1.0).abs() < 1e-9, "lean {degrees}: {got}");
        }
    }
}
