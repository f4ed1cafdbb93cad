//! `folded.stl` read back record by record.

use kernel::geom::Vec3;

use super::sample;

fn vector(bytes: &[u8]) -> Vec3<f64> {
    let number = |i: usize| f64::from(f32::from_le_bytes(bytes[4 * i..4 * i + 4].try_into().unwrap()));
    Vec3::new(number(0), number(1), number(2))
}

#[test]
fn triangles_volume_and_normals_are_those_of_the_mesh() {
    let sample = sample::part();
    let bytes = sample.file("folded.stl");
    assert!(!bytes.starts_with(b"solid"));
    let count = u32::from_le_bytes(bytes[80..84].try_into().unwrap()) as usize;
    assert_eq!(count, sample.mesh.faces.len());
    assert_eq!(bytes.len(), 84 + 50 * count);
    let mut volume = 0.0;
    for record in bytes[84..].chunks(50) {
        let [normal, a, b, c] = [0, 12, 24, 36].map(|from| vector(&record[from..from + 12]));
        volume += a.dot(b.cross(c)) / 6.0;
        let across = (b - a).cross(c - a);
        assert!((normal.length() - 1.0).abs() < 1e-6);
        assert!(normal.dot(across) > 0.99 * across.length());
        assert_eq!(record[48..], [0, 0]);
    }
    // Single precision keeps 6e-8 of each coordinate of up to 300 mm: 1e-4 of the 2 mm thickness at worst,
    // on average far less.
    assert!((volume / sample.mesh.volume() - 1.0).abs() < 1e-5, "{volume} {}", sample.mesh.volume());
    // Chords of 0.05 mm leave the true bends by less than 0.1 % of the whole.
    assert!((volume / sample.part.measures.volume - 1.0).abs() < 1e-3);
}
