//! Wavefront OBJ: corners (`v`) and faces (`f`), which are cut into triangles from their first corner. (Format from
//! memory.) Invariant: a face uses corners that come before it. Everything else is not read: normals, textures, groups, materials, lines, curves.

use crate::geom::Vec3;

use super::stl::{line_of, shown};
use super::weld::Triangle;
use super::{MeshFault, limited};

/// Most corners of one face.
const MOST_CORNERS: usize = 10_000;

/// The triangles of a file, in mm.
pub(super) fn read(bytes: &[u8], unit_mm: f64) -> Result<Vec<Triangle>, MeshFault> {
    let text = std::str::from_utf8(bytes).map_err(|fault| MeshFault::Line {
        line: line_of(bytes, fault.valid_up_to()),
        problem: "it is not text".to_owned(),
    })?;
    let (mut vertices, mut triangles) = (Vec::new(), Vec::new());
    let mut face: Vec<Vec3<f64>> = Vec::new();
    for (index, line) in text.lines().enumerate() {
        let fault = |problem: String| MeshFault::Line { line: index + 1, problem };
        let mut words = line.split_ascii_whitespace();
        match words.next() {
            Some("v") => {
                // A weight or a colour may follow.
                let numbers: Option<Vec<f64>> = words.take(3).map(|word| word.parse().ok()).collect();
                let Some([x, y, z]) = numbers.as_deref() else {
                    return Err(fault("`v` needs three numbers".to_owned()));
                };
                vertices.push(Vec3::new(x * unit_mm, y * unit_mm, z * unit_mm));
            }
            Some("f") => {
                face.clear();
                for word in words {
                    let corner = corner(word, &vertices).ok_or_else(|| {
                        let count = vertices.len();
                        fault(format!("`{}` is none of the {count} corners before it", shown(word)))
                    })?;
                    face.push(corner);
                    if face.len() > MOST_CORNERS {
                        return Err(fault(format!("a face has more than {MOST_CORNERS} corners")));
                    }
                }
                if face.len() < 3 {
                    return Err(fault("a face needs three corners".to_owned()));
                }
                limited((triangles.len() + face.len() - 2) as u64)?;
                triangles.extend(face.windows(2).skip(1).map(|pair| [face[0], pair[0], pair[1]]));
            }
            Some(_) | None => {}
        }
    }
    Ok(triangles)
}

/// `7`, `7/1`, `7//3` or `7/1/3`: the seventh corner; `-1` is the last one so far.
fn corner(word: &str, vertices: &[Vec3<f64>]) -> Option<Vec3<f64>> {
    let index: i64 = word.split('/').next()?.parse().ok()?;
    let count = i64::try_from(vertices.len()).ok()?;
    let from_start = if index < 0 { count.checked_add(index)? } else { index - 1 };
    vertices.get(usize::try_from(from_start).ok()?).copied()
}
