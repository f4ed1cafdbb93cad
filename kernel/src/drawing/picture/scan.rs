//! Which samples of a grid a triangle covers, and how deep it lies there.
//!
//! Invariant: two triangles with a common edge leave no sample between them; a degenerate or non-finite
//! triangle covers nothing. Must not know: what the samples are for.

use std::ops::Range;

/// Calls `visit(column, row, depth)` for each sample inside the triangle and the window. Sample `(i, j)` lies
/// at `(i + 0.5, j + 0.5)`; corners are `[x, y, depth]`.
pub(super) fn scan(
    corners: [[f64; 3]; 3],
    columns: usize,
    rows: Range<usize>,
    mut visit: impl FnMut(usize, usize, f64),
) {
    let [a, b, c] = corners;
    let ([bx, by, bd], [cx, cy, cd]) = ([0, 1, 2].map(|i| b[i] - a[i]), [0, 1, 2].map(|i| c[i] - a[i]));
    let doubled_area = bx * cy - cx * by;
    if doubled_area == 0.0 || !doubled_area.is_finite() {
        return;
    }
    let slope_x = (bd * cy - cd * by) / doubled_area;
    let slope_y = (cd * bx - bd * cx) / doubled_area;
    // Near-edge-on triangles have slopes so large that half a sample leaves the triangle's own depths.
    let [nearest, farthest] = [a[2].min(b[2]).min(c[2]), a[2].max(b[2]).max(c[2])];
    let (top, bottom) = (a[1].min(b[1]).min(c[1]), a[1].max(b[1]).max(c[1]));
    for row in samples_between(top, bottom, rows) {
        let y = row as f64 + 0.5;
        let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
        for [p, q] in [[a, b], [b, c], [c, a]] {
            // Both neighbours of an edge compute its crossings from the same end, hence bit-equal.
            let [high, low] = if (p[1], p[0]) <= (q[1], q[0]) { [p, q] } else { [q, p] };
            if high[1] <= y && y <= low[1] && high[1] < low[1] {
                let x = high[0] + (y - high[1]) / (low[1] - high[1]) * (low[0] - high[0]);
                left = left.min(x);
                right = right.max(x);
            }
        }
        for column in samples_between(left, right, 0..columns) {
            let depth = a[2] + slope_x * (column as f64 + 0.5 - a[0]) + slope_y * (y - a[1]);
            visit(column, row, depth.clamp(nearest, farthest));
        }
    }
}

/// Indices of the samples from `low` to `high` that lie in the window.
fn samples_between(low: f64, high: f64, window: Range<usize>) -> Range<usize> {
    // A float cast to an integer saturates, so that far-off coordinates need no care.
    let first = (low - 0.5).ceil().max(0.0) as usize;
    let past = ((high - 0.5).floor() + 1.0).max(0.0) as usize;
    first.max(window.start)..past.min(window.end)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn covered(corners: [[f64; 3]; 3]) -> Vec<(usize, usize, f64)> {
        let mut samples = Vec::new();
        scan(corners, 20, 0..20, |i, j, d| samples.push((i, j, d)));
        samples
    }

    #[test]
    fn two_halves_of_a_square_cover_each_sample() {
        let [a, b, c, d] = [[2.2, 3.1, 0.0], [12.7, 3.1, 0.0], [12.7, 9.9, 0.0], [2.2, 9.9, 0.0]];
        let mut hits = vec![0; 400];
        for (i, j, _) in covered([a, b, c]).into_iter().chain(covered([a, d, c])) {
            hits[j * 20 + i] += 1;
        }
        // Columns 2..=12 (centres 2.5 to 12.5), rows 3..=9.
        for j in 0..20 {
            for i in 0..20 {
                let inside = (2..=12).contains(&i) && (3..=9).contains(&j);
                assert_eq!(hits[j * 20 + i] > 0, inside, "sample {i}, {j}");
            }
        }
    }

    #[test]
    fn depth_follows_the_plane() {
        // depth = 1 + 2 x − 3 y
        let plane = |x: f64, y: f64| [x, y, 1.0 + 2.0 * x - 3.0 * y];
        let samples = covered([plane(1.0, 1.0), plane(15.0, 2.0), plane(4.0, 17.0)]);
        assert!(samples.len() > 80);
        for (i, j, depth) in samples {
            assert!((depth - plane(i as f64 + 0.5, j as f64 + 0.5)[2]).abs() < 1e-9);
        }
    }

    #[test]
    fn degenerate_and_far_triangles_cover_nothing() {
        let p = [5.0, 5.0, 1.0];
        assert!(covered([p, p, p]).is_empty());
        assert!(covered([p, [6.0, 6.0, 1.0], [9.0, 9.0, 1.0]]).is_empty());
        assert!(covered([p, [f64::NAN, 6.0, 1.0], [9.0, 1.0, 1.0]]).is_empty());
        assert!(covered([[-1e30, -9.0, 0.0], [-1e30, -5.0, 0.0], [-2e30, -9.0, 0.0]]).is_empty());
    }
}
