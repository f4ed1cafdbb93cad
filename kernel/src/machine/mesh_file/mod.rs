//! Meshes from the bytes of files: STL (ASCII and binary), Wavefront OBJ, and glTF 2.0.
//!
//! Invariant: nothing is allocated before it is known that the bytes hold it; what passes has finite corners, whole
//! indices, and at most [`MOST_TRIANGLES`]. Only positions and triangles are read. Must not know: where the bytes come
//! from.

mod gltf;
mod obj;
mod stl;
mod weld;

use std::collections::BTreeMap;

use thiserror::Error;

use super::Surface;
use weld::welded;

/// Most triangles of a file: what a machine's frame needs is far below, and twice as many take a second to look at.
pub const MOST_TRIANGLES: usize = 1_000_000;

/// Contents of files by the path with which the history names them.
#[derive(Clone, Debug, Default)]
pub struct MeshFiles(BTreeMap<String, Vec<u8>>);

impl MeshFiles {
    /// Adds the content of a file.
    pub fn insert(&mut self, file: String, content: Vec<u8>) {
        self.0.insert(file, content);
    }

    /// The content of a file.
    #[must_use]
    pub fn get(&self, file: &str) -> Option<&[u8]> {
        self.0.get(file).map(Vec::as_slice)
    }
}

/// The kind of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MeshFormat {
    /// STL, ASCII or binary.
    Stl,
    /// Wavefront OBJ.
    Obj,
    /// glTF 2.0, as JSON with its data within or as one binary file.
    Gltf,
}

impl MeshFormat {
    /// By the ending of a file's name.
    ///
    /// # Errors
    /// [`MeshFault::Ending`] for any other ending.
    pub fn of_file(name: &str) -> Result<Self, MeshFault> {
        let ending = name.rsplit_once('.').map_or("", |(_, ending)| ending).to_ascii_lowercase();
        match ending.as_str() {
            "stl" => Ok(Self::Stl),
            "obj" => Ok(Self::Obj),
            "gltf" | "glb" => Ok(Self::Gltf),
            _ => Err(MeshFault::Ending { ending }),
        }
    }

    /// Whether files of this kind say their unit.
    #[must_use]
    pub fn has_unit(self) -> bool {
        match self {
            Self::Stl | Self::Obj => false,
            Self::Gltf => true,
        }
    }
}

/// Why bytes are no mesh. Places are counted as an editor counts them: lines and triangles from 1, bytes from 0.
#[derive(Clone, Debug, PartialEq, Error)]
#[expect(missing_docs, reason = "the message of each fault says what its fields are")]
pub enum MeshFault {
    #[error("the ending `{ending}` is none of stl, obj, gltf and glb")]
    Ending { ending: String },
    #[error("it ends after {got} bytes, where {what} needs {needed}")]
    Truncated { what: &'static str, needed: u64, got: u64 },
    #[error("line {line}: {problem}")]
    Line { line: usize, problem: String },
    #[error("triangle {triangle}: a corner is not a finite number within 1000000 mm")]
    NotFinite { triangle: usize },
    #[error("{what}: {problem}")]
    Gltf { what: String, problem: String },
    #[error("it has {count} triangles; {MOST_TRIANGLES} are the most")]
    TooMany { count: u64 },
    #[error("it has no triangle with an area")]
    Empty,
}

impl MeshFault {
    /// What to do about it.
    #[must_use]
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::Ending { .. } => Some("save it as one of these"),
            Self::Truncated { .. } => Some("the file is damaged or cut short: copy or export it again"),
            Self::Line { .. } => Some("look at that line with a text editor, or export the file again"),
            Self::NotFinite { .. } => Some("look at its unit, or export it again"),
            Self::Gltf { .. } => Some("export it as plain glTF 2.0 without compression, or as STL"),
            Self::TooMany { .. } => Some("export it coarser, or only what stands near to the cover"),
            Self::Empty => Some("export the bodies as triangles"),
        }
    }
}

/// Reads a mesh; `unit_mm` is the length of one unit of its numbers where the file does not say it. Corners that are
/// the same are made one, triangles without area are left out, and a closed surface that is inside out is turned. The z
/// of a glTF file is what it calls y, since it has y upwards; its x stays.
///
/// # Errors
/// [`MeshFault`] with the place of the first mistake.
pub fn read_mesh(format: MeshFormat, bytes: &[u8], unit_mm: f64) -> Result<Surface, MeshFault> {
    let triangles = match format {
        MeshFormat::Stl => stl::read(bytes, unit_mm)?,
        MeshFormat::Obj => obj::read(bytes, unit_mm)?,
        MeshFormat::Gltf => gltf::read(bytes)?,
    };
    welded(&triangles)
}

/// FNV-1a of 64 bits over the content, as 16 digits, with the count of bytes before it: enough to see that a file has
/// changed, no proof against forgery.
#[must_use]
pub fn fingerprint(content: &[u8]) -> String {
    let mut hash: u64 = 0xcbf2_9ce4_8422_2325;
    for byte in content {
        hash = (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3);
    }
    format!("{}-{hash:016x}", content.len())
}

/// Refuses more triangles than are read.
fn limited(count: u64) -> Result<usize, MeshFault> {
    let whole = usize::try_from(count).ok().filter(|count| *count <= MOST_TRIANGLES);
    whole.ok_or(MeshFault::TooMany { count })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fingerprint_is_fnv_1a() {
        // Published test vectors of FNV-1a, 64 bits (IETF draft "The FNV Non-Cryptographic Hash Algorithm", from
        // memory).
        assert_eq!(fingerprint(b""), "0-cbf29ce484222325");
        assert_eq!(fingerprint(b"a"), "1-af63dc4c8601ec8c");
        assert_eq!(fingerprint(b"foobar"), "6-85944171f73967e8");
    }

    #[test]
    fn endings_tell_the_format() {
        assert_eq!(MeshFormat::of_file("a/b.STL"), Ok(MeshFormat::Stl));
        assert_eq!(MeshFormat::of_file("b.glb"), Ok(MeshFormat::Gltf));
        assert!(matches!(MeshFormat::of_file("b.step"), Err(MeshFault::Ending { .. })));
        assert!(matches!(MeshFormat::of_file("stl"), Err(MeshFault::Ending { .. })));
    }
}
