//! `folded.glb`: the folded part for viewers, as binary glTF 2.0.
//!
//! Metres, y up: a point `(x, y, z)` in mm becomes `(x, z, −y) / 1000`. One node for each feature that made
//! sheet, named after it; under it one a panel, bend or form with one primitive each for inner face, outer face
//! and cut edges; the clip `folding` folds it in the bend order (`folding`). Invariant: a vertex of the mesh is
//! written with the same bits wherever it is used, so that joining equal positions gives the closed mesh
//! again; shading is smooth within a surface and crisp between surfaces.

mod folding;

use std::collections::BTreeMap;

use gltf_json::validation::{Checked, USize64};
use gltf_json::{self as gltf, Index};

use crate::brake::BendPlan;
use crate::fold::{FoldFractions, FoldTree};
use crate::geom::Vec3;
use crate::ident::FeatureId;
use crate::solid::{Mesh, Surface, Zone};

use super::{Format, Subject};

/// `folded.glb`.
pub(super) const FORMAT: Format = Format {
    file_name: "folded.glb",
    what: "folded part for viewers, with a folding animation, binary glTF 2.0",
    write,
};

/// Neighbouring faces of one surface whose normals have at least this cosine (about 40°) are shaded as one:
/// above the 30° of the coarsest chords of an arc, below the 45° of a chamfer.
const SMOOTH_COSINE: f64 = 0.766;

const MM_PER_METRE: f64 = 1000.0;
/// Bytes of a vector of three single-precision numbers.
const VECTOR_BYTES: usize = 12;
const INDEX_BYTES: usize = 4;
/// `glTF`, `JSON` and `BIN\0` as little-endian numbers, and the container's version.
const MAGIC: u32 = 0x4654_6C67;
const JSON_CHUNK: u32 = 0x4E4F_534A;
const BINARY_CHUNK: u32 = 0x004E_4942;
const VERSION: u32 = 2;

fn write(subject: &Subject<'_>) -> Vec<u8> {
    bytes(&subject.history.family, subject.tree, subject.mesh, subject.plan)
}

fn bytes(part_name: &str, tree: &FoldTree, mesh: &Mesh, plan: &BendPlan) -> Vec<u8> {
    let mut surfaces: BTreeMap<Zone, BTreeMap<Surface, Vec<[u32; 3]>>> = BTreeMap::new();
    for face in &mesh.faces {
        surfaces.entry(face.zone).or_default().entry(face.surface).or_default().push(face.corners);
    }
    let mut numbers = vec![NONE; mesh.vertices.len()];
    let mut nodes: BTreeMap<FeatureId, Vec<Index<gltf::Node>>> = BTreeMap::new();
    let mut builder = Builder::default();
    let folded = tree.placements(&FoldFractions::all(tree, 1.0));
    let mut moving = Vec::new();
    for (zone, surfaces) in &surfaces {
        let primitives = surfaces
            .iter()
            .map(|(&surface, faces)| {
                let relief = match (zone, surface) {
                    (Zone::Panel(_), Surface::Inner | Surface::Outer) => Relief::Flat,
                    (Zone::Panel(_), Surface::Cut) | (Zone::Bend(_) | Zone::Form(_), _) => Relief::Curved,
                };
                let shaded = Shaded::new(mesh, faces, relief, &mut numbers);
                let mut primitive = builder.primitive(surface, &shaded);
                if let Zone::Bend(id) = zone {
                    let flat = builder.flat_target(tree, *id, &folded, &shaded);
                    primitive.targets = Some(vec![flat]);
                }
                primitive
            })
            .collect();
        let node = builder.zone(zone_name(tree, *zone), primitives);
        moving.push((*zone, node));
        nodes.entry(feature_of(tree, *zone)).or_default().push(node);
    }
    folding::add(&mut builder, tree, plan, &moving);
    let features = nodes
        .into_iter()
        .map(|(feature, zones)| builder.group(tree.origin(feature).name.clone(), zones))
        .collect();
    builder.container(part_name, features)
}

/// Name of the panel, or of the bend as that of the panel behind it.
fn zone_name(tree: &FoldTree, zone: Zone) -> String {
    match zone {
        Zone::Panel(id) => tree.panel(id).name.to_string(),
        Zone::Form(id) => tree.forms()[id.index()].name.clone(),
        Zone::Bend(id) => format!("bend of {}", tree.panel(tree.bend(id).child).name),
    }
}

