//! `folded.glb` taken apart: container, scene, binary data.

use std::collections::BTreeMap;

use gltf_json::validation::Validate;

use super::sample;

fn number(bytes: &[u8], at: usize) -> usize {
    u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap()) as usize
}

/// The scene and the binary chunk.
fn opened(bytes: &[u8]) -> (gltf_json::Root, Vec<u8>) {
    assert_eq!(&bytes[..4], b"glTF");
    assert_eq!((number(bytes, 4), number(bytes, 8)), (2, bytes.len()));
    let json_length = number(bytes, 12);
    assert_eq!(&bytes[16..20], b"JSON");
    let binary_at = 20 + json_length;
    assert_eq!(&bytes[binary_at + 4..binary_at + 8], b"BIN\0");
    let binary_length = number(bytes, binary_at);
    assert_eq!((json_length % 4, binary_length % 4), (0, 0));
    assert_eq!(binary_at + 8 + binary_length, bytes.len());
    let root = serde_json::from_slice(&bytes[20..binary_at]).unwrap();
    (root, bytes[binary_at + 8..].to_vec())
}

/// One value of an accessor: its bytes as three numbers of four bytes, or one.
fn words(root: &gltf_json::Root, binary: &[u8], accessor: usize) -> Vec<[u8; 4]> {
    let accessor = &root.accessors[accessor];
    let view = &root.buffer_views[accessor.buffer_view.unwrap().value()];
    let from = (view.byte_offset.unwrap().0 + accessor.byte_offset.unwrap().0) as usize;
    let size = accessor.component_type.unwrap().0.size() * accessor.type_.unwrap().multiplicity();
    let to = from + accessor.count.0 as usize * size;
    assert!(to as u64 <= view.byte_offset.unwrap().0 + view.byte_length.0);
    binary[from..to].chunks(4).map(|word| word.try_into().unwrap()).collect()
}

fn vectors(root: &gltf_json::Root, binary: &[u8], accessor: usize) -> Vec<[f32; 3]> {
    let numbers: Vec<f32> = words(root, binary, accessor).into_iter().map(f32::from_le_bytes).collect();
    numbers.chunks(3).map(|v| [v[0], v[1], v[2]]).collect()
}

/// Every triangle of the scene by its corners in metres, with the normals at them.
fn triangles(root: &gltf_json::Root, binary: &[u8]) -> Vec<[([f32; 3], [f32; 3]); 3]> {
    use gltf_json::mesh::Semantic;
    use gltf_json::validation::Checked::Valid;
    let mut found = Vec::new();
    for primitive in root.meshes.iter().flat_map(|mesh| &mesh.primitives) {
        let of = |semantic| primitive.attributes[&Valid(semantic)].value();
        let positions = vectors(root, binary, of(Semantic::Positions));
        let normals = vectors(root, binary, of(Semantic::Normals));
        let bounds = |value: &Option<gltf_json::Value>| -> [f32; 3] {
            serde_json::from_value(value.clone().unwrap()).unwrap()
        };
        let accessor = &root.accessors[of(Semantic::Positions)];
        let folded = |pick: fn(f32, f32) -> f32| {
            positions.iter().copied().reduce(|a, b| [0, 1, 2].map(|i| pick(a[i], b[i]))).unwrap()
        };
        assert_eq!(bounds(&accessor.min), folded(f32::min));
        assert_eq!(bounds(&accessor.max), folded(f32::max));
        let indices = words(root, binary, primitive.indices.unwrap().value());
        let corners: Vec<usize> = indices.into_iter().map(|word| u32::from_le_bytes(word) as usize).collect();
        found.extend(corners.chunks(3).map(|c| [0, 1, 2].map(|i| (positions[c[i]], normals[c[i]]))));
    }
    found
}

