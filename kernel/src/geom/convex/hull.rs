//! The convex hull of points, rounded on one side by a piece of a cylinder, or swollen square to an axis.
//!
//! Invariant: the round side's own corners are among the points. Must not know: what the hull stands for.

use crate::geom::{Point2, Vec3};
use crate::quantity::maths;

use super::Convex;

/// The convex hull of points and at most one round thing.
#[derive(Clone, Debug)]
pub struct Hull {
    points: [Vec3<f64>; MOST_POINTS],
    count: u8,
    /// Few hulls have it, and all are read all the time.
    round: Option<Box<Round>>,
}

const MOST_POINTS: usize = 10;

/// What rounds a hull.
#[derive(Clone, Debug)]
enum Round {
    Side(RoundSide),
    Triangle(RolledTriangle),
    /// A unit vector, and the radius of a disc square to it about each point, in mm.
    Discs(Vec3<f64>, f64),
}

impl Round {
    /// The farthest point along a direction of it and of the points, of which the farthest one is known.
    fn farthest(&self, direction: Vec3<f64>, best: Vec3<f64>) -> Vec3<f64> {
        match self {
            Self::Side(side) => side.farthest(direction, best),
            Self::Triangle(triangle) => triangle.farthest(direction, best),
            Self::Discs(axis, radius) => {
                let across = direction - axis.times(direction.dot(*axis));
                let length = across.length();
                if length > 0.0 { best + across.times(radius / length) } else { best }
            }
        }
    }
}

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

/// A plane triangle rolled on a cylinder, less than a quarter of a turn to either side.
#[derive(Clone, Copy, Debug)]
pub struct RolledTriangle {
    /// A point of the cylinder's axis in mm.
    pub centre: Vec3<f64>,
    /// Unit vector along the axis.
    pub axis: Vec3<f64>,
    /// Unit vector from the axis to where angles begin.
    pub toward: Vec3<f64>,
    /// Unit vector at right angles to it and to the axis, to where angles grow.
    pub beside: Vec3<f64>,
    /// Radius of the cylinder in mm.
    pub radius: f64,
    /// Its corners: how far along the axis in mm, and the angle in rad.
    pub corners: [Point2; 3],
}

impl RolledTriangle {
    /// The farther one of the farthest point along a direction and a point.
    fn farthest(&self, direction: Vec3<f64>, mut best: Vec3<f64>) -> Vec3<f64> {
        let mut reach = best.dot(direction);
        for p in self.farthest_between(direction) {
            let along = p.dot(direction);
            if along > reach {
                (best, reach) = (p, along);
            }
        }
        best
    }

    /// Points between two corners that are farthest along a direction, of each side that has one.
    ///
    /// With `d` along the axis and `e` square to it, a point is `d x + e R cos(θ - φ)` far, and along a side `x` and
    /// `θ` grow evenly: there the change is zero where `sin(θ - φ) = d Δx / (e R Δθ)`. Inside, it never is, unless
    /// the direction is square to the axis, and then the line of farthest points ends in a side.
    fn farthest_between(&self, direction: Vec3<f64>) -> impl Iterator<Item = Vec3<f64>> {
        let (u, v) = (direction.dot(self.toward), direction.dot(self.beside));
        let (across, along) = ((u * u + v * v).sqrt(), direction.dot(self.axis));
        let facing = maths::atan2(v, u);
        let [a, b, c] = self.corners;
        [[a, b], [b, c], [c, a]].into_iter().filter_map(move |[from, to]| {
            let way = to - from;
            let sine = along * way.x / (across * self.radius * way.y);
            if !(-1.0..=1.0).contains(&sine) {
                return None;
            }
            let angle = facing + maths::asin(sine);
            let share = (angle - from.y) / way.y;
            (share > 0.0 && share < 1.0).then(|| {
                let (sin, cos) = maths::sin_cos(angle);
                let out = self.toward.times(cos) + self.beside.times(sin);
                self.centre + self.axis.times(from.x + share * way.x) + out.times(self.radius)
            })
        })
    }
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
        Self { points: all, count, round: None }
    }

    /// The same with a round side.
    #[must_use]
    pub fn rounded(self, side: RoundSide) -> Self {
        Self { round: Some(Box::new(Round::Side(side))), ..self }
    }

    /// The same with a rolled triangle.
    #[must_use]
    pub fn with_rolled(self, triangle: RolledTriangle) -> Self {
        Self { round: Some(Box::new(Round::Triangle(triangle))), ..self }
    }

    /// The same with a disc of this radius in mm, square to a unit vector, about each of its points.
    #[must_use]
    pub fn swollen(self, axis: Vec3<f64>, radius: f64) -> Self {
        Self { round: Some(Box::new(Round::Discs(axis, radius))), ..self }
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
        let mut best = self.points[0];
        let mut reach = best.dot(direction);
        for &p in &self.points[1..usize::from(self.count)] {
            let along = p.dot(direction);
            if along > reach {
                (best, reach) = (p, along);
            }
        }
        match &self.round {
            None => best,
            Some(round) => round.farthest(direction, best),
        }
    }
}

impl RoundSide {
    /// The farther one of the farthest point along a direction and a point.
    fn farthest(&self, direction: Vec3<f64>, best: Vec3<f64>) -> Vec3<f64> {
        let (u, v) = (direction.dot(self.toward), direction.dot(self.beside));
        let across = (u * u + v * v).sqrt();
        if across > 0.0 && u >= self.least_cosine * across {
            let out = self.toward.times(u / across) + self.beside.times(v / across);
            let near = self.centre + out.times(self.radius);
            let p = if self.along.dot(direction) > 0.0 { near + self.along } else { near };
            if p.dot(direction) > best.dot(direction) {
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

    #[test]
    fn rolled_triangle_reaches_as_far_as_its_points_do() {
        let at = |x: f64, y: f64, z: f64| Vec3::new(x, y, z);
        let corners = [Point2::new(0.0, -0.5), Point2::new(6.0, 0.1), Point2::new(1.0, 0.45)];
        let (radius, centre) = (4.0, at(1.0, 2.0, 3.0));
        let [toward, beside] = [at(1.0, 0.0, 0.0), at(0.0, 1.0, 0.0)];
        let axis = at(0.0, 0.0, 1.0);
        let on = |p: Point2| {
            let out = toward.times(maths::cos(p.y)) + beside.times(maths::sin(p.y));
            centre + axis.times(p.x) + out.times(radius)
        };
        let rolled = RolledTriangle { centre, axis, toward, beside, radius, corners };
        let hull = Hull::new(&corners.map(on)).with_rolled(rolled);
        for step in 0..200 {
            let angle = f64::from(step) * 0.1;
            let out = toward.times(maths::cos(angle)) + beside.times(maths::sin(angle));
            let direction = out + axis.times(maths::sin(7.0 * angle));
            let mut farthest = f64::NEG_INFINITY;
            for i in 0..=400 {
                for j in 0..=(400 - i) {
                    let [i, j] = [i, j].map(|n: i32| f64::from(n) / 400.0);
                    let [a, b, c] = corners;
                    farthest = farthest.max(on(a + (b - a) * i + (c - a) * j).dot(direction));
                }
            }
            let found = hull.farthest(direction).dot(direction);
            // The points are 0.01 mm apart, and how far they reach is flat about the farthest one.
            assert!(found >= farthest - 1e-12 && found <= farthest + 1e-4, "{step}: {found} {farthest}");
        }
    }
}
