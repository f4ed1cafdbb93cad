//! The fold tree: flat panels and the bends between them, with all numbers put in.
//!
//! Job: from a history and its settled numbers make the real shape of every flat zone (corners between
//! neighbouring flanges, reliefs, openings, broken corners) and of every bend strip, and map any zone to the
//! blank, to the folded part, or to any stage between. Invariant: a panel and a bend share the vertices of
//! every [`CreaseSpan`] bit for bit; panel 0 is the base and every panel's parent has a lower id; the same tree
//! gives blank and folded part. Must not know: the blank's outline, the solid, any output.

mod across;
mod bend_ends;
mod bump;
mod bump_fault;
mod bump_over;
mod corner_break;
mod corner_seam;
mod creases;
mod fault;
mod flange_outline;
mod form;
mod form_section;
mod gap;
mod held_width;
mod label;
mod map;
mod nearest;
mod opening;
mod outline;
mod outline_path;
mod parting;
mod pattern;
mod profile_shape;
mod seam_cuts;
mod seat;
mod short_edges;
mod sight;
mod straight;
mod stretch;
mod tolerance_stack;
mod tree;

pub use bump_fault::{BumpFault, EdgeWords};
pub use fault::FoldFault;
pub use form::{Form, FormSurface, NormalSense, Patch, around_forms};
pub use form_section::{FormFace, FormSection, Level, Ring};
pub use gap::{Gap, gaps};
pub use label::{EdgeLabel, Labels};
pub use map::{FoldFractions, StripMap};
pub use nearest::material_point;
pub use tolerance_stack::{ToleranceStack, tolerance_stack, tolerances};
pub use tree::{Bend, CreaseSpan, FoldTree, Panel, build};
