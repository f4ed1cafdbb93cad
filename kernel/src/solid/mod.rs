//! The folded part as a body: exact boundary, analytic measures and a watertight triangle mesh.
//!
//! Job: give the part thickness. Invariant: boundary and mesh are closed and consistently oriented (outward
//! normals); zones that meet at a crease share its vertices bit for bit. Must not know: the blank, any output
//! format.

pub mod brep;
mod clearance;
mod collision;
mod extent;
mod forming;
mod measure;
mod mesh;
mod meshing;
mod normal;
mod sewing;
mod sharp_bend;
mod slivers;
pub mod spline;
mod triangles;

pub use brep::Brep;
pub use clearance::{Clearance, ClearanceSpread, Metal, Obstacle, clearance, clearance_spreads, clearances};
pub use collision::{Collision, collisions};
pub use measure::{Measures, measures};
pub use mesh::{EdgedMesh, Face, Mesh, MeshFault, Surface, Zone};
pub use meshing::{edged_mesh, mesh};
pub use sewing::brep;