#[test]
fn scene_is_valid_and_has_a_node_for_each_feature_with_its_panels_and_bends() {
    let sample = sample::part();
    let (root, binary) = opened(&sample.file("folded.glb"));
    let mut faults = Vec::new();
    root.validate(&root, gltf_json::Path::new, &mut |path, fault| faults.push((path(), fault)));
    assert!(faults.is_empty(), "{faults:?}");
    assert_eq!(root.buffers[0].byte_length.0, binary.len() as u64);
    assert!(root.buffer_views.iter().all(|view| view.byte_offset.unwrap().0.is_multiple_of(4)));
    assert!(root.extensions_used.is_empty() && root.extensions_required.is_empty());
    let scene = &root.scenes[root.scene.unwrap().value()];
    let part = &root.nodes[scene.nodes[0].value()];
    assert_eq!(part.name.as_deref(), Some("coupling_guard"));
    let children = |node: &gltf_json::Node| -> Vec<gltf_json::Node> {
        node.children.iter().flatten().map(|id| root.nodes[id.value()].clone()).collect()
    };
    let name = |node: &gltf_json::Node| node.name.clone().unwrap();
    let features: Vec<(String, Vec<String>)> = children(part)
        .iter()
        .map(|feature| (name(feature), children(feature).iter().map(name).collect()))
        .collect();
    let of = |feature: &str, zones: &[&str]| {
        (feature.to_owned(), zones.iter().map(|&zone| zone.to_owned()).collect::<Vec<_>>())
    };
    assert_eq!(
        features,
        [
            of("base", &["base"]),
            of(
                "wall",
                &[
                    "wall.front",
                    "wall.right",
                    "wall.left",
                    "bend of wall.front",
                    "bend of wall.right",
                    "bend of wall.left",
                ]
            ),
            of("lip", &["lip.left", "lip.right", "bend of lip.left", "bend of lip.right"]),
        ]
    );
}

#[test]
fn equal_positions_join_to_a_closed_mesh_in_metres_with_y_up() {
    let sample = sample::part();
    let (root, binary) = opened(&sample.file("folded.glb"));
    let triangles = triangles(&root, &binary);
    assert_eq!(triangles.len(), sample.mesh.faces.len());
    let mut edges: BTreeMap<([u32; 3], [u32; 3]), usize> = BTreeMap::new();
    let mut volume = 0.0;
    let mut highest = f32::MIN;
    for triangle in &triangles {
        let [a, b, c] = triangle.map(|(position, _)| position);
        let key = |p: [f32; 3]| p.map(f32::to_bits);
        for (from, to) in [(a, b), (b, c), (c, a)] {
            *edges.entry((key(from), key(to))).or_default() += 1;
        }
        let [a, b, c] = [a, b, c].map(|p| p.map(f64::from));
        let cross = [b[1] * c[2] - b[2] * c[1], b[2] * c[0] - b[0] * c[2], b[0] * c[1] - b[1] * c[0]];
        volume += (a[0] * cross[0] + a[1] * cross[1] + a[2] * cross[2]) / 6.0;
        highest = triangle.iter().fold(highest, |top, (p, _)| top.max(p[1]));
    }
    for ((from, to), count) in &edges {
        assert_eq!((*count, edges.get(&(*to, *from))), (1, Some(&1)), "{from:?} {to:?}");
    }
    // Outward faces in a right-handed frame: the volume is positive. Single precision as in the STL.
    assert!((volume * 1e9 / sample.mesh.volume() - 1.0).abs() < 1e-5, "{volume}");
    // The walls end 60 mm above the outer face of the base, which is 2 mm below zero; the lips are lower.
    assert!(highest > 0.0579, "{highest}");
}

#[test]
fn flat_faces_are_shaded_flat_and_bends_smooth() {
    let sample = sample::part();
    let (root, binary) = opened(&sample.file("folded.glb"));
    for triangle in triangles(&root, &binary) {
        let [(a, _), (b, _), (c, _)] = triangle.map(|(p, n)| (p.map(f64::from), n));
        let (u, v) = ([0, 1, 2].map(|i| b[i] - a[i]), [0, 1, 2].map(|i| c[i] - a[i]));
        let face = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
        let size = face.iter().map(|x| x * x).sum::<f64>().sqrt();
        for (_, normal) in triangle {
            let normal = normal.map(f64::from);
            assert!((normal.iter().map(|x| x * x).sum::<f64>() - 1.0).abs() < 1e-6);
            let cosine = normal.iter().zip(face).map(|(n, f)| n * f).sum::<f64>() / size;
            // Chords of a bend turn by at most 30°, so that a vertex lies within 30° of its faces.
            assert!(cosine > 0.866, "{cosine}");
        }
    }
    let by_name = |name: &str| root.meshes.iter().find(|m| m.name.as_deref() == Some(name)).unwrap();
    let distinct = |name: &str, primitive: usize| {
        use gltf_json::validation::Checked::Valid;
        let normals =
            by_name(name).primitives[primitive].attributes[&Valid(gltf_json::mesh::Semantic::Normals)];
        let mut all =
            vectors(&root, &binary, normals.value()).iter().map(|n| n.map(f32::to_bits)).collect::<Vec<_>>();
        all.sort_unstable();
        all.dedup();
        all.len()
    };
    assert_eq!(distinct("base", 0), 1, "the inner face of a panel has one normal");
    assert!(distinct("bend of wall.left", 0) > 3, "a bend turns its normal step by step");
}

