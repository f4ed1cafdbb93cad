//! Vectors, lines, circles and arcs in the plane, over any [`Scalar`].
//!
//! [`Point2`](super::Point2) and [`Segment`](super::Segment) hold finished figures; these here are figures
//! on the way, while a solver still moves them. Invariant: no formula has a square root of a difference, so
//! that a half circle is as smooth as any other arc.

use std::ops::{Add, Neg, Sub};

use super::Scalar;

/// A position or displacement in the plane, in mm, or a direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flat<S> {
    /// Component along x.
    pub x: S,
    /// Component along y.
    pub y: S,
}

/// A straight line without ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlatLine<S> {
    /// A point of it.
    pub point: Flat<S>,
    /// Its direction, of any length but zero.
    pub direction: Flat<S>,
}

/// A circle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlatCircle<S> {
    /// Its centre.
    pub centre: Flat<S>,
    /// Its radius in mm.
    pub radius: S,
}

/// An arc by its ends and half the angle that it turns through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlatArc<S> {
    /// Where it starts.
    pub start: Flat<S>,
    /// Where it ends.
    pub end: Flat<S>,
    /// Half its turn in rad, in (−π, π); positive turns to the left. Zero is straight and has no centre.
    pub half_turn: S,
}

impl<S: Scalar> Flat<S> {
    /// The vector with these components.
    #[inline(always)]
    pub fn new(x: S, y: S) -> Self {
        Self { x, y }
    }

    /// Scalar product.
    #[inline(always)]
    pub fn dot(self, b: Self) -> S {
        self.x * b.x + self.y * b.y
    }

    /// Vector product: positive where `b` points to the left of `self`.
    #[inline(always)]
    pub fn cross(self, b: Self) -> S {
        self.x * b.y - self.y * b.x
    }

    /// The vector multiplied by a scalar.
    #[inline(always)]
    pub fn times(self, factor: S) -> Self {
        Self::new(self.x * factor, self.y * factor)
    }

    /// The vector multiplied by a constant.
    #[inline(always)]
    pub fn scaled(self, factor: f64) -> Self {
        Self::new(self.x.scaled(factor), self.y.scaled(factor))
    }

    /// The vector turned by a quarter turn to the left.
    #[inline(always)]
    pub fn left(self) -> Self {
        Self::new(-self.y, self.x)
    }

    /// The vector turned to the left by `angle` in rad.
    pub fn turned(self, angle: S) -> Self {
        let (sin, cos) = angle.sin_cos();
        Self::new(self.x * cos - self.y * sin, self.x * sin + self.y * cos)
    }

    /// Length.
    pub fn length(self) -> S {
        self.dot(self).sqrt()
    }

    /// The point half-way to `b`.
    pub fn middle(self, b: Self) -> Self {
        (self + b).scaled(0.5)
    }
}

impl<S: Scalar> Add for Flat<S> {
    type Output = Self;
    #[inline(always)]
    fn add(self, b: Self) -> Self {
        Self::new(self.x + b.x, self.y + b.y)
    }
}

impl<S: Scalar> Sub for Flat<S> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, b: Self) -> Self {
        Self::new(self.x - b.x, self.y - b.y)
    }
}

impl<S: Scalar> Neg for Flat<S> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y)
    }
}

impl<S: Scalar> FlatArc<S> {
    /// The arc of at most a half circle with this radius in mm, positive to the left:
    /// `half_turn = asin(chord / 2r)`. NaN if the radius is below half the chord.
    pub fn of_radius(start: Flat<S>, end: Flat<S>, radius: S) -> Self {
        let sign = if radius.value() < 0.0 { -1.0 } else { 1.0 };
        let half_chord = (end - start).length().scaled(0.5);
        let room = (radius * radius - half_chord * half_chord).sqrt();
        Self { start, end, half_turn: half_chord.scaled(sign).atan2(room) }
    }

    /// The arc through a point on the way: the outer angle between its two legs is half the turn.
    pub fn through(start: Flat<S>, via: Flat<S>, end: Flat<S>) -> Self {
        let (first, second) = (via - start, end - via);
        Self { start, end, half_turn: first.cross(second).atan2(first.dot(second)) }
    }

