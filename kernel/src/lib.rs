//! Foldwright's kernel: from a history of sheet-metal features to blank, solid, bend table and files' bytes.
//!
//! `History → solve → fold tree → { blank, solid, checks, drawing } → bytes`, each stage a function from
//! values to a new value. Invariant: no file access, no printing, no clock; the same history gives the same
//! bytes on every machine. Must not know: scripts.

pub mod blank;
pub mod brake;
pub mod check;
pub mod cost;
pub mod diag;
pub mod dimension;
pub mod drawing;
pub mod exchange;
pub mod explain;
pub mod fold;
pub mod geom;
pub mod guard;
pub mod guarding;
pub mod history;
pub mod ident;
pub mod machine;
pub mod quantity;
pub mod regenerate;
pub mod solid;
pub mod solve;
pub mod stock;
