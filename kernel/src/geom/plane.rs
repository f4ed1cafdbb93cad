//! Points, displacements, boxes and rigid motions of the plane. Invariant: coordinates are in mm.

use std::ops::{Add, Mul, Neg, Sub};

use crate::quantity::maths;

/// A position in the plane, in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point2 {
    /// Abscissa in mm.
    pub x: f64,
    /// Ordinate in mm.
    pub y: f64,
}

/// A displacement in the plane, in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vec2 {
    /// Component along x in mm.
    pub x: f64,
    /// Component along y in mm.
    pub y: f64,
}

impl Point2 {
    /// The origin.
    pub const ORIGIN: Self = Self { x: 0.0, y: 0.0 };

    /// The point with these coordinates in mm.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// Distance to another point in mm.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (other - self).length()
    }

    /// The point half-way to another one.
    #[must_use]
    pub fn midpoint(self, other: Self) -> Self {
        Self::new(0.5 * (self.x + other.x), 0.5 * (self.y + other.y))
    }

    /// The point at share `t` of the way to another one (0 is `self`, 1 is `other`).
    #[must_use]
    pub fn lerp(self, other: Self, t: f64) -> Self {
        self + (other - self) * t
    }
}

impl Vec2 {
    /// The displacement with these components in mm.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The unit vector at an angle in rad from the x axis, counter-clockwise.
    #[must_use]
    pub fn unit(angle: f64) -> Self {
        let (sin, cos) = maths::sin_cos(angle);
        Self::new(cos, sin)
    }

    /// Scalar product.
    #[must_use]
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// Cross product: positive when `other` lies to the left of `self`.
    #[must_use]
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }

    /// Length in mm.
    #[must_use]
    pub fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    /// The same direction with length one; the zero vector gives NaN components.
    #[must_use]
    pub fn normalized(self) -> Self {
        self * (1.0 / self.length())
    }

    /// Turned by +90°.
    #[must_use]
    pub fn left(self) -> Self {
        Self::new(-self.y, self.x)
    }

    /// Turned by −90°.
    #[must_use]
    pub fn right(self) -> Self {
        Self::new(self.y, -self.x)
    }

    /// Angle from the x axis in rad, in `(-π, π]`.
    #[must_use]
    pub fn angle(self) -> f64 {
        maths::atan2(self.y, self.x)
    }
}

impl Sub for Point2 {
    type Output = Vec2;
    fn sub(self, other: Self) -> Vec2 {
        Vec2::new(self.x - other.x, self.y - other.y)
    }
}

impl Add<Vec2> for Point2 {
    type Output = Self;
    fn add(self, by: Vec2) -> Self {
        Self::new(self.x + by.x, self.y + by.y)
    }
}

impl Sub<Vec2> for Point2 {
    type Output = Self;
    fn sub(self, by: Vec2) -> Self {
        Self::new(self.x - by.x, self.y - by.y)
    }
}

impl Add for Vec2 {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y)
    }
}

impl Sub for Vec2 {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.x - other.x, self.y - other.y)
    }
}

impl Neg for Vec2 {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y)
    }
}

impl Mul<f64> for Vec2 {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::new(self.x * factor, self.y * factor)
    }
}

/// An axis-parallel box, in mm. Empty until a point is added.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoundingBox {
    /// Lower left corner.
    pub min: Point2,
    /// Upper right corner.
    pub max: Point2,
}

impl BoundingBox {
    /// The box that holds nothing.
    pub const EMPTY: Self = Self {
        min: Point2::new(f64::INFINITY, f64::INFINITY),
        max: Point2::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
    };

    /// The smallest box that also holds `p`.
    #[must_use]
    pub fn with(self, p: Point2) -> Self {
        Self {
            min: Point2::new(self.min.x.min(p.x), self.min.y.min(p.y)),
            max: Point2::new(self.max.x.max(p.x), self.max.y.max(p.y)),
        }
    }

    /// The smallest box that holds both.
    #[must_use]
    pub fn union(self, other: Self) -> Self {
        Self {
            min: Point2::new(self.min.x.min(other.min.x), self.min.y.min(other.min.y)),
            max: Point2::new(self.max.x.max(other.max.x), self.max.y.max(other.max.y)),
        }
    }

    /// Grown by `margin` mm on every side.
    #[must_use]
    pub fn grown(self, margin: f64) -> Self {
        let m = Vec2::new(margin, margin);
        Self { min: self.min - m, max: self.max + m }
    }

    /// Whether the two boxes share at least a point.
    #[must_use]
    pub fn touches(self, other: Self) -> bool {
        self.min.x <= other.max.x
            && other.min.x <= self.max.x
            && self.min.y <= other.max.y
            && other.min.y <= self.max.y
    }

    /// Extent along x in mm.
    #[must_use]
    pub fn width(self) -> f64 {
        self.max.x - self.min.x
    }

    /// Extent along y in mm.
    #[must_use]
    pub fn height(self) -> f64 {
        self.max.y - self.min.y
    }
}

/// A rigid motion of the plane without mirroring: a turn about the origin, then a shift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion2 {
    /// Image of the unit vector along x.
    pub x_axis: Vec2,
    /// Image of the origin.
    pub origin: Point2,
}

impl Motion2 {
    /// The motion that leaves every point where it is.
    pub const IDENTITY: Self = Self { x_axis: Vec2::new(1.0, 0.0), origin: Point2::ORIGIN };

    /// The image of a point.
    #[must_use]
    pub fn point(self, p: Point2) -> Point2 {
        self.origin + self.vector(Vec2::new(p.x, p.y))
    }

    /// The image of a displacement.
    #[must_use]
    pub fn vector(self, v: Vec2) -> Vec2 {
        self.x_axis * v.x + self.x_axis.left() * v.y
    }

    /// First `inner`, then `self`.
    #[must_use]
    pub fn after(self, inner: Self) -> Self {
        Self { x_axis: self.vector(inner.x_axis), origin: self.point(inner.origin) }
    }

    /// The motion that undoes this one.
    #[must_use]
    pub fn inverse(self) -> Self {
        let x_axis = Vec2::new(self.x_axis.x, -self.x_axis.y);
        let back = Self { x_axis, origin: Point2::ORIGIN };
        let o = back.point(self.origin);
        Self { x_axis, origin: Point2::new(-o.x, -o.y) }
    }
}