/// A vector turned by a quaternion, scalar last.
fn turned([x, y, z, w]: [f64; 4], v: [f64; 3]) -> [f64; 3] {
    let cross = |a: [f64; 3], b: [f64; 3]| {
        [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
    };
    let once = cross([x, y, z], v);
    let inner = [0, 1, 2].map(|i| once[i] + w * v[i]);
    let twice = cross([x, y, z], inner);
    [0, 1, 2].map(|i| v[i] + 2.0 * twice[i])
}

#[test]
fn the_clip_begins_with_the_flat_blank_and_ends_with_the_folded_part() {
    use gltf_json::animation::Property;
    use gltf_json::validation::Checked;
    let sample = sample::part();
    let (root, binary) = opened(&sample.file("folded.glb"));
    assert_eq!(root.animations.len(), 1);
    let clip = &root.animations[0];
    let numbers = |accessor: usize| -> Vec<f64> {
        let word = |word: [u8; 4]| f64::from(f32::from_le_bytes(word));
        words(&root, &binary, accessor).into_iter().map(word).collect()
    };
    let steps = sample.part.bend_plan().steps.len();
    let times = numbers(clip.samplers[0].input.value());
    assert_eq!((times[0], times[times.len() - 1]), (0.0, steps as f64), "one second a step");
    let value = |node: usize, path: Property, end: bool, width: usize| -> Option<Vec<f64>> {
        let is_it = |c: &&gltf_json::animation::Channel| {
            c.target.node.value() == node && c.target.path == Checked::Valid(path)
        };
        let channel = clip.channels.iter().find(is_it)?;
        let all = numbers(clip.samplers[channel.sampler.value()].output.value());
        assert_eq!(all.len(), width * times.len());
        Some(if end { all[all.len() - width..].to_vec() } else { all[..width].to_vec() })
    };
    let (mut low, mut high) = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
    let mut zones = 0;
    for (index, node) in root.nodes.iter().enumerate() {
        let Some(mesh) = node.mesh else { continue };
        zones += 1;
        let shift = value(index, Property::Translation, false, 3).unwrap();
        let turn: [f64; 4] = value(index, Property::Rotation, false, 4).unwrap().try_into().unwrap();
        let weight = value(index, Property::MorphTargetWeights, false, 1);
        for primitive in &root.meshes[mesh.value()].primitives {
            let semantic = Checked::Valid(gltf_json::mesh::Semantic::Positions);
            let positions = vectors(&root, &binary, primitive.attributes[&semantic].value());
            let ways = primitive.targets.as_ref().map(|targets| {
                assert_eq!(weight.as_deref(), Some(&[1.0][..]));
                vectors(&root, &binary, targets[0].positions.unwrap().value())
            });
            for (i, p) in positions.iter().enumerate() {
                let way = ways.as_ref().map_or([0.0; 3], |w| w[i]);
                let place = turned(turn, [0, 1, 2].map(|k| f64::from(p[k]) + f64::from(way[k])));
                for k in 0..3 {
                    low[k] = low[k].min(place[k] + shift[k]);
                    high[k] = high[k].max(place[k] + shift[k]);
                }
            }
        }
        // At the end nothing is moved from the folded part.
        assert!(value(index, Property::Translation, true, 3).unwrap().iter().all(|x| x.abs() < 1e-6));
        let last = value(index, Property::Rotation, true, 4).unwrap();
        assert!((last[3].abs() - 1.0).abs() < 1e-6, "{last:?}");
    }
    assert_eq!(zones, 11);
    // Metres, y up: the blank lies between y = -2 mm and 0, and is as large as it is.
    let size = sample.part.blank.bounding_box();
    let near = |got: f64, mm: f64| assert!((got - mm / 1000.0).abs() < 1e-5, "{got} against {mm}");
    near(low[1], -2.0);
    near(high[1], 0.0);
    near(low[0], size.min.x);
    near(high[0], size.max.x);
    near(high[2], -size.min.y);
    near(low[2], -size.max.y);
}
