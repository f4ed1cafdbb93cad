//! The script host: runs family scripts, talks to people, reads and writes files.
//!
//! `script → History`, then the kernel makes the part, then files are written and findings shown with file,
//! line and column. Invariant: names in scripts become typed names here, at the border; a fault of a script
//! is a finding with a place, never a panic. Must not know: how any stage of the kernel works.

mod bind;
pub mod commands;
mod engine;
mod fault;
mod files;
mod finding;
mod options;
mod session;
mod source;
mod summary;

pub use engine::{Loaded, load};
pub use finding::Failure;
