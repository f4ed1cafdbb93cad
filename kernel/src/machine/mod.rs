//! The machine around the cover: what it has to clear, what it bolts to, what is dangerous.
//!
//! Job: the shapes that a neighbour takes up in space, wherever it may move to. Lengths are in mm.
//! Invariant: a [`Piece`] is a solid, or a closed surface together with its inside; a moving neighbour takes
//! up no place that its pieces leave out. Must not know: features, and the cover itself.

mod faceted;
mod form;
mod mesh_file;
mod neighbour;
mod piece;
mod stand;
mod turning;

pub use form::{BoltEnd, BoltForm, Form, Wheel};
pub use mesh_file::{MOST_TRIANGLES, MeshFault, MeshFiles, MeshFormat, fingerprint, read_mesh};
pub use neighbour::{Contact, Datum, DatumKind, Motion, Named, Neighbour, NeighbourKind, pieces};
pub use piece::{Disc, Piece, PieceHull, Prism, Shape, Surface};
pub use stand::{level, stand};
