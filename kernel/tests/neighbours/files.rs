//! Meshes of files: our own exports come back as they were, and damaged files are told apart.

use kernel::fold::FoldFractions;
use kernel::geom::Vec3;
use kernel::history::{History, MeshSpec, MeshUnit, NeighbourEntry, NeighbourSpec};
use kernel::machine::{MOST_TRIANGLES, MeshFault, MeshFiles, MeshFormat, Surface, fingerprint, read_mesh};
use kernel::quantity::tolerance;
use kernel::regenerate::{Part, regenerate_among};
use kernel::stock::Tooling;

use super::parts::bumped_channel;
use super::{among, made, neighbour, rounded, stand};

fn stl(bytes: &[u8]) -> Result<Surface, MeshFault> {
    read_mesh(MeshFormat::Stl, bytes, 1.0)
}

fn obj(text: &str) -> Result<Surface, MeshFault> {
    read_mesh(MeshFormat::Obj, text.as_bytes(), 1.0)
}

fn gltf(text: &str) -> Result<Surface, MeshFault> {
    read_mesh(MeshFormat::Gltf, text.as_bytes(), 1.0)
}

/// A tetrahedron with corners at the origin and 1 along each axis.
const TETRAHEDRON: &str = "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n";

#[test]
fn own_exports_come_back_closed_and_as_large_as_they_were() {
    let history = bumped_channel();
    let part = made(&history);
    let mesh = part.mesh(&FoldFractions::all(&part.tree, 1.0), tolerance::CHORD_MM).unwrap();
    let files = part.files(&history, &part.details(&history)).unwrap();
    let volume = part.measures.volume;
    for (name, format) in [("folded.stl", MeshFormat::Stl), ("folded.glb", MeshFormat::Gltf)] {
        let (_, bytes) = files.iter().find(|(known, _)| *known == name).unwrap();
        let surface = read_mesh(format, bytes, 1.0).unwrap();
        assert_eq!(surface.open_edges(), 0, "{name}");
        // Single precision tells 1e-5 mm apart at 200 mm.
        let share = surface.volume() / volume;
        assert!((share - 1.0).abs() < 0.01, "{name}: {share}");
        for axis in 0..3 {
            let ends = |all: &[Vec3<f64>]| {
                let along = all.iter().map(|v| [v.x, v.y, v.z][axis]);
                [along.clone().fold(f64::INFINITY, f64::min), along.fold(f64::NEG_INFINITY, f64::max)]
            };
            let (got, wanted) = (ends(&surface.vertices), ends(&mesh.vertices));
            assert!((0..2).all(|i| (got[i] - wanted[i]).abs() < 1e-4), "{name}: {got:?} {wanted:?}");
        }
    }
}

/// A history with a mesh in it, and the part made of it with this content of the file.
fn with_file(spec: MeshSpec, content: Option<&[u8]>) -> Result<Part, Vec<kernel::diag::Diagnostic>> {
    let mut files = MeshFiles::default();
    if let Some(content) = content {
        files.insert(spec.file.clone(), content.to_vec());
    }
    let entry = NeighbourEntry { clearance: Some(4.0), ..neighbour("frame", NeighbourSpec::Mesh(spec)) };
    regenerate_among(&among(vec![entry]), &files, Tooling::default())
}

fn frame(file: &str, unit: Option<MeshUnit>) -> MeshSpec {
    let stand = stand([10.0, 20.0, 30.0], [0.0, 0.0, 1.0]);
    MeshSpec { file: file.to_owned(), unit, stand, fingerprint: String::new() }
}

#[test]
fn mesh_stands_where_it_is_put_in_its_unit() {
    for (unit, mm) in MeshUnit::ALL.into_iter().zip([1.0, 10.0, 1000.0, 25.4]) {
        let part = with_file(frame("frame.obj", Some(unit)), Some(TETRAHEDRON.as_bytes())).unwrap();
        let got = rounded(part.neighbours[0].extent().unwrap());
        assert_eq!(got, [[10.0, 20.0, 30.0], [10.0 + mm, 20.0 + mm, 30.0 + mm]], "{}", unit.word());
        assert!(part.findings.iter().all(|finding| finding.code != "machine::mesh_open"));
    }
    let open = TETRAHEDRON.strip_suffix("f 2 3 4\n").unwrap();
    let part = with_file(frame("frame.obj", Some(MeshUnit::Metre)), Some(open.as_bytes())).unwrap();
    assert_eq!(part.findings[0].code, "machine::mesh_open");
    assert!(part.findings[0].message.contains("3 edges"), "{}", part.findings[0].message);
}

