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
mod makeability;
mod meshes;
mod options;
mod session;
mod shop_file;
mod source;
mod summary;
mod toml_file;
mod tools_file;

pub use engine::{Loaded, load};
pub use finding::Failure;
pub use makeability::makeability_as_markdown;

/// The words of the script language as Markdown, for `docs/script-words.md`.
#[must_use]
pub fn words_as_markdown() -> String {
    let mut text = String::from(
        "# Words of the script language\n\n\
         Generated from the program; the tests say how to write it anew.\n\
         The language around these words (variables, `if`, `for`, functions) is Rhai, with decimal division: `10 / 4` is 2.5.\n\
         Lengths are in millimetres, angles in degrees.\n\
         Where a number is asked for, a free number or a sum with one will do, unless it says *plain*.\n",
    );
    for group in bind::WORDS {
        for word in *group {
            text += &format!("\n## `{}`\n\n`{}`\n\n{}\n", word.name, word.call, word.meaning);
        }
    }
    text
}
