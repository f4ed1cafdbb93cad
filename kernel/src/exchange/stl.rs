//! `folded.stl`: the folded part as binary STL, in mm.
//!
//! Invariant: one record a face of the mesh, in its order; a vertex shared by faces is written with the
//! same bits in each, so that a reader can join them again.

use crate::geom::Vec3;
use crate::solid::Mesh;

use super::{Format, Subject};

/// `folded.stl`.
pub(super) const FORMAT: Format =
    Format { file_name: "folded.stl", what: "folded part as triangles, binary STL in mm", write };

/// First bytes of the file. They must not be `solid`, by which readers tell the text form.
const HEADER: &[u8] = b"Foldwright: folded part, triangles in mm";
const HEADER_LENGTH: usize = 80;
const RECORD_LENGTH: usize = 50;

fn write(subject: &Subject<'_>) -> Vec<u8> {
    bytes(subject.mesh)
}

fn bytes(mesh: &Mesh) -> Vec<u8> {
    let mut out = Vec::with_capacity(HEADER_LENGTH + 4 + RECORD_LENGTH * mesh.faces.len());
    out.extend_from_slice(HEADER);
    out.resize(HEADER_LENGTH, b' ');
    let count = u32::try_from(mesh.faces.len()).expect("a mesh has fewer than 2^32 faces");
    out.extend_from_slice(&count.to_le_bytes());
    for [a, b, c] in mesh.triangles() {
        let normal = (b - a).cross(c - a);
        let length = normal.length();
        // The format's own way to say "work it out yourself" for a sliver without direction.
        let normal = if length > 0.0 { normal.times(1.0 / length) } else { Vec3::new(0.0, 0.0, 0.0) };
        for v in [normal, a, b, c] {
            for x in [v.x, v.y, v.z] {
                #[expect(clippy::cast_possible_truncation, reason = "the format holds single precision")]
                out.extend_from_slice(&(x as f32).to_le_bytes());
            }
        }
        out.extend_from_slice(&[0, 0]);
    }
    out
}
