//! Vectors, planes and rigid placements in space, over any [`Scalar`]. Invariant: a placement's axes are a
//! right-handed set of unit vectors at right angles; nothing here makes one that is not.

use std::ops::{Add, Neg, Sub};

use super::{Point2, Scalar};
use crate::quantity::tolerance;

/// A position or displacement in space, in mm, or a direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vec3<S> {
    /// Component along x.
    pub x: S,
    /// Component along y.
    pub y: S,
    /// Component along z.
    pub z: S,
}

impl<S: Scalar> Vec3<S> {
    /// The vector with these components.
    #[inline(always)]
    pub fn new(x: S, y: S, z: S) -> Self {
        Self { x, y, z }
    }

    /// The vector with constant components.
    pub fn constant(x: f64, y: f64, z: f64) -> Self {
        Self::new(S::constant(x), S::constant(y), S::constant(z))
    }

    /// Scalar product.
    #[inline(always)]
    pub fn dot(self, b: Self) -> S {
        self.x * b.x + self.y * b.y + self.z * b.z
    }

    /// Vector product.
    #[inline(always)]
    pub fn cross(self, b: Self) -> Self {
        Self::new(self.y * b.z - self.z * b.y, self.z * b.x - self.x * b.z, self.x * b.y - self.y * b.x)
    }

    /// The vector multiplied by a scalar.
    #[inline(always)]
    pub fn times(self, factor: S) -> Self {
        Self::new(self.x * factor, self.y * factor, self.z * factor)
    }

    /// Length.
    pub fn length(self) -> S {
        self.dot(self).sqrt()
    }

    /// The vector without derivatives.
    pub fn values(self) -> Vec3<f64> {
        Vec3::new(self.x.value(), self.y.value(), self.z.value())
    }
}

impl<S: Scalar> Add for Vec3<S> {
    type Output = Self;
    #[inline(always)]
    fn add(self, b: Self) -> Self {
        Self::new(self.x + b.x, self.y + b.y, self.z + b.z)
    }
}

impl<S: Scalar> Sub for Vec3<S> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, b: Self) -> Self {
        Self::new(self.x - b.x, self.y - b.y, self.z - b.z)
    }
}

impl<S: Scalar> Neg for Vec3<S> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y, -self.z)
    }
}

/// A place as `(x, y, z)` with so many decimals, none of them as minus zero.
#[must_use]
pub fn place_in_words(p: Vec3<f64>, decimals: usize) -> String {
    let shown = [p.x, p.y, p.z].map(|value| {
        let text = format!("{value:.decimals$}");
        let is_zero = text.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.'));
        if is_zero { text.trim_start_matches('-').to_owned() } else { text }
    });
    format!("({})", shown.join(", "))
}

/// The vector at length 1; none if it is too short or not finite.
#[must_use]
pub fn unit(v: Vec3<f64>) -> Option<Vec3<f64>> {
    let length = v.length();
    (length.is_finite() && length > tolerance::PARALLEL).then(|| v.times(1.0 / length))
}

/// An oriented plane in space.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane3<S> {
    /// A point of the plane, in mm.
    pub point: Vec3<S>,
    /// Unit normal.
    pub normal: Vec3<S>,
}

impl<S: Scalar> Plane3<S> {
    /// Signed distance of a point in mm: positive on the side to which the normal points.
    #[inline(always)]
    pub fn distance_to(self, p: Vec3<S>) -> S {
        (p - self.point).dot(self.normal)
    }
}

/// Where a flat panel lies in space: its origin and the directions of its x, y and normal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement<S> {
    /// The panel's origin, in mm.
    pub origin: Vec3<S>,
    /// Unit vector along the panel's x.
    pub x: Vec3<S>,
    /// Unit vector along the panel's y.
    pub y: Vec3<S>,
    /// Unit normal `x × y`; the inner face of the sheet looks this way.
    pub n: Vec3<S>,
}

impl<S: Scalar> Placement<S> {
    /// The placement of a panel that lies in the plane `z = 0` with its axes along x and y.
    pub fn identity() -> Self {
        Self {
            origin: Vec3::constant(0.0, 0.0, 0.0),
            x: Vec3::constant(1.0, 0.0, 0.0),
            y: Vec3::constant(0.0, 1.0, 0.0),
            n: Vec3::constant(0.0, 0.0, 1.0),
        }
    }

    /// The point with coordinates `(x, y)` in the panel and `depth` along its normal, in space.
    #[inline(always)]
    pub fn point(self, x: S, y: S, depth: S) -> Vec3<S> {
        self.origin + self.direction(x, y, depth)
    }

    /// The displacement with components `(x, y, depth)` in the panel, in space.
    #[inline(always)]
    pub fn direction(self, x: S, y: S, depth: S) -> Vec3<S> {
        self.x.times(x) + self.y.times(y) + self.n.times(depth)
    }
}

impl Placement<f64> {
    /// A plane point of the panel at `depth` mm along the normal, in space.
    #[must_use]
    pub fn lift(self, p: Point2, depth: f64) -> Vec3<f64> {
        self.point(p.x, p.y, depth)
    }

    /// Coordinates in the panel of a point in space: `(x, y, depth)`.
    #[must_use]
    pub fn coordinates(self, p: Vec3<f64>) -> Vec3<f64> {
        let d = p - self.origin;
        Vec3::new(d.dot(self.x), d.dot(self.y), d.dot(self.n))
    }

    /// The placement of something that lies at `inner` in the coordinates of this one.
    #[must_use]
    pub fn after(self, inner: Self) -> Self {
        let direction = |v: Vec3<f64>| self.direction(v.x, v.y, v.z);
        Self {
            origin: self.origin + direction(inner.origin),
            x: direction(inner.x),
            y: direction(inner.y),
            n: direction(inner.n),
        }
    }
}
