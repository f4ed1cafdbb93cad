//! A shaded picture of the part as a PNG, drawn in software.
//!
//! Faces are resolved by a depth buffer with 4 x 4 samples per pixel, lit by a soft sky and crossed by depth-tested
//! lines along edges, bend starts and outlines. Invariant: the same mesh and view give the same bytes;
//! nothing hidden shows. Must not know: features, names, dimensions.

mod band;
mod flats;
mod lines;
mod scan;
mod sky;
mod surroundings;
mod tone;
mod view;

pub use view::{LARGEST_PX, View, ViewFault};

use crate::geom::{Vec3, unit};
use crate::machine::Neighbour;
use crate::solid::{Face, Mesh};

use band::{BAND_PX, Band, FINE, NO_FACE};
use flats::{Flats, LightGrid};
use lines::{Facing, Line};
use sky::Sky;
use surroundings::{Paint, Surroundings};
use tone::{Coder, Tone};
use view::Camera;

/// How far a line may lie behind a face and still be drawn, in samples: lines lie in the surfaces they bound,
/// and depths are known at the middle of samples only.
const LINE_BIAS_SAMPLES: f64 = 0.75;

/// Below this share of vertical in the direction of sight the ground is seen so flat that it is left out.
const GROUND_SLANT: f64 = 0.15;

/// A picture of the part in PNG (8-bit sRGB), fitted into the view. A mesh without faces in view gives the
/// plain background.
///
/// Bends and holes look round if neighbouring chords of the mesh meet at less than about 16 degrees: a chord
/// tolerance of 1/100 of the smallest radius. From 40 degrees on, chords are drawn as separate faces.
/// Zero-area triangles are left out.
#[must_use]
pub fn picture_png(mesh: &Mesh, view: &View) -> Vec<u8> {
    picture_png_among(mesh, &[], view)
}

/// The same with neighbours around it in colours of their own, fitted into the view with them.
#[must_use]
pub fn picture_png_among(mesh: &Mesh, neighbours: &[Neighbour], view: &View) -> Vec<u8> {
    let around = Surroundings::new(mesh, neighbours);
    let rows = match Camera::fitted(&around.mesh, view) {
        Some(camera) => Scene::new(&around, view, camera).rows(),
        None => blank_rows(view),
    };
    encode(&rows, view)
}

fn blank_rows(view: &View) -> Vec<u8> {
    Coder::new().code(tone::BACKGROUND).repeat(view.width_px() as usize * view.height_px() as usize)
}

fn encode(rows: &[u8], view: &View) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, view.width_px(), view.height_px());
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder
        .write_header()
        .and_then(|mut writer| writer.write_image_data(rows).and_then(|()| writer.finish()))
        .expect("a picture of a view's size can be written to memory");
    bytes
}

/// All that one picture needs to know.
struct Scene<'a> {
    mesh: &'a Mesh,
    paints: &'a [Paint],
    camera: Camera,
    size: [usize; 2],
    /// Vertices in samples, depth in mm.
    places: Vec<[f64; 3]>,
    facing: Facing,
    corner_normals: Vec<[Vec3<f64>; 3]>,
    lines: Vec<Line>,
    sky: Sky,
    /// Direction half way between the eye and the key light.
    mirror: Vec3<f64>,
    ground: Option<Ground>,
    flats: Flats,
}

impl<'a> Scene<'a> {
    fn new(around: &'a Surroundings, view: &View, camera: Camera) -> Self {
        let mesh = &around.mesh;
        let fine = FINE as f64;
        let place = |&v: &Vec3<f64>| {
            let [x, y, depth] = camera.project(v);
            [x * fine, y * fine, depth]
        };
        let facing = Facing::of(mesh, camera.towards);
        let corner_normals = lines::smooth_normals(mesh, &facing);
        let flats = Flats::of(mesh, &facing, &corner_normals);
        let sky = Sky::over(mesh, view);
        let size = [view.width_px() as usize, view.height_px() as usize];
        Self {
            mesh,
            paints: &around.paints,
            camera,
            size,
            places: mesh.vertices.iter().map(place).collect(),
            corner_normals,
            lines: lines::lines(mesh, &facing),
            facing,
            mirror: unit(sky.key() - camera.towards).unwrap_or(sky.key()),
            ground: Ground::under(mesh, view),
            flats,
            sky,
        }
    }

    /// The picture's bytes, row by row, three a pixel.
    fn rows(&self) -> Vec<u8> {
        let [columns, rows] = self.size;
        let coder = Coder::new();
        let mut found = FoundLight {
            ground: LightGrid::new(columns),
            flats: vec![LightGrid::new(columns); self.flats.count],
        };
        let mut shown = Vec::new();
        let mut bytes = Vec::with_capacity(3 * columns * rows);
        for first in (0..rows).step_by(BAND_PX) {
            let band = self.band(first);
            for row in first..rows.min(first + BAND_PX) {
                for column in 0..columns {
                    let ink = gather(&band, [column, row], &mut shown);
                    bytes.extend(coder.code(self.mix(&shown, ink, [column, row], &mut found)));
                }
            }
        }
        bytes
    }

    fn band(&self, first_row: usize) -> Band {
        let mut band = Band::new(self.size[0], first_row);
        let place = |vertex: u32| self.places[vertex as usize];
        for ((index, face), _) in
            (0..NO_FACE).zip(&self.mesh.faces).zip(&self.facing.seen).filter(|(_, seen)| **seen)
        {
            band.add_face(index, face.corners.map(place));
        }
        let bias = LINE_BIAS_SAMPLES / (self.camera.px_per_mm * FINE as f64);
        for line in &self.lines {
            band.add_line(line.ends.map(place), line.kind, bias);
        }
        band
    }

