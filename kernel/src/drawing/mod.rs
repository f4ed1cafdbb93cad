//! What people look at: pictures of the part, and its views as lines.
//!
//! Job: turn finished stages into bytes for the eye. Invariant: reads layers 0 to 7 only and changes nothing;
//! the same input gives the same bytes. Must not know: files, `exchange`, how a part was regenerated.

mod picture;
pub mod views;

pub use picture::{LARGEST_PX, View, ViewFault, picture_png, picture_png_among};
