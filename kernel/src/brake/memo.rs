//! Remembered answers, looked up by a place and the strokes that are done.
//!
//! Invariant: the order of entries never reaches an output. Must not know: what is remembered.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

use super::wings::Mask;

/// Answers by the number of their place and what is done there.
pub(super) type Memo<T> = HashMap<(u32, Mask), T, BuildHasherDefault<MaskHasher>>;

/// A quick hash of few integers; what is hashed comes from the part alone, so that nobody can choose it to collide.
#[derive(Default)]
pub(super) struct MaskHasher(u64);

impl Hasher for MaskHasher {
    fn finish(&self) -> u64 {
        self.0 ^ (self.0 >> 32)
    }

    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.write_u64(u64::from(*byte));
        }
    }

    fn write_u32(&mut self, value: u32) {
        self.write_u64(u64::from(value));
    }

    fn write_u64(&mut self, value: u64) {
        // The golden ratio of 64 bits (Knuth, 1998).
        const FACTOR: u64 = 0x9E37_79B9_7F4A_7C15;
        self.0 = (self.0.rotate_left(23) ^ value).wrapping_mul(FACTOR);
    }
}