    /// Mean colour of a pixel. Each face in it is shaded once, at the middle of the samples that show it.
    fn mix(&self, shown: &[Shown], ink: f64, pixel: [usize; 2], found: &mut FoundLight) -> Tone {
        let sum = shown.iter().filter(|s| s.bare > 0.0).fold(tone::INK.map(|c| c * ink), |sum, s| {
            let colour = if s.face == NO_FACE {
                self.ground_tone(pixel, &mut found.ground)
            } else {
                self.face_tone(s.face as usize, s.place.map(|c| c / s.samples), pixel, &mut found.flats)
            };
            [0, 1, 2].map(|i| sum[i] + colour[i] * s.bare)
        });
        sum.map(|c| c / (FINE * FINE) as f64)
    }

    fn ground_tone(&self, [column, row]: [usize; 2], grid: &mut LightGrid) -> Tone {
        self.ground.as_ref().map_or(tone::BACKGROUND, |ground| {
            let find = || self.sky.light_on_ground(ground.point(&self.camera, column, row));
            tone::ground_tone(grid.light(column, row, find))
        })
    }

    /// Colour of a face at a place given in samples.
    fn face_tone(
        &self,
        index: usize,
        place: [f64; 3],
        [column, row]: [usize; 2],
        grids: &mut [LightGrid],
    ) -> Tone {
        let face = self.mesh.faces[index];
        let fine = FINE as f64;
        let light_at = |normal| {
            self.sky.light_at(self.camera.unproject([place[0] / fine, place[1] / fine, place[2]]), normal)
        };
        let (normal, light) = match self.flats.of_face[index] {
            Some(flat) => {
                let normal = self.facing.normals[index];
                (normal, grids[flat].light(column, row, || light_at(normal)))
            }
            None => {
                let normal = self.normal_at(face, index, place);
                (normal, light_at(normal))
            }
        };
        tone::surface_tone(self.paints[index], face.surface, light, normal.dot(self.mirror))
    }

    /// Direction of the smooth surface at a place of a face, from its corners.
    fn normal_at(&self, face: Face, index: usize, [x, y, _]: [f64; 3]) -> Vec3<f64> {
        let [a, b, c] = face.corners.map(|v| self.places[v as usize]);
        let area = |p: [f64; 2], q: [f64; 2]| p[0] * q[1] - p[1] * q[0];
        let from = |p: [f64; 3]| [p[0] - x, p[1] - y];
        let shares = [area(from(b), from(c)), area(from(c), from(a)), area(from(a), from(b))];
        let whole = shares[0] + shares[1] + shares[2];
        let normals = self.corner_normals[index];
        let sum = (0..3).fold(Vec3::new(0.0, 0.0, 0.0), |sum, i| {
            // The middle of the samples lies in the triangle up to rounding.
            sum + normals[i].times((shares[i] / whole).clamp(0.0, 1.0))
        });
        unit(sum).unwrap_or(self.facing.normals[index])
    }
}

/// Light found so far while going down the picture.
struct FoundLight {
    ground: LightGrid,
    /// For each plane of [`Flats`].
    flats: Vec<LightGrid>,
}

/// Sorts the samples of a pixel by what they show; gives the ink on all of them, 0 to 16.
fn gather(band: &Band, [column, row]: [usize; 2], shown: &mut Vec<Shown>) -> f64 {
    shown.clear();
    if let Some((face, depth)) = band.only_face(column, row) {
        let middle = |px: usize| (px as f64 + 0.5) * FINE as f64;
        let place = [middle(column), middle(row), depth];
        shown.push(Shown { face, place, samples: 1.0, bare: (FINE * FINE) as f64 });
        return 0.0;
    }
    let mut ink = 0.0;
    for sample in band.samples(column, row) {
        ink += sample.ink;
        let index = shown.iter().position(|s| s.face == sample.face).unwrap_or_else(|| {
            shown.push(Shown { face: sample.face, place: [0.0; 3], samples: 0.0, bare: 0.0 });
            shown.len() - 1
        });
        let entry = &mut shown[index];
        entry.place = [0, 1, 2].map(|i| entry.place[i] + sample.place[i]);
        entry.samples += 1.0;
        entry.bare += 1.0 - sample.ink;
    }
    ink
}

/// The samples of a pixel that show one face, or the ground.
struct Shown {
    face: u32,
    /// Sum of the places that stand for them.
    place: [f64; 3],
    /// Number of those places.
    samples: f64,
    /// Number of samples less the ink on them.
    bare: f64,
}

/// The plane that the part stands on, seen through each pixel.
struct Ground {
    pole: Vec3<f64>,
    /// Height of the plane along the pole, in mm.
    height: f64,
    /// Part of the direction of sight along the pole.
    slant: f64,
}

impl Ground {
    /// None if the ground is seen edge-on.
    fn under(mesh: &Mesh, view: &View) -> Option<Self> {
        let pole = view.pole();
        let slant = view.towards().dot(pole);
        let height = mesh.vertices.iter().map(|v| v.dot(pole)).fold(f64::INFINITY, f64::min);
        (slant.abs() >= GROUND_SLANT).then_some(Self { pole, height, slant })
    }

    /// The point of the ground in the middle of a pixel.
    fn point(&self, camera: &Camera, column: usize, row: usize) -> Vec3<f64> {
        let p = camera.unproject([column as f64 + 0.5, row as f64 + 0.5, 0.0]);
        p + camera.towards.times((self.height - p.dot(self.pole)) / self.slant)
    }
}

#[cfg(test)]
mod tests;
