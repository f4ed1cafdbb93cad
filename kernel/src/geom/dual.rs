//! Dual numbers: a value with its derivatives for up to `N` variables, exact to rounding.
//!
//! Rule: `f(v + d ε) = f(v) + f'(v) d ε` with `ε² = 0` (forward-mode differentiation). Invariant: the
//! value never depends on the derivatives. Tested against central differences for every operation.

use std::ops::{Add, Div, Mul, Neg, Sub};

use crate::quantity::maths;

use super::Scalar;

/// A value and its derivatives with respect to `N` variables.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dual<const N: usize> {
    /// The value.
    pub value: f64,
    /// Derivatives, one a variable.
    pub parts: [f64; N],
}

impl<const N: usize> Dual<N> {
    /// The variable with index `index < N` at `value`: its own derivative is 1.
    #[must_use]
    pub fn variable(value: f64, index: usize) -> Self {
        let mut parts = [0.0; N];
        parts[index] = 1.0;
        Self { value, parts }
    }

    /// Chain rule: a function with value `value` and slope `slope` applied to `self`.
    #[inline(always)]
    fn chain(self, value: f64, slope: f64) -> Self {
        Self { value, parts: self.parts.map(|p| p * slope) }
    }

    #[inline(always)]
    fn combined(value: f64, a: &[f64; N], slope_a: f64, b: &[f64; N], slope_b: f64) -> Self {
        Self { value, parts: std::array::from_fn(|i| a[i] * slope_a + b[i] * slope_b) }
    }
}

impl<const N: usize> Add for Dual<N> {
    type Output = Self;
    #[inline(always)]
    fn add(self, b: Self) -> Self {
        Self { value: self.value + b.value, parts: std::array::from_fn(|i| self.parts[i] + b.parts[i]) }
    }
}

impl<const N: usize> Sub for Dual<N> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, b: Self) -> Self {
        Self { value: self.value - b.value, parts: std::array::from_fn(|i| self.parts[i] - b.parts[i]) }
    }
}

impl<const N: usize> Mul for Dual<N> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, b: Self) -> Self {
        Self::combined(self.value * b.value, &self.parts, b.value, &b.parts, self.value)
    }
}

impl<const N: usize> Div for Dual<N> {
    type Output = Self;
    #[inline(always)]
    fn div(self, b: Self) -> Self {
        let quotient = self.value / b.value;
        Self::combined(quotient, &self.parts, 1.0 / b.value, &b.parts, -quotient / b.value)
    }
}

impl<const N: usize> Neg for Dual<N> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self.chain(-self.value, -1.0)
    }
}

impl<const N: usize> Scalar for Dual<N> {
    #[inline(always)]
    fn constant(value: f64) -> Self {
        Self { value, parts: [0.0; N] }
    }
    #[inline(always)]
    fn value(self) -> f64 {
        self.value
    }
    fn sin_cos(self) -> (Self, Self) {
        let (sin, cos) = maths::sin_cos(self.value);
        (self.chain(sin, cos), self.chain(cos, -sin))
    }
    fn tan(self) -> Self {
        let tan = maths::tan(self.value);
        self.chain(tan, 1.0 + tan * tan)
    }
    fn sqrt(self) -> Self {
        let root = self.value.sqrt();
        self.chain(root, if root > 0.0 { 0.5 / root } else { 0.0 })
    }
    fn atan2(self, x: Self) -> Self {
        let squared = self.value * self.value + x.value * x.value;
        let (dy, dx) = if squared > 0.0 { (x.value / squared, -self.value / squared) } else { (0.0, 0.0) };
        Self::combined(maths::atan2(self.value, x.value), &self.parts, dy, &x.parts, dx)
    }
    #[inline(always)]
    fn scaled(self, factor: f64) -> Self {
        self.chain(self.value * factor, factor)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Compares both partial derivatives of `f` with central differences, and the values with each other.
    fn check(
        name: &str,
        x: f64,
        y: f64,
        dual: impl Fn(Dual<2>, Dual<2>) -> Dual<2>,
        f: impl Fn(f64, f64) -> f64,
    ) {
        let h = 1e-6;
        let got = dual(Dual::variable(x, 0), Dual::variable(y, 1));
        assert_eq!(got.value, f(x, y), "{name}: value");
        let dx = (f(x + h, y) - f(x - h, y)) / (2.0 * h);
        let dy = (f(x, y + h) - f(x, y - h)) / (2.0 * h);
        assert!((got.parts[0] - dx).abs() < 1e-8 * (1.0 + dx.abs()), "{name}: {} against {dx}", got.parts[0]);
        assert!((got.parts[1] - dy).abs() < 1e-8 * (1.0 + dy.abs()), "{name}: {} against {dy}", got.parts[1]);
    }

    #[test]
    fn every_operation_matches_central_differences() {
        for (x, y) in [(0.7, 1.3), (-1.1, 0.4), (2.5, -0.6)] {
            check("sum", x, y, |a, b| a + b, |a, b| a + b);
            check("difference", x, y, |a, b| a - b, |a, b| a - b);
            check("product", x, y, |a, b| a * b, |a, b| a * b);
            check("quotient", x, y, |a, b| a / b, |a, b| a / b);
            check("negation", x, y, |a, _| -a, |a, _| -a);
            check("sine", x, y, |a, b| (a * b).sin_cos().0, |a, b| maths::sin(a * b));
            check("cosine", x, y, |a, b| (a * b).sin_cos().1, |a, b| maths::cos(a * b));
            check("tangent", x, y, |a, b| (a * b).tan(), |a, b| maths::tan(a * b));
            check("root", x, y, |a, b| (a * a + b * b).sqrt(), |a, b| (a * a + b * b).sqrt());
            check("arc tangent", x, y, Scalar::atan2, maths::atan2);
            check("scaling", x, y, |a, b| (a + b).scaled(-2.5), |a, b| (a + b) * -2.5);
        }
    }
}
