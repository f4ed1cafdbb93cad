//! Searches whose end is known by hand. Must not know: parts.

use super::super::tests::Straight;
use super::super::{Ending, solve};
use super::*;
use crate::geom::Scalar;

fn squared(x: f64) -> f64 {
    x * x
}

/// A system with a value that is a formula; none where it is not finite.
struct Formula<P, F> {
    system: P,
    formula: F,
}

impl<P: System, F: Fn(&[f64]) -> f64> Ground for Formula<P, F> {
    fn settle(&mut self, unknowns: &[f64]) -> Option<(Vec<f64>, f64)> {
        let solution = solve(&self.system, unknowns);
        if !matches!(solution.report.ending, Ending::Held | Ending::NothingToSolve) {
            return None;
        }
        let value = self.value(&solution.unknowns)?;
        Some((solution.unknowns, value))
    }

    fn value(&mut self, unknowns: &[f64]) -> Option<f64> {
        Some((self.formula)(unknowns)).filter(|value| value.is_finite())
    }

    fn straighten(&self, unknowns: &[f64]) -> Straightened {
        straighten(&self.system, unknowns)
    }
}

fn searched<P: System>(system: P, start: &[f64], formula: impl Fn(&[f64]) -> f64) -> Smallest {
    let mut ground = Formula { system, formula };
    let (start, value) = ground.settle(start).unwrap();
    let found = smallest(&mut ground, &start, value);
    assert!(found.value <= value);
    assert_eq!(found, smallest(&mut ground, &start, value));
    found
}

#[track_caller]
fn assert_at(found: &Smallest, wanted: &[f64], tolerance: f64) {
    let near = found.unknowns.iter().zip(wanted).all(|(got, wanted)| (got - wanted).abs() < tolerance);
    assert!(near, "{found:?} against {wanted:?}");
}

#[test]
fn straight_value_ends_in_the_corner_of_its_limits() {
    // x ≥ 2, y ≥ 3 and x + y ≥ 7: 2x + y is smallest at (2, 5).
    let system =
        Straight::new(&[&[1.0, 1.0]], &[7.0]).at_least(0).range(0, 2.0, f64::INFINITY).range(1, 3.0, 90.0);
    let found = searched(system, &[40.0, 60.0], |u| 2.0 * u[0] + u[1]);
    assert_at(&found, &[2.0, 5.0], 1e-9);
    assert_eq!((found.conclusion, found.one_of_several), (Conclusion::Smallest, false));
    assert!(found.trials < 60, "{found:?}");
}

#[test]
fn curved_value_ends_where_its_slope_is_zero() {
    // Hand: 2(x − 3) + (x − y) = 0 and 8(y + 1) − (x − y) = 0 give x = 43/13, y = −1 + 14/26 · ... by elimination:
    // 3x − y = 6 and −x + 9y = −8, so x = 46/26 and y = −18/26.
    let value =
        |u: &[f64]| squared(u[0] - 3.0) + 4.0 * squared(u[1] + 1.0) + 0.5 * squared(u[0] - u[1]) + 50.0;
    let found = searched(Straight::new(&[&[0.0, 0.0]], &[0.0]), &[40.0, 60.0], value);
    assert_at(&found, &[46.0 / 26.0, -18.0 / 26.0], 1e-6);
    assert_eq!((found.conclusion, found.one_of_several), (Conclusion::Smallest, false));
}

/// Two legs at right angles with a product of 900.
struct Product;

impl System for Product {
    fn variable_count(&self) -> usize {
        2
    }
    fn relation_count(&self) -> usize {
        1
    }
    fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
        residuals[0] = u[0] * u[1] - S::constant(900.0);
    }
    fn tolerance(&self, _: usize) -> f64 {
        tolerance::HELD_MM
    }
    fn bounds(&self, _: usize) -> [f64; 2] {
        [1.0, f64::INFINITY]
    }
}

#[test]
fn curved_relation_is_followed_to_where_the_value_touches_it() {
    // Of all rectangles of one area the square has the least edge.
    let found = searched(Product, &[9.0, 100.0], |u| 2.0 * (u[0] + u[1]));
    assert_at(&found, &[30.0, 30.0], 1e-4);
    assert!((found.value - 120.0).abs() < 1e-9, "{found:?}");
    assert!(!found.one_of_several);
    // 4x + y: x = 15, y = 60.
    assert_at(&searched(Product, &[9.0, 100.0], |u| 4.0 * u[0] + u[1]), &[15.0, 60.0], 1e-4);
}

#[test]
fn nothing_loose_and_nothing_that_counts_are_told_apart() {
    let fixed = searched(Straight::new(&[&[1.0]], &[5.0]), &[1.0], |u| u[0]);
    assert_eq!((fixed.conclusion, fixed.trials), (Conclusion::NothingLoose, 0));
    let still = searched(Straight::new(&[&[1.0, 0.0]], &[5.0]), &[1.0, 2.0], |u| 10.0 + u[0]);
    assert_eq!(still.conclusion, Conclusion::WithoutEffect);
    assert_at(&still, &[5.0, 2.0], 1e-9);
}

#[test]
fn search_ends_at_a_wall_and_goes_on_along_it() {
    // There is no value below x = 2; y is free to fall to its least.
    let system = || Straight::new(&[&[0.0, 0.0]], &[0.0]).range(1, -4.0, 80.0);
    let value = |u: &[f64]| if u[0] < 2.0 { f64::NAN } else { 100.0 + 3.0 * u[0] + u[1] };
    let found = searched(system(), &[40.0, 60.0], value);
    assert_at(&found, &[2.0, -4.0], 1e-6);
    assert_eq!((found.conclusion, found.walls.as_slice()), (Conclusion::Smallest, &[vec![-1.0, 0.0]][..]));
    assert!(found.failed > 0);
}

#[test]
fn value_without_end_comes_to_the_end_of_what_is_searched() {
    let found = searched(Straight::new(&[&[0.0]], &[0.0]), &[0.0], |u| u[0]);
    assert_eq!((found.conclusion, found.walls.as_slice()), (Conclusion::Smallest, &[vec![-1.0]][..]));
    assert_at(&found, &[-FARTHEST], 1e-6);
}

#[test]
fn lower_place_beyond_a_hill_is_found_and_told() {
    // A hollow at −4, and beyond 100 a slope that ends lower.
    let value = |u: &[f64]| 2.0 + f64::min(squared(u[0] + 4.0) / 100.0, (500.0 - u[0]) / 100.0 - 0.1);
    let found = searched(Straight::new(&[&[0.0]], &[0.0]).range(0, -5.0, 500.0), &[-4.5], value);
    assert!(found.one_of_several);
    assert_at(&found, &[500.0], 1e-9);
}

#[test]
fn hollow_value_goes_to_a_corner_and_says_that_there_are_others() {
    // x y on x + y = 10 within 1 to 9 is largest in the middle.
    let system = Straight::new(&[&[1.0, 1.0]], &[10.0]).range(0, 1.0, 9.0);
    let found = searched(system, &[4.0, 6.0], |u| u[0] * u[1]);
    assert_at(&found, &[1.0, 9.0], 1e-9);
    assert!(found.one_of_several);
}