#[test]
fn files_that_are_not_those_of_the_history_are_told() {
    let code = |spec, content: Option<&[u8]>| with_file(spec, content).unwrap_err()[0].code;
    let content = TETRAHEDRON.as_bytes();
    let millimetres = Some(MeshUnit::Millimetre);
    assert_eq!(code(frame("frame.obj", millimetres), None), "history::mesh_not_given");
    assert_eq!(code(frame("frame.obj", None), Some(content)), "history::mesh_unit");
    assert_eq!(code(frame("frame.glb", millimetres), Some(content)), "history::mesh_unit");
    assert_eq!(code(frame("frame.step", millimetres), Some(content)), "machine::mesh_unreadable");
    let known = MeshSpec { fingerprint: fingerprint(content), ..frame("frame.obj", millimetres) };
    assert!(with_file(known.clone(), Some(content)).is_ok());
    assert_eq!(code(known, Some(b"v 0 0 0\n")), "history::mesh_changed");
}

#[test]
fn ascii_stl_is_read_and_its_mistakes_have_a_line() {
    let facet = "solid a\n facet normal 0 0 1\n  outer loop\n   vertex 0 0 0\n   vertex 2 0 0\n   vertex 0 3 0\n  \
                 endloop\n endfacet\nendsolid a\n";
    let surface = stl(facet.as_bytes()).unwrap();
    assert_eq!((surface.vertices.len(), surface.triangles.len(), surface.open_edges()), (3, 1, 3));
    let line = |text: &str| match stl(text.as_bytes()) {
        Err(MeshFault::Line { line, .. }) => line,
        other => panic!("{other:?}"),
    };
    assert_eq!(line(&facet.replace("2 0 0", "2 0")), 5);
    assert_eq!(line(&facet.replace("2 0 0", "2 0 zero")), 5);
    assert_eq!(line(&facet.replace("   vertex 0 3 0\n", "")), 7);
    assert_eq!(line(&facet.replace("   vertex 0 3 0\n", "   vertex 0 3 0\n vertex 1 1 1\n")), 7);
    assert_eq!(line(&facet.replace(" facet normal", " face normal")), 2);
    assert_eq!(line(&facet[..60]), 5);
    assert_eq!(stl(facet.replace("2 0 0", "nan 0 0").as_bytes()), Err(MeshFault::NotFinite { triangle: 1 }));
    assert_eq!(stl(facet.replace("0 3 0", "1 0 0").as_bytes()), Err(MeshFault::Empty));
    assert_eq!(stl(b"solid nothing\nendsolid\n"), Err(MeshFault::Empty));
}

/// A binary STL file with this count in its header and these triangles.
fn binary(count: u32, triangles: &[[[f32; 3]; 3]]) -> Vec<u8> {
    let mut bytes = b"solid but binary".to_vec();
    bytes.resize(80, b' ');
    bytes.extend(count.to_le_bytes());
    for triangle in triangles {
        bytes.extend([0; 12]);
        bytes.extend(triangle.iter().flatten().flat_map(|x| x.to_le_bytes()));
        bytes.extend([0; 2]);
    }
    bytes
}

