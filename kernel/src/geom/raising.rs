//! Raises the least of several smooth functions of a place and a turn, step by step.
//!
//! Each step solves the linear programme that the tangents of all functions make within a box, by exchanging one
//! row of a basis at a time (dual simplex), and keeps what really rises. Invariant: the value returned is that of
//! the functions at the place returned, never one of the model. Must not know: what the functions measure.

use crate::quantity::tolerance;

/// Two coordinates and a turn times a length, all in mm.
pub(super) type At = [f64; 3];

/// A function's value with its slope.
#[derive(Clone, Copy, Debug)]
pub(super) struct Slope {
    pub(super) value: f64,
    pub(super) by: At,
}

/// Where a box is so small that nothing is left to gain, as a share of the one at the start.
const LEAST_BOX_SHARE: f64 = 1e-12;

/// Steps before it gives up: a quadratic ridge halves its error with each.
const MOST_STEPS: usize = 200;

/// A place near `start` where the least of the functions is as large as can be, with that value. `functions`
/// fills the list, and says no where the place is not allowed; the first box reaches `reach` mm each way.
pub(super) fn raise_least(
    start: At,
    reach: f64,
    mut functions: impl FnMut(At, &mut Vec<Slope>) -> bool,
) -> Option<(At, f64)> {
    let least = |list: &[Slope]| list.iter().map(|f| f.value).fold(f64::INFINITY, f64::min);
    let (mut now, mut next) = (Vec::new(), Vec::new());
    if !functions(start, &mut now) || now.is_empty() {
        return None;
    }
    let (mut at, mut value, mut half) = (start, least(&now), reach);
    for _ in 0..MOST_STEPS {
        let Some((step, hoped)) = tangent_optimum(&now, half) else { break };
        let hoped = hoped - value;
        if hoped <= tolerance::CHANGE_MM * tolerance::CHORD_SHARE || half < LEAST_BOX_SHARE * reach {
            break;
        }
        let there = [at[0] + step[0], at[1] + step[1], at[2] + step[2]];
        next.clear();
        let gain = if functions(there, &mut next) { least(&next) - value } else { f64::NEG_INFINITY };
        if gain > 0.0 {
            (at, value) = (there, value + gain);
            std::mem::swap(&mut now, &mut next);
        }
        if gain > 0.75 * hoped {
            half = (2.0 * half).min(reach);
        } else if gain < 0.25 * hoped {
            half *= 0.25;
        }
    }
    Some((at, value))
}

/// A row `a · z ≤ b` over `z = (step, height)`.
type Row = ([f64; 4], f64);

/// The step within the box at which the lowest tangent is highest, and how high that is.
fn tangent_optimum(functions: &[Slope], half: f64) -> Option<(At, f64)> {
    let lowest = functions.iter().enumerate().min_by(|a, b| a.1.value.total_cmp(&b.1.value))?.0;
    let row = |index: usize| -> Row {
        if let Some(f) = functions.get(index) {
            return ([-f.by[0], -f.by[1], -f.by[2], 1.0], f.value);
        }
        let side = index - functions.len();
        let mut a = [0.0; 4];
        a[side / 2] = if side.is_multiple_of(2) { 1.0 } else { -1.0 };
        (a, half)
    };
    // The lowest tangent against the sides of the box towards which it rises.
    let by = functions[lowest].by;
    let side = |k: usize| functions.len() + 2 * k + usize::from(by[k] < 0.0);
    let mut basis = [lowest, side(0), side(1), side(2)];
    let rows = functions.len() + 6;
    for _ in 0..4 * rows + 16 {
        let chosen = basis.map(row);
        let z = solved(chosen.map(|r| r.0), chosen.map(|r| r.1))?;
        let over = |index: usize| {
            let (a, b) = row(index);
            a[0] * z[0] + a[1] * z[1] + a[2] * z[2] + a[3] * z[3] - b
        };
        let (worst, by) =
            (0..rows).map(|i| (i, over(i))).max_by(|a, b| a.1.total_cmp(&b.1)).expect("a box has sides");
        if by <= tolerance::QUADRATURE_SHARE * (1.0 + z[3].abs() + half) || basis.contains(&worst) {
            return Some(([z[0], z[1], z[2]], z[3]));
        }
        let across = transposed(chosen.map(|r| r.0));
        let prices = solved(across, [0.0, 0.0, 0.0, 1.0])?;
        let mixed = solved(across, row(worst).0)?;
        let leaving = (0..4)
            .filter(|&k| mixed[k] > tolerance::PARALLEL)
            .min_by(|&a, &b| (prices[a] / mixed[a]).total_cmp(&(prices[b] / mixed[b])))?;
        basis[leaving] = worst;
    }
    None
}

fn transposed(m: [[f64; 4]; 4]) -> [[f64; 4]; 4] {
    std::array::from_fn(|i| std::array::from_fn(|j| m[j][i]))
}

/// Solves four equations by elimination with row exchange; none if they are not independent.
fn solved(mut m: [[f64; 4]; 4], mut b: [f64; 4]) -> Option<[f64; 4]> {
    for k in 0..4 {
        let pivot = (k..4).max_by(|&i, &j| m[i][k].abs().total_cmp(&m[j][k].abs()))?;
        if m[pivot][k].abs() <= tolerance::PARALLEL {
            return None;
        }
        m.swap(k, pivot);
        b.swap(k, pivot);
        for i in k + 1..4 {
            let factor = m[i][k] / m[k][k];
            let above = m[k];
            for (value, above) in m[i].iter_mut().zip(above) {
                *value -= factor * above;
            }
            b[i] -= factor * b[k];
        }
    }
    let mut x = [0.0; 4];
    for k in (0..4).rev() {
        let known: f64 = (k + 1..4).map(|j| m[k][j] * x[j]).sum();
        x[k] = (b[k] - known) / m[k][k];
    }
    Some(x)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Point2, Vec2};

    #[test]
    fn three_lines_meet_at_the_centre_of_their_circle() {
        // Right triangle 3, 4, 5: inscribed radius 1 about (1, 1).
        let oblique = Vec2::new(-4.0, -3.0) * (1.0 / 5.0);
        let sides = [
            (Point2::new(0.0, 0.0), Vec2::new(0.0, 1.0)),
            (Point2::new(0.0, 0.0), Vec2::new(1.0, 0.0)),
            (Point2::new(3.0, 0.0), oblique),
        ];
        let found = raise_least([2.0, 0.3, 0.0], 1.0, |at, list| {
            for (p, n) in sides {
                let value = (Point2::new(at[0], at[1]) - p).dot(n);
                list.push(Slope { value, by: [n.x, n.y, 0.0] });
            }
            true
        });
        let (at, value) = found.unwrap();
        assert!((value - 1.0).abs() < 1e-14 && (at[0] - 1.0).abs() + (at[1] - 1.0).abs() < 1e-13);
    }

    #[test]
    fn a_curved_ridge_is_climbed_to_its_top() {
        // The farther of two points at (±3, 0): least at the origin, where it is 3.
        let found = raise_least([1.0, 2.0, 0.0], 4.0, |at, list| {
            for x in [-3.0, 3.0] {
                let d = Point2::new(at[0], at[1]) - Point2::new(x, 0.0);
                let n = d.normalized();
                list.push(Slope { value: -d.length(), by: [-n.x, -n.y, 0.0] });
            }
            true
        });
        assert!((found.unwrap().1 + 3.0).abs() < 1e-12);
    }
}