/// The feature that made a zone.
fn feature_of(tree: &FoldTree, zone: Zone) -> FeatureId {
    match zone {
        Zone::Panel(id) => tree.panel(id).feature,
        Zone::Bend(id) => tree.panel(tree.bend(id).child).feature,
        Zone::Form(id) => tree.forms()[id.index()].feature,
    }
}

fn single(v: Vec3<f64>) -> [f32; 3] {
    #[expect(clippy::cast_possible_truncation, reason = "the format holds single precision")]
    [v.x, v.y, v.z].map(|x| x as f32)
}

/// Our z up turned to the format's y up.
fn turned_up(v: Vec3<f64>) -> Vec3<f64> {
    // Adding zero turns a negative zero into a positive one.
    Vec3::new(v.x + 0.0, v.z + 0.0, 0.0 - v.y)
}

/// Whether a surface is a plane.
#[derive(Clone, Copy)]
enum Relief {
    Flat,
    Curved,
}

/// One surface with its vertices split where the shading breaks.
struct Shaded {
    positions: Vec<[f32; 3]>,
    normals: Vec<[f32; 3]>,
    indices: Vec<u32>,
}

impl Shaded {
    /// Shades the faces of one surface; those of a flat one all have the same normal.
    ///
    /// `numbers` holds [`NONE`] for every vertex of the mesh, before and after.
    fn new(mesh: &Mesh, faces: &[[u32; 3]], relief: Relief, numbers: &mut [u32]) -> Self {
        let (faces, corners) = numbered(faces, numbers);
        let position = |corner: u32| mesh.vertices[corners[corner as usize] as usize];
        let weighted: Vec<Vec3<f64>> = faces
            .iter()
            .map(|face| {
                let [a, b, c] = face.map(position);
                (b - a).cross(c - a)
            })
            .collect();
        let normals = match relief {
            Relief::Flat => {
                let sum = weighted.iter().fold(Vec3::new(0.0, 0.0, 0.0), |sum, n| sum + *n);
                vec![[single(turned_up(unit(sum))); 3]; faces.len()]
            }
            Relief::Curved => smooth_normals(&faces, corners.len(), &weighted),
        };
        let mut shaded = Self { positions: Vec::new(), normals: Vec::new(), indices: Vec::new() };
        // For each corner the last vertex made for it, and for each vertex the one made before it.
        let mut last = vec![NONE; corners.len()];
        let mut before: Vec<u32> = Vec::new();
        for (face, normals) in faces.iter().zip(&normals) {
            for (&corner, normal) in face.iter().zip(normals) {
                let mut vertex = last[corner as usize];
                while vertex != NONE && shaded.normals[vertex as usize] != *normal {
                    vertex = before[vertex as usize];
                }
                if vertex == NONE {
                    vertex = u32::try_from(before.len()).expect("a mesh has fewer than 2^32 vertices");
                    before.push(std::mem::replace(&mut last[corner as usize], vertex));
                    shaded.positions.push(single(turned_up(position(corner).times(1.0 / MM_PER_METRE))));
                    shaded.normals.push(*normal);
                }
                shaded.indices.push(vertex);
            }
        }
        shaded
    }
}

/// No vertex.
const NONE: u32 = u32::MAX;

/// The faces with their corners numbered from 0, and the mesh's vertex for each number.
fn numbered(faces: &[[u32; 3]], numbers: &mut [u32]) -> (Vec<[u32; 3]>, Vec<u32>) {
    let mut corners = Vec::new();
    let renumbered = faces
        .iter()
        .map(|face| {
            face.map(|corner| {
                let number = &mut numbers[corner as usize];
                if *number == NONE {
                    *number = u32::try_from(corners.len()).expect("a mesh has fewer than 2^32 vertices");
                    corners.push(corner);
                }
                *number
            })
        })
        .collect();
    for &corner in &corners {
        numbers[corner as usize] = NONE;
    }
    (renumbered, corners)
}

/// A normal for each corner of each face, smooth where faces turn little.
fn smooth_normals(faces: &[[u32; 3]], corner_count: usize, weighted: &[Vec3<f64>]) -> Vec<[[f32; 3]; 3]> {
    let mut around: Vec<Vec<usize>> = vec![Vec::new(); corner_count];
    for (index, face) in faces.iter().enumerate() {
        for &corner in face {
            around[corner as usize].push(index);
        }
    }
    faces
        .iter()
        .enumerate()
        .map(|(index, face)| {
            face.map(|corner| single(turned_up(smooth_normal(weighted, &around[corner as usize], index))))
        })
        .collect()
}

