//! Triangles that files in single precision would hold without area.
//!
//! Job: join vertices nearer to each other than an edge may be, and turn the longest edge of a triangle that is
//! thinner than that over to its neighbour. Invariant: the mesh stays closed, since every edge is still run as
//! often one way as the other; no vertex moves by more than [`tolerance::LEAST_EDGE_MM`], and no triangle
//! leaves its surface of its zone.

use std::collections::BTreeMap;

use crate::geom::Vec3;
use crate::quantity::tolerance;

use super::{Face, Mesh};

/// The mesh without such triangles as far as their neighbours allow; `marked` are numbers of vertices, which
/// become those of the vertices that stand for them.
pub(super) fn without_slivers(mut mesh: Mesh, marked: &mut [u32]) -> Mesh {
    join_vertices(&mut mesh, marked);
    if turn_edges(&mut mesh) {
        // An edge may now run between vertices that lay beside each other without one.
        join_vertices(&mut mesh, marked);
    }
    mesh
}

/// Lets the ends of every edge that is too short be one vertex.
fn join_vertices(mesh: &mut Mesh, marked: &mut [u32]) {
    let Mesh { vertices, faces } = mesh;
    let at = |v: u32| vertices[v as usize];
    let is_short = |a: u32, b: u32| a < b && (at(b) - at(a)).length() < tolerance::LEAST_EDGE_MM;
    // Every vertex that goes, and one of a lower number that it is joined to.
    let mut joined: BTreeMap<u32, u32> = BTreeMap::new();
    let first = |joined: &BTreeMap<u32, u32>, mut v: u32| {
        while let Some(&lower) = joined.get(&v) {
            v = lower;
        }
        v
    };
    let edges = faces.iter().flat_map(|f| (0..3).map(|i| (f.corners[i], f.corners[(i + 1) % 3])));
    for (a, b) in edges.filter(|&(a, b)| is_short(a, b)) {
        let (a, b) = (first(&joined, a), first(&joined, b));
        if a != b {
            joined.insert(a.max(b), a.min(b));
        }
    }
    if joined.is_empty() {
        return;
    }
    for face in faces.iter_mut() {
        face.corners = face.corners.map(|v| first(&joined, v));
    }
    faces.retain(|f| {
        let [a, b, c] = f.corners;
        a != b && b != c && c != a
    });
    let mut numbers: Vec<Option<u32>> = vec![None; vertices.len()];
    let mut kept = Vec::with_capacity(vertices.len());
    for (index, (number, &vertex)) in numbers.iter_mut().zip(&*vertices).enumerate() {
        if u32::try_from(index).is_ok_and(|v| !joined.contains_key(&v)) {
            *number = u32::try_from(kept.len()).ok();
            kept.push(vertex);
        }
    }
    for face in faces {
        face.corners = face.corners.map(|v| numbers[v as usize].expect("no face has a vertex that went"));
    }
    for mark in marked {
        *mark = numbers[first(&joined, *mark) as usize].expect("a vertex that stays has a number");
    }
    *vertices = kept;
}

/// The index of the corner opposite the longest edge, and how high it stands over it.
fn height([a, b, c]: [Vec3<f64>; 3]) -> (usize, f64) {
    let lengths = [(c - b).length(), (a - c).length(), (b - a).length()];
    let top = (0..3).max_by(|&i, &j| lengths[i].total_cmp(&lengths[j])).unwrap_or(0);
    (top, (b - a).cross(c - a).length() / lengths[top])
}

fn corners(mesh: &Mesh, face: Face) -> [Vec3<f64>; 3] {
    face.corners.map(|v| mesh.vertices[v as usize])
}

/// Turns the longest edges of thin triangles; says whether there were any.
fn turn_edges(mesh: &mut Mesh) -> bool {
    let is_thin = |mesh: &Mesh, i: usize| height(corners(mesh, mesh.faces[i])).1 < tolerance::LEAST_EDGE_MM;
    let mut thin: Vec<usize> = (0..mesh.faces.len()).filter(|&i| is_thin(mesh, i)).collect();
    if thin.is_empty() {
        return false;
    }
    let mut owners: BTreeMap<(u32, u32), usize> = BTreeMap::new();
    for (index, face) in mesh.faces.iter().enumerate() {
        for i in 0..3 {
            owners.insert((face.corners[i], face.corners[(i + 1) % 3]), index);
        }
    }
    // Where points follow each other on one line, one turn makes way for the next. Each makes the lower of two
    // triangles higher, so that it comes to an end.
    loop {
        let mut turned = false;
        for &index in &thin {
            turned |= turn_longest_edge(mesh, &mut owners, index);
        }
        thin.retain(|&i| is_thin(mesh, i));
        if !turned || thin.is_empty() {
            return true;
        }
    }
}

