//! The words of the script language that are ours, one file for each kind of thing.
//!
//! Invariant: a bound function checks its arguments, adds to the session and returns a handle; every handle
//! is typed, so that a panel is never taken for an edge. [`WORDS`] lists every function for messages and
//! documentation.

mod corner_break;
mod cutout;
mod dimension;
mod flange;
mod number;
mod outline;
mod panel;
pub(crate) mod parameter;
mod part;
pub(crate) mod refused;
mod sheet;

use rhai::Engine;

use crate::session::Shared;

/// A function of the script language.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Word {
    /// Its name.
    pub name: &'static str,
    /// How it is called, with options.
    pub call: &'static str,
    /// What it does, in a sentence.
    pub meaning: &'static str,
}

/// Every function, in the order in which a script meets them.
pub(crate) const WORDS: &[&[Word]] = &[
    parameter::WORDS,
    sheet::WORDS,
    part::WORDS,
    outline::WORDS,
    panel::WORDS,
    flange::WORDS,
    cutout::WORDS,
    corner_break::WORDS,
    dimension::WORDS,
    number::WORDS,
];

/// Adds all words to an interpreter.
pub(crate) fn register(engine: &mut Engine, session: &Shared) {
    number::register(engine);
    refused::register(engine);
    parameter::register(engine, session);
    sheet::register(engine);
    part::register(engine, session);
    outline::register(engine);
    panel::register(engine);
    flange::register(engine);
    cutout::register(engine);
    corner_break::register(engine);
    dimension::register(engine);
}
