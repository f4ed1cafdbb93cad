//! The folded part as a body: analytic measures and a watertight triangle mesh.
//!
//! Job: give the part thickness. Invariant: the mesh is closed and consistently wound (outward normals);
//! panel and bend meshes share the crease's vertices bit for bit. Must not know: the blank, any output
//! format.

mod collision;
mod measure;
mod mesh;

pub use collision::{Collision, collisions};
pub use measure::{Measures, measures};
pub use mesh::{Face, Mesh, MeshFault, Surface, Zone, mesh};