/// Parts a triangle and the one beside its longest edge the other way, if that makes the lower one higher.
fn turn_longest_edge(mesh: &mut Mesh, owners: &mut BTreeMap<(u32, u32), usize>, index: usize) -> bool {
    let face = mesh.faces[index];
    let (top, low) = height(corners(mesh, face));
    let [tip, from, to] = [0, 1, 2].map(|i| face.corners[(top + i) % 3]);
    let Some(&other) = owners.get(&(to, from)) else { return false };
    let beside = mesh.faces[other];
    let Some(&far) = beside.corners.iter().find(|&&v| v != from && v != to) else { return false };
    let taken = owners.contains_key(&(tip, far)) || owners.contains_key(&(far, tip));
    if (beside.zone, beside.surface) != (face.zone, face.surface) || tip == far || taken {
        return false;
    }
    let turned = [[tip, from, far], [tip, far, to]].map(|corners| Face { corners, ..face });
    let normal = |f: Face| {
        let [a, b, c] = corners(mesh, f);
        (b - a).cross(c - a)
    };
    let out = normal(face) + normal(beside);
    let low = low.min(height(corners(mesh, beside)).1);
    if turned.iter().any(|&f| height(corners(mesh, f)).1 <= low || normal(f).dot(out) <= 0.0) {
        return false;
    }
    owners.remove(&(from, to));
    owners.remove(&(to, from));
    for (place, face) in [index, other].into_iter().zip(turned) {
        mesh.faces[place] = face;
        for i in 0..3 {
            owners.insert((face.corners[i], face.corners[(i + 1) % 3]), place);
        }
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ident::PanelId;
    use crate::solid::{Surface, Zone};

    fn mesh(points: &[[f64; 3]], faces: &[[u32; 3]]) -> Mesh {
        let face = |&corners: &[u32; 3]| Face {
            corners,
            zone: Zone::Panel(PanelId::new(0)),
            surface: Surface::Inner,
        };
        Mesh {
            vertices: points.iter().map(|&[x, y, z]| Vec3::new(x, y, z)).collect(),
            faces: faces.iter().map(face).collect(),
        }
    }

    #[test]
    fn a_triangle_on_one_line_gives_its_long_edge_to_its_neighbour() {
        // 1 lies on the edge from 0 to 2.
        let points = [[0.0, 0.0, 0.0], [5.0, -1e-9, 0.0], [10.0, 0.0, 0.0], [5.0, 8.0, 0.0]];
        let tidy = without_slivers(mesh(&points, &[[0, 1, 2], [0, 2, 3]]), &mut []);
        let mut corners: Vec<[u32; 3]> = tidy.faces.iter().map(|f| f.corners).collect();
        corners.sort_unstable();
        assert_eq!(corners, [[1, 2, 3], [1, 3, 0]]);
    }

    #[test]
    fn points_that_follow_each_other_on_one_line_are_reached_one_by_one() {
        let points = [0.0, 1.0, 2.0, 3.0, 4.0].map(|x| [x, 0.0, 0.0]);
        let points: Vec<[f64; 3]> = points.into_iter().chain([[2.0, 5.0, 0.0]]).collect();
        let tidy = without_slivers(mesh(&points, &[[0, 1, 2], [0, 2, 3], [0, 3, 4], [0, 4, 5]]), &mut []);
        assert!(tidy.triangles().all(|t| height(t).1 > 0.1));
        assert!((tidy.surface() - 10.0).abs() < 1e-12);
    }

    #[test]
    fn vertices_too_near_to_each_other_become_one() {
        let points = [[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [10.0, 1e-5, 0.0], [0.0, 8.0, 0.0]];
        let mut marked = [0, 1, 2, 3];
        let tidy = without_slivers(mesh(&points, &[[0, 1, 2], [0, 2, 3]]), &mut marked);
        assert_eq!((tidy.vertices.len(), tidy.faces.len()), (3, 1));
        assert_eq!(tidy.faces[0].corners, [0, 1, 2]);
        assert_eq!(marked, [0, 1, 1, 2]);
    }
}
