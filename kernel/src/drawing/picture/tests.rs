//! Pictures of simple bodies, against areas and colours known by hand.

use super::*;
use crate::ident::PanelId;
use crate::solid::{Surface, Zone};

/// A box from one corner to the other with every face marked as the same surface.
pub(super) fn block(low: [f64; 3], high: [f64; 3], surface: Surface) -> Mesh {
    let vertices = (0..8)
        .map(|i| {
            let [x, y, z] = [0, 1, 2].map(|axis| if i >> axis & 1 == 1 { high[axis] } else { low[axis] });
            Vec3::new(x, y, z)
        })
        .collect();
    // Each side as a square, counter-clockwise from outside; bit 0 of a corner is x, bit 1 y, bit 2 z.
    let squares = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let zone = Zone::Panel(PanelId::new(0));
    let faces = squares
        .iter()
        .flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]])
        .map(|corners| Face { corners, zone, surface })
        .collect();
    Mesh { vertices, faces }
}

const CUBE_MM: f64 = 100.0;

fn cube(surface: Surface) -> Mesh {
    block([0.0; 3], [CUBE_MM; 3], surface)
}

/// Both bodies in one mesh.
fn together(mut a: Mesh, b: &Mesh) -> Mesh {
    let shift = u32::try_from(a.vertices.len()).unwrap();
    a.vertices.extend(&b.vertices);
    a.faces.extend(b.faces.iter().map(|f| Face { corners: f.corners.map(|c| c + shift), ..*f }));
    a
}

fn view(towards: [f64; 3], width_px: u32, height_px: u32) -> View {
    View::new(Vec3::new(towards[0], towards[1], towards[2]), width_px, height_px).unwrap()
}

/// Width, height and pixels of a picture.
fn decoded(bytes: &[u8]) -> (u32, u32, Vec<[u8; 3]>) {
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
    let mut data = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut data).unwrap();
    assert_eq!((info.color_type, info.bit_depth), (png::ColorType::Rgb, png::BitDepth::Eight));
    let pixels = data[..info.buffer_size()].chunks_exact(3).map(|p| [p[0], p[1], p[2]]).collect();
    (info.width, info.height, pixels)
}

fn background() -> [u8; 3] {
    Coder::new().code(tone::BACKGROUND)
}

/// Number of pixels that are not plain background.
fn marked(mesh: &Mesh, view: &View) -> f64 {
    let (_, _, pixels) = decoded(&picture_png(mesh, view));
    let plain = background();
    pixels.iter().filter(|p| **p != plain).count() as f64
}

/// Cut edges are warm, faces cool.
fn is_warm([red, _, blue]: [u8; 3]) -> bool {
    red > blue
}

#[test]
fn cube_covers_its_projected_area() {
    // Seen level, so that there is no ground. A cube turned by `a` about the vertical shows
    // `s² (cos a + sin a)` and is `s (cos a + sin a)` wide; outlines add at most 1.5 px outside.
    for (towards, spread) in
        [([0.0, 1.0, 0.0], 1.0), ([-1.0, 1.0, 0.0], 2.0_f64.sqrt()), ([0.6, -0.8, 0.0], 1.4)]
    {
        let view = view(towards, 400, 200);
        let mesh = cube(Surface::Outer);
        // 7 % of 200 px are free above and below: the cube is 172 px high.
        let side_px = 172.0;
        let area = side_px * side_px * spread;
        let perimeter = 2.0 * side_px * (1.0 + spread);
        let got = marked(&mesh, &view);
        assert!(
            area - perimeter <= got && got <= area + 1.5 * perimeter,
            "{towards:?}: {got} px, area {area}"
        );
    }
}

#[test]
fn wide_part_is_fitted_by_its_width() {
    // 300 mm into 300 − 2 · 14 px.
    let mesh = block([0.0; 3], [300.0, 10.0, 30.0], Surface::Outer);
    let camera = Camera::fitted(&mesh, &view([0.0, 1.0, 0.0], 300, 200)).unwrap();
    assert!((camera.px_per_mm - 272.0 / 300.0).abs() < 1e-12);
}

#[test]
fn nearer_face_hides_farther_one() {
    let near = block([0.0, 0.0, 0.0], [100.0, 10.0, 100.0], Surface::Cut);
    let far = block([-50.0, 200.0, -50.0], [150.0, 210.0, 150.0], Surface::Outer);
    let middle_and_side = |mesh: &Mesh, towards| {
        let (width, height, pixels) = decoded(&picture_png(mesh, &view(towards, 200, 200)));
        let at = |x: u32, y: u32| pixels[(y * width + x) as usize];
        (at(width / 2, height / 2), at(25, height / 2))
    };
    for mesh in [together(near.clone(), &far), together(far, &near)] {
        let (middle, side) = middle_and_side(&mesh, [0.0, 1.0, 0.0]);
        assert!(is_warm(middle) && !is_warm(side), "{middle:?} {side:?}");
        // From the other side the small block, with its lines, is hidden.
        let (middle, side) = middle_and_side(&mesh, [0.0, -1.0, 0.0]);
        assert!(!is_warm(middle) && !is_warm(side), "{middle:?} {side:?}");
    }
}

