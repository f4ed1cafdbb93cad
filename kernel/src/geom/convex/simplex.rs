//! The point of a simplex that is nearest to the origin.
//!
//! A simplex has one to four corners, each the difference of a point of one body and a point of another.
//! Invariant: what is left after a step has its nearest point within, and its weights are not negative and add up
//! to one, however flat the simplex. Must not know: where the corners come from.

use crate::geom::Vec3;
use crate::quantity::tolerance;

/// A corner: a point of one body and one of another.
#[derive(Clone, Copy, Debug)]
pub(super) struct Corner {
    pub(super) points: [Vec3<f64>; 2],
    /// From the first to the second.
    pub(super) way: Vec3<f64>,
}

/// Up to four corners with weights.
#[derive(Clone, Copy, Debug)]
pub(super) struct Simplex {
    corners: [Corner; 4],
    weights: [f64; 4],
    count: usize,
}

/// Where the origin is.
pub(super) enum Origin {
    /// The simplex holds it.
    Within,
    /// Its nearest point of the simplex.
    Nearest(Vec3<f64>),
}

impl Simplex {
    pub(super) fn new(first: Corner) -> Self {
        Self { corners: [first; 4], weights: [1.0, 0.0, 0.0, 0.0], count: 1 }
    }

    pub(super) fn corners(&self) -> &[Corner] {
        &self.corners[..self.count]
    }

    /// The points of both bodies to which the weights lead.
    pub(super) fn points(&self) -> [Vec3<f64>; 2] {
        [0, 1].map(|body| {
            let weighted = self.corners().iter().zip(self.weights);
            weighted.fold(Vec3::new(0.0, 0.0, 0.0), |sum, (c, w)| sum + c.points[body].times(w))
        })
    }

    /// Takes one more corner and drops those that the nearest point does not need.
    pub(super) fn step(&mut self, corner: Corner) -> Origin {
        self.corners[self.count] = corner;
        self.count += 1;
        let [a, b, c, d] = self.corners.map(|corner| corner.way);
        let (keep, weights, nearest) = match self.count {
            2 => on_segment([0, 1], [a, b]),
            3 => on_triangle([0, 1, 2], [a, b, c]),
            _ => match on_tetrahedron([a, b, c, d]) {
                Ok(found) => found,
                Err(weights) => {
                    self.weights = weights;
                    return Origin::Within;
                }
            },
        };
        let corners = self.corners;
        let mut count = 0;
        for (index, weight) in keep.into_iter().zip(weights) {
            if weight > 0.0 {
                self.corners[count] = corners[index];
                self.weights[count] = weight;
                count += 1;
            }
        }
        self.count = count;
        Origin::Nearest(nearest)
    }
}

/// Indices of corners, their weights, and the nearest point.
type Found = ([usize; 3], [f64; 3], Vec3<f64>);

fn on_segment([i, j]: [usize; 2], [a, b]: [Vec3<f64>; 2]) -> Found {
    let way = b - a;
    let square = way.dot(way);
    let share = if square > 0.0 { (-a.dot(way) / square).clamp(0.0, 1.0) } else { 0.0 };
    ([i, j, j], [1.0 - share, share, 0.0], a + way.times(share))
}

fn on_triangle([i, j, k]: [usize; 3], [a, b, c]: [Vec3<f64>; 3]) -> Found {
    let normal = (b - a).cross(c - a);
    let square = normal.dot(normal);
    // Areas of the triangles that the origin's foot makes with two corners each.
    let parts = [b.cross(c), c.cross(a), a.cross(b)].map(|area| area.dot(normal));
    if square > 0.0 && parts.iter().all(|&part| part > 0.0) {
        let sum: f64 = parts.iter().sum();
        let weights = parts.map(|part| part / sum);
        // Square to the triangle to the last digit, however near the origin lies to it.
        return ([i, j, k], weights, normal.times(a.dot(normal) / square));
    }
    nearer(nearer(on_segment([i, j], [a, b]), on_segment([j, k], [b, c])), on_segment([k, i], [c, a]))
}

fn nearer(one: Found, other: Found) -> Found {
    if other.2.dot(other.2) < one.2.dot(one.2) { other } else { one }
}

/// The nearest point on one of the faces, or the weights of the origin within.
fn on_tetrahedron(corners: [Vec3<f64>; 4]) -> Result<Found, [f64; 4]> {
    const FACES: [([usize; 3], usize); 4] = [([0, 1, 2], 3), ([0, 1, 3], 2), ([0, 2, 3], 1), ([1, 2, 3], 0)];
    let on_face = |face: [usize; 3]| on_triangle(face, face.map(|index| corners[index]));
    let mut best: Option<Found> = None;
    let mut weights = [0.0; 4];
    for (face, opposite) in FACES {
        let [a, b, c] = face.map(|index| corners[index]);
        let normal = (b - a).cross(c - a);
        let (height, origin) = ((corners[opposite] - a).dot(normal), -a.dot(normal));
        // A flat tetrahedron holds nothing.
        if height != 0.0 && origin / height > 0.0 {
            weights[opposite] = origin / height;
        } else {
            let found = on_face(face);
            best = Some(best.map_or(found, |best| nearer(best, found)));
        }
    }
    if let Some(best) = best {
        return Ok(best);
    }
    let sum: f64 = weights.iter().sum();
    let weights = weights.map(|weight| weight / sum);
    let centre = corners.iter().zip(weights).fold(Vec3::new(0.0, 0.0, 0.0), |sum, (c, w)| sum + c.times(w));
    // Of a nearly flat one rounding says so, and the weights lead elsewhere.
    if centre.length() <= tolerance::SEPARATION_MM {
        return Err(weights);
    }
    let [first, others @ ..] = FACES.map(|(face, _)| on_face(face));
    Ok(others.into_iter().fold(first, nearer))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn corner(x: f64, y: f64, z: f64) -> Corner {
        let way = Vec3::new(x, y, z);
        Corner { points: [Vec3::new(0.0, 0.0, 0.0), way], way }
    }

    fn nearest(corners: &[Corner]) -> Option<Vec3<f64>> {
        let mut simplex = Simplex::new(corners[0]);
        let mut found = Some(corners[0].way);
        for &next in &corners[1..] {
            found = match simplex.step(next) {
                Origin::Within => None,
                Origin::Nearest(p) => Some(p),
            };
        }
        found
    }

    #[test]
    fn nearest_points_of_simplices_by_hand() {
        // A line through (0, 3, 4) along x: 5 away.
        let p = nearest(&[corner(-1.0, 3.0, 4.0), corner(2.0, 3.0, 4.0)]).unwrap();
        assert!((p - Vec3::new(0.0, 3.0, 4.0)).length() < 1e-15);
        // The plane x + y + z = 3.
        let p = nearest(&[corner(3.0, 0.0, 0.0), corner(0.0, 3.0, 0.0), corner(0.0, 0.0, 3.0)]).unwrap();
        assert!((p - Vec3::new(1.0, 1.0, 1.0)).length() < 1e-15);
    }

    #[test]
    fn tetrahedron_around_the_origin_holds_it() {
        let around = [
            corner(-1.0, -1.0, -1.0),
            corner(3.0, -1.0, -1.0),
            corner(-1.0, 3.0, -1.0),
            corner(-1.0, -1.0, 3.0),
        ];
        assert_eq!(nearest(&around), None);
        // Moved up by 2 it stands on z = 1.
        let above = around.map(|c| corner(c.way.x, c.way.y, c.way.z + 2.0));
        assert!((nearest(&above).unwrap() - Vec3::new(0.0, 0.0, 1.0)).length() < 1e-15);
    }
}
