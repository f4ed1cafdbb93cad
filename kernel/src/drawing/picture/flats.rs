//! Light on flat faces and on the ground, found at some pixels and blended between them.
//!
//! Shadows of many lamps vary slowly along a plane, so that one look at the sky every few pixels serves, and
//! the blend hides where one lamp's shadow ends. Invariant: light is only ever found at places of the same
//! plane that are in view, so that none leaks in from behind a wall. Pixels are asked for row by row.

use std::collections::BTreeMap;

use crate::geom::Vec3;
use crate::quantity::tolerance;
use crate::solid::{Mesh, Surface, Zone};

use super::lines::Facing;

/// Distance of the grid's nodes in px.
const GRID_PX: usize = 6;

/// Planes of one zone and surface are the same if normals (in parts of 1) and distances (in mm) agree after
/// rounding to this: far above rounding, and no step pressed into a sheet is lower.
const SAME_PLANE: f64 = 1e-3;

/// The planes of a mesh's flat faces.
pub(super) struct Flats {
    /// For each face its plane, if the surface is flat all over it.
    pub(super) of_face: Vec<Option<usize>>,
    /// Number of planes.
    pub(super) count: usize,
}

type PlaneKey = (Zone, Surface, [i64; 4]);

impl Flats {
    pub(super) fn of(mesh: &Mesh, facing: &Facing, corner_normals: &[[Vec3<f64>; 3]]) -> Self {
        let mut planes: BTreeMap<PlaneKey, usize> = BTreeMap::new();
        let of_face = mesh
            .faces
            .iter()
            .zip(&facing.normals)
            .zip(corner_normals)
            .map(|((face, &normal), corners)| {
                let flat = corners.iter().all(|n| 1.0 - n.dot(normal) < tolerance::PARALLEL);
                let offset = mesh.vertices[face.corners[0] as usize].dot(normal);
                let key = [normal.x, normal.y, normal.z, offset].map(|c| (c / SAME_PLANE).round() as i64);
                let next = planes.len();
                flat.then(|| *planes.entry((face.zone, face.surface, key)).or_insert(next))
            })
            .collect();
        Self { of_face, count: planes.len() }
    }
}

/// Two rows of nodes over the width of the picture: all that pixels between them need.
#[derive(Clone)]
pub(super) struct LightGrid {
    /// Index of the upper row of nodes.
    row: usize,
    /// Light at the nodes of the upper and lower row, where it is known.
    nodes: [Vec<Option<f32>>; 2],
}

impl LightGrid {
    pub(super) fn new(columns_px: usize) -> Self {
        let row = vec![None; columns_px / GRID_PX + 2];
        Self { row: 0, nodes: [row.clone(), row] }
    }

    /// Light at a pixel: the blend of the nodes around it. A node takes the light of the first pixel beside
    /// it that asks.
    pub(super) fn light(&mut self, column_px: usize, row_px: usize, find: impl FnOnce() -> f64) -> f64 {
        let split = |px: usize| (px / GRID_PX, (px % GRID_PX) as f64 / GRID_PX as f64);
        let ((column, u), (row, v)) = (split(column_px), split(row_px));
        self.move_to(row);
        let [upper, lower] = &mut self.nodes;
        let ([a, b], [c, d]) = (pair_at(upper, column), pair_at(lower, column));
        if [&a, &b, &c, &d].iter().any(|node| node.is_none()) {
            let found = find() as f32;
            for node in [&mut *a, &mut *b, &mut *c, &mut *d] {
                node.get_or_insert(found);
            }
        }
        let [a, b, c, d] = [a, b, c, d].map(|node| f64::from(node.unwrap_or_default()));
        (a * (1.0 - u) + b * u) * (1.0 - v) + (c * (1.0 - u) + d * u) * v
    }

    /// Keeps what is known of the row that both places share.
    fn move_to(&mut self, row: usize) {
        if row == self.row {
            return;
        }
        let [upper, lower] = &mut self.nodes;
        if row == self.row + 1 {
            std::mem::swap(upper, lower);
        } else {
            upper.fill(None);
        }
        lower.fill(None);
        self.row = row;
    }
}

/// The nodes to the left and to the right of a pixel.
fn pair_at(row: &mut [Option<f32>], column: usize) -> [&mut Option<f32>; 2] {
    let (left, right) = row.split_at_mut(column + 1);
    [&mut left[column], &mut right[0]]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn light_is_found_once_near_a_node_and_blended_between() {
        let mut grid = LightGrid::new(100);
        let mut asked = 0;
        let mut ask = |grid: &mut LightGrid, column: usize, row: usize, light: f64| {
            grid.light(column, row, || {
                asked += 1;
                light
            })
        };
        assert_eq!(ask(&mut grid, 0, 0, 0.25), 0.25);
        // The right-hand nodes of the next cell are new, the left-hand ones known.
        assert_eq!(ask(&mut grid, GRID_PX, 0, 0.75), 0.25);
        assert_eq!(ask(&mut grid, GRID_PX + GRID_PX / 2, 0, 9.0), 0.5);
        // One row of nodes down, the shared row is kept; farther down nothing is.
        assert_eq!(ask(&mut grid, 0, GRID_PX, 1.0), 0.25);
        assert_eq!(ask(&mut grid, 0, 5 * GRID_PX, 0.0), 0.0);
        assert_eq!(asked, 4);
    }
}
