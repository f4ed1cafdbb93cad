//! The convex hull of points, rounded on one side by a piece of a cylinder, or swollen square to an axis.
//!
//! Invariant: the round side's own corners are among the points. Must not know: what the hull stands for.

use crate::geom::Vec3;

use super::Convex;

/// The convex hull of points and at most one round side, swollen or not.
#[derive(Clone, Copy, Debug)]
pub struct Hull {
    points: [Vec3<f64>; MOST_POINTS],
    count: u8,
    round: Option<RoundSide>,
    /// A unit vector, and how far the hull is swollen at right angles to it, in mm.
    swell: Option<(Vec3<f64>, f64)>,
}

const MOST_POINTS: usize = 10;

/// A piece of a cylinder of less than half a turn.
#[derive(Clone, Copy, Debug)]
pub struct RoundSide {
    /// A point of the cylinder's axis in mm, where the side begins.
    pub centre: Vec3<f64>,
    /// From there along the axis to where it ends, in mm.
    pub along: Vec3<f64>,
    /// Unit vector from the axis to the middle of the side.
    pub toward: Vec3<f64>,
    /// Unit vector at right angles to it and to the axis.
    pub beside: Vec3<f64>,
    /// Cosine of half the angle that the side takes up, above zero.
    pub least_cosine: f64,
    /// Radius of the cylinder in mm.
    pub radius: f64,
}

impl Hull {
    /// The hull of one to ten points, in mm.
    ///
    /// # Panics
    /// If there are none, or more.
    #[must_use]
    pub fn new(points: &[Vec3<f64>]) -> Self {
        let mut all = [points[0]; MOST_POINTS];
        all[..points.len()].copy_from_slice(points);
        let count = u8::try_from(points.len()).expect("a hull has at most ten points");
        Self { points: all, count, round: None, swell: None }
    }

    /// The same with a round side.
    #[must_use]
    pub fn rounded(self, side: RoundSide) -> Self {
        Self { round: Some(side), ..self }
    }

    /// The same with a disc of this radius in mm, square to a unit vector, about each of its points.
    #[must_use]
    pub fn swollen(self, axis: Vec3<f64>, radius: f64) -> Self {
        Self { swell: (radius > 0.0).then_some((axis, radius)), ..self }
    }

    /// Its points.
    #[must_use]
    pub fn points(&self) -> &[Vec3<f64>] {
        &self.points[..usize::from(self.count)]
    }

    /// The mean of its points.
    #[must_use]
    pub fn middle(&self) -> Vec3<f64> {
        let sum = self.points().iter().fold(Vec3::new(0.0, 0.0, 0.0), |sum, &p| sum + p);
        sum.times(1.0 / f64::from(self.count))
    }
}

impl Convex for Hull {
    #[inline]
    fn farthest(&self, direction: Vec3<f64>) -> Vec3<f64> {
        let bare = self.farthest_bare(direction);
        let Some((axis, radius)) = self.swell else { return bare };
        let across = direction - axis.times(direction.dot(axis));
        let length = across.length();
        if length > 0.0 { bare + across.times(radius / length) } else { bare }
    }
}

impl Hull {
    #[inline]
    fn farthest_bare(&self, direction: Vec3<f64>) -> Vec3<f64> {
        let mut best = self.points[0];
        let mut reach = best.dot(direction);
        for &p in &self.points[1..usize::from(self.count)] {
            let along = p.dot(direction);
            if along > reach {
                (best, reach) = (p, along);
            }
        }
        let Some(side) = &self.round else { return best };
        let (u, v) = (direction.dot(side.toward), direction.dot(side.beside));
        let across = (u * u + v * v).sqrt();
        if across > 0.0 && u >= side.least_cosine * across {
            let out = side.toward.times(u / across) + side.beside.times(v / across);
            let near = side.centre + out.times(side.radius);
            let p = if side.along.dot(direction) > 0.0 { near + side.along } else { near };
            if p.dot(direction) > reach {
                return p;
            }
        }
        best
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::maths;

    #[test]
    fn round_side_reaches_out_between_its_corners_only() {
        let at = |x: f64, y: f64, z: f64| Vec3::new(x, y, z);
        let half = std::f64::consts::FRAC_PI_4;
        let corner = 10.0 * maths::cos(half);
        let slice = Hull::new(&[
            at(corner, corner, 0.0),
            at(corner, -corner, 0.0),
            at(corner, corner, 5.0),
            at(corner, -corner, 5.0),
        ])
        .rounded(RoundSide {
            centre: at(0.0, 0.0, 0.0),
            along: at(0.0, 0.0, 5.0),
            toward: at(1.0, 0.0, 0.0),
            beside: at(0.0, 1.0, 0.0),
            least_cosine: maths::cos(half),
            radius: 10.0,
        });
        // (0.8, 0.6) lies within 45° of the middle, (0.6, 0.8) does not.
        assert!((slice.farthest(at(4.0, 3.0, 1.0)) - at(8.0, 6.0, 5.0)).length() < 1e-12);
        assert_eq!(slice.farthest(at(3.0, 4.0, -1.0)), at(corner, corner, 0.0));
    }
}
