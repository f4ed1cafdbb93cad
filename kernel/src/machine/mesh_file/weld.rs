//! Triangles with corners of their own become a surface with shared ones.
//!
//! Invariant: corners are shared if their coordinates are the same bit for bit.

use std::collections::HashMap;

use crate::geom::Vec3;
use crate::machine::Surface;
use crate::machine::piece::place;
use crate::quantity::tolerance::FARTHEST_MM;

use super::MeshFault;

/// Three corners in mm.
pub(super) type Triangle = [Vec3<f64>; 3];

/// The surface of these triangles, those without area left out.
///
/// # Errors
/// [`MeshFault::NotFinite`] with the number of the triangle, or [`MeshFault::Empty`].
pub(super) fn welded(triangles: &[Triangle]) -> Result<Surface, MeshFault> {
    let mut surface = Surface::default();
    let mut known: HashMap<[u64; 3], u32> = HashMap::new();
    for (index, triangle) in triangles.iter().enumerate() {
        let is_near = |v: &Vec3<f64>| [v.x, v.y, v.z].iter().all(|x| x.abs() <= FARTHEST_MM);
        if !triangle.iter().all(is_near) {
            return Err(MeshFault::NotFinite { triangle: index + 1 });
        }
        let corners = triangle.map(|v| {
            *known.entry(place(v)).or_insert_with(|| {
                surface.vertices.push(v);
                u32::try_from(surface.vertices.len() - 1).expect("a file has less than 2^32 corners")
            })
        });
        let [a, b, c] = triangle;
        if (*b - *a).cross(*c - *a).length() > 0.0 {
            surface.triangles.push(corners);
        }
    }
    if surface.triangles.is_empty() {
        return Err(MeshFault::Empty);
    }
    if surface.is_closed() && surface.volume() < 0.0 {
        surface.triangles.iter_mut().for_each(|[_, b, c]| std::mem::swap(b, c));
    }
    Ok(surface)
}