/// Unit normal of the face `own` at a vertex: the sum, by area, of the faces around it that turn little.
fn smooth_normal(weighted: &[Vec3<f64>], around: &[usize], own: usize) -> Vec3<f64> {
    let direction = weighted[own];
    let sum = around
        .iter()
        .map(|&i| weighted[i])
        .filter(|n| n.dot(direction) >= SMOOTH_COSINE * n.length() * direction.length())
        .fold(Vec3::new(0.0, 0.0, 0.0), |sum, n| sum + n);
    unit(sum)
}

/// The direction of a vector. A sliver without area has none; any unit vector is as good.
fn unit(v: Vec3<f64>) -> Vec3<f64> {
    let length = v.length();
    if length > 0.0 { v.times(1.0 / length) } else { Vec3::new(0.0, 0.0, 1.0) }
}

/// The scene under construction, and the four blocks of its binary chunk.
#[derive(Default)]
struct Builder {
    root: gltf::Root,
    positions: Vec<u8>,
    normals: Vec<u8>,
    indices: Vec<u8>,
    motion: Vec<u8>,
}

/// Places of the four blocks in the list of views.
const POSITIONS: u32 = 0;
const NORMALS: u32 = 1;
const INDICES: u32 = 2;
const MOTION: u32 = 3;

impl Builder {
    fn primitive(&mut self, surface: Surface, shaded: &Shaded) -> gltf::mesh::Primitive {
        let mut bounds = [shaded.positions[0]; 2];
        for p in &shaded.positions {
            for axis in 0..3 {
                bounds[0][axis] = bounds[0][axis].min(p[axis]);
                bounds[1][axis] = bounds[1][axis].max(p[axis]);
            }
        }
        let count = shaded.positions.len();
        let vector = (gltf::accessor::ComponentType::F32, gltf::accessor::Type::Vec3);
        let mut position = accessor(POSITIONS, self.positions.len(), count, vector);
        position.min = Some(bounds[0].into_iter().map(f64::from).collect());
        position.max = Some(bounds[1].into_iter().map(f64::from).collect());
        let normal = accessor(NORMALS, self.normals.len(), count, vector);
        let scalar = (gltf::accessor::ComponentType::U32, gltf::accessor::Type::Scalar);
        let index = accessor(INDICES, self.indices.len(), shaded.indices.len(), scalar);
        self.positions.extend(shaded.positions.iter().flatten().flat_map(|x| x.to_le_bytes()));
        self.normals.extend(shaded.normals.iter().flatten().flat_map(|x| x.to_le_bytes()));
        self.indices.extend(shaded.indices.iter().flat_map(|i| i.to_le_bytes()));
        let attributes = BTreeMap::from([
            (Checked::Valid(gltf::mesh::Semantic::Positions), self.root.push(position)),
            (Checked::Valid(gltf::mesh::Semantic::Normals), self.root.push(normal)),
        ]);
        let material = match surface {
            Surface::Inner => 0,
            Surface::Outer => 1,
            Surface::Cut => 2,
        };
        gltf::mesh::Primitive {
            attributes,
            extensions: None,
            extras: gltf::Extras::default(),
            indices: Some(self.root.push(index)),
            material: Some(Index::new(material)),
            mode: Checked::Valid(gltf::mesh::Mode::Triangles),
            targets: None,
        }
    }

    fn zone(&mut self, name: String, primitives: Vec<gltf::mesh::Primitive>) -> Index<gltf::Node> {
        let mesh = self.root.push(gltf::Mesh {
            extensions: None,
            extras: gltf::Extras::default(),
            name: Some(name.clone()),
            primitives,
            weights: None,
        });
        self.root.push(gltf::Node { mesh: Some(mesh), name: Some(name), ..gltf::Node::default() })
    }

    /// A node that only holds others.
    fn group(&mut self, name: String, children: Vec<Index<gltf::Node>>) -> Index<gltf::Node> {
        let children = (!children.is_empty()).then_some(children);
        self.root.push(gltf::Node { children, name: Some(name), ..gltf::Node::default() })
    }

