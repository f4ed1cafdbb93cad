//! The space that a turning shape takes up: the cylinder about its axis that holds it.
//!
//! Invariant: the cylinder is never smaller than what the shape sweeps; a hole along the axis that the shape leaves
//! free is filled. Must not know: how fast or how far it turns.

use crate::geom::{Convex, Placement, Vec3};
use crate::quantity::maths;

use super::stand::{level, stand};
use super::{Disc, Piece, Prism, Shape};

/// The smallest cylinder about an axis that holds a shape at every turn; `along` has unit length. For a surface
/// without triangles it is the surface itself. The radius is exact for straight and for coaxial round outlines, and
/// for other circles too large by less than 0.1 % of the circle's radius.
pub(super) fn swept(shape: &Shape, [through, along]: [Vec3<f64>; 2]) -> Option<Shape> {
    let axis = stand(through, along, level(along))?;
    let still = Piece::still(shape.clone());
    let Some(hull) = still.hull() else { return Some(shape.clone()) };
    let [low, high] = [-1.0, 1.0].map(|sign| (hull.farthest(along.times(sign)) - through).dot(along));
    let radius = match shape {
        Shape::Prism(prism) => {
            let circles = prism
                .discs
                .iter()
                .flat_map(|disc| prism.reach.map(|height| rim_radius(prism.placement, *disc, height, axis)));
            circles.fold(0.0, f64::max)
        }
        Shape::Surface(surface) => surface.vertices.iter().map(|v| radius_of(axis, *v)).fold(0.0, f64::max),
    };
    Some(Shape::Prism(Prism::cylinder(axis, radius, [low, high])))
}

fn radius_of(axis: Placement<f64>, point: Vec3<f64>) -> f64 {
    let at = axis.coordinates(point);
    maths::hypot(at.x, at.y)
}

/// Largest distance from an axis to the rim of a disc. Squared, the distance at angle `u` of the rim is a sum of
/// harmonics, `|c|² + 2r (c·a cos u + c·b sin u) + r² |a cos u + b sin u|²` with the centre `c` and the disc's unit
/// vectors `a`, `b` seen along the axis. Its second derivative is at most `2r|c| + 4r²` in size, so that between
/// samples `h` apart it rises above the higher of the two by `h²/8` of that at most.
fn rim_radius(placement: Placement<f64>, disc: Disc, height: f64, axis: Placement<f64>) -> f64 {
    /// One every degree.
    const SAMPLES: u32 = 360;
    let flat = |v: Vec3<f64>| {
        let seen = v - axis.n.times(v.dot(axis.n));
        [seen.dot(axis.x), seen.dot(axis.y)]
    };
    let centre = flat(placement.lift(disc.centre, height) - axis.origin);
    let off = maths::hypot(centre[0], centre[1]);
    let is_coaxial = placement.n.cross(axis.n).length() <= crate::quantity::tolerance::PARALLEL;
    if disc.radius <= 0.0 || is_coaxial {
        return off + disc.radius.max(0.0);
    }
    let [a, b] = [placement.x, placement.y].map(flat);
    let step = 2.0 * maths::PI / f64::from(SAMPLES);
    let squared = |i: u32| {
        let (sin, cos) = maths::sin_cos(f64::from(i) * step);
        let [x, y] = [0, 1].map(|k| centre[k] + disc.radius * (a[k] * cos + b[k] * sin));
        x * x + y * y
    };
    let highest = (0..SAMPLES).map(squared).fold(0.0, f64::max);
    let bend = 2.0 * disc.radius * off + 4.0 * disc.radius * disc.radius;
    (highest + step * step / 8.0 * bend).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Box3;

    fn radius(shape: &Shape, axis: [Vec3<f64>; 2]) -> f64 {
        let Some(Shape::Prism(prism)) = swept(shape, axis) else { panic!("a prism sweeps a prism") };
        prism.discs[0].radius
    }

    fn at(x: f64, y: f64, z: f64) -> Vec3<f64> {
        Vec3::new(x, y, z)
    }

    #[test]
    fn key_on_a_shaft_sweeps_to_its_farthest_corner() {
        let key = Placement { origin: at(0.0, 14.0, 0.0), ..Placement::identity() };
        let key = Shape::Prism(Prism::cuboid(key, [8.0, 6.0], [10.0, 40.0]));
        let swept = swept(&key, [at(0.0, 0.0, 0.0), at(0.0, 0.0, 1.0)]).unwrap();
        let Box3 { low, high } = Piece::still(swept).extent().unwrap();
        // Corner at (4, 17).
        let radius = (4.0_f64 * 4.0 + 17.0 * 17.0).sqrt();
        assert!((high - at(radius, radius, 40.0)).length() < 1e-12, "{high:?}");
        assert!((low - at(-radius, -radius, 10.0)).length() < 1e-12, "{low:?}");
    }

    #[test]
    fn coaxial_disc_sweeps_itself() {
        let disc = Shape::Prism(Prism::cylinder(Placement::identity(), 30.0, [0.0, 5.0]));
        assert_eq!(radius(&disc, [at(0.0, 0.0, 9.0), at(0.0, 0.0, 1.0)]), 30.0);
        assert_eq!(radius(&disc, [at(3.0, 4.0, 9.0), at(0.0, 0.0, 1.0)]), 35.0);
    }

    /// A bolt across a shaft, turning with it: a cylinder of radius 3 along x from 10 to 20 reaches
    /// `√(20² + 3²)` from the z axis.
    #[test]
    fn cross_bolt_sweeps_to_its_rim_and_hardly_more() {
        let x = at(1.0, 0.0, 0.0);
        let bolt = stand(at(0.0, 0.0, 0.0), x, level(x)).unwrap();
        let bolt = Shape::Prism(Prism::cylinder(bolt, 3.0, [10.0, 20.0]));
        let (got, exact) = (radius(&bolt, [at(0.0, 0.0, 0.0), at(0.0, 0.0, 1.0)]), 409.0_f64.sqrt());
        assert!(exact <= got && got < exact + 0.003, "{got} {exact}");
    }
}