#[test]
fn hostile_binary_stl_is_refused_before_it_is_believed() {
    let triangle = [[0.0, 0.0, 0.0], [2.0, 0.0, 0.0], [0.0, 3.0, 0.0]];
    assert_eq!(stl(&binary(1, &[triangle])).unwrap().triangles.len(), 1);
    assert_eq!(stl(&binary(u32::MAX, &[triangle])), Err(MeshFault::TooMany { count: u64::from(u32::MAX) }));
    let short = stl(&binary(3, &[triangle]));
    assert!(matches!(short, Err(MeshFault::Truncated { needed: 234, got: 134, .. })), "{short:?}");
    assert!(matches!(stl(b"too short"), Err(MeshFault::Truncated { needed: 84, got: 9, .. })));
    assert!(matches!(stl(b""), Err(MeshFault::Truncated { .. })));
    let mut spoiled = triangle;
    spoiled[1][2] = f32::INFINITY;
    assert_eq!(stl(&binary(2, &[triangle, spoiled])), Err(MeshFault::NotFinite { triangle: 2 }));
    spoiled[1][2] = 3e6;
    assert_eq!(stl(&binary(1, &[spoiled])), Err(MeshFault::NotFinite { triangle: 1 }));
}

#[test]
fn obj_is_read_and_its_mistakes_have_a_line() {
    let surface = obj(TETRAHEDRON).unwrap();
    assert_eq!((surface.triangles.len(), surface.open_edges()), (4, 0));
    assert!((surface.volume() - 1.0 / 6.0).abs() < 1e-12);
    // Inside out, it is turned.
    let turned = TETRAHEDRON.replace("f 1 3 2", "f 1 2 3").replace("f 1 2 4", "f 1 4 2");
    let turned = turned.replace("f 1 4 3", "f 1 3 4").replace("f 2 3 4", "f 2 4 3");
    assert!((obj(&turned).unwrap().volume() - 1.0 / 6.0).abs() < 1e-12);
    // Squares, normals, and corners counted from the last one.
    let square = "v 0 0 0 1\nv 1 0 0\nv 1 1 0\nv 0 1 0\nvn 0 0 1\nf -4//1 -3//1 3/1/1 4\n";
    assert_eq!(obj(square).unwrap().triangles.len(), 2);
    let line = |text: &str| match obj(text) {
        Err(MeshFault::Line { line, .. }) => line,
        other => panic!("{other:?}"),
    };
    assert_eq!(line(&TETRAHEDRON.replace("f 2 3 4", "f 2 3 5")), 8);
    assert_eq!(line(&TETRAHEDRON.replace("f 2 3 4", "f 2 3 0")), 8);
    assert_eq!(line(&TETRAHEDRON.replace("f 2 3 4", "f 2 3 -9223372036854775808")), 8);
    assert_eq!(line(&TETRAHEDRON.replace("f 2 3 4", "f 2 3")), 8);
    assert_eq!(line(&TETRAHEDRON.replace("v 1 0 0", "v 1 0")), 2);
    assert_eq!(obj("v 0 0 0\n"), Err(MeshFault::Empty));
    let fan = format!("{TETRAHEDRON}f{}\n", " 1".repeat(20_000));
    assert_eq!(line(&fan), 9);
    assert!(matches!(
        read_mesh(MeshFormat::Obj, b"v 0 0 0\nv \xff 0 0\n", 1.0),
        Err(MeshFault::Line { line: 2, .. })
    ));
}

/// A glTF text with one triangle (0,0,0), (1,0,0), (0,1,0) in metres; `node` is put into its node.
fn one_triangle(node: &str) -> String {
    // 36 bytes: nine little-endian floats; 1.0 is 0000803f.
    let data = "AAAAAAAAAAAAAAAAAACAPwAAAAAAAAAAAAAAAAAAgD8AAAAA";
    format!(
        r#"{{"asset":{{"version":"2.0"}},"scene":0,"scenes":[{{"nodes":[0]}}],"nodes":[{{"mesh":0{node}}}],
"meshes":[{{"primitives":[{{"attributes":{{"POSITION":0}}}}]}}],
"accessors":[{{"bufferView":0,"componentType":5126,"count":3,"type":"VEC3"}}],
"bufferViews":[{{"buffer":0,"byteLength":36}}],
"buffers":[{{"byteLength":36,"uri":"data:application/octet-stream;base64,{data}"}}]}}"#
    )
}