    fn container(mut self, part_name: &str, features: Vec<Index<gltf::Node>>) -> Vec<u8> {
        let part = self.group(part_name.to_owned(), features);
        let scene = self.root.push(gltf::Scene {
            extensions: None,
            extras: gltf::Extras::default(),
            name: None,
            nodes: vec![part],
        });
        self.root.scene = Some(scene);
        self.root.asset = gltf::Asset { generator: Some("Foldwright".to_owned()), ..gltf::Asset::default() };
        let mut binary = Vec::new();
        let blocks = [
            ("positions", self.positions),
            ("normals", self.normals),
            ("indices", self.indices),
            ("motion", self.motion),
        ];
        for (name, block) in blocks {
            if block.is_empty() {
                continue;
            }
            let view = view(name, binary.len(), block.len());
            self.root.push(view);
            binary.extend_from_slice(&block);
        }
        if !binary.is_empty() {
            self.root.materials = materials();
            self.root.push(gltf::Buffer {
                byte_length: USize64::from(binary.len()),
                name: None,
                uri: None,
                extensions: None,
                extras: gltf::Extras::default(),
            });
        }
        let json = self.root.to_string().expect("a scene has only keys that are text");
        chunks(json.into_bytes(), &binary)
    }
}

fn accessor(
    view: u32,
    offset: usize,
    count: usize,
    (component, kind): (gltf::accessor::ComponentType, gltf::accessor::Type),
) -> gltf::Accessor {
    gltf::Accessor {
        buffer_view: Some(Index::new(view)),
        byte_offset: Some(USize64::from(offset)),
        count: USize64::from(count),
        component_type: Checked::Valid(gltf::accessor::GenericComponentType(component)),
        extensions: None,
        extras: gltf::Extras::default(),
        type_: Checked::Valid(kind),
        min: None,
        max: None,
        name: None,
        normalized: false,
        sparse: None,
    }
}

fn view(name: &str, offset: usize, length: usize) -> gltf::buffer::View {
    let vertices = (Some(gltf::buffer::Stride(VECTOR_BYTES)), Some(gltf::buffer::Target::ArrayBuffer));
    let (stride, target) = match name {
        "indices" => (None, Some(gltf::buffer::Target::ElementArrayBuffer)),
        "motion" => (None, None),
        _ => vertices,
    };
    gltf::buffer::View {
        buffer: Index::new(0),
        byte_length: USize64::from(length),
        byte_offset: Some(USize64::from(offset)),
        byte_stride: stride,
        name: Some(name.to_owned()),
        target: target.map(Checked::Valid),
        extensions: None,
        extras: gltf::Extras::default(),
    }
}

/// Inner face, outer face and cut edges in three tones of metal.
fn materials() -> Vec<gltf::Material> {
    let tone = |name: &str, colour: [f32; 3], roughness: f32| gltf::Material {
        name: Some(name.to_owned()),
        pbr_metallic_roughness: gltf::material::PbrMetallicRoughness {
            base_color_factor: gltf::material::PbrBaseColorFactor([colour[0], colour[1], colour[2], 1.0]),
            metallic_factor: gltf::material::StrengthFactor(0.5),
            roughness_factor: gltf::material::StrengthFactor(roughness),
            ..gltf::material::PbrMetallicRoughness::default()
        },
        ..gltf::Material::default()
    };
    vec![
        tone("inner face", [0.78, 0.76, 0.70], 0.55),
        tone("outer face", [0.42, 0.50, 0.60], 0.45),
        tone("cut edge", [0.16, 0.17, 0.19], 0.7),
    ]
}

/// The container: a head and two chunks, each filled up to a multiple of four bytes.
fn chunks(mut json: Vec<u8>, binary: &[u8]) -> Vec<u8> {
    json.resize(json.len().next_multiple_of(INDEX_BYTES), b' ');
    let head = 12;
    let chunk_head = 8;
    let binary_part = if binary.is_empty() { 0 } else { chunk_head + binary.len() };
    let total = head + chunk_head + json.len() + binary_part;
    let mut out = Vec::with_capacity(total);
    let number = |out: &mut Vec<u8>, n: u32| out.extend_from_slice(&n.to_le_bytes());
    let size = |n: usize| u32::try_from(n).expect("the container holds fewer than 2^32 bytes");
    for n in [MAGIC, VERSION, size(total), size(json.len()), JSON_CHUNK] {
        number(&mut out, n);
    }
    out.extend_from_slice(&json);
    if !binary.is_empty() {
        number(&mut out, size(binary.len()));
        number(&mut out, BINARY_CHUNK);
        out.extend_from_slice(binary);
    }
    out
}
