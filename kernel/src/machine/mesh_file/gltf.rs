//! glTF 2.0 (ISO/IEC 12113): the triangles of the scene that is shown, each moved by the nodes that it hangs on.
//!
//! Read are JSON files with their data within, and binary files. Not read: data in files of their own, compressed or
//! sparse positions; skins and morphs are left as they stand. Invariant: a node is met once, so that no file goes round
//! in circles or grows by being shown twice.

mod buffer;
mod layout;
mod transform;

use crate::geom::Vec3;

use super::weld::Triangle;
use super::{MeshFault, limited};
use buffer::Buffers;
use layout::{Layout, Primitive};
use transform::Transform;

const MM_PER_METRE: f64 = 1000.0;
/// `glTF`, `JSON` and `BIN\0`.
const MAGIC: &[u8] = b"glTF";
const JSON_CHUNK: u32 = 0x4E4F_534A;
const BINARY_CHUNK: u32 = 0x004E_4942;

/// The triangles of a file, in mm, z up.
pub(super) fn read(bytes: &[u8]) -> Result<Vec<Triangle>, MeshFault> {
    let (json, binary) = if bytes.starts_with(MAGIC) { chunks(bytes)? } else { (bytes, None) };
    let layout = Layout::read(json)?;
    let buffers = Buffers::new(&layout, binary)?;
    let mut triangles = Vec::new();
    let mut met = vec![false; layout.nodes.len()];
    let mut open: Vec<(usize, Transform)> =
        layout.shown().into_iter().map(|node| (node, Transform::identity())).collect();
    while let Some((index, above)) = open.pop() {
        let what = || format!("node {index}");
        let node = layout.nodes.get(index).ok_or_else(|| fault(what(), "there is none"))?;
        if std::mem::replace(&mut met[index], true) {
            return Err(fault(what(), "it hangs on two nodes, or on itself"));
        }
        let transform = above.after(&node.transform());
        open.extend(node.children.iter().map(|child| (*child, transform.clone())));
        let Some(mesh) = node.mesh else { continue };
        let found = layout.meshes.get(mesh).ok_or_else(|| fault(format!("mesh {mesh}"), "there is none"))?;
        for (number, primitive) in found.primitives.iter().enumerate() {
            let what = format!("mesh {mesh}, primitive {number}");
            add(&mut triangles, primitive, &buffers, &transform, &what)?;
        }
    }
    Ok(triangles)
}

fn fault(what: impl Into<String>, problem: impl Into<String>) -> MeshFault {
    MeshFault::Gltf { what: what.into(), problem: problem.into() }
}

fn word(bytes: &[u8], at: usize, what: &'static str) -> Result<u32, MeshFault> {
    let got = bytes.len() as u64;
    let four = bytes.get(at..).and_then(|rest| rest.first_chunk::<4>());
    four.map(|four| u32::from_le_bytes(*four)).ok_or(MeshFault::Truncated {
        what,
        needed: at as u64 + 4,
        got,
    })
}

/// JSON and data of a binary file.
fn chunks(bytes: &[u8]) -> Result<(&[u8], Option<&[u8]>), MeshFault> {
    let version = word(bytes, 4, "the header of a binary glTF file")?;
    if version != 2 {
        return Err(fault("header", format!("it has version {version}, and 2 is read")));
    }
    let (mut json, mut binary, mut at) = (None, None, 12);
    while at < bytes.len() {
        let length = word(bytes, at, "the length of a chunk")? as usize;
        let kind = word(bytes, at + 4, "the kind of a chunk")?;
        let from = at + 8;
        let to = from.saturating_add(length);
        let content = bytes.get(from..to).ok_or(MeshFault::Truncated {
            what: "a chunk",
            needed: to as u64,
            got: bytes.len() as u64,
        })?;
        match kind {
            JSON_CHUNK => json = json.or(Some(content)),
            BINARY_CHUNK => binary = binary.or(Some(content)),
            _ => {}
        }
        // Chunks begin at multiples of four.
        at = to.next_multiple_of(4);
    }
    json.map(|json| (json, binary)).ok_or_else(|| fault("file", "it has no JSON chunk"))
}

/// Adds the triangles of one primitive; points and lines have none.
fn add(
    triangles: &mut Vec<Triangle>,
    primitive: &Primitive,
    buffers: &Buffers<'_>,
    transform: &Transform,
    what: &str,
) -> Result<(), MeshFault> {
    /// Modes of a primitive.
    const TRIANGLES: u32 = 4;
    const STRIP: u32 = 5;
    const FAN: u32 = 6;
    let mode = primitive.mode.unwrap_or(TRIANGLES);
    if !(TRIANGLES..=FAN).contains(&mode) {
        return Ok(());
    }
    let Some(position) = primitive.attributes.position else {
        return Err(fault(what, "it has no positions"));
    };
    let positions = buffers.positions(position)?;
    let count = match primitive.indices {
        Some(accessor) => buffers.count(accessor)?,
        None => positions.len() as u64,
    };
    let more = if mode == TRIANGLES { count / 3 } else { count.saturating_sub(2) };
    limited((triangles.len() as u64).saturating_add(more))?;
    let indices = primitive.indices.map(|accessor| buffers.indices(accessor)).transpose()?;
    let moved: Vec<Vec3<f64>> = positions.into_iter().map(|v| in_mm(transform.point(v))).collect();
    let corner = |at: usize| {
        let index = indices.as_ref().map_or(at, |indices| indices[at] as usize);
        let problem = || format!("corner {index} is none of its {}", moved.len());
        moved.get(index).copied().ok_or_else(|| fault(what, problem()))
    };
    for number in 0..more as usize {
        let [a, b, c] = match mode {
            TRIANGLES => [3 * number, 3 * number + 1, 3 * number + 2],
            // Every second one of a strip runs the other way.
            STRIP if number % 2 == 1 => [number + 1, number, number + 2],
            STRIP => [number, number + 1, number + 2],
            _ => [0, number + 1, number + 2],
        };
        // A mirrored part is turned inside out by its mirror.
        let [b, c] = if transform.mirrors() { [c, b] } else { [b, c] };
        triangles.push([corner(a)?, corner(b)?, corner(c)?]);
    }
    Ok(())
}

/// From metres with y up to millimetres with z up.
fn in_mm([x, y, z]: [f64; 3]) -> Vec3<f64> {
    Vec3::new(x * MM_PER_METRE, -z * MM_PER_METRE, y * MM_PER_METRE)
}
