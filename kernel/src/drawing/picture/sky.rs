//! Light on the part: a sky of many far lamps, each with a map of what it sees first.
//!
//! A bright part of the sky (key) and a weaker one (fill) shape the surfaces; because every lamp casts its
//! own faint shadow, corners and the inside of a box are darker and the shadow on the ground is soft.
//! Invariant: an open surface that looks up the pole receives light 1. Must not know: the picture's size,
//! colours.

use crate::geom::{Vec3, unit};
use crate::quantity::maths;
use crate::solid::Mesh;

use super::scan::scan;
use super::view::View;

/// Lamps in the half sky. Each edge of a shadow is one lamp's step in brightness, about 1/100 on average: too
/// faint to be seen as a line.
const LAMPS: usize = 96;

/// Side of a lamp's map in cells: about 1.5 mm for a part of 300 mm, smoothed over two cells.
const MAP_CELLS: usize = 192;

/// How far above the surface a point is looked up, in cells of the map, so that a surface at a slant does not
/// shade itself through the steps of its map. The smoothing reaches one cell to each side, on the diagonal.
const LIFT_CELLS: f64 = 1.6;

/// Brightness of the key part of the sky over its plain part.
const KEY: f64 = 5.0;
/// Brightness of the fill part of the sky over its plain part.
const FILL: f64 = 1.2;
/// Light from below at a surface that looks straight down, as a share of the open light from above.
const BOUNCE: f64 = 0.26;
/// Light that comes from everywhere, by reflection between the walls of the part.
const AMBIENT: f64 = 0.10;

/// A far lamp.
struct Lamp {
    /// Unit direction to the lamp.
    direction: Vec3<f64>,
    /// Its share of the light.
    weight: f64,
    /// Directions of the map's rows and columns.
    axes: [Vec3<f64>; 2],
    /// Map coordinates of space's origin, in cells.
    origin: [f64; 2],
    /// Cells per mm.
    scale: [f64; 2],
    /// Distance from the lamp, up to a constant, of what it sees first, in mm.
    first_seen: Vec<f32>,
}

/// All lamps, with the part standing in their light.
pub(super) struct Sky {
    lamps: Vec<Lamp>,
    pole: Vec3<f64>,
    /// Unit direction to the middle of the bright part.
    key: Vec3<f64>,
    /// See [`LIFT_CELLS`], in mm.
    lift: f64,
}

impl Sky {
    /// The sky of a view over a part.
    pub(super) fn over(mesh: &Mesh, view: &View) -> Self {
        let (pole, [right, _]) = (view.pole(), view.axes());
        let back = -view.towards();
        let level = |d: Vec3<f64>| unit(d).unwrap_or(pole);
        let key = level(pole.times(1.1) - right.times(0.75) + back.times(0.35));
        let fill = level(pole.times(0.45) + right.times(0.9) + back.times(0.5));
        let mut lamps: Vec<Lamp> = directions(pole)
            .map(|direction| {
                let lobe = |middle: Vec3<f64>| {
                    let near = direction.dot(middle).max(0.0);
                    near * near * near * near
                };
                let weight = 1.0 + KEY * lobe(key) + FILL * lobe(fill);
                Lamp::new(mesh, direction, weight)
            })
            .collect();
        let open: f64 = lamps.iter().map(|l| l.weight * l.direction.dot(pole)).sum();
        for lamp in &mut lamps {
            lamp.weight *= (1.0 - AMBIENT) / open;
        }
        let coarsest = lamps.iter().flat_map(|l| l.scale).fold(f64::INFINITY, f64::min);
        Self { lamps, pole, key, lift: LIFT_CELLS / coarsest }
    }

    /// Unit direction to the middle of the bright part of the sky.
    pub(super) fn key(&self) -> Vec3<f64> {
        self.key
    }

    /// Light at a point of the part's surface with this unit normal.
    pub(super) fn light_at(&self, p: Vec3<f64>, normal: Vec3<f64>) -> f64 {
        let bounced = BOUNCE * 0.5 * (1.0 - normal.dot(self.pole));
        AMBIENT + bounced + self.direct(p + normal.times(self.lift), normal)
    }

    /// Light at a point of the ground.
    pub(super) fn light_on_ground(&self, p: Vec3<f64>) -> f64 {
        AMBIENT + self.direct(p, self.pole)
    }

    fn direct(&self, p: Vec3<f64>, normal: Vec3<f64>) -> f64 {
        self.lamps
            .iter()
            .map(|lamp| {
                let slant = normal.dot(lamp.direction);
                if slant > 0.0 { lamp.weight * slant * lamp.share_reaching(p) } else { 0.0 }
            })
            .sum()
    }
}