    /// The arc whose middle stands `rise` mm to the right of its chord: `half_turn = 2 atan(2 rise / chord)`.
    /// Smooth for every rise, through straight and half circle.
    pub fn of_rise(start: Flat<S>, end: Flat<S>, rise: S) -> Self {
        let half_chord = (end - start).length().scaled(0.5);
        Self { start, end, half_turn: rise.atan2(half_chord).scaled(2.0) }
    }

    /// Height of the arc's middle over its chord in mm, positive to the right:
    /// `chord/2 · tan(half_turn/2)`.
    pub fn rise(&self) -> S {
        (self.end - self.start).length().scaled(0.5) * self.half_turn.scaled(0.5).tan()
    }

    /// Direction in which it leaves its start, as long as its chord.
    pub fn start_direction(&self) -> Flat<S> {
        (self.end - self.start).turned(-self.half_turn)
    }

    /// Direction in which it reaches its end, as long as its chord.
    pub fn end_direction(&self) -> Flat<S> {
        (self.end - self.start).turned(self.half_turn)
    }

    /// Radius in mm, negative if it turns to the right: `chord / (2 sin half_turn)`. Not finite if the arc
    /// is straight.
    pub fn signed_radius(&self) -> S {
        (self.end - self.start).length().scaled(0.5) / self.half_turn.sin_cos().0
    }

    /// Centre: the middle of the chord and `chord/2 · cot half_turn` to its left. Not finite if the arc is
    /// straight.
    pub fn centre(&self) -> Flat<S> {
        let (sin, cos) = self.half_turn.sin_cos();
        self.start.middle(self.end) + (self.end - self.start).left().times((cos / sin).scaled(0.5))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::maths::{self, FRAC_PI_2};

    fn at(x: f64, y: f64) -> Flat<f64> {
        Flat::new(x, y)
    }

    #[track_caller]
    fn assert_at(got: Flat<f64>, wanted: Flat<f64>) {
        assert!((got - wanted).length() < 1e-12, "{got:?} against {wanted:?}");
    }

    #[test]
    fn three_ways_to_draw_one_arc_agree() {
        // Circle of radius 5 about (3, 4) from (8, 4) to (3, 9), a quarter to the left.
        let (start, end) = (at(8.0, 4.0), at(3.0, 9.0));
        let half = maths::sin(FRAC_PI_2 / 2.0);
        let arcs = [
            FlatArc::of_radius(start, end, 5.0),
            FlatArc::through(start, at(3.0 + 5.0 * half, 4.0 + 5.0 * half), end),
            FlatArc::of_rise(start, end, 5.0 - 5.0 * half),
        ];
        for arc in arcs {
            assert_at(arc.centre(), at(3.0, 4.0));
            assert!((arc.signed_radius() - 5.0).abs() < 1e-12);
            assert!((arc.rise() - (5.0 - 5.0 * half)).abs() < 1e-12);
            let chord = 5.0 * 2.0_f64.sqrt();
            assert_at(arc.start_direction(), at(0.0, chord));
            assert_at(arc.end_direction(), at(-chord, 0.0));
        }
    }

    #[test]
    fn arcs_to_the_right_have_negative_radius_and_rise() {
        let arc = FlatArc::of_radius(at(0.0, 0.0), at(6.0, 0.0), -5.0);
        assert_at(arc.centre(), at(3.0, -4.0));
        assert!((arc.signed_radius() + 5.0).abs() < 1e-12);
        assert!((arc.rise() + 1.0).abs() < 1e-12);
    }

    #[test]
    fn more_than_a_half_circle_keeps_its_centre_on_the_other_side() {
        // Rise 9 over a chord of 6: radius (3² + 9²) / 18 = 5, centre 4 beyond the chord.
        let arc = FlatArc::of_rise(at(0.0, 0.0), at(6.0, 0.0), 9.0);
        assert_at(arc.centre(), at(3.0, -4.0));
        assert!((arc.signed_radius() - 5.0).abs() < 1e-12);
        assert!((arc.half_turn - 2.0 * maths::atan2(9.0, 3.0)).abs() < 1e-12);
    }

    #[test]
    fn a_radius_below_half_the_chord_is_no_arc() {
        assert!(FlatArc::of_radius(at(0.0, 0.0), at(6.0, 0.0), 2.9).half_turn.is_nan());
    }
}
