//! Where a zone lies at any stage of folding.
//!
//! A bend at fold fraction `f` is rolled through `f · turn` with its neutral fibre's length kept, so that
//! its inside radius is `allowance / (f · turn) − K t`: the asked-for radius at `f = 1`, flat at `f = 0`.
//! Derivation: `docs/math/fold-map.md`. Invariant: at `f = 1` panels lie where the pose put them; at `f = 0`
//! they lie where the blank has them.

use crate::geom::{Motion2, Placement, Point2, Vec2, Vec3};
use crate::history::feature::FoldSide;
use crate::ident::BendId;
use crate::quantity::{maths, tolerance};

use super::{Bend, FoldTree};

/// How far each bend is folded, from 0 (flat) to 1 (done), indexed by [`BendId`].
#[derive(Clone, Debug, PartialEq)]
pub struct FoldFractions(Vec<f64>);

impl FoldFractions {
    /// Every bend at the same fraction, clamped to `[0, 1]`.
    #[must_use]
    pub fn all(tree: &FoldTree, fraction: f64) -> Self {
        Self(vec![fraction.clamp(0.0, 1.0); tree.bends().len()])
    }

    /// The same with one bend at another fraction, clamped to `[0, 1]`.
    #[must_use]
    pub fn with(mut self, bend: BendId, fraction: f64) -> Self {
        self.0[bend.index()] = fraction.clamp(0.0, 1.0);
        self
    }

    /// Fraction of one bend.
    #[must_use]
    pub fn of(&self, bend: BendId) -> f64 {
        self.0[bend.index()]
    }
}

/// Rolls points of a bend strip into space.
#[derive(Clone, Copy, Debug)]
pub struct StripMap {
    /// Frame at the crease where the bend starts: x along the bend, y away from the parent, n its normal.
    start: Placement<f64>,
    /// `+1` up, `-1` down.
    sign: f64,
    /// Angle in rad reached at the end of the strip.
    angle: f64,
    /// Width of the strip in the blank in mm.
    allowance: f64,
    /// Radius of the inner face (n = 0) about the axis in mm.
    face_radius: f64,
}

impl StripMap {
    pub(super) fn new(bend: &Bend, parent: Placement<f64>, fraction: f64, thickness: f64) -> Self {
        let start = Placement {
            origin: parent.lift(bend.origin, 0.0),
            x: parent.direction(bend.along.x, bend.along.y, 0.0),
            y: parent.direction(bend.outward.x, bend.outward.y, 0.0),
            n: parent.n,
        };
        let angle = fraction * bend.turn();
        let inside = if fraction >= 1.0 {
            bend.inside_radius()
        } else {
            bend.allowance() / angle.max(tolerance::FLAT_RAD) - bend.k_factor() * thickness
        };
        let face_radius = match bend.side {
            FoldSide::Up => inside,
            FoldSide::Down => inside + thickness,
        };
        Self { start, sign: bend.side.sign(), angle, allowance: bend.allowance(), face_radius }
    }

    /// The point of the strip at `along` mm along the bend, `across` mm from its start (0 to the
    /// allowance), at `depth` mm along the normal (0 inner face, −thickness outer face).
    #[must_use]
    pub fn point(&self, along: f64, across: f64, depth: f64) -> Vec3<f64> {
        if self.angle < tolerance::FLAT_RAD {
            return self.start.point(along, across, depth);
        }
        let (sin, cos) = maths::sin_cos(self.angle_at(across));
        let radius = self.radius(depth);
        self.start.point(along, radius * sin, self.sign * (self.face_radius - radius * cos))
    }

    /// Where a point of the rolled strip lies: along the bend, across the flat strip, and along the normal, as
    /// [`StripMap::point`] has them; without meaning for a strip that lies flat.
    #[must_use]
    pub fn coordinates(&self, p: Vec3<f64>) -> [f64; 3] {
        let at = self.start.coordinates(p);
        let to_axis = self.face_radius - self.sign * at.z;
        let angle = maths::atan2(at.y, to_axis);
        let depth = self.sign * (self.face_radius - maths::hypot(at.y, to_axis));
        [at.x, angle * self.allowance / self.angle, depth]
    }

    /// Outward direction of the sheet's normal at `across` mm from the bend's start.
    #[must_use]
    pub fn normal(&self, across: f64) -> Vec3<f64> {
        let (sin, cos) = maths::sin_cos(self.angle_at(across));
        self.start.direction(0.0, -self.sign * sin, cos)
    }

    /// Frame at the crease where the bend starts: x along the bend, y away from the parent, n its normal.
    #[must_use]
    pub fn start(&self) -> Placement<f64> {
        self.start
    }

