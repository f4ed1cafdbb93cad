//! The JSON of a glTF file, as far as triangles need it. Keys that are not listed are not read.
//! Invariant: no more objects than a bound are made; numbers that point at others are not followed here.

use serde::Deserialize;

use super::transform::Transform;
use super::{MeshFault, fault};

/// Most objects in the JSON: a file of bytes that each begin a new one would grow a hundredfold when it is read.
const MOST_OBJECTS: usize = 200_000;

/// Extensions that change neither positions nor triangles.
const HARMLESS: [&str; 2] = ["KHR_materials_", "KHR_texture_"];

#[derive(Debug, Deserialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Layout {
    scene: Option<usize>,
    #[serde(default)]
    scenes: Vec<Scene>,
    #[serde(default)]
    pub(super) nodes: Vec<Node>,
    #[serde(default)]
    pub(super) meshes: Vec<MeshOfFile>,
    #[serde(default)]
    pub(super) accessors: Vec<Accessor>,
    #[serde(default)]
    pub(super) buffer_views: Vec<View>,
    #[serde(default)]
    pub(super) buffers: Vec<BufferOfFile>,
    #[serde(default)]
    extensions_required: Vec<String>,
}

#[derive(Debug, Deserialize)]
struct Scene {
    #[serde(default)]
    nodes: Vec<usize>,
}

#[derive(Debug, Deserialize)]
pub(super) struct Node {
    #[serde(default)]
    pub(super) children: Vec<usize>,
    pub(super) mesh: Option<usize>,
    matrix: Option<[f64; 16]>,
    translation: Option<[f64; 3]>,
    rotation: Option<[f64; 4]>,
    scale: Option<[f64; 3]>,
}

#[derive(Debug, Deserialize)]
pub(super) struct MeshOfFile {
    #[serde(default)]
    pub(super) primitives: Vec<Primitive>,
}

#[derive(Debug, Deserialize)]
pub(super) struct Primitive {
    pub(super) attributes: Attributes,
    pub(super) indices: Option<usize>,
    pub(super) mode: Option<u32>,
}

#[derive(Debug, Deserialize)]
pub(super) struct Attributes {
    #[serde(rename = "POSITION")]
    pub(super) position: Option<usize>,
}

#[derive(Debug, Deserialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Accessor {
    pub(super) buffer_view: Option<usize>,
    #[serde(default)]
    pub(super) byte_offset: u64,
    pub(super) component_type: u32,
    pub(super) count: u64,
    #[serde(rename = "type")]
    pub(super) kind: String,
    pub(super) sparse: Option<serde::de::IgnoredAny>,
}

#[derive(Debug, Deserialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct View {
    pub(super) buffer: usize,
    #[serde(default)]
    pub(super) byte_offset: u64,
    pub(super) byte_length: u64,
    pub(super) byte_stride: Option<u64>,
}

#[derive(Debug, Deserialize)]
pub(super) struct BufferOfFile {
    pub(super) uri: Option<String>,
}

impl Layout {
    pub(super) fn read(json: &[u8]) -> Result<Self, MeshFault> {
        if json.iter().filter(|byte| **byte == b'{').count() > MOST_OBJECTS {
            return Err(fault("JSON", format!("it has more than {MOST_OBJECTS} objects")));
        }
        let layout: Self = serde_json::from_slice(json)
            .map_err(|problem| MeshFault::Line { line: problem.line(), problem: problem.to_string() })?;
        let harmful = |name: &&String| !HARMLESS.iter().any(|start| name.starts_with(start));
        match layout.extensions_required.iter().find(harmful) {
            Some(name) => {
                Err(fault("file", format!("it needs the extension `{}`", super::super::stl::shown(name))))
            }
            None => Ok(layout),
        }
    }

    /// The nodes that the shown scene begins with; without scenes, those that hang on no other one.
    pub(super) fn shown(&self) -> Vec<usize> {
        if let Some(scene) = self.scenes.get(self.scene.unwrap_or(0)) {
            return scene.nodes.clone();
        }
        let mut hangs = vec![false; self.nodes.len()];
        for child in self.nodes.iter().flat_map(|node| &node.children) {
            if let Some(hangs) = hangs.get_mut(*child) {
                *hangs = true;
            }
        }
        (0..self.nodes.len()).filter(|node| !hangs[*node]).collect()
    }
}

impl Node {
    pub(super) fn transform(&self) -> Transform {
        match self.matrix {
            Some(matrix) => Transform::of_columns(matrix),
            None => Transform::of_parts(
                self.translation.unwrap_or([0.0; 3]),
                self.rotation.unwrap_or([0.0, 0.0, 0.0, 1.0]),
                self.scale.unwrap_or([1.0; 3]),
            ),
        }
    }
}
