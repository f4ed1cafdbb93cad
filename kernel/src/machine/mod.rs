//! The machine around the cover: what it has to clear, what it bolts to, what is dangerous.
//!
//! Job: the shapes that a neighbour takes up in space, wherever it may move to. Lengths are in mm.
//! Invariant: a [`Piece`] is a solid, or a closed surface together with its inside; a moving neighbour takes
//! up no place that its pieces leave out. Must not know: features, and the cover itself.

mod piece;

pub use piece::{Disc, Piece, Prism, Shape, Surface};
