//! Student's t: how many standard errors a mean of few measurements may lie off.
//!
//! Job: the bound that a share of all t lies within. Invariant: exact sums, so that the bound is good to
//! 1e-12 of itself. Must not know: what was measured.

use crate::quantity::maths;

/// Halvings of the interval for the angle: its width falls from π/2 below the last digit.
const HALVINGS: u32 = 60;

/// The bound `b` with `P(|T| ≤ b) = share` for Student's t with `freedom ≥ 1` degrees of freedom;
/// `0 < share < 1`. It falls with `freedom`, towards the bound of the normal distribution.
///
/// With `θ = atan(b / √freedom)` the share is a finite sum of powers of `cos θ`, which is inverted by halving.
/// Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.3 and 26.7.4, from memory.
pub(super) fn two_sided_bound(share: f64, freedom: usize) -> f64 {
    let (mut low, mut high) = (0.0, maths::FRAC_PI_2);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if share_within(middle, freedom) < share {
            low = middle;
        } else {
            high = middle;
        }
    }
    (freedom as f64).sqrt() * maths::tan(0.5 * (low + high))
}

/// `P(|T| ≤ √freedom · tan θ)`, rising from 0 to 1 as `θ` goes from 0 to π/2.
///
/// Odd: `2/π · (θ + sin θ (cos θ + 2/3 cos³ θ + … ))`, up to the power `freedom − 2`.
/// Even: `sin θ (1 + 1/2 cos² θ + 1·3/(2·4) cos⁴ θ + …)`, up to the power `freedom − 2`.
fn share_within(theta: f64, freedom: usize) -> f64 {
    let (sin, cos) = maths::sin_cos(theta);
    let odd = freedom % 2 == 1;
    let mut term = if odd { cos } else { 1.0 };
    let mut sum = 0.0;
    for power in (freedom % 2..freedom.saturating_sub(1)).step_by(2) {
        sum += term;
        term *= cos * cos * (power as f64 + 1.0) / (power as f64 + 2.0);
    }
    if odd { (theta + sin * sum) / maths::FRAC_PI_2 } else { sin * sum }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn assert_near(got: f64, wanted: f64, within: f64) {
        assert!((got - wanted).abs() <= within, "got {got}, wanted {wanted} within {within}");
    }

    #[test]
    fn bounds_for_95_percent_are_those_of_the_printed_tables() {
        // Every table of Student's t, two-sided 5 %, three decimals; from memory.
        let printed = [
            (1, 12.706),
            (2, 4.303),
            (3, 3.182),
            (4, 2.776),
            (5, 2.571),
            (6, 2.447),
            (7, 2.365),
            (8, 2.306),
            (9, 2.262),
            (10, 2.228),
            (15, 2.131),
            (20, 2.086),
            (30, 2.042),
            (60, 2.000),
            (120, 1.980),
        ];
        for (freedom, bound) in printed {
            assert_near(two_sided_bound(0.95, freedom), bound, 5.1e-4);
        }
        // Two-sided 1 %, from memory.
        for (freedom, bound) in [(1, 63.657), (2, 9.925), (3, 5.841), (10, 3.169)] {
            assert_near(two_sided_bound(0.99, freedom), bound, 5.1e-4);
        }
    }

    #[test]
    fn bounds_with_closed_forms_are_met_to_twelve_digits() {
        for share in [0.01, 0.5, 0.95, 0.9973] {
            // One degree of freedom: the share is 2/π · atan b. Two: b / √(2 + b²).
            let one = maths::tan(share * maths::FRAC_PI_2);
            let two = share * (2.0 / (1.0 - share * share)).sqrt();
            assert_near(two_sided_bound(share, 1) / one, 1.0, 1e-12);
            assert_near(two_sided_bound(share, 2) / two, 1.0, 1e-12);
        }
        // Four: with b² = 4 tan² θ the share is sin θ (1 + cos² θ / 2) = (3 sin θ − sin³ θ) / 2; at sin θ = 0.8
        // that is 0.944, and b = 2 · 0.8 / 0.6.
        assert_near(two_sided_bound(0.944, 4), 8.0 / 3.0, 1e-12);
    }

    #[test]
    fn bounds_fall_towards_those_of_the_normal_distribution() {
        let bounds: Vec<f64> = (1..200).map(|freedom| two_sided_bound(0.95, freedom)).collect();
        assert!(bounds.windows(2).all(|pair| pair[0] > pair[1]));
        // 1.959964, from memory; t − z = (z³ + z) / (4 · freedom) to first order.
        let z: f64 = 1.959_964;
        let beyond = (z * z * z + z) / (4.0 * 10_000.0);
        assert_near(two_sided_bound(0.95, 10_000), z + beyond, 1e-6);
    }
}