#[test]
fn hidden_body_leaves_no_ink() {
    let wall = block([0.0, 0.0, 0.0], [200.0, 2.0, 200.0], Surface::Outer);
    let hidden = block([50.0, 10.0, 50.0], [150.0, 60.0, 150.0], Surface::Cut);
    let count_dark = |mesh: &Mesh| {
        let (_, _, pixels) = decoded(&picture_png(mesh, &view([0.0, 1.0, 0.0], 200, 200)));
        pixels.iter().filter(|p| p[1] < 80).count()
    };
    let dark = count_dark(&wall);
    assert!(dark > 4 * 172, "the wall's outline is inked: {dark} px");
    assert_eq!(count_dark(&together(wall, &hidden)), dark);
}

#[test]
fn lines_run_along_edges_but_not_across_flat_faces() {
    let mesh = cube(Surface::Outer);
    let facing = Facing::of(&mesh, view([1.0, 2.0, -1.5], 10, 10).towards());
    let lines = lines::lines(&mesh, &facing);
    // Of twelve edges three are hidden, six are outline, three lie between faces in view.
    let count = |kind| lines.iter().filter(|l| l.kind == kind).count();
    assert_eq!([count(lines::LineKind::Outline), count(lines::LineKind::Sharp)], [6, 3]);
    assert_eq!(lines.len(), 9);
}

#[test]
fn smooth_border_of_two_zones_is_a_tangent_line() {
    let mut mesh = cube(Surface::Outer);
    let square = |mesh: &Mesh| -> Vec<Line> {
        let facing = Facing::of(mesh, Vec3::new(0.0, 0.0, -1.0));
        lines::lines(mesh, &facing).into_iter().filter(|l| l.kind == lines::LineKind::Tangent).collect()
    };
    assert!(square(&mesh).is_empty());
    // One half of the top becomes a bend: the diagonal 4-7 is now the border.
    mesh.faces[3].zone = Zone::Bend(crate::ident::BendId::new(0));
    assert_eq!(square(&mesh), [Line { ends: [4, 7], kind: lines::LineKind::Tangent }]);
}

#[test]
fn around_the_part_is_background_and_its_shadow() {
    let mesh = cube(Surface::Outer);
    let (width, height, pixels) = decoded(&picture_png(&mesh, &view([0.0, 1.0, 0.0], 320, 240)));
    for corner in [0, width - 1, (height - 1) * width, height * width - 1] {
        assert_eq!(pixels[corner as usize], background());
    }
    // From above, the ground beside a tall block is darker on the side away from the key light.
    let (width, height, pixels) = decoded(&picture_png(&mesh, &view([0.0, 0.0, -1.0], 320, 240)));
    let green = |x: u32| pixels[(height / 2 * width + x) as usize][1];
    let (left, right) = (width / 2 - 110, width / 2 + 110);
    assert!(green(right) < green(left) && green(left) <= background()[1]);
}

#[test]
fn size_is_what_was_asked_and_bytes_repeat() {
    let mesh = cube(Surface::Inner);
    for (width, height) in [(1, 1), (37, 61), (130, 33)] {
        let view = View::default().sized(width, height).unwrap();
        let bytes = picture_png(&mesh, &view);
        let (w, h, pixels) = decoded(&bytes);
        assert_eq!((w, h, pixels.len()), (width, height, (width * height) as usize));
        assert_eq!(bytes, picture_png(&mesh, &view));
    }
}

#[test]
fn mesh_without_extent_gives_a_plain_picture() {
    let empty = Mesh { vertices: Vec::new(), faces: Vec::new() };
    let mut point = cube(Surface::Inner);
    point.vertices.fill(Vec3::new(5.0, 5.0, 5.0));
    for mesh in [empty, point] {
        let (_, _, pixels) = decoded(&picture_png(&mesh, &View::default().sized(40, 30).unwrap()));
        assert_eq!(pixels, vec![background(); 40 * 30]);
    }
}

#[test]
fn degenerate_triangles_change_nothing() {
    let plain = cube(Surface::Outer);
    let mut spoiled = plain.clone();
    for corners in [[0, 0, 0], [1, 1, 6]] {
        spoiled.faces.push(Face { corners, ..plain.faces[0] });
    }
    let view = View::default().sized(120, 90).unwrap();
    let [a, b] = [&plain, &spoiled].map(|mesh| decoded(&picture_png(mesh, &view)).2);
    assert_eq!(a, b);
}

#[test]
fn bands_leave_no_seam() {
    // Level lines and outlines anywhere near the border of a band are drawn alike: the picture of a part that
    // is symmetric about the middle row is symmetric in its lines.
    let (width, height) = (96, 4 * BAND_PX as u32);
    let mesh = block([0.0, 0.0, -50.0], [20.0, 20.0, 50.0], Surface::Outer);
    let (_, _, pixels) = decoded(&picture_png(&mesh, &view([0.0, 1.0, 0.0], width, height)));
    let dark = |x: u32, y: u32| pixels[(y * width + x) as usize][1] < 80;
    for y in 0..height {
        for x in 0..width {
            assert_eq!(dark(x, y), dark(x, height - 1 - y), "at {x}, {y}");
        }
    }
}
