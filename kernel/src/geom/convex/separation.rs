//! How far two convex bodies are apart.
//!
//! The differences of their points are a convex body themselves, and the distance is that of the origin from it.
//! A simplex of differences is brought nearer to the origin corner by corner (Gilbert, Johnson and Keerthi, "A
//! fast procedure for computing the distance between complex objects in three-dimensional space", IEEE Journal of
//! Robotics and Automation 4, 1988). The plane square to the way found bounds the distance from below, so that
//! the answer carries its own proof. Invariant: the distance told is never below that bound, nor above it by more
//! than the tolerance asked for. Must not know: what the bodies are.

use crate::geom::Vec3;
use crate::quantity::tolerance;

use super::Convex;
use super::simplex::{Corner, Origin, Simplex};

/// Two bodies that do not meet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Separation {
    /// Smallest distance in mm, above zero.
    pub distance: f64,
    /// Points of either body that are so near.
    pub points: [Vec3<f64>; 2],
    /// Unit vector from the first body to the second, square to a plane between them at the bound below.
    pub normal: Vec3<f64>,
    /// No points are nearer than this, in mm.
    pub at_least: f64,
}

/// How two bodies lie.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Apart {
    /// They are at least this far apart in mm, which is farther than was asked for.
    Beyond(f64),
    /// They are so far apart.
    By(Separation),
    /// They share this point, or come nearer than rounding tells.
    Meet(Vec3<f64>),
}

/// More steps than any pair takes: flat pairs take up to ten, round ones some thirty.
const MOST_STEPS: usize = 200;

/// How far two bodies are apart; bodies farther apart than `limit` mm need not be measured to the end.
#[must_use]
pub fn separation(one: &impl Convex, other: &impl Convex, start: Vec3<f64>, limit: f64) -> Apart {
    let corner = |direction: Vec3<f64>| {
        let points = [one.farthest(direction), other.farthest(-direction)];
        Corner { points, way: points[1] - points[0] }
    };
    let first = corner(start);
    let mut simplex = Simplex::new(first);
    let mut way = first.way;
    let mut points = first.points;
    let mut at_least = 0.0_f64;
    let mut normal = None;
    for _ in 0..MOST_STEPS {
        let length = way.length();
        if length <= tolerance::SEPARATION_MM {
            return Apart::Meet(points[0].times(0.5) + points[1].times(0.5));
        }
        let next = corner(way);
        let bound = way.dot(next.way) / length;
        if bound > at_least {
            at_least = bound;
            normal = Some(way.times(1.0 / length));
        }
        if at_least > limit {
            return Apart::Beyond(at_least);
        }
        let is_known = simplex.corners().iter().any(|known| known.way == next.way);
        if is_known || length - at_least <= tolerance::SEPARATION_MM {
            break;
        }
        let mut tried = simplex;
        match tried.step(next) {
            Origin::Within => {
                let [a, b] = tried.points();
                return Apart::Meet(a.times(0.5) + b.times(0.5));
            }
            // Rounding lets it come no nearer.
            Origin::Nearest(nearer) if nearer.dot(nearer) >= length * length => break,
            Origin::Nearest(nearer) => way = nearer,
        }
        simplex = tried;
        points = simplex.points();
    }
    let distance = way.length();
    match normal {
        // No plane parts them, and only rounding keeps the simplex from closing.
        None if distance <= tolerance::CLEARANCE_MM => {
            Apart::Meet(points[0].times(0.5) + points[1].times(0.5))
        }
        _ => {
            let normal = normal.unwrap_or(way.times(1.0 / distance));
            Apart::By(Separation { distance, points, normal, at_least })
        }
    }
}
