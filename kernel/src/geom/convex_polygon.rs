//! Convex pieces of a polygon.
//!
//! Job: cut a simple polygon into few convex ones: ears are clipped (Meisters, 1975) and triangles joined again
//! while they stay convex (Hertel and Mehlhorn, 1983). Invariant: pieces run counter-clockwise, do not overlap and
//! cover the polygon up to slivers below [`tolerance::DUST_AREA_MM2`]. Must not know: what the polygon is.

use crate::quantity::tolerance;

use super::Point2;

/// Twice the area of the triangle; positive if it runs counter-clockwise.
fn cross(a: Point2, b: Point2, c: Point2) -> f64 {
    (b - a).cross(c - a)
}

/// Convex pieces of a counter-clockwise polygon without holes.
///
/// A polygon of less than three corners has none. Where rounding leaves no ear, the flattest corner is left out.
#[must_use]
pub fn convex_pieces(polygon: &[Point2]) -> Vec<Vec<Point2>> {
    let corners: Vec<Point2> = without_flat_corners(polygon);
    if corners.len() < 3 {
        return Vec::new();
    }
    if is_convex(&corners) {
        return vec![corners];
    }
    joined(triangles(&corners), &corners)
}

/// The convex hull of points, counter-clockwise (Andrew's monotone chain, 1979); fewer than three corners if they lie
/// on one line.
#[must_use]
pub fn convex_hull(points: &[Point2]) -> Vec<Point2> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let half = |points: &mut dyn Iterator<Item = Point2>| {
        let mut chain: Vec<Point2> = Vec::new();
        for p in points {
            while let [.., a, b] = chain[..] {
                if cross(a, b, p) > tolerance::DUST_AREA_MM2 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut hull = half(&mut sorted.iter().copied());
    hull.extend(half(&mut sorted.iter().rev().copied()));
    hull
}

fn without_flat_corners(polygon: &[Point2]) -> Vec<Point2> {
    let n = polygon.len();
    let kept = |i: &usize| {
        let (before, at, after) = (polygon[(i + n - 1) % n], polygon[*i], polygon[(i + 1) % n]);
        cross(before, at, after).abs() > tolerance::DUST_AREA_MM2
    };
    (0..n).filter(kept).map(|i| polygon[i]).collect()
}

fn is_convex(corners: &[Point2]) -> bool {
    let n = corners.len();
    (0..n).all(|i| cross(corners[i], corners[(i + 1) % n], corners[(i + 2) % n]) >= 0.0)
}

fn triangles(corners: &[Point2]) -> Vec<Vec<usize>> {
    let mut left: Vec<usize> = (0..corners.len()).collect();
    let mut found = Vec::new();
    while left.len() > 3 {
        let n = left.len();
        let around = |i: usize| [left[(i + n - 1) % n], left[i], left[(i + 1) % n]];
        let ear = (0..n).find(|&i| {
            let [a, b, c] = around(i);
            let [pa, pb, pc] = [a, b, c].map(|k| corners[k]);
            let inside =
                |p: Point2| cross(pa, pb, p) >= 0.0 && cross(pb, pc, p) >= 0.0 && cross(pc, pa, p) >= 0.0;
            cross(pa, pb, pc) > 0.0
                && left.iter().all(|&k| {
                    let p = corners[k];
                    k == a || k == b || k == c || p == pa || p == pb || p == pc || !inside(p)
                })
        });
        match ear {
            Some(i) => {
                found.push(around(i).to_vec());
                left.remove(i);
            }
            None => {
                let flatness = |i: &usize| {
                    let [a, b, c] = around(*i).map(|k| corners[k]);
                    cross(a, b, c).abs()
                };
                let flattest = (0..n).min_by(|a, b| flatness(a).total_cmp(&flatness(b)));
                left.remove(flattest.expect("there are more than three corners"));
            }
        }
    }
    found.push(left);
    found
}

/// Joins pieces over their common edges while they stay convex.
fn joined(mut pieces: Vec<Vec<usize>>, corners: &[Point2]) -> Vec<Vec<Point2>> {
    let mut first = 0;
    while first < pieces.len() {
        let found = (first + 1..pieces.len())
            .find_map(|second| joint(&pieces[first], &pieces[second], corners).map(|whole| (second, whole)));
        match found {
            Some((second, whole)) => {
                pieces[first] = whole;
                pieces.swap_remove(second);
            }
            None => first += 1,
        }
    }
    pieces.into_iter().map(|piece| piece.into_iter().map(|k| corners[k]).collect()).collect()
}

/// Two pieces as one, if they share an edge and stay convex.
fn joint(a: &[usize], b: &[usize], corners: &[Point2]) -> Option<Vec<usize>> {
    let (n, m) = (a.len(), b.len());
    let (i, j) = (0..n)
        .flat_map(|i| (0..m).map(move |j| (i, j)))
        .find(|&(i, j)| a[i] == b[(j + 1) % m] && a[(i + 1) % n] == b[j])?;
    // All of a from behind the edge round to its start, then b between.
    let whole: Vec<usize> = (1..=n).map(|k| a[(i + k) % n]).chain((2..m).map(|k| b[(j + k) % m])).collect();
    let polygon: Vec<Point2> = whole.iter().map(|&k| corners[k]).collect();
    is_convex(&polygon).then_some(whole)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(polygon: &[Point2]) -> f64 {
        (1..polygon.len() - 1).map(|i| 0.5 * cross(polygon[0], polygon[i], polygon[i + 1])).sum()
    }

    fn polygon(corners: &[(f64, f64)]) -> Vec<Point2> {
        corners.iter().map(|&(x, y)| Point2::new(x, y)).collect()
    }

    #[test]
    fn pieces_by_hand() {
        let square = polygon(&[(0.0, 0.0), (2.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]);
        assert_eq!(convex_pieces(&square).len(), 1, "a corner on a straight side is none");
        let angle = polygon(&[(0.0, 0.0), (4.0, 0.0), (4.0, 1.0), (1.0, 1.0), (1.0, 4.0), (0.0, 4.0)]);
        let pieces = convex_pieces(&angle);
        assert_eq!(pieces.len(), 2);
        assert!((pieces.iter().map(|p| area(p)).sum::<f64>() - 7.0).abs() < 1e-12);
        // A comb with three teeth: at least one piece a tooth and one for the back.
        let comb = polygon(&[
            (0.0, 0.0),
            (5.0, 0.0),
            (5.0, 3.0),
            (4.0, 3.0),
            (4.0, 1.0),
            (3.0, 1.0),
            (3.0, 3.0),
            (2.0, 3.0),
            (2.0, 1.0),
            (1.0, 1.0),
            (1.0, 3.0),
            (0.0, 3.0),
        ]);
        let pieces = convex_pieces(&comb);
        assert!(pieces.iter().all(|p| is_convex(p)) && (3..=5).contains(&pieces.len()), "{pieces:?}");
        assert!((pieces.iter().map(|p| area(p)).sum::<f64>() - 11.0).abs() < 1e-12);
    }

    #[test]
    fn the_hull_leaves_inner_points_and_flat_corners_out() {
        let points = polygon(&[(1.0, 1.0), (0.0, 0.0), (2.0, 0.0), (1.0, 0.0), (2.0, 2.0), (0.0, 2.0)]);
        assert_eq!(convex_hull(&points), polygon(&[(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)]));
    }
}