#[test]
fn gltf_is_moved_by_its_nodes_and_turned_upright() {
    let corners = |text: &str| {
        let surface = gltf(text).unwrap();
        let mut all: Vec<[f64; 3]> =
            surface.vertices.iter().map(|v| [v.x + 0.0, v.y + 0.0, v.z + 0.0]).collect();
        all.sort_by(|a, b| a.partial_cmp(b).unwrap());
        all
    };
    // Its y is our z.
    assert_eq!(corners(&one_triangle("")), [[0.0; 3], [0.0, 0.0, 1000.0], [1000.0, 0.0, 0.0]]);
    let moved = one_triangle(r#","translation":[0,0,2],"scale":[3,1,1]"#);
    assert_eq!(corners(&moved), [[0.0, -2000.0, 0.0], [0.0, -2000.0, 1000.0], [3000.0, -2000.0, 0.0]]);
}

#[test]
fn hostile_gltf_is_refused() {
    let what = |text: &str| match gltf(text) {
        Err(MeshFault::Gltf { what, problem }) => format!("{what}: {problem}"),
        other => panic!("{other:?}"),
    };
    let good = one_triangle("");
    let with = |from: &str, to: &str| {
        assert!(good.contains(from), "{from}");
        what(&good.replace(from, to))
    };
    assert!(with(r#""count":3"#, r#""count":4"#).contains("beyond its buffer"));
    assert!(with(r#""count":3"#, r#""count":18446744073709551615"#).contains("beyond its buffer"));
    assert!(with(r#""byteLength":36}],"#, r#""byteLength":37}],"#).contains("beyond its buffer"));
    assert!(
        with(r#""byteLength":36}],"#, r#""byteOffset":18446744073709551615,"byteLength":36}],"#)
            .contains("beyond")
    );
    assert!(with(r#""buffer":0"#, r#""buffer":7"#).contains("no buffer 7"));
    assert!(with(r#""bufferView":0,"#, "").contains("no view"));
    assert!(with(r#""POSITION":0"#, r#""POSITION":3"#).contains("accessor 3"));
    assert!(with(r#""mesh":0"#, r#""mesh":1"#).contains("mesh 1"));
    assert!(with(r#""nodes":[0]"#, r#""nodes":[5]"#).contains("node 5"));
    assert!(with(r#""mesh":0"#, r#""mesh":0,"children":[0]"#).contains("on itself"));
    assert!(with(r#""type":"VEC3""#, r#""type":"VEC2""#).contains("three single-precision"));
    assert!(with("data:application/octet-stream;base64,", "frame.bin?").contains("file of their own"));
    assert!(
        with(r#""scene":0"#, r#""extensionsRequired":["KHR_draco_mesh_compression"],"scene":0"#)
            .contains("draco")
    );
    assert!(with(r#""attributes""#, r#""indices":0,"attributes""#).contains("whole"));
    assert!(matches!(gltf(&good[..80]), Err(MeshFault::Line { .. })));
    let many = format!("{{\"nodes\":[{}{{}}]}}", "{},".repeat(250_000));
    assert!(what(&many).contains("objects"));
    assert_eq!(gltf(r#"{"asset":{"version":"2.0"}}"#), Err(MeshFault::Empty));
    let limit = MOST_TRIANGLES as u64;
    let index = format!(
        r#""accessors":[{{"bufferView":0,"componentType":5125,"count":{},"type":"SCALAR"}},"#,
        3 * limit + 3
    );
    let crowded = good.replace(r#""accessors":["#, &index).replace(r#""POSITION":0"#, r#""POSITION":1"#);
    let crowded = crowded.replace(r#""attributes""#, r#""indices":0,"attributes""#);
    assert_eq!(gltf(&crowded), Err(MeshFault::TooMany { count: limit + 1 }));
}

#[test]
fn damaged_binary_gltf_is_refused_wherever_it_ends() {
    let history: History = bumped_channel();
    let part = made(&history);
    let files = part.files(&history, &part.details(&history)).unwrap();
    let (_, bytes) = files.iter().find(|(name, _)| *name == "folded.glb").unwrap();
    assert!(read_mesh(MeshFormat::Gltf, bytes, 1.0).is_ok());
    for end in (0..bytes.len()).step_by(bytes.len() / 97) {
        assert!(read_mesh(MeshFormat::Gltf, &bytes[..end], 1.0).is_err(), "cut at {end}");
    }
}