    /// Angle in rad reached at the end of the strip; 0 for a strip that lies flat.
    #[must_use]
    pub fn angle(&self) -> f64 {
        if self.angle < tolerance::FLAT_RAD { 0.0 } else { self.angle }
    }

    /// Angle in rad reached at `across` mm from the bend's start.
    #[must_use]
    pub fn angle_at(&self, across: f64) -> f64 {
        self.angle() * across / self.allowance
    }

    /// `+1` if the axis lies on the side of the inner face, `-1` if on that of the outer face.
    #[must_use]
    pub fn sign(&self) -> f64 {
        self.sign
    }

    /// Point of the axis at `along` mm along the bend; without meaning for a strip that lies flat.
    #[must_use]
    pub fn axis_point(&self, along: f64) -> Vec3<f64> {
        self.start.point(along, 0.0, self.sign * self.face_radius)
    }

    /// Radius about the axis in mm at `depth` mm along the normal; without meaning for a strip that lies
    /// flat.
    #[must_use]
    pub fn radius(&self, depth: f64) -> f64 {
        // Nearer to the axis by `depth` upwards, farther by `depth` downwards.
        self.face_radius - self.sign * depth
    }

    /// Width of the strip in the blank in mm.
    #[must_use]
    pub fn allowance(&self) -> f64 {
        self.allowance
    }

    /// A point in space as seen from the axis: x along the bend, y away from the parent, and z from the axis
    /// towards the bend's start, in mm; without meaning for a strip that lies flat.
    #[must_use]
    pub fn from_axis(&self, p: Vec3<f64>) -> Vec3<f64> {
        let local = self.start.coordinates(p);
        Vec3::new(local.x, local.y, self.face_radius - self.sign * local.z)
    }

    /// Strip coordinates (along the bend, across it) of a point of the folded strip, whatever its depth.
    #[must_use]
    pub fn unrolled(&self, p: Vec3<f64>) -> Point2 {
        let local = self.start.coordinates(p);
        if self.angle() == 0.0 {
            return Point2::new(local.x, local.y);
        }
        let angle = maths::atan2(local.y, self.face_radius - self.sign * local.z);
        // A little before the start stays there; beyond a half circle angles count on.
        let angle = if angle < 0.5 * self.angle - maths::PI { angle + maths::TAU } else { angle };
        Point2::new(local.x, angle * self.allowance / self.angle)
    }

    /// Direction in which the strip runs away from its start, at `across` mm from there.
    #[must_use]
    pub fn heading(&self, across: f64) -> Vec3<f64> {
        let (sin, cos) = maths::sin_cos(self.angle_at(across));
        self.start.direction(0.0, cos, self.sign * sin)
    }

    /// Frame of the panel behind the bend.
    fn end(&self) -> Placement<f64> {
        let (sin, cos) =
            if self.angle < tolerance::FLAT_RAD { (0.0, 1.0) } else { maths::sin_cos(self.angle) };
        Placement {
            origin: self.point(0.0, self.allowance, 0.0),
            x: self.start.x,
            y: self.start.direction(0.0, cos, self.sign * sin),
            n: self.start.direction(0.0, -self.sign * sin, cos),
        }
    }
}

impl FoldTree {
    /// Frames of all panels in space at these fold fractions, indexed by panel id; the base panel stays.
    #[must_use]
    pub fn placements(&self, fractions: &FoldFractions) -> Vec<Placement<f64>> {
        let mut frames: Vec<Placement<f64>> = Vec::with_capacity(self.panels().len());
        for panel in self.panels() {
            let frame = match panel.bend {
                None => Placement::identity(),
                Some(id) => {
                    let bend = self.bend(id);
                    self.strip_map(bend, &frames, fractions).end()
                }
            };
            frames.push(frame);
        }
        frames
    }

    /// The map of one bend's strip, given the frames of the panels.
    #[must_use]
    pub fn strip_map(&self, bend: &Bend, frames: &[Placement<f64>], fractions: &FoldFractions) -> StripMap {
        StripMap::new(bend, frames[bend.parent.index()], fractions.of(bend.id), self.thickness())
    }

    /// Motions that lay every panel into the plane of the blank, indexed by panel id.
    #[must_use]
    pub fn flat_motions(&self) -> Vec<Motion2> {
        let mut motions: Vec<Motion2> = Vec::with_capacity(self.panels().len());
        for panel in self.panels() {
            let motion = match panel.bend {
                None => Motion2::IDENTITY,
                Some(id) => {
                    let bend = self.bend(id);
                    let strip = bend.strip_motion(motions[bend.parent.index()]);
                    strip.after(Motion2 {
                        x_axis: Vec2::new(1.0, 0.0),
                        origin: Point2::new(0.0, bend.allowance()),
                    })
                }
            };
            motions.push(motion);
        }
        motions
    }
}
