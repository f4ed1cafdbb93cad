//! The words of the script language that are ours, one file for each kind of thing.
//!
//! Invariant: a bound function checks its arguments, adds to the session and returns a handle; every handle
//! is typed, so that a panel is never taken for an edge. [`WORDS`] lists every function for messages and
//! documentation.

mod aim;
mod bend_order;
mod bump;
mod corner_break;
mod cutout;
mod dimension;
mod flange;
mod guarding;
mod hem;
mod line_bend;
mod neighbour;
mod number;
mod outline;
mod panel;
pub(crate) mod parameter;
mod part;
mod rates;
pub(crate) mod refused;
mod seam;
mod sheet;
mod shop;
mod sketch;
mod tolerance;

use rhai::{Dynamic, Engine, Map, NativeCallContext};

use crate::session::{Bound, Shared};
use part::Part;

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
    sketch::WORDS,
    panel::WORDS,
    flange::WORDS,
    seam::WORDS,
    hem::WORDS,
    line_bend::WORDS,
    cutout::WORDS,
    bump::WORDS,
    corner_break::WORDS,
    neighbour::WORDS,
    dimension::WORDS,
    aim::WORDS,
    tolerance::WORDS,
    bend_order::WORDS,
    shop::WORDS,
    guarding::WORDS,
    rates::WORDS,
    number::WORDS,
];

/// What a thing is called where a script prints it or joins it to a text.
fn register_text<T: Clone + Send + Sync + 'static>(
    engine: &mut Engine,
    text: impl Fn(&mut T) -> String + Copy + Send + Sync + 'static,
) {
    engine.register_fn("to_string", text);
    engine.register_fn("to_debug", text);
    engine.register_fn("print", text);
    engine.register_fn("debug", text);
    engine.register_fn("+", move |before: &str, mut thing: T| format!("{before}{}", text(&mut thing)));
}

/// A method of the part with three arguments and an option map.
type Call<T> = fn(&NativeCallContext<'_>, &Part, [Dynamic; 3], Map) -> Bound<T>;

/// Registers a method whose option map may be left out.
fn register_optional<T: Clone + Send + Sync + 'static>(
    engine: &mut Engine,
    function: &'static str,
    call: Call<T>,
) {
    engine.register_fn(
        function,
        move |context: NativeCallContext<'_>, part: &mut Part, a: Dynamic, b: Dynamic, c: Dynamic| {
            call(&context, part, [a, b, c], Map::new())
        },
    );
    engine.register_fn(
        function,
        move |context: NativeCallContext<'_>,
              part: &mut Part,
              a: Dynamic,
              b: Dynamic,
              c: Dynamic,
              options: Map| call(&context, part, [a, b, c], options),
    );
}

/// Adds all words to an interpreter.
pub(crate) fn register(engine: &mut Engine, session: &Shared) {
    number::register(engine);
    refused::register(engine);
    parameter::register(engine, session);
    sheet::register(engine);
    part::register(engine, session);
    outline::register(engine);
    sketch::register(engine, session);
    panel::register(engine);
    flange::register(engine);
    seam::register(engine);
    hem::register(engine);
    line_bend::register(engine);
    cutout::register(engine);
    bump::register(engine);
    corner_break::register(engine);
    neighbour::register(engine);
    dimension::register(engine);
    aim::register(engine);
    tolerance::register(engine);
    bend_order::register(engine);
    shop::register(engine);
    guarding::register(engine);
    rates::register(engine);
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    /// Names given to `register_fn` in these sources, without operators.
    fn registered() -> BTreeSet<String> {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("src/bind");
        let mut names = BTreeSet::new();
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            // Its words are not for scripts, and this test would find itself.
            if path.ends_with("refused.rs") || path.ends_with("mod.rs") {
                continue;
            }
            let text = std::fs::read_to_string(path).unwrap();
            let starts = ["register_fn(", "register_optional(", "register_break(", "register_between("];
            let relations = ["register_on_one(", "register_on_two(", "register_on_three("];
            let measures = ["register_things(", "register_of_two(", "register_target("];
            for start in starts.into_iter().chain(relations).chain(measures) {
                for call in text.split(start).skip(1) {
                    // The name comes first, or after the engine.
                    let name =
                        call.trim_start().trim_start_matches("engine, ").trim_start_matches("session, ");
                    let name = name.strip_prefix('"');
                    let name = name.and_then(|n| n.split('"').next()).unwrap_or("");
                    if name.starts_with(|c: char| c.is_ascii_lowercase()) {
                        names.insert(name.to_owned());
                    }
                }
            }
        }
        names
    }

    #[test]
    fn every_registered_function_is_a_word_and_every_word_is_registered() {
        let words: BTreeSet<String> = WORDS.iter().copied().flatten().map(|w| w.name.to_owned()).collect();
        assert!(words.len() > 30, "{words:?}");
        let mut registered = registered();
        // What `print` asks for is no word of ours.
        registered.remove("to_string");
        registered.remove("to_debug");
        assert_eq!(registered, words);
    }

    #[test]
    fn every_word_is_called_by_its_name_and_explained_in_a_sentence() {
        for word in WORDS.iter().copied().flatten() {
            assert!(word.call.contains(&format!("{}(", word.name)), "{}", word.call);
            assert!(word.meaning.ends_with('.'), "{}: {}", word.name, word.meaning);
        }
    }

    #[test]
    fn the_words_name_every_material_and_gauge_system() {
        let part = WORDS.iter().copied().flatten().find(|w| w.name == "part").unwrap();
        for material in kernel::stock::MATERIALS {
            assert!(part.meaning.contains(material.name), "{}", material.name);
        }
        for system in kernel::stock::GaugeSystem::ALL {
            assert!(part.meaning.contains(system.name()), "{}", system.name());
        }
    }
}
