//! The numbers of a glTF file: buffers, views of them, and accessors that say how a view is read.
//!
//! Invariant: a list is made only once its bytes are known to be there.

use std::borrow::Cow;

use super::layout::{Accessor, Layout};
use super::{MeshFault, fault};

/// Kinds of component.
const UNSIGNED_BYTE: u32 = 5121;
const UNSIGNED_SHORT: u32 = 5123;
const UNSIGNED_INT: u32 = 5125;
const FLOAT: u32 = 5126;

pub(super) struct Buffers<'f> {
    layout: &'f Layout,
    contents: Vec<Cow<'f, [u8]>>,
}

impl<'f> Buffers<'f> {
    pub(super) fn new(layout: &'f Layout, binary: Option<&'f [u8]>) -> Result<Self, MeshFault> {
        let content = |(index, uri): (usize, Option<&str>)| {
            let what = || format!("buffer {index}");
            match (uri, binary) {
                (None, Some(binary)) if index == 0 => Ok(Cow::Borrowed(binary)),
                (None, _) => Err(fault(what(), "it has no data")),
                (Some(uri), _) => {
                    match uri.strip_prefix("data:").and_then(|data| data.split_once(";base64,")) {
                        Some((_, text)) => decoded(text)
                            .map(Cow::Owned)
                            .ok_or_else(|| fault(what(), "its data are no base64")),
                        None => Err(fault(what(), "its data are in a file of their own; save it as .glb")),
                    }
                }
            }
        };
        let uris = layout.buffers.iter().map(|buffer| buffer.uri.as_deref()).enumerate();
        Ok(Self { layout, contents: uris.map(content).collect::<Result<_, _>>()? })
    }

    fn accessor(&self, index: usize) -> Result<&Accessor, MeshFault> {
        self.layout.accessors.get(index).ok_or_else(|| fault(format!("accessor {index}"), "there is none"))
    }

    /// How many things an accessor has.
    pub(super) fn count(&self, index: usize) -> Result<u64, MeshFault> {
        self.accessor(index).map(|accessor| accessor.count)
    }

    /// The bytes of each thing of an accessor, which has `size` of them.
    fn things(&self, index: usize, size: u64) -> Result<impl Iterator<Item = &[u8]>, MeshFault> {
        let what = || format!("accessor {index}");
        let accessor = self.accessor(index)?;
        if accessor.sparse.is_some() {
            return Err(fault(what(), "sparse data are not read"));
        }
        let view = accessor.buffer_view.and_then(|view| self.layout.buffer_views.get(view));
        let view = view.ok_or_else(|| fault(what(), "it has no view of a buffer"))?;
        let buffer = self.contents.get(view.buffer);
        let buffer = buffer.ok_or_else(|| fault(what(), format!("there is no buffer {}", view.buffer)))?;
        let outside = || fault(what(), "it reaches beyond its buffer");
        let stride = view.byte_stride.unwrap_or(size);
        if stride < size {
            return Err(fault(what(), format!("its things lie {stride} bytes apart, but have {size}")));
        }
        let end = view.byte_offset.checked_add(view.byte_length).ok_or_else(outside)?;
        let view = range(buffer, view.byte_offset, end).ok_or_else(outside)?;
        let length = match accessor.count {
            0 => Some(0),
            count => (count - 1).checked_mul(stride).and_then(|before| before.checked_add(size)),
        };
        let end = length.and_then(|length| length.checked_add(accessor.byte_offset)).ok_or_else(outside)?;
        let own = range(view, accessor.byte_offset, end).ok_or_else(outside)?;
        let (stride, size) = (stride as usize, size as usize);
        Ok(own.chunks(stride).map(move |thing| &thing[..size]))
    }

    /// Positions as they are written.
    pub(super) fn positions(&self, index: usize) -> Result<Vec<[f64; 3]>, MeshFault> {
        let accessor = self.accessor(index)?;
        if accessor.kind != "VEC3" || accessor.component_type != FLOAT {
            return Err(fault(format!("accessor {index}"), "positions are three single-precision numbers"));
        }
        let number = |thing: &[u8], at: usize| {
            let word = thing[at..].first_chunk::<4>().expect("a position has twelve bytes");
            f64::from(f32::from_le_bytes(*word))
        };
        Ok(self.things(index, 12)?.map(|thing| [0, 4, 8].map(|at| number(thing, at))).collect())
    }

    /// Numbers of corners.
    pub(super) fn indices(&self, index: usize) -> Result<Vec<u32>, MeshFault> {
        let accessor = self.accessor(index)?;
        let size = match accessor.component_type {
            UNSIGNED_BYTE => 1,
            UNSIGNED_SHORT => 2,
            UNSIGNED_INT => 4,
            _ => 0,
        };
        if accessor.kind != "SCALAR" || size == 0 {
            return Err(fault(format!("accessor {index}"), "numbers of corners are whole and have no sign"));
        }
        let whole = |thing: &[u8]| thing.iter().rev().fold(0, |sum, byte| sum << 8 | u32::from(*byte));
        Ok(self.things(index, size)?.map(whole).collect())
    }
}

fn range(bytes: &[u8], from: u64, to: u64) -> Option<&[u8]> {
    bytes.get(usize::try_from(from).ok()?..usize::try_from(to).ok()?)
}

/// The bytes of a text in base64 (RFC 4648), with or without padding.
fn decoded(text: &str) -> Option<Vec<u8>> {
    let text = text.trim_end_matches('=').as_bytes();
    let value = |letter: u8| match letter {
        b'A'..=b'Z' => Some(letter - b'A'),
        b'a'..=b'z' => Some(letter - b'a' + 26),
        b'0'..=b'9' => Some(letter - b'0' + 52),
        b'+' => Some(62),
        b'/' => Some(63),
        _ => None,
    };
    let mut bytes = Vec::with_capacity(text.len() / 4 * 3 + 2);
    for four in text.chunks(4) {
        let mut bits: u32 = 0;
        for letter in four {
            bits = bits << 6 | u32::from(value(*letter)?);
        }
        let whole = match four.len() {
            4 => 3,
            3 => 2,
            2 => 1,
            _ => return None,
        };
        let bits = bits << (6 * (4 - four.len()));
        bytes.extend(&bits.to_be_bytes()[1..=whole]);
    }
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_is_that_of_rfc_4648() {
        // Test vectors of RFC 4648, section 10.
        for (text, meant) in
            [("", ""), ("Zg==", "f"), ("Zm8=", "fo"), ("Zm9v", "foo"), ("Zm9vYmFy", "foobar")]
        {
            assert_eq!(decoded(text).unwrap(), meant.as_bytes());
        }
        assert_eq!(decoded("Zm9-"), None);
        assert_eq!(decoded("Z"), None);
    }
}
