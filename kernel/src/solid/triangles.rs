//! Triangles over a plane figure given by the edges around it.
//!
//! Constrained Delaunay triangulation: all given edges stay. Invariant: triangles run counter-clockwise and
//! cover just the area to the left of the outline. Must not know: what the figure is.

use spade::{ConstrainedDelaunayTriangulation, Triangulation};

use crate::geom::Point2;
use crate::quantity::tolerance;

/// A point of an arc, moved by at most [`tolerance::UNTIE_MM`], for choosing triangles only.
///
/// The points of one circle tie every test of a Delaunay triangulation, and ties are settled in exact
/// arithmetic, which took two thirds of a mesh's time. Points of straight pieces stay, so that points of one
/// line remain on it.
pub(super) fn untied(p: Point2, index: usize) -> Point2 {
    // Multiples of the golden ratio modulo one are spread evenly and never repeat.
    const GOLDEN_RATIO: f64 = 0.618_033_988_749_895;
    #[expect(clippy::cast_precision_loss, reason = "meshes have far fewer than 2^53 points")]
    let share = (index as f64 * GOLDEN_RATIO).fract() - 0.5;
    Point2::new(p.x + tolerance::UNTIE_MM * share, p.y - tolerance::UNTIE_MM * share)
}

/// A coordinate below this is rounding, in mm. The triangulation refuses numbers whose squares vanish.
const ROUNDING_MM: f64 = 1e-20;

/// Triangles of the area to the left of the edges of `outline`, cut along the edges `within` it. None if two
/// points coincide, two edges cross or a point lies on an edge of `outline`, so that no triangulation has all of
/// them whole.
pub(super) fn triangulate(
    points: &[Point2],
    outline: &[[usize; 2]],
    within: &[[usize; 2]],
) -> Option<Vec<[usize; 3]>> {
    let settled = |x: f64| if x.abs() < ROUNDING_MM { 0.0 } else { x };
    let vertices = points.iter().map(|p| spade::Point2::new(settled(p.x), settled(p.y))).collect();
    let constraints = outline.iter().chain(within).copied().collect();
    let mut refused = false;
    let net = ConstrainedDelaunayTriangulation::<spade::Point2<f64>>::try_bulk_load_cdt(
        vertices,
        constraints,
        |_| {
            refused = true;
        },
    )
    .ok()?;
    if refused || net.num_vertices() != points.len() {
        return None;
    }
    // A point of another contour on an edge parts it: the face beside it would not.
    let vertex = spade::handles::FixedVertexHandle::from_index;
    let is_whole = |&[a, b]: &[usize; 2]| net.get_edge_from_neighbors(vertex(a), vertex(b)).is_some();
    outline.iter().all(is_whole).then(|| inside_faces(&net, outline))
}

/// Faces reached from the left side of an outline's edge without crossing a fixed one. Every piece between
/// fixed edges has an edge of the outline, since edges within run from outline to outline.
fn inside_faces(
    net: &ConstrainedDelaunayTriangulation<spade::Point2<f64>>,
    outline: &[[usize; 2]],
) -> Vec<[usize; 3]> {
    use spade::handles::FixedVertexHandle;
    let mut inside = vec![false; net.num_all_faces()];
    let mut pending = Vec::new();
    for &[a, b] in outline {
        let (a, b) = (FixedVertexHandle::from_index(a), FixedVertexHandle::from_index(b));
        if let Some(face) = net.get_edge_from_neighbors(a, b).and_then(|e| e.face().as_inner()) {
            pending.push(face.fix());
        }
    }
    while let Some(face) = pending.pop() {
        if std::mem::replace(&mut inside[face.index()], true) {
            continue;
        }
        for edge in net.face(face).adjacent_edges() {
            if let (false, Some(next)) = (edge.is_constraint_edge(), edge.rev().face().as_inner()) {
                pending.push(next.fix());
            }
        }
    }
    net.inner_faces()
        .filter(|f| inside[f.fix().index()])
        .map(|f| f.vertices().map(|v| v.fix().index()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_corner_that_rounding_left_off_an_axis_is_on_it() {
        let corners = [(0.0, -1.3e-46), (60.0, -6e-31), (60.0, 9.5), (0.0, 9.5)];
        let points = corners.map(|(x, y)| Point2::new(x, y));
        let triangles = triangulate(&points, &[[0, 1], [1, 2], [2, 3], [3, 0]], &[]).unwrap();
        assert_eq!(triangles.len(), 2);
    }

    #[test]
    fn a_hole_that_touches_an_edge_between_its_ends_is_refused() {
        let at = |top: f64| {
            let square = [(0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0)];
            let hole = [(30.0, top), (40.0, 10.0), (20.0, 10.0)];
            square.into_iter().chain(hole).map(|(x, y)| Point2::new(x, y)).collect::<Vec<_>>()
        };
        let outline = [[0, 1], [1, 2], [2, 3], [3, 0], [4, 5], [5, 6], [6, 4]];
        assert!(triangulate(&at(39.0), &outline, &[]).is_some());
        assert_eq!(triangulate(&at(40.0), &outline, &[]), None);
    }
}
