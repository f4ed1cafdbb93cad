//! STL, as its makers published it in 1989: ASCII facets, or binary records of 50 bytes after a header of 84. (From
//! memory.) Invariant: a binary file is as long as its count says, before a record is read. Normals, names, and colours in the attribute bytes are not read.

use crate::geom::Vec3;

use super::weld::Triangle;
use super::{MeshFault, limited};

const HEADER: usize = 84;
const RECORD: usize = 50;

/// The triangles of a file, in mm.
pub(super) fn read(bytes: &[u8], unit_mm: f64) -> Result<Vec<Triangle>, MeshFault> {
    if is_ascii(bytes) { ascii(bytes, unit_mm) } else { binary(bytes, unit_mm) }
}

/// Binary files may begin with `solid`, too: then their length is what their count says, and they hold bytes that no
/// text has.
fn is_ascii(bytes: &[u8]) -> bool {
    let starts = bytes.trim_ascii_start().get(..5).is_some_and(|word| word.eq_ignore_ascii_case(b"solid"));
    let fits = count(bytes).is_some_and(|count| bytes.len() as u64 == length(count));
    starts && !fits && !bytes.contains(&0)
}

fn count(bytes: &[u8]) -> Option<u32> {
    let count: [u8; 4] = bytes.get(HEADER - 4..HEADER)?.try_into().ok()?;
    Some(u32::from_le_bytes(count))
}

fn length(count: u32) -> u64 {
    HEADER as u64 + RECORD as u64 * u64::from(count)
}

fn binary(bytes: &[u8], unit_mm: f64) -> Result<Vec<Triangle>, MeshFault> {
    let got = bytes.len() as u64;
    let truncated = |what, needed| MeshFault::Truncated { what, needed, got };
    let count = count(bytes).ok_or(truncated("the header of a binary STL file", HEADER as u64))?;
    limited(u64::from(count))?;
    if got < length(count) {
        return Err(truncated("its count of triangles", length(count)));
    }
    let records = bytes[HEADER..].chunks_exact(RECORD).take(count as usize);
    let number = |record: &[u8], at: usize| {
        let word: [u8; 4] = record[at..at + 4].try_into().expect("a record has 50 bytes");
        f64::from(f32::from_le_bytes(word)) * unit_mm
    };
    // A normal of three numbers comes before the corners.
    let corner = |record: &[u8], i: usize| {
        let at = 12 * (i + 1);
        Vec3::new(number(record, at), number(record, at + 4), number(record, at + 8))
    };
    Ok(records.map(|record| [0, 1, 2].map(|i| corner(record, i))).collect())
}

fn ascii(bytes: &[u8], unit_mm: f64) -> Result<Vec<Triangle>, MeshFault> {
    let text = std::str::from_utf8(bytes).map_err(|fault| MeshFault::Line {
        line: line_of(bytes, fault.valid_up_to()),
        problem: "it is not text".to_owned(),
    })?;
    let mut triangles = Vec::new();
    let mut corners: Vec<Vec3<f64>> = Vec::with_capacity(3);
    let mut last = 0;
    for (index, line) in text.lines().enumerate() {
        last = index + 1;
        let fault = |problem: String| MeshFault::Line { line: last, problem };
        let mut words = line.split_ascii_whitespace();
        match words.next().map(str::to_ascii_lowercase).as_deref() {
            Some("vertex") => {
                if corners.len() == 3 {
                    return Err(fault("a fourth `vertex` of one facet".to_owned()));
                }
                let numbers: Option<Vec<f64>> = words.map(|word| word.parse().ok()).collect();
                let Some([x, y, z]) = numbers.as_deref() else {
                    return Err(fault("`vertex` needs three numbers".to_owned()));
                };
                corners.push(Vec3::new(x * unit_mm, y * unit_mm, z * unit_mm));
            }
            Some("endfacet") => {
                let Ok(triangle) = Triangle::try_from(std::mem::take(&mut corners)) else {
                    return Err(fault("a facet ends with less than three corners".to_owned()));
                };
                triangles.push(triangle);
                limited(triangles.len() as u64)?;
            }
            Some("solid" | "facet" | "outer" | "endloop" | "endsolid") | None => {}
            Some(word) => return Err(fault(format!("`{}` is no word of STL", shown(word)))),
        }
    }
    if !corners.is_empty() {
        return Err(MeshFault::Line { line: last, problem: "the file ends within a facet".to_owned() });
    }
    Ok(triangles)
}

/// A word of a file, short enough for a message.
pub(super) fn shown(word: &str) -> String {
    word.chars().filter(|c| !c.is_control()).take(40).collect()
}

/// The line of a byte, counted from 1.
pub(super) fn line_of(bytes: &[u8], at: usize) -> usize {
    bytes[..at].iter().filter(|byte| **byte == b'\n').count() + 1
}
