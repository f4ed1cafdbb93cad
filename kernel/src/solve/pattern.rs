//! Which relation knows which unknown, as a matrix of bits.
//!
//! Invariant: no bit stands beyond the last unknown.

/// Bits of a word.
pub(super) const WORD: usize = u64::BITS as usize;

/// One row of bits for each relation, one bit for each unknown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Pattern {
    relations: usize,
    unknowns: usize,
    /// Words in a row.
    words: usize,
    bits: Vec<u64>,
}

impl Pattern {
    /// A pattern in which no relation knows an unknown.
    pub(super) fn empty(relations: usize, unknowns: usize) -> Self {
        let words = unknowns.div_ceil(WORD);
        Self { relations, unknowns, words, bits: vec![0; relations * words] }
    }

    /// How many relations there are.
    pub(super) fn relation_count(&self) -> usize {
        self.relations
    }

    /// How many unknowns there are.
    pub(super) fn unknown_count(&self) -> usize {
        self.unknowns
    }

    /// Writes words of the row of `relation` from word `first` on; what lies beyond the row is left out.
    pub(super) fn set_words(&mut self, relation: usize, first: usize, words: &[u64]) {
        let row = &mut self.bits[relation * self.words..(relation + 1) * self.words];
        for (to, from) in row.iter_mut().skip(first).zip(words) {
            *to = *from;
        }
    }

    /// The unknowns that `relation` knows, in order.
    pub(super) fn row(&self, relation: usize) -> impl Iterator<Item = usize> {
        let words = &self.bits[relation * self.words..(relation + 1) * self.words];
        words.iter().enumerate().flat_map(|(at, &word)| Bits(word).map(move |bit| at * WORD + bit))
    }

    /// Whether one relation knows every unknown.
    pub(super) fn has_full_row(&self) -> bool {
        let full =
            |row: &[u64]| row.iter().map(|word| word.count_ones() as usize).sum::<usize>() == self.unknowns;
        self.words > 0 && self.bits.chunks_exact(self.words).any(full)
    }

    /// Whether `relation` knows no unknown.
    pub(super) fn is_row_empty(&self, relation: usize) -> bool {
        self.row(relation).next().is_none()
    }

    /// Adds what `other` knows; true if that was more.
    pub(super) fn join(&mut self, other: &Self) -> bool {
        let mut grown = false;
        for (own, more) in self.bits.iter_mut().zip(&other.bits) {
            grown |= *more & !*own != 0;
            *own |= more;
        }
        grown
    }
}

/// The places of the ones of a word, lowest first.
struct Bits(u64);

impl Iterator for Bits {
    type Item = usize;
    fn next(&mut self) -> Option<usize> {
        if self.0 == 0 {
            return None;
        }
        let place = self.0.trailing_zeros() as usize;
        self.0 &= self.0 - 1;
        Some(place)
    }
}
