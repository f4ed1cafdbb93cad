//! How a neighbour stands: a place, where its axis points, and how it is turned about that axis.
//!
//! Invariant: the placements made here are right-handed. Must not know: what stands there.

use crate::geom::{Placement, Vec3};
use crate::quantity::tolerance;

/// The placement at `at` whose normal points along `along` and whose x lies as near to `across` as it can; none if
/// a direction has no length, or if both are parallel.
#[must_use]
pub fn stand(at: Vec3<f64>, along: Vec3<f64>, across: Vec3<f64>) -> Option<Placement<f64>> {
    let n = unit(along)?;
    let across = unit(across)?;
    let aside = across - n.times(across.dot(n));
    if aside.length() <= tolerance::PARALLEL {
        return None;
    }
    let x = unit(aside)?;
    Some(Placement { origin: at, x, y: n.cross(x), n })
}

/// Where x points if nobody says it: level with the base panel and square to `along`, so that y points up; along the
/// base panel's x where `along` is square to that panel.
#[must_use]
pub fn level(along: Vec3<f64>) -> Vec3<f64> {
    let up = Vec3::new(0.0, 0.0, 1.0);
    let across = up.cross(along);
    if across.length() > tolerance::PARALLEL * along.length() { across } else { Vec3::new(1.0, 0.0, 0.0) }
}

fn unit(v: Vec3<f64>) -> Option<Vec3<f64>> {
    let length = v.length();
    (length.is_finite() && length > tolerance::SNAP_MM).then(|| v.times(1.0 / length))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn level_placement_has_its_y_upwards() {
        // Looking along the base panel's y: x is the base panel's -x, and y its z.
        let along = Vec3::new(0.0, 5.0, 0.0);
        let placed = stand(Vec3::new(1.0, 2.0, 3.0), along, level(along)).unwrap();
        assert_eq!(placed.n, Vec3::new(0.0, 1.0, 0.0));
        assert_eq!(placed.x, Vec3::new(-1.0, 0.0, 0.0));
        assert_eq!(placed.y, Vec3::new(0.0, 0.0, 1.0));
        let upright = Vec3::new(0.0, 0.0, -2.0);
        assert_eq!(level(upright), Vec3::new(1.0, 0.0, 0.0));
    }

    #[test]
    fn directions_without_length_and_parallel_ones_make_no_placement() {
        let (at, z) = (Vec3::new(0.0, 0.0, 0.0), Vec3::new(0.0, 0.0, 1.0));
        assert_eq!(stand(at, at, z), None);
        assert_eq!(stand(at, z, z.times(-3.0)), None);
        assert_eq!(stand(at, z, Vec3::new(f64::NAN, 0.0, 0.0)), None);
    }
}