/// Directions spread evenly over the half sky: heights in equal steps (equal areas of a sphere), each turned
/// on from the last by the golden angle.
fn directions(pole: Vec3<f64>) -> impl Iterator<Item = Vec3<f64>> {
    let golden = maths::PI * (3.0 - 5.0_f64.sqrt());
    (0..LAMPS).map(move |i| {
        let height = (i as f64 + 0.5) / LAMPS as f64;
        let (sin, cos) = maths::sin_cos(golden * i as f64);
        let level = (1.0 - height * height).sqrt();
        Vec3::new(level * cos, level * sin, height * pole.z)
    })
}

/// Whether a lamp sees the inside of a triangle. A map's rows, columns and direction are right-handed, so
/// that triangles run counter-clockwise from outside.
fn looks_away([a, b, c]: [[f64; 3]; 3]) -> bool {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]) <= 0.0
}

impl Lamp {
    fn new(mesh: &Mesh, direction: Vec3<f64>, weight: f64) -> Self {
        let side = unit(direction.cross(Vec3::new(0.0, 0.0, 1.0))).unwrap_or(Vec3::new(1.0, 0.0, 0.0));
        let axes = [side, direction.cross(side)];
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for v in &mesh.vertices {
            for i in 0..2 {
                let c = v.dot(axes[i]);
                low[i] = low[i].min(c);
                high[i] = high[i].max(c);
            }
        }
        // One free cell on each side, so that what lies outside the map is in full light.
        let scale = [0, 1].map(|i| {
            let scale = (MAP_CELLS - 2) as f64 / (high[i] - low[i]);
            if scale.is_finite() { scale } else { 1.0 }
        });
        let origin = [0, 1].map(|i| 1.0 - low[i] * scale[i]);
        let mut lamp = Self {
            direction,
            weight,
            axes,
            origin,
            scale,
            first_seen: vec![f32::INFINITY; MAP_CELLS * MAP_CELLS],
        };
        let places: Vec<[f64; 3]> = mesh.vertices.iter().map(|&v| lamp.project(v)).collect();
        for face in &mesh.faces {
            let corners = face.corners.map(|c| places[c as usize]);
            if looks_away(corners) {
                continue; // What closes the body on the far side never lies first.
            }
            scan(corners, MAP_CELLS, 0..MAP_CELLS, |column, row, distance| {
                let cell = &mut lamp.first_seen[row * MAP_CELLS + column];
                *cell = cell.min(distance as f32);
            });
        }
        lamp
    }

    /// Cells along both axes, and distance from the lamp in mm up to a constant.
    fn project(&self, p: Vec3<f64>) -> [f64; 3] {
        let along = |i: usize| self.origin[i] + p.dot(self.axes[i]) * self.scale[i];
        [along(0), along(1), -p.dot(self.direction)]
    }

    /// Share of the lamp's light that reaches a point, 0 to 1: the mean of the four cells around it.
    fn share_reaching(&self, p: Vec3<f64>) -> f64 {
        let [x, y, distance] = self.project(p);
        let (x, y, distance) = (x - 0.5, y - 0.5, distance as f32);
        let last = (MAP_CELLS - 1) as f64;
        if !(x >= 0.0 && y >= 0.0 && x < last && y < last) {
            return 1.0;
        }
        let (column, row) = (x as usize, y as usize);
        let (u, v) = (x - column as f64, y - row as f64);
        let at = row * MAP_CELLS + column;
        let free = |cell: usize| if self.first_seen[cell] >= distance { 1.0 } else { 0.0 };
        let near = free(at) * (1.0 - u) + free(at + 1) * u;
        let far = free(at + MAP_CELLS) * (1.0 - u) + free(at + MAP_CELLS + 1) * u;
        near * (1.0 - v) + far * v
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn open_ground_has_full_light_and_covered_ground_less() {
        let mesh =
            super::super::tests::block([0.0, 0.0, 20.0], [100.0, 100.0, 22.0], crate::solid::Surface::Inner);
        let sky = Sky::over(&mesh, &View::default());
        assert!((sky.light_on_ground(Vec3::new(2000.0, 0.0, 0.0)) - 1.0).abs() < 1e-9);
        let above = sky.light_at(Vec3::new(50.0, 50.0, 22.0), Vec3::new(0.0, 0.0, 1.0));
        assert!((above - 1.0).abs() < 1e-9, "nothing stands over the plate, got {above}");
        let below = sky.light_on_ground(Vec3::new(50.0, 50.0, 0.0));
        // Seen from there the plate hides all lamps steeper than atan(20/50) on the level, 22 degrees.
        assert!(below < 0.35, "got {below}");
    }
}
